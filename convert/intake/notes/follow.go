package notes

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"dropcut/convert/grid"
	"dropcut/convert/intake/figures"
	"dropcut/convert/intake/survey"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// slot is a run of cells that a note wants, and where they go.
type slot struct {
	run  run
	base int // index of its first cell in to
	to   *wantedCells
	read func(*grid.Cell) (float64, *chart.Odd)
}

// wantedCells are the cells of one note's depths, steps or volumes.
type wantedCells struct {
	runs []run
	ends []int // the number of cells up to the end of each run
	v    []float64
	odd  map[int]chart.Odd
	have []bool
}

type cellAt struct{ col, row int }

func newWanted(runs []run) *wantedCells {
	n := RunsLen(runs)
	w := &wantedCells{runs: runs, v: make([]float64, n), have: make([]bool, n), odd: map[int]chart.Odd{}}
	end := 0
	for _, r := range runs {
		end += r.Len()
		w.ends = append(w.ends, end)
	}
	return w
}

// at gives the i-th cell. It is worked out and not kept: notes of a large
// portfolio name some ten million cells.
func (w *wantedCells) at(i int) cellAt {
	k := sort.SearchInts(w.ends, i+1)
	if k > 0 {
		i -= w.ends[k-1]
	}
	col, row := w.runs[k].CellAt(i)
	return cellAt{col, row}
}

func (w *wantedCells) missing() int { return slices.Index(w.have, false) }

// byCells reads charts from the cells that their notes name, in one pass over
// the sheet.
func (n *Table) byCells(sh grid.Sheet, notes []*Entry) (map[*Entry]*chart.Chart, figures.Yield, error) {
	var out figures.Yield
	charts := map[*Entry]*chart.Chart{}
	type parts struct{ depth, step, volume *wantedCells }
	want := map[*Entry]parts{}
	var slots []slot
	for _, x := range notes {
		f := &x.read
		p := parts{newWanted(f.depth), newWanted(f.step), newWanted(f.volume)}
		want[x] = p
		length := func(u unit.LengthUnit) func(*grid.Cell) (float64, *chart.Odd) {
			return func(c *grid.Cell) (float64, *chart.Odd) { return noteNumber(c, f.decimal, u) }
		}
		for _, s := range [...]struct {
			runs []run
			to   *wantedCells
			read func(*grid.Cell) (float64, *chart.Odd)
		}{
			{f.depth, p.depth, length(f.depthUnit)},
			{f.step, p.step, length(f.stepUnit)},
			{f.volume, p.volume, func(c *grid.Cell) (float64, *chart.Odd) { return noteVolume(c, f.decimal, f.volumeUnit) }},
		} {
			base := 0
			for _, r := range s.runs {
				slots = append(slots, slot{r, base, s.to, s.read})
				base += r.Len()
			}
		}
	}
	if err := fillSlots(sh, slots); err != nil {
		return charts, out, err
	}
	for _, x := range notes {
		p := want[x]
		for _, w := range [...]*wantedCells{p.depth, p.step, p.volume} {
			// A matrix may have a last row that is not full.
			if i := w.missing(); i >= 0 && (w != p.volume || len(p.step.v) == 0) {
				return charts, out, n.misfit(x, "the cell "+cell.Ref{Col: w.at(i).col, Row: w.at(i).row}.A1()+" is blank", "correct the ranges")
			}
		}
		c, wait, err := n.build(x, sh.At(), p.depth, p.step, p.volume)
		if err != nil {
			return charts, out, err
		}
		charts[x] = c
		out.Findings = append(out.Findings, n.oddFindings(x, c)...)
		if wait != nil {
			out.Waiting = append(out.Waiting, wait)
		}
	}
	return charts, out, nil
}

// fillSlots streams the sheet once and puts each wanted cell where it belongs.
func fillSlots(sh grid.Sheet, slots []slot) error {
	slices.SortStableFunc(slots, func(a, b slot) int { return min(a.run.row, a.run.toRow) - min(b.run.row, b.run.toRow) })
	next := 0
	var active []*slot
	for r, err := range sh.Rows() {
		if err != nil {
			return err
		}
		for next < len(slots) && min(slots[next].run.row, slots[next].run.toRow) <= r.N {
			active = append(active, &slots[next])
			next++
		}
		active = slices.DeleteFunc(active, func(s *slot) bool { return max(s.run.row, s.run.toRow) < r.N })
		for _, s := range active {
			for i := range r.Cells {
				c := &r.Cells[i]
				k, ok := s.run.Index(c.Col, r.N)
				if !ok || len(c.Raw) == 0 && !c.Formula {
					continue
				}
				v, odd := s.read(c)
				s.to.v[s.base+k], s.to.have[s.base+k] = v, true
				if odd != nil {
					s.to.odd[s.base+k] = *odd
				}
			}
		}
	}
	return nil
}

