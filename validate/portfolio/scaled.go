package portfolio

import (
	"fmt"
	"math"
	"strings"

	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// kept is a chart that later ones are held against.
type kept struct {
	book string
	c    Chart
	tank string
}

// ring keeps the last charts of one list of depths.
type ring struct {
	list []kept
	next int
}

// ringSize bounds how many charts of the same depths each chart is held against,
// so that time and memory grow with the number of charts and not with its
// square. Contractors' books hold a chart and its copy near each other.
const ringSize = 200

func (r *ring) add(k kept) {
	if len(r.list) < ringSize {
		r.list = append(r.list, k)
		return
	}
	r.list[r.next] = k
	r.next = (r.next + 1) % ringSize
}

// charts gives the word of each chart of a book, and holds each new one against
// those of the same depths.
func (v *View) charts(b *Book) []word {
	words := make([]word, len(b.Charts))
	tanks := make([][]int, len(b.Charts))
	for i := range b.Tanks {
		if n := b.Tanks[i].Chart; n >= 0 && n < len(tanks) {
			tanks[n] = append(tanks[n], i)
		}
	}
	for i := range b.Charts {
		c := &b.Charts[i]
		if len(c.Depth) < 2 || len(c.Depth) != len(c.Volume) {
			continue
		}
		words[i] = wordOf(c.Depth, c.Volume, []float64{c.Gallon})
		if _, seen := v.same[words[i]]; seen || len(tanks[i]) == 0 || strings.Contains(c.Name, "+") {
			continue
		}
		grid := wordOf(rounded(c.Depth))
		r := v.grids[grid]
		if r == nil {
			r = &ring{}
			v.grids[grid] = r
		}
		for k := range r.list {
			if f, ok := scaledFrom(&r.list[k], c); ok {
				t := &b.Tanks[tanks[i][0]]
				f.Site, f.Tank = t.Site, t.ID
				v.scaled = append(v.scaled, Found{Finding: f, Book: b.Name, Tanks: tanks[i]})
				break
			}
		}
		r.add(kept{book: b.Name, c: *c, tank: b.Tanks[tanks[i][0]].ID})
	}
	return words
}

// rounded takes the noise of conversions off depths.
func rounded(list []float64) []float64 {
	out := make([]float64, len(list))
	for i, x := range list {
		out[i] = math.Round(x*1e6) / 1e6
	}
	return out
}

// scaledFrom reports whether one chart is the other one multiplied, and says so.
func scaledFrom(o *kept, c *Chart) (finding.Finding, bool) {
	k, sure := multiple(&o.c, c)
	from, to := "chart "+o.c.Name+" of tank "+o.tank, "this one"
	if !sure {
		if k, sure = multiple(c, &o.c); !sure {
			return finding.Finding{}, false
		}
		from, to = to, from
	}
	return finding.Finding{
		Slug: finding.ChartScaledFromAnother, Severity: finding.Check, Chart: c.Name, At: c.At,
		Found:      fmt.Sprintf("every volume is a fixed multiple of the one in chart %s of tank %s (%s)", o.c.Name, o.tank, where(o.book, o.c.At)),
		Expected:   "a chart of its own",
		Why:        fmt.Sprintf("%s times %s gives %s in all %d rows, to the rounding of one chart; two charts that were made for two tanks are rounded each for itself", unit.DecimalText(k, 5, unit.Nearest), from, to, len(c.Depth)),
		Suggestion: "find out which of the two was measured, and get the chart of the other tank",
		Related:    []cell.Ref{o.c.At},
	}, true
}

// chanceMost is how likely it may at most be that two charts that were rounded
// each for itself look like a multiple: once in 10 million pairs.
const chanceMost = 1e-7

// multiple reports whether chart b is chart a times a number, each row of the
// product rounded as b is. Two tanks of the same section and with flat ends are
// true multiples of each other; but then each chart carries the rounding of its
// own volumes, and the rows of one miss the multiple of the other by more than
// half a unit in a share of r/4 of the rows, r being the rounding of a times the
// number over that of b (the mean of |u|/(2h) for u even in +-rh). Where such
// misses would be too few to tell, it reports nothing.
func multiple(a, b *Chart) (float64, bool) {
	n := len(a.Volume)
	if n != len(b.Volume) || !(a.Rounding > 0) || !(b.Rounding > 0) {
		return 0, false
	}
	half := b.Rounding / 2 * (1 + 1e-9)
	least, most := 0.0, math.Inf(1)
	rows := 0
	last := math.Inf(-1)
	for i := n - 1; i >= 0; i-- {
		x, y := a.Volume[i], b.Volume[i]
		if !(x > 0) {
			if y > half {
				return 0, false
			}
			continue
		}
		least, most = max(least, (y-half)/x), min(most, (y+half)/x)
		if least > most {
			return 0, false
		}
		if x != last {
			rows++
		}
		last = x
	}
	k := (least + most) / 2
	if rows < 12 || math.IsInf(most, 1) || math.Abs(k*a.Gallon/b.Gallon-1) < 0.002 {
		return 0, false // too short to tell, or the same chart in other units
	}
	if same := k * b.Gallon / a.Gallon; math.Abs(same-1) < 0.002 {
		return 0, false // the same tank in two units of volume
	}
	r := min(k*a.Rounding/b.Rounding, 1)
	if math.Pow(1-r/4, float64(rows)) > chanceMost {
		return 0, false
	}
	return k, true
}
