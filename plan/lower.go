package plan

import (
	"math"

	"dropcut/plan/finding"
	"dropcut/plan/rule"
	"dropcut/plan/unit"
)

// submerged is the distance of the lower end from the bottom that holds everywhere
// under 40 CFR 63.11117(b), and where no rule is known; common practice there.
const submerged = 6 * unit.Inch

// lower makes the drop length and the cut of the lower tube: the part that
// decides how near the bottom the fuel comes out.
func (m *maker) lower() {
	overall, ok := m.overall()
	if !ok {
		return
	}
	c := &m.cut
	c.FaceToBottom = Known(overall)
	slant, ok := m.slant()
	if !ok {
		return
	}
	limit, source := m.opening()
	c.EndMost = Known(limit)
	tip := m.tip(limit, slant)
	if tip <= unit.Guard && slant == 0 {
		m.find(finding.ClearanceTooSmall, finding.Stop, m.t.Clearance.At, "a clearance of "+m.in(tip), "above nothing", "the tube would stand on the bottom", "a larger clearance")
		return
	}
	if tip <= unit.Guard {
		m.find(finding.AngleCutTouches, finding.Stop, m.t.CutAngle.At, "long side "+m.in(tip)+" above the bottom", "above nothing, with the short side within "+m.in(limit), "the slant takes "+m.in(slant), "a squarer cut")
		return
	}
	extra, step := unit.Length(0), c.CutStep
	if c.UpperTube.Known {
		extra = m.testExtra()
	}
	drop := unit.RoundTo(overall-tip, step, unit.Up)
	if drop <= 0 {
		m.find(finding.HeightsImpossible, finding.Stop, m.t.FaceToBottom.At, "a drop length of "+m.in(drop), "a length above nothing", "the heights do not belong to this tank", "measure riser height and face to bottom again")
		return
	}
	body := unit.Length(-1)
	tube := body
	if c.UpperTube.Known {
		switch {
		case !m.d.BodyLength.Given():
			m.find(finding.DeviceIncomplete, finding.Check, m.d.At, "a device without its body length", "the distance between its two seams, from the data sheet", "the lower tube cannot be cut without it", "fill in the Devices sheet")
		default:
			body = m.d.BodyLength.V
			tube = unit.RoundTo(overall-tip-(c.UpperTube.V-extra)-body, step, unit.Up)
			if tube <= 0 {
				m.find(finding.LowerTubeImpossible, finding.Stop, m.d.BodyLength.At, "a lower tube of "+m.in(tube), "a length above nothing", "upper tube and device reach the bottom already", "look at the measurements, or choose another device")
				return
			}
			drop = c.UpperTube.V - extra + body + tube
		}
	}
	if overall-drop <= unit.Guard {
		// Rounding the tube up has taken what was left.
		slug, at := finding.ClearanceTooSmall, m.t.Clearance.At
		if slant > 0 {
			slug, at = finding.AngleCutTouches, m.t.CutAngle.At
		}
		m.find(slug, finding.Stop, at, "the end of the tube "+m.in(overall-drop)+" above the bottom, once it is rounded up to "+m.step(), "above nothing", "the tube would stand on the bottom", "a larger clearance, or a squarer cut")
		return
	}
	m.clears(overall-drop, slant, limit)
	c.DropLength, c.TipHeight, c.EndHeight = Known(drop), Known(overall-drop), Known(overall-drop+slant)
	if body < 0 {
		if m.telling() {
			m.tell("drop length", m.fig(drop), m.fig(overall)+" face to bottom - "+m.fig(tip)+" clearance"+m.minus(tip, slant, limit)+", rounded "+m.rounded("up", drop)+", so that the opening stays within "+m.fig(limit), source, m.t.FaceToBottom.At, m.t.Clearance.At)
		}
		return
	}
	c.LowerTube, c.ShortSide = Known(tube), Known(tube-slant)
	if m.telling() {
		m.tell("lower tube cut", m.fig(tube), m.fig(overall)+" face to bottom - "+m.fig(tip)+" clearance"+m.minus(tip, slant, limit)+" - "+m.fig(c.UpperTube.V-extra)+" upper tube below the face - "+m.fig(body)+" body, rounded "+m.rounded("up", tube)+", so that the opening stays within "+m.fig(limit), source, m.t.FaceToBottom.At, m.t.Clearance.At, m.d.BodyLength.At)
		m.tell("drop length", m.fig(drop), m.fig(c.UpperTube.V-extra)+" upper tube below the face + "+m.fig(body)+" body + "+m.fig(tube)+" lower tube", m.sheet(), m.d.BodyLength.At)
	}
	if slant > 0 && m.telling() {
		m.tell("short side", m.fig(tube-slant), m.fig(tube)+" - "+m.fine(slant)+" = outside diameter "+m.fig(m.d.TubeDiameter.V)+" x tan "+exact(float64(m.t.CutAngle.V))+" degrees", "", m.t.CutAngle.At, m.d.TubeDiameter.At)
	}
}

// minus explains the clearance of an angle cut.
func (m *maker) minus(tip, slant, limit unit.Length) string {
	if slant == 0 {
		return ""
	}
	for _, whole := range [...]unit.Length{limit, submerged} {
		if math.Abs(float64(whole-slant-tip)) < float64(unit.Guard) {
			return " (" + m.fig(whole) + " - " + m.fine(slant) + " slant)"
		}
	}
	return ""
}

