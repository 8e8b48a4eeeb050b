package extract

import (
	"bytes"

	"dropcut/convert/grid"
	"dropcut/convert/intake/layout"
	"dropcut/plan/chart"
	"dropcut/plan/unit"
)

// Nearly every row of a long chart is like the one before: the same tank, a
// depth and a volume that are plain numbers. Such rows are read where they come
// in, past the window, which is what makes long sheets cheap. Whatever has
// anything about it goes the long way, which decides the same for plain rows.

// straight are the columns of a table that has plain rows.
type straight struct {
	id, site, comp int // 0 for none
	depth, volume  int
	ok             bool
}

func straightOf(c *layout.Columnar) straight {
	if len(c.Strands) != 1 || c.Turned || len(c.Also) > 0 || c.DepthUnits != 0 || c.Volumes != 0 {
		return straight{}
	}
	s := &c.Strands[0]
	if len(s.Depth.Xs) != 1 || s.Depth.Head.FeetInches || len(s.Vols) != 1 || s.Depth.Xs[0] == s.Vols[0].X {
		return straight{}
	}
	return straight{id: c.Id, site: c.Site, comp: c.Comp, depth: s.Depth.Xs[0], volume: s.Vols[0].X, ok: true}
}

// Plain reads a row that goes on from the one before, and reports whether it was
// one; else nothing has changed. No row may wait in the window.
func (e *Reader) Plain(r *grid.Row) bool {
	p := &e.straight
	if !p.ok || r.Hidden || len(e.Pend) > 0 {
		return false
	}
	b := e.cur
	if p.id == 0 {
		// A gap in the rows may part two tables.
		if e.lastLine == 0 || r.N-e.lastLine > 2 {
			return false
		}
		b = e.Strands[0][0]
	} else if b == nil || !same(r, p.id, e.curRaw) || p.site != 0 && !same(r, p.site, e.siteRaw) || p.comp != 0 && !same(r, p.comp, e.compRaw) {
		return false
	}
	d, v := r.At(p.depth), r.At(p.volume)
	if d == nil || v == nil {
		return false
	}
	depth, depthForm, ok := plain(d)
	if !ok {
		return false
	}
	volume, volumeForm, ok := plain(v)
	if !ok {
		return false
	}
	n := int32(len(b.Rows))
	if d.Kind == grid.Text {
		b.asText++
		b.Depths.Count(depthForm, n)
	}
	if v.Kind == grid.Text {
		b.asText++
		b.vols.Count(volumeForm, n)
	}
	if len(b.Rows) == cap(b.Rows) {
		e.room(b)
	}
	b.Apart.Add(int(n), 0)
	b.Rows = append(b.Rows, chart.Row{Depth: depth, Volume: volume, SheetRow: int32(r.N), DepthCol: int16(d.Col), VolumeCol: int16(v.Col)})
	b.lastDepth, b.lastVolume = depth, volume
	e.Rows++
	e.lastLine = r.N
	e.LastRow, e.LastCol = r.N, max(e.LastCol, v.Col)
	return true
}

// same reports whether a cell holds the same text as in the row before.
func same(r *grid.Row, col int, raw []byte) bool {
	c := r.At(col)
	return c != nil && len(raw) > 0 && bytes.Equal(c.Raw, raw)
}

// plain gives the number of a cell that is one and nothing else.
func plain(c *grid.Cell) (f float64, form unit.Form, ok bool) {
	switch c.Kind {
	case grid.Text:
		if c.Formula {
			return 0, 0, false
		}
		return unit.Plain(c.Raw)
	case grid.Number:
		return c.Num, 0, c.Format == grid.Plain || c.Format == grid.FractionFormat
	}
	return 0, 0, false
}
