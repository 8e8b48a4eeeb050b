// Package join brings tanks and charts together and settles what needs both: the
// units of charts that name none, the height that ullages are measured from.
package join

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"dropcut/convert/intake/headword"
	"dropcut/convert/intake/idform"
	"dropcut/convert/intake/sheetkind"
	"dropcut/convert/intake/survey"
	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// joiner finds the chart of each tank.
type joiner struct {
	job     *plan.Job
	out     *survey.Findings
	exact   map[string][]int // charts by their name as written
	loose   map[string][]int
	bare    map[string][]int
	single  map[string]int // the only chart of a sheet or file, by its name; -1 where there are several
	parts   map[string][]int
	claimed []bool
	named   []bool // spoken of in a finding
	joins   []survey.Join
	left    *leftovers
}

// Tanks fills Job.ChartOf. Names are compared as they are written; then without
// regard to blanks, capitals and dashes, which is reported; nothing else joins a
// tank and a chart.
func Tanks(job *plan.Job, out *survey.Findings) []survey.Join {
	j := &joiner{
		job: job, out: out, exact: map[string][]int{}, loose: map[string][]int{}, bare: map[string][]int{}, single: map[string]int{}, parts: map[string][]int{},
		claimed: make([]bool, len(job.Charts)), named: make([]bool, len(job.Charts)),
	}
	for i, c := range job.Charts {
		if c.Name != "" {
			name := ChartRaw(c)
			j.exact[name] = append(j.exact[name], i)
			j.loose[idform.Fold(c.Name)] = append(j.loose[idform.Fold(c.Name)], i)
			j.bare[idform.Bare(c.Name)] = append(j.bare[idform.Bare(c.Name)], i)
			for part := range strings.SplitSeq(idform.Fold(c.Name), "+") {
				if strings.Contains(c.Name, "+") {
					j.parts[part] = append(j.parts[part], i)
				}
			}
			if whole, _, ok := strings.Cut(idform.Fold(c.Name), "/"); ok {
				j.parts[whole+"/"] = append(j.parts[whole+"/"], i)
			}
		}
		for _, place := range [...]string{c.At.Sheet, strings.TrimSuffix(strings.ToLower(sheetkind.BaseName(c.At.File)), ".csv")} {
			if place == "" {
				continue
			}
			key := idform.Fold(place)
			if _, ok := j.single[key]; ok {
				j.single[key] = -1
			} else {
				j.single[key] = i
			}
		}
	}
	job.ChartOf = make([]int, len(job.Tanks))
	for i := range job.Tanks {
		k, how := j.find(i)
		job.ChartOf[i] = k
		j.joins = append(j.joins, survey.Join{Tank: i, Chart: k, How: how})
		if k >= 0 {
			j.claimed[k] = true
		}
	}
	j.sharedByName()
	// Second round: what could not be joined, with what is left over.
	for i := range job.Tanks {
		if job.ChartOf[i] < 0 && j.joins[i].How == "" {
			j.joins[i].How = j.missing(i)
		}
	}
	for i, c := range job.Charts {
		if !j.claimed[i] && !j.named[i] {
			j.out.Add(finding.Finding{
				Slug: finding.ChartWithoutTank, Severity: finding.Note, Chart: c.Name, At: NameAt(c), Found: "chart " + OrUnnamed(c.Name),
				Expected: "a tank of that name in the list", Why: "no row of a tank list has the name, and none names the chart in its Chart column", Suggestion: "add the tank, or leave the chart as it is",
			})
		}
	}
	return j.joins
}

// ChartRaw gives the chart's name as its file writes it. A title or a heading
// says more than the name ("MR-3 (gal)"); the name is then what was found in it.
func ChartRaw(c *chart.Chart) string {
	if c.NamedBy.Raw != "" && idform.Fold(c.NamedBy.Raw) == idform.Fold(c.Name) {
		return c.NamedBy.Raw
	}
	return c.Name
}

// NameAt gives the place where the chart's name stands, else its first cell.
func NameAt(c *chart.Chart) cell.Ref {
	if !c.NamedBy.At.IsZero() {
		return c.NamedBy.At
	}
	return c.At
}

