package fit

import (
	"math"

	"dropcut/plan/shape"
)

// toriDepth is the depth of a torispherical end of crown 1.00 and knuckle 0.06
// as a share of the diameter: f - sqrt((f-k)^2 - (1/2-k)^2).
const toriDepth = 0.16933761371191988

// table holds a torispherical end of diameter 1 (crown 1.00, knuckle 0.06) by
// its half angle, volume and surface, so that a fit need not integrate. It
// is smooth in the angle: between the knots a cubic holds 1e-6 of the end.
type table struct {
	v, u [tableN + 1]float64
	dv   [tableN + 1]float64 // of v, from knot to knot
}

const tableN = 96

func newTable() *table {
	t := new(table)
	s := shape.Spec{Kind: shape.Horizontal, Diameter: 1, Length: 1, Low: shape.TorisphericalOf(1, 1, 0.06)}
	with, err := shape.New(s)
	if err != nil {
		return t // cannot be: the dimensions stand above
	}
	for i := range t.v {
		h := (1 - math.Cos(math.Pi*float64(i)/tableN)) / 2
		a, c := shape.Segment(0.5, h)
		t.v[i] = with.Volume(h) - a
		t.u[i] = with.Area(h) - c
	}
	t.u[0], t.u[tableN] = 0, 0
	for i := range t.u {
		// The derivative by the angle is the surface times sin/2.
		t.dv[i] = t.u[i] * math.Sin(math.Pi*float64(i)/tableN) * math.Pi / tableN / 2
	}
	return t
}

// at gives the end scaled to radius r: of the third degree in u and r.
func (t *table) at(u, r float64) (v, du, dr float64) {
	d := 2 * r
	d2 := d * d
	if u >= d {
		v = t.v[tableN]
		return v * d2 * d, 0, 6 * v * d2
	}
	g := d - u
	th := 2 * math.Atan(math.Sqrt(u/g)) * (tableN / math.Pi)
	i := min(int(th), tableN-1)
	x := th - float64(i)
	a, b := t.dv[i], t.dv[i+1]
	y := 1 - x
	v = y*y*(1+2*x)*t.v[i] + x*y*y*a + x*x*(3-2*x)*t.v[i+1] - x*x*y*b
	v *= d2 * d
	du = (y*t.u[i] + x*t.u[i+1]) * d2
	return v, du, (3*v - u*du) / r
}
