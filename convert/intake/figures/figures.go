// Package figures looks through the numbers of one chart after they are read:
// which sign is the decimal one, which depths became dates, whether the rows run
// upwards, whether they are ullages.
package figures

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"dropcut/convert/grid"
	"dropcut/convert/intake/layout"
	"dropcut/convert/intake/look"
	"dropcut/convert/intake/survey"
	"dropcut/convert/intake/title"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// Yield is what one sheet yields.
type Yield struct {
	Charts   []*chart.Chart
	Tables   []survey.Table
	Findings []finding.Finding
	// Waiting are the charts whose ullages could not be turned yet.
	Waiting []*Ullages
	// Refused are the headings of tables that are no charts, or none that could
	// be read.
	Refused []grid.Range
}

// Report looks through the rows of one chart after they are read.
type Report struct {
	C            *chart.Chart
	T            *title.Set
	Depths, Vols *Tally
	Plain        int // depths without marks under a heading of feet and inches
	Out          *Yield
	Found        []finding.Finding
}

func (r *Report) Find(slug finding.Slug, sev finding.Severity, from, to cell.Ref, found, expected, why, suggestion string) {
	f := finding.Finding{
		Slug: slug, Severity: sev, Site: r.C.Site, Tank: r.C.Name, Chart: r.C.Name, At: from, To: to,
		Found: found, Expected: expected, Why: why, Suggestion: suggestion,
	}
	if to != (cell.Ref{}) {
		f.Related = []cell.Ref{from, to}
	}
	r.Found = append(r.Found, f)
	r.Out.Findings = append(r.Out.Findings, f)
}

// Decimals settles what the points and commas of the chart's texts mean, for
// each of its two columns as a whole.
func (r *Report) Decimals() {
	d := side{r, false, r.Depths}
	v := side{r, true, r.Vols}
	d.settle(v.t)
	v.settle(d.t)
	// Odd cells were noted column by column.
	slices.SortStableFunc(r.C.Odd, func(a, b chart.Odd) int { return int(a.Row) - int(b.Row) })
}

// side is one of the two columns of a chart.
type side struct {
	r      *Report
	volume bool
	t      *Tally
}

func (k side) get(i int32) float64 {
	if k.volume {
		return k.r.C.Rows[i].Volume
	}
	return k.r.C.Rows[i].Depth
}

func (k side) set(i int32, f float64) {
	if k.volume {
		k.r.C.Rows[i].Volume = f
	} else {
		k.r.C.Rows[i].Depth = f
	}
}

func (k side) ref(i int32) cell.Ref {
	if k.volume {
		return k.r.C.VolumeAt(int(i))
	}
	return k.r.C.DepthAt(int(i))
}

// settle decides the column's sign. As they come, the rows hold the reading by
// the point, and by the comma only where the form proves a comma.
func (k side) settle(other *Tally) {
	t := k.t
	if t.Vote.EitherPoint+t.Vote.EitherComma+t.Vote.Comma == 0 {
		return
	}
	if t.Vote.Point > 0 && t.Vote.EitherComma+t.Vote.Comma == 0 {
		return // points alone, read as they stand
	}
	t.list()
	sign, verdict := t.Vote.Result()
	if verdict == unit.Undecided {
		var ok bool
		if sign, ok = k.byRun(other); !ok {
			k.ask()
			return
		}
	}
	if sign == unit.DecimalComma {
		// 1.238 is twelve hundred, 1,238 one and a bit.
		for _, i := range t.point {
			k.set(i, math.Round(k.get(i)*1000))
		}
		for _, i := range t.comma {
			k.set(i, k.get(i)/1000)
		}
		for _, i := range t.wrotePoint {
			k.odd(i, k.get(i), true)
		}
	} else {
		for _, i := range t.wrote {
			k.odd(i, k.get(i), true)
		}
	}
	// 7,125 among points is seven thousand or seven and an eighth: the run of
	// the column shows a slip.
	either, times := t.comma, 1e-3
	if sign == unit.DecimalComma {
		either, times = t.point, 1e-3
	}
	for _, i := range either {
		v := k.get(i)
		if !k.fits(i, v) && k.fits(i, v*times) {
			k.odd(i, v*times, false)
		}
	}
}

