// Package shape computes the volume of liquid in a partly filled tank from its
// dimensions, level or tilted, and the depth at which a volume is reached.
//
// Numbers are plain float64: lengths in inches, areas in square inches, volumes
// in cubic inches. The formulas are pure geometry, so any other length serves
// as well as long as the volumes are understood as its cube. One US gallon is
// [CubicInchesPerGallon] cubic inches.
//
// # Frame
//
// The axis of a lying tank runs from the seam (the joint of shell and end) at
// its low end, station 0, to the seam at its high end, station Length. The
// depth at a station is measured square to the axis from the inside bottom
// line. A tilted tank rises by Rise over its Length, so the depth falls by
// Rise/Length for each inch of station. An upright tank's shell runs from the
// seam of its bottom to the seam of its top; its tilt is taken over its
// diameter and its dip station from its low side.
//
// A depth names the level of the liquid by where its surface, or the surface
// carried on beyond the walls, crosses the dip station. In a tilted tank it
// may be below 0 or above Height while there is liquid in the low end or room
// in the high end; [Tank.Depth] then says so with an error.
//
// # Precision
//
// Closed forms are used where there is one, Gauss-Legendre quadrature split at
// every kink elsewhere. Both hold 1e-9 of capacity with a wide margin.
package shape

import (
	"errors"
	"fmt"
	"math"
)

// CubicInchesPerGallon is the US gallon, exact by definition (NIST Handbook 44,
// Appendix C).
const CubicInchesPerGallon = 231.0

// Kind says how the shell of a tank is built.
type Kind uint8

const (
	// Horizontal is a lying cylinder of circular section: Diameter, Length.
	Horizontal Kind = iota + 1
	// Upright is a standing cylinder: Diameter, and Length for the height of
	// its shell. Low is its bottom head, High its top head, both bulging
	// outward.
	Upright
	// Box is a rectangular tank: Height, Width, Length. It has flat ends.
	Box
	// Obround is a lying tank whose section is two half circles joined by
	// straight sides: Height, Width, Length. The half circles are at top and
	// bottom where Height is the greater, at the sides where Width is. It has
	// flat ends.
	Obround
	// Elliptic is a lying tank of elliptical section: Height, Width, Length.
	// Its ends are flat, or half ellipsoids of a given depth.
	Elliptic
)

// String gives the kind in words.
func (k Kind) String() string {
	switch k {
	case Horizontal:
		return "horizontal cylinder"
	case Upright:
		return "upright cylinder"
	case Box:
		return "rectangular"
	case Obround:
		return "obround"
	case Elliptic:
		return "elliptical section"
	}
	return "unknown shape"
}

// Spec gives a tank's inside dimensions in inches. Which of them a tank needs
// stands with its Kind; the others are not looked at.
type Spec struct {
	Kind     Kind
	Diameter float64
	Height   float64
	Width    float64
	// Length is the shell from seam to seam along its axis, heads not counted.
	Length float64

	// Low and High are the heads at station 0 and at station Length (of an
	// upright tank: bottom and top). The zero Head is flat.
	Low, High Head

	// Rise is how much higher the high end lies than the low end, measured
	// over Length (of an upright tank: over its diameter). 0 is level.
	Rise float64
	// Dip is the station at which depths are read, from the low seam (of an
	// upright tank: from its low side). A level tank does not need it.
	Dip float64
}

// Tank is a tank whose dimensions have been checked and prepared. It is not
// changed after New and may be shared.
type Tank struct {
	spec      Spec
	sec       section
	length    float64
	t         float64 // slope: rise over run
	low, high end
	full      float64
	lo, hi    float64 // depths at which the volume leaves 0 and reaches full
	height    float64
}

// Errors of [Tank.Depth].
var (
	// ErrVolume: the volume is no volume of this tank.
	ErrVolume = errors.New("volume outside the tank")
	// ErrBelowDip: the liquid has left the bottom at the dip station; the
	// depth returned with it is below 0.
	ErrBelowDip = errors.New("bottom dry at the dip station")
	// ErrAboveDip: the liquid has reached the top at the dip station; the
	// depth returned with it is above the tank's height.
	ErrAboveDip = errors.New("top wetted at the dip station")
)

