package read

import (
	"errors"
	"fmt"
	"io"
	"strconv"

	"dropcut/convert/grid"
	"dropcut/convert/xlsx/internal/lex"
	"dropcut/convert/xlsx/internal/opc"
	"dropcut/convert/xlsx/internal/parts"
	"dropcut/plan/cell"
)

// Scanner turns a worksheet's XML (ECMA-376 Part 1, 18.3) into rows. It copies
// a row's values into one piece of memory that the next row uses again, and
// allocates nothing per cell.
type Scanner struct {
	X     *lex.Lexer
	Sheet *Sheet
	row   grid.Row
	text  []byte // the row's number in digits
	arena []byte
	value []byte // a value that did not lie in one piece
}

// sheetHead is what stands before a sheet's cells.
type sheetHead struct {
	dimension []byte // as written, nil where it is not there
	cols      []Col
}

// Col is a range of columns with a look of their own.
type Col struct {
	From, To int
	Width    float64 // in characters, 0 where none is given
	Style    int32
	Hidden   bool
}

// SheetTail is what stands behind a sheet's cells, as far as reading needs it.
type SheetTail struct {
	Merges     []grid.Range
	protected  bool
	autoFilter string
}

// What a walk over a sheet is after.
type sheetWalk struct {
	rows func(*grid.Row) error // nil skips the cells
	head *sheetHead
	tail *SheetTail // nil ends the walk where the cells begin
}

// errBreak ends a walk on the caller's wish.
var errBreak = errors.New("enough")

// walk reads the sheet in the lexer's hand from its root.
func (s *Scanner) walk(w sheetWalk) error {
	x := s.X
	if err := x.Root("worksheet"); err != nil {
		return err
	}
	cells := false
	for {
		tok, err := x.Next()
		if err == io.EOF {
			if !cells {
				return x.Fail(x.Pos, "the sheet has no place for cells (sheetData)")
			}
			return nil
		}
		if err != nil {
			return err
		}
		if tok != lex.TokStart {
			continue
		}
		switch {
		case x.Is("sheetData"):
			if cells {
				return x.Fail(x.From, "the sheet's cells stand twice (sheetData)")
			}
			cells = true
			switch {
			case w.rows != nil:
				err = s.data(w.rows)
			case w.tail == nil:
				return nil
			default:
				err = x.SkipFast()
			}
		case x.Is("dimension") && w.head != nil:
			w.head.dimension = append([]byte{}, x.Attr("ref")...)
		case x.Is("cols") && w.head != nil:
			err = s.cols(w.head)
		case x.Is("mergeCells") && w.tail != nil:
			err = s.Merges(w.tail)
		case x.Is("sheetProtection") && w.tail != nil:
			w.tail.protected = lex.Truth(x.Attr("sheet"))
			err = x.Skip()
		case x.Is("autoFilter") && w.tail != nil:
			w.tail.autoFilter = string(x.Attr("ref"))
			err = x.Skip()
		default:
			err = x.Skip()
		}
		if err != nil {
			return err
		}
	}
}

func (s *Scanner) cols(head *sheetHead) error {
	x := s.X
	for depth := x.Depth() - 1; x.Depth() > depth; {
		tok, err := x.Next()
		if err != nil {
			return err
		}
		if tok != lex.TokStart || !x.Is("col") {
			continue
		}
		var c Col
		var ok, ok2 bool
		c.From, ok = lex.Index(x.Attr("min"))
		c.To, ok2 = lex.Index(x.Attr("max"))
		if !ok || !ok2 || c.From < 1 || c.To < c.From {
			return x.Fail(x.From, "a range of columns from %q to %q is none", x.Attr("min"), x.Attr("max"))
		}
		c.To = min(c.To, parts.MaxCol) // some writers say 16385
		width := x.Attr("width")
		c.Width, _ = strconv.ParseFloat(string(width), 64)
		style, _ := lex.Index(x.Attr("style"))
		c.Style = int32(style)
		c.Hidden = lex.Truth(x.Attr("hidden")) || (width != nil && c.Width == 0)
		head.cols = append(head.cols, c)
	}
	return nil
}

// Merges reads the merged areas of the element whose start tag is in hand.
func (s *Scanner) Merges(tail *SheetTail) error {
	x := s.X
	for depth := x.Depth() - 1; x.Depth() > depth; {
		tok, err := x.Next()
		if err != nil {
			return err
		}
		if tok != lex.TokStart || !x.Is("mergeCell") {
			continue
		}
		r, ok := parts.ParseRange(x.Attr("ref"))
		if !ok {
			return x.Fail(x.From, "a merged area stands at %q, a range was expected", lex.Snippet(x.Attr("ref")))
		}
		tail.Merges = append(tail.Merges, r)
	}
	return nil
}

