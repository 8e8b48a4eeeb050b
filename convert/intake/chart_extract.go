package intake

import (
	"bytes"
	"math"
	"slices"
	"strconv"
	"strings"

	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/unit"

	"dropcut/convert/grid"
)

// rowState is what the extractor makes of a row.
type rowState uint8

const (
	rowTaken   rowState = iota // it holds chart rows
	rowPending                 // what it is shows when more rows are known
	rowOfNext                  // with the rows that wait it starts another table
)

// waiting is a row that waits: words, a repeated heading, a footer.
type waiting struct {
	line int
	why  string
	odd  bool // it holds a number where a chart row has one
	head bool
	bare bool // a depth and no volume
}

// tally keeps what settles the decimal sign of one column of one chart.
type tally struct {
	vote  unit.DecimalVote
	forms []unit.Form // of each row whose number is a text
	// The rows by their form, filled by list for the few charts that need them.
	point, comma []int32 // rows whose one sign may be either
	wrote        []int32 // rows that prove a comma
	wrotePoint   []int32 // rows that prove a point with decimals behind it
}

// list sorts the rows by the form of their text.
func (t *tally) list() {
	for i, f := range t.forms {
		n := int32(i)
		switch f {
		case unit.FormEitherPoint:
			t.point = append(t.point, n)
		case unit.FormEitherComma:
			t.comma = append(t.comma, n)
		case unit.FormComma:
			t.wrote = append(t.wrote, n)
		case unit.FormPoint:
			t.wrotePoint = append(t.wrotePoint, n)
		}
	}
}

// builder makes one chart.
type builder struct {
	name   naming
	comp   string
	site   string
	named  cell.Of[string]
	rows   []chart.Row
	odd    []chart.Odd
	depths tally
	vols   tally
	asText int // numbers that are stored as text

	depthUnit   unit.LengthUnit // named in the cells themselves
	depthFrom   cell.Ref
	depthOther  cell.Ref // a cell that names a unit of the other system
	volumeUnit  unit.VolumeUnit
	volumeFrom  cell.Ref
	volumeOther cell.Ref
	depthCol    unit.LengthUnit // of the columns for units, row by row
	volumeCol   unit.VolumeUnit
	unitsClash  cell.Ref
	plain       int // depths without marks under a heading of feet and inches
	plainFrom   cell.Ref
	plainTo     cell.Ref

	strand, vol int
	lastDepth   float64
	lastVolume  float64
}

// extractor turns rows into charts by a settled layout.
type extractor struct {
	r      *chartReader
	c      *columnar
	t      titles
	byID   map[string]*builder
	order  []*builder
	cur    *builder
	curRaw []byte
	// strands[i][k] is the chart of volume k of strand i, where no column names
	// the tank.
	strands  [][]*builder
	feet     []float64 // the larger part of a depth in two columns, kept
	pend     []waiting
	pendFrom int
	first    cell.Ref
	lastRow  int
	lastCol  int
	rows     int
	passed   []Passed
	hidden   []grid.Range
	cross    []crossCheck
	bare     []bareRun
	last     *builder // the one that stands at the end of a block
	block    int      // size of that block
	gaps     []int    // rows with a number out of its column
	lastLine int
}

func (r *chartReader) newExtractor(w *window, c *columnar, b block, t titles) *extractor {
	e := &extractor{r: r, c: c, t: t, byID: make(map[string]*builder), pendFrom: b.body}
	e.first = w.row(b.head)[0].ref(r.at)
	if len(c.strands) > 0 {
		x := c.strands[0].depth.xs[0]
		for _, s := range c.strands {
			for _, v := range s.vols {
				x = min(x, v.x, s.depth.xs[0])
			}
		}
		if c.id != 0 {
			x = min(x, c.id)
		}
		if !c.turned {
			e.first.Col = x
		}
	}
	e.cross = make([]crossCheck, len(c.also))
	for i := range e.cross {
		e.cross[i].c = &c.also[i]
	}
	e.renew()
	if !c.turned {
		for i := b.from; i < b.head; i++ {
			e.passRow(w.lines[i].n, "title")
		}
	}
	return e
}

