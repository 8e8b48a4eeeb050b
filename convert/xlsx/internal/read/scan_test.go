package read

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/iotest"

	"dropcut/convert/grid"
	"dropcut/convert/xlsx/internal/handmade"
	"dropcut/convert/xlsx/internal/lex"
	"dropcut/convert/xlsx/internal/parts"
	"dropcut/plan/cell"
)

// Kinds of cells and addresses as ECMA-376 Part 1, 18.3.1.4 (c), 18.3.1.73
// (row), 18.4.8 (si) and 18.18.11 (ST_CellType) define them.
var rowCases = []struct {
	name, rows string
	texts      []string
	want       string
}{
	{"numbers", `<row r="2"><c r="A2"><v>12.5</v></c><c r="C2" t="n"><v>-0.25</v></c><c r="XFD2"><v>1E-3</v></c></row>`, nil, "2: A2=num 12.5 C2=num -0.25 XFD2=num 0.001\n"},
	{"last row", `<row r="1048576"><c r="A1048576"><v>1</v></c></row>`, nil, "1048576: A1048576=num 1\n"},
	{"shared text", `<row r="1"><c r="A1" t="s"><v>1</v></c><c r="B1" t="s"><v> 0 </v></c></row>`, []string{"<t>dip</t>", "<t>KR-1 </t>"}, "1: A1=text \"KR-1 \" B1=text \"dip\"\n"},
	{"rich shared text without its phonetic run", `<row r="1"><c r="A1" t="s"><v>0</v></c></row>`, []string{`<r><rPr><b/></rPr><t>82 </t></r><r><t xml:space="preserve">1/4</t></r><rPh sb="0" eb="1"><t>no</t></rPh><phoneticPr fontId="1"/>`}, "1: A1=text \"82 1/4\"\n"},
	{"escaped characters", `<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="inlineStr"><is><t>a_x000D_b</t></is></c><c r="C1" t="str"><f>A1</f><v>&lt;_x0009_&amp;</v></c></row>`, []string{"<t>1_x000D_\r\n2_x005F_x0041_</t>"}, "1: A1=text \"1\\r\\n2_x0041_\" B1=text \"a\\rb\" C1=text! \"<\\t&\"\n"},
	{"inline text", `<row r="1"><c r="A1" t="inlineStr"><is><t>82¼</t></is></c><c r="B1" t="inlineStr"><is><r><t>a</t></r><r><t>b</t></r></is></c><c r="C1"><is><t>c</t></is></c></row>`, nil, "1: A1=text \"82¼\" B1=text \"ab\" C1=text \"c\"\n"},
	{"text 12 is not number 12", `<row r="1"><c r="A1" t="inlineStr"><is><t>12</t></is></c><c r="B1" t="str"><f>A1</f><v>12</v></c><c r="C1"><v>12</v></c></row>`, nil, "1: A1=text \"12\" B1=text! \"12\" C1=num 12\n"},
	{"truth, errors, dates", `<row r="1"><c r="A1" t="b"><v>1</v></c><c r="B1" t="b"><v>false</v></c><c r="C1" t="e"><v>#N/A</v></c><c r="D1" t="d"><v>2026-01-04</v></c></row>`, nil, "1: A1=bool \"1\" B1=bool \"0\" C1=error \"#N/A\" D1=date \"2026-01-04\"\n"},
	{"formula with a result", `<row r="1"><c r="A1"><f>1+1</f><v>2</v></c><c r="B1" t="e"><f>1/0</f><v>#DIV/0!</v></c><c r="C1"><f t="shared" si="0"/><v>3</v></c></row>`, nil, "1: A1=num! 2 B1=error! \"#DIV/0!\" C1=num! 3\n"},
	{"formula without a result", `<row r="1"><c r="A1"><f>1+1</f></c><c r="B1"><f>1+1</f><v></v></c><c r="C1"><f>1+1</f><v/></c><c r="D1" t="str"><f>""</f><v></v></c><c r="E1" t="str"><f>B1</f></c></row>`, nil, "1: A1=blank! B1=blank! C1=blank! D1=text! \"\" E1=blank!\n"},
	{"blanks are left out", `<row r="1"><c r="A1" s="1"/><c r="B1"></c><c r="C1" t="s"><v>0</v></c><c r="D1"><v>7</v></c></row><row r="2"/><row r="3"><c r="A3" s="2"/></row>`, []string{"<t/>"}, "1: D1=num 7\n"},
	{"empty values are blanks", `<row r="1"><c r="A1" t="s"><v> </v></c><c r="B1"><v></v></c><c r="C1" t="str"><v></v></c><c r="D1" t="b"><v/></c><c r="E1"><v>7</v></c></row>`, nil, "1: E1=num 7\n"},
	{"no addresses", `<row><c><v>1</v></c><c/><c><v>3</v></c></row><row r="5"><c><v>4</v></c><c r="D5"><v>5</v></c><c><v>6</v></c></row><row><c><v>7</v></c></row>`, nil, "1: A1=num 1 C1=num 3\n5: A5=num 4 D5=num 5 E5=num 6\n6: A6=num 7\n"},
	{"hidden rows", `<row r="1" hidden="1"><c r="A1"><v>1</v></c></row><row r="2" hidden="0"><c r="A2"><v>2</v></c></row><row r="3" ht="0" customHeight="1"><c r="A3"><v>3</v></c></row><row r="4" hidden="true"><c r="A4"><v>4</v></c></row>`, nil, "1 hidden: A1=num 1\n2: A2=num 2\n3 hidden: A3=num 3\n4 hidden: A4=num 4\n"},
	{"formats", `<row r="1"><c r="A1" s="1"><v>46026</v></c><c r="B1" s="2"><v>0.95</v></c><c r="C1" s="3"><v>82.25</v></c><c r="D1" s="4"><v>82.25</v></c></row>`, nil, "1: A1=num/date 46026 B1=num/percent 0.95 C1=num/fraction 82.25 D1=num 82.25\n"},
	{"all digits are kept", `<row r="1"><c r="A1"><v>0.30000000000000004</v></c><c r="B1"><v>123456789.123456789</v></c><c r="C1"><v> 7 </v></c></row>`, nil, "1: A1=num 0.30000000000000004 B1=num 1.2345678912345679e+08 C1=num 7\n"},
	{"no number in a number's place", `<row r="1"><c r="A1"><v>NaN</v></c><c r="B1"><v>12,5</v></c><c r="C1"><v>1_000</v></c><c r="D1"><v>0x10</v></c><c r="E1"><v>1e999</v></c><c r="F1"><v>INF</v></c></row>`, nil, "1: A1=text \"NaN\" B1=text \"12,5\" C1=text \"1_000\" D1=text \"0x10\" E1=text \"1e999\" F1=text \"INF\"\n"},
	{"comments, cdata, blanks and quotes in the way", "<!-- <row r='9'/> --> <row\nr='1'>\n<c  r='A1' ><v><!-- 8 -->1<![CDATA[2]]></v> </c ><?x y?>\n<c r=\"B1\" t='inlineStr'><is><t><![CDATA[<a&b>]]></t></is></c></row>", nil, "1: A1=num 12 B1=text \"<a&b>\"\n"},
	{"extensions in rows and cells", `<row r="1" x14ac:dyDescent="0.2" xmlns:x14ac="urn:a"><c r="A1" cm="1" vm="2" ph="1"><v>1</v><extLst><ext><v>9</v></ext></extLst></c><extLst><c r="A1"/></extLst></row>`, nil, "1: A1=num 1\n"},
	{"small letters and zeros in addresses", `<row r="01"><c r="a1"><v>1</v></c><c r="B01"><v>2</v></c></row>`, nil, "1: A1=num 1 B1=num 2\n"},
	{"line break and blank kept", `<row r="1"><c r="A1" t="s"><v>0</v></c></row>`, []string{"<t xml:space=\"preserve\"> Depth\n(in)&#160;</t>"}, "1: A1=text \" Depth\\n(in)\\u00a0\"\n"},
}

