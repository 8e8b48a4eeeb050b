package returned

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"dropcut/convert/jobbook"
	"dropcut/convert/jobbook/field"

	"dropcut/convert/jobbook/formula"
	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/rule"
	"dropcut/plan/unit"
	"dropcut/validate"
	"dropcut/validate/asbuilt"
)

// Outcome is what came back for one tank of the portfolio.
type Outcome struct {
	Index      int // of the tank in the portfolio
	Result     *validate.Result
	File       string
	Inspection bool
	Record     *asbuilt.Record // of what was built or left
	Built      asbuilt.Built
	Found      *asbuilt.Record // of an inspection
	AsFound    asbuilt.Built
	Findings   []finding.Finding
	Status     string
	// Rest holds, as one text, every field that has no column of its own.
	Rest string
}

// Line is one thing that came back, for the sheet that loses nothing.
type Line struct {
	File, Cell, Site, Tank, Field, Value, Placed string
}

// Collection is what came of all returned books.
type Collection struct {
	Outcomes  []Outcome
	Findings  []finding.Finding // beside those of the outcomes
	Lines     []Line
	Untouched []string // tanks whose pages came back without an entry
}

// Input is what returned books are held against.
type Input struct {
	Job     *plan.Job
	Results []validate.Result
	Options plan.Options
	Maker   *jobbook.Maker
	// Units are those that the jobs of this book are made in.
	Units field.Units
}

// Collect judges returned books. Each field of each page becomes a Line; each
// tank whose pages were filled in becomes an Outcome, but for those that came
// back twice with different values.
func Collect(in Input, list []*Book) (*Collection, error) {
	c := &collector{in: in, out: &Collection{}, rules: rule.NewSet(in.Job.Rules), first: map[int]*seen{}}
	for _, r := range list {
		if err := c.book(r); err != nil {
			return nil, err
		}
	}
	for i := range in.Results {
		if s := c.first[i]; s != nil && !s.differ {
			c.out.Outcomes = append(c.out.Outcomes, s.outcome)
		}
	}
	return c.out, nil
}

type seen struct {
	outcome Outcome
	values  map[string]string
	differ  bool
}

type collector struct {
	in    Input
	out   *Collection
	rules *rule.Set
	first map[int]*seen
}

func (c *collector) say(slug finding.Slug, sev finding.Severity, p Page, found, expected, why, do string) {
	c.out.Findings = append(c.out.Findings, finding.Finding{Slug: slug, Severity: sev, Site: p.Site, Tank: p.Tank, At: p.At, Found: found, Expected: expected, Why: why, Suggestion: do})
}

func (c *collector) book(r *Book) error {
	for _, name := range r.Lost {
		c.say(finding.EntryNotPlaced, finding.Check, Page{At: cell.Ref{File: r.File}}, "the cell of the field "+name+" is gone", "a page whose cells are all there", "its row or sheet was deleted", "ask whoever filled in the book")
	}
	for i := range r.Tanks {
		c.tank(r, &r.Tanks[i])
	}
	for _, key := range sorted(r.Cover) {
		if v := r.Cover[key]; !v.Blank() && !v.Formula {
			c.out.Lines = append(c.out.Lines, Line{File: r.File, Cell: v.At.Cell(), Field: key, Value: v.shown(), Placed: "listed here"})
		}
	}
	written, own, err := c.written(r)
	if err != nil {
		return err
	}
	c.beside(r, own)
	for _, v := range r.loose(written) {
		c.out.Lines = append(c.out.Lines, Line{File: r.File, Cell: v.At.Cell(), Field: "beside the fields", Value: v.shown(), Placed: "not placed"})
		c.say(finding.EntryNotPlaced, finding.Note, Page{At: v.At}, v.shown(), "entries in the marked cells", "no field stands there; it is listed on the sheet Returned", "read it, and put it where it belongs")
	}
	return nil
}