// renew opens the charts of a table whose columns are the tanks.
func (e *extractor) renew() {
	e.strands = make([][]*builder, len(e.c.strands))
	e.feet = make([]float64, len(e.c.strands)*4)
	for i, s := range e.c.strands {
		e.strands[i] = make([]*builder, len(s.vols))
		if e.c.id != 0 {
			continue
		}
		for k := range s.vols {
			if e.c.fold == foldByRows && i > 0 {
				e.strands[i][k] = e.strands[0][k]
				continue
			}
			b := &builder{strand: i, vol: k, lastDepth: math.NaN()}
			e.strands[i][k] = b
			e.order = append(e.order, b)
		}
	}
}

// take reads line i of the window.
func (e *extractor) take(w *window, i int) rowState {
	row := w.row(i)
	for k := range e.c.strands {
		if s := &e.c.strands[k]; s.depth.head.feetInches && len(s.depth.xs) == 1 {
			w.feetInches(row, s.depth.xs[0])
		}
	}
	n := 0
	depth := false
	for k := range e.c.strands {
		s := &e.c.strands[k]
		if !e.hasDepth(row, s) {
			continue
		}
		depth = true
		for j := range s.vols {
			v := at(row, s.vols[j].x)
			// Where there is one volume, a dash for it leaves a row without any.
			if v != nil && !(len(s.vols) == 1 && v.class == wordCell && emptyWord(w.raw(v))) {
				n++
			}
		}
	}
	if n == 0 {
		return e.wait(w, i, row, depth)
	}
	if len(e.pend) > 0 {
		if state, settled := e.resume(w, i, row); settled {
			return state
		}
	} else if e.lastLine > 0 && w.lines[i].n-e.lastLine > 2 && e.c.id == 0 && e.startsAnew(w, row) {
		return rowOfNext
	}
	e.chartRow(w, i, row)
	return rowTaken
}

func (e *extractor) chartRow(w *window, i int, row []box) {
	l := &w.lines[i]
	if l.hidden {
		if n := len(e.hidden); n > 0 && e.hidden[n-1].ToRow >= l.n-1 {
			e.hidden[n-1].ToRow = l.n
		} else {
			e.hidden = append(e.hidden, grid.Range{Row: l.n, ToRow: l.n})
		}
	}
	e.rows++
	e.lastLine = l.n
	for k := range e.c.strands {
		s := &e.c.strands[k]
		if e.c.id != 0 {
			e.identify(w, row)
		}
		if !e.hasDepth(row, s) {
			e.keepFeet(w, k, s, row)
			continue
		}
		for j := range s.vols {
			v := at(row, s.vols[j].x)
			if v == nil {
				if j == 0 && len(s.vols) == 1 {
					e.keepFeet(w, k, s, row)
				}
				continue
			}
			b := e.strands[k][j]
			if e.c.id != 0 {
				b = e.cur
				if len(s.vols) > 1 {
					b = e.other(w, row, j)
				}
			}
			if v.class == wordCell && emptyWord(w.raw(v)) {
				continue
			}
			e.add(w, b, k, s, &s.vols[j], row, v)
			e.lastRow, e.lastCol = int(v.row), max(e.lastCol, int(v.col))
		}
	}
	for k := range e.c.also {
		if p := at(row, e.c.also[k].x); p != nil {
			e.cross[k].take(e, w, row, p)
		}
	}
}

// emptyWord reports whether a text stands for "nothing here".
func emptyWord(raw []byte) bool {
	t := bytes.TrimFunc(raw, blankRune)
	switch string(t) {
	case "", "-", "–", "—", "--", "---", "n/a", "N/A", "na", "NA", "nil", ".", "..":
		return true
	}
	return false
}

// hasDepth reports whether the row has something of a number where the depth
// stands.
func (e *extractor) hasDepth(row []box, s *strand) bool {
	got := false
	for _, x := range s.depth.xs {
		b := at(row, x)
		if b == nil {
			continue
		}
		if !b.class.readable() {
			return false
		}
		got = true
	}
	if len(s.depth.xs) > 1 {
		return got && at(row, s.depth.xs[len(s.depth.xs)-1]) != nil
	}
	return got
}

