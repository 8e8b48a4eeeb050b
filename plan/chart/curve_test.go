package chart

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/interp"

	"dropcut/plan/shape"
	"dropcut/plan/unit"
)

func of(t testing.TB, d unit.LengthUnit, v unit.VolumeUnit, pairs ...float64) *Chart {
	t.Helper()
	c := &Chart{DepthUnit: d, VolumeUnit: v}
	for i := 0; i+1 < len(pairs); i += 2 {
		c.Rows = append(c.Rows, Row{Depth: pairs[i], Volume: pairs[i+1], SheetRow: int32(i/2 + 2), DepthCol: 1, VolumeCol: 2})
	}
	return c
}

func curve(t testing.TB, c *Chart) *Curve {
	t.Helper()
	k, err := NewCurve(c)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

// R01 of check_values.csv: Wisconsin tank-operator training, inventory control,
// as read: 33 in = 337 gal, 34 in = 345 gal, 33 1/4 in = 339 gal.
func TestBetweenTwoInches(t *testing.T) {
	k := curve(t, of(t, unit.Inches, unit.USGallons, 32, 329, 33, 337, 34, 345, 35, 353))
	if v, err := k.At(33.25); err != nil || v != 339 {
		t.Errorf("33 1/4 in holds %v, %v", v, err)
	}
	if d, err := k.Between(339); err != nil || d != 33.25 {
		t.Errorf("339 gal at %v, %v", d, err)
	}
}

func TestRefused(t *testing.T) {
	for name, c := range map[string]struct {
		c    *Chart
		want error
	}{
		"no units":       {of(t, unit.LengthUnknown, unit.USGallons, 0, 0, 1, 1), ErrUnits},
		"one row":        {of(t, unit.Inches, unit.USGallons, 0, 0), ErrShort},
		"one row twice":  {of(t, unit.Inches, unit.USGallons, 1, 5, 1, 5), ErrShort},
		"depths fall":    {of(t, unit.Inches, unit.USGallons, 0, 0, 2, 5, 1, 6, 3, 7), ErrDepth},
		"equal depths":   {of(t, unit.Inches, unit.USGallons, 0, 0, 2, 5, 2, 6, 3, 7), ErrDepth},
		"volumes fall":   {of(t, unit.Inches, unit.USGallons, 0, 0, 1, 5, 2, 4, 3, 7), ErrVolume},
		"NaN":            {of(t, unit.Inches, unit.USGallons, 0, 0, 1, math.NaN(), 2, 4), ErrNoValue},
		"infinite depth": {of(t, unit.Inches, unit.USGallons, 0, 0, 1, 4, math.Inf(1), 5), ErrNoValue},
	} {
		if _, err := NewCurve(c.c); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", name, err, c.want)
		}
	}
	k := curve(t, of(t, unit.Inches, unit.USGallons, 2, 10, 4, 30, 6, 50))
	for _, d := range []unit.Length{1.999, 6.001, unit.Length(math.NaN()), unit.Length(math.Inf(1)), -1} {
		if _, err := k.At(d); !errors.Is(err, ErrOutside) {
			t.Errorf("depth %v: %v", d, err)
		}
	}
	for _, v := range []unit.Volume{9.99, 50.01, unit.Volume(math.NaN()), unit.Volume(math.Inf(-1))} {
		if _, err := k.Between(v); !errors.Is(err, ErrOutside) {
			t.Errorf("volume %v: %v", v, err)
		}
	}
	if _, _, err := k.AtOrBelow(9); !errors.Is(err, ErrOutside) {
		t.Errorf("below the first row: %v", err)
	}
}

// A chart that ends flat is full at the first depth with the top volume.
func TestFlatTop(t *testing.T) {
	k := curve(t, of(t, unit.Inches, unit.USGallons, 0, 0, 1, 10, 2, 20, 3, 25, 4, 25, 5, 25))
	if d, v := k.Full(); d != 3 || v != 25 {
		t.Errorf("full at %v with %v", d, v)
	}
	if d, _, err := k.AtOrBelow(30); err != nil || d != 3 {
		t.Errorf("entry for more than is charted: %v, %v", d, err)
	}
	if k.Top() != 5 {
		t.Errorf("top at %v", k.Top())
	}
	// A row that stands exactly at the limit serves.
	if d, v, err := k.AtOrBelow(20); err != nil || d != 2 || v != 20 {
		t.Errorf("entry at 20 gal: %v, %v, %v", d, v, err)
	}
	if d, v, err := k.AtOrBelow(19.999); err != nil || d != 1 || v != 10 {
		t.Errorf("entry below 20 gal: %v, %v, %v", d, v, err)
	}
}

