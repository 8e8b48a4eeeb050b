package plan

import (
	"math"
	"slices"
	"strings"
	"testing"

	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/device"
	"dropcut/plan/finding"
	"dropcut/plan/rule"
	"dropcut/plan/unit"
)

func words(list []finding.Finding) string {
	var said []string
	for _, f := range list {
		said = append(said, f.Severity.String()+" "+string(f.Slug))
	}
	slices.Sort(said)
	return strings.Join(said, ", ")
}

// What a row of the trade case lacks or holds too much of, and what is said of it.
func TestWhatATankCanLack(t *testing.T) {
	none := cell.Of[unit.Length]{}
	for name, c := range map[string]struct {
		change func(*Tank, **chart.Chart, **device.Device, *Options)
		want   string
	}{
		"no chart": {func(_ *Tank, c **chart.Chart, _ **device.Device, _ *Options) { *c = nil }, "stop chart-missing"},
		"no chart of a name": {func(k *Tank, c **chart.Chart, _ **device.Device, _ *Options) {
			k.ChartName, *c = given("North 2", 1), nil
		}, "stop chart-missing"},
		"a chart of nothing": {func(_ *Tank, c **chart.Chart, _ **device.Device, _ *Options) {
			for i := range (*c).Rows {
				(*c).Rows[i].Volume = 0
			}
		}, "stop chart-not-usable"},
		"no device": {func(_ *Tank, _ **chart.Chart, d **device.Device, _ *Options) { *d = nil }, "check device-missing"},
		"a device nobody knows": {func(k *Tank, _ **chart.Chart, d **device.Device, _ *Options) {
			k.Device, *d = given("Larch 9", 1), nil
		}, "stop device-missing"},
		"an option's device nobody knows": {func(_ *Tank, _ **chart.Chart, d **device.Device, o *Options) {
			o.Device, *d = given("Larch 9", 1), nil
		}, "stop device-missing"},
		"the option's limit": {func(k *Tank, _ **chart.Chart, _ **device.Device, o *Options) {
			k.Place, o.Limit = cell.Of[string]{}, given(unit.Percent(90), 1)
		}, ""},
		"the option's limit above all": {func(k *Tank, _ **chart.Chart, _ **device.Device, o *Options) {
			k.Place, o.Limit = cell.Of[string]{}, given(unit.Percent(97), 1)
		}, "check limit-above-rule"},
		"a place known by the option, and by nobody": {func(k *Tank, _ **chart.Chart, _ **device.Device, o *Options) {
			k.Place, o.Place = cell.Of[string]{}, given("Atlantis", 1)
		}, "stop place-unknown"},
		"a fill beyond the tank": {func(k *Tank, _ **chart.Chart, _ **device.Device, _ *Options) {
			k.Length, k.FillStation = inches(300), inches(301)
		}, "check fill-station-outside"},
		"tilted, its own end low, station unknown": {func(k *Tank, _ **chart.Chart, _ **device.Device, _ *Options) {
			k.Rise, k.FillStation, k.LowEnd = inches(2), none, given(FillEnd, 1)
		}, "check fill-station-unknown"},
		"tilted, and no length": {func(k *Tank, _ **chart.Chart, _ **device.Device, _ *Options) {
			k.Rise, k.Shape, k.LowEnd = inches(2), given("rectangular", 1), given(FillEnd, 1)
		}, "stop tilt-not-counted"},
		"tilted, and no tank known": {func(k *Tank, _ **chart.Chart, _ **device.Device, _ *Options) {
			k.Rise, k.Shape, k.Length, k.LowEnd = inches(2), given("egg", 1), inches(300), given(FillEnd, 1)
		}, "stop tilt-not-counted"},
		"a rise as long as the tank": {func(k *Tank, _ **chart.Chart, _ **device.Device, _ *Options) {
			k.Rise, k.Length, k.LowEnd = inches(300), inches(300), given(FillEnd, 1)
		}, "stop tilt-not-counted"},
		"a guard that no depth meets": {func(_ *Tank, c **chart.Chart, _ **device.Device, o *Options) {
			// Even the lowest row is above the limit.
			o.Guard = 1e-9
			for i := range (*c).Rows {
				(*c).Rows[i].Volume += 200_000
			}
		}, "stop chart-not-usable"},
		"an angle cut, and a tube of no diameter": {func(k *Tank, _ **chart.Chart, d **device.Device, _ *Options) {
			k.CutAngle = given(unit.Angle(45), 1)
			x := **d
			x.TubeDiameter = none
			*d = &x
		}, "check device-incomplete"},
		"a face under the bottom": {func(k *Tank, _ **chart.Chart, _ **device.Device, _ *Options) {
			k.FaceToBottom, k.RiserHeight = inches(-1), none
		}, "stop heights-impossible"},
		"a body as long as the tank": {func(_ *Tank, _ **chart.Chart, d **device.Device, _ *Options) {
			x := **d
			x.BodyLength = inches(90)
			*d = &x
		}, "stop lower-tube-impossible"},
	} {
		t.Run(name, func(t *testing.T) {
			tank, ch, dev := tradeCase()
			d, o := &dev, Options{}
			c.change(&tank, &ch, &d, &o)
			cut, found := Make(&tank, ch, d, federalRules(t), o)
			said := words(found)
			for _, w := range strings.Split(c.want, ", ") {
				if !strings.Contains(said, w) || c.want == "" && said != "" {
					t.Errorf("found %q, want %q", said, c.want)
				}
			}
			if finding.Worst(found) == finding.Stop {
				cut.Withhold()
				if cut.UpperTube.Known || cut.LowerTube.Known || cut.DropLength.Known || cut.ShutoffDepth.Known {
					t.Errorf("a length is left: %+v", cut)
				}
			}
		})
	}
	// The chart is asked for by the name that the tank gives it.
	tank, _, d := tradeCase()
	tank.ChartName = given("North 2", 1)
	_, found := Make(&tank, nil, &d, federalRules(t), Options{})
	if f := found[0]; !strings.Contains(f.Expected, "North 2") {
		t.Errorf("a chart is expected: %s", f.Expected)
	}
}

