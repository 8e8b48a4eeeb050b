package csvfile

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"dropcut/convert/grid"
	"dropcut/plan/unit"
)

// chartBytes is a long chart file of that many rows.
func chartBytes(rows int) []byte {
	var b bytes.Buffer
	b.WriteString("Tank,Depth (in),Volume (gal)\n")
	for i := range rows {
		fmt.Fprintf(&b, "AC-%d,%g,%.1f\n", i/800, float64(i%800)/8, float64(i%800)*12.3)
	}
	return b.Bytes()
}

// BenchmarkRows compares reading a chart file from disk, its numbers parsed,
// with a plain scan of its lines with the same two numbers parsed, and with the
// standard library's reader.
func BenchmarkRows(b *testing.B) {
	rows := 400_000
	if s := os.Getenv("DROPCUT_BENCH_ROWS"); s != "" {
		rows, _ = strconv.Atoi(s)
	}
	data := chartBytes(rows)
	path := filepath.Join(b.TempDir(), "t.csv")
	if err := os.WriteFile(path, data, 0o600); err != nil {
		b.Fatal(err)
	}
	b.Run("ours", func(b *testing.B) {
		b.SetBytes(int64(len(data)))
		b.ReportAllocs()
		for range b.N {
			book, err := Open(path)
			if err != nil {
				b.Fatal(err)
			}
			n := 0
			for row, err := range book.Sheets()[0].Rows() {
				if err != nil {
					b.Fatal(err)
				}
				if _, ok := unit.Number(row.At(2).Raw, unit.DecimalPoint); !ok {
					continue
				}
				if _, ok := unit.Number(row.At(3).Raw, unit.DecimalPoint); ok {
					n++
				}
			}
			if n != rows {
				b.Fatal(n)
			}
		}
	})
	b.Run("line scan", func(b *testing.B) {
		b.SetBytes(int64(len(data)))
		for range b.N {
			f, err := os.Open(path)
			if err != nil {
				b.Fatal(err)
			}
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
			f.Close()
			if n != rows {
				b.Fatal(n)
			}
		}
	})
	b.Run("standard library", func(b *testing.B) {
		b.SetBytes(int64(len(data)))
		for range b.N {
			f, err := os.Open(path)
			if err != nil {
				b.Fatal(err)
			}
			r := csv.NewReader(f)
			r.ReuseRecord = true
			n := 0
			for {
				rec, err := r.Read()
				if err != nil {
					break
				}
				if _, err := strconv.ParseFloat(rec[1], 64); err != nil {
					continue
				}
				if _, err := strconv.ParseFloat(rec[2], 64); err == nil {
					n++
				}
			}
			f.Close()
			if n != rows {
				b.Fatal(n)
			}
		}
	})
}

func TestRowsDoNotAllocate(t *testing.T) {
	data := chartBytes(20_000)
	b, err := FromBytes("t.csv", data)
	if err != nil {
		t.Fatal(err)
	}
	n := testing.AllocsPerRun(3, func() {
		for _, err := range b.Sheets()[0].Rows() {
			if err != nil {
				t.Fatal(err)
			}
		}
	})
	// The buffers, once a read, and nothing for the 20,000 rows.
	if n > 50 {
		t.Errorf("%v allocations for 20,000 rows", n)
	}
}

// BenchmarkAppend writes two columns into every row of a long file and verifies
// it; the copy beside it is what no writer can beat.
func BenchmarkAppend(b *testing.B) {
	const rows = 200_000
	data := chartBytes(rows)
	book, err := FromBytes("t.csv", data)
	if err != nil {
		b.Fatal(err)
	}
	cols := make([]grid.Column, 2)
	for k := range cols {
		cols[k] = grid.Column{Col: 4 + k, HeaderRow: 1, Heading: fmt.Sprintf("Plan: %d", k)}
		for i := range rows {
			cols[k].Cells = append(cols[k].Cells, grid.At{Row: i + 2, Value: grid.Num(float64(i)/16, grid.LookLength)})
		}
	}
	var out bytes.Buffer
	b.Run("append", func(b *testing.B) {
		b.SetBytes(int64(len(data)))
		b.ReportAllocs()
		for range b.N {
			out.Reset()
			if err := Append(book, "t.csv", cols, &out); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("verify", func(b *testing.B) {
		changed, err := FromBytes("t.csv", out.Bytes())
		if err != nil {
			b.Fatal(err)
		}
		b.SetBytes(int64(len(data)))
		b.ReportAllocs()
		for range b.N {
			if err := Verify(book, "t.csv", cols, changed); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("copy line by line", func(b *testing.B) {
		b.SetBytes(int64(len(data)))
		for range b.N {
			out.Reset()
			w := bufio.NewWriter(&out)
			for s := bufio.NewScanner(bytes.NewReader(data)); s.Scan(); {
				_, _ = w.Write(s.Bytes())
				_ = w.WriteByte('\n')
			}
			_ = w.Flush()
		}
	})
}
