package shape

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
)

// columns is the independent way to the volume of a tank of revolution: it
// sums, over cylinders round the axis, the length of the columns parallel to
// the axis that are under liquid. The package sums level slices or discs square
// to the axis instead. The angle is integrated in closed form, the radius by
// an adaptive Gauss-Kronrod rule.
func columns(s Spec, depth float64) float64 {
	r := s.Diameter / 2
	run := s.Length
	if s.Kind == Upright {
		run = s.Diameter
	}
	t := s.Rise / run
	f := func(rho float64) float64 {
		zl, zh := bulge(s.Low, r, rho), bulge(s.High, r, rho)
		whole := s.Length + zl + zh
		switch {
		case s.Kind == Upright:
			axis := depth - bulge(s.Low, r, 0) + (s.Dip-r)*t
			return rho * (clipped(axis, rho*t, -zl, s.Length+zh) + 2*math.Pi*zl)
		case t == 0:
			return rho * whole * arc(r-depth, rho)
		}
		h0 := depth + s.Dip*t
		return rho * (clipped((h0-r)/t, rho/t, -zl, s.Length+zh) + 2*math.Pi*zl)
	}
	full := math.Pi * r * r * (s.Length + r)
	cuts := []float64{0, r}
	for _, h := range []Head{s.Low, s.High} {
		if h.Kind == Torispherical {
			cuts = append(cuts, (r-h.Knuckle)*h.Crown/(h.Crown-h.Knuckle))
		}
	}
	// Where the surface leaves a seam or a tip; between them it leaves a head.
	add := func(c float64) {
		if c = math.Abs(c); c < r {
			cuts = append(cuts, c)
		}
	}
	tl, th := bulge(s.Low, r, 0), bulge(s.High, r, 0)
	for _, x := range []float64{0, -tl, s.Length, s.Length + th} {
		switch {
		case s.Kind != Upright:
			add(depth + (s.Dip-x)*t - r)
		case t > 0:
			add((depth - tl + (s.Dip-r)*t - x) / t)
		}
	}
	if s.Kind == Upright {
		// The edges of the wetted part of a head, about where the surface
		// leaves it on either side.
		axis := depth - tl + (s.Dip-r)*t
		for _, out := range []float64{axis - s.Length - t*r, axis - s.Length + t*r} {
			add(radiusAt(s.High, r, out))
		}
		for _, out := range []float64{-axis - t*r, -axis + t*r} {
			add(radiusAt(s.Low, r, out))
		}
	}
	sortFloats(cuts)
	v := 0.0
	for i := 1; i < len(cuts); i++ {
		v += adapt(f, cuts[i-1], cuts[i], 1e-11*full, 40)
	}
	return v
}

// radiusAt inverts bulge by halving.
func radiusAt(h Head, r, out float64) float64 {
	lo, hi := 0.0, r
	for range 60 {
		if m := (lo + hi) / 2; bulge(h, r, m) > out {
			lo = m
		} else {
			hi = m
		}
	}
	return lo
}

func sortFloats(x []float64) {
	for i := range x {
		for j := i; j > 0 && x[j] < x[j-1]; j-- {
			x[j], x[j-1] = x[j-1], x[j]
		}
	}
}

// bulge gives how far a head reaches out at the distance rho from the axis.
func bulge(h Head, r, rho float64) float64 {
	a := h.Depth
	switch h.Kind {
	case TwoToOne:
		a = r / 2
	case Hemispherical:
		a = r
	}
	switch h.Kind {
	case Ellipsoidal, TwoToOne, Hemispherical:
		return a * math.Sqrt(max(0, 1-rho*rho/(r*r)))
	case Cap:
		ball := (r*r + a*a) / (2 * a)
		return math.Sqrt(max(0, ball*ball-rho*rho)) - (ball - a)
	case Conical:
		return a * (1 - rho/r)
	case Torispherical:
		c, k := h.Crown, h.Knuckle
		back := math.Sqrt((c-k)*(c-k) - (r-k)*(r-k))
		if joint := (r - k) * c / (c - k); rho < joint {
			return math.Sqrt(c*c-rho*rho) - back
		}
		return math.Sqrt(max(0, k*k-(rho-r+k)*(rho-r+k)))
	}
	return 0
}

