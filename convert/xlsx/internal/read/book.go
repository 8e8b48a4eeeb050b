// Package read gives a workbook as a grid.Book: its sheets as streams of rows.
// It knows the sheets that dropcut has added, too.
package read

import (
	"errors"
	"fmt"
	"io"
	"iter"
	"slices"
	"strconv"
	"strings"

	"dropcut/convert/grid"
	"dropcut/convert/xlsx/internal/lex"
	"dropcut/convert/xlsx/internal/opc"
	"dropcut/convert/xlsx/internal/parts"
	"dropcut/plan/cell"
)

// sheetCount says "1 sheet", "3 sheets".
func sheetCount(n int) string {
	if n == 1 {
		return "1 sheet"
	}
	return strconv.Itoa(n) + " sheets"
}

// SharedString reads a cell's index into the table.
func (b *Book) SharedString(v []byte) ([]byte, error) {
	if b.strings == nil {
		if b.Wb.Strings == nil {
			return nil, fmt.Errorf("it points to shared text %s but the book has no shared texts", lex.Snippet(v))
		}
		s, err := parts.ReadStrings(b.Pack, b.Wb.Strings)
		if err != nil {
			return nil, err
		}
		b.strings = s
	}
	i, ok := lex.Index(v)
	if !ok {
		return nil, fmt.Errorf("it points to shared text %q, a number was expected", lex.Snippet(v))
	}
	text, ok := b.strings.At(i)
	if !ok {
		return nil, fmt.Errorf("it points to shared text %d but the book has %d of them (from 0)", i, len(b.strings.Ends))
	}
	return text, nil
}

// Book is an open workbook (.xlsx, .xlsm). It is never written to. A Book and
// its sheets serve one goroutine at a time.
type Book struct {
	Pack    *opc.Package
	Wb      *parts.Workbook
	styles  *parts.Styles
	strings *parts.Strings // nil until a cell asks for one
	List    []*Sheet
	notes   []string
}

var (
	_ grid.Book  = (*Book)(nil)
	_ grid.Sheet = (*Sheet)(nil)
)

// Open opens a workbook for reading. The error names the file, what it is
// instead of a sound workbook, and what to do. Sheets are read when asked for:
// damage in one of them shows there.
func Open(path string) (*Book, error) {
	p, err := opc.Open(path)
	if err != nil {
		return nil, err
	}
	b, err := newBook(p)
	if err != nil {
		p.Close()
		return nil, err
	}
	return b, nil
}

// OpenReader opens a workbook from its bytes; name stands in every Ref.
func OpenReader(name string, r io.ReaderAt, size int64) (*Book, error) {
	p, err := opc.New(name, r, size)
	if err != nil {
		return nil, err
	}
	return newBook(p)
}

func newBook(p *opc.Package) (*Book, error) {
	wb, err := parts.ReadWorkbook(p)
	if err != nil {
		return nil, err
	}
	b := &Book{Pack: p, Wb: wb, styles: &parts.Styles{}}
	b.settleMarks()
	if wb.Styles != nil {
		if b.styles, err = parts.ReadStyles(p, wb.Styles); err != nil {
			return nil, err
		}
	}
	app, err := parts.SavedBy(p)
	if err != nil {
		return nil, err
	}
	if app != "" {
		b.notes = append(b.notes, "workbook saved by "+app)
	}
	hidden := 0
	for i := range wb.Sheets {
		e := &wb.Sheets[i]
		if e.Kind != "worksheet" {
			b.notes = append(b.notes, fmt.Sprintf("sheet %q is no worksheet but a %s and is passed over", e.Name, e.Kind))
			continue
		}
		s := &Sheet{Book: b, Entry: e}
		b.List = append(b.List, s)
		if s.Hidden() {
			hidden++
		}
	}
	count := sheetCount(len(b.List))
	if hidden > 0 {
		count += fmt.Sprintf(", %d of them hidden", hidden)
	}
	b.notes = append(b.notes, count)
	for _, name := range wb.Dangling {
		b.notes = append(b.notes, fmt.Sprintf("the part %s is missing; without it texts or date and fraction formats are not known", name))
	}
	if wb.Date1904 {
		b.notes = append(b.notes, "dates count from 1904")
	}
	if wb.Strict {
		b.notes = append(b.notes, "strict Open XML")
	}
	if b.HasMacros() {
		b.notes = append(b.notes, "holds macros, which are kept and never run")
	}
	if b.Signed() {
		b.notes = append(b.notes, "is digitally signed")
	}
	return b, nil
}

