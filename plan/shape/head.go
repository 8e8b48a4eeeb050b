package shape

import (
	"fmt"
	"math"
)

// HeadKind says how an end is formed.
type HeadKind uint8

const (
	// Flat is a plane end.
	Flat HeadKind = iota
	// Ellipsoidal is half an ellipsoid of revolution of the given Depth.
	Ellipsoidal
	// TwoToOne is half an ellipsoid a quarter of the diameter deep.
	TwoToOne
	// Hemispherical is half a ball.
	Hemispherical
	// Cap is a dished end without a knuckle: a spherical cap of the given
	// Depth, at most half the diameter.
	Cap
	// Torispherical is a dished end with a knuckle: Crown and Knuckle radius.
	Torispherical
	// Conical is a right cone of the given Depth.
	Conical
	// EccentricConical is a cone of the given Depth whose tip lies level with
	// the top of the shell. Lying tanks only.
	EccentricConical
)

// String gives the kind in the words of the trade.
func (k HeadKind) String() string {
	switch k {
	case Flat:
		return "flat"
	case Ellipsoidal:
		return "ellipsoidal"
	case TwoToOne:
		return "2:1 ellipsoidal"
	case Hemispherical:
		return "hemispherical"
	case Cap:
		return "dished (spherical cap)"
	case Torispherical:
		return "torispherical"
	case Conical:
		return "conical"
	case EccentricConical:
		return "conical, tip at the top"
	}
	return "unknown end"
}

// Head is one end of a tank, bulging outward. Lengths in inches.
type Head struct {
	Kind    HeadKind
	Depth   float64 // Ellipsoidal, Cap, Conical, EccentricConical
	Crown   float64 // Torispherical: inside radius of the dish
	Knuckle float64 // Torispherical: inside radius of the knuckle
}

// TorisphericalOf gives the torispherical head of a tank of a diameter whose
// crown and knuckle radius are given as shares of it: 1.00 and 0.06, or 1.00
// and 0.10.
func TorisphericalOf(diameter, crown, knuckle float64) Head {
	return Head{Kind: Torispherical, Crown: crown * diameter, Knuckle: knuckle * diameter}
}

// end is a head made ready: on a circle of radius r, a deep.
type end struct {
	kind HeadKind // Flat, Ellipsoidal, Cap, Torispherical, Conical, EccentricConical
	r, a float64
	e    float64 // how much the centre rises for each inch outward (eccentric cone)
	vol  float64
	n    int
	part [2]piece // outline of the head, from the seam outward
	dish dish     // of a cap or a torispherical crown
}

// dish is a spherical cap: a deep on a circle of radius r, of a ball of radius
// rho whose centre lies d inside the circle.
type dish struct{ r, a, rho, d float64 }

func newDish(r, a float64) dish {
	rho := (r*r + a*a) / (2 * a)
	return dish{r, a, rho, rho - a}
}

func newEnd(s Spec, h Head) (end, error) {
	r := s.Diameter / 2
	if s.Kind != Horizontal && s.Kind != Upright {
		r = s.Height / 2
		if h.Kind != Flat && (s.Kind != Elliptic || h.Kind != Ellipsoidal) {
			return end{}, fmt.Errorf("%s on a tank of %s: expected a flat end", h.Kind, s.Kind)
		}
	}
	e := end{kind: h.Kind, r: r, a: h.Depth}
	switch h.Kind {
	case Flat:
		e.a = 0
		return e, nil
	case TwoToOne:
		e.kind, e.a = Ellipsoidal, r/2
	case Hemispherical:
		e.kind, e.a = Ellipsoidal, r
	case Torispherical:
		return newTorispherical(e, h)
	case Ellipsoidal, Cap, Conical, EccentricConical:
	default:
		return end{}, fmt.Errorf("head of kind %d: not a head that is known here", h.Kind)
	}
	if err := positive("head depth", e.a); err != nil {
		return end{}, err
	}
	e.n = 1
	switch e.kind {
	case Ellipsoidal:
		e.part[0] = piece{az: e.a, ar: r, s1: math.Pi / 2}
		e.vol = 2 * math.Pi / 3 * r * r * e.a
	case Cap:
		if e.a > r {
			return end{}, fmt.Errorf("depth of %g in for a spherical cap: expected at most half the diameter, %g in", e.a, r)
		}
		e.dish = newDish(r, e.a)
		e.part[0] = e.dish.outline()
		e.vol = e.dish.vol()
	case EccentricConical:
		if s.Kind == Upright {
			return end{}, fmt.Errorf("%s on an upright tank: expected a head round its axis", h.Kind)
		}
		e.e = r / e.a
		fallthrough
	case Conical:
		e.part[0] = piece{line: true, az: e.a, r0: r, ar: -r / e.a}
		e.vol = math.Pi / 3 * r * r * e.a
	}
	return e, nil
}

