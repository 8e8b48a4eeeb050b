package intake

import (
	"fmt"
	"math"

	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// matrix is a chart with whole depths down and their parts across: inches and
// eighths, decimetres and centimetres, tens and units.
type matrix struct {
	head  int // row of the parts
	label int // column of the whole depths
	xs    []int
	parts []float64 // in units of the labels
	dates []int     // columns whose part has been turned into a date
	rows  []int     // lines with chart rows
	other []int     // lines between them: repeated heads, page lines
	end   int
	ratio float64 // label step in units of the heads
	step  float64
}

// ratios are how many of the unit across make a step of the unit down.
var ratios = [...]float64{1, 2, 4, 8, 10, 12, 16, 32, 64, 100}

// findMatrix looks for a matrix whose heads stand in the rows of the block's
// heading. The proof is in the numbers: the heads part the step of the labels
// evenly, and the volumes run on along each row into the next.
func (r *chartReader) findMatrix(w *window, b block) (m matrix, ok bool) {
	for i := b.head; i < len(w.lines) && i <= b.body+1; i++ {
		if m, ok = w.matrixAt(i); ok {
			return m, true
		}
	}
	return m, false
}

func (w *window) matrixAt(head int) (m matrix, ok bool) {
	row := w.row(head)
	if len(row) < 3 || head+2 >= len(w.lines)+1 || head+1 >= len(w.lines) {
		return m, false
	}
	m.head = head
	// The labels stand left of the first head.
	below := w.row(head + 1)
	if len(below) < 2 || !below[0].class.readable() {
		return m, false
	}
	m.label = int(below[0].x)
	prev := math.Inf(-1)
	var heads []float64
	for k := range row {
		p := &row[k]
		if int(p.x) <= m.label {
			if p.class.readable() {
				return m, false
			}
			continue
		}
		v := w.value(p)
		if p.class == dateCell {
			v = math.NaN()
			serial := p.num
			for _, f := range typedFractions(w.text(p), serial) {
				if f > prev {
					v = f
					break
				}
			}
			m.dates = append(m.dates, int(p.x))
		}
		if math.IsNaN(v) {
			if p.class == wordCell && len(heads) >= 3 {
				break // a note at the right
			}
			return m, false
		}
		if v <= prev {
			break
		}
		prev = v
		heads = append(heads, v)
		m.xs = append(m.xs, int(p.x))
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
	if !w.matrixRows(&m) {
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
			m.ratio = known
		}
	}
	if m.ratio == 0 {
		return m, false
	}
	for _, h := range heads {
		m.parts = append(m.parts, tidyNumber(h/m.ratio))
	}
	return m, w.runsOn(&m)
}

// tidyNumber takes the dust off a number made of others: 1.2000000000000002.
func tidyNumber(f float64) float64 {
	if q := math.Round(f*1e6) / 1e6; math.Abs(q-f) < 1e-9*math.Max(1, math.Abs(f)) {
		return q
	}
	return f
}

// matrixRows collects the rows of a matrix and the step of its labels.
func (w *window) matrixRows(m *matrix) bool {
	prev := math.NaN()
	m.end = m.head + 1
	var skipped []int
	for i := m.head + 1; i < len(w.lines); i++ {
		row := w.row(i)
		p := at(row, m.label)
		v := math.NaN()
		if p != nil {
			v = w.value(p)
		}
		cells := 0
		for _, x := range m.xs {
			if c := at(row, x); c != nil && c.class.readable() {
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
			if len(skipped) > 6 || w.sort(i).data() && !w.repeats(i, m.head) {
				break
			}
			continue
		}
		m.other = append(m.other, skipped...)
		skipped = skipped[:0]
		m.rows = append(m.rows, i)
		m.end = i + 1
		prev = v
	}
	return len(m.rows) >= 2 && m.step > 0
}

// repeats reports whether row i says the same as row k.
func (w *window) repeats(i, k int) bool {
	a, b := w.row(i), w.row(k)
	if len(a) != len(b) {
		return false
	}
	for j := range a {
		if a[j].x != b[j].x || string(w.raw(&a[j])) != string(w.raw(&b[j])) {
			return false
		}
	}
	return true
}

// runsOn reports whether the volumes go one way along the rows and from each
// row into the next.
func (w *window) runsOn(m *matrix) bool {
	up, down, over, back := 0, 0, 0, 0
	last := math.NaN()
	for _, i := range m.rows[:min(len(m.rows), 60)] {
		row := w.row(i)
		for k, x := range m.xs {
			p := at(row, x)
			if p == nil {
				continue
			}
			v := w.value(p)
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

// readMatrix makes the chart of a matrix.
func (r *chartReader) readMatrix(w *window, b block, m matrix, t titles) {
	corner := ""
	cornerAt := w.row(m.rows[0])[0].ref(r.at)
	if p := at(w.row(m.head), m.label); p != nil {
		corner = tidy(w.text(p))
		cornerAt = p.ref(r.at)
	}
	h := readHeading(corner)
	// Words of a row above the heads belong to the corner and to the columns.
	texts := corner
	for i := b.head; i < m.head; i++ {
		for _, p := range w.row(i) {
			if p.class == wordCell {
				texts += "; " + tidy(w.text(&p))
			}
		}
	}
	if h.lengths == 0 || h.volumes == 0 {
		all := readHeading(texts)
		if h.volumes == 0 && all.volumes == 1 {
			h.volume, h.volumes = all.volume, 1
		}
		if h.lengths == 0 && all.lengths > 0 {
			h.length, h.lengths = all.length, all.lengths
		}
		if h.role == roleNone {
			h.role = all.role
		}
	}
	var trouble []trouble
	// "dm \ cm" names the unit down first; the numbers say whether that is so.
	var named []unit.LengthUnit
	for _, u := range unit.FindUnits(texts) {
		if u.Length != 0 {
			named = append(named, u.Length)
		}
	}
	for _, l := range t.lengths {
		if len(named) < 2 {
			named = append(named, l.unit)
		}
	}
	if len(named) >= 2 && named[0] != named[1] {
		fits := func(down, across unit.LengthUnit) bool {
			return math.Abs(float64(down.Size()/across.Size())-m.ratio*1) < 1e-6*m.ratio
		}
		switch {
		case fits(named[0], named[1]):
			h.length = named[0]
		case fits(named[1], named[0]):
			h.length = named[1]
		default:
			trouble = append(trouble, troubleOfMatrix(cornerAt, named, m.ratio))
		}
		h.lengths = 1
		t.lengths = nil
	} else if h.lengths == 1 && m.ratio != 1 {
		// One unit named, and the heads count another: is it the one down?
		if !partsWord(texts) && !decimalParts(m.ratio) && len(named) > 0 {
			trouble = append(trouble, troubleOfMatrix(cornerAt, named, m.ratio))
		}
	}
	spec := volumeSpec{x: m.xs[0], head: heading{volume: h.volume, volumes: min(h.volumes, 1)}, at: w.row(m.rows[0])[0].ref(r.at)}
	if p := at(w.row(m.rows[0]), m.xs[0]); p != nil {
		spec.at = p.ref(r.at)
	}
	head := h
	head.volumes, head.volume, head.feetInches = 0, 0, false
	c := &columnar{
		layout: "matrix", trouble: trouble, headRow: w.lines[m.head].n,
		strands: []strand{{depth: depthSpec{xs: []int{m.label}, head: head, ullage: h.role == roleUllage, at: cornerAt}, vols: []volumeSpec{spec}}},
	}
	c.columns = []Column{{Col: m.label, Heading: corner, Means: "depth", StepUnit: h.length}}
	for _, x := range m.xs {
		text := ""
		if p := at(w.row(m.head), x); p != nil {
			text = tidy(w.text(p))
		}
		c.columns = append(c.columns, Column{Col: x, Heading: text, Means: "volume"})
	}
	b.head = m.head
	e := r.newExtractor(w, c, b, t)
	e.first = cell.Ref{File: r.at.File, Sheet: r.at.Sheet, Col: m.label, Row: w.lines[m.head].n}
	bd := e.strands[0][0]
	s := &c.strands[0]
	for _, i := range m.rows {
		row := w.row(i)
		p := at(row, m.label)
		e.rows++
		if w.lines[i].hidden {
			e.hide(w.lines[i].n)
		}
		whole := e.depth(w, bd, int32(len(bd.rows)), s, p)
		for k, x := range m.xs {
			v := at(row, x)
			if v == nil || v.class == wordCell && emptyWord(w.raw(v)) {
				continue
			}
			n := int32(len(bd.rows))
			out := chart.Row{Depth: tidyNumber(whole + m.parts[k]), SheetRow: p.row, DepthCol: int16(p.col), VolumeCol: int16(v.col)}
			if v.row != p.row {
				out.VolumeRow = v.row
			}
			out.Volume = e.volume(w, bd, n, &s.vols[0], v)
			bd.rows = append(bd.rows, out)
			e.lastRow, e.lastCol = max(e.lastRow, int(v.row)), max(e.lastCol, int(v.col))
		}
	}
	// The decimal signs of the labels are told by themselves: whole numbers.
	bd.depths = tally{}
	for _, i := range m.other {
		e.passRow(w.lines[i].n, "between the rows of the matrix")
	}
	e.emit()
	if len(m.dates) > 0 {
		e.datesAcross(w, &m) // now that the chart has its name
	}
}

func (e *extractor) hide(n int) {
	if k := len(e.hidden); k > 0 && e.hidden[k-1].ToRow >= n-1 {
		e.hidden[k-1].ToRow = n
		return
	}
	e.hidden = append(e.hidden, hiddenRow(n))
}

// datesAcross reports heads of a matrix that a spreadsheet took for dates. The
// chart's depths hang on them.
func (e *extractor) datesAcross(w *window, m *matrix) {
	from, to := e.r.at, e.r.at
	from.Row, to.Row = w.lines[m.head].n, w.lines[m.head].n
	from.Col, to.Col = m.dates[0], m.dates[len(m.dates)-1]
	list := ""
	for k, x := range m.xs {
		for _, d := range m.dates {
			if d == x {
				if list != "" {
					list += ", "
				}
				list += fractionText(m.parts[k] * m.ratio)
			}
		}
	}
	e.aboutAll(finding.Finding{
		Slug: finding.DepthTurnedIntoDate, Severity: finding.Stop, At: from, To: to,
		Found: fmt.Sprintf("%s in the heading where parts of a depth belong", many(len(m.dates), "date")), Expected: "fractions",
		Why:        "a spreadsheet takes a fraction such as 1/8 for a day of the year",
		Suggestion: "type the fractions again into cells with a number format; probably meant: " + list,
	})
}

func troubleOfMatrix(at cell.Ref, named []unit.LengthUnit, ratio float64) trouble {
	names := ""
	for i, u := range named {
		if i > 0 {
			names += ", "
		}
		names += u.String()
	}
	return trouble{
		slug: finding.UnitsConflict, from: at, found: fmt.Sprintf("units named: %s; %s columns make one row", names, short(ratio)),
		expected: "a unit down and a unit across that fit the numbers", why: "the numbers do not part in the way that these units do", suggestion: "write both units into the corner, as in dm \\ cm",
	}
}

// partsWord reports whether a text says that the heads count parts of the unit.
func partsWord(s string) bool {
	for _, p := range pieces(s) {
		switch p.word {
		case "eighths", "eighth", "8ths", "8th", "quarters", "quarter", "4ths", "halves", "half", "sixteenths", "16ths", "16th", "tenths", "tenth", "10ths", "32nds", "octavos", "cuartos", "decimos", "huitiemes", "quarts", "dixiemes", "achtel", "viertel", "zehntel", "12ths", "twelfths":
			return true
		}
	}
	return false
}

// decimalParts are tenths and hundredths, which nobody names.
func decimalParts(ratio float64) bool { return ratio == 10 || ratio == 100 }
