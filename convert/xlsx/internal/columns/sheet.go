// Package columns puts new columns onto a sheet of somebody else's: where they
// find room, what stands in their way, and the changes to the sheet, its filter
// and its tables.
package columns

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

	"dropcut/convert/grid"
	"dropcut/convert/xlsx/internal/dress"
	"dropcut/convert/xlsx/internal/lex"
	"dropcut/convert/xlsx/internal/opc"
	"dropcut/convert/xlsx/internal/parts"
	"dropcut/convert/xlsx/internal/read"
	"dropcut/convert/xlsx/internal/splice"
	"dropcut/plan/cell"
)

// target is one cell that is to be written.
type target struct {
	row, col int
	column   int         // index of its column
	value    *grid.Value // nil for the heading
}

// Sheet runs once over a sheet and collects what is to be changed in it.
// Nothing is written before the whole sheet has been seen: merged areas,
// protection and tables are told of behind the cells.
type Sheet struct {
	sheet  *read.Sheet
	styles *dress.Styles
	cols   []grid.Column // in column order
	byCol  map[int]int   // index of a column of ours
	known  []bool        // the column's heading stands there: it is ours from an earlier run
	lines  []target      // in order of row and column
	next   int           // of lines
	Change splice.List
	x      *lex.Lexer
	prefix string // of the elements

	// What was found on the way.
	occupied  []cell.Ref // cells in new columns that hold something
	occupiedN int
	tornAt    []cell.Ref          // formulas that cannot be taken out
	Formulas  []cell.Ref          // formulas of ours that go
	sharers   map[string]int      // cells that stay and hang on a shared formula, by its index
	masters   map[string]cell.Ref // shared formulas whose first cell goes
	AnyF      bool                // the sheet holds formulas
	Changed   bool                // a value that stood there becomes another one
	dimension [2]int64
	dimRef    string
	colList   []colElement
	colsAt    [2]int64 // the cols element's inside; -1 without one
	colsShut  [2]int64 // <cols/>
	dataAt    int64    // where sheetData begins
	merges    []grid.Range
	protected bool
	filter    sheetFilter
	Notes     []string
	NewFilter *filterName    // nil when the filter stays
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

// New prepares new columns for a sheet; cols are refused where they lie outside of
// it or contradict each other.
func New(sheet *read.Sheet, styles *dress.Styles, cols []grid.Column) (*Sheet, error) {
	s := &Sheet{
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
		if c.Col < 1 || c.Col > parts.MaxCol || c.HeaderRow < 1 || c.HeaderRow > parts.MaxRow {
			return nil, s.refuse(ReasonEdge, "", fmt.Sprintf("the column %q would stand in column %d with its heading in row %d, at most column XFD and row %d were expected", c.Heading, c.Col, c.HeaderRow, parts.MaxRow), "delete unused columns and try again")
		}
		if _, twice := s.byCol[c.Col]; twice {
			return nil, fmt.Errorf("%s: two columns are to be written into column %s; this is a fault of dropcut, nothing was written", sheet.At(), cell.ColumnName(c.Col))
		}
		s.byCol[c.Col] = i
		err := splice.CheckText(c.Heading)
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
			if a.Row <= c.HeaderRow || a.Row > parts.MaxRow {
				return nil, s.refuse(ReasonEdge, "", fmt.Sprintf("the column %q would hold a value in row %d, a row below its heading and up to %d was expected", c.Heading, a.Row, parts.MaxRow), "delete unused rows and try again")
			}
			if err := splice.CheckValue(a.Value); err != nil {
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

func (s *Sheet) at(col, row int, err error) error {
	at := s.sheet.At()
	at.Col, at.Row = col, row
	return fmt.Errorf("%s: %w", at, err)
}

func (s *Sheet) refuse(why Reason, where, found, do string) *Refused {
	return &Refused{At: s.sheet.At(), Range: where, Reason: why, Found: found, Do: do}
}

func (s *Sheet) note(format string, args ...any) {
	s.Notes = append(s.Notes, s.sheet.At().String()+": "+fmt.Sprintf(format, args...))
}

// Run reads the sheet and collects the changes.
func (s *Sheet) Run() error {
	p := s.sheet.Book.Pack
	r, err := p.Open(s.sheet.Entry.Part)
	if err != nil {
		return err
	}
	defer r.Close()
	s.x = lex.New(r, s.sheet.Entry.Part.Name)
	if err := s.walk(); err != nil {
		return p.Blame(err)
	}
	return s.judge()
}

func (s *Sheet) walk() error {
	x := s.x
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
			s.dataAt = x.Start()
			s.prefix = lex.PrefixOf(x)
			err = s.data()
		case x.Is("dimension"):
			if from, to, ok := x.AttrSpan("ref"); ok {
				s.dimension, s.dimRef = [2]int64{from, to}, string(x.Attr("ref"))
			}
			err = x.Skip()
		case x.Is("cols"):
			err = s.readCols()
		case x.Is("mergeCells"):
			scan := read.Scanner{X: x, Sheet: s.sheet}
			tail := &read.SheetTail{}
			err = scan.Merges(tail)
			s.merges = append(s.merges, tail.Merges...)
		case x.Is("sheetProtection"):
			s.protected = lex.Truth(x.Attr("sheet"))
			err = x.Skip()
		case x.Is("autoFilter"):
			err = s.readFilter()
		default:
			err = x.Skip()
		}
		if err != nil {
			return err
		}
	}
}

func (s *Sheet) readCols() error {
	x := s.x
	if x.Closed() {
		s.colsShut = [2]int64{x.Start(), x.Stop()}
		return x.Skip()
	}
	s.colsAt[0] = x.Stop()
	for depth := x.Depth() - 1; x.Depth() > depth; {
		tok, err := x.Next()
		if err != nil {
			return err
		}
		if tok == lex.TokEnd {
			s.colsAt[1] = x.Start()
		}
		if tok != lex.TokStart || !x.Is("col") {
			continue
		}
		c := colElement{start: x.Start(), attrs: lex.AttrsOf(x), hidden: lex.Truth(x.Attr("hidden"))}
		c.from, _ = lex.Index(x.Attr("min"))
		c.to, _ = lex.Index(x.Attr("max"))
		if w := x.Attr("width"); w != nil {
			if f, err := strconv.ParseFloat(string(w), 64); err == nil && f == 0 {
				c.hidden = true
			}
		}
		if err := x.Skip(); err != nil {
			return err
		}
		c.end = x.Stop()
		s.colList = append(s.colList, c)
	}
	return nil
}

func (s *Sheet) readFilter() error {
	x := s.x
	f := &s.filter
	from, to, ok := x.AttrSpan("ref")
	f.area, f.there = parts.ParseRange(x.Attr("ref"))
	f.there = f.there && ok
	f.ref = [2]int64{from, to}
	for depth := x.Depth() - 1; x.Depth() > depth; {
		tok, err := x.Next()
		if err != nil {
			return err
		}
		if tok == lex.TokStart && x.Is("sortState") {
			from, to, _ := x.AttrSpan("ref")
			f.sort = [2]int64{from, to}
			f.sortArea, _ = parts.ParseRange(x.Attr("ref"))
		}
	}
	return nil
}

// data walks the rows and puts the targets between them.
func (s *Sheet) data() error {
	x := s.x
	shut := x.Closed()
	from, to := x.Start(), x.Stop()
	last := 0
	for depth := x.Depth() - 1; x.Depth() > depth; {
		tok, err := x.Next()
		if err != nil {
			return err
		}
		if tok != lex.TokStart {
			continue
		}
		if !x.Is("row") {
			return x.Fail(x.From, "<%s> stands among the rows", lex.Snippet(x.FullName()))
		}
		n := last + 1
		if v := x.Attr("r"); v != nil {
			var ok bool
			if n, ok = lex.Index(v); !ok {
				return x.Fail(x.From, "a row after row %d has the number %q", last, lex.Snippet(v))
			}
		}
		if n <= last {
			return s.refuse(ReasonOrder, fmt.Sprintf("%d:%d", n, n), fmt.Sprintf("row %d stands after row %d, rows in rising order were expected", n, last), opc.SaveAnew)
		}
		if n > parts.MaxRow {
			return s.refuse(ReasonEdge, fmt.Sprintf("%d:%d", n, n), fmt.Sprintf("the row lies beyond the last row that a sheet can have, %d", parts.MaxRow), opc.SaveAnew)
		}
		last = n
		s.newRows(n, x.Start())
		if err := s.row(n); err != nil {
			return err
		}
	}
	if s.next == len(s.lines) {
		return nil
	}
	if !shut {
		s.newRows(parts.MaxRow+1, x.Start())
		return nil
	}
	// <sheetData/> has to be opened.
	raw := "<" + s.prefix + "sheetData>"
	mark := s.Change.Begin()
	s.Change.Text = append(s.Change.Text, raw...)
	s.appendRows(parts.MaxRow + 1)
	s.Change.Text = append(s.Change.Text, "</"+s.prefix+"sheetData>"...)
	s.Change.End(mark, from, to)
	return nil
}

// newRows puts in the rows below n that the sheet does not have yet.
func (s *Sheet) newRows(n int, at int64) {
	if s.next == len(s.lines) || s.lines[s.next].row >= n {
		return
	}
	mark := s.Change.Begin()
	s.appendRows(n)
	s.Change.End(mark, at, at)
}

func (s *Sheet) appendRows(n int) {
	for s.next < len(s.lines) && s.lines[s.next].row < n {
		row := s.lines[s.next].row
		open := len(s.Change.Text)
		s.Change.Text = fmt.Appendf(s.Change.Text, `<%srow r="%d">`, s.prefix, row)
		inside := len(s.Change.Text)
		for ; s.next < len(s.lines) && s.lines[s.next].row == row; s.next++ {
			s.fresh(s.lines[s.next], -1, -1)
		}
		if len(s.Change.Text) == inside {
			s.Change.Text = s.Change.Text[:open] // nothing but blanks
			continue
		}
		s.Change.Text = fmt.Appendf(s.Change.Text, "</%srow>", s.prefix)
	}
}

// row walks the row whose start tag is in hand.
func (s *Sheet) row(n int) error {
	x := s.x
	end := s.next
	for end < len(s.lines) && s.lines[end].row == n {
		end++
	}
	touched := s.lines[s.next:end]
	shut, stop := x.Closed(), x.Stop()
	spanFrom, spanTo, spanned := x.AttrSpan("spans")
	var spans string
	left, left2 := -1, -1
	if len(touched) > 0 {
		spans = string(x.Attr("spans"))
		if ht, err := strconv.ParseFloat(string(x.Attr("ht")), 64); err == nil && ht >= twoLines {
			s.tall[n] = true
		}
		// A row with a format of its own lends it to cells without neighbours.
		if lex.Truth(x.Attr("customFormat")) {
			if i, ok := lex.Index(x.Attr("s")); ok {
				left = i
			}
		}
	}
	before := len(s.Change.List)
	first, last := 0, 0
	for depth := x.Depth() - 1; x.Depth() > depth; {
		tok, err := x.Next()
		if err != nil {
			return err
		}
		if tok == lex.TokEnd && x.Depth() == depth && s.next < end {
			mark, from, to := s.Change.Begin(), x.Start(), x.Start()
			if shut {
				from, to = stop-2, stop
				s.Change.Text = append(s.Change.Text, '>')
			}
			inside := len(s.Change.Text)
			for ; s.next < end; s.next++ {
				left, left2 = s.columnLook(s.lines[s.next].col, left, left2)
				s.fresh(s.lines[s.next], left, left2)
			}
			switch {
			case !shut:
				s.Change.End(mark, from, to)
			case len(s.Change.Text) == inside:
				s.Change.Text = s.Change.Text[:mark]
			default:
				s.Change.Text = append(s.Change.Text, "</"+s.prefix+"row>"...)
				s.Change.End(mark, from, to)
			}
		}
		if tok != lex.TokStart || !x.Is("c") {
			if tok == lex.TokStart {
				if err := x.Skip(); err != nil {
					return err
				}
			}
			continue
		}
		col := last + 1
		if v := x.Attr("r"); v != nil {
			c, row, ok := cell.ParseA1(string(v))
			if !ok || row != n || c == 0 {
				return x.Fail(x.From, "a cell of row %d says that it stands at %q", n, lex.Snippet(v))
			}
			col = c
		}
		if col <= last {
			return s.refuse(ReasonOrder, cell.Ref{Col: col, Row: n}.A1(), fmt.Sprintf("the cell stands after column %s, each cell once and in rising order was expected", cell.ColumnName(last)), opc.SaveAnew)
		}
		if col > parts.MaxCol {
			return s.refuse(ReasonEdge, fmt.Sprintf("%d:%d", n, n), "a cell lies beyond the last column that a sheet can have, XFD", opc.SaveAnew)
		}
		last = col
		if first == 0 {
			first = col
		}
		if s.next < end && s.lines[s.next].col < col {
			mark := s.Change.Begin()
			for ; s.next < end && s.lines[s.next].col < col; s.next++ {
				left, left2 = s.columnLook(s.lines[s.next].col, left, left2)
				s.fresh(s.lines[s.next], left, left2)
			}
			s.Change.End(mark, x.Start(), x.Start())
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
			style, _ := lex.Index(x.Attr("s"))
			left, left2 = style, left
			if err := s.passBy(); err != nil {
				return err
			}
		}
	}
	if len(touched) > 0 && spanned && len(s.Change.List) > before {
		low, high := touched[0].col, max(last, touched[len(touched)-1].col)
		if first > 0 {
			low = min(low, first)
		}
		if wide := widerSpans(spans, low, high); wide != spans {
			s.Change.Put(spanFrom, spanTo, wide)
		}
	}
	return nil
}

// columnLook gives a cell without a neighbour the format of the column left of
// it, if that has one.
func (s *Sheet) columnLook(col, left, left2 int) (int, int) {
	if left >= 0 {
		return left, left2
	}
	for i := range s.colList {
		if c := &s.colList[i]; c.from < col && c.to >= col-1 {
			if style := lex.AttrOf(c.attrs, "style"); style != "" {
				if n, err := strconv.Atoi(style); err == nil {
					return n, -1
				}
			}
		}
	}
	return left, left2
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
func (s *Sheet) passBy() error {
	x := s.x
	for depth := x.Depth() - 1; x.Depth() > depth; {
		tok, err := x.Next()
		if err != nil {
			return err
		}
		if tok == lex.TokStart && x.Is("f") {
			s.formula(false, cell.Ref{})
		}
	}
	return nil
}

// formula looks at the f element in hand: gone says that its cell is
// overwritten. It reports whether it may be.
func (s *Sheet) formula(gone bool, at cell.Ref) bool {
	x := s.x
	s.AnyF = true
	kind, group, ref := string(x.Attr("t")), string(x.Attr("si")), string(x.Attr("ref"))
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
func (s *Sheet) read(col, row int, gone bool) (e existing, err error) {
	x := s.x
	e.style, _ = lex.Index(x.Attr("s"))
	typ, ok := read.ParseType(x.Attr("t"))
	if !ok {
		return e, x.Fail(x.From, "a cell of row %d holds a value of the kind %q, which the standard does not know", row, lex.Snippet(x.Attr("t")))
	}
	s.value = s.value[:0]
	has := false
	for depth := x.Depth() - 1; x.Depth() > depth; {
		tok, err := x.Next()
		if err != nil {
			return e, err
		}
		if tok != lex.TokStart {
			continue
		}
		switch {
		case x.Is("f"):
			e.formula = true
			e.torn = !s.formula(gone, cell.Ref{Col: col, Row: row})
			err = x.Skip()
		case x.Is("v"):
			has = true
			s.value, err = lex.TextOf(x, s.value)
		case x.Is("is"):
			has, typ = true, read.TypeInline
			s.value, err = lex.RichText(x, s.value)
		default:
			err = x.Skip()
		}
		if err != nil {
			return e, err
		}
	}
	if !has {
		return e, nil
	}
	v := s.value
	if typ != read.TypeInline && typ != read.TypeFormulaText {
		v = bytes.Trim(v, " \t\r\n")
	}
	switch typ {
	case read.TypeNumber:
		if len(v) == 0 {
			return e, nil
		}
		e.kind, e.text = grid.Text, string(v)
		if f, ok := read.ParseNumber(v); ok {
			e.kind, e.num = grid.Number, f
		}
	case read.TypeShared:
		text, err := s.sheet.Book.SharedString(v)
		if err != nil {
			return e, s.at(col, row, err)
		}
		e.kind, e.text = grid.Text, string(text)
	case read.TypeBool:
		e.kind, e.text = grid.Bool, string(v)
	case read.TypeError:
		e.kind, e.text = grid.Error, string(v)
	case read.TypeDate:
		e.kind, e.text = grid.ISODate, string(v)
	default:
		e.kind, e.text = grid.Text, string(v)
		if typ == read.TypeFormulaText {
			e.text = string(lex.DecodeEscapes(v))
		}
	}
	if e.kind == grid.Text && e.text == "" {
		e.kind = grid.Blank
	}
	return e, nil
}

// inspect looks at a cell of one of our columns that is not to be written. In a
// column that is new it is in the way.
func (s *Sheet) inspect(k, col, row int) error {
	e, err := s.read(col, row, false)
	if err == nil && !s.known[k] && (e.kind != grid.Blank || e.formula) {
		s.occupy(col, row)
	}
	return err
}

func (s *Sheet) occupy(col, row int) {
	s.occupiedN++
	s.occupied = append(s.occupied, cell.Ref{Col: col, Row: row})
}

// overwrite puts a target in the place of the cell whose start tag is in hand.
func (s *Sheet) overwrite(t target, left, left2 int) error {
	x := s.x
	from := x.Start()
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
	if !e.formula && e.same(v) && (s.styles.Fits(e.style, v.Look) || v.Blank()) {
		return nil
	}
	if e.torn {
		s.tornAt = append(s.tornAt, cell.Ref{Col: t.col, Row: t.row})
		return nil
	}
	if e.formula {
		s.Formulas = append(s.Formulas, cell.Ref{Col: t.col, Row: t.row})
	}
	if full && !e.same(v) {
		s.Changed = true
		if t.value == nil {
			s.renamed[t.col] = e.text
		}
	}
	style := e.style
	if !s.known[t.column] || !s.styles.Fits(style, v.Look) {
		style = s.styles.Dress(left, left2, v.Look)
	}
	mark := s.Change.Begin()
	s.appendCell(t, style, v)
	if mark == len(s.Change.Text) {
		// A blank cell in the place of one that was there: it stays, empty.
		s.Change.Text = fmt.Appendf(s.Change.Text, `<%sc r="%s"/>`, s.prefix, cell.Ref{Col: t.col, Row: t.row}.A1())
	}
	s.Change.End(mark, from, x.Stop())
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

func (s *Sheet) valueOf(t target) grid.Value {
	if t.value == nil {
		return grid.Str(s.cols[t.column].Heading, grid.LookHeading)
	}
	return *t.value
}

// fresh appends a cell that the sheet does not have yet.
func (s *Sheet) fresh(t target, left, left2 int) {
	v := s.valueOf(t)
	var style int
	if t.value == nil && left < 0 {
		style = s.styles.Own(grid.LookHeading)
	} else {
		style = s.styles.Dress(left, left2, v.Look)
	}
	s.appendCell(t, style, v)
}

// appendCell appends a cell's XML. A blank one is written for its look only:
// borders go on through it.
func (s *Sheet) appendCell(t target, style int, v grid.Value) {
	if v.Blank() && style == 0 {
		return
	}
	s.Change.Text = splice.AppendCell(s.Change.Text, s.prefix, t.col, t.row, style, v)
}
