package read

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"dropcut/convert/peer"

	"github.com/xuri/excelize/v2"

	"dropcut/convert/grid"
	"dropcut/convert/xlsx/internal/handmade"
	"dropcut/convert/xlsx/internal/lex"
	"dropcut/convert/xlsx/internal/parts"
)

func TestAroundTheCells(t *testing.T) {
	h := handmade.Plain("").With(handmade.Sheet1, `<worksheet xmlns="`+lex.NsMain+`" xmlns:r="`+handmade.RelTypes+`"><dimension ref="A1:C9"/><sheetViews><sheetView workbookViewId="0"/></sheetViews>`+
		`<cols><col min="2" max="3" width="9.5" hidden="1" style="2"/><col min="5" max="5" width="0"/><col min="7" max="16385" width="12.25"/></cols>`+
		`<sheetData><row r="1"><c r="A1"><v>1</v></c></row><!-- </sheetData> --></sheetData><sheetProtection sheet="1"/><autoFilter ref="A3:C9"><filterColumn colId="0"/></autoFilter>`+
		`<mergeCells count="2"><mergeCell ref="A1:C1"/><mergeCell ref="$B$4:$B$2"/></mergeCells><tableParts count="1"><tablePart r:id="rId1"/></tableParts></worksheet>`).
		With("xl/worksheets/_rels/sheet1.xml.rels", `<Relationships xmlns="`+handmade.PkgRels+`"><Relationship Id="rId1" Type="`+handmade.RelTypes+`/table" Target="../tables/table1.xml"/><Relationship Id="rId2" Type="`+handmade.RelTypes+`/hyperlink" Target="https://example.org/" TargetMode="External"/></Relationships>`).
		With("xl/tables/table1.xml", `<table xmlns="`+lex.NsMain+`" id="1" name="t" displayName="Tanks" ref="A3:C9" totalsRowCount="1"><autoFilter ref="A3:C8"/><tableColumns count="2"><tableColumn id="1" name="Tank"/><tableColumn id="2" name="Depth_x000a_(in)"/></tableColumns></table>`)
	// What stands behind the cells is the same whether the rows were read
	// before or not.
	for _, read := range []bool{false, true} {
		s := bookOf(t, h).Sheet("Charts")
		if read {
			if _, err := handmade.Dump(s); err != nil {
				t.Fatal(err)
			}
		}
		merges, err := s.Merges()
		if want := []grid.Range{{Col: 1, Row: 1, ToCol: 3, ToRow: 1}, {Col: 2, Row: 2, ToCol: 2, ToRow: 4}}; !reflect.DeepEqual(merges, want) || err != nil {
			t.Errorf("merges %v, %v", merges, err)
		}
		hidden, err := s.HiddenCols()
		if want := []grid.Range{{Col: 2, Row: 1, ToCol: 3, ToRow: parts.MaxRow}, {Col: 5, Row: 1, ToCol: 5, ToRow: parts.MaxRow}}; !reflect.DeepEqual(hidden, want) || err != nil {
			t.Errorf("hidden columns %v, %v", hidden, err)
		}
		cols, err := s.Cols()
		if want := []Col{{From: 2, To: 3, Width: 9.5, Style: 2, Hidden: true}, {From: 5, To: 5, Hidden: true}, {From: 7, To: parts.MaxCol, Width: 12.25}}; !reflect.DeepEqual(cols, want) || err != nil {
			t.Errorf("columns %v, %v", cols, err)
		}
		if dim, ok, err := s.Dimension(); dim != (grid.Range{Col: 1, Row: 1, ToCol: 3, ToRow: 9}) || !ok || err != nil {
			t.Errorf("dimension %v, %v, %v", dim, ok, err)
		}
		if f, ok, err := s.AutoFilter(); f != (grid.Range{Col: 1, Row: 3, ToCol: 3, ToRow: 9}) || !ok || err != nil {
			t.Errorf("filter %v, %v, %v", f, ok, err)
		}
		if p, err := s.Protected(); !p || err != nil {
			t.Errorf("protected %v, %v", p, err)
		}
		tables, err := s.Tables()
		if want := []parts.Table{{Name: "Tanks", Part: "xl/tables/table1.xml", Range: grid.Range{Col: 1, Row: 3, ToCol: 3, ToRow: 9}, HeaderRows: 1, TotalsRows: 1, Columns: []string{"Tank", "Depth\n(in)"}}}; !reflect.DeepEqual(tables, want) || err != nil {
			t.Errorf("tables %+v, %v", tables, err)
		}
	}
	plainSheet := bookOf(t, handmade.Plain("")).Sheet("Charts")
	if _, ok, err := plainSheet.Dimension(); ok || err != nil {
		t.Errorf("no dimension gives %v, %v", ok, err)
	}
	if m, err := plainSheet.Merges(); len(m) != 0 || err != nil {
		t.Errorf("no merges give %v, %v", m, err)
	}
	for _, tail := range []string{`<mergeCells><mergeCell ref="A1:"/></mergeCells>`, `<mergeCells><mergeCell/></mergeCells>`} {
		h := handmade.Plain("").With(handmade.Sheet1, `<worksheet xmlns="`+lex.NsMain+`"><sheetData/>`+tail+`</worksheet>`)
		if _, err := bookOf(t, h).Sheet("Charts").Merges(); err == nil {
			t.Errorf("%s: no error", tail)
		}
	}
}

