package starter

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"dropcut/convert/csvfile"
	"dropcut/convert/grid"
	"dropcut/convert/intake"
	"dropcut/convert/xlsx"
	"dropcut/plan/finding"
	"dropcut/templates"
)

func portfolio(t testing.TB, p Portfolio) []PortfolioBook {
	t.Helper()
	tables, err := DemoTables(templates.FS, templates.DemoDir)
	if err != nil {
		t.Fatal(err)
	}
	list, err := p.List(tables)
	if err != nil {
		t.Fatal(err)
	}
	var books []PortfolioBook
	for b := range list {
		books = append(books, b)
	}
	return books
}

func folder(t testing.TB, b *PortfolioBook) (string, PortfolioCount) {
	t.Helper()
	dir := t.TempDir()
	count, err := b.CSV(func(name string) (io.WriteCloser, error) { return os.Create(filepath.Join(dir, name)) })
	if err != nil {
		t.Fatal(err)
	}
	return dir, count
}

// Every book of every kind is read as what was written: as many tanks, charts and
// rows, in the units of the book; only tanks spoilt on purpose have a stop.
func TestPortfolioReadsAsWritten(t *testing.T) {
	kinds := map[chartLayout]bool{}
	for _, b := range portfolio(t, Portfolio{Tanks: 288, Books: 24, Seed: 3}) {
		kinds[b.style.layout] = true
		path := filepath.Join(t.TempDir(), b.Name+".xlsx")
		var out bytes.Buffer
		count, err := b.Workbook(&out)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, out.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
		dir, second := folder(t, &b)
		if count != second || count.Tanks != b.Tanks {
			t.Errorf("%s: %+v as a workbook, %+v as a folder, want %d tanks", b.Name, count, second, b.Tanks)
		}
		book, err := xlsx.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		defer book.Close()
		files, err := csvfile.OpenDir(dir)
		if err != nil {
			t.Fatal(err)
		}
		for _, g := range []grid.Book{book, files} {
			if _, folder := g.(*csvfile.Book); folder && (b.style.layout == sheetEach || b.style.layout == ullageSheets) {
				continue // a file's name is no cell, so that a blank at its end is lost
			}
			reading, err := intake.Read([]grid.Book{g}, intake.Options{})
			if err != nil {
				t.Fatal(err)
			}
			job := &reading.Job
			rows := 0
			for _, c := range job.Charts {
				rows += len(c.Rows)
				if c.DepthUnit != b.style.depth || c.VolumeUnit != b.style.volume {
					t.Errorf("%s, chart %s: %s and %s, want %s and %s", g.Name(), c.Name, c.DepthUnit, c.VolumeUnit, b.style.depth, b.style.volume)
				}
			}
			if len(job.Tanks) != b.Tanks || len(job.Charts) != count.Charts || rows != count.Rows {
				t.Errorf("%s: %d tanks, %d charts, %d rows, want %+v", g.Name(), len(job.Tanks), len(job.Charts), rows, count)
			}
			spoilt := map[string]string{}
			for tank, fault := range b.Faults() {
				spoilt[tank] = fault
			}
			for _, f := range job.Findings {
				if f.Severity == finding.Stop && spoilt[f.Tank] == "" {
					t.Errorf("%s: tank %s was not spoilt and has %s at %s: %s", g.Name(), f.Tank, f.Slug, f.At, f.Found)
				}
			}
			if len(spoilt) != count.Faults {
				t.Errorf("%s: %d faults are listed, %d were made", g.Name(), len(spoilt), count.Faults)
			}
		}
	}
	if len(kinds) < 4 {
		t.Errorf("only %d ways of keeping charts were met", len(kinds))
	}
}

// The same portfolio is the same bytes; another seed gives another one.
func TestPortfolioIsTheSameAgain(t *testing.T) {
	write := func(seed uint64) []byte {
		var out bytes.Buffer
		for _, b := range portfolio(t, Portfolio{Tanks: 120, Books: 2, Seed: seed}) {
			if _, err := b.Workbook(&out); err != nil {
				t.Fatal(err)
			}
		}
		return out.Bytes()
	}
	if !bytes.Equal(write(1), write(1)) {
		t.Error("the same portfolio came out in other bytes")
	}
	if bytes.Equal(write(1), write(2)) {
		t.Error("another seed gave the same portfolio")
	}
}

// Books have the sizes that were asked for, and together all tanks.
func TestPortfolioSizes(t *testing.T) {
	for _, c := range []struct{ tanks, books int }{{1, 0}, {24, 0}, {26, 0}, {100_000, 0}, {540_000, 0}, {7, 7}, {10, 3}, {5000, 1}} {
		sum, list := 0, portfolio(t, Portfolio{Tanks: c.tanks, Books: c.books, Seed: 1})
		for i, b := range list {
			sum += b.Tanks
			if c.books == 0 && (b.Tanks > largeBook || b.Tanks < smallBook && i < len(list)-1) || b.Tanks < 1 {
				t.Errorf("%+v: a book of %d tanks", c, b.Tanks)
			}
		}
		if sum != c.tanks || c.books > 0 && len(list) != c.books {
			t.Errorf("%+v: %d tanks in %d books", c, sum, len(list))
		}
	}
	tables, err := DemoTables(templates.FS, templates.DemoDir)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range []Portfolio{{Tanks: 0}, {Tanks: -1}, {Tanks: 3, Books: 4}, {Tanks: 3, Books: -1}} {
		if _, err := p.List(tables); err == nil {
			t.Errorf("%+v was not refused", p)
		}
	}
}

// Memory does not grow with the book: ten times the tanks take no more.
func TestPortfolioMemoryIsFlat(t *testing.T) {
	held := func(tanks int) uint64 {
		b := portfolio(t, Portfolio{Tanks: tanks, Books: 1, Seed: 1})[0]
		var most uint64
		n := 0
		_, err := b.Workbook(writerFunc(func(p []byte) (int, error) {
			if n++; n%256 == 0 {
				var m runtime.MemStats
				runtime.GC()
				runtime.ReadMemStats(&m)
				most = max(most, m.HeapAlloc)
			}
			return len(p), nil
		}))
		if err != nil {
			t.Fatal(err)
		}
		return most
	}
	small, large := held(400), held(4000)
	t.Logf("400 tanks hold %d kB, 4,000 tanks %d kB", small>>10, large>>10)
	// The texts that are kept once, ids and sites, may be 32,768 at most.
	if large > small+16<<20 {
		t.Errorf("4,000 tanks hold %d kB, 400 tanks %d kB", large>>10, small>>10)
	}
}

type writerFunc func([]byte) (int, error)

func (f writerFunc) Write(p []byte) (int, error) { return f(p) }

func BenchmarkPortfolioWorkbook(b *testing.B) {
	book := portfolio(b, Portfolio{Tanks: 200, Books: 1, Seed: 1})[0]
	b.ReportAllocs()
	rows := 0
	for b.Loop() {
		c, err := book.Workbook(io.Discard)
		if err != nil {
			b.Fatal(err)
		}
		rows = c.Rows
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(rows), "ns/row")
}
