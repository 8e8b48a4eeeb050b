package xlsx

import (
	"archive/zip"
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	"dropcut/convert/grid"
	"dropcut/convert/xlsx/internal/columns"
	"dropcut/convert/xlsx/internal/dress"
	"dropcut/convert/xlsx/internal/handmade"
	"dropcut/convert/xlsx/internal/lex"
	"dropcut/convert/xlsx/internal/opc"
	"dropcut/convert/xlsx/internal/patch"
)

const (
	typeTable = "application/vnd.openxmlformats-officedocument.spreadsheetml.table+xml"
	tanksRef  = "A3:D7"
)

// withTable puts a table over the tank list.
func withTable(t testing.TB, attrs string) handmade.Package {
	table := handmade.Head + `<table xmlns="` + lex.NsMain + `" id="1" name="Tanks" displayName="Tanks" ref="` + tanksRef + `" ` + attrs + `><autoFilter ref="` + tanksRef + `"/><tableColumns count="4">` +
		`<tableColumn id="1" name="Site"/><tableColumn id="2" name="Tank"/><tableColumn id="5" name="Capacity (gal)"><calculatedColumnFormula>1+1</calculatedColumnFormula></tableColumn><tableColumn id="4" name="Last inspection"/></tableColumns><tableStyleInfo name="TableStyleMedium2" showRowStripes="1"/></table>`
	return tankList().
		Edit(t, "[Content_Types].xml", `</Types>`, `<Override PartName="/xl/tables/table1.xml" ContentType="`+typeTable+`"/></Types>`).
		Edit(t, handmade.Sheet1, `</worksheet>`, `<tableParts count="1"><tablePart r:id="rId1"/></tableParts></worksheet>`).
		With("xl/worksheets/_rels/sheet1.xml.rels", handmade.Head+`<Relationships xmlns="`+handmade.PkgRels+`"><Relationship Id="rId1" Type="`+handmade.RelTypes+`/table" Target="../tables/table1.xml"/></Relationships>`).
		With("xl/tables/table1.xml", table)
}

// prefixed gives every element of a part a prefix.
func prefixed(t testing.TB, h handmade.Package, name string) handmade.Package {
	t.Helper()
	var body string
	for _, p := range h {
		if p.Name == name {
			body = p.Content
		}
	}
	body = strings.TrimPrefix(body, handmade.Head)
	body = strings.ReplaceAll(body, "</", "\x00")
	body = strings.ReplaceAll(body, "<", "<x:")
	body = strings.ReplaceAll(body, "\x00", "</x:")
	return h.With(name, handmade.Head+strings.Replace(body, ` xmlns="`, ` xmlns:x="`, 1))
}

// TestPatchFeatures holds one feature of foreign books a case. What every case
// must do (old cells and parts as they were, new cells with their values, a
// second run without a change) patched looks at.
func TestPatchFeatures(t *testing.T) {
	for _, c := range featureCases(t) {
		t.Run(c.name, func(t *testing.T) {
			edit := withSheets(tankEdit(c.col))
			out, report := patched(t, c.book.Bytes(), edit)
			stays(t, c.book.Bytes(), out, edit)
			for name, text := range c.has {
				wantHas(t, partText(t, out, name), text)
			}
			for name, text := range c.hasNo {
				if body := partText(t, out, name); strings.Contains(body, text) {
					t.Errorf("%q stands in %s", text, body)
				}
			}
			if notes := strings.Join(report.Notes, "\n"); !strings.Contains(notes, c.note) {
				t.Errorf("%q is not noted: %s", c.note, notes)
			}
		})
	}
}

type featureCase struct {
	name  string
	book  handmade.Package
	col   int               // where the columns begin, 5 unless said
	has   map[string]string // part -> what it holds afterwards
	hasNo map[string]string
	note  string
}

