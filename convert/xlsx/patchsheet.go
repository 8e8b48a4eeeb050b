package xlsx

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf16"

	"dropcut/convert/grid"
	"dropcut/plan/cell"
)

// A cell holds at most this many characters (Excel specifications and limits),
// counted in UTF-16.
const textMax = 32767

// target is one cell that is to be written.
type target struct {
	row, col int
	column   int         // index of its column
	value    *grid.Value // nil for the heading
}

// sheetPatch runs once over a sheet and collects what is to be changed in it.
// Nothing is written before the whole sheet has been seen: merged areas,
// protection and tables are told of behind the cells.
type sheetPatch struct {
	sheet  *Sheet
	styles *stylePatch
	cols   []grid.Column // in column order
	byCol  map[int]int   // index of a column of ours
	known  []bool        // the column's heading stands there: it is ours from an earlier run
	lines  []target      // in order of row and column
	next   int           // of lines
	change splices
	x      *lexer
	prefix string // of the elements

	// What was found on the way.
	occupied  []cell.Ref // cells in new columns that hold something
	occupiedN int
	tornAt    []cell.Ref          // formulas that cannot be taken out
	formulas  []cell.Ref          // formulas of ours that go
	sharers   map[string]int      // cells that stay and hang on a shared formula, by its index
	masters   map[string]cell.Ref // shared formulas whose first cell goes
	anyF      bool                // the sheet holds formulas
	changed   bool                // a value that stood there becomes another one
	dimension [2]int64
	dimRef    string
	colList   []colElement
	colsAt    [2]int64 // the cols element's inside; -1 without one
	colsShut  [2]int64 // <cols/>
	dataAt    int64    // where sheetData begins
	merges    []grid.Range
	protected bool
	filter    sheetFilter
	notes     []string
	newFilter *filterName    // nil when the filter stays
	renamed   map[int]string // headings that were others, by column
	tall      map[int]bool   // heading rows that show two lines

	value []byte
}

// colElement is a col element as written.
type colElement struct {
	from, to   int
	start, end int64
	attrs      string
	hidden     bool
}

// sheetFilter is the sheet's own filter, outside of tables.
type sheetFilter struct {
	there    bool
	area     grid.Range
	ref      [2]int64
	sort     [2]int64 // of sortState's ref, 0 without one
	sortArea grid.Range
}

func newSheetPatch(sheet *Sheet, styles *stylePatch, cols []grid.Column) (*sheetPatch, error) {
	s := &sheetPatch{
		sheet: sheet, styles: styles, cols: slices.Clone(cols), byCol: map[int]int{}, known: make([]bool, len(cols)),
		sharers: map[string]int{}, masters: map[string]cell.Ref{}, renamed: map[int]string{}, tall: map[int]bool{}, colsAt: [2]int64{-1, -1}, colsShut: [2]int64{-1, -1},
	}
	slices.SortStableFunc(s.cols, func(a, b grid.Column) int { return cmp.Compare(a.Col, b.Col) })
	n := 0
	for i := range s.cols {
		n += len(s.cols[i].Cells) + 1
	}
	s.lines = make([]target, 0, n)
	for i := range s.cols {
		c := &s.cols[i]
		if c.Col < 1 || c.Col > maxCol || c.HeaderRow < 1 || c.HeaderRow > maxRow {
			return nil, s.refuse(ReasonEdge, "", fmt.Sprintf("the column %q would stand in column %d with its heading in row %d, at most column XFD and row %d were expected", c.Heading, c.Col, c.HeaderRow, maxRow), "delete unused columns and try again")
		}
		if _, twice := s.byCol[c.Col]; twice {
			return nil, fmt.Errorf("%s: two columns are to be written into column %s; this is a fault of dropcut, nothing was written", sheet.At(), cell.ColumnName(c.Col))
		}
		s.byCol[c.Col] = i
		err := checkText(c.Heading)
		if err == nil && strings.TrimSpace(c.Heading) == "" {
			// A later run would not find the column again.
			err = errors.New("a column without a heading is to be written; this is a fault of dropcut, nothing was written")
		}
		if err != nil {
			return nil, s.at(c.Col, c.HeaderRow, err)
		}
		s.lines = append(s.lines, target{c.HeaderRow, c.Col, i, nil})
		for k := range c.Cells {
			a := &c.Cells[k]
			if a.Row <= c.HeaderRow || a.Row > maxRow {
				return nil, s.refuse(ReasonEdge, "", fmt.Sprintf("the column %q would hold a value in row %d, a row below its heading and up to %d was expected", c.Heading, a.Row, maxRow), "delete unused rows and try again")
			}
			if err := checkValue(a.Value); err != nil {
				return nil, s.at(c.Col, a.Row, err)
			}
			s.lines = append(s.lines, target{a.Row, c.Col, i, &a.Value})
		}
	}
	slices.SortFunc(s.lines, func(a, b target) int { return cmp.Or(cmp.Compare(a.row, b.row), cmp.Compare(a.col, b.col)) })
	for i := 1; i < len(s.lines); i++ {
		if a, b := s.lines[i-1], s.lines[i]; a.row == b.row && a.col == b.col {
			return nil, s.at(a.col, a.row, errors.New("it is to be written twice; this is a fault of dropcut, nothing was written"))
		}
	}
	return s, nil
}

