package xlsx

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"

	"dropcut/convert/grid"
	"dropcut/convert/xlsx/internal/columns"
	"dropcut/convert/xlsx/internal/dress"
	"dropcut/convert/xlsx/internal/handmade"
	"dropcut/convert/xlsx/internal/lex"
	"dropcut/convert/xlsx/internal/opc"
	"dropcut/convert/xlsx/internal/patch"
	"dropcut/convert/xlsx/internal/verify"
)

// sharedText is a cell with the i-th shared text.
func sharedText(at string, style, i int) string {
	return fmt.Sprintf(`<c r="%s" s="%d" t="s"><v>%d</v></c>`, at, style, i)
}

const tankStyles = handmade.Head + `<styleSheet xmlns="` + lex.NsMain + `" xmlns:mc="http://schemas.openxmlformats.org/markup-compatibility/2006" mc:Ignorable="x14ac" xmlns:x14ac="http://schemas.microsoft.com/office/spreadsheetml/2009/9/ac">` +
	`<numFmts count="1"><numFmt numFmtId="164" formatCode="0.0&quot; in&quot;"/></numFmts>` +
	`<fonts count="2" x14ac:knownFonts="1"><font><sz val="10"/><color theme="1"/><name val="Arial"/><family val="2"/></font><font><b/><sz val="10"/><color rgb="FFFFFFFF"/><name val="Arial"/><family val="2"/></font></fonts>` +
	`<fills count="4"><fill><patternFill patternType="none"/></fill><fill><patternFill patternType="gray125"/></fill><fill><patternFill patternType="solid"><fgColor rgb="FF1F4E78"/><bgColor indexed="64"/></patternFill></fill><fill><patternFill patternType="solid"><fgColor rgb="FFF2F2F2"/><bgColor indexed="64"/></patternFill></fill></fills>` +
	`<borders count="2"><border><left/><right/><top/><bottom/><diagonal/></border><border><left style="thin"><color indexed="0"/></left><right style="thin"><color auto="1"/></right><top style="thin"><color auto="1"/></top><bottom style="thin"><color auto="1"/></bottom><diagonal/></border></borders>` +
	`<cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs>` +
	`<cellXfs count="6"><xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/>` +
	`<xf numFmtId="0" fontId="1" fillId="2" borderId="1" xfId="0" applyFont="1" applyFill="1" applyBorder="1" applyAlignment="1"><alignment horizontal="center" vertical="center"/></xf>` +
	`<xf numFmtId="0" fontId="0" fillId="0" borderId="1" xfId="0" applyBorder="1"/>` +
	`<xf numFmtId="14" fontId="0" fillId="0" borderId="1" xfId="0" applyNumberFormat="1" applyBorder="1" applyAlignment="1"><alignment horizontal="left"/></xf>` +
	`<xf numFmtId="14" fontId="0" fillId="3" borderId="1" xfId="0" applyNumberFormat="1" applyFill="1" applyBorder="1"/>` +
	`<xf numFmtId="0" fontId="0" fillId="3" borderId="1" xfId="0" applyFill="1" applyBorder="1"/></cellXfs>` +
	`<cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles>` +
	`<dxfs count="1"><dxf><font><color rgb="FF9C0006"/></font><extLst><ext uri="{invented}"/></extLst></dxf></dxfs></styleSheet>`