func OrUnnamed(s string) string {
	if s == "" {
		return "without a name"
	}
	return s
}

// wanted gives the name that a tank's chart must have and where it stands.
func wanted(t *plan.Tank) (name, raw string, at cell.Ref) {
	if t.ChartName.Given() {
		return t.ChartName.V, t.ChartName.Raw, t.ChartName.At
	}
	raw = t.ID.Raw
	if headword.Tidy(raw) != t.ID.V { // a compartment from its own column
		raw = t.ID.V
	}
	return t.ID.V, raw, t.ID.At
}

// find gives the chart of a tank; how is "" where another look is needed.
func (j *joiner) find(i int) (k int, how string) {
	t := &j.job.Tanks[i]
	name, raw, at := wanted(t)
	for _, try := range [...]struct {
		index map[string][]int
		key   string
		how   string
	}{
		{j.exact, raw, "same name"},
		{j.loose, idform.Fold(name), "the same name but for blanks, capitals or dashes"},
		{j.bare, idform.Bare(name), "the same name but for the word tank"},
	} {
		found := try.index[try.key]
		if len(found) == 0 {
			continue
		}
		if found = j.ofSite(t, found); len(found) == 0 {
			continue
		}
		if len(found) > 1 {
			return j.several(t, found)
		}
		k := found[0]
		if try.how != "same name" {
			j.looseNote(t, raw, at, k, try.how)
		}
		if t.ChartName.Given() && try.how == "same name" {
			return k, "named in the Chart column"
		}
		return k, try.how
	}
	if k, ok := j.single[idform.Fold(name)]; ok && k >= 0 && (t.ChartName.Given() || j.job.Charts[k].Name == "") {
		return k, "named by its sheet or file"
	}
	if found := j.parts[idform.Fold(name)]; len(found) == 1 {
		k := found[0]
		c := j.job.Charts[k]
		j.out.Add(finding.Finding{
			Slug: finding.CombinedVolume, Severity: finding.Check, Site: t.Site.V, Tank: t.ID.V, Chart: c.Name, At: NameAt(c), Related: []cell.Ref{at},
			Found: "the chart of " + strings.ReplaceAll(c.Name, "+", " and ") + " together", Expected: "a chart of this tank alone",
			Why:        "the volumes are those of all the tanks; a depth at a percentage holds for this one only if all are alike and lie level with each other",
			Suggestion: "make sure of that on site, or get the chart of each tank",
		})
		return k, "part of the manifolded set " + c.Name
	}
	return -1, ""
}

// ofSite leaves out the charts of other sites than the tank's, where both name
// one: the tank 1 of one site is not the tank 1 of the next. "Millrace" and
// "Millrace Fuel Stop" pass for one site, unless another chart names it in full.
func (j *joiner) ofSite(t *plan.Tank, found []int) []int {
	site := idform.Fold(t.Site.V)
	var full, part []int
	for _, k := range found {
		own := idform.Fold(j.job.Charts[k].Site)
		switch {
		case own == site:
			full = append(full, k)
		case own == "" || site == "" || strings.Contains(site, own) || strings.Contains(own, site):
			part = append(part, k)
		}
	}
	if len(full) > 0 {
		return full
	}
	return part
}

// several settles which of two charts of one name serves: neither, unless both
// hold the same numbers.
func (j *joiner) several(t *plan.Tank, found []int) (int, string) {
	first := j.job.Charts[found[0]]
	same := true
	for _, k := range found {
		j.named[k] = true
		same = same && sameChart(first, j.job.Charts[k])
	}
	f := finding.Finding{
		Slug: finding.ChartNamedTwice, Severity: finding.Stop, Site: t.Site.V, Tank: t.ID.V, Chart: first.Name, At: NameAt(j.job.Charts[found[1]]), Related: []cell.Ref{NameAt(first)},
		Found: fmt.Sprintf("%d charts named %s, with different numbers", len(found), first.Name), Expected: "one chart", Why: "nobody can say which of them is this tank's",
		Suggestion: "delete the one that does not hold, or give it a name of its own and write the right one into the Chart column",
	}
	if same {
		f.Severity, f.Found, f.Why = finding.Note, fmt.Sprintf("%d charts named %s, with the same numbers", len(found), first.Name), "the first of them was taken"
		j.out.Add(f)
		return found[0], "same name; the chart stands there more than once"
	}
	j.out.Add(f)
	return -1, "two charts have the name"
}

