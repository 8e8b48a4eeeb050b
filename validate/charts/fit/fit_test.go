package fit

import (
	"encoding/csv"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"dropcut/plan/shape"
)

const perGallon = 1.0 / shape.CubicInchesPerGallon

func both(s shape.Spec, h shape.Head) shape.Spec {
	s.Low, s.High = h, h
	return s
}

func rowsOf(t *testing.T, file string) []map[string]string {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.FieldsPerRecord = -1
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, x := range row {
			m[rows[0][i]] = x
		}
		out = append(out, m)
	}
	return out
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// The charts of the worked examples were computed outside this project, in
// another language; testdata/worked_examples.csv gives the dimensions.
func TestWorkedCharts(t *testing.T) {
	d, v := map[string][]float64{}, map[string][]float64{}
	for _, r := range rowsOf(t, "testdata/worked_charts.csv") {
		k := r["example"]
		d[k], v[k] = append(d[k], number(t, r["depth"])), append(v[k], number(t, r["volume"]))
	}
	seen := 0
	ws := new(Workspace)
	for _, e := range rowsOf(t, "testdata/worked_examples.csv") {
		k := e["example"]
		if len(d[k]) < 30 {
			continue
		}
		h := Hint{PerCubic: perGallon}
		if e["depth_unit"] == "cm" {
			h.PerCubic = 1e-3 // a litre is 1,000 cubic centimetres
		}
		r := Do(ws, d[k], v[k], h)
		seen++
		if !r.Recognised {
			t.Errorf("%s (%s): not recognised: %+v", k, e["what"], r)
			continue
		}
		last := v[k][len(v[k])-1]
		high := number(t, e["inside_diameter"])
		unit := number(t, e["volume_rounding"])
		step := number(t, e["chart_step"])
		if e["shape"] != "horizontal" {
			if r.Family != Straight {
				t.Errorf("%s (%s): taken for a %s", k, e["what"], r.Family)
			}
			continue
		}
		// Typical errors (1.48 x median) of a sound chart at 1 gal and 1 in
		// are 0.002 in and 0.3 gal; coarse steps have fewer rows. Ten times
		// that covers the ends that are fitted by another form.
		tol := 0.02 * max(1, unit) * math.Sqrt(max(1, step)) * max(1, high/96)
		if e["heads"] != "flat" && e["heads"] != "ell2" {
			tol *= 5
		}
		if r.Family != Round || !(math.Abs(r.Height-high) < tol) {
			t.Errorf("%s (%s): %s, height %.4f, expected %g +- %.3f", k, e["what"], r.Family, r.Height, high, tol)
		}
		if !(math.Abs(r.Capacity-last) < 3*unit) {
			t.Errorf("%s (%s): capacity %.2f, the chart ends at %g", k, e["what"], r.Capacity, last)
		}
		if e["heads"] == "flat" && !(math.Abs(r.Length-number(t, e["shell_length"])) < 0.2*max(1, unit)*math.Sqrt(step)) {
			t.Errorf("%s (%s): length %.3f, expected %s", k, e["what"], r.Length, e["shell_length"])
		}
	}
	if seen < 10 {
		t.Errorf("only %d charts were fitted", seen)
	}
}