// tankList is a tank list as contractors have them: a title, headings with a
// fill, borders, striped rows, dates in the last column, a row in between.
func tankList() handmade.Package {
	rows := `<row r="1" spans="1:4" ht="20" customHeight="1"><c r="A1" t="inlineStr"><is><t>Tank list, North yard</t></is></c></row>` +
		`<row r="3" spans="1:4" ht="30" customHeight="1" x14ac:dyDescent="0.25">` + sharedText("A3", 1, 0) + sharedText("B3", 1, 1) + sharedText("C3", 1, 2) + sharedText("D3", 1, 3) + `</row>` +
		`<row r="4" spans="1:4">` + sharedText("A4", 2, 4) + sharedText("B4", 2, 5) + `<c r="C4" s="2"><v>10000</v></c><c r="D4" s="3"><v>46026</v></c></row>` +
		`<row r="5" spans="1:4" hidden="1">` + sharedText("A5", 5, 4) + sharedText("B5", 5, 6) + `<c r="C5" s="5"><f>C4*1.5</f><v>15000</v></c><c r="D5" s="4"><v>46027</v></c></row>` +
		`<row r="7" spans="1:4" outlineLevel="1">` + sharedText("A7", 2, 4) + sharedText("B7", 2, 7) + `<c r="C7" s="2"><v>0.30000000000000004</v></c></row>`
	h := handmade.Plain(rows, "<t>Site</t>", "<t>Tank</t>", "<t>Capacity (gal)</t>", "<t>Last inspection</t>", "<t xml:space=\"preserve\">North yard </t>", "<t>N-1</t>", "<r><rPr><b/></rPr><t>N</t></r><r><t>-2</t></r>", "<t>N-3</t>")
	return h.With("xl/styles.xml", tankStyles).
		With(handmade.Sheet1, handmade.Head+`<worksheet xmlns="`+lex.NsMain+`" xmlns:r="`+handmade.RelTypes+`" xmlns:x14ac="http://schemas.microsoft.com/office/spreadsheetml/2009/9/ac"><dimension ref="A1:D7"/>`+
			`<sheetViews><sheetView tabSelected="1" workbookViewId="0"><pane ySplit="3" topLeftCell="A4" state="frozen"/></sheetView></sheetViews><sheetFormatPr defaultRowHeight="12.75" x14ac:dyDescent="0.25"/>`+
			`<cols><col min="1" max="3" width="14.5" customWidth="1"/></cols><sheetData>`+rows+`</sheetData><pageMargins left="0.7" right="0.7" top="0.75" bottom="0.75" header="0.3" footer="0.3"/></worksheet>`)
}

// noisy is a number whose shortest digits are 17.
var noisy = math.Nextafter(0.3, 1)

// tankEdit is what a plan writes beside tankList, from a column on.
func tankEdit(col int) grid.Edit {
	return grid.Edit{Columns: []grid.Column{
		{Sheet: "Charts", Col: col, HeaderRow: 3, Heading: "Plan: Shutoff depth (in)", Width: 12, Cells: []grid.At{
			{Row: 4, Value: grid.Num(82.3125, grid.LookLength)}, {Row: 5, Value: grid.Num(noisy, grid.LookLength)}, {Row: 7, Value: grid.Value{}},
		}},
		{Sheet: "Charts", Col: col + 1, HeaderRow: 3, Heading: "Plan: Shutoff %", Width: 10, Cells: []grid.At{
			{Row: 4, Value: grid.Num(94.996, grid.LookPercent)}, {Row: 5, Value: grid.Num(94.9, grid.LookPercent)},
		}},
		{Sheet: "Charts", Col: col + 2, HeaderRow: 3, Heading: "Plan: Status", Width: 10, Cells: []grid.At{
			{Row: 4, Value: grid.Str("ready", grid.LookReady)}, {Row: 5, Value: grid.Str("check", grid.LookCheck)}, {Row: 7, Value: grid.Str("stop", grid.LookStop)},
		}},
		{Sheet: "Charts", Col: col + 3, HeaderRow: 3, Heading: "Plan: Flags", Width: 30, Cells: []grid.At{
			{Row: 5, Value: grid.Str(" <two> lines &\n_x0041_\u0007 ", grid.LookText)}, {Row: 7, Value: grid.Str("riser not measured", grid.LookNote)},
		}},
	}}
}

func withSheets(e grid.Edit) grid.Edit {
	e.Sheets = []grid.NewSheet{
		{Name: "Findings", Widths: []float64{12, 40}, HeaderRow: 2, Rows: [][]grid.Value{
			{grid.Str("Findings", grid.LookTitle)},
			{grid.Str("Tank", grid.LookHeading), grid.Str("Found", grid.LookHeading), grid.Str("Volume", grid.LookHeading)},
			{grid.Str("N-2", grid.LookPlain), grid.Str("stop: chart ends early", grid.LookStop), grid.Num(1.0/3, grid.LookVolume)},
			{},
			{grid.Str("N-3", grid.LookPlain), {}, grid.Num(-2.5, grid.LookVolume)},
		}},
		{Name: "Sources", Rows: [][]grid.Value{{grid.Str("O'Neill & <Co>", grid.LookPlain)}}},
	}
	return e
}

