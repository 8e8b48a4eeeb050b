package intake

import (
	"fmt"
	"strings"
	"testing"

	"dropcut/convert/grid"
	"dropcut/convert/intake/headword"
	"dropcut/convert/intake/intaketest"
	"dropcut/convert/intake/lists"
	"dropcut/convert/intake/survey"
	"dropcut/plan"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// readList reads a Tanks sheet alone. The missing charts are no part of it.
func readList(t testing.TB, sh intaketest.Sheet) (*survey.Reading, []finding.Finding) {
	t.Helper()
	r := mustRead(t, Options{}, intaketest.Book{File: sh.File, List: []intaketest.Sheet{sh}})
	var list []finding.Finding
	for _, f := range r.Job.Findings {
		if f.Slug != finding.ChartMissing {
			list = append(list, f)
		}
	}
	return r, list
}

func sheet(text string) intaketest.Sheet {
	return intaketest.Sheet{File: "b.xlsx", Name: "Tanks", Text: text}
}

const everyField = `Larch Fuels, tank book|||||||||||||||||||||||||||||||||
kept by the yard office, rev 7
Remarks|Store|Work order|Tank no.|Fuel|Cap. (gal)|Certified capacity|I.D. (in)|Length (ft)|Shape|Heads|Chart|Jurisdiction|Fill limit %|Overfill valve|Fill pipe date|Date last inspected|Riser height to face|Riser I.D.|Overall, face to bottom|Face seal|Bottom clearance|Cut angle|Striker plate|Tilt, end to end (mm)|Low end|Fill station (in)|Dip station (in)|Arm space (in)|Tube as found|High alarm (in)|Ball float|Delivery|Test fitting
||||||gal|||||||||||in|in|in||in||in||||||in|
call first|Larch 3|J-88|L-1|Regular|10000|9,850|95 3/4|26' 8"|horizontal|2:1 elliptical|Steel ten|US-Oregon|92|Example 4|@38991|@45000|41 1/4|4.026|137 1/4|built in|4|45|1/4|25|other|24|160|30|48 3/8|80|yes|gravity|no
`

func TestEveryFieldOfATank(t *testing.T) {
	r, list := readList(t, sheet(everyField))
	intaketest.WantSaid(t, list)
	if len(r.Job.Tanks) != 1 {
		t.Fatalf("%d tanks, want 1", len(r.Job.Tanks))
	}
	tk := r.Job.Tanks[0]
	day := func(s string) string { return s }
	got := fmt.Sprintf("%s|%s|%s|%s|%.4f|%.4f|%g|%g|%s|%s|%s|%s|%g|%s|%s|%s|%g|%g|%g|%d|%g|%g|%g|%.4f|%d|%g|%g|%g|%g|%g|%v|%v|%v",
		tk.ID.V, tk.Site.V, tk.Job.V, tk.Product.V, float64(tk.Nominal.V), float64(tk.Certified.V), float64(tk.Diameter.V), float64(tk.Length.V), tk.Shape.V, tk.EndShape.V,
		tk.ChartName.V, tk.Place.V, float64(tk.Limit.V), tk.Device.V, day(tk.FillPipeInstalled.V.Format("2006-01-02")), day(tk.LastInspection.V.Format("2006-01-02")),
		float64(tk.RiserHeight.V), float64(tk.RiserBore.V), float64(tk.FaceToBottom.V), tk.Seal.V, float64(tk.Clearance.V), float64(tk.CutAngle.V), float64(tk.StrikerPlate.V),
		float64(tk.Rise.V), tk.LowEnd.V, float64(tk.FillStation.V), float64(tk.DipStation.V), float64(tk.FreeArm.V), float64(tk.AsFoundUpper.V), float64(tk.AlarmDepth.V),
		tk.VentRestrictor.V, tk.Pressurized.V, tk.TestVariant.V)
	// 25 mm is 25/25.4 in; serial day 38991 is 2006-10-01 and 45000 2023-03-15.
	want := "L-1|Larch 3|J-88|Regular|10000.0000|9850.0000|95.75|320|horizontal|2:1 elliptical|Steel ten|US-Oregon|92|Example 4|2006-10-01|2023-03-15|" +
		"41.25|4.026|137.25|1|4|45|0.25|0.9843|2|24|160|30|48.375|80|true|false|false"
	if got != want {
		t.Errorf("read\n%s\nwant\n%s", got, want)
	}
	for name, given := range map[string]bool{"vent": tk.VentRestrictor.Given(), "delivery": tk.Pressurized.Given(), "test": tk.TestVariant.Given(), "width": !tk.Width.Given()} {
		if !given {
			t.Errorf("%s is not told apart from a blank", name)
		}
	}
	l := r.Lists[0]
	if l.HeaderRow != 3 || l.FirstRow != 5 || l.LastRow != 5 || l.LastCol != 34 || len(l.Unknown) != 1 || l.Unknown[0].Text != "Remarks" || l.Columns[headword.FieldRiserHeight] != 18 {
		t.Errorf("list is %+v", l)
	}
	if tk.RiserHeight.At.A1() != "R5" || tk.RiserHeight.Raw != "41 1/4" {
		t.Errorf("riser height is %q at %s", tk.RiserHeight.Raw, tk.RiserHeight.At)
	}
}

func TestHeadingsInOtherLanguages(t *testing.T) {
	for _, c := range []struct{ name, head, row string }{
		{"Spanish", "Tanque|Estación|Capacidad (L)|Diámetro interior (mm)|Altura tubo ascendente (mm)|Límite de llenado (%)|Última inspección", "T-1|Norte|40000|2438,4|1047,75|90|2024-03-11"},
		{"French", "Cuve|Station|Capacité nominale (L)|Diamètre intérieur (mm)|Hauteur rehausse (mm)|Limite de remplissage (%)|Dernière inspection", "T-1|Norte|40000|2438,4|1047,75|90|11/03/2024"},
		{"German", "Behälter-Nr.|Tankstelle|Nennvolumen (L)|Innendurchmesser (mm)|Steigrohrhöhe (mm)|Grenzwert (%)|Letzte Prüfung", "T-1|Norte|40.000|2438,4|1047,75|90|11.03.2024"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := intaketest.Sheet{File: "b.csv", Text: c.head + "\n" + c.row + "\nT-2|Norte|50000|2000|900,5|90|2024-12-31"}
			r, list := readList(t, s)
			if c.name == "French" {
				intaketest.WantSaid(t, list, "value-unreadable check T-1 G2") // 11/03 is no proof of either order
			} else {
				intaketest.WantSaid(t, list)
			}
			tk := r.Job.Tanks[0]
			if tk.ID.V != "T-1" || tk.Site.V != "Norte" || tk.Diameter.V != 96 || tk.RiserHeight.V != 41.25 || tk.Limit.V != 90 || tk.Nominal.V < 10566 || tk.Nominal.V > 10568 {
				t.Errorf("tank %+v", tk)
			}
		})
	}
}

