package intake

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"dropcut/plan/device"
	"dropcut/plan/finding"
	"dropcut/plan/rule"
	"dropcut/templates"
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
	wantSaid(t, said, "value-unreadable check  Devices!E4")
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
	wantSaid(t, said, "value-unreadable check  Devices!F3")
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
	wantSaid(t, said, "duplicate-device check  Devices!A5")
	if len(list) != 1 || list[0].Name.V != "Two" {
		t.Errorf("devices %+v, want Two alone", list)
	}
}

// The table that is built in: every row is read, and rows of low confidence are
// switched off.
func TestBuiltInRules(t *testing.T) {
	rules, err := Rules(templates.FS)
	if err != nil {
		t.Fatal(err)
	}
	if len(rules) != 57 {
		t.Errorf("%d rules, the table has 57", len(rules))
	}
	byID := map[string]rule.Rule{}
	for _, r := range rules {
		byID[r.ID] = r
		if r.Enabled != (r.Confidence != rule.Low) {
			t.Errorf("rule %s of confidence %s is enabled: %v", r.ID, r.Confidence, r.Enabled)
		}
		if math.IsNaN(r.Value) == (r.ValueText == "") {
			t.Errorf("rule %s has the value %v and the text %q", r.ID, r.Value, r.ValueText)
		}
	}
	if r := byID["US-SHUTOFF-95"]; r.Value != 95 || r.Comparator != rule.AtMost || r.Place != "US federal" || r.From.Format("2006-01-02") != "1988-12-22" {
		t.Errorf("rule %+v", r)
	}
	if r := byID["US-SUBMERGED-12"]; !r.From.IsZero() || r.To.Format("2006-01-02") != "2006-11-09" {
		t.Errorf("rule %+v", r)
	}
	if r := byID["WI-93615-BOTH"]; r.ValueText != "90;95" {
		t.Errorf("rule %+v", r)
	}
	if r := byID["US-VENTRESTRICTOR-BAN"]; r.Comparator != rule.Banned {
		t.Errorf("rule %+v", r)
	}
}

func TestADamagedRulesTableIsAnError(t *testing.T) {
	head := "enabled,rule_id,jurisdiction,instrument,section,applies_to,quantity,comparator,value,unit,basis,condition,effective,how_known,confidence\n"
	for name, text := range map[string]string{
		"no header":    "",
		"no rows":      head,
		"a column":     strings.Replace(head, "unit", "units", 1) + "yes,A,B,C,,,q,<=,1,,,,,,high\n",
		"comparator":   head + "yes,A,B,C,,,q,about,1,,,,,,high\n",
		"value":        head + "yes,A,B,C,,,q,<=,,,,,,,high\n",
		"citation":     head + "yes,A,B,,,,q,<=,1,,,,,,high\n",
		"confidence":   head + "yes,A,B,C,,,q,<=,1,,,,,,sure\n",
		"twice":        head + "yes,A,B,C,,,q,<=,1,,,,,,high\nyes,A,B,C,,,q,<=,1,,,,,,high\n",
		"short line":   head + "yes,A\n",
		"one too many": head[:len(head)-1] + ",more\nyes,A,B,C,,,q,<=,1,,,,,,high,x\n",
	} {
		if _, err := Rules(fstest.MapFS{RulesFile: {Data: []byte(text)}}); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

func TestEffectiveDates(t *testing.T) {
	for _, c := range []struct{ text, from, to string }{
		{"1988-12-22", "1988-12-22", "0001-01-01"},
		{"1991-09", "1991-09-01", "0001-01-01"},
		{"2003", "2003-01-01", "0001-01-01"},
		{"..2006-11-09", "0001-01-01", "2006-11-09"},
		{"2004-01-01..2010", "2004-01-01", "2010-12-31"},
		{"2004..2010-02", "2004-01-01", "2010-02-28"},
		{"", "0001-01-01", "0001-01-01"},
		{"in-force status not checked", "0001-01-01", "0001-01-01"},
	} {
		from, to := effectiveDates(c.text)
		if f, e := from.Format("2006-01-02"), to.Format("2006-01-02"); f != c.from || e != c.to {
			t.Errorf("%q is %s to %s, want %s to %s", c.text, f, e, c.from, c.to)
		}
	}
}
