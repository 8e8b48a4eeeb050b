package plan

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/device"
	"dropcut/plan/finding"
	"dropcut/plan/rule"
	"dropcut/plan/unit"
)

func inches(v float64) cell.Of[unit.Length] { return given(unit.Length(v), 1) }

// tradeCase is the arithmetic of the trade, in figures that are handed around:
// common practice, no source.
func tradeCase() (Tank, *chart.Chart, device.Device) {
	at := cell.Ref{File: "charts.csv", Col: 1, Row: 2}
	c := &chart.Chart{Name: "trade", At: at, To: cell.Ref{File: "charts.csv", Col: 2, Row: 7}, DepthUnit: unit.Inches, VolumeUnit: unit.USGallons, Rows: []chart.Row{
		{Depth: 0, Volume: 0, SheetRow: 2, DepthCol: 1, VolumeCol: 2},
		{Depth: 40, Volume: 4115, SheetRow: 3, DepthCol: 1, VolumeCol: 2},
		{Depth: 82, Volume: 9181, SheetRow: 4, DepthCol: 1, VolumeCol: 2},
		{Depth: 82.25, Volume: 9204, SheetRow: 5, DepthCol: 1, VolumeCol: 2},
		{Depth: 82.5, Volume: 9227, SheetRow: 6, DepthCol: 1, VolumeCol: 2},
		{Depth: 91.625, Volume: 9696, SheetRow: 7, DepthCol: 1, VolumeCol: 2},
	}}
	t := Tank{
		At: cell.Ref{File: "tanks.csv", Row: 2}, ID: given("T", 1), Place: given("US-federal", 2), Diameter: inches(91.625), RiserHeight: inches(13), FaceToBottom: inches(104.625),
		Clearance: inches(6), FillStation: inches(0), Rise: inches(0),
	}
	d := device.Device{
		At: cell.Ref{File: "devices.csv", Row: 2}, Name: given("trial", 1), ShutoffDrop: inches(2), LeastBelowTop: inches(6.5), LeastUpperTube: inches(16), BodyLength: inches(12),
		TubeDiameter: inches(4), ArmSpace: inches(19), LeastRiserBore: inches(4.0625), TestExtra: cell.Of[unit.Length]{},
	}
	return t, c, d
}

func TestTradeArithmetic(t *testing.T) { // common practice, no source
	tank, c, d := tradeCase()
	cut, found := Make(&tank, c, &d, federalRules(t), Options{})
	for _, f := range found {
		t.Errorf("%s %s: %s", f.Severity, f.Slug, f.Found)
	}
	for _, x := range []struct {
		what      string
		got, want float64
	}{
		{"full", float64(cut.FullVolume.V), 9696},
		{"95 %", float64(cut.LimitVolume.V), 9211.2},
		{"entry", float64(cut.EntryDepth.V), 82.25},
		{"volume at entry", float64(cut.ShutoffVolume.V), 9204},
		{"headspace", float64(cut.Headspace.V), 9.375},
		{"tube below top", float64(cut.TubeBelowTop.V), 7.375},
		{"upper tube", float64(cut.UpperTube.V), 20.375},
		{"clearance", float64(cut.TipHeight.V), 6},
		{"drop length", float64(cut.DropLength.V), 98.625},
		{"lower tube", float64(cut.LowerTube.V), 98.625 - 20.375 - 12},
		{"percent", float64(cut.ShutoffPercent.V), 100 * 9204.0 / 9696},
	} {
		near(t, x.what, x.got, x.want, 1e-9)
	}
	if got := unit.VolumeText(cut.LimitVolume.V, unit.USGallons, 0); got != "9211" {
		t.Errorf("the limit volume prints as %s", got)
	}

	// A headspace of 8 in: the least of 6 1/2 wins over 6, and the shutoff moves
	// half an inch down from the entry at 83 5/8.
	c.Rows[3] = chart.Row{Depth: 83.125, Volume: 9195, SheetRow: 5, DepthCol: 1, VolumeCol: 2}
	c.Rows[4] = chart.Row{Depth: 83.625, Volume: 9209, SheetRow: 6, DepthCol: 1, VolumeCol: 2}
	cut, found = Make(&tank, c, &d, federalRules(t), Options{})
	near(t, "tube below top at least", float64(cut.TubeBelowTop.V), 6.5, 1e-9)
	near(t, "depth at least", float64(cut.ShutoffDepth.V), 83.125, 1e-9)
	near(t, "percent at least", float64(cut.ShutoffPercent.V), 100*9195.0/9696, 1e-9)
	near(t, "given up", float64(cut.GivenUp.V), 9211.2-9195, 1e-9)
	if len(found) != 1 || found[0].Slug != finding.LeastBelowTopWins || found[0].Severity != finding.Note {
		t.Errorf("found %v", found)
	}
}

