package charts

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"dropcut/convert/grid"
	"dropcut/convert/intake/intaketest"
	"dropcut/plan/chart"
)

// eighths writes a depth in eighths as people do: 0, 1/8, 1 3/8.
func eighths(d float64) string {
	w := math.Floor(d)
	n := int(math.Round((d - w) * 8))
	den := 8
	for n > 0 && n%2 == 0 {
		n, den = n/2, den/2
	}
	switch {
	case n == 0:
		return intaketest.Num(w)
	case w == 0:
		return strconv.Itoa(n) + "/" + strconv.Itoa(den)
	}
	return intaketest.Num(w) + " " + strconv.Itoa(n) + "/" + strconv.Itoa(den)
}

func fill(d float64) float64 { return math.Round(d*d*3*10) / 10 }

// comma writes a number with a decimal comma and points for thousands.
func comma(f float64, decimals int) string {
	s := strconv.FormatFloat(f, 'f', decimals, 64)
	whole, frac, _ := strings.Cut(s, ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "." + whole[i:]
	}
	if decimals == 0 {
		return whole
	}
	return whole + "," + frac
}

func faultCases() []layoutCase {
	inches := func(n int) wantChart {
		return wantChart{"FX-1", n, [2]float64{0, 0}, [2]float64{float64(n-1) / 8, fill(float64(n-1) / 8)}, in, gal}
	}
	head := "Tank FX-1\nDepth (in)|Volume (gal)\n"
	// The first inch with its fractions given in the forms of a date.
	dates := func(forms ...string) string {
		var b strings.Builder
		i := 0
		for k := range 25 {
			d := float64(k) / 8
			t := intaketest.Num(d)
			if k > 0 && k < 8 {
				t = forms[i]
				i++
			}
			b.WriteString(t + "|" + intaketest.Num(fill(d)) + "\n")
		}
		return b.String()
	}
	rows := func(form func(d float64) string) string { return intaketest.RunOf(0, 6, 0.125, form) }
	return []layoutCase{
		{name: "dates by format", tab: "FX-1", text: "Depth (in)|Volume (gal)\n" + dates("@46030", "@46026", "@46089", "@46024", "@46150", "@46085", "@46211"), charts: []wantChart{inches(25)}, finds: []string{"depth-turned-into-date stop A3:A9"}},
		{name: "dates as serial numbers", text: head + dates("46030", "46026", "46089", "46024", "46150", "46085", "46211"), charts: []wantChart{inches(25)}, finds: []string{"depth-turned-into-date stop A4:A10"}},
		{name: "dates as day and month", text: head + dates("8-Jan", "4-Jan", "8-Mar", "2-Jan", "8-May", "4-Mar", "8-Jul"), charts: []wantChart{inches(25)}, finds: []string{"depth-turned-into-date stop A4:A10"}},
		{name: "dates as month and day", text: head + dates("Jan-08", "Jan-04", "Mar-08", "Jan-02", "May-08", "Mar-04", "Jul-08"), charts: []wantChart{inches(25)}, finds: []string{"depth-turned-into-date stop A4:A10"}},
		{name: "dates in figures", text: head + dates("01/08/2026", "01/04/2026", "03/08/2026", "01/02/2026", "05/08/2026", "03/04/2026", "07/08/2026"), charts: []wantChart{inches(25)}, finds: []string{"depth-turned-into-date stop A4:A10"}},
		{name: "dates with time", text: head + dates("2026-01-08 00:00:00", "2026-01-04 00:00:00", "2026-03-08 00:00:00", "2026-01-02 00:00:00", "2026-05-08 00:00:00", "2026-03-04 00:00:00", "2026-07-08 00:00:00"), charts: []wantChart{inches(25)}, finds: []string{"depth-turned-into-date stop A4:A10"}},
		{name: "dates, day first, french", text: head + dates("1-août", "1-avr", "3-août", "1-févr", "5-août", "3-avr", "7-août"), charts: []wantChart{inches(25)}, finds: []string{"depth-turned-into-date stop A4:A10"}},
		{name: "dates along the head of a matrix", text: "Tank MX-1 gallons\nin|0|8-Jan|4-Jan|8-Mar|2-Jan|8-May|4-Mar|8-Jul\n" + intaketest.RunOf(0, 20, 1, func(d float64) string {
			s := intaketest.Num(d)
			for k := range 8 {
				s += "|" + intaketest.Num(fill(d+float64(k)/8))
			}
			return s
		}), charts: []wantChart{{"MX-1", 168, [2]float64{0, 0}, [2]float64{20.875, fill(20.875)}, in, gal}}, finds: []string{"depth-turned-into-date stop C2:I2"}},
		{name: "fractions as text", tab: "FX-1", text: "Depth (in)|Volume (gal)\n" + rows(func(d float64) string { return eighths(d) + "|" + intaketest.Num(fill(d)) }), charts: []wantChart{inches(49)}},
		{name: "fractions with hyphen", text: head + rows(func(d float64) string {
			return strings.Replace(eighths(d), " ", "-", 1) + "|" + intaketest.Num(fill(d))
		}), charts: []wantChart{inches(49)}},
		{name: "fractions of unicode", text: head + rows(func(d float64) string {
			return strings.NewReplacer(" 1/8", "⅛", " 1/4", "¼", " 3/8", "⅜", " 1/2", "½", " 5/8", "⅝", " 3/4", "¾", " 7/8", "⅞", "1/8", "⅛", "7/8", "7⁄8").Replace(eighths(d)) + "|" + intaketest.Num(fill(d))
		}), charts: []wantChart{inches(49)}},
		{name: "feet and inches in one cell", text: "Tank FM-1\nDip|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return intaketest.Num(math.Floor(d/12)) + "' " + intaketest.Num(math.Mod(d, 12)) + "\"|" + intaketest.Num(curve(d, 10000))
		}), charts: []wantChart{std("FM-1")}},
		{name: "feet and inches with curly marks and fractions", text: "Tank FM-2\nDepth (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 0.5, func(d float64) string {
			f := "’-"
			return intaketest.Num(math.Floor(d/12)) + f + eighths(math.Mod(d, 12)) + "”|" + intaketest.Num(curve(d, 10000))
		}), charts: []wantChart{{"FM-2", 193, [2]float64{0, 0}, [2]float64{96, 10000}, in, gal}}},
		{name: "decimal comma", text: "Tank DX-1\nPeilung (cm)|Inhalt (L)\n" + intaketest.RunOf(0, 240, 2.5, func(d float64) string { return comma(d, 1) + "|" + comma(curve(d/2.5, 38000)/2, 1) }), charts: []wantChart{{"DX-1", 97, [2]float64{0, 0}, [2]float64{240, 19000}, cm, litres}}},
		{name: "decimal comma in depths, points for thousands in whole volumes", text: "Tank DX-2\nPeilung (cm)|Inhalt (L)\n" + intaketest.RunOf(0, 240, 2.5, func(d float64) string { return comma(d, 1) + "|" + comma(curve(d/2.5, 38000), 0) }), charts: []wantChart{{"DX-2", 97, [2]float64{0, 0}, [2]float64{240, 38000}, cm, litres}}},
		{name: "whole volumes with commas for thousands", text: "Tank DX-3\nDepth (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return intaketest.Num(d) + "|" + strings.ReplaceAll(comma(curve(d, 10000), 0), ".", ",")
		}), charts: []wantChart{std("DX-3")}},
		{name: "only 1.238 forms", text: "Tank DX-4\nDepth (in)|Volume (gal)\n" + intaketest.RunOf(40, 60, 1, func(d float64) string { return intaketest.Num(d) + "|" + comma(curve(d, 10000), 0) }), charts: []wantChart{{"DX-4", 21, [2]float64{40, nan}, [2]float64{60, nan}, in, gal}}, finds: []string{"decimal-sign-unclear stop B3:B23"}},
		{name: "thousands and units in the cells", text: "Tank DX-5\nDip|Contents\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return intaketest.Num(d) + " in|" + strings.ReplaceAll(comma(curve(d, 10000), 0), ".", ",") + " gal"
		}), charts: []wantChart{std("DX-5")}},
		{name: "apostrophe thousands, blanks of any width", text: "Tank DX-6\nDepth\u00a0(in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return intaketest.Num(d) + "\u00a0|" + strings.ReplaceAll(comma(curve(d, 10000), 0), ".", "\u202f")
		}), charts: []wantChart{std("DX-6")}},
		{name: "numbers as text", tab: "NT-1", text: "Depth (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string { return "'" + intaketest.Num(d) + "|'" + intaketest.Num(curve(d, 10000)) }), charts: []wantChart{std("NT-1")}, finds: []string{"number-as-text note A2:B98"}},
		{name: "hidden rows", tab: "HR-1", text: "Depth (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			if d >= 40 && d < 45 {
				return "~" + dv("|")(d)
			}
			return dv("|")(d)
		}), charts: []wantChart{std("HR-1")}, finds: []string{"hidden-rows note 42:46"}},
		{name: "error values", tab: "EV-1", text: "Depth (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			if d == 30 || d == 31 {
				return intaketest.Num(d) + "|#N/A"
			}
			return dv("|")(d)
		}), charts: []wantChart{std("EV-1")}, finds: []string{"error-value stop B32:B33"}},
		{name: "formulas without values", tab: "FV-1", text: "Depth (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string { return intaketest.Num(d) + "|=" }), charts: []wantChart{{"FV-1", 97, [2]float64{0, nan}, [2]float64{96, nan}, in, gal}}, finds: []string{"formula-without-value stop B2:B98"}},
		{name: "headings repeated at page breaks", tab: "Sheet1", text: "Tank RH-1\nDepth (in)|Volume (gal)\n" + intaketest.RunOf(0, 40, 1, dv("|")) + "Page 1 of 2\nTank RH-1 (continued)\nDepth (in)|Volume (gal)\n" + intaketest.RunOf(41, 96, 1, dv("|")) + "Page 2 of 2\n", charts: []wantChart{std("RH-1")}},
		{name: "headings repeated in a long list", text: "Tank|Depth (in)|Volume (gal)\n" + intaketest.RunOf(0, 50, 1, func(d float64) string { return "RH-2|" + dv("|")(d) }) + "Tank|Depth (in)|Volume (gal)\n" + intaketest.RunOf(51, 96, 1, func(d float64) string { return "RH-2|" + dv("|")(d) }), charts: []wantChart{std("RH-2")}},
		{name: "duplicate headers", text: "Depth (in)|Litres|Litres\n" + intaketest.RunOf(0, 96, 1, func(d float64) string { return dv("|")(d) + "|" + intaketest.Num(curve(d, 9000)) }), charts: []wantChart{{"", 97, [2]float64{0, 0}, [2]float64{96, 10000}, in, litres}}, finds: []string{"duplicate-header stop B1:C1"}},
		{name: "two depths of one name", tab: "DH-1", text: "Depth (in)|Depth (in)|Gallons\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return intaketest.Num(d) + "|" + intaketest.Num(d+0.5) + "|" + intaketest.Num(curve(d, 10000))
		}), charts: []wantChart{std("DH-1")}, finds: []string{"duplicate-header stop A1:B1"}},
		{name: "units conflict of volumes", tab: "UC-1", text: "Contents in litres\nDepth (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, dv("|")), charts: []wantChart{std("UC-1")}, finds: []string{"units-conflict stop A1:B2"}},
		{name: "units conflict of cells and heading", tab: "UC-2", text: "Depth (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string { return intaketest.Num(d) + "|" + intaketest.Num(curve(d, 10000)) + " L" }), charts: []wantChart{{"UC-2", 97, [2]float64{0, 0}, [2]float64{96, 10000 / 3.785411784}, in, gal}}, finds: []string{"units-conflict stop B1:B98"}},
		{name: "placeholder", tab: "PH-1", text: "Depth (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string { return intaketest.Num(d) + "|" + intaketest.Num(d) }), charts: []wantChart{{"PH-1", 97, [2]float64{0, 0}, [2]float64{96, 96}, in, gal}}, finds: []string{"placeholder-chart stop A2:B98"}},
		{name: "feet and inches with a point", tab: "FP-1", text: "Depth (ft)|Volume (gal)\n" + intaketest.RunOf(0, 95, 1, func(d float64) string {
			return intaketest.Num(math.Floor(d/12)) + "." + intaketest.Num(math.Mod(d, 12)) + "|" + intaketest.Num(curve(d, 10000))
		}), charts: []wantChart{{"FP-1", 96, [2]float64{0, 0}, [2]float64{7.11, curve(95, 10000)}, ft, gal}}, finds: []string{"feet-inches-with-point stop A12:A96"}},
		{name: "a spoiled depth", tab: "SD-1", text: "Depth (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			if d == 50 {
				return "5O?|" + intaketest.Num(curve(d, 10000))
			}
			return dv("|")(d)
		}), charts: []wantChart{std("SD-1")}, finds: []string{"cell-unreadable stop A52"}},
		{name: "numbers out of their columns", tab: "SH-1", text: "Depth (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			if d == 50 || d == 51 {
				return "||" + dv("|")(d)
			}
			return dv("|")(d)
		}), charts: []wantChart{{"SH-1", 97, [2]float64{0, 0}, [2]float64{96, 10000}, in, gal}}, finds: []string{"cells-out-of-column stop 52:53"}},
		{name: "title and tab differ", tab: "TD-1", text: "Tank TD-2\nDepth (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, dv("|")), charts: []wantChart{std("TD-2")}, finds: []string{"title-and-sheet-differ check A1"}},
		{name: "float noise", text: "Tank FN-1\nDepth (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 0.25, func(d float64) string {
			t := intaketest.Num(d)
			if math.Mod(d, 1) == 0.25 {
				t = strconv.FormatFloat(d-0.000001, 'f', 6, 64)
			}
			return t + "|" + intaketest.Num(curve(d, 10000))
		}), charts: []wantChart{{"FN-1", 385, [2]float64{0, 0}, [2]float64{96, 10000}, in, gal}}},
	}
}

