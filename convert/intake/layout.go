package intake

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// fold says how one chart is folded into several pairs of columns.
type fold uint8

const (
	noFold fold = iota
	foldByColumns
	foldByRows
)

// depthSpec is a depth column, or two that make one: feet and inches.
type depthSpec struct {
	xs     []int
	units  []unit.LengthUnit // of each of xs where there are several
	ullage bool
	head   heading
	at     cell.Ref // of its heading
}

// volumeSpec is a volume column.
type volumeSpec struct {
	x    int
	head heading
	at   cell.Ref
	name naming // where the heading names a tank
	comp string // where it names a compartment
}

// strand is a depth column with the volumes that belong to it.
type strand struct {
	depth depthSpec
	vols  []volumeSpec
	title naming // a name that stands above its columns
}

// columnar is a reading of a table that has a chart row in each of its rows.
type columnar struct {
	id, site, comp      int
	depthUnits, volumes int // columns that hold the units, row by row
	strands             []strand
	fold                fold
	layout              string
	turned              bool
	texts               map[int]string // headings, folded, to know a repeated one
	columns             []Column
	headRow             int
	// also are columns that say the same again in another way.
	also []crossColumn
	// trouble are findings of the layout itself.
	trouble []trouble
}

// crossColumn is a column that must agree with depth or volume.
type crossColumn struct {
	x       int
	of      role // roleDepth: a second depth or an ullage; roleVolume; rolePercent
	heading string
	at      cell.Ref // of the heading
	// ratio is what a number of the column is in the unit of the depth or the
	// volume that it must agree with; 0 where a unit is not known.
	ratio float64
}

// crossDepth and crossVolume make columns that are held against the depth or the
// volume that was taken.
func crossDepth(s, taken *depthSpec, x int) crossColumn {
	c := crossColumn{x: x, of: roleDepth, heading: s.head.text, at: s.at}
	if a, b := s.head, taken.head; a.lengths == 1 && b.lengths == 1 && s.ullage == taken.ullage && len(s.xs) == 1 && len(taken.xs) == 1 {
		c.ratio = float64(a.length.Size() / b.length.Size())
	}
	return c
}

func crossVolume(v, taken *volumeSpec) crossColumn {
	c := crossColumn{x: v.x, of: roleVolume, heading: v.head.text, at: v.at}
	if a, b := v.head, taken.head; a.volumes == 1 && b.volumes == 1 {
		c.ratio = float64(a.volume.Size() / b.volume.Size())
	}
	return c
}

// trouble is a finding in the making.
type trouble struct {
	slug       finding.Slug
	from, to   cell.Ref
	found      string
	expected   string
	why        string
	suggestion string
	check      bool // not a stop
}

// unclear is why a table is refused.
type unclear struct {
	at, to     cell.Ref
	found, why string
	list       bool // it is no chart but a list with a row for each tank
}

func unread(at, to cell.Ref, found, why string) *unclear {
	return &unclear{at: at, to: to, found: found, why: why}
}