// One change of the trade case, and what is found of it. A tank with a stop has
// no length once they are withheld.
func TestFindings(t *testing.T) {
	day := func(s string) time.Time { d, _ := time.Parse(time.DateOnly, s); return d }
	for name, c := range map[string]struct {
		change func(*Tank, *chart.Chart, *device.Device, *Options)
		want   string
	}{
		"limit assumed": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) { k.Place = cell.Of[string]{} }, "check limit-assumed"},
		"place from the option": {func(k *Tank, _ *chart.Chart, _ *device.Device, o *Options) {
			k.Place, o.Place = cell.Of[string]{}, given("US-Oregon", 1)
		}, ""},
		"a county of Oregon": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) {
			k.Place = given("US-Oregon-Lane County", 1)
		}, "note place-without-rules"},
		"a state without rules": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) { k.Place = given("Texas", 1) }, "note place-without-rules"},
		"misspelled state":      {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) { k.Place = given("US-Oregn", 1) }, "stop place-unknown"},
		"unknown place with limit": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) {
			k.Place, k.Limit = given("Atlantis", 1), given(unit.Percent(90), 1)
		}, "check place-unknown"},
		"limit above the rule": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) { k.Limit = given(unit.Percent(97), 1) }, "check limit-above-rule"},
		"own limit above all": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) {
			k.Place, k.Limit = cell.Of[string]{}, given(unit.Percent(97), 1)
		}, "check limit-above-rule"},
		"impossible limit": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) { k.Limit = given(unit.Percent(950), 1) }, "stop limit-impossible"},
		"a full tank as the limit": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) {
			k.Place, k.Limit = cell.Of[string]{}, given(unit.Percent(100), 1)
		}, "stop limit-impossible"},
		"a full tank as the limit, and a place": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) { k.Limit = given(unit.Percent(100), 1) }, "check limit-above-rule"},
		"nominal 5 % off": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) {
			k.Nominal = given(unit.Volume(9696/1.05), 1)
		}, "note capacity-differs-from-nominal"},
		"nominal 9 % off": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) {
			k.Nominal = given(unit.Volume(9696/1.09), 1)
		}, "check capacity-differs-from-nominal"},
		"nominal 3 % off": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) {
			k.Nominal = given(unit.Volume(9696/1.03), 1)
		}, ""},
		"certified is another": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) { k.Certified = given(unit.Volume(9700), 1) }, "check capacity-differs-from-certified"},
		"chart ends early": {
			func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) {
				k.Certified = given(unit.Volume(10400), 1)
			},
			"check capacity-differs-from-certified, stop chart-below-limit",
		},
		"diameter is another":   {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) { k.Diameter = inches(102) }, "check diameter-doubtful, check heights-differ"},
		"no riser height":       {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) { k.RiserHeight = cell.Of[unit.Length]{} }, "check measured-one-way"},
		"no face to bottom":     {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) { k.FaceToBottom = cell.Of[unit.Length]{} }, "check bottom-not-measured"},
		"diameter by the riser": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) { k.FaceToBottom = inches(105.2) }, "check diameter-doubtful"},
		"riser too short": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) {
			k.RiserHeight, k.FaceToBottom = inches(5), inches(96.625)
		}, "stop upper-tube-too-short"},
		"exactly the least": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) {
			k.RiserHeight, k.FaceToBottom = inches(8.625), inches(100.25)
		}, "check upper-tube-at-least"},
		"device without drop":     {func(_ *Tank, _ *chart.Chart, d *device.Device, _ *Options) { d.ShutoffDrop = cell.Of[unit.Length]{} }, "stop device-incomplete"},
		"device without body":     {func(_ *Tank, _ *chart.Chart, d *device.Device, _ *Options) { d.BodyLength = cell.Of[unit.Length]{} }, "check device-incomplete"},
		"negative riser height":   {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) { k.RiserHeight = inches(-13) }, "stop heights-impossible, check diameter-doubtful"},
		"narrow riser":            {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) { k.RiserBore = inches(4) }, "stop riser-too-narrow"},
		"arm at the wall":         {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) { k.FreeArm = inches(18.9) }, "check arm-blocked"},
		"alarm above the shutoff": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) { k.AlarmDepth = inches(82.25) }, "check alarm-above-shutoff"},
		"alarm below the shutoff": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) { k.AlarmDepth = inches(82) }, ""},
		"alarm where both are asked": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) {
			k.AlarmDepth, k.Place, k.Shape = inches(83), given("US-Wisconsin", 1), given("aboveground", 1)
		}, "stop alarm-above-shutoff"},
		"alarm of an underground one": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) {
			k.AlarmDepth, k.Place = inches(83), given("US-Wisconsin", 1)
		}, "check alarm-above-shutoff"},
		"fill off the middle": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) { k.Rise = cell.Of[unit.Length]{} }, "check tilt-unknown"},
		"nothing known of the tilt": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) {
			k.Rise, k.FillStation = cell.Of[unit.Length]{}, cell.Of[unit.Length]{}
		}, "note tilt-unknown"},
		"tilted, nothing else known": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) {
			k.Rise, k.FillStation = inches(2), cell.Of[unit.Length]{}
		}, "check fill-station-unknown, check low-end-unknown"},
		"tilted beyond use": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) {
			k.Rise, k.FillStation, k.LowEnd, k.Length = inches(60), inches(150), given(OtherEnd, 1), inches(300)
		}, "check extreme-tilt"},
		"clearance above the rule": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) { k.Clearance = inches(8) }, "check clearance-too-large"},
		"old fill pipe": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) {
			k.Clearance, k.FillPipeInstalled = inches(8), given(day("2006-11-09"), 1)
		}, ""},
		"fill pipe a day younger": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) {
			k.Clearance, k.FillPipeInstalled = inches(8), given(day("2006-11-10"), 1)
		}, "check clearance-too-large"},
		"60 degrees": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) {
			k.Clearance, k.CutAngle = cell.Of[unit.Length]{}, given(unit.Angle(60), 1)
		}, "stop angle-cut-touches"},
		"near the bottom": {func(k *Tank, _ *chart.Chart, d *device.Device, _ *Options) {
			k.Clearance, k.CutAngle, d.LeastClearance = cell.Of[unit.Length]{}, given(unit.Angle(45), 1), inches(4)
		}, "check clearance-too-small"},
		"on the plate": {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) {
			k.Clearance, k.StrikerPlate = inches(0.25), inches(0.375)
		}, "stop striker-plate-touched"},
		"chart that falls":       {func(_ *Tank, c *chart.Chart, _ *device.Device, _ *Options) { c.Rows[2].Volume = 9300 }, "stop chart-not-usable"},
		"chart without units":    {func(_ *Tank, c *chart.Chart, _ *device.Device, _ *Options) { c.VolumeUnit = unit.VolumeUnknown }, "stop chart-not-usable"},
		"chart that starts high": {func(_ *Tank, c *chart.Chart, _ *device.Device, _ *Options) { c.Rows = c.Rows[4:] }, "stop chart-not-usable"},
		"from dimensions":        {func(_ *Tank, c *chart.Chart, _ *device.Device, _ *Options) { c.FromDimensions = true }, "check planned-from-dimensions"},
		"rule read in a mirror":  {func(k *Tank, _ *chart.Chart, _ *device.Device, _ *Options) { k.Place = given("Austria", 1) }, "note rule-to-be-checked"},
	} {
		t.Run(name, func(t *testing.T) {
			tank, ch, d := tradeCase()
			var o Options
			c.change(&tank, ch, &d, &o)
			cut, found := Make(&tank, ch, &d, federalRules(t), o)
			finding.Sort(found)
			var said []string
			for _, f := range found {
				said = append(said, f.Severity.String()+" "+string(f.Slug))
				if f.Found == "" || f.Expected == "" || f.Why == "" || f.Suggestion == "" || f.At.IsZero() {
					t.Errorf("%s lacks a part: %+v", f.Slug, f)
				}
			}
			want := strings.Split(c.want, ", ")
			if c.want == "" {
				want = nil
			}
			for _, w := range want {
				if !strings.Contains(strings.Join(said, ", "), w) {
					t.Errorf("found %v, want %q", said, c.want)
				}
			}
			if len(said) != len(want) {
				t.Errorf("found %v, want %q", said, c.want)
			}
			if finding.Worst(found) == finding.Stop {
				cut.Withhold()
				for _, v := range []Value[unit.Length]{cut.ShutoffDepth, cut.TubeBelowTop, cut.UpperTube, cut.DropLength, cut.LowerTube, cut.FromTop, cut.FromBottom, cut.ShortSide} {
					if v.Known || v.V != 0 {
						t.Errorf("a length is left in a plan with a stop: %v", v)
					}
				}
			} else if !cut.UpperTube.Known || len(cut.Trail) == 0 {
				t.Errorf("no upper tube and no stop: %v", said)
			}
		})
	}
}