// Charts to a tenth of a gallon at every half inch: figures and forms.
func TestKnownTanks(t *testing.T) {
	lying := shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320}
	tilted := lying
	tilted.Rise, tilted.Dip = 10, 20
	mid := both(lying, shape.TorisphericalOf(96, 1, 0.06))
	mid.Rise, mid.Dip = 3, 160
	for _, c := range []struct {
		name   string
		s      shape.Spec
		family Family
		head   shape.HeadKind
		width  float64
		off    float64
	}{
		{"flat", lying, Round, shape.Flat, 0, 0},
		{"2:1", both(lying, shape.Head{Kind: shape.TwoToOne}), Round, shape.Ellipsoidal, 0, 0},
		{"one hemispherical", shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320, Low: shape.Head{Kind: shape.Hemispherical}}, Round, shape.Ellipsoidal, 0, 0},
		{"nearly a ball", both(shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 10}, shape.Head{Kind: shape.Hemispherical}), Round, shape.Ellipsoidal, 0, 0},
		{"shallow dish", both(lying, shape.Head{Kind: shape.Cap, Depth: 5}), Round, shape.Cap, 0, 0},
		{"cone", both(lying, shape.Head{Kind: shape.Conical, Depth: 18}), Round, shape.Conical, 0, 0},
		{"torispherical", both(lying, shape.TorisphericalOf(96, 1, 0.06)), Round, shape.Torispherical, 0, 0},
		{"tilted", tilted, Round, shape.Flat, 0, (20.0 - 160) * 10 / 320},
		{"tilted torispherical, dip in the middle", mid, Round, shape.Torispherical, 0, 0},
		{"upright", shape.Spec{Kind: shape.Upright, Diameter: 96, Length: 120}, Straight, shape.Flat, 0, 0},
		{"box, sloped", shape.Spec{Kind: shape.Box, Height: 60, Width: 60, Length: 120, Rise: 3, Dip: 20}, Straight, shape.Flat, 0, -1},
		{"tall obround", shape.Spec{Kind: shape.Obround, Height: 60, Width: 50, Length: 120}, Tall, shape.Flat, 50, 0},
		{"wide obround", shape.Spec{Kind: shape.Obround, Height: 48, Width: 96, Length: 120}, Wide, shape.Flat, 96, 0},
		{"nearly round obround", shape.Spec{Kind: shape.Obround, Height: 60, Width: 66, Length: 120}, Wide, shape.Flat, 66, 0},
	} {
		d, v := made(c.s, 0.5, 0.1)
		r := Do(nil, d, v, Hint{PerCubic: perGallon})
		if !r.Recognised || r.Family != c.family || r.Head != c.head {
			t.Errorf("%s: recognised %v as %s with %s ends (share %.2g)", c.name, r.Recognised, r.Family, r.Head, r.Share)
			continue
		}
		// Typical errors of a chart to 0.1 gal: 0.0005 in of height, 0.016 in
		// of length, 0.007 in of rise; the tall and wide ones, with fewer
		// gallons to the inch, about five times that.
		if !(math.Abs(r.Offset-c.off) < 0.02) {
			t.Errorf("%s: offset %.4f, expected %g", c.name, r.Offset, c.off)
		}
		if !(math.Abs(r.Rise-c.s.Rise) < 0.05) {
			t.Errorf("%s: rise %.4f, expected %g", c.name, r.Rise, c.s.Rise)
		}
		if c.family == Straight {
			continue
		}
		if high := max(c.s.Diameter, c.s.Height); !(math.Abs(r.Height-high) < 0.02) {
			t.Errorf("%s: height %.4f, expected %g", c.name, r.Height, high)
		}
		if !(math.Abs(r.Length-c.s.Length) < 0.3) {
			t.Errorf("%s: length %.4f, expected %g", c.name, r.Length, c.s.Length)
		}
		if !(math.Abs(r.Width-c.width) < 0.15) {
			t.Errorf("%s: width %.4f, expected %g", c.name, r.Width, c.width)
		}
		tk, _ := shape.New(c.s)
		if full := tk.Full() * perGallon; !(math.Abs(r.Capacity/full-1) < 1e-4) {
			t.Errorf("%s: capacity %.3f, expected %.3f", c.name, r.Capacity, full)
		}
	}
}

