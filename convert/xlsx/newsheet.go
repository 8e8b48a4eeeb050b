package xlsx

import (
	"fmt"
	"hash/fnv"
	"io"
	"strconv"
	"strings"
	"unicode/utf8"

	"dropcut/convert/grid"
)

// A sheet of dropcut's own carries a hidden name, confined to it, that stands
// for a text: the name under which the sheet was asked for and the sum of what
// was written into it. By the name it is known again after the book went through
// an office program, wherever its tab was moved. By the sum it shows whether
// somebody has written into it since: such a sheet is theirs and is kept, and
// the new one gets another tab. Rows in another order are no change, since the
// sheet has a filter to sort it by.
const nameOwn = "_dropcut_sheet"

const sheetNameMax = 31 // characters, in UTF-16

// ownMark is the text of the hidden name.
func ownMark(base string, sum uint64) string {
	return fmt.Sprintf(`"%s %016x"`, strings.ReplaceAll(base, `"`, `""`), sum)
}

// parseMark reads what ownMark has made.
func parseMark(text string) (base string, sum uint64, ok bool) {
	text = strings.TrimSpace(text)
	if len(text) < 2 || text[0] != '"' || text[len(text)-1] != '"' {
		return "", 0, false
	}
	text = strings.ReplaceAll(text[1:len(text)-1], `""`, `"`)
	i := strings.LastIndexByte(text, ' ')
	if i < 0 {
		return "", 0, false
	}
	sum, err := strconv.ParseUint(text[i+1:], 16, 64)
	return text[:i], sum, err == nil
}

// sheetSum adds up rows: each row's cells with their columns, in any order of
// the rows. Numbers count to 12 digits, since some programs keep no more than 15.
type sheetSum struct{ sum uint64 }

type rowSum struct {
	h interface {
		io.Writer
		Sum64() uint64
		Reset()
	}
	any bool
}

func newRowSum() *rowSum { return &rowSum{h: fnv.New64a()} }

func (r *rowSum) cell(col int, number bool, num float64, text string) {
	if !number && text == "" {
		return
	}
	r.any = true
	if number {
		text = strconv.FormatFloat(num, 'g', 12, 64)
	} else {
		text = strings.ReplaceAll(text, "\r\n", "\n")
	}
	fmt.Fprintf(r.h, "%d %t %d %s;", col, number, len(text), text)
}

func (r *rowSum) add(to *sheetSum) {
	if r.any {
		to.sum += r.h.Sum64()
	}
	r.h.Reset()
	r.any = false
}

// sumNew is the sum of a sheet that is to be written.
func sumNew(n *grid.NewSheet) uint64 {
	var s sheetSum
	r := newRowSum()
	for _, row := range n.Rows {
		for i, v := range row {
			r.cell(i+1, v.IsNumber, v.Number, strings.ToValidUTF8(v.Text, "\uFFFD"))
		}
		r.add(&s)
	}
	return s.sum
}

// sumOld is the sum of a sheet of the book.
func sumOld(sheet *Sheet) (uint64, error) {
	var s sheetSum
	r := newRowSum()
	for row, err := range sheet.Rows() {
		if err != nil {
			return 0, err
		}
		for i := range row.Cells {
			c := &row.Cells[i]
			if c.Formula {
				r.cell(c.Col, false, 0, "=")
			}
			r.cell(c.Col, c.Kind == grid.Number, c.Num, string(c.Raw))
		}
		r.add(&s)
	}
	return s.sum, nil
}

// OwnSheet finds the sheet that an earlier run has added under a name, wherever
// its tab stands and whatever it had to be called; the last one where somebody
// has kept older ones. It is nil where there is none.
func (b *Book) OwnSheet(name string) *Sheet {
	var found *Sheet
	for _, d := range b.wb.names {
		base, _, ok := parseMark(d.Text)
		if d.Name != nameOwn || !ok || !strings.EqualFold(base, name) || d.Sheet < 0 || d.Sheet >= len(b.wb.sheets) {
			continue
		}
		if s := b.Sheet(b.wb.sheets[d.Sheet].name); s != nil {
			found = s
		}
	}
	return found
}

