package charts

import (
	"fmt"
	"strings"
	"testing"

	"dropcut/convert/intake/intaketest"
)

// The catalogue once more in another dress: titles, tabs, heads and notes as
// people were seen to write them, with invented names. The figures are those of
// the lying cylinder of curve.
func TestDress(t *testing.T) {
	run := func(full float64) string {
		return intaketest.RunOf(0, 96, 1, func(d float64) string { return intaketest.Num(d) + "|" + intaketest.Num(curve(d, full)) })
	}
	std := func(name string) wantChart {
		return wantChart{name, 97, [2]float64{0, 0}, [2]float64{96, 10000}, in, gal}
	}
	small := func(name string) wantChart {
		return wantChart{name, 97, [2]float64{0, 0}, [2]float64{96, 4000}, in, gal}
	}
	inCM := func(name string) wantChart {
		return wantChart{name, 97, [2]float64{0, 0}, [2]float64{96, 10000}, cm, litres}
	}
	side := func(second float64) string {
		return intaketest.RunOf(0, 96, 1, func(d float64) string {
			return fmt.Sprintf("%v|%v|%v|%v", d, curve(d, 10000), d, curve(d, second))
		})
	}
	across := intaketest.RunOf(0, 96, 1, func(d float64) string {
		return fmt.Sprintf("%v|%v|%v", d, curve(d, 10000), curve(d, 4000))
	})
	again := intaketest.RunOf(0, 96, 1, func(d float64) string {
		return fmt.Sprintf("%v|%v|%v|%v", d, curve(d, 10000), curve(d, 4000), d)
	})
	ullages := intaketest.RunOf(0, 96, 1, func(d float64) string { return fmt.Sprintf("%v|%v", d, curve(96-d, 10000)) })
	tens := func(label func(d float64) string) string {
		return intaketest.RunOf(0, 90, 10, func(d float64) string {
			s := label(d)
			for k := range 10 {
				if d+float64(k) <= 96 {
					s += "|" + intaketest.Num(curve(d+float64(k), 10000))
				}
			}
			return s
		})
	}
	eighth := func(name string) wantChart {
		return wantChart{name, 89, [2]float64{0, 0}, [2]float64{11, 0}, in, gal}
	}
	eighth11 := intaketest.RunOf(0, 11, 1, func(d float64) string {
		s := intaketest.Num(d)
		for k := range 8 {
			if x := d + float64(k)/8; x <= 11 {
				s += "|" + intaketest.Num(fill(x))
			}
		}
		return s
	})
	last := eighth("FM-11")
	last.last[1] = fill(11)
	pages := ""
	for i, part := range []string{run(10000)} {
		lines := strings.Split(strings.TrimRight(part, "\n"), "\n")
		for k := 0; k < len(lines); k += 40 {
			pages += fmt.Sprintf("Tank AC-9 calibration||Page %d of 3\nDepth (in)|Volume (gal)\n%s\n", k/40+1+i, strings.Join(lines[k:min(k+40, len(lines))], "\n"))
		}
	}
	twoDigits := intaketest.RunOf(0, 96, 1, func(d float64) string {
		return fmt.Sprintf("UB-3|%d.%02d|%v", int(d)/12, int(d)%12, curve(d, 10000))
	})
	byTwo := intaketest.RunOf(0, 96, 2, func(d float64) string {
		return fmt.Sprintf("UB-4|%d.%d|%v", int(d)/12, int(d)%12, curve(d, 10000))
	})
	amp := intaketest.RunOf(0, 6, 0.125, func(d float64) string {
		return strings.Replace(eighths(d), " ", " & ", 1) + "|" + intaketest.Num(fill(d))
	})
	for _, c := range []layoutCase{
		{name: "a tab that is a number", tab: "002", text: "Depth (in)|Volume (gal)\n" + run(10000), charts: []wantChart{std("002")}},
		{name: "a tab that is a number, and a list without it", tab: "1", ids: []string{"AB-7"}, text: "Depth (in)|Volume (gal)\n" + run(10000), charts: []wantChart{std("")}},
		{name: "an id alone above each block", text: "OB-1\nin|gal\n" + run(10000) + "OB-2\nin|gal\n" + run(4000), charts: []wantChart{std("OB-1"), small("OB-2")}},
		{name: "a drawing's revision names no tank", text: "Rev-3\nin|gal\n" + run(10000), charts: []wantChart{std("")}},
		{name: "a size names no tank", text: "96x320\nin|gal\n" + run(10000), charts: []wantChart{std("")}},
		{name: "an id and a unit", text: "ND-3 Gallons\nInches|\n" + run(10000), charts: []wantChart{std("ND-3")}},
		{name: "an id before a colon", text: "JK-8: alturas en centímetros, volúmenes en litros\nAltura|Volumen\n" + run(10000), charts: []wantChart{inCM("JK-8")}},
		{name: "the word chart before the id", text: "Tank chart EK-9, 96 x 320 in\nDepth in|Gal\n" + run(10000), charts: []wantChart{std("EK-9")}},
		{name: "a page beside the title", text: pages, charts: []wantChart{std("AC-9")}},
		{name: "units beside the title", text: "Tank 11||in / gal\nDepth|Volume\n" + run(10000), charts: []wantChart{std("11")}},
		{name: "a unit alone behind a colon", text: "Tank: ND-5 - Capacity: gallons\nDepth in|Volume\n" + run(10000), charts: []wantChart{std("ND-5")}},
		{name: "the country with points in a row of units", text: "Depth|Volume\ninches|U.S. gallons\n" + run(10000), charts: []wantChart{std("")}},
		{name: "names with capacities over pairs", text: "DE-1 (10,000 gal)||DE-2 (4,000 gal)|\nInches|Gallons|Inches|Gallons\n" + side(4000), charts: []wantChart{std("DE-1"), small("DE-2")}},
		{name: "names over wide columns, the unit of depths alone below", text: "Gauge charts, US gallons\n\n|Tank 5|Tank 6\nInches||\n" + across, charts: []wantChart{std("5"), small("6")}},
		{name: "tanks that are numbers below one heading", text: "Stick (in)|Gallons|\n|'0417|'0418\n" + across, charts: []wantChart{std("0417"), small("0418")}},
		{name: "tanks 103 and 106 are no powers of ten", text: "Depth (in)|Tank 103 (gal)|Tank 106 (gal)\n" + across, charts: []wantChart{std("103"), small("106")}},
		{name: "the depths once more at the right", text: "Depth (in)|T-101 (gal)|T-102 (gal)|Depth (in)\n" + again, charts: []wantChart{std("T-101"), small("T-102")}},
		{name: "volume at a share beside", text: "Tank QB\nDepth (in)|Volume (gal)|90 % vol\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return fmt.Sprintf("%v|%v|%v", d, curve(d, 10000), float64(int(curve(d, 10000)*9+5)/10))
		}), charts: []wantChart{std("QB")}},
		{name: "the inside height in three cells", text: "Tank GM-1\nInside height|96|in\nUllage (in)|Volume (gal)\n" + ullages, charts: []wantChart{std("GM-1")}},
		{name: "the inside height with a gap, french", text: "Cuve 6\nHauteur intérieure||96|cm\nCreux (cm)|Volume (L)\n" + ullages, charts: []wantChart{inCM("6")}},
		{name: "the inside diameter beside the headings", text: "Tank GM-9\nUllage (in)|Volume (gal)||Inside diameter|96 in\n" + ullages, charts: []wantChart{std("GM-9")}},
		{name: "the inside height repeated in a column", text: "Tank GM-8\nInside height (in)|Ullage (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return fmt.Sprintf("96|%v|%v", d, curve(96-d, 10000))
		}), charts: []wantChart{std("GM-8")}},
		{name: "the unit in each head of a matrix", text: "Cuve 95, litres\ndm|0 cm|1 cm|2 cm|3 cm|4 cm|5 cm|6 cm|7 cm|8 cm|9 cm\n" + tens(func(d float64) string { return intaketest.Num(d / 10) }), charts: []wantChart{{"95", 97, [2]float64{0, 0}, [2]float64{9.6, 10000}, dm, litres}}},
		{name: "the unit in the heads alone", text: "Cuve 96, litres\n|0 cm|1 cm|2 cm|3 cm|4 cm|5 cm|6 cm|7 cm|8 cm|9 cm\n" + tens(func(d float64) string { return intaketest.Num(d / 10) }), charts: []wantChart{{"96", 97, [2]float64{0, 0}, [2]float64{9.6, 10000}, dm, litres}}},
		{name: "a row of units below the heads of a matrix", text: "Tank FM-11\nPulgadas|0|1/8|1/4|3/8|1/2|5/8|3/4|7/8\n|gal|gal|gal|gal|gal|gal|gal|gal\n" + eighth11, charts: []wantChart{last}},
		{name: "whole and fraction joined by a sign", text: "Tank 5\nDepth (in)|Volume (gal)\n" + amp, charts: []wantChart{{"5", 49, [2]float64{0, 0}, [2]float64{6, fill(6)}, in, gal}}},
		{
			name: "feet and inches with a point, two digits", text: "Tank|Pies|Galones\n" + twoDigits, finds: []string{"feet-inches-with-point stop B14:B86"},
			charts: []wantChart{{"UB-3", 97, [2]float64{0, 0}, [2]float64{8, 10000}, ft, gal}},
		},
		{
			name: "feet and inches with a point, by two inches", text: "Tank|Pies|Galones\n" + byTwo, finds: []string{"feet-inches-with-point stop B7:B49"},
			charts: []wantChart{{"UB-4", 49, [2]float64{0, 0}, [2]float64{8, 10000}, ft, gal}},
		},
	} {
		t.Run(c.name, c.check)
	}
}