// checkValue refuses what no cell can hold.
func checkValue(v grid.Value) error {
	if v.IsNumber && (math.IsNaN(v.Number) || math.IsInf(v.Number, 0)) {
		return fmt.Errorf("%v cannot be written as a number", v.Number)
	}
	return checkText(v.Text)
}

func checkText(text string) error {
	if len(text) > textMax && utf16Len(text) > textMax {
		return fmt.Errorf("the text has %d characters, at most %d fit into a cell", utf16Len(text), textMax)
	}
	return nil
}

// utf16Len counts as office programs do.
func utf16Len(text string) int {
	n := 0
	for _, r := range text {
		n += utf16.RuneLen(r)
	}
	return n
}

func (s *sheetPatch) at(col, row int, err error) error {
	at := s.sheet.At()
	at.Col, at.Row = col, row
	return fmt.Errorf("%s: %w", at, err)
}

func (s *sheetPatch) refuse(why Reason, where, found, do string) *Refused {
	return &Refused{At: s.sheet.At(), Range: where, Reason: why, Found: found, Do: do}
}

func (s *sheetPatch) note(format string, args ...any) {
	s.notes = append(s.notes, s.sheet.At().String()+": "+fmt.Sprintf(format, args...))
}

// run reads the sheet and collects the changes.
func (s *sheetPatch) run() error {
	p := s.sheet.book.pack
	r, err := p.open(s.sheet.entry.part)
	if err != nil {
		return err
	}
	defer r.Close()
	s.x = newLexer(r, s.sheet.entry.part.name)
	if err := s.walk(); err != nil {
		return p.blame(err)
	}
	return s.judge()
}

func (s *sheetPatch) walk() error {
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
			s.dataAt = x.start()
			s.prefix = prefixOf(x)
			err = s.data()
		case x.is("dimension"):
			if from, to, ok := x.attrSpan("ref"); ok {
				s.dimension, s.dimRef = [2]int64{from, to}, string(x.attr("ref"))
			}
			err = x.skip()
		case x.is("cols"):
			err = s.readCols()
		case x.is("mergeCells"):
			scan := scanner{x: x, sheet: s.sheet}
			tail := &sheetTail{}
			err = scan.merges(tail)
			s.merges = append(s.merges, tail.merges...)
		case x.is("sheetProtection"):
			s.protected = truth(x.attr("sheet"))
			err = x.skip()
		case x.is("autoFilter"):
			err = s.readFilter()
		default:
			err = x.skip()
		}
		if err != nil {
			return err
		}
	}
}

func (s *sheetPatch) readCols() error {
	x := s.x
	if x.closed() {
		s.colsShut = [2]int64{x.start(), x.stop()}
		return x.skip()
	}
	s.colsAt[0] = x.stop()
	for depth := x.depth() - 1; x.depth() > depth; {
		tok, err := x.next()
		if err != nil {
			return err
		}
		if tok == tokEnd {
			s.colsAt[1] = x.start()
		}
		if tok != tokStart || !x.is("col") {
			continue
		}
		c := colElement{start: x.start(), attrs: attrsOf(x), hidden: truth(x.attr("hidden"))}
		c.from, _ = index(x.attr("min"))
		c.to, _ = index(x.attr("max"))
		if w := x.attr("width"); w != nil {
			if f, err := strconv.ParseFloat(string(w), 64); err == nil && f == 0 {
				c.hidden = true
			}
		}
		if err := x.skip(); err != nil {
			return err
		}
		c.end = x.stop()
		s.colList = append(s.colList, c)
	}
	return nil
}