// arc gives the angle of the circle of radius rho below a surface c under its
// centre.
func arc(c, rho float64) float64 {
	return 2 * math.Acos(min(1, max(-1, c/rho)))
}

// clipped gives the integral over a whole turn of min(max(m + s cos ph, lo), hi).
func clipped(m, s, lo, hi float64) float64 {
	// Above lo by the sum of what is above lo less what is above hi.
	above := func(q float64) float64 { // integral of max(m - q + s cos ph, 0)
		d := m - q
		switch {
		case d >= s:
			return 2 * math.Pi * d
		case d <= -s:
			return 0
		}
		p := math.Acos(-d / s)
		return 2 * (d*p + s*math.Sin(p))
	}
	return 2*math.Pi*lo + above(lo) - above(hi)
}

// Nodes and weights of the Gauss-Kronrod pair 7, 15 (QUADPACK, public domain).
var (
	kx = [8]float64{0.991455371120812639206854697526329, 0.949107912342758524526189684047851, 0.864864423359769072789712788640926, 0.741531185599394439863864773280788, 0.586087235467691130294144691693013, 0.405845151377397166906606412076961, 0.207784955007898467600689403773245, 0}
	kw = [8]float64{0.022935322010529224963732008058970, 0.063092092629978553290700663189204, 0.104790010322250183839876322541518, 0.140653259715525918745189590510238, 0.169004726639267902826583426598550, 0.190350578064785409913256402421014, 0.204432940075298892414161999234649, 0.209482141084727828012999174891714}
	kg = [4]float64{0.129484966168869693270611432679082, 0.279705391489276667901467771423780, 0.381830050505118944950369775488975, 0.417959183673469387755102040816327}
)

func adapt(f func(float64) float64, a, b, tol float64, deep int) float64 {
	v, d := kronrod(f, a, b)
	return refine(f, a, b, v, d, tol, deep)
}

// refine halves until the pair agrees, and the whole with its halves: a kink
// can fool either test alone. The first four halvings are made in any case.
func refine(f func(float64) float64, a, b, v, d, tol float64, deep int) float64 {
	m := (a + b) / 2
	v1, d1 := kronrod(f, a, m)
	v2, d2 := kronrod(f, m, b)
	if deep == 0 || deep <= 36 && d <= tol && math.Abs(v1+v2-v) <= tol/10 {
		return v1 + v2
	}
	return refine(f, a, m, v1, d1, tol, deep-1) + refine(f, m, b, v2, d2, tol, deep-1)
}

// kronrod gives the integral by the 15-point rule and its distance from the
// 7-point one.
func kronrod(f func(float64) float64, a, b float64) (v, diff float64) {
	m, r := (a+b)/2, (b-a)/2
	k, g := 0.0, 0.0
	for i := range kx {
		v := f(m + r*kx[i])
		if i < 7 {
			v += f(m - r*kx[i])
		}
		k += kw[i] * v
		if i%2 == 1 {
			g += kg[i/2] * v
		}
	}
	return k * r, math.Abs(k-g) * r
}

var headKinds = []HeadKind{Flat, Ellipsoidal, TwoToOne, Hemispherical, Cap, Torispherical, Conical}

func randomHead(g *rand.Rand, d float64) Head {
	k := headKinds[g.IntN(len(headKinds))]
	h := Head{Kind: k}
	switch k {
	case Ellipsoidal, Conical:
		h.Depth = d * (0.01 + 0.6*g.Float64())
	case Cap:
		h.Depth = d * (0.01 + 0.48*g.Float64())
	case Torispherical:
		return TorisphericalOf(d, 0.6+0.8*g.Float64(), 0.02+0.3*g.Float64())
	}
	return h
}

