package intake

import "dropcut/convert/grid"

func hiddenRow(n int) grid.Range { return grid.Range{Row: n, ToRow: n} }

// sideways reports whether the block lies on its side: its depths run along a
// row, its volumes along others. end is the line behind it.
func (r *chartReader) sideways(w *window, b block) (end int, ok bool) {
	depths, volumes, others := 0, 0, 0
	end = b.head
	words := 0
	for i := b.head; i < len(w.lines); i++ {
		row := w.row(i)
		s := w.sort(i)
		if s.heading() {
			break
		}
		if row[0].class != wordCell || s.numbers < 2 || s.words > 2 {
			words++
			if s.numbers >= 2 || words > 3 {
				break
			}
			continue
		}
		h := readHeading(tidy(w.text(&row[0])))
		if words > 0 && depths > 0 && volumes+others > 0 && (h.role == roleDepth || h.role == roleUllage) {
			break // the next table on its side begins
		}
		words = 0
		switch h.role {
		case roleDepth, roleUllage:
			depths++
		case roleVolume:
			volumes++
		case rolePercent, roleStep, roleArea, roleOther:
		default:
			others++
		}
		end = i + 1
	}
	if depths == 0 || volumes+others == 0 || volumes == 0 && others > 0 && depths > 1 {
		return 0, false
	}
	// A chart that stands upright has fewer numbers in a row than rows.
	return end, true
}

// readSideways turns the block and reads it as a list.
func (r *chartReader) readSideways(w *window, b block, end int, t titles) {
	turned := w.turned(b.head, end)
	tb, ok := turned.findBlock(0)
	if !ok {
		// Only the heading and a column or two.
		r.refuse(unclear{at: r.lineRef(b.head), found: "a table on its side", why: "its rows do not make a chart"})
		return
	}
	c, un := r.settle(turned, tb, nil)
	if un != nil {
		if un.at.Row == 0 {
			un.at = r.lineRef(b.head)
		}
		r.refuse(*un)
		return
	}
	c.turned = true
	switch c.layout {
	case "depth and volume":
		c.layout = "transposed"
	default:
		c.layout = "transposed, " + c.layout
	}
	for i := range c.columns {
		c.columns[i].Row = w.lines[b.head+c.columns[i].Col-1].n
		c.columns[i].Col = 0
	}
	c.headRow = 0
	e := r.newExtractor(turned, c, tb, t)
	for i := b.from; i < b.head; i++ {
		e.passRow(w.lines[i].n, "title")
	}
	for i := b.head; i < end; i++ {
		if w.lines[i].hidden && w.sort(i).numbers > 0 {
			e.hide(w.lines[i].n)
		}
	}
	for i := tb.body; i < len(turned.lines); i++ {
		switch e.take(turned, i) {
		case rowOfNext:
			e.close(turned, i)
			return
		case rowTaken:
			e.pendFrom = i + 1
		}
	}
	e.pend = e.pend[:0]
	e.emit()
}
