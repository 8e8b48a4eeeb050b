package charts

import (
	"fmt"
	"slices"

	"dropcut/convert/intake/figures"
	"dropcut/convert/intake/survey"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
)

// A chart on several pages may have a heading on each of them, and the name on
// the first alone. What begins where the chart before it ends, and has no other
// name, is the rest of that chart: in the same units it is put behind it; in
// others it is told, since a chart that stops halfway passes for a smaller tank.

// part is a chart with the table that it was read from.
type part struct {
	c     *chart.Chart
	table int
	alone bool // the only chart of its table
}

// goOn joins the parts of charts that go on in a later table of the sheet.
func (r *reader) goOn() {
	if len(r.Out.Tables) < 2 {
		return
	}
	var parts []part
	for i, n := 0, 0; i < len(r.Out.Tables); i++ {
		k := r.Out.Tables[i].Charts
		for range k {
			parts = append(parts, part{r.Out.Charts[n], i, k == 1})
			n++
		}
	}
	whole := make(map[string]part) // the latest of each name
	var last part
	gone := make(map[*chart.Chart]bool)
	for _, p := range parts {
		a, ok := whole[p.c.Name]
		if !ownName(p.c) && p.alone && last.c != nil && last.alone {
			a, ok = last, true
		}
		if ok && a.table != p.table && r.goesOn(a.c, p.c) {
			r.join(a, p)
			gone[p.c] = true
			continue
		}
		if p.c.Name != "" {
			whole[p.c.Name] = p
		}
		last = p
	}
	r.Out.Charts = slices.DeleteFunc(r.Out.Charts, func(c *chart.Chart) bool { return gone[c] })
}

// ownName reports whether the chart is named by a cell, and not by its sheet or
// by nothing.
func ownName(c *chart.Chart) bool { return c.Name != "" && c.NamedBy.At.Row > 0 }

// goesOn reports whether chart b begins where chart a ends: no more than three
// steps behind its last depth, read by their units or as bare numbers.
func (r *reader) goesOn(a, b *chart.Chart) bool {
	if len(a.Rows) < 3 || len(b.Rows) < 2 || a.Ullage || b.Ullage {
		return false
	}
	first, last, before := b.Rows[0].Depth, a.Rows[len(a.Rows)-1].Depth, a.Rows[len(a.Rows)-2].Depth
	start := a.Rows[0].Depth
	reaches := func(first float64) bool {
		step := last - before
		return step > 0 && first > start+step && first >= last-step*0.01 && first <= last+3*step
	}
	if reaches(first) {
		return true
	}
	if a.DepthUnit != 0 && b.DepthUnit != 0 && a.DepthUnit != b.DepthUnit {
		return reaches(a.DepthUnit.Number(b.DepthUnit.Length(first)))
	}
	return false
}

// join puts chart b behind chart a, or says why that cannot be.
func (r *reader) join(a, b part) {
	t := &r.Out.Tables[b.table]
	for i := range r.Out.Findings {
		f := &r.Out.Findings[i]
		if f.Chart == b.c.Name && f.At.Row >= t.At.Row && f.At.Row <= t.To.Row {
			f.Tank, f.Chart, f.Site = a.c.Name, a.c.Name, a.c.Site
		}
	}
	r.Out.Waiting = slices.DeleteFunc(r.Out.Waiting, func(u *figures.Ullages) bool { return u.Chart == b.c })
	t.Charts--
	depths, volumes := a.c.DepthUnit == b.c.DepthUnit, a.c.VolumeUnit == b.c.VolumeUnit
	if depths && volumes {
		n := int32(len(a.c.Rows))
		rows, skip := b.c.Rows, 0
		if f, l := rows[0], a.c.Rows[n-1]; f.Depth == l.Depth && f.Volume == l.Volume && len(b.c.Odd) == 0 {
			rows, skip = rows[1:], 1 // the row that the pages overlap by
		}
		a.c.Apart.Join(len(a.c.Rows), b.c.Apart, skip)
		a.c.Rows = append(slices.Clip(a.c.Rows), rows...)
		for _, o := range b.c.Odd {
			o.Row += n
			a.c.Odd = append(a.c.Odd, o)
		}
		a.c.To = b.c.To
		return
	}
	t.Pass(int(b.c.Rows[0].SheetRow), "goes on from "+nameOr(a.c.Name)+" in other units")
	f := finding.Finding{
		Severity: finding.Stop, Site: a.c.Site, Tank: a.c.Name, Chart: a.c.Name, Expected: "one unit for one chart",
		Why:        "the rest of the chart was not read, and what was read of it ends well below the full tank",
		Suggestion: "bring both parts into one unit, or give the second a name of its own if it is another tank's",
	}
	at := func(own cell.Ref) cell.Ref {
		if own.Row > 0 {
			return own
		}
		return b.c.At
	}
	names := func(x, y string) (string, string) {
		if x == "" {
			x = "a unit that nothing names"
		}
		if y == "" {
			y = "a unit that nothing names"
		}
		return x, y
	}
	say := func(slug finding.Slug, what, x, y string, own, other cell.Ref) {
		x, y = names(x, y)
		f.Slug, f.At, f.Related = slug, at(own), []cell.Ref{other, b.c.At, b.c.To}
		f.Depth = survey.Number(b.c.Rows[0].Depth)
		f.Found = fmt.Sprintf("the chart goes on at %s with %s in %s; above they stand in %s", b.c.At.A1(), what, y, x)
		r.Out.Findings = append(r.Out.Findings, f)
	}
	if !depths {
		say(finding.DepthUnitChangesMidway, "depths", a.c.DepthUnit.String(), b.c.DepthUnit.String(), b.c.DepthUnitFrom, a.c.DepthUnitFrom)
		return
	}
	say(finding.VolumeUnitChangesMidway, "volumes", a.c.VolumeUnit.String(), b.c.VolumeUnit.String(), b.c.VolumeUnitFrom, a.c.VolumeUnitFrom)
}

func nameOr(s string) string {
	if s == "" {
		return "the chart above"
	}
	return s
}