// data reads the rows of the sheetData whose start tag is in hand.
func (s *Scanner) data(yield func(*grid.Row) error) error {
	x := s.X
	for depth := x.Depth() - 1; x.Depth() > depth; {
		tok, err := x.Next()
		if err != nil {
			return err
		}
		switch tok {
		case lex.TokStart:
			if !x.Is("row") {
				return x.Fail(x.From, "<%s> stands among the rows", lex.Snippet(x.FullName()))
			}
			if err := s.readRow(); err != nil {
				return err
			}
			if len(s.row.Cells) > 0 {
				if err := yield(&s.row); err != nil {
					return err
				}
			}
		case lex.TokText:
			if err := s.noText("rows"); err != nil {
				return err
			}
		}
	}
	return nil
}

func (s *Scanner) noText(where string) error {
	if b := lex.TrimSpace(s.X.Text()); len(b) > 0 {
		return s.X.Fail(s.X.From, "the text %q stands between the %s", lex.Snippet(b), where)
	}
	return nil
}

// readRow reads the row whose start tag is in hand.
func (s *Scanner) readRow() error {
	x := s.X
	before := s.row.N
	s.row = grid.Row{N: before + 1, Cells: s.row.Cells[:0]}
	s.arena = s.arena[:0]
	for i := range x.Attrs {
		a := &x.Attrs[i]
		name, v := x.Buf[a.NameFrom:a.NameTo], x.Buf[a.From:a.To]
		switch string(name) {
		case "r":
			n, ok := lex.Index(v)
			if !ok || n == 0 {
				return x.Fail(x.From, "a row after row %d has the number %q", before, lex.Snippet(v))
			}
			s.row.N = n
		case "hidden":
			s.row.Hidden = s.row.Hidden || lex.Truth(v)
		case "ht":
			h, err := strconv.ParseFloat(string(v), 64)
			s.row.Hidden = s.row.Hidden || (err == nil && h == 0)
		}
	}
	if s.row.N <= before {
		return x.Fail(x.From, "row %d stands after row %d, rows in rising order were expected", s.row.N, before)
	}
	if s.row.N > parts.MaxRow {
		return x.Fail(x.From, "row %d lies beyond the last row that a sheet can have, %d", s.row.N, parts.MaxRow)
	}
	s.text = strconv.AppendInt(s.text[:0], int64(s.row.N), 10)
	col := 0
	plain := x.Colon < x.NameFrom && !x.Closed()
	for depth := x.Depth() - 1; x.Depth() > depth; {
		if plain {
			if raw, ok := x.ShortCell(); ok {
				var err error
				if col, err = s.readShort(raw, col); err != nil {
					return err
				}
				continue
			}
		}
		tok, err := x.Next()
		if err != nil {
			return err
		}
		switch tok {
		case lex.TokStart:
			switch {
			case x.Is("c"):
				if col, err = s.readCell(col); err != nil {
					return err
				}
			case x.Is("extLst"):
				if err := x.Skip(); err != nil {
					return err
				}
			default:
				return x.Fail(x.From, "<%s> stands among the cells of row %d", lex.Snippet(x.FullName()), s.row.N)
			}
		case lex.TokText:
			if err := s.noText("cells"); err != nil {
				return err
			}
		}
	}
	return nil
}

// The types of a cell as its t attribute says (ECMA-376 Part 1, 18.18.11).
type CellType uint8

const (
	TypeNumber CellType = iota
	TypeShared
	TypeFormulaText
	TypeInline
	TypeBool
	TypeError
	TypeDate
)

// ParseType reads the t attribute of a cell; ok is false for an unknown one.
func ParseType(b []byte) (CellType, bool) {
	switch string(b) {
	case "n", "":
		return TypeNumber, true
	case "s":
		return TypeShared, true
	case "str":
		return TypeFormulaText, true
	case "inlineStr":
		return TypeInline, true
	case "b":
		return TypeBool, true
	case "e":
		return TypeError, true
	case "d":
		return TypeDate, true
	}
	return 0, false
}

// readCell reads the cell whose start tag is in hand, which stands behind
// column last, and gives its column.
func (s *Scanner) readCell(last int) (int, error) {
	x := s.X
	c := grid.Cell{Col: last + 1}
	typ := TypeNumber
	for i := range x.Attrs {
		a := &x.Attrs[i]
		if a.NameTo-a.NameFrom != 1 {
			continue
		}
		var err error
		switch v := x.Buf[a.From:a.To]; x.Buf[a.NameFrom] {
		case 'r':
			c.Col, err = s.column(v, last)
		case 's':
			c.Style, err = s.style(v, c.Col)
		case 't':
			typ, err = s.cellType(v, c.Col)
		}
		if err != nil {
			return 0, err
		}
	}
	if c.Col > parts.MaxCol {
		return 0, s.beyond()
	}
	if x.Closed() {
		if _, err := x.Next(); err != nil {
			return 0, err
		}
		return c.Col, s.finish(c, typ, nil, false)
	}
	v, has, typ, err := s.content(&c, typ)
	if err != nil {
		return 0, err
	}
	return c.Col, s.finish(c, typ, v, has)
}

