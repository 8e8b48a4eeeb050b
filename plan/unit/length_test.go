package unit

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
)

const mm = 1 / 25.4

var lengthTexts = []struct {
	text string
	in   LengthUnit
	dec  Decimal
	want Length // inches
}{
	{"98.375", Inches, DecimalPoint, 98.375},
	{"98,375", Inches, DecimalComma, 98.375},
	{"250", Millimetres, DecimalPoint, 250 * mm},
	{"8.1", Feet, DecimalPoint, 97.2}, // eight feet and a tenth, never 8' 1"
	{`98 3/8"`, LengthUnknown, DecimalPoint, 98.375},
	{"98 3/8", Inches, DecimalPoint, 98.375},
	{"98-3/8", Inches, DecimalPoint, 98.375},
	{`98-3/8"`, LengthUnknown, DecimalPoint, 98.375},
	{"98 - 3/8", Inches, DecimalPoint, 98.375},
	{"33-1/4", Inches, DecimalPoint, 33.25},
	{"98⅜", Inches, DecimalPoint, 98.375},
	{"98 ⅜", Inches, DecimalPoint, 98.375},
	{"98-⅜", Inches, DecimalPoint, 98.375},
	{"⅜", Inches, DecimalPoint, 0.375},
	{"1⅛", Inches, DecimalPoint, 1.125},
	{"3/8", Inches, DecimalPoint, 0.375},
	{"-3/8", Inches, DecimalPoint, -0.375},
	{"-98 3/8", Inches, DecimalPoint, -98.375},
	{"−98-3/8", Inches, DecimalPoint, -98.375},
	{"98 3⁄8", Inches, DecimalPoint, 98.375},
	{"98 3∕8", Inches, DecimalPoint, 98.375},
	{"98³⁄₈", Inches, DecimalPoint, 98.375},
	{"98 ³⁄₈", Inches, DecimalPoint, 98.375},
	{"98 ⅟8", Inches, DecimalPoint, 98.125},
	{"98⅟₁₆", Inches, DecimalPoint, 98.0625},
	{"98\u00a03/8", Inches, DecimalPoint, 98.375},
	{"98\u202f3 / 8 in.", LengthUnknown, DecimalPoint, 98.375},
	{"98 and 3/8 inches", LengthUnknown, DecimalPoint, 98.375},
	{`8' 2-3/8"`, LengthUnknown, DecimalPoint, 98.375},
	{`8'-2 3/8"`, LengthUnknown, DecimalPoint, 98.375},
	{`8'2⅜"`, LengthUnknown, DecimalPoint, 98.375},
	{`8' 2 3/8''`, LengthUnknown, DecimalPoint, 98.375},
	{"8’ 2 3/8”", LengthUnknown, DecimalPoint, 98.375},
	{"8′ 2 3/8″", LengthUnknown, DecimalPoint, 98.375},
	{"8‘ 2 3/8“", LengthUnknown, DecimalPoint, 98.375},
	{"8′ 2 3/8′′", LengthUnknown, DecimalPoint, 98.375},
	{"4'-7 1/4", LengthUnknown, DecimalPoint, 55.25},
	{"5'-6 3/4\"", LengthUnknown, DecimalPoint, 66.75},
	{"8' 2", Inches, DecimalPoint, 98},
	{"8'", LengthUnknown, DecimalPoint, 96},
	{"8' 0\"", LengthUnknown, DecimalPoint, 96},
	{"8' 2.375\"", LengthUnknown, DecimalPoint, 98.375},
	{"8ft 2 3/8in", LengthUnknown, DecimalPoint, 98.375},
	{"8 ft. 2 3/8 in.", LengthUnknown, DecimalPoint, 98.375},
	{"8 feet 2 inches", LengthUnknown, DecimalPoint, 98},
	{"8 feet, 2 inches", LengthUnknown, DecimalPoint, 98},
	{"8 FEET and 2 INCHES", LengthUnknown, DecimalPoint, 98},
	{"8.5 ft", Inches, DecimalPoint, 102},
	{"8 1/2 ft", LengthUnknown, DecimalPoint, 102},
	{"98.375 in", Millimetres, DecimalPoint, 98.375},
	{"4-inch", LengthUnknown, DecimalPoint, 4},
	{"4\"", Millimetres, DecimalPoint, 4},
	{"2,45 m", LengthUnknown, DecimalComma, 2450 * mm},
	{"2.45 m", LengthUnknown, DecimalPoint, 2450 * mm},
	{"2 m 45 cm", LengthUnknown, DecimalPoint, 2450 * mm},
	{"1 250 mm", LengthUnknown, DecimalPoint, 1250 * mm},
	{"1\u00a0250 mm", Inches, DecimalPoint, 1250 * mm},
	{"1.250 mm", Inches, DecimalComma, 1250 * mm},
	{"1'250 mm", Inches, DecimalPoint, 1250 * mm},
	{"245cm", LengthUnknown, DecimalPoint, 2450 * mm},
	{"24,5 dm", LengthUnknown, DecimalComma, 2450 * mm},
	{"98 3/8 pulgadas", LengthUnknown, DecimalPoint, 98.375},
	{"8 pies 2 pulgadas", LengthUnknown, DecimalPoint, 98},
	{"8 pieds 2 pouces", LengthUnknown, DecimalPoint, 98},
	{"98 3/8 Zoll", LengthUnknown, DecimalPoint, 98.375},
	{"8 Fuß 2 Zoll", LengthUnknown, DecimalPoint, 98},
	{"2450 milímetros", LengthUnknown, DecimalPoint, 2450 * mm},
	{"245 Zentimeter", LengthUnknown, DecimalPoint, 2450 * mm},
	{"2,45 mètres", LengthUnknown, DecimalComma, 2450 * mm},
	{"0", Inches, DecimalPoint, 0},
	{"0\"", LengthUnknown, DecimalPoint, 0},
	{"½\"", LengthUnknown, DecimalPoint, 0.5},
	{"↉", Inches, DecimalPoint, 0},
	{"12 ⅔ in", LengthUnknown, DecimalPoint, 12 + 2.0/3},
	{"1.21E+2", Inches, DecimalPoint, 121},
	{"1 1/8", Inches, DecimalPoint, 1.125},
	{"1 100/128", Inches, DecimalPoint, 1.78125},
	{"10 027 1/2 mm", LengthUnknown, DecimalPoint, 10027.5 * mm},
}