// checkNewSheet refuses names and values that no sheet can have.
func checkNewSheet(book string, n *grid.NewSheet) error {
	if n.Name == "" || utf16Len(n.Name) > sheetNameMax || strings.ContainsAny(n.Name, `[]:*?/\`) || strings.HasPrefix(n.Name, "'") || strings.HasSuffix(n.Name, "'") || !utf8.ValidString(n.Name) {
		return fmt.Errorf(`%s: the sheet name %q cannot be used; 1 to %d characters without [ ] : * ? / \ were expected`, book, n.Name, sheetNameMax)
	}
	if len(n.Rows) > maxRow || n.HeaderRow < 0 || n.HeaderRow > len(n.Rows) {
		return fmt.Errorf("%s, %s: %d rows with their heading in row %d were to be written, at most %d rows were expected", book, n.Name, len(n.Rows), n.HeaderRow, maxRow)
	}
	for i, row := range n.Rows {
		if len(row) > maxCol {
			return fmt.Errorf("%s, %s: row %d has %d cells, at most %d were expected", book, n.Name, i+1, len(row), maxCol)
		}
		for _, v := range row {
			if err := checkValue(v); err != nil {
				return fmt.Errorf("%s, %s, row %d: %w", book, n.Name, i+1, err)
			}
		}
	}
	return nil
}

// newSheetXML writes a sheet of our own: headings that stay in view with a
// filter, and a page that is as wide as the sheet.
func newSheetXML(n *grid.NewSheet, styles *stylePatch, strict bool) []byte {
	ns := nsMain
	if strict {
		ns = nsStrict
	}
	width := 1
	for _, row := range n.Rows {
		width = max(width, len(row))
	}
	b := fmt.Appendf(nil, `<?xml version="1.0" encoding="UTF-8" standalone="yes"?>`+"\n"+`<worksheet xmlns="%s"><sheetPr><pageSetUpPr fitToPage="1"/></sheetPr><dimension ref="%s"/><sheetViews>`,
		ns, rangeText(grid.Range{Col: 1, Row: 1, ToCol: width, ToRow: max(1, len(n.Rows))}))
	if n.HeaderRow > 0 {
		b = fmt.Appendf(b, `<sheetView workbookViewId="0"><pane ySplit="%d" topLeftCell="A%d" activePane="bottomLeft" state="frozen"/><selection pane="bottomLeft"/></sheetView>`, n.HeaderRow, n.HeaderRow+1)
	} else {
		b = append(b, `<sheetView workbookViewId="0"/>`...)
	}
	b = append(b, `</sheetViews><sheetFormatPr defaultRowHeight="15"/>`...)
	open := len(b)
	b = append(b, "<cols>"...)
	any := false
	for i, w := range n.Widths {
		if w > 0 && i < maxCol {
			b = fmt.Appendf(b, `<col min="%d" max="%d" width="%s" customWidth="1"/>`, i+1, i+1, columnWidth(w))
			any = true
		}
	}
	if any {
		b = append(b, "</cols>"...)
	} else {
		b = b[:open]
	}
	b = append(b, "<sheetData>"...)
	for i, row := range n.Rows {
		open := len(b)
		if lines := wrappedLines(row, n.Widths); lines > 1 {
			b = fmt.Appendf(b, `<row r="%d" ht="%d" customHeight="1">`, i+1, min(lines*lineHeight, maxHeight))
		} else {
			b = fmt.Appendf(b, `<row r="%d">`, i+1)
		}
		inside := len(b)
		for k, v := range row {
			style := 0
			if v.Look != grid.LookPlain && (!v.Blank() || v.Look == grid.LookHeading) {
				style = styles.own(v.Look)
			}
			if !v.Blank() || style != 0 {
				b = appendCell(b, "", k+1, i+1, style, v)
			}
		}
		if len(b) == inside {
			b = b[:open]
		} else {
			b = append(b, "</row>"...)
		}
	}
	b = append(b, "</sheetData>"...)
	if area, ok := filterOf(n); ok {
		b = fmt.Appendf(b, `<autoFilter ref="%s"/>`, rangeText(area))
	}
	return append(b, `<pageMargins left="0.5" right="0.5" top="0.6" bottom="0.6" header="0.3" footer="0.3"/><pageSetup orientation="landscape" fitToHeight="0"/><headerFooter><oddFooter>&amp;L&amp;F&amp;C&amp;A&amp;R&amp;P / &amp;N</oddFooter></headerFooter></worksheet>`...)
}

// filterOf is the range under the filter of a sheet of ours.
func filterOf(n *grid.NewSheet) (grid.Range, bool) {
	if n.HeaderRow == 0 || len(n.Rows[n.HeaderRow-1]) == 0 {
		return grid.Range{}, false
	}
	return grid.Range{Col: 1, Row: n.HeaderRow, ToCol: len(n.Rows[n.HeaderRow-1]), ToRow: len(n.Rows)}, true
}

// lineHeight is the height of a line of text in points, maxHeight the greatest
// that a row may have.
const (
	lineHeight = 15
	maxHeight  = 405
)

// wrappedLines gives how many lines the longest wrapped text of a row takes. Not
// every office program works that out when it opens a book, and then shows one
// line of many.
func wrappedLines(row []grid.Value, widths []float64) int {
	lines := 1
	for i, v := range row {
		if v.Look != grid.LookText || i >= len(widths) || widths[i] < 2 {
			continue
		}
		// Words are not broken, so that a line holds some signs less than fit.
		room := max(1, int(widths[i])-2)
		lines = max(lines, (utf8.RuneCountInString(v.Text)+room-1)/room)
	}
	return lines
}
