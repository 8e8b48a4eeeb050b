package charts

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
	"dropcut/plan/shape"
	"dropcut/plan/unit"
)

// Charts of exact shapes, rounded to a gallon, are sound whatever the tank.
func TestSoundChartsPass(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 7))
	ws := new(Workspace)
	for range 250 {
		s := aTank(r)
		c := made(t, s, []float64{1, 0.5, 0.25}[r.IntN(3)], 1)
		f := factsOf(s)
		f.Nominal = c.Rows[len(c.Rows)-1].Volume
		if got := loud(Audit(ws, c, f).Findings); len(got) > 0 {
			t.Errorf("%+v: %s", s, list(got))
		}
	}
}

// Single volumes off by 5 units of rounding or more are found, each at its cell
// and once, wherever the curve is known on both sides.
func TestEveryWrongCellIsFound(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 5))
	ws := new(Workspace)
	for range 300 {
		s := aTank(r)
		c := made(t, s, []float64{1, 0.5, 0.25}[r.IntN(3)], 1)
		n := len(c.Rows)
		i := n/20 + 3 + r.IntN(n*9/10-6)
		step := c.Rows[i+1].Volume - c.Rows[i-1].Volume
		off := max(6, math.Round(step*(0.1+2*r.Float64())))
		if r.IntN(2) == 0 && off < c.Rows[i].Volume {
			off = -off
		}
		was := c.Rows[i].Volume
		c.Rows[i].Volume += off
		got := loud(Audit(ws, c, factsOf(s)).Findings)
		switch {
		case len(got) != 1:
			t.Errorf("%+v, depth %v, %v for %v: %d findings%s", s, c.Rows[i].Depth, was+off, was, len(got), list(got))
		case got[0].At != c.VolumeAt(i):
			t.Errorf("%+v: found at %s, want %s", s, got[0].At, c.VolumeAt(i))
		}
	}
}

// A typist keys every fifth line and fills in the others: the knot is wrong, and
// is named, not the eight lines beside it.
func TestWrongKnotIsNamedNotItsLines(t *testing.T) {
	s := shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320}
	c := made(t, s, 0.2, 1)
	c.Rows = c.Rows[:96*5+1]
	fill := func() {
		for k := 0; k+5 < len(c.Rows); k += 5 {
			a, b := c.Rows[k].Volume, c.Rows[k+5].Volume
			for j := 1; j < 5; j++ {
				c.Rows[k+j].Volume = math.Round(a + (b-a)*float64(j)/5)
			}
		}
	}
	fill()
	if got := loud(Audit(nil, c, factsOf(s)).Findings); len(got) > 0 {
		t.Fatalf("filled in without a fault: %s", list(got))
	}
	c.Rows[40*5].Volume += 40
	fill()
	got := loud(Audit(nil, c, factsOf(s)).Findings)
	if len(got) != 1 || got[0].At != c.VolumeAt(40*5) {
		t.Fatalf("want one finding at %s, got %s", c.VolumeAt(40*5), list(got))
	}
}

// Severity goes by harm: the same slip of the pen is a stop where it sets the
// shutoff above the limit, and a check where it does not touch it.
func TestSeverityByHarm(t *testing.T) {
	s := shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320}
	for _, c := range []struct {
		depth int
		off   float64
		want  finding.Severity
	}{
		{40, -300, finding.Check},
		// 89 in holds 9,698 gal of 10,027, 96.7 %; 198 gal less reads 94.7 %.
		{89, -198, finding.Stop},
		{80, 300, finding.Check},
	} {
		ch := made(t, s, 1, 1)
		ch.Rows[c.depth].Volume += c.off
		got := loud(Audit(nil, ch, factsOf(s)).Findings)
		if len(got) != 1 || got[0].Severity != c.want {
			t.Errorf("%v gal at %d in: want one %s, got %s", c.off, c.depth, c.want, list(got))
		}
	}
}