var noLengths = []string{
	"", " ", "3/0", "98 3/0", "98 11/8", "98 8/8", "11/8", "35/8", "1/8/2026", "12/31/25", "98/", "/8", "98 /8", "98 3/", "98 3 8", "98 3", "6-3", "98-99",
	"8.5' 2\"", "8' 14\"", "8' 12\"", "8' 2' 3\"", "2\" 8'", "8' 2 m", "8' 2 mm", "98.5 3/8", "98,37", "8' -2\"-", "abc", "in", "98 gal", "98 lb", "98 in2", "98 sq ft",
	"98 3/8 x", "~98", "ca. 98", ">98", "98?", "98 3/8 (98.375)", "1_000", "0x10", "NaN", "Inf", "7.9e400 in", "98 in 3", "98\" 3/8", "1'234", "1'234\"", "'", "\"", "8''2'",
	"12 M", "98\xff", "98 3/8\"\"x", "1/2026", "½½", "98½½", "98 ½/8", "⅟", "98⅟", "1,5 in", "--3", "8' --2\"", "9 1/2 -", "8'-", "12'' 3'''", "1 m 5", "two feet", "8-Jan",
}

func TestParseLength(t *testing.T) {
	for _, c := range lengthTexts {
		got, err := ParseLength(c.text, c.in, c.dec)
		// The same inches to the last digits of a float64: mm are converted
		// with one division here and with another in the table.
		if err != nil || math.Abs(float64(got-c.want)) > 1e-13*math.Max(1, math.Abs(float64(c.want))) {
			t.Errorf("%q in %v: got %v, %v; want %v", c.text, c.in, float64(got), err, float64(c.want))
		}
	}
	for _, s := range noLengths {
		if got, err := ParseLength(s, Inches, DecimalPoint); err == nil {
			t.Errorf("%q read as %v in", s, float64(got))
		} else if errors.Is(err, ErrNoUnit) {
			t.Errorf("%q: %v", s, err)
		}
	}
}