// Charts as they come: rows far out, stopped early, run past full, filled in
// straight between inches, in another unit from the middle on. The height has
// to hold to the tolerances given; where a third of the chart is missing or
// wrong it comes from the bend of what is left.
func TestSpoiledCharts(t *testing.T) {
	g := rand.New(rand.NewPCG(21, 22))
	ws := new(Workspace)
	for _, c := range []struct {
		name  string
		spoil func(d, v []float64) ([]float64, []float64)
		tol   float64
	}{
		{"sound", func(d, v []float64) ([]float64, []float64) { return d, v }, 0.05},
		{"one row in twelve wild", func(d, v []float64) ([]float64, []float64) {
			for i := range v {
				if g.Float64() < 1.0/12 {
					v[i] *= math.Pow(10, 2*g.Float64()-1)
				}
			}
			return d, v
		}, 0.1},
		{"wild depths", func(d, v []float64) ([]float64, []float64) {
			d[5], d[len(d)/2] = 46022, 0.25
			return d, v
		}, 0.05},
		{"stops at 80 %", func(d, v []float64) ([]float64, []float64) {
			n := len(d) * 4 / 5
			return d[:n], v[:n]
		}, 0.5},
		{"ten rows past full", func(d, v []float64) ([]float64, []float64) {
			top := d[len(d)-1]
			for i := range 10 {
				d, v = append(d, top+float64(i+1)*0.5), append(v, v[len(v)-1])
			}
			return d, v
		}, 0.1},
		{"litres from 60 % on", func(d, v []float64) ([]float64, []float64) {
			for i := len(v) * 3 / 5; i < len(v); i++ {
				v[i] *= 3.785411784
			}
			return d, v
		}, 2.5},
		{"a block shifted by a row", func(d, v []float64) ([]float64, []float64) {
			copy(v[40:70], v[41:71])
			return d, v
		}, 0.15},
		{"straight between inches", func(d, v []float64) ([]float64, []float64) {
			for i := 1; i+1 < len(v); i += 2 {
				v[i] = math.Round((v[i-1] + v[i+1]) / 2)
			}
			return d, v
		}, 0.1},
	} {
		for i := range 12 {
			high := []float64{64, 84, 96, 120}[i%4]
			s := shape.Spec{Kind: shape.Horizontal, Diameter: high, Length: high * (2 + 3*g.Float64())}
			switch i % 3 {
			case 1:
				s = both(s, shape.Head{Kind: shape.TwoToOne})
			case 2:
				s = both(s, shape.Head{Kind: shape.Hemispherical})
			}
			d, v := made(s, 0.5, 1)
			d, v = c.spoil(d, v)
			r := Do(ws, d, v, Hint{PerCubic: perGallon})
			if !r.Recognised || r.Family != Round || !(math.Abs(r.Height-high) < c.tol) || !r.HeightSeen {
				t.Errorf("%s, %+v: recognised %v, %s, height %.3f (seen %v), share %.2g, within %.2f", c.name, s, r.Recognised, r.Family, r.Height, r.HeightSeen, r.Share, r.Within)
			}
		}
	}
}

// Units do not matter: a chart in centimetres and litres gives the same tank.
func TestOtherUnits(t *testing.T) {
	d, v := made(both(shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320}, shape.Head{Kind: shape.TwoToOne}), 1, 1)
	a := Do(nil, d, v, Hint{PerCubic: perGallon})
	for i := range d {
		d[i] *= 2.54
		v[i] *= 3.785411784
	}
	b := Do(nil, d, v, Hint{PerCubic: 1e-3})
	// Only the roundings that the search looks at differ: within the fit's own
	// precision.
	if !(math.Abs(b.Height/2.54-a.Height) < 2e-3 && math.Abs(b.Length/2.54-a.Length) < 0.1 && math.Abs(b.Capacity/3.785411784-a.Capacity) < 0.2) {
		t.Errorf("inches %+v, centimetres %+v", a, b)
	}
	if c := Do(nil, d, v, Hint{}); c.Length != 0 || !(math.Abs(c.Height-b.Height) < 1e-9) {
		t.Errorf("without the scale: %+v", c)
	}
}

// What is no tank is not recognised.
func TestNoTank(t *testing.T) {
	g := rand.New(rand.NewPCG(31, 32))
	for name, f := range map[string]func(h float64) float64{
		"valley":     func(h float64) float64 { return 4 * h * h * h },
		"lake":       func(h float64) float64 { return 50 * math.Pow(h, 2.3) },
		"bowl":       func(h float64) float64 { return 300 * math.Pow(h, 1.5) },
		"walk":       func(float64) float64 { return 5000 * g.Float64() },
		"falling":    func(h float64) float64 { return 9000 - 90*h },
		"all nought": func(float64) float64 { return 0 },
		"all alike":  func(float64) float64 { return 777 },
		"negative":   func(h float64) float64 { return -h * h },
	} {
		var d, v []float64
		for h := 0.0; h < 100; h++ {
			d, v = append(d, h), append(v, math.Round(f(h)))
		}
		if r := Do(nil, d, v, Hint{PerCubic: perGallon}); r.Recognised {
			t.Errorf("%s: recognised as %s, height %.1f, share %.2g", name, r.Family, r.Height, r.Share)
		}
	}
	if r := Do(nil, []float64{1, 2, 3}, []float64{1, 2, 3}, Hint{}); r.Family != Unknown || r.Recognised {
		t.Errorf("three rows: %+v", r)
	}
	nan := math.NaN()
	d, v := made(shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320}, 1, 1)
	d[3], v[4], v[5] = nan, nan, math.Inf(1)
	r := Do(nil, d, v, Hint{PerCubic: perGallon})
	if !r.Recognised || r.Rows != len(d)-3 {
		t.Errorf("with three rows that cannot be read: %+v", r)
	}
	res := make([]float64, len(d))
	r.Residuals(res, d, v)
	for i, x := range res {
		if (i >= 3 && i <= 4) != math.IsNaN(x) {
			t.Errorf("residual %d: %g", i, x)
		}
	}
}

