package charts

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"dropcut/convert/intake/headword"
	"dropcut/convert/intake/intaketest"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// curve gives the volume of a lying cylinder 96 units high that holds full
// units when it is full: a run of figures that looks like a chart's.
func curve(d, full float64) float64 {
	r := 48.0
	h := d - r
	a := r*r*math.Acos(-h/r) + h*math.Sqrt(max(r*r-h*h, 0))
	return math.Round(a / (math.Pi * r * r) * full)
}

// wantChart is one chart that a text must give.
type wantChart struct {
	name        string
	rows        int
	first, last [2]float64 // in the units of the file
	depth       unit.LengthUnit
	volume      unit.VolumeUnit
}

type layoutCase struct {
	name   string
	tab    string // empty: a CSV file
	text   string
	layout string
	charts []wantChart
	finds  []string // "slug severity cells"
	ids    []string
}

func (c layoutCase) sheet() intaketest.Sheet {
	file := "book.xlsx"
	if c.tab == "" {
		file = "charts.csv"
	}
	return intaketest.Sheet{File: file, Name: c.tab, Text: c.text}
}

const nan = -1e99 // stands for "not known" in the tables below

func sameEnd(got, want float64) bool {
	if want == nan {
		return math.IsNaN(got)
	}
	return math.Abs(got-want) < 1e-9*math.Max(1, math.Abs(want))
}

func (c layoutCase) check(t *testing.T) {
	t.Helper()
	r, err := Read(c.sheet(), Options{IDs: headword.KnownIDs(c.ids...)})
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range r.Charts {
		t.Logf("chart %q %s rows %d %s %s", x.Name, x.Layout, len(x.Rows), x.DepthUnit, x.VolumeUnit)
	}
	if len(r.Charts) != len(c.charts) {
		t.Errorf("%d charts, want %d; findings %s", len(r.Charts), len(c.charts), findingList(r.Findings))
	}
	for i, want := range c.charts {
		if i >= len(r.Charts) {
			break
		}
		got := r.Charts[i]
		if got.Name != want.name {
			t.Errorf("chart %d is %q, want %q", i, got.Name, want.name)
		}
		if len(got.Rows) != want.rows {
			t.Errorf("%s: %d rows, want %d", want.name, len(got.Rows), want.rows)
			continue
		}
		a, b := got.Rows[0], got.Rows[len(got.Rows)-1]
		if !sameEnd(a.Depth, want.first[0]) || !sameEnd(a.Volume, want.first[1]) || !sameEnd(b.Depth, want.last[0]) || !sameEnd(b.Volume, want.last[1]) {
			t.Errorf("%s: from %v %v to %v %v, want %v to %v", want.name, a.Depth, a.Volume, b.Depth, b.Volume, want.first, want.last)
		}
		if got.DepthUnit != want.depth || got.VolumeUnit != want.volume {
			t.Errorf("%s: units %q and %q, want %q and %q", want.name, got.DepthUnit, got.VolumeUnit, want.depth, want.volume)
		}
		c.addresses(t, got)
		if c.layout != "" && got.Layout != c.layout {
			t.Errorf("%s: layout %q, want %q", want.name, got.Layout, c.layout)
		}
	}
	if got, want := findingList(r.Findings), strings.Join(c.finds, "; "); got != want {
		t.Errorf("findings: %s\n   want: %s", got, want)
		for _, f := range r.Findings {
			t.Logf("%s: %s (%s)", f.Slug, f.Found, f.Why)
		}
	}
}

// addresses holds every depth and volume against the cell that the chart says
// it comes from, where the cell is a plain number.
func (c layoutCase) addresses(t *testing.T, got *chart.Chart) {
	t.Helper()
	lines := strings.Split(strings.Trim(c.text, "\n"), "\n")
	for i := range got.Rows {
		if r := &got.Rows[i]; math.IsNaN(r.Depth) && math.IsNaN(r.Volume) {
			continue // its numbers stand elsewhere
		}
		ref := got.VolumeAt(i)
		if ref.Row < 1 || ref.Row > len(lines) {
			t.Fatalf("%s: row %d has no such place: %v", got.Name, i, ref)
		}
		cells := strings.Split(strings.TrimPrefix(lines[ref.Row-1], "~"), "|")
		if ref.Col < 1 || ref.Col > len(cells) {
			t.Fatalf("%s: row %d has no such place: %v", got.Name, i, ref)
		}
		raw := strings.Trim(cells[ref.Col-1], " '")
		if f, ok := unit.Number(raw, unit.DecimalPoint); ok && !math.IsNaN(got.Rows[i].Volume) && f != got.Rows[i].Volume && !strings.ContainsAny(raw, ".,") {
			t.Errorf("%s: volume %v of row %d is said to stand in %s, which holds %s", got.Name, got.Rows[i].Volume, i, ref.A1(), raw)
		}
	}
}

func findingList(list []finding.Finding) string {
	var out []string
	for _, f := range list {
		out = append(out, fmt.Sprintf("%s %s %s", f.Slug, f.Severity, f.Cell()))
	}
	return strings.Join(out, "; ")
}