// A fill pipe older than 10 November 2006 may end 12 in above the bottom, a newer
// one 6 in: 40 CFR 63.11117(b). Where no clearance is asked for, 6 in is taken for
// both, since it is lawful either way.
func TestEndOfAnOldFillPipe(t *testing.T) {
	for _, year := range []string{"", "2006-11-09", "2006-11-10"} {
		tank, c, d := tradeCase()
		tank.Clearance = cell.Of[unit.Length]{}
		if year != "" {
			tank.FillPipeInstalled = given(date(t, year), 1)
		}
		cut, found := Make(&tank, c, &d, federalRules(t), Options{})
		if !cut.TipHeight.Known || cut.TipHeight.V != 6 {
			t.Errorf("installed %q: the tip is at %v (%s), want 6 in", year, cut.TipHeight, words(found))
		}
	}
}

// Ends by their names, against the depths that the trade gives them: a half ball
// is as deep as half the diameter, 2:1 a quarter; a dished end of 10 % is one with
// a knuckle of a tenth (DIN 28011, from memory).
func TestEndsByTheirNames(t *testing.T) {
	const d = 96
	ball := math.Pi * d * d * d / 12 // half of pi d^3 / 6
	last := -1.0
	for _, c := range []struct {
		words string
		want  float64 // in3; 0 where only the order is known
	}{
		{"flat", 0}, {"flanged and dished", 0}, {"Klöpper", 0}, {"2:1 elliptical", ball / 2}, {"half balls", ball},
	} {
		h, ok := HeadOf(c.words, d)
		if !ok {
			t.Fatalf("%q names no end", c.words)
		}
		got := headVolume(h, d)
		if c.want > 0 {
			near(t, c.words, got, c.want, 1e-6*c.want)
		}
		if got <= last {
			t.Errorf("an end %q holds %v, not more than the flatter one's %v", c.words, got, last)
		}
		last = got
	}
	if h, ok := HeadOf("welded", d); ok {
		t.Errorf("\"welded\" is an end %v", h)
	}
	if got := headVolume(h99(), d); got != 0 {
		t.Errorf("an end that cannot be made holds %v", got)
	}
}

