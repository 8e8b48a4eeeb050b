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
// written. Status and Flags stand last, where a reader's eye ends. The columns of
// tubes as found are there where the list has such tubes.
func planColumns(asFound bool) []column {
	list := []column{
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
		{base: markHeading, of: words, width: 11, text: upperMark},
		measureColumn("Drop length", length, func(c *plan.Cut) plan.Value[unit.Length] { return c.DropLength }),
		measureColumn("Lower tube cut", length, func(c *plan.Cut) plan.Value[unit.Length] { return c.LowerTube }),
		measureColumn("Alarm depth", length, func(c *plan.Cut) plan.Value[unit.Length] { return c.AlarmDepth }),
	}
	if asFound {
		list = append(list, asFoundColumns()...)
	}
	return append(list,
		column{base: statusHeading, of: words, width: 10, text: func(r *validate.Result, _ Units) string { return string(r.Status) }},
		column{base: flagsHeading, of: words, width: 42, text: func(r *validate.Result, _ Units) string { return Flags(r.All()) }},
	)
}

// asFoundColumns tell what the tube does that was found in the tank.
func asFoundColumns() []column {
	of := func(name string, of quantity, get func(*plan.AsFound) (float64, bool)) column {
		return column{base: prefix + name, of: of, width: 11, value: func(r *validate.Result) (float64, bool) { return get(&r.AsFound) }}
	}
	return []column{
		of("As-found shutoff depth", length, func(a *plan.AsFound) (float64, bool) { return float64(a.ShutoffDepth.V), a.ShutoffDepth.Known }),
		of("As-found %", percent, func(a *plan.AsFound) (float64, bool) { return float64(a.ShutoffPercent.V), a.ShutoffPercent.Known }),
		{base: prefix + "As-found advice", of: words, width: 22, text: Advice},
	}
}

// Advice says what to do with the tube that was found in a tank: "leave", "cut by
// 1 1/2 in", "replace by one of 44 3/8 in".
func Advice(r *validate.Result, u Units) string {
	a := &r.AsFound
	mark := func(l unit.Length) string {
		if u.Length.Metric() {
			return unit.LengthText(l, unit.Millimetres, 0, unit.Nearest) + " mm"
		}
		return unit.FractionText(l, 64, unit.Nearest) + " in"
	}
	switch {
	case a.Verdict == plan.CutIt && a.CutBy.Known:
		return "may be cut by " + mark(a.CutBy.V)
	case a.Verdict == plan.Replace && a.NewTube.Known:
		return "replace by one of " + mark(a.NewTube.V)
	}
	return string(a.Verdict)
}

// HasAsFound reports whether any of the tanks has a tube as found.
func HasAsFound(results []validate.Result) bool {
	return slices.ContainsFunc(results, func(r validate.Result) bool { return r.AsFound.UpperTube.Known })
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