// keepFeet remembers the larger part of a depth whose smaller part is missing.
func (e *extractor) keepFeet(w *window, k int, s *strand, row []box) {
	if len(s.depth.xs) < 2 {
		return
	}
	for j, x := range s.depth.xs[:len(s.depth.xs)-1] {
		if b := at(row, x); b != nil {
			if f := w.value(b); !math.IsNaN(f) {
				e.feet[k*4+j] = f
			}
		}
	}
}

// identify finds the chart that the row belongs to.
func (e *extractor) identify(w *window, row []box) {
	b := at(row, e.c.id)
	var raw []byte
	if b != nil {
		raw = w.raw(b)
	}
	multi := e.c.site != 0 || e.c.comp != 0
	if !multi && e.cur != nil && (b == nil || bytes.Equal(raw, e.curRaw)) {
		return
	}
	if b == nil && e.cur != nil && !multi {
		return
	}
	text := strings.TrimPrefix(idText(w, b), "'")
	key := text
	site, comp := "", ""
	if multi {
		if b == nil && e.cur != nil {
			text = e.cur.named.Raw
			key = text
		}
		if p := at(row, e.c.site); p != nil && e.c.site != 0 {
			site = idText(w, p)
		}
		if p := at(row, e.c.comp); p != nil && e.c.comp != 0 {
			comp = tidy(idText(w, p))
		}
		key += "\x00" + site + "\x00" + comp
	}
	// Blanks around an id are no part of it; other differences are the join's.
	key = tidy(key)
	e.curRaw = append(e.curRaw[:0], raw...)
	cur := e.byID[key]
	if cur == nil {
		cur = &builder{site: tidy(site), comp: comp, lastDepth: math.NaN()}
		id := tidy(text)
		cur.name = naming{names: []string{id}, text: text}
		if n, ok := readName(id, e.r.opt.IDs, true); ok && n.combined && len(n.names) > 1 {
			cur.name = n
			cur.name.text = text
		}
		cur.named = cell.Of[string]{V: cur.name.name(), Raw: text}
		if b != nil {
			cur.named.At = b.ref(e.r.at)
		}
		e.byID[key] = cur
		e.order = append(e.order, cur)
	}
	e.cur = cur
}

// other gives the chart of the second and further volumes of a long table.
func (e *extractor) other(w *window, row []box, j int) *builder {
	v := &e.c.strands[0].vols[j]
	comp := v.comp
	if comp == "" {
		comp = v.name.name()
	}
	key := e.cur.named.Raw + "\x00\x00" + strconv.Itoa(j)
	b := e.byID[key]
	if b == nil {
		b = &builder{name: e.cur.name, named: e.cur.named, site: e.cur.site, comp: comp, vol: j, lastDepth: math.NaN()}
		if j == 0 && len(e.cur.rows) == 0 {
			e.order = slices.DeleteFunc(e.order, func(x *builder) bool { return x == e.cur })
		}
		e.byID[key] = b
		e.order = append(e.order, b)
	}
	return b
}

// idText gives an id as it stands: a number's digits as they are stored.
func idText(w *window, b *box) string {
	if b == nil {
		return ""
	}
	if b.class == numberCell && !b.text && b.num == math.Trunc(b.num) && math.Abs(b.num) < 1e15 {
		return strconv.FormatFloat(b.num, 'f', -1, 64)
	}
	return w.text(b)
}

func trimNumber(f float64) string { return strconv.FormatFloat(f, 'f', -1, 64) }

