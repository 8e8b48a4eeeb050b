package handmade

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"strconv"
	"testing"

	"dropcut/convert/xlsx/internal/lex"
)

// BigSheet is a book with one sheet of rows x 3 numbers: tank, depth in eighths
// of an inch, volume with two decimals, as office programs write them.
func BigSheet(tb testing.TB, rows int) []byte {
	tb.Helper()
	var buf bytes.Buffer
	w := zip.NewWriter(&buf)
	for _, p := range Plain("") {
		f, err := w.Create(p.Name)
		if err != nil {
			tb.Fatal(err)
		}
		if p.Name != Sheet1 {
			io.WriteString(f, p.Content)
			continue
		}
		io.WriteString(f, Head+`<worksheet xmlns="`+lex.NsMain+`"><sheetData>`)
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