// settle makes a reading of a table from its headings and the evidence of its
// numbers. It refuses where two readings are close.
func (r *chartReader) settle(w *window, b block, inherit *columnar) (*columnar, *unclear) {
	ev := w.weigh(b.body, b.sample)
	if len(ev) == 0 {
		return nil, &unclear{at: r.at, found: "no numbers below the headings"}
	}
	if !b.heads && inherit != nil && fits(inherit, ev) {
		c := *inherit
		c.trouble, c.layout = nil, strings.TrimSuffix(inherit.layout, ", stacked")
		for i := range c.strands {
			c.strands[i].title = naming{}
		}
		return &c, nil
	}
	own, above, places := map[int]string{}, map[int]string{}, map[int]*box{}
	if b.heads {
		own, above, places = w.headTexts(b.head, b.body)
	}
	xs := make([]int, 0, len(ev))
	for x := range ev {
		xs = append(xs, x)
	}
	slices.Sort(xs)
	heads := make(map[int]heading)
	feet := false
	for _, x := range xs {
		h := readHeading(own[x])
		if h.role == roleNone && h.rest == "" && above[x] != "" {
			h = readHeading(above[x])
		}
		// "Depth" above "ft" and "in": the unit below, the word above.
		if h.role == roleNone || h.role == roleDepth && h.length == 0 || h.role == roleVolume && h.volume == 0 {
			if a := readHeading(above[x]); h.role == roleNone && own[x] == "" || a.role == h.role && h.role != roleNone {
				if h.length == 0 && a.lengths == 1 {
					h.length, h.lengths, h.feetInches = a.length, 1, a.feetInches
				}
				if h.volume == 0 && a.volumes == 1 {
					h.volume, h.volumes = a.volume, 1
				}
				if h.role == roleNone {
					h.role = a.role
				}
			}
		}
		heads[x] = h
		if h.feetInches {
			feet = true
			for i := b.body; i < b.sample; i++ {
				w.feetInches(w.row(i), x)
			}
		}
	}
	if feet {
		ev = w.weigh(b.body, b.sample)
	}
	place := func(x int) cell.Ref {
		if p := places[x]; p != nil {
			return p.ref(r.at)
		}
		for i := b.body; i < b.sample; i++ {
			if p := at(w.row(i), x); p != nil {
				return p.ref(r.at)
			}
		}
		return r.at
	}
	c := &columnar{texts: make(map[int]string), headRow: 0}
	if b.heads {
		c.headRow = w.lines[b.body-1].n
		for x, t := range own {
			c.texts[x] = unit.Fold(t)
		}
	}
	rows := b.sample - b.body
	numeric := func(x int) bool {
		e := ev[x]
		return e.n+e.spoiled > 0 && (e.n+e.spoiled)*2 > e.words && (e.n+e.spoiled)*5 >= rows || heads[x].role != roleNone && e.n+e.spoiled > 0 && e.n+e.spoiled >= e.words ||
			// A short tank's column among long ones, unlike side notes, has no gaps.
			heads[x].rest != "" && e.n >= 3 && e.words == 0 && e.gaps == 0
	}
	var depths, vols, loose []int
	for _, x := range xs {
		e, h := ev[x], heads[x]
		switch h.role {
		case roleTank:
			if c.id == 0 {
				c.id = x
			}
		case roleSite:
			c.site = x
		case roleCompartment:
			c.comp = x
		case roleDepthUnit:
			c.depthUnits = x
		case roleVolumeUnit:
			c.volumes = x
		case roleDepth, roleUllage:
			if numeric(x) {
				depths = append(depths, x)
			}
		case roleVolume:
			if numeric(x) {
				vols = append(vols, x)
			}
		case roleNone:
			switch {
			case numeric(x):
				loose = append(loose, x)
			case e.words*2 > rows && e.repeats > 0 && c.id == 0 && e.distinct*3 <= e.words+2:
				c.id = x // words that repeat in blocks, whatever their heading is
			}
		}
	}
	// Ids may be figures, and a column of them has no heading that says so.
	if c.id == 0 {
		for i, x := range loose {
			e := ev[x]
			if e.flat > 4*(e.up+e.down) && e.n > 8 && len(depths)+len(vols)+len(loose)-1 >= 2 && x < minOf(append(slices.Clone(depths), vols...), x+1) {
				c.id = x
				loose = slices.Delete(loose, i, i+1)
				break
			}
		}
	}
	if c.id != 0 && len(depths) > 0 && !w.idsStartAnew(b, c.id, depths[0]) {
		// A list of tanks stands beside one chart: its columns are none of ours.
		beside := func(x int) bool {
			if depths[0] < c.id {
				return x > c.id
			}
			return x > c.id && x < depths[0]
		}
		vols = slices.DeleteFunc(vols, beside)
		loose = slices.DeleteFunc(loose, beside)
		if depths[0] < c.id {
			depths = slices.DeleteFunc(depths, beside)
		}
		c.id = 0
	}
	if e := ev[c.id]; c.id != 0 && c.comp == 0 && e.words+e.n > 1 && e.words+e.n == rows && e.repeats == 0 && e.flat == 0 && w.unlike(b, c.id) {
		return nil, &unclear{at: place(c.id), list: true}
	}
	for _, x := range depths {
		if e := ev[x]; e.n >= 8 && c.id == 0 && len(depths) == 1 && 3*(e.down-e.resets) > e.up && 3*e.up > e.down {
			return nil, &unclear{at: place(x), found: fmt.Sprintf("a column named for depths, %q, whose numbers run up and down", heads[x].text), why: "depths rise from row to row, or fall"}
		}
	}
	// Feet and inches make one depth.
	specs := r.pairDepths(w, b, depths, heads, ev)
	if len(specs) == 0 {
		x, un := r.depthByEvidence(loose, vols, ev, heads, place)
		if un != nil {
			return nil, un
		}
		specs = []depthSpec{{xs: []int{x}, head: heads[x]}}
		if i := slices.Index(loose, x); i >= 0 {
			loose = slices.Delete(loose, i, i+1)
		}
		if i := slices.Index(vols, x); i >= 0 {
			vols = slices.Delete(vols, i, i+1)
		}
	}
	// Volumes that no word names: tanks across, or the one column left.
	namedVols := slices.DeleteFunc(slices.Clone(vols), func(x int) bool { return heads[x].rest == "" })
	if len(vols) == 0 || len(namedVols) == len(vols) {
		var more []int
		for _, x := range loose {
			e := ev[x]
			if !e.rises() && !e.falls() && e.up+e.down > 0 {
				continue
			}
			if len(vols) > 0 && heads[x].rest == "" {
				continue
			}
			more = append(more, x)
		}
		if len(vols) == 0 && len(more) > 1 {
			unnamed := 0
			for _, x := range more {
				if heads[x].rest == "" {
					unnamed++
				}
			}
			if unnamed > 0 && unnamed < len(more) {
				more = slices.DeleteFunc(more, func(x int) bool { return heads[x].rest == "" })
			} else if unnamed > 1 && len(specs) == 1 {
				return nil, unread(place(more[0]), place(more[len(more)-1]), fmt.Sprintf("%d columns without a heading that could be volumes", len(more)), "nothing says which of them is the volume")
			}
		}
		vols = append(vols, more...)
		slices.Sort(vols)
	}
	vols = r.withoutConstants(vols, heads, ev)
	if len(vols) == 0 {
		return nil, unread(place(specs[0].xs[0]), cell.Ref{}, "a column of depths and none of volumes", "no other column rises with the depth")
	}
	for i := range specs {
		s := &specs[i]
		s.at = place(s.xs[len(s.xs)-1])
		if len(s.xs) == 1 {
			s.ullage = s.head.role == roleUllage
		}
	}
	if un := r.strands(c, w, b, specs, vols, heads, ev, place, above); un != nil {
		return nil, un
	}
	r.describe(c, xs, heads, own, ev)
	return c, nil
}