func TestFaults(t *testing.T) {
	for _, c := range faultCases() {
		t.Run(c.name, c.check)
	}
}

// A date among depths is given the fraction that was typed, by the rows around.
func TestDatesGetTheirFractions(t *testing.T) {
	for _, c := range faultCases() {
		if !strings.HasPrefix(c.name, "dates") || strings.Contains(c.name, "matrix") {
			continue
		}
		t.Run(c.name, func(t *testing.T) {
			r, err := Read(c.sheet(), Options{})
			if err != nil {
				t.Fatal(err)
			}
			odd := r.Charts[0].Odd
			if len(odd) != 7 {
				t.Fatalf("%d odd cells, want 7", len(odd))
			}
			for i, o := range odd {
				if o.Kind != chart.OddDate || o.Value != float64(i+1)/8 || !math.IsNaN(r.Charts[0].Rows[o.Row].Depth) {
					t.Errorf("cell %d: %q reads as %v, want %v", i, o.Raw, o.Value, float64(i+1)/8)
				}
			}
			if !strings.HasSuffix(r.Findings[0].Suggestion, "1/8, 1/4, 3/8, 1/2, 5/8, 3/4, 7/8") {
				t.Errorf("suggestion %q", r.Findings[0].Suggestion)
			}
		})
	}
}

