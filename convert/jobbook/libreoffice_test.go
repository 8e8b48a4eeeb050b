package jobbook

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"dropcut/convert/jobbook/calculation"
	"dropcut/convert/jobbook/field"
	"dropcut/convert/jobbook/jobtest"

	"dropcut/convert/jobbook/formula"
	"dropcut/convert/jobbook/sheet"
	"dropcut/convert/xlsx"
	"dropcut/plan/cell"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// soffice finds LibreOffice. Starting it takes longer than all other tests
// together, so these tests run under DROPCUT_PEERS=required alone, and then it has
// to be there.
func soffice(t *testing.T) string {
	t.Helper()
	if os.Getenv("DROPCUT_PEERS") != "required" {
		t.Skip("DROPCUT_PEERS=required is not set: the pages are not held against LibreOffice")
	}
	program, err := exec.LookPath("soffice")
	if err != nil {
		t.Fatal("soffice (LibreOffice) is not here, and DROPCUT_PEERS=required asks for it")
	}
	return program
}

// always has LibreOffice compute every formula of a book that it opens, whatever
// results are stored in it; a person has to press a key for that.
const always = `<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>
`

func convert(t *testing.T, program, to, out string, files []string) {
	t.Helper()
	profile := t.TempDir()
	if err := os.MkdirAll(filepath.Join(profile, "user"), 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(profile, "user", "registrymodifications.xcu"), []byte(always), 0o666); err != nil {
		t.Fatal(err)
	}
	args := append([]string{"--headless", "-env:UserInstallation=file://" + filepath.ToSlash(profile), "--convert-to", to, "--outdir", out}, files...)
	if text, err := exec.Command(program, args...).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
}