// A chart of every shape that a tank list can name, full at the volume that any
// book of mensuration gives it.
func TestChartsOfEveryShape(t *testing.T) {
	const cubicInches = 231
	for _, c := range []struct {
		shape, ends string
		d, l, w     float64
		full        float64 // in3
		height      float64
	}{
		{"horizontal cylinder", "flat", 96, 300, 0, math.Pi * 48 * 48 * 300, 96},
		{"", "half balls", 96, 300, 0, math.Pi*48*48*300 + math.Pi*96*96*96/6, 96},
		{"vertical", "", 96, 120, 0, math.Pi * 48 * 48 * 120, 120},
		{"rectangular box", "", 60, 100, 40, 60 * 100 * 40, 60},
		{"obround", "", 60, 100, 90, (math.Pi*30*30 + 30*60) * 100, 60},
		{"elliptical section", "", 60, 100, 90, math.Pi * 30 * 45 * 100, 60},
	} {
		tank := Tank{ID: given("S", 1), Shape: given(c.shape, 2), EndShape: given(c.ends, 3), Diameter: inches(c.d), Length: inches(c.l), Width: inches(c.w)}
		ch, err := ChartFromDimensions(&tank, 1, 0)
		if err != nil {
			t.Errorf("%q: %v", c.shape, err)
			continue
		}
		last := ch.Rows[len(ch.Rows)-1]
		near(t, c.shape+" height", last.Depth, c.height, 1e-9)
		near(t, c.shape+" gallons", last.Volume, c.full/cubicInches, 1e-9*c.full)
	}
	tank := Tank{ID: given("S", 1), Shape: given("cylinder", 2), EndShape: given("dished somehow", 3), Diameter: inches(96), Length: inches(300)}
	if ch, err := ChartFromDimensions(&tank, 1, 0); err != nil || !strings.Contains(ch.Layout, "half balls, since dished somehow gives no depth") {
		t.Errorf("an end of no depth: %v, %v", ch, err)
	}
	for _, step := range []unit.Length{0, -1, unit.Length(math.NaN()), 1e-6} {
		if _, err := ChartFromDimensions(&tank, step, 0); err == nil {
			t.Errorf("a step of %v in is taken", step)
		}
	}
	tank.Diameter = inches(1e200)
	if _, err := ChartFromDimensions(&tank, 1e199, 0); err == nil {
		t.Error("a tank of 1e200 in is taken")
	}
}

// What a tilt does is told only where it is known.
func TestTiltCorrectionIsOnlyForWhatIsKnown(t *testing.T) {
	tank, c, _ := tradeCase()
	if _, ok := TiltCorrection(&tank, nil); ok {
		t.Error("without a chart")
	}
	if _, ok := TiltCorrection(&tank, c); ok {
		t.Error("of a level tank")
	}
	tank.Rise, tank.LowEnd, tank.FillStation, tank.Length = inches(3), given(OtherEnd, 1), inches(20), inches(300)
	at, ok := TiltCorrection(&tank, c)
	if !ok {
		t.Fatal("of a tilted tank nothing is known")
	}
	// The fill stands at the high end, where the stick shows less than the middle.
	if p := at(45); !(p > 0 && p < 3) {
		t.Errorf("in the middle the tank holds %v points more", p)
	}
	bad := *c
	bad.Rows = slices.Clone(c.Rows)
	bad.Rows[2].Volume = 99999
	if _, ok := TiltCorrection(&tank, &bad); ok {
		t.Error("of a chart that falls")
	}
	tank.Shape = given("egg", 1)
	if _, ok := TiltCorrection(&tank, c); ok {
		t.Error("of a shape that nobody knows")
	}
	tank.Rise = cell.Of[unit.Length]{}
	if _, ok := TiltCorrection(&tank, c); ok {
		t.Error("of a rise that nobody measured")
	}
}

// A fill card of a tank that cannot be judged as it lies is an error, never the
// card of a level one.
func TestFillCardOfATankThatIsNotKnown(t *testing.T) {
	tank, c, _ := tradeCase()
	level, err := FillCard(c, 9204, 1)
	if err != nil {
		t.Fatal(err)
	}
	if card, err := FillCardAsItLies(&tank, c, 9204, 1); err != nil || !slices.Equal(card, level) {
		t.Errorf("of a level tank it is another: %v", err)
	}
	tank.Rise, tank.Shape = inches(3), given("egg", 1)
	if _, err := FillCardAsItLies(&tank, c, 9204, 1); err == nil {
		t.Error("a card is given for a tilted egg")
	}
	falls := *c
	falls.Rows = slices.Clone(c.Rows)
	falls.Rows[2].Volume = 99999
	tank.Shape = cell.Of[string]{}
	if _, err := FillCardAsItLies(&tank, &falls, 9204, 1); err == nil {
		t.Error("a card is given for a chart that falls")
	}
	if _, err := FillCard(&falls, 9204, 1); err == nil {
		t.Error("a card is given for a chart that falls")
	}
}

// Psi, the integrals of the normal distribution, against each other: far above
// zero the error is nothing and the polynomial is left; the two ways of
// computing must meet there.
func TestPsiMeetsItsPolynomial(t *testing.T) {
	for k := range 4 {
		for _, s := range []float64{0.1, 1, 7} {
			above, below := psi(k, 38*s*(1+1e-12), s), psi(k, 38*s*(1-1e-12), s)
			// Fifteen digits, less those that z^3 takes.
			if math.Abs(above/below-1) > 1e-9 {
				t.Errorf("k %d, s %g: %v above and %v below", k, s, above, below)
			}
		}
		if got := psi(k, -5, 0); got != 0 {
			t.Errorf("k %d: no error, and below: %v", k, got)
		}
	}
}

