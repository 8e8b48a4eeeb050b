package plan

import (
	"math"
	"math/rand/v2"
	"testing"

	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/device"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// cases makes n random plans that come to an upper tube: lying tanks, any
// measurements on the sixteenth, level and tilted.
func cases(t *testing.T, n int) []trial {
	t.Helper()
	g := rand.New(rand.NewPCG(19, 23))
	list := trials(t, n)
	for i := range list {
		x := &list[i]
		riser := 20 + float64(g.IntN(30*16))/16
		x.tank.RiserHeight = inches(riser)
		x.tank.FaceToBottom = inches(riser + float64(x.tank.Diameter.V) + (g.Float64()-0.5)/2)
		x.device.ShutoffDrop = inches(1.5 + float64(g.IntN(32))/16)
		switch i % 4 {
		case 1:
			x.tank.Rise, x.tank.LowEnd = inches(3*g.Float64()), given(OtherEnd, 1)
		case 2:
			x.tank.Rise, x.tank.LowEnd = inches(3*g.Float64()), given(FillEnd, 1)
		}
	}
	return list
}

// A longer upper tube never raises the shutoff; forward and then backward gives
// the same share.
func TestBackward(t *testing.T) {
	rules := federalRules(t)
	for i, x := range cases(t, 60) {
		for _, o := range []Options{{}, {BetweenEntries: true}, {BetweenEntries: true, Guard: 5}} {
			cut, found := Make(&x.tank, x.chart, &x.device, rules, o)
			if s := stops(found); s != nil || !cut.UpperTube.Known {
				t.Fatalf("tank %d: %v", i, s)
			}
			last := unit.Percent(math.Inf(1))
			for n := -8; n <= 16; n++ {
				tank := x.tank
				tank.AsFoundUpper = given(cut.UpperTube.V+unit.Length(n)*cut.CutStep, 9)
				a, found := Invert(&tank, x.chart, &x.device, rules, o, &cut)
				if !a.ShutoffPercent.Known {
					t.Fatalf("tank %d, %v: %v", i, tank.AsFoundUpper.V, found)
				}
				if a.ShutoffPercent.V > last {
					t.Errorf("tank %d: a tube longer by a step raises the shutoff from %v to %v", i, last, a.ShutoffPercent.V)
				}
				last = a.ShutoffPercent.V
				if n == 0 {
					near(t, "share there and back", float64(a.ShutoffPercent.V), float64(cut.ShutoffPercent.V), 1e-12)
					near(t, "depth there and back", float64(a.ShutoffDepth.V), float64(cut.ShutoffDepth.V), 1e-12)
					near(t, "worst there and back", float64(a.WorstPercent.V), float64(cut.WorstPercent.V), 1e-12)
					near(t, "chance there and back", float64(a.ChanceOver.V), float64(cut.ChanceOver.V), 1e-9)
					if a.Verdict != Leave || !a.Within {
						t.Errorf("tank %d: the planned tube itself: %s", i, a.Verdict)
					}
				}
				switch {
				case a.Within != (a.ShutoffPercent.V <= cut.LimitPercent.V*(1+1e-12)):
					t.Errorf("within at %v", a.ShutoffPercent.V)
				case !a.Within && a.Verdict != Replace:
					t.Errorf("over the limit: %s", a.Verdict)
				case n == 16 && (a.Verdict != CutIt || math.Abs(float64(a.CutBy.V-1)) > 1e-9):
					t.Errorf("an inch longer than planned: %s by %v", a.Verdict, a.CutBy.V)
				case n > 0 && n < 8 && a.Verdict != Leave:
					t.Errorf("%d steps longer than planned: %s", n, a.Verdict)
				}
			}
		}
	}
}

// A lower limit never raises the shutoff, and no rounding crosses the limit.
func TestLowerLimit(t *testing.T) {
	rules := federalRules(t)
	for i, x := range cases(t, 60) {
		for _, between := range []bool{false, true} {
			last := unit.Length(math.Inf(1))
			for limit := unit.Percent(95); limit > 60; limit -= 0.37 {
				tank := x.tank
				tank.Limit = given(limit, 3)
				cut, found := Make(&tank, x.chart, &x.device, rules, Options{BetweenEntries: between})
				if s := stops(found); s != nil || !cut.UpperTube.Known {
					t.Fatalf("tank %d: %v", i, s)
				}
				if cut.ShutoffDepth.V > last {
					t.Errorf("tank %d: limit %v raises the shutoff from %v to %v", i, limit, last, cut.ShutoffDepth.V)
				}
				last = cut.ShutoffDepth.V
				if cut.ShutoffPercent.V > limit*(1+1e-9) || cut.GivenUp.V < -1e-6 {
					t.Errorf("tank %d: planned at %v %%, limit %v", i, cut.ShutoffPercent.V, limit)
				}
				if cut.EntryDepth.V > cut.BetweenDepth.V {
					t.Errorf("tank %d: the entry at %v is above the depth between the entries, %v", i, cut.EntryDepth.V, cut.BetweenDepth.V)
				}
			}
		}
	}
}

// Rounded to coarser steps the tube only gets longer.
func TestCoarserStep(t *testing.T) {
	rules := federalRules(t)
	for i, x := range cases(t, 40) {
		last := unit.Length(0)
		for _, step := range []unit.Length{1. / 64, 1. / 32, 1. / 16, 1. / 8, 1. / 4, 1. / 2} {
			x.device.CutStep = given(step, 3)
			cut, _ := Make(&x.tank, x.chart, &x.device, rules, Options{BetweenEntries: true})
			if cut.UpperTube.V < last || cut.ShutoffPercent.V > cut.LimitPercent.V*(1+1e-9) {
				t.Errorf("tank %d: step %v gives %v after %v, at %v %%", i, step, cut.UpperTube.V, last, cut.ShutoffPercent.V)
			}
			last = cut.UpperTube.V
		}
	}
}

// The as-found tube of worked_examples.csv.
func TestAsFoundWorkedExamples(t *testing.T) {
	rules := federalRules(t)
	seen := 0
	for _, w := range workedExamples(t) {
		if w.row["as_found_upper"] == "" {
			continue
		}
		seen++
		cut, _ := Make(&w.tank, w.chart, &w.device, rules, Options{BetweenEntries: true})
		a, found := Invert(&w.tank, w.chart, &w.device, rules, Options{BetweenEntries: true}, &cut)
		near(t, "as-found depth", w.length.Number(a.ShutoffDepth.V), w.num(t, "as_found_shutoff_depth"), 1e-9)
		near(t, "as-found share", float64(a.ShutoffPercent.V), w.num(t, "as_found_pct_chart"), 1e-9)
		if want := w.row["as_found_within_limit"] == "yes"; a.Within != want {
			t.Errorf("within the limit: %v", a.Within)
		}
		if !a.Within && (a.Verdict != Replace || a.NewTube != cut.UpperTube || len(found) != 1 || found[0].Slug != finding.AsFoundOverLimit) {
			t.Errorf("%s by %v, %v", a.Verdict, a.NewTube, found)
		}
		if len(a.Trail) < 3 {
			t.Errorf("the calculation has %d lines", len(a.Trail))
		}
	}
	if seen == 0 {
		t.Error("no example has a tube as found")
	}
}

// What cannot be judged backwards says why.
func TestAsFoundUnknown(t *testing.T) {
	rules := federalRules(t)
	for name, change := range map[string]func(*Tank, **chart.Chart, **device.Device){
		"no chart":  func(_ *Tank, c **chart.Chart, _ **device.Device) { *c = nil },
		"no device": func(_ *Tank, _ **chart.Chart, d **device.Device) { *d = nil },
		"no heights": func(k *Tank, _ **chart.Chart, _ **device.Device) {
			k.RiserHeight, k.FaceToBottom = cell.Of[unit.Length]{}, cell.Of[unit.Length]{}
		},
		"negative":       func(k *Tank, _ **chart.Chart, _ **device.Device) { k.AsFoundUpper = inches(-3) },
		"below the tank": func(k *Tank, _ **chart.Chart, _ **device.Device) { k.AsFoundUpper = inches(400) },
	} {
		tank, c, dev := tradeCase()
		tank.AsFoundUpper = inches(20)
		ch, d := c, &dev
		change(&tank, &ch, &d)
		a, found := Invert(&tank, ch, d, rules, Options{}, &Cut{})
		if a.Verdict != "" || a.ShutoffPercent.Known || len(found) != 1 || found[0].Slug != finding.AsFoundUnknown {
			t.Errorf("%s: %+v, %v", name, a, found)
		}
	}
	// So short that the flow stops above the top of the chart.
	tank, c, d := tradeCase()
	tank.AsFoundUpper = inches(10)
	a, found := Invert(&tank, c, &d, rules, Options{}, &Cut{})
	if a.Verdict != Replace || a.Within || len(found) != 1 || found[0].Slug != finding.AsFoundOverLimit {
		t.Errorf("a tube of 10 in: %+v, %v", a, found)
	}
	// Within the limit, but under the device's least.
	tank.AsFoundUpper, d.LeastUpperTube = inches(21), inches(22)
	a, found = Invert(&tank, c, &d, rules, Options{}, &Cut{})
	if a.Verdict != Replace || !a.Within || len(found) != 1 || found[0].Slug != finding.AsFoundUnderLeast {
		t.Errorf("a tube under the least: %+v, %v", a, found)
	}
}

func TestCutFromStock(t *testing.T) {
	g := rand.New(rand.NewPCG(29, 31))
	for trial := range 300 {
		stock, saw := unit.Length(96), SawCut
		n := 1 + g.IntN(60)
		pieces := make([]Piece, n)
		total := unit.Length(0)
		for i := range pieces {
			pieces[i] = Piece{For: "x", Length: unit.Length(1+g.IntN(96*16)) / 16}
			total += pieces[i].Length
		}
		p, err := CutFromStock(pieces, stock, saw)
		if err != nil {
			t.Fatal(err)
		}
		count := 0
		for _, s := range p.Stick {
			used := unit.Length(0)
			for _, x := range s.Pieces {
				used += x.Length
			}
			// Between the pieces there is a saw cut; after the last one there
			// may be none.
			if used+saw*unit.Length(len(s.Pieces)-1) > stock+1e-9 {
				t.Fatalf("%v in pieces and cuts from %v", used, stock)
			}
			count += len(s.Pieces)
		}
		if count != n {
			t.Fatalf("%d of %d pieces are cut", count, n)
		}
		if p.Bound > len(p.Stick) || p.Bound < int(math.Ceil(float64(total/(stock+saw))-1e-9)) {
			t.Errorf("trial %d: %d tubes, bound %d", trial, len(p.Stick), p.Bound)
		}
		if limit := 11*float64(p.Bound)/9 + 1; float64(len(p.Stick)) > limit*1.2 {
			t.Errorf("trial %d: %d tubes where %d are needed at least", trial, len(p.Stick), p.Bound)
		}
	}
	// Pieces of 50 in need a tube of 96 in each; by length alone two would share.
	p, err := CutFromStock([]Piece{{"a", 50}, {"b", 50}, {"c", 46}, {"d", 45.875}}, 96, SawCut)
	if err != nil || len(p.Stick) != 3 || p.Bound != 3 {
		t.Errorf("%d tubes, bound %d, %v", len(p.Stick), p.Bound, err)
	}
	for _, bad := range []unit.Length{0, -2, 97, unit.Length(math.NaN()), unit.Length(math.Inf(1))} {
		if _, err := CutFromStock([]Piece{{"a", bad}}, 96, SawCut); err == nil {
			t.Errorf("a piece of %v is taken", bad)
		}
	}
}

// A chart from dimensions takes the ends that reach 95 % lowest where nothing is
// said: half balls (standards, 4.4).
func TestChartFromDimensions(t *testing.T) {
	rules := federalRules(t)
	last := unit.Length(math.Inf(1))
	for _, ends := range []string{"flat", "torispherical", "2:1 elliptical", "hemispherical", ""} {
		tank := Tank{ID: given("D", 1), Place: given("US-federal", 2), Diameter: inches(96), Length: inches(200), EndShape: given(ends, 3), RiserHeight: inches(30), FaceToBottom: inches(126)}
		c, err := ChartFromDimensions(&tank, 0.125, 0)
		if err != nil {
			t.Fatal(err)
		}
		d := device.Device{ShutoffDrop: inches(2), LeastBelowTop: inches(3), LeastUpperTube: inches(10), BodyLength: inches(12)}
		cut, found := Make(&tank, c, &d, rules, Options{BetweenEntries: true})
		if cut.BetweenDepth.V > last {
			t.Errorf("ends %q: 95 %% at %v, above %v", ends, cut.BetweenDepth.V, last)
		}
		last = cut.BetweenDepth.V
		if finding.Worst(found) != finding.Check || found[0].Slug != finding.PlannedFromDimensions {
			t.Errorf("ends %q: %v", ends, found)
		}
	}
	for _, bad := range []Tank{{}, {Diameter: inches(96)}, {Diameter: inches(96), Length: inches(-3)}, {Diameter: inches(96), Length: inches(300), Shape: given("egg", 1)}} {
		if _, err := ChartFromDimensions(&bad, 1, 1); err == nil {
			t.Errorf("taken: %+v", bad)
		}
	}
}
