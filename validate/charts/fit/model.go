package fit

import (
	"math"

	"dropcut/plan/shape"
)

// The unknowns of a model. Those that a model does not have stay as they are.
const (
	shell  = iota // volume units for each square depth unit of section: scale times length
	ends          // of the second part of the volume: ends, or the slab of a wide tank
	radius        // of the section's circle
	off           // depth at the middle of the tank less the dip
	tilt          // square of the rise over the shell: the volume is smooth in it
	wall          // height of the straight part of a tall section, or of straight walls
	unknowns
)

type gradient = [unknowns]float64

// basis is the form of the second part of the volume.
type basis uint8

const (
	none basis = iota
	ellipsoid
	dish // a thin spherical cap: a paraboloid
	cone
	tori // crown 1.00, knuckle 0.06 of the diameter
	slab
)

// model is a family with values for its unknowns. Volumes are
//
//	p[shell] A(u) + p[ends] B(u), u = depth + p[off]
//
// with A the section's wetted area and B the basis; a tilted tank has the mean
// of A over the depths u-rise/2 to u+rise/2, and the mean of B at the depths
// where its two ends stand (see lag), which is 0.1 gal off at 4 in of rise.
type model struct {
	family Family
	basis  basis
	p      gradient
	tori   *table
}

// rise gives the tilt, 0 where it is too small to be told from none.
func (m *model) rise() float64 {
	q := m.p[tilt]
	if s := 1e-3 * m.size(); q > s*s {
		return math.Sqrt(q)
	}
	return 0
}

func (m *model) size() float64 {
	if m.family == Straight {
		return m.p[wall]
	}
	return 2*m.p[radius] + m.p[wall]
}

// height of the section.
func (m *model) height() float64 { return m.size() }

// at gives the volume at a depth and its derivatives by the unknowns.
func (m *model) at(h float64, g *gradient) float64 {
	t := m.rise()
	u := h + m.p[off]
	if t == 0 && m.family == Round && m.basis <= ellipsoid {
		return m.plain(u, g)
	}
	if t == 0 {
		a, au, ar, aw := m.section(u)
		b, bu, br := m.second(u)
		c1, c2 := m.p[shell], m.p[ends]
		*g = gradient{
			shell: a, ends: b, radius: c1*ar + c2*br,
			off: c1*au + c2*bu, wall: c1 * aw,
		}
		return c1*a + c2*b
	}
	*g = gradient{}
	c1 := m.p[shell]
	x, y := m.area(u+t/2), m.area(u-t/2)
	mean := (x.s - y.s) / t
	g[shell] = mean
	g[radius] = c1 * (x.sr - y.sr) / t
	g[off] = c1 * (x.v - y.v) / t
	g[wall] = c1 * (x.sw - y.sw) / t
	g[tilt] = c1 * ((x.v+y.v)/2 - mean) / t / (2 * t)
	v := c1 * mean
	switch m.basis {
	case none:
	case ellipsoid:
		v += m.tiltedEllipsoids(u, t, g)
	case slab:
		c2, top := m.p[ends], 2*m.p[radius]
		x, y := straight(u+t/2, top), straight(u-t/2, top)
		b := (x.s - y.s) / t
		g[ends] = b
		g[radius] += c2 * 2 * (x.sw - y.sw) / t
		g[off] += c2 * (x.v - y.v) / t
		g[tilt] += c2 * ((x.v+y.v)/2 - b) / t / (2 * t)
		v += c2 * b
	default:
		c2 := m.p[ends]
		lag := m.lag()
		f := 0.5 + lag
		x, xu, xr := m.second(u + t*f)
		y, yu, yr := m.second(u - t*f)
		b := (x + y) / 2
		du := (xu - yu) / 2
		g[shell] -= c2 * t * du * lag / c1
		g[ends] = b + t*du*lag
		g[radius] += c2 * (xr + yr) / 2
		g[off] += c2 * (xu + yu) / 2
		g[tilt] += c2 * du * f / (2 * t)
		v += c2 * b
	}
	return v
}

