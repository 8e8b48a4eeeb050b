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
	lies  []lie // one, or one for each form that the ends may have
	rise  unit.Length
	low   cell.Ref // where the rise stands
	taken string   // what of its dimensions was not given, as explain says it
}

// lie is a tank as it would lie level, and as it does.
type lie struct{ level, tilted *shape.Tank }

// correction gives how much more of the capacity, in percent, the tilted tank
// holds than the level one at a depth under the fill; the most of what is possible.
func (s *slope) correction(d unit.Length) unit.Percent {
	most := math.Inf(-1)
	for _, l := range s.lies {
		most = max(most, l.tilted.Volume(float64(d))/l.tilted.Full()-l.level.Volume(float64(d))/l.level.Full())
	}
	return unit.Percent(100 * most)
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
		case Standing(m.t.Shape.V):
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
	if lies := m.lies(length); len(lies) > 0 {
		if !station.Given() {
			m.find(finding.FillStationUnknown, finding.Check, rise.At, "a rise of "+m.in(rise.V)+" without the fill station", "how far the fill stands from the nearest end", "the worst possible place was taken", "measure it and fill in Fill station")
		}
		m.slope = &slope{lies: lies, rise: rise.V, low: rise.At, taken: m.taken(length)}
		return
	}
	m.find(finding.TiltNotCounted, finding.Stop, rise.At, "a rise of "+m.in(rise.V), "the dimensions that its effect follows from", "without it nobody can say at which depth the limit is reached",
		"give shape, diameter and length of the tank")
}

// lies gives the tank as it lies. Where neither length nor ends of a round tank are
// given, the charted capacity asks for a longer shell the flatter the ends are, and
// the effect of a rise depends on both: then the outermost forms are all taken, and
// the one that shuts off lowest counts at each depth.
func (m *maker) lies(length unit.Length) []lie {
	spec, ok := m.spec(length)
	if !ok {
		return nil
	}
	specs := []shape.Spec{spec}
	if _, known := HeadOf(m.t.EndShape.V, m.inside); !known && spec.Kind == shape.Horizontal && !m.t.Length.Given() {
		for _, kind := range [...]shape.HeadKind{shape.TwoToOne, shape.Hemispherical} {
			h := shape.Head{Kind: kind}
			s := spec
			s.Low, s.High = h, h
			if s.Length = float64(m.lengthOf(h)); s.Length > float64(m.t.Rise.V) {
				specs = append(specs, s)
			}
		}
	}
	var list []lie
	for _, s := range specs {
		level, err := shape.New(s)
		if err != nil {
			continue
		}
		run := unit.Length(s.Length)
		if s.Kind == shape.Upright {
			run = length // the diameter, over which it tilts
		}
		s.Rise, s.Dip = float64(m.t.Rise.V), float64(m.lowSeam(run))
		if tilted, err := shape.New(s); err == nil {
			list = append(list, lie{level, tilted})
		}
	}
	return list
}

// taken says what a tilted tank was taken for where its dimensions do not tell. Of
// a length that is given, flat ends are the reading that shuts off lowest.
func (m *maker) taken(length unit.Length) string {
	if !m.telling() || !round(m.t.Shape.V) {
		return ""
	}
	_, ends := HeadOf(m.t.EndShape.V, m.inside)
	switch {
	case !m.t.Length.Given() && !ends:
		return ", the most for flat to hemispherical ends, with the lengths from the charted capacity, " + m.in(length) + " at most"
	case !m.t.Length.Given():
		return ", with a length of " + m.in(length) + " from the charted capacity"
	case !ends:
		return ", with flat ends, which shut off lower than others"
	}
	return ""
}

// lowSeam gives the distance of the fill from the low end. A fill whose station
// is not known stands at the high end, or in the middle where its own end is the
// low one: the worst of what is possible.
func (m *maker) lowSeam(length unit.Length) unit.Length {
	station, atFill := m.t.FillStation, m.t.LowEnd.V == FillEnd
	switch x := min(station.V, length); {
	case station.Given() && atFill:
		return x
	case station.Given():
		return length - x
	case atFill:
		return length / 2
	}
	return length
}

// tankLength gives the shell length: as given, else the one that the charted
// capacity asks for.
func (m *maker) tankLength() (unit.Length, bool) {
	if Standing(m.t.Shape.V) {
		return m.inside0(), m.inside0() > 0
	}
	if l := m.t.Length; l.Given() && l.V > 0 {
		return l.V, true
	}
	if m.k == nil || m.inside <= 0 || !round(m.t.Shape.V) {
		return 0, false
	}
	h, _ := HeadOf(m.t.EndShape.V, m.inside)
	l := m.lengthOf(h)
	return l, l > 0
}

// lengthOf gives the length of the shell that the charted capacity asks for
// between two ends of a form.
func (m *maker) lengthOf(h shape.Head) unit.Length {
	_, full := m.k.Full()
	area := math.Pi / 4 * float64(m.inside*m.inside)
	return unit.Length((float64(full)*shape.CubicInchesPerGallon - 2*headVolume(h, float64(m.inside))) / area)
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
	case Standing(word):
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
		dry := false
		for _, l := range m.slope.lies {
			below, _ := l.tilted.BelowTop(float64(c.ShutoffDepth.V))
			room = min(room, unit.Length(below))
			dry = dry || l.tilted.BottomDry(float64(c.ShutoffDepth.V))
		}
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