// newTorispherical makes the head of a crown of radius c and a knuckle of
// radius k on a shell of radius r: the two meet where their common normal
// leaves the axis at an angle with the sine (r-k)/(c-k). Source: tangent
// circles; depths and volumes in standards for dished ends follow from it.
func newTorispherical(e end, h Head) (end, error) {
	c, k := h.Crown, h.Knuckle
	if !(k > 0 && k < e.r) || !(c >= e.r) || math.IsInf(c, 0) {
		return end{}, fmt.Errorf("crown radius of %g in and knuckle radius of %g in: expected a knuckle above 0 and below half the diameter, and a crown of at least half the diameter, %g in", c, k, e.r)
	}
	sin := (e.r - k) / (c - k)
	z := math.Sqrt((c-k)*(c-k) - (e.r-k)*(e.r-k))
	psi := math.Acos(sin)
	e.a = c - z
	joint := k * math.Sin(psi)
	e.dish = dish{r: c * sin, a: e.a - joint, rho: c, d: z + joint}
	e.n = 2
	e.part[0] = piece{az: k, r0: e.r - k, ar: k, s1: psi}
	e.part[1] = piece{z0: -z, az: c, ar: c, s0: psi, s1: math.Pi / 2}
	e.vol = e.dish.vol() + e.kneeVol(joint)
	return e, nil
}

// kneeVol gives the volume of the knuckle from the seam to z outward, a solid
// of revolution of r0 + sqrt(k^2 - z^2).
func (e *end) kneeVol(z float64) float64 {
	p := &e.part[0]
	k, r0 := p.ar, p.r0
	q := math.Sqrt(max(0, k*k-z*z))
	return math.Pi * (r0*r0*z + r0*(z*q+k*k*math.Atan2(z, q)) + k*k*z - z*z*z/3)
}

// vol gives the volume of the whole cap. Source: spherical segment,
// Machinery's Handbook 31st ed. (2020) p. 91.
func (d *dish) vol() float64 { return math.Pi * d.a * (3*d.r*d.r + d.a*d.a) / 6 }

func (d *dish) outline() piece {
	return piece{z0: -d.d, az: d.rho, ar: d.rho, s0: math.Atan2(d.d, d.r), s1: math.Pi / 2}
}

// lying gives the liquid in one head of a lying tank, h0 deep at its seam, the
// depth growing by t for each inch outward.
func (e *end) lying(h0, t float64) float64 {
	if math.Abs(t) >= 1e-9 {
		if e.kind == Ellipsoidal {
			v, _ := e.tiltedEllipsoid(h0, t)
			return v
		}
		return e.wet(e.r-h0, e.e-t)
	}
	if h0 <= 0 {
		return 0
	}
	if h0 >= 2*e.r {
		return e.vol
	}
	switch e.kind {
	case Ellipsoidal:
		// Half ellipsoid: pi a h^2 (3r - h)/(6r). Source: solid of revolution
		// cut beside its axis; Perry's "volumes of heads" gives the full one.
		return math.Pi * e.a * h0 * h0 * (3*e.r - h0) / (6 * e.r)
	case Cap:
		return e.dish.volume(h0)
	case Torispherical:
		v := e.dish.volume(h0 - e.r + e.dish.r)
		return v + e.part[0].wet(e.r-h0, 0)
	case Conical:
		return e.cone(h0)
	default:
		return e.eccentric(h0)
	}
}

