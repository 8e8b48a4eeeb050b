package xlsx

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strconv"

	"dropcut/convert/grid"
	"dropcut/plan/cell"
)

// The size of a sheet.
const (
	maxCol = 16384
	maxRow = 1048576
)

// scanner turns a worksheet's XML (ECMA-376 Part 1, 18.3) into rows. It copies
// a row's values into one piece of memory that the next row uses again, and
// allocates nothing per cell.
type scanner struct {
	x     *lexer
	sheet *Sheet
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

// sheetTail is what stands behind a sheet's cells, as far as reading needs it.
type sheetTail struct {
	merges     []grid.Range
	protected  bool
	autoFilter string
}

// What a walk over a sheet is after.
type sheetWalk struct {
	rows func(*grid.Row) error // nil skips the cells
	head *sheetHead
	tail *sheetTail // nil ends the walk where the cells begin
}

// errBreak ends a walk on the caller's wish.
var errBreak = errors.New("enough")

// walk reads the sheet in the lexer's hand from its root.
func (s *scanner) walk(w sheetWalk) error {
	x := s.x
	if err := x.root("worksheet"); err != nil {
		return err
	}
	cells := false
	for {
		tok, err := x.next()
		if err == io.EOF {
			if !cells {
				return x.fail(x.pos, "the sheet has no place for cells (sheetData)")
			}
			return nil
		}
		if err != nil {
			return err
		}
		if tok != tokStart {
			continue
		}
		switch {
		case x.is("sheetData"):
			if cells {
				return x.fail(x.from, "the sheet's cells stand twice (sheetData)")
			}
			cells = true
			switch {
			case w.rows != nil:
				err = s.data(w.rows)
			case w.tail == nil:
				return nil
			default:
				err = x.skipFast()
			}
		case x.is("dimension") && w.head != nil:
			w.head.dimension = append([]byte{}, x.attr("ref")...)
		case x.is("cols") && w.head != nil:
			err = s.cols(w.head)
		case x.is("mergeCells") && w.tail != nil:
			err = s.merges(w.tail)
		case x.is("sheetProtection") && w.tail != nil:
			w.tail.protected = truth(x.attr("sheet"))
			err = x.skip()
		case x.is("autoFilter") && w.tail != nil:
			w.tail.autoFilter = string(x.attr("ref"))
			err = x.skip()
		default:
			err = x.skip()
		}
		if err != nil {
			return err
		}
	}
}

func (s *scanner) cols(head *sheetHead) error {
	x := s.x
	for depth := x.depth() - 1; x.depth() > depth; {
		tok, err := x.next()
		if err != nil {
			return err
		}
		if tok != tokStart || !x.is("col") {
			continue
		}
		var c Col
		var ok, ok2 bool
		c.From, ok = index(x.attr("min"))
		c.To, ok2 = index(x.attr("max"))
		if !ok || !ok2 || c.From < 1 || c.To < c.From {
			return x.fail(x.from, "a range of columns from %q to %q is none", x.attr("min"), x.attr("max"))
		}
		c.To = min(c.To, maxCol) // some writers say 16385
		width := x.attr("width")
		c.Width, _ = strconv.ParseFloat(string(width), 64)
		style, _ := index(x.attr("style"))
		c.Style = int32(style)
		c.Hidden = truth(x.attr("hidden")) || (width != nil && c.Width == 0)
		head.cols = append(head.cols, c)
	}
	return nil
}

func (s *scanner) merges(tail *sheetTail) error {
	x := s.x
	for depth := x.depth() - 1; x.depth() > depth; {
		tok, err := x.next()
		if err != nil {
			return err
		}
		if tok != tokStart || !x.is("mergeCell") {
			continue
		}
		r, ok := parseRange(x.attr("ref"))
		if !ok {
			return x.fail(x.from, "a merged area stands at %q, a range was expected", snippet(x.attr("ref")))
		}
		tail.merges = append(tail.merges, r)
	}
	return nil
}

// data reads the rows of the sheetData whose start tag is in hand.
func (s *scanner) data(yield func(*grid.Row) error) error {
	x := s.x
	for depth := x.depth() - 1; x.depth() > depth; {
		tok, err := x.next()
		if err != nil {
			return err
		}
		switch tok {
		case tokStart:
			if !x.is("row") {
				return x.fail(x.from, "<%s> stands among the rows", snippet(x.fullName()))
			}
			if err := s.readRow(); err != nil {
				return err
			}
			if len(s.row.Cells) > 0 {
				if err := yield(&s.row); err != nil {
					return err
				}
			}
		case tokText:
			if err := s.noText("rows"); err != nil {
				return err
			}
		}
	}
	return nil
}

func (s *scanner) noText(where string) error {
	if b := trimSpace(s.x.text()); len(b) > 0 {
		return s.x.fail(s.x.from, "the text %q stands between the %s", snippet(b), where)
	}
	return nil
}

// readRow reads the row whose start tag is in hand.
func (s *scanner) readRow() error {
	x := s.x
	before := s.row.N
	s.row = grid.Row{N: before + 1, Cells: s.row.Cells[:0]}
	s.arena = s.arena[:0]
	for i := range x.attrs {
		a := &x.attrs[i]
		name, v := x.buf[a.nameFrom:a.nameTo], x.buf[a.from:a.to]
		switch string(name) {
		case "r":
			n, ok := index(v)
			if !ok || n == 0 {
				return x.fail(x.from, "a row after row %d has the number %q", before, snippet(v))
			}
			s.row.N = n
		case "hidden":
			s.row.Hidden = s.row.Hidden || truth(v)
		case "ht":
			h, err := strconv.ParseFloat(string(v), 64)
			s.row.Hidden = s.row.Hidden || (err == nil && h == 0)
		}
	}
	if s.row.N <= before {
		return x.fail(x.from, "row %d stands after row %d, rows in rising order were expected", s.row.N, before)
	}
	if s.row.N > maxRow {
		return x.fail(x.from, "row %d lies beyond the last row that a sheet can have, %d", s.row.N, maxRow)
	}
	s.text = strconv.AppendInt(s.text[:0], int64(s.row.N), 10)
	col := 0
	plain := x.colon < x.nameFrom && !x.closed()
	for depth := x.depth() - 1; x.depth() > depth; {
		if plain {
			if raw, ok := x.shortCell(); ok {
				var err error
				if col, err = s.readShort(raw, col); err != nil {
					return err
				}
				continue
			}
		}
		tok, err := x.next()
		if err != nil {
			return err
		}
		switch tok {
		case tokStart:
			switch {
			case x.is("c"):
				if col, err = s.readCell(col); err != nil {
					return err
				}
			case x.is("extLst"):
				if err := x.skip(); err != nil {
					return err
				}
			default:
				return x.fail(x.from, "<%s> stands among the cells of row %d", snippet(x.fullName()), s.row.N)
			}
		case tokText:
			if err := s.noText("cells"); err != nil {
				return err
			}
		}
	}
	return nil
}

// The types of a cell as its t attribute says (ECMA-376 Part 1, 18.18.11).
type cellType uint8

const (
	typeNumber cellType = iota
	typeShared
	typeFormulaText
	typeInline
	typeBool
	typeError
	typeDate
)

func parseType(b []byte) (cellType, bool) {
	switch string(b) {
	case "n", "":
		return typeNumber, true
	case "s":
		return typeShared, true
	case "str":
		return typeFormulaText, true
	case "inlineStr":
		return typeInline, true
	case "b":
		return typeBool, true
	case "e":
		return typeError, true
	case "d":
		return typeDate, true
	}
	return 0, false
}

// readCell reads the cell whose start tag is in hand, which stands behind
// column last, and gives its column.
func (s *scanner) readCell(last int) (int, error) {
	x := s.x
	c := grid.Cell{Col: last + 1}
	typ := typeNumber
	for i := range x.attrs {
		a := &x.attrs[i]
		if a.nameTo-a.nameFrom != 1 {
			continue
		}
		var err error
		switch v := x.buf[a.from:a.to]; x.buf[a.nameFrom] {
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
	if c.Col > maxCol {
		return 0, s.beyond()
	}
	if x.closed() {
		if _, err := x.next(); err != nil {
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
func (s *scanner) readShort(raw rawCell, last int) (int, error) {
	var c grid.Cell
	var err error
	if c.Col, err = s.column(raw.address, last); err != nil {
		return 0, err
	}
	if raw.style != nil {
		if c.Style, err = s.style(raw.style, c.Col); err != nil {
			return 0, err
		}
	}
	typ := typeNumber
	if raw.typ != nil {
		if typ, err = s.cellType(raw.typ, c.Col); err != nil {
			return 0, err
		}
	}
	return c.Col, s.finish(c, typ, raw.value, raw.has)
}

// column reads a cell's address, which must be of the row in hand and behind
// column last, and gives its column.
func (s *scanner) column(b []byte, last int) (int, error) {
	x := s.x
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
		if n, ok := index(b[i:]); !ok || n != s.row.N {
			col = 0
		}
	}
	switch {
	case col == 0:
		return 0, x.fail(x.from, "a cell of row %d says that it stands at %q", s.row.N, snippet(b))
	case col > maxCol:
		return 0, s.beyond()
	case col <= last:
		return 0, x.fail(x.from, "cell %s stands after column %s, each cell once and in rising order was expected", snippet(b), cell.ColumnName(last))
	}
	return col, nil
}

func (s *scanner) beyond() error {
	return s.x.fail(s.x.from, "a cell of row %d lies beyond the last column that a sheet can have, XFD", s.row.N)
}

func (s *scanner) style(b []byte, col int) (int32, error) {
	n, ok := index(b)
	if !ok {
		return 0, s.cellFault(col, "its style is %q, a number was expected", snippet(b))
	}
	if all := len(s.sheet.book.styles.formats); n >= all && all > 0 {
		return 0, s.cellFault(col, "it has the style %d but the book has %d of them (from 0)", n, all)
	}
	return int32(n), nil
}

func (s *scanner) cellType(b []byte, col int) (cellType, error) {
	typ, ok := parseType(b)
	if !ok {
		return 0, s.cellFault(col, "it holds a value of the kind %q, which the standard does not know", snippet(b))
	}
	return typ, nil
}

// finish gives the cell its format and puts it into the row unless it is blank.
func (s *scanner) finish(c grid.Cell, typ cellType, v []byte, has bool) error {
	if !has && !c.Formula {
		return nil
	}
	if formats := s.sheet.book.styles.formats; int(c.Style) < len(formats) {
		c.Format = formats[c.Style]
	}
	return s.put(c, typ, v, has)
}

// put adds the cell to the row unless it is blank.
func (s *scanner) put(c grid.Cell, typ cellType, v []byte, has bool) error {
	switch typ {
	case typeNumber, typeShared, typeBool, typeError, typeDate:
		v = trimSpace(v)
		has = has && len(v) > 0
	}
	switch {
	case !has && !c.Formula:
		return nil
	case !has: // a formula without a stored result
	case typ == typeNumber:
		// What is no number in a number's place ("NaN", "12,5") goes on as the
		// text that it is, for the reader of the column to refuse by its cell.
		c.Kind = grid.Text
		if num, ok := parseNumber(v); ok {
			c.Kind, c.Num = grid.Number, num
		}
		c.Raw = s.keep(v)
	case typ == typeShared:
		text, err := s.sheet.book.sharedString(v)
		if err != nil {
			return s.cellFault(c.Col, "%w", err)
		}
		c.Kind, c.Raw = grid.Text, text
	case typ == typeBool:
		c.Kind = grid.Bool
		switch string(v) {
		case "1", "true":
			c.Raw = s.keep([]byte("1"))
		case "0", "false":
			c.Raw = s.keep([]byte("0"))
		default:
			return s.cellFault(c.Col, "it is to be true or false but holds %q", snippet(v))
		}
	case typ == typeError:
		c.Kind, c.Raw = grid.Error, s.keep(v)
	case typ == typeDate:
		c.Kind, c.Raw = grid.ISODate, s.keep(v)
	default:
		c.Kind, c.Raw = grid.Text, s.keep(v)
		if typ == typeFormulaText {
			c.Raw = decodeEscapes(c.Raw)
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
func (s *scanner) keep(v []byte) []byte {
	from := len(s.arena)
	s.arena = append(s.arena, v...)
	return s.arena[from:len(s.arena):len(s.arena)]
}

// rawCell is a cell as shortCell finds it: places in the lexer's window, nil
// for an attribute that is not there.
type rawCell struct {
	address, style, typ, value []byte
	has                        bool
}

// shortCell takes a whole cell of the shape that nearly all have,
// <c r="B7" s="3" t="n"><v>12.5</v></c> or <c r="B7" s="3"/>, when all of it
// lies in the window. Anything else is left to next: this only saves the work
// of a general reader where there is nothing general to see. It is to be asked
// between the children of a row that was written without a prefix.
func (x *lexer) shortCell() (c rawCell, ok bool) {
	// The pieces and the longest that each may be; together they fit.
	const opens, styled, typed, filled, closes = `<c r="`, `" s="`, `" t="`, `"><v>`, `</v></c>`
	const window, addressMax, styleMax, typeMax, valueMax = 128, 12, 8, 10, 32
	if x.end-x.pos < window || x.pendingEnd || x.err != nil {
		return c, false
	}
	b := x.buf[x.pos : x.pos+window]
	if string(b[:len(opens)]) != opens {
		return c, false
	}
	i := len(opens)
	if c.address = upToQuote(b[i:], addressMax); c.address == nil {
		return c, false
	}
	i += len(c.address)
	if string(b[i:i+len(styled)]) == styled {
		i += len(styled)
		if c.style = upToQuote(b[i:], styleMax); c.style == nil {
			return c, false
		}
		i += len(c.style)
	}
	if string(b[i:i+len(typed)]) == typed {
		i += len(typed)
		if c.typ = upToQuote(b[i:], typeMax); c.typ == nil {
			return c, false
		}
		i += len(c.typ)
	}
	if string(b[i:i+3]) == `"/>` {
		x.pos += i + 3
		return c, true
	}
	if string(b[i:i+len(filled)]) != filled {
		return c, false
	}
	i += len(filled)
	value := b[i:]
	for n := 0; n <= valueMax; n++ {
		switch value[n] {
		case '&', '\r':
			return c, false
		case '<':
			if string(value[n:n+len(closes)]) != closes {
				return c, false
			}
			c.value, c.has = value[:n], true
			x.pos += i + n + len(closes)
			return c, true
		}
	}
	return c, false
}

// upToQuote gives what stands before the first double quote, nil where there is
// nothing, more than most bytes, or something to unescape.
func upToQuote(b []byte, most int) []byte {
	for i := 0; i <= most && i < len(b); i++ {
		switch c := b[i]; {
		case c == '"':
			if i == 0 {
				return nil
			}
			return b[:i]
		case c == '&' || c == '<' || c < ' ':
			return nil
		}
	}
	return nil
}

// content reads what stands in the cell whose start tag is in hand, up to its
// end. It says whether there is a value.
func (s *scanner) content(c *grid.Cell, typ cellType) (v []byte, has bool, _ cellType, err error) {
	x := s.x
	s.value = s.value[:0]
	for depth := x.depth() - 1; x.depth() > depth; {
		tok, err := x.next()
		if err != nil {
			return nil, false, typ, err
		}
		switch tok {
		case tokStart:
			switch {
			case x.is("f"):
				c.Formula = true
				err = x.skip()
			case (x.is("v") || x.is("is")) && has:
				err = s.cellFault(c.Col, "it holds two values")
			case x.is("v"):
				has = true
				s.value, err = textOf(x, s.value)
			case x.is("is"):
				// Some writers forget to call the cell inlineStr.
				has, typ = true, typeInline
				s.value, err = richText(x, s.value)
			case x.is("extLst"):
				err = x.skip()
			default:
				err = s.cellFault(c.Col, "<%s> stands in it", snippet(x.fullName()))
			}
			if err != nil {
				return nil, false, typ, err
			}
		case tokText:
			if b := trimSpace(x.text()); len(b) > 0 {
				return nil, false, typ, s.cellFault(c.Col, "the text %q stands in it without a mark of what it is", snippet(b))
			}
		}
	}
	return s.value, has, typ, nil
}

// cellFault is trouble with one cell, named by its place.
func (s *scanner) cellFault(col int, format string, args ...any) error {
	at := s.sheet.At()
	at.Col, at.Row = col, s.row.N
	err := fmt.Errorf("%s: "+format+"; "+saveAnew, append([]any{at}, args...)...)
	if s.x.err == nil {
		s.x.err = err
	}
	return err
}

// Powers of ten that a float64 holds exactly.
var exactTen = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// parseNumber reads a decimal number as XML writes it, correctly rounded. It
// refuses what is none: words, hexadecimals, separators, what overflows.
func parseNumber(b []byte) (float64, bool) {
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

// skipFast moves behind the end of the element whose start tag is in hand
// without looking at what it holds, but for comments and CDATA sections, in
// which its end tag may be spelled. Only an element that cannot hold another of
// its name may be skipped so.
func (x *lexer) skipFast() error {
	if x.closed() {
		_, err := x.next()
		return err
	}
	depth := x.depth() - 1
	name := append([]byte("</"), x.names[x.starts[depth]:]...)
	until := []byte(nil) // the end of a comment or section that is open
	for {
		// What is behind pos is done with; the window may move over it.
		x.from = x.pos
		b := x.buf[x.pos:x.end]
		if until != nil {
			i := bytes.Index(b, until)
			if i < 0 {
				x.pos += max(0, len(b)-len(until)+1)
			} else {
				x.pos += i + len(until)
				until = nil
				continue
			}
		} else {
			special := indexPast(b, []byte("<!"), 1)
			if special < 0 {
				special = len(b)
			}
			i := indexPast(b[:special], name, len("</s"))
			if i < 0 {
				i = special
			}
			if i == len(b) && !x.eof {
				// The mark may be cut by the window's end.
				i = max(0, len(b)-max(len(name), len("<!"))+1)
			}
			x.pos += i
			b = b[i:]
			const longest = len("<![CDATA[")
			switch {
			case len(b) < max(longest, len(name)+1) && !x.eof: // more is needed
			case bytes.HasPrefix(b, name) && len(b) > len(name) && (b[len(name)] == '>' || isSpace(b[len(name)])):
				x.from = x.pos
				_, err := x.next()
				return err
			case bytes.HasPrefix(b, []byte("<!--")):
				x.pos += len("<!--")
				until = []byte("-->")
				continue
			case bytes.HasPrefix(b, []byte("<![CDATA[")):
				x.pos += len("<![CDATA[")
				until = []byte("]]>")
				continue
			case len(b) > 0:
				x.pos++
				continue
			}
		}
		if x.eof {
			return x.fail(x.end, "the XML breaks off inside <%s>", name[2:])
		}
		x.from = x.pos
		if err := x.fill(); err != nil {
			return err
		}
	}
}

// indexPast is bytes.Index for a mark whose first bytes stand all over a sheet:
// it looks for the rest of it, which is rare, and then at those.
func indexPast(b, mark []byte, common int) int {
	for from := common; from <= len(b); {
		i := bytes.Index(b[from:], mark[common:])
		if i < 0 {
			return -1
		}
		if i += from; string(b[i-common:i]) == string(mark[:common]) {
			return i - common
		}
		from = i + 1
	}
	return -1
}