func TestLengthWithoutUnit(t *testing.T) {
	for _, s := range []string{"98", "98 3/8", "98⅜", "0", "-5"} {
		if got, err := ParseLength(s, LengthUnknown, DecimalPoint); !errors.Is(err, ErrNoUnit) {
			t.Errorf("%q: got %v, %v", s, float64(got), err)
		}
	}
	// A fraction in a metric column is a sign of another unit, not of 98.375 mm.
	if got, err := ParseLength("98 3/8", Millimetres, DecimalPoint); err == nil {
		t.Errorf("98 3/8 in a column of mm read as %v in", float64(got))
	}
}

func TestScanLengthTellsTheUnitOfTheText(t *testing.T) {
	for text, want := range map[string]LengthUnit{
		"98": LengthUnknown, "98 mm": Millimetres, `8' 2"`: Feet, `98 3/8"`: Inches, "98⅜": LengthUnknown, "2,5 cm": Centimetres,
	} {
		if _, got, err := ScanLength(text, Inches, DecimalComma); err != nil || got != want {
			t.Errorf("%q: got %v, %v; want %v", text, got, err, want)
		}
	}
}

// Every sixty-fourth of an inch up to 200 in is printed in every notation and
// read again as the same float64.
func TestPrintedLengthsReadBack(t *testing.T) {
	super := strings.NewReplacer("0", "⁰", "1", "¹", "2", "²", "3", "³", "4", "⁴", "5", "⁵", "6", "⁶", "7", "⁷", "8", "⁸", "9", "⁹")
	sub := strings.NewReplacer("0", "₀", "1", "₁", "2", "₂", "3", "₃", "4", "₄", "5", "₅", "6", "₆", "7", "₇", "8", "₈", "9", "₉")
	vulgars := strings.NewReplacer("1/2", "½", "1/4", "¼", "3/4", "¾", "1/8", "⅛", "3/8", "⅜", "5/8", "⅝", "7/8", "⅞")
	for i := range 200*64 + 1 {
		l := Length(i) / 64
		plain := FractionText(l, 64, Nearest)
		feet := FeetText(l, 64, Nearest)
		forms := []string{
			plain, plain + `"`, plain + " in", plain + "in.", plain + "″", plain + "''", plain + " inches", plain + " Zoll",
			strings.Replace(plain, " ", "-", 1), strings.Replace(plain, "/", "⁄", 1), strings.Replace(plain, " ", "\u00a0", 1),
			feet, strings.Replace(feet, "' ", "'-", 1), strings.NewReplacer("'", "’", `"`, "”").Replace(feet), strings.NewReplacer("'", " ft", `"`, " in").Replace(feet),
			strings.NewReplacer("'", "′", `"`, "″").Replace(feet), strings.NewReplacer("' ", "'", `"`, "''").Replace(feet),
			DecimalText(float64(l), 6, Nearest), fmt.Sprintf("%v in", float64(l)), fmt.Sprintf("%.8f ft", float64(l)/12),
			LengthText(l, Millimetres, 6, Nearest) + " mm",
		}
		if whole, frac, ok := strings.Cut(plain, " "); ok {
			num, den, _ := strings.Cut(frac, "/")
			forms = append(forms, whole+super.Replace(num)+"⁄"+sub.Replace(den))
			if len(frac) == 3 {
				forms = append(forms, whole+vulgars.Replace(frac), whole+" "+vulgars.Replace(frac)+`"`)
			}
		}
		for _, s := range forms {
			got, err := ParseLength(s, Inches, DecimalPoint)
			tol := 0.0
			switch {
			case strings.HasSuffix(s, " mm"):
				tol = 0.5e-6 / 25.4 // half the last printed digit
			case strings.HasSuffix(s, " ft") && strings.Contains(s, "."):
				tol = 0.5e-8 * 12 // half the last printed digit
			}
			if err != nil || math.Abs(float64(got-l)) > tol {
				t.Fatalf("%v in printed as %q read as %v, %v", float64(l), s, float64(got), err)
			}
		}
	}
}