func patchBytes(book []byte, edit grid.Edit) ([]byte, *patch.Report, error) {
	b, err := openBytes(book)
	if err != nil {
		return nil, nil, err
	}
	var out bytes.Buffer
	report, err := patch.Patch(b, edit, &out)
	if err != nil && out.Len() > 0 {
		err = fmt.Errorf("%w; and %d bytes were written nevertheless", err, out.Len())
	}
	return out.Bytes(), report, err
}

// patched patches, holds the result against the source by Verify and does it
// again: the second time nothing may change.
func patched(t *testing.T, book []byte, edit grid.Edit) ([]byte, *patch.Report) {
	t.Helper()
	out, report, err := patchBytes(book, edit)
	if err != nil {
		t.Fatal(err)
	}
	if err := verifyBytes(book, out, edit); err != nil {
		t.Fatal(err)
	}
	again, second, err := patchBytes(out, edit)
	if err != nil {
		t.Fatal("second run:", err)
	}
	if !bytes.Equal(out, again) {
		t.Fatalf("the second run changes the book: %v", second.Rewritten)
	}
	if len(second.Rewritten)+len(second.Added)+len(second.Removed) > 0 {
		t.Errorf("the second run rewrites %v, adds %v", second.Rewritten, second.Added)
	}
	return out, report
}

func verifyBytes(was, is []byte, edit grid.Edit) error {
	a, err := openBytes(was)
	if err != nil {
		return err
	}
	b, err := openBytes(is)
	if err != nil {
		return err
	}
	return verify.Books(a, b, edit)
}

// partText gives the content of a part.
func partText(t testing.TB, book []byte, name string) string {
	t.Helper()
	b, err := openBytes(book)
	if err != nil {
		t.Fatal(err)
	}
	e := b.Pack.Part(name)
	if e == nil {
		t.Fatalf("there is no part %s", name)
	}
	body, err := b.Pack.Read(e, opc.PartMax)
	if err != nil {
		t.Fatal(err)
	}
	return string(body)
}

func wantHas(t *testing.T, text string, wants ...string) {
	t.Helper()
	for _, w := range wants {
		if !strings.Contains(text, w) {
			t.Errorf("%q is missing in %s", w, text)
		}
	}
}

func TestPatchPlain(t *testing.T) {
	book := tankList().Bytes()
	out, report := patched(t, book, withSheets(tankEdit(5)))
	sheet := partText(t, out, handmade.Sheet1)
	wantHas(t, sheet,
		`<dimension ref="A1:H7"/>`,
		`<cols><col min="1" max="3" width="14.5" customWidth="1"/><col customWidth="1" max="5" min="5" width="12.7109375"/>`,
		`<row r="4" spans="1:7">`, `<row r="5" spans="1:8" hidden="1">`, `<row r="7" spans="1:8" outlineLevel="1">`,
		`<row r="1" spans="1:4" ht="20" customHeight="1">`,
		`<v>82.3125</v>`, `<v>0.30000000000000004</v>`, `<v>94.996</v>`,
		`<t xml:space="preserve"> &lt;two&gt; lines &amp;`+"\n"+`_x005F_x0041__x0007_ </t>`)
	b, err := openBytes(out)
	if err != nil {
		t.Fatal(err)
	}
	text, err := handmade.Dump(b.Sheet("Charts"))
	if err != nil {
		t.Fatal(err)
	}
	wantHas(t, text, `G5=text "check"`, `H5=text " <two> lines &\n_x0041_\a "`, `E5=num 0.30000000000000004`, `F4=num 94.996`)
	text, err = handmade.Dump(b.Sheet("Findings"))
	if err != nil {
		t.Fatal(err)
	}
	wantHas(t, text, `A1=text "Findings"`, `C3=num 0.3333333333333333`, `C5=num -2.5`)
	if got := strings.Join(report.Rewritten, " "); got != "[Content_Types].xml xl/workbook.xml xl/_rels/workbook.xml.rels xl/worksheets/sheet1.xml xl/styles.xml" {
		t.Error("rewritten:", got)
	}
	if got := strings.Join(report.Added, " "); got != "xl/worksheets/sheet2.xml xl/worksheets/sheet3.xml" {
		t.Error("added:", got)
	}
	wantHas(t, partText(t, out, "xl/worksheets/sheet2.xml"), `<pane ySplit="2" topLeftCell="A3" activePane="bottomLeft" state="frozen"/>`, `<autoFilter ref="A2:C5"/>`, `orientation="landscape"`, `fitToPage="1"`)
	wantHas(t, partText(t, out, "xl/workbook.xml"), `<sheet name="Findings" sheetId="2" r:id="rId4"/><sheet name="Sources" sheetId="3" r:id="rId5"/>`,
		`<definedName name="_xlnm.Print_Titles" localSheetId="1">'Findings'!$2:$2</definedName>`)
}

