package jobbook

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"dropcut/convert/jobbook/calculation"
	"dropcut/convert/jobbook/field"

	"dropcut/convert/jobbook/formula"
	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/device"
	"dropcut/plan/finding"
	"dropcut/plan/shape"
	"dropcut/plan/unit"
	"dropcut/validate"
)

func of[T any](v T) cell.Of[T] { return cell.Of[T]{V: v, Raw: "given"} }

func sixteenth(r *rand.Rand, lo, hi float64) unit.Length {
	return unit.Length(math.Round((lo+(hi-lo)*r.Float64())*16) / 16)
}

// randomTank invents a tank, its chart and its device.
func randomTank(t testing.TB, r *rand.Rand, n int) (*plan.Job, plan.Options) {
	t.Helper()
	tall := []float64{48, 64, 90, 96, 120}[r.IntN(5)]
	long := 100 + float64(r.IntN(300))
	s, err := shape.New(shape.Spec{Kind: shape.Horizontal, Diameter: tall, Length: long})
	if err != nil {
		t.Fatal(err)
	}
	c := &chart.Chart{Name: fmt.Sprintf("T-%d", n), DepthUnit: unit.Inches, VolumeUnit: unit.USGallons, At: cell.Ref{File: "list.xlsx", Sheet: "Charts", Col: 2, Row: 2}}
	step := []float64{0.25, 0.5, 1, 1, 2, 3}[r.IntN(6)]
	if r.IntN(4) == 0 { // a metric chart
		c.DepthUnit, c.VolumeUnit = unit.Millimetres, unit.Litres
		for d := 0.0; d/25.4 <= tall; d += 10 * math.Ceil(step) {
			c.Rows = append(c.Rows, chart.Row{Depth: d, Volume: math.Round(s.Volume(d/25.4) / shape.CubicInchesPerGallon * 3.785411784)})
		}
	} else {
		for d := 0.0; d <= tall; d += step {
			c.Rows = append(c.Rows, chart.Row{Depth: d, Volume: math.Round(s.Volume(d) / shape.CubicInchesPerGallon)})
		}
	}
	tk := plan.Tank{
		ID: cell.Of[string]{V: c.Name, Raw: c.Name}, Site: cell.Of[string]{V: "Millrace", Raw: "Millrace"},
		Limit: of(unit.Percent([]float64{90, 95, 97}[r.IntN(3)])), Device: cell.Of[string]{V: "D", Raw: "D"}, Length: of(unit.Length(long)),
	}
	riser := sixteenth(r, 4, 60)
	if r.IntN(8) > 0 {
		tk.RiserHeight = of(riser)
	}
	if r.IntN(6) > 0 {
		tk.FaceToBottom = of(riser + unit.Length(tall) + sixteenth(r, -0.3, 0.3))
	}
	if r.IntN(3) == 0 {
		tk.Diameter = of(unit.Length(tall) + sixteenth(r, -1, 1))
	}
	if r.IntN(3) == 0 {
		tk.Rise, tk.FillStation = of(sixteenth(r, 0.2, 3)), of(sixteenth(r, 0, long/2))
		tk.LowEnd = of([]plan.End{plan.FillEnd, plan.OtherEnd}[r.IntN(2)])
	}
	if r.IntN(3) == 0 {
		tk.CutAngle = of(unit.Angle(r.IntN(60)))
	}
	if r.IntN(2) == 0 {
		tk.AlarmDepth = of(sixteenth(r, tall/2, tall))
	}
	d := device.Device{
		Name: cell.Of[string]{V: "D", Raw: "D"}, ShutoffDrop: of(sixteenth(r, 1, 4)), LeastBelowTop: of(sixteenth(r, 3, 9)), LeastUpperTube: of(sixteenth(r, 8, 16)),
		BodyLength: of(sixteenth(r, 8, 14)), TubeDiameter: of(4 * unit.Inch), ArmSpace: of(19 * unit.Inch), LeastClearance: of(4 * unit.Inch), LeastRiserBore: of(4.0625 * unit.Inch),
		TestPressure: of(3 * unit.PSI),
		Joints:       []device.Joint{{Name: "lower joint", Least: of(18 * unit.PoundForceFoot), Most: of(26 * unit.PoundForceFoot)}, {Name: "upper joint", Least: of(14 * unit.PoundForceFoot), Most: of(20 * unit.PoundForceFoot)}},
	}
	if r.IntN(3) == 0 {
		d.TestExtra = of(1.75 * unit.Inch)
	}
	switch r.IntN(4) {
	case 0:
		d.CutStep = of(unit.Inch / 8)
	case 1:
		d.CutStep = of(unit.Millimetre)
	}
	job := &plan.Job{Book: "list.xlsx", Tanks: []plan.Tank{tk}, Charts: []*chart.Chart{c}, Devices: []device.Device{d}, ChartOf: []int{0}}
	return job, plan.Options{BetweenEntries: r.IntN(3) == 0, Guard: unit.Percent(r.IntN(2))}
}

func judged(job *plan.Job, o plan.Options) *validate.Result {
	for r := range validate.Run(job, o) {
		return &r
	}
	return nil
}

// want is what a page has to show.
func want(r *validate.Result, u field.Units, v plan.Value[unit.Length]) string {
	switch {
	case finding.Worst(r.Findings) == finding.Stop:
		return "do not cut"
	case !v.Known:
		return "measure first"
	case u.Length.Metric():
		return unit.LengthText(v.V, unit.Millimetres, 0, unit.Up) + " mm"
	}
	return unit.FractionText(v.V, 64, unit.Up) + " in"
}