// beside lists the comments, pictures and drawings that somebody has put into a
// book. own are the names of the pictures that the book was made with.
func (c *collector) beside(r *Book, own map[string]bool) {
	for _, x := range r.Beside {
		if x.Kind == "picture" && own[x.Name] {
			continue
		}
		what, do := x.Text, "read it, and put it where it belongs"
		if x.Kind == "picture" {
			what = strings.TrimSpace(strings.TrimSpace(x.Name+" ("+x.File+")") + " " + x.Text)
			do = "keep the returned file: the picture is in it"
		} else if what == "" {
			what = strings.TrimSpace("without words " + x.Name)
		}
		what = strings.Join(strings.Fields(what), " ")
		line := Line{File: r.File, Cell: x.At.Cell(), Field: x.Kind, Value: what, Placed: "not placed"}
		p := Page{At: x.At}
		for _, t := range r.Tanks {
			for _, q := range t.Pages {
				if q.At.Sheet == x.At.Sheet {
					line.Site, line.Tank, p.Site, p.Tank = q.Site, q.Tank, q.Site, q.Tank
				}
			}
		}
		c.out.Lines = append(c.out.Lines, line)
		c.say(finding.EntryNotPlaced, finding.Note, p, "a "+x.Kind+": "+what, "entries in the marked cells", "no field stands there; it is listed on the sheet Returned", do)
	}
}

// written gives every text and number of the book as it would be made now, and the
// names of its pictures.
func (c *collector) written(r *Book) (all, pictures map[string]bool, err error) {
	all, pictures = map[string]bool{}, map[string]bool{}
	for _, job := range jobbook.Jobs(c.in.Results, r.Portfolio) {
		if job.Name != r.Job {
			continue
		}
		job.Inspection = r.Kind == "inspection"
		job.Units = c.in.Units
		b, err := c.in.Maker.Book(job)
		if err != nil {
			return nil, nil, err
		}
		for _, s := range b.Sheets {
			for _, name := range s.Pictures() {
				pictures[name] = true
			}
			s.Each(func(_, _ int, v formula.Value, _ bool) {
				switch v.Kind {
				case formula.Number:
					all[entryWord(Entry{IsNumber: true, Num: v.Num})] = true
				case formula.Text:
					all[entryWord(Entry{Text: v.Text})] = true
					if name := c.in.Job.Book; name != "" && name != r.Portfolio && strings.Contains(v.Text, name) {
						// The book has got another name since.
						all[entryWord(Entry{Text: strings.ReplaceAll(v.Text, name, r.Portfolio)})] = true
					}
				}
			})
		}
	}
	return all, pictures, nil
}