// lag is how far beyond the seam, as a share of the shell, the liquid of an end
// stands as deep as on its mean: at 3/8 of the depth of an ellipsoid, to a hair
// for the others.
func (m *model) lag() float64 {
	return 3.0 / 16 * min(max(m.headDepth()/m.p[shell], 0), 1)
}

// plain is at for the level round tank with flat or ellipsoidal ends, the model
// that nearly every step is made with.
func (m *model) plain(u float64, g *gradient) float64 {
	c1, c2, r := m.p[shell], m.p[ends], m.p[radius]
	up := 2*r - u
	if u <= 0 {
		*g = gradient{}
		return 0
	}
	if up <= 0 {
		a, b := math.Pi*r*r, 2*math.Pi/3*r*r
		v := c1*a + c2*b
		*g = gradient{shell: a, ends: b, radius: 2 * v / r}
		return v
	}
	w := math.Sqrt(u * up)
	a := 2*r*r*math.Atan(w/up) - (r-u)*w
	x := math.Pi * u / (6 * r)
	b := x * u * (3*r - u)
	v := c1*a + c2*b
	d := 2*c1*w + 3*c2*x*up
	// Of the second degree in u and r together.
	*g = gradient{shell: a, ends: b, radius: (2*v - d*u) / r, off: d}
	return v
}

// tiltedEllipsoids gives both ends of a tilted tank; see at.
func (m *model) tiltedEllipsoids(u, t float64, g *gradient) float64 {
	c1, c2, r := m.p[shell], m.p[ends], m.p[radius]
	lag := m.lag()
	f := 0.5 + lag
	sum, du, dt := 0.0, 0.0, 0.0
	for k, x := range [2]float64{u + t*f, u - t*f} {
		x = min(max(x, 0), 2*r)
		sum += x * x * (3*r - x)
		y := x * (2*r - x)
		du += y
		dt += float64(1-2*k) * y
	}
	b := math.Pi / (12 * r) * sum
	du *= math.Pi / (4 * r)
	dt *= math.Pi / (4 * r)
	g[shell] -= c2 * t * dt * lag / c1
	g[ends] = b + t*dt*lag
	// Of the second degree in u, t and r together.
	g[radius] += c2 * (2*b - du*u - dt*f*t) / r
	g[off] += c2 * du
	g[tilt] += c2 * dt * f / (2 * t)
	return c2 * b
}

// full gives the volume of the whole tank.
func (m *model) full() float64 {
	top := 2 * m.size()
	a, _, _, _ := m.section(top)
	b, _, _ := m.second(top)
	return m.p[shell]*a + m.p[ends]*b
}

// part is one term at one depth: its value, its integral over depth, and the
// derivatives of both by depth (u), radius and wall.
type part struct {
	v, u, r, w float64
	s, sr, sw  float64
}

// section gives the wetted area and its derivatives by depth, radius and wall.
func (m *model) section(u float64) (v, du, dr, dw float64) {
	r := m.p[radius]
	if m.family == Straight || m.family == Tall {
		p := m.area(u)
		return p.v, p.u, p.r, p.w
	}
	up := 2*r - u
	switch {
	case u <= 0:
		return 0, 0, 0, 0
	case up <= 0:
		return math.Pi * r * r, 0, 2 * math.Pi * r, 0
	}
	w := math.Sqrt(u * up)
	v = 2*r*r*math.Atan(w/up) - (r-u)*w
	return v, 2 * w, (2*v - 2*w*u) / r, 0
}

func (m *model) area(u float64) part {
	switch m.family {
	case Straight:
		return straight(u, m.p[wall])
	case Tall:
		return tall(u, m.p[radius], m.p[wall])
	}
	return circle(u, m.p[radius])
}

// circle gives the segment; S is of the third degree in u and r together, the
// segment of the second, from which the derivatives by r follow.
func circle(u, r float64) part {
	if u <= 0 {
		return part{}
	}
	g := 2*r - u
	if g <= 0 {
		a := math.Pi * r * r
		return part{v: a, r: 2 * math.Pi * r, s: a * (u - r), sr: math.Pi * r * (2*u - 3*r)}
	}
	w := math.Sqrt(u * g)
	th := 2 * math.Atan(w/g)
	c := r - u
	a := r*r*th - c*w
	s := w*r*r - w*w*w/3 - c*r*r*th
	return part{v: a, u: 2 * w, r: (2*a - 2*w*u) / r, s: s, sr: (3*s - u*a) / r}
}