// Each chart of a long file has a hand of its own: one with points, one with
// commas, one whose commas mark thousands.
func TestDecimalSignIsSettledChartByChart(t *testing.T) {
	c := layoutCase{text: "tank|depth (cm)|volume (L)\n" +
		intaketest.RunOf(0, 240, 2.5, func(d float64) string { return "P|" + intaketest.Num(d) + "|" + intaketest.Num(curve(d/2.5, 38000)/4) }) +
		intaketest.RunOf(0, 240, 2.5, func(d float64) string { return "C|" + comma(d, 1) + "|" + comma(curve(d/2.5, 38000)/4, 2) }) +
		intaketest.RunOf(0, 240, 2.5, func(d float64) string {
			return "T|" + intaketest.Num(d) + "|" + strings.ReplaceAll(comma(curve(d/2.5, 38000), 0), ".", ",")
		})}
	r, err := Read(c.sheet(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Charts) != 3 || len(r.Findings) != 0 {
		t.Fatalf("%d charts, findings %s", len(r.Charts), findingList(r.Findings))
	}
	for k, x := range r.Charts {
		for i, row := range x.Rows {
			d := float64(i) * 2.5
			want := curve(d/2.5, 38000) / 4
			if k == 1 {
				want = math.Round(want*100) / 100
			}
			if k == 2 {
				want *= 4
			}
			if row.Depth != d || math.Abs(row.Volume-want) > 1e-9 {
				t.Fatalf("%s row %d: %v %v, want %v %v", x.Name, i, row.Depth, row.Volume, d, want)
			}
		}
	}
}

// A comma in a column of points is no number there; what it may mean stands
// beside it.
func TestStrayCommaIsMarked(t *testing.T) {
	for _, x := range []struct {
		raw       string
		depth     float64
		suggested float64
	}{{"7,5", math.NaN(), 7.5}, {"7,125", 7125, 7.125}} {
		step := 0.5
		if x.raw == "7,125" {
			step = 0.125
		}
		c := layoutCase{text: "Tank ZC-1\nDepth (in)|Volume (gal)\n" + intaketest.RunOf(0, 12, step, func(d float64) string {
			t := intaketest.Num(d)
			if d == x.suggested {
				t = x.raw
			}
			return t + "|" + intaketest.Num(curve(d, 10000))
		})}
		r, err := Read(c.sheet(), Options{})
		if err != nil {
			t.Fatal(err)
		}
		odd := r.Charts[0].Odd
		if len(odd) != 1 || odd[0].Kind != chart.OddComma || odd[0].Value != x.suggested {
			t.Fatalf("%s: %+v", x.raw, odd)
		}
		got := r.Charts[0].Rows[odd[0].Row].Depth
		if got != x.depth && !(math.IsNaN(got) && math.IsNaN(x.depth)) {
			t.Errorf("%s: depth %v, want %v", x.raw, got, x.depth)
		}
	}
}

// Merged areas: the id of a block stands in one tall cell.
func TestMergedIDs(t *testing.T) {
	s := intaketest.Sheet{File: "b.xlsx", Name: "Charts", Text: "Tank|Depth (in)|Volume (gal)\nMA-1|" + strings.ReplaceAll(strings.TrimSuffix(intaketest.RunOf(0, 96, 1, dv("|")), "\n"), "\n", "\n|") + "\nMA-2|" + strings.ReplaceAll(strings.TrimSuffix(intaketest.RunOf(0, 96, 1, dv("|")), "\n"), "\n", "\n|")}
	s.Merged = []grid.Range{{Col: 1, Row: 2, ToCol: 1, ToRow: 98}, {Col: 1, Row: 99, ToCol: 1, ToRow: 195}}
	r, err := Read(s, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Charts) != 2 || r.Charts[0].Name != "MA-1" || r.Charts[1].Name != "MA-2" || len(r.Charts[1].Rows) != 97 {
		t.Fatalf("%d charts: %s", len(r.Charts), findingList(r.Findings))
	}
}