// New checks a tank's dimensions and prepares it. Its error says which
// dimension cannot be and what was expected.
func New(s Spec) (*Tank, error) {
	t := &Tank{spec: s, length: s.Length}
	if err := positive("length", s.Length); err != nil {
		return nil, err
	}
	run := s.Length
	switch s.Kind {
	case Horizontal, Upright:
		if err := positive("diameter", s.Diameter); err != nil {
			return nil, err
		}
		t.sec = section{form: round, h: s.Diameter, w: s.Diameter, wide: 1}
		if s.Kind == Upright {
			run = s.Diameter
		}
	case Box, Obround, Elliptic:
		if err := errors.Join(positive("height", s.Height), positive("width", s.Width)); err != nil {
			return nil, err
		}
		t.sec = section{form: box, h: s.Height, w: s.Width, wide: 1}
		switch {
		case s.Kind == Elliptic:
			t.sec.form, t.sec.wide = round, s.Width/s.Height
		case s.Kind == Obround && s.Height >= s.Width:
			t.sec.form = tall
		case s.Kind == Obround:
			t.sec.form = flatLying
		}
	default:
		return nil, fmt.Errorf("shape of kind %d: expected a horizontal or upright cylinder, a rectangular, obround or elliptical tank", s.Kind)
	}
	if math.IsNaN(s.Rise) || s.Rise < 0 || s.Rise >= run {
		return nil, fmt.Errorf("rise of %g in over %g in: expected 0 or more and less than the length it is measured over; give the ends the other way round for a negative one", s.Rise, run)
	}
	t.t = s.Rise / run
	if t.t > 0 && !(s.Dip >= 0 && s.Dip <= run) {
		return nil, fmt.Errorf("dip station of %g in on a tilted tank: expected 0 to %g in from the low end", s.Dip, run)
	}
	var err error
	if t.low, err = newEnd(s, s.Low); err != nil {
		return nil, fmt.Errorf("low end: %w", err)
	}
	if t.high, err = newEnd(s, s.High); err != nil {
		return nil, fmt.Errorf("high end: %w", err)
	}
	t.full = t.sec.full()*t.length + t.sec.wide*(t.low.vol+t.high.vol)
	if math.IsInf(t.full, 0) || t.full == 0 {
		return nil, fmt.Errorf("dimensions beyond what can be computed: a volume of %g cubic inches", t.full)
	}
	t.height = t.sec.h
	if s.Kind == Upright {
		t.height = t.length + t.low.a + t.high.a
	}
	t.lo, t.hi = t.span()
	return t, nil
}

func positive(name string, v float64) error {
	if v > 0 && !math.IsInf(v, 0) {
		return nil
	}
	return fmt.Errorf("%s of %g in: expected a positive length", name, v)
}

// Spec gives the dimensions the tank was made from.
func (t *Tank) Spec() Spec { return t.spec }

// Full gives the volume of the whole tank in cubic inches.
func (t *Tank) Full() float64 { return t.full }

// Height gives the inside height at the dip station, square to the axis, in
// inches: the diameter of a lying cylinder; of an upright tank the shell and
// both heads.
func (t *Tank) Height() float64 { return t.height }

// Span gives the depths at the dip station, in inches, at which the tank is
// just empty and just full. Level: 0 and Height. Tilted: the first is at most
// 0 and the second at least Height unless the dip is at the very end.
func (t *Tank) Span() (empty, full float64) { return t.lo, t.hi }

// Volume gives the volume of liquid in cubic inches when the depth at the dip
// station is depth inches. It is 0 below the empty depth and Full above the
// full depth of Span; NaN gives NaN.
func (t *Tank) Volume(depth float64) float64 {
	switch {
	case depth >= t.hi:
		return t.full
	case depth <= t.lo:
		return 0
	case t.spec.Kind == Upright:
		return t.uprightVolume(depth)
	}
	h0, h1 := t.AtEnds(depth)
	v := t.sec.shell(h0, h1, t.length, t.t)
	if t.low.kind != Flat {
		v += t.sec.wide * t.low.lying(h0, t.t)
	}
	if t.high.kind != Flat {
		v += t.sec.wide * t.high.lying(h1, -t.t)
	}
	return min(max(v, 0), t.full)
}

// Area gives the derivative of Volume by depth in square inches: the surface of
// the liquid as seen square to the axis (of an upright tank: along it).
func (t *Tank) Area(depth float64) float64 {
	switch {
	case depth >= t.hi || depth <= t.lo:
		return 0
	case t.spec.Kind == Upright:
		return t.uprightArea(depth)
	}
	h0, h1 := t.AtEnds(depth)
	v := t.sec.surface(h0, h1, t.length, t.t)
	if t.low.kind != Flat {
		v += t.sec.wide * t.low.lyingArea(h0, t.t)
	}
	if t.high.kind != Flat {
		v += t.sec.wide * t.high.lyingArea(h1, -t.t)
	}
	return v
}

// run is the length the rise is measured over.
func (t *Tank) run() float64 {
	if t.spec.Kind == Upright {
		return t.sec.h
	}
	return t.length
}

// level reports whether the tilt is too small to tell from none: a surface
// that moves by less than 1e-9 of the run changes no volume by 1e-9.
func (t *Tank) level() bool { return t.t < 1e-9 }

// span computes what Span gives. Each part of the tank is convex, so the first
// liquid stands where the surface first touches a part: at a head's tangent
// point, its joint or its tip.
func (t *Tank) span() (lo, hi float64) {
	if t.level() {
		return 0, t.height
	}
	if t.spec.Kind == Upright {
		return t.uprightSpan()
	}
	s := t.t
	at, rise := t.spec.Dip*s, t.length*s
	return min(t.low.first(s), t.high.first(-s)+rise) - at,
		max(t.low.last(s), t.high.last(-s)+rise) - at
}
