package charts

import (
	"strings"
	"testing"

	"dropcut/convert/intake/intaketest"
)

// pageCases are charts over several pages or blocks of one sheet, of our own
// invention. A chart that stops where a page ends passes for a smaller tank, so
// that what goes on from it is never left out without a word.
func pageCases() []layoutCase {
	chart := func(to float64) wantChart {
		return wantChart{"PG-4", int(to) + 1, [2]float64{0, 0}, [2]float64{to, curve(to, 10000)}, in, gal}
	}
	fold := func(from, by float64) string {
		return intaketest.RunOf(from, from+by-1, 1, func(d float64) string {
			s := ""
			for k := range 3 {
				if x := d + float64(k)*by; x <= 96 {
					s += "|" + dv("|")(x)
				} else {
					s += "||"
				}
			}
			return s[1:]
		})
	}
	first := "Tank PG-4\nDepth (in)|Volume (gal)\n" + intaketest.RunOf(0, 48, 1, dv("|")) + "\n"
	next := func(head string, times float64) string {
		return head + "\n" + intaketest.RunOf(49, 96, 1, func(d float64) string { return intaketest.Num(d) + "|" + intaketest.Num(curve(d, 10000)*times) })
	}
	nameless := wantChart{"", 97, [2]float64{0, 0}, [2]float64{96, 10000}, in, gal}
	heads := "in|gal|in|gal|in|gal\n"
	return []layoutCase{
		{name: "the next page in other words", text: first + next("Dip, inches|Contents, US gallons", 1), charts: []wantChart{chart(96)}},
		{name: "the next page without units", text: first + next("Depth|Volume", 1), charts: []wantChart{chart(96)}},
		{
			name: "the next page in litres", text: first + next("Depth (in)|Volume (L)", 4), charts: []wantChart{chart(48)},
			finds: []string{"volume-unit-changes-midway stop B53"},
		},
		{
			name: "the next page in centimetres by their numbers", text: first + "Depth (cm)|Volume (gal)\n" + intaketest.RunOf(49, 96, 1, func(d float64) string { return intaketest.Num(d*2.54) + "|" + intaketest.Num(curve(d, 10000)) }),
			charts: []wantChart{chart(48)}, finds: []string{"depth-unit-changes-midway stop A53"},
		},
		{
			name: "the next page in centimetres by its heading alone", text: first + next("Depth (cm)|Volume (gal)", 1), charts: []wantChart{chart(48)},
			finds: []string{"depth-unit-changes-midway stop A53"},
		},
		{name: "a page behind, named for another tank", text: first + "Tank PG-5\n" + next("Depth (in)|Volume (gal)", 1), charts: []wantChart{chart(48), {"PG-5", 48, [2]float64{49, curve(49, 10000)}, [2]float64{96, 10000}, in, gal}}},
		{
			name: "wide pages, one tank in other units", text: "Depth (in)|QA-1 (gal)|QA-2 (gal)\n" + intaketest.RunOf(0, 48, 1, func(d float64) string { return dv("|")(d) + "|" + intaketest.Num(curve(d, 8000)) }) +
				"\nDepth (in)|QA-1 (gal)|QA-2 (L)\n" + intaketest.RunOf(49, 96, 1, func(d float64) string { return dv("|")(d) + "|" + intaketest.Num(curve(d, 8000)*4) }),
			charts: []wantChart{{"QA-1", 97, [2]float64{0, 0}, [2]float64{96, 10000}, in, gal}, {"QA-2", 49, [2]float64{0, 0}, [2]float64{48, curve(48, 8000)}, in, gal}},
			finds:  []string{"volume-unit-changes-midway stop C52"},
		},
		{
			name: "long pages, the second in litres", text: "Tank|Depth (in)|Volume (gal)\n" + intaketest.RunOf(0, 48, 1, func(d float64) string { return "PG-4|" + dv("|")(d) }) +
				"\nTank|Depth (in)|Volume (L)\n" + intaketest.RunOf(49, 96, 1, func(d float64) string { return "PG-4|" + intaketest.Num(d) + "|" + intaketest.Num(curve(d, 40000)) }),
			charts: []wantChart{chart(48)}, finds: []string{"volume-unit-changes-midway stop C52"},
		},
		{
			name: "pages with a row of units, the second in millimetres", tab: "Charts", text: "Tank PG-4\nDepth|Volume\nin|gal\n" + intaketest.RunOf(0, 48, 1, dv("|")) +
				"\nDepth|Volume\nmm|gal\n" + intaketest.RunOf(49, 96, 1, func(d float64) string { return intaketest.Num(d*25.4) + "|" + intaketest.Num(curve(d, 10000)) }),
			charts: []wantChart{chart(48)}, finds: []string{"depth-unit-changes-midway stop A54"},
		},
		{
			name: "a title of the second page names litres", text: first + "Page 2, contents in litres\n" + next("Depth (in)|Volume (gal)", 1), charts: []wantChart{chart(96)},
			finds: []string{"units-conflict stop A53:B54"},
		},
		{name: "two folded charts with one heading", text: heads + fold(0, 33) + "\n" + heads + fold(0, 33), charts: []wantChart{nameless, nameless}},
		{name: "two folded charts, no blank row", tab: "Blatt 2", text: heads + fold(0, 33) + heads + fold(0, 33), charts: []wantChart{nameless, nameless}},
		{
			name: "two folded charts, the second named", text: heads + fold(0, 33) + "\nTank PG-4\n" + heads + fold(0, 33),
			charts: []wantChart{nameless, chart(96)},
		},
		{name: "a fold that begins anew on each page", text: "Tank PG-4\n" + heads + fold(0, 17) + "\n" + heads + fold(51, 17), charts: []wantChart{chart(96)}},
	}
}

func TestCharts_overPages(t *testing.T) {
	for _, c := range pageCases() {
		t.Run(c.name, func(t *testing.T) { c.check(t) })
	}
}

// Rows of one chart stand in the order of their depths, whatever pages they come
// from.
func TestCharts_overPagesInOrder(t *testing.T) {
	for _, c := range pageCases() {
		got, err := Read(c.sheet(), Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range got.Charts {
			for i := 1; i < len(x.Rows); i++ {
				if x.Rows[i].Depth <= x.Rows[i-1].Depth || x.Rows[i].Volume < x.Rows[i-1].Volume {
					t.Fatalf("%s, %s: row %d falls back", c.name, strings.TrimSpace(x.Name), i)
				}
			}
		}
	}
}