// LibreOffice computes every formula of every page to what the page was written
// with; also where inputs were changed and the stored results are old, so that
// nothing but its own calculation can be right.
func TestLibreOfficeComputesTheSame(t *testing.T) {
	program := soffice(t)
	const books = 200 // beside those of the demonstration
	dir, out := t.TempDir(), t.TempDir()
	r := rand.New(rand.NewPCG(3, 5))
	m := newMaker(t)
	want := map[string]*sheet.Book{}
	var files []string
	changed := 0
	_, demo := jobtest.Demo(t)
	for n := 0; len(files) < books+drawn(demo); n++ {
		var result *validate.Result
		if n < len(demo) {
			result = &demo[n]
		} else {
			job, o := randomTank(t, r, n)
			result = judged(job, o)
		}
		if !calculation.Possible(result) {
			continue
		}
		one := Job{Name: fmt.Sprintf("J%d", n), Results: []*validate.Result{result}, Inspection: n%5 == 4}
		stale, err := m.Book(one)
		if err != nil {
			t.Fatal(err)
		}
		fresh, err := m.Book(one)
		if err != nil {
			t.Fatal(err)
		}
		u := field.UnitsOf(result, field.Units{})
		list := append(field.Asked(result), field.Field{Key: field.Upper, Least: 10, Most: 100})
		if one.Inspection {
			list = field.FoundFields()
		}
		for _, f := range list {
			s, col, row, ok := stale.Find(field.Name(1, f.Key))
			if !ok {
				t.Fatalf("no field %s", f.Key)
			}
			v := sixteenth(r, f.Least, min(f.Most, 150))
			if old := field.Given(result, f.Key); old.Given() {
				v = old.V + sixteenth(r, -1, 1)
			}
			typed := formula.Num(float64(v))
			if u.Length.Metric() {
				typed = formula.Num(math.Round(unit.Millimetres.Number(v)))
			}
			if r.IntN(10) == 0 {
				typed = formula.Value{}
			}
			s.Type(col, row, typed)
			if err := fresh.Retype(fresh.Sheet(s.Name), col, row, typed); err != nil {
				t.Fatal(err)
			}
			changed++
		}
		var b bytes.Buffer
		if err := m.writer.Write(&b, stale); err != nil {
			t.Fatal(err)
		}
		file := fmt.Sprintf("b%d.xlsx", n)
		if err := os.WriteFile(filepath.Join(dir, file), b.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
		files = append(files, filepath.Join(dir, file))
		want[file] = fresh
	}
	if changed < 1000 {
		t.Errorf("%d cells were changed, 1000 are wanted", changed)
	}
	convert(t, program, "xlsx", out, files)
	compared := 0
	for file, book := range want {
		compared += sameAsComputed(t, filepath.Join(out, file), book)
	}
	t.Logf("%d books, %d changed cells, %d formulas compared", len(files), changed, compared)
	if compared < 50*books {
		t.Errorf("%d formulas compared in %d books", compared, books)
	}
}

// drawn counts the tanks for which live formulas can be written.
func drawn(list []validate.Result) int {
	n := 0
	for i := range list {
		if calculation.Possible(&list[i]) {
			n++
		}
	}
	return n
}

// sameAsComputed holds every formula cell of a saved book against our own value.
func sameAsComputed(t *testing.T, path string, book *sheet.Book) int {
	t.Helper()
	x, err := xlsx.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer x.Close()
	n := 0
	for _, s := range book.Sheets {
		theirs := x.Sheet(s.Name)
		if theirs == nil {
			t.Errorf("%s: the sheet %s is gone", path, s.Name)
			continue
		}
		got := map[[2]int]string{}
		for row, err := range theirs.Rows() {
			if err != nil {
				t.Fatal(err)
			}
			for i := range row.Cells {
				got[[2]int{row.Cells[i].Col, row.N}] = row.Cells[i].String()
			}
		}
		s.Each(func(col, row int, v formula.Value, computed bool) {
			if !computed {
				return
			}
			n++
			text := got[[2]int{col, row}]
			at := cell.Ref{File: filepath.Base(path), Sheet: s.Name, Col: col, Row: row}
			if v.Kind == formula.Number {
				// Twelve digits: two programs add in another order.
				if f, err := strconv.ParseFloat(text, 64); err != nil || math.Abs(f-v.Num) > 1e-9*max(1, math.Abs(v.Num)) {
					t.Errorf("%s: LibreOffice says %q, we say %v", at, text, v.Num)
				}
				return
			}
			if text != v.Text {
				t.Errorf("%s: LibreOffice says %q, we say %q", at, text, v.Text)
			}
		})
	}
	return n
}

// Every page of every kind prints on one sheet of paper, on A4 and on Letter.
func TestEveryPageIsOnePage(t *testing.T) {
	program := soffice(t)
	_, results := jobtest.Demo(t)
	m := newMaker(t)
	dir, out := t.TempDir(), t.TempDir()
	jobs := Jobs(results, "demo.xlsx")
	sheets := map[string]int{}
	var files []string
	for i, job := range jobs {
		for k := range 2 {
			job.Letter, job.Inspection = k == 0, (i+k)%2 == 1
			b, err := m.Book(job)
			if err != nil {
				t.Fatal(err)
			}
			var buf bytes.Buffer
			if err := m.writer.Write(&buf, b); err != nil {
				t.Fatal(err)
			}
			file := fmt.Sprintf("p%d-%d", i, k)
			path := filepath.Join(dir, file+".xlsx")
			if err := os.WriteFile(path, buf.Bytes(), 0o666); err != nil {
				t.Fatal(err)
			}
			files = append(files, path)
			sheets[file] = len(b.Sheets)
		}
	}
	convert(t, program, "pdf", out, files)
	for file, want := range sheets {
		pdf, err := os.ReadFile(filepath.Join(out, file+".pdf"))
		if err != nil {
			t.Fatal(err)
		}
		// The page tree says how many leaves it has (ISO 32000-1, 7.7.3.2).
		got := strings.Count(string(pdf), "/Type/Page/") + strings.Count(string(pdf), "/Type/Page\n") + strings.Count(string(pdf), "/Type/Page ")
		if got != want {
			t.Errorf("%s: %d pages of paper, %d sheets", file, got, want)
		}
	}
}