// clears holds the lowest point of the tube, as it will be cut, against the
// device's least and the striker plate.
func (m *maker) clears(tip, slant, limit unit.Length) {
	plate := m.t.StrikerPlate
	if plate.Given() && tip <= plate.V {
		m.find(finding.StrikerPlateTouched, finding.Stop, plate.At, "the end of the tube "+m.in(tip)+" above the bottom", "above the striker plate of "+m.in(plate.V), "the tube would stand on the plate", "a larger clearance")
		return
	}
	if m.d == nil || !m.d.LeastClearance.Given() {
		return
	}
	// Rounding the tube up may take as much as one step of the clearance.
	least := m.d.LeastClearance.V + plate.V
	if tip < least-m.cut.CutStep {
		m.find(finding.ClearanceTooSmall, finding.Check, m.d.LeastClearance.At, "the end of the tube "+m.in(tip)+" above the bottom", "at least "+m.in(least)+m.plus(plate.V, "of it striker plate"), m.sheet(), "a squarer cut, or a larger clearance")
	}
}

// overall gives the distance from sealing face to tank bottom: measured, else
// riser height and inside height together, which is said.
func (m *maker) overall() (unit.Length, bool) {
	riser, face := m.t.RiserHeight, m.t.FaceToBottom
	switch {
	case face.Given() && !(face.V > 0 && face.V < longest):
		return 0, false // said where the upper tube is made
	case face.Given():
		if riser.Given() && m.k != nil && math.Abs(float64(face.V-riser.V-m.inside)) > float64(apart+unit.Guard) && !m.cut.UpperTube.Known {
			m.find(finding.DiameterDoubtful, finding.Check, face.At, "face to bottom less riser height is "+m.in(face.V-riser.V), m.in(m.inside)+" inside height",
				"wrong chart, wrong tank, a deflected shell or a wrong tape", "measure both again")
		}
		return face.V, true
	case riser.Given() && m.k != nil:
		m.find(finding.BottomNotMeasured, finding.Check, riser.At, "face to bottom is not given", "measured under the fill", "riser height and inside height were added up: "+m.in(riser.V+m.inside), "measure sealing face to tank bottom")
		return riser.V + m.inside, true
	}
	return 0, false
}

// slant is how much longer the long side of an angle cut is than the short one.
// ok is false where it is not known.
func (m *maker) slant() (l unit.Length, ok bool) {
	angle := m.t.CutAngle
	switch {
	case !angle.Given() || angle.V == 0:
		return 0, true
	case angle.V < 0 || angle.V >= 89:
		m.find(finding.AngleCutTouches, finding.Stop, angle.At, "a cut at "+exact(float64(angle.V))+" degrees from square", "0 to below 89 degrees", "no tube can be cut so", "correct the angle")
		return 0, false
	case m.d == nil || !m.d.TubeDiameter.Given():
		m.find(finding.DeviceIncomplete, finding.Check, angle.At, "an angle cut, and no outside diameter of the tube", "the outside diameter, from the data sheet", "how far the sides differ follows from it", "fill in the Devices sheet")
		return 0, false
	}
	return AngleCut(m.d.TubeDiameter.V, angle.V), true
}

// AngleCut gives the difference between the long and the short side of a tube of
// an outside diameter that is cut at an angle from square.
func AngleCut(outside unit.Length, angle unit.Angle) unit.Length {
	return outside * unit.Length(math.Tan(float64(angle)*math.Pi/180))
}

// opening gives how far the highest point of the opening may lie above the
// bottom, with its source: the smallest of the rules of the place. A rule that
// depends on when the fill pipe was installed is asked for that day; where the
// day is not known, for every day.
func (m *maker) opening() (unit.Length, string) {
	limit, source := unit.Length(math.Inf(1)), ""
	take := func(r *rule.Rule) {
		if v, ok := r.Height(); ok && v < limit {
			limit, source = v, r.Citation()
			m.cut.EndRule = r
		}
	}
	for r := range m.law.About("submerged_fill_pipe_end_above_bottom") {
		d := m.t.FillPipeInstalled
		if holds, _ := r.InForce(d.V); holds || !d.Given() {
			take(r)
		}
	}
	// Rules for inventory control hold for some of the tanks that dropcut cannot
	// tell apart; the strictest is safe.
	for _, q := range [...]string{"fill_pipe_end_above_bottom", "drop_tube_end_above_bottom", "opening_entirely_submerged_at_liquid_level"} {
		for r := range m.rulesAbout(q) {
			take(r)
		}
	}
	if math.IsInf(float64(limit), 1) {
		return submerged, "no rule of the place is known; 6 in is common practice"
	}
	if d := m.t.FillPipeInstalled; !d.Given() {
		source += "; when the fill pipe was installed is not given"
	}
	return limit, source
}

// tip settles how far the lowest point of the tube stays above the bottom.
func (m *maker) tip(limit, slant unit.Length) unit.Length {
	want := limit - slant
	c := m.t.Clearance
	if !c.Given() {
		if limit > submerged {
			// An old fill pipe may end higher. Whether a new drop tube makes it
			// a new fill pipe is disputed; 6 in is lawful either way.
			want = submerged - slant
		}
		return want
	}
	if c.V+slant > limit+unit.Guard {
		m.find(finding.ClearanceTooLarge, finding.Check, c.At, "clearance "+m.in(c.V)+m.plus(slant, "of slant"), "the highest point of the opening within "+m.in(limit)+" of the bottom", "the rule holds for the point farthest from the bottom; the smaller clearance was taken",
			"correct the clearance")
		return want
	}
	return c.V
}