// withoutConstants leaves out the columns that hold one number throughout, such
// as the capacity repeated in every row, where others hold the volumes. A column
// named for a tank of its own stays: its chart was never filled in.
func (r *chartReader) withoutConstants(vols []int, heads map[int]heading, ev map[int]*evidence) []int {
	constant := func(x int) bool { return ev[x].up+ev[x].down == 0 && ev[x].flat >= 3 }
	if !slices.ContainsFunc(vols, func(x int) bool { return !constant(x) }) {
		return vols
	}
	return slices.DeleteFunc(slices.Clone(vols), func(x int) bool {
		h := heads[x]
		return constant(x) && !(h.compartment && h.rest != "") && !r.soundName(h.rest)
	})
}

// soundName reports whether the words that a heading is left with are the name of
// a tank, and not a description such as "usable" or "other".
func (r *chartReader) soundName(rest string) bool {
	return rest != "" && (slices.Contains(r.opt.IDs, rest) || slices.ContainsFunc(idTokens(rest), func(w string) bool { return idWord(w, r.opt.IDs) }))
}

// unlike reports whether no two cells of a column hold the same.
func (w *window) unlike(b block, x int) bool {
	seen := map[string]bool{}
	for i := b.body; i < b.sample; i++ {
		if p := at(w.row(i), x); p != nil {
			t := tidy(w.text(p))
			if seen[t] {
				return false
			}
			seen[t] = true
		}
	}
	return true
}

