package plan

import (
	"math"
	"time"

	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// The submerged-fill distances of 40 CFR 63.11117(b), measured to the point of
// the opening that is farthest from the bottom: 6 in, or 12 in for fill pipes
// installed on or before 2006-11-09.
const (
	submerged    = 6 * unit.Inch
	submergedOld = 12 * unit.Inch
)

func submergedDate() time.Time { return time.Date(2006, time.November, 9, 0, 0, 0, 0, time.UTC) }

// lower makes the drop length and the cut of the lower tube: the part that
// decides how near the bottom the fuel comes out.
func (m *maker) lower() {
	overall, ok := m.overall()
	if !ok || m.d == nil {
		return
	}
	slant := m.slant()
	limit, source := m.opening()
	tip := m.tip(limit, slant)
	if tip <= 0 {
		m.find(finding.AngleCutTouches, finding.Stop, m.t.CutAngle.At, "long side "+in(tip)+" above the bottom", "above nothing, with the short side within "+in(limit), "the slant takes "+in(slant), "a squarer cut")
		return
	}
	if least := m.d.LeastClearance; least.Given() && tip < least.V-unit.Guard {
		m.find(finding.ClearanceTooSmall, finding.Check, least.At, "the end of the tube "+in(tip)+" above the bottom", "at least "+in(least.V), "the device's data sheet: "+m.d.Source.V, "a squarer cut, or a larger clearance")
	}
	if plate := m.t.StrikerPlate; plate.Given() && tip <= plate.V {
		m.find(finding.StrikerPlateTouched, finding.Stop, plate.At, "the end of the tube "+in(tip)+" above the bottom", "above the striker plate of "+in(plate.V), "the tube would stand on the plate", "a larger clearance")
	}
	drop := unit.RoundTo(overall-tip, m.cut.CutStep, unit.Up)
	m.cut.DropLength = Known(drop)
	m.tell("drop length", in(drop), in(overall)+" face to bottom - "+in(tip)+" clearance, rounded up so that the opening stays within "+in(limit), source, m.t.FaceToBottom.At)
	if !m.cut.UpperTube.Known {
		return
	}
	if !m.d.BodyLength.Given() {
		m.find(finding.DeviceIncomplete, finding.Check, m.d.At, "a device without its body length", "the distance between its two seams, from the data sheet", "the lower tube cannot be cut without it", "fill in the Devices sheet")
		return
	}
	tube := drop - m.cut.UpperTube.V - m.d.BodyLength.V
	tube = unit.RoundTo(tube, m.cut.CutStep, unit.Up)
	if tube <= 0 {
		m.find(finding.LowerTubeImpossible, finding.Stop, m.d.BodyLength.At, "a lower tube of "+in(tube), "a length above nothing", "upper tube and device reach the bottom already", "look at the measurements, or choose another device")
		return
	}
	m.cut.LowerTube = Known(tube)
	m.tell("lower tube cut", in(tube), in(drop)+" - "+in(m.cut.UpperTube.V)+" upper tube - "+in(m.d.BodyLength.V)+" body, rounded up", "data sheet: "+m.d.Source.V, m.d.BodyLength.At)
}

// overall gives the distance from sealing face to tank bottom: measured, else
// riser height and inside height together, which is said.
func (m *maker) overall() (unit.Length, bool) {
	riser, face := m.t.RiserHeight, m.t.FaceToBottom
	switch {
	case face.Given():
		if riser.Given() && m.k != nil && math.Abs(float64(face.V-riser.V-m.inside)) > float64(apart+unit.Guard) && !m.cut.UpperTube.Known {
			m.find(finding.DiameterDoubtful, finding.Check, face.At, "face to bottom less riser height is "+in(face.V-riser.V), in(m.inside)+" inside height",
				"wrong chart, wrong tank, a deflected shell or a wrong tape", "measure both again")
		}
		return face.V, true
	case riser.Given() && m.k != nil:
		m.find(finding.BottomNotMeasured, finding.Check, riser.At, "face to bottom is not given", "measured under the fill", "riser height and inside height were added up: "+in(riser.V+m.inside), "measure sealing face to tank bottom")
		return riser.V + m.inside, true
	}
	return 0, false
}

// slant is how much longer the long side of an angle cut is than the short one:
// outside diameter x tan(angle from square).
func (m *maker) slant() unit.Length {
	if !m.t.CutAngle.Given() || m.t.CutAngle.V <= 0 || !m.d.TubeDiameter.Given() {
		return 0
	}
	if m.t.CutAngle.V >= 89 {
		return unit.Length(math.Inf(1))
	}
	return AngleCut(m.d.TubeDiameter.V, m.t.CutAngle.V)
}

// AngleCut gives the difference between the long and the short side of a tube of
// an outside diameter that is cut at an angle from square.
func AngleCut(outside unit.Length, angle unit.Angle) unit.Length {
	return outside * unit.Length(math.Tan(float64(angle)*math.Pi/180))
}

// opening gives how far the highest point of the opening may lie above the
// bottom, with its source: the smallest of the rules of the place.
func (m *maker) opening() (unit.Length, string) {
	limit, source := submerged, "40 CFR 63.11117(b)(2): fill pipe installed after 2006-11-09, or not known when"
	if d := m.t.FillPipeInstalled; d.Given() && !d.V.After(submergedDate()) {
		limit, source = submergedOld, "40 CFR 63.11117(b)(1): fill pipe installed on or before 2006-11-09"
	}
	for _, q := range []string{"fill_pipe_end_above_bottom", "drop_tube_end_above_bottom", "opening_entirely_submerged_at_liquid_level"} {
		for _, r := range m.rules.For(m.place(), q, noDay) {
			// Rules about inventory control and about aboveground tanks hold
			// for tanks that dropcut cannot tell apart; the strictest is safe.
			if v := unit.Length(r.Value); r.Unit == "inch" && v > 0 && v < limit {
				limit, source = v, r.Citation()
			}
		}
	}
	return limit, source
}

// tip settles how far the lowest point of the tube stays above the bottom.
func (m *maker) tip(limit, slant unit.Length) unit.Length {
	want := limit - slant
	c := m.t.Clearance
	if !c.Given() {
		if limit > submerged {
			// An old fill pipe may end higher; the usual distance fills quieter.
			want = submerged - slant
		}
		return want
	}
	if c.V+slant > limit+unit.Guard {
		m.find(finding.ClearanceTooLarge, finding.Check, c.At, "clearance "+in(c.V)+plus(slant, "slant"), "the highest point of the opening within "+in(limit)+" of the bottom", "the rule holds for the point farthest from the bottom; the smaller clearance was taken",
			"correct the clearance")
		return want
	}
	return c.V
}
