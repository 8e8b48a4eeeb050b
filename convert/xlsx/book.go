package xlsx

import (
	"errors"
	"fmt"
	"io"
	"iter"
	"slices"
	"strings"

	"dropcut/convert/grid"
	"dropcut/plan/cell"
)

// Book is an open workbook (.xlsx, .xlsm). It is never written to. A Book and
// its sheets serve one goroutine at a time.
type Book struct {
	pack    *pack
	wb      *workbook
	styles  *styles
	strings *sharedStrings // nil until a cell asks for one
	sheets  []*Sheet
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
	p, err := openPack(path)
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
	p, err := newPack(name, r, size)
	if err != nil {
		return nil, err
	}
	return newBook(p)
}

func newBook(p *pack) (*Book, error) {
	wb, err := readWorkbook(p)
	if err != nil {
		return nil, err
	}
	b := &Book{pack: p, wb: wb, styles: &styles{}}
	if wb.styles != nil {
		if b.styles, err = readStyles(p, wb.styles); err != nil {
			return nil, err
		}
	}
	app, err := savedBy(p)
	if err != nil {
		return nil, err
	}
	if app != "" {
		b.notes = append(b.notes, "workbook saved by "+app)
	}
	hidden := 0
	for i := range wb.sheets {
		e := &wb.sheets[i]
		if e.kind != "worksheet" {
			b.notes = append(b.notes, fmt.Sprintf("sheet %q is no worksheet but a %s and is passed over", e.name, e.kind))
			continue
		}
		s := &Sheet{book: b, entry: e}
		b.sheets = append(b.sheets, s)
		if s.Hidden() {
			hidden++
		}
	}
	count := sheetCount(len(b.sheets))
	if hidden > 0 {
		count += fmt.Sprintf(", %d of them hidden", hidden)
	}
	b.notes = append(b.notes, count)
	for _, name := range wb.dangling {
		b.notes = append(b.notes, fmt.Sprintf("the part %s is missing; without it texts or date and fraction formats are not known", name))
	}
	if wb.date1904 {
		b.notes = append(b.notes, "dates count from 1904")
	}
	if wb.strict {
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
func (b *Book) Name() string { return b.pack.name }

// Sheets lists the worksheets in the order of the tabs.
func (b *Book) Sheets() []grid.Sheet {
	list := make([]grid.Sheet, len(b.sheets))
	for i, s := range b.sheets {
		list[i] = s
	}
	return list
}

// Sheet finds a worksheet by name, whatever its case; nil where there is none.
func (b *Book) Sheet(name string) *Sheet {
	for _, s := range b.sheets {
		if strings.EqualFold(s.entry.name, name) {
			return s
		}
	}
	return nil
}

// Notes says how the book was read, one line each.
func (b *Book) Notes() []string { return slices.Clone(b.notes) }

// Close closes the file.
func (b *Book) Close() error { return b.pack.Close() }

// Date1904 reports whether the book's day 0 is 1904-01-01.
func (b *Book) Date1904() bool { return b.wb.date1904 }

// Names lists the book's defined names.
func (b *Book) Names() []DefinedName { return slices.Clone(b.wb.names) }

// HasMacros reports whether the book carries a macro project.
func (b *Book) HasMacros() bool {
	return slices.ContainsFunc(b.pack.parts, func(e *part) bool {
		return strings.HasSuffix(strings.ToLower(e.name), "vbaproject.bin")
	})
}

// Signed reports whether the book carries a digital signature, which no longer
// holds once the book is written to.
func (b *Book) Signed() bool {
	return slices.ContainsFunc(b.pack.parts, func(e *part) bool {
		return strings.HasPrefix(strings.ToLower(e.name), "_xmlsignatures/")
	})
}

// Sheet is a worksheet of a Book.
type Sheet struct {
	book  *Book
	entry *sheetEntry
	head  *sheetHead // nil until read
	tail  *sheetTail // nil until read
}

// At is the sheet's file and name.
func (s *Sheet) At() cell.Ref { return cell.Ref{File: s.book.pack.name, Sheet: s.entry.name} }

// Hidden reports whether people cannot see the sheet.
func (s *Sheet) Hidden() bool { return s.entry.state == "hidden" || s.entry.state == "veryHidden" }

// Rows streams the rows that hold something. A row that the file does not
// number follows the one before; rows or cells out of order, addresses beyond
// the sheet, texts that are not in the book's table and damage end the stream
// with an error that names the place. The part's checksum is compared at its
// end: until the stream has ended without an error nothing that was read may be
// trusted.
func (s *Sheet) Rows() iter.Seq2[*grid.Row, error] {
	return func(yield func(*grid.Row, error) bool) {
		head, tail := &sheetHead{}, &sheetTail{}
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
	p := s.book.pack
	r, err := p.open(s.entry.part)
	if err != nil {
		return err
	}
	defer r.Close()
	scan := &scanner{x: newLexer(r, s.entry.part.name), sheet: s}
	err = scan.walk(w)
	at := s.At().String()
	if scan.row.N > 0 {
		at += fmt.Sprintf(" at or after row %d", scan.row.N)
	}
	var damage *lexError
	if errors.As(err, &damage) {
		return fmt.Errorf("%s: %w; the file is damaged: %s", at, err, saveAnew)
	}
	var part *partError
	if errors.As(err, &part) && part.part == s.entry.part.name {
		return fmt.Errorf("%s: the sheet is damaged: %s (%s); fetch the file again from where it came", at, part.how, part.part)
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
	return slices.Clone(tail.merges), nil
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
	r, ok := parseRange([]byte(tail.autoFilter))
	return r, ok, nil
}

func (s *Sheet) readTail() (*sheetTail, error) {
	if s.tail == nil {
		head, tail := &sheetHead{}, &sheetTail{}
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
			list = append(list, grid.Range{Col: c.From, ToCol: c.To, Row: 1, ToRow: maxRow})
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
	r, ok := parseRange(head.dimension)
	return r, ok, nil
}

// Tables lists the sheet's tables in the order of its relationships.
func (s *Sheet) Tables() ([]Table, error) {
	rels, err := s.book.pack.rels(s.entry.part.name)
	if err != nil {
		return nil, err
	}
	var list []Table
	for _, r := range rels {
		if r.kind != "table" || r.external {
			continue
		}
		e := s.book.pack.part(r.target)
		if e == nil {
			return nil, fmt.Errorf("%s is damaged: the part %s of a table is missing; %s", s.At(), r.target, saveAnew)
		}
		t, err := readTable(s.book.pack, e)
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
	if codes := s.book.styles.codes; int(style) < len(codes) {
		return codes[style]
	}
	return ""
}