// A good residual is never above 0.55 of the rounding when the family is right.
func TestResidualsWithinRounding(t *testing.T) {
	for _, s := range []shape.Spec{
		{Kind: shape.Horizontal, Diameter: 96, Length: 320},
		both(shape.Spec{Kind: shape.Horizontal, Diameter: 120, Length: 408}, shape.Head{Kind: shape.TwoToOne}),
	} {
		d, v := made(s, 1, 1)
		r := Do(nil, d, v, Hint{PerCubic: perGallon})
		res := make([]float64, len(d))
		r.Residuals(res, d, v)
		for i, x := range res {
			if !(math.Abs(x) < 0.65) { // 0.55, and room for the sample that the search uses
				t.Errorf("%+v: residual %.3f at %g", s, x, d[i])
			}
			if got := v[i] - r.Volume(d[i]); got != x {
				t.Errorf("residual %g, volume %g", x, got)
			}
		}
		// gallons for an inch at mid height: chord by length.
		tk, _ := shape.New(s)
		if h := s.Diameter / 2; !(math.Abs(r.Slope(h)/(tk.Area(h)*perGallon)-1) < 1e-3) {
			t.Errorf("slope %.3f, expected %.3f", r.Slope(h), tk.Area(h)*perGallon)
		}
	}
}

// The analytic derivatives against differences, every family, level and tilted.
func TestDerivatives(t *testing.T) {
	tb := newTable()
	for _, m := range []model{
		{family: Round, basis: none, p: gradient{shell: 1.4, radius: 48, off: 0.3}},
		{family: Round, basis: ellipsoid, p: gradient{shell: 1.4, ends: 0.2, radius: 48, off: 0.3}},
		{family: Round, basis: dish, p: gradient{shell: 1.4, ends: 0.2, radius: 48, off: 0.3}},
		{family: Round, basis: cone, p: gradient{shell: 1.4, ends: 0.2, radius: 48, off: 0.3}},
		{family: Round, basis: tori, p: gradient{shell: 1.4, ends: 0.01, radius: 48, off: 0.3}},
		{family: Wide, basis: slab, p: gradient{shell: 1.4, ends: 30, radius: 48, off: 0.3}},
		{family: Tall, p: gradient{shell: 1.4, radius: 30, off: 0.3, wall: 20}},
		{family: Straight, p: gradient{shell: 1.4, off: 0.3, wall: 70}},
	} {
		m.tori = tb
		for _, rise := range []float64{0, 3, 12} {
			m.p[tilt] = rise * rise
			act, n := m.active()
			for h := -3.0; h < 110; h += 1.37 {
				var g, x gradient
				m.at(h, &g)
				for _, k := range act[:n] {
					a, b := m, m
					e := 1e-5 * max(math.Abs(m.p[k]), 1)
					a.p[k] -= e
					b.p[k] += e
					want := (b.at(h, &x) - a.at(h, &x)) / (2 * e)
					// The table's surface is a line between knots, the
					// lag of the ends' places by their depth is left out:
					// a thousandth of the whole is enough for a step.
					tol := 1e-3 * m.full() / max(math.Abs(m.p[k]), 1)
					if !(math.Abs(g[k]-want) < tol) {
						t.Errorf("%s, basis %d, rise %g, depth %g: derivative %d is %g, difference %g", m.family, m.basis, rise, h, k, g[k], want)
					}
				}
			}
		}
	}
}

