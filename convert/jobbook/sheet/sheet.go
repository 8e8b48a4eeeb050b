// Package sheet writes new workbooks straight into their parts: cells, formulas
// with the values they give, validation, names, pictures and the set-up of
// printing. It writes what dropcut's own pages need and nothing else, holds no
// tree of objects, and the same book is always the same bytes.
//
// A workbook library is not used here because it takes three to six times as
// long for the same pages; the books are read back with two readers in the
// tests.
package sheet

import (
	"fmt"
	"strings"

	"dropcut/convert/jobbook/formula"
	"dropcut/plan/cell"
)

// Style is the dress of a cell: an index into the looks of a Writer.
type Style int

// Look is what a Style looks like.
type Look struct {
	Size         float64 // points; 0 for the book's own
	Bold, Italic bool
	Pale         bool   // grey letters
	Fill         string // RRGGBB; "" for none
	Border       Border
	Across       string // "center", "right", ""
	Down         string // "center", "top", ""
	Wrap         bool
	Shrink       bool   // letters get smaller until the text fits
	Indent       int    // of a text at the left, in letters
	Format       string // number format; "" for General
}

// Border says which sides of a cell have lines.
type Border uint8

// The borders.
const (
	NoBorder Border = iota
	Under           // a thin line below
	Box             // thin lines all around
	Thick           // medium lines all around
	Heavy           // a medium line below
)

// Cell is a cell of a page.
type Cell struct {
	style   Style
	value   formula.Value
	formula string
}

// row is one row, its cells in column order.
type row struct {
	height float64
	cells  []at
}

type at struct {
	col int
	Cell
}

// Rule is what may be typed into a cell.
type Rule struct {
	// Kind is "custom", "list" or "date"; Formula is its condition, the quoted
	// list, or the first of the days.
	Kind    string
	Formula string
	// Must says that anything else is refused; otherwise it is asked about.
	Must          bool
	Title, Prompt string
	Wrong         string
}

type rule struct {
	col, row int
	Rule
}

type picture struct {
	data          []byte
	col, row      int
	width, height float64 // points
	name, about   string
}

// Sheet is one sheet of a book.
type Sheet struct {
	Name   string
	widths []float64
	rows   []row
	merges [][4]int
	rules  []rule
	pics   []picture
	marked [][2]int // cells that are filled while they hold a text
	// Landscape, Repeat and Pages set up the printing: Repeat rows come again on
	// each page, and only a sheet with Pages may need more than one.
	Landscape bool
	Repeat    int
	Pages     bool
	Footer    string
	// area is the range that is printed.
	area [4]int
	book *Book
}

// Book is a book while it is made.
type Book struct {
	Title  string
	Letter bool // paper of the United States; A4 else
	Sheets []*Sheet
	names  []name
	order  []name // the cells with formulas, as they were written
	err    error
}

type name struct {
	text     string
	sheet    *Sheet
	col, row int
}

// Add adds a sheet. Its name is cut to what a tab can hold and made unique.
func (b *Book) Add(text string, widths ...float64) *Sheet {
	s := &Sheet{Name: b.tab(text), widths: widths, book: b}
	b.Sheets = append(b.Sheets, s)
	return s
}

// tab makes the name of a tab: no more than 31 letters (ECMA-376 18.2.19), none
// that an address cannot hold, and no name twice.
func (b *Book) tab(text string) string {
	clean := strings.Map(func(r rune) rune {
		switch {
		case strings.ContainsRune(`:\/?*[]'`, r):
			return '-'
		case r < 0x20 || r == 0xFFFD:
			return -1
		}
		return r
	}, strings.TrimSpace(text))
	if clean == "" {
		clean = "Sheet"
	}
	for n := 1; ; n++ {
		end := ""
		if n > 1 {
			end = fmt.Sprintf(" (%d)", n)
		}
		full := clip16(clean, 31-len(end)) + end
		taken := false
		for _, s := range b.Sheets {
			taken = taken || strings.EqualFold(s.Name, full)
		}
		if !taken {
			return full
		}
	}
}

// clip16 cuts a text to n letters as the format counts them, in UTF-16.
func clip16(s string, n int) string {
	used := 0
	for i, r := range s {
		w := 1
		if r > 0xFFFF {
			w = 2
		}
		if used+w > n {
			return s[:i]
		}
		used += w
	}
	return s
}

// Height sets the height of a row in points.
func (s *Sheet) Height(r int, points float64) { s.row(r).height = points }

func (s *Sheet) row(r int) *row {
	for len(s.rows) < r {
		s.rows = append(s.rows, row{})
	}
	return &s.rows[r-1]
}

// cell gives a cell, which is made where there is none.
func (s *Sheet) cell(col, r int) *Cell {
	line := s.row(r)
	i := len(line.cells)
	for i > 0 && line.cells[i-1].col >= col {
		i--
	}
	if i < len(line.cells) && line.cells[i].col == col {
		return &line.cells[i].Cell
	}
	line.cells = append(line.cells, at{})
	copy(line.cells[i+1:], line.cells[i:])
	line.cells[i] = at{col: col}
	return &line.cells[i].Cell
}

// Text, Num and Blank write a cell.
func (s *Sheet) Text(col, r int, style Style, text string) {
	*s.cell(col, r) = Cell{style: style, value: formula.Str(text)}
}

// Num writes a number.
func (s *Sheet) Num(col, r int, style Style, v float64) {
	*s.cell(col, r) = Cell{style: style, value: formula.Num(v)}
}

// Blank dresses a cell that is to be filled in.
func (s *Sheet) Blank(col, r int, style Style) { *s.cell(col, r) = Cell{style: style} }

