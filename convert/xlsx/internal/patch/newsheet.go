package patch

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"dropcut/convert/grid"
	"dropcut/convert/xlsx/internal/dress"
	"dropcut/convert/xlsx/internal/lex"
	"dropcut/convert/xlsx/internal/parts"
	"dropcut/convert/xlsx/internal/splice"
)

const sheetNameMax = 31 // characters, in UTF-16

// checkNewSheet refuses names and values that no sheet can have.
func checkNewSheet(book string, n *grid.NewSheet) error {
	if n.Name == "" || splice.Utf16Len(n.Name) > sheetNameMax || strings.ContainsAny(n.Name, `[]:*?/\`) || strings.HasPrefix(n.Name, "'") || strings.HasSuffix(n.Name, "'") || !utf8.ValidString(n.Name) {
		return fmt.Errorf(`%s: the sheet name %q cannot be used; 1 to %d characters without [ ] : * ? / \ were expected`, book, n.Name, sheetNameMax)
	}
	if len(n.Rows) > parts.MaxRow || n.HeaderRow < 0 || n.HeaderRow > len(n.Rows) {
		return fmt.Errorf("%s, %s: %d rows with their heading in row %d were to be written, at most %d rows were expected", book, n.Name, len(n.Rows), n.HeaderRow, parts.MaxRow)
	}
	for i, row := range n.Rows {
		if len(row) > parts.MaxCol {
			return fmt.Errorf("%s, %s: row %d has %d cells, at most %d were expected", book, n.Name, i+1, len(row), parts.MaxCol)
		}
		for _, v := range row {
			if err := splice.CheckValue(v); err != nil {
				return fmt.Errorf("%s, %s, row %d: %w", book, n.Name, i+1, err)
			}
		}
	}
	return nil
}

// newSheetXML writes a sheet of our own: headings that stay in view with a
// filter, and a page that is as wide as the sheet.
func newSheetXML(n *grid.NewSheet, styles *dress.Styles, strict bool) []byte {
	ns := lex.NsMain
	if strict {
		ns = lex.NsStrict
	}
	width, room := 1, 2000
	for _, row := range n.Rows {
		width = max(width, len(row))
		room += 40
		for i := range row {
			room += cellRoom + len(row[i].Text)
		}
	}
	b := fmt.Appendf(make([]byte, 0, room), `<?xml version="1.0" encoding="UTF-8" standalone="yes"?>`+"\n"+`<worksheet xmlns="%s"><sheetPr><pageSetUpPr fitToPage="1"/></sheetPr><dimension ref="%s"/><sheetViews>`,
		ns, parts.RangeText(grid.Range{Col: 1, Row: 1, ToCol: width, ToRow: max(1, len(n.Rows))}))
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
		if w > 0 && i < parts.MaxCol {
			b = fmt.Appendf(b, `<col min="%d" max="%d" width="%s" customWidth="1"/>`, i+1, i+1, splice.ColumnWidth(w))
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
				style = styles.Own(v.Look)
			}
			if !v.Blank() || style != 0 {
				b = splice.AppendCell(b, "", k+1, i+1, style, v)
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
		b = fmt.Appendf(b, `<autoFilter ref="%s"/>`, parts.RangeText(area))
	}
	return append(b, `<pageMargins left="0.5" right="0.5" top="0.6" bottom="0.6" header="0.3" footer="0.3"/><pageSetup orientation="landscape" fitToHeight="0"/><headerFooter><oddFooter>&amp;L&amp;F&amp;C&amp;A&amp;R&amp;P / &amp;N</oddFooter></headerFooter></worksheet>`...)
}

// cellRoom is about what a cell takes beside its text; with too little of it the
// sheet would be moved once or twice while it is written, with none a dozen times.
const cellRoom = 60

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
