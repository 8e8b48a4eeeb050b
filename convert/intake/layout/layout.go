// Package layout settles by evidence what the columns of a chart's table hold. It
// scores its readings and refuses where two of them are close; it knows no list of
// file shapes.
package layout

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"dropcut/convert/intake/headword"
	"dropcut/convert/intake/look"
	"dropcut/convert/intake/survey"
	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// fold says how one chart is folded into several pairs of columns.
type fold uint8

const (
	NoFold fold = iota
	FoldByColumns
	FoldByRows
)

// DepthSpec is a depth column, or several that make one: feet, inches, eighths.
type DepthSpec struct {
	Xs    []int
	Units []unit.LengthUnit // of each of xs where there are several
	// Parts says that the last of xs counts parts of the unit before it, each so
	// large (1/8), or holds fractions of it (1); 0 where it is like the others. A
	// blank in it is none of them.
	Parts  float64
	Ullage bool
	Head   headword.Heading
	At     cell.Ref // of its heading
}

// Size gives the length of one in column j of several, in inches.
func (s *DepthSpec) Size(j int) float64 {
	f := float64(s.Units[j].Size())
	if s.Parts > 0 && j == len(s.Xs)-1 {
		f *= s.Parts
	}
	return f
}

// Last gives the unit that a depth of several columns is kept in: the smallest
// that a column has a name for.
func (s *DepthSpec) Last() unit.LengthUnit { return s.Units[len(s.Units)-1] }

// VolumeSpec is a volume column.
type VolumeSpec struct {
	X    int
	Head headword.Heading
	At   cell.Ref
	Name headword.Naming // where the heading names a tank
	Comp string          // where it names a compartment
}

// Strand is a depth column with the volumes that belong to it.
type Strand struct {
	Depth DepthSpec
	Vols  []VolumeSpec
	Title headword.Naming // a name that stands above its columns
}

// Columnar is a reading of a table that has a chart row in each of its rows.
type Columnar struct {
	Id, Site, Comp      int
	DepthUnits, Volumes int // columns that hold the units, row by row
	Strands             []Strand
	Fold                fold
	Layout              string
	Turned              bool
	Texts               map[int]string // headings, folded, to know a repeated one
	Columns             []survey.Column
	HeadRow             int
	// Also are columns that say the same again in another way.
	Also []CrossColumn
	// Height is that of the tank, where a column beside ullages repeats it.
	Height cell.Of[unit.Length]
	// Trouble are findings of the layout itself.
	Trouble []Trouble
}

// CrossColumn is a column that must agree with depth or volume.
type CrossColumn struct {
	X       int
	Of      headword.Role // roleDepth: a second depth or an ullage; roleVolume; rolePercent
	Heading string
	At      cell.Ref // of the heading
	// Ratio is what a number of the column is in the unit of the depth or the
	// volume that it must agree with; 0 where a unit is not known.
	Ratio float64
}

// crossDepth and crossVolume make columns that are held against the depth or the
// volume that was taken.
func crossDepth(s, taken *DepthSpec, x int) CrossColumn {
	c := CrossColumn{X: x, Of: headword.RoleDepth, Heading: s.Head.Text, At: s.At}
	if a, b := s.Head, taken.Head; a.Lengths == 1 && b.Lengths == 1 && s.Ullage == taken.Ullage && len(s.Xs) == 1 && len(taken.Xs) == 1 {
		c.Ratio = float64(a.Length.Size() / b.Length.Size())
	}
	return c
}

func crossVolume(v, taken *VolumeSpec) CrossColumn {
	c := CrossColumn{X: v.X, Of: headword.RoleVolume, Heading: v.Head.Text, At: v.At}
	if a, b := v.Head, taken.Head; a.Volumes == 1 && b.Volumes == 1 {
		c.Ratio = float64(a.Volume.Size() / b.Volume.Size())
	}
	return c
}

// Trouble is a finding in the making.
type Trouble struct {
	Slug       finding.Slug
	From, To   cell.Ref
	Found      string
	Expected   string
	Why        string
	Suggestion string
	Check      bool // not a stop
}

// Unclear is why a table is refused.
type Unclear struct {
	At, To     cell.Ref
	Found, Why string
	List       bool // it is no chart but a list with a row for each tank
}

func unread(at, to cell.Ref, found, why string) *Unclear {
	return &Unclear{At: at, To: to, Found: found, Why: why}
}

// settler makes readings of the tables of one sheet.
type settler struct {
	at  cell.Ref
	ids headword.Known // of the tank list
}

// Settle makes a reading of the table at b on the sheet at; inherit is that
// of the table before, for one without headings.
func Settle(w *look.Window, b look.Block, inherit *Columnar, at cell.Ref, ids headword.Known) (*Columnar, *Unclear) {
	return (&settler{at, ids}).settle(w, b, inherit)
}

