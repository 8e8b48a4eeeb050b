// Package xlsx reads other people's workbooks and writes into them without
// touching what it does not have to. It works on the package (a zip archive of
// XML parts, ECMA-376 Part 2) and never rebuilds a foreign book from a model.
//
// This is the door; the work is done in the rooms behind it, from below:
//
//	internal/lex      cuts a part into tokens that keep every byte
//	internal/opc      opens the archive, checks it, streams and copies its parts
//	internal/parts    what is around the sheets: lists of sheets and names, styles, texts, tables
//	internal/read     sheets as rows, and the book as a grid.Book
//	internal/splice   changes to the bytes of one part, and cells as XML
//	internal/dress    cell formats added to a book's own
//	internal/columns  new columns on a sheet of somebody else's
//	internal/patch    the whole book patched
//	internal/verify   the written book held against the old one, by a second reader
//	internal/handmade packages made by hand, for the tests
package xlsx

import (
	"io"

	"dropcut/convert/grid"
	"dropcut/convert/xlsx/internal/columns"
	"dropcut/convert/xlsx/internal/patch"
	"dropcut/convert/xlsx/internal/read"
	"dropcut/convert/xlsx/internal/verify"
)

type (
	// Book is an open workbook, Sheet a worksheet of it.
	Book  = read.Book
	Sheet = read.Sheet
	// Beside is a comment, a picture or a drawing beside a sheet's cells.
	Beside = read.Beside
	// Report says what a patch did.
	Report = patch.Report
	// Refused says that nothing was written, why, and what to do.
	Refused = columns.Refused
	// Reason is why a sheet cannot be written to as asked.
	Reason = columns.Reason
	// Place says where new columns go on a sheet.
	Place = columns.Place
)

// What a Refused may give as its Reason.
const (
	ReasonOccupied  = columns.ReasonOccupied
	ReasonFormula   = columns.ReasonFormula
	ReasonMerged    = columns.ReasonMerged
	ReasonTable     = columns.ReasonTable
	ReasonProtected = columns.ReasonProtected
	ReasonStructure = columns.ReasonStructure
	ReasonNoSheet   = columns.ReasonNoSheet
	ReasonEdge      = columns.ReasonEdge
	ReasonOrder     = columns.ReasonOrder
)

// Open opens a workbook for reading. The error names the file, what it is
// instead of a sound workbook, and what to do. Sheets are read when asked for:
// damage in one of them shows there.
func Open(path string) (*Book, error) { return read.Open(path) }

// OpenReader opens a workbook from its bytes; name stands in every Ref.
func OpenReader(name string, r io.ReaderAt, size int64) (*Book, error) {
	return read.OpenReader(name, r, size)
}

// FindPlace finds n free columns side by side for headings in a row of a sheet
// and values in the given rows below it (in rising order; nil for all rows). A
// protected sheet is refused with a *Refused, and so is one without room.
func FindPlace(s *Sheet, headerRow int, rows []int, n int) (Place, error) {
	return columns.FindPlace(s, headerRow, rows, n)
}

// Patch writes a copy of a workbook with an edit done to w. Only what the edit
// needs is rewritten, and that only at the bytes that change; every other entry
// of the archive is copied raw. Where the edit cannot be done without harm the
// error is a *Refused that names the range.
func Patch(src *Book, edit grid.Edit, w io.Writer) (*Report, error) {
	return patch.Patch(src, edit, w)
}

// Verify compares a written workbook with the one it was made from and with the
// edit. The error names the first part and cell that differ.
func Verify(oldPath, newPath string, edit grid.Edit) error {
	return verify.Files(oldPath, newPath, edit)
}
