package shape

import "math"

// The shell of an upright tank is cut by a tilted surface as a lying one is,
// with height and width changing places: where the surface stands x above the
// shell's bottom at the low side, the part of the bottom's disc under it is a
// segment of height x/t, and the volume t times the segment's integral.

// uprightVolume is Volume of an upright tank. Level: the bottom head from its
// tip, the shell, the top head less what is left of it. Tilted: discs square to
// the axis, each a segment. Source: solids of revolution; Jones, Computing
// Fluid Tank Volumes (Chemical Processing), for the level heads.
func (t *Tank) uprightVolume(depth float64) float64 {
	r := t.sec.h / 2
	if t.level() {
		x := depth - t.low.a
		if x <= 0 {
			return t.low.standing(depth)
		}
		v := t.low.vol + math.Pi*r*r*min(x, t.length)
		if x > t.length {
			v += t.high.vol - t.high.standing(t.height-depth)
		}
		return v
	}
	x := t.onAxis(depth)
	low := x + r*t.t
	v := t.t * (SegmentIntegral(r, low/t.t) - SegmentIntegral(r, (low-t.length)/t.t))
	if t.low.kind != Flat {
		v += t.low.wet(-x/t.t, -1/t.t)
	}
	if t.high.kind != Flat {
		v += t.high.wet((t.length-x)/t.t, 1/t.t)
	}
	return min(max(v, 0), t.full)
}

// uprightArea is Area of an upright tank.
func (t *Tank) uprightArea(depth float64) float64 {
	r := t.sec.h / 2
	if t.level() {
		x := depth - t.low.a
		switch {
		case x <= 0 && t.low.a > 0:
			return t.low.disc(-x)
		case x > t.length && t.high.a > 0:
			return t.high.disc(x - t.length)
		}
		return math.Pi * r * r
	}
	x := t.onAxis(depth)
	low := x + r*t.t
	a, _ := Segment(r, low/t.t)
	b, _ := Segment(r, (low-t.length)/t.t)
	v := a - b
	if t.low.kind != Flat {
		v += t.low.surface(-x/t.t, -1/t.t) / t.t
	}
	if t.high.kind != Flat {
		v += t.high.surface((t.length-x)/t.t, 1/t.t) / t.t
	}
	return v
}

// onAxis gives the height of the surface above the bottom's seam on the axis.
func (t *Tank) onAxis(depth float64) float64 {
	return depth - t.low.a + (t.spec.Dip-t.sec.h/2)*t.t
}

func (t *Tank) uprightSpan() (lo, hi float64) {
	at := t.low.a + (t.sec.h/2-t.spec.Dip)*t.t
	return at - t.t*t.low.reach(1/t.t), at + t.length + t.t*t.high.reach(1/t.t)
}

// standing gives the liquid in a head that stands on its tip, h deep:
//
//	ellipsoid pi r^2 h^2 (1 - h/(3a))/a, cap pi h^2 (rho - h/3), cone pi r^2 h^3/(3 a^2)
//
// and for a torispherical head its crown, then the knuckle as a solid of
// revolution. For 0 <= h <= a.
func (e *end) standing(h float64) float64 {
	if h <= 0 {
		return 0
	}
	if h >= e.a {
		return e.vol
	}
	switch e.kind {
	case Ellipsoidal:
		return math.Pi * e.r * e.r * h * h * (1 - h/(3*e.a)) / e.a
	case Conical:
		return math.Pi / 3 * e.r * e.r * h * h * h / (e.a * e.a)
	case Torispherical:
		if h > e.dish.a {
			return e.vol - e.kneeVol(e.a-h)
		}
	}
	return math.Pi * h * h * (e.dish.rho - h/3)
}

// disc gives the area of the head's disc at the distance z from its seam.
func (e *end) disc(z float64) float64 {
	r := 0.0
	switch {
	case e.kind == Conical:
		r = e.r * (1 - z/e.a)
	case e.kind == Torispherical && z < e.a-e.dish.a:
		p := &e.part[0]
		r = p.r0 + math.Sqrt(max(0, p.ar*p.ar-z*z))
	default:
		p := &e.part[e.n-1]
		x := (z - p.z0) / p.az
		r = p.ar * math.Sqrt(max(0, 1-x*x))
	}
	return math.Pi * r * r
}
