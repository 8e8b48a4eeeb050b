package charts

import (
	"strings"
	"testing"

	"dropcut/convert/intake/intaketest"
)

// matrixCases are matrices as people head them, of our own invention: with and
// without words for the parts, with the title in two cells, on their side.
func matrixCases() []layoutCase {
	rows := func(from, to, step, part float64, n int, form string) string {
		return intaketest.RunOf(from, to, step, func(d float64) string {
			s := intaketest.Num(d)
			for k := range n {
				s += "|" + strings.ReplaceAll(form, "V", intaketest.Num(curve(d/step*float64(n)*part+float64(k)*part, 10000)))
			}
			return s
		})
	}
	eighth := func(name string, to float64) wantChart {
		return wantChart{name, int(to+1) * 8, [2]float64{0, 0}, [2]float64{to + 0.875, curve(to+0.875, 10000)}, in, gal}
	}
	feet := wantChart{"MX-2", 96, [2]float64{0, 0}, [2]float64{95.0 / 12, curve(95, 10000)}, ft, gal}
	side := func(corner, unit string) string {
		var b strings.Builder
		b.WriteString(corner)
		for d := range 48 {
			b.WriteString("|" + intaketest.Num(float64(d)) + unit)
		}
		for k, f := range []string{"0", "1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8"} {
			b.WriteString("\n" + f)
			for d := range 48 {
				b.WriteString("|" + intaketest.Num(curve(float64(d)+float64(k)/8, 10000)))
			}
		}
		return b.String() + "\n"
	}
	return []layoutCase{
		{name: "even and eighths, units in the cells", text: "Tank MX-1\nInches|Even|1/8|1/4|3/8|1/2|5/8|3/4|7/8\n" + rows(0, 47, 1, 0.125, 8, "V gal"), layout: "matrix", charts: []wantChart{eighth("MX-1", 47)}},
		{name: "no head over the whole inches", tab: "MX-1", text: "Gallons\nInches||1/8|1/4|3/8|1/2|5/8|3/4|7/8\n" + rows(0, 47, 1, 0.125, 8, "V"), charts: []wantChart{eighth("MX-1", 47)}},
		{name: "eighths by number alone", text: "Tank MX-1|US gallons\nin|0|1|2|3|4|5|6|7\n" + rows(0, 47, 1, 0.125, 8, "V"), charts: []wantChart{eighth("MX-1", 47)}},
		{name: "feet down and inches across, feet named", text: "Tank MX-2 gallons\nFt|0|1|2|3|4|5|6|7|8|9|10|11\n" + rows(0, 7, 1, 1, 12, "V"), charts: []wantChart{feet}},
		{name: "feet down and inches across, inches named", text: "Tank MX-2 gallons\nInches|0|1|2|3|4|5|6|7|8|9|10|11\n" + rows(0, 7, 1, 1, 12, "V"), charts: []wantChart{feet}},
		{
			name: "a name that looks like a unit, plus signs", text: "Tank M3|litres\ncm|+0|+1|+2|+3|+4|+5|+6|+7|+8|+9\n" + rows(0, 80, 10, 1, 10, "V"),
			charts: []wantChart{{"M3", 90, [2]float64{0, 0}, [2]float64{89, curve(89, 10000)}, cm, litres}},
		},
		{name: "on its side, units in the heads", text: "Tank MX-1 (gallons)\n" + side("", " in"), charts: []wantChart{eighth("MX-1", 47)}},
		{name: "on its side, the unit in the corner", tab: "MX-1", text: "Volumes in US gallons\n" + side("Inches", ""), charts: []wantChart{eighth("MX-1", 47)}},
		{
			name: "twelve columns of millimetres are none", text: "Tank MX-3 litres\nmm|0|1|2|3|4|5|6|7|8|9|10|11\n" + rows(0, 7, 1, 1, 12, "V"),
			charts: []wantChart{{"MX-3", 96, [2]float64{0, 0}, [2]float64{95.0 / 12, curve(95, 10000)}, mm, litres}}, finds: []string{"units-conflict stop A2"},
		},
	}
}

func TestMatrices(t *testing.T) {
	for _, c := range matrixCases() {
		t.Run(c.name, func(t *testing.T) { c.check(t) })
	}
}
