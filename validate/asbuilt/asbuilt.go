// Package asbuilt holds what was built, as it was measured and written down on
// site, against the plan, the limit and the data of the device. The share that
// the built tube gives, not the planned one, is what goes on record.
package asbuilt

import (
	"fmt"
	"math"
	"strings"
	"time"

	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/device"
	"dropcut/plan/finding"
	"dropcut/plan/rule"
	"dropcut/plan/unit"
)

// Record is what came back for a tank. A value that is not Given was left blank.
// Lengths are inches, torques lbf·ft, pressures psi.
type Record struct {
	Upper, Lower, Short, Drop cell.Of[unit.Length]
	// Riser and Face are the measures of the site, Diameter that of the tank.
	Riser, Face, Diameter cell.Of[unit.Length]
	Pressure              cell.Of[unit.Pressure]
	// Torques are those of the device's joints, from the tank up.
	Torques []cell.Of[unit.Torque]
	// Answers are the questions of the page with what was answered.
	Answers []Answer
	Done    cell.Of[time.Time]
	Who     cell.Of[string]
	License cell.Of[string]
	// Missing names the fields without which the record is not complete.
	Missing []string
	// Inspection says that the record is one of an inspection: its tube was
	// found, not cut, and nothing but the upper tube was measured.
	Inspection bool
	// At is where the page stands.
	At cell.Ref
}

// Answer is a question that is answered yes or no.
type Answer struct {
	Question string
	Yes      cell.Of[bool]
}

// Case is the tank that a record is about.
type Case struct {
	Tank    *plan.Tank
	Chart   *chart.Chart
	Device  *device.Device
	Rules   *rule.Set
	Options plan.Options
}

// Built is what a record comes to.
type Built struct {
	plan.AsFound
	// Planned is the plan with the measures of the site.
	Planned plan.Cut
	// EndHeight is how far the highest point of the lower opening is above the
	// bottom.
	EndHeight plan.Value[unit.Length]
}

// hair is how far two measures of one thing may lie apart and still be read as
// the same: a saw cut and a tape to 1/16 in each.
const hair = unit.Inch / 8

// Judge works out what was built and what stands against it.
func Judge(c Case, r *Record) (Built, []finding.Finding) {
	j := &judge{Case: c, r: r}
	t := *c.Tank
	put(&t.RiserHeight, r.Riser)
	put(&t.FaceToBottom, r.Face)
	put(&t.Diameter, r.Diameter)
	t.AsFoundUpper = r.Upper
	j.t = &t
	o := c.Options
	j.b.Planned, _ = plan.Make(&t, c.Chart, c.Device, c.Rules, o)
	j.b.AsFound, _ = plan.Invert(&t, c.Chart, c.Device, c.Rules, o, &j.b.Planned)
	j.share()
	if !r.Inspection {
		j.cut()
		j.lower()
		j.pressure()
		j.torques()
	}
	j.answers()
	if len(r.Missing) > 0 {
		j.find(finding.RecordIncomplete, finding.Check, r.At, "not filled in: "+strings.Join(r.Missing, ", "), "a complete record", "what is not on record was not done, for whoever reads it later", "have it completed by whoever did the work")
	}
	return j.b, j.found
}

func put[T any](to *cell.Of[T], v cell.Of[T]) {
	if v.Given() {
		*to = v
	}
}

type judge struct {
	Case
	t     *plan.Tank
	r     *Record
	b     Built
	found []finding.Finding
}

func (j *judge) find(slug finding.Slug, sev finding.Severity, at cell.Ref, found, expected, why, do string) {
	if at.IsZero() {
		at = j.r.At
	}
	j.found = append(j.found, finding.Finding{Slug: slug, Severity: sev, Site: j.t.Site.Raw, Tank: j.t.ID.Raw, At: at, Found: found, Expected: expected, Why: why, Suggestion: do})
}

// share holds the share of the built tube against the limit.
func (j *judge) share() {
	up, limit := j.r.Upper, j.b.Planned.LimitPercent.V
	if !up.Given() {
		return
	}
	slug, why, do := finding.AsBuiltOverLimit, "the flow does not stop in time; a tube that is too short cannot be lengthened", "replace the tube; do not put the tank into service"
	if j.r.Inspection {
		slug, why = finding.InspectionFailed, "complete shutoff has to occur at no more than the limit"
	}
	switch {
	case !j.b.ShutoffDepth.Known:
		j.find(finding.AsFoundUnknown, finding.Check, up.At, "an upper tube of "+in(up.V), "chart, device and the heights at the riser", "the level at which it shuts off cannot be worked out", "complete what is missing in the book")
	case !j.b.ShutoffPercent.Known:
		j.find(slug, finding.Stop, up.At, "a shutoff at "+in(j.b.ShutoffDepth.V)+", beyond the chart", "at most "+pct(limit), why, do)
	case !j.b.Within:
		j.find(slug, finding.Stop, up.At, unit.PercentText(j.b.ShutoffPercent.V, limit)+" % at "+in(j.b.ShutoffDepth.V), "at most "+pct(limit), why, do)
	}
}

