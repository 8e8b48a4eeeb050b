package extract

import (
	"bytes"
	"math"
	"slices"
	"unicode/utf8"

	"dropcut/convert/intake/headword"
	"dropcut/convert/intake/layout"
	"dropcut/convert/intake/look"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
)

// Rows that are no chart rows as they stand may be rows of the chart all the same:
// their numbers one column to the side, their depth left out, both numbers in one
// cell. Above all at the top of a chart such a row must not be left out without a
// word, since the chart then passes for one of a smaller tank.

// gap is a row with its numbers out of the chart's columns; of is the chart where
// it is known.
type gap struct {
	row int
	of  *builder
}

func (e *Reader) gap(w *look.Window, line int) {
	g := gap{row: w.Lines[line].N}
	if e.C.Id != 0 {
		g.of = e.cur
	}
	e.gaps = append(e.gaps, g)
	e.PassRow(g.row, "its numbers stand outside the chart's columns")
}

// hole keeps the place of such a row amid the chart, so that nobody is told that a
// row is missing which stands there.
func (e *Reader) hole(w *look.Window, line int, l, next []look.Box) {
	b := e.Strands[0][0]
	if e.C.Id != 0 {
		b = e.cur
	}
	s := &e.C.Strands[0]
	if len(e.C.Strands) != 1 || len(s.Vols) != 1 || b == nil || len(b.Rows) == 0 || !e.hasDepth(w, next, s) || !e.sameID(w, next) {
		return
	}
	b.Apart.Add(len(b.Rows), 0)
	b.Rows = append(b.Rows, chart.Row{Depth: math.NaN(), Volume: math.NaN(), SheetRow: l[0].Row, DepthCol: int16(s.Depth.Xs[0]), VolumeCol: int16(s.Vols[0].X)})
}

// between reports whether a row stands directly between two chart rows, and its
// volume between theirs: whatever its depth says, it is one of them.
func (e *Reader) between(w *look.Window, line int, l []look.Box, next int, row []look.Box) bool {
	if len(e.C.Strands) != 1 || next >= len(w.Lines) || w.Lines[line].N != e.lastLine+1 || w.Lines[next].N != w.Lines[line].N+1 || !e.sameID(w, row) || !e.sameID(w, l) {
		return false
	}
	x := e.C.Strands[0].Vols[0].X
	p, q := look.At(l, x), look.At(row, x)
	b := e.Strands[0][0]
	if e.C.Id != 0 {
		b = e.cur
	}
	if p == nil || q == nil || b == nil {
		return false
	}
	lo, v, hi := b.lastVolume, w.Value(p), w.Value(q)
	return lo < v && v < hi || lo > v && v > hi
}

// tellGaps reports the runs of such rows, to the chart that they belong to or to
// all of the table.
func (e *Reader) tellGaps() {
	slices.SortStableFunc(e.gaps, func(a, b gap) int { return a.row - b.row })
	for i := 0; i < len(e.gaps); {
		k := i + 1
		for k < len(e.gaps) && e.gaps[k].row == e.gaps[k-1].row+1 && e.gaps[k].of == e.gaps[i].of {
			k++
		}
		from, to := e.r.At, e.r.At
		from.Row, to.Row = e.gaps[i].row, e.gaps[k-1].row
		f := finding.Finding{
			Slug: finding.CellsOutOfColumn, Severity: finding.Stop, At: from, To: to,
			Found: "numbers that do not stand in the columns of the chart around them", Expected: "each depth and volume in its own column",
			Why: "the rows around them belong to one chart; these were not read", Suggestion: "move the numbers into their columns, or delete them if they are none of the chart's",
		}
		if of := e.gaps[i].of; of != nil {
			f.Site, f.Tank, f.Chart = of.site, of.named.V, of.named.V
			e.r.Out.Findings = append(e.r.Out.Findings, f)
		} else {
			e.aboutAll(f)
		}
		i = k
	}
}