func TestRows(t *testing.T) {
	for _, c := range rowCases {
		b := bookOf(t, handmade.Plain(c.rows, c.texts...))
		got, err := handmade.Dump(b.Sheets()[0])
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		if got != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.name, got, c.want)
		}
	}
}

// The same rows under a prefix, and under the strict namespace.
func TestRowsUnderAPrefix(t *testing.T) {
	h := handmade.Plain(``, "<t>dip</t>").With(handmade.Sheet1, `<x:worksheet xmlns:x="`+lex.NsMain+`"><x:sheetData><x:row r="1"><x:c r="A1"><x:v>1</x:v></x:c><x:c r="B1" t="s"><x:v>0</x:v></x:c></x:row></x:sheetData><x:mergeCells><x:mergeCell ref="A1:B1"/></x:mergeCells></x:worksheet>`)
	s := bookOf(t, h).Sheets()[0]
	want := "1: A1=num 1 B1=text \"dip\"\n"
	if got, err := handmade.Dump(s); got != want || err != nil {
		t.Errorf("got %s, %v", got, err)
	}
	if m, err := bookOf(t, h).Sheets()[0].Merges(); len(m) != 1 || err != nil {
		t.Errorf("merges %v, %v", m, err)
	}
	strict := handmade.Plain(`<row r="1"><c r="A1"><v>1</v></c><c r="B1" t="s"><v>0</v></c></row>`, "<t>dip</t>")
	for i := range strict {
		strict[i].Content = strings.ReplaceAll(strict[i].Content, lex.NsMain, lex.NsStrict)
		strict[i].Content = strings.ReplaceAll(strict[i].Content, handmade.RelTypes, "http://purl.oclc.org/ooxml/officeDocument/relationships")
	}
	b := bookOf(t, strict)
	if got, err := handmade.Dump(b.Sheets()[0]); got != want || err != nil {
		t.Errorf("strict: got %s, %v", got, err)
	}
	if !strings.Contains(fmt.Sprint(b.Notes()), "strict") {
		t.Errorf("notes %q", b.Notes())
	}
}

