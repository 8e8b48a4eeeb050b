package charts

import (
	"fmt"
	"math"

	"dropcut/plan/finding"
)

// Factors of volume. The litre is exact (1 US gal = 3.785411784 L, 1 imperial gal
// = 4.54609 L), the barrel 42 US gal, the cubic foot 1728/231 US gal.
var volumeFactors = [...]factor{
	{3.785411784, "from US gallons to litres"},
	{1 / 3.785411784, "from litres to US gallons"},
	{4.54609 / 3.785411784, "from imperial to US gallons"},
	{3.785411784 / 4.54609, "from US to imperial gallons"},
	{4.54609, "from imperial gallons to litres"},
	{1 / 4.54609, "from litres to imperial gallons"},
	{42, "from barrels to US gallons"},
	{1. / 42, "from US gallons to barrels"},
	{1728. / 231, "from cubic feet to US gallons"},
	{231. / 1728, "from US gallons to cubic feet"},
	{10, "from hectolitres to decalitres, or by a slip of the decimal sign"},
	{0.1, "by a slip of the decimal sign"},
	{100, "from hectolitres to litres"},
	{0.01, "from litres to hectolitres"},
	{1000, "from cubic metres to litres"},
	{0.001, "from litres to cubic metres"},
}

// volumeUnit finds the row from which on volumes stand in another unit, to the
// end or for a block of rows: what the rows before say of this row, and what this
// and the next ones say of the row before, both are off by the same factor.
func volumeUnit(ws *Workspace) {
	w, n := ws.w, len(ws.w)
	if n < least {
		return
	}
	unit := rounding(w)
	for i := 3; i < n-2; i++ {
		if !(w[i-1] > 0) || math.Abs(w[i]-w[i-1]) <= 0.08*w[i-1] {
			continue
		}
		// More than the rounding and the roughness around explain.
		if math.Abs(w[i]-ws.ahead(i, -1)) < max(8*unit, 8*ws.bends(i)) {
			continue
		}
		k, good := ws.factorAt(i)
		if !good {
			continue
		}
		end := n
		for j := i + 3; j < n-1; j++ {
			if math.Abs(w[j]-w[j-1]) <= 0.05*w[j-1] {
				continue
			}
			if back, again := ws.factorAt(j); again && math.Abs(back.by*k.by-1) < 0.01 {
				end = j
				break
			}
		}
		// A block that ends right before the last row.
		if end == n && math.Abs(w[n-1]*k.by/w[n-2]-1) < 0.05 && math.Abs(w[n-1]/w[n-2]-1) > 0.1 {
			end = n - 1
		}
		f := finding.Finding{
			Slug: finding.VolumeUnitChangesMidway, Severity: finding.Check,
			Found:      fmt.Sprintf("%s after %s", number(w[i]), number(w[i-1])),
			Expected:   "about " + number(math.Round(w[i]/k.by)),
			Why:        fmt.Sprintf("from here on every volume is multiplied by %s: the unit changes %s", number(round(k.by, 4)), k.says),
			Suggestion: "find out in which unit each part of the chart was written, and bring both into one",
			To:         ws.at(end-1, true),
		}
		if end < n {
			f.Why = fmt.Sprintf("in the %d rows from here on every volume is multiplied by %s: the unit changes %s, and back", end-i, number(round(k.by, 4)), k.says)
		}
		ws.say(f, i, true)
		for r := i; r < end; r++ {
			w[r] /= k.by
		}
		ws.blurred, ws.from, ws.to = max(ws.blurred, 1/k.by), i, end
		i = end - 1
	}
}

// factorAt tells whether the unit of volume changes right before row i.
func (ws *Workspace) factorAt(i int) (factor, bool) {
	w, n := ws.w, len(ws.w)
	left := ws.ahead(i, -1)
	right := ws.ahead(i-1, 1)
	if !(left > 0 && right > 0) {
		return factor{}, false
	}
	// A leap: several times the steps before and after it, or a fall.
	before, after := math.Inf(1), math.Inf(1)
	if i >= 2 {
		before = math.Abs(w[i-1] - w[i-2])
	}
	if i+1 < n {
		after = math.Abs(w[i+1] - w[i])
	}
	if leap := math.Abs(w[i] - w[i-1]); w[i] > w[i-1] && (leap < 2.2*before || leap < 2*after) {
		return factor{}, false
	}
	a, b := w[i]/left, right/w[i-1]
	slackA := 0.02 + 2*math.Abs(w[i-1]-w[max(0, i-2)])/left*0.1
	slackB := 0.03 + 0.2*math.Abs(w[min(i+1, len(w)-1)]-w[i])/right
	best, off := factor{}, math.Inf(1)
	for _, k := range volumeFactors {
		ra, rb := math.Abs(a/k.by-1), math.Abs(b/k.by-1)
		if ra <= slackA && rb <= slackB && ra+rb < off {
			best, off = k, ra+rb
		}
	}
	return best, off < math.Inf(1)
}

// bends gives by how much the volumes around row i bend from one step to the
// next, by the middle one of them.
func (ws *Workspace) bends(i int) float64 {
	var t [16]float64
	k := 0
	for j := max(1, i-8); j < min(len(ws.w)-1, i+8) && k < len(t); j++ {
		t[k] = math.Abs(ws.w[j+1] - 2*ws.w[j] + ws.w[j-1])
		k++
	}
	return middle(t[:k])
}

// ahead gives what the rows on one side of row i (dir -1: those before it) say of
// it, by the parabola through four of them.
func (ws *Workspace) ahead(i, dir int) float64 {
	from, to := i-4, i
	if dir > 0 {
		from, to = i+1, i+5
	}
	from, to = max(0, from), min(len(ws.x), to)
	if to-from < 2 {
		return math.NaN()
	}
	return fitAt(ws.x, ws.w, from, to, -1, ws.x[i], (ws.x[to-1]-ws.x[from])/float64(to-from-1), min(2, to-from-1))
}