func TestTopDown(t *testing.T) {
	up := of(t, unit.Centimetres, unit.Litres, 0, 0, 50, 900, 100, 2400, 150, 3300)
	down := of(t, unit.Centimetres, unit.Litres, 150, 3300, 100, 2400, 50, 900, 0, 0)
	a, b := curve(t, up), curve(t, down)
	for d := unit.Length(0); d < 59; d += 0.37 {
		va, _ := a.At(d)
		vb, _ := b.At(d)
		if va != vb {
			t.Errorf("at %v: %v and %v", d, va, vb)
		}
	}
}

// The cubic around a row is the one that gonum fits to the whole chart.
func TestCubicIsGonums(t *testing.T) {
	g := rand.New(rand.NewPCG(1, 2))
	for range 200 {
		n := 2 + g.IntN(12)
		k := &Curve{}
		d, v := 0.0, 0.0
		for range n {
			k.depth, k.volume = append(k.depth, d), append(k.volume, v)
			d += 1.5 + 3*g.Float64()
			if g.IntN(4) > 0 {
				v += 90 * g.Float64()
			}
		}
		var whole interp.FritschButland
		if err := whole.Fit(k.depth, k.volume); err != nil {
			t.Fatal(err)
		}
		for j := range 300 {
			x := k.depth[n-1] * float64(j) / 299
			x = min(x, k.depth[n-1])
			i := min(max(k.above(x), 1), n-1)
			if a, b := k.around(i).Predict(x), whole.Predict(x); math.Abs(a-b) > 1e-9 {
				t.Fatalf("at %g between %v: %.12g, the whole chart gives %.12g", x, k.depth, a, b)
			}
		}
	}
}

// There and back at every sixteenth of an inch, on fine and on coarse charts, and
// the volume never falls.
func TestThereAndBack(t *testing.T) {
	for _, step := range []float64{0.125, 0.5, 1, 2, 3} {
		k := curve(t, shaped(t, shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320}, step, 1))
		last := unit.Volume(-1)
		for n := range 96*16 + 1 {
			d := unit.Length(n) / 16
			v, err := k.At(d)
			if err != nil {
				t.Fatal(err)
			}
			if v < last {
				t.Fatalf("step %g: the volume falls at %v", step, d)
			}
			last = v
			if s := k.Slope(d); s < 1 { // flat: many depths hold the volume
				continue
			}
			back, err := k.Between(v)
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(float64(back-d)) > 3e-9 {
				t.Errorf("step %g: %v holds %v, which is reached at %.12g", step, d, v, float64(back))
			}
			// Never above the straight line's depth: the lower one serves.
			if straight, _ := k.Depth(v); back > straight {
				t.Errorf("step %g: %v is above the straight line's %v", step, back, straight)
			}
		}
	}
}

// shaped makes a chart of an exact shape, rounded to a step of gallons.
func shaped(t testing.TB, s shape.Spec, step, round float64) *Chart {
	t.Helper()
	body, err := shape.New(s)
	if err != nil {
		t.Fatal(err)
	}
	c := of(t, unit.Inches, unit.USGallons)
	for i := 0; ; i++ {
		d := min(float64(i)*step, body.Height())
		v := body.Volume(d) / shape.CubicInchesPerGallon
		if d == body.Height() {
			v = body.Full() / shape.CubicInchesPerGallon
		}
		if round > 0 {
			v = math.Round(v/round) * round
		}
		c.Rows = append(c.Rows, Row{Depth: d, Volume: v, SheetRow: int32(i + 2), DepthCol: 1, VolumeCol: 2})
		if d == body.Height() {
			return c
		}
	}
}

// How far the depth at 90, 95 and 98 % is off on 200 tanks of all ends: the table
// of shapes-and-audit section 6 says for straight lines at 3 in steps +0.159 at
// most, at 1 in 0.046, at 1/8 in 0.032; for the cubic at 3 in 0.040. Those
// tanks are others of the same kinds; a quarter more is allowed for that.
func TestCurveAgainstShapes(t *testing.T) {
	for _, c := range []struct {
		step, round float64
		up, down    float64 // of Between
		line        float64 // of the straight line alone, upward
	}{
		{3, 0, 0.050, 0.050, 0.199},
		{3, 1, 0.070, 0.070, 0.22},
		{1, 0, 0.020, 0.001, 0.020},
		{1, 1, 0.058, 0.058, 0.058},
		{0.5, 1, 0.045, 0.045, 0.045},
		{0.125, 1, 0.045, 0.045, 0.045},
	} {
		g := rand.New(rand.NewPCG(5, 6))
		up, down, line, sum, n := 0.0, 0.0, 0.0, 0.0, 0
		for range 200 {
			d := 64 + 60*g.Float64()
			s := shape.Spec{Kind: shape.Horizontal, Diameter: d, Length: d * (2 + 2.5*g.Float64())}
			switch g.IntN(4) {
			case 1:
				s.Low.Kind, s.High.Kind = shape.TwoToOne, shape.TwoToOne
			case 2:
				s.Low.Kind, s.High.Kind = shape.Hemispherical, shape.Hemispherical
			case 3:
				s.Low = shape.TorisphericalOf(d, 1, 0.06)
				s.High = s.Low
			}
			body, err := shape.New(s)
			if err != nil {
				t.Fatal(err)
			}
			k := curve(t, shaped(t, s, c.step, c.round))
			_, full := k.Full()
			for _, p := range []float64{0.90, 0.95, 0.98} {
				exact, err := body.Depth(p * body.Full())
				if err != nil {
					t.Fatal(err)
				}
				got, err := k.Between(unit.Volume(p) * full)
				if err != nil {
					t.Fatal(err)
				}
				straight, _ := k.Depth(unit.Volume(p) * full)
				off := float64(got) - exact
				up, down, line = max(up, off), max(down, -off), max(line, float64(straight)-exact)
				sum += off * off
				n++
			}
		}
		t.Logf("step %g, rounded to %g: %+.4f to %+.4f in, root mean square %.4f; the straight line %+.4f", c.step, c.round, -down, up, math.Sqrt(sum/float64(n)), line)
		if up > c.up || down > c.down || line > c.line {
			t.Errorf("step %g, rounded to %g: up to %.4f above and %.4f below the exact depth; straight line %.4f", c.step, c.round, up, down, line)
		}
	}
}