// readShort is readCell for a cell that shortCell has found.
func (s *Scanner) readShort(raw lex.RawCell, last int) (int, error) {
	var c grid.Cell
	var err error
	if c.Col, err = s.column(raw.Address, last); err != nil {
		return 0, err
	}
	if raw.Style != nil {
		if c.Style, err = s.style(raw.Style, c.Col); err != nil {
			return 0, err
		}
	}
	typ := TypeNumber
	if raw.Typ != nil {
		if typ, err = s.cellType(raw.Typ, c.Col); err != nil {
			return 0, err
		}
	}
	return c.Col, s.finish(c, typ, raw.Value, raw.Has)
}

// column reads a cell's address, which must be of the row in hand and behind
// column last, and gives its column.
func (s *Scanner) column(b []byte, last int) (int, error) {
	x := s.X
	col, i := 0, 0
	for i < len(b) && i < 4 {
		c := b[i] &^ 0x20
		if c < 'A' || c > 'Z' {
			break
		}
		col = col*26 + int(c-'A') + 1
		i++
	}
	if string(b[i:]) != string(s.text) {
		if n, ok := lex.Index(b[i:]); !ok || n != s.row.N {
			col = 0
		}
	}
	switch {
	case col == 0:
		return 0, x.Fail(x.From, "a cell of row %d says that it stands at %q", s.row.N, lex.Snippet(b))
	case col > parts.MaxCol:
		return 0, s.beyond()
	case col <= last:
		return 0, x.Fail(x.From, "cell %s stands after column %s, each cell once and in rising order was expected", lex.Snippet(b), cell.ColumnName(last))
	}
	return col, nil
}

func (s *Scanner) beyond() error {
	return s.X.Fail(s.X.From, "a cell of row %d lies beyond the last column that a sheet can have, XFD", s.row.N)
}

func (s *Scanner) style(b []byte, col int) (int32, error) {
	n, ok := lex.Index(b)
	if !ok {
		return 0, s.cellFault(col, "its style is %q, a number was expected", lex.Snippet(b))
	}
	if all := len(s.Sheet.Book.styles.Formats); n >= all && all > 0 {
		return 0, s.cellFault(col, "it has the style %d but the book has %d of them (from 0)", n, all)
	}
	return int32(n), nil
}

func (s *Scanner) cellType(b []byte, col int) (CellType, error) {
	typ, ok := ParseType(b)
	if !ok {
		return 0, s.cellFault(col, "it holds a value of the kind %q, which the standard does not know", lex.Snippet(b))
	}
	return typ, nil
}

// finish gives the cell its format and puts it into the row unless it is blank.
func (s *Scanner) finish(c grid.Cell, typ CellType, v []byte, has bool) error {
	if !has && !c.Formula {
		return nil
	}
	if formats := s.Sheet.Book.styles.Formats; int(c.Style) < len(formats) {
		c.Format = formats[c.Style]
	}
	return s.put(c, typ, v, has)
}

// put adds the cell to the row unless it is blank.
func (s *Scanner) put(c grid.Cell, typ CellType, v []byte, has bool) error {
	switch typ {
	case TypeNumber, TypeShared, TypeBool, TypeError, TypeDate:
		v = lex.TrimSpace(v)
		has = has && len(v) > 0
	}
	switch {
	case !has && !c.Formula:
		return nil
	case !has: // a formula without a stored result
	case typ == TypeNumber:
		// What is no number in a number's place ("NaN", "12,5") goes on as the
		// text that it is, for the reader of the column to refuse by its cell.
		c.Kind = grid.Text
		if num, ok := ParseNumber(v); ok {
			c.Kind, c.Num = grid.Number, num
		}
		c.Raw = s.keep(v)
	case typ == TypeShared:
		text, err := s.Sheet.Book.SharedString(v)
		if err != nil {
			return s.cellFault(c.Col, "%w", err)
		}
		c.Kind, c.Raw = grid.Text, text
	case typ == TypeBool:
		c.Kind = grid.Bool
		switch string(v) {
		case "1", "true":
			c.Raw = s.keep([]byte("1"))
		case "0", "false":
			c.Raw = s.keep([]byte("0"))
		default:
			return s.cellFault(c.Col, "it is to be true or false but holds %q", lex.Snippet(v))
		}
	case typ == TypeError:
		c.Kind, c.Raw = grid.Error, s.keep(v)
	case typ == TypeDate:
		c.Kind, c.Raw = grid.ISODate, s.keep(v)
	default:
		c.Kind, c.Raw = grid.Text, s.keep(v)
		if typ == TypeFormulaText {
			c.Raw = lex.DecodeEscapes(c.Raw)
		}
	}
	if c.Kind == grid.Text && len(c.Raw) == 0 && !c.Formula {
		return nil
	}
	s.row.Cells = append(s.row.Cells, c)
	return nil
}

