package change

import (
	"cmp"
	"math"
	"strings"

	"dropcut/plan"
	"dropcut/plan/chart"
	"dropcut/plan/device"
	"dropcut/plan/rule"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// Side is one of the two books: what was read from it, and what came of it. The
// results stand in the order of the job's tanks.
type Side struct {
	Job     *plan.Job
	Results []validate.Result
}

// Compare lists everything in which two books differ, tank by tank in the order
// of the new book, each change of the input followed by what it did to the cut.
func Compare(old, new Side) Set {
	c := comparer{old: old, new: new, touched: map[string]bool{}}
	c.devices()
	c.rules()
	c.tanks()
	c.charts()
	return Set{Records: c.list, Tanks: len(c.touched)}
}

type comparer struct {
	old, new Side
	list     []Record
	touched  map[string]bool
	// told marks the charts that were told with their tank.
	told map[*chart.Chart]bool
}

func (c *comparer) add(r Record) {
	c.list = append(c.list, r)
	if r.Subject == OfTank || r.Subject == OfChart || r.Subject == OfCut {
		c.touched[r.Site+"\x00"+r.Tank] = true
	}
}

// tankKey is what makes two rows of two lists the same tank: its id and its
// site, and the how-manieth of that name it is.
type tankKey struct {
	site, id string
	nth      int
}

func tankKeys(job *plan.Job) []tankKey {
	seen := map[tankKey]int{}
	keys := make([]tankKey, len(job.Tanks))
	for i := range job.Tanks {
		k := tankKey{site: fold(job.Tanks[i].Site.Raw), id: fold(job.Tanks[i].ID.Raw)}
		n := seen[k]
		seen[k] = n + 1
		k.nth = n
		keys[i] = k
	}
	return keys
}

func fold(s string) string { return unit.Fold(strings.TrimSpace(s)) }

func (c *comparer) tanks() {
	c.told = map[*chart.Chart]bool{}
	oldAt := map[tankKey]int{}
	for i, k := range tankKeys(c.old.Job) {
		oldAt[k] = i
	}
	// A tank whose site was renamed is still the tank, where its id is the only
	// one of that name on both sides.
	byID := map[string][]int{}
	for i := range c.old.Job.Tanks {
		id := fold(c.old.Job.Tanks[i].ID.Raw)
		byID[id] = append(byID[id], i)
	}
	newKeys := tankKeys(c.new.Job)
	newCount := map[string]int{}
	for _, k := range newKeys {
		newCount[k.id]++
	}
	matched := make([]bool, len(c.old.Job.Tanks))
	for j, k := range newKeys {
		i, ok := oldAt[k]
		if !ok {
			if same := byID[k.id]; len(same) == 1 && newCount[k.id] == 1 {
				i, ok = same[0], true
			}
		}
		t := &c.new.Job.Tanks[j]
		if !ok {
			c.add(Record{Subject: OfTank, Site: t.Site.Raw, Tank: t.ID.Raw, What: "tank", New: t.ID.Raw, NewAt: t.At})
			continue
		}
		matched[i] = true
		c.tank(i, j)
	}
	for i, ok := range matched {
		if !ok {
			t := &c.old.Job.Tanks[i]
			c.add(Record{Subject: OfTank, Site: t.Site.Raw, Tank: t.ID.Raw, What: "tank", Old: t.ID.Raw, OldAt: t.At})
		}
	}
}

// tank compares one tank with itself: its row, its chart, and what followed.
func (c *comparer) tank(i, j int) {
	a, b := &c.old.Job.Tanks[i], &c.new.Job.Tanks[j]
	for _, f := range tankFields() {
		if f.same(a, b) {
			continue
		}
		r := Record{Subject: OfTank, Site: b.Site.Raw, Tank: b.ID.Raw, What: f.name}
		r.Old, r.OldAt, _ = f.read(a)
		r.New, r.NewAt, _ = f.read(b)
		c.add(r)
	}
	if x, y := chartOf(c.old.Job, i), chartOf(c.new.Job, j); x != nil && y != nil && !c.told[y] {
		c.told[x], c.told[y] = true, true
		chartRows(b.Site.Raw, x, y, c.add)
	}
	if i < len(c.old.Results) && j < len(c.new.Results) {
		c.cut(b, &c.old.Results[i], &c.new.Results[j])
	}
}

func chartOf(job *plan.Job, tank int) *chart.Chart {
	if tank >= len(job.ChartOf) || job.ChartOf[tank] < 0 {
		return nil
	}
	return job.Charts[job.ChartOf[tank]]
}

// charts compares the charts that belong to no tank that both books have.
func (c *comparer) charts() {
	old := map[string]*chart.Chart{}
	for _, x := range c.old.Job.Charts {
		if _, ok := old[fold(x.Name)]; !ok {
			old[fold(x.Name)] = x
		}
	}
	seen := map[string]bool{}
	for _, y := range c.new.Job.Charts {
		name := fold(y.Name)
		if seen[name] {
			continue
		}
		seen[name] = true
		if c.told[y] {
			continue
		}
		if x, ok := old[name]; ok {
			chartRows("", x, y, c.add)
			continue
		}
		c.add(Record{Subject: OfChart, Tank: y.Name, What: "chart", New: rowsText(y), NewAt: y.At})
	}
	for _, x := range c.old.Job.Charts {
		if !c.told[x] && !seen[fold(x.Name)] {
			seen[fold(x.Name)] = true
			c.add(Record{Subject: OfChart, Tank: x.Name, What: "chart", Old: rowsText(x), OldAt: x.At})
		}
	}
}

func rowsText(c *chart.Chart) string { return plural(len(c.Rows), "row", "rows") }

// named compares two lists of things that have a name, field by field.
func named[T any](c *comparer, subject Subject, old, new []T, name func(*T) string, fields []field[T]) {
	at := map[string]*T{}
	for i := range old {
		at[fold(name(&old[i]))] = &old[i]
	}
	seen := map[string]bool{}
	for i := range new {
		b := &new[i]
		key := fold(name(b))
		seen[key] = true
		a := at[key]
		if a == nil {
			c.add(Record{Subject: subject, Tank: name(b), What: string(subject), New: name(b)})
			continue
		}
		for _, f := range fields {
			if f.same(a, b) {
				continue
			}
			r := Record{Subject: subject, Tank: name(b), What: f.name}
			r.Old, r.OldAt, _ = f.read(a)
			r.New, r.NewAt, _ = f.read(b)
			c.add(r)
		}
	}
	for i := range old {
		if key := fold(name(&old[i])); !seen[key] {
			c.add(Record{Subject: subject, Tank: name(&old[i]), What: string(subject), Old: name(&old[i])})
		}
	}
}

func (c *comparer) devices() {
	named(c, OfDevice, c.old.Job.Devices, c.new.Job.Devices, func(d *device.Device) string { return d.Name.Raw }, deviceFields())
}

func (c *comparer) rules() {
	named(c, OfRule, c.old.Job.Rules, c.new.Job.Rules, func(r *rule.Rule) string { return r.ID }, ruleFields())
}

// cutFigure is a figure of a plan that a change is told of.
type cutFigure struct {
	name string
	text func(*validate.Result) string
}

// cutFigures lists what is told of a plan that followed, in reading order.
func cutFigures() []cutFigure {
	l := func(get func(*plan.Cut) plan.Value[unit.Length]) func(*validate.Result) string {
		return func(r *validate.Result) string {
			v := get(&r.Cut)
			if !v.Known {
				return ""
			}
			return number(math.Round(float64(v.V)*1e4)/1e4) + " in"
		}
	}
	return []cutFigure{
		{"full volume", func(r *validate.Result) string {
			if v := r.Cut.FullVolume; v.Known {
				return unit.DecimalText(float64(v.V), 1, unit.Down) + " gal"
			}
			return ""
		}},
		{"limit", func(r *validate.Result) string {
			if v := r.Cut.LimitPercent; v.Known {
				return unit.DecimalText(float64(v.V), 3, unit.Down) + " %"
			}
			return ""
		}},
		{shutoffDepth, l(func(c *plan.Cut) plan.Value[unit.Length] { return c.ShutoffDepth })},
		{"upper tube cut", l(func(c *plan.Cut) plan.Value[unit.Length] { return c.UpperTube })},
		{"drop length", l(func(c *plan.Cut) plan.Value[unit.Length] { return c.DropLength })},
		{"lower tube cut", l(func(c *plan.Cut) plan.Value[unit.Length] { return c.LowerTube })},
		{"alarm depth", l(func(c *plan.Cut) plan.Value[unit.Length] { return c.AlarmDepth })},
		{"status", func(r *validate.Result) string { return string(r.Status) }},
	}
}

const shutoffDepth = "shutoff depth"

func (c *comparer) cut(t *plan.Tank, a, b *validate.Result) {
	for _, f := range cutFigures() {
		x, y := f.text(a), f.text(b)
		if x == y {
			continue
		}
		r := Record{Subject: OfCut, Site: t.Site.Raw, Tank: t.ID.Raw, What: f.name, Old: x, New: y, OldAt: a.Tank.At, NewAt: t.At}
		if f.name == shutoffDepth && a.Cut.ShutoffDepth.Known && b.Cut.ShutoffDepth.Known {
			r.Moved = direction(a, b)
		}
		c.add(r)
	}
}

// direction says which way a shutoff moved. Where the depth stayed, the share of
// the tank decides: a smaller full volume brings the same depth nearer to the
// limit.
func direction(a, b *validate.Result) Direction {
	switch d := cmp.Compare(b.Cut.ShutoffDepth.V, a.Cut.ShutoffDepth.V); {
	case d > 0:
		return Up
	case d < 0:
		return Down
	}
	return Same
}