// odd marks a cell whose sign does not have the meaning that it has in the rest
// of the column. A cell that cannot be read by the column's sign has no number.
func (k side) odd(i int32, value float64, none bool) {
	raw := ""
	if none {
		raw = k.rawOf(i, value)
		k.set(i, math.NaN())
	} else {
		raw = k.rawOf(i, value)
	}
	k.r.C.Odd = append(k.r.C.Odd, chart.Odd{Row: i, Volume: k.volume, Kind: chart.OddComma, Raw: raw, Value: value})
}

// rawOf writes the number as the cell has it. The raw text is not kept for
// every cell of a long sheet; what proves a sign can be written again from it.
func (k side) rawOf(_ int32, value float64) string {
	s := []byte(strconv.FormatFloat(value, 'f', -1, 64))
	sign, _ := k.t.Vote.Result()
	for i := range s {
		if s[i] == '.' && sign == unit.DecimalPoint {
			s[i] = ','
		}
	}
	return string(s)
}

// fits reports whether a value in row i lies between its neighbours.
func (k side) fits(i int32, v float64) bool {
	from, to := max(int(i)-3, 0), min(int(i)+4, len(k.r.C.Rows))
	var near [7]float64
	for j := from; j < to; j++ {
		near[j-from] = k.get(int32(j))
	}
	near[int(i)-from] = v
	return inRun(near[:to-from], int(i)-from)
}

// byRun decides a column without proof by the run of its numbers: whole numbers
// up to 999 followed by 1,238 go on only if that is twelve hundred. Where both
// readings run alike, the chart's other column decides, since one hand wrote
// both.
func (k side) byRun(other *Tally) (unit.Decimal, bool) {
	t := k.t
	n := len(k.r.C.Rows)
	if k.unmarked() > len(t.point) && len(t.point) > 0 {
		// Whoever wrote 1412 and 1587 did not write 1.411 for the number between
		// them. It is read as it stands, and the audit names it.
		return unit.DecimalPoint, true
	}
	as := [2][]float64{make([]float64, n), make([]float64, n)}
	for i := range n {
		v := k.get(int32(i))
		as[unit.DecimalPoint][i], as[unit.DecimalComma][i] = v, v
	}
	for _, i := range t.point {
		as[unit.DecimalComma][i] = math.Round(as[unit.DecimalPoint][i] * 1000)
	}
	for _, i := range t.comma {
		as[unit.DecimalComma][i] = as[unit.DecimalPoint][i] / 1000
	}
	// One reading must run on where the other jumps or falls. Without a plain
	// number among them, both may run alike in other units.
	if t.Vote.Whole > 0 {
		var fit [2]int
		either := slices.Concat(t.point, t.comma)
		for sign := range as {
			for _, i := range either {
				if inRun(as[sign], int(i)) {
					fit[sign]++
				}
			}
		}
		all := len(either)
		p, c := fit[unit.DecimalPoint], fit[unit.DecimalComma]
		turn := func(sign unit.Decimal) float64 { return turns(as[sign]) }
		switch {
		case p*20 >= all*17 && (c*20 <= all*3 || turn(unit.DecimalPoint) < turn(unit.DecimalComma)):
			return unit.DecimalPoint, true
		case c*20 >= all*17 && (p*20 <= all*3 || turn(unit.DecimalComma) < turn(unit.DecimalPoint)):
			return unit.DecimalComma, true
		}
	}
	if sign, verdict := other.Vote.Result(); verdict == unit.Settled {
		return sign, true
	}
	return 0, false
}