// The look of new cells, as a person sees it.
func TestPatchLook(t *testing.T) {
	out, _ := patched(t, tankList().Bytes(), tankEdit(5))
	b, err := openBytes(out)
	if err != nil {
		t.Fatal(err)
	}
	p := b.Pack
	styles, err := dress.New(p, b.Wb.Styles, false)
	if err != nil {
		t.Fatal(err)
	}
	style := map[string]dress.Xf{}
	for row, err := range b.Sheet("Charts").Rows() {
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range row.Cells {
			style[fmt.Sprintf("%c%d", 'A'+c.Col-1, row.N)] = styles.Xfs[c.Style]
		}
	}
	for _, c := range []struct {
		at   string
		want string
	}{
		{"E3", `font 1 fill 2 border 1 code "" align horizontal="center" vertical="center" wrapText="1"`},
		{"E4", `font 0 fill 0 border 1 code "0.00##" align horizontal="right"`}, // the date format and left alignment of D4 do not come along
		{"E5", `font 0 fill 3 border 1 code "0.00##" align horizontal="right"`}, // the row's stripe does
		{"F4", `font 0 fill 0 border 1 code "0.00####" align horizontal="right"`},
		{"G4", `font 0 fill 0 border 1 code "" align `},
		{"G5", `font 2 fill 4 border 1 code "" align `},
		{"G7", `font 3 fill 5 border 2 code "" align `},
	} {
		f := style[c.at]
		if got := fmt.Sprintf("font %d fill %d border %d code %q align %s", f.Font, f.Fill, f.Border, styles.Codes[f.NumFmt], f.Align); got != c.want {
			t.Errorf("%s: %s, %s expected", c.at, got, c.want)
		}
	}
	text := partText(t, out, "xl/styles.xml")
	wantHas(t, text, `<font><b/><sz val="10"/><color theme="1"/><name val="Arial"/><family val="2"/></font>`, `<font><i/><sz val="10"/>`, `<fonts count="4" x14ac:knownFonts="1">`, `<dxfs count="1">`)
}

