package intake

import (
	"iter"
	"slices"

	"dropcut/convert/grid"
	"dropcut/plan/unit"
)

// area is a part of a sheet that is read as if it were a sheet of its own: a
// list of tanks and charts may stand on one sheet.
type area struct {
	grid.Sheet
	is   grid.Range
	less grid.Range // columns within it that are none of its own; the zero Range for none
}

// lastOf stands for no end of an area.
const lastOf = 1 << 30

// Rows streams the rows of the area with its cells alone. The rows behind it are
// run over, since a sheet is sound only once its end was seen.
func (a area) Rows() iter.Seq2[*grid.Row, error] {
	return func(yield func(*grid.Row, error) bool) {
		var part grid.Row
		for r, err := range a.Sheet.Rows() {
			if err != nil {
				yield(nil, err)
				return
			}
			if r.N < a.is.Row || r.N > a.is.ToRow {
				continue
			}
			from, to := 0, len(r.Cells)
			for from < to && r.Cells[from].Col < a.is.Col {
				from++
			}
			for to > from && r.Cells[to-1].Col > a.is.ToCol {
				to--
			}
			if from == to {
				continue
			}
			cells := part.Cells[:0]
			part = *r
			if a.less.Col == 0 {
				part.Cells = r.Cells[from:to]
			} else {
				for _, c := range r.Cells[from:to] {
					if c.Col < a.less.Col || c.Col > a.less.ToCol {
						cells = append(cells, c)
					}
				}
				part.Cells = cells
			}
			if len(part.Cells) > 0 && !yield(&part, nil) {
				return
			}
		}
	}
}

// Merges lists the merged areas that begin in this one.
func (a area) Merges() ([]grid.Range, error) {
	all, err := a.Sheet.Merges()
	return slices.DeleteFunc(slices.Clone(all), func(m grid.Range) bool {
		return !a.is.Contains(m.Col, m.Row) || a.less.Col > 0 && m.Col >= a.less.Col && m.Col <= a.less.ToCol
	}), err
}

// beside looks for a list of tanks that stands beside charts: a row of headings
// whose groups, parted by blank columns or begun by a word for tanks each, are
// those of a list and those of a chart. It gives the parts of the sheet, the list
// first. The columns that dropcut has written itself go with the list.
func (h *head) beside(sh grid.Sheet, tanks *matcher) []area {
	for i := range h.rows {
		row := &h.rows[i]
		if len(row.cells) < 4 || !onlyWords(row) {
			continue
		}
		groups := headingGroups(row)
		if len(groups) < 2 {
			continue
		}
		found, charts := -1, 0
		for k, g := range groups {
			part := head{at: h.at, rows: h.rows[i : i+1], merges: nil}
			part.rows = []rawRow{{n: row.n, cells: g}}
			switch hd := part.headerAt(tanks, 0, 1); {
			case chartHeads(g):
				charts++
			case found < 0 && hd != nil && hd.col(FieldTank) > 0 && hd.fields >= 2:
				found = k
			}
		}
		if found < 0 || charts == 0 {
			continue
		}
		from, to, ours := groups[found][0].col, groups[found][len(groups[found])-1].col, lastOf+1
		for _, c := range row.cells {
			if isOurs(c.text) && c.col > to {
				ours = c.col
				break
			}
		}
		part := func(col, toCol int) area {
			return area{Sheet: sh, is: grid.Range{Row: 1, ToRow: lastOf, Col: col, ToCol: toCol}}
		}
		list := part(from, to)
		if ours <= lastOf {
			list.is.ToCol = lastOf
			if ours > to+1 {
				list.less = grid.Range{Col: to + 1, ToCol: ours - 1}
			}
		}
		parts := []area{list}
		if from > 1 {
			parts = append(parts, part(1, from-1))
		}
		if ours > to+1 {
			parts = append(parts, part(to+1, ours-1))
		}
		return parts
	}
	return nil
}

// headingGroups parts a row of headings at blank columns and before each word
// for tanks but the first.
func headingGroups(row *rawRow) [][]rawCell {
	var groups [][]rawCell
	tanks := false
	for i, c := range row.cells {
		if isOurs(c.text) {
			break
		}
		tank := readHeading(neat(c.text)).role == roleTank
		if i == 0 || c.col > row.cells[i-1].col+1 || tank && tanks {
			groups = append(groups, nil)
			tanks = false
		}
		tanks = tanks || tank
		groups[len(groups)-1] = append(groups[len(groups)-1], c)
	}
	return groups
}

// chartHeads reports whether headings name a depth and a volume.
func chartHeads(cells []rawCell) bool {
	depth, volume := false, false
	for i := range cells {
		if capacityWords[firstKnown(headingWords(cells[i].text), capacityWords)] {
			continue
		}
		switch h := readHeading(neat(cells[i].text)); h.role {
		case roleDepth, roleUllage:
			depth = depth || h.rest == ""
		case roleVolume:
			volume = true
		}
	}
	return depth && volume
}

// startsChart reports whether a chart begins with a row that follows the rows of
// a list whose ids stand in column id: headings for depths and volumes above
// numbers, or a row of depths behind such a word.
func startsChart(r, next *rawRow, id int) bool {
	if len(r.cells) < 2 {
		return false
	}
	if onlyWords(r) {
		if chartHeads(r.cells) {
			return next != nil && (numbersIn(next) >= 2 || unitsRow(next))
		}
		c := r.at(id)
		if c == nil || next == nil {
			return false
		}
		h, below := readHeading(neat(c.text)), next.at(id)
		return (h.role == roleDepth || h.role == roleUllage) && h.rest == "" && h.lengths > 0 && below != nil && numeral(below) && numbersIn(next) >= 2
	}
	if r.cells[0].kind != grid.Text || looksNumber(r.cells[0].text) || numbersIn(r) < 2 {
		return false
	}
	h := readHeading(neat(r.cells[0].text))
	if h.role != roleDepth && h.role != roleUllage || h.rest != "" {
		return false
	}
	if next == nil || len(next.cells) < 2 {
		return false
	}
	return h.lengths > 0 || readHeading(neat(next.cells[0].text)).role == roleVolume
}

func numeral(c *rawCell) bool {
	if c.kind == grid.Number {
		return true
	}
	_, ok := unit.Number(c.text, signOf(c.text))
	return c.kind == grid.Text && ok
}

func numbersIn(r *rawRow) int {
	n := 0
	for i := range r.cells {
		if numeral(&r.cells[i]) {
			n++
		}
	}
	return n
}

// chartAbove reports whether numbers stand above the headings of a list, as a
// chart does.
func (h *head) chartAbove(hd *header) bool {
	n := 0
	for i := range h.rows {
		if r := &h.rows[i]; r.n < hd.first && numbersIn(r) >= 2 {
			n++
		}
	}
	return n >= 3
}
