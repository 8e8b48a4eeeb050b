package csvfile

import (
	"path/filepath"
	"testing"

	"dropcut/plan/unit"
)

// The invented sample files with what a right reader understands of them.
func TestSamples(t *testing.T) {
	for _, c := range []struct {
		file      string
		rows      int // of depth and volume
		lastDepth string
		lastRow   int
		volume    float64
	}{
		{"25_semicolon_decimal_comma.csv", 81, "200,0", 82, 15708}, // litres: 4149.6146 gal
		{"x01_mixed_line_ends.csv", 97, "96", 103, 10027},          // with five blank lines
		{"x02_bare_cr.csv", 97, "96", 98, 10027},
		{"37_newline_in_header.csv", 97, "96", 98, 10027},
		{"35_utf8_bom.csv", 97, "96", 98, 10027},
	} {
		b, err := Open(filepath.Join("testdata", c.file))
		if err != nil {
			t.Fatal(err)
		}
		s := b.Sheets()[0].(*Sheet)
		rows, last, n := 0, "", 0
		var volume float64
		first := true
		for row, err := range s.Rows() {
			if err != nil {
				t.Fatal(err)
			}
			if first {
				if got := row.At(1).String(); got != "Tank" {
					t.Errorf("%s: the first heading is %q", c.file, got)
				}
				first = false
				continue
			}
			v, err := unit.ParseNumber(row.At(3).Raw, s.Dialect().Decimal)
			if err != nil {
				t.Errorf("%s: row %d: %v", c.file, row.N, err)
			}
			rows++
			last, n, volume = row.At(2).String(), row.N, v
		}
		if rows != c.rows || last != c.lastDepth || n != c.lastRow || volume != c.volume {
			t.Errorf("%s: %d rows, the last %d at %s: %v; want %+v", c.file, rows, n, last, volume, c)
		}
	}
}
