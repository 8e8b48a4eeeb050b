package chart

import (
	"errors"
	"math"
	"testing"

	"dropcut/plan/cell"
	"dropcut/plan/unit"
)

// lyingDrum is the volume at a depth of a lying cylinder with flat ends of
// diameter 96 in and length 400 in, in US gallons: the circular segment as any
// table of mensuration has it, r² acos((r-h)/r) - (r-h) sqrt(2rh - h²), and
// 231 in³ to the gallon (NIST Handbook 44, appendix C).
func lyingDrum(h float64) float64 {
	const r, length = 48, 400
	return length * (r*r*math.Acos((r-h)/r) - (r-h)*math.Sqrt(2*r*h-h*h)) / 231
}

func drumChart(t *testing.T, step float64) *Curve {
	t.Helper()
	var pairs []float64
	for h := 0.0; h <= 96; h += step {
		pairs = append(pairs, h, lyingDrum(h))
	}
	return curve(t, of(t, unit.Inches, unit.USGallons, pairs...))
}

// Where rows lie far apart the straight line puts the level of a lying tank's
// upper half too high, which would shut off late. What is answered must not lie
// above the line, and must be nearer the truth.
func TestFarRowsAreReadOnTheSafeSide(t *testing.T) {
	k := drumChart(t, 6)
	for h := 49.0; h < 95.5; h += 0.25 {
		v := unit.Volume(lyingDrum(h))
		line, err := k.Depth(v)
		if err != nil {
			t.Fatal(err)
		}
		got, err := k.Between(v)
		if err != nil {
			t.Fatal(err)
		}
		if got > line {
			t.Errorf("%v gal: %v in, above the straight line's %v", v, got, line)
		}
		// Measured: up to 95 % (87 in) the line is up to 0.23 in off and the answer
		// less than a sixteenth; in the last step the line 0.87 and the answer 0.43.
		most := 0.45
		if h <= 87 {
			most = 1.0 / 16
		}
		if math.Abs(float64(got)-h) > math.Abs(float64(line)-h)+1e-9 || math.Abs(float64(got)-h) > most {
			t.Errorf("%v gal lies at %v in; read at %v, on the line at %v", v, h, got, line)
		}
		back, err := k.At(got)
		if err != nil || back < v-1e-6 {
			t.Errorf("%v in holds %v (%v), less than the %v that was asked for", got, back, err, v)
		}
	}
	// A row itself is the row, whatever lies beside it.
	if d, err := k.Between(unit.Volume(lyingDrum(54))); err != nil || d != 54 {
		t.Errorf("the row at 54 in is read at %v, %v", d, err)
	}
	if v, err := k.At(54); err != nil || float64(v) != lyingDrum(54) {
		t.Errorf("the row at 54 in holds %v, %v", v, err)
	}
	if d, err := k.Between(0); err != nil || d != 0 {
		t.Errorf("the first row is read at %v, %v", d, err)
	}
}

// Rows in steps of one inch, up to the noise of a conversion, are read on the
// straight line as a person does; in wider steps no pocket calculator will do.
func TestRowsForThePocketCalculator(t *testing.T) {
	// R01 of check_values.csv: Wisconsin tank-operator training.
	k := curve(t, of(t, unit.Inches, unit.USGallons, 32, 329, 33, 337, 34, 345, 35, 353, 37, 370))
	lo, hi, less, more, ok := k.Rows(33.25)
	if !ok || lo != 33 || hi != 34 || less != 337 || more != 345 {
		t.Errorf("33 1/4 in lies between %v in with %v gal and %v in with %v gal, %v", lo, less, hi, more, ok)
	}
	for _, d := range []unit.Length{31, 32, 33, 36, 37, 38, unit.Length(math.NaN())} {
		if _, _, _, _, ok := k.Rows(d); ok {
			t.Errorf("%v in is said to lie between two rows of one inch", d)
		}
	}
	// 25.4 mm are an inch, but for the last bit of the conversion.
	mm := curve(t, of(t, unit.Millimetres, unit.Litres, 0, 0, 25.4, 30, 50.8, 70))
	if _, _, _, _, ok := mm.Rows(1.5); !ok {
		t.Error("rows of 25.4 mm are not taken for rows of an inch")
	}
}

func TestStepAndEnds(t *testing.T) {
	k := curve(t, of(t, unit.Inches, unit.USGallons, 2, 10, 4, 30, 7, 50, 8, 55))
	for _, c := range []struct{ at, step unit.Length }{{0, 2}, {2, 2}, {3, 2}, {4, 3}, {6.9, 3}, {7, 1}, {8, 1}, {99, 1}} {
		if got := k.Step(c.at); got != c.step {
			t.Errorf("the step at %v in is %v, want %v", c.at, got, c.step)
		}
	}
	if k.Bottom() != 2 || k.Top() != 8 {
		t.Errorf("the rows run from %v to %v, want 2 to 8", k.Bottom(), k.Top())
	}
	for d, in := range map[unit.Length]bool{1.999: false, 2: true, 5: true, 8: true, 8.001: false, unit.Length(math.NaN()): false} {
		if err := k.Covers(d); (err == nil) != in || err != nil && !errors.Is(err, ErrOutside) {
			t.Errorf("%v in: %v", d, err)
		}
	}
}