func TestRowsThatAreNoTanks(t *testing.T) {
	r, list := readList(t, sheet(`Tank list
Site|Tank|Capacity (gal)|Riser height (in)|Device
North yard
|N-1|8000|41|First
|N-2|8000|42|First
Subtotal||16000
South yard
Site|Tank|Capacity (gal)|Riser height (in)|Device
|S-1|8000|n/a|First
|||40|First
|S-2
Total||24000`))
	intaketest.WantSaid(t, list, "tank-without-name check  Tanks!B10")
	var ids []string
	for _, tk := range r.Job.Tanks {
		ids = append(ids, tk.ID.V)
	}
	if got := strings.Join(ids, " "); got != "N-1 N-2 S-1 S-2" {
		t.Errorf("tanks %s", got)
	}
	if tk := r.Job.Tanks[2]; tk.RiserHeight.Given() {
		t.Errorf("riser height n/a is read as %v", tk.RiserHeight)
	}
	tb := r.Tables[0]
	var passed []string
	for _, p := range tb.Passed {
		passed = append(passed, fmt.Sprintf("%d-%d %s", p.Row, p.ToRow, p.Why))
	}
	want := "3-3 a title: one text and nothing else; 6-6 a total; 7-7 a title: one text and nothing else; 8-8 the headings again; 10-10 no tank is named in it; 12-12 a total"
	if got := strings.Join(passed, "; "); got != want {
		t.Errorf("passed over %s\nwant %s", got, want)
	}
}

