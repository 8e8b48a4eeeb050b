package unit

import (
	"math"
	"strings"
	"testing"
	"unicode/utf8"
)

// Every fraction that Unicode has a character for. Source: the compatibility
// decompositions of the Unicode Character Database, blocks Latin-1 Supplement
// and Number Forms (U+00BC to U+00BE, U+2150 to U+215E, U+2189).
func TestEveryFractionOfUnicode(t *testing.T) {
	for r, f := range map[rune][2]float64{
		0x00BC: {1, 4}, 0x00BD: {1, 2}, 0x00BE: {3, 4},
		0x2150: {1, 7}, 0x2151: {1, 9}, 0x2152: {1, 10}, 0x2153: {1, 3}, 0x2154: {2, 3}, 0x2155: {1, 5}, 0x2156: {2, 5}, 0x2157: {3, 5},
		0x2158: {4, 5}, 0x2159: {1, 6}, 0x215A: {5, 6}, 0x215B: {1, 8}, 0x215C: {3, 8}, 0x215D: {5, 8}, 0x215E: {7, 8}, 0x2189: {0, 3},
	} {
		for _, text := range []string{"98" + string(r) + "\"", "98 " + string(r) + " in"} {
			got, err := ParseLength(text, LengthUnknown, DecimalPoint)
			// The last bit of an inch is beyond every tape.
			if want := 98 + f[0]/f[1]; err != nil || math.Abs(float64(got)-want) > 1e-12 {
				t.Errorf("%q reads %v (%v), want %v", text, got, err, want)
			}
		}
	}
	if got, err := ParseLength("3⅟₁₆ in", LengthUnknown, DecimalPoint); err != nil || got != 3.0625 {
		t.Errorf("a numerator one over a lowered sixteen reads %v, %v", got, err)
	}
	for _, text := range []string{"3⅟ in", "3⅟x in", "3 ⅟₀ in"} {
		if got, err := ParseLength(text, LengthUnknown, DecimalPoint); err == nil {
			t.Errorf("%q reads %v", text, got)
		}
	}
}

// Ligatures and the one-character units of East Asian fonts, by the same source.
func TestFoldOfOneCharacterThatStandsForMore(t *testing.T) {
	for text, want := range map[string]string{
		"Straße": "strasse", "œuvre": "oeuvre", "Cæsium": "caesium", "㎜": "mm", "㎝": "cm", "㎥": "m3", "m²": "m2", "m³": "m3", "10¹": "101", "ℓ": "l", "ŽIVOČE": "zivoce",
	} {
		if got := Fold(text); got != want {
			t.Errorf("%q folds to %q, want %q", text, got, want)
		}
	}
	for text, want := range map[string]VolumeUnit{"㎥": CubicMetres, "ℓ": Litres} {
		if got, err := ParseVolumeUnit(text); err != nil || got != want {
			t.Errorf("%q is %v, %v", text, got, err)
		}
	}
	for text, want := range map[string]LengthUnit{"㎜": Millimetres, "㎝": Centimetres} {
		if got, err := ParseLengthUnit(text); err != nil || got != want {
			t.Errorf("%q is %v, %v", text, got, err)
		}
	}
}

// A heading in thousands is never taken for the plain unit: it is the unit of
// that size, or it is no unit.
func TestHeadingsInThousands(t *testing.T) {
	for text, want := range map[string]VolumeUnit{
		"Volume (gal)":               USGallons,
		"Volume (gal x 1000)":        ThousandGallons,
		"Volume (gal × 1,000)":       ThousandGallons,
		"Volume (US gal x 1.000)":    ThousandGallons,
		"Volume gal * 1000":          ThousandGallons,
		"Volume, 1000 x gal":         ThousandGallons,
		"Volume (gal × 10^6)":        MillionGallons,
		"Volume (gal x 1,000,000)":   MillionGallons,
		"Volume (10³ gal)":           ThousandGallons,
		"Volume (10⁶ m³)":            MillionCubicMetres,
		"Volume, 10^6 gal":           MillionGallons,
		"Volume (gal (000))":         ThousandGallons,
		"Volume (000 gal)":           ThousandGallons,
		"Volume (thousand gal)":      ThousandGallons,
		"Volume (billion gal)":       BillionGallons,
		"Volume (L x 1000)":          CubicMetres,
		"Volume (thousand barrels)":  VolumeUnknown,
		"Volume (bbl x 1000)":        VolumeUnknown,
		"Volume (thousand imp. gal)": VolumeUnknown,
	} {
		if got, _, _ := FindVolumeUnit(text); got != want {
			t.Errorf("%q is in %q, want %q", text, got, want)
		}
	}
}

// A page of prose is looked at for so long only, and is never cut within a
// character.
func TestOnlyTheBeginningOfAPageIsLookedAt(t *testing.T) {
	for n := 1990; n <= 2002; n++ {
		text := strings.Repeat("x", n) + "éééé (gal)"
		if list := FindUnits(text); len(list) != 0 {
			t.Errorf("behind %d characters %v is found", n, list)
		}
	}
	if list := FindUnits(strings.Repeat("x ", 900) + "(gal)"); len(list) != 1 || list[0].Volume != USGallons {
		t.Errorf("within the beginning: %v", list)
	}
}