func (s *sheetPatch) readFilter() error {
	x := s.x
	f := &s.filter
	from, to, ok := x.attrSpan("ref")
	f.area, f.there = parseRange(x.attr("ref"))
	f.there = f.there && ok
	f.ref = [2]int64{from, to}
	for depth := x.depth() - 1; x.depth() > depth; {
		tok, err := x.next()
		if err != nil {
			return err
		}
		if tok == tokStart && x.is("sortState") {
			from, to, _ := x.attrSpan("ref")
			f.sort = [2]int64{from, to}
			f.sortArea, _ = parseRange(x.attr("ref"))
		}
	}
	return nil
}

// data walks the rows and puts the targets between them.
func (s *sheetPatch) data() error {
	x := s.x
	shut := x.closed()
	from, to := x.start(), x.stop()
	last := 0
	for depth := x.depth() - 1; x.depth() > depth; {
		tok, err := x.next()
		if err != nil {
			return err
		}
		if tok != tokStart {
			continue
		}
		if !x.is("row") {
			return x.fail(x.from, "<%s> stands among the rows", snippet(x.fullName()))
		}
		n := last + 1
		if v := x.attr("r"); v != nil {
			var ok bool
			if n, ok = index(v); !ok {
				return x.fail(x.from, "a row after row %d has the number %q", last, snippet(v))
			}
		}
		if n <= last {
			return s.refuse(ReasonOrder, fmt.Sprintf("%d:%d", n, n), fmt.Sprintf("row %d stands after row %d, rows in rising order were expected", n, last), saveAnew)
		}
		if n > maxRow {
			return s.refuse(ReasonEdge, fmt.Sprintf("%d:%d", n, n), fmt.Sprintf("the row lies beyond the last row that a sheet can have, %d", maxRow), saveAnew)
		}
		last = n
		s.newRows(n, x.start())
		if err := s.row(n); err != nil {
			return err
		}
	}
	if s.next == len(s.lines) {
		return nil
	}
	if !shut {
		s.newRows(maxRow+1, x.start())
		return nil
	}
	// <sheetData/> has to be opened.
	raw := "<" + s.prefix + "sheetData>"
	mark := s.change.begin()
	s.change.text = append(s.change.text, raw...)
	s.appendRows(maxRow + 1)
	s.change.text = append(s.change.text, "</"+s.prefix+"sheetData>"...)
	s.change.end(mark, from, to)
	return nil
}

// newRows puts in the rows below n that the sheet does not have yet.
func (s *sheetPatch) newRows(n int, at int64) {
	if s.next == len(s.lines) || s.lines[s.next].row >= n {
		return
	}
	mark := s.change.begin()
	s.appendRows(n)
	s.change.end(mark, at, at)
}

func (s *sheetPatch) appendRows(n int) {
	for s.next < len(s.lines) && s.lines[s.next].row < n {
		row := s.lines[s.next].row
		open := len(s.change.text)
		s.change.text = fmt.Appendf(s.change.text, `<%srow r="%d">`, s.prefix, row)
		inside := len(s.change.text)
		for ; s.next < len(s.lines) && s.lines[s.next].row == row; s.next++ {
			s.fresh(s.lines[s.next], -1, -1)
		}
		if len(s.change.text) == inside {
			s.change.text = s.change.text[:open] // nothing but blanks
			continue
		}
		s.change.text = fmt.Appendf(s.change.text, "</%srow>", s.prefix)
	}
}

