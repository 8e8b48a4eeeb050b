package xlsx

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"testing"

	"dropcut/convert/grid"
	"dropcut/convert/xlsx/internal/handmade"
	"dropcut/convert/xlsx/internal/lex"
	"dropcut/plan/cell"
)

const (
	relsLoose = handmade.RelTypes + "/"
	relsMore  = "http://schemas.microsoft.com/office/"
	tailOf    = "<pageMargins"
	mc        = `xmlns:mc="http://schemas.openxmlformats.org/markup-compatibility/2006"`
)

// attached hangs parts onto the first sheet: pairs of a kind of relationship and a
// part's path with its content behind a blank.
func attached(t testing.TB, h handmade.Package, owner string, pairs ...string) handmade.Package {
	t.Helper()
	rels := ""
	for i := 0; i < len(pairs); i += 2 {
		name, body, _ := strings.Cut(pairs[i+1], " ")
		h = h.With(name, body).Edit(t, "[Content_Types].xml", "</Types>", `<Override PartName="/`+name+`" ContentType="application/vnd.invented.part"/></Types>`)
		rels += fmt.Sprintf(`<Relationship Id="rIdA%d" Type="%s" Target="/%s"/>`, i/2+1, pairs[i], name)
	}
	if owner == "xl/workbook.xml" {
		return h.Edit(t, "xl/_rels/workbook.xml.rels", "</Relationships>", rels+"</Relationships>")
	}
	return h.With("xl/worksheets/_rels/sheet1.xml.rels", handmade.Head+`<Relationships xmlns="`+handmade.PkgRels+`">`+rels+`</Relationships>`)
}