// Without the heights at the riser everything that does not need them is given.
func TestRiserNotMeasured(t *testing.T) {
	tank, c, d := tradeCase()
	tank.RiserHeight, tank.FaceToBottom = cell.Of[unit.Length]{}, cell.Of[unit.Length]{}
	cut, found := Make(&tank, c, &d, federalRules(t), Options{})
	if len(found) != 1 || found[0].Slug != finding.RiserNotMeasured {
		t.Fatalf("found %v", found)
	}
	for name, v := range map[string]bool{
		"shutoff depth": cut.ShutoffDepth.Known, "percent": cut.ShutoffPercent.Known, "headspace": cut.Headspace.Known, "below top": cut.TubeBelowTop.Known,
		"alarm": cut.AlarmDepth.Known, "worst": cut.WorstPercent.Known, "chance": cut.ChanceOver.Known,
	} {
		if !v {
			t.Errorf("%s is not given", name)
		}
	}
	if cut.UpperTube.Known || cut.LowerTube.Known || cut.DropLength.Known {
		t.Error("a tube is given that hangs from an unmeasured face")
	}
}

// The test fitting makes the upper tube longer and moves nothing else.
func TestTestExtra(t *testing.T) {
	tank, c, d := tradeCase()
	plain, _ := Make(&tank, c, &d, federalRules(t), Options{})
	d.TestExtra = inches(1.75)
	cut, found := Make(&tank, c, &d, federalRules(t), Options{})
	if len(found) != 0 {
		t.Fatalf("found %v", found)
	}
	near(t, "upper tube", float64(cut.UpperTube.V-plain.UpperTube.V), 1.75, 1e-9)
	near(t, "shutoff", float64(cut.ShutoffDepth.V-plain.ShutoffDepth.V), 0, 1e-9)
	near(t, "lower tube", float64(cut.LowerTube.V-plain.LowerTube.V), 0, 1e-9)
	near(t, "drop length", float64(cut.DropLength.V-plain.DropLength.V), 0, 1e-9)
	tank.TestVariant = given(false, 1)
	cut, _ = Make(&tank, c, &d, federalRules(t), Options{})
	near(t, "without the fitting", float64(cut.UpperTube.V-plain.UpperTube.V), 0, 1e-9)
}

