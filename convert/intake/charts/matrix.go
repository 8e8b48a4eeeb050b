package charts

import (
	"math"

	"dropcut/convert/intake/extract"
	"dropcut/convert/intake/figures"
	"dropcut/convert/intake/headword"
	"dropcut/convert/intake/layout"
	"dropcut/convert/intake/look"
	"dropcut/convert/intake/survey"
	"dropcut/convert/intake/title"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/unit"
)

// readMatrix makes the chart of a matrix; turned says that w is the table turned
// from its side.
func (r *reader) readMatrix(w *look.Window, b look.Block, m layout.Matrix, t title.Set, turned bool) {
	corner := ""
	cornerAt := w.Row(m.Rows[0])[0].Ref(r.At)
	if p := look.At(w.Row(m.Head), m.Label); p != nil {
		corner = headword.Tidy(w.Text(p))
		cornerAt = p.Ref(r.At)
	}
	h := headword.Read(corner)
	// Words of a row above the heads belong to the corner and to the columns.
	texts := corner
	last := m.Head
	if m.Units {
		last += 2
	}
	for i := b.Head; i < last; i++ {
		if i == m.Head {
			continue
		}
		for _, p := range w.Row(i) {
			if p.Class == look.WordCell {
				texts += "; " + headword.Tidy(w.Text(&p))
			}
		}
	}
	if h.Lengths == 0 || h.Volumes == 0 {
		all := headword.Read(texts)
		if h.Volumes == 0 && all.Volumes == 1 {
			h.Volume, h.Volumes = all.Volume, 1
		}
		if h.Lengths == 0 && all.Lengths > 0 {
			h.Length, h.Lengths = all.Length, all.Lengths
		}
		if h.Role == headword.RoleNone {
			h.Role = all.Role
		}
	}
	var trouble []layout.Trouble
	// "dm \ cm" names the unit down first; the numbers say whether that is so.
	var named []unit.LengthUnit
	for _, u := range unit.FindUnits(texts) {
		if u.Length != 0 {
			named = append(named, u.Length)
		}
	}
	for _, l := range t.Lengths {
		if len(named) < 2 {
			named = append(named, l.Unit)
		}
	}
	if m.Across != 0 && len(named) < 2 {
		named = append(named, m.Across)
		if len(named) == 1 {
			// The heads alone name a unit: that of the depths down follows from the numbers.
			for _, u := range []unit.LengthUnit{unit.Millimetres, unit.Centimetres, unit.Decimetres, unit.Metres, unit.Inches, unit.Feet} {
				if math.Abs(float64(u.Size()/m.Across.Size())-m.Ratio) < 1e-6*m.Ratio {
					named = append(named[:0], u, m.Across)
					h.Length, h.Lengths = u, 1
					break
				}
			}
		}
	}
	if len(named) >= 2 && named[0] != named[1] {
		fits := func(down, across unit.LengthUnit) bool {
			return math.Abs(float64(down.Size()/across.Size())-m.Ratio*1) < 1e-6*m.Ratio
		}
		switch {
		case fits(named[0], named[1]):
			h.Length = named[0]
		case fits(named[1], named[0]):
			h.Length = named[1]
		default:
			trouble = append(trouble, layout.TroubleOfMatrix(cornerAt, named, m.Ratio))
		}
		h.Lengths = 1
		t.Lengths = nil
	} else if h.Lengths == 1 && m.Ratio != 1 {
		// One unit named, and the heads count another: is it the one down?
		_, parts := headword.PartsIn(texts)
		switch {
		case parts || layout.DecimalParts(m.Ratio) || len(named) == 0:
		case m.Ratio == 12 && (named[0] == unit.Feet || named[0] == unit.Inches):
			// Twelve of one make a foot; whichever of the two is named.
			h.Length = unit.Feet
			t.Lengths = nil
		case named[0] == unit.Inches && m.Ratio != 1 && m.Ratio <= 64 && m.Ratio == math.Exp2(math.Round(math.Log2(m.Ratio))):
			// Halves, quarters, eighths and so on are parts of an inch.
		default:
			trouble = append(trouble, layout.TroubleOfMatrix(cornerAt, named, m.Ratio))
		}
	}
	spec := layout.VolumeSpec{X: m.Xs[0], Head: headword.Heading{Volume: h.Volume, Volumes: min(h.Volumes, 1)}, At: w.Row(m.Rows[0])[0].Ref(r.At)}
	if p := look.At(w.Row(m.Rows[0]), m.Xs[0]); p != nil {
		spec.At = p.Ref(r.At)
	}
	head := h
	head.Volumes, head.Volume, head.FeetInches = 0, 0, false
	c := &layout.Columnar{
		Layout: "matrix", Trouble: trouble, HeadRow: w.Lines[m.Head].N,
		Strands: []layout.Strand{{Depth: layout.DepthSpec{Xs: []int{m.Label}, Head: head, Ullage: h.Role == headword.RoleUllage, At: cornerAt}, Vols: []layout.VolumeSpec{spec}}},
	}
	c.Columns = []survey.Column{{Col: m.Label, Heading: corner, Means: "depth", StepUnit: h.Length}}
	for _, x := range m.Xs {
		text := ""
		if p := look.At(w.Row(m.Head), x); p != nil {
			text = headword.Tidy(w.Text(p))
		}
		c.Columns = append(c.Columns, survey.Column{Col: x, Heading: text, Means: "volume"})
	}
	if turned {
		for i := range c.Columns {
			c.Columns[i].Col, c.Columns[i].Row = 0, c.Columns[i].Col
		}
		c.Turned, c.HeadRow = true, int(w.Row(m.Head)[0].Row)
		for i := range c.Columns {
			c.Columns[i].Row += c.HeadRow - 1
		}
	}
	b.Head = m.Head
	e := extract.New(&r.Source, w, c, b, t)
	if !turned {
		e.First = cell.Ref{File: r.At.File, Sheet: r.At.Sheet, Col: m.Label, Row: w.Lines[m.Head].N}
	}
	bd := e.Strands[0][0]
	s := &c.Strands[0]
	for _, i := range m.Rows {
		row := w.Row(i)
		p := look.At(row, m.Label)
		e.Rows++
		if w.Lines[i].Hidden {
			e.Hide(w.Lines[i].N)
		}
		whole := e.Depth(w, bd, int32(len(bd.Rows)), s, p)
		for k, x := range m.Xs {
			v := look.At(row, x)
			if v == nil || v.Class == look.WordCell && extract.EmptyWord(w.Raw(v)) {
				continue
			}
			n := int32(len(bd.Rows))
			out := chart.Row{Depth: layout.TidyNumber(whole + m.Parts[k]), SheetRow: p.Row, DepthCol: int16(p.Col), VolumeCol: int16(v.Col)}
			bd.Apart.Add(int(n), v.Row-p.Row)
			out.Volume = e.Volume(w, bd, n, &s.Vols[0], v)
			bd.Rows = append(bd.Rows, out)
			e.LastRow, e.LastCol = max(e.LastRow, int(v.Row)), max(e.LastCol, int(v.Col))
		}
	}
	// The decimal signs of the labels are told by themselves: whole numbers.
	bd.Depths = figures.Tally{}
	for _, i := range m.Other {
		e.PassRow(w.Lines[i].N, "between the rows of the matrix")
	}
	e.Emit()
	if len(m.Dates) > 0 {
		e.DatesAcross(w, &m) // now that the chart has its name
	}
}
