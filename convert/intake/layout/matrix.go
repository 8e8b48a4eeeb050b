package layout

import (
	"fmt"
	"math"
	"slices"

	"dropcut/convert/intake/headword"
	"dropcut/convert/intake/look"
	"dropcut/convert/intake/survey"
	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// Matrix is a chart with whole depths down and their parts across: inches and
// eighths, decimetres and centimetres, tens and units.
type Matrix struct {
	Head  int // row of the parts
	Label int // column of the whole depths
	Xs    []int
	Parts []float64 // in units of the labels
	Dates []int     // columns whose part has been turned into a date
	Rows  []int     // lines with chart rows
	Other []int     // lines between them: repeated heads, page lines
	End   int
	Ratio float64 // label step in units of the heads
	// Units says that the row below the heads holds units and nothing else.
	Units bool
	// Across is the unit that every head names beside its number ("1 cm"); 0 for none.
	Across unit.LengthUnit
	step   float64
}

// ratios are how many of the unit across make a step of the unit down.
var ratios = [...]float64{1, 2, 4, 8, 10, 12, 16, 32, 64, 100}

// FindMatrix looks for a matrix whose heads stand in the rows of the block's
// heading. The proof is in the numbers: the heads part the step of the labels
// evenly, and the volumes run on along each row into the next.
func FindMatrix(w *look.Window, b look.Block) (m Matrix, ok bool) {
	for i := b.Head; i < len(w.Lines) && i <= b.Body+1; i++ {
		if m, ok = matrixAt(w, i); ok {
			return m, true
		}
	}
	return m, false
}

func matrixAt(w *look.Window, head int) (m Matrix, ok bool) {
	row := w.Row(head)
	if len(row) < 3 || head+2 >= len(w.Lines)+1 || head+1 >= len(w.Lines) {
		return m, false
	}
	m.Head = head
	// The labels stand left of the first head; a row of units may stand between.
	below := w.Row(head + 1)
	if head+2 < len(w.Lines) && w.Sort(head+1).UnitsOnly {
		below = w.Row(head + 2)
		m.Units = true
	}
	if len(below) < 2 || !below[0].Class.Readable() {
		return m, false
	}
	m.Label = int(below[0].X)
	prev := math.Inf(-1)
	var heads []float64
	for k := range row {
		p := &row[k]
		if int(p.X) <= m.Label {
			if p.Class.Readable() {
				return m, false
			}
			continue
		}
		v := w.Value(p)
		if p.Class == look.MeasureCell {
			if l, named, err := unit.ScanLength(w.Text(p), unit.Inches, unit.DecimalPoint); err == nil && named != 0 && (m.Across == named || len(heads) == 0) {
				v, m.Across = TidyNumber(named.Number(l)), named
			}
		}
		if p.Class == look.DateCell {
			v = math.NaN()
			serial := p.Num
			for _, f := range look.TypedFractions(w.Text(p), serial) {
				if f > prev {
					v = f
					break
				}
			}
			m.Dates = append(m.Dates, int(p.X))
		}
		if math.IsNaN(v) && len(heads) == 0 && p.Class == look.WordCell && wholeWord(w.Text(p)) {
			v = 0
		}
		if math.IsNaN(v) {
			if p.Class == look.WordCell && len(heads) >= 3 {
				break // a note at the right
			}
			return m, false
		}
		if v <= prev {
			break
		}
		prev = v
		heads = append(heads, v)
		m.Xs = append(m.Xs, int(p.X))
	}
	if len(heads) < 2 {
		return m, false
	}
	step := (heads[len(heads)-1] - heads[0]) / float64(len(heads)-1)
	for k := range heads {
		if math.Abs(heads[k]-heads[0]-float64(k)*step) > step*0.02 {
			return m, false
		}
	}
	if heads[0] != 0 && math.Abs(heads[0]-step) > step*0.02 {
		return m, false
	}
	// The column of the whole depths may have no head of its own.
	if p := look.At(below, m.Label+1); heads[0] != 0 && m.Xs[0] == m.Label+2 && p != nil && p.Class.Readable() {
		heads, m.Xs = slices.Insert(heads, 0, 0), slices.Insert(m.Xs, 0, m.Label+1)
	}
	if !matrixRows(w, &m) {
		return m, false
	}
	// How many steps of the heads make one of the labels?
	full := heads[len(heads)-1] + step
	if heads[0] != 0 {
		full = heads[len(heads)-1]
	}
	ratio := full / m.step
	for _, known := range ratios {
		if math.Abs(ratio-known) <= known*2e-3 {
			m.Ratio = known
		}
	}
	if m.Ratio == 0 {
		return m, false
	}
	for _, h := range heads {
		m.Parts = append(m.Parts, TidyNumber(h/m.Ratio))
	}
	return m, runsOn(w, &m)
}

// wholeWord reports whether the head of the column of whole depths says so in
// words.
func wholeWord(s string) bool {
	switch unit.Fold(headword.Tidy(s)) {
	case "even", "flush", "full", "whole", "inch", "inches", "in", "-", "–", "—", "pouce", "zoll", "pulgada", "voll", "entero", "entier":
		return true
	}
	return false
}

// FindTurned looks for a matrix that stands on its side, with the whole depths
// along a row and their parts down. It gives the table turned, the line of its
// heads and the line behind its last one.
func FindTurned(w *look.Window, b look.Block) (t *look.Window, m Matrix, head, end int, ok bool) {
	for head = b.Head; head+2 < len(w.Lines) && head <= b.Body+1; head++ {
		row, below := w.Row(head), w.Row(head+1)
		if len(row) < 9 || len(below) < 9 || !below[0].Class.Readable() {
			continue
		}
		for end = head + 1; end < len(w.Lines) && end <= head+65; end++ {
			l := w.Row(end)
			if l[0].X != below[0].X || !l[0].Class.Readable() || w.Sort(end).Numbers < 3 {
				break
			}
		}
		if end < head+3 {
			continue
		}
		t = w.Turned(head, end)
		if m, ok = matrixAt(t, 0); ok {
			return t, m, head, end, true
		}
	}
	return nil, m, 0, 0, false
}

// TidyNumber takes the dust off a number made of others: 1.2000000000000002.
func TidyNumber(f float64) float64 {
	if q := math.Round(f*1e6) / 1e6; math.Abs(q-f) < 1e-9*math.Max(1, math.Abs(f)) {
		return q
	}
	return f
}

// matrixRows collects the rows of a matrix and the step of its labels.
func matrixRows(w *look.Window, m *Matrix) bool {
	prev := math.NaN()
	m.End = m.Head + 1
	var skipped []int
	for i := m.Head + 1; i < len(w.Lines); i++ {
		row := w.Row(i)
		p := look.At(row, m.Label)
		v := math.NaN()
		if p != nil {
			v = w.Value(p)
		}
		cells := 0
		for _, x := range m.Xs {
			if c := look.At(row, x); c != nil && c.Class.Readable() {
				cells++
			}
		}
		good := !math.IsNaN(v) && cells > 0
		if good && !math.IsNaN(prev) {
			d := v - prev
			if m.step == 0 && d > 0 {
				m.step = d
			}
			good = m.step > 0 && d > 0 && d <= 3.01*m.step
		}
		if !good {
			skipped = append(skipped, i)
			if len(skipped) > 6 || w.Sort(i).Data() && !w.Repeats(i, m.Head) {
				break
			}
			continue
		}
		m.Other = append(m.Other, skipped...)
		skipped = skipped[:0]
		m.Rows = append(m.Rows, i)
		m.End = i + 1
		prev = v
	}
	return len(m.Rows) >= 2 && m.step > 0
}

// runsOn reports whether the volumes go one way along the rows and from each
// row into the next.
func runsOn(w *look.Window, m *Matrix) bool {
	up, down, over, back := 0, 0, 0, 0
	last := math.NaN()
	for _, i := range m.Rows[:min(len(m.Rows), 60)] {
		row := w.Row(i)
		for k, x := range m.Xs {
			p := look.At(row, x)
			if p == nil {
				continue
			}
			v := w.Value(p)
			if math.IsNaN(v) {
				continue
			}
			if !math.IsNaN(last) {
				switch {
				case v > last && k == 0:
					over++
				case v < last && k == 0:
					back++
				case v > last:
					up++
				case v < last:
					down++
				}
			}
			last = v
		}
	}
	rising := up > 8*down && over >= 4*back
	falling := down > 8*up && back >= 4*over
	return rising || falling
}

func TroubleOfMatrix(at cell.Ref, named []unit.LengthUnit, ratio float64) Trouble {
	names := ""
	for i, u := range named {
		if i > 0 {
			names += ", "
		}
		names += u.String()
	}
	return Trouble{
		Slug: finding.UnitsConflict, From: at, Found: fmt.Sprintf("units named: %s; %s columns make one row", names, survey.Short(ratio)),
		Expected: "a unit down and a unit across that fit the numbers", Why: "the numbers do not part in the way that these units do", Suggestion: "write both units into the corner, as in dm \\ cm",
	}
}

// DecimalParts are tenths and hundredths, which nobody names.
func DecimalParts(ratio float64) bool { return ratio == 10 || ratio == 100 }
