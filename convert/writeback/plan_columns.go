package writeback

import (
	"slices"
	"strings"

	"dropcut/plan"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// planColumns lists the columns of a plan in the order in which they are
// written. Status and Flags stand last, where a reader's eye ends.
func planColumns() []column {
	return []column{
		measureColumn("Full volume", volume, func(c *plan.Cut) plan.Value[unit.Volume] { return c.FullVolume }),
		measureColumn("Limit %", percent, func(c *plan.Cut) plan.Value[unit.Percent] { return c.LimitPercent }),
		measureColumn("Limit volume", volume, func(c *plan.Cut) plan.Value[unit.Volume] { return c.LimitVolume }),
		measureColumn("Shutoff depth", length, func(c *plan.Cut) plan.Value[unit.Length] { return c.ShutoffDepth }),
		measureColumn("Shutoff volume", volume, func(c *plan.Cut) plan.Value[unit.Volume] { return c.ShutoffVolume }),
		measureColumn("Shutoff %", percent, func(c *plan.Cut) plan.Value[unit.Percent] { return c.ShutoffPercent }),
		measureColumn("Worst-case %", percent, func(c *plan.Cut) plan.Value[unit.Percent] { return c.WorstPercent }),
		measureColumn("Chance over limit %", percent, func(c *plan.Cut) plan.Value[unit.Percent] { return c.ChanceOver }),
		measureColumn("Headspace", length, func(c *plan.Cut) plan.Value[unit.Length] { return c.Headspace }),
		measureColumn("Tube below tank top", length, func(c *plan.Cut) plan.Value[unit.Length] { return c.TubeBelowTop }),
		measureColumn("Upper tube cut", length, func(c *plan.Cut) plan.Value[unit.Length] { return c.UpperTube }),
		{base: prefix + "Upper tube mark", of: words, width: 11, text: upperMark},
		measureColumn("Drop length", length, func(c *plan.Cut) plan.Value[unit.Length] { return c.DropLength }),
		measureColumn("Lower tube cut", length, func(c *plan.Cut) plan.Value[unit.Length] { return c.LowerTube }),
		measureColumn("Alarm depth", length, func(c *plan.Cut) plan.Value[unit.Length] { return c.AlarmDepth }),
		{base: statusHeading, of: words, width: 10, text: func(r *validate.Result, _ Units) string { return string(r.Status) }},
		{base: prefix + "Flags", of: words, width: 42, text: func(r *validate.Result, _ Units) string { return Flags(r.All()) }},
	}
}

func measureColumn[T ~float64](name string, of quantity, get func(*plan.Cut) plan.Value[T]) column {
	return column{
		base: prefix + name, of: of, width: 11,
		value: func(r *validate.Result) (float64, bool) {
			v := get(&r.Cut)
			return float64(v.V), v.Known
		},
	}
}

// upperMark gives the cut as it is marked on the tube: inches with a fraction,
// or whole millimetres where the book is metric.
func upperMark(r *validate.Result, u Units) string {
	v := r.Cut.UpperTube
	switch {
	case !v.Known:
		return ""
	case u.Length.Metric():
		return unit.LengthText(v.V, unit.Millimetres, 0, unit.Up) + " mm"
	}
	return unit.FractionText(v.V, 64, unit.Up) + " in"
}

// Flags lists what was found about a tank in few words, worst first, each kind
// once: "stop: chart-stops-early; check: riser-not-measured".
func Flags(list []finding.Finding) string {
	sorted := slices.Clone(list)
	finding.Sort(sorted)
	var parts []string
	for _, f := range sorted {
		part := f.Severity.String() + ": " + string(f.Slug)
		if !slices.Contains(parts, part) {
			parts = append(parts, part)
		}
	}
	return strings.Join(parts, "; ")
}