// unmarked counts the numbers of a thousand and more that carry no mark.
func (k side) unmarked() int {
	n := 0
	for i := range k.r.C.Rows {
		if k.get(int32(i)) >= 1000 {
			n++
		}
	}
	return n - len(k.t.comma)
}

// turns gives the share of steps that go against the others.
func turns(v []float64) float64 {
	up, down, prev := 0, 0, math.NaN()
	for _, x := range v {
		if math.IsNaN(x) {
			continue
		}
		switch {
		case x > prev:
			up++
		case x < prev:
			down++
		}
		prev = x
	}
	return float64(min(up, down)) / float64(max(up+down, 1))
}

// inRun reports whether the number at i lies between its neighbours, or goes on
// from them at the end.
func inRun(v []float64, i int) bool {
	lo, hi := math.NaN(), math.NaN()
	for j := i - 1; j >= 0 && j >= i-3 && math.IsNaN(lo); j-- {
		lo = v[j]
	}
	for j := i + 1; j < len(v) && j <= i+3 && math.IsNaN(hi); j++ {
		hi = v[j]
	}
	switch {
	case math.IsNaN(lo) && math.IsNaN(hi):
		return true
	case math.IsNaN(hi): // the last one: no more than half as much again
		return v[i] >= lo*0.66 && v[i] <= lo*1.5+10
	case math.IsNaN(lo):
		return v[i] <= hi*1.5+10
	}
	return v[i] >= min(lo, hi) && v[i] <= max(lo, hi)
}

// ask reports a column whose sign nobody can tell.
func (k side) ask() {
	t := k.t
	all := slices.Concat(t.point, t.comma, t.wrote, t.wrotePoint)
	slices.Sort(all)
	what := "depths"
	if k.volume {
		what = "volumes"
	}
	example := k.get(all[0])
	found := fmt.Sprintf("%s of the %s hold one sign before three figures", survey.Many(len(all), "cell"), what)
	why := fmt.Sprintf("the first of them is %s or %s, and no other cell tells which", survey.Number(example), survey.Number(math.Round(example*1000)))
	if len(t.comma) > 0 && all[0] == t.comma[0] {
		why = fmt.Sprintf("the first of them is %s or %s, and no other cell tells which", survey.Number(example), survey.Number(example/1000))
	}
	if t.Vote.Point > 0 || t.Vote.Comma > 0 {
		found = fmt.Sprintf("the %s use points and commas both as decimal signs", what)
		why = fmt.Sprintf("%d cells prove a decimal point and %d a decimal comma", t.Vote.Point, t.Vote.Comma)
	}
	k.r.Find(finding.DecimalSignUnclear, finding.Stop, k.ref(all[0]), k.ref(all[len(all)-1]), found,
		"decimals that show which sign is which", why, "write the numbers of the column with one decimal place more, or without marks for thousands")
	for _, i := range all {
		k.set(i, math.NaN())
	}
}

// Serials finds the numbers of days among the depths: dates that have lost
// their format.
func (r *Report) Serials() {
	rows := r.C.Rows
	for i := range rows {
		d := rows[i].Depth
		if !(d >= look.FirstSerial && d <= look.LastSerial && d == math.Trunc(d)) {
			continue
		}
		near := math.NaN()
		for j := i + 1; j < len(rows) && j < i+40; j++ {
			if x := rows[j].Depth; !math.IsNaN(x) && x < look.FirstSerial {
				near = x
				break
			}
		}
		for j := i - 1; j >= 0 && math.IsNaN(near); j-- {
			if x := rows[j].Depth; !math.IsNaN(x) && x < look.FirstSerial {
				near = x
			}
		}
		if !(near < 2000) || len(look.TypedFractions("", d)) == 0 {
			continue
		}
		r.C.Odd = append(r.C.Odd, chart.Odd{Row: int32(i), Kind: chart.OddDate, Raw: survey.Number(d), Value: math.NaN()})
		rows[i].Depth = math.NaN()
	}
	slices.SortStableFunc(r.C.Odd, func(a, b chart.Odd) int { return int(a.Row) - int(b.Row) })
	r.dates()
}

