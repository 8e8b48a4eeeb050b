package shape

import "math"

// form is the outline of a section square to the axis of a lying tank.
type form uint8

const (
	round     form = iota // circle, or ellipse by stretching it sideways
	box                   // rectangle
	tall                  // obround with its half circles at top and bottom
	flatLying             // obround with its half circles at the sides
)

// section is a section of height h and width w. A round one is a circle of
// diameter h stretched sideways by wide (1 for a circle).
type section struct {
	form form
	h, w float64
	wide float64
}

// Segment gives the wetted area of a circle of radius r filled to height h, and
// the chord of its surface, which is the derivative of the area by h.
//
//	area = r^2 (th - sin th cos th), th = 2 atan2(sqrt h, sqrt(2r-h)), chord = 2 sqrt(h(2r-h))
//
// For all h; empty below 0 and full above 2r. The half angle is taken this way,
// and a series below 0.15, because acos(1-h/r) loses every digit near empty.
// Source: circle segment, Machinery's Handbook 31st ed. (2020) p. 79.
func Segment(r, h float64) (area, chord float64) {
	if h <= 0 {
		return 0, 0
	}
	g := 2*r - h
	if g <= 0 {
		return math.Pi * r * r, 0
	}
	w := math.Sqrt(h * g)
	th := 2 * math.Atan(math.Sqrt(h/g))
	if th < 0.15 {
		u := th * th
		return r * r * th * u * (2.0 / 3) * (1 - u/5*(1-2*u/21*(1-u/18*(1-2*u/55*(1-u/39))))), 2 * w
	}
	return r*r*th - (r-h)*w, 2 * w
}

// SegmentIntegral gives the integral of Segment's area from 0 to h:
//
//	r^3 (w - w^3/3 - u th), u = (r-h)/r, w = sqrt(h(2r-h))/r
//
// continued by 0 below 0 and by the full area above 2r, which makes
// (S(h0) - S(h0 - L t))/t the volume of a shell of length L tilted by t in
// every state of wetting. Source: antiderivative of the segment area.
func SegmentIntegral(r, h float64) float64 {
	if h <= 0 {
		return 0
	}
	g := 2*r - h
	if g <= 0 {
		return math.Pi * r * r * (h - r)
	}
	w := math.Sqrt(h*g) / r
	th := 2 * math.Atan(math.Sqrt(h/g))
	if th < 0.5 {
		// w - w^3/3 - u th = (3/4) sin th + sin(3 th)/12 - th cos th, whose
		// terms cancel up to the fifth power.
		x := th * th
		p := 16.0/120 - x*(176.0/5040-x*(1632.0/362880-x*(14752.0/39916800-x*(132848.0/6227020800-
			x*(1195728.0/1307674368000-x*(10761664.0/355687428096000-x*(96855104.0/121645100408832000)))))))
		return r * r * r * th * x * x * p
	}
	return r * r * r * (w - w*w*w/3 - (1-h/r)*th)
}

// area gives the wetted area below height h and the width of the surface.
func (s *section) area(h float64) (area, chord float64) {
	if h <= 0 {
		return 0, 0
	}
	if h >= s.h {
		return s.full(), 0
	}
	switch s.form {
	case box:
		return s.w * h, s.w
	case flatLying:
		a, c := Segment(s.h/2, h)
		return a + (s.w-s.h)*h, c + s.w - s.h
	case tall:
		r := s.w / 2
		switch {
		case h <= r:
			return Segment(r, h)
		case h <= s.h-r:
			return math.Pi*r*r/2 + s.w*(h-r), s.w
		}
		a, c := Segment(r, s.h-h)
		return s.full() - a, c
	}
	a, c := Segment(s.h/2, h)
	return s.wide * a, s.wide * c
}

// integral gives the integral of area from 0 to h, continued beyond the top
// by the full area.
func (s *section) integral(h float64) float64 {
	if h <= 0 {
		return 0
	}
	if h > s.h {
		return s.integral(s.h) + s.full()*(h-s.h)
	}
	switch s.form {
	case box:
		return s.w * h * h / 2
	case flatLying:
		return SegmentIntegral(s.h/2, h) + (s.w-s.h)*h*h/2
	case tall:
		r := s.w / 2
		if h <= r {
			return SegmentIntegral(r, h)
		}
		x := min(h, s.h-r) - r
		v := SegmentIntegral(r, r) + math.Pi*r*r/2*x + s.w*x*x/2
		if h > s.h-r {
			// Full area less the room that is left, from the top.
			v += s.full()*(h-s.h+r) - (SegmentIntegral(r, r) - SegmentIntegral(r, s.h-h))
		}
		return v
	}
	return s.wide * SegmentIntegral(s.h/2, h)
}

// full gives the area of the whole section.
func (s *section) full() float64 {
	switch s.form {
	case box:
		return s.w * s.h
	case flatLying:
		return math.Pi*s.h*s.h/4 + (s.w-s.h)*s.h
	case tall:
		return math.Pi*s.w*s.w/4 + (s.h-s.w)*s.w
	}
	return math.Pi * s.h * s.h / 4 * s.wide
}

// tiny tells a tilt for which the difference of two integrals would lose more
// than the Gauss rule does.
func (s *section) tiny(h0, h1 float64) bool { return h0-h1 < 1e-5*s.h }

// shell gives the volume in a shell of length l, h0 deep at its low seam and h1
// at its high seam, t its slope.
func (s *section) shell(h0, h1, l, t float64) float64 {
	if h0 == h1 {
		a, _ := s.area(h0)
		return l * a
	}
	if s.tiny(h0, h1) {
		return l * integrate(0, 1, func(x float64) float64 {
			a, _ := s.area(h0 + x*(h1-h0))
			return a
		})
	}
	return (s.integral(h0) - s.integral(h1)) / t
}

// surface gives the derivative of shell when both depths grow alike.
func (s *section) surface(h0, h1, l, t float64) float64 {
	a0, c := s.area(h0)
	if h0 == h1 {
		return l * c
	}
	if s.tiny(h0, h1) {
		return l * integrate(0, 1, func(x float64) float64 {
			_, c := s.area(h0 + x*(h1-h0))
			return c
		})
	}
	a1, _ := s.area(h1)
	return (a0 - a1) / t
}
