package intake

import (
	"bytes"
	"math"
	"strings"
	"unicode/utf8"

	"dropcut/plan/cell"
	"dropcut/plan/unit"

	"dropcut/convert/grid"
)

// class is what a cell says, before anybody knows what its column means.
type class uint8

const (
	blankCell class = iota
	numberCell
	// measureCell is text that reads as a length or a volume but is no plain
	// number: 98 3/8, 8' 2", 1,492 gal.
	measureCell
	dateCell
	percentCell
	wordCell
	errorCell
	// emptyFormula is a formula whose result the file does not hold.
	emptyFormula
)

// readable reports whether a cell may stand in a column of numbers, even if it
// is spoiled there.
func (c class) readable() bool {
	switch c {
	case numberCell, measureCell, dateCell, errorCell, emptyFormula:
		return true
	}
	return false
}

// box is a cell of the window, kept small. Its place in the window is x; row
// and col are its address on the sheet.
type box struct {
	num      float64 // of a number; a date's serial number; NaN
	off, n   uint32  // raw text in the arena
	x        int32
	row, col int32
	class    class
	form     unit.Form // of a text that is a number
	text     bool      // stored as text
	quoted   bool
	percent  bool // has a percent format
}

// line is a row of the window.
type line struct {
	n           int
	hidden      bool
	first, last int // of its boxes
}

// window holds the rows of a sheet that are being looked at.
type window struct {
	lines []line
	boxes []box
	arena []byte
	// comma says that most numbers in the window that show their decimal sign
	// use a comma. It serves to see the layout; each chart settles its own.
	comma bool
}

// vote settles comma.
func (w *window) vote() {
	var v unit.DecimalVote
	for i := range w.boxes {
		switch w.boxes[i].form {
		case unit.FormPoint:
			v.Point++
		case unit.FormComma:
			v.Comma++
		}
	}
	w.comma = v.Comma > v.Point
}

func (w *window) reset() {
	w.lines, w.boxes, w.arena = w.lines[:0], w.boxes[:0], w.arena[:0]
}

func (w *window) row(i int) []box { return w.boxes[w.lines[i].first:w.lines[i].last] }

func (w *window) raw(b *box) []byte { return w.arena[b.off : b.off+b.n] }

func (w *window) text(b *box) string { return string(w.raw(b)) }

// at gives the box at a place, nil for none.
func at(row []box, x int) *box {
	if i := x - 1; i >= 0 && i < len(row) && int(row[i].x) == x {
		return &row[i]
	}
	for i := range row {
		if int(row[i].x) == x {
			return &row[i]
		}
	}
	return nil
}

// add copies a row into the window; it reports whether the row holds anything.
func (w *window) add(r *grid.Row) bool {
	first := len(w.boxes)
	for i := range r.Cells {
		c := &r.Cells[i]
		b, ok := boxOf(c, r.N)
		if !ok {
			continue
		}
		b.off, b.n = uint32(len(w.arena)), uint32(len(c.Raw))
		w.arena = append(w.arena, c.Raw...)
		w.boxes = append(w.boxes, b)
	}
	if len(w.boxes) == first {
		return false
	}
	w.lines = append(w.lines, line{r.N, r.Hidden, first, len(w.boxes)})
	return true
}

// drop forgets the first n rows.
func (w *window) drop(n int) {
	rest := window{comma: w.comma}
	for i := n; i < len(w.lines); i++ {
		first := len(rest.boxes)
		for _, b := range w.row(i) {
			raw := w.raw(&b)
			b.off = uint32(len(rest.arena))
			rest.arena = append(rest.arena, raw...)
			rest.boxes = append(rest.boxes, b)
		}
		rest.lines = append(rest.lines, line{w.lines[i].n, w.lines[i].hidden, first, len(rest.boxes)})
	}
	*w = rest
}

