package extract

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strconv"

	"dropcut/convert/intake/headword"
	"dropcut/convert/intake/layout"
	"dropcut/convert/intake/look"
	"dropcut/convert/intake/survey"
	"dropcut/plan/cell"
	"dropcut/plan/finding"
)

// crossCheck holds a column that says the same as depth or volume in another way
// against it, chart by chart: no more than one chart's rows are kept.
type crossCheck struct {
	c      *layout.CrossColumn
	owner  *builder
	values []crossValue
}

type crossValue struct {
	depth, volume, other float64
	at                   cell.Ref
}

const crossRows = 20000 // enough for any chart; more are not kept

func (x *crossCheck) take(e *Reader, w *look.Window, row []look.Box, p *look.Box) {
	if x.c.Of == headword.RoleOther || len(e.Strands) == 0 || len(e.Strands[0]) == 0 {
		return
	}
	owner := e.Strands[0][0]
	if e.C.Id != 0 {
		owner = e.cur
	}
	if owner != x.owner {
		x.settle(e)
		x.owner = owner
	}
	s := &e.C.Strands[0]
	d, v := depthCell(row, s), look.At(row, s.Vols[0].X)
	if len(x.values) >= crossRows || d == nil || v == nil || p.Class != look.NumberCell && p.Class != look.MeasureCell && p.Class != look.PercentCell {
		return
	}
	f := w.Value(p)
	if p.Class == look.PercentCell {
		f = p.Num
	}
	x.values = append(x.values, crossValue{e.peek(w, 0, s, row), w.Value(v), f, p.Ref(e.r.At)})
}

// settle reports the cells of one chart in which the columns contradict each
// other.
func (x *crossCheck) settle(e *Reader) {
	defer func() { x.values = x.values[:0] }()
	if x.owner == nil || len(x.values) == 0 {
		return
	}
	name := x.owner.named.V
	if e.C.Id == 0 {
		name = e.oneName()
	}
	say := func(slug finding.Slug, sev finding.Severity, v crossValue, at cell.Ref, found, expected, why, do string) {
		e.r.Out.Findings = append(e.r.Out.Findings, finding.Finding{
			Slug: slug, Severity: sev, Site: x.owner.site, At: at, Tank: name, Chart: name, Depth: survey.Number(v.depth), Found: found, Expected: expected, Why: why, Suggestion: do,
		})
	}
	rule, bad := x.disagreements(x.c.Of)
	if x.c.Ratio > 0 {
		rule, bad = x.byUnits()
		if len(bad)*10 > len(x.values) && len(bad) > 3 {
			v := bad[len(bad)/2]
			say(finding.UnitsConflict, finding.Stop, v, x.c.At, fmt.Sprintf("column %q says %s beside depth %s and volume %s, and so on in %s", x.c.Heading, survey.Number(v.other), survey.Number(v.depth), survey.Number(v.volume), survey.Many(len(bad), "row")),
				"columns that say the same in two units", "one of the two columns, or its unit, is wrong, and nothing says which", "look at the original chart; correct the heading or take the wrong column away")
			return
		}
	}
	for k, v := range bad {
		if k == 5 {
			break
		}
		say(finding.ColumnsDisagree, finding.Check, v, v.at, fmt.Sprintf("%s in column %q beside depth %s and volume %s", survey.Number(v.other), x.c.Heading, survey.Number(v.depth), survey.Number(v.volume)),
			"columns that say the same", rule, "one of the cells of this row is wrong; look at the original chart")
	}
	if x.c.Of == headword.RolePercent && len(bad) == 0 {
		// Above full by more than a rounding to half a percent.
		most := 0.0
		for _, v := range x.values {
			most = max(most, v.other)
		}
		full := 100.0
		if most <= 2 {
			full = 1 // shares stored as 0.5
		}
		for _, v := range x.values {
			if v.other > full*1.0051 {
				say(finding.ColumnsDisagree, finding.Check, v, v.at, fmt.Sprintf("%s in column %q beside volume %s", survey.Number(v.other), x.c.Heading, survey.Number(v.volume)),
					"at most "+survey.Number(full), "the column takes a smaller volume for the full tank than the chart ends with", "find out which is the tank's full volume")
				break
			}
		}
	}
}