func straight(u, h float64) part {
	if u <= 0 {
		return part{}
	}
	if u >= h {
		return part{v: h, w: 1, s: h*h/2 + h*(u-h), sw: u - h}
	}
	return part{v: u, u: 1, s: u * u / 2}
}

// tall is a half circle below, a wall of height w, a half circle above.
func tall(u, r, w float64) part {
	if u <= r {
		return circle(u, r)
	}
	half := circle(r, r)
	x := min(u-r, w)
	p := part{
		v: half.v + 2*r*x, u: 2 * r,
		s: half.s + half.v*x + r*x*x,
	}
	if u > r+w {
		y := circle(u-w, r)
		d := u - r - w
		p.v += y.v - half.v
		p.u = y.u
		p.w = 2*r - y.u
		p.s += 2*r*w*d + y.s - half.s
		// By the wall at a fixed depth: the area above it moves up by it.
		p.sw = 2*r*d - (y.v - half.v)
	}
	p.r = (2*p.v - u*p.u - w*p.w) / r
	p.sr = (3*p.s - u*p.v - w*p.sw) / r
	return p
}

// second gives the basis: both ends together for each unit of depth of theirs,
// or a slab for each unit of its width.
func (m *model) second(u float64) (v, du, dr float64) {
	r := m.p[radius]
	if m.basis == none || u <= 0 {
		return 0, 0, 0
	}
	g := 2*r - u
	switch m.basis {
	case slab:
		if g <= 0 {
			return 2 * r, 0, 2
		}
		return u, 1, 0
	case ellipsoid:
		if g <= 0 {
			return 2 * math.Pi / 3 * r * r, 0, 4 * math.Pi / 3 * r
		}
		v = math.Pi * u * u * (3*r - u) / (6 * r)
		du = math.Pi * u * g / (2 * r)
		return v, du, (2*v - u*du) / r
	case tori:
		return m.tori.at(u, r)
	}
	w, th := 0.0, math.Pi
	if g > 0 {
		w = math.Sqrt(u * g)
		th = 2 * math.Atan(w/g)
	}
	c := r - u
	if g <= 0 {
		c = -r
	}
	if m.basis == dish {
		// Integral of (4/3) w^3/r^2: sin^4 in the half angle.
		sn, cs := w/r, c/r
		v = 4.0 / 3 * r * r * (3*th/8 - sn*cs/2 + sn*cs*(1-2*sn*sn)/8)
		du = 4.0 / 3 * w * sn * sn
	} else {
		l := 0.0
		if w > 0 && c != 0 {
			l = math.Log((r + w) / math.Abs(c))
		}
		v = (r*r*th - 2*c*w + c*c*c*l/r) / 3
		du = w - c*c*l/r
	}
	if g <= 0 {
		return v, 0, 2 * v / r
	}
	return v, du, (2*v - u*du) / r
}

func (m *model) headKind() shape.HeadKind {
	switch m.basis {
	case ellipsoid:
		return shape.Ellipsoidal
	case dish:
		return shape.Cap
	case cone:
		return shape.Conical
	case tori:
		return shape.Torispherical
	}
	return shape.Flat
}

// headDepth gives the depth of both ends together, times volume units for a
// cubic depth unit.
func (m *model) headDepth() float64 {
	if m.basis == tori {
		return m.p[ends] * toriDepth * 2 * m.p[radius]
	}
	return m.p[ends]
}

func (m *model) headVol() float64 {
	b, _, _ := m.second(2 * m.p[radius])
	return m.p[ends] * b
}

// heightSeen reports whether rows up to the depth top show where the tank ends.
// Half of the bend of a round section lies above 3/4 of its height.
func (m *model) heightSeen(top float64) bool {
	h := m.height()
	if m.family == Straight {
		return top+m.p[off] > h*(1+1e-9)
	}
	return top+m.p[off] > 0.75*h
}
