package charts

import (
	"dropcut/convert/intake/extract"
	"dropcut/convert/intake/headword"
	"dropcut/convert/intake/layout"
	"dropcut/convert/intake/look"
	"dropcut/convert/intake/title"
)

// sideways reports whether the block lies on its side: its depths run along a
// row, its volumes along others. end is the line behind it.
func (r *reader) sideways(w *look.Window, b look.Block) (end int, ok bool) {
	depths, volumes, others := 0, 0, 0
	end = b.Head
	words := 0
	for i := b.Head; i < len(w.Lines); i++ {
		row := w.Row(i)
		s := w.Sort(i)
		if s.Heading() {
			break
		}
		if row[0].Class != look.WordCell || s.Numbers < 2 || s.Words > 2 {
			words++
			if s.Numbers >= 2 || words > 3 {
				break
			}
			continue
		}
		h := headword.Read(headword.Tidy(w.Text(&row[0])))
		// The tank may stand before the word for the row.
		if h.Role != headword.RoleDepth && h.Role != headword.RoleUllage && h.Role != headword.RoleVolume && len(row) > 2 && row[1].Class == look.WordCell {
			if k := headword.Read(headword.Tidy(w.Text(&row[1]))); k.Role == headword.RoleDepth || k.Role == headword.RoleUllage || k.Role == headword.RoleVolume {
				h = k
			}
		}
		if words > 0 && depths > 0 && volumes+others > 0 && (h.Role == headword.RoleDepth || h.Role == headword.RoleUllage) {
			break // the next table on its side begins
		}
		words = 0
		switch h.Role {
		case headword.RoleDepth, headword.RoleUllage:
			depths++
		case headword.RoleVolume:
			volumes++
		case headword.RolePercent, headword.RoleStep, headword.RoleArea, headword.RoleOther:
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
func (r *reader) readSideways(w *look.Window, b look.Block, end int, t title.Set) {
	turned := w.Turned(b.Head, end)
	tb, ok := turned.FindBlock(0)
	if !ok {
		// Only the heading and a column or two.
		r.refuse(layout.Unclear{At: r.lineRef(b.Head), Found: "a table on its side", Why: "its rows do not make a chart"})
		return
	}
	c, un := layout.Settle(turned, tb, nil, r.At, r.Ids)
	if un != nil {
		if un.At.Row == 0 {
			un.At = r.lineRef(b.Head)
		}
		r.refuse(*un)
		return
	}
	c.Turned = true
	switch c.Layout {
	case "depth and volume":
		c.Layout = "transposed"
	default:
		c.Layout = "transposed, " + c.Layout
	}
	for i := range c.Columns {
		c.Columns[i].Row = w.Lines[b.Head+c.Columns[i].Col-1].N
		c.Columns[i].Col = 0
	}
	c.HeadRow = 0
	e := extract.New(&r.Source, turned, c, tb, t)
	for i := b.From; i < b.Head; i++ {
		e.PassRow(w.Lines[i].N, "title")
	}
	for i := b.Head; i < end; i++ {
		if w.Lines[i].Hidden && w.Sort(i).Numbers > 0 {
			e.Hide(w.Lines[i].N)
		}
	}
	for i := tb.Body; i < len(turned.Lines); i++ {
		switch e.Take(turned, i) {
		case extract.RowOfNext:
			e.Close(turned, i)
			return
		case extract.RowTaken:
			e.PendFrom = i + 1
		}
	}
	e.Pend = e.Pend[:0]
	e.Emit()
}