// Where nothing can be written the reason and the range are named, and not a
// byte goes out.
func TestPatchRefuses(t *testing.T) {
	base := tankList()
	for _, c := range []struct {
		name   string
		book   handmade.Package
		edit   grid.Edit
		reason columns.Reason
		where  string
	}{
		{"occupied", base, tankEdit(4), columns.ReasonOccupied, "D3:D5"},
		{"another heading in the way", base.Edit(t, handmade.Sheet1, sharedText("D3", 1, 3), sharedText("D3", 1, 3)+sharedText("E3", 1, 0)), tankEdit(5), columns.ReasonOccupied, "E3"},
		{"a remark between the rows", base.Edit(t, handmade.Sheet1, `<row r="7"`, `<row r="6"><c r="F6"><v>1</v></c></row><row r="7"`), tankEdit(5), columns.ReasonOccupied, "F6"},
		{"formula without a value", base.Edit(t, handmade.Sheet1, `<v>46027</v></c>`, `<v>46027</v></c><c r="E5"><f>B1</f></c>`), tankEdit(5), columns.ReasonOccupied, "E5"},
		{"merged title", base.Edit(t, handmade.Sheet1, `<pageMargins`, `<mergeCells count="1"><mergeCell ref="A3:F3"/></mergeCells><pageMargins`), tankEdit(5), columns.ReasonMerged, "A3:F3"},
		{"merged below", base.Edit(t, handmade.Sheet1, `<pageMargins`, `<mergeCells count="1"><mergeCell ref="G7:H9"/></mergeCells><pageMargins`), tankEdit(5), columns.ReasonMerged, "G7:H9"},
		{"protected", base.Edit(t, handmade.Sheet1, `<pageMargins`, `<sheetProtection sheet="1" objects="1"/><pageMargins`), tankEdit(5), columns.ReasonProtected, ""},
		{"rows out of order", base.Edit(t, handmade.Sheet1, `<row r="7"`, `<row r="2"/><row r="7"`), tankEdit(5), columns.ReasonOrder, "2:2"},
		{"a row twice", base.Edit(t, handmade.Sheet1, `<row r="7"`, `<row r="5"/><row r="7"`), tankEdit(5), columns.ReasonOrder, "5:5"},
		{"cells out of order", base.Edit(t, handmade.Sheet1, sharedText("B7", 2, 7), sharedText("B7", 2, 7)+`<c r="A7"/>`), tankEdit(5), columns.ReasonOrder, "A7"},
		{"beyond XFD", base, tankEdit(16382), columns.ReasonEdge, ""},
		{"structure protected", base.Edit(t, "xl/workbook.xml", `<sheets>`, `<workbookProtection lockStructure="1"/><sheets>`), withSheets(grid.Edit{}), columns.ReasonStructure, ""},
		{"no such sheet", base, grid.Edit{Columns: []grid.Column{{Sheet: "Tanks", Col: 5, HeaderRow: 3, Heading: "x"}}}, columns.ReasonNoSheet, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, err := patchBytes(c.book.Bytes(), c.edit)
			var no *columns.Refused
			if !errors.As(err, &no) {
				t.Fatalf("%v", err)
			}
			if no.Reason != c.reason || no.Range != c.where {
				t.Errorf("%s at %q: %v", no.Reason, no.Range, err)
			}
			if strings.Contains(err.Error(), "bytes were written") {
				t.Error(err)
			}
		})
	}
}

// Damage anywhere in the archive is found before a byte is written, also in
// parts that the edit does not touch.
func TestPatchDamaged(t *testing.T) {
	base := tankList().With("xl/media/logo.png", "not really a picture").With("xl/worksheets/other.xml", strings.Repeat("x", 5000))
	for _, name := range []string{"xl/media/logo.png", handmade.Sheet1, "xl/styles.xml", "xl/worksheets/other.xml"} {
		out, _, err := patchBytes(handmade.CorruptSum(t, base.Bytes(), name), tankEdit(5))
		if err == nil || len(out) > 0 || !strings.Contains(err.Error(), "checksum") {
			t.Errorf("%s: %v, %d bytes", name, err, len(out))
		}
	}
	for name, sheet := range map[string]string{
		"cut":       strings.TrimSuffix(tankList()[4].Content, `</worksheet>`),
		"entity":    strings.Replace(tankList()[4].Content, handmade.Head, handmade.Head+`<!DOCTYPE x [<!ENTITY a "b">]>`, 1),
		"UTF-16":    handmade.UTF16(tankList()[4].Content),
		"unclosed":  strings.Replace(tankList()[4].Content, `</row>`, ``, 1),
		"not UTF-8": strings.Replace(tankList()[4].Content, `North`, "N\xf6rth", 1),
	} {
		out, _, err := patchBytes(tankList().With(handmade.Sheet1, sheet).Bytes(), tankEdit(5))
		if err == nil || len(out) > 0 {
			t.Errorf("%s: %v, %d bytes", name, err, len(out))
		}
	}
}

func TestPatchWriterFails(t *testing.T) {
	b := bookOf(t, tankList())
	if _, err := patch.Patch(b, tankEdit(5), failing{}); !errors.Is(err, io.ErrShortWrite) {
		t.Error(err)
	}
}

type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, io.ErrShortWrite }
