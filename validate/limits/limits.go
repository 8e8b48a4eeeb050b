// Package limits holds a plan against the rules of its place and the data of its
// device. It does not trust the plan: what a tube does is worked out once more
// here, from the measurements, by another way than the plan took.
package limits

import (
	"math"
	"time"

	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/device"
	"dropcut/plan/finding"
	"dropcut/plan/rule"
	"dropcut/plan/unit"
)

// Case is what is judged: a tank with its plan and what the plan is held against.
type Case struct {
	Tank    *plan.Tank
	Chart   *chart.Chart
	Device  *device.Device
	Cut     *plan.Cut
	Limits  *plan.Limits
	Options *plan.Options
	// Rules are those of all places; only Second asks for them, for tilted tanks.
	Rules *rule.Set
}

// Check gives what the plan and the tank are at odds with.
func Check(c Case) []finding.Finding {
	var list []finding.Finding
	for _, check := range checks() {
		list = append(list, check(c)...)
	}
	return list
}

// checks lists them in the order in which they speak.
func checks() []func(Case) []finding.Finding {
	return []func(Case) []finding.Finding{Confirm, dryTop, ventRestrictor, pressurized, inspection}
}

// say makes a finding about the tank of a case.
func (c Case) say(slug finding.Slug, sev finding.Severity, at cell.Ref, found, expected, why, do string) []finding.Finding {
	if at.IsZero() {
		at = c.Tank.At
	}
	name := ""
	if c.Chart != nil {
		name = c.Chart.Name
	}
	return []finding.Finding{{
		Slug: slug, Severity: sev, Site: c.Tank.Site.V, Tank: c.Tank.ID.V, Chart: name, At: at,
		Found: found, Expected: expected, Why: why, Suggestion: do,
	}}
}

// Confirm works the cut out backwards: from the tube, the measurements and the
// rows of the chart to the share of the tank, by a search through the rows and
// not through the plan's curve. The share may not be above the limit, the tube
// not under the leasts of the device, the pieces have to add up, and the opening
// has to end within the rule.
func Confirm(c Case) []finding.Finding {
	cut, t := c.Cut, c.Tank
	if !cut.UpperTube.Known || c.Device == nil || c.Chart == nil {
		return nil
	}
	wrong := func(found, expected string) []finding.Finding {
		return c.say(finding.CutNotConfirmed, finding.Stop, cell.Ref{}, found, expected, "the second calculation does not confirm the first", "report it with the book; do not cut")
	}
	tube := cut.UpperTube.V
	if x := c.Device.TestExtra; x.Given() && (!t.TestVariant.Given() || t.TestVariant.V) {
		tube -= x.V
	}
	drop := c.Device.ShutoffDrop.V
	const hair = 1e-6 // inches; both ways add a handful of float64
	for _, depth := range c.depths(tube, drop) {
		if depth > cut.ShutoffDepth.V+hair {
			return wrong("a shutoff depth of "+inches(depth), "at most the planned "+inches(cut.ShutoffDepth.V))
		}
		share, ok := shareAt(c.Chart, depth)
		if !ok {
			return wrong("a shutoff depth of "+inches(depth), "a depth within the chart")
		}
		if share > cut.LimitPercent.V*(1+1e-9) {
			return wrong(unit.PercentText(share, cut.LimitPercent.V)+" % at "+inches(depth), "at most "+percent(cut.LimitPercent.V)+" %")
		}
	}
	if least := c.Device.LeastUpperTube; least.Given() && cut.UpperTube.V < least.V-hair {
		return wrong("an upper tube of "+inches(cut.UpperTube.V), "at least "+inches(least.V))
	}
	if r, least := t.RiserHeight, c.Device.LeastBelowTop; r.Given() && least.Given() && tube-r.V < least.V-hair {
		return wrong(inches(tube-r.V)+" of tube below the tank top", "at least "+inches(least.V))
	}
	if s := float64(cut.UpperTube.V / cut.CutStep); math.Abs(s-math.Round(s)) > 1e-6 {
		return wrong("an upper tube of "+inches(cut.UpperTube.V), "a whole number of steps of "+inches(cut.CutStep))
	}
	if cut.LowerTube.Known {
		if sum := tube + c.Device.BodyLength.V + cut.LowerTube.V; math.Abs(float64(sum-cut.DropLength.V)) > hair {
			return wrong("pieces that add up to "+inches(sum), "the drop length of "+inches(cut.DropLength.V))
		}
	}
	if cut.DropLength.Known && cut.EndHeight.Known && cut.EndHeight.V > c.Limits.EndMost+hair {
		return wrong("an opening that ends "+inches(cut.EndHeight.V)+" above the bottom", "at most "+inches(c.Limits.EndMost))
	}
	return nil
}