// NamedTwice reports charts k and i of one name where no list of tanks says whose
// they are.
func NamedTwice(job *plan.Job, k, i int, out *survey.Findings) {
	a, b := job.Charts[k], job.Charts[i]
	f := finding.Finding{
		Slug: finding.ChartNamedTwice, Severity: finding.Stop, Site: b.Site, Tank: b.Name, Chart: b.Name, At: NameAt(b), Related: []cell.Ref{NameAt(a)},
		Found: "a second chart named " + b.Name + ", with different numbers", Expected: "one chart", Why: "nobody can say which of them is this tank's",
		Suggestion: "delete the one that does not hold, or give it a name of its own",
	}
	if sameChart(a, b) {
		f.Severity, f.Found, f.Why = finding.Note, "a second chart named "+b.Name+", with the same numbers", "each stands there for itself"
	}
	out.Add(f)
}

func sameChart(a, b *chart.Chart) bool {
	return a.DepthUnit == b.DepthUnit && a.VolumeUnit == b.VolumeUnit && slices.EqualFunc(a.Rows, b.Rows, func(x, y chart.Row) bool {
		return x.Depth == y.Depth && x.Volume == y.Volume
	})
}

func (j *joiner) looseNote(t *plan.Tank, raw string, at cell.Ref, k int, how string) {
	c := j.job.Charts[k]
	// The note stands at the odder of the two names, and at the list's where
	// both are odd.
	wrong, other := at, NameAt(c)
	if idform.Oddities(ChartRaw(c)) > idform.Oddities(raw) {
		wrong, other = other, wrong
	}
	j.out.Add(finding.Finding{
		Slug: finding.IDLooseMatch, Severity: finding.Note, Site: t.Site.V, Tank: t.ID.V, Chart: c.Name, At: wrong, Related: []cell.Ref{other},
		Found: fmt.Sprintf("%s in the list and %s at the chart", survey.Quote(raw), survey.Quote(ChartRaw(c))), Expected: "the same name in both places",
		Why: "they are " + how + "; they were joined", Suggestion: "write both names alike",
	})
}

// sharedByName stops tanks of the same name, which would share a chart that can
// be of one of them only. Tanks that name a chart in their Chart column may
// share it.
func (j *joiner) sharedByName() {
	groups := map[string][]int{}
	for i := range j.job.Tanks {
		groups[idform.Fold(j.job.Tanks[i].ID.V)] = append(groups[idform.Fold(j.job.Tanks[i].ID.V)], i)
	}
	for i := range j.job.Tanks {
		t := &j.job.Tanks[i]
		group := groups[idform.Fold(t.ID.V)]
		if len(group) < 2 {
			continue
		}
		var others []cell.Ref
		stop, sameSite := false, false
		for _, k := range group {
			o := &j.job.Tanks[k]
			if k == i {
				continue
			}
			here := idform.Fold(o.Site.V) == idform.Fold(t.Site.V)
			// At another site the name may come again, as long as each tank
			// has or names a chart of its own.
			apart := t.ChartName.Given() && o.ChartName.Given() || j.job.ChartOf[i] >= 0 && j.job.ChartOf[k] >= 0 && j.job.ChartOf[i] != j.job.ChartOf[k]
			if here || !apart {
				stop = true
				sameSite = sameSite || here
				others = append(others, o.ID.At)
			}
		}
		if !stop {
			continue
		}
		why := "two rows say different things of one tank, or one tank has the wrong name; nobody can say which"
		if !sameSite {
			why = "tanks of two sites have the same name, and nothing says whose the chart of that name is"
		}
		j.out.Add(finding.Finding{
			Slug: finding.DuplicateTank, Severity: finding.Stop, Site: t.Site.V, Tank: t.ID.V, At: t.ID.At, Related: others,
			Found: "tank " + t.ID.V + " " + strconv.Itoa(len(others)+1) + " times", Expected: "one row a tank, each with a name of its own", Why: why,
			Suggestion: "delete the row that does not hold, rename a tank, or name each one's chart in a Chart column",
		})
	}
}

