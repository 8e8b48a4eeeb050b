package plan

import (
	"dropcut/plan/chart"
	"dropcut/plan/device"
	"dropcut/plan/finding"
	"dropcut/plan/rule"
	"dropcut/plan/unit"
)

// worthCutting is by how much a lawful tube has to be longer than planned before
// cutting it is advised: common practice, no source. It is what two measurements
// of one height may lie apart.
const worthCutting = apart

// Invert says what the upper tube does that was found in a tank: at which depth
// and share of the tank it shuts off, and whether to leave it, cut it or replace
// it. planned is the plan of the same tank; its tube is what a new one would be.
// The tank has to have AsFoundUpper; without it nothing is known.
func Invert(t *Tank, c *chart.Chart, d *device.Device, rules *rule.Set, o Options, planned *Cut) (AsFound, []finding.Finding) {
	var a AsFound
	found := t.AsFoundUpper
	if !found.Given() {
		return a, nil
	}
	a.UpperTube = Known(found.V)
	m := &maker{t: t, c: c, d: d, rules: rules, o: o, quiet: true}
	m.law = rules.In(m.place())
	m.limit()
	usable := c != nil && m.curve()
	if usable {
		m.tilt()
	}
	stopped := m.stopped
	m.quiet = false
	unknown := func(what, do string) (AsFound, []finding.Finding) {
		m.find(finding.AsFoundUnknown, finding.Check, found.At, "an upper tube of "+m.in(found.V), what, "the level at which it shuts off cannot be worked out", do)
		return a, m.found
	}
	switch {
	case !usable || stopped:
		return unknown("a chart from which a level can be read", "correct the chart from its original")
	case d == nil || !d.ShutoffDrop.Given():
		return unknown("a device with its shutoff drop", "name the device, and add the figures of its data sheet")
	case !t.RiserHeight.Given() && !t.FaceToBottom.Given():
		return unknown("riser height or face to bottom, better both", "measure inside tank top to sealing face, and sealing face to tank bottom")
	case !(found.V > 0):
		return unknown("a length above nothing", "correct the length")
	}
	extra := m.testExtra()
	depth := m.depthOf(found.V, extra)
	limit := m.cut.LimitPercent.V
	m.cut.Trail = nil
	a.ShutoffDepth = Known(depth)
	if t.FaceToBottom.Given() {
		m.tell("as-found shutoff depth from the bottom", m.fig(t.FaceToBottom.V-(found.V-extra)-d.ShutoffDrop.V), m.fig(t.FaceToBottom.V)+" face to bottom - "+m.fig(found.V)+" upper tube"+m.plus(extra, "test extra")+" - "+m.fig(d.ShutoffDrop.V)+" shutoff drop", m.sheet(), t.FaceToBottom.At, found.At, d.ShutoffDrop.At)
	}
	if t.RiserHeight.Given() {
		m.tell("as-found shutoff depth from the top", m.fig(m.inside+t.RiserHeight.V-(found.V-extra)-d.ShutoffDrop.V), m.fig(m.inside)+" inside height + "+m.fig(t.RiserHeight.V)+" riser height - "+m.fig(found.V)+" upper tube"+m.plus(extra, "test extra")+" - "+m.fig(d.ShutoffDrop.V)+" shutoff drop", m.sheet(), t.RiserHeight.At, found.At, d.ShutoffDrop.At)
	}
	switch {
	case depth > m.k.Top():
		// Above the chart: whatever it is, it is more than all that is charted.
		m.find(finding.AsFoundOverLimit, finding.Check, found.At, "an upper tube of "+m.in(found.V)+", which shuts off at "+m.in(depth), "at most "+pct(limit)+" full; the chart ends at "+m.in(m.k.Top()), "the flow does not stop before the tank is full", m.replaceBy(&a, planned))
		return m.asFound(a)
	case depth < m.k.Bottom():
		return unknown("a depth within the chart; it comes to "+m.in(depth), "measure tube, riser height and face to bottom again")
	}
	share, err := m.share(depth)
	if err != nil {
		return unknown(err.Error(), "correct the chart from its original")
	}
	a.ShutoffPercent, a.ShutoffVolume = Known(share), Known(share.Of(m.cut.FullVolume.V))
	budget := m.budget(depth, make([]Share, 0, 8))
	worst, chance := uncertain(share, limit, budget)
	a.WorstPercent, a.ChanceOver = Known(worst), Known(chance)
	a.Within = share <= limit*(1+1e-12)
	m.tell("as-found share", unit.PercentText(share, limit)+" %", m.gal(a.ShutoffVolume.V)+" of "+m.gal(m.cut.FullVolume.V)+"; limit "+pct(limit)+"; worst case "+unit.PercentText(worst, limit)+" %", "the curve between the chart's rows", found.At)
	short := d.LeastUpperTube.Given() && found.V < d.LeastUpperTube.V-unit.Guard
	if r := t.RiserHeight; !short && r.Given() && d.LeastBelowTop.Given() {
		short = found.V-extra-r.V < d.LeastBelowTop.V-unit.Guard
	}
	switch {
	case !a.Within:
		m.find(finding.AsFoundOverLimit, finding.Check, found.At, "an upper tube of "+m.in(found.V)+", which shuts off at "+unit.PercentText(share, limit)+" %", "at most "+pct(limit), "a tube that is too short cannot be lengthened", m.replaceBy(&a, planned))
	case short:
		m.find(finding.AsFoundUnderLeast, finding.Check, found.At, "an upper tube of "+m.in(found.V), m.leasts(), m.sheet(), m.replaceBy(&a, planned))
	default:
		a.Verdict = Leave
		if by := found.V - planned.UpperTube.V; planned.UpperTube.Known && by >= worthCutting-unit.Guard {
			a.Verdict = CutIt
			a.CutBy, a.NewTube = Known(by), planned.UpperTube
		}
	}
	return m.asFound(a)
}

// Withhold takes everything but the tube itself out of a judgement about a tank
// that has a stop.
func (a *AsFound) Withhold() { *a = AsFound{UpperTube: a.UpperTube} }

// asFound ends the judgement of a tube.
func (m *maker) asFound(a AsFound) (AsFound, []finding.Finding) {
	value := string(a.Verdict)
	how := "the planned tube is not known"
	switch {
	case a.Verdict == CutIt:
		value = "cut by " + m.in(a.CutBy.V)
		how = m.in(a.UpperTube.V) + " - " + m.in(a.NewTube.V) + " planned"
	case a.Verdict == Replace && a.NewTube.Known:
		how = "a new tube of " + m.in(a.NewTube.V)
	case a.Verdict == Leave:
		how = "within the limit, and less than " + m.in(worthCutting) + " to gain"
	}
	m.tell("what to do with it", value, how, "", m.t.AsFoundUpper.At)
	a.Trail = m.cut.Trail
	return a, m.found
}

// replaceBy settles that the tube is replaced and says by which.
func (m *maker) replaceBy(a *AsFound, planned *Cut) string {
	a.Verdict = Replace
	if planned.UpperTube.Known {
		a.NewTube = planned.UpperTube
		return "replace it by one of " + m.in(planned.UpperTube.V)
	}
	return "replace it"
}

func (m *maker) leasts() string {
	s := "the device's least"
	if m.d.LeastUpperTube.Given() {
		s += ", " + m.in(m.d.LeastUpperTube.V)
	}
	if m.d.LeastBelowTop.Given() {
		s += ", and " + m.in(m.d.LeastBelowTop.V) + " of it below the tank top"
	}
	return s
}