// foreignCases are things that hang in and on other people's sheets and that
// dropcut knows nothing of.
func foreignCases(t testing.TB) []featureCase {
	base := tankList()
	sheet := func(old, with string) handmade.Package { return base.Edit(t, handmade.Sheet1, old, with) }
	before := func(elements string) handmade.Package { return sheet(tailOf, elements+tailOf) }
	behind := func(elements string) handmade.Package { return sheet("</worksheet>", elements+"</worksheet>") }
	workbook := func(old, with string) handmade.Package { return base.Edit(t, "xl/workbook.xml", old, with) }
	all := func(change func(name, body string) string) handmade.Package {
		out := append(handmade.Package(nil), base...)
		for i := range out {
			out[i].Content = change(out[i].Name, out[i].Content)
		}
		return out
	}
	x14 := ` xmlns:x14="` + relsMore + `spreadsheetml/2009/9/main" xmlns:xm="` + relsMore + `excel/2006/main"`
	styled := ""
	for col := 5; col <= 16384; col++ {
		styled += `<c r="` + cell.Ref{Col: col, Row: 3}.A1() + `" s="2"/>`
	}
	return []featureCase{
		{name: "sparklines and data bars in extLst", book: behind(`<extLst><ext uri="{05C60535-1F16-4fd2-B633-F4F36F0B64E0}"` + x14 + `><x14:sparklineGroups><x14:sparklineGroup displayEmptyCellsAs="gap"><x14:sparklines><x14:sparkline><xm:f>Charts!C4:D4</xm:f><xm:sqref>J20</xm:sqref></x14:sparkline></x14:sparklines></x14:sparklineGroup></x14:sparklineGroups></ext></extLst>`)},
		{name: "phonetics", book: before(`<phoneticPr fontId="0" type="noConversion"/>`).Edit(t, "xl/sharedStrings.xml", "<t>N-1</t>", `<t>N-1</t><rPh sb="0" eb="1"><t>エヌ</t></rPh><phoneticPr fontId="1"/>`)},
		{name: "comments, threaded ones and who wrote them", book: attached(t, attached(t, behind(`<legacyDrawing r:id="rIdA1"/>`), "sheet",
			relsLoose+"vmlDrawing", `xl/drawings/vmlDrawing1.vml <xml xmlns:v="urn:schemas-microsoft-com:vml"/>`,
			relsLoose+"comments", "xl/comments1.xml "+handmade.Head+`<comments xmlns="`+lex.NsMain+`"><authors><author>office</author></authors><commentList><comment ref="B4" authorId="0"><text><t>ask</t></text></comment></commentList></comments>`,
			relsMore+"2017/10/relationships/threadedComment", "xl/threadedComments/threadedComment1.xml "+handmade.Head+`<ThreadedComments xmlns="urn:invented"/>`),
			"xl/workbook.xml", relsMore+"2017/10/relationships/person", "xl/persons/person.xml "+handmade.Head+`<personList xmlns="urn:invented"/>`)},
		{name: "slicers, pivots, data model", book: attached(t, attached(t, base, "sheet",
			relsLoose+"pivotTable", "xl/pivotTables/pivotTable1.xml "+handmade.Head+`<invented/>`, relsMore+"2007/relationships/slicer", "xl/slicers/slicer1.xml <s/>"),
			"xl/workbook.xml", relsLoose+"pivotCacheDefinition", "xl/pivotCache/pivotCacheDefinition1.xml <p/>", relsMore+"2011/relationships/dataModel", "xl/model/item.data \x00\x01model", relsLoose+"connections", "xl/connections.xml <c/>").
			Edit(t, "xl/workbook.xml", "</workbook>", `<pivotCaches><pivotCache cacheId="7" r:id="rIdA1"/></pivotCaches><extLst><ext uri="{46BE6895-7355-4a93-B00E-2C351335B9C9}" xmlns:x15="urn:invented"><x15:slicerCaches/></ext></extLst></workbook>`)},
		{name: "printer settings", book: attached(t, behind(`<pageSetup orientation="landscape" r:id="rIdA1"/>`), "sheet", relsLoose+"printerSettings", "xl/printerSettings/printerSettings1.bin \x01\x02\x00")},
		{name: "custom XML and external books", book: attached(t, workbook("</workbook>", `<externalReferences><externalReference r:id="rIdA2"/></externalReferences></workbook>`), "xl/workbook.xml",
			relsLoose+"customXml", "customXml/item1.xml <root>a &amp; b</root>", relsLoose+"externalLink", "xl/externalLinks/externalLink1.xml "+handmade.Head+`<externalLink xmlns="`+lex.NsMain+`"/>`)},
		{name: "what joint editing leaves", book: workbook("<sheets>", `<mc:AlternateContent `+mc+`><mc:Choice Requires="x15"><a:absPath url="C:\office\" xmlns:a="urn:a"/></mc:Choice></mc:AlternateContent><x:revisionPtr xmlns:x="urn:x" revIDLastSave="0"/><sheets>`)},
		{name: "two readings of one list", book: before(`<mc:AlternateContent ` + mc + `><mc:Choice Requires="x12ac"><dataValidations count="1"><dataValidation type="list" sqref="A4:A9"><l xmlns="urn:l">"a,b"</l></dataValidation></dataValidations></mc:Choice><mc:Fallback/></mc:AlternateContent>`)},
		{name: "byte order marks in every part", book: all(func(_, body string) string { return "\xef\xbb\xbf" + body })},
		{name: "line breaks and tabs between all elements", book: all(func(name, body string) string {
			if name == "xl/sharedStrings.xml" {
				return body
			}
			return strings.ReplaceAll(body, "><", ">\r\n\t<")
		})},
		{name: "no declaration, comments and instructions", book: all(func(_, body string) string {
			return strings.Replace(body, handmade.Head, "<!-- made <row> --><?go away?>\n", 1)
		})},
		{name: "single quotes and odd blanks", book: sheet(`<c r="A4" s="2"`, "<c\n\tr = 'A4'  s='2' ").Edit(t, handmade.Sheet1, "</row>", "</row >").Edit(t, handmade.Sheet1, "</c>", "</c\n>")},
		{name: "absolute targets", book: base.Edit(t, "xl/_rels/workbook.xml.rels", `Target="`, `Target="/xl/`)},
		{name: "targets with dots", book: base.Edit(t, "xl/_rels/workbook.xml.rels", `Target="`, `Target="./../xl/`)},
		{name: "ids of another kind", book: workbook(`r:id="rId1"`, `r:id="R4c1e"`).Edit(t, "xl/_rels/workbook.xml.rels", `Id="rId1"`, `Id="R4c1e"`)},
		{name: "formatted cells up to the last column", book: sheet(sharedText("D3", 1, 3), sharedText("D3", 1, 3)+styled), has: map[string]string{handmade.Sheet1: `<row r="3" spans="1:16384"`}},
		{name: "hidden row of headings", book: sheet(`<row r="3"`, `<row r="3" hidden="1"`)},
		{name: "filter over whole columns", book: before(`<autoFilter ref="A:D"/>`)},
		{name: "filter with what it hides", book: before(`<autoFilter ref="A3:D7"><filterColumn colId="2" showButton="0"><top10 val="3"/></filterColumn><sortState caseSensitive="1" ref="A4:D7"><sortCondition descending="1" ref="B4:B7"/></sortState></autoFilter>`)},
		{name: "table with a row of totals", book: withTable(t, `totalsRowCount="1"`).Edit(t, "xl/tables/table1.xml", `autoFilter ref="A3:D7"`, `autoFilter ref="A3:D6"`), has: map[string]string{"xl/tables/table1.xml": `ref="A3:H7" totalsRowCount="1"><autoFilter ref="A3:H6"/>`}},
		{name: "table without headings of its own", book: withTable(t, `headerRowCount="0"`).Edit(t, "xl/tables/table1.xml", `<autoFilter ref="A3:D7"/>`, ``), note: "no heading row of its own"},
		{name: "table that is sorted", book: withTable(t, ``).Edit(t, "xl/tables/table1.xml", `<autoFilter ref="A3:D7"/>`, `<autoFilter ref="A3:D7"/><sortState ref="A4:D7"><sortCondition ref="B3:B7"/></sortState>`), note: "table Tanks reaches"},
		{name: "shared and array formulas beside", book: sheet(`<row r="7"`, `<row r="6"><c r="A6"><f t="shared" ref="A6:B6" si="0">1+1</f><v>2</v></c><c r="B6"><f t="shared" si="0"/><v>2</v></c><c r="C6" cm="1" vm="1"><f t="array" ref="C6:C8" aca="1">C4:C5</f><v>1</v></c></row><row r="7"`), has: map[string]string{handmade.Sheet1: `<f t="shared" si="0"/>`}},
		{name: "protection that is off", book: before(`<sheetProtection sheet="0" objects="1"/>`)},
		{name: "all the rest that a sheet may have", book: sheet("<sheetViews>", `<sheetPr codeName="S" filterMode="1"><outlinePr summaryBelow="0"/><pageSetUpPr autoPageBreaks="0" fitToPage="1"/></sheetPr><sheetViews>`).Edit(t, handmade.Sheet1, `<dimension ref="A1:D7"/>`, "").
			Edit(t, handmade.Sheet1, tailOf, `<sheetCalcPr fullCalcOnLoad="1"/><protectedRanges><protectedRange sqref="A1:Z9" name="r"/></protectedRanges><scenarios current="0"><scenario name="s" count="1"><inputCells r="C4" val="3"/></scenario></scenarios><dataConsolidate function="average"/><customSheetViews><customSheetView guid="{00000000-0000-0000-0000-00000000000A}" zeroValues="0"><autoFilter ref="A3:D7"/></customSheetView></customSheetViews><hyperlinks><hyperlink ref="A4" location="Charts!A1"/></hyperlinks><printOptions gridLines="1" gridLinesSet="0"/><pageMargins`).
			Edit(t, handmade.Sheet1, "</worksheet>", `<rowBreaks count="1" manualBreakCount="1"><brk id="3" max="16383" man="1"/></rowBreaks><ignoredErrors><ignoredError sqref="A1:D7" numberStoredAsText="1"/></ignoredErrors></worksheet>`)},
		{name: "what a workbook may have", book: workbook("<sheets>", `<fileSharing readOnlyRecommended="1" reservationPassword="CC1A"/><workbookPr codeName="W"/><sheets>`).
			Edit(t, "xl/workbook.xml", "</workbook>", `<definedNames><definedName name="x" xlm="1" hidden="1">Charts!$A$1</definedName><definedName name="_xlnm.Print_Area" localSheetId="0">Charts!$A$1:$D$7</definedName></definedNames><calcPr calcMode="manual" fullCalcOnLoad="0"/><oleSize ref="A1:C3"/></workbook>`)},
		{name: "cells of every kind", book: sheet(`<row r="7"`, `<row r="6"><c r="A6" t="str"><v></v></c><c r="B6" t="b"><v>1</v></c><c r="C6" t="e"><v>#N/A</v></c><c r="D6" t="d" ph="1"><v>2024-01-01</v><extLst><ext uri="x"/></extLst></c></row><row r="7"`)},
	}
}