// noteNumber reads the cell of a depth in the note's unit.
func noteNumber(c *grid.Cell, dec unit.Decimal, u unit.LengthUnit) (float64, *chart.Odd) {
	if v, odd, done := plainNumber(c); done {
		return v, odd
	}
	if v, ok := unit.Number(c.Raw, dec); ok {
		return v, nil
	}
	in := u
	if in == 0 {
		in = unit.Inches // of a text without units, whose number is what counts
	}
	l, named, err := unit.ScanLength(c.Raw, in, dec)
	if err != nil || u == 0 && named != 0 {
		return math.NaN(), &chart.Odd{Kind: chart.OddText, Raw: c.String(), Value: math.NaN()}
	}
	return in.Number(l), nil
}

func noteVolume(c *grid.Cell, dec unit.Decimal, u unit.VolumeUnit) (float64, *chart.Odd) {
	if v, odd, done := plainNumber(c); done {
		return v, odd
	}
	if v, ok := unit.Number(c.Raw, dec); ok {
		return v, nil
	}
	in := u
	if in == 0 {
		in = unit.USGallons
	}
	l, named, err := unit.ScanVolume(c.Raw, in, dec)
	if err != nil || u == 0 && named != 0 {
		return math.NaN(), &chart.Odd{Kind: chart.OddText, Raw: c.String(), Value: math.NaN()}
	}
	return in.Number(l), nil
}

// plainNumber reads a cell that is a number, or can be none.
func plainNumber(c *grid.Cell) (float64, *chart.Odd, bool) {
	odd := func(k chart.OddKind) (float64, *chart.Odd, bool) {
		return math.NaN(), &chart.Odd{Kind: k, Raw: c.String(), Value: math.NaN()}, true
	}
	switch {
	case c.Kind == grid.Error:
		return odd(chart.OddError)
	case c.Kind == grid.Blank:
		return odd(chart.OddNoValue)
	case c.Kind == grid.ISODate, c.Kind == grid.Number && c.Format == grid.DateFormat:
		return odd(chart.OddDate)
	case c.Kind == grid.Bool:
		return odd(chart.OddText)
	case c.Kind == grid.Number:
		return c.Num, nil, true
	}
	return 0, nil, false
}