// settle makes a reading of a table from its headings and the evidence of its
// numbers. It refuses where two readings are close.
func (r *settler) settle(w *look.Window, b look.Block, inherit *Columnar) (*Columnar, *Unclear) {
	ev := w.Weigh(b.Body, b.Sample)
	if len(ev) == 0 {
		return nil, &Unclear{At: r.at, Found: "no numbers below the headings"}
	}
	if !b.Heads && inherit != nil && fits(inherit, ev) {
		c := *inherit
		c.Trouble, c.Layout = nil, strings.TrimSuffix(inherit.Layout, ", stacked")
		for i := range c.Strands {
			c.Strands[i].Title = headword.Naming{}
		}
		return &c, nil
	}
	own, above, places := map[int]string{}, map[int]string{}, map[int]*look.Box{}
	if b.Heads {
		own, above, places = w.HeadTexts(b.Head, b.Body)
	}
	xs := make([]int, 0, len(ev))
	for x := range ev {
		xs = append(xs, x)
	}
	slices.Sort(xs)
	heads := make(map[int]headword.Heading)
	feet := false
	for _, x := range xs {
		h := headword.Read(own[x])
		if h.Role == headword.RoleNone && h.Rest == "" && above[x] != "" {
			h = headword.Read(above[x])
		}
		// "Depth" above "ft" and "in": the unit below, the word above.
		if h.Role == headword.RoleNone || h.Role == headword.RoleDepth && h.Length == 0 || h.Role == headword.RoleVolume && h.Volume == 0 {
			if a := headword.Read(above[x]); h.Role == headword.RoleNone && own[x] == "" || a.Role == h.Role && h.Role != headword.RoleNone {
				if h.Length == 0 && a.Lengths == 1 {
					h.Length, h.Lengths, h.FeetInches = a.Length, 1, a.FeetInches
				}
				if h.Volume == 0 && a.Volumes == 1 {
					h.Volume, h.Volumes = a.Volume, 1
				}
				if h.Role == headword.RoleNone {
					h.Role = a.Role
				}
			}
		}
		heads[x] = h
		if h.FeetInches {
			feet = true
			for i := b.Body; i < b.Sample; i++ {
				w.FeetInches(w.Row(i), x)
			}
		}
	}
	if feet {
		ev = w.Weigh(b.Body, b.Sample)
	}
	place := func(x int) cell.Ref {
		if p := places[x]; p != nil {
			return p.Ref(r.at)
		}
		for i := b.Body; i < b.Sample; i++ {
			if p := look.At(w.Row(i), x); p != nil {
				return p.Ref(r.at)
			}
		}
		return r.at
	}
	c := &Columnar{Texts: make(map[int]string), HeadRow: 0}
	if b.Heads {
		c.HeadRow = w.Lines[b.Body-1].N
		for x, t := range own {
			c.Texts[x] = unit.Fold(t)
		}
	}
	rows := b.Sample - b.Body
	numeric := func(x int) bool {
		e := ev[x]
		return e.N+e.Spoiled > 0 && (e.N+e.Spoiled)*2 > e.Words && (e.N+e.Spoiled)*5 >= rows || heads[x].Role != headword.RoleNone && e.N+e.Spoiled > 0 && e.N+e.Spoiled >= e.Words ||
			// A short tank's column among long ones, unlike side notes, has no gaps.
			heads[x].Rest != "" && e.N >= 3 && e.Words == 0 && e.Gaps == 0
	}
	var depths, vols, loose []int
	parts := partsColumns(w, b, xs, own, heads, ev)
	for _, x := range xs {
		e, h := ev[x], heads[x]
		if parts[x] > 0 {
			continue
		}
		switch h.Role {
		case headword.RoleTank:
			if c.Id == 0 {
				c.Id = x
			}
		case headword.RoleSite:
			c.Site = x
		case headword.RoleCompartment:
			c.Comp = x
		case headword.RoleDepthUnit:
			c.DepthUnits = x
		case headword.RoleVolumeUnit:
			c.Volumes = x
		case headword.RoleDepth, headword.RoleUllage:
			if numeric(x) {
				depths = append(depths, x)
			}
		case headword.RoleVolume:
			if numeric(x) {
				vols = append(vols, x)
			}
		case headword.RoleNone:
			switch {
			case numeric(x):
				loose = append(loose, x)
			case e.Words*2 > rows && e.Repeats > 0 && c.Id == 0 && e.Distinct*3 <= e.Words+2:
				c.Id = x // words that repeat in blocks, whatever their heading is
			}
		}
	}
	// The ids may stand on rows of their own, above the rows of each tank.
	if c.Id == 0 {
		for x, t := range own {
			if ev[x] == nil && headword.Read(t).Role == headword.RoleTank {
				c.Id = x
			}
		}
		if c.Id != 0 && !labelled(w, b, c.Id) {
			c.Id = 0
		}
	}
	// Ids may be figures, and a column of them has no heading that says so.
	if c.Id == 0 {
		for i, x := range loose {
			e := ev[x]
			if e.Flat > 4*(e.Up+e.Down) && e.N > 8 && len(depths)+len(vols)+len(loose)-1 >= 2 && x < minOf(append(slices.Clone(depths), vols...), x+1) {
				c.Id = x
				loose = slices.Delete(loose, i, i+1)
				break
			}
		}
	}
	if c.Id != 0 && len(depths) > 0 && !idsStartAnew(w, b, c.Id, depths[0]) {
		// A list of tanks stands beside one chart: its columns are none of ours.
		beside := func(x int) bool {
			if depths[0] < c.Id {
				return x > c.Id
			}
			return x > c.Id && x < depths[0]
		}
		vols = slices.DeleteFunc(vols, beside)
		loose = slices.DeleteFunc(loose, beside)
		if depths[0] < c.Id {
			depths = slices.DeleteFunc(depths, beside)
		}
		c.Id = 0
	}
	if e := ev[c.Id]; e != nil && c.Id != 0 && c.Comp == 0 && e.Words+e.N > 1 && e.Words+e.N == rows && e.Repeats == 0 && e.Flat == 0 && unlike(w, b, c.Id) {
		return nil, &Unclear{At: place(c.Id), List: true}
	}
	for _, x := range depths {
		if e := ev[x]; e.N >= 8 && c.Id == 0 && len(depths) == 1 && 3*(e.Down-e.Resets) > e.Up && 3*e.Up > e.Down {
			return nil, &Unclear{At: place(x), Found: fmt.Sprintf("a column named for depths, %q, whose numbers run up and down", heads[x].Text), Why: "depths rise from row to row, or fall"}
		}
	}
	// A height that is the same in every row beside ullages is the tank's.
	if slices.ContainsFunc(depths, func(x int) bool { return heads[x].Role == headword.RoleUllage && ev[x].Up+ev[x].Down > 0 }) {
		depths = slices.DeleteFunc(depths, func(x int) bool {
			e := ev[x]
			same := heads[x].Role == headword.RoleDepth && e.Up+e.Down == 0 && e.Flat >= 3
			if same && c.Id == 0 && heads[x].Length != 0 {
				c.Height = cell.Of[unit.Length]{V: heads[x].Length.Length(e.Most), Raw: survey.Number(e.Most), At: firstOf(w, b, x, r.at)}
			}
			return same
		})
	}
	// Feet and inches make one depth.
	specs := r.pairDepths(depths, heads, ev, parts)
	if len(specs) == 0 {
		x, un := r.depthByEvidence(loose, vols, ev, heads, place)
		if un != nil {
			return nil, un
		}
		specs = []DepthSpec{{Xs: []int{x}, Head: heads[x]}}
		if i := slices.Index(loose, x); i >= 0 {
			loose = slices.Delete(loose, i, i+1)
		}
		if i := slices.Index(vols, x); i >= 0 {
			vols = slices.Delete(vols, i, i+1)
		}
	}
	// The depths may stand once more at the right of a wide table.
	if n := len(specs); n > 1 && !slices.ContainsFunc(slices.Concat(vols, loose), func(x int) bool { return x > specs[n-1].Xs[0] }) {
		a, z := &specs[0], &specs[n-1]
		if len(a.Xs) == 1 && len(z.Xs) == 1 && len(vols) > 0 && a.Ullage == z.Ullage && vols[0] > a.Xs[0] && sameColumns(w, b, a.Xs[0], z.Xs[0]) {
			z.At = place(z.Xs[0])
			c.Also = append(c.Also, crossDepth(z, a, z.Xs[0]))
			specs = specs[:n-1]
		}
	}
	// Volumes that no word names: tanks across, or the one column left.
	namedVols := slices.DeleteFunc(slices.Clone(vols), func(x int) bool { return heads[x].Rest == "" })
	if len(vols) == 0 || len(namedVols) == len(vols) {
		var more []int
		for _, x := range loose {
			e := ev[x]
			if !e.Rises() && !e.Falls() && e.Up+e.Down > 0 {
				continue
			}
			if len(vols) > 0 && heads[x].Rest == "" {
				continue
			}
			more = append(more, x)
		}
		if len(vols) == 0 && len(more) > 1 {
			unnamed := 0
			for _, x := range more {
				if heads[x].Rest == "" {
					unnamed++
				}
			}
			if unnamed > 0 && unnamed < len(more) {
				more = slices.DeleteFunc(more, func(x int) bool { return heads[x].Rest == "" })
			} else if unnamed > 1 && len(specs) == 1 {
				return nil, unread(place(more[0]), place(more[len(more)-1]), fmt.Sprintf("%d columns without a heading that could be volumes", len(more)), "nothing says which of them is the volume")
			}
		}
		vols = append(vols, more...)
		slices.Sort(vols)
	}
	vols = r.withoutConstants(vols, heads, ev)
	if len(vols) == 0 {
		for _, x := range xs {
			if heads[x].Role == headword.RolePercent && ev[x].N+ev[x].Words > 0 {
				return nil, unread(place(x), cell.Ref{}, fmt.Sprintf("a column of depths and one of percent, %q, and none of volumes", heads[x].Text), "a share is no volume while nobody says of how much")
			}
		}
		return nil, unread(place(specs[0].Xs[0]), cell.Ref{}, "a column of depths and none of volumes", "no other column rises with the depth")
	}
	for i := range specs {
		s := &specs[i]
		s.At = place(s.Xs[len(s.Xs)-1])
		if len(s.Xs) == 1 {
			s.Ullage = s.Head.Role == headword.RoleUllage
		}
	}
	if un := r.strands(c, w, b, specs, vols, heads, ev, place, above); un != nil {
		return nil, un
	}
	r.describe(c, xs, heads, own, ev)
	return c, nil
}

