package portfolio

import (
	"fmt"
	"math"
	"strings"

	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// holder is a tank that goes by a chart.
type holder struct {
	book             string
	tank             int
	site, id         string
	at               cell.Ref // of the chart
	chart            string
	nominal          float64
	diameter, length float64
}

func (h *holder) text() string {
	var parts []string
	for _, p := range []struct {
		name, text string
		v          float64
	}{{"nominal", gallons(h.nominal), h.nominal}, {"diameter", inches(h.diameter), h.diameter}, {"length", inches(h.length), h.length}} {
		if p.v > 0 {
			parts = append(parts, p.name+" "+p.text)
		}
	}
	return strings.Join(parts, ", ")
}

func (v *View) holders(b *Book, words []word) {
	for i := range b.Tanks {
		t := &b.Tanks[i]
		if t.Chart < 0 || t.Chart >= len(words) || !v.charted[words[t.Chart]] {
			continue // no other tank goes by it
		}
		w, c := words[t.Chart], &b.Charts[t.Chart]
		if _, ok := v.same[w]; !ok {
			v.order = append(v.order, w)
		}
		h := holder{book: b.Name, tank: i, site: t.Site, id: t.ID, at: c.At, chart: c.Name, nominal: t.Nominal, diameter: t.Diameter, length: t.Length}
		if strings.Contains(c.Name, "+") || strings.Contains(c.Name, "/") {
			// A set of tanks and a compartment have a capacity and a length of
			// their own, which the list does not always give.
			h.nominal, h.length = 0, 0
		}
		v.same[w] = append(v.same[w], h)
	}
}

// How far two tanks of one size may lie apart in the list: common practice, no
// source. A diameter is measured to about 3/16 in at either tank; lengths are
// given with or without the heads by some, so that only gross differences count.
const (
	diameterApart = 0.5  // in
	lengthApart   = 0.10 // share
	nominalApart  = 0.05 // share
)

// apart says why two tanks cannot have the same chart, "" where they can.
func (h *holder) apart(o *holder) string {
	share := func(a, b float64) float64 {
		if a > 0 && b > 0 {
			return math.Abs(a-b) / max(a, b)
		}
		return 0
	}
	switch {
	case h.diameter > 0 && o.diameter > 0 && math.Abs(h.diameter-o.diameter) > diameterApart:
		return "their diameters differ by " + inches(math.Abs(h.diameter-o.diameter))
	case share(h.nominal, o.nominal) > nominalApart:
		return "their nominal capacities differ by " + unit.DecimalText(100*share(h.nominal, o.nominal), 1, unit.Nearest) + " %"
	case share(h.length, o.length) > lengthApart:
		return "their lengths differ by " + inches(math.Abs(h.length-o.length))
	}
	return ""
}

// shared finds charts under tanks that cannot share them: of the tanks that go
// by the same numbers, those of another size than the most, or all of them where
// no size has the most.
func (v *View) shared() []Found {
	var out []Found
	for _, w := range v.order {
		list := v.same[w]
		sizes := sizesOf(list)
		if len(sizes) < 2 {
			continue
		}
		most, tied := 0, false
		for i := 1; i < len(sizes); i++ {
			switch {
			case len(sizes[i]) > len(sizes[most]):
				most, tied = i, false
			case len(sizes[i]) == len(sizes[most]):
				tied = true
			}
		}
		for i, size := range sizes {
			if i == most && !tied {
				continue
			}
			other := &list[sizes[most][0]]
			if i == most {
				other = &list[sizes[(most+1)%len(sizes)][0]]
			}
			for _, k := range size {
				h := &list[k]
				out = append(out, Found{Book: h.book, Tanks: []int{h.tank}, Finding: finding.Finding{
					Slug: finding.ChartSharedWrongly, Severity: finding.Check, Site: h.site, Tank: h.id, Chart: h.chart, At: h.at,
					Found:      fmt.Sprintf("the same numbers as the chart of tank %s (%s)", other.id, where(other.book, other.at)),
					Expected:   "one chart for tanks of one size",
					Why:        fmt.Sprintf("%s; this tank: %s; that tank: %s", h.apart(other), h.text(), other.text()),
					Suggestion: "find out which of the two tanks the chart belongs to, and get the chart of the other",
					Related:    []cell.Ref{other.at},
				}})
			}
		}
	}
	return out
}

// sizesOf groups tanks that can share a chart, each with the first of its group.
// More than so many sizes under one chart say nothing new.
func sizesOf(list []holder) [][]int {
	const most = 32
	var sizes [][]int
next:
	for k := range list {
		for i := range sizes {
			if list[k].apart(&list[sizes[i][0]]) == "" {
				sizes[i] = append(sizes[i], k)
				continue next
			}
		}
		if len(sizes) < most {
			sizes = append(sizes, []int{k})
		}
	}
	return sizes
}