// lyingArea gives the derivative of lying by h0.
func (e *end) lyingArea(h0, t float64) float64 {
	if math.Abs(t) >= 1e-9 {
		if e.kind == Ellipsoidal {
			_, a := e.tiltedEllipsoid(h0, t)
			return a
		}
		return e.surface(e.r-h0, e.e-t)
	}
	g := 2*e.r - h0
	if h0 <= 0 || g <= 0 {
		return 0
	}
	w := math.Sqrt(h0 * g)
	switch e.kind {
	case Ellipsoidal:
		return math.Pi * e.a * h0 * g / (2 * e.r)
	case Cap:
		return e.dish.area(h0)
	case Torispherical:
		return e.dish.area(h0-e.r+e.dish.r) + e.part[0].surface(e.r-h0, 0)
	case Conical:
		return coneArea(e.r, e.a, w, e.r-h0)
	default:
		return 2 * e.a * h0 * w / (3 * e.r)
	}
}

// volume gives the liquid in a lying cap, h above the lowest point of its
// circle. With y = h - r, q = sqrt(r^2 - y^2):
//
//	V = G(y) + G(r), G = (rho^2 y - y^3/3) atan2(q,d) - (2/3) d y q
//	    - d asin(y/r)(r^2 + 2 rho^2)/3 + (2/3) rho^3 atan2(y d, rho q)
//
// for 0 <= h <= 2r. Its terms cancel for thin caps and near empty; there the
// level slices are summed instead. Source: integral of circle segments of the
// ball, cut by the plane of the seam.
func (d *dish) volume(h float64) float64 {
	switch {
	case h <= 0:
		return 0
	case h >= 2*d.r:
		return d.vol()
	case h > d.r:
		return d.vol() - d.volume(2*d.r-h)
	}
	if d.a < 0.06*d.r || h < 0.02*d.r {
		return integrate(0, math.Sqrt(h), func(s float64) float64 { return 2 * s * d.area(s*s) })
	}
	y, q := h-d.r, math.Sqrt(h*(2*d.r-h))
	r2 := d.rho * d.rho
	g := (r2*y-y*y*y/3)*math.Atan2(q, d.d) - 2.0/3*d.d*y*q -
		d.d*math.Asin(max(-1, y/d.r))*(d.r*d.r+2*r2)/3 + 2.0/3*r2*d.rho*math.Atan2(y*d.d, d.rho*q)
	return g + math.Pi/2*(2*r2*d.rho-d.d*(d.r*d.r+2*r2))/3
}

// area gives the level slice of a lying cap, the segment of a circle.
func (d *dish) area(h float64) float64 {
	w2 := h * (2*d.r - h)
	if h <= 0 || w2 <= 0 {
		return 0
	}
	s := math.Sqrt(d.d*d.d + w2)
	// The segment's height s - d without its cancellation.
	a, _ := Segment(s, w2/(s+d.d))
	return a
}

// cone gives the liquid in a lying right cone:
//
//	a [r^2 al/3 - (2/3) c q + c^3/(3r) ln((r+q)/|c|)], c = r-h, al = acos(c/r), q = sqrt(r^2-c^2)
//
// for 0 <= h <= 2r; near empty its level slices are summed. Source: integral
// of hyperbola segments.
func (e *end) cone(h float64) float64 {
	if h > e.r {
		return e.vol - e.cone(2*e.r-h)
	}
	if h < 0.02*e.r {
		return integrate(0, math.Sqrt(max(h, 0)), func(s float64) float64 {
			x := s * s
			return 2 * s * coneArea(e.r, e.a, math.Sqrt(x*(2*e.r-x)), e.r-x)
		})
	}
	c, q := e.r-h, math.Sqrt(h*(2*e.r-h))
	v := e.r*e.r*2*math.Atan(math.Sqrt(h/(2*e.r-h)))/3 - 2.0/3*c*q
	if c > 0 {
		v += c * c * c / (3 * e.r) * math.Log((e.r+q)/c)
	}
	return e.a * v
}