// dates gives each date among the depths the fraction that was probably typed:
// of the readings that a date allows, the one that fits the rows around.
func (r *Report) dates() {
	rows := r.C.Rows
	for k := range r.C.Odd {
		o := &r.C.Odd[k]
		if o.Kind != chart.OddDate || o.Volume {
			continue
		}
		serial := math.NaN()
		if f, ok := unit.Number(o.Raw, unit.DecimalPoint); ok {
			serial = f
		}
		lo, hi := math.Inf(-1), math.Inf(1)
		for j := int(o.Row) - 1; j >= 0; j-- {
			if !math.IsNaN(rows[j].Depth) {
				lo = rows[j].Depth
				break
			}
			if v := r.oddValue(int32(j), k); !math.IsNaN(v) {
				lo = v
				break
			}
		}
		for j := int(o.Row) + 1; j < len(rows); j++ {
			if !math.IsNaN(rows[j].Depth) {
				hi = rows[j].Depth
				break
			}
		}
		if lo > hi {
			lo, hi = hi, lo
		}
		for _, f := range look.TypedFractions(o.Raw, serial) {
			if f > lo && f < hi {
				o.Value = f
				break
			}
		}
	}
}

// oddValue gives the reading of an odd depth before entry k of the list.
func (r *Report) oddValue(row int32, k int) float64 {
	for j := k - 1; j >= 0; j-- {
		if o := &r.C.Odd[j]; o.Row == row && !o.Volume {
			return o.Value
		}
	}
	return math.NaN()
}

// Order turns a chart that runs from the top down: an ullage chart by its
// height, and one whose rows merely stand the other way round.
func (r *Report) Order(s *layout.Strand) {
	c := r.C
	up, down, vUp, vDown := 0, 0, 0, 0
	for i := 1; i < len(c.Rows); i++ {
		a, b := &c.Rows[i-1], &c.Rows[i]
		switch {
		case b.Depth > a.Depth:
			up++
		case b.Depth < a.Depth:
			down++
		}
		switch {
		case b.Volume > a.Volume:
			vUp++
		case b.Volume < a.Volume:
			vDown++
		}
	}
	falling := up > 4*down && vDown > 4*vUp || down > 4*up && vUp > 4*vDown
	t := r.T
	ullage := s.Depth.Ullage || falling && t.Ullage
	switch {
	case ullage && !falling && vUp+vDown > 3 && (up > 4*down && vUp > 4*vDown || down > 4*up && vDown > 4*vUp):
		r.Find(finding.UllageUnclear, finding.Stop, s.Depth.At, cell.Ref{}, "a column named for ullage along which the volume rises", "a volume that falls as the ullage grows",
			"the numbers run as depths do", "find out whether the column holds depths or ullages and name it so")
	case ullage:
		c.Ullage = true
		r.turnUllage(s)
	case falling:
		r.Find(finding.UllageUnclear, finding.Stop, c.At, c.To, "the volume falls as the depth grows, from the first row to the last", "a volume that rises with the depth",
			"the column looks like an ullage, measured from the top of the tank, but nothing says so", "write Ullage into the heading and state the tank's inside height, or correct the chart")
	case down > 4*up && vDown > 4*vUp && down > 2:
		r.reverse()
		r.Find(finding.RowsTurned, finding.Note, c.DepthAt(len(c.Rows)-1), c.VolumeAt(0), "the chart stands from the full tank down to the empty one", "rows from the bottom up",
			"it was read from its last row to its first", "no need to do anything")
	}
}

func (r *Report) reverse() { reverseRows(r.C) }

