package verify

import (
	"slices"

	"dropcut/convert/grid"
)

// targets are the cells that an edit writes onto one sheet.
type targets struct {
	cols  []targetCol
	byCol []int16 // index of a column in cols and 1, by the column's number
	full  int     // cells that are to hold something
}

type targetCol struct {
	col, headerRow int
	heading        grid.Value
	cells          []grid.At // in row order
}

func (t *targets) add(c *grid.Column) {
	cells := c.Cells
	byRow := func(a, b grid.At) int { return a.Row - b.Row }
	if !slices.IsSortedFunc(cells, byRow) {
		cells = slices.SortedStableFunc(slices.Values(cells), byRow)
	}
	for len(t.byCol) <= c.Col {
		t.byCol = append(t.byCol, 0)
	}
	t.cols = append(t.cols, targetCol{c.Col, c.HeaderRow, grid.Str(c.Heading, grid.LookHeading), cells})
	t.byCol[c.Col] = int16(len(t.cols))
	t.full++ // a heading is never blank
	for i := range cells {
		if !cells[i].Value.Blank() {
			t.full++
		}
	}
}

// has reports whether a column is one of the edit's.
func (t *targets) has(col int) bool {
	return t != nil && col >= 0 && col < len(t.byCol) && t.byCol[col] > 0
}

// all calls visit with every cell.
func (t *targets) all(visit func(row, col int, v *grid.Value)) {
	for i := range t.cols {
		c := &t.cols[i]
		visit(c.headerRow, c.col, &c.heading)
		for k := range c.cells {
			visit(c.cells[k].Row, c.col, &c.cells[k].Value)
		}
	}
}

// targetWalk finds the cells of an edit for a reader that goes through a sheet
// from its first row to its last.
type targetWalk struct {
	t  *targets
	at []int // the next cell of each column
}

func (t *targets) walk() *targetWalk {
	w := &targetWalk{t: t}
	if t != nil {
		w.at = make([]int, len(t.cols))
	}
	return w
}

// find gives what is to be written into a cell, nil where nothing is. Rows may
// not fall from call to call.
func (w *targetWalk) find(row, col int) *grid.Value {
	if !w.t.has(col) {
		return nil
	}
	i := w.t.byCol[col] - 1
	c := &w.t.cols[i]
	if row == c.headerRow {
		return &c.heading
	}
	k := w.at[i]
	for k < len(c.cells) && c.cells[k].Row < row {
		k++
	}
	w.at[i] = k
	if k < len(c.cells) && c.cells[k].Row == row {
		return &c.cells[k].Value
	}
	return nil
}