// coneArea gives the level slice of a lying cone at the distance c from its
// axis, w half the chord of its circle there: a hyperbola segment.
func coneArea(r, a, w, c float64) float64 {
	if c == 0 {
		return a * w
	}
	x := w / math.Abs(c)
	if x < 0.1 {
		// asinh x - x sqrt(1+x^2) cancels up to the third power.
		u := x * x
		d := x * u * (2.0 / 3) * (1 - u*(3.0/10)*(1-u*(15.0/28)*(1-u*(35.0/54)*(1-u*(63.0/88)*(1-u*(99.0/130))))))
		return a * c * c / r * d
	}
	return a * (2*w - (r*w+c*c*math.Asinh(x))/r)
}

// eccentric gives the liquid in a lying cone whose tip is level with the top
// of the shell:
//
//	a r^2/3 acos(1-h/r) + a/(9r) w (2h-3r)(h+r), w = sqrt(h(2r-h))
//
// for 0 <= h <= 2r; near empty its level slices 2 a h w/(3r) are summed.
// Source: Jones, Computing Fluid Tank Volumes (Chemical Processing).
func (e *end) eccentric(h float64) float64 {
	if h < 0.1*e.r {
		return integrate(0, math.Sqrt(h), func(s float64) float64 {
			x := s * s
			return 4 * s * e.a * x * s * math.Sqrt(2*e.r-x) / (3 * e.r)
		})
	}
	g := 2*e.r - h
	return e.a*e.r*e.r/3*2*math.Atan(math.Sqrt(h/g)) + e.a/(9*e.r)*math.Sqrt(h*g)*(2*h-3*e.r)*(h+e.r)
}

// tiltedEllipsoid gives the liquid in half an ellipsoid and its derivative by
// h0. It is half a ball of radius 1 after stretching; with k = a t/r,
// K^2 = 1+k^2, delta = (h0-r)/(r K), F(s) = s - s^3/3, q = sqrt(1 - K^2 s^2),
//
//	T(s) = F(s) atan2(q, s k) - k q s^2/3 - (2/3) atan2(q, k)
//	V = r^2 a { [whole discs pi F] + T(delta) - T(-1/K) }
//
// whole discs lying in s < -1/K where k > 0 and in s > 1/K where k < 0.
// For every h0 and t. Source: integral of circle segments over slices
// parallel to the surface.
func (e *end) tiltedEllipsoid(h0, t float64) (vol, area float64) {
	k := e.a * t / e.r
	kk := math.Hypot(1, k)
	g := 1 / kk
	dl := (h0 - e.r) / (e.r * kk)
	if dl <= -1 {
		return 0, 0
	}
	if dl >= 1 {
		return e.vol, 0
	}
	f := func(s float64) float64 { return s - s*s*s/3 }
	tt := func(s float64) float64 {
		q := math.Sqrt(max(0, (1-kk*s)*(1+kk*s)))
		return f(s)*math.Atan2(q, s*k) - k*q*s*s/3 - 2.0/3*math.Atan2(q, k)
	}
	v, slice := 0.0, 0.0
	if k > 0 {
		v = math.Pi * (f(min(dl, -g)) + 2.0/3)
		if dl < -g {
			slice = math.Pi * (1 - dl*dl)
		}
	} else if dl > g {
		v = math.Pi * (f(dl) - f(g))
		slice = math.Pi * (1 - dl*dl)
	}
	if dl > -g {
		v += tt(min(dl, g)) - tt(-g)
	}
	if dl > -g && dl < g {
		q := math.Sqrt(max(0, (1-kk*dl)*(1+kk*dl)))
		slice = (1-dl*dl)*math.Atan2(q, dl*k) - dl*k*q
	}
	return e.r * e.r * e.a * v, e.r * e.a * slice / kk
}