// missing says why a tank has no chart, with the chart that may be meant.
func (j *joiner) missing(i int) string {
	t := &j.job.Tanks[i]
	name, raw, at := wanted(t)
	f := finding.Finding{
		Slug: finding.ChartMissing, Severity: finding.Stop, Site: t.Site.V, Tank: t.ID.V, At: at, Found: "no chart named " + survey.Quote(name),
		Expected: "the tank's chart", Why: "nothing can be computed without it", Suggestion: "add the tank's chart, or write the chart's name into the Chart column",
	}
	// Compartments of this tank.
	if comps := j.parts[idform.Fold(name)+"/"]; len(comps) > 0 {
		var names []string
		for _, k := range comps {
			names = append(names, j.job.Charts[k].Name)
			j.named[k] = true
			f.Related = append(f.Related, NameAt(j.job.Charts[k]))
		}
		f.Why = "there are charts of its compartments, " + strings.Join(names, " and ") + ", which have a fill each"
		f.Suggestion = "give each compartment a row of its own: " + strings.Join(names, ", ")
		j.out.Add(f)
		return "only its compartments have charts"
	}
	for _, k := range j.candidates(name, raw) {
		c := j.job.Charts[k]
		cr := ChartRaw(c)
		why, spoiled := idform.Machine(raw, cr)
		if why == "" && idform.Close(name) == idform.Close(c.Name) {
			why = "the names look alike"
			if zerosLost(name, c.Name) {
				why = "the zeros before a number are lost"
				spoiled = shorter(raw, cr)
			}
		}
		if why == "" {
			continue
		}
		j.named[k] = true
		f.Slug = finding.IDMismatch
		f.Chart = c.Name
		f.At, f.Related = at, []cell.Ref{NameAt(c)}
		if spoiled == headword.Tidy(cr) && headword.Tidy(cr) != headword.Tidy(raw) {
			f.At, f.Related = NameAt(c), []cell.Ref{at}
		}
		f.Found = fmt.Sprintf("tank %s in the list and chart %s", survey.Quote(raw), survey.Quote(cr))
		f.Expected = "the same name in both places"
		f.Why = why + "; they may be the same tank, and they were not joined"
		f.Suggestion = fmt.Sprintf("if the chart is this tank's, write %s in both places, into cells formatted as text", survey.Quote(betterOf(raw, cr, spoiled)))
		j.out.Add(f)
		return "a chart may be meant whose name differs"
	}
	j.out.Add(f)
	return "no chart has the name"
}

// leftovers are the charts that no tank has claimed, by what may tell whose
// they are.
type leftovers struct {
	near    map[string][]int  // by closeID
	number  map[float64][]int // by the number that the name is
	machine []int             // names in powers of ten, long numbers, and such as may be dates
	all     []int
}

func (j *joiner) collectLeftovers() *leftovers {
	l := &leftovers{near: map[string][]int{}, number: map[float64][]int{}}
	for k, c := range j.job.Charts {
		if j.claimed[k] || c.Name == "" {
			continue
		}
		l.all = append(l.all, k)
		if key := idform.Close(c.Name); key != "" {
			l.near[key] = append(l.near[key], k)
		}
		raw := headword.Tidy(ChartRaw(c))
		if x, ok := idform.IdNumber(raw); ok {
			l.number[x] = append(l.number[x], k)
			if idform.Powers(raw) || len(raw) > 11 || x >= 30000 && x < 80000 {
				l.machine = append(l.machine, k)
			}
		} else if idform.DayMonth.MatchString(raw) {
			l.machine = append(l.machine, k)
		}
	}
	return l
}