// idsStartAnew reports whether a column of ids that are not written in every row
// belongs to the chart: the depth goes back wherever another id begins.
func (w *window) idsStartAnew(b block, id, depth int) bool {
	filled, goesOn, changes := 0, 0, 0
	last, word := math.NaN(), ""
	for i := b.body; i < b.sample; i++ {
		row := w.row(i)
		d := math.NaN()
		if p := at(row, depth); p != nil {
			d = w.value(p)
		}
		if p := at(row, id); p != nil {
			filled++
			if t := tidy(w.text(p)); t != word {
				if word != "" {
					changes++
					if d > last {
						goesOn++
					}
				}
				word = t
			}
		}
		if !math.IsNaN(d) {
			last = d
		}
	}
	return filled*2 > b.sample-b.body || goesOn*2 < max(changes, 1)
}

func minOf(list []int, other int) int {
	if len(list) == 0 {
		return other
	}
	return slices.Min(list)
}

// fits reports whether a reading made for another table can be that of these
// columns: all its columns hold numbers.
func fits(c *columnar, ev map[int]*evidence) bool {
	for _, s := range c.strands {
		for _, x := range s.depth.xs {
			if e := ev[x]; e == nil || e.n+e.spoiled == 0 {
				return false
			}
		}
	}
	return true
}

// pairDepths puts together the columns that make one depth: feet and inches,
// metres and centimetres.
func (r *chartReader) pairDepths(w *window, b block, depths []int, heads map[int]heading, ev map[int]*evidence) []depthSpec {
	var out []depthSpec
	for i := 0; i < len(depths); i++ {
		x := depths[i]
		h := heads[x]
		s := depthSpec{xs: []int{x}, head: h}
		u := h.length
		for i+1 < len(depths) && depths[i+1] <= x+2 && u != 0 {
			y := depths[i+1]
			v := heads[y].length
			if between := ev[x+1]; y > x+1 && between != nil && between.n > 0 {
				break // a volume stands between: another pair
			}
			if v == 0 || v.Size() >= u.Size() || v.Metric() != u.Metric() {
				break
			}
			// The smaller one runs round within the larger.
			ratio := float64(u.Size() / v.Size())
			if e := ev[y]; e.most >= ratio || ev[s.xs[len(s.xs)-1]].most <= 0 && e.down == 0 && e.n < 3 {
				break
			}
			if len(s.units) == 0 {
				s.units = []unit.LengthUnit{u}
			}
			s.xs, s.units = append(s.xs, y), append(s.units, v)
			x, u = y, v
			i++
		}
		if len(s.xs) > 1 {
			s.head = heads[s.xs[len(s.xs)-1]]
			s.head.role = h.role
		}
		out = append(out, s)
	}
	return out
}