// firstOf gives the place of the first cell in column x below the headings.
func firstOf(w *look.Window, b look.Block, x int, at cell.Ref) cell.Ref {
	for i := b.Body; i < b.Sample; i++ {
		if p := look.At(w.Row(i), x); p != nil {
			return p.Ref(at)
		}
	}
	return at
}

// labelled reports whether a row between the heading and the numbers holds nothing
// but a name in column x.
func labelled(w *look.Window, b look.Block, x int) bool {
	for i := b.Head; i < b.Body; i++ {
		if row := w.Row(i); len(row) == 1 && int(row[0].X) == x {
			return true
		}
	}
	return false
}

// withoutConstants leaves out the columns that hold one number throughout, such
// as the capacity repeated in every row, where others hold the volumes. A column
// named for a tank of its own stays: its chart was never filled in.
func (r *settler) withoutConstants(vols []int, heads map[int]headword.Heading, ev map[int]*look.Evidence) []int {
	constant := func(x int) bool { return ev[x].Up+ev[x].Down == 0 && ev[x].Flat >= 3 }
	if !slices.ContainsFunc(vols, func(x int) bool { return !constant(x) }) {
		return vols
	}
	return slices.DeleteFunc(slices.Clone(vols), func(x int) bool {
		h := heads[x]
		return constant(x) && !(h.Compartment && h.Rest != "") && !r.soundName(h.Rest)
	})
}

