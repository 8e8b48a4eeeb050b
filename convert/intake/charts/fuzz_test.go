package charts

import (
	"fmt"
	"iter"
	"math"
	"strconv"
	"strings"
	"testing"

	"dropcut/convert/grid"
	"dropcut/convert/intake/figures"
	"dropcut/convert/intake/headword"
	"dropcut/convert/intake/intaketest"
	"dropcut/plan/cell"
)

// FuzzLayouts gives the reader any sheet. It must come to an end without a
// crash, and what it reads must stand where it says.
func FuzzLayouts(f *testing.F) {
	for _, c := range append(layoutCases(), faultCases()...) {
		f.Add(c.tab, c.text)
	}
	f.Fuzz(func(t *testing.T, tab, text string) {
		if len(text) > 1<<15 || len(tab) > 100 || strings.Count(text, "|") > 1<<13 {
			return
		}
		s := intaketest.Sheet{File: "f", Name: tab, Text: text}
		r, err := Read(s, Options{IDs: headword.KnownIDs("A-1", "7")})
		if err != nil {
			t.Fatal(err)
		}
		full := make(map[[2]int]bool)
		for row := range s.Rows() {
			for _, c := range row.Cells {
				full[[2]int{c.Col, row.N}] = true
			}
		}
		holds := func(at cell.Ref) bool { return full[[2]int{at.Col, at.Row}] }
		for _, c := range r.Charts {
			if len(c.Rows) == 0 {
				t.Error("a chart without rows")
			}
			for i := range c.Rows {
				if d := c.Rows[i].Depth; math.IsInf(d, 0) {
					t.Errorf("depth %v", d)
				}
				if !holds(c.VolumeAt(i)) && !(math.IsNaN(c.Rows[i].Depth) && math.IsNaN(c.Rows[i].Volume)) {
					t.Errorf("a volume at %s, where there is nothing", c.VolumeAt(i))
				}
			}
			for _, o := range c.Odd {
				if o.Row < 0 || int(o.Row) >= len(c.Rows) {
					t.Errorf("an odd cell in row %d of %d", o.Row, len(c.Rows))
				}
			}
		}
		for _, x := range r.Findings {
			if x.Slug == "" || x.Severity == 0 || x.Found == "" {
				t.Errorf("an empty finding: %+v", x)
			}
		}
	})
}

// longSheet is a long list of many tanks, made row by row.
type longSheet struct {
	intaketest.Sheet
	tanks, rows int
	workbook    bool
}

func (s longSheet) Rows() iter.Seq2[*grid.Row, error] {
	return func(yield func(*grid.Row, error) bool) {
		head := grid.Row{N: 1}
		for i, h := range []string{"Tank", "Depth (in)", "Volume (gal)"} {
			head.Cells = append(head.Cells, grid.Cell{Col: i + 1, Kind: grid.Text, Raw: []byte(h)})
		}
		if !yield(&head, nil) {
			return
		}
		r := grid.Row{Cells: make([]grid.Cell, 3)}
		var d, v []byte
		for k := range s.tanks {
			id := fmt.Appendf(nil, "LS-%d", k)
			for i := range s.rows {
				r.N = 2 + k*s.rows + i
				d, v = strconv.AppendInt(d[:0], int64(i), 10), strconv.AppendInt(v[:0], int64(18*i+i*i/3), 10)
				r.Cells[0] = grid.Cell{Col: 1, Kind: grid.Text, Raw: id}
				r.Cells[1] = grid.Cell{Col: 2, Kind: grid.Text, Raw: d}
				r.Cells[2] = grid.Cell{Col: 3, Kind: grid.Text, Raw: v}
				if s.workbook {
					r.Cells[1].Kind, r.Cells[1].Num = grid.Number, float64(i)
					r.Cells[2].Kind, r.Cells[2].Num = grid.Number, float64(18*i+i*i/3)
				}
				if !yield(&r, nil) {
					return
				}
			}
		}
	}
}

// A long list is read in one pass, with memory for its charts alone.
func TestLongSheetIsStreamed(t *testing.T) {
	s := longSheet{intaketest.Sheet{File: "f", Name: "Charts"}, 300, 97, true}
	r, err := readLong(s)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Charts) != 300 || len(r.Findings) != 0 || len(r.Tables) != 1 || r.Tables[0].Rows != 300*97 {
		t.Fatalf("%d charts, %d tables, findings %s", len(r.Charts), len(r.Tables), findingList(r.Findings))
	}
	for i, c := range r.Charts {
		if c.Name != fmt.Sprintf("LS-%d", i) || len(c.Rows) != 97 || c.Rows[96].Depth != 96 {
			t.Fatalf("chart %d: %s, %d rows", i, c.Name, len(c.Rows))
		}
	}
}

func readLong(s longSheet) (figures.Yield, error) { return Read(s, Options{}) }

func BenchmarkLongSheet(b *testing.B) {
	for _, workbook := range []bool{true, false} {
		name := "csv"
		if workbook {
			name = "workbook"
		}
		s := longSheet{intaketest.Sheet{File: "f", Name: name}, 1000, 100, workbook}
		if !workbook {
			s.Name = ""
		}
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if r, err := readLong(s); err != nil || len(r.Charts) != 1000 {
					b.Fatal(len(r.Charts), err)
				}
			}
		})
		b.Run(name+", rows alone", func(b *testing.B) {
			for b.Loop() {
				n := 0
				for row := range s.Rows() {
					n += len(row.Cells)
				}
				if n < 3000 {
					b.Fatal(n)
				}
			}
		})
	}
}