func TestSheetsNamesAndNotes(t *testing.T) {
	h := handmade.Plain("").
		With("xl/workbook.xml", `<workbook xmlns="`+lex.NsMain+`" xmlns:rel="`+handmade.RelTypes+`"><fileVersion appName="x"/><workbookPr date1904="1"/><workbookProtection lockStructure="1"/><sheets>`+
			`<sheet name="Charts &amp; dips" sheetId="3" rel:id="rId1"/><sheet name="Plot" sheetId="4" rel:id="rId8"/><sheet name="Old" sheetId="5" state="veryHidden" rel:id="rId9"/></sheets>`+
			`<definedNames><definedName name="_xlnm.Print_Area" localSheetId="0">'Charts &amp; dips'!$A$1:$C$9</definedName><definedName name="full" hidden="1">9520</definedName></definedNames></workbook>`).
		Edit(t, "xl/_rels/workbook.xml.rels", `</Relationships>`, `<Relationship Id="rId8" Type="`+handmade.RelTypes+`/chartsheet" Target="chartsheets/sheet1.xml"/><Relationship Id="rId9" Type="`+handmade.RelTypes+`/worksheet" Target="worksheets/sheet2.xml"/></Relationships>`).
		With("xl/chartsheets/sheet1.xml", `<chartsheet xmlns="`+lex.NsMain+`"/>`).
		With("xl/worksheets/sheet2.xml", `<worksheet xmlns="`+lex.NsMain+`"><sheetData/></worksheet>`).
		Edit(t, "_rels/.rels", `</Relationships>`, `<Relationship Id="rId2" Type="`+handmade.RelTypes+`/extended-properties" Target="docProps/app.xml"/></Relationships>`).
		With("docProps/app.xml", `<Properties xmlns="http://schemas.openxmlformats.org/officeDocument/2006/extended-properties"><Application>Some Calc</Application><AppVersion>7.04</AppVersion></Properties>`).
		With("xl/vbaProject.bin", "x").With("_xmlsignatures/sig1.xml", "<x/>")
	b := bookOf(t, h)
	var sheets []string
	for _, s := range b.Sheets() {
		sheets = append(sheets, fmt.Sprint(s.At(), s.Hidden()))
	}
	if got := strings.Join(sheets, "; "); got != "hand.xlsx, Charts & dips false; hand.xlsx, Old true" {
		t.Errorf("sheets %s", got)
	}
	want := []string{
		"workbook saved by Some Calc 7.04", `sheet "Plot" is no worksheet but a chartsheet and is passed over`, "2 sheets, 1 of them hidden",
		"dates count from 1904", "holds macros, which are kept and never run", "is digitally signed",
	}
	if got := b.Notes(); !reflect.DeepEqual(got, want) {
		t.Errorf("notes\n%s", strings.Join(got, "\n"))
	}
	if got, want := b.Names(), []parts.DefinedName{{Name: "_xlnm.Print_Area", Text: "'Charts & dips'!$A$1:$C$9", Sheet: 0}, {Name: "full", Text: "9520", Sheet: -1, Hidden: true}}; !reflect.DeepEqual(got, want) {
		t.Errorf("names %+v", got)
	}
	if !b.Date1904() || !b.HasMacros() || !b.Signed() || !b.Wb.Structure {
		t.Error("1904, macros, signature or protection was not seen")
	}
	plainBook := bookOf(t, handmade.Plain(""))
	if plainBook.Date1904() || plainBook.HasMacros() || plainBook.Signed() || plainBook.Wb.Structure {
		t.Error("the plain book shows 1904, macros, a signature or protection")
	}
}

