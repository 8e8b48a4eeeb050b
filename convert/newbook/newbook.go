// Package newbook writes new workbooks as a stream, sheet after sheet and row
// after row, so that a book of any size takes no more memory than a small one.
// The same calls give the same bytes.
package newbook

import (
	"archive/zip"
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/klauspost/compress/flate"

	"dropcut/plan/cell"
)

// What a sheet can hold (ECMA-376 part 1 sets no bound; these are those of the
// programs that read it).
const (
	MaxRows = 1_048_576
	MaxCols = 16_384
	maxText = 32_767
)

// sharedTexts is the most texts that are kept once for the whole book; texts met
// after so many stand in their cells, so that memory stays bounded.
const sharedTexts = 1 << 15

// level is that of the compression: a middle one, since the levels above it take
// far longer for a few hundredths of the size.
const level = 5

// Sheet says how a sheet looks and prints.
type Sheet struct {
	Name   string
	Widths []float64 // of the columns, in characters
	// Head is the row down to which the headings go: it stays in view. The rows
	// from Repeat to Head are printed on every page; Repeat 0 repeats none.
	Head      int
	Repeat    int
	Landscape bool
	// Tall is how many pages tall a printout may be, 0 for any number. It is
	// always one page wide.
	Tall int
	// A4 prints on A4, else on Letter; margins are such that either will do.
	A4 bool
}

// Book is a workbook being written. The first error stays; Close gives it.
type Book struct {
	zip    *zip.Writer
	out    *bufio.Writer // of the sheet in hand, nil for none
	spare  *bufio.Writer // the one that serves all sheets
	styles []Style
	sheets []Sheet
	row    int // the last row of the sheet in hand
	open   bool
	col    int
	height float64 // of the row in hand, 0 for the usual one
	names  map[string]bool
	text   map[string]int
	order  []string
	buf    []byte
	err    error
}

// New begins a workbook. A cell's style is an index into styles, counted from 1;
// 0 is a cell without one.
func New(w io.Writer, styles []Style) *Book {
	z := zip.NewWriter(w)
	// The parts are written one after the other, so that one compressor serves
	// them all; a new one for each of thousands of sheets would be a megabyte each.
	var one *flate.Writer
	z.RegisterCompressor(zip.Deflate, func(out io.Writer) (io.WriteCloser, error) {
		if one != nil {
			one.Reset(out)
			return one, nil
		}
		var err error
		one, err = flate.NewWriter(out, level)
		return one, err
	})
	return &Book{zip: z, styles: styles, names: map[string]bool{}, text: map[string]int{}}
}

func (b *Book) fail(err error) {
	if b.err == nil && err != nil {
		b.err = err
	}
}

// Sheet ends the sheet in hand and begins the next one.
func (b *Book) Sheet(s Sheet) {
	b.endSheet()
	if b.err != nil {
		return
	}
	fold := strings.ToLower(s.Name)
	if b.names[fold] {
		b.fail(fmt.Errorf("two sheets are called %q", s.Name))
		return
	}
	b.names[fold] = true
	if s.Name == "" || utf8.RuneCountInString(s.Name) > 31 || strings.ContainsAny(s.Name, `[]:*?/\`) {
		b.fail(fmt.Errorf("%q is no name for a sheet; expected 1 to 31 characters and none of []:*?/\\", s.Name))
		return
	}
	b.sheets = append(b.sheets, s)
	f, err := b.zip.Create(fmt.Sprintf("xl/worksheets/sheet%d.xml", len(b.sheets)))
	if err != nil {
		b.fail(err)
		return
	}
	if b.spare == nil {
		b.spare = bufio.NewWriterSize(f, 64<<10)
	}
	b.spare.Reset(f)
	b.out = b.spare
	b.row, b.open = 0, false
	b.print(xmlHead, `<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetPr><pageSetUpPr fitToPage="1"/></sheetPr><sheetViews><sheetView workbookViewId="0"`)
	if len(b.sheets) == 1 {
		b.print(` tabSelected="1"`)
	}
	b.print(`>`)
	if s.Head > 0 {
		b.print(fmt.Sprintf(`<pane ySplit="%d" topLeftCell="A%d" activePane="bottomLeft" state="frozen"/>`, s.Head, s.Head+1))
	}
	b.print(`</sheetView></sheetViews><sheetFormatPr defaultRowHeight="15"/>`)
	if len(s.Widths) > 0 {
		b.print(`<cols>`)
		for i, w := range s.Widths {
			b.print(fmt.Sprintf(`<col min="%d" max="%[1]d" width="%g" customWidth="1"/>`, i+1, w))
		}
		b.print(`</cols>`)
	}
	b.print(`<sheetData>`)
}

func (b *Book) endSheet() {
	if b.out == nil {
		return
	}
	b.endRow()
	s := b.sheets[len(b.sheets)-1]
	paper, turn := 1, "portrait"
	if s.A4 {
		paper = 9
	}
	if s.Landscape {
		turn = "landscape"
	}
	b.print(`</sheetData><pageMargins left="0.5" right="0.5" top="0.6" bottom="0.7" header="0.3" footer="0.35"/>`)
	b.print(fmt.Sprintf(`<pageSetup paperSize="%d" orientation="%s" fitToWidth="1" fitToHeight="%d"/>`, paper, turn, s.Tall))
	b.print(`<headerFooter><oddFooter>&amp;L&amp;A&amp;R&amp;P / &amp;N</oddFooter></headerFooter></worksheet>`)
	b.fail(b.out.Flush())
	b.out = nil
}

func (b *Book) print(parts ...string) {
	if b.err != nil || b.out == nil {
		return
	}
	for _, p := range parts {
		if _, err := b.out.WriteString(p); err != nil {
			b.err = err
			return
		}
	}
}

// Row begins the next row. Rows without cells are left out of the file and still
// counted.
func (b *Book) Row() {
	b.endRow()
	b.row++
	b.col, b.height = 0, 0
	if b.row > MaxRows {
		b.fail(fmt.Errorf("sheet %q gets more than %d rows", b.name(), MaxRows))
	}
}

// Height makes the row in hand so many points high; it is called before the
// first cell of the row.
func (b *Book) Height(points float64) { b.height = points }

func (b *Book) name() string {
	if len(b.sheets) == 0 {
		return ""
	}
	return b.sheets[len(b.sheets)-1].Name
}

func (b *Book) endRow() {
	if b.open {
		b.print(`</row>`)
		b.open = false
	}
}

// At gives the number of the row in hand.
func (b *Book) At() int { return b.row }

// begin writes the start of the next cell up to its type.
func (b *Book) begin(style int) []byte {
	b.col++
	p := b.buf[:0]
	if !b.open {
		p = append(p, `<row r="`...)
		p = strconv.AppendInt(p, int64(b.row), 10)
		if b.height > 0 {
			p = append(p, `" customHeight="1" ht="`...)
			p = strconv.AppendFloat(p, b.height, 'f', -1, 64)
		}
		p = append(p, `">`...)
		b.open = true
	}
	p = append(p, `<c r="`...)
	p = appendColumn(p, b.col)
	p = strconv.AppendInt(p, int64(b.row), 10)
	p = append(p, '"')
	if style > 0 {
		p = append(p, ` s="`...)
		p = strconv.AppendInt(p, int64(style), 10)
		p = append(p, '"')
	}
	return p
}