func featureCases(t testing.TB) []featureCase {
	base := tankList()
	filter := base.Edit(t, handmade.Sheet1, `<pageMargins`, `<autoFilter ref="A3:D7"><filterColumn colId="1"><filters><filter val="N-1"/></filters></filterColumn></autoFilter><pageMargins`)
	cases := []featureCase{
		{name: "prefixed sheet", book: prefixed(t, base, handmade.Sheet1), has: map[string]string{handmade.Sheet1: `<x:c r="E4" s="7"><x:v>82.3125</x:v></x:c>`}},
		{name: "prefixed styles", book: prefixed(t, base, "xl/styles.xml"), has: map[string]string{"xl/styles.xml": `<x:font><x:b/><x:sz val="10"/>`}},
		{name: "prefixed workbook", book: prefixed(t, base, "xl/workbook.xml"), has: map[string]string{"xl/workbook.xml": `<x:sheet name="Findings" sheetId="2" r:id="rId4"/>`}},
		{name: "strict", book: strict(base), has: map[string]string{"xl/worksheets/sheet2.xml": lex.NsStrict, "xl/_rels/workbook.xml.rels": patch.RelsStrict + "worksheet"}},
		{name: "no dimension", book: base.Edit(t, handmade.Sheet1, `<dimension ref="A1:D7"/>`, ""), hasNo: map[string]string{handmade.Sheet1: "dimension"}},
		{name: "dimension of one cell", book: base.Edit(t, handmade.Sheet1, `ref="A1:D7"`, `ref="A1"`), has: map[string]string{handmade.Sheet1: `<dimension ref="A1:H7"/>`}},
		{
			name: "no styles part", book: base.With("xl/styles.xml", "").Edit(t, "xl/_rels/workbook.xml.rels", `<Relationship Id="rId2" Type="`+handmade.RelTypes+`/styles" Target="styles.xml"/>`, "").
				Edit(t, "[Content_Types].xml", `<Override PartName="/xl/styles.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.styles+xml"/>`, "").Edit(t, handmade.Sheet1, ` s="`, ` z="`),
			has: map[string]string{"xl/styles.xml": `formatCode="0.00##"`, "[Content_Types].xml": "/xl/styles.xml", "xl/_rels/workbook.xml.rels": `Target="styles.xml"`},
		},
		{name: "no number formats", book: base.Edit(t, "xl/styles.xml", `<numFmts count="1"><numFmt numFmtId="164" formatCode="0.0&quot; in&quot;"/></numFmts>`, ""), has: map[string]string{"xl/styles.xml": `<numFmts count="3"><numFmt numFmtId="164" formatCode="0.00##"/>`}},
		{name: "empty list of number formats", book: base.Edit(t, "xl/styles.xml", `<numFmts count="1"><numFmt numFmtId="164" formatCode="0.0&quot; in&quot;"/></numFmts>`, `<numFmts count="0"/>`), has: map[string]string{"xl/styles.xml": `mc:Ignorable="x14ac" xmlns:x14ac="http://schemas.microsoft.com/office/spreadsheetml/2009/9/ac"><numFmts count="3">`}, hasNo: map[string]string{"xl/styles.xml": `count="0"`}},
		{name: "styles without most lists", book: base.With("xl/styles.xml", handmade.Head+`<styleSheet xmlns="`+lex.NsMain+`"><dxfs count="0"/></styleSheet>`).Edit(t, handmade.Sheet1, ` s="`, ` z="`), has: map[string]string{"xl/styles.xml": `<cellXfs count=`}},
		{name: "cells without addresses", book: base.Edit(t, handmade.Sheet1, `<c r="A4"`, `<c`).Edit(t, handmade.Sheet1, `<c r="B4"`, `<c`).Edit(t, handmade.Sheet1, `<c r="C4"`, `<c`).Edit(t, handmade.Sheet1, `<row r="4"`, `<row`), has: map[string]string{handmade.Sheet1: `<c r="E4"`}},
		{name: "rows without numbers", book: base.Edit(t, handmade.Sheet1, `<row r="1"`, `<row`).Edit(t, handmade.Sheet1, `<row r="4"`, `<row`).Edit(t, handmade.Sheet1, `<row r="5"`, `<row`)},
		{name: "columns between ours and theirs", book: base.Edit(t, handmade.Sheet1, `<v>46026</v></c>`, `<v>46026</v></c><c r="J4"><v>1</v></c>`), has: map[string]string{handmade.Sheet1: `<is><t>ready</t></is></c><c r="J4">`}},
		{name: "a row of its own format", book: base.Edit(t, handmade.Sheet1, `<row r="7" spans="1:4"`, `<row r="7" s="5" customFormat="1"`)},
		{name: "rows that are not there", book: base.Edit(t, handmade.Sheet1, `<row r="7" spans="1:4" outlineLevel="1">`+sharedText("A7", 2, 4)+sharedText("B7", 2, 7)+`<c r="C7" s="2"><v>0.30000000000000004</v></c></row>`, `<row r="9"/>`), has: map[string]string{handmade.Sheet1: `</row><row r="7"><c r="G7"`}},
		{name: "empty rows", book: base.Edit(t, handmade.Sheet1, `<row r="7" spans="1:4" outlineLevel="1">`+sharedText("A7", 2, 4)+sharedText("B7", 2, 7)+`<c r="C7" s="2"><v>0.30000000000000004</v></c></row>`, `<row r="7" ht="30" />`), has: map[string]string{handmade.Sheet1: `<row r="7" ht="30" ><c r="G7"`}},
		{name: "no rows at all", book: base.With(handmade.Sheet1, handmade.Head+`<worksheet xmlns="`+lex.NsMain+`"><sheetData /></worksheet>`), has: map[string]string{handmade.Sheet1: `<sheetData><row r="3">`}},
		{name: "styled blanks in the way", book: base.Edit(t, handmade.Sheet1, `<v>46026</v></c>`, `<v>46026</v></c><c r="E4" s="3"/><c r="F4" s="3"></c><c r="K4" s="3"/>`), has: map[string]string{handmade.Sheet1: `<c r="F4" s="8"><v>94.996</v></c>`}},
		{
			name: "hidden columns", book: base.Edit(t, handmade.Sheet1, `</cols>`, `<col min="4" max="16384" width="9.1" hidden="1" outlineLevel="1"/></cols>`), note: "column E was hidden",
			has: map[string]string{handmade.Sheet1: `<col hidden="1" max="4" min="4" outlineLevel="1" width="9.1"/><col customWidth="1" max="5" min="5" width="12.7109375"/>`},
		},
		{name: "widths in one range", book: base.Edit(t, handmade.Sheet1, `<cols><col min="1" max="3"`, `<cols><col min="1" max="6"`), has: map[string]string{handmade.Sheet1: `<cols><col customWidth="1" max="4" min="1" width="14.5"/><col customWidth="1" max="5" min="5" width="12.7109375"/><col customWidth="1" max="6" min="6" width="10.7109375"/><col customWidth="1" max="7" min="7"`}},
		{name: "no widths", book: base.Edit(t, handmade.Sheet1, `<cols><col min="1" max="3" width="14.5" customWidth="1"/></cols>`, ""), has: map[string]string{handmade.Sheet1: `<cols><col customWidth="1" max="5"`}},
		{name: "empty widths", book: base.Edit(t, handmade.Sheet1, `<cols><col min="1" max="3" width="14.5" customWidth="1"/></cols>`, "<cols/>"), has: map[string]string{handmade.Sheet1: `<cols><col customWidth="1" max="5"`}, hasNo: map[string]string{handmade.Sheet1: "<cols/>"}},
		{name: "headings in one line", book: base.Edit(t, handmade.Sheet1, ` ht="30" customHeight="1"`, ""), has: map[string]string{handmade.Sheet1: `min="5" width="28.7109375"/><col customWidth="1" max="6" min="6" width="18.7109375"/>`}},
		{name: "contradicting widths", book: base.Edit(t, handmade.Sheet1, `</cols>`, `<col min="2" max="9" width="5"/></cols>`), note: "contradicts itself"},
		{name: "filter", book: filter, has: map[string]string{handmade.Sheet1: `<autoFilter ref="A3:H7"><filterColumn colId="1">`}, note: "reaches over the new columns"},
		{name: "filter with its name", book: filter.Edit(t, "xl/workbook.xml", `</workbook>`, `<definedNames><definedName name="_xlnm._FilterDatabase" localSheetId="0" hidden="1">'Charts'!$A$3:$D$7</definedName></definedNames></workbook>`), has: map[string]string{"xl/workbook.xml": `>'Charts'!$A$3:$H$7</definedName><definedName`, handmade.Sheet1: `<autoFilter ref="A3:H7">`}},
		{name: "filter with another range in its name", book: filter.Edit(t, "xl/workbook.xml", `</workbook>`, `<definedNames><definedName name="_xlnm._FilterDatabase" localSheetId="0" hidden="1">'Charts'!$A$3:$D$9</definedName></definedNames></workbook>`), has: map[string]string{handmade.Sheet1: `<autoFilter ref="A3:D7">`}, note: "in two ways"},
		{name: "filter sorted", book: base.Edit(t, handmade.Sheet1, `<pageMargins`, `<autoFilter ref="A3:D7"><sortState ref="A4:D7"><sortCondition ref="B4:B7"/></sortState></autoFilter><pageMargins`), has: map[string]string{handmade.Sheet1: `<sortState ref="A4:H7"><sortCondition ref="B4:B7"/>`}},
		{name: "filter that ends before", book: filter, col: 7, has: map[string]string{handmade.Sheet1: `<autoFilter ref="A3:D7">`}, note: "ends before the new columns"},
		{name: "table", book: withTable(t, `totalsRowShown="0"`), note: "table Tanks reaches", has: map[string]string{"xl/tables/table1.xml": `ref="A3:H7" totalsRowShown="0"><autoFilter ref="A3:H7"/><tableColumns count="8">`}},
		{name: "table from outside", book: withTable(t, `tableType="queryTable"`), note: "filled from outside", has: map[string]string{"xl/tables/table1.xml": `ref="A3:D7"`}},
		{name: "table apart", book: withTable(t, ``), col: 7, has: map[string]string{"xl/tables/table1.xml": `ref="A3:D7"`}},
		{name: "table of more rows with something beside", book: withTable(t, ``).Edit(t, "xl/tables/table1.xml", tanksRef, "A3:D12").Edit(t, handmade.Sheet1, `</sheetData>`, `<row r="11"><c r="G11"><v>7</v></c></row></sheetData>`), note: "cell G11 holds something"},
		{name: "signature", book: base.With("_xmlsignatures/sig1.xml", "<Signature/>"), note: "signature does not hold"},
		{name: "macros", book: base.With("xl/vbaProject.bin", "\x00macro").Edit(t, "[Content_Types].xml", "sheet.main+xml", "sheet.macroEnabled.main+xml").Edit(t, "[Content_Types].xml", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.macroEnabled", "application/vnd.ms-excel.sheet.macroEnabled"), has: map[string]string{"xl/vbaProject.bin": "\x00macro", "[Content_Types].xml": "macroEnabled"}},
		{name: "dates from 1904", book: base.Edit(t, "xl/workbook.xml", `<sheets>`, `<workbookPr date1904="1"/><sheets>`)},
		{name: "conditional formats and validations", book: base.Edit(t, handmade.Sheet1, `<pageMargins`, `<conditionalFormatting sqref="A1:XFD1048576"><cfRule type="iconSet" priority="1"><iconSet><cfvo type="percent" val="0" gte="0"/></iconSet></cfRule></conditionalFormatting><dataValidations count="1"><dataValidation type="list" sqref="E4:E9"><formula1>"a,b"</formula1></dataValidation></dataValidations><pageMargins`)},
		{name: "names in the workbook", book: base.Edit(t, "xl/workbook.xml", `</workbook>`, `<definedNames><definedName name="Limit">0.95</definedName></definedNames><calcPr calcId="191029"/></workbook>`), has: map[string]string{"xl/workbook.xml": `<definedName name="Limit">0.95</definedName><definedName name="_xlnm._FilterDatabase" localSheetId="1"`}},
		{name: "empty list of names", book: base.Edit(t, "xl/workbook.xml", `</workbook>`, `<definedNames/><calcPr calcId="191029"/></workbook>`), has: map[string]string{"xl/workbook.xml": `<definedNames><definedName name="_xlnm._FilterDatabase"`}},
		{name: "names after external books", book: base.Edit(t, "xl/workbook.xml", `</workbook>`, `<externalReferences><externalReference r:id="rId9"/></externalReferences><calcPr calcId="191029"/></workbook>`), has: map[string]string{"xl/workbook.xml": `</externalReferences><definedNames>`}},
		{name: "backslashes in names", book: base.Rename(handmade.Sheet1, `xl\worksheets\sheet1.xml`).Rename("xl/styles.xml", `xl\styles.xml`)},
		{name: "text in comments and CDATA", book: base.Edit(t, handmade.Sheet1, `<v>10000</v>`, `<!-- <c r="E4"> --><v><![CDATA[10000]]></v>`)},
		{name: "byte order mark", book: base.Edit(t, handmade.Sheet1, handmade.Head, "\xef\xbb\xbf"+handmade.Head)},
		{name: "many spans", book: base.Edit(t, handmade.Sheet1, `<row r="5" spans="1:4"`, `<row r="5" spans="1:2 4:4"`), has: map[string]string{handmade.Sheet1: `<row r="5" spans="1:8"`}},
		{name: "spans that leave cells out", book: base.Edit(t, handmade.Sheet1, `<row r="5" spans="1:4"`, `<row r="5" spans="2:3"`), has: map[string]string{handmade.Sheet1: `<row r="5" spans="1:8"`}},
		{name: "styles part without anything", book: base.With("xl/styles.xml", handmade.Head+`<styleSheet xmlns="`+lex.NsMain+`"/>`).Edit(t, handmade.Sheet1, ` s="`, ` z="`), has: map[string]string{"xl/styles.xml": `<cellXfs count=`}},
		{name: "prefix of ids declared on the sheet", book: base.Edit(t, "xl/workbook.xml", ` xmlns:r="`+handmade.RelTypes+`"`, "").Edit(t, "xl/workbook.xml", `<sheet `, `<sheet xmlns:r="`+handmade.RelTypes+`" `), has: map[string]string{"xl/workbook.xml": `sheetId="2" xmlns:r="` + handmade.RelTypes + `" r:id="rId4"/>`}},
		{name: "another prefix of ids", book: base.Edit(t, "xl/workbook.xml", `xmlns:r=`, `xmlns:d=`).Edit(t, "xl/workbook.xml", ` r:id=`, ` d:id=`), has: map[string]string{"xl/workbook.xml": `sheetId="2" d:id="rId4"/>`}},
	}
	cases = append(cases, foreignCases(t)...)
	for i := range cases {
		if cases[i].col == 0 {
			cases[i].col = 5
		}
	}
	return cases
}

func strict(h handmade.Package) handmade.Package {
	out := append(handmade.Package(nil), h...)
	for i := range out {
		out[i].Content = strings.ReplaceAll(strings.ReplaceAll(out[i].Content, lex.NsMain, lex.NsStrict), handmade.RelTypes+"/", patch.RelsStrict)
		out[i].Content = strings.ReplaceAll(out[i].Content, `xmlns:r="`+handmade.RelTypes+`"`, `xmlns:r="`+strings.TrimSuffix(patch.RelsStrict, "/")+`"`)
	}
	return out
}

// An archive has features of its own: a comment, folders, stored entries, times,
// attributes, extra fields, data descriptors.
func TestPatchArchive(t *testing.T) {
	var buf bytes.Buffer
	w := zip.NewWriter(&buf)
	if err := w.SetComment("kept by the yard office"); err != nil {
		t.Fatal(err)
	}
	for i, p := range tankList().Add("xl/media/", "").Add("xl/media/a.bin", "\x00\x01").Add("docProps/app.xml", "<Properties/>") {
		h := &zip.FileHeader{Name: p.Name, Method: zip.Deflate, Modified: time.Date(2019, 3, 1+i, 8, 30, 2, 0, time.UTC), ExternalAttrs: uint32(i) << 16}
		if i%3 == 0 || strings.HasSuffix(p.Name, "/") {
			h.Method = zip.Store
		}
		if i%2 == 1 {
			h.Extra = []byte{0xfe, 0xca, 2, 0, 'o', 'k'}
		}
		if i == 3 {
			// A field of long sizes (APPNOTE 4.5.3) where none is needed, as
			// some writers put it in.
			h.Extra = append([]byte{1, 0, 16, 0, 9, 0, 0, 0, 0, 0, 0, 0, 9, 0, 0, 0, 0, 0, 0, 0}, h.Extra...)
		}
		f, err := w.CreateHeader(h)
		if err == nil && !strings.HasSuffix(p.Name, "/") {
			_, err = f.Write([]byte(p.Content))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	out, _ := patched(t, buf.Bytes(), withSheets(tankEdit(5)))
	was, err := zip.NewReader(bytes.NewReader(buf.Bytes()), int64(buf.Len()))
	if err != nil {
		t.Fatal(err)
	}
	is, err := zip.NewReader(bytes.NewReader(out), int64(len(out)))
	if err != nil {
		t.Fatal(err)
	}
	if is.Comment != was.Comment || len(is.File) != len(was.File)+2 {
		t.Errorf("comment %q, %d entries", is.Comment, len(is.File))
	}
	for i, f := range was.File {
		g := is.File[i]
		if f.Name != g.Name || !f.Modified.Equal(g.Modified) || f.ExternalAttrs != g.ExternalAttrs || !bytes.Equal(opc.WithoutZip64(f.Extra), g.Extra) || f.Comment != g.Comment {
			t.Errorf("%s: %v became %v", f.Name, f.FileHeader, g.FileHeader)
		}
	}
}

// formulaBook is a book that was planned before and then had formulas put into
// our columns.
func formulaBook(t *testing.T) handmade.Package {
	return tankList().
		Edit(t, handmade.Sheet1, sharedText("D3", 1, 3), sharedText("D3", 1, 3)+`<c r="E3" t="inlineStr"><is><t>Plan: Shutoff depth (in)</t></is></c><c r="F3" t="inlineStr"><is><t>Plan: Shutoff %</t></is></c>`).
		Edit(t, handmade.Sheet1, `<v>46026</v></c>`, `<v>46026</v></c><c r="E4"><f>80+2</f><v>82</v></c><c r="F4"><f t="shared" ref="F4:F7" si="0">E4</f><v>82</v></c>`).
		Edit(t, handmade.Sheet1, `<v>46027</v></c>`, `<v>46027</v></c><c r="E5"><v>80</v></c><c r="F5"><f t="shared" si="0"/><v>80</v></c>`).
		With("xl/calcChain.xml", handmade.Head+`<calcChain xmlns="`+lex.NsMain+`"><c r="E4" i="1" l="1"/><c r="C5"/><c r="F4"/><c r="F5" s="1"/></calcChain>`).
		Edit(t, "[Content_Types].xml", `</Types>`, `<Override PartName="/xl/calcChain.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.calcChain+xml"/></Types>`).
		Edit(t, "xl/_rels/workbook.xml.rels", `</Relationships>`, `<Relationship Id="rId9" Type="`+handmade.RelTypes+`/calcChain" Target="calcChain.xml"/></Relationships>`)
}

// Formulas that somebody has put into our columns go when the edit says so, and
// with them their entries in the chain of calculation. ECMA-376 Part 1, 18.6.1:
// an entry without i is of the sheet of the entry before.
func TestPatchFormulas(t *testing.T) {
	both := tankEdit(5)
	both.Columns = both.Columns[:2]
	out, _ := patched(t, formulaBook(t).Bytes(), both)
	wantHas(t, partText(t, out, "xl/calcChain.xml"), `<calcChain xmlns="`+lex.NsMain+`"><c i="1" r="C5"/></calcChain>`)
	wantHas(t, partText(t, out, handmade.Sheet1), `<c r="E4" s="6"><v>82.3125</v></c>`)
	wantHas(t, partText(t, out, "xl/workbook.xml"), `<calcPr fullCalcOnLoad="1"/>`)

	// The first cell of the shared formula alone cannot go.
	one := tankEdit(5)
	one.Columns = one.Columns[:2]
	one.Columns[1].Cells = one.Columns[1].Cells[:1]
	_, _, err := patchBytes(formulaBook(t).Bytes(), one)
	if err == nil || !strings.Contains(err.Error(), "Charts!F4: 1 other cells share the formula") {
		t.Error(err)
	}
	// One behind it can: the others keep theirs.
	one.Columns[1].Cells = tankEdit(5).Columns[1].Cells[1:]
	out, _ = patched(t, formulaBook(t).Bytes(), one)
	wantHas(t, partText(t, out, handmade.Sheet1), `<f t="shared" ref="F4:F7" si="0">E4</f>`, `<c r="F5" s="8"><v>94.9</v></c>`)
	wantHas(t, partText(t, out, "xl/calcChain.xml"), `<c i="1" r="C5"/><c r="F4"/></calcChain>`)

	array := formulaBook(t).Edit(t, handmade.Sheet1, `<f>80+2</f>`, `<f t="array" ref="E4:E5">80+2</f>`)
	if _, _, err = patchBytes(array.Bytes(), both); err == nil || !strings.Contains(err.Error(), "Charts!E4: the formula there belongs to a block") {
		t.Error(err)
	}
	// The last formula of the book goes, and the chain with it.
	last := formulaBook(t).Edit(t, handmade.Sheet1, `<f>C4*1.5</f>`, "").Edit(t, "xl/calcChain.xml", `<c r="C5"/>`, "")
	out, report := patched(t, last.Bytes(), both)
	if strings.Join(report.Removed, "") != "xl/calcChain.xml" || strings.Contains(partText(t, out, "xl/_rels/workbook.xml.rels")+partText(t, out, "[Content_Types].xml"), "calcChain") {
		t.Error(report)
	}
}

// On a rerun a cell keeps its format where it tells the same, and takes that of
// its state where it does not.
func TestPatchRerun(t *testing.T) {
	edit := withSheets(tankEdit(5))
	first, _ := patched(t, tankList().Bytes(), edit)
	// The user makes E4 green in a font of theirs: a format like ours but for that.
	h := unpack(t, first)
	b := bookOf(t, h)
	styles, err := dress.New(b.Pack, b.Wb.Styles, false)
	if err != nil {
		t.Fatal(err)
	}
	theirs := fmt.Sprintf(`<c r="E4" s="%d">`, len(styles.Xfs))
	h = h.Edit(t, "xl/styles.xml", `</cellXfs>`, `<xf numFmtId="165" fontId="1" fillId="2" borderId="1" xfId="0" applyNumberFormat="1"/></cellXfs>`).
		Edit(t, handmade.Sheet1, `<c r="E4" s="7">`, theirs)
	edit.Columns[0].Heading = "Plan: Shutoff depth (mm)"
	edit.Columns[0].Cells[0].Value.Number = 2090.7375
	edit.Columns[2].Cells[2].Value = grid.Str("ready", grid.LookReady)
	out, report := patched(t, h.Bytes(), edit)
	wantHas(t, partText(t, out, handmade.Sheet1), theirs+`<v>2090.7375</v></c>`, `<c r="G7" s="2" t="inlineStr"><is><t>ready</t></is></c>`, `Plan: Shutoff depth (mm)`)
	if got := strings.Join(report.Rewritten, " "); got != "xl/workbook.xml "+handmade.Sheet1 {
		t.Error(got) // the workbook, to be calculated anew: C5 holds a formula
	}
}

// Sheets of our own: found again wherever they are, kept where somebody has
// written into them, never put over a user's.
func TestPatchOwnSheets(t *testing.T) {
	edit := withSheets(grid.Edit{})
	names := func(book []byte) string {
		b, err := openBytes(book)
		if err != nil {
			t.Fatal(err)
		}
		var list []string
		for _, s := range b.Sheets() {
			list = append(list, s.At().Sheet)
		}
		return strings.Join(list, "|")
	}
	// A user's own sheet of that name stays.
	theirs := tankList().Edit(t, "xl/workbook.xml", `name="Charts"`, `name="findings"`)
	out, report := patched(t, theirs.Bytes(), edit)
	if got := names(out); got != "findings|Findings (dropcut)|Sources" || report.Sheets["Findings"] != "Findings (dropcut)" {
		t.Error(got, report)
	}
	b, _ := openBytes(out)
	if s := b.OwnSheet("Findings"); s == nil || s.At().Sheet != "Findings (dropcut)" || b.OwnSheet("Changes") != nil {
		t.Error(s)
	}

	first, _ := patched(t, tankList().Bytes(), edit)
	// Another result goes into the place of the first.
	other := withSheets(grid.Edit{})
	other.Sheets[0].Rows = other.Sheets[0].Rows[:3]
	out, report = patched(t, first, other)
	if got := strings.Join(report.Rewritten, " "); names(out) != "Charts|Findings|Sources" || got != "xl/workbook.xml xl/worksheets/sheet2.xml" {
		t.Error(names(out), got)
	}
	wantHas(t, partText(t, out, "xl/workbook.xml"), `'Findings'!$A$2:$C$3<`)

	// One office program counts a sheet too many where a book holds a scenario; the
	// sheets are known nevertheless, now and after the next run.
	miscounted := unpack(t, first).Edit(t, "xl/workbook.xml", `localSheetId="2"`, `localSheetId="3"`).Edit(t, "xl/workbook.xml", `localSheetId="1"`, `localSheetId="2"`).Bytes()
	again, _ := patched(t, miscounted, other)
	again, _ = patched(t, again, edit)
	if got := names(again); got != "Charts|Findings|Sources" {
		t.Error(got)
	}

	// Somebody has written into it.
	h := unpack(t, first).Edit(t, "xl/worksheets/sheet2.xml", `</row></sheetData>`, `<c r="F5"><v>1</v></c></row></sheetData>`)
	out, report = patched(t, h.Bytes(), other)
	if names(out) != "Charts|Findings|Sources|Findings (dropcut)" || !strings.Contains(strings.Join(report.Notes, " "), "somebody has changed cells of it") {
		t.Error(names(out), report.Notes)
	}
	// The next run goes into that one.
	out, _ = patched(t, out, edit)
	if names(out) != "Charts|Findings|Sources|Findings (dropcut)" {
		t.Error(names(out))
	}
	// Somebody has sorted it: no change, and nothing to do.
	h = unpack(t, first).Edit(t, "xl/worksheets/sheet2.xml", `r="3"`, `r="9"`).Edit(t, "xl/worksheets/sheet2.xml", `"A3"`, `"A9"`).Edit(t, "xl/worksheets/sheet2.xml", `"B3"`, `"B9"`).Edit(t, "xl/worksheets/sheet2.xml", `"C3"`, `"C9"`)
	body := partText(t, h.Bytes(), "xl/worksheets/sheet2.xml")
	from, to := strings.Index(body, `<row r="9">`), strings.Index(body, `<row r="5">`)
	row := body[from:to]
	h = h.With("xl/worksheets/sheet2.xml", strings.Replace(strings.Replace(body, row, "", 1), `</sheetData>`, row+`</sheetData>`, 1))
	_, report = patched(t, h.Bytes(), edit)
	if len(report.Rewritten) > 0 {
		t.Error(report.Rewritten)
	}
	// Somebody has put a remark onto it.
	h = unpack(t, first).With("xl/worksheets/_rels/sheet2.xml.rels", handmade.Head+`<Relationships xmlns="`+handmade.PkgRels+`"><Relationship Id="rId1" Type="`+handmade.RelTypes+`/comments" Target="../comments1.xml"/></Relationships>`).With("xl/comments1.xml", "<comments/>")
	out, _ = patched(t, h.Bytes(), other)
	if names(out) != "Charts|Findings|Sources|Findings (dropcut)" {
		t.Error(names(out))
	}
	if _, _, err := patchBytes(tankList().Bytes(), grid.Edit{Sheets: []grid.NewSheet{{Name: "A"}, {Name: "A"}}}); err == nil {
		t.Error("one name is taken twice")
	}
	for _, name := range []string{"", "a/b", strings.Repeat("n", 32), "'a"} {
		if _, _, err := patchBytes(tankList().Bytes(), grid.Edit{Sheets: []grid.NewSheet{{Name: name}}}); err == nil {
			t.Errorf("%q is taken", name)
		}
	}
}

// unpack gives a book's parts to be changed by hand.
func unpack(t testing.TB, book []byte) handmade.Package {
	t.Helper()
	b, err := openBytes(book)
	if err != nil {
		t.Fatal(err)
	}
	var h handmade.Package
	for _, e := range b.Pack.Parts {
		body, err := b.Pack.Read(e, opc.PartMax)
		if err != nil {
			t.Fatal(err)
		}
		h = h.Add(e.Name, string(body))
	}
	return h
}

func TestPlace(t *testing.T) {
	base := tankList()
	for _, c := range []struct {
		name  string
		book  handmade.Package
		col   int
		why   string
		table string
	}{
		{"free", base, 5, "", ""},
		{"styled blanks are free", base.Edit(t, handmade.Sheet1, `<v>46026</v></c>`, `<v>46026</v></c><c r="E4" s="3"/>`), 5, "", ""},
		{"a remark", base.Edit(t, handmade.Sheet1, `<v>46026</v></c>`, `<v>46026</v></c><c r="G4"><v>3</v></c>`), 8, "cell G4 holds something", ""},
		{"a remark above", base.Edit(t, handmade.Sheet1, `</is></c></row>`, `</is></c><c r="G1"><v>3</v></c></row>`), 5, "", ""},
		{"merged heading", base.Edit(t, handmade.Sheet1, `<pageMargins`, `<mergeCells count="1"><mergeCell ref="D2:E3"/></mergeCells><pageMargins`), 6, "D2:E3 is merged", ""},
		{"merged section row", base.Edit(t, handmade.Sheet1, `<pageMargins`, `<mergeCells count="1"><mergeCell ref="A6:XFD6"/></mergeCells><pageMargins`), 5, "", ""},
		{"table", withTable(t, ""), 5, "", "Tanks"},
		{"table from outside", withTable(t, `tableType="queryTable"`), 6, "the table Tanks cannot reach over new columns, because it is filled from outside the book", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := bookOf(t, c.book)
			got, err := columns.FindPlace(b.Sheet("Charts"), 3, []int{4, 5, 7}, 4)
			if err != nil || got != (columns.Place{Col: c.col, Why: c.why, Table: c.table}) {
				t.Errorf("%+v %v", got, err)
			}
			patched(t, c.book.Bytes(), tankEdit(got.Col))
		})
	}
	b := bookOf(t, base.Edit(t, handmade.Sheet1, `<pageMargins`, `<sheetProtection sheet="1"/><pageMargins`))
	if _, err := columns.FindPlace(b.Sheet("Charts"), 3, nil, 4); err == nil || !strings.Contains(err.Error(), "hand.xlsx, Charts: the sheet is protected by its owner") {
		t.Error(err)
	}
	b = bookOf(t, base.Edit(t, handmade.Sheet1, sharedText("D3", 1, 3), sharedText("XFC3", 1, 3)).Edit(t, handmade.Sheet1, `"D4"`, `"XFC4"`).Edit(t, handmade.Sheet1, `"D5"`, `"XFC5"`))
	if _, err := columns.FindPlace(b.Sheet("Charts"), 3, nil, 4); err == nil || !strings.Contains(err.Error(), "no room") {
		t.Error(err)
	}
}
