package xlsx

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"fmt"
	"io"
	"strconv"
	"testing"

	kflate "github.com/klauspost/compress/flate"
)

// bigSheet is a book with one sheet of rows x 3 numbers: tank, depth in eighths
// of an inch, volume with two decimals, as office programs write them.
func bigSheet(tb testing.TB, rows int) []byte {
	tb.Helper()
	var buf bytes.Buffer
	w := zip.NewWriter(&buf)
	for _, p := range plain("") {
		f, err := w.Create(p.name)
		if err != nil {
			tb.Fatal(err)
		}
		if p.name != sheet1 {
			io.WriteString(f, p.content)
			continue
		}
		io.WriteString(f, xmlHead+`<worksheet xmlns="`+nsMain+`"><sheetData>`)
		var b []byte
		for r := 1; r <= rows; r++ {
			depth := float64(r%800) / 8
			b = fmt.Appendf(b[:0], `<row r="%d" spans="1:3"><c r="A%d"><v>%d</v></c><c r="B%d" s="1"><v>`, r, r, r/800+1, r)
			b = strconv.AppendFloat(b, depth, 'f', -1, 64)
			b = fmt.Appendf(b, `</v></c><c r="C%d" s="2"><v>`, r)
			b = strconv.AppendFloat(b, float64(int(depth*depth*113.27+float64(r%7)))/100, 'f', -1, 64)
			b = append(b, `</v></c></row>`...)
			if _, err := f.Write(b); err != nil {
				tb.Fatal(err)
			}
		}
		io.WriteString(f, `</sheetData></worksheet>`)
	}
	if err := w.Close(); err != nil {
		tb.Fatal(err)
	}
	return buf.Bytes()
}

const benchRows = 1_000_000

func rawSheet(b *testing.B, book []byte) (io.Reader, int64) {
	r, err := zip.NewReader(bytes.NewReader(book), int64(len(book)))
	if err != nil {
		b.Fatal(err)
	}
	for _, f := range r.File {
		if f.Name == sheet1 {
			raw, err := f.OpenRaw()
			if err != nil {
				b.Fatal(err)
			}
			return raw, int64(f.UncompressedSize64)
		}
	}
	b.Fatal("no sheet")
	return nil, 0
}

// BenchmarkInflate is the physical limit: nothing but unpacking, by the
// standard library and by the faster one.
func BenchmarkInflate(b *testing.B) {
	book := bigSheet(b, benchRows)
	for name, open := range map[string]func(io.Reader) io.ReadCloser{"standard": flate.NewReader, "used": kflate.NewReader} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				raw, size := rawSheet(b, book)
				b.SetBytes(size)
				r := open(raw)
				if n, err := io.CopyBuffer(io.Discard, struct{ io.Reader }{r}, make([]byte, 64<<10)); err != nil || n != size {
					b.Fatal(n, err)
				}
			}
		})
	}
}

// BenchmarkRows reads the same sheet as rows with every number parsed.
func BenchmarkRows(b *testing.B) {
	data := bigSheet(b, benchRows)
	book, err := openBytes(data)
	if err != nil {
		b.Fatal(err)
	}
	_, size := rawSheet(b, data)
	b.SetBytes(size)
	b.ReportAllocs()
	for b.Loop() {
		n, sum := 0, 0.0
		for r, err := range book.Sheets()[0].Rows() {
			if err != nil {
				b.Fatal(err)
			}
			n++
			for i := range r.Cells {
				sum += r.Cells[i].Num
			}
		}
		if n != benchRows || sum == 0 {
			b.Fatal(n, sum)
		}
	}
}

// BenchmarkMerges runs over the same sheet for what stands behind its cells.
func BenchmarkMerges(b *testing.B) {
	data := bigSheet(b, benchRows)
	for b.Loop() {
		book, err := openBytes(data)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := book.Sheets()[0].Merges(); err != nil {
			b.Fatal(err)
		}
	}
}
