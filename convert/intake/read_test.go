package intake

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"dropcut/convert/csvfile"
	"dropcut/convert/grid"
	"dropcut/convert/intake/intaketest"
	"dropcut/convert/intake/lists"
	"dropcut/convert/intake/survey"
	"dropcut/convert/xlsx"
	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
	"dropcut/templates"
)

// book makes a workbook of pairs of a sheet's name and its text.
func book(name string, pairs ...string) intaketest.Book {
	b := intaketest.Book{File: name}
	for i := 0; i+1 < len(pairs); i += 2 {
		b.List = append(b.List, intaketest.Sheet{File: name, Name: pairs[i], Text: pairs[i+1]})
	}
	return b
}

func mustRead(t testing.TB, opt Options, books ...grid.Book) *survey.Reading {
	t.Helper()
	r, err := Read(books, opt)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// a chart of an upright tank of 1 in a row of 50 gal, long or on its own sheet.
func longRows(ids ...string) string {
	var b strings.Builder
	for _, id := range ids {
		for d := range 101 {
			fmt.Fprintf(&b, "\n%s|%d|%d", id, d, 100*d)
		}
	}
	return b.String()
}

func onlyRows() string {
	var b strings.Builder
	for d := range 101 {
		fmt.Fprintf(&b, "\n%d|%d", d, 100*d)
	}
	return b.String()
}

func TestSheetsAreToldByTheirHeadings(t *testing.T) {
	devices := "Device|Shutoff drop (in)|Body length (in)|Tube OD (in)\nFirst|2|12|4"
	rules := "Place|Instrument|Section|Quantity|Comparator|Value|Unit|Confidence\nUS-Fir|Fir Code (invented)|s. 1|shutoff_level|<=|92|percent_full|high"
	b := book("office.xlsx",
		"Sheet1", "Fir County tanks\n\nTank|Capacity (gal)|Inside diameter (in)\nF-1|10000|100\nF-2|10000|100",
		"Kit", devices,
		"Limits", rules,
		"Readings", "Tank|Depth (in)|Volume (gal)"+longRows("F-1", "F-2"),
		"Findings", "Findings\n1 stop\n\nSeverity|Site|Tank|Chart|Finding\nstop|Fir|F-1|F-1|y",
		"Empty", "",
		"Prices", "Tank|Supplier|Price|Paid|Due|Terms\nF-1|A|1.5|no|2024|30\nF-2|B|1.6|no|2025|30\nF-3|C|1.6|no|2025|31",
	)
	r := mustRead(t, Options{}, b)
	want := map[string]survey.SheetKind{
		"Sheet1": survey.TanksSheet, "Kit": survey.DevicesSheet, "Limits": survey.RulesSheet, "Readings": survey.ChartsSheet, "Findings": survey.OurSheet, "Empty": survey.EmptySheet, "Prices": survey.OtherSheet,
	}
	for _, sh := range r.Books[0].Sheets {
		if sh.What != want[sh.At.Sheet] {
			t.Errorf("sheet %s is taken for %q (%s), want %q", sh.At.Sheet, sh.What, sh.Why, want[sh.At.Sheet])
		}
	}
	if len(r.Job.Tanks) != 2 || len(r.Job.Charts) != 2 || len(r.Job.Devices) != 1 || len(r.Job.Rules) != 1 {
		t.Errorf("%d tanks, %d charts, %d devices, %d rules", len(r.Job.Tanks), len(r.Job.Charts), len(r.Job.Devices), len(r.Job.Rules))
	}
	intaketest.WantSaid(t, r.Job.Findings)
	for i, k := range r.Job.ChartOf {
		if k != i {
			t.Errorf("tank %d got chart %d", i, k)
		}
	}
}

// A sheet of ours is known by what stands on it, not by its name alone: a
// contractor may keep charts on a sheet that he calls Sources.
func TestASheetWithOneOfOurNames(t *testing.T) {
	for text, want := range map[string]survey.SheetKind{
		"Tank|Depth (in)|Volume (gal)" + longRows("F-1"):                           survey.ChartsSheet,
		"Sources\n\nOf|Name|Source|Standing\nrule|US-Fir|s. 1|high":                survey.OurSheet,
		"Of|Name|Source|Standing\nrule|US-Fir|s. 1|high":                           survey.OurSheet,
		"a word put in\nSources\n\nOf|Name|Source|Standing\nrule|US-Fir|s. 1|high": survey.OurSheet,
	} {
		r := mustRead(t, Options{}, book("b.xlsx", "Tanks", "Tank|Capacity (gal)\nF-1|10000", "Sources", text))
		if got := r.Books[0].Sheets[1].What; got != want {
			t.Errorf("a sheet Sources that begins with %.30q is taken for %q, want %q", text, got, want)
		}
	}
}

func TestAListAndChartsOfAnotherFile(t *testing.T) {
	list := intaketest.Book{File: "list.csv", List: []intaketest.Sheet{{File: "list.csv", Text: "Tank|Capacity (gal)\nA-1|10000"}}}
	charts := intaketest.Book{File: "charts.csv", List: []intaketest.Sheet{{File: "charts.csv", Text: "Tank|Depth (in)|Volume (gal)" + longRows("A-1", "A-9")}}}
	r := mustRead(t, Options{}, list, charts)
	if len(r.Job.Tanks) != 1 || r.Job.ChartOf[0] != 0 || r.Job.Book != "list.csv" {
		t.Errorf("tanks %d, chart of the first %v, book %s", len(r.Job.Tanks), r.Job.ChartOf, r.Job.Book)
	}
	intaketest.WantSaid(t, r.Job.Findings, "chart-without-tank note  A103")
}

func TestAListBesideTheChartsIsPassedOver(t *testing.T) {
	list := intaketest.Book{File: "list.csv", List: []intaketest.Sheet{{File: "list.csv", Text: "Tank|Capacity (gal)\nA-1|10000"}}}
	charts := book("old.xlsx", "Tanks", "Tank|Capacity (gal)\nA-1|10000", "Charts", "Tank|Depth (in)|Volume (gal)"+longRows("A-1"))
	r := mustRead(t, Options{}, list, charts)
	intaketest.WantSaid(t, r.Job.Findings)
	if len(r.Job.Tanks) != 1 || len(r.Lists) != 1 || r.Books[1].Sheets[0].What != survey.OtherSheet {
		t.Errorf("%d tanks, sheets %+v", len(r.Job.Tanks), r.Books[1].Sheets)
	}
}

func TestChartsAloneAreTanksOfTheirOwn(t *testing.T) {
	r := mustRead(t, Options{}, book("c.xlsx", "T-5", "Depth (in)|Volume (gal)"+onlyRows(), "T-6", "Depth (in)|Volume (gal)"+onlyRows()))
	if len(r.Job.Tanks) != 2 || r.Job.Tanks[0].ID.V != "T-5" || r.Job.ChartOf[1] != 1 {
		t.Errorf("tanks %+v, charts %v", r.Job.Tanks, r.Job.ChartOf)
	}
	intaketest.WantSaid(t, r.Job.Findings)
}

func TestNothingFoundIsAnError(t *testing.T) {
	_, err := Read([]grid.Book{book("letter.xlsx", "Sheet1", "Dear customer|\nplease pay")}, Options{})
	if err == nil || !strings.Contains(err.Error(), "letter.xlsx") {
		t.Errorf("error %v, want one that names the book", err)
	}
}

// Databases write the words of a heading without blanks.
func TestAListWithHeadingsInOneWord(t *testing.T) {
	r := mustRead(t, Options{}, book("b.xlsx", "Tanks", "SiteName|TankID|CapacityGal|RiserHeightMm|FaceToBottomIn\nNorth|A-1|10000|1016|136", "Charts", "TankID|DepthIn|VolGal"+longRows("A-1")))
	if len(r.Job.Tanks) != 1 {
		t.Fatalf("%d tanks", len(r.Job.Tanks))
	}
	k, c := &r.Job.Tanks[0], r.Job.Charts[0]
	if k.ID.V != "A-1" || k.Site.V != "North" || k.Nominal.V != 10000 || k.RiserHeight.V != 40 || k.FaceToBottom.V != 136 || c.DepthUnit != unit.Inches || c.VolumeUnit != unit.USGallons || r.Job.ChartOf[0] != 0 {
		t.Errorf("%s, %s, %v, riser %v, face to bottom %v; chart in %v and %v", k.ID.V, k.Site.V, k.Nominal.V, k.RiserHeight.V, k.FaceToBottom.V, c.DepthUnit, c.VolumeUnit)
	}
}

// A year over a column of inspections is a heading; rows of a list are none,
// whatever numbers they hold.
func TestAYearMayHeadAColumn(t *testing.T) {
	for name, list := range map[string]string{
		"years":               "Site|Tank|Capacity (gal)|Device|2024|2025\nNorth|A-1|10000|First|ok|ok",
		"rows that hold few":  "Site|Tank|Product|Place|Device|Capacity (gal)\nNorth|A-1|Diesel|US-federal|First|2000\nNorth|A-2|Diesel|US-federal|First|2000",
		"a year in each row":  "Tank|Site|Product|Device|Job|Installed\nA-1|North|Diesel|First|7-A|1987\nA-2|North|Diesel|First|7-A|1991",
		"one row and no more": "Tank|Site|Product|Device|Job|Installed\nA-1|North|Diesel|First|7-A|1987",
	} {
		r := mustRead(t, Options{}, book("b.xlsx", "Tanks", list, "Charts", "Tank|Depth (in)|Volume (gal)"+longRows("A-1")))
		if want := strings.Count(list, "\nNorth") + strings.Count(list, "\nA-"); len(r.Job.Tanks) != want || r.Job.Tanks[0].ID.V != "A-1" {
			t.Errorf("%s: %d tanks, want %d from A-1 on", name, len(r.Job.Tanks), want)
		}
	}
}

func TestAListWithoutATankColumnIsReported(t *testing.T) {
	r := mustRead(t, Options{}, book("b.xlsx", "List", "Site|Capacity (gal)|Riser height (in)|Device\nNorth|8000|41|First"))
	found := false
	for _, f := range r.Job.Findings {
		found = found || f.Slug == finding.TankColumnMissing && f.At.Row == 1
	}
	if !found {
		t.Errorf("findings %v, want tank-column-missing at row 1", intaketest.Said(r.Job.Findings))
	}
}

// Units: the chart's own go first, the list confirms or gives them, then the
// option; else they stay unknown.
func TestUnitsOfCharts(t *testing.T) {
	const list = "Tank|Depth unit|Volume unit\nA|"
	for _, c := range []struct {
		name, list, chart string
		opt               Options
		depth             unit.LengthUnit
		volume            unit.VolumeUnit
		want              []string
	}{
		{"own units", "in|gal", "Tank|Depth (in)|Volume (gal)", Options{}, unit.Inches, unit.USGallons, nil},
		{"own units, another option", "in|gal", "Tank|Depth (in)|Volume (gal)", Options{ChartDepthUnit: unit.Millimetres, ChartVolumeUnit: unit.Litres}, unit.Inches, unit.USGallons, nil},
		{"the list's", "cm|L", "Tank|Depth|Volume", Options{}, unit.Centimetres, unit.Litres, nil},
		{"the list's before the option", "cm|L", "Tank|Depth|Volume", Options{ChartDepthUnit: unit.Inches, ChartVolumeUnit: unit.USGallons}, unit.Centimetres, unit.Litres, nil},
		{"the option's", "|", "Tank|Depth|Volume", Options{ChartDepthUnit: unit.Inches, ChartVolumeUnit: unit.USGallons}, unit.Inches, unit.USGallons, []string{"units-assumed note A Charts!B2"}},
		{"nobody's", "|", "Tank|Depth|Volume", Options{}, 0, 0, []string{"units-unknown stop A Charts!B1:C1"}},
		{"half", "in|", "Tank|Depth|Volume", Options{}, unit.Inches, 0, nil},
		{"a conflict", "cm|gal", "Tank|Depth (in)|Volume (gal)", Options{}, unit.Inches, unit.USGallons, []string{"units-conflict stop A Charts!B1"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := mustRead(t, c.opt, book("b.xlsx", "Tanks", list+c.list, "Charts", c.chart+longRows("A")))
			ch := r.Job.Charts[0]
			if ch.DepthUnit != c.depth || ch.VolumeUnit != c.volume {
				t.Errorf("units %q and %q, want %q and %q", ch.DepthUnit, ch.VolumeUnit, c.depth, c.volume)
			}
			if c.name == "half" {
				// Which of its two cells the reader of charts names is its own.
				if len(r.Job.Findings) != 1 || r.Job.Findings[0].Slug != finding.UnitsUnknown || r.Job.Findings[0].Severity != finding.Stop || r.Job.Findings[0].Tank != "A" {
					t.Errorf("findings %v, want one units-unknown", intaketest.Said(r.Job.Findings))
				}
				return
			}
			intaketest.WantSaid(t, r.Job.Findings, c.want...)
		})
	}
}

// The ends of the chart against the list: 100 in and 10,000 gal as they stand.
func TestUnitsAgainstTheList(t *testing.T) {
	for _, c := range []struct {
		name, list string
		want       []string
	}{
		{"as given", "100|10000", nil},
		{"another tank's chart is not a unit", "130|14000", nil},
		{"litres under a gallon heading", "100|2642", []string{"units-doubtful check A Charts!C102"}},
		{"barrels under a gallon heading", "100|420000", []string{"units-doubtful check A Charts!C102"}},
		{"centimetres under an inch heading", "39.4|10000", []string{"units-doubtful stop A Charts!B102"}},
		{"millimetres under an inch heading", "3.94|10000", []string{"units-doubtful stop A Charts!B102"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := mustRead(t, Options{}, book("b.xlsx", "Tanks", "Tank|Inside diameter (in)|Capacity (gal)\nA|"+c.list, "Charts", "Tank|Depth (in)|Volume (gal)"+longRows("A")))
			intaketest.WantSaid(t, r.Job.Findings, c.want...)
		})
	}
}

// The tank list of testdata/layouts/x03: its expected.csv was written with it.
func TestSampleOfLooseIDs(t *testing.T) {
	r := mustRead(t, Options{}, intaketest.Open(t, "testdata/layouts/x03_id_spaces_and_case.xlsx"))
	intaketest.WantSaid(t, r.Job.Findings, "id-loose-match note MQ-1 Charts!A2", "id-loose-match note MQ-2 Tanks!A3", "id-loose-match note mq-3 Tanks!A4")
	for i, k := range r.Job.ChartOf {
		if k != i {
			t.Errorf("tank %s got chart %d, want %d", r.Job.Tanks[i].ID.V, k, i)
		}
	}
}

// Every sample, from the file to a line of inspect, against expected.csv.
func TestInspectOfSamples(t *testing.T) {
	f, err := os.Open("testdata/layouts/expected.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	index := map[string]int{}
	for i, n := range lines[0] {
		index[n] = i
	}
	checked := 0
	for _, l := range lines[1:] {
		get := func(n string) string { return l[index[n]] }
		t.Run(get("file")+" "+get("tank_id"), func(t *testing.T) {
			r := mustRead(t, Options{}, intaketest.Open(t, filepath.Join("testdata/layouts", get("file"))))
			var got *ChartRecord
			for i, x := range Inspect(r) {
				if strings.EqualFold(x.Tank, get("tank_id")) {
					got = &Inspect(r)[i]
				}
			}
			if got == nil {
				t.Fatalf("no chart %q among %v", get("tank_id"), Inspect(r))
			}
			checked++
			if fmt.Sprint(got.Rows) != get("rows") {
				t.Errorf("%d rows, want %s", got.Rows, get("rows"))
			}
			if get("finding") != "formula-without-value" {
				for _, p := range [][2]string{
					{got.FirstDepth, get("first_depth_in")}, {got.FirstVolume, get("first_volume_gal")}, {got.LastDepth, get("last_depth_in")}, {got.LastVolume, get("last_volume_gal")},
				} {
					if p[0] != p[1] {
						t.Errorf("printed %+v, want %q where it has %q", got, p[1], p[0])
					}
				}
			}
			if want := get("finding"); want != "" {
				found := false
				for _, f := range r.Job.Findings {
					cells := strings.Split(strings.TrimPrefix(get("cell"), f.At.Sheet+"!"), ",")
					found = found || string(f.Slug) == want && (f.Cell() == cells[0] || f.At.A1() == cells[0] || strings.Contains(cells[0], "!") && intaketest.CellOf(f) == cells[0])
				}
				if !found {
					t.Errorf("findings %v, want %s at %s", intaketest.Said(r.Job.Findings), want, get("cell"))
				}
			}
		})
	}
	if checked < 26 {
		t.Errorf("only %d of the samples' charts were checked", checked)
	}
}

// The built-in demonstration's tables are read as what they are.
func TestDemoTables(t *testing.T) {
	b, err := csvfile.OpenDir("../../templates/demo")
	if err != nil {
		t.Skip("the demonstration's tables are not there: ", err)
	}
	defer b.Close()
	r, err := Read([]grid.Book{b}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	kinds := map[string]survey.SheetKind{}
	for _, sh := range r.Books[0].Sheets {
		kinds[sh.At.File] = sh.What
	}
	if kinds["tanks.csv"] != survey.TanksSheet || kinds["devices.csv"] != survey.DevicesSheet || kinds["rules.csv"] != survey.RulesSheet {
		t.Errorf("kinds are %v", kinds)
	}
	for _, l := range r.Lists {
		for _, u := range l.Unknown {
			if u.Text != "Remarks" {
				t.Errorf("the heading %q is not understood", u.Text)
			}
		}
	}
	for _, f := range r.Job.Findings {
		if f.At.File == "tanks.csv" && f.Slug != finding.ChartMissing || f.At.File == "devices.csv" || f.At.File == "rules.csv" {
			t.Errorf("unexpected finding %s at %s: %s", f.Slug, f.At, f.Found)
		}
	}
}

// A finding of a chart that tanks share stops each of them.
func TestFindingsOfAChartReachItsTanks(t *testing.T) {
	r := mustRead(t, Options{}, book("b.xlsx", "Tanks", "Tank|Chart|Capacity (gal)\nA|Common|10000\nB|Common|10000", "Charts", "Tank|Depth|Volume"+longRows("Common")))
	intaketest.WantSaid(t, r.Job.Findings, "units-unknown stop A Charts!B1:C1", "units-unknown stop B Charts!B1:C1")
}

func TestRulesOfTheProgram(t *testing.T) {
	rules, err := lists.Rules(templates.FS)
	if err != nil {
		t.Fatal(err)
	}
	r := mustRead(t, Options{Rules: rules}, book("b.xlsx",
		"Charts", "Tank|Depth (in)|Volume (gal)"+longRows("A"),
		"Rules", "rule_id|jurisdiction|instrument|section|quantity|comparator|value|unit|effective|confidence\nUS-SHUTOFF-95|US federal|Own reading|1|shutoff level|≤|93|percent_full|2020|high\nNEW|US-Fir|Fir Code (invented)|2|shutoff_level|about|92|percent_full||high"))
	intaketest.WantSaid(t, r.Job.Findings, "rule-unreadable check  Rules!F3")
	n := 0
	for _, x := range r.Job.Rules {
		if x.ID == "US-SHUTOFF-95" {
			n++
			if x.Value != 93 || x.At != (cell.Ref{File: "b.xlsx", Sheet: "Rules", Row: 2}) || x.From.Format("2006-01-02") != "2020-01-01" {
				t.Errorf("the book's rule is %+v", x)
			}
		}
	}
	if last := r.Job.Rules[len(r.Job.Rules)-1]; last.ID != "NEW" || !last.Unread || last.Enabled {
		t.Errorf("the row that cannot be used is %+v", last)
	}
	if n != 1 || len(r.Job.Rules) != len(rules)+1 {
		t.Errorf("rule stands %d times among %d, %d are built in", n, len(r.Job.Rules), len(rules))
	}
}

func TestOpenRealBook(t *testing.T) {
	b, err := xlsx.Open("testdata/layouts/x03_id_spaces_and_case.xlsx")
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	var text strings.Builder
	if err := WriteInspectText(&text, mustRead(t, Options{}, b)); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"sheet Tanks: tanks", "sheet Charts: charts", "97 rows", "MQ-2 (Tanks!A3): chart MQ-2", "capacity in gal (from B1)"} {
		if !strings.Contains(text.String(), want) {
			t.Errorf("the text lacks %q:\n%s", want, text.String())
		}
	}
}

// A chart that nothing names is its file's, and its findings are its tank's.
func TestAChartWithoutAName(t *testing.T) {
	r := mustRead(t, Options{}, intaketest.Book{File: "yard.csv", List: []intaketest.Sheet{{File: "yard.csv", Text: "Depth|Volume" + onlyRows()}}})
	if len(r.Job.Tanks) != 1 || r.Job.Tanks[0].ID.V != "yard" || Inspect(r)[0].Tank != "" {
		t.Fatalf("tanks %+v", r.Job.Tanks)
	}
	intaketest.WantSaid(t, r.Job.Findings, "units-unknown stop yard A1:B1")
}

// Where the unit changes midway, the chart's end misses the list too; that is
// for the audit to say, at the row where it changes.
func TestAUnitThatChangesMidwayIsNoWrongUnit(t *testing.T) {
	for _, from := range []int{8, 15, 30, 50, 80} {
		var depths, volumes strings.Builder
		for d := range 101 {
			a, b := float64(d), float64(100*d)
			if d >= from {
				a, b = 2.54*a, 3.785*b
			}
			fmt.Fprintf(&depths, "\nA|%g|%d", a, 100*d)
			fmt.Fprintf(&volumes, "\nA|%d|%g", d, b)
		}
		for _, rows := range []string{depths.String(), volumes.String()} {
			r := mustRead(t, Options{}, book("b.xlsx", "Tanks", "Tank|Inside diameter (in)|Capacity (gal)\nA|100|10000", "Charts", "Tank|Depth (in)|Volume (gal)"+rows))
			for _, f := range r.Job.Findings {
				if f.Slug == finding.UnitsDoubtful {
					t.Errorf("from row %d on: %s at %s", from, f.Why, f.At)
				}
			}
		}
	}
}

// A heading or a title that holds the name says more than the name.
func TestNamesInsideHeadings(t *testing.T) {
	var wide strings.Builder
	for d := range 101 {
		fmt.Fprintf(&wide, "\n%d|%d|%d", d, 100*d, 50*d)
	}
	r := mustRead(t, Options{}, book("b.xlsx",
		"Tanks", "Tank|Capacity (gal)\nN-1|10000\nN-2|5000\nP-1|5000\nP-2|5000",
		"Charts", "Depth (in)|N-1 (gal)|N-2 (gal)"+wide.String(),
		"Pair", "Tanks P-1 and P-2, manifolded, combined gallons\nDepth (in)|Volume (gal)"+onlyRows()))
	intaketest.WantSaid(t, r.Job.Findings, "combined-volume check P-1 Pair!A1", "combined-volume check P-2 Pair!A1")
	if got := fmt.Sprint(r.Job.ChartOf); got != "[0 1 2 2]" {
		t.Errorf("charts of the tanks are %s", got)
	}
}

// A book whose chart sheet has turned the ids into numbers: lost zeros, a name
// in powers of ten, a long number; and the same as a CSV file shows them. Each
// tank is stopped with one finding at the spoiled cell.
func TestSpoiledIDsOfABook(t *testing.T) {
	list := "Tank|Capacity (gal)\n'0417|10000\n'22E1|10000\n'120045007891|10000\n'0503E000|10000\nok-5|10000"
	b := book("b.xlsx", "Tanks", list, "Charts", "Tank|Depth (in)|Volume (gal)"+longRows("417", "220", "1.20045008E+11", "503", "ok-5"))
	r := mustRead(t, Options{}, b)
	intaketest.WantSaid(t, r.Job.Findings,
		"id-mismatch stop 0417 Charts!A2", "id-mismatch stop 22E1 Charts!A103", "id-mismatch stop 120045007891 Charts!A204", "id-mismatch stop 0503E000 Charts!A305")
	if got := fmt.Sprint(r.Job.ChartOf); got != "[-1 -1 -1 -1 4]" {
		t.Errorf("charts of the tanks are %s", got)
	}
	if f := r.Job.Findings[0]; !strings.Contains(f.Suggestion, `"0417"`) {
		t.Errorf("the suggestion is %q, want one that gives the whole name", f.Suggestion)
	}
	// The other way: the list has lost them.
	b = book("b.xlsx", "Tanks", "Tank|Capacity (gal)\n417|10000\n220|10000", "Charts", "Tank|Depth (in)|Volume (gal)"+longRows("'0417", "'22E1"))
	intaketest.WantSaid(t, mustRead(t, Options{}, b).Job.Findings, "id-mismatch stop 417 Tanks!A2", "id-mismatch stop 220 Tanks!A3")
}
