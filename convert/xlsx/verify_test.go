package xlsx

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"dropcut/convert/grid"
	"dropcut/convert/safefile"
	"dropcut/convert/xlsx/internal/columns"
	"dropcut/convert/xlsx/internal/handmade"
	"dropcut/convert/xlsx/internal/lex"
	"dropcut/convert/xlsx/internal/read"
	"dropcut/convert/xlsx/internal/verify"
	"dropcut/plan/cell"
)

// A comparison that cannot fail compares nothing: every kind of damage that a
// patch could do is done by hand and has to be found.
func TestVerifyFinds(t *testing.T) {
	edit := withSheets(tankEdit(5))
	source := withTable(t, "").With("docProps/app.xml", "<Properties/>").With("xl/calcChain.xml", handmade.Head+`<calcChain xmlns="`+lex.NsMain+`"><c r="C5" i="1"/></calcChain>`).
		Edit(t, "xl/_rels/workbook.xml.rels", `</Relationships>`, `<Relationship Id="rId9" Type="`+handmade.RelTypes+`/calcChain" Target="calcChain.xml"/></Relationships>`).
		Edit(t, "xl/workbook.xml", `</workbook>`, `<definedNames><definedName name="Limit">0.95</definedName></definedNames><calcPr calcId="1"/></workbook>`).
		Edit(t, handmade.Sheet1, `<pageMargins`, `<conditionalFormatting sqref="C4:C7"/><pageMargins`)
	book := source.Bytes()
	out, _ := patched(t, book, edit)
	sound := unpack(t, out)
	const styles, wb = "xl/styles.xml", "xl/workbook.xml"
	for _, c := range []struct{ name, part, old, with, says string }{
		{"old number", handmade.Sheet1, `<v>10000</v>`, `<v>10001</v>`, "cell C4 was"},
		{"old text", handmade.Sheet1, `t="s"><v>5</v>`, `t="s"><v>6</v>`, "cell B4 was"},
		{"old style", handmade.Sheet1, `<c r="D4" s="3">`, `<c r="D4" s="2">`, "cell D4 was"},
		{"old formula", handmade.Sheet1, `<f>C4*1.5</f>`, ``, "cell C5 was"},
		{"old cell gone", handmade.Sheet1, `<c r="C4" s="2"><v>10000</v></c>`, ``, "cell C4 is missing"},
		{"last old cell gone", handmade.Sheet1, `<c r="A1" t="inlineStr"><is><t>Tank list, North yard</t></is></c>`, ``, "cell A1 is missing"},
		{"cell that nobody asked for", handmade.Sheet1, `<v>94.996</v></c>`, `<v>94.996</v></c><c r="Z4"><v>1</v></c>`, "cell Z4 is new"},
		{"new number", handmade.Sheet1, `<v>82.3125</v>`, `<v>82.312</v>`, "cell E4 is"},
		{"new text", handmade.Sheet1, `<t>ready</t>`, `<t>reads</t>`, "cell G4 is"},
		{"new cell gone", handmade.Sheet1, `<c r="F5" s="11"><v>94.9</v></c>`, ``, "F5"},
		{"heading", handmade.Sheet1, `Plan: Status`, `Plan: State`, "cell G3 is"},
		{"row height", handmade.Sheet1, `ht="20"`, `ht="21"`, "row 1 was"},
		{"row shown", handmade.Sheet1, ` hidden="1"`, ``, "row 5 was"},
		{"row gone", handmade.Sheet1, `<row r="1" spans="1:4" ht="20" customHeight="1"><c r="A1" t="inlineStr"><is><t>Tank list, North yard</t></is></c></row>`, ``, "row 1 is missing"},
		{"pane", handmade.Sheet1, `ySplit="3"`, `ySplit="2"`, "ySplit"},
		{"width", handmade.Sheet1, `width="14.5"`, `width="14"`, "column A"},
		{"conditional format", handmade.Sheet1, `<conditionalFormatting sqref="C4:C7"/>`, ``, "settings of the sheet"},
		{"conditional format's range", handmade.Sheet1, `sqref="C4:C7"`, `sqref="C4:C9"`, "sqref"},
		{"old cell format", styles, `<xf numFmtId="14" fontId="0" fillId="0" borderId="1" xfId="0" applyNumberFormat="1"`, `<xf numFmtId="15" fontId="0" fillId="0" borderId="1" xfId="0" applyNumberFormat="1"`, "numFmtId"},
		{"old fill", styles, `FF1F4E78`, `FF1F4E79`, "rgb"},
		{"differential format", styles, `<ext uri="{invented}"/>`, ``, "<ext>"},
		{"color", styles, `<color indexed="0"/>`, `<color/>`, "indexed"},
		{"name", wb, `>0.95<`, `>0.96<`, "Limit"},
		{"sheet name", wb, `name="Charts"`, `name="Chart"`, "name of <sheet>"},
		{"prefix", wb, `sheetId="2" r:id=`, `sheetId="2" q:id=`, ""},
		{"calculation", wb, `calcId="1"`, `calcId="0"`, "calcId"},
		{"chain", "xl/calcChain.xml", `<c r="C5" i="1"/>`, `<c r="C6" i="1"/>`, "1 C5"},
		{"relationship", "xl/_rels/workbook.xml.rels", `Id="rId2"`, `Id="rId22"`, "Id of"},
		{"table column", "xl/tables/table1.xml", `name="Tank"`, `name="Tanks"`, "Tanks"},
		{"table formula", "xl/tables/table1.xml", `1+1`, `1+2`, "calculatedColumnFormula"},
		{"other part", "docProps/app.xml", `<Properties/>`, `<Properties />`, "another one"},
		{"shared texts", "xl/sharedStrings.xml", `N-1`, `N-7`, "another one"},
		{"own sheet", "xl/worksheets/sheet2.xml", `stop: chart`, `step: chart`, "Findings"},
		{"cut", handmade.Sheet1, `</worksheet>`, ``, ""},
	} {
		bad := sound.Edit(t, c.part, c.old, c.with)
		err := verifyBytes(book, bad.Bytes(), edit)
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	extra := sound.With("xl/media/x.bin", "x")
	if err := verifyBytes(book, extra.Bytes(), edit); err == nil || !strings.Contains(err.Error(), "nobody asked") {
		t.Error(err)
	}
	less := sound.With("docProps/app.xml", "")
	if err := verifyBytes(book, less.Bytes(), edit); err == nil || !strings.Contains(err.Error(), "docProps/app.xml") {
		t.Error(err)
	}
	if err := verifyBytes(book, sound.Bytes(), edit); err != nil {
		t.Error("unpacked and packed again:", err)
	}
}

// randomBook makes a sheet with holes, styles, formulas, rows out of the way.
func randomBook(t testing.TB, r *rand.Rand) handmade.Package {
	var b strings.Builder
	row := 0
	for range r.IntN(30) {
		row += 1 + r.IntN(3)
		fmt.Fprintf(&b, "<row")
		if r.IntN(4) > 0 || row > 1 {
			fmt.Fprintf(&b, ` r="%d"`, row)
		}
		if r.IntN(3) == 0 {
			b.WriteString(` spans="1:3" hidden='1'`)
		}
		if r.IntN(6) == 0 {
			b.WriteString("/>")
			continue
		}
		b.WriteString(">")
		col := 0
		for range r.IntN(6) {
			col += 1 + r.IntN(2)*r.IntN(3)
			at := cell.Ref{Col: col, Row: row}.A1()
			style := ""
			if r.IntN(2) == 0 {
				style = fmt.Sprintf(` s="%d"`, r.IntN(6))
			}
			switch r.IntN(6) {
			case 0:
				fmt.Fprintf(&b, `<c r="%s"%s/>`, at, style)
			case 1:
				fmt.Fprintf(&b, `<c r='%s'%s t="s"><v>%d</v></c>`, at, style, r.IntN(8))
			case 2:
				fmt.Fprintf(&b, "<c r=\"%s\"%s>\n<f>SUM(A1:A2)</f><v>%v</v></c>", at, style, r.NormFloat64())
			case 3:
				fmt.Fprintf(&b, `<c r="%s"%s t="inlineStr"><is><t xml:space="preserve"> é&lt;%d </t></is></c>`, at, style, r.IntN(99))
			default:
				fmt.Fprintf(&b, `<c r="%s"%s><v>%v</v></c>`, at, style, math.Float64frombits(r.Uint64()&^(0x7<<60)))
			}
		}
		b.WriteString("</row>\n")
	}
	h := tankList()
	body := h[4].Content
	from, to := strings.Index(body, "<sheetData>"), strings.Index(body, "</sheetData>")
	body = body[:from] + "<sheetData>" + b.String() + body[to:]
	if r.IntN(3) == 0 {
		body = strings.Replace(body, `<dimension ref="A1:D7"/>`, "", 1)
	}
	if r.IntN(3) == 0 {
		body = strings.Replace(body, `max="3"`, fmt.Sprintf(`max="%d" hidden="%d"`, 3+r.IntN(30), r.IntN(2)), 1)
	}
	h = h.With(handmade.Sheet1, body)
	if r.IntN(4) == 0 {
		h = prefixed(t, h, handmade.Sheet1)
	}
	return h
}

func randomEdit(r *rand.Rand) grid.Edit {
	var e grid.Edit
	col := 1 + r.IntN(20)
	header := 1 + r.IntN(5)
	for k := range 1 + r.IntN(4) {
		c := grid.Column{Sheet: "Charts", Col: col, HeaderRow: header, Heading: fmt.Sprintf("Plan: %d", k), Width: float64(r.IntN(20))}
		row := header
		for range r.IntN(20) {
			row += 1 + r.IntN(4)
			look := grid.Look(r.IntN(int(grid.LookReady) + 1))
			v := grid.Value{Look: look}
			switch r.IntN(4) {
			case 0:
				v = grid.Str(string([]rune{rune(r.IntN(0x200)), '_', 'x', rune(32 + r.IntN(90)), 0x1F6E2}), look)
			case 1, 2:
				v = grid.Num(math.Float64frombits(r.Uint64()), look)
				if math.IsNaN(v.Number) || math.IsInf(v.Number, 0) {
					v.Number = r.NormFloat64()
				}
			}
			c.Cells = append(c.Cells, grid.At{Row: row, Value: v})
		}
		e.Columns = append(e.Columns, c)
		col += 1 + r.IntN(2)*r.IntN(4)
	}
	return e
}

// Random sheets and random edits: either a reason or a book whose old cells are
// as they were, that holds the new ones, and that a second run leaves alone.
func TestPatchRandom(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 4))
	n := 150
	if testing.Short() {
		n = 50
	}
	done := 0
	for i := range n {
		book, edit := randomBook(t, r).Bytes(), randomEdit(r)
		out, _, err := patchBytes(book, edit)
		var no *columns.Refused
		if errors.As(err, &no) {
			continue
		}
		if err != nil {
			t.Fatalf("%d: %v", i, err)
		}
		done++
		if err := verifyBytes(book, out, edit); err != nil {
			t.Fatalf("%d: %v", i, err)
		}
		again, _, err := patchBytes(out, edit)
		if err != nil {
			t.Fatalf("%d, second run: %v", i, err)
		}
		if !bytes.Equal(out, again) {
			t.Fatalf("%d: the second run changes the book", i)
		}
	}
	if done < n/4 {
		t.Errorf("only %d of %d were written", done, n)
	}
}

