package columns

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"dropcut/convert/grid"
	"dropcut/convert/xlsx/internal/lex"
	"dropcut/convert/xlsx/internal/parts"
	"dropcut/convert/xlsx/internal/splice"
	"dropcut/plan/cell"
)

// judge refuses what stands in the way and adds the changes around the cells.
func (s *Sheet) judge() error {
	if len(s.lines) == 0 {
		return nil
	}
	if s.protected {
		return protectedSheet(s.sheet.At())
	}
	lastRow := s.lines[len(s.lines)-1].row
	var inWay []cell.Ref
	for _, at := range s.occupied {
		if at.Row <= lastRow {
			inWay = append(inWay, at)
		}
	}
	if len(inWay) > 0 {
		return s.refuse(ReasonOccupied, boxOf(inWay), fmt.Sprintf("%s something that is not dropcut's, free cells were expected", cellsHold(len(inWay))), "move it, or let the columns begin farther to the right")
	}
	if len(s.tornAt) > 0 {
		return s.refuse(ReasonFormula, boxOf(s.tornAt), "the formula there belongs to a block of cells (array or data table) and cannot be overwritten alone", "delete the block's formula and try again")
	}
	for _, group := range slices.Sorted(maps.Keys(s.masters)) {
		if n := s.sharers[group]; n > 0 {
			return s.refuse(ReasonFormula, s.masters[group].A1(), fmt.Sprintf("%d other cells share the formula that stands there and would lose it", n), "delete those formulas or this one and try again")
		}
	}
	for _, area := range s.merges {
		if at, hit := s.hits(area); hit {
			return s.refuse(ReasonMerged, parts.RangeText(area), fmt.Sprintf("cell %s of it is to be written but the area is merged", at.A1()), "split the merged area, or let the columns begin farther to the right")
		}
	}
	s.growDimension()
	s.growFilter()
	s.widen()
	return nil
}

func cellsHold(n int) string {
	if n == 1 {
		return "the cell holds"
	}
	return strconv.Itoa(n) + " cells hold"
}

// boxOf gives the smallest range around some cells.
func boxOf(list []cell.Ref) string {
	r := grid.Range{Col: list[0].Col, ToCol: list[0].Col, Row: list[0].Row, ToRow: list[0].Row}
	for _, at := range list {
		r.Col, r.ToCol = min(r.Col, at.Col), max(r.ToCol, at.Col)
		r.Row, r.ToRow = min(r.Row, at.Row), max(r.ToRow, at.Row)
	}
	return parts.RangeText(r)
}

// hits finds a target inside an area. Columns and their cells are in order, so
// that thousands of merged areas cost little.
func (s *Sheet) hits(area grid.Range) (cell.Ref, bool) {
	for i := range s.cols {
		c := &s.cols[i]
		if c.Col < area.Col || c.Col > area.ToCol {
			continue
		}
		if area.Contains(c.Col, c.HeaderRow) {
			return cell.Ref{Col: c.Col, Row: c.HeaderRow}, true
		}
		k, _ := slices.BinarySearchFunc(s.lines, target{row: area.Row}, func(a, b target) int { return cmp.Compare(a.row, b.row) })
		for ; k < len(s.lines) && s.lines[k].row <= area.ToRow; k++ {
			if s.lines[k].col == c.Col {
				return cell.Ref{Col: c.Col, Row: s.lines[k].row}, true
			}
		}
	}
	return cell.Ref{}, false
}

// growDimension widens the range that the sheet says it fills.
func (s *Sheet) growDimension() {
	r, ok := parts.ParseRange([]byte(s.dimRef))
	if !ok || s.Change.Idle() {
		return
	}
	wide := r
	for i := range s.cols {
		wide.Col, wide.ToCol = min(wide.Col, s.cols[i].Col), max(wide.ToCol, s.cols[i].Col)
	}
	wide.Row, wide.ToRow = min(wide.Row, s.lines[0].row), max(wide.ToRow, s.lines[len(s.lines)-1].row)
	if wide != r {
		s.Change.Put(s.dimension[0], s.dimension[1], parts.RangeText(wide))
	}
}

// freshRun counts the new columns that stand side by side from col on, with
// their headings in a row.
func (s *Sheet) freshRun(col, row int) int {
	n := 0
	for {
		i, ok := s.byCol[col+n]
		if !ok || s.known[i] || s.cols[i].HeaderRow != row {
			return n
		}
		n++
	}
}

// growFilter lets the sheet's filter reach over new columns that begin where it
// ends: sorting by it must move them along with their rows.
func (s *Sheet) growFilter() {
	f := &s.filter
	if !f.there {
		return
	}
	n := s.freshRun(f.area.ToCol+1, f.area.Row)
	if n == 0 {
		if i := s.firstFresh(); i >= 0 && s.cols[i].Col > f.area.ToCol && s.cols[i].HeaderRow == f.area.Row {
			s.note("the filter over %s ends before the new columns; whoever sorts by it leaves them where they are, so extend it first", parts.RangeText(f.area))
		}
		return
	}
	wide := f.area
	wide.ToCol += n
	name, ok := s.filterName(f.area)
	sorted := f.sort[1] == 0 || f.sortArea.ToCol <= f.area.ToCol
	if !ok || !sorted {
		s.note("the filter over %s is kept as it is, since the book describes it in two ways; whoever sorts by it leaves the new columns where they are", parts.RangeText(f.area))
		return
	}
	s.Change.Put(f.ref[0], f.ref[1], parts.RangeText(wide))
	if f.sort[1] != 0 && f.sortArea.ToCol == f.area.ToCol && f.sortArea.Col < f.sortArea.ToCol {
		wider := f.sortArea
		wider.ToCol += n
		s.Change.Put(f.sort[0], f.sort[1], parts.RangeText(wider))
	}
	if name != nil {
		s.NewFilter = &filterName{Sheet: name.Sheet, Text: filterText(name.Text, wide)}
	}
	s.note("the filter reaches over the new columns now: %s", parts.RangeText(wide))
}

