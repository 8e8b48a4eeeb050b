// Package grid is what dropcut sees of a workbook or a CSV file: sheets of cells
// with their places, streamed row by row, and the edits to be written back. It
// knows no file format and no library.
package grid

import (
	"iter"

	"dropcut/plan/cell"
)

// Kind says what a cell holds.
type Kind uint8

const (
	// Blank is a cell without content. Readers leave blank cells out of a row,
	// but for a formula without a stored result, which is Blank with Formula set.
	Blank Kind = iota
	// Number is a number; Format tells a date from a length.
	Number
	// Text is text. Every cell of a CSV file is Text.
	Text
	// Bool is TRUE or FALSE, Raw "1" or "0".
	Bool
	// Error is an error value; Raw is its word, "#N/A".
	Error
	// ISODate is a date stored as text, "2026-01-04".
	ISODate
)

// Format is what a cell's number format makes of its number.
type Format uint8

const (
	// Plain is any format that shows the number as a number.
	Plain Format = iota
	// DateFormat shows the number as a date or a time of day.
	DateFormat
	// PercentFormat shows 0.95 as 95 %.
	PercentFormat
	// FractionFormat shows 82.25 as 82 1/4.
	FractionFormat
)

// Cell is one cell as the file stores it. Raw is valid until the next row is
// read; it is the stored text, never the shown one.
type Cell struct {
	Col     int // from 1
	Kind    Kind
	Format  Format
	Formula bool // the cell holds a formula
	Quoted  bool // CSV: the field stood in quotes
	Style   int32
	Num     float64 // the value of a Number
	Raw     []byte
}

// String gives a copy of the stored text.
func (c *Cell) String() string { return string(c.Raw) }

// Row is one row of a sheet: its cells in column order, without the blank ones.
type Row struct {
	N      int // from 1; a CSV file's records count, not its lines
	Hidden bool
	Cells  []Cell
}

// At returns the cell in a column, nil where it is blank.
func (r *Row) At(col int) *Cell {
	// Most rows are gapless, so the cell stands at its own index.
	if i := col - 1; i >= 0 && i < len(r.Cells) && r.Cells[i].Col == col {
		return &r.Cells[i]
	}
	for i := range r.Cells {
		if r.Cells[i].Col == col {
			return &r.Cells[i]
		}
	}
	return nil
}

// Range is a rectangle of cells, both ends included.
type Range struct {
	Col, Row     int
	ToCol, ToRow int
}

// Contains reports whether a cell lies in the range.
func (r Range) Contains(col, row int) bool {
	return col >= r.Col && col <= r.ToCol && row >= r.Row && row <= r.ToRow
}

// Sheet is one sheet of a Book.
type Sheet interface {
	// At is the sheet's file and name, without a cell.
	At() cell.Ref
	// Hidden reports whether people cannot see the sheet.
	Hidden() bool
	// Rows streams the rows that hold something, in the order of the file. The
	// row is valid until the next one. An error ends the stream: it names the
	// place, and nothing read before it may be trusted to be the whole sheet.
	Rows() iter.Seq2[*Row, error]
	// Merges lists the merged areas. It may have to read the sheet once.
	Merges() ([]Range, error)
	// HiddenCols lists the hidden columns as ranges of columns.
	HiddenCols() ([]Range, error)
}

// Book is an open workbook, CSV file or folder of CSV files.
type Book interface {
	// Name is the file's or folder's name as it stands in every Ref.
	Name() string
	Sheets() []Sheet
	// Notes says how the bytes were read, for inspect: encoding, line ends,
	// delimiter; one line each.
	Notes() []string
	Close() error
}
