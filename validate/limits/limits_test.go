package limits

import (
	"testing"

	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/device"
	"dropcut/plan/finding"
	"dropcut/plan/rule"
	"dropcut/plan/unit"
)

func given(v unit.Length) cell.Of[unit.Length] {
	return cell.Of[unit.Length]{V: v, Raw: "x", At: cell.Ref{Row: 2, Col: 1}}
}

// sound makes a plan that is right, for the tests to spoil.
func sound(t *testing.T) Case {
	t.Helper()
	k := &plan.Tank{
		ID: cell.Of[string]{V: "A", Raw: "A"}, At: cell.Ref{Row: 2}, Limit: cell.Of[unit.Percent]{V: 95, Raw: "95"}, Diameter: given(96), Length: given(320),
		EndShape: cell.Of[string]{V: "flat", Raw: "flat"}, RiserHeight: given(41.25), FaceToBottom: given(137.25),
	}
	c, err := plan.ChartFromDimensions(k, 1, 1)
	if err != nil {
		t.Fatal(err)
	}
	d := &device.Device{ShutoffDrop: given(2.375), LeastBelowTop: given(5.75), LeastUpperTube: given(14.5), BodyLength: given(12.875), TubeDiameter: given(4)}
	rules := rule.NewSet(nil)
	cut, _ := plan.Make(k, c, d, rules, plan.Options{})
	l := plan.LimitsOf(k, &cut, rules, plan.Options{})
	return Case{Tank: k, Chart: c, Device: d, Cut: &cut, Limits: &l, Options: &plan.Options{}}
}

// A plan that is right is confirmed; each figure that is spoiled by hand is not.
func TestConfirm(t *testing.T) {
	if list := Confirm(sound(t)); list != nil {
		t.Fatalf("a sound plan: %v", list)
	}
	for name, spoil := range map[string]func(*Case){
		"tube a step too short":      func(c *Case) { c.Cut.UpperTube.V -= 1. / 16 },
		"tube off its step":          func(c *Case) { c.Cut.UpperTube.V += 1. / 50 },
		"shutoff told too low":       func(c *Case) { c.Cut.ShutoffDepth.V -= 0.5 },
		"lower tube of another cut":  func(c *Case) { c.Cut.LowerTube.V += 1 },
		"opening too high":           func(c *Case) { c.Cut.EndHeight.V = 6.01 },
		"tube under the least":       func(c *Case) { c.Device.LeastUpperTube = given(60) },
		"tube below top under least": func(c *Case) { c.Device.LeastBelowTop = given(8) },
		"limit of another tank":      func(c *Case) { c.Cut.LimitPercent.V = 94 },
		"chart of another tank": func(c *Case) {
			other := *c.Chart
			other.Rows = append([]chart.Row(nil), other.Rows...)
			other.Rows[86].Volume += 200
			c.Chart = &other
		},
		"chart that ends below": func(c *Case) {
			other := *c.Chart
			other.Rows = other.Rows[:80]
			c.Chart = &other
		},
	} {
		c := sound(t)
		spoil(&c)
		list := Confirm(c)
		if len(list) != 1 || list[0].Slug != finding.CutNotConfirmed || list[0].Severity != finding.Stop || list[0].At.IsZero() {
			t.Errorf("%s: %v", name, list)
		}
	}
}