// soundName reports whether the words that a heading is left with are the name of
// a tank, and not a description such as "usable" or "other".
func (r *settler) soundName(rest string) bool {
	return rest != "" && (r.ids[rest] || slices.ContainsFunc(headword.IdTokens(rest), func(w string) bool { return headword.IdWord(w, r.ids) }))
}

// unlike reports whether no two cells of a column hold the same.
func unlike(w *look.Window, b look.Block, x int) bool {
	seen := map[string]bool{}
	for i := b.Body; i < b.Sample; i++ {
		if p := look.At(w.Row(i), x); p != nil {
			t := headword.Tidy(w.Text(p))
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
func idsStartAnew(w *look.Window, b look.Block, id, depth int) bool {
	filled, goesOn, changes := 0, 0, 0
	last, word := math.NaN(), ""
	for i := b.Body; i < b.Sample; i++ {
		row := w.Row(i)
		d := math.NaN()
		if p := look.At(row, depth); p != nil {
			d = w.Value(p)
		}
		if p := look.At(row, id); p != nil {
			filled++
			if t := headword.Tidy(w.Text(p)); t != word {
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
	return filled*2 > b.Sample-b.Body || goesOn*2 < max(changes, 1)
}

func minOf(list []int, other int) int {
	if len(list) == 0 {
		return other
	}
	return slices.Min(list)
}

// fits reports whether a reading made for another table can be that of these
// columns: all its columns hold numbers.
func fits(c *Columnar, ev map[int]*look.Evidence) bool {
	for _, s := range c.Strands {
		for _, x := range s.Depth.Xs {
			if e := ev[x]; e == nil || e.N+e.Spoiled == 0 {
				return false
			}
		}
	}
	return true
}

// pairDepths puts together the columns that make one depth: feet and inches,
// metres and centimetres.
func (r *settler) pairDepths(depths []int, heads map[int]headword.Heading, ev map[int]*look.Evidence, parts map[int]float64) []DepthSpec {
	var out []DepthSpec
	for i := 0; i < len(depths); i++ {
		x := depths[i]
		h := heads[x]
		s := DepthSpec{Xs: []int{x}, Head: h}
		u := h.Length
		for i+1 < len(depths) && depths[i+1] <= x+2 && u != 0 {
			y := depths[i+1]
			v := heads[y].Length
			if between := ev[x+1]; y > x+1 && between != nil && between.N > 0 {
				break // a volume stands between: another pair
			}
			if v == 0 || v.Size() >= u.Size() || v.Metric() != u.Metric() {
				break
			}
			// The smaller one runs round within the larger.
			ratio := float64(u.Size() / v.Size())
			if e := ev[y]; e.Most >= ratio || ev[s.Xs[len(s.Xs)-1]].Most <= 0 && e.Down == 0 && e.N < 3 {
				break
			}
			if len(s.Units) == 0 {
				s.Units = []unit.LengthUnit{u}
			}
			s.Xs, s.Units = append(s.Xs, y), append(s.Units, v)
			x, u = y, v
			i++
		}
		if len(s.Xs) > 1 {
			s.Head = heads[s.Xs[len(s.Xs)-1]]
			s.Head.Role = h.Role
		}
		if f := parts[x+1]; f > 0 {
			if len(s.Units) == 0 {
				s.Units = []unit.LengthUnit{u}
			}
			s.Xs, s.Units, s.Parts = append(s.Xs, x+1), append(s.Units, u), f
		}
		out = append(out, s)
	}
	return out
}

// partsColumns finds the columns that hold the parts of the depth in the column
// before them: eighths counted 0 to 7, tenths, fractions such as 3/8. It gives the
// size of one part.
func partsColumns(w *look.Window, b look.Block, xs []int, own map[int]string, heads map[int]headword.Heading, ev map[int]*look.Evidence) map[int]float64 {
	parts := make(map[int]float64)
	for _, x := range xs {
		h, e, before := heads[x], ev[x], heads[x-1]
		if ev[x-1] == nil || before.Role != headword.RoleDepth && before.Role != headword.RoleUllage || before.Length == 0 || before.FeetInches || e.N < 2 || !(e.Most > 0) {
			continue
		}
		of, said := headword.PartsIn(own[x])
		if own[x] == "" {
			said = fractions(w, b, x)
		}
		switch {
		case !said || h.Volumes > 0 || h.Role != headword.RoleNone && h.Role != headword.RoleDepth && h.Role != headword.RoleOther:
		case e.Most < 1:
			parts[x] = 1
		case of > 1 && e.Most < of:
			parts[x] = 1 / of
		}
	}
	return parts
}

// fractions reports whether all numbers of a column are less than one and most of
// them written as fractions.
func fractions(w *look.Window, b look.Block, x int) bool {
	written, n := 0, 0
	for i := b.Body; i < b.Sample; i++ {
		p := look.At(w.Row(i), x)
		if p == nil {
			continue
		}
		n++
		if f := w.Value(p); f < 0 || f >= 1 {
			return false
		}
		if p.Class == look.MeasureCell {
			written++
		}
	}
	return written*2 > n
}

// depthByEvidence finds the depth column where no heading names one.
func (r *settler) depthByEvidence(loose, vols []int, ev map[int]*look.Evidence, heads map[int]headword.Heading, place func(int) cell.Ref) (int, *Unclear) {
	type guess struct {
		x     int
		score float64
	}
	var list []guess
	for _, x := range loose {
		e := ev[x]
		if !e.Rises() && !e.Falls() {
			continue
		}
		g := guess{x: x, score: 2 * e.Even}
		if e.Strict() {
			g.score++
		}
		if heads[x].Rest == "" {
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
		return 0, unread(place(min(a, b)), place(max(a, b)), "two columns that could each be the depths", fmt.Sprintf("both rise in steps alike (%.0f %% and %.0f %% of the steps are equal) and no heading tells them apart", 100*ev[a].Even, 100*ev[b].Even))
	}
	if len(list) == 1 {
		return 0, unread(place(list[0].x), cell.Ref{}, "one column of rising numbers", "nothing says whether it holds depths or volumes")
	}
	return list[0].x, nil
}

// strands shares the volumes out among the depths and tells the layouts apart.
func (r *settler) strands(c *Columnar, w *look.Window, b look.Block, specs []DepthSpec, vols []int, heads map[int]headword.Heading, ev map[int]*look.Evidence, place func(int) cell.Ref, above map[int]string) *Unclear {
	spec := func(x int) VolumeSpec {
		v := VolumeSpec{X: x, Head: heads[x], At: place(x)}
		h := v.Head
		switch {
		case h.Compartment && h.Rest != "":
			v.Comp = h.Rest
			// "PS-4 compartment A" names both.
			if ts := headword.IdTokens(h.Rest); len(ts) > 1 && headword.IdWord(ts[0], r.ids) && strings.ContainsAny(ts[0], "0123456789") {
				v.Name = headword.Naming{Names: ts[:1], Text: h.Text}
				v.Comp = strings.Join(ts[1:], " ")
			}
		case h.Rest != "":
			if n, ok := headword.ReadName(h.Rest, r.ids, true); ok {
				n.Text = h.Text
				n.Combined = n.Combined || headword.SaysCombined(h.Text)
				v.Name = n
			}
		}
		return v
	}
	if len(specs) == 1 || len(vols) == 1 || c.Id != 0 && len(specs) > 1 && len(vols) < len(specs) {
		return r.oneDepth(c, w, b, specs, vols, heads, ev, place, spec, above)
	}
	if len(vols)%len(specs) != 0 && len(vols) < len(specs) {
		return unread(specs[0].At, place(vols[len(vols)-1]), fmt.Sprintf("%d columns of depths and %d of volumes", len(specs), len(vols)), "nothing says which volume belongs to which depth")
	}
	if c.Id != 0 {
		return &Unclear{At: specs[0].At, To: place(vols[len(vols)-1]), Found: fmt.Sprintf("a column of tanks with %d columns of depths and %d of volumes", len(specs), len(vols)), Why: "nothing says which volume belongs to which depth"}
	}
	first := specs[0].Xs[0]
	if len(vols) == len(specs) {
		for i, s := range specs {
			c.Strands = append(c.Strands, Strand{Depth: s, Vols: []VolumeSpec{spec(vols[i])}})
		}
	} else {
		// Several volumes to each depth: those up to the next depth.
		if vols[0] < first {
			return unread(place(vols[0]), place(vols[len(vols)-1]), fmt.Sprintf("%d columns of depths and %d of volumes", len(specs), len(vols)), "nothing says which volume belongs to which depth")
		}
		for i, s := range specs {
			end := math.MaxInt
			if i+1 < len(specs) {
				end = specs[i+1].Xs[0]
			}
			st := Strand{Depth: s}
			for _, x := range vols {
				if x > s.Xs[0] && x < end {
					st.Vols = append(st.Vols, spec(x))
				}
			}
			if len(st.Vols) == 0 {
				return unread(s.At, cell.Ref{}, "a column of depths without a volume beside it", "each column of depths needs its volumes before the next one")
			}
			st.Vols = r.oneOfTwo(c, w, b, st.Vols, ev)
			c.Strands = append(c.Strands, st)
		}
	}
	// Names above the pairs.
	names := map[string]bool{}
	above = overPairs(w, b, c.Strands, above)
	for i := range c.Strands {
		s := &c.Strands[i]
		x := min(s.Depth.Xs[0], s.Vols[0].X)
		if n, ok := headword.ReadName(above[x], r.ids, false); ok {
			s.Title = n
		} else if t := above[x]; t != "" && headword.IdWord(t, r.ids) {
			s.Title = headword.Naming{Names: []string{t}, Text: t}
		} else if ts := headword.IdTokens(t); len(ts) > 2 && ts[1] == "(" && ts[len(ts)-1] == ")" && headword.IdWord(ts[0], r.ids) {
			s.Title = headword.Naming{Names: ts[:1], Text: t} // "DE-1 (10,000 gal)"
		} else if n := s.Vols[0].Name; len(n.Names) > 0 {
			s.Title = n
		} else if h := s.Depth.Head; h.Rest != "" && headword.IdWord(h.Rest, r.ids) {
			s.Title = headword.Naming{Names: []string{h.Rest}, Text: h.Text}
		}
		if h := headword.Read(above[x]); h.Compartment && s.Vols[0].Comp == "" && h.Rest != "" {
			if len(s.Title.Names) == 0 || s.Title.Name() == h.Rest {
				s.Vols[0].Comp, s.Title = h.Rest, headword.Naming{}
			}
		}
		names[s.Title.Name()+"/"+s.Vols[0].Comp] = true
	}
	if len(names) < len(c.Strands) {
		// Any words that differ from pair to pair are names: "LM 1", "East".
		own := map[string]bool{}
		for _, s := range c.Strands {
			t := above[min(s.Depth.Xs[0], s.Vols[0].X)]
			if h := headword.Read(t); t != "" && h.Rest != "" && len(t) <= 40 {
				own[t] = true
			}
		}
		if len(own) == len(c.Strands) {
			names = own
			for i := range c.Strands {
				s := &c.Strands[i]
				s.Title, _ = headword.ReadName(above[min(s.Depth.Xs[0], s.Vols[0].X)], r.ids, true)
			}
		}
	}
	if len(names) == len(c.Strands) && len(names) > 1 {
		c.Layout = "paired columns"
		return nil
	}
	if r.twice(c, w, b) {
		return nil
	}
	// One name or none: one chart folded, if the pairs go on from each other.
	f, why := folded(w, b, c.Strands)
	switch f {
	case FoldByColumns:
		c.Layout = "folded by columns"
	case FoldByRows:
		c.Layout = "folded by rows"
	case NoFold:
		return unread(c.Strands[0].Depth.At, place(vols[len(vols)-1]), fmt.Sprintf("%d pairs of depths and volumes", len(c.Strands)), why+", and they have not a name each: they are neither one folded chart nor the charts of tanks that could be told")
	}
	c.Fold = f
	return nil
}

// overPairs gives the words above each pair at its first column. A name may stand
// above either of its columns; where each pair has a word above it, no word
// reaches over to the next pair.
func overPairs(w *look.Window, b look.Block, strands []Strand, above map[int]string) map[int]string {
	start := func(i int) int { return min(strands[i].Depth.Xs[0], strands[i].Vols[0].X) }
	out := make(map[int]string)
	for x, t := range above {
		out[x] = t
	}
	for i := b.Head; i < b.Body && !w.Sort(i).Heading(); i++ {
		own := make([]string, len(strands))
		row := w.Row(i)
		for k := range row {
			for j := len(strands) - 1; j >= 0; j-- {
				if int(row[k].X) >= start(j) {
					own[j] = strings.TrimSpace(own[j] + " " + headword.Tidy(w.Text(&row[k])))
					break
				}
			}
		}
		if !slices.Contains(own, "") {
			for j := range strands {
				out[start(j)] = own[j]
			}
			return out
		}
	}
	return out
}

// twice takes pairs that hold one chart in two units each: the first is the chart,
// and the others are held against it.
func (r *settler) twice(c *Columnar, w *look.Window, b look.Block) bool {
	first := c.Strands[0]
	d, v := first.Depth, first.Vols[0]
	if len(d.Xs) != 1 || len(first.Vols) != 1 || d.Head.Lengths != 1 || v.Head.Volumes != 1 {
		return false
	}
	var also []CrossColumn
	for _, s := range c.Strands[1:] {
		if len(s.Depth.Xs) != 1 || len(s.Vols) != 1 || s.Depth.Head.Lengths != 1 || s.Vols[0].Head.Volumes != 1 || s.Depth.Ullage != d.Ullage ||
			s.Depth.Head.Length == d.Head.Length && s.Vols[0].Head.Volume == v.Head.Volume {
			return false
		}
		x, y := crossDepth(&s.Depth, &d, s.Depth.Xs[0]), crossVolume(&s.Vols[0], &v)
		same, n := 0, 0
		for i := b.Body; i < b.Sample; i++ {
			row := w.Row(i)
			p, q := look.At(row, d.Xs[0]), look.At(row, x.X)
			if p == nil || q == nil {
				continue
			}
			n++
			// Either may be rounded to whole millimetres, or to eighths.
			if f, g := w.Value(p), w.Value(q)*x.Ratio; math.Abs(f-g) <= 0.01*math.Abs(f)+0.51*max(x.Ratio, 0.04) {
				same++
			}
		}
		if n < 3 || same*10 < n*9 {
			return false
		}
		also = append(also, x, y)
	}
	c.Strands, c.Also = c.Strands[:1], also
	c.Layout = "depth and volume"
	if d.Ullage {
		c.Layout = "ullage"
	}
	return true
}

// folded tells by the run of the depths how pairs of columns make one chart.
func folded(w *look.Window, b look.Block, strands []Strand) (fold, string) {
	type span struct{ first, last float64 }
	spans := make([]span, len(strands))
	rowsOK, rowsBad := 0, 0
	last := math.Inf(-1)
	for i := range spans {
		spans[i] = span{math.NaN(), math.NaN()}
	}
	for i := b.Body; i < b.Sample; i++ {
		row := w.Row(i)
		for k, s := range strands {
			v := 0.0
			got := false
			for j, x := range s.Depth.Xs {
				if p := look.At(row, x); p != nil {
					if f := w.Value(p); !math.IsNaN(f) {
						if len(s.Depth.Units) > 0 {
							f *= s.Depth.Size(j)
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
		return FoldByRows, ""
	}
	for k := 1; k < len(spans); k++ {
		a, b := spans[k-1], spans[k]
		up := a.last > a.first
		if up && b.first < a.last || !up && b.first > a.last || math.IsNaN(b.first) {
			return NoFold, "the second does not go on where the first ends"
		}
		// A pair that starts far beyond the end of the one before is another tank's.
		if step := math.Abs(a.last-a.first) / 3; up && b.first-a.last > step+1 && step > 0 {
			return NoFold, "there is a wide gap between them"
		}
	}
	return FoldByColumns, ""
}

// oneDepth is a table with one depth column that counts.
func (r *settler) oneDepth(c *Columnar, w *look.Window, b look.Block, specs []DepthSpec, vols []int, heads map[int]headword.Heading, ev map[int]*look.Evidence, place func(int) cell.Ref, spec func(int) VolumeSpec, above map[int]string) *Unclear {
	pick := 0
	for i, s := range specs {
		// A height counts rather than an ullage, whatever their order is.
		if !s.Ullage {
			pick = i
			break
		}
	}
	d := specs[pick]
	for i, s := range specs {
		if i == pick {
			continue
		}
		for _, x := range s.Xs {
			c.Also = append(c.Also, crossDepth(&s, &d, x))
		}
		if s.Ullage == d.Ullage && s.Head.Text == d.Head.Text && len(s.Xs) == 1 {
			c.Trouble = append(c.Trouble, Trouble{
				Slug: finding.DuplicateHeader, From: d.At, To: s.At, Found: fmt.Sprintf("two columns named %q", s.Head.Text), Expected: "one column of depths",
				Why: "they are not the same numbers, and nothing says which of them belongs to the tank", Suggestion: "name the columns apart, or take one of them away",
			})
			if sameColumns(w, b, d.Xs[0], s.Xs[0]) {
				t := &c.Trouble[len(c.Trouble)-1]
				t.Check, t.Why = true, "both hold the same numbers in the rows looked at"
			}
		}
	}
	st := Strand{Depth: d}
	for _, x := range vols {
		st.Vols = append(st.Vols, spec(x))
	}
	// Beside a column that is plainly "Volume", one with words more is another
	// kind of volume ("Usable volume") unless the words can be a name.
	if slices.ContainsFunc(st.Vols, func(v VolumeSpec) bool { return v.Head.Rest == "" }) || len(st.Vols) == 1 {
		for i := range st.Vols {
			if v := &st.Vols[i]; v.Comp == "" && !r.soundName(v.Head.Rest) {
				v.Name = headword.Naming{}
			}
		}
	}
	named := 0
	for _, v := range st.Vols {
		if len(v.Name.Names) > 0 || v.Comp != "" {
			named++
		}
	}
	if len(st.Vols) > 1 && named == 0 {
		// Above the volumes may stand the names of the tanks.
		for i := range st.Vols {
			v := &st.Vols[i]
			t := above[v.X]
			if n, ok := headword.ReadName(t, r.ids, false); ok {
				v.Name = n
				named++
			} else if h := headword.Read(t); h.Compartment && h.Rest != "" {
				v.Comp = h.Rest
				named++
			} else if t != "" && headword.IdWord(t, r.ids) {
				v.Name = headword.Naming{Names: []string{t}, Text: t}
				named++
			}
		}
		if named == 0 {
			words := map[string]bool{}
			for _, v := range st.Vols {
				if t := above[v.X]; t != "" && len(t) <= 40 && headword.Read(t).Rest != "" {
					words[t] = true
				}
			}
			if len(words) == len(st.Vols) {
				for i := range st.Vols {
					st.Vols[i].Name, _ = headword.ReadName(above[st.Vols[i].X], r.ids, true)
					named++
				}
			}
		}
		if named > 0 {
			seen := map[string]bool{}
			for _, v := range st.Vols {
				seen[v.Name.Name()+"/"+v.Comp] = true
			}
			if len(seen) == 1 {
				for i := range st.Vols {
					st.Vols[i].Name, st.Vols[i].Comp = headword.Naming{}, ""
				}
				named = 0
			}
		}
	}
	if len(st.Vols) == 1 && c.Id == 0 && r.soundName(above[st.Vols[0].X]) && headword.Read(above[d.Xs[0]]).Role == headword.RoleTank {
		// A column of ids beside rows of depths and volumes, turned.
		st.Title = headword.Naming{Names: []string{above[st.Vols[0].X]}, Text: above[st.Vols[0].X]}
	}
	switch {
	case len(st.Vols) == 1:
	case named == 0:
		st.Vols = r.oneOfTwo(c, w, b, st.Vols, ev)
	case named < len(st.Vols):
		// "Volume (gal)" beside "CF-1 (gal)": the bare one names no tank.
		st.Vols = slices.DeleteFunc(st.Vols, func(v VolumeSpec) bool { return len(v.Name.Names) == 0 && v.Comp == "" })
	}
	if len(st.Vols) > 1 {
		// Two columns with one name.
		for i := range st.Vols {
			for k := i + 1; k < len(st.Vols); k++ {
				a, z := st.Vols[i], st.Vols[k]
				if a.Name.Name() == z.Name.Name() && a.Comp == z.Comp {
					if a.Head.Volume != z.Head.Volume {
						c.Also = append(c.Also, crossVolume(&z, &a))
					} else {
						c.Trouble = append(c.Trouble, duplicate(a, z))
					}
					st.Vols = slices.Delete(st.Vols, k, k+1)
					k--
				}
			}
		}
	}
	for x, h := range heads {
		if h.Role == headword.RolePercent && ev[x].N > 0 {
			c.Also = append(c.Also, CrossColumn{X: x, Of: headword.RolePercent, Heading: h.Text, At: place(x)})
		}
	}
	slices.SortFunc(c.Also, func(a, b CrossColumn) int { return a.X - b.X })
	c.Strands = []Strand{st}
	switch {
	case c.Id != 0:
		c.Layout = "long"
	case len(st.Vols) > 1:
		c.Layout = "wide"
	default:
		c.Layout = "depth and volume"
	}
	if d.Ullage {
		c.Layout = strings.TrimPrefix(c.Layout+", ullage", "depth and volume, ")
	}
	return nil
}

func duplicate(a, z VolumeSpec) Trouble {
	found := fmt.Sprintf("two columns named %q", a.Head.Text)
	if a.Head.Text != z.Head.Text {
		found = fmt.Sprintf("two columns of volumes in one unit, %q and %q", a.Head.Text, z.Head.Text)
	}
	return Trouble{
		Slug: finding.DuplicateHeader, From: a.At, To: z.At, Found: found, Expected: "one column of volumes for each tank",
		Why: "they are not the same numbers, and nothing says which of them belongs to the tank; shown are those of the first", Suggestion: "name the columns apart, or take one of them away",
	}
}

// oneOfTwo settles which of several volume columns without a name counts.
func (r *settler) oneOfTwo(c *Columnar, w *look.Window, b look.Block, vols []VolumeSpec, ev map[int]*look.Evidence) []VolumeSpec {
	if len(vols) < 2 {
		return vols
	}
	a := vols[0]
	for _, z := range vols[1:] {
		switch {
		case a.Head.Volume != z.Head.Volume && a.Head.Volume != 0 && z.Head.Volume != 0:
			// The same in another unit; the finer figures count.
			if ratio := float64(z.Head.Volume.Size() / a.Head.Volume.Size()); ratio < 1 && ev[z.X].Flat < ev[a.X].Flat {
				a, z = z, a
			}
			c.Also = append(c.Also, crossVolume(&z, &a))
		case ev[z.X].Falls() && !ev[a.X].Falls():
			c.Also = append(c.Also, CrossColumn{X: z.X, Of: headword.RoleOther, Heading: z.Head.Text, At: z.At})
		default:
			t := duplicate(a, z)
			if sameColumns(w, b, a.X, z.X) {
				t.Check, t.Why = true, "both hold the same numbers in the rows looked at"
			}
			c.Trouble = append(c.Trouble, t)
		}
	}
	return []VolumeSpec{a}
}

func sameColumns(w *look.Window, b look.Block, x, y int) bool {
	for i := b.Body; i < b.Sample; i++ {
		p, q := look.At(w.Row(i), x), look.At(w.Row(i), y)
		if (p == nil) != (q == nil) {
			return false
		}
		if p != nil && w.Value(p) != w.Value(q) {
			return false
		}
	}
	return true
}

// describe lists the columns for inspect.
func (r *settler) describe(c *Columnar, xs []int, heads map[int]headword.Heading, own map[int]string, ev map[int]*look.Evidence) {
	means := make(map[int]string)
	for _, s := range c.Strands {
		for _, x := range s.Depth.Xs {
			means[x] = "depth"
			if s.Depth.Ullage {
				means[x] = "ullage"
			}
		}
		for _, v := range s.Vols {
			means[v.X] = "volume"
		}
	}
	means[c.Id], means[c.Site], means[c.Comp] = "tank", "site", "compartment"
	for _, x := range xs {
		m := means[x]
		if m == "" && heads[x].Role != headword.RoleDepth && heads[x].Role != headword.RoleVolume {
			m = heads[x].Role.String()
		}
		col := survey.Column{Col: x, Heading: own[x], Means: m}
		switch {
		case m == "depth" || m == "ullage":
			col.Unit = heads[x].Length.String()
		case m == "volume":
			col.Unit = heads[x].Volume.String()
		}
		c.Columns = append(c.Columns, col)
	}
}