// A book's own rule overrides by its id, adds by another; the stricter serves.
func TestRulesOfTheBook(t *testing.T) {
	base := rule.Rule{ID: "A", Place: "US federal", Instrument: "code", Quantity: "shutoff_level", Comparator: rule.AtMost, Value: 95, Unit: "percent_full", Enabled: true, Confidence: rule.High}
	with := func(change func(*rule.Rule)) rule.Rule { r := base; change(&r); return r }
	for name, c := range map[string]struct {
		rules []rule.Rule
		place string
		want  unit.Percent
	}{
		"federal":            {[]rule.Rule{base}, "US-federal", 95},
		"overridden":         {[]rule.Rule{base, with(func(r *rule.Rule) { r.Value, r.At.Row = 97, 2 })}, "US-federal", 97},
		"two rows of one id": {[]rule.Rule{base, with(func(r *rule.Rule) { r.Value, r.At.Row = 93, 2 }), with(func(r *rule.Rule) { r.Value, r.At.Row = 97, 3 })}, "US-federal", 93},
		"unread":             {[]rule.Rule{base, with(func(r *rule.Rule) { r.Value, r.At.Row, r.Unread, r.Enabled = 93, 2, true, false })}, "US-federal", 95},
		"sign of percent":    {[]rule.Rule{base, with(func(r *rule.Rule) { r.ID, r.Value, r.Unit = "B", 92, "%" })}, "US-federal", 92},
		"no unit":            {[]rule.Rule{base, with(func(r *rule.Rule) { r.ID, r.Value, r.Unit = "B", 92, "" })}, "US-federal", 92},
		"added":              {[]rule.Rule{base, with(func(r *rule.Rule) { r.ID, r.Value = "B", 92 })}, "US-federal", 92},
		"county below":       {[]rule.Rule{base, with(func(r *rule.Rule) { r.ID, r.Place, r.Value = "B", "US-Oregon-Lane County", 92 })}, "US-Oregon-Lane county", 92},
		"county above":       {[]rule.Rule{base, with(func(r *rule.Rule) { r.ID, r.Place, r.Value = "B", "US-Oregon-Lane County", 98 })}, "US-Oregon-Lane county", 95},
		"another county":     {[]rule.Rule{base, with(func(r *rule.Rule) { r.ID, r.Place, r.Value = "B", "US-Oregon-Lane County", 92 })}, "US-Oregon-Coos county", 95},
		"switched off":       {[]rule.Rule{base, with(func(r *rule.Rule) { r.ID, r.Value, r.Enabled = "B", 90, false })}, "US-federal", 95},
		"for aboveground":    {[]rule.Rule{base, with(func(r *rule.Rule) { r.ID, r.Value, r.AppliesTo = "B", 90, "aboveground tank" })}, "US-federal", 95},
		"no longer in force": {[]rule.Rule{base, with(func(r *rule.Rule) { r.ID, r.Value, r.To = "B", 90, time.Date(2010, 1, 1, 0, 0, 0, 0, time.UTC) })}, "US-federal", 95},
	} {
		tank, ch, d := tradeCase()
		tank.Place = given(c.place, 1)
		cut, _ := Make(&tank, ch, &d, rule.NewSet(c.rules), Options{})
		if cut.LimitPercent.V != c.want || cut.LimitRule == nil || unit.Percent(cut.LimitRule.Value) != c.want {
			t.Errorf("%s: %v by %v, want %v", name, cut.LimitPercent.V, cut.LimitRule, c.want)
		}
	}
}

