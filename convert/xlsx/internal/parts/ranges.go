package parts

import (
	"bytes"
	"fmt"

	"dropcut/convert/grid"
	"dropcut/plan/cell"
)

// RangeText writes a range: A4:C10.
func RangeText(r grid.Range) string {
	return cell.Range(cell.Ref{Col: r.Col, Row: r.Row}, cell.Ref{Col: r.ToCol, Row: r.ToRow})
}

// ParseRange reads "A4:C10" or "B2"; whole columns and rows ("A:C", "4:10")
// reach to the sheet's end.
func ParseRange(b []byte) (grid.Range, bool) {
	first, last, two := bytes.Cut(b, []byte(":"))
	if !two {
		last = first
	}
	col, row, ok := cell.ParseA1(string(first))
	toCol, toRow, ok2 := cell.ParseA1(string(last))
	if !ok || !ok2 || (col == 0) != (toCol == 0) || (row == 0) != (toRow == 0) {
		return grid.Range{}, false
	}
	if col == 0 {
		col, toCol = 1, MaxCol
	}
	if row == 0 {
		row, toRow = 1, MaxRow
	}
	return grid.Range{Col: min(col, toCol), Row: min(row, toRow), ToCol: max(col, toCol), ToRow: max(row, toRow)}, true
}

// Absolute writes a range as names hold it: $A$4:$C$10.
func Absolute(r grid.Range) string {
	return fmt.Sprintf("$%s$%d:$%s$%d", cell.ColumnName(r.Col), r.Row, cell.ColumnName(r.ToCol), r.ToRow)
}

// Overlap reports whether two ranges have a cell in common.
func Overlap(a, b grid.Range) bool {
	return a.Col <= b.ToCol && b.Col <= a.ToCol && a.Row <= b.ToRow && b.Row <= a.ToRow
}

// The size of a sheet.
const (
	MaxCol = 16384
	MaxRow = 1048576
)