// A patch of whatever bytes stand in a sheet gives an error or a sound book.
func FuzzPatch(f *testing.F) {
	f.Add([]byte(tankList()[4].Content), uint64(1))
	f.Add([]byte(handmade.Head+`<worksheet xmlns="`+lex.NsMain+`"><sheetData/></worksheet>`), uint64(2))
	r := rand.New(rand.NewPCG(1, 2))
	for i := range 20 {
		f.Add([]byte(randomBook(f, r)[4].Content), uint64(i))
	}
	f.Fuzz(func(t *testing.T, sheet []byte, seed uint64) {
		book := tankList().With(handmade.Sheet1, string(sheet)+" ").Bytes()
		edit := randomEdit(rand.New(rand.NewPCG(seed, 1)))
		out, _, err := patchBytes(book, edit)
		if err != nil {
			if len(out) > 0 {
				t.Fatal(err)
			}
			return
		}
		b, err := openBytes(book)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := handmade.Dump(b.Sheet("Charts")); err != nil {
			return // the scanner is stricter on cells that are not touched
		}
		if err := verifyBytes(book, out, edit); err != nil {
			t.Fatal(err)
		}
	})
}

func TestWriteBook(t *testing.T) {
	edit := withSheets(tankEdit(5))
	path := handmade.WriteFile(t, "tanks.xlsx", tankList().Bytes())
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(path, 0o640); err != nil {
		t.Fatal(err)
	}
	open := func(path string) *read.Book {
		t.Helper()
		b, err := read.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { b.Close() })
		return b
	}
	planned := filepath.Join(filepath.Dir(path), "tanks-planned.xlsx")
	if _, err := WriteBook(open(path), edit, planned, WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	if err := verify.Files(path, planned, edit); err != nil {
		t.Error(err)
	}
	if info, err := os.Stat(planned); err != nil || info.Mode().Perm() != 0o640 {
		t.Error(info.Mode(), err)
	}
	if now, err := os.ReadFile(path); err != nil || !bytes.Equal(now, before) {
		t.Error("the source has changed", err)
	}
	// In place, with a copy kept.
	at := time.Date(2026, 4, 3, 14, 15, 0, 0, time.UTC)
	report, err := WriteBook(open(path), edit, path, WriteOptions{KeepCopy: at})
	if err != nil || report.Unchanged || filepath.Base(report.Kept) != "tanks-before-20260403-141500.xlsx" {
		t.Fatal(report, err)
	}
	if kept, err := os.ReadFile(report.Kept); err != nil || !bytes.Equal(kept, before) {
		t.Error("the copy is another book", err)
	}
	a, _ := os.ReadFile(path)
	if b, err := os.ReadFile(planned); err != nil || !bytes.Equal(a, b) {
		t.Error("in place and beside differ", err)
	}
	// Again: nothing to do, no other copy.
	report, err = WriteBook(open(path), edit, path, WriteOptions{KeepCopy: at.Add(time.Hour)})
	if err != nil || !report.Unchanged || report.Kept != "" {
		t.Fatal(report, err)
	}
	// Refused: nothing is left behind.
	edit.Columns[0].Col = 2
	if _, err := WriteBook(open(path), edit, filepath.Join(filepath.Dir(path), "no.xlsx"), WriteOptions{}); err == nil {
		t.Error("a column was written over")
	}
	files, err := filepath.Glob(filepath.Join(filepath.Dir(path), "*"))
	hidden, _ := filepath.Glob(filepath.Join(filepath.Dir(path), ".*"))
	if err != nil || len(files) != 3 || len(hidden) > 0 {
		t.Error(files, hidden, err)
	}
	// Somebody has it open.
	if err := os.WriteFile(filepath.Join(filepath.Dir(path), ".~lock.tanks.xlsx#"), []byte(",yard office,desk,03.04.2026 14:15,file:///x;"), 0o600); err != nil {
		t.Fatal(err)
	}
	var inUse *safefile.InUseError
	if _, err := WriteBook(open(planned), edit, path, WriteOptions{}); !errors.As(err, &inUse) {
		t.Error(err)
	}
}