// The comparison that every book is held by can fail.
func TestSpoiltBooksAreSeen(t *testing.T) {
	base := tankList()
	for _, spoilt := range []handmade.Package{
		base.Edit(t, handmade.Sheet1, "<v>10000</v>", "<v>10001</v>"), base.Edit(t, handmade.Sheet1, `ySplit="3"`, `ySplit="2"`), base.Edit(t, handmade.Sheet1, `outlineLevel="1"`, ""),
		base.Edit(t, handmade.Sheet1, `<c r="C4" s="2">`, `<c r="C4" s="3">`), base.With("docProps/app.xml", "<a/>"),
	} {
		if len(differences(t, base.With("docProps/app.xml", "<b/>").Bytes(), spoilt.Bytes(), nil)) == 0 {
			t.Error("a spoilt book passes for untouched")
		}
	}
}

// stays holds that nothing but the new cells has changed, seen without any of
// dropcut's own readers: by archive/zip and encoding/xml.
func stays(t *testing.T, was, is []byte, edit grid.Edit) {
	t.Helper()
	ours := map[int]bool{}
	for _, c := range edit.Columns {
		ours[c.Col] = true
	}
	for _, d := range differences(t, was, is, ours) {
		t.Error(d)
	}
}

func differences(t *testing.T, was, is []byte, ours map[int]bool) (list []string) {
	t.Helper()
	open := func(book []byte) (*zip.Reader, map[string][]byte) {
		z, err := zip.NewReader(bytes.NewReader(book), int64(len(book)))
		if err != nil {
			t.Fatal(err)
		}
		parts := map[string][]byte{}
		for _, f := range z.File {
			r, err := f.Open()
			if err != nil {
				t.Fatal(err)
			}
			body, err := io.ReadAll(r)
			if err != nil {
				t.Fatal(f.Name, err)
			}
			if _, twice := parts[f.Name]; twice {
				t.Fatalf("%s stands in the archive twice", f.Name)
			}
			parts[f.Name] = body
		}
		return z, parts
	}
	_, old := open(was)
	z, now := open(is)
	for _, f := range z.File {
		if strings.HasSuffix(f.Name, ".xml") || strings.HasSuffix(f.Name, ".rels") {
			if _, err := outline(now[f.Name], nil); err != nil {
				list = append(list, f.Name+" is not well formed: "+err.Error())
			}
		}
	}
	// What is added to these is looked at where it is tested what is added.
	may := func(name string) bool {
		name = strings.ReplaceAll(name, `\`, "/")
		return slices.Contains([]string{"[Content_Types].xml", "xl/workbook.xml", "xl/_rels/workbook.xml.rels", "xl/styles.xml"}, name) || strings.HasPrefix(name, "xl/tables/")
	}
	for _, name := range slices.Sorted(maps.Keys(old)) {
		body, there := now[name]
		switch {
		case !there:
			list = append(list, name+" is gone")
		case bytes.Equal(old[name], body) || may(name):
		case strings.HasSuffix(strings.ReplaceAll(name, `\`, "/"), "worksheets/sheet1.xml"):
			a, err := outline(old[name], ours)
			if err != nil {
				t.Fatal(err)
			}
			b, err := outline(body, ours)
			if err != nil {
				t.Fatal(err)
			}
			for i := range max(len(a), len(b)) {
				if i >= len(a) || i >= len(b) || a[i] != b[i] {
					list = append(list, fmt.Sprintf("%s: %q became %q", name, a[i:min(i+1, len(a))], b[i:min(i+1, len(b))]))
					break
				}
			}
		default:
			list = append(list, name+" was touched")
		}
	}
	return list
}

// outline gives all elements and texts of a sheet but what a patch is there to
// change: cells in the new columns, widths, the ranges of dimension and filter,
// the spans of rows, rows with nothing in them. Blanks between elements do not
// count.
func outline(part []byte, ours map[int]bool) (list []string, err error) {
	d := xml.NewDecoder(bytes.NewReader(bytes.TrimPrefix(part, []byte("\xef\xbb\xbf"))))
	row, col, filter := 0, 0, 0
	for {
		tok, err := d.Token()
		if err == io.EOF {
			return list, nil
		}
		if err != nil {
			return nil, err
		}
		switch tok := tok.(type) {
		case xml.StartElement:
			at := map[string]string{}
			for _, a := range tok.Attr {
				at[a.Name.Local] = a.Value
			}
			name := tok.Name.Local
			switch {
			case ours == nil:
			case name == "row":
				row++
				if at["r"] != "" {
					if _, err := fmt.Sscan(at["r"], &row); err != nil {
						return nil, err
					}
				}
				col = 0
				delete(at, "spans")
				at["r"] = fmt.Sprint(row)
			case name == "c":
				col++
				if at["r"] != "" {
					col, _, _ = cell.ParseA1(at["r"])
				}
				at["r"] = fmt.Sprint(col)
				if ours[col] {
					if err := d.Skip(); err != nil {
						return nil, err
					}
					continue
				}
			case name == "cols" || name == "dimension":
				if err := d.Skip(); err != nil {
					return nil, err
				}
				continue
			case name == "autoFilter":
				filter++
				delete(at, "ref")
			case name == "sortState" && filter > 0:
				delete(at, "ref")
			}
			text := "<" + tok.Name.Space + " " + name
			for _, k := range slices.Sorted(maps.Keys(at)) {
				text += " " + k + "=" + at[k]
			}
			list = append(list, text)
		case xml.EndElement:
			if tok.Name.Local == "autoFilter" {
				filter--
			}
			if n := len(list); ours != nil && tok.Name.Local == "row" && strings.HasPrefix(list[n-1], "<"+tok.Name.Space+" row r=") && strings.Count(list[n-1], "=") == 1 {
				list = list[:n-1] // a row that is there for our cells alone
				continue
			}
			list = append(list, "</"+tok.Name.Local)
		case xml.CharData:
			if text := string(tok); strings.TrimSpace(text) != "" {
				list = append(list, text)
			}
		}
	}
}
