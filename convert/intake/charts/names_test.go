package charts

import (
	"testing"

	"dropcut/convert/intake/intaketest"
)

// nameCases are charts whose tank is named in ways of their own; of our own
// invention.
func nameCases() []layoutCase {
	rows := func(form string) string {
		return intaketest.RunOf(0, 96, 1, func(d float64) string { return form + dv("|")(d) })
	}
	pair := func() string {
		return intaketest.RunOf(0, 96, 1, func(d float64) string {
			return dv("|")(d) + "|" + intaketest.Num(d) + "|" + intaketest.Num(curve(d, 8000))
		})
	}
	small := func(name string) wantChart {
		return wantChart{name, 97, [2]float64{0, 0}, [2]float64{96, 8000}, in, gal}
	}
	side := func(first, word string, of func(d float64) float64) string {
		s := first + "|" + word
		for d := range 25 {
			s += "|" + intaketest.Num(of(float64(d*4)))
		}
		return s + "\n"
	}
	depth := func(d float64) float64 { return d }
	turned := func(name string, full float64) wantChart {
		return wantChart{name, 25, [2]float64{0, 0}, [2]float64{96, full}, in, gal}
	}
	big, little := func(d float64) float64 { return curve(d, 10000) }, func(d float64) float64 { return curve(d, 8000) }
	return []layoutCase{
		{name: "the name on a row above its group, totals below", text: "Tank|Depth (in)|Volume (gal)\nNG-3||\n" + rows("|") + "NG-3 total||10000\nNG-4\n" + rows("|"), layout: "long", charts: []wantChart{std("NG-3"), std("NG-4")}},
		{name: "ditto marks", tab: "Data", text: "Tank|Depth (in)|Volume (gal)\nND-1|0|0\n" + intaketest.RunOf(1, 96, 1, func(d float64) string { return `"|` + dv("|")(d) }) + "ND-2|0|0\n" + intaketest.RunOf(1, 96, 1, func(d float64) string { return `do.|` + dv("|")(d) }), charts: []wantChart{std("ND-1"), std("ND-2")}},
		{name: "two words over each pair, above the volumes", text: "|North Tank||South Tank\nDepth (in)|Gallons|Depth (in)|Gallons\n" + pair(), charts: []wantChart{std("North Tank"), small("South Tank")}},
		{name: "two words over each pair, above the depths", text: "North Tank||South Tank\nDepth (in)|Gallons|Depth (in)|Gallons\n" + pair(), charts: []wantChart{std("North Tank"), small("South Tank")}},
		{name: "two words over each column, units below", text: "Depth (in)|North Tank|South Tank\n|gal|gal\n" + intaketest.RunOf(0, 96, 1, func(d float64) string { return dv("|")(d) + "|" + intaketest.Num(curve(d, 8000)) }), layout: "wide", charts: []wantChart{std("North Tank"), small("South Tank")}},
		{name: "on its side, ids before the words", text: side("Tank", "Depth (in)", depth) + side("NL-8", "Volume (gal)", big) + side("NL-9", "Volume (gal)", little), charts: []wantChart{turned("NL-8", 10000), turned("NL-9", 8000)}},
		{name: "on its side, one tank's id before the words", tab: "Sheet1", text: side("Tank", "Dip, inches", depth) + side("NL-8", "Gallons", big), charts: []wantChart{turned("NL-8", 10000)}},
		{name: "on its side, depths of each tank", text: side("NL-8", "Depth (in)", depth) + side("", "Volume (gal)", big) + side("NL-9", "Depth (in)", depth) + side("", "Volume (gal)", little), charts: []wantChart{turned("NL-8", 10000), turned("NL-9", 8000)}},
		{
			name: "a manifolded pair with a slash", text: "Tank|Depth (in)|Volume (gal)\n" + rows("5A/5B combined|"), charts: []wantChart{std("5A+5B")},
			finds: []string{"combined-volume note A2"},
		},
		{name: "an id that a program has written as a power of ten", text: "Tank|Depth (in)|Volume (gal)\n" + rows("1.2E+11|"), charts: []wantChart{std("1.2E+11")}},
		{
			name: "one chart twice, in inches and millimetres", tab: "NT-1", text: "Depth (in)|Volume (gal)|Depth (mm)|Volume (L)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
				return dv("|")(d) + "|" + intaketest.Num(d*25.4) + "|" + intaketest.Num(curve(d, 10000)*3.785411784)
			}), layout: "depth and volume", charts: []wantChart{std("NT-1")},
		},
	}
}

func TestNames_ofCharts(t *testing.T) {
	for _, c := range nameCases() {
		t.Run(c.name, func(t *testing.T) { c.check(t) })
	}
}

// A tab that is the first part of the title's name is short for it.
func TestTab_shortForTheTitle(t *testing.T) {
	text := "Depth (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, dv("|"))
	for tab, finds := range map[string][]string{"JK": nil, "JK-2": {"title-and-sheet-differ check A1"}, "J": {"title-and-sheet-differ check A1"}} {
		layoutCase{name: tab, tab: tab, text: "Tank JK-1\n" + text, charts: []wantChart{std("JK-1")}, finds: finds}.check(t)
	}
}
