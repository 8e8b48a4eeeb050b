// Package starter makes the workbooks that dropcut gives to people who have
// none: the empty portfolio and the demonstration. They are new books, so the
// workbook library writes them.
package starter

import (
	"fmt"
	"io"

	"github.com/xuri/excelize/v2"
)

// book is a new workbook with the few styles that our sheets use. The first
// error stays and ends all further work, so that the makers read as a list.
type book struct {
	f   *excelize.File
	err error

	title, note, head, text, whole, eighth, percent, date, warn int
}

// Colours of our own: ink on paper, told apart by shade and rule as well, so
// that they survive a black-and-white printer.
const (
	ink   = "1F2A30"
	slate = "5B6B73"
	paper = "E7ECE4"
	sand  = "F3E7CF"
	line  = "9AA7A0"
)

func newBook() *book {
	b := &book{f: excelize.NewFile()}
	border := []excelize.Border{{Type: "bottom", Color: line, Style: 1}}
	b.title = b.style(&excelize.Style{Font: &excelize.Font{Bold: true, Size: 15, Color: ink}})
	b.note = b.style(&excelize.Style{Font: &excelize.Font{Italic: true, Color: slate}, Alignment: &excelize.Alignment{Vertical: "top", WrapText: true}})
	b.head = b.style(&excelize.Style{
		Font:      &excelize.Font{Bold: true, Color: ink},
		Fill:      excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{paper}},
		Alignment: &excelize.Alignment{WrapText: true, Vertical: "bottom"},
		Border:    []excelize.Border{{Type: "bottom", Color: ink, Style: 2}},
	})
	b.text = b.style(&excelize.Style{Border: border, Alignment: &excelize.Alignment{Vertical: "top"}})
	b.whole = b.style(&excelize.Style{Border: border, NumFmt: 3})
	b.eighth = b.style(&excelize.Style{Border: border, CustomNumFmt: ptr("# ?/16"), Alignment: &excelize.Alignment{Horizontal: "right"}})
	b.percent = b.style(&excelize.Style{Border: border, CustomNumFmt: ptr(`0.0"%"`)})
	b.date = b.style(&excelize.Style{Border: border, CustomNumFmt: ptr("yyyy\\-mm\\-dd")})
	b.warn = b.style(&excelize.Style{
		Font:      &excelize.Font{Bold: true, Color: ink},
		Fill:      excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{sand}},
		Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"},
		Border:    []excelize.Border{{Type: "left", Color: ink, Style: 5}},
	})
	return b
}

func ptr[T any](v T) *T { return &v }

func (b *book) style(s *excelize.Style) int {
	id, err := b.f.NewStyle(s)
	b.fail(err)
	return id
}

func (b *book) fail(err error) {
	if b.err == nil && err != nil {
		b.err = err
	}
}

// sheet adds a sheet; the first one takes the place of the library's own.
func (b *book) sheet(name string, widths ...float64) {
	if len(b.f.GetSheetList()) == 1 && b.f.GetSheetName(0) == "Sheet1" {
		b.fail(b.f.SetSheetName("Sheet1", name))
	} else {
		_, err := b.f.NewSheet(name)
		b.fail(err)
	}
	for i, w := range widths {
		col, err := excelize.ColumnNumberToName(i + 1)
		b.fail(err)
		b.fail(b.f.SetColWidth(name, col, col, w))
	}
}

// set writes a value (text, number, time, or a formula that begins with "=")
// with a style.
func (b *book) set(sheet string, col, row int, v any, style int) {
	at, err := excelize.CoordinatesToCellName(col, row)
	b.fail(err)
	switch v := v.(type) {
	case nil:
	case formula:
		b.fail(b.f.SetCellValue(sheet, at, v.cached))
		b.fail(b.f.SetCellFormula(sheet, at, v.text))
	default:
		b.fail(b.f.SetCellValue(sheet, at, v))
	}
	if style != 0 {
		b.fail(b.f.SetCellStyle(sheet, at, at, style))
	}
}

// formula is a live formula with the value that it has.
type formula struct {
	text   string
	cached any
}

// freeze keeps the rows down to and including row in view.
func (b *book) freeze(sheet string, row int) {
	b.fail(b.f.SetPanes(sheet, &excelize.Panes{
		Freeze: true, YSplit: row, TopLeftCell: fmt.Sprintf("A%d", row+1), ActivePane: "bottomLeft",
	}))
}

// choices puts a drop-down list on a column's cells.
func (b *book) choices(sheet string, col, row, toRow int, words []string) {
	name, err := excelize.ColumnNumberToName(col)
	b.fail(err)
	v := excelize.NewDataValidation(true)
	v.Sqref = fmt.Sprintf("%s%d:%s%d", name, row, name, toRow)
	b.fail(v.SetDropList(words))
	v.SetError(excelize.DataValidationErrorStyleWarning, "Not in the list", "dropcut understands the words of the list; others are asked about.")
	b.fail(b.f.AddDataValidation(sheet, v))
}

// landscape sets a sheet up for printing on as many pages as its rows need, one
// page wide.
func (b *book) landscape(sheet string) {
	b.fail(b.f.SetSheetProps(sheet, &excelize.SheetPropsOptions{FitToPage: ptr(true)}))
	b.fail(b.f.SetPageLayout(sheet, &excelize.PageLayoutOptions{Orientation: ptr("landscape"), FitToWidth: ptr(1), FitToHeight: ptr(0)}))
}

// comment hangs a note on a cell.
func (b *book) comment(sheet string, col, row int, text string) {
	if text == "" {
		return
	}
	at, err := excelize.CoordinatesToCellName(col, row)
	b.fail(err)
	b.fail(b.f.AddComment(sheet, excelize.Comment{Cell: at, Author: "dropcut", Text: text, Width: 260, Height: 80}))
}

// write finishes the book.
func (b *book) write(w io.Writer) error {
	b.f.SetActiveSheet(0)
	if b.err == nil {
		b.err = b.f.SetDocProps(&excelize.DocProperties{Creator: "dropcut", LastModifiedBy: "dropcut", Created: epoch, Modified: epoch})
	}
	if b.err != nil {
		return fmt.Errorf("making the workbook: %w", b.err)
	}
	_, err := b.f.WriteTo(w)
	return err
}

// epoch stands where the format wants a date: the same book is the same bytes
// whenever it is made.
const epoch = "2026-01-01T00:00:00Z"