func appendColumn(p []byte, col int) []byte {
	if col <= 26 {
		return append(p, byte('A'+col-1))
	}
	return append(p, cell.ColumnName(col)...)
}

func (b *Book) end(p []byte) {
	b.buf = p[:0]
	if b.err != nil || b.out == nil {
		return
	}
	if b.col > MaxCols || b.row < 1 {
		b.fail(fmt.Errorf("sheet %q: column %d of row %d cannot be", b.name(), b.col, b.row))
		return
	}
	_, err := b.out.Write(p)
	b.fail(err)
}

// Skip leaves the next cell of the row blank.
func (b *Book) Skip() { b.col++ }

// Number writes the next cell of the row.
func (b *Book) Number(v float64, style int) {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		b.fail(fmt.Errorf("sheet %q, row %d, column %d: the number to be written is none", b.name(), b.row, b.col+1))
		return
	}
	p := append(b.begin(style), `><v>`...)
	form := byte('f')
	if a := math.Abs(v); a != 0 && (a < 1e-7 || a >= 1e15) {
		form = 'g'
	}
	p = strconv.AppendFloat(p, v, form, -1, 64)
	b.end(append(p, `</v></c>`...))
}

// Text writes the next cell of the row; "" leaves it blank but for its style.
func (b *Book) Text(s string, style int) {
	if len(s) > maxText {
		b.fail(fmt.Errorf("sheet %q, row %d: a text of %d bytes; a cell holds %d", b.name(), b.row, len(s), maxText))
		return
	}
	switch n, known := b.text[s]; {
	case s == "" && style == 0:
		b.Skip()
	case s == "":
		b.end(append(b.begin(style), `/>`...))
	case known:
		b.shared(n, style)
	case len(b.order) < sharedTexts:
		b.text[s] = len(b.order)
		b.order = append(b.order, s)
		b.shared(len(b.order)-1, style)
	default:
		p := append(b.begin(style), ` t="inlineStr"><is><t xml:space="preserve">`...)
		p = appendEscaped(p, s)
		b.end(append(p, `</t></is></c>`...))
	}
}

func (b *Book) shared(n, style int) {
	p := append(b.begin(style), ` t="s"><v>`...)
	p = strconv.AppendInt(p, int64(n), 10)
	b.end(append(p, `</v></c>`...))
}

// appendEscaped writes text for XML; what XML cannot hold becomes U+FFFD.
func appendEscaped(p []byte, s string) []byte {
	for _, r := range s {
		switch {
		case r == '&':
			p = append(p, "&amp;"...)
		case r == '<':
			p = append(p, "&lt;"...)
		case r == '>':
			p = append(p, "&gt;"...)
		case r == '"':
			p = append(p, "&quot;"...)
		case r == '\r':
			p = append(p, "&#13;"...)
		case r < ' ' && r != '\t' && r != '\n' || r == 0xFFFE || r == 0xFFFF:
			p = utf8.AppendRune(p, utf8.RuneError)
		default:
			p = utf8.AppendRune(p, r)
		}
	}
	return p
}

func escaped(s string) string { return string(appendEscaped(nil, s)) }

// Close writes what stands behind the sheets, and gives the first error of all.
// It does not close the writer that the book goes to.
func (b *Book) Close() error {
	b.endSheet()
	if b.err == nil && len(b.sheets) == 0 {
		b.err = errors.New("a workbook without a sheet")
	}
	b.tail()
	if b.err != nil {
		return b.err
	}
	return b.zip.Close()
}