func (s *Sheet) firstFresh() int {
	for i := range s.cols {
		if !s.known[i] {
			return i
		}
	}
	return -1
}

// widen gives new columns their width, and shows those that lie in a hidden
// range: results that nobody can see help nobody.
func (s *Sheet) widen() {
	for i := 1; i < len(s.colList); i++ {
		if s.colList[i].from <= s.colList[i-1].to || s.colList[i].to < s.colList[i].from {
			s.note("the list of column widths contradicts itself and is left as it is")
			return
		}
	}
	var fresh []int
	for i := range s.cols {
		if !s.known[i] {
			fresh = append(fresh, i)
		}
	}
	put := func(from, to int, attrs string) {
		if from > to {
			return
		}
		attrs = lex.WithAttr(lex.WithAttr(attrs, "min", strconv.Itoa(from)), "max", strconv.Itoa(to))
		s.Change.Text = fmt.Appendf(s.Change.Text, "<%scol %s/>", s.prefix, attrs)
	}
	sized := func(i int, attrs string) string {
		if w := s.columnChars(i); w > 0 {
			attrs = lex.WithAttr(lex.WithAttr(attrs, "width", splice.ColumnWidth(w)), "customWidth", "1")
			attrs = lex.WithAttr(attrs, "bestFit", "")
		}
		return attrs
	}
	// New columns that no element covers stand before the next element.
	k := 0
	loose := func(before int, at int64) {
		mark := s.Change.Begin()
		for ; k < len(fresh) && s.cols[fresh[k]].Col < before; k++ {
			if c := &s.cols[fresh[k]]; c.Width > 0 {
				put(c.Col, c.Col, sized(fresh[k], ""))
			}
		}
		s.Change.End(mark, at, at)
	}
	for i := range s.colList {
		c := &s.colList[i]
		loose(c.from, c.start)
		first := k
		for k < len(fresh) && s.cols[fresh[k]].Col <= c.to {
			k++
		}
		inside := fresh[first:k]
		if len(inside) == 0 || (!c.hidden && !slices.ContainsFunc(inside, func(i int) bool { return s.cols[i].Width > 0 })) {
			continue
		}
		if c.hidden {
			s.note("column %s was hidden; it is shown, since results stand in it", cell.ColumnName(s.cols[inside[0]].Col))
		}
		mark := s.Change.Begin()
		at := c.from
		for _, i := range inside {
			col := s.cols[i].Col
			put(at, col-1, c.attrs)
			attrs := c.attrs
			if c.hidden {
				attrs = lex.WithAttr(lex.WithAttr(attrs, "hidden", ""), "outlineLevel", "")
				if lex.AttrOf(attrs, "width") == "0" || s.cols[i].Width == 0 {
					attrs = lex.WithAttr(lex.WithAttr(attrs, "width", splice.ColumnWidth(14)), "customWidth", "1")
				}
			}
			put(col, col, sized(i, attrs))
			at = col + 1
		}
		put(at, c.to, c.attrs)
		s.Change.End(mark, c.start, c.end)
	}
	switch {
	case s.colsAt[0] >= 0:
		loose(parts.MaxCol+1, s.colsAt[1])
	default:
		mark := s.Change.Begin()
		s.Change.Text = fmt.Appendf(s.Change.Text, "<%scols>", s.prefix)
		inside := len(s.Change.Text)
		for ; k < len(fresh); k++ {
			if c := &s.cols[fresh[k]]; c.Width > 0 {
				put(c.Col, c.Col, sized(fresh[k], ""))
			}
		}
		if len(s.Change.Text) == inside {
			s.Change.Text = s.Change.Text[:mark]
			return
		}
		s.Change.Text = fmt.Appendf(s.Change.Text, "</%scols>", s.prefix)
		from, to := s.dataAt, s.dataAt
		if s.colsShut[0] >= 0 {
			from, to = s.colsShut[0], s.colsShut[1]
		}
		s.Change.End(mark, from, to)
	}
}

// twoLines is the height in points from which on a row shows two lines of the
// usual 11 point letters.
const twoLines = 26

// columnChars gives the width for one of our columns in characters: as asked
// for, but no less than its heading needs. Where the row of headings, whose
// height is its owner's, does not show two lines, that is the whole heading;
// elsewhere it is its longest word. Headings are often bold, a tenth wider.
func (s *Sheet) columnChars(i int) float64 {
	c := &s.cols[i]
	if c.Width == 0 {
		return 0
	}
	words := []string{c.Heading}
	if s.tall[c.HeaderRow] {
		words = strings.Fields(c.Heading)
	}
	w := c.Width
	for _, word := range words {
		w = max(w, math.Ceil(float64(utf8.RuneCountInString(word))*1.1)+1)
	}
	return min(w, 60)
}
