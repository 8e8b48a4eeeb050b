package plan

import (
	"math"
	"strings"

	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// upper makes the cut of the upper tube: the part that decides at which level
// the flow stops.
func (m *maker) upper() {
	if !m.cut.ShutoffDepth.Known || !m.deviceUsable() {
		return
	}
	m.belowTop()
	m.hang()
}

// deviceUsable reports whether there is a device whose sheet gives what the cut
// needs.
func (m *maker) deviceUsable() bool {
	if m.d == nil {
		name, at := m.t.Device, cell.Ref{}
		if !name.Given() {
			name = m.o.Device
		} else {
			at = name.At
		}
		if !name.Given() {
			m.find(finding.DeviceMissing, finding.Check, at, "no device named", "the device that is to be fitted", "the shutoff drop of the device belongs to the length of the tube", "write the device into the Device column, or give --device")
		} else {
			m.find(finding.DeviceMissing, finding.Stop, at, "device "+name.V, "a row of that name on the Devices sheet", "nothing is known of this device's dimensions", "add the device with the figures of its data sheet")
		}
		return false
	}
	if !m.d.ShutoffDrop.Given() || !m.d.LeastBelowTop.Given() || !m.d.LeastUpperTube.Given() {
		m.find(finding.DeviceIncomplete, finding.Stop, m.d.At, "a device without its shutoff drop, its least tube below the tank top or its least upper tube", "all three, from the data sheet", "the cut rests on them",
			"fill in the Devices sheet")
		return false
	}
	m.fits()
	return true
}

// fits holds the device against the riser and the free space.
func (m *maker) fits() {
	if b, least := m.t.RiserBore, m.d.LeastRiserBore; b.Given() && least.Given() && b.V < least.V {
		m.find(finding.RiserTooNarrow, finding.Stop, b.At, "riser bore "+m.in(b.V), "at least "+m.in(least.V), "the device does not pass through this riser", "a wider riser, or a device for this bore")
	}
	if f, need := m.t.FreeArm, m.d.ArmSpace; f.Given() && need.Given() && f.V < need.V {
		m.find(finding.ArmBlocked, finding.Check, f.At, "free space "+m.in(f.V), "at least "+m.in(need.V)+" along the tank", "a fitting, pump or wall would hold the float arm", "look whether the arm can point the other way, or choose a device with a shorter arm")
	}
}

// belowTop settles how far the tube reaches below the tank top. Where the
// device's least wins, the shutoff moves down with it.
func (m *maker) belowTop() {
	drop, least := m.d.ShutoffDrop, m.d.LeastBelowTop
	space := m.inside - m.target
	below := space - drop.V
	if m.telling() {
		m.tell("headspace", m.fig(space), m.fig(m.inside)+" inside height - "+m.fig(m.target)+" shutoff depth", "")
	}
	if m.telling() {
		m.tell("tube below tank top", m.fig(below), m.fig(space)+" headspace - "+m.fig(drop.V)+" shutoff drop", m.sheet(), drop.At)
	}
	if below < least.V-unit.Guard {
		was := m.cut.ShutoffPercent.V
		asked := below
		below = least.V
		m.target = m.inside - below - drop.V
		if m.target <= m.k.Bottom() {
			m.find(finding.DeviceDoesNotFit, finding.Stop, least.At, "the device's least tube below the tank top would put the shutoff at "+m.in(m.target), "a depth that the chart has", "the device is too long for this tank", "another device")
			m.cut.ShutoffDepth.Known = false
			return
		}
		m.settle(m.target)
		if m.telling() {
			m.tell("least tube below tank top", m.fig(below), "the device's least wins; the shutoff moves down to "+m.fig(m.inside)+" inside height - "+m.fig(below)+" - "+m.fig(drop.V)+" shutoff drop = "+m.fig(m.target), m.sheet(), least.At)
		}
		m.find(finding.LeastBelowTopWins, finding.Note, least.At, "the limit would allow a tube of "+m.in(asked)+" below the tank top", "at least "+m.in(least.V),
			"the shutoff moves down from "+unit.PercentText(was, m.cut.LimitPercent.V)+" to "+unit.PercentText(m.cut.ShutoffPercent.V, m.cut.LimitPercent.V)+" %; "+m.gal(m.cut.GivenUp.V)+" below the limit are given up",
			"nothing needs to be done; a device with a shorter least would use more of the tank")
	}
	m.seam = below
	m.cut.TubeBelowTop = Known(below)
}

// sheet names the device's data sheet.
func (m *maker) sheet() string {
	switch src := m.d.Source.V; {
	case src == "":
		return "the Devices sheet"
	case strings.Contains(strings.ToLower(src), "sheet"):
		return src
	default:
		return "data sheet: " + src
	}
}

// longest is more than any riser or any distance from a sealing face to a tank's
// bottom: common practice, no source.
const longest = 100 * unit.Foot

// hang makes the length of the upper tube from the measurements at the riser:
// from the top and from the bottom, of which the longer serves.
func (m *maker) hang() {
	riser, face := m.t.RiserHeight, m.t.FaceToBottom
	if !m.cut.TubeBelowTop.Known {
		return
	}
	if !riser.Given() && !face.Given() {
		m.find(finding.RiserNotMeasured, finding.Note, cell.Ref{}, "neither riser height nor face to bottom", "one of them, better both", "the tube hangs from the sealing face", "measure inside tank top to sealing face, and sealing face to tank bottom")
		return
	}
	for _, v := range [...]cell.Of[unit.Length]{riser, face} {
		if v.Given() && !(v.V > 0 && v.V < longest) {
			m.find(finding.HeightsImpossible, finding.Stop, v.At, "a height of "+m.in(v.V), "above nothing and up to "+m.in(longest), "no riser or tank measures so", "measure again, or correct the unit")
			return
		}
	}
	drop := m.d.ShutoffDrop.V
	extra := m.testExtra()
	long := unit.Length(0)
	if riser.Given() {
		fromTop := riser.V + m.seam + extra
		long = fromTop
		m.cut.FromTop = Known(fromTop)
		if m.telling() {
			m.tell("upper tube from the top", m.fig(fromTop), m.fig(riser.V)+" riser height + "+m.fig(m.seam)+" below tank top"+m.plus(extra, "test extra"), "", riser.At)
		}
	}
	if face.Given() {
		fromBottom := face.V - m.target - drop + extra
		m.cut.FromBottom = Known(fromBottom)
		if m.telling() {
			m.tell("upper tube from the bottom", m.fig(fromBottom), m.fig(face.V)+" face to bottom - "+m.fig(m.target)+" shutoff depth - "+m.fig(drop)+" shutoff drop"+m.plus(extra, "test extra"), "", face.At)
		}
		if riser.Given() {
			if off := unit.Length(math.Abs(float64(fromBottom - long))); off > apart+unit.Guard {
				m.find(finding.DiameterDoubtful, finding.Check, face.At, "face to bottom less riser height is "+m.in(face.V-riser.V), m.in(m.inside)+" inside height",
					"face to bottom less riser height is the tank's diameter to about 3/16 in; the chart's is "+m.in(off)+" off, so the chart may be another tank's; the longer tube was taken",
					"measure both again, and find the chart of this tank")
			}
		}
		long = max(long, fromBottom)
		if !riser.Given() {
			m.find(finding.MeasuredOneWay, finding.Check, face.At, "the riser height is not given", "inside tank top to sealing face, measured", "face to bottom less riser height is the tank's diameter; without it nobody sees that a chart is another tank's", "measure the riser height")
		}
	}
	if long <= 0 {
		m.find(finding.HeightsImpossible, finding.Stop, face.At, "an upper tube of "+m.in(long), "a length above nothing", "the heights do not belong to this tank", "measure riser height and face to bottom again")
		return
	}
	cut := unit.RoundTo(long, m.cut.CutStep, unit.Up)
	if m.telling() {
		m.tell("upper tube cut", m.fig(cut), "the longer of these, "+m.fine(long)+", rounded "+m.rounded("up", cut), "a longer upper tube shuts off lower")
	}
	if !m.longEnough(cut) {
		return
	}
	m.cut.UpperTube = Known(cut)
	m.asCut(cut, extra)
}

// testExtra gives what the test fitting adds to the upper tube: for a device
// whose row has one, unless the tank says that it is not fitted.
func (m *maker) testExtra() unit.Length {
	if x := m.d.TestExtra; x.Given() && (!m.t.TestVariant.Given() || m.t.TestVariant.V) {
		return x.V
	}
	return 0
}

func (m *maker) plus(l unit.Length, what string) string {
	if l == 0 {
		return ""
	}
	return " + " + m.fig(l) + " " + what
}

// longEnough holds the cut against the device's least upper tube.
func (m *maker) longEnough(cut unit.Length) bool {
	least := m.d.LeastUpperTube
	switch {
	case cut < least.V-unit.Guard:
		short := least.V - cut
		cure := "a riser taller by " + m.in(short)
		if depth := m.depthOf(least.V, m.testExtra()); depth > m.k.Bottom() && depth <= m.k.Top() {
			if share, err := m.share(depth); err == nil {
				cure += "; or the tube at its least, " + m.in(least.V) + ", which shuts off at " + unit.PercentText(share, m.cut.LimitPercent.V) + " %"
			}
		}
		m.find(finding.UpperTubeTooShort, finding.Stop, m.t.RiserHeight.At, "an upper tube of "+m.in(cut), "at least "+m.in(least.V), m.sheet(), cure)
		return false
	case cut <= least.V+unit.Guard:
		m.find(finding.UpperTubeAtLeast, finding.Check, m.t.RiserHeight.At, "an upper tube of "+m.in(cut), "more than the device's least of "+m.in(least.V), "there is nothing to spare for a second cut", "measure the riser height again before cutting")
	}
	return true
}

// depthOf gives the shutoff depth of an upper tube: of the two measurements the
// one that puts it higher, so that the percentage is never told too low.
func (m *maker) depthOf(tube, extra unit.Length) unit.Length {
	riser, face, drop := m.t.RiserHeight, m.t.FaceToBottom, m.d.ShutoffDrop.V
	depth := unit.Length(math.Inf(-1))
	if riser.Given() {
		depth = m.inside + riser.V - (tube - extra) - drop
	}
	if face.Given() {
		depth = max(depth, face.V-(tube-extra)-drop)
	}
	return depth
}

// asCut follows the rounded cut back to the level and the share of the tank.
func (m *maker) asCut(cut, extra unit.Length) {
	depth := m.depthOf(cut, extra)
	m.settle(depth)
	m.cut.TubeBelowTop = Known(m.inside - depth - m.d.ShutoffDrop.V)
	if r := m.t.RiserHeight; r.Given() {
		m.cut.TubeBelowTop = Known(cut - extra - r.V)
	}
	share, limit := m.cut.ShutoffPercent.V, m.cut.LimitPercent.V
	if m.telling() {
		m.tell("planned shutoff", m.fig(depth), m.level(cut, extra), "the level that this cut gives")
	}
	if m.telling() {
		m.tell("planned share", unit.PercentText(share, limit)+" %", m.how(depth), "the curve between the chart's rows")
	}
	// A length of unit.Guard may be lost in rounding; in share that is less
	// than a billionth of the tank.
	if share > limit*(1+1e-9) {
		m.find(finding.OverLimit, finding.Stop, cell.Ref{}, unit.PercentText(share, limit)+" %", "at most "+pct(limit), "the planned cut would shut off above the limit", "look at the measurements")
	}
}

// level tells the shutoff depth of an upper tube as depthOf finds it.
func (m *maker) level(tube, extra unit.Length) string {
	riser, face, end := m.t.RiserHeight, m.t.FaceToBottom, " - "+m.fig(tube-extra)+" upper tube - "+m.fig(m.d.ShutoffDrop.V)+" shutoff drop"
	if extra != 0 {
		end = " - " + m.fig(tube-extra) + " upper tube without its test extra - " + m.fig(m.d.ShutoffDrop.V) + " shutoff drop"
	}
	top := riser.Given() && (!face.Given() || m.inside+riser.V >= face.V)
	if top {
		return m.fig(m.inside) + " inside height + " + m.fig(riser.V) + " riser height" + end
	}
	return m.fig(face.V) + " face to bottom" + end
}

// how explains the share at a depth.
func (m *maker) how(depth unit.Length) string {
	s := m.gal(m.cut.ShutoffVolume.V) + " of " + m.gal(m.cut.FullVolume.V)
	lo, hi, less, more, ok := m.k.Around(depth)
	if ok {
		s = "(" + m.volumes(less) + " + (" + m.lengths(depth) + " - " + m.lengths(lo) + ") / " + m.lengths(hi-lo) + " x (" + m.volumes(more) + " - " + m.volumes(less) + ")) / " + m.volumes(m.cut.FullVolume.V)
		if _, _, _, _, straight := m.k.Rows(depth); !straight {
			v, _ := m.k.At(depth)
			s += " on the straight line; these rows lie more than 1 in apart, and the larger one of this and of the monotone cubic through them and their neighbors serves: " + m.volumes(v) + " / " + m.volumes(m.cut.FullVolume.V)
		}
	}
	if m.slope != nil {
		s += "; as the tank lies " + unit.DecimalText(float64(m.slope.correction(depth)), 3, unit.Nearest) + " % more than level" + m.slope.taken + ", counted where it is more"
	}
	return s
}
