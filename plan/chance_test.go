package plan

import (
	"math"
	"math/rand/v2"
	"testing"

	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/device"
	"dropcut/plan/finding"
	"dropcut/plan/shape"
	"dropcut/plan/unit"
)

// The distribution of sums of uniform errors against closed forms: one uniform, a
// triangle of two, the cubic of three, and 12 of them, whose chance beyond two
// standard deviations differs from the normal one's by under 0.1 points.
func TestOverSum(t *testing.T) {
	for _, c := range []struct {
		half []float64
		x    float64
		want float64
		tol  float64
	}{
		{[]float64{1}, 0.5, 0.25, 1e-12},
		{[]float64{1}, -0.5, 0.75, 1e-12},
		{[]float64{1, 1}, 0, 0.5, 1e-12},
		{[]float64{1, 1}, 1, 0.125, 1e-12},
		{[]float64{1, 1, 1}, 1, 1 - (math.Pow(4, 3)-3*math.Pow(2, 3))/48, 1e-12}, // Irwin-Hall
		{[]float64{1, 1, 1}, 3, 0, 0},
		{[]float64{1, 1, 1}, -3.001, 1, 0},
		{[]float64{1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1}, 2 * 2, math.Erfc(2/math.Sqrt2) / 2, 1e-3},
		{[]float64{1, 1e-9}, 0.5, 0.25, 1e-9},
		{nil, 0.1, 0, 0},
		{nil, -0.1, 1, 0},
	} {
		if got := overSum(append([]float64(nil), c.half...), c.x); math.Abs(got-c.want) > c.tol {
			t.Errorf("%v beyond %g: %.15g, want %.15g", c.half, c.x, got, c.want)
		}
	}
}

// Seven uniforms of unlike size against a count of a million draws, whose own
// error is 0.05 points.
func TestOverSumCounted(t *testing.T) {
	g := rand.New(rand.NewPCG(7, 7))
	for range 6 {
		half := make([]float64, 7)
		for i := range half {
			half[i] = math.Pow(10, -1.5*g.Float64())
		}
		x := 0.8 * g.Float64()
		const n = 300_000
		over := 0
		for range n {
			s := 0.0
			for _, a := range half {
				s += a * (2*g.Float64() - 1)
			}
			if s > x {
				over++
			}
		}
		want := float64(over) / n
		if got := overSum(half, x); math.Abs(got-want) > 0.0035 { // four standard errors of the count
			t.Errorf("%v beyond %g: %.5f, counted %.5f", half, x, got, want)
		}
	}
}

// trial is a tank of known shape for simulated installs.
type trial struct {
	tank   Tank
	chart  *chart.Chart
	device device.Device
	length float64
}

// trials makes n lying tanks of round and odd sizes with charts in whole and half
// inches, rounded to the gallon.
func trials(t testing.TB, n int) []trial {
	t.Helper()
	g := rand.New(rand.NewPCG(11, 13))
	list := make([]trial, n)
	for i := range list {
		d := 64 + math.Floor(60*g.Float64()*4)/4
		l := d * (2 + 2.5*g.Float64())
		x := &list[i]
		x.length = l
		x.tank = Tank{
			At: cell.Ref{File: "tanks.csv", Row: i + 2}, ID: given("S", 1), Place: given("US-federal", 2), Diameter: inches(d), Length: inches(l),
			EndShape: given("flat", 3), RiserHeight: inches(36.25), FaceToBottom: inches(d + 36.25), FillStation: inches(24),
		}
		if i%4 == 3 {
			x.tank.FillStation = inches(l / 2)
		}
		var err error
		if x.chart, err = ChartFromDimensions(&x.tank, unit.Length(1-0.5*float64(i%2)), 1); err != nil {
			t.Fatal(err)
		}
		x.chart.FromDimensions = false
		x.device = device.Device{
			Name: given("trial", 1), ShutoffDrop: inches(2.375), LeastBelowTop: inches(3), LeastUpperTube: inches(14.5), BodyLength: inches(12.875), TubeDiameter: inches(4),
		}
	}
	return list
}