// depths gives the shutoff depths that the measurements give: from the bottom,
// and from the measured diameter or the top of the chart.
func (c Case) depths(tube, drop unit.Length) []unit.Length {
	var list []unit.Length
	if f := c.Tank.FaceToBottom; f.Given() {
		list = append(list, f.V-tube-drop)
	}
	if r := c.Tank.RiserHeight; r.Given() {
		list = append(list, r.V+c.Cut.InsideHeight.V-tube-drop)
	}
	return list
}

// shareAt reads a level chart's share at a depth on the straight line between
// two rows, by going through all rows.
func shareAt(c *chart.Chart, depth unit.Length) (unit.Percent, bool) {
	d := c.DepthUnit.Number(depth)
	full, v := math.Inf(-1), math.NaN()
	for i := range c.Rows {
		r := &c.Rows[i]
		full = max(full, r.Volume)
		if math.Abs(r.Depth-d) < 1e-9 {
			v = r.Volume
		}
		if i == 0 {
			continue
		}
		a, b := &c.Rows[i-1], r
		if a.Depth > b.Depth {
			a, b = b, a
		}
		if a.Depth < d && d < b.Depth {
			v = a.Volume + (d-a.Depth)*(b.Volume-a.Volume)/(b.Depth-a.Depth)
		}
	}
	return unit.Percent(100 * v / full), !math.IsNaN(v) && full > 0
}

// dryTop holds the tank as it lies against a rule that no fitting on its top may
// be wetted, and says so without one where the liquid is at the top.
func dryTop(c Case) []finding.Finding {
	room := c.Cut.LowEndRoom
	if !room.Known || room.V > 0 {
		return nil
	}
	sev, why := finding.Check, "fittings there would be wetted"
	if r := c.Limits.DryTop; r != nil {
		sev, why = finding.Stop, r.Citation()+" asks for this beside the limit"
	}
	return c.say(finding.TopFittingWetted, sev, c.Tank.Rise.At, "liquid at the top of the tank at its low end", "room between the liquid at shutoff and the top", why, "lower the shutoff, or level the tank")
}

// ventRestrictor holds a flow restrictor in the vent line against the rules. The
// ban is for equipment installed or replaced after its date, and a new cut is
// such equipment.
func ventRestrictor(c Case) []finding.Finding {
	v := c.Tank.VentRestrictor
	if !v.Given() || !v.V {
		return nil
	}
	why := "it disturbs the shutoff where it acts at or below the same level"
	if r := c.Limits.NoVentRestrictor; r != nil {
		why = r.Citation() + ": not allowed where overfill protection is installed or replaced; and " + why
	}
	return c.say(finding.VentRestrictor, finding.Check, v.At, "a flow restrictor in the vent line", "none", why, "have it removed before the device is fitted")
}

// pressurized warns of deliveries under pressure.
func pressurized(c Case) []finding.Finding {
	p := c.Tank.Pressurized
	if !p.Given() || !p.V {
		return nil
	}
	why := "ordinary devices in the drop tube are made for gravity (from memory; the listing of the device decides)"
	if r := c.Limits.OnlyShutoff; r != nil {
		why += "; " + r.Citation() + " allows nothing but an automatic shutoff here"
	}
	return c.say(finding.PressurizedDelivery, finding.Check, p.At, "delivery under pressure", "a device that is listed for it", why, "ask for the listing of the device")
}

// soon is how long before its due day an inspection is said to be due: common
// practice, no source.
const soon = 90

// inspection says when the device has to be inspected again. Without today's
// date nothing is overdue.
func inspection(c Case) []finding.Finding {
	last, r, today := c.Tank.LastInspection, c.Limits.Inspection, c.Options.Today
	if !last.Given() || today.IsZero() {
		return nil
	}
	if last.V.After(today) {
		return c.say(finding.InspectionUnknown, finding.Check, last.At, "last inspection "+last.V.Format(time.DateOnly), "a day that has been", "when the next one is due cannot be said", "correct the date")
	}
	due, ok := Due(last.V, r)
	if !ok {
		return nil
	}
	found, want := "last inspection "+last.V.Format(time.DateOnly), "the next one by "+due.Format(time.DateOnly)
	switch {
	case today.After(due):
		return c.say(finding.InspectionDue, finding.Check, last.At, found, want, r.Citation()+": it is overdue", "inspect the device")
	case !today.AddDate(0, 0, soon).Before(due):
		return c.say(finding.InspectionDue, finding.Note, last.At, found, want, r.Citation(), "plan the inspection")
	}
	return nil
}

// Due gives the day by which the next inspection is due under a rule.
func Due(last time.Time, r *rule.Rule) (time.Time, bool) {
	if r == nil {
		return time.Time{}, false
	}
	return r.Due(last)
}

func inches(l unit.Length) string { return unit.DecimalText(float64(l), 4, unit.Nearest) + " in" }

func percent(p unit.Percent) string { return unit.DecimalText(float64(p), 6, unit.Nearest) }
