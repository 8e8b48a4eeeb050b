package join

import (
	"fmt"
	"slices"

	"dropcut/convert/intake/figures"
	"dropcut/convert/intake/lists"
	"dropcut/convert/intake/survey"
	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// TurnUllages turns the charts whose ullages lacked a height or a unit that the
// tank list has given since, and says where it was taken from. A chart for which
// nobody gives a height keeps its finding and has no depths.
func TurnUllages(job *plan.Job, waiting []*figures.Ullages, out *survey.Findings) {
	for _, u := range waiting {
		c := u.Chart
		k := slices.Index(job.Charts, c)
		if k < 0 || c.DepthUnit == 0 && u.Bare.Given() {
			continue // its unit is missing, which has been said
		}
		var owners []*plan.Tank
		for i, j := range job.ChartOf {
			if j == k {
				owners = append(owners, &job.Tanks[i])
			}
		}
		h, own := u.Stated(), true
		if !h.Given() {
			own = false
			var odd *plan.Tank
			if h, odd = heightOf(owners); odd != nil {
				differ(u, h, odd, out)
				continue
			}
		}
		if !h.Given() {
			continue
		}
		out.List = slices.DeleteFunc(out.List, func(f finding.Finding) bool {
			return f.Slug == finding.UllageWithoutHeight && f.Chart == c.Name && f.At == u.Head
		})
		if c.DepthUnit == 0 {
			continue
		}
		u.Say = func(f *finding.Finding) {
			f.Tank, f.Chart, f.Site = c.Name, c.Name, c.Site
			out.Add(*f)
		}
		u.Turn(h)
		f := finding.Finding{
			Slug: finding.UllageTurned, Severity: finding.Note, At: u.Head, Related: []cell.Ref{h.At},
			Found: "ullages and no inside height beside them", Expected: "the inside height above the chart, with its unit",
			Why:        fmt.Sprintf("depths are %s less ullage, the inside height that the tank list gives in %s", unit.LengthText(h.V, c.DepthUnit, 4, unit.Nearest), h.At.Cell()),
			Suggestion: "make sure that the ullages are measured from the inside top of the tank and that this is its inside height",
		}
		if own {
			f.Found, f.Expected = "ullages without a unit", "a unit in their heading"
			f.Why = fmt.Sprintf("depths are the height of %s (%s) less ullage, both taken in %s as %s says", unit.LengthText(h.V, c.DepthUnit, 4, unit.Nearest), h.At.A1(), c.DepthUnit, c.DepthUnitFrom)
		}
		u.Say(&f)
	}
}

// differ says that the tanks of one chart are not of one height.
func differ(u *figures.Ullages, h cell.Of[unit.Length], odd *plan.Tank, out *survey.Findings) {
	for i := range out.List {
		f := &out.List[i]
		if f.Slug == finding.UllageWithoutHeight && f.Chart == u.Chart.Name && f.At == u.Head {
			at := insideHeight(odd).At
			f.Related = []cell.Ref{h.At, at}
			f.Why += "; the tanks that share the chart are of different heights, " + h.Raw + " (" + h.At.Cell() + ") and " + insideHeight(odd).Raw + " (" + at.Cell() + ")"
		}
	}
}

// heightOf gives the inside height of the tanks that share a chart; odd is the
// first of them that has another one.
func heightOf(owners []*plan.Tank) (h cell.Of[unit.Length], odd *plan.Tank) {
	for _, t := range owners {
		x := insideHeight(t)
		switch {
		case !x.Given() || x.V <= 0:
		case !h.Given():
			h = x
		case !lists.NearLength(h.V, x.V):
			return h, t
		}
	}
	return h, nil
}

// insideHeight gives a tank's inside height as the list has it: the diameter of
// a tank that lies, which is what one is taken for whose shape is not given; the
// length of one that stands.
func insideHeight(t *plan.Tank) cell.Of[unit.Length] {
	if plan.Standing(t.Shape.V) {
		return t.Length
	}
	return t.Diameter
}