// installs counts how often a tank that is cut as planned is filled beyond its
// limit: each install draws its own errors of stick, tape, saw, device, chart,
// rounding and rise, and the level is followed through the exact shape of the
// tank as it lies.
func (x *trial) installs(t testing.TB, cut *Cut, n int, seed uint64) float64 {
	t.Helper()
	const steps = 256 // rises drawn from so many, evenly spread
	d := float64(x.tank.Diameter.V)
	bodies := make([]*shape.Tank, steps)
	off := x.tank.FillStation.V
	for i := range bodies {
		rise := -1 + 2*(float64(i)+0.5)/steps
		s := shape.Spec{Kind: shape.Horizontal, Diameter: d, Length: x.length, Rise: math.Abs(rise), Dip: float64(off)}
		if rise < 0 {
			s.Dip = x.length - float64(off)
		}
		var err error
		if bodies[i], err = shape.New(s); err != nil {
			t.Fatal(err)
		}
	}
	level, _ := tankOf(&x.tank)
	full := level.Full()
	planned := float64(cut.ShutoffDepth.V)
	// The chart's reading of the planned depth and the tank's own differ by what
	// the chart rounds and joins by straight lines; that error is drawn, not the
	// one that this chart happens to have.
	base := float64(cut.ShutoffPercent.V) - 100*level.Volume(planned)/full
	rounding := 100 * 231 * 0.5 / full
	g := rand.New(rand.NewPCG(seed, 17))
	sym := func(a float64) float64 { return a * (2*g.Float64() - 1) }
	over := 0
	for range n {
		depth := planned + sym(1./8) + sym(1./16) + sym(1./16) + sym(1./16)
		share := base + 100*bodies[g.IntN(steps)].Volume(depth)/full + sym(0.25) + sym(rounding)
		if share > float64(cut.LimitPercent.V) {
			over++
		}
	}
	return 100 * float64(over) / float64(n)
}

// The chance over the limit against 200,000 simulated installs on each of 20
// tanks, within 0.3 points: the count's own standard error is 0.11 points at
// most, and linear propagation is right to 0.2 % of itself.
func TestChanceAgainstInstalls(t *testing.T) {
	rules := federalRules(t)
	n := 200_000
	if testing.Short() {
		n = 50_000
	}
	worst := 0.0
	for i, x := range trials(t, 20) {
		// Between the entries the chance is near one half; with entries, or a
		// lower limit for the saw, it is anything below.
		o := Options{BetweenEntries: i%3 != 0}
		cut, found := Make(&x.tank, x.chart, &x.device, rules, o)
		if finding.Worst(found) == finding.Stop {
			t.Fatalf("tank %d: %v", i, stops(found))
		}
		got := float64(cut.ChanceOver.V)
		want := x.installs(t, &cut, n, uint64(i))
		worst = max(worst, math.Abs(got-want))
		tol := 0.3
		if testing.Short() {
			tol = 0.6
		}
		if math.Abs(got-want) > tol {
			t.Errorf("tank %d: chance %.3f %%, %.3f %% of %d installs", i, got, want, n)
		}
		sum := 0.0
		for _, s := range cut.Budget {
			sum += float64(s.OfVariance)
		}
		near(t, "shares of the variance", sum, 100, 1e-9)
	}
	t.Logf("worst difference %.3f points", worst)
}

// With a guard of 1 % no more than 1 % of simulated installs are over, but for
// the count's own error of 0.05 points.
func TestGuardHolds(t *testing.T) {
	rules := federalRules(t)
	n := 100_000
	if testing.Short() {
		n = 30_000
	}
	for i, x := range trials(t, 10) {
		cut, _ := Make(&x.tank, x.chart, &x.device, rules, Options{BetweenEntries: true, Guard: 1})
		if cut.ChanceOver.V > 1+1e-9 {
			t.Errorf("tank %d: the plan itself says %.3f %%", i, cut.ChanceOver.V)
		}
		if got := x.installs(t, &cut, n, uint64(i)); got > 1.15 {
			t.Errorf("tank %d: %.3f %% of installs are over the limit", i, got)
		}
		free, _ := Make(&x.tank, x.chart, &x.device, rules, Options{BetweenEntries: true})
		if !(cut.ShutoffDepth.V < free.ShutoffDepth.V) || cut.ShutoffDepth.V < free.ShutoffDepth.V-2 {
			t.Errorf("tank %d: the guard moves the shutoff from %v to %v", i, free.ShutoffDepth.V, cut.ShutoffDepth.V)
		}
	}
}

