package shape

import (
	"math"
	"slices"
)

// piece is a part of a head's outline: an arc z = z0 + az sin s,
// r = r0 + ar cos s, or a straight line z = s, r = r0 + ar s to s = az. z
// counts outward from the seam, r from the axis.
type piece struct {
	line           bool
	z0, az, r0, ar float64
	s0, s1         float64
}

// at gives the place and dz/ds.
func (p *piece) at(s float64) (z, r, dz float64) {
	if p.line {
		return s, p.r0 + p.ar*s, 1
	}
	sin, cos := math.Sincos(s)
	return p.z0 + p.az*sin, p.r0 + p.ar*cos, p.az * cos
}

func (p *piece) span() (from, to float64) {
	if p.line {
		return 0, p.az
	}
	return p.s0, p.s1
}

// cuts lists the ends of the piece and, between them, where the surface meets
// its wall: where c0 + c1 z = r or -r. The surface crosses the disc at z at
// the distance c0 + c1 z below its centre.
func (p *piece) cuts(c0, c1 float64) (at [6]float64, n int) {
	s0, s1 := p.span()
	at[0] = s0
	n = 1
	add := func(s float64) {
		if s > s0 && s < s1 {
			at[n] = s
			n++
		}
	}
	for _, sg := range [2]float64{1, -1} {
		if p.line {
			add((sg*p.r0 - c0) / (c1 - sg*p.ar))
			continue
		}
		// sg ar cos s - c1 az sin s = c0 + c1 z0 - sg r0
		x, y := sg*p.ar, -c1*p.az
		hyp := math.Hypot(x, y)
		c := (c0 + c1*p.z0 - sg*p.r0) / hyp
		if math.Abs(c) > 1 {
			continue
		}
		mid, half := math.Atan2(y, x), math.Acos(c)
		add(math.Remainder(mid+half, 2*math.Pi))
		add(math.Remainder(mid-half, 2*math.Pi))
	}
	at[n] = s1
	n++
	slices.Sort(at[:n])
	return at, n
}

// over integrates f(r, c) dz over the piece, between its cuts, leaving out
// what is dry.
func (p *piece) over(c0, c1 float64, f func(r, c float64) float64) float64 {
	at, n := p.cuts(c0, c1)
	sum := 0.0
	for i := 1; i < n; i++ {
		a, b := at[i-1], at[i]
		if b <= a {
			continue
		}
		if z, r, _ := p.at((a + b) / 2); c0+c1*z >= r {
			continue
		}
		sum += integrateRoots(a, b, func(s float64) float64 {
			z, r, dz := p.at(s)
			return f(r, c0+c1*z) * dz
		})
	}
	return sum
}

// wet gives the liquid in the piece, the sum of segments of its discs.
func (p *piece) wet(c0, c1 float64) float64 {
	return p.over(c0, c1, func(r, c float64) float64 {
		a, _ := Segment(r, r-c)
		return a
	})
}

// surface gives the integral of the chords, the derivative of wet by -c0.
func (p *piece) surface(c0, c1 float64) float64 {
	return p.over(c0, c1, func(r, c float64) float64 {
		return 2 * math.Sqrt(max(0, (r-c)*(r+c)))
	})
}

func (e *end) wet(c0, c1 float64) float64 {
	v := 0.0
	for i := range e.n {
		v += e.part[i].wet(c0, c1)
	}
	return v
}

func (e *end) surface(c0, c1 float64) float64 {
	v := 0.0
	for i := range e.n {
		v += e.part[i].surface(c0, c1)
	}
	return v
}

// reach gives the greatest r + al z over the head, its seam included: how far
// it reaches toward a surface of that slope.
func (e *end) reach(al float64) float64 {
	m := e.r
	for i := range e.n {
		p := &e.part[i]
		s0, s1 := p.span()
		s := s1
		if !p.line {
			s = min(max(math.Atan2(al*p.az, p.ar), s0), s1)
		}
		z, r, _ := p.at(s)
		m = max(m, r+al*z)
	}
	return m
}

// first gives the depth at the seam of a lying tank's head at which it is just
// empty, last the one at which it is just full, where the depth grows by t for
// each inch outward.
func (e *end) first(t float64) float64 { return e.r - e.reach(t-e.e) }
func (e *end) last(t float64) float64  { return e.r + e.reach(e.e-t) }