// A limit that a rule forbids itself is not taken, and a place whose rules give no
// percentage is not planned for as if they did.
func TestBelowAndNone(t *testing.T) {
	r := rule.Rule{ID: "A", Place: "Tamarack", Instrument: "code", Quantity: "shutoff_level", Comparator: rule.AtMost, Value: 90, Unit: "percent", Enabled: true, Confidence: rule.High}
	tank, _, d := tradeCase()
	tank.Place = given("Tamarack", 1)
	tank.Diameter = cell.Of[unit.Length]{}
	// 9000 of 10000 gal, the very limit, stands in a row.
	ch := level(10, 100, 1000)
	at, _ := Make(&tank, ch, &d, rule.NewSet([]rule.Rule{r}), Options{})
	r.Comparator = rule.Below
	below, _ := Make(&tank, ch, &d, rule.NewSet([]rule.Rule{r}), Options{})
	if at.EntryDepth.V != 90 || below.EntryDepth.V != 80 {
		t.Errorf("at most the limit: %v, below it: %v, want 90 and 80 in", at.EntryDepth.V, below.EntryDepth.V)
	}
	r.Quantity, r.Comparator = "alarm_level", rule.AtMost
	_, found := Make(&tank, ch, &d, rule.NewSet([]rule.Rule{r}), Options{})
	if !slices.ContainsFunc(found, func(f finding.Finding) bool { return f.Slug == finding.LimitAssumed && f.Severity == finding.Check }) {
		t.Errorf("95 %% assumed without a word: %v", found)
	}
}

// What rounding a tube up takes may be all that keeps its end off the bottom. The
// figures: 136 - 131 31/32 = 4 1/32; a tube in whole quarters of an inch is longer
// than its place by up to a quarter.
func TestRoundedOntoTheBottom(t *testing.T) {
	for _, angle := range []unit.Angle{0, 45} {
		tank, ch, d := tradeCase()
		d.CutStep, d.TubeDiameter = inches(0.25), inches(4)
		for n := range 16 {
			tank.FaceToBottom = inches(104.625 + float64(n)/64)
			tank.Clearance, tank.CutAngle = inches(0.03), given(angle, 1)
			cut, found := Make(&tank, ch, &d, rule.NewSet(nil), Options{})
			stopped := slices.ContainsFunc(found, func(f finding.Finding) bool {
				return f.Severity == finding.Stop && (f.Slug == finding.ClearanceTooSmall || f.Slug == finding.AngleCutTouches)
			})
			if stopped == cut.LowerTube.Known || cut.LowerTube.Known && cut.TipHeight.V <= 0 {
				t.Errorf("%v in, %v degrees: the end %v above the bottom, stopped: %v", tank.FaceToBottom.V, angle, cut.TipHeight, stopped)
			}
		}
	}
}