// The model's volumes against the exact ones of plan/shape.
func TestModelAgainstShape(t *testing.T) {
	tb := newTable()
	lying := shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320}
	for _, c := range []struct {
		name string
		m    model
		s    shape.Spec
		tol  float64 // share of capacity
	}{
		{"flat", model{family: Round, p: gradient{shell: 320, radius: 48}}, lying, 1e-12},
		{"ellipsoid", model{family: Round, basis: ellipsoid, p: gradient{shell: 320, ends: 48, radius: 48}}, both(lying, shape.Head{Kind: shape.TwoToOne}), 1e-12},
		{"cone", model{family: Round, basis: cone, p: gradient{shell: 320, ends: 40, radius: 48}}, both(lying, shape.Head{Kind: shape.Conical, Depth: 20}), 1e-12},
		// A paraboloid is 0.03 of an end away from a dish of 1/16 of the radius.
		{"dish", model{family: Round, basis: dish, p: gradient{shell: 320, ends: 6, radius: 48}}, both(lying, shape.Head{Kind: shape.Cap, Depth: 3}), 1e-4},
		{"torispherical", model{family: Round, basis: tori, p: gradient{shell: 320, ends: 2, radius: 48}}, both(lying, shape.TorisphericalOf(96, 1, 0.06)), 1e-6},
		{"tall", model{family: Tall, p: gradient{shell: 60, radius: 13.5, wall: 17}}, shape.Spec{Kind: shape.Obround, Height: 44, Width: 27, Length: 60}, 1e-12},
		{"wide", model{family: Wide, basis: slab, p: gradient{shell: 60, ends: 60 * 20, radius: 22}}, shape.Spec{Kind: shape.Obround, Height: 44, Width: 64, Length: 60}, 1e-12},
		{"box", model{family: Straight, p: gradient{shell: 60 * 50, wall: 44}}, shape.Spec{Kind: shape.Box, Height: 44, Width: 50, Length: 60}, 1e-12},
	} {
		for _, rise := range []float64{0, 4} {
			m, s := c.m, c.s
			m.tori = tb
			m.p[tilt] = rise * rise
			s.Rise, s.Dip = rise, s.Length/2
			tk, err := shape.New(s)
			if err != nil {
				t.Fatal(err)
			}
			tol := c.tol
			if rise > 0 && m.basis != none && m.basis != slab {
				// Ends taken level at 3/8 of their depth: 0.1 gal in 500-gal
				// ends at 4 in of tilt.
				tol = max(tol, 3e-5)
			}
			for h := 0.0; h <= s.Diameter+s.Height; h += 0.7 {
				var g gradient
				if e := (m.at(h, &g) - tk.Volume(h)) / tk.Full(); !(math.Abs(e) <= tol) {
					t.Errorf("%s, rise %g, depth %g: off by %.2g of capacity", c.name, rise, h, e)
				}
			}
		}
	}
	if d, _ := shape.New(shape.Spec{Kind: shape.Upright, Diameter: 1, Length: 1, Low: shape.TorisphericalOf(1, 1, 0.06)}); math.Abs(d.Height()-1-toriDepth) > 1e-9 {
		t.Errorf("torispherical depth %.12f, expected %.12f", toriDepth, d.Height()-1)
	}
}

func TestNoAllocations(t *testing.T) {
	d, v := made(both(shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320}, shape.TorisphericalOf(96, 1, 0.06)), 0.25, 1)
	ws, res := new(Workspace), make([]float64, len(d))
	Do(ws, d, v, Hint{})
	if n := testing.AllocsPerRun(20, func() {
		r := Do(ws, d, v, Hint{PerCubic: perGallon, Height: 96})
		r.Residuals(res, d, v)
	}); n != 0 {
		t.Errorf("%g allocations a chart", n)
	}
}

func FuzzDo(f *testing.F) {
	f.Add(96.0, 1.0, 300.0, 5.0, 1.0, uint8(0), uint8(40))
	f.Add(48.0, 0.125, 1e4, -3.0, 0.0, uint8(1), uint8(7))
	f.Add(1e-9, 1e9, -5.0, 1e300, math.Inf(1), uint8(2), uint8(200))
	f.Fuzz(func(t *testing.T, high, step, scale, wild, hint float64, form, rows uint8) {
		var d, v []float64
		for i := range int(rows) {
			h := float64(i) * step
			x := h / high
			switch form % 4 {
			case 0:
				a, _ := shape.Segment(0.5, x)
				x = a
			case 1:
				x *= x
			case 2:
				x = math.Sin(7 * x)
			}
			d, v = append(d, h), append(v, scale*x)
			if i%11 == 5 {
				v[i] = wild
			}
		}
		r := Do(nil, d, v, Hint{Height: hint, PerCubic: 1 / 231.0})
		if !r.Recognised {
			return
		}
		for _, x := range []float64{r.Height, r.Capacity, r.Scale, r.Offset, r.Rise, r.Length, r.PerDepth, r.Volume(high / 2)} {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				t.Errorf("recognised, with %g in %+v", x, r)
			}
		}
	})
}