// depthByEvidence finds the depth column where no heading names one.
func (r *chartReader) depthByEvidence(loose, vols []int, ev map[int]*evidence, heads map[int]heading, place func(int) cell.Ref) (int, *unclear) {
	type guess struct {
		x     int
		score float64
	}
	var list []guess
	for _, x := range loose {
		e := ev[x]
		if !e.rises() && !e.falls() {
			continue
		}
		g := guess{x: x, score: 2 * e.even}
		if e.strict() {
			g.score++
		}
		if heads[x].rest == "" {
			g.score += 0.25
		}
		list = append(list, g)
	}
	if len(list) == 0 {
		at := cell.Ref{}
		if len(vols) > 0 {
			at = place(vols[0])
		}
		return 0, unread(at, cell.Ref{}, "no column that rises like a depth", "a chart needs a column of depths that rise from row to row")
	}
	slices.SortStableFunc(list, func(a, b guess) int {
		switch {
		case a.score > b.score:
			return -1
		case a.score < b.score:
			return 1
		}
		return a.x - b.x
	})
	// With the volume named, the one column left is the depth.
	if len(list) == 1 && (len(vols) > 0 || list[0].score >= 1.5) {
		return list[0].x, nil
	}
	if len(list) > 1 && list[0].score-list[1].score < 0.5 {
		a, b := list[0].x, list[1].x
		return 0, unread(place(min(a, b)), place(max(a, b)), "two columns that could each be the depths", fmt.Sprintf("both rise in steps alike (%.0f %% and %.0f %% of the steps are equal) and no heading tells them apart", 100*ev[a].even, 100*ev[b].even))
	}
	if len(list) == 1 {
		return 0, unread(place(list[0].x), cell.Ref{}, "one column of rising numbers", "nothing says whether it holds depths or volumes")
	}
	return list[0].x, nil
}

// strands shares the volumes out among the depths and tells the layouts apart.
func (r *chartReader) strands(c *columnar, w *window, b block, specs []depthSpec, vols []int, heads map[int]heading, ev map[int]*evidence, place func(int) cell.Ref, above map[int]string) *unclear {
	spec := func(x int) volumeSpec {
		v := volumeSpec{x: x, head: heads[x], at: place(x)}
		h := v.head
		switch {
		case h.compartment && h.rest != "":
			v.comp = h.rest
			// "PS-4 compartment A" names both.
			if ts := idTokens(h.rest); len(ts) > 1 && idWord(ts[0], r.opt.IDs) && strings.ContainsAny(ts[0], "0123456789") {
				v.name = naming{names: ts[:1], text: h.text}
				v.comp = strings.Join(ts[1:], " ")
			}
		case h.rest != "":
			if n, ok := readName(h.rest, r.opt.IDs, true); ok {
				n.text = h.text
				n.combined = n.combined || saysCombined(h.text)
				v.name = n
			}
		}
		return v
	}
	if len(specs) == 1 || len(vols) == 1 || c.id != 0 && len(specs) > 1 && len(vols) < len(specs) {
		return r.oneDepth(c, w, b, specs, vols, heads, ev, place, spec, above)
	}
	if len(vols)%len(specs) != 0 && len(vols) < len(specs) {
		return unread(specs[0].at, place(vols[len(vols)-1]), fmt.Sprintf("%d columns of depths and %d of volumes", len(specs), len(vols)), "nothing says which volume belongs to which depth")
	}
	if c.id != 0 {
		return &unclear{at: specs[0].at, to: place(vols[len(vols)-1]), found: fmt.Sprintf("a column of tanks with %d columns of depths and %d of volumes", len(specs), len(vols)), why: "nothing says which volume belongs to which depth"}
	}
	first := specs[0].xs[0]
	if len(vols) == len(specs) {
		for i, s := range specs {
			c.strands = append(c.strands, strand{depth: s, vols: []volumeSpec{spec(vols[i])}})
		}
	} else {
		// Several volumes to each depth: those up to the next depth.
		if vols[0] < first {
			return unread(place(vols[0]), place(vols[len(vols)-1]), fmt.Sprintf("%d columns of depths and %d of volumes", len(specs), len(vols)), "nothing says which volume belongs to which depth")
		}
		for i, s := range specs {
			end := math.MaxInt
			if i+1 < len(specs) {
				end = specs[i+1].xs[0]
			}
			st := strand{depth: s}
			for _, x := range vols {
				if x > s.xs[0] && x < end {
					st.vols = append(st.vols, spec(x))
				}
			}
			if len(st.vols) == 0 {
				return unread(s.at, cell.Ref{}, "a column of depths without a volume beside it", "each column of depths needs its volumes before the next one")
			}
			st.vols = r.oneOfTwo(c, w, b, st.vols, ev)
			c.strands = append(c.strands, st)
		}
	}
	// Names above the pairs.
	names := map[string]bool{}
	for i := range c.strands {
		s := &c.strands[i]
		x := min(s.depth.xs[0], s.vols[0].x)
		if n, ok := readName(above[x], r.opt.IDs, false); ok {
			s.title = n
		} else if t := above[x]; t != "" && idWord(t, r.opt.IDs) {
			s.title = naming{names: []string{t}, text: t}
		} else if n := s.vols[0].name; len(n.names) > 0 {
			s.title = n
		} else if h := s.depth.head; h.rest != "" && idWord(h.rest, r.opt.IDs) {
			s.title = naming{names: []string{h.rest}, text: h.text}
		}
		if h := readHeading(above[x]); h.compartment && s.vols[0].comp == "" && h.rest != "" {
			if len(s.title.names) == 0 || s.title.name() == h.rest {
				s.vols[0].comp, s.title = h.rest, naming{}
			}
		}
		names[s.title.name()+"/"+s.vols[0].comp] = true
	}
	if len(names) < len(c.strands) {
		// Any words that differ from pair to pair are names: "LM 1", "East".
		own := map[string]bool{}
		for _, s := range c.strands {
			t := above[min(s.depth.xs[0], s.vols[0].x)]
			if h := readHeading(t); t != "" && h.rest != "" && len(t) <= 40 {
				own[t] = true
			}
		}
		if len(own) == len(c.strands) {
			names = own
			for i := range c.strands {
				s := &c.strands[i]
				s.title, _ = readName(above[min(s.depth.xs[0], s.vols[0].x)], r.opt.IDs, true)
			}
		}
	}
	if len(names) == len(c.strands) && len(names) > 1 {
		c.layout = "paired columns"
		return nil
	}
	// One name or none: one chart folded, if the pairs go on from each other.
	f, why := w.folded(b, c.strands)
	switch f {
	case foldByColumns:
		c.layout = "folded by columns"
	case foldByRows:
		c.layout = "folded by rows"
	case noFold:
		return unread(c.strands[0].depth.at, place(vols[len(vols)-1]), fmt.Sprintf("%d pairs of depths and volumes", len(c.strands)), why+", and they have not a name each: they are neither one folded chart nor the charts of tanks that could be told")
	}
	c.fold = f
	return nil
}

