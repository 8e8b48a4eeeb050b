package newbook

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

func write(t *testing.T, w io.Writer) {
	t.Helper()
	b := New(w, []Style{{Bold: true, Fill: "E7ECE4", Under: "9AA7A0"}, {Format: "# ?/8"}})
	b.Sheet(Sheet{Name: "First & <last>", Widths: []float64{10, 12}, Head: 1, Repeat: 1})
	b.Row()
	b.Height(31.5)
	b.Text("Tank", 1)
	b.Text("Depth (in)", 1)
	for i := range 40 {
		b.Row()
		b.Text(`A"&<>`+"\t'\u2033", 0)
		b.Skip()
		b.Number(float64(i)/8, 2)
	}
	b.Row() // left out
	b.Row()
	b.Number(1e-9, 0)
	b.Number(1e20, 0)
	b.Number(-0.1, 0)
	b.Sheet(Sheet{Name: "it's", Tall: 1, A4: true, Landscape: true, Repeat: 2, Head: 3})
	b.Row()
	for i := range 30 {
		b.Number(float64(i), 0)
	}
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
}

// The workbook library, which has its own reading of the format, finds every
// cell as it was given.
func TestReadsBackByAnotherReader(t *testing.T) {
	var out, again bytes.Buffer
	write(t, &out)
	write(t, &again)
	if !bytes.Equal(out.Bytes(), again.Bytes()) {
		t.Error("the same calls gave other bytes")
	}
	f, err := excelize.OpenReader(&out)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	raw := excelize.Options{RawCellValue: true}
	for _, c := range []struct{ sheet, at, want string }{
		{"First & <last>", "A1", "Tank"},
		{"First & <last>", "A9", "A\"&<>\t'\u2033"},
		{"First & <last>", "B9", ""},
		{"First & <last>", "C9", "0.875"},
		{"First & <last>", "A42", ""},
		{"First & <last>", "A43", "1e-09"},
		{"First & <last>", "B43", "1e+20"},
		{"First & <last>", "C43", "-0.1"},
		{"it's", "AD1", "29"},
	} {
		got, err := f.GetCellValue(c.sheet, c.at, raw)
		if err != nil || got != c.want {
			t.Errorf("%s!%s holds %q (%v), want %q", c.sheet, c.at, got, err, c.want)
		}
	}
	if h, err := f.GetRowHeight("First & <last>", 1); err != nil || h != 31.5 {
		t.Errorf("the first row is %v points high, %v", h, err)
	}
	names := f.GetDefinedName()
	if len(names) != 2 || names[1].RefersTo != "'it''s'!$2:$3" {
		t.Errorf("the rows to be repeated are %v", names)
	}
	if o, err := f.GetPageLayout("it's"); err != nil || *o.Size != 9 || *o.Orientation != "landscape" || *o.FitToHeight != 1 {
		t.Errorf("page %+v, %v", o, err)
	}
	id, err := f.GetCellStyle("First & <last>", "C9")
	if err != nil {
		t.Fatal(err)
	}
	if s, err := f.GetStyle(id); err != nil || s.CustomNumFmt == nil || *s.CustomNumFmt != "# ?/8" {
		t.Errorf("0.875 has the style %+v, %v", s, err)
	}
}

// Texts beyond those that are kept once stand in their cells.
func TestManyTexts(t *testing.T) {
	var out bytes.Buffer
	b := New(&out, nil)
	b.Sheet(Sheet{Name: "S"})
	for i := range sharedTexts + 10 {
		b.Row()
		b.Text(fmt.Sprintf("id %d ", i), 0)
	}
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(&out)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for _, i := range []int{0, sharedTexts - 1, sharedTexts, sharedTexts + 9} {
		if got, err := f.GetCellValue("S", fmt.Sprintf("A%d", i+1)); err != nil || got != fmt.Sprintf("id %d ", i) {
			t.Errorf("row %d holds %q, %v", i+1, got, err)
		}
	}
}

func TestWhatCannotBeWrittenIsRefused(t *testing.T) {
	for _, c := range []struct {
		name string
		do   func(b *Book)
		want string
	}{
		{"no sheet", func(*Book) {}, "without a sheet"},
		{"no number", func(b *Book) { b.Sheet(Sheet{Name: "S"}); b.Row(); b.Number(math.NaN(), 0) }, "is none"},
		{"infinite", func(b *Book) { b.Sheet(Sheet{Name: "S"}); b.Row(); b.Number(math.Inf(1), 0) }, "is none"},
		{"slash in a name", func(b *Book) { b.Sheet(Sheet{Name: "OQ-1/A"}) }, "no name for a sheet"},
		{"long name", func(b *Book) { b.Sheet(Sheet{Name: strings.Repeat("x", 32)}) }, "no name for a sheet"},
		{"twice", func(b *Book) { b.Sheet(Sheet{Name: "S"}); b.Sheet(Sheet{Name: "s"}) }, "two sheets"},
		{"cell before a row", func(b *Book) { b.Sheet(Sheet{Name: "S"}); b.Text("x", 0) }, "cannot be"},
		{"long text", func(b *Book) { b.Sheet(Sheet{Name: "S"}); b.Row(); b.Text(strings.Repeat("x", maxText+1), 0) }, "a cell holds"},
	} {
		b := New(io.Discard, nil)
		c.do(b)
		if err := b.Close(); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
}

// A write that fails is told.
func TestFailedWriteIsTold(t *testing.T) {
	b := New(failing{}, nil)
	b.Sheet(Sheet{Name: "S"})
	for range 20_000 {
		b.Row()
		b.Number(math.Pi, 0)
	}
	if err := b.Close(); err == nil {
		t.Error("a full disk was not told")
	}
}

type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, io.ErrShortWrite }

// A cell costs no allocation, so that memory does not grow with the rows.
func BenchmarkChartRows(b *testing.B) {
	b.ReportAllocs()
	book := New(io.Discard, nil)
	rows := 0
	book.Sheet(Sheet{Name: "S"})
	for b.Loop() {
		if rows++; rows > MaxRows {
			book = New(io.Discard, nil)
			book.Sheet(Sheet{Name: "S"})
			rows = 1
		}
		book.Row()
		book.Text("MR-1", 0)
		book.Number(float64(rows%97), 0)
		book.Number(float64(rows*37%10027), 0)
	}
}
