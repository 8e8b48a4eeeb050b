package device

import (
	"math"

	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// Check holds the figures of a device against what such a device can have, so
// that a figure in the wrong unit or column is seen before a tube is cut by it.
// The ranges are wide: common practice, no source.
func (d *Device) Check() []finding.Finding {
	var list []finding.Finding
	say := func(sev finding.Severity, at cell.Ref, found, expected, why string) {
		if at.IsZero() {
			at = d.At
		}
		list = append(list, finding.Finding{
			Slug: finding.DeviceFigureOdd, Severity: sev, At: at, Found: found, Expected: expected, Why: why, Suggestion: "compare the row with the data sheet",
		})
	}
	for _, f := range []struct {
		name        string
		of          cell.Of[unit.Length]
		least, most unit.Length
	}{
		{"shutoff drop", d.ShutoffDrop, 0, 24},
		{"least tube below tank top", d.LeastBelowTop, 0, 48},
		{"least upper tube", d.LeastUpperTube, 0, 120},
		{"body length", d.BodyLength, 1, 72},
		{"tube outside diameter", d.TubeDiameter, 1, 12},
		{"least riser bore", d.LeastRiserBore, 1, 16},
		{"free space for the arm", d.ArmSpace, 0, 72},
		{"test extra", d.TestExtra, 0, 24},
		{"least bottom clearance", d.LeastClearance, 0, 24},
		{"stock upper tube", d.StockUpper, 1, 480},
		{"stock lower tube", d.StockLower, 1, 480},
	} {
		if v := f.of; v.Given() && !(v.V >= f.least && v.V <= f.most) {
			say(finding.Check, v.At, d.Name.V+": "+f.name+" "+text(v.V), text(f.least)+" to "+text(f.most), "a figure in another unit or column would look like this")
		}
	}
	if s := d.CutStep; s.Given() && !(s.V > 0 && s.V <= 1) {
		say(finding.Check, s.At, d.Name.V+": cut step "+text(s.V), "above nothing and up to 1 in", "tubes are cut to 1/16 in where this is not a step")
	}
	if b, od := d.LeastRiserBore, d.TubeDiameter; b.Given() && od.Given() && b.V < od.V {
		say(finding.Check, b.At, d.Name.V+": least riser bore "+text(b.V), "more than the tube's outside diameter, "+text(od.V), "the tube itself would not pass")
	}
	last := math.Inf(1)
	for _, j := range d.Joints {
		switch {
		case j.Least.Given() && j.Most.Given() && j.Least.V > j.Most.V:
			say(finding.Check, j.Least.At, d.Name.V+", "+j.Name+": torque from "+torque(j.Least.V)+" to "+torque(j.Most.V), "a range that rises", "the two figures stand in the wrong order")
		case j.Least.Given() && float64(j.Least.V) >= last:
			// The upper part has to come off without loosening what is buried.
			say(finding.Check, j.Least.At, d.Name.V+", "+j.Name+": torque from "+torque(j.Least.V), "a range that leaves room below that of the joint nearer the tank", "no torque within the ranges falls strictly from the tank upward")
		}
		if j.Most.Given() {
			last = float64(j.Most.V)
		}
	}
	return list
}

func text(l unit.Length) string { return unit.DecimalText(float64(l), 3, unit.Nearest) + " in" }

func torque(t unit.Torque) string { return unit.DecimalText(float64(t), 1, unit.Nearest) + " lbf.ft" }