func TestTitlesNameTheSiteWhereNoColumnDoes(t *testing.T) {
	r, list := readList(t, sheet("Tank|Capacity (gal)|Riser height (in)\nNorth yard\nN-1|8000|41\nSouth yard\nS-1|8000|41"))
	intaketest.WantSaid(t, list)
	if a, b := r.Job.Tanks[0].Site.V, r.Job.Tanks[1].Site.V; a != "North yard" || b != "South yard" {
		t.Errorf("sites %q and %q", a, b)
	}
}

func TestHeadingsOnTwoRowsAndMergedNames(t *testing.T) {
	s := sheet("|Tank|Riser||Alarm\nSite||height (in)|bore (in)|depth (in)\nNorth|N-1|41|4|80\n|N-2|42|4|81")
	s.Merged = []grid.Range{{Col: 3, Row: 1, ToCol: 4, ToRow: 1}, {Col: 1, Row: 3, ToCol: 1, ToRow: 4}}
	r, list := readList(t, s)
	intaketest.WantSaid(t, list)
	tk := r.Job.Tanks[1]
	if tk.ID.V != "N-2" || tk.Site.V != "North" || tk.RiserHeight.V != 42 || tk.RiserBore.V != 4 || tk.AlarmDepth.V != 81 {
		t.Errorf("second tank %+v", tk)
	}
	if tk.Site.At.A1() != "A3" {
		t.Errorf("the site's cell is %s, want that of the merged area", tk.Site.At.A1())
	}
}

func TestCellsThatCannotBeRead(t *testing.T) {
	for _, c := range []struct {
		name, head, cell string
		want             []string
	}{
		{"two values", "Riser height (in)", "41 or 42", []string{"value-unreadable stop A Tanks!B2"}},
		{"feet and inches as decimals are plain", "Riser height (ft)", "8.1", nil},
		{"no unit anywhere", "Riser height", "41", []string{"units-unknown stop A Tanks!B2"}},
		{"a unit in the cell", "Riser height", "'41 in", nil},
		{"a date for a fraction", "Riser height (in)", "@46025", []string{"value-unreadable stop A Tanks!B2"}},
		{"zero", "Riser height (in)", "0", []string{"value-unreadable stop A Tanks!B2"}},
		{"negative", "Riser height (in)", "-3", []string{"value-unreadable stop A Tanks!B2"}},
		{"an error value", "Riser height (in)", "#N/A", []string{"error-value stop A Tanks!B2"}},
		{"a formula without result", "Riser height (in)", "=", []string{"formula-without-value stop A Tanks!B2"}},
		{"a remark in the alarm", "Alarm depth (in)", "high", []string{"value-unreadable check A Tanks!B2"}},
		{"a level in a rise is nothing", "Rise end to end (in)", "0", nil},
		{"a limit of 195", "Limit %", "195", []string{"value-unreadable stop A Tanks!B2"}},
		{"a limit as a share", "Limit %", "0.95", []string{"value-assumed note A Tanks!B2"}},
		{"a limit shown as a percentage", "Limit %", "%0.95", nil},
		{"a limit with its sign", "Limit", "'95 %", nil},
		{"a seal nobody knows", "Seal", "rubber", []string{"value-unreadable stop A Tanks!B2"}},
		{"a year alone", "Fill pipe installed", "2006", []string{"value-assumed note A Tanks!B2"}},
		{"a day that may be a month", "Fill pipe installed", "'11/9/2006", []string{"value-unreadable stop A Tanks!B2"}},
		{"a number for a date", "Last inspection", "45123", []string{"value-unreadable check A Tanks!B2"}},
		{"a thousand that may be one", "Fill station (in)", "'1,238", []string{"value-unreadable stop A Tanks!B2"}},
		{"a thousand that can be no length", "Inside diameter (mm)", "'2,438", nil},
		{"a decimal that can be no thousand", "Inside diameter (m)", "'2,438", nil},
		{"a thousand of gallons", "Capacity (gal)", "'10,000", nil},
		{"no capacity", "Capacity (gal)", "0", []string{"value-unreadable check A Tanks!B2"}},
		{"an angle from the tube", "Cut angle", "90", []string{"value-unreadable stop A Tanks!B2"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, list := readList(t, sheet("Tank|"+c.head+"|Device\nA|"+c.cell+"|First"))
			intaketest.WantSaid(t, list, c.want...)
			unread := len(r.Job.Tanks[0].Unread) > 0
			if bad := len(c.want) > 0 && !strings.HasPrefix(c.want[0], "value-assumed"); bad != unread {
				t.Errorf("unread cells are %v", r.Job.Tanks[0].Unread)
			}
		})
	}
}

