package sheetkind

import (
	"iter"
	"slices"

	"dropcut/convert/grid"
	"dropcut/convert/intake/headword"
	"dropcut/convert/intake/look"
	"dropcut/plan/unit"
)

// Area is a part of a sheet that is read as if it were a sheet of its own: a
// list of tanks and charts may stand on one sheet.
type Area struct {
	grid.Sheet
	Is   grid.Range
	less grid.Range // columns within it that are none of its own; the zero Range for none
}

// LastOf stands for no end of an area.
const LastOf = 1 << 30

// Rows streams the rows of the area with its cells alone. The rows behind it are
// run over, since a sheet is sound only once its end was seen.
func (a Area) Rows() iter.Seq2[*grid.Row, error] {
	return func(yield func(*grid.Row, error) bool) {
		var part grid.Row
		for r, err := range a.Sheet.Rows() {
			if err != nil {
				yield(nil, err)
				return
			}
			if r.N < a.Is.Row || r.N > a.Is.ToRow {
				continue
			}
			from, to := 0, len(r.Cells)
			for from < to && r.Cells[from].Col < a.Is.Col {
				from++
			}
			for to > from && r.Cells[to-1].Col > a.Is.ToCol {
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
func (a Area) Merges() ([]grid.Range, error) {
	all, err := a.Sheet.Merges()
	return slices.DeleteFunc(slices.Clone(all), func(m grid.Range) bool {
		return !a.Is.Contains(m.Col, m.Row) || a.less.Col > 0 && m.Col >= a.less.Col && m.Col <= a.less.ToCol
	}), err
}

// Beside looks for a list of tanks that stands beside charts: a row of headings
// whose groups, parted by blank columns or begun by a word for tanks each, are
// those of a list and those of a chart. It gives the parts of the sheet, the list
// first. The columns that dropcut has written itself go with the list.
func (h *Head) Beside(sh grid.Sheet, tanks *headword.Matcher) []Area {
	for i := range h.Rows {
		row := &h.Rows[i]
		if len(row.Cells) < 4 || !OnlyWords(row) {
			continue
		}
		groups := headingGroups(row)
		if len(groups) < 2 {
			continue
		}
		found, charts := -1, 0
		for k, g := range groups {
			part := Head{At: h.At, Rows: h.Rows[i : i+1], Merges: nil}
			part.Rows = []Row{{N: row.N, Cells: g}}
			switch hd := part.headerAt(tanks, 0, 1); {
			case chartHeads(g):
				charts++
			case found < 0 && hd != nil && hd.Col(headword.FieldTank) > 0 && hd.Fields >= 2:
				found = k
			}
		}
		if found < 0 || charts == 0 {
			continue
		}
		from, to, ours := groups[found][0].Col, groups[found][len(groups[found])-1].Col, LastOf+1
		for _, c := range row.Cells {
			if IsOurs(c.Text) && c.Col > to {
				ours = c.Col
				break
			}
		}
		part := func(col, toCol int) Area {
			return Area{Sheet: sh, Is: grid.Range{Row: 1, ToRow: LastOf, Col: col, ToCol: toCol}}
		}
		list := part(from, to)
		if ours <= LastOf {
			list.Is.ToCol = LastOf
			if ours > to+1 {
				list.less = grid.Range{Col: to + 1, ToCol: ours - 1}
			}
		}
		parts := []Area{list}
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
func headingGroups(row *Row) [][]Cell {
	var groups [][]Cell
	tanks := false
	for i, c := range row.Cells {
		if IsOurs(c.Text) {
			break
		}
		tank := headword.Read(headword.Tidy(c.Text)).Role == headword.RoleTank
		if i == 0 || c.Col > row.Cells[i-1].Col+1 || tank && tanks {
			groups = append(groups, nil)
			tanks = false
		}
		tanks = tanks || tank
		groups[len(groups)-1] = append(groups[len(groups)-1], c)
	}
	return groups
}

// chartHeads reports whether headings name a depth and a volume.
func chartHeads(cells []Cell) bool {
	depth, volume := false, false
	for i := range cells {
		if capacityWords[firstKnown(headword.HeadingWords(cells[i].Text), capacityWords)] {
			continue
		}
		switch h := headword.Read(headword.Tidy(cells[i].Text)); h.Role {
		case headword.RoleDepth, headword.RoleUllage:
			depth = depth || h.Rest == ""
		case headword.RoleVolume:
			volume = true
		}
	}
	return depth && volume
}

// StartsChart reports whether a chart begins with a row that follows the rows of
// a list whose ids stand in column id: headings for depths and volumes above
// numbers, or a row of depths behind such a word.
func StartsChart(r, next *Row, id int) bool {
	if len(r.Cells) < 2 {
		return false
	}
	if OnlyWords(r) {
		if chartHeads(r.Cells) {
			return next != nil && (numbersIn(next) >= 2 || unitsRow(next))
		}
		c := r.At(id)
		if c == nil || next == nil {
			return false
		}
		h, below := headword.Read(headword.Tidy(c.Text)), next.At(id)
		return (h.Role == headword.RoleDepth || h.Role == headword.RoleUllage) && h.Rest == "" && h.Lengths > 0 && below != nil && numeral(below) && numbersIn(next) >= 2
	}
	// A row of a list has the site of the row below it, a row of depths has not.
	if r.Cells[0].Kind != grid.Text || looksNumber(r.Cells[0].Text) || numbersIn(r) < 2 || next != nil && len(next.Cells) > 0 && next.Cells[0].Text == r.Cells[0].Text {
		return false
	}
	h := headword.Read(headword.Tidy(r.Cells[0].Text))
	if h.Role != headword.RoleDepth && h.Role != headword.RoleUllage || h.Rest != "" {
		return false
	}
	if next == nil || len(next.Cells) < 2 {
		return false
	}
	return h.Lengths > 0 || headword.Read(headword.Tidy(next.Cells[0].Text)).Role == headword.RoleVolume
}

func numeral(c *Cell) bool {
	if c.Kind == grid.Number {
		return true
	}
	_, ok := unit.Number(c.Text, look.SignOf(c.Text))
	return c.Kind == grid.Text && ok
}

func numbersIn(r *Row) int {
	n := 0
	for i := range r.Cells {
		if numeral(&r.Cells[i]) {
			n++
		}
	}
	return n
}

// ChartAbove reports whether numbers stand above the headings of a list, as a
// chart does.
func (h *Head) ChartAbove(hd *Header) bool {
	n := 0
	for i := range h.Rows {
		if r := &h.Rows[i]; r.N < hd.First && numbersIn(r) >= 2 {
			n++
		}
	}
	return n >= 3
}