// add appends a row to a chart.
func (e *extractor) add(w *window, b *builder, k int, s *strand, vs *volumeSpec, row []box, v *box) {
	n := int32(len(b.rows))
	r := chart.Row{Depth: math.NaN(), Volume: math.NaN()}
	d := at(row, s.depth.xs[len(s.depth.xs)-1])
	if d == nil {
		d = v
		b.odd = append(b.odd, chart.Odd{Row: n, Kind: chart.OddText, Value: math.NaN()})
	} else if len(s.depth.xs) == 1 {
		r.Depth = e.depth(w, b, n, s, d)
	} else {
		r.Depth = e.parts(w, b, n, k, s, row)
	}
	r.Volume = e.volume(w, b, n, vs, v)
	r.SheetRow, r.DepthCol, r.VolumeCol = d.row, int16(d.col), int16(v.col)
	if d == v && len(s.depth.xs) > 0 && !e.c.turned {
		r.DepthCol = int16(s.depth.xs[0])
	}
	if v.row != d.row {
		r.VolumeRow = v.row
	}
	if e.c.depthUnits != 0 || e.c.volumes != 0 {
		e.rowUnits(w, b, row)
	}
	if !math.IsNaN(r.Depth) {
		b.lastDepth = r.Depth
	}
	if len(b.rows) == cap(b.rows) {
		e.room(b)
	}
	if !math.IsNaN(r.Volume) {
		b.lastVolume = r.Volume
	}
	b.rows = append(b.rows, r)
}

// blockRows is the size of the blocks that the rows of long lists stand in: 2 MB.
const blockRows = 1 << 16

// room makes room for a further row. The charts of a long list stand behind each
// other in large blocks, which the chart that is being read fills to where it
// ends; a chart of its own list grows as lists do.
func (e *extractor) room(b *builder) {
	if e.c.id == 0 {
		b.rows = slices.Grow(b.rows, max(64, len(b.rows)))
		return
	}
	switch t := e.last; {
	case t == b:
		// slices.Grow would write over the new room twice.
		e.block = min(blockRows, 4*e.block)
		rows := make([]chart.Row, len(b.rows), len(b.rows)+max(e.block, len(b.rows)))
		copy(rows, b.rows)
		b.rows = rows
	case len(b.rows) > 0: // another stood between
		b.rows = slices.Grow(b.rows, max(64, len(b.rows)))
	case t != nil && cap(t.rows)-len(t.rows) >= 64:
		b.rows = t.rows[len(t.rows):]
		t.rows = t.rows[:len(t.rows):len(t.rows)]
		e.last = b
	default:
		e.block = min(blockRows, max(256, 4*e.block))
		b.rows = make([]chart.Row, 0, e.block)
		e.last = b
	}
}

// count notes the form of a text that is a number, in row n of its chart.
func (t *tally) count(form unit.Form, n int32) {
	switch form {
	case unit.FormWhole:
		t.vote.Whole++
	case unit.FormPoint:
		t.vote.Point++
	case unit.FormComma:
		t.vote.Comma++
	case unit.FormEitherPoint:
		t.vote.EitherPoint++
	case unit.FormEitherComma:
		t.vote.EitherComma++
	}
	if int(n) >= cap(t.forms) {
		t.forms = slices.Grow(t.forms, max(1024, int(n)+1-len(t.forms)))
	}
	for len(t.forms) <= int(n) {
		t.forms = append(t.forms, 0)
	}
	t.forms[n] = form
}

func (e *extractor) depth(w *window, b *builder, n int32, s *strand, d *box) float64 {
	odd := func(kind chart.OddKind) float64 {
		b.odd = append(b.odd, chart.Odd{Row: n, Kind: kind, Raw: boxText(w, d), Value: math.NaN()})
		return math.NaN()
	}
	switch d.class {
	case numberCell:
		if s.depth.head.feetInches && d.num != 0 {
			b.plain++
			if b.plain == 1 {
				b.plainFrom = d.ref(e.r.at)
			}
			b.plainTo = d.ref(e.r.at)
		}
		if d.text {
			b.asText++
			b.depths.count(d.form, n)
		}
		return d.num
	case measureCell:
		raw := w.raw(d)
		if s.depth.head.feetInches && !math.IsNaN(d.num) {
			return d.num
		}
		in := s.depth.head.length
		if in == 0 {
			in = unit.Inches
		}
		sign := unit.DecimalPoint
		if d.form == unit.FormComma {
			sign = unit.DecimalComma
		}
		l, named, err := unit.ScanLength(raw, in, sign)
		if err != nil {
			return odd(chart.OddText)
		}
		if named != unit.LengthUnknown {
			if b.depthUnit == 0 {
				b.depthUnit, b.depthFrom = named, d.ref(e.r.at)
				if named == unit.Feet && twoParts(raw) {
					b.depthUnit = unit.Inches // 8' 2 3/8"
				}
			}
			if h := s.depth.head.length; h != 0 && h.Metric() != named.Metric() || b.depthUnit.Metric() != named.Metric() {
				b.depthOther = d.ref(e.r.at)
			}
			if s.depth.head.length == 0 {
				return b.depthUnit.Number(l)
			}
		}
		return in.Number(l)
	case dateCell:
		return odd(chart.OddDate)
	case errorCell:
		return odd(chart.OddError)
	case emptyFormula:
		return odd(chart.OddNoValue)
	}
	return odd(chart.OddText)
}

