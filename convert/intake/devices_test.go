package intake

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"dropcut/convert/intake/intaketest"
	"dropcut/plan/device"
	"dropcut/plan/finding"
)

func readDeviceList(t *testing.T, text string) ([]device.Device, []finding.Finding) {
	t.Helper()
	r := mustRead(t, Options{}, book("b.xlsx", "Charts", "Tank|Depth (in)|Volume (gal)"+longRows("A"), "Devices", text))
	return r.Job.Devices, r.Job.Findings
}

func joints(d *device.Device) string {
	var s []string
	for _, j := range d.Joints {
		s = append(s, fmt.Sprintf("%s %.4g-%.4g", j.Name, float64(j.Least.V), float64(j.Most.V)))
	}
	return strings.Join(s, "; ")
}

func TestDevices(t *testing.T) {
	list, said := readDeviceList(t, `Data sheets, copied by hand
Device|Shutoff drop (in)|Least tube below tank top (in)|Min. upper tube (mm)|Body length (in)|Tube OD (in)|Least riser bore (in)|Arm space (in)|Test extra (in)|Least clearance (in)|Cut step (in)|Leak test ceiling (kPa)|Joints|Source
Quill 3|1 7/8|5|300|10 1/2|3|3 1/16|15||4|1/16|20|lower joint 12 to 16 lbf.ft; upper joint: 9-12 ft-lb; cap 8 lbf.ft|sheet Q
Quill 4|2 3/8|-|n/a|about 12|4|||1 3/4|||||`)
	intaketest.WantSaid(t, said, "value-unreadable check  Devices!E4")
	if len(list) != 2 {
		t.Fatalf("%d devices, want 2", len(list))
	}
	a, b := list[0], list[1]
	if a.ShutoffDrop.V != 1.875 || a.LeastBelowTop.V != 5 || math.Abs(float64(a.LeastUpperTube.V)-300/25.4) > 1e-12 || a.BodyLength.V != 10.5 || a.TubeDiameter.V != 3 || a.LeastRiserBore.V != 3.0625 ||
		a.ArmSpace.V != 15 || a.TestExtra.Given() || a.LeastClearance.V != 4 || a.CutStep.V != 0.0625 || math.Abs(float64(a.TestPressure.V)-20/6.894757293168361) > 1e-12 || a.Source.V != "sheet Q" {
		t.Errorf("first device %+v", a)
	}
	if got := joints(&a); got != "lower joint 12-16; upper joint 9-12; cap 8-8" {
		t.Errorf("joints %s", got)
	}
	if b.LeastBelowTop.Given() || b.LeastUpperTube.Given() || b.BodyLength.Given() || b.TestExtra.V != 1.75 || len(b.Joints) != 0 {
		t.Errorf("second device %+v", b)
	}
}

func TestJointsInColumns(t *testing.T) {
	list, said := readDeviceList(t, `Device|Shutoff drop (in)|Body length (in)|Joint 2 name|Joint 2 least torque (N·m)|Joint 2 most torque (N·m)|Joint 1 name|Joint 1 min torque (lbf.ft)|Joint 1 max torque (lbf.ft)
One|2|12|upper|20|30|lower|18|26
Two|2|12|upper|30|20|lower|18|26`)
	intaketest.WantSaid(t, said, "value-unreadable check  Devices!F3")
	// 1 N·m is 0.737562149 lbf·ft (NIST SP 811, Appendix B.8).
	if got := joints(&list[0]); got != "lower 18-26; upper 14.75-22.13" {
		t.Errorf("joints %s", got)
	}
	if got := joints(&list[1]); got != "lower 18-26; upper 0-0" || list[1].Joints[1].Least.Given() {
		t.Errorf("joints %s", got)
	}
}

func TestTheSameDeviceTwice(t *testing.T) {
	list, said := readDeviceList(t, "Device|Shutoff drop (in)|Body length (in)\nOne|2|12\nTwo|2|12\ntwo|2|12\nOne|2 1/2|12")
	intaketest.WantSaid(t, said, "duplicate-device check  Devices!A5")
	if len(list) != 1 || list[0].Name.V != "Two" {
		t.Errorf("devices %+v, want Two alone", list)
	}
}
