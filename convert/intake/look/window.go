// Package look holds the rows of a sheet that are being looked at, and weighs what
// their cells say before anybody knows what the columns mean: where a table begins,
// which column rises, which text is a date.
package look

import (
	"bytes"
	"math"
	"unicode/utf8"

	"dropcut/convert/grid"
	"dropcut/convert/intake/headword"
	"dropcut/plan/cell"
	"dropcut/plan/unit"
)

// class is what a cell says, before anybody knows what its column means.
type class uint8

const (
	blankCell class = iota
	NumberCell
	// MeasureCell is text that reads as a length or a volume but is no plain
	// number: 98 3/8, 8' 2", 1,492 gal.
	MeasureCell
	DateCell
	PercentCell
	WordCell
	ErrorCell
	// EmptyFormula is a formula whose result the file does not hold.
	EmptyFormula
)

// Readable reports whether a cell may stand in a column of numbers, even if it
// is spoiled there.
func (c class) Readable() bool {
	switch c {
	case NumberCell, MeasureCell, DateCell, ErrorCell, EmptyFormula:
		return true
	}
	return false
}

// Box is a cell of the window, kept small. Its place in the window is x; row
// and col are its address on the sheet.
type Box struct {
	Num      float64 // of a number; a date's serial number; NaN
	off, n   uint32  // raw text in the arena
	X        int32
	Row, Col int32
	Class    class
	Form     unit.Form // of a text that is a number
	Text     bool      // stored as text
	quoted   bool
	percent  bool // has a percent format
}

// line is a row of the window.
type line struct {
	N           int
	Hidden      bool
	first, last int // of its boxes
}

// Window holds the rows of a sheet that are being looked at.
type Window struct {
	Lines []line
	Boxes []Box
	arena []byte
	// Comma says that most numbers in the window that show their decimal sign
	// use a comma. It serves to see the layout; each chart settles its own.
	Comma bool
}

// Vote settles comma.
func (w *Window) Vote() {
	var v unit.DecimalVote
	for i := range w.Boxes {
		switch w.Boxes[i].Form {
		case unit.FormPoint:
			v.Point++
		case unit.FormComma:
			v.Comma++
		}
	}
	w.Comma = v.Comma > v.Point
}

func (w *Window) Reset() {
	w.Lines, w.Boxes, w.arena = w.Lines[:0], w.Boxes[:0], w.arena[:0]
}

func (w *Window) Row(i int) []Box { return w.Boxes[w.Lines[i].first:w.Lines[i].last] }

func (w *Window) Raw(b *Box) []byte { return w.arena[b.off : b.off+b.n] }

func (w *Window) Text(b *Box) string { return string(w.Raw(b)) }

// At gives the box at a place, nil for none.
func At(row []Box, x int) *Box {
	if i := x - 1; i >= 0 && i < len(row) && int(row[i].X) == x {
		return &row[i]
	}
	for i := range row {
		if int(row[i].X) == x {
			return &row[i]
		}
	}
	return nil
}

// Add copies a row into the window; it reports whether the row holds anything.
func (w *Window) Add(r *grid.Row) bool {
	first := len(w.Boxes)
	for i := range r.Cells {
		c := &r.Cells[i]
		b, ok := boxOf(c, r.N)
		if !ok {
			continue
		}
		b.off, b.n = uint32(len(w.arena)), uint32(len(c.Raw))
		w.arena = append(w.arena, c.Raw...)
		w.Boxes = append(w.Boxes, b)
	}
	if len(w.Boxes) == first {
		return false
	}
	w.Lines = append(w.Lines, line{r.N, r.Hidden, first, len(w.Boxes)})
	return true
}

// Drop forgets the first n rows. What follows them stays where it is, since on a
// sheet of many small tables most of the window would be moved for each of them;
// only the text is, once half of it is nobody's.
func (w *Window) Drop(n int) {
	if n >= len(w.Lines) {
		*w = Window{Comma: w.Comma}
		return
	}
	first := w.Lines[n].first
	w.Lines, w.Boxes = w.Lines[n:], w.Boxes[first:]
	for i := range w.Lines {
		w.Lines[i].first -= first
		w.Lines[i].last -= first
	}
	if int(w.Boxes[0].off) > len(w.arena)/2 {
		text := w.Boxes[0].off
		for i := range w.Boxes { // the text of a merged area is kept apart
			text = min(text, w.Boxes[i].off)
		}
		w.arena = bytes.Clone(w.arena[text:])
		for i := range w.Boxes {
			w.Boxes[i].off -= text
		}
	}
}

