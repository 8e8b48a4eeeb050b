package jobbook

import (
	"bytes"
	"io"
	"testing"

	"dropcut/convert/jobbook/calculation"
	"dropcut/convert/jobbook/field"
	"dropcut/convert/jobbook/jobtest"

	"github.com/xuri/excelize/v2"

	"dropcut/convert/drawing"
	"dropcut/convert/jobbook/formula"
	"dropcut/validate"
)

// oneJob is a job of one tank, without an end of its own.
func oneJob(b testing.TB) Job {
	_, results := jobtest.Demo(b)
	for i := range results {
		if calculation.Possible(&results[i]) {
			return Job{Name: "J", Portfolio: "demo.xlsx", Results: []*validate.Result{&results[i]}}
		}
	}
	b.Fatal("no tank of the demonstration can be cut")
	return Job{}
}

// BenchmarkJobBook makes a job book of one tank, pictures and all.
func BenchmarkJobBook(b *testing.B) {
	m, job := newMaker(b), oneJob(b)
	b.ReportAllocs()
	for b.Loop() {
		if err := m.Write(io.Discard, job); err != nil {
			b.Fatal(err)
		}
	}
}

func draw(b *testing.B, m *Maker, job Job) {
	b.Helper()
	r := job.Results[0]
	tank := drawing.Tank(r.Tank, &r.Cut, r.Device, field.UnitsOf(r, field.Units{}))
	plot, _ := drawing.PlotOf(r.Chart, &r.Cut, field.UnitsOf(r, field.Units{}))
	curve := plot.Picture()
	for _, p := range []*drawing.Picture{&tank, &curve} {
		if _, err := m.raster.PNG(p); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkPictures is what drawing takes of both.
func BenchmarkPictures(b *testing.B) {
	m, job := newMaker(b), oneJob(b)
	for b.Loop() {
		draw(b, m, job)
	}
}

// BenchmarkLibraryTemplate is what it is held against: the same book as a
// template, opened by the workbook library, its cells set anew, saved; and the
// same two pictures drawn, which a job needs whoever writes it (they are not put
// into the library's book, which spares it that work).
func BenchmarkLibraryTemplate(b *testing.B) {
	m, job := newMaker(b), oneJob(b)
	var t bytes.Buffer
	if err := m.Write(&t, job); err != nil {
		b.Fatal(err)
	}
	type set struct {
		sheet, at string
		v         any
	}
	book, err := m.Book(job)
	if err != nil {
		b.Fatal(err)
	}
	var list []set
	for _, s := range book.Sheets {
		s.Each(func(col, row int, v formula.Value, computed bool) {
			at, _ := excelize.CoordinatesToCellName(col, row)
			switch {
			case computed:
			case v.Kind == formula.Number:
				list = append(list, set{s.Name, at, v.Num})
			case v.Text != "":
				list = append(list, set{s.Name, at, v.Text})
			}
		})
	}
	b.ReportAllocs()
	for b.Loop() {
		f, err := excelize.OpenReader(bytes.NewReader(t.Bytes()))
		if err != nil {
			b.Fatal(err)
		}
		for _, x := range list {
			if err := f.SetCellValue(x.sheet, x.at, x.v); err != nil {
				b.Fatal(err)
			}
		}
		draw(b, m, job)
		if err := f.Write(io.Discard); err != nil {
			b.Fatal(err)
		}
		if err := f.Close(); err != nil {
			b.Fatal(err)
		}
	}
}