// twoParts reports whether figures stand on both sides of other signs than
// blanks and points, as in 8' 2".
func twoParts(raw []byte) bool {
	i := bytes.IndexAny(raw, "0123456789")
	if i < 0 {
		return false
	}
	rest := bytes.TrimLeft(raw[i:], "0123456789., ")
	return bytes.ContainsAny(rest, "0123456789")
}

func boxText(w *window, b *box) string {
	if b.class == emptyFormula {
		return ""
	}
	return w.text(b)
}

// parts reads a depth that stands in two or three columns, in the unit of the
// last of them. A larger part that is left out is that of the row above.
func (e *extractor) parts(w *window, b *builder, n int32, k int, s *strand, row []box) float64 {
	last := len(s.depth.xs) - 1
	unitOf := s.depth.units[last]
	var l unit.Length
	for j, x := range s.depth.xs {
		p := at(row, x)
		f := e.feet[k*4+j]
		if p != nil {
			f = w.value(p)
			if p.class != numberCell && p.class != measureCell {
				kind := chart.OddText
				switch p.class {
				case dateCell:
					kind = chart.OddDate
				case errorCell:
					kind = chart.OddError
				case emptyFormula:
					kind = chart.OddNoValue
				}
				b.odd = append(b.odd, chart.Odd{Row: n, Kind: kind, Raw: boxText(w, p), Value: math.NaN()})
				return math.NaN()
			}
			if p.text && p.class == numberCell {
				b.asText++
			}
		}
		if j < last {
			e.feet[k*4+j] = f
		}
		l += s.depth.units[j].Length(f)
	}
	return unitOf.Number(l)
}

func (e *extractor) volume(w *window, b *builder, n int32, vs *volumeSpec, v *box) float64 {
	odd := func(kind chart.OddKind) float64 {
		b.odd = append(b.odd, chart.Odd{Row: n, Volume: true, Kind: kind, Raw: boxText(w, v), Value: math.NaN()})
		return math.NaN()
	}
	switch v.class {
	case numberCell:
		if v.text {
			b.asText++
			b.vols.count(v.form, n)
		}
		return v.num
	case measureCell:
		in := unit.USGallons
		known := vs.head.volume != 0
		if known {
			in = vs.head.volume
		}
		head := in
		sign := unit.DecimalPoint
		if v.form == unit.FormComma {
			sign = unit.DecimalComma
		}
		vol, named, err := unit.ScanVolume(w.raw(v), in, sign)
		if err != nil {
			// A fraction of a gallon.
			if l, named, err := unit.ScanLength(w.raw(v), unit.Inches, sign); err == nil && named == 0 {
				return float64(l)
			}
			return odd(chart.OddText)
		}
		b.vols.count(v.form, n)
		if named != unit.VolumeUnknown {
			if b.volumeUnit == 0 {
				b.volumeUnit, b.volumeFrom = named, v.ref(e.r.at)
			}
			if b.volumeUnit != named || known && head != named {
				b.volumeOther = v.ref(e.r.at)
			}
			if !known {
				head = b.volumeUnit
			}
		}
		return head.Number(vol)
	case dateCell:
		return odd(chart.OddDate)
	case errorCell:
		return odd(chart.OddError)
	case emptyFormula:
		return odd(chart.OddNoValue)
	}
	return odd(chart.OddText)
}

