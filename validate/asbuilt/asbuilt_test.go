package asbuilt

import (
	"math"
	"slices"
	"testing"

	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/device"
	"dropcut/plan/finding"
	"dropcut/plan/rule"
	"dropcut/plan/unit"
)

func of[T any](v T) cell.Of[T] { return cell.Of[T]{V: v, Raw: "given"} }

// kase is a flat-ended tank of 96 in and a nominal 10,000 gal, whose chart is the
// circular segment's area (closed form; the integral of 2 sqrt(d(D-d))).
func kase() Case {
	c := &chart.Chart{Name: "A", DepthUnit: unit.Inches, VolumeUnit: unit.USGallons}
	const d, length = 96.0, 320.0
	for h := 0.0; h <= d; h++ {
		r := d / 2
		area := r*r*math.Acos((r-h)/r) - (r-h)*math.Sqrt(max(2*r*h-h*h, 0))
		c.Rows = append(c.Rows, chart.Row{Depth: h, Volume: math.Round(area * length / 231)})
	}
	t := &plan.Tank{ID: of("A"), Limit: of(unit.Percent(95)), RiserHeight: of(41.25 * unit.Inch), FaceToBottom: of(137.25 * unit.Inch)}
	dev := &device.Device{
		Name: of("D"), ShutoffDrop: of(2.375 * unit.Inch), LeastBelowTop: of(5.75 * unit.Inch), LeastUpperTube: of(14.5 * unit.Inch), BodyLength: of(12.875 * unit.Inch),
		TestPressure: of(3 * unit.PSI), Joints: []device.Joint{
			{Name: "lower joint", Least: of(18 * unit.PoundForceFoot), Most: of(26 * unit.PoundForceFoot)},
			{Name: "upper joint", Least: of(14 * unit.PoundForceFoot), Most: of(20 * unit.PoundForceFoot)},
		},
	}
	return Case{Tank: t, Chart: c, Device: dev, Rules: rule.NewSet(nil)}
}

func built() *Record {
	return &Record{
		Upper: of(48.875 * unit.Inch), Lower: of(69.5 * unit.Inch), Drop: of(131.25 * unit.Inch), Pressure: of(2 * unit.PSI),
		Torques: []cell.Of[unit.Torque]{of(22 * unit.PoundForceFoot), of(17 * unit.PoundForceFoot)},
	}
}

// Each record differs from a sound one in what its name says.
func TestJudge(t *testing.T) {
	for _, c := range []struct {
		name string
		do   func(*Record)
		want []finding.Slug
		sev  finding.Severity
	}{
		{"as planned", func(*Record) {}, nil, 0},
		{"a saw cut off the plan", func(r *Record) { r.Upper.V += unit.Inch / 8 }, nil, 0},
		{"longer than planned", func(r *Record) { r.Upper.V += unit.Inch / 4; r.Lower.V -= unit.Inch / 4 }, []finding.Slug{finding.AsBuiltDiffers}, finding.Check},
		{"above the limit", func(r *Record) { r.Upper.V -= unit.Inch; r.Lower.V += unit.Inch }, []finding.Slug{finding.AsBuiltOverLimit, finding.AsBuiltDiffers}, finding.Stop},
		{"so short that the chart ends before", func(r *Record) { r.Upper.V = 20; r.Lower.V = 98.375 }, []finding.Slug{finding.AsBuiltOverLimit, finding.AsBuiltDiffers}, finding.Stop},
		{"riser measured otherwise", func(r *Record) { r.Riser = of(43 * unit.Inch); r.Face = of(139 * unit.Inch); r.Drop.V = 133 }, []finding.Slug{finding.AsBuiltOverLimit, finding.AsBuiltDiffers, finding.PiecesDoNotAddUp}, finding.Stop},
		{"opening too high", func(r *Record) { r.Drop.V, r.Lower.V = 131, 69.25 }, []finding.Slug{finding.EndTooHigh}, finding.Stop},
		{"slant too high", func(r *Record) { r.Short = of(69.25 * unit.Inch) }, []finding.Slug{finding.EndTooHigh}, finding.Stop},
		{"on the bottom", func(r *Record) { r.Drop.V, r.Lower.V = 137.25, 75.5 }, []finding.Slug{finding.ValueImpossible}, finding.Check},
		{"pieces", func(r *Record) { r.Lower.V -= 1 }, []finding.Slug{finding.PiecesDoNotAddUp}, finding.Check},
		{"at the ceiling", func(r *Record) { r.Pressure.V = 3 }, nil, 0},
		{"above the ceiling", func(r *Record) { r.Pressure.V = 3.01 }, []finding.Slug{finding.LeakTestTooHigh}, finding.Check},
		{"no pressure at all", func(r *Record) { r.Pressure.V = 0 }, []finding.Slug{finding.ValueImpossible}, finding.Check},
		{"ends of the ranges", func(r *Record) { r.Torques[0].V, r.Torques[1].V = 18, 14 }, nil, 0},
		{"below its range", func(r *Record) { r.Torques[1].V = 13.9 }, []finding.Slug{finding.TorqueOutOfRange}, finding.Check},
		{"equal torques", func(r *Record) { r.Torques[0].V, r.Torques[1].V = 19, 19 }, []finding.Slug{finding.TorqueNotFalling}, finding.Check},
		{"a joint left out", func(r *Record) { r.Torques[0] = cell.Of[unit.Torque]{} }, nil, 0},
		{"answered no", func(r *Record) { r.Answers = []Answer{{"Arm free", of(false)}, {"Chips out", of(true)}} }, []finding.Slug{finding.AnsweredNo}, finding.Check},
		{"not complete", func(r *Record) { r.Missing = []string{"date"} }, []finding.Slug{finding.RecordIncomplete}, finding.Check},
	} {
		r := built()
		c.do(r)
		_, list := Judge(kase(), r)
		var got []finding.Slug
		for _, f := range list {
			got = append(got, f.Slug)
		}
		if !slices.Equal(got, c.want) || finding.Worst(list) != c.sev {
			t.Errorf("%s: said %v (%s), want %v (%s)", c.name, got, finding.Worst(list), c.want, c.sev)
		}
	}
}