func randomTank(g *rand.Rand, k Kind) Spec {
	d := 30 + 120*g.Float64()
	s := Spec{Kind: k, Diameter: d, Length: d * (0.3 + 5*g.Float64())}
	s.Low, s.High = randomHead(g, d), randomHead(g, d)
	if g.IntN(2) == 0 {
		run := s.Length
		if k == Upright {
			run = d
		}
		// From a hair to a tilt at which both ends are extreme.
		s.Rise = run * math.Pow(10, -4+3.7*g.Float64())
		s.Dip = run * g.Float64()
	}
	return s
}

// Brute force: 10,000 random tanks, half of them tilted, each at a random depth,
// against the sum over columns.
func TestAgainstColumns(t *testing.T) {
	g := rand.New(rand.NewPCG(1, 2))
	n := 10000
	if testing.Short() {
		n = 1500
	}
	worst := 0.0
	for i := range n {
		k := Horizontal
		if i%4 == 3 {
			k = Upright
		}
		s := randomTank(g, k)
		tk, err := New(s)
		if err != nil {
			t.Fatalf("%+v: %v", s, err)
		}
		lo, hi := tk.Span()
		h := lo + (hi-lo)*g.Float64()
		got, want := tk.Volume(h), columns(s, h)
		e := math.Abs(got-want) / tk.Full()
		worst = max(worst, e)
		// 1e-9 of capacity is the promise: a hundred-thousandth of a gallon
		// in 10,000.
		if !(e <= 1e-9) {
			t.Errorf("%+v at %.17g: %.12g, columns %.12g: off by %.2g of capacity", s, h, got, want, e)
		}
	}
	t.Logf("worst %.2g of capacity over %d tanks", worst, n)
}

// The sections that are not round, level and tilted, against columns along the
// tank: chord times wetted length, summed over the height.
func TestSectionsAgainstColumns(t *testing.T) {
	g := rand.New(rand.NewPCG(3, 4))
	worst := 0.0
	for range 3000 {
		s := Spec{Kind: []Kind{Box, Obround, Elliptic}[g.IntN(3)], Height: 20 + 80*g.Float64(), Width: 20 + 80*g.Float64(), Length: 30 + 300*g.Float64()}
		if g.IntN(2) == 0 {
			s.Rise, s.Dip = s.Length*math.Pow(10, -4+3.7*g.Float64()), s.Length*g.Float64()
		}
		tk, err := New(s)
		if err != nil {
			t.Fatal(err)
		}
		lo, hi := tk.Span()
		h := lo + (hi-lo)*g.Float64()
		sl := s.Rise / s.Length
		h0 := h + s.Dip*sl
		length := func(y float64) float64 {
			if sl == 0 {
				if y < h {
					return s.Length
				}
				return 0
			}
			return min(max((h0-y)/sl, 0), s.Length)
		}
		width := func(y float64) float64 {
			r := min(s.Height, s.Width) / 2
			switch {
			case s.Kind == Box:
				return s.Width
			case s.Kind == Elliptic:
				return s.Width * math.Sqrt(max(0, 1-math.Pow(2*y/s.Height-1, 2)))
			case s.Width > s.Height:
				return s.Width - s.Height + 2*math.Sqrt(max(0, r*r-(y-r)*(y-r)))
			}
			d := max(r-y, y-(s.Height-r), 0)
			return 2 * math.Sqrt(max(0, r*r-d*d))
		}
		cuts := []float64{0, s.Height}
		for _, c := range []float64{h0, h0 - s.Rise, s.Width / 2, s.Height - s.Width/2} {
			if c > 0 && c < s.Height {
				cuts = append(cuts, c)
			}
		}
		sortFloats(cuts)
		want := 0.0
		for i := 1; i < len(cuts); i++ {
			want += adapt(func(y float64) float64 { return width(y) * length(y) }, cuts[i-1], cuts[i], 1e-12*tk.Full(), 40)
		}
		e := math.Abs(tk.Volume(h)-want) / tk.Full()
		worst = max(worst, e)
		if !(e <= 1e-9) {
			t.Errorf("%+v at %g: off by %.2g of capacity", s, h, e)
		}
	}
	t.Logf("worst %.2g of capacity", worst)
}

