package intake

import (
	"slices"

	"dropcut/convert/grid"
)

// tallMerges gives every cell of a tall merged area the value of its first one,
// as the eye sees it, row by row as they come. A heading that spans columns is
// known as such. The filled cells keep the first one's address.
type tallMerges struct {
	areas []grid.Range // by their first row
	next  int
	open  []anchorCell
}

// anchorCell is the first cell of an area that goes on.
type anchorCell struct {
	b   box
	raw []byte
	to  int
}

// tallOf picks the areas that span rows; nil for none.
func tallOf(areas []grid.Range) *tallMerges {
	var tall []grid.Range
	for _, m := range areas {
		if m.ToRow > m.Row {
			tall = append(tall, m)
		}
	}
	if len(tall) == 0 {
		return nil
	}
	slices.SortStableFunc(tall, func(a, b grid.Range) int { return a.Row - b.Row })
	return &tallMerges{areas: tall}
}

// fill completes the row that was added to the window last.
func (t *tallMerges) fill(w *window) {
	l := &w.lines[len(w.lines)-1]
	t.open = slices.DeleteFunc(t.open, func(a anchorCell) bool { return a.to < l.n })
	for _, a := range t.open {
		i := l.first
		for i < l.last && int(w.boxes[i].x) < int(a.b.x) {
			i++
		}
		if i < l.last && w.boxes[i].x == a.b.x {
			continue
		}
		b := a.b
		b.off, b.n = uint32(len(w.arena)), uint32(len(a.raw))
		w.arena = append(w.arena, a.raw...)
		w.boxes = slices.Insert(w.boxes, i, b)
		l.last++
	}
	for ; t.next < len(t.areas) && t.areas[t.next].Row <= l.n; t.next++ {
		m := t.areas[t.next]
		if m.Row < l.n {
			continue // its first cell is blank
		}
		if b := at(w.boxes[l.first:l.last], m.Col); b != nil {
			t.open = append(t.open, anchorCell{*b, slices.Clone(w.raw(b)), m.ToRow})
		}
	}
}