// keep copies a value into the row's memory. Where that has to grow, what was
// given out before lives on in the old piece.
func (s *Scanner) keep(v []byte) []byte {
	from := len(s.arena)
	s.arena = append(s.arena, v...)
	return s.arena[from:len(s.arena):len(s.arena)]
}

// content reads what stands in the cell whose start tag is in hand, up to its
// end. It says whether there is a value.
func (s *Scanner) content(c *grid.Cell, typ CellType) (v []byte, has bool, _ CellType, err error) {
	x := s.X
	s.value = s.value[:0]
	for depth := x.Depth() - 1; x.Depth() > depth; {
		tok, err := x.Next()
		if err != nil {
			return nil, false, typ, err
		}
		switch tok {
		case lex.TokStart:
			switch {
			case x.Is("f"):
				c.Formula = true
				err = x.Skip()
			case (x.Is("v") || x.Is("is")) && has:
				err = s.cellFault(c.Col, "it holds two values")
			case x.Is("v"):
				has = true
				s.value, err = lex.TextOf(x, s.value)
			case x.Is("is"):
				// Some writers forget to call the cell inlineStr.
				has, typ = true, TypeInline
				s.value, err = lex.RichText(x, s.value)
			case x.Is("extLst"):
				err = x.Skip()
			default:
				err = s.cellFault(c.Col, "<%s> stands in it", lex.Snippet(x.FullName()))
			}
			if err != nil {
				return nil, false, typ, err
			}
		case lex.TokText:
			if b := lex.TrimSpace(x.Text()); len(b) > 0 {
				return nil, false, typ, s.cellFault(c.Col, "the text %q stands in it without a mark of what it is", lex.Snippet(b))
			}
		}
	}
	return s.value, has, typ, nil
}

// cellFault is trouble with one cell, named by its place.
func (s *Scanner) cellFault(col int, format string, args ...any) error {
	at := s.Sheet.At()
	at.Col, at.Row = col, s.row.N
	err := fmt.Errorf("%s: "+format+"; "+opc.SaveAnew, append([]any{at}, args...)...)
	if s.X.Err == nil {
		s.X.Err = err
	}
	return err
}

// Powers of ten that a float64 holds exactly.
var exactTen = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// ParseNumber reads a decimal number as XML writes it, correctly rounded. It
// refuses what is none: words, hexadecimals, separators, what overflows.
func ParseNumber(b []byte) (float64, bool) {
	i, neg := 0, false
	if i < len(b) && (b[i] == '-' || b[i] == '+') {
		neg = b[i] == '-'
		i++
	}
	var mant uint64
	digits, point, exp := 0, -1, 0
	for ; i < len(b); i++ {
		c := b[i]
		if c == '.' && point < 0 {
			point = digits
			continue
		}
		if c < '0' || c > '9' {
			break
		}
		if digits < 19 {
			mant = mant*10 + uint64(c-'0')
		}
		digits++
	}
	if digits == 0 {
		return 0, false
	}
	if point >= 0 {
		exp = point - digits
	}
	if i < len(b) {
		if b[i]|0x20 != 'e' {
			return 0, false
		}
		i++
		down := false
		if i < len(b) && (b[i] == '-' || b[i] == '+') {
			down = b[i] == '-'
			i++
		}
		n := 0
		from := i
		for ; i < len(b) && b[i] >= '0' && b[i] <= '9'; i++ {
			n = min(n*10+int(b[i]-'0'), 1<<20)
		}
		if i == from || i < len(b) {
			return 0, false
		}
		if down {
			n = -n
		}
		exp += n
	}
	// With the digits below 2^53 and the power of ten exact, one division or
	// multiplication rounds once and so correctly (Clinger 1990).
	if digits <= 19 && mant < 1<<53 && exp >= -22 && exp <= 22 {
		f := float64(mant)
		if exp < 0 {
			f /= exactTen[-exp]
		} else {
			f *= exactTen[exp]
		}
		if neg {
			f = -f
		}
		return f, true
	}
	f, err := strconv.ParseFloat(string(b), 64)
	return f, err == nil
}
