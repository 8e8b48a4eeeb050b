package intake

import (
	"fmt"
	"math"
	"slices"

	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// ullages are the numbers of a chart that counts from the top of its tank down,
// until a height turns them into depths. What a sheet lacks for that, the tank
// list may hold: the height, or the unit that the numbers stand in.
type ullages struct {
	chart  *chart.Chart
	from   []float64              // of each row, as the file holds them
	head   cell.Ref               // of the heading that says so
	height cell.Of[unit.Length]   // stated beside the chart
	bare   cell.Of[float64]       // a height without a unit of its own
	say    func(*finding.Finding) // reports a finding about the chart
}

// most gives the largest ullage.
func (u *ullages) most() float64 {
	most := 0.0
	for _, d := range u.from {
		if d > most {
			most = d
		}
	}
	return most
}

// stated gives the height that stands beside the chart. A height without a unit
// stands in that of the ullages below it.
func (u *ullages) stated() cell.Of[unit.Length] {
	if !u.height.Given() && u.bare.Given() && u.chart.DepthUnit != 0 {
		return cell.Of[unit.Length]{V: u.chart.DepthUnit.Length(u.bare.V), Raw: u.bare.Raw, At: u.bare.At}
	}
	return u.height
}

// lack leaves the chart without depths, its rows from the bottom up.
func (u *ullages) lack() {
	for i := range u.chart.Rows {
		u.chart.Rows[i].Depth = math.NaN()
	}
	if n := len(u.from); n > 1 && u.from[0] < u.from[n-1] {
		u.reverse()
	}
}

func (u *ullages) reverse() {
	slices.Reverse(u.from)
	reverseRows(u.chart)
}

// reverseRows turns the order of a chart's rows.
func reverseRows(c *chart.Chart) {
	n := int32(len(c.Rows))
	slices.Reverse(c.Rows)
	for i := range c.Odd {
		c.Odd[i].Row = n - 1 - c.Odd[i].Row
	}
	slices.SortStableFunc(c.Odd, func(a, b chart.Odd) int { return int(a.Row) - int(b.Row) })
}

// belowTop gives the depth of an ullage. 96 - 0.1 must give the number that a
// person would write.
func belowTop(full, ullage float64) float64 {
	d := full - ullage
	if q := math.Round(d*1e6) / 1e6; math.Abs(q-d) < 1e-9*math.Max(1, full) {
		return q
	}
	return d
}

// turn makes depths of the ullages: depth = inside height - ullage. The cells
// and their order turn with them.
func (u *ullages) turn(h cell.Of[unit.Length]) {
	c := u.chart
	c.FullHeight = h
	full, most := c.DepthUnit.Number(h.V), u.most()
	// A chart that covers only the upper third of its tank is nobody's: the
	// height or its unit is another one's (a third is a guess without a source).
	if most < full/3 {
		u.say(&finding.Finding{
			Slug: finding.UllageUnclear, Severity: finding.Stop, At: h.At, Found: fmt.Sprintf("an inside height of %s %s beside ullages that end at %s", trimNumber(full), c.DepthUnit, trimNumber(most)),
			Expected: "ullages that reach down towards the bottom", Why: "all depths hang on this height", Suggestion: "look whether the height and its unit are right",
		})
	}
	low := -1
	for i, x := range u.from {
		c.Rows[i].Depth = belowTop(full, x)
		if c.Rows[i].Depth < 0 && low < 0 {
			low = i
		}
	}
	if low >= 0 {
		u.say(&finding.Finding{
			Slug: finding.UllageUnclear, Severity: finding.Stop, At: c.DepthAt(low), Found: fmt.Sprintf("an ullage that is larger than the stated height of %s %s", trimNumber(full), c.DepthUnit),
			Expected: "ullages up to the inside height", Why: "the depth would be below the bottom of the tank", Suggestion: "look whether the height or its unit is wrong",
		})
	}
	if n := len(c.Rows); n > 1 && c.Rows[0].Depth > c.Rows[n-1].Depth {
		u.reverse()
	}
}

// turnWaiting turns the charts whose ullages lacked a height or a unit that the
// tank list has given since, and says where it was taken from. A chart for which
// nobody gives a height keeps its finding and has no depths.
func turnWaiting(job *plan.Job, waiting []*ullages, out *findingsOf) {
	for _, u := range waiting {
		c := u.chart
		k := slices.Index(job.Charts, c)
		if k < 0 || c.DepthUnit == 0 && u.bare.Given() {
			continue // its unit is missing, which has been said
		}
		var owners []*plan.Tank
		for i, j := range job.ChartOf {
			if j == k {
				owners = append(owners, &job.Tanks[i])
			}
		}
		h, own := u.stated(), true
		if !h.Given() {
			own = false
			var odd *plan.Tank
			if h, odd = heightOf(owners); odd != nil {
				u.differ(h, odd, out)
				continue
			}
		}
		if !h.Given() {
			continue
		}
		out.list = slices.DeleteFunc(out.list, func(f finding.Finding) bool {
			return f.Slug == finding.UllageWithoutHeight && f.Chart == c.Name && f.At == u.head
		})
		if c.DepthUnit == 0 {
			continue
		}
		u.say = func(f *finding.Finding) {
			f.Tank, f.Chart, f.Site = c.Name, c.Name, c.Site
			out.add(*f)
		}
		u.turn(h)
		f := finding.Finding{
			Slug: finding.UllageTurned, Severity: finding.Note, At: u.head, Related: []cell.Ref{h.At},
			Found: "ullages and no inside height beside them", Expected: "the inside height above the chart, with its unit",
			Why:        fmt.Sprintf("depths are %s less ullage, the inside height that the tank list gives in %s", unit.LengthText(h.V, c.DepthUnit, 4, unit.Nearest), h.At.Cell()),
			Suggestion: "make sure that the ullages are measured from the inside top of the tank and that this is its inside height",
		}
		if own {
			f.Found, f.Expected = "ullages without a unit", "a unit in their heading"
			f.Why = fmt.Sprintf("depths are the height of %s (%s) less ullage, both taken in %s as %s says", unit.LengthText(h.V, c.DepthUnit, 4, unit.Nearest), h.At.A1(), c.DepthUnit, c.DepthUnitFrom)
		}
		u.say(&f)
	}
}

// differ says that the tanks of one chart are not of one height.
func (u *ullages) differ(h cell.Of[unit.Length], odd *plan.Tank, out *findingsOf) {
	for i := range out.list {
		f := &out.list[i]
		if f.Slug == finding.UllageWithoutHeight && f.Chart == u.chart.Name && f.At == u.head {
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
		case !nearLength(h.V, x.V):
			return h, t
		}
	}
	return h, nil
}

// insideHeight gives a tank's inside height as the list has it: the diameter of
// a tank that lies, which is what one is taken for whose shape is not given; the
// length of one that stands.
func insideHeight(t *plan.Tank) cell.Of[unit.Length] {
	if upright(t.Shape.V) {
		return t.Length
	}
	return t.Diameter
}