func TestVotesOfTwoPartsAreOne(t *testing.T) {
	cells := []string{"1,238.5", "12.5", "1238", "1,238", "1.238", "12,5", "-", "", "7"}
	var all, first, second DecimalVote
	for i, c := range cells {
		all.Add([]byte(c))
		if i < 4 {
			first.AddString(c)
		} else {
			second.AddString(c)
		}
	}
	first.Merge(second)
	if first != all {
		t.Errorf("merged %+v, counted in one go %+v", first, all)
	}
	for _, c := range []struct {
		v    DecimalVote
		sign Decimal
		verd string
	}{
		{DecimalVote{Whole: 3}, DecimalPoint, "free"},
		{DecimalVote{EitherComma: 1}, DecimalPoint, "undecided"},
		{DecimalVote{Point: 1}, DecimalPoint, "settled"},
		{DecimalVote{Comma: 1}, DecimalComma, "settled"},
		{DecimalVote{Point: 3, Comma: 1}, DecimalPoint, "mixed"},
		{DecimalVote{Point: 1, Comma: 3}, DecimalComma, "mixed"},
		{DecimalVote{Point: 2, Comma: 1}, DecimalPoint, "undecided"},
		{DecimalVote{Point: 1, Comma: 2}, DecimalPoint, "undecided"},
	} {
		if sign, verdict := c.v.Result(); sign != c.sign || verdict.String() != c.verd {
			t.Errorf("%+v: %v, %v; want %v, %s", c.v, sign, verdict, c.sign, c.verd)
		}
	}
	if DecimalPoint.String() != "decimal point" || DecimalComma.String() != "decimal comma" {
		t.Error("the signs are not called by their names")
	}
}

func TestFormsThatNoSignExplains(t *testing.T) {
	for text, want := range map[string]Form{
		"12.": FormWhole, "12..": FormNone, ".": FormNone, "1.2.3": FormNone, "1.234.567,8": FormComma, "1,234,567.8": FormPoint, "1,23,456.7": FormNone,
		"1 238,5": FormComma, "1'238.5": FormPoint, "1\u00a0238": FormWhole, "1\u202f238": FormWhole, "0,238": FormComma, "1234,567": FormComma,
	} {
		if got := FormOf([]byte(text)); got != want {
			t.Errorf("%q has form %d, want %d", text, got, want)
		}
	}
}

// 40 CFR 280.20(c)(1)(ii)(A): no more than 95 percent full.
func TestPercentOfAVolume(t *testing.T) {
	if got := Percent(95).Of(10_000); got != 9500 {
		t.Errorf("95 %% of 10,000 gal is %v", got)
	}
	if got := Percent(0).Of(10_000); got != 0 {
		t.Errorf("0 %% of 10,000 gal is %v", got)
	}
}

func TestSignsInFrontOfALength(t *testing.T) {
	for text, want := range map[string]Length{"+5 in": 5, "-5 in": -5, "−5 in": -5, "8'-2\"": 98, "8', 2\"": 98, "8 ft and 2 in": 98, "8 ft & 2 in": 98, "8' - 2\"": 98} {
		if got, err := ParseLength(text, LengthUnknown, DecimalPoint); err != nil || got != want {
			t.Errorf("%q reads %v (%v), want %v", text, got, err, want)
		}
	}
	for _, text := range []string{"", "   ", "+", "-", "8' -", "8' and", "5 in 3 in 2 in 1 in 1 in", "1'2'3'4'5'", "2000000/3 in"} {
		if got, err := ParseLength(text, Inches, DecimalPoint); err == nil {
			t.Errorf("%q reads %v", text, got)
		}
	}
}

// 1 psi is 6.894757293 kPa and 27.7076 in of water at 4 °C: NIST Special
// Publication 811, appendix B.8.
func TestUnitsOfPressureByName(t *testing.T) {
	for name, kpa := range map[string]float64{
		"psi": 6.894757, "psig": 6.894757, "Pa": 0.001, "pascals": 0.001, "kPa": 1, "bar": 100, "mbar": 0.1, "hPa": 0.1, "in. w.c.": 0.249082, `" w.c.`: 0.249082, "in H2O": 0.249082,
		"inches of water": 0.249082, "mm H2O": 0.00980638, "osi": 6.894757 / 16,
	} {
		got, ok := PressureUnit(name)
		// NIST prints six digits and more; in of water differ by the temperature in
		// the third.
		if !ok || math.Abs(float64(got/Kilopascal)/kpa-1) > 3e-3 {
			t.Errorf("%q is %v kPa (%v), want %v", name, got/Kilopascal, ok, kpa)
		}
	}
	for _, name := range []string{"", "in", `"`, "ft", "gal", "psia?"} {
		if got, ok := PressureUnit(name); ok {
			t.Errorf("%q is a pressure of %v", name, got)
		}
	}
}

// A message quotes the beginning of a long text, in whole characters.
func TestAMessageQuotesWholeCharacters(t *testing.T) {
	for n := 50; n < 64; n++ {
		e := (&Trouble{Text: strings.Repeat("x", n) + strings.Repeat("é", 40), Want: "a length", Why: "it is none"}).Error()
		if !utf8.ValidString(e) || strings.Contains(e, `\x`) || !strings.Contains(e, "...") {
			t.Errorf("after %d letters: %s", n, e)
		}
	}
	if e := (&Trouble{Text: " ", Want: "a length", Why: "it is none"}).Error(); e != "an empty cell is not a length: it is none" {
		t.Errorf("blanks read %q", e)
	}
}
