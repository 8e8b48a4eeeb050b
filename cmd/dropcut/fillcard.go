package main

import (
	"bufio"
	"fmt"
	"io"
	"strconv"

	"dropcut/convert/csvfile"
	"dropcut/plan"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// stickRow is a line of a fill card as CSV and JSON hold it.
type stickRow struct {
	Tank   string `csv:"tank" json:"tank"`
	Stick  string `csv:"stick" json:"stick"`
	InTank string `csv:"in_tank" json:"in_tank"`
	Most   string `csv:"deliver_at_most" json:"deliver_at_most"`
}

// fillCard is what one tank takes at each reading of the stick.
type fillCard struct {
	result *validate.Result
	units  unitsValue
	step   unit.Length
	lines  []plan.FillLine
	reason string // why there are no lines
}

// fillCards makes the cards of the tanks that explain shows. The units are those
// asked for, else those of the chart.
func (o *options) fillCards(list []*validate.Result, step *stepValue) ([]fillCard, error) {
	var cards []fillCard
	for _, r := range list {
		k := fillCard{result: r, units: o.units}
		switch {
		case r.Status == validate.Stop:
			k.reason = "the tank has a stop; its chart or its limit cannot be relied on before that is settled"
		case r.Chart == nil || !r.Cut.LimitVolume.Known:
			k.reason = "there is no chart from which the room could be read"
		}
		if k.reason != "" {
			cards = append(cards, k)
			continue
		}
		if !k.units.given {
			k.units.length, k.units.volume = r.Chart.DepthUnit, r.Chart.VolumeUnit
		}
		k.step = plan.StickStep(r.Chart)
		if step.raw != "" {
			var err error
			if k.step, _, err = step.in(k.units.length); err != nil {
				return nil, err
			}
		}
		var err error
		if k.lines, err = plan.FillCardAsItLies(r.Tank, r.Chart, r.Cut.LimitVolume.V, k.step); err != nil {
			k.reason = err.Error()
		}
		// Above the first reading at which nothing may be delivered nothing may be.
		for i := range k.lines {
			if k.lines[i].Most(k.units.volume) == 0 {
				k.lines = k.lines[:i+1]
				break
			}
		}
		cards = append(cards, k)
	}
	return cards, nil
}

// stick prints a reading of the stick: with a fraction where it is in inches.
func (k *fillCard) stick(l unit.Length) string {
	if k.units.length == unit.Inches {
		return unit.FractionText(l, 16, unit.Down)
	}
	return strconv.FormatFloat(k.units.length.Number(unit.Length(float64(l)+1e-12)), 'f', -1, 64)
}

func (k *fillCard) text(b *bufio.Writer) {
	r := k.result
	fmt.Fprintf(b, "tank %s", r.Tank.ID.V)
	if r.Tank.Site.Raw != "" {
		fmt.Fprintf(b, ", %s", r.Tank.Site.Raw)
	}
	if k.reason != "" {
		fmt.Fprintf(b, ": no fill card: %s\n", k.reason)
		return
	}
	u := k.units.volume
	fmt.Fprintf(b, ": fill card\n  full %s %s; at most %s, which is %s %s\n", unit.GroupedText(unit.VolumeText(r.Cut.FullVolume.V, u, 0)), u,
		strconv.FormatFloat(float64(r.Cut.LimitPercent.V), 'f', -1, 64)+" %", unit.GroupedText(unit.VolumeText(r.Cut.LimitVolume.V, u, 0)), u)
	fmt.Fprint(b, "  Read the stick before the delivery; between two lines the higher one counts. Stay at the fill.\n")
	if !r.Tank.Rise.Given() {
		fmt.Fprint(b, "  The rise of the tank from end to end is not given: these lines are for a tank that lies level.\n")
	}
	fmt.Fprintf(b, "\n  %10s  %16s  %16s\n", "stick, "+k.units.length.String(), "in the tank, "+u.String(), "at most, "+u.String())
	for i, l := range k.lines {
		most := unit.GroupedText(strconv.FormatFloat(l.Most(u), 'f', -1, 64))
		if l.Most(u) == 0 {
			most = "nothing"
		}
		above := ""
		if i == len(k.lines)-1 && most == "nothing" {
			above = "  here and above"
		}
		fmt.Fprintf(b, "  %10s  %16s  %16s%s\n", k.stick(l.Depth), unit.GroupedText(unit.VolumeText(l.Volume, u, 0)), most, above)
	}
	fmt.Fprint(b, "\n  Less than the room left to the limit may be delivered: 40 CFR 280.30(a).\n")
}

// writeFillCards prints the cards.
func writeFillCards(out io.Writer, format string, cards []fillCard) error {
	if format == "text" {
		b := bufio.NewWriter(out)
		for i := range cards {
			cards[i].text(b)
			fmt.Fprintf(b, "\n%s\n", cautions)
		}
		return b.Flush()
	}
	rows := []stickRow{}
	for i := range cards {
		k := &cards[i]
		for _, l := range k.lines {
			rows = append(rows, stickRow{
				k.result.Tank.ID.V, exactText(k.units.length.Number(l.Depth)), unit.VolumeText(l.Volume, k.units.volume, 0), exactText(l.Most(k.units.volume)),
			})
		}
	}
	if format == "csv" {
		return csvfile.Write(out, rows)
	}
	return writeJSON(out, rows)
}

// exactText prints a number as it is, but for the last bits of a float64.
func exactText(v float64) string { return strconv.FormatFloat(v, 'g', 12, 64) }