// strays marks, among the rows that wait, those that are spoiled rows of the chart
// before them or of the one that begins at line next, and tells of them.
func (e *Reader) strays(w *look.Window, next int) {
	if e.C.Turned || len(e.C.Strands) == 0 {
		return
	}
	e.startStrays(w, next)
	if e.Rows == 0 {
		return
	}
	s := &e.C.Strands[0]
	b := e.Strands[0][0]
	if e.C.Id != 0 {
		b = e.cur
	}
	if b == nil || len(b.Rows) < 2 {
		return
	}
	n := len(b.Rows)
	at := b.lastDepth
	step := b.Rows[n-1].Depth - b.Rows[n-2].Depth
	if !(step != 0) || math.IsNaN(at) {
		return
	}
	vol, line := b.lastVolume, e.lastLine
	for k := range e.Pend {
		p := &e.Pend[k]
		if p.Line >= next || p.head || p.stray {
			continue
		}
		row := w.Row(p.Line)
		if d, v, ok := e.shifted(w, s, row, func(d, v float64) bool {
			steps := (d - at) / step
			return steps > 0.01 && steps < 12 && (v-vol)*(vol-b.Rows[0].Volume)*step*(at-b.Rows[0].Depth) >= 0
		}); ok {
			p.stray = true
			e.gap(w, p.Line)
			if next < len(w.Lines) {
				e.hole(w, p.Line, row, w.Row(next))
			}
			at, vol, line = d, v, w.Lines[p.Line].N
			continue
		}
		// The last rows of a chart without their depths.
		if end := next >= len(w.Lines) || k == len(e.Pend)-1; p.odd && end && step > 0 && w.Lines[p.Line].N == line+1 && e.bareVolume(w, s, row, vol) {
			p.stray = e.oddRow(w, p.Line, row, true)
			vol, line = w.Value(look.At(row, s.Vols[0].X)), w.Lines[p.Line].N
		}
	}
	e.joinedNumbers(w, next)
}

// shifted looks for a depth and a volume of the strand beside their columns, as
// far apart as these are; fits says whether they go on from the chart.
func (e *Reader) shifted(w *look.Window, s *layout.Strand, row []look.Box, fits func(d, v float64) bool) (d, v float64, ok bool) {
	words := 0
	for k := range row {
		if x := int(row[k].X); row[k].Class == look.WordCell && x != e.C.Id && x != e.C.Site && x != e.C.Comp {
			words++
		}
	}
	if words > 1 {
		return 0, 0, false
	}
	x, y := s.Depth.Xs[len(s.Depth.Xs)-1], s.Vols[0].X
	for _, by := range [...]int{1, -1, 2, -2, 3, -3} {
		a, b := look.At(row, x+by), look.At(row, y+by)
		if a == nil || b == nil {
			continue
		}
		d, v := w.Value(a), w.Value(b)
		if !math.IsNaN(d) && !math.IsNaN(v) && fits(d, v) {
			return d, v, true
		}
	}
	return 0, 0, false
}

// bareVolume reports whether a row holds, but for its id, a volume alone that is
// larger than the last: totals and shares of the volume are not.
func (e *Reader) bareVolume(w *look.Window, s *layout.Strand, row []look.Box, last float64) bool {
	if len(e.C.Strands) != 1 || len(s.Vols) != 1 || look.At(row, s.Depth.Xs[len(s.Depth.Xs)-1]) != nil {
		return false
	}
	for k := range row {
		if x := int(row[k].X); x != s.Vols[0].X && x != e.C.Id && x != e.C.Site && x != e.C.Comp {
			return false
		}
	}
	v := look.At(row, s.Vols[0].X)
	if v == nil {
		return false // numbers that name site and tank, and nothing else
	}
	f := w.Value(v)
	return f > last && f < 1.3*last && (e.C.Id == 0 || e.sameID(w, row))
}

