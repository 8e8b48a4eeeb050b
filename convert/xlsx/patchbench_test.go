package xlsx

import (
	"archive/zip"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"dropcut/convert/grid"
	"dropcut/convert/xlsx/internal/handmade"
	"dropcut/convert/xlsx/internal/lex"
	"dropcut/convert/xlsx/internal/patch"
	"dropcut/convert/xlsx/internal/read"
)

const (
	benchTanks = 5000
	benchRows  = 1_000_000
)

// portfolioFile writes a book with Tanks (5,000 x 12, texts and numbers) and
// Charts (a million rows of three numbers) as an office program would.
func portfolioFile(tb testing.TB) string {
	tb.Helper()
	path := filepath.Join(tb.TempDir(), "portfolio.xlsx")
	f, err := os.Create(path)
	if err != nil {
		tb.Fatal(err)
	}
	defer f.Close()
	h := tankList().
		Edit(tb, "xl/workbook.xml", `</sheets>`, `<sheet name="Big" sheetId="2" r:id="rId7"/></sheets>`).
		Edit(tb, "xl/_rels/workbook.xml.rels", `</Relationships>`, `<Relationship Id="rId7" Type="`+handmade.RelTypes+`/worksheet" Target="worksheets/sheet2.xml"/></Relationships>`).
		Edit(tb, "[Content_Types].xml", `</Types>`, `<Override PartName="/xl/worksheets/sheet2.xml" ContentType="`+patch.TypeSheet+`"/></Types>`)
	var rows strings.Builder
	for r := 1; r <= benchTanks+1; r++ {
		fmt.Fprintf(&rows, `<row r="%d" spans="1:12">`, r)
		for c := range 12 {
			at := string(rune('A'+c)) + fmt.Sprint(r)
			if c < 6 || r == 1 {
				rows.WriteString(sharedText(at, 2, (r+c)%8))
			} else {
				fmt.Fprintf(&rows, `<c r="%s" s="2"><v>%d.%d</v></c>`, at, r*c, r%10)
			}
		}
		rows.WriteString(`</row>`)
	}
	h = h.With(handmade.Sheet1, handmade.Head+`<worksheet xmlns="`+lex.NsMain+`"><dimension ref="A1:L5001"/><sheetData>`+rows.String()+`</sheetData></worksheet>`)
	w := zip.NewWriter(f)
	for _, p := range h {
		e, err := w.Create(p.Name)
		if err == nil {
			_, err = io.WriteString(e, p.Content)
		}
		if err != nil {
			tb.Fatal(err)
		}
	}
	big, err := openBytes(handmade.BigSheet(tb, benchRows))
	if err != nil {
		tb.Fatal(err)
	}
	r, err := big.Pack.Open(big.Pack.Part(handmade.Sheet1))
	if err != nil {
		tb.Fatal(err)
	}
	e, err := w.Create("xl/worksheets/sheet2.xml")
	if err == nil {
		_, err = io.Copy(e, r)
	}
	if err == nil {
		err = w.Close()
	}
	if err != nil {
		tb.Fatal(err)
	}
	return path
}

func portfolioEdit() grid.Edit {
	var e grid.Edit
	for c := range 12 {
		col := grid.Column{Sheet: "Charts", Col: 13 + c, HeaderRow: 1, Heading: fmt.Sprintf("Plan: column %d", c+1), Width: 12}
		for r := 2; r <= benchTanks+1; r++ {
			v := grid.Num(float64(r*c)+1.0/float64(r), grid.LookVolume)
			if c > 9 {
				v = grid.Str("check: riser not measured", grid.LookCheck)
			}
			col.Cells = append(col.Cells, grid.At{Row: r, Value: v})
		}
		e.Columns = append(e.Columns, col)
	}
	return e
}

