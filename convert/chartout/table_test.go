package chartout

import (
	"encoding/csv"
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/shape"
	"dropcut/plan/unit"
)

func chartOf(du unit.LengthUnit, vu unit.VolumeUnit, pairs ...float64) *chart.Chart {
	c := &chart.Chart{Name: "MR-1", DepthUnit: du, VolumeUnit: vu, At: cell.Ref{File: "tanks.xlsx", Sheet: "Charts", Col: 2, Row: 2}, To: cell.Ref{Col: 3, Row: 1 + len(pairs)/2}}
	for i := 0; i < len(pairs); i += 2 {
		c.Rows = append(c.Rows, chart.Row{Depth: pairs[i], Volume: pairs[i+1], SheetRow: int32(2 + i/2), DepthCol: 2, VolumeCol: 3})
	}
	return c
}

// The factors are those of NIST Special Publication 811 (2008), appendix B.8: the
// inch is 25.4 mm exactly, the US gallon 3.785 411 784 L (231 in³ exactly), the
// imperial gallon 4.546 09 L, the barrel 42 US gallons. What is written is
// worked out by hand from them.
func TestUnitsAreChangedExactly(t *testing.T) {
	for _, c := range []struct {
		name string
		in   *chart.Chart
		o    Options
		want []Row
		says string
	}{
		{
			"inches to millimetres", chartOf(unit.Inches, unit.USGallons, 0, 0, 0.125, 10, 1, 100),
			Options{DepthUnit: unit.Millimetres, VolumeUnit: unit.Litres},
			// The chart is rounded to 10 gal, 37.9 L, so 10 L is fine enough: 37.854 L
			// goes up, the top, 378.54 L, down.
			[]Row{{0, 0}, {3.175, 40}, {25.4, 370}},
			"volumes rounded up to 10 L and the top one down",
		},
		{
			"whole gallons to litres", chartOf(unit.Inches, unit.USGallons, 0, 0, 1, 11, 2, 31),
			Options{VolumeUnit: unit.Litres},
			// 41.6395 L, 117.3478 L.
			[]Row{{0, 0}, {1, 42}, {2, 117}},
			"rounded up to 1 L",
		},
		{
			"litres to gallons", chartOf(unit.Millimetres, unit.Litres, 0, 0, 10, 41, 20, 117),
			Options{DepthUnit: unit.Inches, VolumeUnit: unit.USGallons},
			// 0.393700 in, 0.787401 in; 10.8311 gal, 30.9081 gal.
			[]Row{{0, 0}, {0.3937, 10.9}, {0.7874, 30.9}},
			"depths rounded down to 0.0001 in",
		},
		{
			"cubic metres to barrels", chartOf(unit.Metres, unit.CubicMetres, 0.254, 1.001, 0.508, 2.003),
			Options{DepthUnit: unit.Inches, VolumeUnit: unit.Barrels},
			// 1 m³ is 6.289 811 bbl: 6.29610, 12.59849.
			[]Row{{10, 6.297}, {20, 12.598}},
			"rounded up to 0.001 bbl",
		},
		{
			"imperial to US gallons", chartOf(unit.Inches, unit.ImperialGallons, 0, 0, 1, 101),
			Options{VolumeUnit: unit.USGallons},
			// 101 × 4.54609 / 3.785411784 = 121.2958; the top goes down.
			[]Row{{0, 0}, {1, 121}},
			"rounded up to 1 gal",
		},
		{"nothing to do", chartOf(unit.Inches, unit.USGallons, 0, 0, 0.3333333, 7.77777, 1, 100.123456789), Options{}, []Row{{0, 0}, {0.3333333, 7.77777}, {1, 100.123456789}}, ""},
		{"from the top down", chartOf(unit.Inches, unit.USGallons, 2, 31, 1, 11, 1, 11, 0, 0), Options{}, []Row{{0, 0}, {1, 11}, {2, 31}}, ""},
	} {
		got, err := Make(c.in, c.o)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if !slices.Equal(got.Rows, c.want) {
			t.Errorf("%s gave %v, want %v", c.name, got.Rows, c.want)
		}
		if !strings.Contains(got.Source(), c.says) || c.says == "" && len(got.Done) > 0 {
			t.Errorf("%s says %q, want %q", c.name, got.Source(), c.says)
		}
	}
}