// rowUnits reads the columns that name the units row by row.
func (e *extractor) rowUnits(w *window, b *builder, row []box) {
	if p := at(row, e.c.depthUnits); p != nil && e.c.depthUnits != 0 {
		if u, err := unit.ParseLengthUnit(tidy(w.text(p))); err == nil {
			if b.depthCol != 0 && b.depthCol != u {
				b.unitsClash = p.ref(e.r.at)
			} else {
				b.depthCol, b.depthFrom = u, p.ref(e.r.at)
			}
		}
	}
	if p := at(row, e.c.volumes); p != nil && e.c.volumes != 0 {
		if u, err := unit.ParseVolumeUnit(tidy(w.text(p))); err == nil {
			if b.volumeCol != 0 && b.volumeCol != u {
				b.unitsClash = p.ref(e.r.at)
			} else {
				b.volumeCol, b.volumeFrom = u, p.ref(e.r.at)
			}
		}
	}
}

// wait looks at a row that holds no chart row by itself.
func (e *extractor) wait(w *window, i int, row []box, depth bool) rowState {
	p := waiting{line: i, why: "words"}
	switch s := w.sort(i); {
	case s.heading():
		p.head, p.why = true, "a heading"
	case depth:
		p.bare, p.why = true, "a depth without a volume"
	case e.hasVolume(row):
		p.odd, p.why = true, "no depth stands in its column"
	case s.numbers >= 2:
		p.odd, p.why = true, "its numbers stand outside the chart's columns"
	case s.unitsOnly:
		p.why = "units"
	}
	e.pend = append(e.pend, p)
	return rowPending
}

func (e *extractor) hasVolume(row []box) bool {
	for k := range e.c.strands {
		for j := range e.c.strands[k].vols {
			if b := at(row, e.c.strands[k].vols[j].x); b != nil && b.class.readable() {
				return true
			}
		}
	}
	return false
}

// startsAnew reports whether the row goes back to where the chart began.
func (e *extractor) startsAnew(w *window, row []box) bool {
	for k := range e.c.strands {
		s := &e.c.strands[k]
		if !e.hasDepth(row, s) {
			continue
		}
		d := e.peek(w, k, s, row)
		for _, b := range e.strands[k] {
			if b == nil || len(b.rows) < 2 || math.IsNaN(d) || math.IsNaN(b.lastDepth) {
				continue
			}
			first := b.rows[0].Depth
			if b.lastDepth >= first && d < b.lastDepth && d <= first || b.lastDepth < first && d > b.lastDepth && d >= first {
				return true
			}
		}
		return false
	}
	return false
}

// goesBack reports whether the row does not go on from the one before.
func (e *extractor) goesBack(w *window, row []box) bool {
	for k := range e.c.strands {
		s := &e.c.strands[k]
		if !e.hasDepth(row, s) {
			continue
		}
		d := e.peek(w, k, s, row)
		for _, b := range e.strands[k] {
			if b == nil || len(b.rows) < 2 || math.IsNaN(d) || math.IsNaN(b.lastDepth) {
				continue
			}
			up := b.lastDepth >= b.rows[0].Depth
			if up && d <= b.lastDepth || !up && d >= b.lastDepth {
				return true
			}
			// A far step of depth with a volume that does not go on is a note.
			if p := at(row, s.vols[min(b.vol, len(s.vols)-1)].x); p != nil && up && b.lastVolume > b.rows[0].Volume && w.value(p) < b.lastVolume {
				return true
			}
		}
	}
	return false
}

func (e *extractor) peek(w *window, k int, s *strand, row []box) float64 {
	if len(s.depth.xs) == 1 {
		return w.value(at(row, s.depth.xs[0]))
	}
	last := len(s.depth.xs) - 1
	f := 0.0
	for j, x := range s.depth.xs {
		v := e.feet[k*4+j]
		if p := at(row, x); p != nil {
			v = w.value(p)
		}
		f += v * float64(s.depth.units[j].Size()/s.depth.units[last].Size())
	}
	return f
}

