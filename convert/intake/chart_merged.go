package intake

import "dropcut/convert/grid"

// fillDown gives every cell of a tall merged area the value of its first one,
// as the eye sees it. The filled cells keep the first one's address.
func (w *window) fillDown(areas []grid.Range) {
	type anchor struct {
		b  box
		to int
	}
	open := make(map[int]anchor)
	starts := make(map[[2]int]grid.Range, len(areas))
	for _, m := range areas {
		starts[[2]int{m.Row, m.Col}] = m
	}
	out := window{arena: w.arena, comma: w.comma}
	for i := range w.lines {
		l := w.lines[i]
		first := len(out.boxes)
		row := w.row(i)
		for _, b := range row {
			if m, ok := starts[[2]int{int(b.row), int(b.col)}]; ok && int(b.x) == int(b.col) {
				open[int(b.x)] = anchor{b, m.ToRow}
			}
		}
		k := 0
		for x := range row {
			for ; k < int(row[x].x); k++ {
				if a, ok := open[k]; ok && a.to >= l.n {
					out.boxes = append(out.boxes, a.b)
				}
			}
			out.boxes = append(out.boxes, row[x])
			k = int(row[x].x) + 1
		}
		for c, a := range open {
			if a.to < l.n {
				delete(open, c)
			}
		}
		out.lines = append(out.lines, line{l.n, l.hidden, first, len(out.boxes)})
	}
	*w = out
}