// row walks the row whose start tag is in hand.
func (s *sheetPatch) row(n int) error {
	x := s.x
	end := s.next
	for end < len(s.lines) && s.lines[end].row == n {
		end++
	}
	touched := s.lines[s.next:end]
	shut, stop := x.closed(), x.stop()
	spanFrom, spanTo, spanned := x.attrSpan("spans")
	var spans string
	left, left2 := -1, -1
	if len(touched) > 0 {
		spans = string(x.attr("spans"))
		if ht, err := strconv.ParseFloat(string(x.attr("ht")), 64); err == nil && ht >= twoLines {
			s.tall[n] = true
		}
		// A row with a format of its own lends it to cells without neighbours.
		if truth(x.attr("customFormat")) {
			if i, ok := index(x.attr("s")); ok {
				left = i
			}
		}
	}
	before := len(s.change.list)
	last := 0
	for depth := x.depth() - 1; x.depth() > depth; {
		tok, err := x.next()
		if err != nil {
			return err
		}
		if tok == tokEnd && x.depth() == depth && s.next < end {
			mark, from, to := s.change.begin(), x.start(), x.start()
			if shut {
				from, to = stop-2, stop
				s.change.text = append(s.change.text, '>')
			}
			inside := len(s.change.text)
			for ; s.next < end; s.next++ {
				left, left2 = s.columnLook(s.lines[s.next].col, left, left2)
				s.fresh(s.lines[s.next], left, left2)
			}
			switch {
			case !shut:
				s.change.end(mark, from, to)
			case len(s.change.text) == inside:
				s.change.text = s.change.text[:mark]
			default:
				s.change.text = append(s.change.text, "</"+s.prefix+"row>"...)
				s.change.end(mark, from, to)
			}
		}
		if tok != tokStart || !x.is("c") {
			if tok == tokStart {
				if err := x.skip(); err != nil {
					return err
				}
			}
			continue
		}
		col := last + 1
		if v := x.attr("r"); v != nil {
			c, row, ok := cell.ParseA1(string(v))
			if !ok || row != n || c == 0 {
				return x.fail(x.from, "a cell of row %d says that it stands at %q", n, snippet(v))
			}
			col = c
		}
		if col <= last {
			return s.refuse(ReasonOrder, cell.Ref{Col: col, Row: n}.A1(), fmt.Sprintf("the cell stands after column %s, each cell once and in rising order was expected", cell.ColumnName(last)), saveAnew)
		}
		if col > maxCol {
			return s.refuse(ReasonEdge, fmt.Sprintf("%d:%d", n, n), "a cell lies beyond the last column that a sheet can have, XFD", saveAnew)
		}
		last = col
		if s.next < end && s.lines[s.next].col < col {
			mark := s.change.begin()
			for ; s.next < end && s.lines[s.next].col < col; s.next++ {
				left, left2 = s.columnLook(s.lines[s.next].col, left, left2)
				s.fresh(s.lines[s.next], left, left2)
			}
			s.change.end(mark, x.start(), x.start())
		}
		k, ours := s.byCol[col]
		switch {
		case ours && s.next < end && s.lines[s.next].col == col:
			if left < 0 {
				left, left2 = s.columnLook(col, left, left2)
			}
			if err := s.overwrite(s.lines[s.next], left, left2); err != nil {
				return err
			}
			s.next++
		case ours && n >= s.cols[k].HeaderRow:
			if err := s.inspect(k, col, n); err != nil {
				return err
			}
		default:
			style, _ := index(x.attr("s"))
			left, left2 = style, left
			if err := s.passBy(); err != nil {
				return err
			}
		}
	}
	if len(touched) > 0 && spanned && len(s.change.list) > before {
		if wide := widerSpans(spans, touched[0].col, touched[len(touched)-1].col); wide != spans {
			s.change.put(spanFrom, spanTo, wide)
		}
	}
	return nil
}

// columnLook gives a cell without a neighbour the format of the column left of
// it, if that has one.
func (s *sheetPatch) columnLook(col, left, left2 int) (int, int) {
	if left >= 0 {
		return left, left2
	}
	for i := range s.colList {
		if c := &s.colList[i]; c.from < col && c.to >= col-1 {
			if style := attrOf(c.attrs, "style"); style != "" {
				if n, err := strconv.Atoi(style); err == nil {
					return n, -1
				}
			}
		}
	}
	return left, left2
}

// attrOf reads an attribute out of what attrsOf gives.
func attrOf(attrs, name string) string {
	for rest := attrs; rest != ""; {
		eq := strings.Index(rest, `="`)
		end := strings.IndexByte(rest[eq+2:], '"') + eq + 2
		if rest[:eq] == name {
			return rest[eq+2 : end]
		}
		rest = strings.TrimPrefix(rest[end+1:], " ")
	}
	return ""
}

// widerSpans widens a row's spans attribute: "1:11" to "1:28".
func widerSpans(spans string, from, to int) string {
	low, high := math.MaxInt, 0
	for _, part := range strings.Fields(spans) {
		a, b, _ := strings.Cut(part, ":")
		n, err := strconv.Atoi(a)
		m, err2 := strconv.Atoi(b)
		if err != nil || err2 != nil {
			return spans
		}
		low, high = min(low, n), max(high, m)
	}
	if high == 0 || (from >= low && to <= high) {
		return spans
	}
	return fmt.Sprintf("%d:%d", min(low, from), max(high, to))
}

