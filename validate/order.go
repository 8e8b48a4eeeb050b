package validate

import (
	"cmp"
	"slices"

	"dropcut/plan"
	"dropcut/plan/device"
	"dropcut/plan/unit"
)

// Order is what has to be ordered of one kind of stock tube for a whole book, and
// how it is cut.
type Order struct {
	Device *device.Device
	Upper  bool // upper tubes; else lower ones
	Plan   plan.CuttingPlan
	// TooLong are pieces that no stock tube is long enough for.
	TooLong []plan.Piece
	// Waste is what is left over of the tubes, in percent of their length.
	Waste unit.Percent
}

// Orders gathers the tubes of all tanks that may be cut, by device, upper and
// lower tubes apart, and plans how they are cut from stock. Devices whose sheet
// gives no stock length are left out. Tanks with a stop have no tubes; those with
// a check are counted, since they will be cut once a person has looked.
func Orders(results []Result, saw unit.Length) ([]Order, error) {
	type key struct {
		d     *device.Device
		upper bool
	}
	pieces := map[key][]plan.Piece{}
	var keys []key
	add := func(k key, v plan.Value[unit.Length], r *Result) {
		if !v.Known {
			return
		}
		if _, ok := pieces[k]; !ok {
			keys = append(keys, k)
		}
		name := r.Tank.ID.V
		if site := r.Tank.Site.V; site != "" {
			name += ", " + site
		}
		pieces[k] = append(pieces[k], plan.Piece{For: name, Length: v.V})
	}
	for i := range results {
		r := &results[i]
		if r.Device == nil || r.Status == Stop {
			continue
		}
		if r.Device.StockUpper.Given() {
			add(key{r.Device, true}, r.Cut.UpperTube, r)
		}
		if r.Device.StockLower.Given() {
			add(key{r.Device, false}, r.Cut.LowerTube, r)
		}
	}
	slices.SortStableFunc(keys, func(a, b key) int { return cmp.Compare(a.d.Name.V, b.d.Name.V) })
	var list []Order
	for _, k := range keys {
		o := Order{Device: k.d, Upper: k.upper}
		stock := k.d.StockLower.V
		if k.upper {
			stock = k.d.StockUpper.V
		}
		var fit []plan.Piece
		used := unit.Length(0)
		for _, p := range pieces[k] {
			if p.Length > stock+unit.Guard {
				o.TooLong = append(o.TooLong, p)
				continue
			}
			fit = append(fit, p)
			used += p.Length
		}
		var err error
		if o.Plan, err = plan.CutFromStock(fit, stock, saw); err != nil {
			return nil, err
		}
		if n := len(o.Plan.Stick); n > 0 {
			whole := stock * unit.Length(n)
			o.Waste = unit.Percent(100 * (whole - used) / whole)
		}
		list = append(list, o)
	}
	return list, nil
}
