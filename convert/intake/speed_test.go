package intake

import (
	"archive/zip"
	"bufio"
	"bytes"
	"compress/flate"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	kflate "github.com/klauspost/compress/flate"

	"dropcut/convert/csvfile"
	"dropcut/convert/grid"
	"dropcut/convert/intake/survey"
	"dropcut/convert/xlsx"
)

// longSpeed are the rows of the long chart: 800 rows a tank, in eighths.
func longSpeed(rows int, row func(tank int, depth, volume float64)) {
	for i := range rows {
		d := float64(i%800) / 8
		row(1+i/800, d, float64(int(d*1133.7))/10)
	}
}

// speedBook is a workbook with one sheet of that many rows of three numbers, as
// office programs write them.
func speedBook(tb testing.TB, rows int) []byte {
	tb.Helper()
	const office = `http://schemas.openxmlformats.org/officeDocument/2006/relationships`
	var buf bytes.Buffer
	z := zip.NewWriter(&buf)
	part := func(name string) io.Writer {
		w, err := z.Create(name)
		if err != nil {
			tb.Fatal(err)
		}
		io.WriteString(w, `<?xml version="1.0" encoding="UTF-8" standalone="yes"?>`+"\n")
		return w
	}
	io.WriteString(part("[Content_Types].xml"), `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/><Override PartName="/xl/worksheets/sheet1.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/></Types>`)
	io.WriteString(part("_rels/.rels"), `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="`+office+`/officeDocument" Target="xl/workbook.xml"/></Relationships>`)
	io.WriteString(part("xl/workbook.xml"), `<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="`+office+`"><sheets><sheet name="Charts" sheetId="1" r:id="rId1"/></sheets></workbook>`)
	io.WriteString(part("xl/_rels/workbook.xml.rels"), `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="`+office+`/worksheet" Target="worksheets/sheet1.xml"/></Relationships>`)
	w := bufio.NewWriter(part("xl/worksheets/sheet1.xml"))
	io.WriteString(w, `<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row r="1" spans="1:3"><c r="A1" t="inlineStr"><is><t>Tank</t></is></c><c r="B1" t="inlineStr"><is><t>Depth (in)</t></is></c><c r="C1" t="inlineStr"><is><t>Volume (gal)</t></is></c></row>`)
	r := 1
	longSpeed(rows, func(tank int, d, v float64) {
		r++
		fmt.Fprintf(w, `<row r="%d" spans="1:3"><c r="A%d"><v>%d</v></c><c r="B%d"><v>%s</v></c><c r="C%d"><v>%s</v></c></row>`, r, r, tank, r, survey.Number(d), r, survey.Number(v))
	})
	io.WriteString(w, `</sheetData></worksheet>`)
	if err := w.Flush(); err != nil {
		tb.Fatal(err)
	}
	if err := z.Close(); err != nil {
		tb.Fatal(err)
	}
	return buf.Bytes()
}

// BenchmarkWorkbook opens and reads a workbook of 1,000,000 x 3 numbers and gives
// the processor time as a multiple of bare inflation of its sheet, by the
// standard library and by the library that is used.
func BenchmarkWorkbook(b *testing.B) {
	const rows = 1_000_000
	data := speedBook(b, rows)
	inflate := func(open func(io.Reader) io.ReadCloser) time.Duration {
		z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
		if err != nil {
			b.Fatal(err)
		}
		start := cpu()
		raw, err := z.File[len(z.File)-1].OpenRaw()
		if err != nil {
			b.Fatal(err)
		}
		if n, err := io.CopyBuffer(io.Discard, struct{ io.Reader }{open(raw)}, make([]byte, 64<<10)); err != nil || n < 50*rows {
			b.Fatal(n, err)
		}
		return cpu() - start
	}
	var std, used, ours time.Duration
	b.ReportAllocs()
	for b.Loop() {
		std += inflate(flate.NewReader)
		used += inflate(kflate.NewReader)
		start := cpu()
		book, err := xlsx.OpenReader("big.xlsx", bytes.NewReader(data), int64(len(data)))
		if err != nil {
			b.Fatal(err)
		}
		r, err := Read([]grid.Book{book}, Options{})
		if err != nil || len(r.Job.Charts) != rows/800 {
			b.Fatal(err)
		}
		ours += cpu() - start
	}
	b.ReportMetric(float64(ours)/float64(std), "x-std-inflation")
	b.ReportMetric(float64(ours)/float64(used), "x-inflation")
	b.ReportMetric(float64(ours.Milliseconds())/float64(b.N), "cpu-ms/op")
}

// BenchmarkCSV reads a file of 4,000,000 rows and gives the processor time as a
// multiple of a plain scan of its lines in which the same two numbers are parsed.
func BenchmarkCSV(b *testing.B) {
	const rows = 4_000_000
	path := filepath.Join(b.TempDir(), "big.csv")
	f, err := os.Create(path)
	if err != nil {
		b.Fatal(err)
	}
	w := bufio.NewWriter(f)
	w.WriteString("Tank,Depth (in),Volume (gal)\n")
	longSpeed(rows, func(tank int, d, v float64) { fmt.Fprintf(w, "AC-%d,%g,%.1f\n", tank, d, v) })
	if err := w.Flush(); err != nil {
		b.Fatal(err)
	}
	f.Close()
	scan := func() time.Duration {
		start := cpu()
		f, err := os.Open(path)
		if err != nil {
			b.Fatal(err)
		}
		defer f.Close()
		n := 0
		for sc := bufio.NewScanner(f); sc.Scan(); {
			_, rest, _ := bytes.Cut(sc.Bytes(), []byte{','})
			d, v, _ := bytes.Cut(rest, []byte{','})
			if _, err := strconv.ParseFloat(string(d), 64); err != nil {
				continue
			}
			if _, err := strconv.ParseFloat(string(v), 64); err == nil {
				n++
			}
		}
		if n != rows {
			b.Fatal(n)
		}
		return cpu() - start
	}
	var plain, ours time.Duration
	b.ReportAllocs()
	for b.Loop() {
		plain += scan()
		start := cpu()
		book, err := csvfile.Open(path)
		if err != nil {
			b.Fatal(err)
		}
		r, err := Read([]grid.Book{book}, Options{})
		if err != nil || len(r.Job.Charts) != rows/800 {
			b.Fatal(err)
		}
		book.Close()
		ours += cpu() - start
	}
	b.ReportMetric(float64(ours)/float64(plain), "x-line-scan")
	b.ReportMetric(float64(ours.Milliseconds())/float64(b.N), "cpu-ms/op")
}