func TestRounding(t *testing.T) {
	for _, c := range []struct {
		volumes []float64
		want    float64
	}{
		{[]float64{0, 12, 31}, 1},
		{[]float64{0, 10, 30}, 10},
		{[]float64{0, 12.5, 31}, 0.1},
		{[]float64{0, 12.25, 31.1}, 0.01},
		{[]float64{0, 2000, 3000}, 1000},
		{[]float64{0, 1.0 / 3, 1}, 0},
	} {
		ch := of(t, unit.Inches, unit.USGallons)
		for i, v := range c.volumes {
			ch.Rows = append(ch.Rows, Row{Depth: float64(i), Volume: v})
		}
		if got := ch.Rounding(); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%v is rounded to %g, want %g", c.volumes, got, c.want)
		}
	}
}

// No chart makes a curve panic, answer outside its rows or fall.
func FuzzCurve(f *testing.F) {
	f.Add(0.0, 0.0, 1.0, 10.0, 3.0, 30.0, 3.5, 30.0, 0.95)
	f.Add(5.0, 2.0, 1.0, 10.0, math.NaN(), 30.0, 3.5, 30.0, 0.5)
	f.Add(0.0, 0.0, 1e300, 10.0, 1.1e300, 30.0, 1.2e300, 1e308, 0.5)
	f.Add(0.0, 0.0, 5e-324, 1.0, 1e-323, 2.0, 1.0, 3.0, 0.7)
	f.Fuzz(func(t *testing.T, d0, v0, d1, v1, d2, v2, d3, v3, share float64) {
		k, err := NewCurve(of(t, unit.Inches, unit.USGallons, d0, v0, d1, v1, d2, v2, d3, v3))
		if err != nil {
			return
		}
		lo, hi := k.Bottom(), k.Top()
		if !(lo < hi) {
			t.Fatalf("a curve from %v to %v", lo, hi)
		}
		if d, err := k.Between(unit.Volume(share * v3)); err == nil && !(d >= lo && d <= hi) {
			t.Errorf("%v lies outside %v to %v", d, lo, hi)
		}
		if v, err := k.At(unit.Length(share)); err == nil && (math.IsNaN(float64(v)) && !math.IsInf(d3-d0, 0)) {
			t.Errorf("no number at %v", share)
		}
	})
}

func BenchmarkCurve(b *testing.B) {
	c := shaped(b, shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320}, 0.25, 1)
	b.ReportAllocs()
	for b.Loop() {
		k, err := NewCurve(c)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := k.Between(9500); err != nil {
			b.Fatal(err)
		}
	}
}

// Smooth is the same cubic over the whole chart, both ways.
func TestSmooth(t *testing.T) {
	k := curve(t, shaped(t, shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320}, 3, 1))
	s, err := k.Smooth()
	if err != nil {
		t.Fatal(err)
	}
	for n := range 96 * 16 {
		d := unit.Length(n)/16 + 0.01
		v, err := s.Volume(d)
		if err != nil {
			t.Fatal(err)
		}
		at, _ := k.At(d)
		if v > at+1e-9 {
			t.Errorf("at %v: the cubic's %v is above the curve's %v, which is the larger of two", d, v, at)
		}
		if k.Slope(d) < 1 {
			continue
		}
		if back, err := s.Depth(v); err != nil || math.Abs(float64(back-d)) > 3e-9 {
			t.Errorf("%v came back as %v, %v", d, back, err)
		}
	}
	if _, err := s.Volume(97); !errors.Is(err, ErrOutside) {
		t.Errorf("above the chart: %v", err)
	}
}