// folded tells by the run of the depths how pairs of columns make one chart.
func (w *window) folded(b block, strands []strand) (fold, string) {
	type span struct{ first, last float64 }
	spans := make([]span, len(strands))
	rowsOK, rowsBad := 0, 0
	last := math.Inf(-1)
	for i := range spans {
		spans[i] = span{math.NaN(), math.NaN()}
	}
	for i := b.body; i < b.sample; i++ {
		row := w.row(i)
		for k, s := range strands {
			v := 0.0
			got := false
			for j, x := range s.depth.xs {
				if p := at(row, x); p != nil {
					if f := w.value(p); !math.IsNaN(f) {
						if len(s.depth.units) > 0 {
							f *= float64(s.depth.units[j].Size())
						}
						v += f
						got = true
					}
				}
			}
			if !got {
				continue
			}
			if math.IsNaN(spans[k].first) {
				spans[k].first = v
			}
			spans[k].last = v
			if v > last {
				rowsOK++
			} else {
				rowsBad++
			}
			last = v
		}
	}
	if rowsBad*20 <= rowsOK {
		return foldByRows, ""
	}
	for k := 1; k < len(spans); k++ {
		a, b := spans[k-1], spans[k]
		up := a.last > a.first
		if up && b.first < a.last || !up && b.first > a.last || math.IsNaN(b.first) {
			return noFold, "the second does not go on where the first ends"
		}
		// A pair that starts far beyond the end of the one before is another tank's.
		if step := math.Abs(a.last-a.first) / 3; up && b.first-a.last > step+1 && step > 0 {
			return noFold, "there is a wide gap between them"
		}
	}
	return foldByColumns, ""
}