// The volume of an inch around a depth is the difference of the volumes an inch
// above and below, halved; at the ends only what is charted counts.
func TestSlopeOver(t *testing.T) {
	k := curve(t, of(t, unit.Inches, unit.USGallons, 0, 0, 1, 10, 2, 40, 3, 60, 4, 90))
	for _, c := range []struct {
		at   unit.Length
		want float64
	}{{2, 25}, {1, 20}, {0, 10}, {4, 30}, {0.5, 25.0 / 1.5}, {3, 25}} {
		if got := k.SlopeOver(c.at); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%v gal an inch at %v in, want %v", got, c.at, c.want)
		}
	}
	// Outside there is nothing to take a difference of; it must be no number that
	// somebody could compute with, or the slope of the nearest rows.
	for _, d := range []unit.Length{-5, -1, 5, 9} { // an inch outside, both sides are the same depth
		if got, want := k.SlopeOver(d), k.Slope(d); got != want && !(math.IsNaN(got) && math.IsNaN(want)) {
			t.Errorf("at %v in, outside the rows: %v, and the slope there is %v", d, got, want)
		}
	}
}

func TestEntryIsTheRowOfTheFile(t *testing.T) {
	c := of(t, unit.Millimetres, unit.Litres, 300, 30, 200, 20, 100, 10)
	if c.Len() != 3 {
		t.Errorf("%d rows", c.Len())
	}
	for d, want := range map[float64]int{300: 0, 200: 1, 100: 2, 150: -1, 100.5: -1} {
		if got := c.Entry(unit.Millimetres.Length(d)); got != want {
			t.Errorf("%v mm is row %d, want %d", d, got, want)
		}
	}
	c.At = cell.Ref{File: "a.xlsx", Sheet: "Charts"}
	c.Apart = Aparts{{From: 1, By: 6}}
	if got := c.VolumeAt(1).String(); got != "a.xlsx, Charts!B9" {
		t.Errorf("a volume in a row of its own is at %s", got)
	}
	if got := c.DepthAt(1).String(); got != "a.xlsx, Charts!A3" {
		t.Errorf("its depth is at %s", got)
	}
}

// A chart with a flat stretch must be answered with its lowest depth, and a
// monotone cubic must not fall or leave the rows.
func TestSmoothStaysBetweenTheRows(t *testing.T) {
	k := curve(t, of(t, unit.Inches, unit.USGallons, 0, 0, 2, 10, 4, 10, 6, 40))
	s, err := k.Smooth()
	if err != nil {
		t.Fatal(err)
	}
	// The cubic lies flat at that row, so that depths a millionth of an inch apart
	// hold the same number.
	if d, err := s.Depth(10); err != nil || math.Abs(float64(d)-2) > 1e-6 || d > 2 {
		t.Errorf("10 gal are first reached at %v, %v; want 2 in", d, err)
	}
	if d, err := s.Depth(40); err != nil || math.Abs(float64(d)-6) > 1e-8 {
		t.Errorf("40 gal are reached at %v, %v; want 6 in", d, err)
	}
	for _, v := range []unit.Volume{-1, 41, unit.Volume(math.NaN())} {
		if _, err := s.Depth(v); !errors.Is(err, ErrOutside) {
			t.Errorf("%v gal: %v", v, err)
		}
	}
	for _, d := range []unit.Length{-1, 7, unit.Length(math.NaN())} {
		if _, err := s.Volume(d); !errors.Is(err, ErrOutside) {
			t.Errorf("%v in: %v", d, err)
		}
	}
	last := unit.Volume(0)
	for d := unit.Length(0); d <= 6; d += 1.0 / 16 {
		v, err := s.Volume(d)
		if err != nil || v < last-1e-9 || v > 40+1e-9 {
			t.Fatalf("%v in hold %v gal (%v) after %v", d, v, err, last)
		}
		last = v
	}
}

// A chart of two rows is one, and what stands in its first row is answered with
// that row, not refused.
func TestTheLeastChart(t *testing.T) {
	k := curve(t, of(t, unit.Inches, unit.USGallons, 3, 10, 8, 60))
	for v, want := range map[unit.Volume]unit.Length{10: 3, 59.9: 3, 60: 8, 1e6: 8} {
		if d, _, err := k.AtOrBelow(v); err != nil || d != want {
			t.Errorf("the row for %v gal is at %v, %v; want %v", v, d, err, want)
		}
	}
	if d, v := k.Full(); d != 8 || v != 60 {
		t.Errorf("full at %v with %v", d, v)
	}
	// A row that stands there twice leaves two.
	if _, err := NewCurve(of(t, unit.Inches, unit.USGallons, 3, 10, 3, 10, 8, 60)); err != nil {
		t.Errorf("two rows, one of them twice: %v", err)
	}
	// The largest figures that are taken, and those beyond.
	if _, err := NewCurve(of(t, unit.Inches, unit.USGallons, -mostDepth, -mostVolume, mostDepth, mostVolume)); err != nil {
		t.Errorf("the largest figures: %v", err)
	}
	for _, pairs := range [][]float64{{0, 0, mostDepth * 1.01, 5}, {0, 0, 5, mostVolume * 1.01}, {-mostDepth * 1.01, 0, 5, 5}} {
		if _, err := NewCurve(of(t, unit.Inches, unit.USGallons, pairs...)); !errors.Is(err, ErrSize) {
			t.Errorf("%v: %v, want %v", pairs, err, ErrSize)
		}
	}
}

func TestSlopeAtTheEndsOfTheRows(t *testing.T) {
	k := curve(t, of(t, unit.Inches, unit.USGallons, 0, 0, 2, 10, 4, 50))
	for d, want := range map[unit.Length]float64{-3: 5, 0: 5, 1: 5, 1.999: 5, 2: 20, 3: 20, 4: 20, 9: 20} {
		if got := k.Slope(d); got != want {
			t.Errorf("%v gal an inch at %v in, want %v", got, d, want)
		}
	}
}