// Name is the file's name without its folder.
func (b *Book) Name() string { return b.Pack.Name }

// Sheets lists the worksheets in the order of the tabs.
func (b *Book) Sheets() []grid.Sheet {
	list := make([]grid.Sheet, len(b.List))
	for i, s := range b.List {
		list[i] = s
	}
	return list
}

// Sheet finds a worksheet by name, whatever its case; nil where there is none.
func (b *Book) Sheet(name string) *Sheet {
	for _, s := range b.List {
		if strings.EqualFold(s.Entry.Name, name) {
			return s
		}
	}
	return nil
}

// Notes says how the book was read, one line each.
func (b *Book) Notes() []string { return slices.Clone(b.notes) }

// Close closes the file.
func (b *Book) Close() error { return b.Pack.Close() }

// Date1904 reports whether the book's day 0 is 1904-01-01.
func (b *Book) Date1904() bool { return b.Wb.Date1904 }

// Names lists the book's defined names.
func (b *Book) Names() []parts.DefinedName { return slices.Clone(b.Wb.Names) }

// HasMacros reports whether the book carries a macro project.
func (b *Book) HasMacros() bool {
	return slices.ContainsFunc(b.Pack.Parts, func(e *opc.Part) bool {
		return strings.HasSuffix(strings.ToLower(e.Name), "vbaproject.bin")
	})
}

// Signed reports whether the book carries a digital signature, which no longer
// holds once the book is written to.
func (b *Book) Signed() bool {
	return slices.ContainsFunc(b.Pack.Parts, func(e *opc.Part) bool {
		return strings.HasPrefix(strings.ToLower(e.Name), "_xmlsignatures/")
	})
}

// Sheet is a worksheet of a Book.
type Sheet struct {
	Book  *Book
	Entry *parts.SheetEntry
	head  *sheetHead // nil until read
	tail  *SheetTail // nil until read
}

// At is the sheet's file and name.
func (s *Sheet) At() cell.Ref { return cell.Ref{File: s.Book.Pack.Name, Sheet: s.Entry.Name} }

// Hidden reports whether people cannot see the sheet.
func (s *Sheet) Hidden() bool { return s.Entry.State == "hidden" || s.Entry.State == "veryHidden" }

// Rows streams the rows that hold something. A row that the file does not
// number follows the one before; rows or cells out of order, addresses beyond
// the sheet, texts that are not in the book's table and damage end the stream
// with an error that names the place. The part's checksum is compared at its
// end: until the stream has ended without an error nothing that was read may be
// trusted.
func (s *Sheet) Rows() iter.Seq2[*grid.Row, error] {
	return func(yield func(*grid.Row, error) bool) {
		head, tail := &sheetHead{}, &SheetTail{}
		err := s.walk(sheetWalk{head: head, tail: tail, rows: func(r *grid.Row) error {
			if !yield(r, nil) {
				return errBreak
			}
			return nil
		}})
		switch {
		case err == nil:
			s.head, s.tail = head, tail
		case !errors.Is(err, errBreak):
			yield(nil, err)
		}
	}
}

// walk streams the sheet's part through a scanner and words its damage.
func (s *Sheet) walk(w sheetWalk) error {
	p := s.Book.Pack
	r, err := p.Open(s.Entry.Part)
	if err != nil {
		return err
	}
	defer r.Close()
	scan := &Scanner{X: lex.New(r, s.Entry.Part.Name), Sheet: s}
	err = scan.walk(w)
	at := s.At().String()
	if scan.row.N > 0 {
		at += fmt.Sprintf(" at or after row %d", scan.row.N)
	}
	var damage *lex.Error
	if errors.As(err, &damage) {
		return fmt.Errorf("%s: %w; the file is damaged: %s", at, err, opc.SaveAnew)
	}
	var part *opc.PartError
	if errors.As(err, &part) && part.Part == s.Entry.Part.Name {
		return fmt.Errorf("%s: the sheet is damaged: %s (%s); fetch the file again from where it came", at, part.How, part.Part)
	}
	return err
}