// oneDepth is a table with one depth column that counts.
func (r *chartReader) oneDepth(c *columnar, w *window, b block, specs []depthSpec, vols []int, heads map[int]heading, ev map[int]*evidence, place func(int) cell.Ref, spec func(int) volumeSpec, above map[int]string) *unclear {
	pick := 0
	for i, s := range specs {
		// A height counts rather than an ullage, whatever their order is.
		if !s.ullage {
			pick = i
			break
		}
	}
	d := specs[pick]
	for i, s := range specs {
		if i == pick {
			continue
		}
		for _, x := range s.xs {
			c.also = append(c.also, crossDepth(&s, &d, x))
		}
		if s.ullage == d.ullage && s.head.text == d.head.text && len(s.xs) == 1 {
			c.trouble = append(c.trouble, trouble{
				slug: finding.DuplicateHeader, from: d.at, to: s.at, found: fmt.Sprintf("two columns named %q", s.head.text), expected: "one column of depths",
				why: "they are not the same numbers, and nothing says which of them belongs to the tank", suggestion: "name the columns apart, or take one of them away",
			})
			if w.sameColumns(b, d.xs[0], s.xs[0]) {
				t := &c.trouble[len(c.trouble)-1]
				t.check, t.why = true, "both hold the same numbers in the rows looked at"
			}
		}
	}
	st := strand{depth: d}
	for _, x := range vols {
		st.vols = append(st.vols, spec(x))
	}
	// Beside a column that is plainly "Volume", one with words more is another
	// kind of volume ("Usable volume") unless the words can be a name.
	if slices.ContainsFunc(st.vols, func(v volumeSpec) bool { return v.head.rest == "" }) || len(st.vols) == 1 {
		for i := range st.vols {
			if v := &st.vols[i]; v.comp == "" && !r.soundName(v.head.rest) {
				v.name = naming{}
			}
		}
	}
	named := 0
	for _, v := range st.vols {
		if len(v.name.names) > 0 || v.comp != "" {
			named++
		}
	}
	if len(st.vols) > 1 && named == 0 {
		// Above the volumes may stand the names of the tanks.
		for i := range st.vols {
			v := &st.vols[i]
			t := above[v.x]
			if n, ok := readName(t, r.opt.IDs, false); ok {
				v.name = n
				named++
			} else if h := readHeading(t); h.compartment && h.rest != "" {
				v.comp = h.rest
				named++
			} else if t != "" && idWord(t, r.opt.IDs) {
				v.name = naming{names: []string{t}, text: t}
				named++
			}
		}
		if named > 0 {
			seen := map[string]bool{}
			for _, v := range st.vols {
				seen[v.name.name()+"/"+v.comp] = true
			}
			if len(seen) == 1 {
				for i := range st.vols {
					st.vols[i].name, st.vols[i].comp = naming{}, ""
				}
				named = 0
			}
		}
	}
	switch {
	case len(st.vols) == 1:
	case named == 0:
		st.vols = r.oneOfTwo(c, w, b, st.vols, ev)
	case named < len(st.vols):
		// "Volume (gal)" beside "CF-1 (gal)": the bare one names no tank.
		st.vols = slices.DeleteFunc(st.vols, func(v volumeSpec) bool { return len(v.name.names) == 0 && v.comp == "" })
	}
	if len(st.vols) > 1 {
		// Two columns with one name.
		for i := range st.vols {
			for k := i + 1; k < len(st.vols); k++ {
				a, z := st.vols[i], st.vols[k]
				if a.name.name() == z.name.name() && a.comp == z.comp {
					if a.head.volume != z.head.volume {
						c.also = append(c.also, crossVolume(&z, &a))
					} else {
						c.trouble = append(c.trouble, duplicate(a, z))
					}
					st.vols = slices.Delete(st.vols, k, k+1)
					k--
				}
			}
		}
	}
	for x, h := range heads {
		if h.role == rolePercent && ev[x].n > 0 {
			c.also = append(c.also, crossColumn{x: x, of: rolePercent, heading: h.text, at: place(x)})
		}
	}
	slices.SortFunc(c.also, func(a, b crossColumn) int { return a.x - b.x })
	c.strands = []strand{st}
	switch {
	case c.id != 0:
		c.layout = "long"
	case len(st.vols) > 1:
		c.layout = "wide"
	default:
		c.layout = "depth and volume"
	}
	if d.ullage {
		c.layout = strings.TrimPrefix(c.layout+", ullage", "depth and volume, ")
	}
	return nil
}