// passBy moves to the end of a cell that is not ours. Formulas are noted.
func (s *sheetPatch) passBy() error {
	x := s.x
	for depth := x.depth() - 1; x.depth() > depth; {
		tok, err := x.next()
		if err != nil {
			return err
		}
		if tok == tokStart && x.is("f") {
			s.formula(false, cell.Ref{})
		}
	}
	return nil
}

// formula looks at the f element in hand: gone says that its cell is
// overwritten. It reports whether it may be.
func (s *sheetPatch) formula(gone bool, at cell.Ref) bool {
	x := s.x
	s.anyF = true
	kind, group, ref := string(x.attr("t")), string(x.attr("si")), string(x.attr("ref"))
	switch {
	case kind == "shared" && ref == "" && !gone:
		s.sharers[group]++
	case kind == "shared" && ref != "" && gone:
		s.masters[group] = at
	case kind == "array", kind == "dataTable":
		return !gone
	}
	return true
}

// existing is what a cell holds.
type existing struct {
	kind    grid.Kind
	num     float64
	text    string
	formula bool
	torn    bool // the formula cannot be taken out
	style   int
}

// read reads the cell whose start tag is in hand up to its end.
func (s *sheetPatch) read(col, row int, gone bool) (e existing, err error) {
	x := s.x
	e.style, _ = index(x.attr("s"))
	typ, ok := parseType(x.attr("t"))
	if !ok {
		return e, x.fail(x.from, "a cell of row %d holds a value of the kind %q, which the standard does not know", row, snippet(x.attr("t")))
	}
	s.value = s.value[:0]
	has := false
	for depth := x.depth() - 1; x.depth() > depth; {
		tok, err := x.next()
		if err != nil {
			return e, err
		}
		if tok != tokStart {
			continue
		}
		switch {
		case x.is("f"):
			e.formula = true
			e.torn = !s.formula(gone, cell.Ref{Col: col, Row: row})
			err = x.skip()
		case x.is("v"):
			has = true
			s.value, err = textOf(x, s.value)
		case x.is("is"):
			has, typ = true, typeInline
			s.value, err = richText(x, s.value)
		default:
			err = x.skip()
		}
		if err != nil {
			return e, err
		}
	}
	if !has {
		return e, nil
	}
	v := s.value
	if typ != typeInline && typ != typeFormulaText {
		v = bytes.Trim(v, " \t\r\n")
	}
	switch typ {
	case typeNumber:
		if len(v) == 0 {
			return e, nil
		}
		e.kind, e.text = grid.Text, string(v)
		if f, ok := parseNumber(v); ok {
			e.kind, e.num = grid.Number, f
		}
	case typeShared:
		text, err := s.sheet.book.sharedString(v)
		if err != nil {
			return e, s.at(col, row, err)
		}
		e.kind, e.text = grid.Text, string(text)
	case typeBool:
		e.kind, e.text = grid.Bool, string(v)
	case typeError:
		e.kind, e.text = grid.Error, string(v)
	case typeDate:
		e.kind, e.text = grid.ISODate, string(v)
	default:
		e.kind, e.text = grid.Text, string(v)
		if typ == typeFormulaText {
			e.text = string(decodeEscapes(v))
		}
	}
	if e.kind == grid.Text && e.text == "" {
		e.kind = grid.Blank
	}
	return e, nil
}

// inspect looks at a cell of one of our columns that is not to be written. In a
// column that is new it is in the way.
func (s *sheetPatch) inspect(k, col, row int) error {
	e, err := s.read(col, row, false)
	if err == nil && !s.known[k] && (e.kind != grid.Blank || e.formula) {
		s.occupy(col, row)
	}
	return err
}

func (s *sheetPatch) occupy(col, row int) {
	s.occupiedN++
	s.occupied = append(s.occupied, cell.Ref{Col: col, Row: row})
}

