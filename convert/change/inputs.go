package change

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/device"
	"dropcut/plan/rule"
)

// Inputs are what a plan was made from, in as few words as a later run needs to
// tell what was changed since, where only the planned book is left: every value
// of a tank, a device and a rule as it was written, and of a chart its sums (see
// sketch), by which one changed figure is found again.
type Inputs []InputList

// InputList are the inputs of one kind: of each thing its values in the order of
// Fields, "" for what was not given.
type InputList struct {
	Of     Subject
	Fields []string
	Rows   []InputRow
}

// InputRow is one tank, chart, device or rule.
type InputRow struct {
	Site, Name string
	Values     []string
}

// InputsOf gives the inputs of a plan; charts are those of ChartInputs. own says
// which rules stand in the book itself; of those that are built in only the ones
// that were used are kept.
func InputsOf(side Side, charts InputList, own func(cell.Ref) bool) Inputs {
	used := map[string]bool{}
	for i := range side.Results {
		if r := side.Results[i].Cut.LimitRule; r != nil {
			used[r.ID] = true
		}
	}
	var rules []rule.Rule
	for _, r := range side.Job.Rules {
		if used[r.ID] || own(r.At) {
			rules = append(rules, r)
		}
	}
	return Inputs{
		inputList(OfTank, side.Job.Tanks, tankName, tankFields()),
		charts,
		inputList(OfDevice, side.Job.Devices, deviceName, deviceFields()),
		inputList(OfRule, rules, ruleName, ruleFields()),
	}
}

func tankName(t *plan.Tank) (site, name string)       { return t.Site.Raw, t.ID.V }
func deviceName(d *device.Device) (site, name string) { return "", d.Name.Raw }
func ruleName(r *rule.Rule) (site, name string)       { return "", r.ID }

func inputList[T any](of Subject, list []T, who func(*T) (site, name string), fields []field[T]) InputList {
	fields = slices.DeleteFunc(fields, func(f field[T]) bool {
		for i := range list { // by its place: a tank is large
			if _, _, given := f.read(&list[i]); given {
				return false
			}
		}
		return true
	})
	l := InputList{Of: of, Rows: make([]InputRow, len(list))}
	for _, f := range fields {
		l.Fields = append(l.Fields, f.name)
	}
	for i := range list {
		row := &l.Rows[i]
		row.Site, row.Name = who(&list[i])
		row.Values = make([]string, len(fields))
		for k, f := range fields {
			row.Values[k] = f.kept(&list[i])
		}
	}
	return l
}

// kept gives a value as it is written, with what it means in braces where that is
// more than the text says by itself: "1016 {40}" for a height in millimetres.
func (f *field[T]) kept(t *T) string {
	raw, _, given := f.read(t)
	if !given {
		return ""
	}
	key := f.key(t)
	if v, err := strconv.ParseFloat(raw, 64); key == raw || err == nil && f.number && numberKey(v) == key {
		return raw
	}
	return raw + " {" + key + "}"
}

// cutKept takes a kept value apart.
func cutKept(s string) (raw, key string) {
	if i := strings.LastIndex(s, " {"); i >= 0 && strings.HasSuffix(s, "}") {
		return s[:i], s[i+2 : len(s)-1]
	}
	return s, s
}

// sameKept reports whether two kept values mean the same. A word that reads the
// same is the same; a number may stand under another unit.
func sameKept(a, b string, number bool) bool {
	if (a == "") != (b == "") {
		return false
	}
	rawA, keyA := cutKept(a)
	rawB, keyB := cutKept(b)
	if !number {
		return rawA == rawB || keyA == keyB
	}
	x, errX := strconv.ParseFloat(keyA, 64)
	y, errY := strconv.ParseFloat(keyB, 64)
	if errX != nil || errY != nil {
		return keyA == keyB
	}
	return sameNumber(x, y)
}