// Formula writes a formula, without the equals sign, and computes it from the
// cells that stand in the book by now. It gives the value.
func (s *Sheet) Formula(col, r int, style Style, text string) formula.Value {
	v, err := formula.Eval(text, s.Value)
	if err != nil && s.book.err == nil {
		s.book.err = fmt.Errorf("%s!%s: %w", s.Name, Address(col, r), err)
	}
	*s.cell(col, r) = Cell{style: style, value: v, formula: text}
	s.book.order = append(s.book.order, name{sheet: s, col: col, row: r})
	return v
}

// Value gives the value of a cell; it serves formulas.
func (s *Sheet) Value(sheet string, col, r int) formula.Value {
	of := s
	if sheet != "" {
		of = s.book.Sheet(sheet)
	}
	if of == nil {
		return formula.Value{Kind: formula.Error, Text: "#REF!"}
	}
	if r > len(of.rows) {
		return formula.Value{}
	}
	cells := of.rows[r-1].cells
	// Most rows are without gaps.
	if i := col - 1; i < len(cells) && cells[i].col == col {
		return cells[i].value
	}
	for i := range cells {
		if cells[i].col == col {
			return cells[i].value
		}
	}
	return formula.Value{}
}

// Sheet finds a sheet by its name; nil where there is none.
func (b *Book) Sheet(name string) *Sheet {
	for _, s := range b.Sheets {
		if s.Name == name {
			return s
		}
	}
	return nil
}

// Retype changes a cell's value, as somebody does who types into it, and computes
// every formula of the book again, in the order in which they were written; each
// stands behind what it reads. It serves tests.
func (b *Book) Retype(s *Sheet, col, r int, v formula.Value) error {
	s.Type(col, r, v)
	for _, f := range b.order {
		c := f.sheet.cell(f.col, f.row)
		if c.formula == "" {
			continue
		}
		v, err := formula.Eval(c.formula, f.sheet.Value)
		if err != nil {
			return err
		}
		c.value = v
	}
	return nil
}

// Type changes a cell's value and leaves all results as they are.
func (s *Sheet) Type(col, r int, v formula.Value) {
	c := s.cell(col, r)
	c.value, c.formula = v, ""
}

// Find gives the cell of a name.
func (b *Book) Find(text string) (s *Sheet, col, r int, ok bool) {
	for _, n := range b.names {
		if n.text == text {
			return n.sheet, n.col, n.row, true
		}
	}
	return nil, 0, 0, false
}

// Merge joins cells; those without a dress get that of the first.
func (s *Sheet) Merge(col, r, toCol, toRow int) {
	if col == toCol && r == toRow {
		return
	}
	style := s.cell(col, r).style
	for y := r; y <= toRow; y++ {
		for x := col; x <= toCol; x++ {
			if c := s.cell(x, y); c.style == 0 {
				c.style = style
			}
		}
	}
	s.merges = append(s.merges, [4]int{col, r, toCol, toRow})
}

// Allow says what may be typed into a cell.
func (s *Sheet) Allow(col, r int, what Rule) { s.rules = append(s.rules, rule{col, r, what}) }

// NameCell gives a cell a name that holds in the whole book.
func (s *Sheet) NameCell(text string, col, r int) {
	s.book.names = append(s.book.names, name{text, s, col, r})
}

// MarkWhileText fills a cell while it holds a text.
func (s *Sheet) MarkWhileText(col, r int) { s.marked = append(s.marked, [2]int{col, r}) }

// Picture puts a PNG on the sheet, its corner on a cell, so many points wide.
func (s *Sheet) Picture(col, r int, png []byte, width, height float64, name, about string) {
	s.pics = append(s.pics, picture{png, col, r, width, height, name, about})
}

// Pictures gives the names of the sheet's pictures.
func (s *Sheet) Pictures() []string {
	list := make([]string, len(s.pics))
	for i := range s.pics {
		list[i] = s.pics[i].name
	}
	return list
}

// Print sets the range that is printed, from A1.
func (s *Sheet) Print(toCol, toRow int) { s.area = [4]int{1, 1, toCol, toRow} }

// Formulas gives the number of formulas on the sheet.
func (s *Sheet) Formulas() int {
	n := 0
	for i := range s.rows {
		for j := range s.rows[i].cells {
			if s.rows[i].cells[j].formula != "" {
				n++
			}
		}
	}
	return n
}

// Each goes through the cells in the order of rows.
func (s *Sheet) Each(do func(col, row int, v formula.Value, computed bool)) {
	for i := range s.rows {
		for j := range s.rows[i].cells {
			c := &s.rows[i].cells[j]
			do(c.col, i+1, c.value, c.formula != "")
		}
	}
}

// Rows gives the number of rows that have been written.
func (s *Sheet) Rows() int { return len(s.rows) }

// Address gives "B7".
func Address(col, r int) string { return cell.Ref{Col: col, Row: r}.A1() }

// Fixed gives "$B$7".
func Fixed(col, r int) string { return fmt.Sprintf("$%s$%d", cell.ColumnName(col), r) }

// Quote gives a sheet's name as it stands in formulas.
func (s *Sheet) Quote() string { return "'" + strings.ReplaceAll(s.Name, "'", "''") + "'" }

// Span writes a text over columns.
func (s *Sheet) Span(col, row, to int, style Style, text string) {
	s.Text(col, row, style, text)
	s.Merge(col, row, to, row)
}

// SpanFormula writes a formula over columns.
func (s *Sheet) SpanFormula(col, row, to int, style Style, text string) formula.Value {
	v := s.Formula(col, row, style, text)
	s.Merge(col, row, to, row)
	return v
}