// turnUllage makes depths of ullages where the sheet gives all that it takes;
// the tank list may give the rest later.
func (r *Report) turnUllage(s *layout.Strand) {
	c, t := r.C, r.T
	u := &Ullages{Chart: c, Head: s.Depth.At, Height: t.Height, From: make([]float64, len(c.Rows)), Say: func(f *finding.Finding) {
		r.Find(f.Slug, f.Severity, f.At, f.To, f.Found, f.Expected, f.Why, f.Suggestion)
	}}
	for i := range c.Rows {
		u.From[i] = c.Rows[i].Depth
	}
	if !t.Height.Given() && t.HeightBad != (cell.Ref{}) {
		u.Bare = cell.Of[float64]{V: t.HeightNum, Raw: survey.Number(t.HeightNum), At: t.HeightBad}
	}
	if h := u.Stated(); h.Given() && c.DepthUnit != 0 {
		u.Turn(h)
		return
	}
	if !u.Height.Given() && !u.Bare.Given() {
		r.Find(finding.UllageWithoutHeight, finding.Stop, s.Depth.At, cell.Ref{}, fmt.Sprintf("ullages up to %s and no inside height of the tank", survey.Number(u.most())), "the inside height that the ullages are measured from",
			"depth is inside height less ullage; without the height no depth is known", "write the inside diameter with its unit above the chart, or into the tank list")
	}
	u.lack()
	r.Out.Waiting = append(r.Out.Waiting, u)
}

// Odd reports the cells that hold no number, in ranges: one finding for each
// run of rows with one kind of fault. Commas are left to the audit, which knows
// the numbers around them.
func (r *Report) Odd() {
	c := r.C
	type run struct {
		kind        chart.OddKind
		volume      bool
		first, last int32 // rows
		from, to    int   // entries
		n           int   // cells
	}
	var runs []run
	for k := range c.Odd {
		o := &c.Odd[k]
		if o.Kind == chart.OddComma {
			continue
		}
		grown := false
		for j := len(runs) - 1; j >= 0 && j >= len(runs)-2; j-- {
			if u := &runs[j]; u.kind == o.Kind && u.volume == o.Volume && o.Row <= u.last+1 {
				u.last, u.to, u.n, grown = o.Row, k, int(o.Row-u.first)+1, true
				break
			}
		}
		if !grown {
			runs = append(runs, run{o.Kind, o.Volume, o.Row, o.Row, k, k, 1})
		}
	}
	// Cells left blank here and there are one habit, and one finding.
	blank := func(u *run) bool { return u.kind == chart.OddText && c.Odd[u.from].Raw == "" }
	for _, volume := range [...]bool{false, true} {
		first, many := -1, 0
		for i := range runs {
			if u := &runs[i]; u.volume == volume && blank(u) {
				if first < 0 {
					first = i
				}
				many++
			}
		}
		if many <= 3 {
			continue
		}
		kept := runs[:first+1]
		for _, u := range runs[first+1:] {
			if u.volume == volume && blank(&u) {
				kept[first].last, kept[first].to = u.last, u.to
				kept[first].n += u.n
				continue
			}
			kept = append(kept, u)
		}
		runs = kept
	}
	for _, u := range runs {
		ref := c.DepthAt
		what := "depth"
		if u.volume {
			ref, what = c.VolumeAt, "volume"
		}
		from, to := ref(int(u.first)), ref(int(u.last))
		if to.Row < from.Row || to.Row == from.Row && to.Col < from.Col {
			from, to = to, from
		}
		n := u.n
		raw := c.Odd[u.from].Raw
		depth := ""
		switch u.kind {
		case chart.OddDate:
			list := ""
			for k := u.from; k <= u.to; k++ {
				if o := &c.Odd[k]; o.Kind == chart.OddDate && o.Volume == u.volume {
					if list != "" {
						list += ", "
					}
					if math.IsNaN(o.Value) {
						list += "?"
						continue
					}
					if depth == "" {
						depth = survey.Number(o.Value)
					}
					list += FractionText(o.Value)
				}
			}
			suggestion := "type the fractions again into cells with a number format; probably meant: " + list
			r.Find(finding.DepthTurnedIntoDate, finding.Stop, from, to, fmt.Sprintf("%s where a %s belongs (%s)", survey.Many(n, "date"), what, raw), "a number",
				"a spreadsheet takes a fraction such as 1/8 for a day of the year", suggestion)
			r.lastDepth(depth)
		case chart.OddError:
			r.Find(finding.ErrorValue, finding.Stop, from, to, fmt.Sprintf("%s (%s) where a %s belongs", survey.Many(n, "error value"), raw, what), "a number",
				"the formula of the cell has failed", "mend the formula or type the number in")
		case chart.OddNoValue:
			r.Find(finding.FormulaWithoutValue, finding.Stop, from, to, fmt.Sprintf("%s whose result the file does not hold", survey.Many(n, "formula")), "a "+what,
				"the book was written by a program that does not compute", "open the book in a spreadsheet program, let it compute, and save it")
		case chart.OddText:
			found := fmt.Sprintf("%q where a %s belongs", raw, what)
			if raw == "" {
				found = "no " + what + " in a row that has its other number"
			}
			if n > 1 {
				found += fmt.Sprintf(", and %d more such cells", n-1)
			}
			r.Find(finding.CellUnreadable, finding.Stop, from, to, found, "a number", "the cell cannot be read as a "+what, "look at the original chart and type the number in")
		}
	}
}