// What was built is worked out from the measures of the site: half an inch more of
// riser with the same tube is half an inch more of level. 41.25 + 96 - 48.875 -
// 2.375 = 86.
func TestBuiltLevel(t *testing.T) {
	for _, more := range []unit.Length{0, 0.25, 0.5} {
		r := built()
		r.Riser, r.Face = of(41.25+more), of(137.25+more)
		b, _ := Judge(kase(), r)
		if math.Abs(float64(b.ShutoffDepth.V-86-more)) > 1e-9 {
			t.Errorf("riser %v: level %v", r.Riser.V, b.ShutoffDepth.V)
		}
	}
}

// The ceiling is told in inches of water too, by the conventional inch: 1 psi is
// 27.68 inH2O (NIST SP 811, Appendix B.8, from 249.0889 Pa and 6894.757 Pa).
func TestCeilingInWater(t *testing.T) {
	r := built()
	r.Pressure.V = 5
	_, list := Judge(kase(), r)
	if len(list) != 1 || list[0].Expected != "at most 3 psi, that is 83.04 inches of water (conventional)" {
		t.Errorf("%+v", list)
	}
}

// An inspection fails on one no, and on a tube that is left above the limit.
func TestInspection(t *testing.T) {
	r := &Record{Inspection: true, Upper: of(48.875 * unit.Inch), Answers: []Answer{{"Float free", of(true)}}}
	if _, list := Judge(kase(), r); len(list) != 0 {
		t.Errorf("%+v", list)
	}
	r.Answers[0].Yes.V = false
	if _, list := Judge(kase(), r); finding.Worst(list) != finding.Stop || list[0].Slug != finding.InspectionFailed {
		t.Errorf("%+v", list)
	}
	r.Answers[0].Yes.V, r.Upper.V = true, 47
	if _, list := Judge(kase(), r); finding.Worst(list) != finding.Stop || list[0].Slug != finding.InspectionFailed {
		t.Errorf("%+v", list)
	}
}

// Where something is not known or was not measured, nothing is guessed: what can
// be judged is, and a tube whose level cannot be worked out is told.
func TestLessKnown(t *testing.T) {
	for _, k := range []struct {
		name string
		do   func(*Case, *Record)
		want []finding.Slug
	}{
		{"upper tube not measured", func(_ *Case, r *Record) { r.Upper = cell.Of[unit.Length]{} }, nil},
		{"no pressure written down", func(_ *Case, r *Record) { r.Pressure = cell.Of[unit.Pressure]{} }, nil},
		{"one torque of two", func(_ *Case, r *Record) { r.Torques = r.Torques[:1] }, nil},
		{"nobody measured at the riser", func(c *Case, _ *Record) {
			c.Tank.RiserHeight, c.Tank.FaceToBottom = cell.Of[unit.Length]{}, cell.Of[unit.Length]{}
		}, []finding.Slug{finding.AsFoundUnknown}},
		{"no device", func(c *Case, _ *Record) { c.Device = nil }, []finding.Slug{finding.AsFoundUnknown}},
		// 14 in of tube are half an inch less than the data sheet of this device wants.
		{"shorter than the device allows", func(_ *Case, r *Record) { r.Upper.V, r.Lower.V = 14, 104.375 }, []finding.Slug{finding.AsBuiltOverLimit, finding.AsBuiltUnderLeast, finding.AsBuiltDiffers}},
		// With a test extra the same pieces are shorter by it below.
		{"test extra", func(c *Case, r *Record) {
			c.Device.TestExtra = of(unit.Inch)
			r.Upper.V += unit.Inch
		}, nil},
		{"test extra that the pieces leave out", func(c *Case, _ *Record) {
			c.Device.TestExtra = of(unit.Inch)
		}, []finding.Slug{finding.AsBuiltOverLimit, finding.AsBuiltDiffers, finding.PiecesDoNotAddUp}},
	} {
		c, r := kase(), built()
		k.do(&c, r)
		_, list := Judge(c, r)
		var got []finding.Slug
		for _, f := range list {
			got = append(got, f.Slug)
		}
		if !slices.Equal(got, k.want) {
			t.Errorf("%s: said %v, want %v", k.name, got, k.want)
		}
	}
	// What is no sixty-fourth of an inch is given in decimals.
	if got := in(48.8701); got != "48.870 in" {
		t.Errorf("a length: %q", got)
	}
}
