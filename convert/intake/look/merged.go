package look

import (
	"slices"

	"dropcut/convert/grid"
)

// TallMerges gives every cell of a tall merged area the value of its first one,
// as the eye sees it, row by row as they come. A heading that spans columns is
// known as such. The filled cells keep the first one's address.
type TallMerges struct {
	areas []grid.Range // by their first row
	next  int
	open  []anchorCell
}

// anchorCell is the first cell of an area that goes on.
type anchorCell struct {
	b   Box
	raw []byte
	to  int
}

// TallOf picks the areas that span rows; nil for none.
func TallOf(areas []grid.Range) *TallMerges {
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
	return &TallMerges{areas: tall}
}

// Fill completes the row that was added to the window last.
func (t *TallMerges) Fill(w *Window) {
	l := &w.Lines[len(w.Lines)-1]
	t.open = slices.DeleteFunc(t.open, func(a anchorCell) bool { return a.to < l.N })
	for _, a := range t.open {
		i := l.first
		for i < l.last && int(w.Boxes[i].X) < int(a.b.X) {
			i++
		}
		if i < l.last && w.Boxes[i].X == a.b.X {
			continue
		}
		b := a.b
		b.off, b.n = uint32(len(w.arena)), uint32(len(a.raw))
		w.arena = append(w.arena, a.raw...)
		w.Boxes = slices.Insert(w.Boxes, i, b)
		l.last++
	}
	for ; t.next < len(t.areas) && t.areas[t.next].Row <= l.N; t.next++ {
		m := t.areas[t.next]
		if m.Row < l.N {
			continue // its first cell is blank
		}
		if b := At(w.Boxes[l.first:l.last], m.Col); b != nil {
			t.open = append(t.open, anchorCell{*b, slices.Clone(w.Raw(b)), m.ToRow})
		}
	}
}
