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

// near keeps the last charts, by their lists of depths. Both bounds are there so
// that time and memory do not grow with the square of the number of charts:
// contractors' books hold a chart and its copy near each other.
type near struct {
	grids map[word][]kept
	queue []word // the grids of the charts, the oldest first
	rows  int    // of all charts
}

const (
	nearCharts = 200     // of the same depths, against which each chart is held
	nearRows   = 1 << 20 // of all of them together; 16 MB
)

func newNear() near { return near{grids: map[word][]kept{}} }

// add keeps a chart and lets go of the oldest ones that are too many.
func (n *near) add(grid word, k kept) {
	n.grids[grid] = append(n.grids[grid], k)
	n.queue = append(n.queue, grid)
	n.rows += len(k.c.Depth)
	if len(n.grids[grid]) > nearCharts {
		n.drop(grid)
	}
	for len(n.queue) > 1 && (n.rows > nearRows || len(n.queue) > nearRows) {
		// The oldest of all is the oldest of its grid; where that has lost it
		// already, its turn is for nothing.
		oldest := n.queue[0]
		n.queue = n.queue[1:]
		if len(n.grids[oldest]) > 0 {
			n.drop(oldest)
		}
	}
}

func (n *near) drop(grid word) {
	list := n.grids[grid]
	n.rows -= len(list[0].c.Depth)
	list[0] = kept{}
	if list = list[1:]; len(list) == 0 {
		delete(n.grids, grid)
		return
	}
	n.grids[grid] = list
}

// charts holds each chart that is new against those of the same depths.
func (v *View) charts(b *Book, words []word) {
	tanks := make([][]int, len(b.Charts))
	for i := range b.Tanks {
		if n := b.Tanks[i].Chart; n >= 0 && n < len(tanks) {
			tanks[n] = append(tanks[n], i)
		}
	}
	for i := range b.Charts {
		c := &b.Charts[i]
		if words[i] == (word{}) || len(tanks[i]) == 0 || strings.Contains(c.Name, "+") {
			continue
		}
		if _, seen := v.same[words[i]]; seen {
			continue
		}
		grid := wordOf(rounded(c.Depth))
		list := v.near.grids[grid]
		for k := range list {
			if f, ok := scaledFrom(&list[k], c); ok {
				t := &b.Tanks[tanks[i][0]]
				f.Site, f.Tank = t.Site, t.ID
				v.scaled = append(v.scaled, Found{Finding: f, Book: b.Name, Tanks: tanks[i]})
				break
			}
		}
		v.near.add(grid, kept{book: b.Name, c: *c, tank: b.Tanks[tanks[i][0]].ID})
	}
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