// A chart that cannot be used is refused, and says why.
func TestUnusableChartsAreRefused(t *testing.T) {
	ullage := chartOf(unit.Inches, unit.USGallons, 0, 0, 1, 11)
	ullage.Ullage = true
	for _, c := range []struct {
		name string
		in   *chart.Chart
		o    Options
		want error
	}{
		{"units", chartOf(unit.LengthUnknown, unit.USGallons, 0, 0, 1, 2), Options{DepthUnit: unit.Inches}, chart.ErrUnits},
		{"falls", chartOf(unit.Inches, unit.USGallons, 0, 0, 1, 20, 2, 10, 3, 30), Options{}, chart.ErrVolume},
		{"not a number", chartOf(unit.Inches, unit.USGallons, 0, 0, 1, math.NaN(), 3, 30), Options{}, chart.ErrNoValue},
		{"ullage without height", ullage, Options{}, ErrHeight},
		{"step above the height", chartOf(unit.Inches, unit.USGallons, 0, 0, 1, 20), Options{Step: 2, StepText: "2 in"}, ErrStep},
		{"step too fine", chartOf(unit.Inches, unit.USGallons, 0, 0, 200, 20), Options{Step: 1e-3, StepText: "0.001 in"}, ErrStep},
	} {
		if _, err := Make(c.in, c.o); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
}

// Nothing is made up outside the chart, its own rows stay what they are, and
// every other row stands on a multiple of the step.
func TestStepsStayWithinTheChart(t *testing.T) {
	c := chartOf(unit.Inches, unit.USGallons, 6.5, 300, 8, 411, 10, 575, 11.25, 683)
	got, err := Make(c, Options{Step: unit.Inch / 2, StepText: "1/2 in"})
	if err != nil {
		t.Fatal(err)
	}
	var depths []float64
	for _, r := range got.Rows {
		depths = append(depths, r.Depth)
	}
	want := []float64{6.5, 7, 7.5, 8, 8.5, 9, 9.5, 10, 10.5, 11, 11.25}
	if !slices.Equal(depths, want) {
		t.Errorf("depths %v, want %v", depths, want)
	}
	for _, r := range c.Rows {
		if i := slices.Index(depths, r.Depth); i < 0 || got.Rows[i].Volume != r.Volume {
			t.Errorf("the row at %v of the chart is not among those written: %v", r.Depth, got.Rows)
		}
	}
	if got.Denominator != 4 || !strings.Contains(got.Source(), "7 of 11 lie between rows of the chart") {
		t.Errorf("fractions of 1/%d; %s", got.Denominator, got.Source())
	}
}

// A plan from a converted chart never shuts off higher: the deepest row whose
// volume is not above the limit holds no more than the limit of the old chart
// allows, whatever the units and steps.
func TestConvertedChartShutsOffNoHigher(t *testing.T) {
	lengths := []unit.LengthUnit{unit.Inches, unit.Feet, unit.Millimetres, unit.Centimetres, unit.Metres}
	volumes := []unit.VolumeUnit{unit.USGallons, unit.ImperialGallons, unit.Litres, unit.CubicMetres, unit.Barrels}
	for run := range 400 {
		rng := rand.New(rand.NewPCG(uint64(run), 5))
		c := lying(t, "MR-1", unit.Inches, unit.USGallons, unit.Length(60+rng.IntN(80)), unit.Length(100+rng.IntN(400)), []float64{0.25, 0.5, 1, 2}[rng.IntN(4)], []float64{1, 10, 0.1}[rng.IntN(3)])
		o := Options{DepthUnit: lengths[rng.IntN(5)], VolumeUnit: volumes[rng.IntN(5)]}
		made, err := Make(c, o)
		if err != nil {
			t.Fatal(err)
		}
		old, err := chart.NewCurve(c)
		if err != nil {
			t.Fatal(err)
		}
		again := &chart.Chart{DepthUnit: made.DepthUnit, VolumeUnit: made.VolumeUnit}
		for _, r := range made.Rows {
			again.Rows = append(again.Rows, chart.Row{Depth: r.Depth, Volume: r.Volume})
		}
		curve, err := chart.NewCurve(again)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range []unit.Percent{90, 92, 95, 98} {
			_, full := old.Full()
			_, now := curve.Full()
			was, _, err := old.AtOrBelow(p.Of(full))
			is, _, err2 := curve.AtOrBelow(p.Of(now))
			if err != nil || err2 != nil {
				t.Fatal(err, err2)
			}
			if is > was+unit.Guard {
				t.Errorf("run %d, %v %%, to %s and %s: shuts off at %v in, before at %v in", run, p, o.DepthUnit, o.VolumeUnit, is, was)
			}
		}
	}
}

// Against the exact shape: a chart of 3 in steps written at every 1/8 in errs by
// 0.10 % of capacity at most, in the first and the last step, where straight
// lines err by 0.25 %. The figures are measured here, not taken from anywhere.
func TestCurveBetweenRowsAgainstTheShape(t *testing.T) {
	worst := 0.0
	for _, d := range []unit.Length{64, 90, 96, 120} {
		c := lying(t, "MR-1", unit.Inches, unit.USGallons, d, 320, 3, 0)
		made, err := Make(c, Options{Step: unit.Inch / 8, StepText: "1/8 in"})
		if err != nil {
			t.Fatal(err)
		}
		body, err := shape.New(shape.Spec{Kind: shape.Horizontal, Diameter: float64(d), Length: 320})
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range made.Rows {
			off := (r.Volume*shape.CubicInchesPerGallon - body.Volume(r.Depth)) / body.Full() * 100
			worst = max(worst, math.Abs(off))
		}
	}
	t.Logf("worst error %.4f %% of capacity", worst)
	if worst > 0.11 {
		t.Errorf("worst error %v %% of capacity", worst)
	}
}

// The charts of worked_charts.csv were computed outside the project and rounded
// to whole units. One that keeps its whole inches only and is written at every
// 1/8 in must give back the rows between: within half a unit for their own
// rounding, half a unit for that of the rows kept, one unit for the rounding up
// and a tenth of one for the curve.
func TestWorkedChartsBetweenInches(t *testing.T) {
	charts := workedCharts(t)
	if len(charts) == 0 {
		t.Fatal("no worked chart was read")
	}
	compared := 0
	for name, rows := range charts {
		c := chartOf(unit.Inches, unit.USGallons)
		exact := map[float64]float64{}
		for _, r := range rows {
			exact[r.Depth] = r.Volume
			if r.Depth == math.Trunc(r.Depth) {
				c.Rows = append(c.Rows, chart.Row{Depth: r.Depth, Volume: r.Volume})
			}
		}
		if len(c.Rows) < 20 || len(exact) == len(c.Rows) {
			continue // a chart in whole inches has nothing between
		}
		made, err := Make(c, Options{Step: unit.Inch / 8, StepText: "1/8 in"})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		compared++
		n := 0
		for _, r := range made.Rows {
			if want, ok := exact[r.Depth]; ok {
				n++
				if math.Abs(r.Volume-want) > 2.1 {
					t.Errorf("%s at %v in: %v gal, want %v", name, r.Depth, r.Volume, want)
				}
			}
		}
		if n < len(rows)/2 {
			t.Errorf("%s: %d rows compared", name, n)
		}
	}
	if compared < 2 {
		t.Errorf("%d charts have rows between whole inches", compared)
	}
}

// A tank whose ends nobody names is taken to have half balls; the chart says
// that it was computed, and how.
func TestFromDimensionsSaysSo(t *testing.T) {
	tank := &plan.Tank{At: cell.Ref{File: "tanks.xlsx", Sheet: "Tanks", Row: 7}}
	tank.ID = cell.Of[string]{V: "MR-9", Raw: "MR-9", At: cell.Ref{Row: 7, Col: 1}}
	tank.Diameter = cell.Of[unit.Length]{V: 96, Raw: "96"}
	tank.Length = cell.Of[unit.Length]{V: 320, Raw: "320"}
	c, err := plan.ChartFromDimensions(tank, unit.Inch, 0)
	if err != nil {
		t.Fatal(err)
	}
	made, err := Make(c, Options{})
	if err != nil {
		t.Fatal(err)
	}
	text := strings.Join(made.Titles(), " ")
	for _, want := range []string{Computed, "row 7 of tanks.xlsx, Tanks", "half balls, since nothing else is said", "rounded up to 1 gal and the top one down"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q does not say %q", text, want)
		}
	}
	// A cylinder of 96 in by 320 in with two half balls: 231 in³ a gallon.
	full := (math.Pi*48*48*320 + 4.0/3*math.Pi*48*48*48) / 231
	if got := made.Rows[len(made.Rows)-1].Volume; got != math.Floor(full) {
		t.Errorf("full at %v gal, want %v", got, math.Floor(full))
	}
}

func workedCharts(t *testing.T) map[string][]Row {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "plan", "testdata", "worked_charts.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	charts := map[string][]Row{}
	for _, r := range records[1:] {
		d, err := strconv.ParseFloat(r[1], 64)
		v, err2 := strconv.ParseFloat(r[2], 64)
		if err != nil || err2 != nil {
			t.Fatal(r)
		}
		charts[r[0]] = append(charts[r[0]], Row{d, v})
	}
	return charts
}