// byUnits gives the cells that are not the same length or volume in their
// column's unit. Either column may be the rounded one, to half of the last digit
// that it shows; the narrowest of these tolerances that nearly all rows keep is
// the one that the others break.
func (x *crossCheck) byUnits() (rule string, bad []crossValue) {
	main := func(v crossValue) float64 {
		if x.c.Of == headword.RoleDepth {
			return v.depth
		}
		return v.volume
	}
	a, b := 1.0, 1.0
	for _, v := range x.values {
		a, b = min(a, lastDigit(main(v))), min(b, lastDigit(v.other))
	}
	b *= x.c.Ratio
	datum := 0.0
	if x.c.Of == headword.RoleDepth && x.c.Ratio == 1 {
		// A second depth in the same unit is one from another zero.
		datum = x.datum()
	}
	steps := [...]float64{0.51 * min(a, b), 0.51 * max(a, b), 0.51 * (a + b), 1.01 * (a + b)}
	first := 0
	if x.c.Of == headword.RoleVolume {
		first = 2 // volumes are rounded in both columns; depths are exact in one
	}
	for _, tol := range steps[first:] {
		bad = bad[:0]
		for _, v := range x.values {
			m := main(v)
			if !math.IsNaN(m) && !math.IsNaN(v.other) && math.Abs(v.other*x.c.Ratio-datum-m) > tol+1e-4*math.Abs(m) {
				bad = append(bad, v)
			}
		}
		if len(bad)*10 <= len(x.values) {
			break
		}
	}
	if datum != 0 {
		return "the two differ by " + survey.Short(datum) + " in all other rows", bad
	}
	return "the two are the same in two units in all other rows", bad
}

// datum gives how far the zero of the other depth column lies from that of the
// chart's: the middle of their differences.
func (x *crossCheck) datum() float64 {
	var diff []float64
	for _, v := range x.values {
		if d := v.other - v.depth; !math.IsNaN(d) {
			diff = append(diff, d)
		}
	}
	if len(diff) == 0 {
		return 0
	}
	slices.Sort(diff)
	d := diff[len(diff)/2]
	if math.Abs(d) < 1e-9 {
		return 0
	}
	return d
}

// disagreements lists the cells that do not follow the rule which nearly all
// others of the column follow: depth and ullage have one sum, volume and percent
// one quotient. rule says which, "" where there is none.
func (x *crossCheck) disagreements(of headword.Role) (rule string, bad []crossValue) {
	if len(x.values) < 8 {
		return "", nil
	}
	var terms []float64
	term := func(v crossValue, kind int) float64 {
		switch kind {
		case 0:
			return v.depth + v.other
		case 1:
			return v.depth - v.other
		}
		if v.other == 0 {
			return math.NaN()
		}
		return v.volume / v.other
	}
	kinds := []int{2}
	if of == headword.RoleDepth {
		kinds = []int{0, 1}
	}
	for _, kind := range kinds {
		terms = terms[:0]
		for _, v := range x.values {
			if t := term(v, kind); !math.IsNaN(t) {
				terms = append(terms, t)
			}
		}
		if len(terms) < 8 {
			continue
		}
		slices.Sort(terms)
		mid := terms[len(terms)/2]
		for _, v := range x.values {
			t := term(v, kind)
			if math.IsNaN(t) {
				continue
			}
			off := math.Abs(t - mid)
			tol := 0.011 // two roundings to hundredths
			if kind == 2 {
				// One unit of the last digit that either column shows.
				tol = math.Abs(mid)*lastDigit(v.other)/math.Max(math.Abs(v.other), 1e-9) + lastDigit(v.volume)/math.Max(math.Abs(v.other), 1e-9) + math.Abs(mid)*1e-4
			}
			if off > tol {
				bad = append(bad, v)
			}
		}
		if len(bad)*10 <= len(x.values) {
			switch kind {
			case 0:
				return fmt.Sprintf("the two add up to %s in all other rows", survey.Short(mid)), bad
			case 1:
				return fmt.Sprintf("the two differ by %s in all other rows", survey.Short(mid)), bad
			}
			return fmt.Sprintf("their quotient is about %s in all other rows", survey.Short(mid)), bad
		}
		bad = nil
	}
	return "", nil
}

// lastDigit gives one unit of the last decimal that a number is written with.
func lastDigit(f float64) float64 {
	s := strconv.FormatFloat(f, 'f', -1, 64)
	if i := bytes.IndexByte([]byte(s), '.'); i >= 0 {
		return math.Pow(10, -float64(len(s)-1-i))
	}
	// A rounded percent or volume shows whole numbers here and tenths there.
	return 1
}