// Turned gives the rows from..to with rows and columns exchanged. The boxes
// keep their addresses.
func (w *Window) Turned(from, to int) *Window {
	last := 0
	for i := from; i < to; i++ {
		for _, b := range w.Row(i) {
			last = max(last, int(b.X))
		}
	}
	t := &Window{arena: w.arena, Comma: w.Comma}
	for x := 1; x <= last; x++ {
		first := len(t.Boxes)
		for i := from; i < to; i++ {
			if b := At(w.Row(i), x); b != nil {
				c := *b
				c.X = int32(i - from + 1)
				t.Boxes = append(t.Boxes, c)
			}
		}
		if len(t.Boxes) > first {
			t.Lines = append(t.Lines, line{x, false, first, len(t.Boxes)})
		}
	}
	return t
}

// boxOf reads one cell; ok is false for a blank one.
func boxOf(c *grid.Cell, row int) (b Box, ok bool) {
	b = Box{X: int32(c.Col), Row: int32(row), Col: int32(c.Col), Num: math.NaN(), quoted: c.Quoted}
	switch c.Kind {
	case grid.Blank:
		if !c.Formula {
			return b, false
		}
		b.Class = EmptyFormula
	case grid.Number:
		b.Class, b.Num = NumberCell, c.Num
		b.percent = c.Format == grid.PercentFormat
		if c.Format == grid.DateFormat {
			b.Class = DateCell
		}
	case grid.ISODate:
		b.Class = DateCell
	case grid.Error:
		b.Class = ErrorCell
	case grid.Bool:
		b.Class = WordCell
	case grid.Text:
		b.Text = true
		if c.Formula && len(c.Raw) == 0 {
			b.Class = WordCell // a formula that gives an empty text
			return b, false
		}
		b.Class, b.Num, b.Form = TextClass(c.Raw)
		if b.Class == blankCell {
			return b, false
		}
	}
	return b, true
}

// TextClass says what a text is. A number is read by the decimal sign that its
// own form proves, by the point where it proves none.
func TextClass(raw []byte) (c class, num float64, form unit.Form) {
	num = math.NaN()
	if len(raw) == 0 {
		return blankCell, num, 0
	}
	// An apostrophe makes a text of a number in a spreadsheet, and some programs
	// export it.
	if raw[0] == '\'' && len(raw) > 1 && (raw[1] >= '0' && raw[1] <= '9' || raw[1] == '-' || raw[1] == '.') {
		raw = raw[1:]
	}
	// Ids and words are the commonest texts of a long sheet; nothing is made of
	// them here. A date may start with a letter: "Jan-08".
	if c := raw[0] | 0x20; c >= 'a' && c <= 'z' && !monthAhead(raw) {
		return WordCell, num, 0
	}
	form = unit.FormOf(raw)
	sign := unit.DecimalPoint
	if form == unit.FormComma {
		sign = unit.DecimalComma
	}
	if f, ok := unit.Number(raw, sign); ok {
		return NumberCell, f, form
	}
	t := bytes.TrimFunc(raw, headword.IsBlank)
	switch {
	case len(t) == 0:
		return blankCell, num, 0
	case len(t) > 40:
		return WordCell, num, 0
	case t[0] == '#':
		switch string(t) {
		case "#N/A", "#VALUE!", "#REF!", "#DIV/0!", "#NUM!", "#NAME?", "#NULL!", "#SPILL!", "#CALC!":
			return ErrorCell, num, 0
		}
		return WordCell, num, 0
	}
	figure := false
	for i := 0; i < len(t); {
		r, n := utf8.DecodeRune(t[i:])
		if r >= '0' && r <= '9' || r >= 0xBC && r <= 0xBE || r >= 0x2150 && r <= 0x215F || r == 0x2189 {
			figure = true
			break
		}
		i += n
	}
	if !figure {
		return WordCell, num, 0
	}
	if t[len(t)-1] == '%' {
		if f, ok := unit.Number(t[:len(t)-1], sign); ok {
			return PercentCell, f, form
		}
		return WordCell, num, form
	}
	if isDate(string(t)) {
		return DateCell, num, 0
	}
	if r, _ := utf8.DecodeRune(t); r >= 'A' && r <= 'Z' || r >= 'a' && r <= 'z' {
		return WordCell, num, 0
	}
	if _, _, err := unit.ScanLength(t, unit.Inches, sign); err == nil {
		return MeasureCell, num, form
	}
	if _, _, err := unit.ScanVolume(t, unit.USGallons, sign); err == nil {
		return MeasureCell, num, form
	}
	return WordCell, num, form
}

func (b *Box) Ref(at cell.Ref) cell.Ref {
	at.Col, at.Row = int(b.Col), int(b.Row)
	return at
}
