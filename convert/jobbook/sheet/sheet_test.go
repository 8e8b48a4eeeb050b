package sheet

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"dropcut/convert/grid"
	"dropcut/convert/jobbook/formula"
	"dropcut/convert/xlsx"
)

func small(t *testing.T) ([]byte, *Book) {
	t.Helper()
	b := &Book{Title: "A & B"}
	s := b.Add("It's <1>", 10, 20)
	s.Text(1, 1, 1, "  two\nlines & <more> \"quoted\" \x00ü")
	s.Num(2, 2, 0, 41.25)
	s.Formula(3, 2, 0, "B2*2")
	s.Formula(4, 2, 0, `IF(B2>40,"more"&" <40>","")`)
	s.Merge(1, 3, 2, 4)
	s.Allow(2, 2, Rule{Kind: "custom", Formula: "AND(B2>0,B2<100)", Title: "Height", Prompt: "0 to 100", Wrong: "no"})
	s.Allow(2, 5, Rule{Kind: "list", Formula: `"yes,no"`, Must: true})
	s.NameCell("t1_riser", 2, 2)
	s.MarkWhileText(4, 2)
	s.Print(4, 5)
	o := b.Add("Other")
	o.Formula(1, 1, 0, s.Quote()+"!B2+1")
	w, err := NewWriter([]Look{{}, {Bold: true, Fill: "FFEEDD", Border: Thick, Wrap: true, Format: "0.00"}})
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := w.Write(&out, b); err != nil {
		t.Fatal(err)
	}
	return out.Bytes(), b
}

// A written book says the same to two readers, the library and our own.
func TestTwoReaders(t *testing.T) {
	data, _ := small(t)
	f, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	const tab = "It-s <1>"
	for at, want := range map[string]string{"A1": "  two\nlines & <more> \"quoted\" ü", "B2": "41.25", "C2": "82.5", "D2": "more <40>"} {
		if got, err := f.GetCellValue(tab, at); err != nil || got != want {
			t.Errorf("%s holds %q (%v), want %q", at, got, err, want)
		}
	}
	if got, _ := f.GetCellFormula("Other", "A1"); got != "'It-s <1>'!B2+1" {
		t.Errorf("the formula reads %q", got)
	}
	rules, err := f.GetDataValidations(tab)
	if err != nil || len(rules) != 2 || rules[0].Formula1 != "AND(B2>0,B2<100)" || *rules[0].ErrorStyle != "warning" {
		t.Errorf("%+v, %v", rules, err)
	}
	merges, err := f.GetMergeCells(tab)
	if err != nil || len(merges) != 1 || merges[0][0] != "A3:B4" {
		t.Errorf("%v, %v", merges, err)
	}
	ours, err := xlsx.OpenReader("a.xlsx", bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	found := ""
	for _, n := range ours.Names() {
		if n.Name == "t1_riser" {
			found = n.Text
		}
	}
	if found != "'It-s <1>'!$B$2" {
		t.Errorf("the name stands for %q", found)
	}
	var cells []grid.Cell
	for row, err := range ours.Sheet(tab).Rows() {
		if err != nil {
			t.Fatal(err)
		}
		if row.N == 2 {
			cells = append(cells, row.Cells...)
		}
	}
	if len(cells) != 3 || cells[0].Num != 41.25 || !cells[1].Formula || cells[1].Num != 82.5 {
		t.Errorf("%+v", cells)
	}
}

// Every part is well-formed XML and asks for a new calculation on opening.
func TestParts(t *testing.T) {
	data, _ := small(t)
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		body, err := io.ReadAll(r)
		if err != nil {
			t.Fatalf("%s: %v", f.Name, err)
		}
		d := xml.NewDecoder(bytes.NewReader(body))
		for {
			if _, err := d.Token(); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				t.Fatalf("%s: %v", f.Name, err)
			}
		}
		if f.Name == "xl/workbook.xml" && !strings.Contains(string(body), `fullCalcOnLoad="1"`) {
			t.Error("the book does not ask to be computed on opening")
		}
		for _, no := range []string{"vbaProject", "externalLink", "sheetProtection", "t=\"array\""} {
			if strings.Contains(f.Name+string(body), no) {
				t.Errorf("%s holds %s", f.Name, no)
			}
		}
	}
}

// A formula that cannot be read is an error of the book, not a broken file.
func TestFormulaThatCannotBeRead(t *testing.T) {
	b := &Book{}
	b.Add("A").Formula(1, 1, 0, "OFFSET(A1,1,1)")
	w, err := NewWriter([]Look{{}})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(io.Discard, b); err == nil || !strings.Contains(err.Error(), "A!A1") {
		t.Errorf("%v", err)
	}
}

// Typing into a cell changes what hangs on it, in other sheets too.
func TestRetype(t *testing.T) {
	_, b := small(t)
	if err := b.Retype(b.Sheets[0], 2, 2, formula.Num(10)); err != nil {
		t.Fatal(err)
	}
	if a, c := b.Sheets[0].Value("", 4, 2), b.Sheets[1].Value("", 1, 1); a.Text != "" || c.Num != 11 {
		t.Errorf("%+v, %+v", a, c)
	}
}