// Merges lists the merged areas. Before the rows were read to their end it has
// to run over the sheet once.
func (s *Sheet) Merges() ([]grid.Range, error) {
	tail, err := s.readTail()
	if err != nil {
		return nil, err
	}
	return slices.Clone(tail.Merges), nil
}

// Protected reports whether the sheet is protected against changes.
func (s *Sheet) Protected() (bool, error) {
	tail, err := s.readTail()
	if err != nil {
		return false, err
	}
	return tail.protected, nil
}

// AutoFilter gives the range under the sheet's filter; ok is false without one.
func (s *Sheet) AutoFilter() (_ grid.Range, ok bool, err error) {
	tail, err := s.readTail()
	if err != nil {
		return grid.Range{}, false, err
	}
	r, ok := parts.ParseRange([]byte(tail.autoFilter))
	return r, ok, nil
}

func (s *Sheet) readTail() (*SheetTail, error) {
	if s.tail == nil {
		head, tail := &sheetHead{}, &SheetTail{}
		if err := s.walk(sheetWalk{head: head, tail: tail}); err != nil {
			return nil, err
		}
		s.head, s.tail = head, tail
	}
	return s.tail, nil
}

func (s *Sheet) readHead() (*sheetHead, error) {
	if s.head == nil {
		head := &sheetHead{}
		if err := s.walk(sheetWalk{head: head}); err != nil {
			return nil, err
		}
		s.head = head
	}
	return s.head, nil
}

// Cols lists the ranges of columns that have a width, style or hiding of their
// own. Only the sheet's beginning is read for it.
func (s *Sheet) Cols() ([]Col, error) {
	head, err := s.readHead()
	if err != nil {
		return nil, err
	}
	return slices.Clone(head.cols), nil
}

// HiddenCols lists the hidden columns as ranges from Col to ToCol; their rows
// are all rows of the sheet.
func (s *Sheet) HiddenCols() ([]grid.Range, error) {
	cols, err := s.Cols()
	if err != nil {
		return nil, err
	}
	var list []grid.Range
	for _, c := range cols {
		if c.Hidden {
			list = append(list, grid.Range{Col: c.From, ToCol: c.To, Row: 1, ToRow: parts.MaxRow})
		}
	}
	return list, nil
}

// Dimension gives the range that the sheet says it fills; ok is false where it
// says nothing or nonsense. Writers are careless about it: it bounds nothing.
func (s *Sheet) Dimension() (_ grid.Range, ok bool, err error) {
	head, err := s.readHead()
	if err != nil {
		return grid.Range{}, false, err
	}
	r, ok := parts.ParseRange(head.dimension)
	return r, ok, nil
}

// Tables lists the sheet's tables in the order of its relationships.
func (s *Sheet) Tables() ([]parts.Table, error) {
	rels, err := s.Book.Pack.Rels(s.Entry.Part.Name)
	if err != nil {
		return nil, err
	}
	var list []parts.Table
	for _, r := range rels {
		if r.Kind != "table" || r.External {
			continue
		}
		e := s.Book.Pack.Part(r.Target)
		if e == nil {
			return nil, fmt.Errorf("%s is damaged: the part %s of a table is missing; %s", s.At(), r.Target, opc.SaveAnew)
		}
		t, err := parts.ReadTable(s.Book.Pack, e)
		if err != nil {
			return nil, err
		}
		list = append(list, t)
	}
	return list, nil
}

// FormatCode gives the number format code of a style, such as `0.0" in"`; ""
// for a built-in format.
func (s *Sheet) FormatCode(style int32) string {
	if codes := s.Book.styles.Codes; int(style) < len(codes) {
		return codes[style]
	}
	return ""
}