// level makes a chart of n steps, each of a depth and a volume.
func level(n int, depth, volume float64) *chart.Chart {
	c := &chart.Chart{DepthUnit: unit.Inches, VolumeUnit: unit.USGallons}
	for i := range n + 1 {
		c.Rows = append(c.Rows, chart.Row{Depth: float64(i) * depth / float64(n), Volume: float64(i) * volume, SheetRow: int32(i + 2), DepthCol: 1, VolumeCol: 2})
	}
	return c
}

// Rows R02 to R11 of check_values.csv, each with its own source there.
func TestCheckValues(t *testing.T) {
	rows := map[string]map[string]string{}
	for _, r := range readTable(t, "check_values.csv") {
		rows[r["id"]] = r
	}
	want := func(id string) (v, tol float64) {
		r, ok := rows[id]
		if !ok || r["source"] == "" {
			t.Fatalf("%s is missing or has no source", id)
		}
		return number(t, r["expected"]), number(t, r["tolerance"])
	}
	for id, capacity := range map[string]unit.Volume{"R02": 6430, "R03": 10000, "R04": 11527} {
		v, tol := want(id)
		near(t, id, number(t, unit.VolumeText(unit.Percent(95).Of(capacity), unit.USGallons, 0)), v, tol)
	}
	v, tol := want("R09") // the tip 2 in up, a 4 in tube cut at 45 degrees
	near(t, "R09", float64(2+AngleCut(4, 45)), v, tol)
	// The angle cuts of the geometry: 4 in tube at 30, 45 and 60 degrees
	// (shapes-and-audit, tan by hand).
	near(t, "30 degrees", float64(AngleCut(4, 30)), 2.3094, 0.00005)
	near(t, "60 degrees", float64(AngleCut(4, 60)), 6.9282, 0.00005)

	tank := Tank{ID: given("R", 1), Diameter: inches(96), Length: inches(319.1388), EndShape: given("flat", 1)}
	c, err := ChartFromDimensions(&tank, 1, 0)
	if err != nil {
		t.Fatal(err)
	}
	k, err := chart.NewCurve(c)
	if err != nil {
		t.Fatal(err)
	}
	// R05 and R11 are about the slope at the 95 % depth. The chart's is the mean
	// over an inch either way: the second difference of a circle's chord there
	// makes it 0.08 gal/in less.
	v, _ = want("R05")
	near(t, "R05", k.SlopeOver(86.6584), v, 0.08)
	v, _ = want("R11")
	near(t, "R11", k.SlopeOver(86.6584)/8, v, 0.08/8)
	// R06: how late straight lines read 95 % on a 1 in chart, in gallons.
	full := 10000.0
	d, err := k.Between(unit.Volume(0.95 * full))
	if err != nil {
		t.Fatal(err)
	}
	v, tol = want("R06")
	body, _ := tankOf(&tank)
	near(t, "R06", body.Volume(float64(d))/231-0.95*full, v, tol)
}

func TestMetricIsInches(t *testing.T) {
	for _, w := range workedExamples(t) {
		rules := federalRules(t)
		inch, _ := Make(&w.tank, w.chart, &w.device, rules, Options{})
		mm := *w.chart
		mm.DepthUnit, mm.VolumeUnit = unit.Millimetres, unit.Litres
		mm.Rows = nil
		for _, r := range w.chart.Rows {
			r.Depth = unit.Millimetres.Number(w.length.Length(r.Depth))
			r.Volume = unit.Litres.Number(w.volume.Volume(r.Volume))
			mm.Rows = append(mm.Rows, r)
		}
		metric, _ := Make(&w.tank, &mm, &w.device, rules, Options{})
		for name, v := range map[string][2]float64{
			"full":   {float64(inch.FullVolume.V), float64(metric.FullVolume.V)},
			"depth":  {float64(inch.ShutoffDepth.V), float64(metric.ShutoffDepth.V)},
			"upper":  {float64(inch.UpperTube.V), float64(metric.UpperTube.V)},
			"lower":  {float64(inch.LowerTube.V), float64(metric.LowerTube.V)},
			"share":  {float64(inch.ShutoffPercent.V), float64(metric.ShutoffPercent.V)},
			"chance": {float64(inch.ChanceOver.V), float64(metric.ChanceOver.V)},
		} {
			tol := 1e-9
			if name == "chance" {
				tol = 0.05 // the rounding of the chart is another one in litres
			}
			if math.Abs(v[0]-v[1]) > tol {
				t.Errorf("example %s, %s: %.12g in inches and gallons, %.12g in mm and litres", w.row["example"], name, v[0], v[1])
			}
		}
	}
}