const killEnv = "DROPCUT_XLSX_CHILD"

// TestKillChild is no test: it is what TestKilledWhilePatching starts and kills.
func TestKillChild(t *testing.T) {
	dir := os.Getenv(killEnv)
	if dir == "" {
		t.Skip("started by TestKilledWhilePatching only")
	}
	path := filepath.Join(dir, "tanks.xlsx")
	fmt.Println("ready")
	for i := 0; ; i++ {
		b, err := read.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		_, err = WriteBook(b, killEdit(i), path, WriteOptions{})
		b.Close()
		if err != nil {
			t.Fatal(err)
		}
	}
}

// killEdit is an edit whose values all tell its number.
func killEdit(i int) grid.Edit {
	c := grid.Column{Sheet: "Charts", Col: 9, HeaderRow: 3, Heading: "Plan: Number"}
	for row := 4; row < 400; row++ {
		c.Cells = append(c.Cells, grid.At{Row: row, Value: grid.Num(float64(i), grid.LookPlain)})
	}
	return grid.Edit{Columns: []grid.Column{c}}
}

// Killed at random moments (200 of them where nothing may be left out) while a book is written over itself again and
// again: what lies there is a book of one edit, whole, and the next run clears
// away what was left beside it.
func TestKilledWhilePatching(t *testing.T) {
	kills := 25
	switch {
	case os.Getenv("DROPCUT_PEERS") == "required":
		kills = 200
	case testing.Short():
		kills = 15
	}
	dir := t.TempDir()
	path := filepath.Join(dir, "tanks.xlsx")
	source := tankList().With("xl/media/a.bin", strings.Repeat("\x00\x01\x02", 100_000)).Bytes()
	if err := os.WriteFile(path, source, 0o600); err != nil {
		t.Fatal(err)
	}
	// The kills have to fall into the time in which the child writes, however
	// slow the machine is at the moment.
	window := 70 * time.Millisecond
	trial := filepath.Join(dir, "trial.xlsx")
	if b, err := openBytes(source); err != nil {
		t.Fatal(err)
	} else {
		start := time.Now()
		if _, err := WriteBook(b, killEdit(0), trial, WriteOptions{}); err != nil {
			t.Fatal(err)
		}
		window = max(window, 6*time.Since(start))
		_ = os.Remove(trial)
	}
	r := rand.New(rand.NewPCG(3, 9))
	seen := map[float64]bool{}
	for i := range kills {
		cmd := exec.Command(os.Args[0], "-test.run=^TestKillChild$")
		cmd.Env = append(os.Environ(), killEnv+"="+dir)
		ready, err := cmd.StdoutPipe()
		if err == nil {
			err = cmd.Start()
		}
		if err != nil {
			t.Fatal(err)
		}
		if _, err := ready.Read(make([]byte, 1)); err != nil {
			t.Fatal("the child does not run: ", err)
		}
		time.Sleep(time.Duration(r.Int64N(int64(window))))
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		now, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Equal(now, source) {
			continue
		}
		b, err := openBytes(now)
		if err != nil {
			t.Fatalf("kill %d: %v", i, err)
		}
		n := -1.0
		for row, err := range b.Sheet("Charts").Rows() {
			if err != nil {
				t.Fatalf("kill %d: %v", i, err)
			}
			if c := row.At(9); c != nil && row.N > 3 {
				if n >= 0 && c.Num != n {
					t.Fatalf("kill %d: row %d is of edit %v, others are of %v", i, row.N, c.Num, n)
				}
				n = c.Num
			}
		}
		if err := verifyBytes(source, now, killEdit(int(n))); err != nil {
			t.Fatalf("kill %d: %v", i, err)
		}
		seen[n] = true
	}
	if len(seen) < 2 {
		t.Errorf("only the edits %v were seen; the test shows nothing", seen)
	}
	b, err := read.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	if _, err := WriteBook(b, killEdit(1e6), path, WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	left, err := os.ReadDir(dir)
	if err != nil || len(left) != 1 {
		t.Error(left, err)
	}
}
