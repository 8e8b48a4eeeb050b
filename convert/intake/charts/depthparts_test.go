package charts

import (
	"math"
	"testing"

	"dropcut/convert/intake/intaketest"
)

// partsCases are depths in two and three columns, in the dresses that people give
// them; of our own invention.
func partsCases() []layoutCase {
	rows := func(to float64, form func(d float64) string) string {
		return intaketest.RunOf(0, to, 0.125, func(d float64) string { return form(d) + "|" + intaketest.Num(curve(d, 10000)) })
	}
	whole := func(d float64) string { return intaketest.Num(math.Floor(d)) }
	part := func(d float64) float64 { return d - math.Floor(d) }
	fraction := func(d float64) string {
		return [...]string{"", "1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8"}[int(part(d)*8)]
	}
	chart := wantChart{"DP-1", 385, [2]float64{0, 0}, [2]float64{48, curve(48, 10000)}, in, gal}
	return []layoutCase{
		{name: "feet, inches, eighths by number", tab: "DP-1", text: "Ft|In|Eighths|Gal\n" + rows(48, func(d float64) string {
			return intaketest.Num(math.Floor(d/12)) + "|" + intaketest.Num(math.Floor(math.Mod(d, 12))) + "|" + intaketest.Num(part(d)*8)
		}), charts: []wantChart{chart}},
		{name: "feet, inches, 1/8, each written where it changes", text: "Tank DP-1\nFt.|In.|1/8|Gallons\n" + rows(48, func(d float64) string {
			s := "|"
			if math.Mod(d, 12) == 0 {
				s = intaketest.Num(d/12) + "|"
			}
			if part(d) == 0 {
				s += intaketest.Num(math.Mod(d, 12))
			}
			return s + "|" + intaketest.Num(part(d)*8)
		}), charts: []wantChart{chart}},
		{name: "inches and a fraction written out, blank for none", text: "Tank DP-1\nInches|Fraction|Gallons\n" + rows(48, func(d float64) string { return whole(d) + "|" + fraction(d) }), charts: []wantChart{chart}},
		{name: "inches and a fraction, even for none", text: "Tank DP-1\nInches|Frac.|Gallons\n" + rows(48, func(d float64) string {
			f := fraction(d)
			if f == "" {
				f = "Even"
			}
			return whole(d) + "|" + f
		}), charts: []wantChart{chart}},
		{name: "inches and a column of fractions without a heading", text: "Tank DP-1\nInches||Gallons\n" + rows(48, func(d float64) string { return whole(d) + "|" + fraction(d) }), charts: []wantChart{chart}},
		{name: "inches and sixteenths, german", text: "Tank DP-1\nZoll|Sechzehntel|US Gallonen\n" + rows(48, func(d float64) string { return whole(d) + "|" + intaketest.Num(part(d)*16) }), charts: []wantChart{chart}},
		{
			name: "feet and tenths", text: "Tank DP-2\nFeet|Tenths|Barrels\n" + intaketest.RunOf(0, 80, 1, func(d float64) string {
				return intaketest.Num(math.Floor(d/10)) + "|" + intaketest.Num(math.Mod(d, 10)) + "|" + intaketest.Num(curve(d, 900))
			}),
			charts: []wantChart{{"DP-2", 81, [2]float64{0, 0}, [2]float64{8, curve(80, 900)}, ft, bbl}},
		},
	}
}

func TestDepthsInSeveralColumns(t *testing.T) {
	for _, c := range partsCases() {
		t.Run(c.name, func(t *testing.T) { c.check(t) })
	}
}