func TestHeightMeasuredAtTheRiser(t *testing.T) {
	s := shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320}
	c := made(t, s, 1, 1)
	for _, k := range []struct {
		height float64
		found  bool
	}{{96, false}, {95.5, false}, {96.5, false}, {94, true}, {92, true}, {102, true}} {
		f := factsOf(s)
		f.FaceToBottomLessRiser = k.height
		got := loud(Audit(nil, c, f).Findings)
		if k.found != (len(got) == 1) || k.found && got[0].Slug != finding.ChartOfAnotherDiameter {
			t.Errorf("face to bottom less riser height %v in, chart of 96: %s", k.height, list(got))
		}
		// A chart of a taller tank sets the shutoff too high.
		if k.height < 95 && len(got) == 1 && got[0].Severity != finding.Stop {
			t.Errorf("%v in: %s, want a stop", k.height, got[0].Severity)
		}
	}
}

// Commas are marked by the reading and named here; the likely number goes on to
// the other checks, so that one fault stays one finding.
func TestCommasMarkedByTheReading(t *testing.T) {
	s := shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320}
	for _, k := range []struct {
		name   string
		odd    chart.Odd
		number float64
		want   finding.Slug
		depth  string
	}{
		{"depth", chart.Odd{Row: 25, Kind: chart.OddComma, Raw: "12,5", Value: 12.5}, math.NaN(), finding.DecimalComma, "12.5"},
		{"thousands", chart.Odd{Row: 120, Volume: true, Kind: chart.OddComma, Raw: "6.613", Value: 6613}, 6.613, finding.ThousandsMarkLost, "60"},
	} {
		c := made(t, s, 0.5, 1)
		i := k.odd.Row
		if k.odd.Volume {
			c.Rows[i].Volume = k.number
			k.odd.Value = math.Round(made(t, s, 0.5, 1).Rows[i].Volume)
			c.Rows[i].Volume = k.odd.Value / 1000
		} else {
			c.Rows[i].Depth = k.number
		}
		c.Odd = []chart.Odd{k.odd}
		got := loud(Audit(nil, c, factsOf(s)).Findings)
		if len(got) != 1 || got[0].Slug != k.want || got[0].Depth != k.depth || got[0].Severity != finding.Stop {
			t.Errorf("%s: want one stop %s at %s, got %s", k.name, k.want, k.depth, list(got))
		}
	}
}

// Dates in the first inch are named by the reading, which has their text; the
// rows without a depth must not make gaps or doubled rows here.
func TestRowsWithoutADepthAreLeftToTheReading(t *testing.T) {
	s := shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320}
	c := made(t, s, 0.125, 1)
	for i := 1; i < 8; i++ {
		c.Rows[i].Depth = math.NaN()
		c.Odd = append(c.Odd, chart.Odd{Row: int32(i), Kind: chart.OddDate, Raw: "8-Jan", Value: 0.125})
	}
	if got := loud(Audit(nil, c, factsOf(s)).Findings); len(got) > 0 {
		t.Errorf("found %s", list(got))
	}
}

// What means nothing is one note.
func TestHabitsAreOneNote(t *testing.T) {
	s := shape.Spec{Kind: shape.Horizontal, Diameter: 95.6, Length: 320}
	c := made(t, s, 1, 1)
	last := c.Rows[len(c.Rows)-1]
	last.Depth, last.SheetRow = 96, last.SheetRow+1
	c.Rows = append(c.Rows, last)
	c.Rows[0].Volume = 2
	notes := 0
	for _, f := range Audit(nil, c, factsOf(s)).Findings {
		if f.Severity != finding.Note {
			t.Errorf("a habit makes a %s: %s", f.Severity, f.Slug)
		}
		if f.Slug == finding.ChartHabits {
			notes++
			for _, want := range []string{"ends flat", "first volume", "last step"} {
				if !strings.Contains(f.Found, want) {
					t.Errorf("%q lacks %q", f.Found, want)
				}
			}
		}
	}
	if notes != 1 {
		t.Errorf("%d notes of habits, want 1", notes)
	}
}

