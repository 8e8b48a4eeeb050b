package unit

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// published holds, for each row of testdata/check_values.csv, what this package
// makes of its input. The file's source column names the standard each figure
// comes from (NIST Handbook 44 Appendix C, NIST SP 811 Appendix B); its
// how_known column says how far it was checked.
var published = map[string]func() float64{
	"U01": func() float64 { return CubicInches.Number(USGallon) },
	"U02": func() float64 { return Litres.Number(USGallon) },
	"U03": func() float64 { return Litres.Number(ImperialGallon) },
	"U04": func() float64 { return USGallons.Number(ImperialGallon) },
	"U05": func() float64 { return CubicInches.Number(ImperialGallon) },
	"U06": func() float64 { return USGallons.Number(Barrel) },
	"U07": func() float64 { return Litres.Number(Barrel) },
	"U08": func() float64 { return Millimetres.Number(Inch) },
	"U09": func() float64 { return Millimetres.Number(Foot) },
	"U10": func() float64 { return Millimetres.Number(0.125) },
	"U11": func() float64 { return 1000 * Litres.Number(CubicInch) },
	"U12": func() float64 { return USGallons.Number(CubicFoot) },
	"U13": func() float64 { return USGallons.Number(CubicMetre) },
	"U14": func() float64 { return float64(PoundForceFoot / NewtonMetre) },
	"U15": func() float64 { return float64(PoundForceInch / NewtonMetre) },
	"U16": func() float64 { return float64(PSI / Pascal) },
	"U17": func() float64 { return float64(InchOfWater / Pascal) },
	"U18": func() float64 { return float64(InchOfWater39F / Pascal) },
	"U19": func() float64 { return float64(InchOfWater60F / Pascal) },
	"U20": func() float64 { return float64(PSI / InchOfWater) },
	"U21": func() float64 { return float64(2.5 * InchOfWater / Pascal) },
	"U22": func() float64 { return float64(KilogramMetre / NewtonMetre) },
}

func TestPublishedFactors(t *testing.T) {
	f, err := os.Open("testdata/check_values.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for _, row := range rows[1:] {
		id, what, source := row[0], row[1], row[6]
		compute, ok := published[id]
		if !ok {
			t.Errorf("%s (%s) has no computation", id, what)
			continue
		}
		if strings.TrimSpace(source) == "" {
			t.Errorf("%s names no source", id)
		}
		want, _ := strconv.ParseFloat(row[3], 64)
		tol, _ := strconv.ParseFloat(row[5], 64)
		// A published figure is given to some digits and held in binary: half
		// the last printed digit at most, two units of a float64 at least.
		tol = max(tol, 4e-16*want, half(row[3]))
		if got := compute(); !(math.Abs(got-want) <= tol) {
			t.Errorf("%s %s: got %v, published %v (%s)", id, what, got, row[3], source)
		}
		seen++
	}
	if seen != len(published) {
		t.Errorf("%d rows read, %d expected", seen, len(published))
	}
}

// half gives half of the last digit of a figure that was cut to 15 digits; a
// shorter one is exact.
func half(s string) float64 {
	digits := strings.TrimLeft(strings.Replace(s, ".", "", 1), "0")
	if len(digits) < 13 {
		return 0
	}
	_, frac, _ := strings.Cut(s, ".")
	return 0.5 * math.Pow(10, -float64(len(frac)))
}