// Each names the place; none yields the rows and then says nothing.
var rowFaults = []struct{ name, rows, want string }{
	{"rows out of order", `<row r="3"><c r="A3"><v>1</v></c></row><row r="2"/>`, "row 2 stands after row 3"},
	{"row twice", `<row r="3"/><row r="3"/>`, "row 3 stands after row 3"},
	{"row 0", `<row r="0"/>`, `the number "0"`},
	{"row beyond the last", `<row r="1048577"/>`, "row 1048577 lies beyond"},
	{"row without a number beyond the last", `<row r="1048576"/><row/>`, "row 1048577 lies beyond"},
	{"row with a huge number", `<row r="99999999999999999999"/>`, "the number"},
	{"column beyond XFD", `<row r="1"><c r="XFE1"><v>1</v></c></row>`, "beyond the last column"},
	{"column with five letters", `<row r="1"><c r="AAAAA1"><v>1</v></c></row>`, `at "AAAAA1"`},
	{"column without an address beyond XFD", `<row r="1"><c r="XFD1"/><c/></row>`, "beyond the last column"},
	{"cells out of order", `<row r="1"><c r="B1"/><c r="A1"/></row>`, "cell A1 stands after column B"},
	{"cell twice", `<row r="1"><c r="B1"/><c r="B1"/></row>`, "cell B1 stands after column B"},
	{"cell of another row", `<row r="5"><c r="A7"><v>1</v></c></row>`, `a cell of row 5 says that it stands at "A7"`},
	{"no address", `<row r="5"><c r="5"/></row>`, `at "5"`},
	{"shared text beyond the table", `<row r="2"><c r="B2" t="s"><v>2</v></c></row>`, "hand.xlsx, Charts!B2: it points to shared text 2 but the book has 2"},
	{"shared text without a number", `<row r="2"><c r="B2" t="s"><v>-1</v></c></row>`, "Charts!B2: it points to shared text"},
	{"style beyond the table", `<row r="2"><c r="B2" s="5"><v>2</v></c></row>`, "Charts!B2: it has the style 5 but the book has 5"},
	{"unknown kind", `<row r="2"><c r="B2" t="x"><v>2</v></c></row>`, "Charts!B2: it holds a value of the kind"},
	{"neither true nor false", `<row r="2"><c r="B2" t="b"><v>2</v></c></row>`, "Charts!B2: it is to be true or false"},
	{"two values", `<row r="2"><c r="B2"><v>2</v><v>3</v></c></row>`, "Charts!B2: it holds two values"},
	{"value without a mark", `<row r="2"><c r="B2">2</c></row>`, "Charts!B2: the text"},
	{"stranger in a cell", `<row r="2"><c r="B2"><w>2</w></c></row>`, "Charts!B2: <w> stands in it"},
	{"stranger among cells", `<row r="2"><v>2</v></row>`, "among the cells of row 2"},
	{"stranger among rows", `<c r="A1"><v>2</v></c>`, "among the rows"},
	{"cell in a namespace of its own", `<row r="2"><y:c xmlns:y="urn:y" r="A2"><v>2</v></y:c></row>`, "among the cells of row 2"},
	{"text among rows", `<row r="1"/>12<row r="2"/>`, "stands between the rows"},
	{"text among cells", `<row r="1">12</row>`, "stands between the cells"},
	{"tags in a value", `<row r="1"><c r="A1"><v>1<b/>2</v></c></row>`, "inside a text"},
	{"malformed tag", `<row r="1"><c r="A1"><v>1</v></c></row><row r="2"><c r="A2"<v>2</v></c></row>`, "at or after row 2"},
	{"undeclared entity", `<row r="1"><c r="A1" t="str"><v>&depth;</v></c></row>`, "not declared"},
	{"cells twice", `</sheetData><sheetData>`, "stand twice"},
}