// startStrays finds the spoiled rows directly above the first row of a chart: it
// begins in the row next, and the rows lead up to it.
func (e *Reader) startStrays(w *look.Window, next int) {
	if next >= len(w.Lines) || len(e.Pend) == 0 || !e.hasDepth(w, w.Row(next), &e.C.Strands[0]) {
		return
	}
	s := &e.C.Strands[0]
	row := w.Row(next)
	var id []byte
	if e.C.Id != 0 {
		b := look.At(row, e.C.Id)
		if b == nil || e.cur != nil && bytes.Equal(w.Raw(b), e.curRaw) {
			return
		}
		id = w.Raw(b)
	} else if e.Rows > 0 {
		return
	}
	first := look.At(row, s.Vols[0].X)
	if first == nil {
		return
	}
	at, vol, line := e.peek(w, 0, s, row), w.Value(first), w.Lines[next].N
	for k := len(e.Pend) - 1; k >= 0; k-- {
		p := &e.Pend[k]
		l := w.Row(p.Line)
		if p.Line >= next || p.head || w.Lines[p.Line].N != line-1 || id != nil && (look.At(l, e.C.Id) == nil || !bytes.Equal(w.Raw(look.At(l, e.C.Id)), id)) {
			return
		}
		line = w.Lines[p.Line].N
		if d, v, ok := e.shifted(w, s, l, func(d, v float64) bool { return d >= 0 && d < at && v >= 0 && v <= vol }); ok {
			p.stray = true
			if e.C.Id != 0 {
				e.identify(w, l)
			}
			e.gap(w, p.Line)
			at, vol = d, v
			continue
		}
		if !p.odd || len(e.C.Strands) != 1 || len(s.Depth.Xs) != 1 {
			return
		}
		d, v := look.At(l, s.Depth.Xs[0]), look.At(l, s.Vols[0].X)
		if v == nil || !(w.Value(v) <= vol) || d != nil && utf8.RuneCount(w.Raw(d)) > 3 && !bytes.ContainsAny(w.Raw(d), "0123456789") {
			return
		}
		for j := range l {
			if x := int(l[j].X); l[j].Class == look.WordCell && x != s.Depth.Xs[0] && x != e.C.Id && x != e.C.Site && x != e.C.Comp {
				return
			}
		}
		vol = w.Value(v)
		p.stray = e.oddRow(w, p.Line, l, true)
	}
}

// joinedNumbers takes a lone row amid the chart whose cell for the depth begins
// with figures and has no volume beside it: both may stand in one cell.
func (e *Reader) joinedNumbers(w *look.Window, next int) {
	if len(e.Pend) != 1 || next >= len(w.Lines) || len(e.C.Strands) != 1 || len(e.C.Strands[0].Vols) != 1 || len(e.C.Strands[0].Depth.Xs) != 1 {
		return
	}
	p, s := &e.Pend[0], &e.C.Strands[0]
	n, row := w.Lines[p.Line].N, w.Row(p.Line)
	d := look.At(row, s.Depth.Xs[0])
	if p.stray || p.head || n != e.lastLine+1 || w.Lines[next].N != n+1 || d == nil || d.Class != look.WordCell || look.At(row, s.Vols[0].X) != nil || !e.sameID(w, row) || !e.sameID(w, w.Row(next)) {
		return
	}
	raw := bytes.TrimLeftFunc(w.Raw(d), headword.IsBlank)
	if len(raw) == 0 || raw[0] < '0' || raw[0] > '9' || utf8.RuneCount(raw) > 24 {
		return
	}
	b := e.Strands[0][0]
	if e.C.Id != 0 {
		b = e.cur
	}
	r := chart.Row{Depth: math.NaN(), Volume: math.NaN(), SheetRow: d.Row, DepthCol: int16(d.Col), VolumeCol: int16(s.Vols[0].X)}
	b.odd = append(b.odd, chart.Odd{Row: int32(len(b.Rows)), Kind: chart.OddText, Raw: w.Text(d), Value: math.NaN()})
	b.Apart.Add(len(b.Rows), 0)
	b.Rows = append(b.Rows, r)
	e.Rows++
	p.stray = true
}