// candidates gives the charts left over that a tank's name may mean, in file
// order. It looks them up, so that two long lists that do not match cost no
// more than their length.
func (j *joiner) candidates(name, raw string) []int {
	if j.left == nil {
		j.left = j.collectLeftovers()
	}
	l := j.left
	var found []int
	if key := idform.Close(name); key != "" {
		found = append(found, l.near[key]...)
	}
	raw = headword.Tidy(raw)
	found = append(found, l.machine...)
	if x, ok := idform.IdNumber(raw); ok {
		found = append(found, l.number[x]...)
		if idform.Powers(raw) || len(raw) > 11 {
			found = append(found, l.all...)
		}
	}
	slices.Sort(found)
	return slices.Compact(found)
}

func zerosLost(a, b string) bool {
	return len(idform.Fold(a)) != len(idform.Fold(b)) && strings.ReplaceAll(idform.Fold(a), "0", "") == strings.ReplaceAll(idform.Fold(b), "0", "")
}

func shorter(a, b string) string {
	if len(headword.Tidy(a)) < len(headword.Tidy(b)) {
		return headword.Tidy(a)
	}
	return headword.Tidy(b)
}

// betterOf gives the name that was not spoiled.
func betterOf(a, b, spoiled string) string {
	if headword.Tidy(a) == spoiled {
		return headword.Tidy(b)
	}
	return headword.Tidy(a)
}

// units settles the units of each chart: its own go first and must not be
// contradicted by the list; then the list's; then those of --chart-units, which
// is reported; else they stay unknown, which stops the tank.
func SettleUnits(job *plan.Job, depth unit.LengthUnit, volume unit.VolumeUnit, out *survey.Findings) {
	first := map[int]int{} // chart -> the tank that gave its units
	for i := range job.Tanks {
		k := job.ChartOf[i]
		if k < 0 {
			continue
		}
		t, c := &job.Tanks[i], job.Charts[k]
		if t.ChartDepthUnit.Given() {
			if c.DepthUnit == 0 {
				c.DepthUnit, c.DepthUnitFrom = t.ChartDepthUnit.V, t.ChartDepthUnit.At
				first[k] = i
			} else if c.DepthUnit != t.ChartDepthUnit.V {
				conflict(t, c, "depths", c.DepthUnit.String(), t.ChartDepthUnit.V.String(), c.DepthUnitFrom, t.ChartDepthUnit.At, out)
			}
		}
		if t.ChartVolumeUnit.Given() {
			if c.VolumeUnit == 0 {
				c.VolumeUnit, c.VolumeUnitFrom = t.ChartVolumeUnit.V, t.ChartVolumeUnit.At
			} else if c.VolumeUnit != t.ChartVolumeUnit.V {
				conflict(t, c, "volumes", c.VolumeUnit.String(), t.ChartVolumeUnit.V.String(), c.VolumeUnitFrom, t.ChartVolumeUnit.At, out)
			}
		}
	}
	for _, c := range job.Charts {
		var taken []string
		if c.DepthUnit == 0 && depth != 0 {
			c.DepthUnit, c.DepthUnitFrom = depth, cell.Ref{File: chartUnitsOption}
			taken = append(taken, "depths in "+c.DepthUnit.String())
		}
		if c.VolumeUnit == 0 && volume != 0 {
			c.VolumeUnit, c.VolumeUnitFrom = volume, cell.Ref{File: chartUnitsOption}
			taken = append(taken, "volumes in "+c.VolumeUnit.String())
		}
		if len(taken) > 0 {
			out.Add(finding.Finding{
				Slug: finding.UnitsAssumed, Severity: finding.Note, Tank: c.Name, Chart: c.Name, At: c.At, Found: "a chart without units",
				Expected: "units in the heading", Why: "taken from " + chartUnitsOption + ": " + strings.Join(taken, ", "), Suggestion: "write the units into the heading",
			})
		}
	}
}

// chartUnitsOption is the option as it stands in places and texts.
const chartUnitsOption = "--chart-units"