func TestRowsRefused(t *testing.T) {
	for _, c := range rowFaults {
		b := bookOf(t, handmade.Plain(c.rows, "<t>a</t>", "<t>b</t>"))
		got, err := handmade.Dump(b.Sheets()[0])
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "hand.xlsx, Charts") {
			t.Errorf("%s: rows %q, error %v, want one with %q and the sheet", c.name, got, err, c.want)
		}
	}
}

func TestSheetWithoutPlaceForCells(t *testing.T) {
	h := handmade.Plain("").With(handmade.Sheet1, `<worksheet xmlns="`+lex.NsMain+`"/>`)
	if _, err := handmade.Dump(bookOf(t, h).Sheets()[0]); err == nil || !strings.Contains(err.Error(), "sheetData") {
		t.Errorf("error %v", err)
	}
	h = handmade.Plain("").With(handmade.Sheet1, `<chartsheet xmlns="`+lex.NsMain+`"/>`)
	if _, err := handmade.Dump(bookOf(t, h).Sheets()[0]); err == nil || !strings.Contains(err.Error(), "<chartsheet> was found where <worksheet>") {
		t.Errorf("error %v", err)
	}
	if got, err := handmade.Dump(bookOf(t, handmade.Plain("")).Sheets()[0]); got != "" || err != nil {
		t.Errorf("an empty sheet gives %q, %v", got, err)
	}
}

