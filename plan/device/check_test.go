package device

import (
	"math"
	"testing"

	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

func l(v unit.Length) cell.Of[unit.Length] {
	return cell.Of[unit.Length]{V: v, Raw: "x", At: cell.Ref{Col: 3, Row: 2}}
}

func nm(v unit.Torque) cell.Of[unit.Torque] { return cell.Of[unit.Torque]{V: v, Raw: "x"} }

func sound() Device {
	return Device{
		Name: cell.Of[string]{V: "trial", Raw: "trial"}, At: cell.Ref{Row: 2}, ShutoffDrop: l(2.375), LeastBelowTop: l(5.75), LeastUpperTube: l(14.5), BodyLength: l(12.875),
		TubeDiameter: l(4), LeastRiserBore: l(4.0625), ArmSpace: l(19), CutStep: l(0.0625),
		Joints: []Joint{{"lower", nm(18), nm(26)}, {"upper", nm(14), nm(20)}, {"cap", nm(8), nm(12)}},
	}
}

func TestCheck(t *testing.T) {
	d := sound()
	if list := d.Check(); list != nil {
		t.Errorf("a sound device: %v", list)
	}
	for name, change := range map[string]func(*Device){
		"drop in mm":          func(d *Device) { d.ShutoffDrop = l(60) },
		"negative drop":       func(d *Device) { d.ShutoffDrop = l(-1) },
		"no step":             func(d *Device) { d.CutStep = l(0) },
		"step in millimeters": func(d *Device) { d.CutStep = l(2) },
		"bore under the tube": func(d *Device) { d.LeastRiserBore = l(3) },
		"torque turned round": func(d *Device) { d.Joints[0].Least, d.Joints[0].Most = nm(26), nm(18) },
		"torque that rises":   func(d *Device) { d.Joints[1].Least, d.Joints[1].Most = nm(26), nm(30) },
	} {
		d := sound()
		d.Joints = append([]Joint(nil), d.Joints...)
		change(&d)
		list := d.Check()
		if len(list) != 1 || list[0].Slug != finding.DeviceFigureOdd || list[0].At.IsZero() {
			t.Errorf("%s: %v", name, list)
		}
	}
}

// The ends of the ranges belong to them, and a joint without one of its figures
// is judged by the other.
func TestCheckAtTheEndsOfItsRanges(t *testing.T) {
	for name, change := range map[string]func(*Device){
		"the least drop":             func(d *Device) { d.ShutoffDrop = l(0) },
		"the most drop":              func(d *Device) { d.ShutoffDrop = l(24) },
		"a step of an inch":          func(d *Device) { d.CutStep = l(1) },
		"a bore as wide as the tube": func(d *Device) { d.LeastRiserBore = l(4) },
		"a tube without its bore":    func(d *Device) { d.LeastRiserBore = cell.Of[unit.Length]{} },
		"a bore without its tube":    func(d *Device) { d.TubeDiameter = cell.Of[unit.Length]{} },
		"a range of one torque":      func(d *Device) { d.Joints[0].Least = nm(26) },
		"a least torque alone":       func(d *Device) { d.Joints[2].Most = cell.Of[unit.Torque]{} },
		"a most torque alone":        func(d *Device) { d.Joints[0].Least = cell.Of[unit.Torque]{} },
		"only most torques":          func(d *Device) { d.Joints[0].Least, d.Joints[1].Least = cell.Of[unit.Torque]{}, cell.Of[unit.Torque]{} },
	} {
		d := sound()
		d.Joints = append([]Joint(nil), d.Joints...)
		change(&d)
		if list := d.Check(); list != nil {
			t.Errorf("%s: %v", name, list)
		}
	}
	for name, change := range map[string]func(*Device){
		"a torque that does not fall": func(d *Device) { d.Joints[1].Least, d.Joints[1].Most = nm(26), nm(26) },
		"a cap like the joint below":  func(d *Device) { d.Joints[2].Least, d.Joints[2].Most = nm(20), nm(20) },
		"two joints apart": func(d *Device) {
			d.Joints[1].Most, d.Joints[2].Least, d.Joints[2].Most = cell.Of[unit.Torque]{}, nm(26), nm(30)
		},
		"a bore of NaN": func(d *Device) { d.LeastRiserBore.V = unit.Length(math.NaN()) },
	} {
		d := sound()
		d.Joints = append([]Joint(nil), d.Joints...)
		change(&d)
		if list := d.Check(); len(list) != 1 {
			t.Errorf("%s: %v", name, list)
		}
	}
}