// lastDepth gives the last finding its depth.
func (r *Report) lastDepth(d string) {
	all := r.Out.Findings
	all[len(all)-1].Depth = d
}

// FractionText writes a fraction of an inch as people do.
func FractionText(f float64) string {
	for _, den := range []int{2, 3, 4, 5, 6, 7, 8, 9, 10, 12, 16, 32, 64} {
		if n := f * float64(den); math.Abs(n-math.Round(n)) < 1e-9 {
			return fmt.Sprintf("%d/%d", int(math.Round(n)), den)
		}
	}
	return survey.Number(f)
}

// FeetInches reports depths such as 7.9, 7.10, 7.11, 8.0: feet and inches
// written with a point, of which 7.1 is both one and ten inches; and such as 7.6,
// 7.9, 8, 8.3, whose step is cut short at every foot. It looks at the numbers as
// the file has them, depths or ullages.
func (r *Report) FeetInches() {
	rows := r.C.Rows
	n := len(rows)
	if n < 12 || r.C.DepthUnit.Metric() || r.Plain > 0 {
		return
	}
	at := func(i int) int { return i }
	if rows[0].Depth > rows[n-1].Depth {
		at = func(i int) int { return n - 1 - i }
	}
	near := func(x, y float64) bool { return math.Abs(x-y) < 1e-6 }
	turns, first, last := 0, -1, -1
	cut, feet, cutFirst, cutLast := 0, 0, -1, -1
	for i := 2; i+1 < n; i++ {
		a, b, c := rows[at(i-1)].Depth, rows[at(i)].Depth, rows[at(i+1)].Depth
		w := math.Floor(a)
		if near(a, w+0.9) && near(b, w+0.1) && (near(c, w+0.11) || near(c, w+1)) || near(a, w+0.8) && near(b, w+0.1) && near(c, w+1) {
			turns++
			if first < 0 {
				first = at(i)
			}
			last = at(i)
		}
		if !near(b, math.Round(b)) || b < 1 {
			continue
		}
		feet++
		// Three, four or six inches: .3 .6 .9, .4 .8 or .6 before each foot. With
		// two digits for the inches: .01 .02 up to .11, or .02 up to .10.
		for _, form := range [...]struct{ step, last float64 }{
			{0.3, 0.9},
			{0.4, 0.8},
			{0.6, 0.6},
			{0.01, 0.11},
			{0.02, 0.10},
			{0.03, 0.09},
			{0.04, 0.08},
			{0.06, 0.06},
		} {
			if near(c, b+form.step) && near(a, b-1+form.last) {
				cut++
				if cutFirst < 0 {
					cutFirst = at(i)
				}
				cutLast = at(i)
			}
		}
	}
	if cut >= 2 && cut*5 >= feet*4 {
		r.C.FeetPoint = true
		r.Find(finding.FeetInchesWithPoint, finding.Stop, r.C.DepthAt(min(cutFirst, cutLast)), r.C.DepthAt(max(cutFirst, cutLast)),
			fmt.Sprintf("depths whose step is cut short at every whole number (%s)", survey.Many(cut, "time")), "depths in one unit, or feet and inches in two columns",
			"they look like feet and inches written with a point: the inches never pass eleven, and each foot begins anew", "write the depths in inches, or with marks: 7' 9\"")
		return
	}
	if turns == 0 || turns == 1 && max(rows[0].Depth, rows[n-1].Depth) > 2.2 {
		return
	}
	r.C.FeetPoint = true
	r.Find(finding.FeetInchesWithPoint, finding.Stop, r.C.DepthAt(min(first, last)), r.C.DepthAt(max(first, last)),
		fmt.Sprintf("depths that run 0.9, 0.1, 0.11, 1 or so (%s)", survey.Many(turns, "time")), "depths in one unit, or feet and inches in two columns",
		"they look like feet and inches written with a point, where .1 is both one inch and ten", "write the depths in inches, or with marks: 7' 10\"")
}