var (
	in, ft, mm, cm, dm = unit.Inches, unit.Feet, unit.Millimetres, unit.Centimetres, unit.Decimetres
	gal, litres, bbl   = unit.USGallons, unit.Litres, unit.Barrels
)

func std(name string) wantChart {
	return wantChart{name, 97, [2]float64{0, 0}, [2]float64{96, 10000}, in, gal}
}

func dv(sep string) func(d float64) string {
	return func(d float64) string { return intaketest.Num(d) + sep + intaketest.Num(curve(d, 10000)) }
}

// layoutCases are layouts of our own invention, each in two dresses or more.
func layoutCases() []layoutCase {
	long := func(id string) string {
		return intaketest.RunOf(0, 96, 1, func(d float64) string { return id + "|" + dv("|")(d) })
	}
	metric := func(d float64) string { return intaketest.Num(d) + "|" + intaketest.Num(curve(d/25, 38000)) }
	mmChart := func(name string) wantChart {
		return wantChart{name, 49, [2]float64{0, 0}, [2]float64{2400, 38000}, mm, litres}
	}
	return []layoutCase{
		{name: "long", text: "Tank no.|Dip reading, inches|Contents (US gallons)\n" + long("Ost 1") + long("Ost 2"), layout: "long", charts: []wantChart{std("Ost 1"), std("Ost 2")}},
		{name: "long in a workbook, numbers as ids", tab: "Charts", text: "Vol gal|Depth in|ID\n" + intaketest.RunOf(0, 96, 1, func(d float64) string { return intaketest.Num(curve(d, 10000)) + "|" + intaketest.Num(d) + "|7" }) + intaketest.RunOf(0, 96, 1, func(d float64) string { return intaketest.Num(curve(d, 10000)) + "|" + intaketest.Num(d) + "|8" }), layout: "long", charts: []wantChart{std("7"), std("8")}},
		{name: "long with site, compartment and row number", text: "Site|Tank|Compartment|Row|Depth (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string { return "Moorfield|T1|B|" + intaketest.Num(d+1) + "|" + dv("|")(d) }), charts: []wantChart{std("T1/B")}},
		{name: "long, ids only where a tank begins", tab: "Data", text: "Tank|Depth (in)|Volume (gal)\nA1|" + strings.ReplaceAll(strings.TrimSuffix(intaketest.RunOf(0, 96, 1, dv("|")), "\n"), "\n", "\n|") + "\nA2|" + strings.ReplaceAll(strings.TrimSuffix(intaketest.RunOf(0, 96, 1, dv("|")), "\n"), "\n", "\n|"), charts: []wantChart{std("A1"), std("A2")}},
		{name: "long with units row by row", text: "tank_id,x|depth|depth unit|volume|volume unit\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return "R1|" + intaketest.Num(d) + "|in|" + intaketest.Num(curve(d, 10000)) + "|gal"
		}), charts: []wantChart{std("R1")}},
		{name: "sheet per tank", tab: "HZ-7", text: "Stick (inches)|Gallons\n" + intaketest.RunOf(0, 96, 1, dv("|")), layout: "depth and volume", charts: []wantChart{std("HZ-7")}},
		{name: "sheet per tank, metric, spanish", tab: "Tanque 4", text: "Altura (mm)|Volumen (litros)\n" + intaketest.RunOf(0, 2400, 50, metric), charts: []wantChart{mmChart("4")}},
		{name: "sheet per tank, german", tab: "Lager West", text: "Füllhöhe in mm|Inhalt in Liter\n" + intaketest.RunOf(0, 2400, 50, metric), charts: []wantChart{mmChart("Lager West")}},
		{name: "sheet per tank, french", tab: "Cuve 2", text: "Hauteur (mm)|Contenance (litres)\n" + intaketest.RunOf(0, 2400, 50, metric), charts: []wantChart{mmChart("2")}},
		{name: "wide", tab: "All tanks", text: "Gauge, in.|WQ-11|WQ-12|WQ-13\n|US gal|US gal|US gal\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			s := intaketest.Num(d) + "|" + intaketest.Num(curve(d, 10000)) + "|" + intaketest.Num(curve(d, 8000))
			if d <= 64 && math.Mod(d, 2) == 0 {
				s += "|" + intaketest.Num(curve(d*1.5, 3000))
			}
			return s
		}), layout: "wide", charts: []wantChart{std("WQ-11"), {"WQ-12", 97, [2]float64{0, 0}, [2]float64{96, 8000}, in, gal}, {"WQ-13", 33, [2]float64{0, 0}, [2]float64{64, 3000}, in, gal}}},
		{name: "wide, tanks by number", text: "Depth (in)|Tank 1 gal|Tank 2 gal\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return intaketest.Num(d) + "|" + intaketest.Num(curve(d, 10000)) + "|" + intaketest.Num(curve(d, 8000))
		}), charts: []wantChart{std("1"), {"2", 97, [2]float64{0, 0}, [2]float64{96, 8000}, in, gal}}},
		{name: "wide, names alone, units in the title", text: "Dips in inches, volumes in gallons\n\nDip|North|South\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return intaketest.Num(d) + "|" + intaketest.Num(curve(d, 10000)) + "|" + intaketest.Num(curve(d, 8000))
		}), charts: []wantChart{std("North"), {"South", 97, [2]float64{0, 0}, [2]float64{96, 8000}, in, gal}}},
		{name: "paired", tab: "Charts", text: "Tank VA-5||Tank VA-6|\nInches|Gallons|Inches|Gallons\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return dv("|")(d) + "|" + intaketest.Num(d) + "|" + intaketest.Num(curve(d, 8000))
		}), layout: "paired columns", charts: []wantChart{std("VA-5"), {"VA-6", 97, [2]float64{0, 0}, [2]float64{96, 8000}, in, gal}}},
		{name: "paired with a blank column between, names bare", text: "LM 1|||LM 2|\nDip (in)|Vol (gal)||Dip (in)|Vol (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return dv("|")(d) + "||" + intaketest.Num(d) + "|" + intaketest.Num(curve(d, 8000))
		}), charts: []wantChart{std("LM 1"), {"LM 2", 97, [2]float64{0, 0}, [2]float64{96, 8000}, in, gal}}},
		{name: "folded by columns", tab: "Sheet1", text: "Calibration of tank FP-3\nDepth, in|Gal.|Depth, in|Gal.|Depth, in|Gal.|Depth, in|Gal.\n" + intaketest.RunOf(0, 24, 1, func(d float64) string {
			s := dv("|")(d)
			for k := 25.0; k < 96; k += 25 {
				if d+k <= 96 {
					s += "|" + dv("|")(d+k)
				}
			}
			return s
		}), layout: "folded by columns", charts: []wantChart{std("FP-3")}},
		{name: "folded by rows", text: "Tank FR-9\nin|gal|in|gal|in|gal\n" + intaketest.RunOf(0, 96, 3, func(d float64) string {
			s := dv("|")(d)
			for k := 1.0; k < 3; k++ {
				if d+k <= 96 {
					s += "|" + dv("|")(d+k)
				}
			}
			return s
		}), layout: "folded by rows", charts: []wantChart{std("FR-9")}},
		{name: "matrix of inches and eighths", tab: "ME-2", text: "Gallons at each inch and eighth\nInches|0|1/8|1/4|3/8|1/2|5/8|3/4|7/8\n" + intaketest.RunOf(0, 47, 1, func(d float64) string {
			s := intaketest.Num(d)
			for k := range 8 {
				s += "|" + intaketest.Num(curve(d+float64(k)/8, 10000))
			}
			return s
		}), layout: "matrix", charts: []wantChart{{"ME-2", 384, [2]float64{0, 0}, [2]float64{47.875, 4983}, in, gal}}},
		{name: "matrix of inches and numbered eighths", text: "Tank MF-1, US gallons\nin \\ 8ths|0|1|2|3|4|5|6|7\n" + intaketest.RunOf(10, 40, 1, func(d float64) string {
			s := intaketest.Num(d)
			for k := range 8 {
				s += "|" + intaketest.Num(curve(d+float64(k)/8, 10000))
			}
			return s
		}), charts: []wantChart{{"MF-1", 248, [2]float64{10, curve(10, 10000)}, [2]float64{40.875, curve(40.875, 10000)}, in, gal}}},
		{name: "matrix of feet and inches", text: "Tank MG-1 (gal)\nft / in|0|1|2|3|4|5|6|7|8|9|10|11\n" + intaketest.RunOf(0, 7, 1, func(d float64) string {
			s := intaketest.Num(d)
			for k := range 12 {
				s += "|" + intaketest.Num(curve(d*12+float64(k), 10000))
			}
			return s
		}), charts: []wantChart{{"MG-1", 96, [2]float64{0, 0}, [2]float64{95.0 / 12, curve(95, 10000)}, ft, gal}}},
		{name: "matrix of tens and units", tab: "MK-3", text: "Dip in cm, contents in litres\ncm|0|1|2|3|4|5|6|7|8|9\n" + intaketest.RunOf(0, 90, 10, func(d float64) string {
			s := intaketest.Num(d)
			for k := range 10 {
				if d+float64(k) <= 96 {
					s += "|" + intaketest.Num(curve(d+float64(k), 10000))
				}
			}
			return s
		}), charts: []wantChart{{"MK-3", 97, [2]float64{0, 0}, [2]float64{96, 10000}, cm, litres}}},
		{name: "matrix of decimetres and centimetres, words above", text: "Behälter MD-4, Inhalt in Liter\nPeilung in dm und cm\ndm|0|1|2|3|4|5|6|7|8|9\n" + intaketest.RunOf(0, 9, 1, func(d float64) string {
			s := intaketest.Num(d)
			for k := range 10 {
				if d*10+float64(k) <= 96 {
					s += "|" + intaketest.Num(curve(d*10+float64(k), 10000))
				}
			}
			return s
		}), charts: []wantChart{{"MD-4", 97, [2]float64{0, 0}, [2]float64{9.6, 10000}, dm, litres}}},
		{name: "ullage", tab: "Sheet1", text: "Tank: GU-2\nTank inside height 96 in\nUllage, in|Gallons\n" + intaketest.RunOf(0, 96, 1, func(d float64) string { return intaketest.Num(d) + "|" + intaketest.Num(curve(96-d, 10000)) }), layout: "ullage", charts: []wantChart{std("GU-2")}},
		{name: "ullage in metres below a diameter in millimetres", text: "Tank GU-3\nInternal diameter|2400|mm\nOutage (cm)|Volume (L)\n" + intaketest.RunOf(0, 240, 5, func(d float64) string { return intaketest.Num(d) + "|" + intaketest.Num(curve((240-d)/2.5, 38000)) }), charts: []wantChart{{"GU-3", 49, [2]float64{0, 0}, [2]float64{240, 38000}, cm, litres}}},
		{name: "ullage without height", text: "Tank GU-4\nUllage (in)|Volume (gal)\n" + intaketest.RunOf(6, 92, 2, func(d float64) string { return intaketest.Num(d) + "|" + intaketest.Num(curve(96-d, 10000)) }), charts: []wantChart{{"GU-4", 44, [2]float64{nan, curve(4, 10000)}, [2]float64{nan, curve(90, 10000)}, in, gal}}, finds: []string{"ullage-without-height stop A2"}},
		{name: "falling volume, no word of ullage", text: "Tank GU-5\nDepth (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string { return intaketest.Num(d) + "|" + intaketest.Num(curve(96-d, 10000)) }), charts: []wantChart{{"GU-5", 97, [2]float64{0, 10000}, [2]float64{96, 0}, in, gal}}, finds: []string{"ullage-unclear stop A3:B99"}},
		{name: "from the full tank down", text: "Tank GU-6\nDepth (in)|Volume (gal)\n" + intaketest.RunOf(96, 0, -1, dv("|")), charts: []wantChart{std("GU-6")}, finds: []string{"rows-turned note A3:B99"}},
		{name: "header below titles with decoys", tab: "Tank 12", text: "Brookline Depot\n14 Harbor Road, Bay 3\nRevision|3|Year|1998\n96 in x 26 ft 8 in, 10,000 gal\n\nLevel (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, dv("|")), charts: []wantChart{std("12")}},
		{name: "header below titles, two lines", text: "Tank calibration sheet\nTank No. HB-6\nShell 96 in by 320 in\nLiquid|Tank\nDepth|Volume\n(inches)|(gallons)\n" + intaketest.RunOf(0, 96, 1, dv("|")), charts: []wantChart{std("HB-6")}},
		{name: "units row", text: "Vessel|Level|Contents\n|mm|litres\n" + intaketest.RunOf(0, 2400, 50, func(d float64) string { return "UR-1|" + metric(d) }), charts: []wantChart{mmChart("UR-1")}},
		{name: "units in the title only", tab: "Sheet1", text: "Tank UT-8 - dips in millimetres; contents in litres\nDip|Contents\n" + intaketest.RunOf(0, 2400, 50, metric), charts: []wantChart{mmChart("UT-8")}},
		{name: "units in a spaced title", text: "Tank UT-9\nD I P S  in mm,  N E T  V O L U M E S  in L\nDip|Volume\n" + intaketest.RunOf(0, 2400, 50, metric), charts: []wantChart{mmChart("UT-9")}},
		{name: "units missing", tab: "UM-1", text: "Dip|Volume\n" + intaketest.RunOf(0, 2400, 50, metric), charts: []wantChart{{"UM-1", 49, [2]float64{0, 0}, [2]float64{2400, 38000}, 0, 0}}, finds: []string{"units-unknown stop A1:B1"}},
		{name: "one unit missing", tab: "UM-2", text: "Dip (mm)|Volume\n" + intaketest.RunOf(0, 2400, 50, metric), charts: []wantChart{{"UM-2", 49, [2]float64{0, 0}, [2]float64{2400, 38000}, mm, 0}}, finds: []string{"units-unknown stop B1"}},
		{name: "transposed", tab: "TR-5", text: "Depth (in)|" + strings.ReplaceAll(intaketest.RunOf(0, 96, 1, intaketest.Num), "\n", "|") + "\nVolume (gal)|" + strings.ReplaceAll(intaketest.RunOf(0, 96, 1, func(d float64) string { return intaketest.Num(curve(d, 10000)) }), "\n", "|"), layout: "transposed", charts: []wantChart{std("TR-5")}},
		{name: "transposed, tanks below each other", text: "Dip, mm|" + strings.ReplaceAll(intaketest.RunOf(0, 2400, 50, intaketest.Num), "\n", "|") + "\nTR-6, litres|" + strings.ReplaceAll(intaketest.RunOf(0, 2400, 50, func(d float64) string { return intaketest.Num(curve(d/25, 38000)) }), "\n", "|") + "\nTR-7, litres|" + strings.ReplaceAll(intaketest.RunOf(0, 2400, 50, func(d float64) string { return intaketest.Num(curve(d/25, 30000)) }), "\n", "|"), charts: []wantChart{mmChart("TR-6"), {"TR-7", 49, [2]float64{0, 0}, [2]float64{2400, 30000}, mm, litres}}},
		{name: "footers", tab: "FO-1", text: "Depth (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, dv("|")) + "\nCapacity|10000\n90%|9000\nRemarks: water below 3 in\nChecked by|4\n2011|6\n", charts: []wantChart{std("FO-1")}},
		{name: "footers at once, side notes", tab: "FO-2", text: "Depth (in)|Volume (gal)|||Notes\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			if math.Mod(d, 20) == 3 {
				return dv("|")(d) + "|||" + intaketest.Num(3*d)
			}
			return dv("|")(d)
		}) + "Totals|123456\n", charts: []wantChart{std("FO-2")}},
		{name: "stacked, units of their own", tab: "Charts", text: "Tank SA-1\nDepth (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, dv("|")) + "\n\nTank SA-2\nDip (mm)|Contents (L)\n" + intaketest.RunOf(0, 2400, 50, metric) + "\n\nTank SA-3\nDepth (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, dv("|")), layout: "stacked", charts: []wantChart{std("SA-1"), mmChart("SA-2"), std("SA-3")}},
		{name: "stacked, one heading for all", text: "Depth (in)|Volume (gal)\nTank SB-1\n" + intaketest.RunOf(0, 96, 1, dv("|")) + "Tank SB-2\n" + intaketest.RunOf(0, 96, 1, dv("|")), charts: []wantChart{std("SB-1"), std("SB-2")}},
		{name: "volume step", text: "Gallons|Inches\n" + intaketest.RunOf(0, 96, 1, func(d float64) string { return intaketest.Num(curve(d, 10000)) + "|" + intaketest.Num(d) }), charts: []wantChart{std("")}},
		{name: "percent column", tab: "PC-1", text: "Depth (in)|% full|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return intaketest.Num(d) + "|%" + intaketest.Num(curve(d, 1000)/1000) + "|" + intaketest.Num(curve(d, 10000))
		}), charts: []wantChart{std("PC-1")}},
		{name: "percent as text, at the end", text: "Tank PC-2\nDepth (in)|Volume (gal)|Percent\n" + intaketest.RunOf(0, 96, 1, func(d float64) string { return dv("|")(d) + "|" + intaketest.Num(curve(d, 1000)/10) + "%" }), charts: []wantChart{std("PC-2")}},
		{name: "compartments", tab: "Sheet1", text: "Tank CM-8\n|Front compartment|Comp. 2\nDip (in)|gal|gal\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return intaketest.Num(d) + "|" + intaketest.Num(curve(d, 10000)) + "|" + intaketest.Num(curve(d, 8000))
		}), charts: []wantChart{std("CM-8/Front"), {"CM-8/2", 97, [2]float64{0, 0}, [2]float64{96, 8000}, in, gal}}},
		{name: "compartments by id", text: "Depth (in)|CN-1/A (gal)|CN-1/B (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return intaketest.Num(d) + "|" + intaketest.Num(curve(d, 10000)) + "|" + intaketest.Num(curve(d, 8000))
		}), charts: []wantChart{std("CN-1/A"), {"CN-1/B", 97, [2]float64{0, 0}, [2]float64{96, 8000}, in, gal}}},
		{name: "manifolded", tab: "Sheet1", text: "Tanks QV-1 and QV-2, manifolded, combined gallons\nDepth (in)|Volume\n" + intaketest.RunOf(0, 96, 1, dv("|")), charts: []wantChart{std("QV-1+QV-2")}, finds: []string{"combined-volume note A1"}},
		{name: "manifolded in a long list", text: "Tank|Depth (in)|Volume (gal)\n" + long("QW-1 & QW-2"), charts: []wantChart{std("QW-1+QW-2")}, finds: []string{"combined-volume note A2"}},
		{name: "feet and inches", tab: "FI-1", text: "Feet|Inches|Gallons\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return intaketest.Num(math.Floor(d/12)) + "|" + intaketest.Num(math.Mod(d, 12)) + "|" + intaketest.Num(curve(d, 10000))
		}), charts: []wantChart{std("FI-1")}},
		{name: "feet only where they change", text: "Tank FI-2\n|Depth||Volume\n|ft|in|gal\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			f := ""
			if math.Mod(d, 12) == 0 {
				f = intaketest.Num(d / 12)
			}
			return "|" + f + "|" + intaketest.Num(math.Mod(d, 12)) + "|" + intaketest.Num(curve(d, 10000))
		}), charts: []wantChart{std("FI-2")}},
		{name: "difference column", tab: "DC-1", text: "Dip cm|Litres|Litres/mm\n" + intaketest.RunOf(0, 240, 5, func(d float64) string {
			return intaketest.Num(d) + "|" + intaketest.Num(curve(d/2.5, 38000)) + "|" + intaketest.Num(d/10)
		}), charts: []wantChart{{"DC-1", 49, [2]float64{0, 0}, [2]float64{240, 38000}, cm, litres}}},
		{name: "volume twice", text: "Tank VT-1\nDepth (in)|Gallons|Litres\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return dv("|")(d) + "|" + intaketest.Num(math.Round(curve(d, 10000)*3.785411784))
		}), charts: []wantChart{std("VT-1")}},
		{name: "area between", text: "Tank AB-1\nHeight (in)|Surface (sq ft)|Capacity (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return intaketest.Num(d) + "|" + intaketest.Num(math.Round(d*(97-d)/10)) + "|" + intaketest.Num(curve(d, 10000))
		}), charts: []wantChart{std("AB-1")}},
		{name: "depth by another word", text: "Tank GW-1\nGAUG|VOL\nin|gal\n" + intaketest.RunOf(0, 96, 1, dv("|")), charts: []wantChart{std("GW-1")}},
		{name: "innage and ullage", text: "Tank IU-1\nInnage (in)|Ullage (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return intaketest.Num(d) + "|" + intaketest.Num(96-d) + "|" + intaketest.Num(curve(d, 10000))
		}), charts: []wantChart{std("IU-1")}},
		{name: "innage and ullage disagree once", text: "Tank IU-2\nInnage (in)|Ullage (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			u := 96 - d
			if d == 40 {
				u = 65
			}
			return intaketest.Num(d) + "|" + intaketest.Num(u) + "|" + intaketest.Num(curve(d, 10000))
		}), charts: []wantChart{std("IU-2")}, finds: []string{"columns-disagree check B43"}},
		{name: "a list of tanks beside the chart", text: "Tank LB-1 gallons|||||\nDepth (in)|Volume (gal)|||Tank|Capacity (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			if d < 4 {
				return dv("|")(d) + "|||LB-" + intaketest.Num(d+1) + "|" + intaketest.Num(1000*d+500)
			}
			return dv("|")(d)
		}), charts: []wantChart{std("LB-1")}},
		{name: "a capacity in every row before the volume", tab: "OV-1", text: "Depth (in)|Other volume|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string { return intaketest.Num(d) + "|10000|" + intaketest.Num(curve(d, 10000)) }), charts: []wantChart{std("OV-1")}},
		{name: "a capacity in every row, in the same unit", tab: "OV-2", text: "Depth (in)|Volume (gal)|Other volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string { return dv("|")(d) + "|10000" }), charts: []wantChart{std("OV-2")}},
		{name: "another kind of volume", tab: "OV-3", text: "Depth (in)|Usable volume (gal)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return intaketest.Num(d) + "|" + intaketest.Num(curve(d, 9000)) + "|" + intaketest.Num(curve(d, 10000))
		}), charts: []wantChart{{"OV-3", 97, [2]float64{0, 0}, [2]float64{96, 9000}, in, gal}}, finds: []string{"duplicate-header stop B1:C1"}},
		{name: "a tank never filled in among tanks across", text: "Depth (in)|OV-4 (gal)|OV-5 (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string { return dv("|")(d) + "|0" }), charts: []wantChart{std("OV-4"), {"OV-5", 97, [2]float64{0, 0}, [2]float64{96, 0}, in, gal}}, finds: []string{"placeholder-chart stop A2:C98"}},
		{name: "feet and inches with marks in one column", tab: "FM-1", text: "Depth (ft-in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return fmt.Sprintf("'%d' %d\"|%s", int(d)/12, int(d)%12, intaketest.Num(curve(d, 10000)))
		}), charts: []wantChart{std("FM-1")}},
		{name: "feet and inches with a dash, which look like dates", text: "Tank FM-2\nFeet/Inches|Gallons\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return fmt.Sprintf("%d-%d|%s", int(d)/12, int(d)%12, intaketest.Num(curve(d, 10000)))
		}), charts: []wantChart{std("FM-2")}},
		{name: "feet, inches and eighths", text: "Tank FM-3\nDip (feet and inches)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return fmt.Sprintf("%d-%d 0/8|%s", int(d)/12, int(d)%12, intaketest.Num(curve(d, 10000)))
		}), charts: []wantChart{std("FM-3")}},
		{name: "numbers without marks below feet and inches", tab: "FM-4", text: "Depth (ft-in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, dv("|")), charts: []wantChart{{"FM-4", 97, [2]float64{0, 0}, [2]float64{96, 10000}, 0, gal}}, finds: []string{"units-conflict stop A3:A98"}},
		{name: "eight and a half, or eight feet and a half inch", text: "Tank FM-5\nDepth (ft-in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			if d == 50 {
				return "4-1/2|" + intaketest.Num(curve(d, 10000))
			}
			return fmt.Sprintf("%d-%d|%s", int(d)/12, int(d)%12, intaketest.Num(curve(d, 10000)))
		}), charts: []wantChart{std("FM-5")}, finds: []string{"cell-unreadable stop A53"}},
		{name: "two units that are no notation", tab: "FM-6", text: "Depth in/mm|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, dv("|")), charts: []wantChart{{"FM-6", 97, [2]float64{0, 0}, [2]float64{96, 10000}, 0, gal}}, finds: []string{"units-conflict stop A1"}},
		{name: "sizes of the tank beside the chart are no depths", tab: "SZ-1", text: "Riser height (in)|Inside diameter (in)|Depth (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string { return "40|96|" + dv("|")(d) }), charts: []wantChart{std("SZ-1")}},
		{name: "feet and inches with a point, in steps of three", text: "Tank FP-1\nDepth (ft)|Volume (gal)\n" + intaketest.RunOf(0, 96, 3, func(d float64) string {
			return intaketest.Num(math.Floor(d/12)+math.Mod(d, 12)/10) + "|" + intaketest.Num(curve(d, 10000))
		}), charts: []wantChart{{"FP-1", 33, [2]float64{0, 0}, [2]float64{8, 10000}, ft, gal}}, finds: []string{"feet-inches-with-point stop A7:A31"}},
		{name: "feet and inches with a point, in steps of six, from the top", text: "Tank FP-2\nDepth (ft)|Volume (gal)\n" + intaketest.RunOf(0, 96, 6, func(d float64) string {
			d = 96 - d
			return intaketest.Num(math.Floor(d/12)+math.Mod(d, 12)/10) + "|" + intaketest.Num(curve(d, 10000))
		}), charts: []wantChart{{"FP-2", 17, [2]float64{0, 0}, [2]float64{8, 10000}, ft, gal}}, finds: []string{"feet-inches-with-point stop A5:A17", "rows-turned note A3:B19"}},
		{name: "feet in tenths by threes", tab: "FT-3", text: "Depth (ft)|Volume (gal)\n" + intaketest.RunOf(0, 96, 3.6, func(d float64) string {
			return intaketest.Num(math.Round(d/1.2)/10) + "|" + intaketest.Num(curve(d, 10000))
		}), charts: []wantChart{{"FT-3", 27, [2]float64{0, 0}, [2]float64{7.8, curve(93.6, 10000)}, ft, gal}}},
		{name: "feet.inches by the heading", tab: "FP-4", text: "Depth (ft.in)|Volume (gal)\n" + intaketest.RunOf(0, 8, 0.5, func(d float64) string { return intaketest.Num(d) + "|" + intaketest.Num(curve(d*12, 10000)) }), charts: []wantChart{{"FP-4", 17, [2]float64{0, 0}, [2]float64{8, 10000}, 0, gal}}, finds: []string{"feet-inches-with-point stop A3:A18"}},
		{name: "the volume at a percentage is another one", text: "Tank|Depth (in)|90% (gal)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return "PV-1|" + intaketest.Num(d) + "|" + intaketest.Num(curve(d, 9000)) + "|" + intaketest.Num(curve(d, 10000))
		}), charts: []wantChart{std("PV-1")}},
		{name: "the volume at a percentage alone", tab: "PV-2", text: "Depth (in)|Volume (gal)|Volume at 95 % (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string { return dv("|")(d) + "|" + intaketest.Num(curve(d, 9500)) }), charts: []wantChart{std("PV-2")}},
		{name: "hundreds of gallons", text: "Tank HG-1\nDepth (in)|Gallons (100s)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string { return intaketest.Num(d) + "|" + intaketest.Num(curve(d, 10000)/100) }), charts: []wantChart{{"HG-1", 97, [2]float64{0, 0}, [2]float64{96, 100}, in, 0}}, finds: []string{"units-conflict stop B2"}},
		{name: "gallons times ten", tab: "HG-2", text: "Depth (in)|Gal x 10\n" + intaketest.RunOf(0, 96, 1, func(d float64) string { return intaketest.Num(d) + "|" + intaketest.Num(curve(d, 10000)/10) }), charts: []wantChart{{"HG-2", 97, [2]float64{0, 0}, [2]float64{96, 1000}, in, 0}}, finds: []string{"units-conflict stop B1"}},
		{name: "a temperature names no tank", text: "Tank TC-1\nLevel (in)|Volume @15C (gal)|Temp\n" + intaketest.RunOf(0, 96, 1, func(d float64) string { return dv("|")(d) + "|15" }), charts: []wantChart{std("TC-1")}},
		{name: "a word in the heading of the only volume yields to the title", text: "Tank TC-2\nLevel (in)|Volume Rev3 (gal)\n" + intaketest.RunOf(0, 96, 1, dv("|")), charts: []wantChart{std("TC-2")}},
		{name: "a volume in two units, one cell wrong, in a long list", text: "Tank|Dip (in)|Gallons|Litres\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			l := math.Round(curve(d, 10000) * 3.785411784)
			if d == 50 {
				l += 90
			}
			return "CU-1|" + dv("|")(d) + "|" + intaketest.Num(l)
		}) + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return "CU-2|" + dv("|")(d) + "|" + intaketest.Num(math.Round(curve(d, 10000)*3.785411784))
		}), charts: []wantChart{std("CU-1"), std("CU-2")}, finds: []string{"columns-disagree check D52"}},
		{name: "a volume in two units, exchanged", text: "Tank CU-3\nDip (in)|Volume (L)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return dv("|")(d) + "|" + intaketest.Num(math.Round(curve(d, 10000)*3.785411784))
		}), charts: []wantChart{{"CU-3", 97, [2]float64{0, 0}, [2]float64{96, 10000}, in, litres}}, finds: []string{"units-conflict stop C2"}},
		{name: "a depth in two units, one cell wrong", text: "Tank CU-4\nDepth (in)|Depth (mm)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			m := math.Round(d * 25.4)
			if d == 60 {
				m += 10
			}
			return intaketest.Num(d) + "|" + intaketest.Num(m) + "|" + intaketest.Num(curve(d, 10000))
		}), charts: []wantChart{std("CU-4")}, finds: []string{"columns-disagree check B63"}},
		{name: "percentages above a full tank", text: "Tank CU-5\nDepth (in)|% full|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return intaketest.Num(d) + "|" + intaketest.Num(math.Round(curve(d, 10000)/9)/10) + "|" + intaketest.Num(curve(d, 10000))
		}), charts: []wantChart{std("CU-5")}, finds: []string{"columns-disagree check B85"}},
		{name: "innage and ullage of two tanks in a list", text: "Tank|Innage (in)|Ullage (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			return "CU-6|" + intaketest.Num(d) + "|" + intaketest.Num(96-d) + "|" + intaketest.Num(curve(d, 10000))
		}) + intaketest.RunOf(0, 64, 1, func(d float64) string {
			u := 64 - d
			if d == 20 {
				u = 54
			}
			return "CU-7|" + intaketest.Num(d) + "|" + intaketest.Num(u) + "|" + intaketest.Num(curve(d*1.5, 3000))
		}), charts: []wantChart{std("CU-6"), {"CU-7", 65, [2]float64{0, 0}, [2]float64{64, 3000}, in, gal}}, finds: []string{"columns-disagree check C119"}},
		{name: "a depth misspelt and a volume not given, in a long list", text: "Tank|Depth (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			switch d {
			case 40:
				return "NV-1|4o|" + intaketest.Num(curve(d, 10000))
			case 60:
				return "NV-1|60|n/a"
			}
			return "NV-1|" + dv("|")(d)
		}) + long("NV-2"), charts: []wantChart{std("NV-1"), std("NV-2")}, finds: []string{"cell-unreadable stop B42", "cell-unreadable stop C62"}},
		{name: "the last volumes are missing", tab: "NV-3", text: "Depth (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			if d > 93 {
				return intaketest.Num(d) + "|"
			}
			return dv("|")(d)
		}) + "|\nPrepared by|2\n", charts: []wantChart{{"NV-3", 94, [2]float64{0, 0}, [2]float64{93, curve(93, 10000)}, in, gal}}, finds: []string{"cell-unreadable check A96:A98"}},
		{name: "the last volumes of the first tank of a list are missing", text: "Tank|Depth (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			if d > 93 {
				return "NV-4|" + intaketest.Num(d) + "|-"
			}
			return "NV-4|" + dv("|")(d)
		}) + long("NV-5"), charts: []wantChart{{"NV-4", 94, [2]float64{0, 0}, [2]float64{93, curve(93, 10000)}, in, gal}, std("NV-5")}, finds: []string{"cell-unreadable check B96:B98"}},
		{name: "apostrophes before the numbers of a text file", text: "Tank,|Depth (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string { return "'AP-1|'" + intaketest.Num(d) + "|'" + intaketest.Num(curve(d, 10000)) }), charts: []wantChart{std("AP-1")}},
		{name: "gallons to a tenth beside whole litres", text: "Tank AP-2\nDip (in)|Litres|Gallons\n" + intaketest.RunOf(0, 96, 1, func(d float64) string {
			g := curve(d, 10000) + 0.31*math.Sin(d)
			return intaketest.Num(d) + "|" + intaketest.Num(math.Round(g*3.785411784)) + "|" + intaketest.Num(math.Round(g*10)/10)
		}), charts: []wantChart{{"AP-2", 97, [2]float64{0, 0}, [2]float64{96, 37855}, in, litres}}},
		{name: "a long list sorted by depth", text: "Tank|Depth (in)|Volume (gal)\n" + intaketest.RunOf(0, 96, 1, func(d float64) string { return "IL-1|" + dv("|")(d) + "\nIL-2|" + dv("|")(d) }), charts: []wantChart{std("IL-1"), std("IL-2")}},
		{name: "a placeholder that begins with an empty tank", tab: "PH-1", text: "Depth (in)|Volume (gal)\n0|0\n" + intaketest.RunOf(1, 96, 1, func(d float64) string { return intaketest.Num(d) + "|1000" }), charts: []wantChart{{"PH-1", 97, [2]float64{0, 0}, [2]float64{96, 1000}, in, gal}}, finds: []string{"placeholder-chart stop A2:B98"}},
		{name: "no heading at all", tab: "NH-1", text: intaketest.RunOf(0, 96, 1, dv("|")), charts: []wantChart{{"NH-1", 97, [2]float64{0, 0}, [2]float64{96, 10000}, 0, 0}}, finds: []string{"units-unknown stop A1:B1"}},
		{name: "two columns alike without a word", tab: "NH-2", text: "A|B\n" + intaketest.RunOf(0, 96, 1, func(d float64) string { return intaketest.Num(d) + "|" + intaketest.Num(3*d) }), finds: []string{"layout-unclear stop A1:B1"}},
		{name: "a list that is no chart", text: "Item|Price\nBolts|3\nNuts|4\n", finds: []string{"layout-unclear stop A2"}},
	}
}

func TestLayouts(t *testing.T) {
	for _, c := range layoutCases() {
		t.Run(c.name, c.check)
	}
}