// An eccentric cone against columns: at the point (x, y) of its circle it
// reaches out a (r^2 - x^2 - y^2)/(2r(r - y)).
func TestEccentricConeAgainstColumns(t *testing.T) {
	g := rand.New(rand.NewPCG(5, 6))
	for i := range 60 {
		r, a := 20+40*g.Float64(), 5+60*g.Float64()
		s := Spec{Kind: Horizontal, Diameter: 2 * r, Length: 100, Low: Head{Kind: EccentricConical, Depth: a}}
		if i%2 == 1 {
			s.Rise, s.Dip = 40*g.Float64(), 50
		}
		tk, err := New(s)
		if err != nil {
			t.Fatal(err)
		}
		flat, _ := New(Spec{Kind: Horizontal, Diameter: 2 * r, Length: 100, Rise: s.Rise, Dip: s.Dip})
		h := 2 * r * g.Float64()
		sl := s.Rise / 100
		h0 := h + 50*sl - r
		want := adapt(func(y float64) float64 {
			w := math.Sqrt(r*r - y*y)
			return adapt(func(x float64) float64 {
				z := a * (r*r - x*x - y*y) / (2 * r * (r - y))
				switch {
				case sl > 0:
					return 2 * (z - min(max((y-h0)/sl, 0), z))
				case y < h0:
					return 2 * z
				}
				return 0
			}, 0, w, 1e-9*r*r, 38)
		}, -r, r, 1e-8*r*r*a, 38)
		if e := math.Abs(tk.Volume(h)-flat.Volume(h)-want) / tk.Full(); !(e < 1e-7) { // what the nested rule is asked for
			t.Errorf("%+v at %g: off by %.2g of capacity", s, h, e)
		}
	}
}

// There and back at every sixteenth of an inch of the stick, to 1e-9 in.
func TestThereAndBack(t *testing.T) {
	g := rand.New(rand.NewPCG(7, 8))
	worst, n := 0.0, 0
	for i := range 80 {
		var s Spec
		switch i % 8 {
		case 0:
			s = Spec{Kind: Box, Height: 40 + 20*g.Float64(), Width: 60, Length: 120, Rise: float64(i%3) * 2, Dip: 60}
		case 1:
			s = Spec{Kind: Obround, Height: 44, Width: 27 + 40*g.Float64(), Length: 60, Rise: float64(i%3) * 2, Dip: 20}
		case 2:
			s = Spec{Kind: Elliptic, Height: 60, Width: 90, Length: 200, Low: Head{Kind: Ellipsoidal, Depth: 9}}
		case 3:
			s = randomTank(g, Upright)
		default:
			s = randomTank(g, Horizontal)
		}
		tk, err := New(s)
		if err != nil {
			t.Fatal(err)
		}
		step := 1.0 / 16
		if s.Rise > 0 && (s.Low.Kind == Torispherical || s.High.Kind == Torispherical) {
			step = 11.0 / 16 // the same promise on fewer depths: it is the slow shape
		}
		lo, hi := tk.Span()
		for h := math.Ceil(max(lo, 0)/step) * step; h < min(hi, tk.Height()); h += step {
			if h-lo < step || hi-h < step {
				continue
			}
			// Where the surface is very small the volume holds fewer digits
			// than the depth: its last bits are more than 1e-9 in.
			if 8*0x1p-53*tk.Full() > 1e-9*tk.Area(h) {
				continue
			}
			back, err := tk.Depth(tk.Volume(h))
			if err != nil {
				t.Fatalf("%+v at %g: %v", s, h, err)
			}
			worst = max(worst, math.Abs(back-h))
			n++
			if !(math.Abs(back-h) <= 1e-9) {
				t.Errorf("%+v: depth %g came back as %.12g", s, h, back)
			}
		}
	}
	t.Logf("worst %.2g in over %d depths", worst, n)
}

