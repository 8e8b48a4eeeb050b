// Package extract turns the rows of a table whose layout is settled into charts,
// names them and gives them their units.
//
// It is longer than a room should be. Its Reader decides row by row, with the rows
// that wait, what each of them is; the short way for plain rows (plain.go), the
// spoiled rows (strays.go), the columns that say the same again (cross.go) and the
// charts that come of it (finish.go) all work on that one state, and a cut through
// it would make its fields public without parting any of its subjects.
package extract

import (
	"bytes"
	"math"
	"slices"
	"strconv"
	"strings"

	"dropcut/convert/grid"
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

// rowState is what the extractor makes of a row.
type rowState uint8

const (
	RowTaken   rowState = iota // it holds chart rows
	RowPending                 // what it is shows when more rows are known
	RowOfNext                  // with the rows that wait it starts another table
)

// waiting is a row that waits: words, a repeated heading, a footer.
type waiting struct {
	Line int
	why  string
	odd  bool // it holds a number where a chart row has one
	head bool
	bare bool // a depth and no volume
	// stray says that it was found to be a spoiled row of a chart and told.
	stray bool
}

// builder makes one chart.
type builder struct {
	name   headword.Naming
	comp   string
	site   string
	named  cell.Of[string]
	Rows   []chart.Row
	Apart  chart.Aparts
	odd    []chart.Odd
	Depths figures.Tally
	vols   figures.Tally
	asText int // numbers that are stored as text
	// computed says that its first row tells that nobody has measured it.
	computed bool

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

// Source is what the tables of one sheet have in common, and what they yield.
type Source struct {
	At     cell.Ref       // file and sheet
	Ids    headword.Known // the ids of the tank list, as it writes them
	Hidden []grid.Range   // columns that people do not see
	Tables int            // found so far
	Top    title.Set      // of the sheet: what stands above its first table and names no tank
	Out    figures.Yield
}

// Reader turns rows into charts by a settled layout.
type Reader struct {
	r      *Source
	C      *layout.Columnar
	t      title.Set
	byID   map[string]*builder
	order  []*builder
	cur    *builder
	curRaw []byte
	// siteRaw and compRaw are the cells beside curRaw, where columns name them.
	siteRaw, compRaw []byte
	straight         straight
	// strands[i][k] is the chart of volume k of strand i, where no column names
	// the tank.
	Strands  [][]*builder
	feet     []float64 // the larger part of a depth in two columns, kept
	Pend     []waiting
	PendFrom int
	First    cell.Ref
	LastRow  int
	LastCol  int
	Rows     int
	passed   []survey.Passed
	hidden   []grid.Range
	cross    []crossCheck
	bare     []bareRun
	last     *builder // the one that stands at the end of a block
	block    int      // size of that block
	gaps     []gap
	lastLine int
}

func New(r *Source, w *look.Window, c *layout.Columnar, b look.Block, t title.Set) *Reader {
	e := &Reader{r: r, C: c, t: t, byID: make(map[string]*builder), PendFrom: b.Body, straight: straightOf(c)}
	e.First = w.Row(b.Head)[0].Ref(r.At)
	if len(c.Strands) > 0 {
		x := c.Strands[0].Depth.Xs[0]
		for _, s := range c.Strands {
			for _, v := range s.Vols {
				x = min(x, v.X, s.Depth.Xs[0])
			}
		}
		if c.Id != 0 {
			x = min(x, c.Id)
		}
		if !c.Turned {
			e.First.Col = x
		}
	}
	for i := b.Head; i < b.Body; i++ {
		if e.label(w, w.Row(i)) {
			e.identify(w, w.Row(i))
		}
	}
	e.cross = make([]crossCheck, len(c.Also))
	for i := range e.cross {
		e.cross[i].c = &c.Also[i]
	}
	e.renew()
	if !c.Turned {
		for i := b.From; i < b.Head; i++ {
			e.PassRow(w.Lines[i].N, "title")
		}
	}
	return e
}

// renew opens the charts of a table whose columns are the tanks.
func (e *Reader) renew() {
	e.Strands = make([][]*builder, len(e.C.Strands))
	e.feet = make([]float64, len(e.C.Strands)*4)
	for i, s := range e.C.Strands {
		e.Strands[i] = make([]*builder, len(s.Vols))
		if e.C.Id != 0 {
			continue
		}
		for k := range s.Vols {
			if e.C.Fold == layout.FoldByRows && i > 0 {
				e.Strands[i][k] = e.Strands[0][k]
				continue
			}
			b := &builder{strand: i, vol: k, lastDepth: math.NaN()}
			e.Strands[i][k] = b
			e.order = append(e.order, b)
		}
	}
}

// Take reads line i of the window.
func (e *Reader) Take(w *look.Window, i int) rowState {
	row := w.Row(i)
	for k := range e.C.Strands {
		if s := &e.C.Strands[k]; s.Depth.Head.FeetInches && len(s.Depth.Xs) == 1 {
			w.FeetInches(row, s.Depth.Xs[0])
		}
	}
	n := 0
	depth := false
	for k := range e.C.Strands {
		s := &e.C.Strands[k]
		if !e.hasDepth(w, row, s) {
			continue
		}
		depth = true
		for j := range s.Vols {
			v := look.At(row, s.Vols[j].X)
			// Where there is one volume, a dash for it leaves a row without any.
			if v != nil && !(len(s.Vols) == 1 && v.Class == look.WordCell && EmptyWord(w.Raw(v))) {
				n++
			}
		}
	}
	if n == 0 {
		return e.wait(w, i, row, depth)
	}
	if len(e.Pend) > 0 {
		if state, settled := e.resume(w, i, row); settled {
			return state
		}
	} else if e.lastLine > 0 && w.Lines[i].N-e.lastLine > 2 && e.C.Id == 0 && e.startsAnew(w, row) {
		return RowOfNext
	}
	e.chartRow(w, i, row)
	return RowTaken
}

func (e *Reader) chartRow(w *look.Window, i int, row []look.Box) {
	l := &w.Lines[i]
	if l.Hidden {
		if n := len(e.hidden); n > 0 && e.hidden[n-1].ToRow >= l.N-1 {
			e.hidden[n-1].ToRow = l.N
		} else {
			e.hidden = append(e.hidden, grid.Range{Row: l.N, ToRow: l.N})
		}
	}
	e.Rows++
	e.lastLine = l.N
	for k := range e.C.Strands {
		s := &e.C.Strands[k]
		if e.C.Id != 0 {
			e.identify(w, row)
		}
		if !e.hasDepth(w, row, s) {
			e.keepFeet(w, k, s, row)
			continue
		}
		for j := range s.Vols {
			v := look.At(row, s.Vols[j].X)
			if v == nil {
				if j == 0 && len(s.Vols) == 1 {
					e.keepFeet(w, k, s, row)
				}
				continue
			}
			b := e.Strands[k][j]
			if e.C.Id != 0 {
				b = e.cur
				if len(s.Vols) > 1 {
					b = e.other(w, row, j)
				}
			}
			if v.Class == look.WordCell && EmptyWord(w.Raw(v)) {
				continue
			}
			e.add(w, b, k, s, &s.Vols[j], row, v)
			e.LastRow, e.LastCol = int(v.Row), max(e.LastCol, int(v.Col))
		}
	}
	for k := range e.C.Also {
		if p := look.At(row, e.C.Also[k].X); p != nil {
			e.cross[k].take(e, w, row, p)
		}
	}
}

// EmptyWord reports whether a text stands for "nothing here".
func EmptyWord(raw []byte) bool {
	t := bytes.TrimFunc(raw, headword.IsBlank)
	switch string(t) {
	case "", "-", "–", "—", "--", "---", "n/a", "N/A", "na", "NA", "nil", ".", "..":
		return true
	}
	return false
}

// hasDepth reports whether the row has something of a number where the depth
// stands.
func (e *Reader) hasDepth(w *look.Window, row []look.Box, s *layout.Strand) bool {
	got := false
	for j, x := range s.Depth.Xs {
		b := look.At(row, x)
		if b == nil {
			continue
		}
		if !b.Class.Readable() && !(s.Depth.Parts > 0 && j == len(s.Depth.Xs)-1 && noParts(w.Raw(b))) {
			return false
		}
		got = true
	}
	if n := len(s.Depth.Xs); n > 1 {
		return got && (look.At(row, s.Depth.Xs[n-1]) != nil || s.Depth.Parts > 0 && look.At(row, s.Depth.Xs[n-2]) != nil)
	}
	return got
}

// depthCell gives the last cell that a row has in the columns of a depth; a part
// that is left out is none. Nil where the smallest column that must be filled is
// not.
func depthCell(row []look.Box, s *layout.Strand) *look.Box {
	n := len(s.Depth.Xs)
	if b := look.At(row, s.Depth.Xs[n-1]); b != nil || s.Depth.Parts == 0 {
		return b
	}
	return look.At(row, s.Depth.Xs[n-2])
}

// noParts reports whether a text in a column of eighths and the like means none.
func noParts(raw []byte) bool {
	switch unit.Fold(headword.Tidy(string(raw))) {
	case "even", "flush", "full", "whole", "inch":
		return true
	}
	return EmptyWord(raw)
}

// keepFeet remembers the larger part of a depth whose smaller part is missing.
func (e *Reader) keepFeet(w *look.Window, k int, s *layout.Strand, row []look.Box) {
	if len(s.Depth.Xs) < 2 {
		return
	}
	for j, x := range s.Depth.Xs[:len(s.Depth.Xs)-1] {
		if b := look.At(row, x); b != nil {
			if f := w.Value(b); !math.IsNaN(f) {
				e.feet[k*4+j] = f
			}
		}
	}
}

// identify finds the chart that the row belongs to.
func (e *Reader) identify(w *look.Window, row []look.Box) {
	b := look.At(row, e.C.Id)
	if b != nil && e.cur != nil && ditto(w.Raw(b)) {
		b = nil
	}
	var raw []byte
	if b != nil {
		raw = w.Raw(b)
	}
	multi := e.C.Site != 0 || e.C.Comp != 0
	if !multi && e.cur != nil && (b == nil || bytes.Equal(raw, e.curRaw)) {
		return
	}
	if b == nil && e.cur != nil && !multi {
		return
	}
	text := strings.TrimPrefix(idText(w, b), "'")
	key := text
	site, comp := "", ""
	e.siteRaw, e.compRaw = e.siteRaw[:0], e.compRaw[:0]
	if multi {
		if b == nil && e.cur != nil {
			text = e.cur.named.Raw
			key = text
		}
		if p := look.At(row, e.C.Site); p != nil && e.C.Site != 0 {
			site = idText(w, p)
			e.siteRaw = append(e.siteRaw, w.Raw(p)...)
		}
		if p := look.At(row, e.C.Comp); p != nil && e.C.Comp != 0 {
			comp = headword.Tidy(idText(w, p))
			e.compRaw = append(e.compRaw, w.Raw(p)...)
		}
		key += "\x00" + site + "\x00" + comp
	}
	// Blanks around an id are no part of it; other differences are the join's.
	key = headword.Tidy(key)
	e.curRaw = append(e.curRaw[:0], raw...)
	cur := e.byID[key]
	if cur == nil {
		cur = &builder{site: headword.Tidy(site), comp: comp, lastDepth: math.NaN()}
		id := headword.Tidy(text)
		cur.name = headword.Naming{Names: []string{id}, Text: text}
		if n, ok := headword.ReadName(id, e.r.Ids, true); ok && n.Combined && len(n.Names) > 1 && !scientific(id) {
			cur.name = n
			cur.name.Text = text
		}
		cur.named = cell.Of[string]{V: cur.name.Name(), Raw: text}
		if b != nil {
			cur.named.At = b.Ref(e.r.At)
		}
		for i := range row {
			cur.computed = cur.computed || row[i].Class == look.WordCell && headword.SaysComputed(w.Raw(&row[i]))
		}
		e.byID[key] = cur
		e.order = append(e.order, cur)
	}
	e.cur = cur
}

// scientific reports whether an id is a number that a program has written with its
// power of ten, 1.2E+11: it names one tank, and not 1.2E with 11.
func scientific(id string) bool {
	_, err := strconv.ParseFloat(id, 64)
	return err == nil && strings.ContainsAny(id, "eE")
}

// ditto reports whether a text says that the cell above holds.
func ditto(raw []byte) bool {
	switch string(bytes.ToLower(bytes.TrimFunc(raw, headword.IsBlank))) {
	case `"`, `""`, "''", "”", "“", "″", "〃", "do", "do.", "ditto", "idem", "id.", "dito":
		return true
	}
	return false
}

// ofChart reports whether a row that waits bears the id of a chart that was begun,
// or of the row behind it: a row of totals has a name of its own.
func (e *Reader) ofChart(w *look.Window, l, next []look.Box) bool {
	b, n := look.At(l, e.C.Id), look.At(next, e.C.Id)
	if b == nil {
		return false
	}
	if e.sameID(w, l) || n != nil && bytes.Equal(w.Raw(b), w.Raw(n)) || e.C.Site != 0 || e.C.Comp != 0 {
		return true
	}
	return e.byID[headword.Tidy(idText(w, b))] != nil
}

// label reports whether a row holds nothing but an id in the column of the ids, as
// a group of rows is headed; the rows below it leave that column blank.
func (e *Reader) label(w *look.Window, row []look.Box) bool {
	return e.C.Id != 0 && len(row) == 1 && int(row[0].X) == e.C.Id && row[0].Class != look.ErrorCell &&
		headword.IdWord(headword.Tidy(idText(w, &row[0])), e.r.Ids)
}

// other gives the chart of the second and further volumes of a long table.
func (e *Reader) other(w *look.Window, row []look.Box, j int) *builder {
	v := &e.C.Strands[0].Vols[j]
	comp := v.Comp
	if comp == "" {
		comp = v.Name.Name()
	}
	key := e.cur.named.Raw + "\x00\x00" + strconv.Itoa(j)
	b := e.byID[key]
	if b == nil {
		b = &builder{name: e.cur.name, named: e.cur.named, site: e.cur.site, comp: comp, vol: j, lastDepth: math.NaN()}
		if j == 0 && len(e.cur.Rows) == 0 {
			e.order = slices.DeleteFunc(e.order, func(x *builder) bool { return x == e.cur })
		}
		e.byID[key] = b
		e.order = append(e.order, b)
	}
	return b
}

// idText gives an id as it stands: a number's digits as they are stored.
func idText(w *look.Window, b *look.Box) string {
	if b == nil {
		return ""
	}
	if b.Class == look.NumberCell && !b.Text && b.Num == math.Trunc(b.Num) && math.Abs(b.Num) < 1e15 {
		return strconv.FormatFloat(b.Num, 'f', -1, 64)
	}
	return w.Text(b)
}

// add appends a row to a chart.
func (e *Reader) add(w *look.Window, b *builder, k int, s *layout.Strand, vs *layout.VolumeSpec, row []look.Box, v *look.Box) {
	n := int32(len(b.Rows))
	r := chart.Row{Depth: math.NaN(), Volume: math.NaN()}
	d := depthCell(row, s)
	if d == nil {
		d = v
		b.odd = append(b.odd, chart.Odd{Row: n, Kind: chart.OddText, Value: math.NaN()})
	} else if len(s.Depth.Xs) == 1 {
		r.Depth = e.Depth(w, b, n, s, d)
	} else {
		r.Depth = e.parts(w, b, n, k, s, row)
	}
	r.Volume = e.Volume(w, b, n, vs, v)
	r.SheetRow, r.DepthCol, r.VolumeCol = d.Row, int16(d.Col), int16(v.Col)
	if d == v && len(s.Depth.Xs) > 0 && !e.C.Turned {
		r.DepthCol = int16(s.Depth.Xs[0])
	}
	b.Apart.Add(int(n), v.Row-d.Row)
	if e.C.DepthUnits != 0 || e.C.Volumes != 0 {
		e.rowUnits(w, b, row)
	}
	if !math.IsNaN(r.Depth) {
		b.lastDepth = r.Depth
	}
	if len(b.Rows) == cap(b.Rows) {
		e.room(b)
	}
	if !math.IsNaN(r.Volume) {
		b.lastVolume = r.Volume
	}
	b.Rows = append(b.Rows, r)
}

// blockRows is the size of the blocks that the rows of long lists stand in: 1.5 MB.
const blockRows = 1 << 16

// room makes room for a further row. The charts of a long list stand behind each
// other in large blocks, which the chart that is being read fills to where it
// ends; a chart of its own list grows as lists do.
func (e *Reader) room(b *builder) {
	if e.C.Id == 0 {
		b.Rows = slices.Grow(b.Rows, max(64, len(b.Rows)))
		return
	}
	switch t := e.last; {
	case t == b:
		// slices.Grow would write over the new room twice.
		e.block = min(blockRows, 4*e.block)
		rows := make([]chart.Row, len(b.Rows), len(b.Rows)+max(e.block, len(b.Rows)))
		copy(rows, b.Rows)
		b.Rows = rows
	case len(b.Rows) > 0: // another stood between
		b.Rows = slices.Grow(b.Rows, max(64, len(b.Rows)))
	case t != nil && cap(t.Rows)-len(t.Rows) >= 64:
		b.Rows = t.Rows[len(t.Rows):]
		t.Rows = t.Rows[:len(t.Rows):len(t.Rows)]
		e.last = b
	default:
		e.block = min(blockRows, max(256, 4*e.block))
		b.Rows = make([]chart.Row, 0, e.block)
		e.last = b
	}
}

func (e *Reader) Depth(w *look.Window, b *builder, n int32, s *layout.Strand, d *look.Box) float64 {
	odd := func(kind chart.OddKind) float64 {
		b.odd = append(b.odd, chart.Odd{Row: n, Kind: kind, Raw: boxText(w, d), Value: math.NaN()})
		return math.NaN()
	}
	switch d.Class {
	case look.NumberCell:
		if s.Depth.Head.FeetInches && d.Num != 0 {
			b.plain++
			if b.plain == 1 {
				b.plainFrom = d.Ref(e.r.At)
			}
			b.plainTo = d.Ref(e.r.At)
		}
		if d.Text {
			b.asText++
			b.Depths.Count(d.Form, n)
		}
		return d.Num
	case look.MeasureCell:
		raw := w.Raw(d)
		if s.Depth.Head.FeetInches && !math.IsNaN(d.Num) {
			return d.Num
		}
		in := s.Depth.Head.Length
		if in == 0 {
			in = unit.Inches
		}
		sign := unit.DecimalPoint
		if d.Form == unit.FormComma {
			sign = unit.DecimalComma
		}
		l, named, err := unit.ScanLength(raw, in, sign)
		if err != nil {
			return odd(chart.OddText)
		}
		if named != unit.LengthUnknown {
			if b.depthUnit == 0 {
				b.depthUnit, b.depthFrom = named, d.Ref(e.r.At)
				if named == unit.Feet && twoParts(raw) {
					b.depthUnit = unit.Inches // 8' 2 3/8"
				}
			}
			if h := s.Depth.Head.Length; h != 0 && h.Metric() != named.Metric() || b.depthUnit.Metric() != named.Metric() {
				b.depthOther = d.Ref(e.r.At)
			}
			if s.Depth.Head.Length == 0 {
				return b.depthUnit.Number(l)
			}
		}
		return in.Number(l)
	case look.DateCell:
		return odd(chart.OddDate)
	case look.ErrorCell:
		return odd(chart.OddError)
	case look.EmptyFormula:
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

func boxText(w *look.Window, b *look.Box) string {
	if b.Class == look.EmptyFormula {
		return ""
	}
	return w.Text(b)
}

// parts reads a depth that stands in two or three columns, in the unit of the
// last of them. A larger part that is left out is that of the row above.
func (e *Reader) parts(w *look.Window, b *builder, n int32, k int, s *layout.Strand, row []look.Box) float64 {
	last := len(s.Depth.Xs) - 1
	unitOf := s.Depth.Last()
	var l unit.Length
	for j, x := range s.Depth.Xs {
		p := look.At(row, x)
		f := e.feet[k*4+j]
		if j == last && s.Depth.Parts > 0 {
			f = 0
			if p != nil && !p.Class.Readable() {
				p = nil
			}
		}
		if p != nil {
			f = w.Value(p)
			if p.Class != look.NumberCell && p.Class != look.MeasureCell {
				kind := chart.OddText
				switch p.Class {
				case look.DateCell:
					kind = chart.OddDate
				case look.ErrorCell:
					kind = chart.OddError
				case look.EmptyFormula:
					kind = chart.OddNoValue
				}
				b.odd = append(b.odd, chart.Odd{Row: n, Kind: kind, Raw: boxText(w, p), Value: math.NaN()})
				return math.NaN()
			}
			if p.Text && p.Class == look.NumberCell {
				b.asText++
			}
		}
		if j < last {
			e.feet[k*4+j] = f
		}
		l += unit.Length(s.Depth.Size(j) * f)
	}
	return unitOf.Number(l)
}

func (e *Reader) Volume(w *look.Window, b *builder, n int32, vs *layout.VolumeSpec, v *look.Box) float64 {
	odd := func(kind chart.OddKind) float64 {
		b.odd = append(b.odd, chart.Odd{Row: n, Volume: true, Kind: kind, Raw: boxText(w, v), Value: math.NaN()})
		return math.NaN()
	}
	switch v.Class {
	case look.NumberCell:
		if v.Text {
			b.asText++
			b.vols.Count(v.Form, n)
		}
		return v.Num
	case look.MeasureCell:
		in := unit.USGallons
		known := vs.Head.Volume != 0
		if known {
			in = vs.Head.Volume
		}
		head := in
		sign := unit.DecimalPoint
		if v.Form == unit.FormComma {
			sign = unit.DecimalComma
		}
		vol, named, err := unit.ScanVolume(w.Raw(v), in, sign)
		if err != nil {
			// A fraction of a gallon.
			if l, named, err := unit.ScanLength(w.Raw(v), unit.Inches, sign); err == nil && named == 0 {
				return float64(l)
			}
			return odd(chart.OddText)
		}
		b.vols.Count(v.Form, n)
		if named != unit.VolumeUnknown {
			if b.volumeUnit == 0 {
				b.volumeUnit, b.volumeFrom = named, v.Ref(e.r.At)
			}
			if b.volumeUnit != named || known && head != named {
				b.volumeOther = v.Ref(e.r.At)
			}
			if !known {
				head = b.volumeUnit
			}
		}
		return head.Number(vol)
	case look.DateCell:
		return odd(chart.OddDate)
	case look.ErrorCell:
		return odd(chart.OddError)
	case look.EmptyFormula:
		return odd(chart.OddNoValue)
	}
	return odd(chart.OddText)
}

// rowUnits reads the columns that name the units row by row.
func (e *Reader) rowUnits(w *look.Window, b *builder, row []look.Box) {
	if p := look.At(row, e.C.DepthUnits); p != nil && e.C.DepthUnits != 0 {
		if u, err := unit.ParseLengthUnit(headword.Tidy(w.Text(p))); err == nil {
			if b.depthCol != 0 && b.depthCol != u {
				b.unitsClash = p.Ref(e.r.At)
			} else {
				b.depthCol, b.depthFrom = u, p.Ref(e.r.At)
			}
		}
	}
	if p := look.At(row, e.C.Volumes); p != nil && e.C.Volumes != 0 {
		if u, err := unit.ParseVolumeUnit(headword.Tidy(w.Text(p))); err == nil {
			if b.volumeCol != 0 && b.volumeCol != u {
				b.unitsClash = p.Ref(e.r.At)
			} else {
				b.volumeCol, b.volumeFrom = u, p.Ref(e.r.At)
			}
		}
	}
}

// wait looks at a row that holds no chart row by itself.
func (e *Reader) wait(w *look.Window, i int, row []look.Box, depth bool) rowState {
	p := waiting{Line: i, why: "words"}
	switch s := w.Sort(i); {
	case s.Heading():
		p.head, p.why = true, "a heading"
	case depth:
		p.bare, p.why = true, "a depth without a volume"
	case e.hasVolume(row):
		p.odd, p.why = true, "no depth stands in its column"
	case s.Numbers >= 2:
		p.odd, p.why = true, "its numbers stand outside the chart's columns"
	case s.UnitsOnly:
		p.why = "units"
	}
	e.Pend = append(e.Pend, p)
	return RowPending
}

func (e *Reader) hasVolume(row []look.Box) bool {
	for k := range e.C.Strands {
		for j := range e.C.Strands[k].Vols {
			if b := look.At(row, e.C.Strands[k].Vols[j].X); b != nil && b.Class.Readable() {
				return true
			}
		}
	}
	return false
}

// startsAnew reports whether the row goes back to where the chart began.
func (e *Reader) startsAnew(w *look.Window, row []look.Box) bool {
	for k := range e.C.Strands {
		s := &e.C.Strands[k]
		if !e.hasDepth(w, row, s) {
			continue
		}
		d := e.peek(w, k, s, row)
		for _, b := range e.Strands[k] {
			if b == nil || len(b.Rows) < 2 || math.IsNaN(d) || math.IsNaN(b.lastDepth) {
				continue
			}
			first := b.Rows[0].Depth
			if b.lastDepth >= first && d < b.lastDepth && d <= first || b.lastDepth < first && d > b.lastDepth && d >= first {
				return true
			}
		}
		return false
	}
	return false
}

// goesBack reports whether the row does not go on from the one before.
func (e *Reader) goesBack(w *look.Window, row []look.Box) bool {
	for k := range e.C.Strands {
		s := &e.C.Strands[k]
		if !e.hasDepth(w, row, s) {
			continue
		}
		d := e.peek(w, k, s, row)
		for _, b := range e.Strands[k] {
			if b == nil || len(b.Rows) < 2 || math.IsNaN(d) || math.IsNaN(b.lastDepth) {
				continue
			}
			up := b.lastDepth >= b.Rows[0].Depth
			if up && d <= b.lastDepth || !up && d >= b.lastDepth {
				return true
			}
			// A far step of depth with a volume that does not go on is a note.
			if p := look.At(row, s.Vols[min(b.vol, len(s.Vols)-1)].X); p != nil && up && b.lastVolume > b.Rows[0].Volume && w.Value(p) < b.lastVolume {
				return true
			}
		}
	}
	return false
}

func (e *Reader) peek(w *look.Window, k int, s *layout.Strand, row []look.Box) float64 {
	if len(s.Depth.Xs) == 1 {
		return w.Value(look.At(row, s.Depth.Xs[0]))
	}
	last := len(s.Depth.Xs) - 1
	f := 0.0
	for j, x := range s.Depth.Xs {
		v := e.feet[k*4+j]
		if j == last && s.Depth.Parts > 0 {
			v = 0
		}
		if p := look.At(row, x); p != nil && p.Class.Readable() {
			v = w.Value(p)
		}
		f += v * s.Depth.Size(j) / float64(s.Depth.Last().Size())
	}
	return f
}

// resume decides, at a chart row, what the rows are that wait before it: a page
// break within the chart, or the beginning of another table.
func (e *Reader) resume(w *look.Window, i int, row []look.Box) (state rowState, settled bool) {
	head, same := false, true
	for _, p := range e.Pend {
		if p.head {
			head = true
			same = same && e.sameHeading(w, p.Line)
		}
	}
	var names []title.Name
	if t := title.Read(w, e.Pend[0].Line, i, e.r.At, e.r.Ids); len(t.Names) > 0 {
		names = t.Names
	}
	newName := false
	for _, n := range names {
		if !e.isNamed(n) {
			newName = true
		}
	}
	switch {
	case head && !same:
		return RowOfNext, true
	case (head || e.C.Id == 0) && e.otherUnits(w, i):
		return RowOfNext, true
	case newName && (e.C.Id == 0 || head):
		return RowOfNext, true
	case head && e.C.Id == 0 && e.startsAnew(w, row):
		return RowOfNext, true
	case !head && e.C.Id == 0 && e.Rows > 1 && e.goesBack(w, row):
		// Numbers behind the notes that do not go on from the chart.
		if e.startsAnew(w, row) && w.Lines[i].N-e.lastLine > 2 && i+2 < len(w.Lines) && e.hasDepth(w, w.Row(i+1), &e.C.Strands[0]) {
			return RowOfNext, true
		}
		e.Pend = append(e.Pend, waiting{Line: i, why: "the run of depths breaks"})
		return RowPending, true
	}
	if e.C.Id != 0 && !e.sameID(w, row) {
		e.trail(w)
	}
	if head {
		e.turnPage(w, row)
	}
	if n := len(e.Pend) - 1; e.C.Id != 0 && look.At(row, e.C.Id) == nil && e.label(w, w.Row(e.Pend[n].Line)) {
		if e.cur == nil || len(e.cur.Rows) == 0 || !(e.peek(w, 0, &e.C.Strands[0], row) > e.cur.lastDepth) {
			e.identify(w, w.Row(e.Pend[n].Line))
			e.Pend[n].why = "the name of the rows below"
		}
	}
	e.strays(w, i)
	for _, p := range e.Pend {
		l := w.Row(p.Line)
		switch {
		case p.stray:
		case p.odd && e.Rows > 0 && len(e.C.Strands) == 1 && (e.C.Id == 0 || len(e.C.Strands[0].Vols) == 1 && e.ofChart(w, l, row)) && e.oddRow(w, p.Line, l, e.between(w, p.Line, l, i, row)):
		case p.bare && e.sameID(w, row) && e.sameID(w, l) && e.noVolume(w, l):
		case p.odd && e.Rows > 0 && p.why != "no depth stands in its column":
			e.gap(w, p.Line)
			e.hole(w, p.Line, w.Row(p.Line), row)
		default:
			e.PassRow(w.Lines[p.Line].N, p.why)
		}
	}
	e.Pend = e.Pend[:0]
	return 0, false
}

// oddRow takes a row amid the chart whose depth cannot be read: with figures in
// it, or empty, it is a spoiled chart row; plain words are a remark, unless sure
// says that the row is one of the chart.
func (e *Reader) oddRow(w *look.Window, line int, row []look.Box, sure bool) bool {
	s := &e.C.Strands[0]
	d := look.At(row, s.Depth.Xs[0])
	if d != nil && d.Class == look.PercentCell || d != nil && !sure && !bytes.ContainsAny(w.Raw(d), "0123456789?½¼¾") {
		return false
	}
	got := false
	for j := range s.Vols {
		v := look.At(row, s.Vols[j].X)
		if v == nil || !v.Class.Readable() {
			continue
		}
		b, vs := e.Strands[0][j], &s.Vols[j]
		if e.C.Id != 0 {
			e.identify(w, row)
			b = e.cur
		}
		n := int32(len(b.Rows))
		r := chart.Row{Depth: math.NaN(), SheetRow: v.Row, DepthCol: int16(s.Depth.Xs[0]), VolumeCol: int16(v.Col)}
		if e.C.Turned && d != nil {
			r.SheetRow, r.DepthCol = d.Row, int16(d.Col)
		}
		o := chart.Odd{Row: n, Kind: chart.OddText, Value: math.NaN()}
		if d != nil {
			o.Raw = w.Text(d)
		}
		b.odd = append(b.odd, o)
		r.Volume = e.Volume(w, b, n, vs, v)
		b.Apart.Add(int(n), v.Row-r.SheetRow)
		b.Rows = append(b.Rows, r)
		got = true
	}
	if got {
		e.Rows++
	}
	return got
}

// turnPage puts the pairs of columns of a folded chart behind each other where a
// page ends and the next goes on from the last of them. A fold that runs on over
// the pages goes on from its first pair.
func (e *Reader) turnPage(w *look.Window, row []look.Box) {
	if e.C.Fold != layout.FoldByColumns || !e.hasDepth(w, row, &e.C.Strands[0]) {
		return
	}
	d := e.peek(w, 0, &e.C.Strands[0], row)
	first := e.Strands[0][0]
	if len(first.Rows) < 2 {
		return
	}
	up := first.lastDepth > first.Rows[0].Depth
	last := math.NaN()
	for i := len(e.Strands) - 1; i > 0 && math.IsNaN(last); i-- {
		if b := e.Strands[i][0]; len(b.Rows) > 0 {
			last = b.lastDepth
		}
	}
	if up && d >= last || !up && d <= last {
		e.joinFolds()
	}
}

func (e *Reader) isNamed(n title.Name) bool {
	if len(n.Names) == 0 {
		for _, o := range e.t.Names {
			if o.Comp == n.Comp {
				return true
			}
		}
		return n.Comp == ""
	}
	for _, o := range e.t.Names {
		if o.Name() == n.Name() && (n.Comp == "" || o.Comp == n.Comp) {
			return true
		}
	}
	for i := range e.C.Strands {
		s := &e.C.Strands[i]
		if s.Title.Name() == n.Name() {
			return true
		}
		for j := range s.Vols {
			if s.Vols[j].Name.Name() == n.Name() {
				return true
			}
		}
	}
	return n.Name() == headword.Tidy(e.r.At.Sheet)
}

// sameHeading reports whether a row repeats the table's heading. One that names
// another unit for a column does not, however alike the rest of it is.
func (e *Reader) sameHeading(w *look.Window, line int) bool {
	same, other := 0, 0
	for _, b := range w.Row(line) {
		text := headword.Tidy(w.Text(&b))
		t := unit.Fold(text)
		if t == "" {
			continue
		}
		h := e.C.Texts[int(b.X)]
		switch {
		case h == t:
			same++
		case h != "" && (strings.HasPrefix(h, t) || strings.HasSuffix(h, t)):
			same++
		default:
			if a, z := headword.Read(h), headword.Read(text); a.Lengths > 0 && z.Lengths > 0 && a.Length != z.Length || a.Volumes > 0 && z.Volumes > 0 && a.Volume != z.Volume {
				return false
			}
			other++
		}
	}
	return same > other
}

// otherUnits reports whether the rows that wait name, in a row of units or in a
// title, another unit than the one that the table's columns have.
func (e *Reader) otherUnits(w *look.Window, end int) bool {
	for _, p := range e.Pend {
		if p.why != "units" {
			continue
		}
		for _, b := range w.Row(p.Line) {
			h := e.C.Texts[int(b.X)]
			if h == "" {
				continue
			}
			a, z := headword.Read(h), headword.Read(headword.Tidy(w.Text(&b)))
			if a.Lengths == 1 && z.Lengths == 1 && a.Length != z.Length || a.Volumes == 1 && z.Volumes == 1 && a.Volume != z.Volume {
				return true
			}
		}
	}
	if len(e.C.Strands) != 1 {
		return false
	}
	s := &e.C.Strands[0]
	t := title.Read(w, e.Pend[0].Line, end, e.r.At, e.r.Ids)
	length, _ := e.t.Length()
	volume, _ := e.t.Volume()
	if u := s.Depth.Head.Length; u != 0 {
		length.Unit = u
	}
	if u := s.Vols[0].Head.Volume; u != 0 {
		volume.Unit = u
	}
	l, l2 := t.Length()
	v, v2 := t.Volume()
	return l.Unit != 0 && l2.Unit == 0 && length.Unit != 0 && l.Unit != length.Unit || v.Unit != 0 && v2.Unit == 0 && volume.Unit != 0 && v.Unit != volume.Unit
}

func (e *Reader) PassRow(n int, why string) {
	if k := len(e.passed); k > 0 && e.passed[k-1].Why == why && e.passed[k-1].ToRow >= n-1 {
		e.passed[k-1].ToRow = n
		return
	}
	e.passed = append(e.passed, survey.Passed{Row: n, ToRow: n, Why: why})
}

// LastHeading gives the first line among those that wait at the end of the sheet
// that is a heading of another table, above rows of numbers: the charts are over,
// and what follows is a table of its own. It is the end of the window where there
// is none.
func (e *Reader) LastHeading(w *look.Window) int {
	for _, p := range e.Pend {
		if p.head && !e.sameHeading(w, p.Line) && p.Line+1 < len(w.Lines) && w.Sort(p.Line+1).Numbers > 0 {
			return p.Line
		}
	}
	return len(w.Lines)
}

// sameID reports whether a row belongs to the chart that is being read.
func (e *Reader) sameID(w *look.Window, row []look.Box) bool {
	if e.C.Id == 0 {
		return true
	}
	b := look.At(row, e.C.Id)
	return b == nil || ditto(w.Raw(b)) || e.cur != nil && bytes.Equal(w.Raw(b), e.curRaw)
}

// noVolume takes a row amid the chart in whose volume's cell stand words for
// nothing: the cell is named for a person to look at. A blank one makes a gap,
// which the audit tells.
func (e *Reader) noVolume(w *look.Window, row []look.Box) bool {
	s := &e.C.Strands[0]
	if len(e.C.Strands) != 1 || len(s.Vols) != 1 {
		return false
	}
	v, b := look.At(row, s.Vols[0].X), e.Strands[0][0]
	if e.C.Id != 0 {
		b = e.cur
	}
	if v == nil || b == nil || len(b.Rows) == 0 {
		return false
	}
	e.add(w, b, 0, s, &s.Vols[0], row, v)
	e.Rows++
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
func (e *Reader) trail(w *look.Window) {
	if len(e.C.Strands) != 1 || len(e.C.Strands[0].Vols) != 1 {
		return
	}
	s := &e.C.Strands[0]
	b := e.Strands[0][0]
	if e.C.Id != 0 {
		b = e.cur
	}
	if b == nil || len(b.Rows) < 3 || s.Depth.Ullage {
		return
	}
	run := bareRun{of: b, most: b.lastDepth}
	for _, p := range e.Pend {
		if !p.bare || !e.sameID(w, w.Row(p.Line)) {
			break
		}
		row := w.Row(p.Line)
		d := e.peek(w, 0, s, row)
		if !(d > run.most && d <= 2*b.lastDepth) {
			break
		}
		at := depthCell(row, s).Ref(e.r.At)
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

// Pass gives up the rows that wait up to line end: they are no chart rows.
func (e *Reader) Pass(w *look.Window, end int) {
	e.trail(w)
	e.strays(w, end)
	for _, p := range e.Pend {
		if p.Line < end && !p.stray {
			why := p.why
			if p.odd {
				why = "below the chart, " + why
			}
			e.PassRow(w.Lines[p.Line].N, why)
		}
	}
	e.Pend = e.Pend[:0]
}

// Close ends the table: the rows that wait up to line end are footers.
func (e *Reader) Close(w *look.Window, end int) {
	e.Pass(w, end)
	e.Emit()
}