func TestProgramName(t *testing.T) {
	for _, c := range [][3]string{
		{"Some Calc", "16.0300", "Some Calc 16.0300"},
		{"Calc/7.4.7.2$Linux_X86_64 Calc_project/40$Build-2", "15.0000", "Calc/7.4.7.2"},
		{"Calc", "", "Calc"},
		{"", "1.0", ""},
	} {
		if got := parts.ProgramName(c[0], c[1]); got != c[2] {
			t.Errorf("%q and %q give %q, want %q", c[0], c[1], got, c[2])
		}
	}
}

// Excelize writes the book and reads it: every value must come out of the
// scanner as of its raw reading.
func TestAgainstExcelize(t *testing.T) {
	f := excelize.NewFile()
	defer f.Close()
	values := []any{1, -2.5, 82.1875, 0.1 + 0.2, 1e-9, 9696, "82 1/4", "82¼", " id ", "a\r\nb", "<&>\"'", "_x000D_", true, false, "12", "", nil, "=x", "漢字"}
	for i, v := range values {
		for col := 1; col <= 3; col++ {
			at, _ := excelize.CoordinatesToCellName(col*col, i*2+3)
			if err := f.SetCellValue("Sheet1", at, v); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := f.MergeCell("Sheet1", "K1", "M2"); err != nil {
		t.Fatal(err)
	}
	if err := f.SetColVisible("Sheet1", "D:E", false); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "b.xlsx")
	if err := f.SaveAs(path); err != nil {
		t.Fatal(err)
	}
	compareExcelize(t, path)
	b, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	s := b.Sheets()[0]
	if m, err := s.Merges(); err != nil || !reflect.DeepEqual(m, []grid.Range{{Col: 11, Row: 1, ToCol: 13, ToRow: 2}}) {
		t.Errorf("merges %v, %v", m, err)
	}
	if h, err := s.HiddenCols(); err != nil || !reflect.DeepEqual(h, []grid.Range{{Col: 4, Row: 1, ToCol: 5, ToRow: parts.MaxRow}}) {
		t.Errorf("hidden %v, %v", h, err)
	}
}

// compareExcelize reads a sound book both ways and gives the number of cells.
func compareExcelize(t *testing.T, path string) int {
	t.Helper()
	f, err := excelize.OpenFile(path, excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	b, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	cells := 0
	for _, s := range b.Sheets() {
		want, err := f.GetRows(s.At().Sheet)
		if err != nil {
			t.Fatal(err)
		}
		got := map[[2]int]string{}
		for r, err := range s.Rows() {
			if err != nil {
				t.Fatal(err)
			}
			for i := range r.Cells {
				if c := &r.Cells[i]; len(c.Raw) > 0 {
					got[[2]int{c.Col, r.N}] = c.String()
				}
			}
		}
		for i, row := range want {
			for j, v := range row {
				key := [2]int{j + 1, i + 1}
				// Excelize leaves line ends of XML and trailing blanks as they are.
				if got[key] != v {
					t.Errorf("%s: column %d row %d is %q, excelize reads %q", path, j+1, i+1, got[key], v)
				}
				if v != "" {
					cells++
				}
				delete(got, key)
			}
		}
		for key, v := range got {
			t.Errorf("%s: column %d row %d is %q, excelize reads nothing", path, key[0], key[1], v)
		}
	}
	return cells
}

const openpyxlWrites = `
import sys, datetime
try:
    import openpyxl
except ImportError:
    sys.exit(77)
wb = openpyxl.Workbook()
ws = wb.active
ws.title = "Tank's list"
ws.append(["Tank", "Depth", "Volume"])
ws.append(["KR-1", 82.1875, 9520.25])
ws["B2"].number_format = "# ?/?"
ws["A3"] = datetime.datetime(2026, 1, 4)
ws["B3"] = True
ws["C3"] = "=B2*2"
ws["D3"] = "#N/A"
ws["E3"] = 0.95
ws["E3"].number_format = "0%"
ws["F3"] = "82 1/4"
ws["G3"] = 46026
ws["G3"].number_format = "d-mmm"
ws.row_dimensions[5].hidden = True
ws["A5"] = "hidden"
ws.column_dimensions["C"].hidden = True
ws.merge_cells("A7:C8")
ws["A7"] = "merged"
h = wb.create_sheet("Second")
h.sheet_state = "hidden"
wb.save(sys.argv[1])
`

// openpyxl writes the book; what it meant is what the scanner says.
func TestAgainstOpenpyxl(t *testing.T) {
	python := peer.Program(t, "/usr/bin/python3", "python3")
	path := filepath.Join(t.TempDir(), "b.xlsx")
	out, err := exec.Command(python, "-c", openpyxlWrites, path).CombinedOutput()
	if exit, ok := err.(*exec.ExitError); ok && exit.ExitCode() == 77 {
		if os.Getenv("DROPCUT_PEERS") == "required" {
			t.Fatal("openpyxl is not installed")
		}
		t.Skip("openpyxl is not installed: the comparison is left out")
	}
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	b, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	s := b.Sheets()[0]
	got, err := handmade.Dump(s)
	want := "1: A1=text \"Tank\" B1=text \"Depth\" C1=text \"Volume\"\n2: A2=text \"KR-1\" B2=num/fraction 82.1875 C2=num 9520.25\n" +
		"3: A3=num/date 46026 B3=bool \"1\" C3=blank! D3=error \"#N/A\" E3=num/percent 0.95 F3=text \"82 1/4\" G3=num/date 46026\n5 hidden: A5=text \"hidden\"\n7: A7=text \"merged\"\n"
	if got != want || err != nil {
		t.Errorf("got\n%s%v\nwant\n%s", got, err, want)
	}
	if m, err := s.Merges(); err != nil || len(m) != 1 || m[0] != (grid.Range{Col: 1, Row: 7, ToCol: 3, ToRow: 8}) {
		t.Errorf("merges %v, %v", m, err)
	}
	if h, err := s.HiddenCols(); err != nil || len(h) != 1 || h[0].Col != 3 || h[0].ToCol != 3 {
		t.Errorf("hidden %v, %v", h, err)
	}
	if !b.Sheets()[1].Hidden() || s.Hidden() {
		t.Error("the hidden sheet is not seen")
	}
}

// LibreOffice saves the same book anew; the values stay, the formula has its
// result.
func TestAgainstLibreOffice(t *testing.T) {
	if os.Getenv("DROPCUT_PEERS") != "required" {
		t.Skip("an office program takes seconds: run with DROPCUT_PEERS=required")
	}
	office := peer.Program(t, "soffice", "libreoffice")
	dir := t.TempDir()
	h := handmade.Plain(`<row r="2"><c r="A2" t="s"><v>0</v></c><c r="B2" s="3"><v>82.1875</v></c><c r="C2"><f>B2*2</f></c><c r="D2" s="1"><v>46026</v></c><c r="E2" s="2"><v>0.95</v></c><c r="F2" s="4"><v>0.30000000000000004</v></c></row><row r="4" hidden="1"><c r="A4" t="b"><v>1</v></c></row>`, "<t>KR-1 ¼</t>")
	if err := os.WriteFile(filepath.Join(dir, "in.xlsx"), h.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(office, "-env:UserInstallation=file://"+filepath.ToSlash(filepath.Join(dir, "profile")), "--headless", "--convert-to", "xlsx", "--outdir", filepath.Join(dir, "out"), filepath.Join(dir, "in.xlsx")).CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	b, err := Open(filepath.Join(dir, "out", "in.xlsx"))
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	defer b.Close()
	got, err := handmade.Dump(b.Sheets()[0])
	// It stores a truth value as the formula TRUE() and numbers with 15 digits.
	want := "2: A2=text \"KR-1 ¼\" B2=num/fraction 82.1875 C2=num! 164.375 D2=num/date 46026 E2=num/percent 0.95 F2=num 0.3\n4 hidden: A4=bool! \"1\"\n"
	if got != want || err != nil {
		t.Errorf("got\n%s%v\nwant\n%s", got, err, want)
	}
	compareExcelize(t, filepath.Join(dir, "out", "in.xlsx"))
}

func TestFormatCodeOfAStyle(t *testing.T) {
	b := bookOf(t, handmade.Plain(""))
	s := b.Sheet("charts")
	if s == nil || b.Sheet("Chart") != nil {
		t.Fatal("the sheet is not found by its name")
	}
	for style, want := range map[int32]string{0: "", 1: "", 4: `0.0" in"`, 5: ""} {
		if got := s.FormatCode(style); got != want {
			t.Errorf("style %d has the code %q, want %q", style, got, want)
		}
	}
}