// BenchmarkPatch writes 12 columns into 5,000 rows beside a chart sheet of a
// million rows: as a command does that has read the charts before; from opening
// the file, every checksum of it still to be checked; with the whole comparison;
// and by the workbook library, in the same run. It also looks at the memory in
// use while writing.
func BenchmarkPatch(b *testing.B) {
	path, edit := portfolioFile(b), portfolioEdit()
	dst := filepath.Join(b.TempDir(), "out.xlsx")
	patch := func(b *testing.B, first bool) time.Duration {
		book, err := read.Open(path)
		if err != nil {
			b.Fatal(err)
		}
		defer book.Close()
		if first {
			for _, err := range book.Sheet("Big").Rows() {
				if err != nil {
					b.Fatal(err)
				}
			}
		}
		out, err := os.Create(dst)
		if err != nil {
			b.Fatal(err)
		}
		defer out.Close()
		from := time.Now()
		if _, err := patch.Patch(book, edit, out); err != nil {
			b.Fatal(err)
		}
		return time.Since(from)
	}
	for _, c := range []struct {
		name string
		read bool
	}{{"charts read before", true}, {"just opened", false}} {
		b.Run(c.name, func(b *testing.B) {
			var sum time.Duration
			for b.Loop() {
				sum += patch(b, c.read)
			}
			b.ReportMetric(float64(sum.Milliseconds())/float64(b.N), "ms/patch")
		})
	}
	b.Run("with comparison", func(b *testing.B) {
		book, err := read.Open(path)
		if err != nil {
			b.Fatal(err)
		}
		defer book.Close()
		for b.Loop() {
			if _, err := WriteBook(book, edit, dst, WriteOptions{}); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("library", func(b *testing.B) {
		for b.Loop() {
			f, err := excelize.OpenFile(path)
			if err != nil {
				b.Fatal(err)
			}
			for _, c := range edit.Columns {
				for _, a := range c.Cells {
					at, _ := excelize.CoordinatesToCellName(c.Col, a.Row)
					if a.Value.IsNumber {
						err = f.SetCellValue(c.Sheet, at, a.Value.Number)
					} else {
						err = f.SetCellValue(c.Sheet, at, a.Value.Text)
					}
					if err != nil {
						b.Fatal(err)
					}
				}
			}
			if err := f.SaveAs(dst); err != nil {
				b.Fatal(err)
			}
			f.Close()
		}
	})
}

// Writing beside a sheet of a million rows takes memory for the edit and for the
// touched sheet's changes, not for the book.
func TestPatchMemory(t *testing.T) {
	if testing.Short() {
		t.Skip("makes a book of a million rows")
	}
	book := handmade.BigSheet(t, 200_000)
	b, err := openBytes(book)
	if err != nil {
		t.Fatal(err)
	}
	edit := grid.Edit{Columns: []grid.Column{{Sheet: "Charts", Col: 4, HeaderRow: 1, Heading: "Plan: x"}}}
	for r := 2; r < 2000; r++ {
		edit.Columns[0].Cells = append(edit.Columns[0].Cells, grid.At{Row: r, Value: grid.Num(1, grid.LookPlain)})
	}
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	if _, err := patch.Patch(b, edit, io.Discard); err != nil {
		t.Fatal(err)
	}
	runtime.ReadMemStats(&after)
	// The sheet has 30 MB of XML and some 4 MB packed, which are held once.
	if grown := (after.TotalAlloc - before.TotalAlloc) >> 20; grown > 40 {
		t.Errorf("%d MB were allocated", grown)
	}
}

const peakEnv = "DROPCUT_XLSX_PEAK"

// TestPeakChild is no test: it is what TestPatchPeak starts.
func TestPeakChild(t *testing.T) {
	path := os.Getenv(peakEnv)
	if path == "" {
		t.Skip("started by TestPatchPeak only")
	}
	book, err := read.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	if _, err := WriteBook(book, portfolioEdit(), path+".out.xlsx", WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(status)) {
		if strings.HasPrefix(line, "VmHWM:") {
			fmt.Print(line)
		}
	}
}

// A process that writes 12 columns into 5,000 rows beside a million chart rows,
// and compares the result, needs less than 100 MB at its highest.
func TestPatchPeak(t *testing.T) {
	if os.Getenv("DROPCUT_PEERS") != "required" || runtime.GOOS != "linux" {
		t.Skip("makes a book of a million rows: run with DROPCUT_PEERS=required on Linux")
	}
	cmd := exec.Command(os.Args[0], "-test.run=^TestPeakChild$")
	cmd.Env = append(os.Environ(), peakEnv+"="+portfolioFile(t))
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	var kB int
	if _, err := fmt.Sscanf(string(out), "VmHWM: %d kB", &kB); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	t.Logf("%d MB at the highest", kB>>10)
	if kB > 100<<10 {
		t.Errorf("%d MB were in use", kB>>10)
	}
}
