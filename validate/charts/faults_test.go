package charts

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
	"dropcut/plan/shape"
	"dropcut/plan/unit"
)

// Faults that take more than one row, or come in several forms, each under its own
// name and as one finding.
func TestFaultsOfSeveralRows(t *testing.T) {
	tank := shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320}
	shift := func(from int, by float64) func(*chart.Chart) {
		return func(c *chart.Chart) {
			for i := from; i < len(c.Rows); i++ {
				c.Rows[i].Depth += by
			}
		}
	}
	volumes := func(from, to int, do func(float64) float64) func(*chart.Chart) {
		return func(c *chart.Chart) {
			for i := from; i < to; i++ {
				c.Rows[i].Volume = do(c.Rows[i].Volume)
			}
		}
	}
	for _, k := range []struct {
		name  string
		spoil func(*chart.Chart)
		want  finding.Slug
		depth string
	}{
		{"depths a step too deep from a row on", shift(40, 1), finding.DepthStepWrong, "40"},
		{"depths two steps too deep from a row on", shift(40, 2), finding.DepthStepWrong, "40"},
		{"depths a step too low from a row on", shift(40, -1), finding.DepthStepWrong, "40"},
		{"three rows left out", func(c *chart.Chart) { c.Rows = slices.Delete(c.Rows, 30, 33) }, finding.RowMissing, "30"},
		{"three rows twice", func(c *chart.Chart) { c.Rows = slices.Insert(c.Rows, 33, c.Rows[30:33:33]...) }, finding.RowDoubled, "30"},
		{"whole rows exchanged", func(c *chart.Chart) { c.Rows[30], c.Rows[31] = c.Rows[31], c.Rows[30] }, finding.RowsExchanged, ""},
		{"depths exchanged", func(c *chart.Chart) {
			c.Rows[30].Depth, c.Rows[31].Depth = c.Rows[31].Depth, c.Rows[30].Depth
		}, finding.RowsExchanged, ""},
		{"volumes exchanged, three apart", func(c *chart.Chart) {
			c.Rows[30].Volume, c.Rows[33].Volume = c.Rows[33].Volume, c.Rows[30].Volume
		}, finding.RowsExchanged, "30"},
		{"litres in the middle and gallons again", volumes(30, 60, func(v float64) float64 { return math.Round(v * 3.785411784) }), finding.VolumeUnitChangesMidway, "30"},
		{"litres to the end", volumes(30, 97, func(v float64) float64 { return math.Round(v * 3.785411784) }), finding.VolumeUnitChangesMidway, "30"},
		{"imperial gallons from a row on", volumes(50, 97, func(v float64) float64 { return math.Round(v / 1.2009499255) }), finding.VolumeUnitChangesMidway, "50"},
		{"a mark of thousands that became a point", volumes(60, 61, func(v float64) float64 { return v / 1000 }), finding.ThousandsMarkLost, "60"},
		{"cut behind its mark, four rows", volumes(60, 64, func(v float64) float64 { return math.Floor(v / 1000) }), finding.ThousandsMarkLost, "60"},
		{"cut before its mark", volumes(60, 61, func(v float64) float64 { return math.Mod(v, 1000) }), finding.ThousandsMarkLost, "60"},
		{"a block a row too low", func(c *chart.Chart) {
			for i := 70; i > 40; i-- {
				c.Rows[i].Volume = c.Rows[i-1].Volume
			}
		}, finding.BlockShiftedOneRow, "41"},
		{"a block a row too high", func(c *chart.Chart) {
			for i := 40; i < 70; i++ {
				c.Rows[i].Volume = c.Rows[i+1].Volume
			}
		}, finding.BlockShiftedOneRow, "40"},
		{"one depth half a step off", func(c *chart.Chart) { c.Rows[40].Depth += 0.5 }, finding.DepthStepWrong, "40.5"},
		{"one depth ten steps off", func(c *chart.Chart) { c.Rows[40].Depth += 10 }, finding.DepthStepWrong, ""},
		{"a digit wrong", volumes(40, 41, func(v float64) float64 { return v + 300 }), finding.WrongDigit, "40"},
		{"two digits changed places", volumes(40, 41, digitsSwapped), finding.DigitsSwapped, "40"},
		{"a volume twice", func(c *chart.Chart) { c.Rows[40].Volume = c.Rows[39].Volume }, finding.VolumeRepeated, "40"},
		{"a volume with a point too much", volumes(40, 41, func(v float64) float64 { return v / 10 }), "", ""},
	} {
		c := made(t, tank, 1, 1)
		k.spoil(c)
		got := loud(Audit(nil, c, factsOf(tank)).Findings)
		switch {
		case len(got) != 1:
			t.Errorf("%s: %d findings: %s", k.name, len(got), list(got))
		case k.want != "" && got[0].Slug != k.want || k.depth != "" && got[0].Depth != k.depth:
			t.Errorf("%s: want %s at %s, got %s at %s", k.name, k.want, k.depth, got[0].Slug, got[0].Depth)
		}
	}
}

// digitsSwapped exchanges the last two unlike digits that stand beside each other.
func digitsSwapped(v float64) float64 {
	b := []byte(fmt.Sprintf("%.0f", v))
	for i := len(b) - 1; i > 0; i-- {
		if b[i] != b[i-1] {
			b[i], b[i-1] = b[i-1], b[i]
			break
		}
	}
	var out float64
	fmt.Sscanf(string(b), "%g", &out)
	return out
}