// Where no shape fits, the note says so and shape checks stand back.
func TestShapeNotRecognised(t *testing.T) {
	c := &chart.Chart{At: cell.Ref{File: "lake.csv", Col: 1, Row: 2}}
	for i := range 60 {
		h := float64(i)
		c.Rows = append(c.Rows, chart.Row{Depth: h, Volume: math.Round(h*h*h + 40*h), SheetRow: int32(i + 2), DepthCol: 1, VolumeCol: 2})
	}
	c.To = c.VolumeAt(59)
	r := Audit(nil, c, Facts{Diameter: 30, Nominal: 1000})
	if got := loud(r.Findings); len(got) > 0 {
		t.Errorf("found %s", list(got))
	}
	if r.Fit.Recognised || len(r.Findings) == 0 || r.Findings[0].Slug != finding.ShapeNotRecognised {
		t.Errorf("no note that the shape was not recognised: %s", list(r.Findings))
	}
}

func TestFactsComeInTheUnitsOfTheChart(t *testing.T) {
	c := &chart.Chart{DepthUnit: unit.Centimetres, VolumeUnit: unit.Litres}
	given := func(l unit.Length) cell.Of[unit.Length] { return cell.Of[unit.Length]{V: l, Raw: "x"} }
	tank := &plan.Tank{
		Diameter: given(96), RiserHeight: given(36), FaceToBottom: given(132),
		Nominal: cell.Of[unit.Volume]{V: 10000, Raw: "10000"},
	}
	f := FactsOf(tank, c, 95)
	for _, k := range []struct{ got, want float64 }{
		{f.Diameter, 243.84},                            // 96 x 2.54, exact
		{f.FaceToBottomLessRiser, 243.84},               // 132 - 36
		{f.Nominal, 37854.11784},                        // 1 US gal = 3.785411784 L, exact
		{f.Inch, 2.54},                                  // exact
		{f.PerCubic, 0.001},                             // 1 cm3 = 0.001 L, exact
		{f.Limit, 95},                                   // as given
		{FactsOf(nil, c, 90).Limit, 90},                 // without a tank
		{FactsOf(tank, &chart.Chart{}, 95).Diameter, 0}, // units not known
	} {
		if !(math.Abs(k.got-k.want) <= 1e-12*math.Max(1, k.want)) {
			t.Errorf("got %v, want %v", k.got, k.want)
		}
	}
}

// A longer chart costs no more allocations than a short one.
func TestNoAllocationPerRow(t *testing.T) {
	s := shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320}
	count := func(step float64) float64 {
		c, ws := made(t, s, step, 1), new(Workspace)
		Audit(ws, c, factsOf(s))
		return testing.AllocsPerRun(5, func() { Audit(ws, c, factsOf(s)) })
	}
	if short, long := count(1), count(0.125); long > short+8 {
		t.Errorf("%v allocations for 97 rows, %v for 769", short, long)
	}
}

func FuzzAudit(f *testing.F) {
	f.Add([]byte{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15}, 1.0, 96.0)
	f.Add([]byte{9, 9, 9, 0, 255, 1, 1, 1, 40, 40, 3, 2, 1, 0, 0, 0, 7, 7}, 0.125, 0.0)
	f.Fuzz(func(t *testing.T, steps []byte, step, diameter float64) {
		c := &chart.Chart{At: cell.Ref{File: "f.csv", Col: 1, Row: 2}}
		d, v := 0.0, 0.0
		for i, b := range steps {
			row := chart.Row{Depth: d, Volume: v, SheetRow: int32(i + 2), DepthCol: 1, VolumeCol: 2}
			switch b {
			case 255:
				row.Depth = math.NaN()
			case 254:
				row.Volume = math.Inf(1)
			case 253:
				row.Depth = -1e300
			case 252:
				d -= 2 * step
			}
			c.Rows = append(c.Rows, row)
			d += step
			v += float64(b % 64)
		}
		if n := len(c.Rows); n > 0 {
			c.To = c.VolumeAt(n - 1)
		}
		for _, x := range Audit(nil, c, Facts{Diameter: diameter, Nominal: v}).Findings {
			if x.Slug == "" || x.Severity == 0 || x.Found == "" {
				t.Errorf("an empty finding: %+v", x)
			}
			if r := x.At.Row; r != 0 && (r < 2 || r > len(c.Rows)+1) {
				t.Errorf("%s at row %d of %d", x.Slug, r, len(c.Rows))
			}
		}
	})
}