// turned gives the rows from..to with rows and columns exchanged. The boxes
// keep their addresses.
func (w *window) turned(from, to int) *window {
	last := 0
	for i := from; i < to; i++ {
		for _, b := range w.row(i) {
			last = max(last, int(b.x))
		}
	}
	t := &window{arena: w.arena, comma: w.comma}
	for x := 1; x <= last; x++ {
		first := len(t.boxes)
		for i := from; i < to; i++ {
			if b := at(w.row(i), x); b != nil {
				c := *b
				c.x = int32(i - from + 1)
				t.boxes = append(t.boxes, c)
			}
		}
		if len(t.boxes) > first {
			t.lines = append(t.lines, line{x, false, first, len(t.boxes)})
		}
	}
	return t
}

// boxOf reads one cell; ok is false for a blank one.
func boxOf(c *grid.Cell, row int) (b box, ok bool) {
	b = box{x: int32(c.Col), row: int32(row), col: int32(c.Col), num: math.NaN(), quoted: c.Quoted}
	switch c.Kind {
	case grid.Blank:
		if !c.Formula {
			return b, false
		}
		b.class = emptyFormula
	case grid.Number:
		b.class, b.num = numberCell, c.Num
		b.percent = c.Format == grid.PercentFormat
		if c.Format == grid.DateFormat {
			b.class = dateCell
		}
	case grid.ISODate:
		b.class = dateCell
	case grid.Error:
		b.class = errorCell
	case grid.Bool:
		b.class = wordCell
	case grid.Text:
		b.text = true
		if c.Formula && len(c.Raw) == 0 {
			b.class = wordCell // a formula that gives an empty text
			return b, false
		}
		b.class, b.num, b.form = textClass(c.Raw)
		if b.class == blankCell {
			return b, false
		}
	}
	return b, true
}

// textClass says what a text is. A number is read by the decimal sign that its
// own form proves, by the point where it proves none.
func textClass(raw []byte) (c class, num float64, form unit.Form) {
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
		return wordCell, num, 0
	}
	form = unit.FormOf(raw)
	sign := unit.DecimalPoint
	if form == unit.FormComma {
		sign = unit.DecimalComma
	}
	if f, ok := unit.Number(raw, sign); ok {
		return numberCell, f, form
	}
	t := bytes.TrimFunc(raw, blankRune)
	switch {
	case len(t) == 0:
		return blankCell, num, 0
	case len(t) > 40:
		return wordCell, num, 0
	case t[0] == '#':
		switch string(t) {
		case "#N/A", "#VALUE!", "#REF!", "#DIV/0!", "#NUM!", "#NAME?", "#NULL!", "#SPILL!", "#CALC!":
			return errorCell, num, 0
		}
		return wordCell, num, 0
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
		return wordCell, num, 0
	}
	if t[len(t)-1] == '%' {
		if f, ok := unit.Number(t[:len(t)-1], sign); ok {
			return percentCell, f, form
		}
		return wordCell, num, form
	}
	if isDate(string(t)) {
		return dateCell, num, 0
	}
	if r, _ := utf8.DecodeRune(t); r >= 'A' && r <= 'Z' || r >= 'a' && r <= 'z' {
		return wordCell, num, 0
	}
	if _, _, err := unit.ScanLength(t, unit.Inches, sign); err == nil {
		return measureCell, num, form
	}
	if _, _, err := unit.ScanVolume(t, unit.USGallons, sign); err == nil {
		return measureCell, num, form
	}
	return wordCell, num, form
}

func blankRune(r rune) bool {
	switch r {
	case ' ', '\t', '\n', '\r', 0xA0, 0x2007, 0x2009, 0x202F, 0x200B, 0x2060, 0xFEFF, 0x3000:
		return true
	}
	return false
}

// tidy gives a text for names and messages: blanks of any width as one blank.
func tidy(s string) string { return strings.Join(strings.FieldsFunc(s, blankRune), " ") }

func (b *box) ref(at cell.Ref) cell.Ref {
	at.Col, at.Row = int(b.col), int(b.row)
	return at
}