func TestBreakEndsTheStream(t *testing.T) {
	s := bookOf(t, handmade.Plain(manyRows(1000))).Sheets()[0]
	n := 0
	for _, err := range s.Rows() {
		if err != nil {
			t.Fatal(err)
		}
		if n++; n == 10 {
			break
		}
	}
	if n != 10 {
		t.Errorf("%d rows", n)
	}
	n = 0
	for _, err := range s.Rows() { // and again from the start
		if err != nil {
			t.Fatal(err)
		}
		n++
	}
	if n != 1000 {
		t.Errorf("%d rows the second time", n)
	}
}

func manyRows(n int) string {
	var b strings.Builder
	for i := 1; i <= n; i++ {
		fmt.Fprintf(&b, `<row r="%d"><c r="A%d"><v>%d</v></c><c r="B%d"><v>%v</v></c><c r="C%d"><v>%v</v></c></row>`, i, i, i%40, i, float64(i)/8, i, float64(i)*17.31)
	}
	return b.String()
}

// Random rows in a random dress read back as they were meant: there and back.
func TestRandomRowsInAnyDress(t *testing.T) {
	for seed := range uint64(120) {
		random := rand.New(rand.NewPCG(seed, 7))
		pick := func(list ...string) string { return list[random.IntN(len(list))] }
		prefix, quote, addresses := pick("", "", "x:"), pick(`"`, "'"), random.IntN(3) > 0
		gap := func() string { return pick("", "", "", "\n", "<!-- <c r='A1'/> -->", "<?pi?>") }
		tag := func(name string, attrs ...string) string {
			s := "<" + prefix + name
			for i := 0; i < len(attrs); i += 2 {
				s += pick(" ", "  ", "\n") + attrs[i] + "=" + quote + attrs[i+1] + quote
			}
			return s + pick("", " ") + ">"
		}
		end := func(name string) string { return "</" + prefix + name + ">" }
		escape := func(s string) string {
			var b strings.Builder
			for _, r := range s {
				switch {
				case strings.ContainsRune("<&>\"'", r) || random.IntN(8) == 0:
					fmt.Fprintf(&b, pick("&#%d;", "&#x%x;"), r)
				default:
					b.WriteRune(r)
				}
			}
			return b.String()
		}
		var rows, want strings.Builder
		var texts []string
		row := 0
		for range random.IntN(30) {
			step := 1
			if addresses {
				step += random.IntN(3)
			}
			row += step
			attrs := []string{"spans", "1:9"}
			if addresses || random.IntN(2) == 0 {
				attrs = append(attrs, "r", fmt.Sprint(row))
			}
			rows.WriteString(gap() + tag("row", attrs...))
			line := ""
			for col := 1; col < 30; col++ {
				if random.IntN(2) == 0 {
					if !addresses {
						rows.WriteString(tag("c") + end("c"))
					}
					continue
				}
				at := fmt.Sprintf("%s%d", cell.ColumnName(col), row)
				style := random.IntN(5)
				attrs := []string{"s", fmt.Sprint(style)}
				if addresses {
					attrs = append([]string{"r", at}, attrs...)
				}
				text := pick("82 ¼", "KR-1", "a<b&c", " x ", "漢\"字'", "12")
				var content, means string
				switch random.IntN(6) {
				case 0:
					attrs = append(attrs, "t", "s")
					content = tag("v") + fmt.Sprint(len(texts)) + end("v")
					texts = append(texts, "<t>"+escape(text)+"</t>")
					means = fmt.Sprintf("text %q", text)
				case 1:
					attrs = append(attrs, "t", "inlineStr")
					content = tag("is") + tag("t") + escape(text) + end("t") + end("is")
					means = fmt.Sprintf("text %q", text)
				case 2:
					attrs = append(attrs, "t", "b")
					content = tag("v") + "1" + end("v")
					means = `bool "1"`
				case 3:
					content = gap() + tag("f") + "A1" + end("f") + gap()
					means = "blank!"
				default:
					f := float64(random.IntN(1_000_000)) / float64(1+random.IntN(1000))
					content = tag("v") + strconv.FormatFloat(f, "gef"[random.IntN(3)], -1, 64) + end("v")
					means = fmt.Sprintf("num %v", f)
				}
				format := [...]string{"", "/date", "/percent", "/fraction", ""}[style]
				kind, value, _ := strings.Cut(means, " ")
				line += " " + at + "=" + kind + format
				if value != "" {
					line += " " + value
				}
				rows.WriteString(tag("c", attrs...) + content + end("c") + gap())
			}
			rows.WriteString(end("row"))
			if line != "" {
				fmt.Fprintf(&want, "%d:%s\n", row, line)
			}
		}
		declare := "xmlns"
		if prefix != "" {
			declare = "xmlns:x"
		}
		h := handmade.Plain("", texts...).With(handmade.Sheet1, tag("worksheet", declare, lex.NsMain)+tag("sheetData")+rows.String()+end("sheetData")+end("worksheet"))
		if got, err := handmade.Dump(bookOf(t, h).Sheets()[0]); got != want.String() || err != nil {
			t.Fatalf("seed %d: %v, got\n%s\nwant\n%s", seed, err, got, want.String())
		}
	}
}