func TestNoErrorHasNoShare(t *testing.T) {
	list := []Share{{}, {}}
	shares(list)
	for _, s := range list {
		if s.OfVariance != 0 {
			t.Errorf("a share of nothing is %v", s.OfVariance)
		}
	}
	list = []Share{{Half: 3}, {Half: 4}}
	shares(list)
	near(t, "3 of 3 and 4", float64(list[0].OfVariance), 36, 1e-9)
	near(t, "4 of 3 and 4", float64(list[1].OfVariance), 64, 1e-9)
}

func TestStockThatIsNone(t *testing.T) {
	for _, c := range [][2]float64{{0, 0}, {-1, 0}, {120, -0.1}, {math.NaN(), 0}, {math.Inf(1), 0}, {120, math.NaN()}} {
		if _, err := CutFromStock([]Piece{{Length: 3}}, unit.Length(c[0]), unit.Length(c[1])); err == nil {
			t.Errorf("tubes of %v with a saw of %v are taken", c[0], c[1])
		}
	}
}

// What a tank is held against follows the same order as its plan: the rule of its
// place, its own limit, the default, the assumption.
func TestLimitsOf(t *testing.T) {
	rules := federalRules(t)
	for name, c := range map[string]struct {
		change  func(*Tank, *Options)
		percent unit.Percent
		source  string
		assumed bool
	}{
		"by the place":    {func(*Tank, *Options) {}, 95, "40 CFR", false},
		"its own":         {func(k *Tank, _ *Options) { k.Limit = given(unit.Percent(90), 1) }, 90, "the tank's own limit", false},
		"the default":     {func(k *Tank, o *Options) { k.Place, o.Limit = cell.Of[string]{}, given(unit.Percent(91), 1) }, 91, "the default given", false},
		"the assumption":  {func(k *Tank, _ *Options) { k.Place = cell.Of[string]{} }, 95, "assumed", true},
		"option's place":  {func(k *Tank, o *Options) { k.Place, o.Place = cell.Of[string]{}, given("US-Oregon", 1) }, 95, "OAR 340", false},
		"its own, higher": {func(k *Tank, _ *Options) { k.Limit = given(unit.Percent(97), 1) }, 95, "40 CFR", false},
	} {
		tank, ch, d := tradeCase()
		var o Options
		c.change(&tank, &o)
		cut, _ := Make(&tank, ch, &d, rules, o)
		l := LimitsOf(&tank, &cut, rules, o)
		if l.Percent != c.percent || !strings.Contains(l.Source, c.source) || l.Assumed != c.assumed {
			t.Errorf("%s: %v by %q, assumed %v", name, l.Percent, l.Source, l.Assumed)
		}
		if named := tank.Place.Given() || o.Place.Given(); (l.Inspection != nil) != named {
			t.Errorf("%s: inspected by %v, and the place is named: %v", name, l.Inspection, named)
		}
		if l.Alarm != 90 || l.EndMost <= 0 || l.EndSource == "" {
			t.Errorf("%s: an alarm at %v, an end at %v by %q", name, l.Alarm, l.EndMost, l.EndSource)
		}
	}
	// Of several periods in force the shortest counts.
	period := func(id string, years float64) rule.Rule {
		return rule.Rule{ID: id, Place: "Tamarack", Instrument: "code", Quantity: "overfill_inspection_interval", Comparator: rule.AtMost, Value: years, Unit: "years", Enabled: true, Confidence: rule.High}
	}
	tank, _, _ := tradeCase()
	tank.Place = given("Tamarack", 1)
	l := LimitsOf(&tank, &Cut{}, rule.NewSet([]rule.Rule{period("A", 3), period("B", 1), period("C", 2)}), Options{})
	if l.Inspection == nil || l.Inspection.ID != "B" {
		t.Errorf("inspected by %+v, want the yearly one", l.Inspection)
	}
}

// A judgement is taken back as a whole: what is left of it is what was found.
func TestWithholdLeavesTheTubeFound(t *testing.T) {
	a := AsFound{UpperTube: Known(unit.Length(20)), ShutoffDepth: Known(unit.Length(80)), Verdict: Leave, Within: true}
	a.Withhold()
	if !a.UpperTube.Known || a.ShutoffDepth.Known || a.Verdict != "" || a.Within {
		t.Errorf("left: %+v", a)
	}
}

// The source of a device's figures is named so that it reads as one.
func TestTheSheetIsNamedOnce(t *testing.T) {
	for source, want := range map[string]string{"": "the Devices sheet", "Data Sheet 7": "Data Sheet 7", "manual p. 4": "data sheet: manual p. 4"} {
		d := device.Device{Source: given(source, 1)}
		if got := (&maker{d: &d}).sheet(); got != want {
			t.Errorf("%q reads %q, want %q", source, got, want)
		}
	}
}
