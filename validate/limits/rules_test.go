package limits

import (
	"testing"
	"time"

	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/rule"
	"dropcut/plan/unit"
)

func yes() cell.Of[bool] { return cell.Of[bool]{V: true, Raw: "yes"} }

func date(s string) time.Time {
	d, err := time.Parse(time.DateOnly, s)
	if err != nil {
		panic(err)
	}
	return d
}

// What rules say beyond the one length, each asked for and not asked for. The
// bans and the period are those of 40 CFR 280.20(c)(3) and 280.35(a)(3), from
// memory; the rules here are invented rows that say the same.
func TestRulesBeyondTheCut(t *testing.T) {
	law := &rule.Rule{ID: "X", Instrument: "invented", Section: "1"}
	years := &rule.Rule{ID: "Y", Instrument: "invented", Section: "2", Value: 3, Unit: "years"}
	visit := func(last, today string) func(*Case) {
		return func(c *Case) {
			c.Tank.LastInspection = cell.Of[time.Time]{V: date(last), Raw: last}
			c.Options.Today, c.Limits.Inspection = date(today), years
		}
	}
	for _, k := range []struct {
		name   string
		change func(*Case)
		slug   finding.Slug // "" for nothing
		sev    finding.Severity
	}{
		{"a sound plan", func(*Case) {}, "", 0},
		{"the low end has room", func(c *Case) { c.Cut.LowEndRoom = plan.Known(unit.Length(0.5)) }, "", 0},
		{"liquid at the top", func(c *Case) { c.Cut.LowEndRoom = plan.Known(unit.Length(0)) }, finding.TopFittingWetted, finding.Check},
		{"liquid at the top, forbidden", func(c *Case) { c.Cut.LowEndRoom, c.Limits.DryTop = plan.Known(unit.Length(-1)), law }, finding.TopFittingWetted, finding.Stop},
		{"a flow restrictor", func(c *Case) { c.Tank.VentRestrictor = yes() }, finding.VentRestrictor, finding.Check},
		{"a flow restrictor, forbidden", func(c *Case) { c.Tank.VentRestrictor, c.Limits.NoVentRestrictor = yes(), law }, finding.VentRestrictor, finding.Check},
		{"under pressure", func(c *Case) { c.Tank.Pressurized = yes() }, finding.PressurizedDelivery, finding.Check},
		{"under pressure, nothing else allowed", func(c *Case) { c.Tank.Pressurized, c.Limits.OnlyShutoff = yes(), law }, finding.PressurizedDelivery, finding.Check},
		{"inspected last year", visit("2025-03-01", "2026-03-01"), "", 0},
		{"due within the quarter", visit("2023-05-01", "2026-03-01"), finding.InspectionDue, finding.Note},
		{"overdue", visit("2022-05-01", "2026-03-01"), finding.InspectionDue, finding.Check},
		{"inspected tomorrow", visit("2026-03-02", "2026-03-01"), finding.InspectionUnknown, finding.Check},
		{"no period", func(c *Case) { visit("2022-05-01", "2026-03-01")(c); c.Limits.Inspection = nil }, "", 0},
	} {
		c := sight(t)
		k.change(&c)
		list := Check(c)
		if k.slug == "" && len(list) > 0 || k.slug != "" && (len(list) != 1 || list[0].Slug != k.slug || list[0].Severity != k.sev || list[0].At.IsZero()) {
			t.Errorf("%s: %+v", k.name, list)
		}
	}
}

// A tube as it lies in a tilted tank, and one with the test fitting, are confirmed
// by the other way too.
func TestSecondOfTiltedAndTested(t *testing.T) {
	for name, change := range map[string]func(*Case){
		"tilted": func(c *Case) {
			c.Tank.Rise = given(2)
			c.Tank.LowEnd = cell.Of[plan.End]{V: plan.OtherEnd, Raw: "other"}
			c.Tank.FillStation = given(24)
		},
		"test fitting": func(c *Case) { c.Device.TestExtra = given(3) },
	} {
		c := sight(t)
		change(&c)
		cut, _ := plan.Make(c.Tank, c.Chart, c.Device, c.Rules, plan.Options{})
		if !cut.UpperTube.Known {
			t.Fatalf("%s: no tube", name)
		}
		c.Cut = &cut
		if list := Second(c, rowOf(c)); list != nil {
			t.Errorf("%s: %+v", name, list)
		}
		row := rowOf(c)
		row[10].Value -= 3
		row[10].Differs = true
		if list := Second(c, row); len(list) != 1 || list[0].Severity != finding.Stop {
			t.Errorf("%s, too short: %+v", name, list)
		}
	}
}
