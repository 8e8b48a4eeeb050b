package read

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"io"
	"testing"

	kflate "github.com/klauspost/compress/flate"

	"dropcut/convert/xlsx/internal/handmade"
)

const benchRows = 1_000_000

func rawSheet(b *testing.B, book []byte) (io.Reader, int64) {
	r, err := zip.NewReader(bytes.NewReader(book), int64(len(book)))
	if err != nil {
		b.Fatal(err)
	}
	for _, f := range r.File {
		if f.Name == handmade.Sheet1 {
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
	book := handmade.BigSheet(b, benchRows)
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
	data := handmade.BigSheet(b, benchRows)
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
	data := handmade.BigSheet(b, benchRows)
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