// The reference is strconv, which rounds correctly.
func TestParseNumber(t *testing.T) {
	for _, s := range []string{
		"0", "-0", "1", "12.1875", "0.30000000000000004", "123456789.123456789", "9007199254740993", "9007199254740992", "1e22", "1e23", "1E-22", "1e-23", ".5", "5.", "+7",
		"179769313486231570000000000000000000000", "1.7976931348623157e308", "4.9e-324", "2.2250738585072011e-308", "00012", "0000000000000000000000000012.5", "1e+05",
	} {
		want, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		if got, ok := ParseNumber([]byte(s)); !ok || math.Float64bits(got) != math.Float64bits(want) {
			t.Errorf("%q gives %v, %v, want %v", s, got, ok, want)
		}
	}
	for _, s := range []string{"", "-", ".", "e5", "1e", "1e+", "1 2", "1,5", "NaN", "Inf", "-inf", "infinity", "0x10", "0x1p4", "1_000", "1e400", "--1", "1-", "1.2.3", "１２"} {
		if got, ok := ParseNumber([]byte(s)); ok {
			t.Errorf("%q is taken for %v", s, got)
		}
	}
	random := rand.New(rand.NewPCG(1, 2))
	for range 100_000 {
		f := math.Float64frombits(random.Uint64())
		if random.IntN(2) == 0 {
			f = float64(random.IntN(1_000_000)) / float64(int(1)<<random.IntN(8))
		}
		if math.IsNaN(f) || math.IsInf(f, 0) {
			continue
		}
		s := strconv.FormatFloat(f, "eEfg"[random.IntN(4)], -1, 64)
		if got, ok := ParseNumber([]byte(s)); !ok || got != f {
			t.Fatalf("%q gives %v, %v", s, got, ok)
		}
	}
}

// A row costs no allocation: twice the rows, the same count.
func TestNoAllocationPerRow(t *testing.T) {
	const texts = `<row r="%d"><c r="A%d" t="s"><v>%d</v></c><c r="B%d" t="inlineStr"><is><t>a&amp;b</t></is></c><c r="C%d" t="str"><f>A1</f><v>x</v></c><c r="D%d"><v>0.30000000000000004</v></c></row>`
	count := func(n int) float64 {
		var b strings.Builder
		for i := 1; i <= n; i++ {
			fmt.Fprintf(&b, texts, i, i, i%2, i, i, i)
		}
		s := bookOf(t, handmade.Plain(b.String(), "<t>KR-1</t>", "<t>KR-2</t>")).Sheets()[0]
		return testing.AllocsPerRun(3, func() {
			for _, err := range s.Rows() {
				if err != nil {
					t.Fatal(err)
				}
			}
		})
	}
	if few, many := count(1_000), count(20_000); many > few+50 {
		t.Errorf("1,000 rows take %v allocations, 20,000 take %v", few, many)
	}
}

