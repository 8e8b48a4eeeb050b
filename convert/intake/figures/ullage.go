package figures

import (
	"fmt"
	"math"
	"slices"

	"dropcut/convert/intake/survey"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// Ullages are the numbers of a chart that counts from the top of its tank down,
// until a height turns them into depths. What a sheet lacks for that, the tank
// list may hold: the height, or the unit that the numbers stand in.
type Ullages struct {
	Chart  *chart.Chart
	From   []float64              // of each row, as the file holds them
	Head   cell.Ref               // of the heading that says so
	Height cell.Of[unit.Length]   // stated beside the chart
	Bare   cell.Of[float64]       // a height without a unit of its own
	Say    func(*finding.Finding) // reports a finding about the chart
}

// most gives the largest ullage.
func (u *Ullages) most() float64 {
	most := 0.0
	for _, d := range u.From {
		if d > most {
			most = d
		}
	}
	return most
}

// Stated gives the height that stands beside the chart. A height without a unit
// stands in that of the ullages below it.
func (u *Ullages) Stated() cell.Of[unit.Length] {
	if !u.Height.Given() && u.Bare.Given() && u.Chart.DepthUnit != 0 {
		return cell.Of[unit.Length]{V: u.Chart.DepthUnit.Length(u.Bare.V), Raw: u.Bare.Raw, At: u.Bare.At}
	}
	return u.Height
}

// lack leaves the chart without depths, its rows from the bottom up.
func (u *Ullages) lack() {
	for i := range u.Chart.Rows {
		u.Chart.Rows[i].Depth = math.NaN()
	}
	if n := len(u.From); n > 1 && u.From[0] < u.From[n-1] {
		u.reverse()
	}
}

func (u *Ullages) reverse() {
	slices.Reverse(u.From)
	reverseRows(u.Chart)
}

// reverseRows turns the order of a chart's rows.
func reverseRows(c *chart.Chart) {
	n := int32(len(c.Rows))
	slices.Reverse(c.Rows)
	c.Apart = c.Apart.Reversed(len(c.Rows))
	for i := range c.Odd {
		c.Odd[i].Row = n - 1 - c.Odd[i].Row
	}
	slices.SortStableFunc(c.Odd, func(a, b chart.Odd) int { return int(a.Row) - int(b.Row) })
}

// BelowTop gives the depth of an ullage. 96 - 0.1 must give the number that a
// person would write.
func BelowTop(full, ullage float64) float64 {
	d := full - ullage
	if q := math.Round(d*1e6) / 1e6; math.Abs(q-d) < 1e-9*math.Max(1, full) {
		return q
	}
	return d
}

// Turn makes depths of the ullages: depth = inside height - ullage. The cells
// and their order turn with them.
func (u *Ullages) Turn(h cell.Of[unit.Length]) {
	c := u.Chart
	c.FullHeight = h
	full, most := c.DepthUnit.Number(h.V), u.most()
	// A chart that covers only the upper third of its tank is nobody's: the
	// height or its unit is another one's (a third is a guess without a source).
	if most < full/3 {
		u.Say(&finding.Finding{
			Slug: finding.UllageUnclear, Severity: finding.Stop, At: h.At, Found: fmt.Sprintf("an inside height of %s %s beside ullages that end at %s", survey.Number(full), c.DepthUnit, survey.Number(most)),
			Expected: "ullages that reach down towards the bottom", Why: "all depths hang on this height", Suggestion: "look whether the height and its unit are right",
		})
	}
	low := -1
	for i, x := range u.From {
		c.Rows[i].Depth = BelowTop(full, x)
		if c.Rows[i].Depth < 0 && low < 0 {
			low = i
		}
	}
	if low >= 0 {
		u.Say(&finding.Finding{
			Slug: finding.UllageUnclear, Severity: finding.Stop, At: c.DepthAt(low), Found: fmt.Sprintf("an ullage that is larger than the stated height of %s %s", survey.Number(full), c.DepthUnit),
			Expected: "ullages up to the inside height", Why: "the depth would be below the bottom of the tank", Suggestion: "look whether the height or its unit is wrong",
		})
	}
	if n := len(c.Rows); n > 1 && c.Rows[0].Depth > c.Rows[n-1].Depth {
		u.reverse()
	}
}
