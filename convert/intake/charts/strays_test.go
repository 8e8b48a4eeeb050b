package charts

import (
	"strings"
	"testing"

	"dropcut/convert/intake/intaketest"
)

// strayCases are charts with spoiled rows, of our own invention: what stands in a
// row is told with its cell, or read; it is never left out without a word.
func strayCases() []layoutCase {
	head := "Tank ST-1\nDepth (in)|Volume (gal)\n"
	// with writes 97 rows, those from..to in the form given.
	with := func(head, form, other string, from, to float64) string {
		return head + intaketest.RunOf(0, 96, 1, func(d float64) string {
			f := form
			if d >= from && d <= to {
				f = other
			}
			return strings.NewReplacer("D", intaketest.Num(d), "V", intaketest.Num(curve(d, 10000))).Replace(f)
		})
	}
	long := "Tank|Depth (in)|Volume (gal)\n"
	two := func(other string, from, to float64) string {
		return with(long, "ST-0|D|V", "", 200, 200) + with("", "ST-1|D|V", other, from, to)
	}
	st0 := wantChart{"ST-0", 97, [2]float64{0, 0}, [2]float64{96, 10000}, in, gal}
	part := func(rows int, first, last float64) wantChart {
		return wantChart{"ST-1", rows, [2]float64{first, curve(first, 10000)}, [2]float64{last, curve(last, 10000)}, in, gal}
	}
	nodepth := func(rows int) wantChart {
		return wantChart{"ST-1", rows, [2]float64{nan, 0}, [2]float64{96, 10000}, in, gal}
	}
	return []layoutCase{
		{name: "four rows to the right", text: with(head, "D|V", "|D|V", 30, 33), charts: []wantChart{part(97, 0, 96)}, finds: []string{"cells-out-of-column stop 33:36"}},
		{name: "the last rows to the right", text: with(head, "D|V", "|D|V", 93, 96), charts: []wantChart{part(93, 0, 92)}, finds: []string{"cells-out-of-column stop 96:99"}},
		{name: "the last rows to the right, a footer below", text: with(head, "D|V", "|D|V", 93, 96) + "Total|10000\n", charts: []wantChart{part(93, 0, 92)}, finds: []string{"cells-out-of-column stop 96:99"}},
		{name: "the first rows to the right", tab: "Sheet1", text: with(head, "D|V", "||D|V", 0, 2), charts: []wantChart{part(94, 3, 96)}, finds: []string{"cells-out-of-column stop 3:5"}},
		{name: "long, amid one tank, one column to the left", text: two("D|V", 30, 33), charts: []wantChart{st0, part(97, 0, 96)}, finds: []string{"cells-out-of-column stop 129:132"}},
		{name: "long, the first rows of the second tank", text: two("ST-1||D|V", 0, 2), charts: []wantChart{st0, part(94, 3, 96)}, finds: []string{"cells-out-of-column stop 99:101"}},
		{name: "long, the last rows of the first tank", text: with(long, "ST-1|D|V", "ST-1||D|V", 95, 96) + with("", "ST-0|D|V", "", 200, 200), charts: []wantChart{part(95, 0, 94), st0}, finds: []string{"cells-out-of-column stop 97:98"}},
		{name: "both numbers in one cell", text: with(head, "D|V", "D V|", 30, 30), charts: []wantChart{part(97, 0, 96)}, finds: []string{"cell-unreadable stop A33"}},
		{name: "a depth in words", text: with(head, "D|V", "thirty|V", 30, 30), charts: []wantChart{part(97, 0, 96)}, finds: []string{"cell-unreadable stop A33"}},
		{name: "the first depth a letter", text: with(head, "D|V", "O|V", 0, 0), charts: []wantChart{nodepth(97)}, finds: []string{"cell-unreadable stop A3"}},
		{name: "the first depth left out", tab: "Sheet1", text: with(head, "D|V", "|V", 0, 0), charts: []wantChart{nodepth(97)}, finds: []string{"cell-unreadable stop A3"}},
		{
			name: "the last depth left out", text: with(head, "D|V", "|V", 96, 96),
			charts: []wantChart{{"ST-1", 97, [2]float64{0, 0}, [2]float64{nan, 10000}, in, gal}}, finds: []string{"cell-unreadable stop A99"},
		},
		{name: "every fifth depth left out", text: long + intaketest.RunOf(0, 96, 1, func(d float64) string {
			if int(d)%5 == 0 {
				return "ST-1||" + intaketest.Num(curve(d, 10000))
			}
			return "ST-1|" + dv("|")(d)
		}), charts: []wantChart{nodepth(97)}, finds: []string{"cell-unreadable stop B2:B97"}},
		{
			name: "the last row without depth and volume, below numbers for site and tank", text: "Site|Tank|Depth (in)|Volume (gal)\n" + with("", "5|7|D|V", "5|7||", 96, 96),
			charts: []wantChart{{"7", 96, [2]float64{0, 0}, [2]float64{95, curve(95, 10000)}, in, gal}},
		},
		{name: "totals and shares below are none", text: with(head, "D|V", "", 200, 200) + "|9500\nTotal|10000\n95 %|9500\n", charts: []wantChart{part(97, 0, 96)}},
		{name: "a second table beside the footer is none", text: with(head, "D|V", "", 200, 200) + "||2|7\n", charts: []wantChart{part(97, 0, 96)}},
	}
}

func TestStrayRows(t *testing.T) {
	for _, c := range strayCases() {
		t.Run(c.name, func(t *testing.T) { c.check(t) })
	}
}