// A sheet of any length is read in a window of fixed size.
func TestMemoryIsBounded(t *testing.T) {
	book := handmade.Plain(manyRows(60_000)).Bytes()
	s := func() grid.Sheet {
		b, err := openBytes(book)
		if err != nil {
			t.Fatal(err)
		}
		return b.Sheets()[0]
	}()
	var before, during runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	rows, most := 0, uint64(0)
	for _, err := range s.Rows() {
		if err != nil {
			t.Fatal(err)
		}
		if rows++; rows%20_000 == 0 {
			runtime.ReadMemStats(&during)
			most = max(most, during.TotalAlloc-before.TotalAlloc)
		}
	}
	// The window has 64 kB and inflating some 50 kB; the sheet has 7 MB.
	if rows != 60_000 || most > 1<<20 {
		t.Errorf("%d rows took %d bytes of memory", rows, most)
	}
}

func FuzzSheet(f *testing.F) {
	wrap := func(rows string) []byte {
		return []byte(`<worksheet xmlns="` + lex.NsMain + `"><sheetData>` + rows + `</sheetData></worksheet>`)
	}
	for _, c := range rowCases {
		f.Add(wrap(c.rows))
	}
	for _, c := range rowFaults {
		f.Add(wrap(c.rows))
	}
	f.Add(wrap(manyRows(20)))
	f.Add(wrap(strings.ReplaceAll(rowCases[1].rows+manyRows(3), `"><v>`, `" s="2" t="str"><v>`)))
	f.Add([]byte(`<worksheet xmlns="` + lex.NsMain + `"><dimension ref="A1"/><cols><col min="1" max="2" hidden="1"/></cols><sheetData/><mergeCells><mergeCell ref="A1:B2"/></mergeCells></worksheet>`))
	base := bookOf(f, handmade.Plain("", "<t>a</t>", "<t>b</t>"))
	f.Fuzz(func(t *testing.T, src []byte) {
		run := func(r io.Reader) ([]string, error) {
			scan := &Scanner{X: lex.New(r, "sheet.xml"), Sheet: base.List[0]}
			var lines []string
			last := 0
			err := scan.walk(sheetWalk{head: &sheetHead{}, tail: &SheetTail{}, rows: func(r *grid.Row) error {
				if r.N <= last || r.N > parts.MaxRow || len(r.Cells) == 0 {
					t.Fatalf("row %d with %d cells after row %d", r.N, len(r.Cells), last)
				}
				last = r.N
				col := 0
				for _, c := range r.Cells {
					if c.Col <= col || c.Col > parts.MaxCol || c.Kind == grid.Blank && !c.Formula || c.Kind == grid.Number && (math.IsNaN(c.Num) || math.IsInf(c.Num, 0)) {
						t.Fatalf("row %d: cell %+v after column %d", r.N, c, col)
					}
					col = c.Col
					lines = append(lines, fmt.Sprintf("%d %v %+v %q", r.N, r.Hidden, c, c.Raw))
				}
				return nil
			}})
			return lines, err
		}
		lines, err := run(bytes.NewReader(src))
		// Byte by byte no cell lies in the window whole, so that each goes the
		// long way.
		slow, errSlow := run(iotest.OneByteReader(bytes.NewReader(src)))
		if (err == nil) != (errSlow == nil) || err == nil && !slices.Equal(lines, slow) {
			t.Fatalf("in one piece %v\n%q\nbyte by byte %v\n%q", err, lines, errSlow, slow)
		}
		// Without the cells, the rest must be readable too.
		if err == nil {
			scan := &Scanner{X: lex.New(bytes.NewReader(src), "sheet.xml"), Sheet: base.List[0]}
			if err := scan.walk(sheetWalk{head: &sheetHead{}, tail: &SheetTail{}}); err != nil {
				t.Fatalf("skipping the cells: %v", err)
			}
		}
	})
}