// Whatever is typed into the marked cells of a page, its formulas show the cuts,
// the level and the share that the plan gives for the same values.
func TestPagesFollowThePlan(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 11))
	m := newMaker(t)
	changed, tanks := 0, 0
	for n := 0; tanks < 46; n++ {
		job, o := randomTank(t, r, n)
		before := judged(job, o)
		if !calculation.Possible(before) {
			continue
		}
		tanks++
		b, err := m.Book(Job{Name: "J", Results: []*validate.Result{before}})
		if err != nil {
			t.Fatal(err)
		}
		u := field.UnitsOf(before, field.Units{})
		compare := func(what string) {
			t.Helper()
			after := judged(job, o)
			for _, x := range []struct {
				name string
				v    plan.Value[unit.Length]
			}{{"shown_upper", after.Cut.UpperTube}, {"shown_lower", after.Cut.LowerTube}, {"shown_drop_length", after.Cut.DropLength}} {
				s, col, row, ok := b.Find("t1_" + x.name)
				if !ok {
					t.Fatalf("no cell is called %s", x.name)
				}
				got, want := s.Value("", col, row), want(after, u, x.v)
				if got.Text == "do not cut" && want != got.Text && otherMeasures(before, &job.Tanks[0]) {
					continue // the page stops sooner than the office, who see the whole chart
				}
				if got.Text != want {
					t.Errorf("tank %d, %s: %s shows %q, the plan says %q (status %s; %s)", n, what, x.name, got.Text, want, after.Status, slugs(after))
				}
			}
			page := b.Sheets[1]
			if share := page.Value("", 4, rowLevels+1); share.Kind == formula.Number && finding.Worst(after.Findings) != finding.Stop && after.Cut.UpperTube.Known {
				if want := unit.PercentText(after.Cut.ShutoffPercent.V, after.Cut.LimitPercent.V); fmt.Sprintf("%.2f", share.Num) != want {
					t.Errorf("tank %d, %s: %.4f %% full, the plan says %s", n, what, share.Num, want)
				}
				worst := page.Value("", 7, rowLevels+1)
				// The plan's own worst case, cut to two decimals away from the limit.
				if math.Abs(worst.Num-float64(after.Cut.WorstPercent.V)) > 0.0101 {
					t.Errorf("tank %d, %s: worst case %.4f %%, the plan says %.4f", n, what, worst.Num, float64(after.Cut.WorstPercent.V))
				}
			}
			for _, s := range b.Sheets {
				for row := 1; row <= s.Rows(); row++ {
					for col := 1; col <= calculation.AsideValue; col++ {
						if v := s.Value("", col, row); v.Kind == formula.Error {
							t.Fatalf("tank %d, %s: %s in %s column %d row %d", n, what, v.Text, s.Name, col, row)
						}
					}
				}
			}
		}
		compare("as planned")
		for _, f := range field.Asked(before) {
			s, col, row, ok := b.Find("t1_" + f.Key)
			if !ok {
				t.Fatalf("no cell is called %s", f.Key)
			}
			for range 3 {
				v := sixteenth(r, f.Least, min(f.Most, 160))
				old := field.Given(before, f.Key)
				if old.Given() && r.IntN(3) > 0 {
					v = old.V + sixteenth(r, -2, 2)
				}
				x := of(v)
				typed := formula.Num(float64(v))
				if u.Length.Metric() {
					typed = formula.Num(math.Round(float64(v) * 25.4))
					x.V = unit.Millimetres.Length(typed.Num)
				}
				if r.IntN(8) == 0 {
					x, typed = cell.Of[unit.Length]{}, formula.Value{}
				}
				put(&job.Tanks[0], f.Key, x)
				if err := b.Retype(s, col, row, typed); err != nil {
					t.Fatal(err)
				}
				changed++
				compare(fmt.Sprintf("%s = %v", f.Key, x.V))
			}
		}
		if t.Failed() {
			break
		}
	}
	if changed < 1000 {
		t.Errorf("%d cells were changed, 1000 are wanted", changed)
	}
}

// otherMeasures reports whether a tank's measures are off the height of its chart
// by what stops a page.
func otherMeasures(r *validate.Result, t *plan.Tank) bool {
	h := r.Cut.InsideHeight.V
	return t.RiserHeight.Given() && t.FaceToBottom.Given() && field.Abs(t.FaceToBottom.V-t.RiserHeight.V-h) > calculation.OtherByTube || t.Diameter.Given() && field.Abs(t.Diameter.V-h) > calculation.OtherByDiameter
}

func slugs(r *validate.Result) string {
	var list []string
	for _, f := range r.Findings {
		if f.Severity == finding.Stop {
			list = append(list, string(f.Slug)+": "+f.Found)
		}
	}
	return strings.Join(list, "; ")
}

// put sets a measure of a tank.
func put(t *plan.Tank, key string, v cell.Of[unit.Length]) {
	switch key {
	case field.Riser:
		t.RiserHeight = v
	case field.Face:
		t.FaceToBottom = v
	case field.Diameter:
		t.Diameter = v
	case field.Bore:
		t.RiserBore = v
	case field.Arm:
		t.FreeArm = v
	case field.Plate:
		t.StrikerPlate = v
	case field.Clearance:
		t.Clearance = v
	case field.Alarm:
		t.AlarmDepth = v
	}
}