// overwrite puts a target in the place of the cell whose start tag is in hand.
func (s *sheetPatch) overwrite(t target, left, left2 int) error {
	x := s.x
	from := x.start()
	e, err := s.read(t.col, t.row, t.value == nil || s.known[t.column])
	if err != nil {
		return err
	}
	full := e.kind != grid.Blank || e.formula
	if t.value == nil {
		s.known[t.column] = e.kind == grid.Text && !e.formula && sameHeading(e.text, s.cols[t.column].Heading)
	}
	if full && !s.known[t.column] {
		s.occupy(t.col, t.row)
		return nil
	}
	v := s.valueOf(t)
	if !e.formula && e.same(v) && (s.styles.fits(e.style, v.Look) || v.Blank()) {
		return nil
	}
	if e.torn {
		s.tornAt = append(s.tornAt, cell.Ref{Col: t.col, Row: t.row})
		return nil
	}
	if e.formula {
		s.formulas = append(s.formulas, cell.Ref{Col: t.col, Row: t.row})
	}
	if full && !e.same(v) {
		s.changed = true
		if t.value == nil {
			s.renamed[t.col] = e.text
		}
	}
	style := e.style
	if !s.known[t.column] || !s.styles.fits(style, v.Look) {
		style = s.styles.dress(left, left2, v.Look)
	}
	mark := s.change.begin()
	s.appendCell(t, style, v)
	if mark == len(s.change.text) {
		// A blank cell in the place of one that was there: it stays, empty.
		s.change.text = fmt.Appendf(s.change.text, `<%sc r="%s"/>`, s.prefix, cell.Ref{Col: t.col, Row: t.row}.A1())
	}
	s.change.end(mark, from, x.stop())
	return nil
}

// sameHeading reports whether a heading found is the one to be written. Line
// ends and blanks may have changed under the user's hands, and the unit that
// stands behind it in brackets may be another one this time.
func sameHeading(found, want string) bool { return headingBase(found) == headingBase(want) }

func headingBase(h string) string {
	h = strings.Join(strings.Fields(h), " ")
	if i := strings.LastIndex(h, " ("); i > 0 && strings.HasSuffix(h, ")") {
		return h[:i]
	}
	return h
}

func (e *existing) same(v grid.Value) bool {
	switch {
	case v.IsNumber:
		return e.kind == grid.Number && e.num == v.Number
	case v.Text == "":
		return e.kind == grid.Blank
	}
	return e.kind == grid.Text && e.text == v.Text
}

func (s *sheetPatch) valueOf(t target) grid.Value {
	if t.value == nil {
		return grid.Str(s.cols[t.column].Heading, grid.LookHeading)
	}
	return *t.value
}

// fresh appends a cell that the sheet does not have yet.
func (s *sheetPatch) fresh(t target, left, left2 int) {
	v := s.valueOf(t)
	var style int
	if t.value == nil && left < 0 {
		style = s.styles.own(grid.LookHeading)
	} else {
		style = s.styles.dress(left, left2, v.Look)
	}
	s.appendCell(t, style, v)
}

// appendCell appends a cell's XML. A blank one is written for its look only:
// borders go on through it.
func (s *sheetPatch) appendCell(t target, style int, v grid.Value) {
	if v.Blank() && style == 0 {
		return
	}
	s.change.text = appendCell(s.change.text, s.prefix, t.col, t.row, style, v)
}

func appendCell(b []byte, prefix string, col, row, style int, v grid.Value) []byte {
	b = append(b, '<')
	b = append(b, prefix...)
	b = append(b, `c r="`...)
	b = appendColumn(b, col)
	b = strconv.AppendInt(b, int64(row), 10)
	b = append(b, '"')
	if style != 0 {
		b = append(b, ` s="`...)
		b = strconv.AppendInt(b, int64(style), 10)
		b = append(b, '"')
	}
	open := func(tag, rest string) {
		b = append(b, '<')
		b = append(b, prefix...)
		b = append(b, tag...)
		b = append(b, rest...)
		b = append(b, '>')
	}
	switch {
	case v.Blank():
		return append(b, "/>"...)
	case v.IsNumber:
		b = append(b, '>')
		open("v", "")
		b = appendNumber(b, v.Number)
		b = append(b, "</"...)
		b = append(b, prefix...)
		b = append(b, "v></"...)
	default:
		b = append(b, ` t="inlineStr">`...)
		open("is", "")
		if keepsSpace(v.Text) {
			open("t", ` xml:space="preserve"`)
		} else {
			open("t", "")
		}
		b = escapeText(b, v.Text)
		b = append(b, "</"...)
		b = append(b, prefix...)
		b = append(b, "t></"...)
		b = append(b, prefix...)
		b = append(b, "is></"...)
	}
	b = append(b, prefix...)
	return append(b, "c>"...)
}

// appendNumber writes a number with the fewest digits that read back as it.
func appendNumber(b []byte, f float64) []byte {
	if f == 0 {
		return append(b, '0') // not -0
	}
	return strconv.AppendFloat(b, f, 'G', -1, 64)
}

func appendColumn(b []byte, col int) []byte {
	if col > 26 {
		b = appendColumn(b, (col-1)/26)
	}
	return append(b, byte('A'+(col-1)%26))
}
