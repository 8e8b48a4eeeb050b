package limits

import (
	"strings"
	"testing"

	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/rule"
	"dropcut/plan/unit"
)

// rowOf is the row that a plan would write, in the order of the columns.
func rowOf(c Case) []Written {
	cut := c.Cut
	var row []Written
	add := func(name string, v float64, sign string) {
		text := unit.DecimalText(v, 9, unit.Nearest)
		row = append(row, Written{Name: name, At: cell.Ref{Sheet: "Tanks", Row: 2, Col: 20 + len(row)}, Text: text, Want: text, Value: v, IsNumber: true, Size: 1, Unit: sign})
	}
	add(NameFull, float64(cut.FullVolume.V), "gal")
	add(NameLimit, float64(cut.LimitPercent.V), "%")
	add(NameLimitFull, float64(cut.LimitVolume.V), "gal")
	add(NameDepth, float64(cut.ShutoffDepth.V), "in")
	add(NameVolume, float64(cut.ShutoffVolume.V), "gal")
	add(NameShare, float64(cut.ShutoffPercent.V), "%")
	add(NameWorst, float64(cut.WorstPercent.V), "%")
	add(NameChance, float64(cut.ChanceOver.V), "%")
	add(NameHeadspace, float64(cut.Headspace.V), "in")
	add(NameBelowTop, float64(cut.TubeBelowTop.V), "in")
	add(NameTube, float64(cut.UpperTube.V), "in")
	row = append(row, Written{Name: NameMark, At: cell.Ref{Sheet: "Tanks", Row: 2, Col: 31}, Text: unit.FractionText(cut.UpperTube.V, 64, unit.Up) + " in"})
	add(NameDrop, float64(cut.DropLength.V), "in")
	add(NameLower, float64(cut.LowerTube.V), "in")
	add(NameAlarm, float64(cut.AlarmDepth.V), "in")
	row = append(row, Written{Name: NameStatus, At: cell.Ref{Sheet: "Tanks", Row: 2, Col: 35}, Text: "ready", Want: "ready"})
	row[11].Want = row[11].Text
	return row
}

func sight(t *testing.T) Case {
	c := sound(t)
	c.Rules = rule.NewSet(nil)
	return c
}

// Every figure of a sound row is confirmed by the calculation that goes the other
// way; where the plan itself were wrong in any one of them, that one is named.
func TestSecondConfirmsAndCatchesThePlan(t *testing.T) {
	c := sight(t)
	if list := Second(c, rowOf(c)); list != nil {
		t.Fatalf("a sound plan: %+v", list)
	}
	for i, w := range rowOf(c) {
		if !w.IsNumber || w.Name == NameLimit || w.Name == NameTube {
			continue // what the others are worked out from
		}
		row := rowOf(c)
		row[i].Value += 0.01
		list := Second(c, row)
		// Of two figures that follow from each other the first is named.
		if len(list) != 1 || list[0].Slug != finding.FigureNotConfirmed || list[0].Severity != finding.Stop || list[0].At.Col > w.At.Col {
			t.Errorf("%s off by 0.01: %+v", w.Name, list)
		}
	}
}

// What a person has changed is named with what it does.
func TestSecondNamesWhatWasChanged(t *testing.T) {
	for _, k := range []struct {
		name   string
		change func(row []Written)
		col    int
		sev    finding.Severity
		why    string
	}{
		{"a tube 2 in too short", func(r []Written) { r[10].Value -= 2; r[10].Differs = true }, 30, finding.Stop, "over the limit"},
		{"a tube 2 in too long", func(r []Written) { r[10].Value += 2; r[10].Differs = true }, 30, finding.Check, "of the tank"},
		{"a tube above the chart", func(r []Written) { r[10].Value = 1; r[10].Differs = true }, 30, finding.Stop, "above the chart"},
		{"a mark of another length", func(r []Written) { r[11].Text = "30 in"; r[11].Differs = true }, 31, finding.Stop, "over the limit"},
		{"a mark that is no length", func(r []Written) { r[11].Text = "long"; r[11].Differs = true }, 31, finding.Check, "rest of the row follows"},
		{"a share", func(r []Written) { r[5].Value = 90; r[5].Differs = true; r[5].Since = Typed }, 25, finding.Check, "worked backwards"},
		{"the second is known to be typed", func(r []Written) {
			r[3].Differs, r[3].Since = true, Older
			r[5].Differs, r[5].Since = true, Typed
		}, 25, finding.Check, "somebody has changed it"},
		{"older, one", func(r []Written) { r[14].Differs, r[14].Since = true, Older }, 34, finding.Check, "no longer follows"},
		{"older, several", func(r []Written) {
			r[3].Differs, r[3].Since = true, Older
			r[4].Differs, r[4].Since = true, Older
		}, 23, finding.Check, "1 more figure of the row no longer follow"},
		{"nobody knows, several", func(r []Written) { r[3].Differs, r[4].Differs, r[5].Differs = true, true, true }, 23, finding.Check, "2 more figures"},
		{"emptied", func(r []Written) { r[13].Text, r[13].IsNumber, r[13].Differs = "", false, true }, 33, finding.Check, "rest of the row"},
		{"a length where there is a stop", func(r []Written) { r[15].Want, r[10].Want, r[10].Differs = "stop", "", true }, 30, finding.Stop, "this tank has a stop"},
	} {
		c := sight(t)
		row := rowOf(c)
		k.change(row)
		list := Second(c, row)
		if len(list) != 1 || list[0].At.Col != k.col || list[0].Severity != k.sev || !strings.Contains(list[0].Why, k.why) {
			t.Errorf("%s: %+v", k.name, list)
		}
	}
}

// Without a device, a chart or measures there is less to confirm, and nothing is
// made up.
func TestSecondWithLess(t *testing.T) {
	for name, less := range map[string]func(*Case){
		"no device": func(c *Case) { c.Device = nil },
		"no chart":  func(c *Case) { c.Chart = nil },
		"no measures": func(c *Case) {
			c.Tank.RiserHeight, c.Tank.FaceToBottom = cell.Of[unit.Length]{}, cell.Of[unit.Length]{}
		},
	} {
		c := sight(t)
		row := rowOf(c)
		less(&c)
		if list := Second(c, row); list != nil {
			t.Errorf("%s: %+v", name, list)
		}
		row[10].Value -= 2
		row[10].Differs = true
		if list := Second(c, row); len(list) != 1 || list[0].Severity != finding.Check {
			t.Errorf("%s, a tube too short: %+v", name, list)
		}
	}
}
