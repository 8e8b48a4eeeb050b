package main

import (
	"fmt"
	"strings"

	"dropcut/convert/writeback"
	"dropcut/plan"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// longTold is how many tubes that are too long are named one by one: a cell holds
// 32,767 characters, and nobody reads so many.
const longTold = 100

// orderLine says how many stock tubes of a kind a book needs, how good that is,
// and which tubes no stock length is long enough for.
func orderLine(o validate.Order) (name, text, detail string) {
	kind, stock := "lower tubes", o.Device.StockLower.V
	if o.Upper {
		kind, stock = "upper tubes", o.Device.StockUpper.V
	}
	name = o.Device.Name.V + ", " + kind
	text = fmt.Sprintf("%s of %s in; fewer than %d cannot do; %s %% left over",
		count(len(o.Plan.Stick), "stock tube", "stock tubes"), unit.FractionText(stock, 16, unit.Nearest), o.Plan.Bound, unit.DecimalText(float64(o.Waste), 0, unit.Up))
	var long []string
	for _, p := range o.TooLong[:min(len(o.TooLong), longTold)] {
		long = append(long, p.For+" "+unit.FractionText(p.Length, 64, unit.Nearest)+" in")
	}
	if more := len(o.TooLong) - len(long); more > 0 {
		long = append(long, fmt.Sprintf("and %d more", more))
	}
	if len(long) > 0 {
		detail = "longer than any stock tube: " + strings.Join(long, "; ")
	}
	return name, text, detail
}

// orders lists what is to be ordered for a book, as lines of its Sources sheet.
func (w *work) orders() ([]writeback.Source, error) {
	list, err := validate.Orders(w.results, plan.SawCut)
	if err != nil {
		return nil, err
	}
	var lines []writeback.Source
	for _, o := range list {
		name, text, detail := orderLine(o)
		lines = append(lines, writeback.Source{Kind: "to order", Name: name, Text: text, Detail: detail})
	}
	return lines, nil
}
