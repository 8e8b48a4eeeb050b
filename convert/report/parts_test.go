package report

import (
	"bytes"
	"encoding/csv"
	"io/fs"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"dropcut/plan/finding"
	"dropcut/templates"
)

// A portfolio too large for one page is split between books, and every tank is
// on one of the pages.
func TestLargePortfolioIsSplit(t *testing.T) {
	f := folderOf(t, nil, append(manyBooks(t, 300), Nothing("*.csv", "a list of telephones"))...)
	if got := f.StatusLine(); !strings.HasPrefix(got, "300 tanks in 12 books, ") {
		t.Errorf("%s: what holds neither tanks nor charts is no book", got)
	}
	f.perPage = 200
	parts := f.Parts()
	if len(parts) != 2 || parts[0].File != "page.html" || parts[1].File != "page-2.html" || parts[0].Last != parts[1].First || parts[1].Last != f.Books {
		t.Fatalf("parts %+v", parts)
	}
	files, err := fs.Sub(templates.FS, templates.PageDir)
	if err != nil {
		t.Fatal(err)
	}
	lines := 0
	for i := range parts {
		var buf bytes.Buffer
		if err := f.WritePage(&buf, files, parts, i); err != nil {
			t.Fatal(err)
		}
		lines += strings.Count(buf.String(), `,"Regular",`)
		if !strings.Contains(buf.String(), `["page-2.html",`) {
			t.Errorf("page %d does not name the other one", i+1)
		}
	}
	if lines != f.Tanks {
		t.Errorf("%d tanks on the pages, want %d", lines, f.Tanks)
	}
}

// Two other readers of workbooks and CSV agree with the folder: the library
// excelize, and encoding/csv.
func TestSummaryReadsBack(t *testing.T) {
	f := folderOf(t, nil, recordOf(t, "a.xlsx", jobOf(10, "MR")), recordOf(t, "=b.xlsx", jobOf(3, "CR")))
	var buf, table bytes.Buffer
	if err := f.WriteWorkbook(&buf); err != nil {
		t.Fatal(err)
	}
	if err := f.WriteCSV(&table); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&table).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	book, err := excelize.OpenReader(&buf)
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	sheet, err := book.GetRows("Tanks", excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != f.Tanks+1 || len(sheet) != len(rows) {
		t.Fatalf("%d lines in the CSV and %d rows in the workbook, want %d", len(rows), len(sheet), f.Tanks+1)
	}
	for i, row := range rows[1:] {
		for k, text := range row {
			in := ""
			if k < len(sheet[i+1]) {
				in = sheet[i+1][k]
			}
			if strings.TrimPrefix(text, "'") != in {
				t.Errorf("row %d, %s: %q in the CSV, %q in the workbook", i+2, rows[0][k], text, in)
			}
		}
	}
	if got := rows[len(rows)-1][0]; strings.HasPrefix(got, "=") {
		t.Errorf("a book called =b.xlsx would be a formula: %q", got)
	}
	for _, name := range []string{"Overview", "Findings", "Order", "Inspections", "Changes", "Books"} {
		if rows, err := book.GetRows(name); err != nil || len(rows) == 0 {
			t.Errorf("sheet %s: %d rows, %v", name, len(rows), err)
		}
	}
}

// What is ordered is counted by hand here: of ten tanks with tubes of some 50 in,
// one stock tube of 60 in each, and one device each.
func TestOrders(t *testing.T) {
	f := folderOf(t, nil, recordOf(t, "a.xlsx", jobOf(1, "MR")), recordOf(t, "b.xlsx", jobOf(1, "CR")))
	got := map[string]int{}
	for _, o := range f.Orders {
		got[o.Item] = o.Ready
	}
	// The lower tubes are 69 1/2 in of stock of 120 in: one each; nothing is shared
	// between two books.
	if got["device"] != 2 || got["upper tube"] != 2 || got["lower tube"] != 2 {
		t.Errorf("orders %+v", f.Orders)
	}
}

// Of a kind whose findings weigh differently it is told how many are of the worst
// weight: of 23 inspections that come due it matters which are overdue.
func TestKindsCountTheirWorst(t *testing.T) {
	rec := recordOf(t, "a.xlsx", jobOf(1, "MR"))
	rec.Book.Findings = nil
	for _, s := range []finding.Severity{finding.Note, finding.Check, finding.Note, finding.Check, finding.Note} {
		rec.Book.Findings = append(rec.Book.Findings, Note{Slug: finding.InspectionDue, Severity: s})
	}
	f := folderOf(t, nil, rec)
	for _, k := range f.Kinds {
		if k.Slug == finding.InspectionDue && (k.Worst != finding.Check || k.Findings != 5 || k.Severe != 2) {
			t.Errorf("%+v, want 5 findings, 2 of them to be checked", k)
		}
	}
	var mail strings.Builder
	if err := f.WriteMail(&mail, "the last change", nil); err != nil {
		t.Fatal(err)
	}
	if want := "2  check  inspection-due: "; !strings.Contains(mail.String(), want) || !strings.Contains(mail.String(), "(and 3 more of less weight)") {
		t.Errorf("the mail does not say %q: %s", want, mail.String())
	}
}

// A book whose record is that of the run before is not compared: not even the
// older record is read.
func TestSameRecordsAreNotCompared(t *testing.T) {
	list := manyBooks(t, 50)
	data := [][]byte{bytesOf(t, list[0]), bytesOf(t, list[1])}
	records := Records{
		N:    2,
		Open: func(i int) (Source, error) { return source{bytes.NewReader(data[i])}, nil },
		Before: func(path string) (*Book, error) {
			if path != list[1].Book.Path {
				t.Errorf("the older record of %s was asked for", path)
			}
			return nil, nil
		},
		Same: func(i int) bool { return i == 0 },
	}
	f, err := Gather(records, Folder{Name: "books", Version: "test"})
	if err != nil {
		t.Fatal(err)
	}
	if f.Changes.Count != 1 || f.Changes.List[0].Book != list[1].Book.Path || f.Tanks != 50 {
		t.Errorf("%+v; want the new book alone, and all tanks", f.Changes)
	}
}