// build makes the chart of a note from its cells; wait is given where its depths
// hang on a height, or a unit, that the note does not name.
func (n *Table) build(x *Entry, at cell.Ref, depth, step, volume *wantedCells) (c *chart.Chart, wait *figures.Ullages, err error) {
	f := &x.read
	noted := cell.Ref{File: n.File, Row: x.line}
	c = &chart.Chart{
		Name: x.Tank, NamedBy: cell.Of[string]{V: x.Tank, Raw: x.Tank, At: noted}, Site: x.Site, At: at, To: at, Layout: x.Layout,
		DepthUnit: f.depthUnit, VolumeUnit: f.volumeUnit, Ullage: f.fromTop, FullHeight: f.height,
	}
	if f.depthUnit != 0 {
		c.DepthUnitFrom = noted
	}
	if f.volumeUnit != 0 {
		c.VolumeUnitFrom = noted
	}
	if f.fromTop && !(f.height.Given() && f.depthUnit != 0) {
		wait = &figures.Ullages{Chart: c, Height: f.height}
	}
	var byRow, byCol, stepRow, stepCol map[int]int
	if len(step.v) > 0 {
		byRow, byCol = lines(depth)
		stepRow, stepCol = lines(step)
	}
	for i := range volume.v {
		if !volume.have[i] {
			continue
		}
		v := volume.at(i)
		di := i
		d := 0.0
		if len(step.v) > 0 {
			var ok bool
			if di, ok = byRow[v.row]; !ok {
				if di, ok = byCol[v.col]; !ok {
					return nil, nil, n.misfit(x, "no depth cell stands in the row or column of "+cell.Ref{Col: v.col, Row: v.row}.A1(), "correct the ranges")
				}
			}
			si, ok := stepCol[v.col]
			if !ok {
				if si, ok = stepRow[v.row]; !ok {
					return nil, nil, n.misfit(x, "no step cell stands in the column or row of "+cell.Ref{Col: v.col, Row: v.row}.A1(), "correct the ranges")
				}
			}
			d = step.v[si]
			if f.stepUnit != f.depthUnit {
				d = f.depthUnit.Number(f.stepUnit.Length(d))
			}
			if odd, is := step.odd[si]; is {
				odd.Row = int32(len(c.Rows))
				c.Odd = append(c.Odd, odd)
			}
		}
		d += depth.v[di]
		switch {
		case wait != nil:
			wait.From = append(wait.From, d)
			d = math.NaN()
		case f.fromTop:
			d = figures.BelowTop(f.depthUnit.Number(f.height.V), d)
		}
		row := int32(len(c.Rows))
		if odd, is := depth.odd[di]; is {
			odd.Row = row
			c.Odd = append(c.Odd, odd)
		}
		if odd, is := volume.odd[i]; is {
			odd.Row, odd.Volume = row, true
			c.Odd = append(c.Odd, odd)
		}
		at := depth.at(di)
		cr := chart.Row{Depth: d, Volume: volume.v[i], SheetRow: int32(at.row), DepthCol: int16(at.col), VolumeCol: int16(v.col)}
		c.Apart.Add(int(row), int32(v.row-at.row))
		c.Rows = append(c.Rows, cr)
	}
	if f.rows >= 0 && f.rows != len(c.Rows) {
		return nil, nil, n.misfit(x, fmt.Sprintf("the cells hold %d rows, and the note says %d", len(c.Rows), f.rows), "correct the ranges, or correct or empty rows")
	}
	if len(c.Rows) > 0 {
		first, end := c.Rows[0], c.VolumeAt(len(c.Rows)-1)
		c.At.Row, c.At.Col = int(first.SheetRow), int(first.DepthCol)
		c.To.Row, c.To.Col = end.Row, end.Col
	}
	if wait != nil {
		wait.Head = c.At
	}
	return c, wait, nil
}

// lines gives the indexes of cells by their row and by their column, for cells
// that stand in one column or one row.
func lines(w *wantedCells) (byRow, byCol map[int]int) {
	byRow, byCol = map[int]int{}, map[int]int{}
	for i := range w.v {
		c := w.at(i)
		if _, ok := byRow[c.row]; !ok {
			byRow[c.row] = i
		}
		if _, ok := byCol[c.col]; !ok {
			byCol[c.col] = i
		}
	}
	return byRow, byCol
}

// oddFindings reports the cells that hold no number, and a depth from the top
// without a height.
func (n *Table) oddFindings(x *Entry, c *chart.Chart) []finding.Finding {
	var list []finding.Finding
	if c.Ullage && !(c.FullHeight.Given() && c.DepthUnit != 0) {
		list = append(list, finding.Finding{
			Slug: finding.UllageWithoutHeight, Severity: finding.Stop, Tank: c.Name, Site: c.Site, Chart: c.Name, At: c.At, Found: "depths from the top of the tank down, and no height",
			Expected: "the tank's inside height", Why: "without it no depth from the bottom can be known", Suggestion: fmt.Sprintf("write it into full_height, row %d of %s", x.line, n.File),
		})
	}
	for _, o := range c.Odd {
		at := c.DepthAt(int(o.Row))
		if o.Volume {
			at = c.VolumeAt(int(o.Row))
		}
		f := finding.Finding{
			Slug: finding.ValueUnreadable, Severity: finding.Stop, Tank: c.Name, Site: c.Site, Chart: c.Name, At: at, Found: survey.Quote(o.Raw),
			Expected: "a number", Why: "the notes name the cell, and it holds none", Suggestion: "correct the cell, or leave it out of the ranges",
		}
		switch o.Kind {
		case chart.OddError:
			f.Slug = finding.ErrorValue
		case chart.OddNoValue:
			f.Slug, f.Found = finding.FormulaWithoutValue, "a formula without its result"
		case chart.OddDate:
			f.Why = "the cell holds a date; spreadsheet programs make a date of a typed fraction"
		}
		list = append(list, f)
	}
	return list
}