// Area is the slope of Volume. The step of the difference is 1e-4 in, so that
// 1e-6 of the mean surface is what the difference itself can hold.
func TestAreaIsSlope(t *testing.T) {
	g := rand.New(rand.NewPCG(9, 10))
	for i := range 4000 {
		s := randomTank(g, []Kind{Horizontal, Horizontal, Upright}[i%3])
		tk, err := New(s)
		if err != nil {
			t.Fatal(err)
		}
		lo, hi := tk.Span()
		h := lo + (hi-lo)*(0.02+0.96*g.Float64())
		const d = 1e-4
		want := (tk.Volume(h+d) - tk.Volume(h-d)) / (2 * d)
		mean := tk.Full() / (hi - lo)
		if got := tk.Area(h); !(math.Abs(got-want) < 2e-4*mean) {
			t.Errorf("%+v at %g: area %g, slope %g", s, h, got, want)
		}
	}
}

// A tilted tank ends where its level twin ends: the volume never falls with
// depth, and at the ends of its span it is 0 and full.
func TestSpanAndRise(t *testing.T) {
	g := rand.New(rand.NewPCG(11, 12))
	for i := range 600 {
		s := randomTank(g, []Kind{Horizontal, Horizontal, Upright}[i%3])
		if i%5 == 0 {
			s.Low, s.High = Head{Kind: Flat}, Head{Kind: Flat}
		}
		tk, err := New(s)
		if err != nil {
			t.Fatal(err)
		}
		lo, hi := tk.Span()
		d := (hi - lo) * 1e-4
		// The volume leaves 0 with at least the second power of depth.
		if v := tk.Volume(lo + d); !(v > 0 && v < 1e-3*tk.Full()) {
			t.Errorf("%+v: %g of capacity just above the empty depth", s, v/tk.Full())
		}
		if v := tk.Volume(hi - d); !(v < tk.Full() && v > (1-1e-3)*tk.Full()) {
			t.Errorf("%+v: %g of capacity just below the full depth", s, v/tk.Full())
		}
		last := 0.0
		for j := range 200 {
			v := tk.Volume(lo + (hi-lo)*float64(j)/199)
			if v < last-1e-13*tk.Full() {
				t.Fatalf("%+v: the volume falls at %g", s, lo+(hi-lo)*float64(j)/199)
			}
			last = v
		}
	}
}

// Near empty the half angle keeps its digits: against the first terms of the
// segment's series in h, (4/3) sqrt(2r) h^1.5 (1 - 3h/(20r) - 3h^2/(224 r^2)).
func TestSegmentNearEmpty(t *testing.T) {
	for _, h := range []float64{1e-12, 1e-9, 1e-6, 1e-4} {
		want := 4.0 / 3 * math.Sqrt2 * math.Pow(h, 1.5) * (1 - 3*h/20 - 3*h*h/224)
		if got, _ := Segment(1, h); !(math.Abs(got/want-1) < 1e-14) {
			t.Errorf("segment at %g: off by %g of itself", h, got/want-1)
		}
		want = 8.0 / 15 * math.Sqrt2 * math.Pow(h, 2.5) * (1 - 3.0/28*h - 15.0/2016*h*h)
		if got := SegmentIntegral(1, h); !(math.Abs(got/want-1) < 1e-14) {
			t.Errorf("segment integral at %g: off by %g of itself", h, got/want-1)
		}
	}
	// The series and the closed form meet.
	for _, th := range []float64{0.15, 0.5} {
		h := 1 - math.Cos(th)
		for _, f := range []func(float64) float64{
			func(h float64) float64 { a, _ := Segment(1, h); return a },
			func(h float64) float64 { return SegmentIntegral(1, h) },
		} {
			a, b := f(h*(1-1e-13)), f(h*(1+1e-13))
			if !(math.Abs(a/b-1) < 1e-11) {
				t.Errorf("half angle %g: %g beside %g", th, a, b)
			}
		}
	}
}