// BelowZero reports depths below zero: the chart's zero is not the bottom of the
// tank.
func (r *Report) BelowZero() {
	c := r.C
	n, low, first, last := 0, 0.0, 0, 0
	for i := range c.Rows {
		if d := c.Rows[i].Depth; d < 0 {
			if n == 0 {
				first = i
			}
			n++
			low, last = min(low, d), i
		}
	}
	if n == 0 || c.Ullage {
		return
	}
	r.Find(finding.DepthBelowZero, finding.Stop, c.DepthAt(first), c.DepthAt(last), fmt.Sprintf("%s below zero, down to %s", survey.Many(n, "depth"), survey.Number(low)), "depths from the bottom of the tank",
		"the zero of the chart is not the bottom of the tank, so that none of its depths can be held against the heights of the tank", "find out how far below its zero the bottom lies, and add that to all depths")
}

// Placeholder reports a chart that was never filled in: each volume is its
// depth, or all are one number.
func (r *Report) Placeholder() {
	rows := r.C.Rows
	n, same, equal, beyond := 0, 0, 0, 0
	for i := range rows {
		if math.IsNaN(rows[i].Depth) || math.IsNaN(rows[i].Volume) {
			continue
		}
		n++
		if rows[i].Depth == rows[i].Volume {
			same++
		}
		if rows[i].Volume == rows[0].Volume {
			equal++
		}
		if i > 0 && rows[i].Volume == rows[1].Volume {
			beyond++
		}
	}
	switch {
	case n >= 4 && same == n:
		r.Find(finding.PlaceholderChart, finding.Stop, r.C.At, r.C.To, "every volume is equal to its depth", "volumes of a tank",
			"such tables are put in until the real chart comes", "put the tank's own chart in")
	case n >= 4 && beyond == n-1 && rows[0].Volume == 0 && rows[1].Volume > 0:
		r.Find(finding.PlaceholderChart, finding.Stop, r.C.At, r.C.To, "every volume but the first is "+survey.Number(rows[1].Volume), "volumes that rise with the depth",
			"such tables are put in until the real chart comes", "put the tank's own chart in")
	case n >= 4 && equal == n:
		r.Find(finding.PlaceholderChart, finding.Stop, r.C.At, r.C.To, "every volume is "+survey.Number(rows[0].Volume), "volumes that rise with the depth",
			"such tables are put in until the real chart comes", "put the tank's own chart in")
	}
}