func conflict(t *plan.Tank, c *chart.Chart, what, own, list string, ownAt, listAt cell.Ref, out *survey.Findings) {
	if ownAt.Sheet == "" && ownAt.Row == 0 && ownAt.Col == 0 {
		ownAt = c.At
	}
	out.Add(finding.Finding{
		Slug: finding.UnitsConflict, Severity: finding.Stop, Site: t.Site.V, Tank: t.ID.V, Chart: c.Name, At: ownAt, Related: []cell.Ref{listAt},
		Found: fmt.Sprintf("%s in %s at the chart, in %s in the tank list (%s)", what, own, list, listAt.Cell()), Expected: "the same unit in both places",
		Why: "two places name different units for the same numbers", Suggestion: "find out which of the two is right and correct the other",
	})
}

// UnknownUnits reports the charts whose units nobody named.
func UnknownUnits(job *plan.Job, out *survey.Findings) {
	type key struct{ file, sheet, name string }
	told := map[key]bool{}
	for i := range out.List {
		f := &out.List[i]
		if (f.Slug == finding.UnitsUnknown || f.Slug == finding.UnitsConflict || f.Slug == finding.FeetInchesWithPoint) && f.Severity == finding.Stop {
			told[key{f.At.File, f.At.Sheet, f.Chart}] = true
			told[key{f.At.File, f.At.Sheet, f.Tank}] = true
		}
	}
	for i, k := range job.ChartOf {
		if k < 0 || job.Charts[k].UnitsKnown() {
			continue
		}
		c, t := job.Charts[k], &job.Tanks[i]
		if told[key{c.At.File, c.At.Sheet, c.Name}] || told[key{c.At.File, c.At.Sheet, t.ID.V}] {
			continue
		}
		var what []string
		if c.DepthUnit == 0 {
			what = append(what, "depths")
		}
		if c.VolumeUnit == 0 {
			what = append(what, "volumes")
		}
		out.Add(finding.Finding{
			Slug: finding.UnitsUnknown, Severity: finding.Stop, Site: t.Site.V, Tank: t.ID.V, Chart: c.Name, At: c.At, To: c.To, Found: strings.Join(what, " and ") + " without a unit",
			Expected: "units in the heading, the title or the tank list", Why: "nothing in the file names them", Suggestion: "write them into the heading, or give them with " + chartUnitsOption,
		})
	}
}

// within is how near a chart's end must come to a figure of the list, in
// another unit, before the unit is doubted: 5 %, a guess without a source.
const within = 0.05

// DoubtUnits holds the ends of each chart against the diameter and the capacity
// of its tank. An end that misses them as given and meets them in another unit
// names the likely slip. Imperial gallons are too near US gallons to be told
// here; the audit of the chart's shape does that.
func DoubtUnits(job *plan.Job, out *survey.Findings) {
	for i, k := range job.ChartOf {
		if k < 0 || !job.Charts[k].UnitsKnown() {
			continue
		}
		t, c := &job.Tanks[i], job.Charts[k]
		if strings.Contains(c.Name, "+") && c.Name != t.ID.V || len(c.Odd) > 0 {
			continue
		}
		depth, volume, row, ok := Ends(c)
		if !ok || !evenShape(c, depth, volume) {
			continue
		}
		if t.Diameter.Given() && !plan.Standing(t.Shape.V) {
			top := float64(c.DepthUnit.Length(depth))
			if u := likely(top, float64(t.Diameter.V), lengthsAsRead(c.DepthUnit, depth)); u != "" {
				out.Add(finding.Finding{
					Slug: finding.UnitsDoubtful, Severity: finding.Stop, Site: t.Site.V, Tank: t.ID.V, Chart: c.Name, At: c.DepthAt(row), Related: []cell.Ref{t.Diameter.At, c.DepthUnitFrom},
					Found:    fmt.Sprintf("the chart ends at %g %s, and the tank is %s in diameter", depth, c.DepthUnit, t.Diameter.Raw),
					Expected: "a chart that ends near the tank's inside diameter", Why: "it would, were its depths in " + u, Suggestion: "look at the original chart and correct the unit of the depths",
				})
			}
		}
		capacity := t.Certified
		if !capacity.Given() {
			capacity = t.Nominal
		}
		if capacity.Given() {
			full := float64(c.VolumeUnit.Volume(volume))
			if u := likely(full, float64(capacity.V), volumesAsRead(c.VolumeUnit, volume)); u != "" {
				out.Add(finding.Finding{
					Slug: finding.UnitsDoubtful, Severity: finding.Check, Site: t.Site.V, Tank: t.ID.V, Chart: c.Name, At: c.VolumeAt(row), Related: []cell.Ref{capacity.At, c.VolumeUnitFrom},
					Found:    fmt.Sprintf("the chart ends at %g %s, and the list gives a capacity of %s", volume, c.VolumeUnit, capacity.Raw),
					Expected: "a chart that ends near the tank's capacity", Why: "it would, were its volumes in " + u, Suggestion: "look at the original chart and correct the unit of the volumes",
				})
			}
		}
	}
}