func TestGaussTable(t *testing.T) {
	x, w := make([]float64, 24), make([]float64, 24)
	quad.Legendre{}.FixedLocations(x, w, -1, 1)
	for i, n := range gauss {
		if !(math.Abs(math.Abs(x[12+i])-n[0]) < 2e-16 && math.Abs(w[12+i]-n[1]) < 2e-16) {
			t.Errorf("node %d: %v, gonum %v %v", i, n, x[12+i], w[12+i])
		}
	}
}

func TestRefused(t *testing.T) {
	ok := Spec{Kind: Horizontal, Diameter: 96, Length: 300}
	for name, f := range map[string]func(*Spec){
		"no kind":            func(s *Spec) { s.Kind = 0 },
		"no diameter":        func(s *Spec) { s.Diameter = 0 },
		"negative length":    func(s *Spec) { s.Length = -1 },
		"NaN length":         func(s *Spec) { s.Length = math.NaN() },
		"infinite diameter":  func(s *Spec) { s.Diameter = math.Inf(1) },
		"overflow":           func(s *Spec) { s.Diameter, s.Length = 1e200, 1e200 },
		"negative rise":      func(s *Spec) { s.Rise = -1 },
		"rise beyond length": func(s *Spec) { s.Rise = 300 },
		"dip beyond the end": func(s *Spec) { s.Rise, s.Dip = 1, 301 },
		"dip NaN":            func(s *Spec) { s.Rise, s.Dip = 1, math.NaN() },
		"head without depth": func(s *Spec) { s.Low.Kind = Ellipsoidal },
		"cap beyond a ball":  func(s *Spec) { s.High = Head{Kind: Cap, Depth: 49} },
		"knuckle too large":  func(s *Spec) { s.High = TorisphericalOf(96, 1, 0.5) },
		"crown too small":    func(s *Spec) { s.High = TorisphericalOf(96, 0.4, 0.06) },
		"unknown head":       func(s *Spec) { s.Low.Kind = 99 },
		"upright eccentric":  func(s *Spec) { s.Kind, s.Low = Upright, Head{Kind: EccentricConical, Depth: 10} },
		"head on a box":      func(s *Spec) { *s = Spec{Kind: Box, Height: 4, Width: 4, Length: 4, Low: Head{Kind: TwoToOne}} },
		"box without width":  func(s *Spec) { *s = Spec{Kind: Box, Height: 4, Length: 4} },
		"ball end on an ellipse": func(s *Spec) {
			*s = Spec{Kind: Elliptic, Height: 4, Width: 5, Length: 4, Low: Head{Kind: Hemispherical}}
		},
	} {
		s := ok
		f(&s)
		if _, err := New(s); err == nil {
			t.Errorf("%s: taken", name)
		}
	}
}

func TestDepthErrors(t *testing.T) {
	tk, err := New(Spec{Kind: Horizontal, Diameter: 96, Length: 319.1388, Rise: 6, Dip: 301})
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range []float64{-1, tk.Full() * 1.01, math.NaN(), math.Inf(1)} {
		if h, err := tk.Depth(v); !errors.Is(err, ErrVolume) || !math.IsNaN(h) {
			t.Errorf("volume %g: %g, %v", v, h, err)
		}
	}
	if h, err := tk.Depth(1e-4 * tk.Full()); !errors.Is(err, ErrBelowDip) || !(h < 0) {
		t.Errorf("little in the low end: %g, %v", h, err)
	}
	tk, _ = New(Spec{Kind: Horizontal, Diameter: 96, Length: 319.1388, Rise: 6, Dip: 18})
	if h, err := tk.Depth((1 - 1e-4) * tk.Full()); !errors.Is(err, ErrAboveDip) || !(h > 96) {
		t.Errorf("little room in the high end: %g, %v", h, err)
	}
	if v := tk.Volume(math.NaN()); !math.IsNaN(v) {
		t.Errorf("volume at NaN: %g", v)
	}
}