func duplicate(a, z volumeSpec) trouble {
	found := fmt.Sprintf("two columns named %q", a.head.text)
	if a.head.text != z.head.text {
		found = fmt.Sprintf("two columns of volumes in one unit, %q and %q", a.head.text, z.head.text)
	}
	return trouble{
		slug: finding.DuplicateHeader, from: a.at, to: z.at, found: found, expected: "one column of volumes for each tank",
		why: "they are not the same numbers, and nothing says which of them belongs to the tank; shown are those of the first", suggestion: "name the columns apart, or take one of them away",
	}
}

// oneOfTwo settles which of several volume columns without a name counts.
func (r *chartReader) oneOfTwo(c *columnar, w *window, b block, vols []volumeSpec, ev map[int]*evidence) []volumeSpec {
	if len(vols) < 2 {
		return vols
	}
	a := vols[0]
	for _, z := range vols[1:] {
		switch {
		case a.head.volume != z.head.volume && a.head.volume != 0 && z.head.volume != 0:
			// The same in another unit; the finer figures count.
			if ratio := float64(z.head.volume.Size() / a.head.volume.Size()); ratio < 1 && ev[z.x].flat < ev[a.x].flat {
				a, z = z, a
			}
			c.also = append(c.also, crossVolume(&z, &a))
		case ev[z.x].falls() && !ev[a.x].falls():
			c.also = append(c.also, crossColumn{x: z.x, of: roleOther, heading: z.head.text, at: z.at})
		default:
			t := duplicate(a, z)
			if w.sameColumns(b, a.x, z.x) {
				t.check, t.why = true, "both hold the same numbers in the rows looked at"
			}
			c.trouble = append(c.trouble, t)
		}
	}
	return []volumeSpec{a}
}

func (w *window) sameColumns(b block, x, y int) bool {
	for i := b.body; i < b.sample; i++ {
		p, q := at(w.row(i), x), at(w.row(i), y)
		if (p == nil) != (q == nil) {
			return false
		}
		if p != nil && w.value(p) != w.value(q) {
			return false
		}
	}
	return true
}

// describe lists the columns for inspect.
func (r *chartReader) describe(c *columnar, xs []int, heads map[int]heading, own map[int]string, ev map[int]*evidence) {
	means := make(map[int]string)
	for _, s := range c.strands {
		for _, x := range s.depth.xs {
			means[x] = "depth"
			if s.depth.ullage {
				means[x] = "ullage"
			}
		}
		for _, v := range s.vols {
			means[v.x] = "volume"
		}
	}
	means[c.id], means[c.site], means[c.comp] = "tank", "site", "compartment"
	for _, x := range xs {
		m := means[x]
		if m == "" && heads[x].role != roleDepth && heads[x].role != roleVolume {
			m = heads[x].role.String()
		}
		col := Column{Col: x, Heading: own[x], Means: m}
		switch {
		case m == "depth" || m == "ullage":
			col.Unit = heads[x].length.String()
		case m == "volume":
			col.Unit = heads[x].volume.String()
		}
		c.columns = append(c.columns, col)
	}
}