func TestWhatTwoReadingsBecame(t *testing.T) {
	r, _ := readList(t, sheet("Tank|Limit|Fill pipe installed|Inside diameter (m)|Device\nA|0.95|2006|'2,438|First"))
	tk := r.Job.Tanks[0]
	if tk.Limit.V != 95 || tk.FillPipeInstalled.V.Format("2006-01-02") != "2006-12-31" || tk.Diameter.V < 95.98 || tk.Diameter.V > 95.99 {
		t.Errorf("limit %v, fill pipe %v, diameter %v", tk.Limit.V, tk.FillPipeInstalled.V, tk.Diameter.V)
	}
}

// A planned book has columns behind the covered one, so that it is looked at.
func TestAHeadingMergedOverTwoColumnsIsOne(t *testing.T) {
	sh := sheet("Tank|Riser height (in)||Remark\nA|41||x\nB|42||x")
	sh.Merged = []grid.Range{{Col: 2, ToCol: 3, Row: 1, ToRow: 1}}
	r, list := readList(t, sh)
	intaketest.WantSaid(t, list)
	if r.Job.Tanks[1].RiserHeight.V != 42 {
		t.Errorf("riser height %v", r.Job.Tanks[1].RiserHeight)
	}
}

func TestTwoColumnsForOneField(t *testing.T) {
	r, list := readList(t, sheet("Tank|Riser height (in)|Riser height (mm)|Device\nA|41|1041|First\nB|42|1041|First\nC||1041|First"))
	intaketest.WantSaid(t, list, "duplicate-header note  Tanks!B1", "values-differ stop B Tanks!C3")
	if r.Job.Tanks[0].RiserHeight.V != 41 || r.Job.Tanks[1].RiserHeight.Given() || r.Job.Tanks[2].RiserHeight.At.A1() != "C4" {
		t.Errorf("riser heights %v", []any{r.Job.Tanks[0].RiserHeight, r.Job.Tanks[1].RiserHeight, r.Job.Tanks[2].RiserHeight})
	}
}

func TestOurOwnColumnsAreFoundByTheirHeading(t *testing.T) {
	r, list := readList(t, sheet("Tank|Capacity (gal)|Plan: Shutoff depth (in)|Plan: Status\nA|8000|81|ready\nB|8000|80|stop"))
	intaketest.WantSaid(t, list)
	l := r.Lists[0]
	if l.Ours["Plan: Shutoff depth (in)"] != 3 || l.Ours["Plan: Status"] != 4 || len(l.Unknown) != 0 || l.LastCol != 4 || fmt.Sprint(l.Rows) != "[2 3]" {
		t.Errorf("list is %+v", l)
	}
}

// Diameter and capacity in the units that the row itself names, as lists made
// by programs have them.
func TestUnitsOfTheRow(t *testing.T) {
	r, list := readList(t, intaketest.Sheet{File: "tanks.csv", Text: "tank_id|shape|diameter|length|capacity|depth_unit|volume_unit\nA|horizontal|243.84||40000|cm|L\nB|horizontal|96|100|10000|in|US gal"})
	intaketest.WantSaid(t, list)
	a, b := r.Job.Tanks[0], r.Job.Tanks[1]
	if a.Diameter.V != 96 || a.ChartVolumeUnit.V != unit.Litres || a.Length.Given() || b.Diameter.V != 96 || b.Nominal.V != 10000 {
		t.Errorf("tanks %+v and %+v", a, b)
	}
}

func TestCompartmentsFromTheirColumn(t *testing.T) {
	r, list := readList(t, sheet("Tank|Compartment|Capacity (gal)|Product|Device\nC-1|A|6000|Regular|First\nC-1|B|4000|Diesel|First"))
	intaketest.WantSaid(t, list)
	if a, b := r.Job.Tanks[0].ID.V, r.Job.Tanks[1].ID.V; a != "C-1/A" || b != "C-1/B" {
		t.Errorf("tanks %q and %q", a, b)
	}
}