// Ends gives the largest depth and volume of a chart and the row of the volume.
func Ends(c *chart.Chart) (depth, volume float64, row int, ok bool) {
	for i := range c.Rows {
		r := &c.Rows[i]
		if math.IsNaN(r.Depth) || math.IsNaN(r.Volume) {
			return 0, 0, 0, false
		}
		depth = max(depth, r.Depth)
		if r.Volume > volume {
			volume, row = r.Volume, i
		}
	}
	return depth, volume, row, depth > 0 && volume > 0 && len(c.Rows) >= 3
}

// evenShape reports whether the chart rises as a whole tank does, so that a unit
// that changes midway, or any other break, is left to the audit: between one
// twentieth of the height and the next the section grows by no more than in any
// shape of tank (a sphere's grows the most, by 2.9 times and then 1.6 times,
// which leaves a margin), and half the height holds about half the volume.
func evenShape(c *chart.Chart, depth, volume float64) bool {
	const parts = 20
	if c.Rows[0].Depth > depth/parts && len(c.Rows) > 2*parts {
		return false
	}
	var edges [parts + 1]float64
	k := 0
	for i := range c.Rows {
		r := &c.Rows[i]
		d0, v0 := 0.0, 0.0
		if i > 0 {
			d0, v0 = c.Rows[i-1].Depth, c.Rows[i-1].Volume
		}
		if r.Depth < d0 || r.Volume < v0 {
			return false
		}
		for k <= parts && float64(k)/parts*depth <= r.Depth {
			at := float64(k) / parts * depth
			edges[k] = r.Volume
			if r.Depth > d0 {
				edges[k] = v0 + (r.Volume-v0)*(at-d0)/(r.Depth-d0)
			}
			k++
		}
	}
	if half := edges[parts/2] / volume; half < 0.35 || half > 0.65 {
		return false
	}
	for k := 1; k < parts; k++ {
		before, after := edges[k]-edges[k-1], edges[k+1]-edges[k]
		most := 1.8
		if k == 1 {
			most = 3.5
		}
		if after > most*before {
			return false
		}
	}
	return true
}

// reading is what a number would be in another unit.
type reading struct {
	name string
	size float64
}

func lengthsAsRead(own unit.LengthUnit, n float64) []reading {
	var list []reading
	for _, u := range [...]unit.LengthUnit{unit.Inches, unit.Feet, unit.Millimetres, unit.Centimetres, unit.Decimetres, unit.Metres} {
		if u != own {
			list = append(list, reading{u.String(), float64(u.Length(n))})
		}
	}
	return list
}

func volumesAsRead(own unit.VolumeUnit, n float64) []reading {
	var list []reading
	for _, u := range [...]unit.VolumeUnit{unit.USGallons, unit.Litres, unit.CubicMetres, unit.Barrels, unit.CubicFeet, unit.Hectolitres, unit.ThousandGallons} {
		if u != own {
			list = append(list, reading{u.String(), float64(u.Volume(n))})
		}
	}
	return list
}

// likely gives the unit in which a figure meets what the list says; "" where it
// meets it as it stands, is not far off, or meets it in no unit.
func likely(as, list float64, others []reading) string {
	if !(list > 0) || math.Abs(math.Log(as/list)) < math.Log(1.5) {
		return ""
	}
	best, off := "", within
	for _, r := range others {
		if d := math.Abs(r.size/list - 1); d <= off {
			best, off = r.name, d
		}
	}
	return best
}