func numberKey(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

func wordKey(v any) string {
	if t, ok := v.(time.Time); ok {
		return t.Format(time.DateOnly)
	}
	return fmt.Sprint(v)
}

// of finds the list of a kind.
func (in Inputs) of(s Subject) *InputList {
	for i := range in {
		if in[i].Of == s {
			return &in[i]
		}
	}
	return nil
}

// Since lists what was changed in the input of a book since an earlier plan of it
// was made, of which only its Inputs are left; ChartsSince does it for the charts.
// now are the inputs of side.
func (in Inputs) Since(now Inputs, side Side) []Record {
	var list []Record
	add := func(r Record) { list = append(list, r) }
	job := side.Job
	since(in, now, OfTank, tankFields(), job.Tanks, func(t *plan.Tank) cell.Ref { return t.At }, add)
	since(in, now, OfDevice, deviceFields(), job.Devices, func(d *device.Device) cell.Ref { return d.At }, add)
	byID := map[string]rule.Rule{}
	for _, r := range job.Rules {
		byID[r.ID] = r
	}
	if l := now.of(OfRule); l != nil {
		// A rule that is built in and is not used now is still there.
		rules := make([]rule.Rule, len(l.Rows))
		for i := range l.Rows {
			rules[i] = byID[l.Rows[i].Name]
		}
		for _, old := range rowsOf(in, OfRule) {
			if r, ok := byID[old.Name]; ok && !slices.ContainsFunc(l.Rows, func(n InputRow) bool { return n.Name == old.Name }) {
				rules = append(rules, r)
			}
		}
		whole := Inputs{inputList(OfRule, rules, ruleName, ruleFields())}
		since(in, whole, OfRule, ruleFields(), rules, func(r *rule.Rule) cell.Ref { return r.At }, add)
	}
	return list
}

func rowsOf(in Inputs, s Subject) []InputRow {
	if l := in.of(s); l != nil {
		return l.Rows
	}
	return nil
}

// since compares the inputs of one kind. things are those that the rows of now
// are about, in their order.
func since[T any](old, now Inputs, of Subject, fields []field[T], things []T, at func(*T) cell.Ref, add func(Record)) {
	a, b := old.of(of), now.of(of)
	if a == nil || b == nil || len(b.Rows) != len(things) {
		return // an earlier version kept none
	}
	value := func(l *InputList, row *InputRow, name string) string {
		if i := slices.Index(l.Fields, name); i >= 0 && i < len(row.Values) {
			return row.Values[i]
		}
		return ""
	}
	partner, gone := matchRows(a.Rows, b.Rows)
	for j := range b.Rows {
		n, t := &b.Rows[j], &things[j]
		if partner[j] < 0 {
			// A rule that is used for the first time is no news of the input.
			if of != OfRule {
				add(Record{Subject: of, Site: n.Site, Tank: n.Name, What: string(of), New: n.Name, NewAt: at(t)})
			}
			continue
		}
		o := &a.Rows[partner[j]]
		for k := range fields {
			f := &fields[k]
			was, is := value(a, o, f.name), value(b, n, f.name)
			if sameKept(was, is, f.number) {
				continue
			}
			r := Record{Subject: of, Site: n.Site, Tank: n.Name, What: f.name, NewAt: at(t)}
			r.Old, _ = cutKept(was)
			r.New, _ = cutKept(is)
			if _, ref, given := f.read(t); given {
				r.NewAt = ref
			}
			if r.Old == r.New {
				// The text stayed and its unit did not: say what it means.
				r.Old, r.New = was, is
			}
			add(r)
		}
	}
	for _, i := range gone {
		add(Record{Subject: of, Site: a.Rows[i].Site, Tank: a.Rows[i].Name, What: string(of), Old: a.Rows[i].Name})
	}
}

// matchRows finds for each new row the old one of the same thing, -1 where there
// is none, and the old ones that are gone. A thing whose site was renamed is still
// the thing, where its name is the only one on both sides.
func matchRows(old, now []InputRow) (partner, gone []int) {
	keys := func(list []InputRow) ([]tankKey, map[string][]int) {
		seen, names := map[tankKey]int{}, map[string][]int{}
		out := make([]tankKey, len(list))
		for i := range list {
			k := tankKey{site: fold(list[i].Site), id: fold(list[i].Name)}
			n := seen[k]
			seen[k] = n + 1
			k.nth = n
			out[i] = k
			names[k.id] = append(names[k.id], i)
		}
		return out, names
	}
	oldKeys, oldNames := keys(old)
	nowKeys, nowNames := keys(now)
	at := make(map[tankKey]int, len(old))
	for i, k := range oldKeys {
		at[k] = i
	}
	partner = make([]int, len(now))
	taken := make([]bool, len(old))
	for j, k := range nowKeys {
		i, ok := at[k]
		if same := oldNames[k.id]; !ok && len(same) == 1 && len(nowNames[k.id]) == 1 {
			i, ok = same[0], true
		}
		partner[j] = -1
		if ok {
			partner[j], taken[i] = i, true
		}
	}
	for i, ok := range taken {
		if !ok {
			gone = append(gone, i)
		}
	}
	return partner, gone
}

// Weave puts records in the order of a list of changes: devices and rules, then
// tank by tank what was changed in its row and its chart and what followed, and
// the charts that belong to no tank.
func Weave(job *plan.Job, list []Record) Set {
	type place struct{ group, tank, rank int }
	tanks := make(map[[2]string]int, len(job.Tanks))
	charts := map[[2]string]int{}
	for i := range job.Tanks {
		t := &job.Tanks[i]
		for _, id := range []string{t.ID.Raw, t.ID.V} {
			if _, ok := tanks[[2]string{t.Site.Raw, id}]; !ok {
				tanks[[2]string{t.Site.Raw, id}] = i
			}
		}
		if c := chartOf(job, i); c != nil {
			if _, ok := charts[[2]string{t.Site.Raw, c.Name}]; !ok {
				charts[[2]string{t.Site.Raw, c.Name}] = i
			}
		}
	}
	of := func(r *Record) place {
		rank := map[Subject]int{OfTank: 0, OfChart: 1, ByHand: 2, OfCut: 3}[r.Subject]
		look := tanks
		switch r.Subject {
		case OfDevice:
			return place{}
		case OfRule:
			return place{group: 1}
		case OfChart:
			look = charts
		}
		if i, ok := look[[2]string{r.Site, r.Tank}]; ok {
			return place{2, i, rank}
		}
		return place{3, 0, rank}
	}
	places := make([]place, len(list))
	order := make([]int, len(list))
	s := Set{Records: make([]Record, len(list))}
	touched := map[int]bool{}
	for i := range list {
		order[i], places[i] = i, of(&list[i])
		if places[i].group == 2 {
			touched[places[i].tank] = true
		}
	}
	slices.SortStableFunc(order, func(a, b int) int {
		x, y := places[a], places[b]
		switch {
		case x.group != y.group:
			return x.group - y.group
		case x.tank != y.tank:
			return x.tank - y.tank
		}
		return x.rank - y.rank
	})
	for i, k := range order {
		s.Records[i] = list[k]
	}
	s.Tanks = len(touched)
	return s
}

// ChartInputs are the sums of all charts of a job, in their order.
func ChartInputs(job *plan.Job) InputList {
	l := InputList{Of: OfChart, Fields: []string{"rows", "depth unit", "volume unit", "sums of depths", "sums of volumes"}}
	sites := chartSites(job)
	for i, c := range job.Charts {
		depths, volumes := sketchOf(c)
		l.Rows = append(l.Rows, InputRow{Site: sites[i], Name: c.Name, Values: []string{
			strconv.Itoa(len(c.Rows)), c.DepthUnit.String(), c.VolumeUnit.String(), depths.String(), volumes.String(),
		}})
	}
	return l
}

// chartSites gives for each chart the site of the first tank that uses it.
func chartSites(job *plan.Job) []string {
	sites := make([]string, len(job.Charts))
	seen := make([]bool, len(job.Charts))
	for i := range job.Tanks {
		if i < len(job.ChartOf) && job.ChartOf[i] >= 0 && !seen[job.ChartOf[i]] {
			seen[job.ChartOf[i]], sites[job.ChartOf[i]] = true, job.Tanks[i].Site.Raw
		}
	}
	return sites
}

// severalRows is told where more rows of a chart were changed than its sums tell.
func severalRows(most int) string {
	return fmt.Sprintf("more than %d of them changed; dropcut diff with the older book names them", max(1, most))
}

// ChartsSince lists what was changed in the charts of a job since an earlier plan
// was made. now are its ChartInputs.
func (in Inputs) ChartsSince(now InputList, job *plan.Job) []Record {
	a, b := in.of(OfChart), &now
	if a == nil || len(b.Rows) != len(job.Charts) {
		return nil
	}
	var list []Record
	add := func(r Record) { list = append(list, r) }
	partner, gone := matchRows(a.Rows, b.Rows)
	for j := range b.Rows {
		n, c := &b.Rows[j], job.Charts[j]
		r := Record{Subject: OfChart, Site: n.Site, Tank: c.Name}
		if partner[j] < 0 {
			r.What, r.New, r.NewAt = "chart", rowsText(c), c.At
			add(r)
			continue
		}
		o := &a.Rows[partner[j]]
		if len(o.Values) != len(n.Values) || slices.Equal(o.Values, n.Values) {
			continue
		}
		oneChart(r, o.Values, n.Values, c, add)
	}
	for _, i := range gone {
		rows, _ := strconv.Atoi(a.Rows[i].Values[0])
		add(Record{Subject: OfChart, Site: a.Rows[i].Site, Tank: a.Rows[i].Name, What: "chart", Old: plural(rows, "row", "rows")})
	}
	return list
}

// oneChart tells what changed in a chart. r is the record without its words.
func oneChart(r Record, was, is []string, c *chart.Chart, add func(Record)) {
	for k, unit := range []struct {
		name string
		at   cell.Ref
	}{1: {"depth unit", c.DepthUnitFrom}, 2: {"volume unit", c.VolumeUnitFrom}} {
		if k > 0 && was[k] != is[k] {
			u := r
			u.What, u.Old, u.New, u.NewAt = unit.name, unitWord(was[k]), unitWord(is[k]), unit.at
			add(u)
		}
	}
	if was[0] != is[0] {
		n, _ := strconv.Atoi(was[0])
		r.What, r.Old, r.New, r.NewAt = "rows", plural(n, "row", "rows"), rowsText(c), c.At
		add(r)
		return
	}
	for k, volumes := range []bool{false, true} {
		if was[3+k] == is[3+k] {
			continue
		}
		a, okA := readSketch(was[3+k])
		b, okB := readSketch(is[3+k])
		list, ok := a.changed(b, len(c.Rows))
		if !okA || !okB || !ok {
			v := r
			v.What, v.Old, v.New, v.NewAt = "rows", rowsText(c), severalRows(min(len(a), len(b))/2), c.At
			add(v)
			return
		}
		for _, one := range list {
			v := r
			if x := &c.Rows[one.row]; volumes {
				v.What, v.Old, v.New, v.NewAt = "volume at "+depthOf(c, x.Depth), number(before(x.Volume, one.diff)), number(x.Volume), c.VolumeAt(one.row)
			} else {
				v.What, v.Old, v.New, v.NewAt = "depth of a row", depthOf(c, before(x.Depth, one.diff)), depthOf(c, x.Depth), c.DepthAt(one.row)
			}
			add(v)
		}
	}
}

func depthOf(c *chart.Chart, d float64) string {
	s := number(d)
	if u := c.DepthUnit.String(); u != "" {
		s += " " + u
	}
	return s
}