// resume decides, at a chart row, what the rows are that wait before it: a page
// break within the chart, or the beginning of another table.
func (e *extractor) resume(w *window, i int, row []box) (state rowState, settled bool) {
	head, same := false, true
	for _, p := range e.pend {
		if p.head {
			head = true
			same = same && e.sameHeading(w, p.line)
		}
	}
	var names []placedName
	if t := e.r.titles(w, e.pend[0].line, i); len(t.names) > 0 {
		names = t.names
	}
	newName := false
	for _, n := range names {
		if !e.isNamed(n) {
			newName = true
		}
	}
	switch {
	case head && !same:
		return rowOfNext, true
	case newName && (e.c.id == 0 || head):
		return rowOfNext, true
	case head && e.c.id == 0 && e.startsAnew(w, row):
		return rowOfNext, true
	case !head && e.c.id == 0 && e.rows > 1 && e.goesBack(w, row):
		// Numbers behind the notes that do not go on from the chart.
		if e.startsAnew(w, row) && w.lines[i].n-e.lastLine > 2 && i+2 < len(w.lines) && e.hasDepth(w.row(i+1), &e.c.strands[0]) {
			return rowOfNext, true
		}
		e.pend = append(e.pend, waiting{line: i, why: "the run of depths breaks"})
		return rowPending, true
	}
	if e.c.id != 0 && !e.sameID(w, row) {
		e.trail(w)
	}
	for _, p := range e.pend {
		l := w.row(p.line)
		switch {
		case p.odd && e.rows > 0 && len(e.c.strands) == 1 && (e.c.id == 0 || len(e.c.strands[0].vols) == 1 && at(l, e.c.id) != nil) && e.oddRow(w, p.line, l):
		case p.bare && e.sameID(w, row) && e.sameID(w, l) && e.noVolume(w, l):
		case p.odd && e.rows > 0 && p.why != "no depth stands in its column":
			e.gaps = append(e.gaps, w.lines[p.line].n)
			e.passRow(w.lines[p.line].n, p.why)
		default:
			e.passRow(w.lines[p.line].n, p.why)
		}
	}
	e.pend = e.pend[:0]
	return 0, false
}

// oddRow takes a row amid the chart whose depth cannot be read: with figures in
// it, or empty, it is a spoiled chart row; plain words are a remark.
func (e *extractor) oddRow(w *window, line int, row []box) bool {
	s := &e.c.strands[0]
	d := at(row, s.depth.xs[0])
	if d != nil && d.class == percentCell || d != nil && !bytes.ContainsAny(w.raw(d), "0123456789?½¼¾") {
		return false
	}
	got := false
	for j := range s.vols {
		v := at(row, s.vols[j].x)
		if v == nil || !v.class.readable() {
			continue
		}
		b, vs := e.strands[0][j], &s.vols[j]
		if e.c.id != 0 {
			e.identify(w, row)
			b = e.cur
		}
		n := int32(len(b.rows))
		r := chart.Row{Depth: math.NaN(), SheetRow: v.row, DepthCol: int16(s.depth.xs[0]), VolumeCol: int16(v.col)}
		if e.c.turned && d != nil {
			r.SheetRow, r.DepthCol, r.VolumeRow = d.row, int16(d.col), v.row
		}
		o := chart.Odd{Row: n, Kind: chart.OddText, Value: math.NaN()}
		if d != nil {
			o.Raw = w.text(d)
		}
		b.odd = append(b.odd, o)
		r.Volume = e.volume(w, b, n, vs, v)
		b.rows = append(b.rows, r)
		got = true
	}
	if got {
		e.rows++
	}
	return got
}

func (e *extractor) isNamed(n placedName) bool {
	if len(n.names) == 0 {
		for _, o := range e.t.names {
			if o.comp == n.comp {
				return true
			}
		}
		return n.comp == ""
	}
	for _, o := range e.t.names {
		if o.name() == n.name() && (n.comp == "" || o.comp == n.comp) {
			return true
		}
	}
	for i := range e.c.strands {
		s := &e.c.strands[i]
		if s.title.name() == n.name() {
			return true
		}
		for j := range s.vols {
			if s.vols[j].name.name() == n.name() {
				return true
			}
		}
	}
	return n.name() == tidy(e.r.at.Sheet)
}