func sorted[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// of finds the tank of a page in the portfolio: by site and id; by the id alone
// where only one tank has it.
func (c *collector) of(p Page) int {
	byID := -1
	for i := range c.in.Results {
		t := c.in.Results[i].Tank
		if t.ID.Raw != p.Tank {
			continue
		}
		if t.Site.Raw == p.Site {
			return i
		}
		if p.Site == "" {
			byID = i
		}
	}
	return byID
}

func (c *collector) tank(r *Book, t *Tank) {
	if len(t.Pages) == 0 {
		c.lines(r, t, Page{At: cell.Ref{File: r.File}}, "not placed: no page key")
		return
	}
	p := t.Pages[0]
	for _, q := range t.Pages {
		if q.Tank != p.Tank || q.Site != p.Site {
			c.say(finding.PageOfOtherTank, finding.Check, q, "a page of "+q.Tank+" among those of "+p.Tank, "pages of one tank", "somebody has changed its key", "look at both pages")
		}
		if q.Copy {
			c.say(finding.PageFilledTwice, finding.Check, q, "the sheet "+q.At.Sheet+" is a copy of a page of "+q.Tank, "one page a tank", "no field leads to a copy; what was written on it is listed", "find out which page holds")
		}
		if q.Has < q.Formulas {
			c.say(finding.FormulaTypedOver, finding.Check, q, fmt.Sprintf("%d of %d formulas on the sheet %s", q.Has, q.Formulas, q.At.Sheet), "all of them", "somebody has typed over a formula; what the sheet shows is not calculated any more", "hold what was cut against the plan")
		}
	}
	i := c.of(p)
	if i < 0 {
		c.say(finding.PageOfOtherTank, finding.Check, p, "tank "+p.Tank+" of "+p.Site, "a tank that the book lists", "nothing of it was placed; all of it is listed", "correct the list, or send the page to its own book")
		c.lines(r, t, p, "not placed: the book lists no such tank")
		return
	}
	result := &c.in.Results[i]
	e := &entries{back: r, tank: t, r: result, metric: p.Metric}
	for _, key := range sorted(t.Values) {
		if v := t.Values[key]; strings.HasPrefix(key, "shown_") && !v.Formula && !v.Blank() {
			e.find(finding.FormulaTypedOver, finding.Check, v.At, v.shown()+" typed where the page computes "+strings.ReplaceAll(strings.TrimPrefix(key, "shown_"), "_", " "), "the formula", "it is listed and counted nowhere", "hold what was cut against the plan")
		}
	}
	if !e.typed() && len(e.found) == 0 {
		c.out.Untouched = append(c.out.Untouched, p.Tank+" ("+r.File+")")
		return
	}
	if now := field.PlanHash(result); now != p.Plan {
		e.find(finding.PageOfOlderPlan, finding.Check, p.At, p.Plan, now+" of the book", "chart, measures, device or cut have changed since the page was made", "compare what was built with the new plan")
	}
	o := c.outcome(e, r, i)
	c.put(r, t, p, i, o)
}

// put takes a tank's outcome, or says that it came back before.
func (c *collector) put(r *Book, t *Tank, p Page, i int, o Outcome) {
	values := map[string]string{}
	for key, v := range t.Values {
		if !v.Blank() && !v.Formula && !strings.HasPrefix(key, field.KeyField) {
			values[key] = v.shown()
		}
	}
	before := c.first[i]
	switch {
	case before == nil || before.outcome.Inspection != o.Inspection:
		c.first[i] = &seen{outcome: o, values: values}
		c.lines(r, t, p, "As-built columns")
		return
	case sameValues(before.values, values):
		c.say(finding.PageFilledTwice, finding.Note, p, "the pages of "+p.Tank+" in "+before.outcome.File+" and in "+r.File, "each page once", "both hold the same values", "nothing needs to be done")
	default:
		before.differ = true
		key := differs(before.values, values)
		c.say(finding.PageFilledTwice, finding.Check, p, fmt.Sprintf("%s: %q in %s, %q in %s", key, before.values[key], before.outcome.File, values[key], r.File), "one value", "nothing of this tank was written into its row; both pages are listed", "find out which page holds, and collect that one alone")
	}
	c.lines(r, t, p, "listed here")
}

func sameValues(a, b map[string]string) bool {
	if len(a) != len(b) {
		return false
	}
	for k, v := range a {
		if b[k] != v {
			return false
		}
	}
	return true
}

func differs(a, b map[string]string) string {
	for _, k := range sorted(a) {
		if b[k] != a[k] {
			return k
		}
	}
	for _, k := range sorted(b) {
		if b[k] != a[k] {
			return k
		}
	}
	return ""
}

// lines lists every entry of a tank's pages.
func (c *collector) lines(r *Book, t *Tank, p Page, placed string) {
	for _, key := range sorted(t.Values) {
		v := t.Values[key]
		if v.Blank() || v.Formula || strings.HasPrefix(key, field.KeyField) {
			continue
		}
		c.out.Lines = append(c.out.Lines, Line{File: r.File, Cell: v.At.Cell(), Site: p.Site, Tank: p.Tank, Field: key, Value: v.shown(), Placed: placed})
	}
}

func (c *collector) outcome(e *entries, r *Book, i int) Outcome {
	result := &c.in.Results[i]
	o := Outcome{Index: i, Result: result, File: r.File, Inspection: r.Kind == "inspection"}
	kase := asbuilt.Case{Tank: result.Tank, Chart: result.Chart, Device: result.Device, Rules: c.rules, Options: c.in.Options}
	var found []finding.Finding
	switch {
	case o.Inspection:
		var was *asbuilt.Record
		was, o.Record = e.inspected(c.in.Maker.Texts)
		o.Found = was
		o.AsFound, _ = asbuilt.Judge(kase, was)
		o.Built, found = asbuilt.Judge(kase, o.Record)
	case slices.ContainsFunc(e.tank.Pages, func(p Page) bool { return p.Kind == "stop" }) && !has(e.tank, field.Upper):
		o.Record = &asbuilt.Record{At: e.place()}
	default:
		o.Record = e.record()
		o.Built, found = asbuilt.Judge(kase, o.Record)
		if result.Status == validate.Stop {
			e.find(finding.AsBuiltDiffers, finding.Check, o.Record.At, "a record of a cut", "none: the plan has a stop", "the tank must not be cut from this row", "find out from which plan it was cut")
		}
	}
	o.Findings = append(slices.Clone(e.found), found...)
	finding.Sort(o.Findings)
	switch worst := finding.Worst(o.Findings); {
	case worst == finding.Stop && o.Inspection:
		o.Status = "fail"
	case worst == finding.Stop:
		o.Status = "stop"
	case worst == finding.Check:
		o.Status = "check"
	case o.Inspection:
		o.Status = "pass"
	default:
		o.Status = "done"
	}
	o.Rest = rest(e)
	return o
}

func has(t *Tank, key string) bool {
	v, ok := t.Values[key]
	return ok && !v.Blank()
}

// ownColumns are the fields that have a column of their own.
var ownColumns = [...]string{field.Riser, field.Face, field.Upper, field.Lower, field.Drop, field.Pressure, field.DoneOn, field.Who, field.Licence, field.FoundUpper, field.FoundRiser, field.FoundFace, field.LeftUpper}

// rest joins the fields without a column: "arm_free: yes; remarks: ...".
func rest(e *entries) string {
	var b bytes.Buffer
	steps := 0
	for _, key := range sorted(e.tank.Values) {
		v := e.tank.Values[key]
		if v.Blank() || v.Formula || strings.HasPrefix(key, field.KeyField) || strings.HasPrefix(key, field.Torque) || strings.HasPrefix(key, "shown_") || slices.Contains(ownColumns[:], key) {
			continue
		}
		if strings.HasPrefix(key, "step_") {
			steps++
			continue
		}
		if f, ok := field.MeasureOf(key); ok {
			// What stood on the page before is no news.
			if now, old := e.lengthOnly(&f), field.Given(e.r, key); now.Given() && old.Given() && field.Abs(now.V-old.V) < 1e-6 {
				continue
			}
		}
		if b.Len() > 0 {
			b.WriteString("; ")
		}
		b.WriteString(strings.ReplaceAll(key, "_", " ") + ": " + v.shown())
	}
	if steps > 0 {
		fmt.Fprintf(&b, "; steps ticked: %d", steps)
	}
	return strings.TrimPrefix(b.String(), "; ")
}

// torqueText lists torques from the tank up: "22; 17; 10".
func torqueText(list []cell.Of[unit.Torque]) string {
	var parts []string
	for _, t := range list {
		if t.Given() {
			parts = append(parts, field.Number(float64(t.V)))
		} else {
			parts = append(parts, "-")
		}
	}
	if strings.Trim(strings.Join(parts, ""), "-") == "" {
		return ""
	}
	return strings.Join(parts, "; ")
}
