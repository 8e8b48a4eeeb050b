package jobbook

import (
	"bytes"
	"io"
	"os"
	"runtime"
	"testing"
	"time"

	"dropcut/convert/jobbook/field"
	"dropcut/convert/jobbook/jobtest"
	"dropcut/convert/jobbook/sheet"

	"github.com/xuri/excelize/v2"

	"dropcut/convert/drawing"
	"dropcut/convert/jobbook/formula"
)

// A thousand job books are made at three times the rate, or more, at which the
// workbook library opens a finished book, fills it in and saves it, in the same
// run; and the last hundred need no more memory than the first. It takes minutes,
// so that DROPCUT_LONG=1 asks for it; the rates are those of one goroutine each.
func TestThousandJobBooks(t *testing.T) {
	if os.Getenv("DROPCUT_LONG") != "1" {
		t.Skip("DROPCUT_LONG=1 is not set: a thousand job books take minutes")
	}
	const books, most = 1000, 3
	_, results := jobtest.Demo(t)
	jobs := Jobs(results, "demo.xlsx")
	m := newMaker(t)
	held := func() uint64 {
		runtime.GC()
		var s runtime.MemStats
		runtime.ReadMemStats(&s)
		return s.HeapAlloc
	}
	var ours, theirs time.Duration
	var early uint64
	for n := range books {
		job := jobs[n%len(jobs)]
		start := time.Now()
		if err := m.Write(io.Discard, job); err != nil {
			t.Fatal(err)
		}
		ours += time.Since(start)
		// The library's turn comes in between, so that both see the same machine; one
		// in ten is enough for its rate.
		if n%10 == 9 {
			theirs += library(t, m, job)
		}
		if n == books/10 {
			early = held()
		}
	}
	late := held()
	rate := theirs.Seconds() * 10 / ours.Seconds()
	t.Logf("%d books in %v; the library would take %v, %.1f times as long; %d kB held after a tenth of them, %d kB in the end", books, ours, theirs*10, rate, early>>10, late>>10)
	if rate < most {
		t.Errorf("%.2f times the rate of the library, %d are wanted", rate, most)
	}
	// What the maker keeps are the letters that it has drawn.
	if late > early+early/4+1<<20 {
		t.Errorf("%d kB are held after %d books, %d kB after a tenth of them", late>>10, books, early>>10)
	}
}

// library takes the time of a template that the workbook library opens, fills in
// and saves, with the pictures drawn as a job needs them.
func library(t *testing.T, m *Maker, job Job) time.Duration {
	t.Helper()
	book, err := m.Book(job)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := m.writer.Write(&b, book); err != nil {
		t.Fatal(err)
	}
	start := time.Now()
	for _, r := range job.Results {
		u := field.UnitsOf(r, field.Units{})
		p := drawing.Tank(r.Tank, &r.Cut, r.Device, u)
		if _, err := m.raster.PNG(&p); err != nil {
			t.Fatal(err)
		}
		if plot, ok := drawing.PlotOf(r.Chart, &r.Cut, u); ok {
			p := plot.Picture()
			if _, err := m.raster.PNG(&p); err != nil {
				t.Fatal(err)
			}
		}
	}
	f, err := excelize.OpenReader(bytes.NewReader(b.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range book.Sheets {
		s.Each(func(col, row int, v formula.Value, computed bool) {
			at := sheet.Address(col, row)
			switch {
			case computed:
			case v.Kind == formula.Number:
				err = f.SetCellValue(s.Name, at, v.Num)
			case v.Text != "":
				err = f.SetCellValue(s.Name, at, v.Text)
			}
		})
	}
	if err == nil {
		err = f.Write(io.Discard)
	}
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	return time.Since(start)
}