// The inch is 25.4 mm exactly (NIST SP 811, Appendix B), so that conversions of
// whole millimetres and of sixty-fourths lose nothing.
func TestInchesAndMillimetresLoseNothing(t *testing.T) {
	for i := range 10_000 {
		n := float64(i)
		if back := Millimetres.Number(Millimetres.Length(n)); back != n {
			t.Errorf("%v mm come back as %v", n, back)
		}
		if got, want := Centimetres.Length(n/10), Millimetres.Length(n); math.Abs(float64(got-want)) > 4e-16*float64(want) {
			t.Errorf("%v cm and %v mm are %v and %v in", n/10, n, float64(got), float64(want))
		}
		if got, want := Metres.Length(n), Millimetres.Length(1000*n); got != want {
			t.Errorf("%v m and %v mm are %v and %v in", n, 1000*n, float64(got), float64(want))
		}
	}
	for i := range 200*64 + 1 {
		l := Length(i) / 64
		// 25.4 i/64 mm written as a decimal is exact: 127 i/320.
		mm := Millimetres.Number(l)
		if want := float64(127*i) / 320; mm != want {
			t.Errorf("%v in is %v mm, want %v", float64(l), mm, want)
		}
		if back := Millimetres.Length(mm); back != l {
			t.Errorf("%v in comes back as %v", float64(l), float64(back))
		}
		if back := Feet.Length(Feet.Number(l)); math.Abs(float64(back-l)) > 4e-16*float64(l) {
			t.Errorf("%v in comes back from feet as %v", float64(l), float64(back))
		}
	}
	for u := USGallons; int(u) < len(volumeUnits); u++ {
		for _, n := range []float64{1, 3, 10027, 0.7, 123456.789} {
			if back := u.Number(u.Volume(n)); math.Abs(back-n) > 5e-16*n {
				t.Errorf("%v %v come back as %v", n, u, back)
			}
		}
	}
}

func TestUnitsBeyondTheTable(t *testing.T) {
	if LengthUnit(200).Size() != 0 || LengthUnit(200).String() != "" || VolumeUnit(200).Number(5) != 0 || LengthUnknown.Number(5) != 0 {
		t.Error("an unknown unit has a size")
	}
}

func FuzzLength(f *testing.F) {
	for _, c := range lengthTexts {
		f.Add(c.text, uint8(c.in), c.dec == DecimalComma)
	}
	for _, s := range noLengths {
		f.Add(s, uint8(Inches), false)
	}
	f.Fuzz(func(t *testing.T, s string, in uint8, comma bool) {
		dec := DecimalPoint
		if comma {
			dec = DecimalComma
		}
		u := LengthUnit(in % 8)
		l, err := ParseLength(s, u, dec)
		b, errB := ParseLength([]byte(s), u, dec)
		if l != b || (err == nil) != (errB == nil) {
			t.Fatalf("%q: text gives %v, bytes %v", s, l, b)
		}
		if err == nil && (math.IsNaN(float64(l)) || math.IsInf(float64(l), 0)) {
			t.Fatalf("%q gives %v", s, float64(l))
		}
		for _, v := range []VolumeUnit{VolumeUnknown, Litres} {
			if x, err := ParseVolume(s, v, dec); err == nil && (math.IsNaN(float64(x)) || math.IsInf(float64(x), 0)) {
				t.Fatalf("%q gives %v gal", s, float64(x))
			}
		}
		_, _ = ParsePercent(s, true, dec)
		_, _ = ParseTorque(s, 0, dec)
		_, _ = ParsePressure(s, 0, dec)
		_, _ = ParseAngle(s, dec)
		_, _ = ParseDate(s, DateOrderUnknown)
		FindUnits(s)
	})
}