// Whatever happens to a chart, of whatever size, the audit ends, leaves the chart
// as it is, says the same again, and names only rows that are there.
func TestAnyChartIsAuditedTheSameTwice(t *testing.T) {
	g := rand.New(rand.NewPCG(11, 7))
	ws := new(Workspace)
	for range 300 {
		tank := aTank(g)
		c := made(t, tank, []float64{0.25, 0.5, 1, 2, 3}[g.IntN(5)], []float64{0.1, 1, 5, 10}[g.IntN(4)])
		if g.IntN(3) == 0 {
			c.Rows = c.Rows[:g.IntN(len(c.Rows)+1)]
		}
		for range g.IntN(4) {
			n := len(c.Rows)
			if n < 4 {
				break
			}
			i, j := 1+g.IntN(n-2), 1+g.IntN(n-2)
			r := &c.Rows[i]
			switch g.IntN(12) {
			case 0:
				r.Volume = math.NaN()
			case 1:
				r.Depth = math.NaN()
			case 2:
				r.Volume *= math.Pow(10, float64(g.IntN(5)-2))
			case 3:
				r.Depth *= 2.54
			case 4:
				r.Volume, c.Rows[j].Volume = c.Rows[j].Volume, r.Volume
			case 5:
				r.Depth, c.Rows[j].Depth = c.Rows[j].Depth, r.Depth
			case 6:
				c.Rows = slices.Delete(c.Rows, i, i+1)
			case 7:
				c.Rows = slices.Insert(c.Rows, i, *r)
			case 8:
				for k := i; k < n; k++ {
					c.Rows[k].Volume = math.Round(c.Rows[k].Volume * 3.785411784)
				}
			case 9:
				for k := i; k < n; k++ {
					c.Rows[k].Depth *= 2.54
				}
			case 10:
				r.Volume = -r.Volume
			case 11:
				for k := i; k < min(n, i+5); k++ {
					c.Rows[k].Volume += 40 * g.NormFloat64()
				}
			}
		}
		f := factsOf(tank)
		switch g.IntN(4) {
		case 0:
			f = Facts{}
		case 1:
			f.Diameter += 3 * g.NormFloat64()
		case 2:
			f.Nominal = 10000
		}
		before := slices.Clone(c.Rows)
		first := Audit(ws, c, f)
		again := Audit(nil, c, f)
		if a, b := list(first.Findings), list(again.Findings); a != b {
			t.Fatalf("said %s and then %s", a, b)
		}
		same := func(a, b chart.Row) bool {
			return math.Float64bits(a.Depth) == math.Float64bits(b.Depth) && math.Float64bits(a.Volume) == math.Float64bits(b.Volume) && a.SheetRow == b.SheetRow
		}
		if !slices.EqualFunc(before, c.Rows, same) {
			t.Fatal("the chart was changed")
		}
		for _, f := range first.Findings {
			if f.At.File == "" || f.Why == "" || f.Found == "" || f.Expected == "" || f.Suggestion == "" || f.Chart != c.Name {
				t.Fatalf("a finding without its evidence: %+v", f)
			}
		}
		if said := Said(c); len(said) != len(c.Rows) {
			t.Fatalf("%d predictions for %d rows", len(said), len(c.Rows))
		}
	}
}

// What the neighbours say of a row is what a cubic says: of volumes that lie on one
// it is the volume itself, wherever the row stands, and of a wrong one what it
// should be. At a row that cannot be read nothing is said, nor in a short chart.
func TestSaid(t *testing.T) {
	cubic := func(x float64) float64 { return 3 + 20*x + 5*x*x - 0.1*x*x*x }
	c := &chart.Chart{}
	for i := range 24 {
		c.Rows = append(c.Rows, chart.Row{Depth: float64(i), Volume: cubic(float64(i))})
	}
	c.Rows[12].Volume += 50
	c.Rows[20].Depth = math.NaN()
	said := Said(c)
	for i, s := range said {
		outside := i == 0 || i == 23 || i == 20
		if outside != math.IsNaN(s) {
			t.Errorf("row %d: %v", i, s)
		}
	}
	// Rows whose eight neighbours do not hold the wrong one.
	for _, i := range []int{1, 5, 12, 18, 22} {
		if d := said[i] - cubic(float64(i)); math.Abs(d) > 1e-6 {
			t.Errorf("row %d: off by %v", i, d)
		}
	}
	c.Rows = c.Rows[:9]
	for i, s := range Said(c) {
		if !math.IsNaN(s) {
			t.Errorf("nine rows, row %d: %v", i, s)
		}
	}
}

// Without a tank, or without units, only what holds for any chart is given; a chart
// that states its full height lends it where the list has no diameter.
func TestFactsOfLittle(t *testing.T) {
	c := &chart.Chart{DepthUnit: unit.Inches, VolumeUnit: unit.USGallons, FullHeight: cell.Of[unit.Length]{V: 96, Raw: "96"}}
	if f := FactsOf(nil, c, 90); f != (Facts{Limit: 90}) {
		t.Errorf("%+v", f)
	}
	k := &plan.Tank{Shape: cell.Of[string]{V: "horizontal", Raw: "horizontal"}}
	if f := FactsOf(k, c, 90); f.Diameter != 96 || f.Shape != "horizontal" || !f.USGallons {
		t.Errorf("%+v", f)
	}
	c.VolumeUnit = unit.VolumeUnknown
	if f := FactsOf(k, c, 90); f.Diameter != 0 || f.Shape != "horizontal" {
		t.Errorf("%+v", f)
	}
}

// Numbers are written as a person would.
func TestNumber(t *testing.T) {
	for _, k := range []struct {
		v    float64
		want string
	}{{1.5, "1.5"}, {100, "100"}, {0.1 + 0.2, "0.3"}, {-1e-9, "0"}, {math.NaN(), "no number"}} {
		if got := number(k.v); got != k.want {
			t.Errorf("%v: %q, want %q", k.v, got, k.want)
		}
	}
}