// sameHeading reports whether a row repeats the table's heading.
func (e *extractor) sameHeading(w *window, line int) bool {
	same, other := 0, 0
	for _, b := range w.row(line) {
		t := unit.Fold(tidy(w.text(&b)))
		if t == "" {
			continue
		}
		h := e.c.texts[int(b.x)]
		switch {
		case h == t:
			same++
		case h != "" && (bytes.HasPrefix([]byte(h), []byte(t)) || bytes.HasSuffix([]byte(h), []byte(t))):
			same++
		default:
			other++
		}
	}
	return same > other
}

func (e *extractor) passRow(n int, why string) {
	if k := len(e.passed); k > 0 && e.passed[k-1].Why == why && e.passed[k-1].ToRow >= n-1 {
		e.passed[k-1].ToRow = n
		return
	}
	e.passed = append(e.passed, Passed{n, n, why})
}

// lastHeading gives the first line among those that wait at the end of the sheet
// that is a heading of another table, above rows of numbers: the charts are over,
// and what follows is a table of its own. It is the end of the window where there
// is none.
func (e *extractor) lastHeading(w *window) int {
	for _, p := range e.pend {
		if p.head && !e.sameHeading(w, p.line) && p.line+1 < len(w.lines) && w.sort(p.line+1).numbers > 0 {
			return p.line
		}
	}
	return len(w.lines)
}

// sameID reports whether a row belongs to the chart that is being read.
func (e *extractor) sameID(w *window, row []box) bool {
	if e.c.id == 0 {
		return true
	}
	b := at(row, e.c.id)
	return b == nil || e.cur != nil && bytes.Equal(w.raw(b), e.curRaw)
}

// noVolume takes a row amid the chart in whose volume's cell stand words for
// nothing: the cell is named for a person to look at. A blank one makes a gap,
// which the audit tells.
func (e *extractor) noVolume(w *window, row []box) bool {
	s := &e.c.strands[0]
	if len(e.c.strands) != 1 || len(s.vols) != 1 {
		return false
	}
	v, b := at(row, s.vols[0].x), e.strands[0][0]
	if e.c.id != 0 {
		b = e.cur
	}
	if v == nil || b == nil || len(b.rows) == 0 {
		return false
	}
	e.add(w, b, 0, s, &s.vols[0], row, v)
	e.rows++
	return true
}

// bareRun is a run of depths without volumes behind the last row of a chart.
type bareRun struct {
	of       *builder
	from, to cell.Ref
	n        int
	most     float64
}

// trail keeps the depths without volumes that follow the last row of a chart and
// go on from it: the tank is higher than the chart.
func (e *extractor) trail(w *window) {
	if len(e.c.strands) != 1 || len(e.c.strands[0].vols) != 1 {
		return
	}
	s := &e.c.strands[0]
	b := e.strands[0][0]
	if e.c.id != 0 {
		b = e.cur
	}
	if b == nil || len(b.rows) < 3 || s.depth.ullage {
		return
	}
	run := bareRun{of: b, most: b.lastDepth}
	for _, p := range e.pend {
		if !p.bare || !e.sameID(w, w.row(p.line)) {
			break
		}
		row := w.row(p.line)
		d := e.peek(w, 0, s, row)
		if !(d > run.most && d <= 2*b.lastDepth) {
			break
		}
		at := at(row, s.depth.xs[len(s.depth.xs)-1]).ref(e.r.at)
		if run.n == 0 {
			run.from = at
		}
		run.to, run.most = at, d
		run.n++
	}
	if run.n > 0 {
		e.bare = append(e.bare, run)
	}
}

// pass gives up the rows that wait up to line end: they are no chart rows.
func (e *extractor) pass(w *window, end int) {
	e.trail(w)
	for _, p := range e.pend {
		if p.line < end {
			why := p.why
			if p.odd {
				why = "below the chart, " + why
			}
			e.passRow(w.lines[p.line].n, why)
		}
	}
	e.pend = e.pend[:0]
}

// close ends the table: the rows that wait up to line end are footers.
func (e *extractor) close(w *window, end int) {
	e.pass(w, end)
	e.emit()
}
