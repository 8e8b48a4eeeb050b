package plan

import (
	"math"
	"strings"

	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/shape"
	"dropcut/plan/unit"
)

// slope is the tank as it lies in the ground: what its tilt does to the share at
// a depth under the fill.
type slope struct {
	level, tilted *shape.Tank
	rise          unit.Length
	low           cell.Ref // where the rise stands
}

// correction gives how much more of the capacity, in percent, the tilted tank
// holds than the level one at a depth under the fill.
func (s *slope) correction(d unit.Length) unit.Percent {
	return unit.Percent(100 * (s.tilted.Volume(float64(d))/s.tilted.Full() - s.level.Volume(float64(d))/s.level.Full()))
}

// central is how near the middle of the tank, as a share of its length, a fill
// stands that no tilt matters to: at 5 % off the middle an inch of rise moves
// the level by 0.05 in. Common practice, no source.
const central = 0.05

// tilt prepares the slope of the tank. Where the rise is not given, it says what
// that means and leaves the tank level.
func (m *maker) tilt() {
	rise, station := m.t.Rise, m.t.FillStation
	length, known := m.tankLength()
	if station.Given() && known && station.V > length {
		m.find(finding.FillStationOutside, finding.Check, station.At, "the fill stands "+m.in(station.V)+" from the end", "at most the length of the tank, "+m.in(length), "no fill can stand there", "correct the fill station or the length")
	}
	m.offMiddle = 0.5 // at the end: what is not known is taken at its worst
	if station.Given() && known && length > 0 {
		m.offMiddle = min(math.Abs(0.5-float64(station.V/length)), 0.5)
	}
	if !rise.Given() {
		switch {
		case standing(m.t.Shape.V):
			m.offMiddle = 0
		case station.Given() && m.offMiddle > central:
			m.find(finding.TiltUnknown, finding.Check, station.At, "the fill stands away from the middle and the rise is not given", "the rise of the tank from end to end",
				"in a tank that rises by 1 in the level at this fill is off by "+m.in(unit.Length(m.offMiddle)), "measure the rise with two sticks at two openings; the worst case counts with 1 in either way")
		case !station.Given():
			m.find(finding.TiltUnknown, finding.Note, cell.Ref{}, "neither rise nor fill station", "the rise of the tank from end to end, and where the fill stands",
				"the worst case counts with a rise of 1 in either way and a fill at the end", "fill in Rise and Fill station to have it counted as it is")
		}
		return
	}
	if rise.V == 0 {
		return
	}
	if !known || rise.V < 0 || rise.V >= length {
		m.find(finding.TiltNotCounted, finding.Stop, rise.At, "a rise of "+m.in(rise.V), "a rise from 0 to below the length of the tank, and the dimensions that its effect follows from",
			"without it nobody can say at which depth the limit is reached", "give the diameter and length of the tank, or correct the rise")
		return
	}
	if m.t.LowEnd.V == EndUnknown {
		m.find(finding.LowEndUnknown, finding.Check, rise.At, "a rise of "+m.in(rise.V)+" without the low end", "which end is low",
			"the fill was taken to stand at the high end, which shuts off lower", "write fill or other into the Low end column")
	}
	spec, ok := m.spec(length)
	if ok {
		level, err := shape.New(spec)
		if err == nil {
			spec.Rise, spec.Dip = float64(rise.V), float64(m.lowSeam(length))
			var tilted *shape.Tank
			if tilted, err = shape.New(spec); err == nil {
				m.slope = &slope{level: level, tilted: tilted, rise: rise.V, low: rise.At}
				return
			}
		}
	}
	m.find(finding.TiltNotCounted, finding.Stop, rise.At, "a rise of "+m.in(rise.V), "the dimensions that its effect follows from", "without it nobody can say at which depth the limit is reached",
		"give shape, diameter and length of the tank")
}

// lowSeam gives the distance of the fill from the low end. A fill whose station
// is not known stands at the high end, or in the middle where its own end is the
// low one: the worst of what is possible.
func (m *maker) lowSeam(length unit.Length) unit.Length {
	if station := m.t.FillStation; station.Given() {
		x := min(station.V, length)
		if m.t.LowEnd.V == FillEnd {
			return x
		}
		return length - x
	}
	m.find(finding.FillStationUnknown, finding.Check, m.t.Rise.At, "a rise of "+m.in(m.t.Rise.V)+" without the fill station", "how far the fill stands from the nearest end", "the worst possible place was taken", "measure it and fill in Fill station")
	if m.t.LowEnd.V == FillEnd {
		return length / 2
	}
	return length
}

// tankLength gives the shell length: as given, else the one that the charted
// capacity asks for.
func (m *maker) tankLength() (unit.Length, bool) {
	if standing(m.t.Shape.V) {
		return m.inside0(), m.inside0() > 0
	}
	if l := m.t.Length; l.Given() && l.V > 0 {
		return l.V, true
	}
	if m.k == nil || m.inside <= 0 || !round(m.t.Shape.V) {
		return 0, false
	}
	_, full := m.k.Full()
	area := math.Pi / 4 * float64(m.inside*m.inside)
	head := 0.0
	if h, ok := HeadOf(m.t.EndShape.V, m.inside); ok {
		head = headVolume(h, float64(m.inside))
	}
	l := (float64(full)*shape.CubicInchesPerGallon - 2*head) / area
	return unit.Length(l), l > 0
}

// inside0 gives the diameter over which an upright tank's tilt is measured.
func (m *maker) inside0() unit.Length {
	if d := m.t.Diameter; d.Given() {
		return d.V
	}
	return 0
}