func TestWordsOfASealAndAnEnd(t *testing.T) {
	for text, want := range map[string]plan.Seal{
		"built in": plan.FaceSealBuiltIn, "Built-in": plan.FaceSealBuiltIn, "separate face seal": plan.SeparateFaceSeal, "at nipple": plan.AtNipple, "top of the nipple": plan.AtNipple,
		"no face seal": plan.AtNipple, "eingebaut": plan.FaceSealBuiltIn, "séparé": plan.SeparateFaceSeal, "rubber": plan.SealUnknown, "": plan.SealUnknown,
	} {
		if got, ok := lists.Pick(lists.SealChoices, text); got != want && ok || ok != (want != plan.SealUnknown) {
			t.Errorf("seal %q is read as %v, %v, want %v", text, got, ok, want)
		}
	}
	for text, want := range map[string]plan.End{"fill end": plan.FillEnd, "opposite the fill": plan.OtherEnd, "far": plan.OtherEnd, "Other end": plan.OtherEnd, "left": plan.EndUnknown} {
		if got, ok := lists.Pick(lists.EndChoices, text); ok && got != want || ok != (want != plan.EndUnknown) {
			t.Errorf("end %q is read as %v, %v, want %v", text, got, ok, want)
		}
	}
	for text, want := range map[string]string{"yes": "true", "No": "false", "not fitted": "false", "fitted": "true", "x": "true", "maybe": "?", "sí": "true", "nein": "false", "1": "true"} {
		v, ok := lists.YesNo(text)
		got := "?"
		if ok {
			got = fmt.Sprint(v)
		}
		if got != want {
			t.Errorf("%q is read as %s, want %s", text, got, want)
		}
	}
}

// No text in a list makes the reader fall over, and a value that it gives is
// one that a tank can have.
func FuzzTankCells(f *testing.F) {
	for _, s := range []string{"41 1/4", "1.238", "1,238", "8' 2\"", "n/a", "95 %", "0.95", "2006", "3/4/2026", "built in", "gravity", "#N/A", "−3", "1e309", "4⅛", "in, gal", "\u00a0"} {
		f.Add("Riser height (in)", s)
		f.Add("Limit", s)
		f.Add("Fill pipe installed", s)
		f.Add("Chart units", s)
	}
	f.Fuzz(func(t *testing.T, heading, text string) {
		if strings.ContainsAny(heading+text, "|\n") || len(heading)+len(text) > 300 {
			t.Skip()
		}
		r, err := Read([]grid.Book{intaketest.Book{File: "f.csv", List: []intaketest.Sheet{{File: "f.csv", Text: "Tank|Device|Site|Product|" + heading + "\nA|B|C|D|" + text}}}}, Options{})
		if err != nil {
			return
		}
		for _, tk := range r.Job.Tanks {
			for _, l := range []unit.Length{tk.RiserHeight.V, tk.Diameter.V, tk.FaceToBottom.V, tk.AlarmDepth.V, tk.Rise.V} {
				if !(l >= 0) || l > 1e300 {
					t.Errorf("%q under %q is read as %v in", text, heading, l)
				}
			}
			if p := tk.Limit.V; !(p >= 0 && p <= 100) {
				t.Errorf("%q under %q is read as a limit of %v %%", text, heading, p)
			}
		}
	})
}

func BenchmarkReadTankList(b *testing.B) {
	var s strings.Builder
	s.WriteString("Site|Tank|Product|Nominal capacity (gal)|Inside diameter (in)|Length (in)|Ends|Place|Device|Fill pipe installed|Riser height (in)|Face to bottom (in)|Seal|Alarm set at (in)|Last inspection|Remarks\n")
	for i := range 5000 {
		fmt.Fprintf(&s, "Site %d|T-%d|Regular|10000|96|320|flat|US-federal|First|2014-05-20|41 1/4|137 1/4|built in|80|2024-03-11|\n", i/4, i)
	}
	sh := sheet(s.String())
	for b.Loop() {
		if _, err := Read([]grid.Book{intaketest.Book{File: "b.xlsx", List: []intaketest.Sheet{sh}}}, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