// cut holds the built upper tube against the plan for the measures of the site,
// and against the device.
func (j *judge) cut() {
	up, want := j.r.Upper, j.b.Planned.UpperTube
	if !up.Given() {
		return
	}
	if d := j.Device; d != nil && d.LeastUpperTube.Given() && up.V < d.LeastUpperTube.V-unit.Guard {
		j.find(finding.AsBuiltUnderLeast, finding.Stop, up.At, "an upper tube of "+in(up.V), "at least "+in(d.LeastUpperTube.V), "the device's data sheet", "replace the tube")
	}
	if want.Known && math.Abs(float64(up.V-want.V)) > float64(hair+unit.Guard) {
		why := "a shorter tube shuts off higher"
		if up.V > want.V {
			why = "a longer tube shuts off lower: capacity is given up"
		}
		j.find(finding.AsBuiltDiffers, finding.Check, up.At, "an upper tube of "+in(up.V), in(want.V)+" for the measures of the site", why, "measure again; cut or replace")
	}
}

// lower holds the lower end against the rule, and the pieces against each other.
func (j *judge) lower() {
	drop := j.r.Drop
	face := j.t.FaceToBottom
	if drop.Given() && face.Given() {
		tip := face.V - drop.V
		end := tip
		if j.r.Short.Given() && j.r.Lower.Given() && j.r.Short.V <= j.r.Lower.V {
			end += j.r.Lower.V - j.r.Short.V
		} else if p := &j.b.Planned; p.EndHeight.Known && p.TipHeight.Known {
			end += p.EndHeight.V - p.TipHeight.V
		}
		j.b.EndHeight = plan.Known(end)
		switch most := j.b.Planned.EndMost; {
		case tip <= 0:
			j.find(finding.ValueImpossible, finding.Check, drop.At, "a drop length of "+in(drop.V), "less than face to bottom, "+in(face.V), "the tube would stand on the bottom or below it", "measure both again")
		case most.Known && end > most.V+unit.Guard:
			j.find(finding.EndTooHigh, finding.Stop, drop.At, "the opening ends "+in(end)+" above the bottom", "at most "+in(most.V), "the rule holds for the point farthest from the bottom", "a longer lower tube")
		}
	}
	up, low := j.r.Upper, j.r.Lower
	if d := j.Device; d != nil && d.BodyLength.Given() && up.Given() && low.Given() && drop.Given() {
		extra := unit.Length(0)
		if d.TestExtra.Given() && (!j.t.TestVariant.Given() || j.t.TestVariant.V) {
			extra = d.TestExtra.V
		}
		// Three cuts and one tape.
		if sum := up.V - extra + d.BodyLength.V + low.V; math.Abs(float64(sum-drop.V)) > float64(unit.Inch/4+unit.Guard) {
			j.find(finding.PiecesDoNotAddUp, finding.Check, drop.At, "a drop length of "+in(drop.V), in(sum)+": upper tube, device and lower tube together", "one of the measures is wrong", "measure again")
		}
	}
}

func (j *judge) pressure() {
	p := j.r.Pressure
	if !p.Given() {
		return
	}
	if !(p.V > 0) {
		j.find(finding.ValueImpossible, finding.Check, p.At, "a leak test at "+short(float64(p.V))+" psi", "a pressure above nothing", "nothing was tested", "test again")
	}
	if d := j.Device; d != nil && d.TestPressure.Given() && p.V > d.TestPressure.V*(1+1e-9) {
		j.find(finding.LeakTestTooHigh, finding.Check, p.At, short(float64(p.V))+" psi", "at most "+short(float64(d.TestPressure.V))+" psi, that is "+short(float64(d.TestPressure.V/unit.InchOfWater))+" inches of water (conventional)",
			"the ceiling of the data sheet protects the seals", "look whether the device is damaged, and test it again")
	}
}

// torques holds each joint against its range, and each against the one below it:
// common practice, no source.
func (j *judge) torques() {
	if j.Device == nil {
		return
	}
	var below cell.Of[unit.Torque]
	name := ""
	for i, joint := range j.Device.Joints {
		if i >= len(j.r.Torques) {
			return
		}
		v := j.r.Torques[i]
		if !v.Given() {
			continue
		}
		if joint.Least.Given() && v.V < joint.Least.V*(1-1e-9) || joint.Most.Given() && v.V > joint.Most.V*(1+1e-9) {
			j.find(finding.TorqueOutOfRange, finding.Check, v.At, joint.Name+" "+short(float64(v.V))+" lbf·ft", short(float64(joint.Least.V))+" to "+short(float64(joint.Most.V))+" lbf·ft", "the range of the data sheet", "loosen and tighten it again; look at the seal")
		}
		if below.Given() && v.V >= below.V {
			j.find(finding.TorqueNotFalling, finding.Check, v.At, joint.Name+" "+short(float64(v.V))+" lbf·ft", "less than the "+short(float64(below.V))+" lbf·ft of the "+name+" below it", "the upper part has to come off without loosening what is buried", "tighten again from the tank up")
		}
		below, name = v, joint.Name
	}
}

func (j *judge) answers() {
	slug, sev := finding.AnsweredNo, finding.Check
	if j.r.Inspection {
		slug, sev = finding.InspectionFailed, finding.Stop
	}
	for _, a := range j.r.Answers {
		if a.Yes.Given() && !a.Yes.V {
			j.find(slug, sev, a.Yes.At, strings.ToLower(a.Question)+": no", "yes", "the work is not as it should be", "find out why, and put it right")
		}
	}
}

func in(l unit.Length) string {
	if n := float64(l) * 64; math.Abs(n-math.Round(n)) < 1e-7 {
		return unit.FractionText(l, 64, unit.Nearest) + " in"
	}
	return unit.DecimalText(float64(l), 3, unit.Nearest) + " in"
}

func pct(p unit.Percent) string { return short(float64(p)) + " %" }

func short(v float64) string { return fmt.Sprint(math.Round(v*1e3) / 1e3) }