// Shares of variance and the guard of the 12,000 gal tank, fill 24 in from a
// seam (shapes-and-audit, section 6): tilt 61 %, chart 32 %, standard deviation
// 0.2551 %.
func TestBudgetShares(t *testing.T) {
	tank := Tank{
		ID: given("B", 1), Place: given("US-federal", 2), Diameter: inches(96), Length: inches(384), EndShape: given("flat", 3),
		RiserHeight: inches(40), FaceToBottom: inches(136), FillStation: inches(24),
	}
	c, err := ChartFromDimensions(&tank, 1, 1)
	if err != nil {
		t.Fatal(err)
	}
	d := device.Device{ShutoffDrop: inches(2), LeastBelowTop: inches(3), LeastUpperTube: inches(10), BodyLength: inches(12)}
	cut, _ := Make(&tank, c, &d, federalRules(t), Options{BetweenEntries: true})
	sd, lengths := 0.0, unit.Percent(0)
	for _, s := range cut.Budget {
		sd += float64(s.Half) * float64(s.Half) / 3
		switch s.Name {
		case "rise":
			near(t, "share of the rise", float64(s.OfVariance), 61, 1.5) // whole percents, and one length less there
		case "chart":
			near(t, "share of the chart", float64(s.OfVariance), 32, 1)
		default:
			lengths += s.OfVariance
		}
	}
	// The table has three lengths; the shutoff drop, 1/16 in, is a fourth here.
	near(t, "share of the lengths", float64(lengths), 7+1, 1)
	near(t, "standard deviation", math.Sqrt(sd), 0.2551, 0.003)
}

// The tilted tanks of worked_examples.csv, 2 in of rise and the fill 24 in from
// an end: the true share at the level cut, to the chart's rounding of half a
// gallon in 12,032 and the straight lines of 1 in steps.
func TestTiltedWorkedExamples(t *testing.T) {
	rules := federalRules(t)
	tilted := 0
	for _, w := range workedExamples(t) {
		if w.num(t, "tilt_end_to_end") == 0 {
			continue
		}
		tilted++
		level := w.num(t, "pct_chart_cut_eighth")
		depth := w.len(t, "shutoff_depth_cut_eighth")
		tank := w.tank
		x, l := w.len(t, "riser_from_low_seam"), w.len(t, "shell_length")
		tank.Length, tank.Rise, tank.EndShape = given(l, 1), given(w.len(t, "tilt_end_to_end"), 2), given("flat", 3)
		tank.FillStation, tank.LowEnd = given(min(x, l-x), 4), given(FillEnd, 5)
		if x > l/2 {
			tank.LowEnd.V = OtherEnd
		}
		at, ok := TiltCorrection(&tank, w.chart)
		if !ok {
			t.Fatal("the tilt is not counted")
		}
		near(t, "true share", level+float64(at(depth)), w.num(t, "pct_true_cut_eighth"), 0.007)

		cut, found := Make(&tank, w.chart, &w.device, rules, Options{BetweenEntries: true})
		if s := stops(found); s != nil {
			t.Fatal(s)
		}
		switch {
		case tank.LowEnd.V == OtherEnd:
			// shapes-and-audit section 2: -0.74 to -0.92 in for 2 in, riser at
			// the high end; the rule (L/2 - x) tilt / L to 0.01 in.
			rule := 2 * float64((l/2-min(x, l-x))/l)
			near(t, "correction", float64(cut.LevelDepth.V-cut.TiltedDepth.V), rule, 0.02)
		default:
			if cut.TiltedDepth.V < cut.LevelDepth.V || cut.ShutoffDepth.V > cut.LevelDepth.V {
				t.Errorf("at the low end the level answer %v is lower than %v and serves; got %v", cut.LevelDepth.V, cut.TiltedDepth.V, cut.ShutoffDepth.V)
			}
		}
		if cut.ShutoffPercent.V > cut.LimitPercent.V {
			t.Errorf("planned at %v %%", cut.ShutoffPercent.V)
		}
	}
	if tilted < 2 {
		t.Errorf("%d tilted examples", tilted)
	}
}