// spec gives the level tank's dimensions.
func (m *maker) spec(length unit.Length) (shape.Spec, bool) {
	d := float64(m.inside)
	s := shape.Spec{Kind: shape.Horizontal, Diameter: d, Height: d, Width: float64(m.t.Width.V), Length: float64(length)}
	switch word := unit.Fold(m.t.Shape.V); {
	case standing(word):
		s.Kind, s.Diameter, s.Length = shape.Upright, float64(m.inside0()), d
	case strings.Contains(word, "rect") || strings.Contains(word, "box"):
		s.Kind = shape.Box
		if s.Width == 0 {
			s.Width = d // no share depends on it
		}
	case strings.Contains(word, "obround"):
		s.Kind = shape.Obround
	case strings.Contains(word, "ellip") || strings.Contains(word, "oval"):
		s.Kind = shape.Elliptic
	case !round(word):
		return s, false
	default:
		if h, ok := HeadOf(m.t.EndShape.V, m.inside); ok {
			s.Low, s.High = h, h
		}
	}
	return s, d > 0
}

func standing(word string) bool {
	word = unit.Fold(word)
	return strings.Contains(word, "vertical") || strings.Contains(word, "upright") || strings.Contains(word, "standing")
}

// round reports whether the words name a lying cylinder, which is what a tank is
// taken for whose shape is not given.
func round(word string) bool {
	word = unit.Fold(word)
	if word == "" || strings.Contains(word, "cyl") || strings.Contains(word, "round") && !strings.Contains(word, "obround") || strings.Contains(word, "lying") || strings.Contains(word, "horizontal") {
		return !standing(word)
	}
	return strings.Contains(word, "ground") // "aboveground", "underground"
}

// HeadOf reads the words for the end of a round tank of an inside diameter. ok
// is false where they name no end whose depth follows from the diameter.
func HeadOf(words string, diameter unit.Length) (h shape.Head, ok bool) {
	w := unit.Fold(words)
	has := func(list ...string) bool {
		for _, x := range list {
			if strings.Contains(w, x) {
				return true
			}
		}
		return false
	}
	d := float64(diameter)
	switch {
	case has("hemi", "half ball", "half sphere"):
		return shape.Head{Kind: shape.Hemispherical}, true
	case has("2:1", "2 1", "2/1", "ellip"):
		return shape.Head{Kind: shape.TwoToOne}, true
	case has("10 %", "10%", "klopper", "kloepper"):
		return shape.TorisphericalOf(d, 1, 0.10), true
	case has("tori", "f&d", "flanged and dished", "6 %", "6%"):
		return shape.TorisphericalOf(d, 1, 0.06), true
	case has("flat"):
		return shape.Head{Kind: shape.Flat}, true
	}
	return h, false
}

// headVolume gives the volume of a whole head in cubic inches: the half of a
// tank of two such heads and next to no shell.
func headVolume(h shape.Head, d float64) float64 {
	const shell = 1e-6
	t, err := shape.New(shape.Spec{Kind: shape.Horizontal, Diameter: d, Length: shell, Low: h, High: h})
	if err != nil {
		return 0
	}
	return (t.Full() - math.Pi/4*d*d*shell) / 2
}

// share gives the percentage of the capacity at a depth under the fill: by the
// chart as it stands and in the tank as it lies, the larger of the two.
func (m *maker) share(d unit.Length) (unit.Percent, error) {
	v, err := m.k.At(d)
	if err != nil {
		return 0, err
	}
	p := unit.Percent(100 * float64(v) / float64(m.cut.FullVolume.V))
	if m.slope != nil {
		p = max(p, p+m.slope.correction(d))
	}
	return p, nil
}

// tiltedDepth gives the depth under the fill at which the tank as it lies holds
// its limit: the lowest one, to a ten-millionth of an inch.
func (m *maker) tiltedDepth(limit unit.Percent) (unit.Length, bool) {
	over := func(d unit.Length) bool {
		v, err := m.k.At(d)
		return err != nil || unit.Percent(100*float64(v)/float64(m.cut.FullVolume.V))+m.slope.correction(d) > limit
	}
	lo, hi := m.k.Bottom(), m.k.Top()
	if over(lo) {
		return 0, false
	}
	if !over(hi) {
		return hi, true
	}
	for hi-lo > 1e-7 {
		mid := lo + (hi-lo)/2
		if mid <= lo || mid >= hi {
			break
		}
		if over(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return lo, true
}

// lowEnd looks at the liquid at the low end once the shutoff is settled: how far
// it stays below the top, where fittings are.
func (m *maker) lowEnd() {
	c := &m.cut
	if !c.ShutoffDepth.Known {
		return
	}
	room := m.inside - c.ShutoffDepth.V
	if m.slope != nil {
		below, _ := m.slope.tilted.BelowTop(float64(c.ShutoffDepth.V))
		room = min(room, unit.Length(below))
		dry := m.slope.tilted.BottomDry(float64(c.ShutoffDepth.V))
		if room <= 0 || dry {
			what := "the liquid at shutoff touches the top of the tank at its low end"
			if dry {
				what = "the bottom is dry at the high end at shutoff"
			}
			m.find(finding.ExtremeTilt, finding.Check, m.slope.low, "a rise of "+m.in(m.slope.rise)+": "+what, "a tank whose ends are both partly filled", "no level-tank chart or formula holds in such a tank", "have the tank leveled, or calibrated as it lies")
		}
	}
	c.LowEndRoom = Known(room)
}
