package charts

import (
	"math"

	"dropcut/validate/charts/fit"
)

// knots says how a chart was filled in with straight lines between coarser
// rows: a knot at every depth that is a whole multiple of every from zero on.
// every 0 means that it was not.
type knots struct {
	every float64
	share float64 // of the lines that hold
}

// Lines are filled in over so many rows.
var perLine = [...]int{2, 3, 4, 5, 8, 10, 12, 16, 20, 25}

// surely is the share of lines of three rows between and more that hold only in a
// chart that was filled in.
const surely = 0.95

// findKnots looks whether straight lines explain what a smooth curve leaves
// unexplained (bad rows). They do where nearly all lines hold to half a unit of
// rounding, and fewer rows are left.
func (ws *Workspace) findKnots(bad int) knots {
	k, left := ws.knotsWithin(bad, 0.501)
	if left > 2 && bad >= 8 {
		if loose, less := ws.knotsWithin(bad, 1.01); loose.every > 0 && 2*less <= left {
			return loose
		}
	}
	return k
}

// knotsWithin gives the best knots whose lines hold to so many units of rounding,
// and how many rows are then still bad.
func (ws *Workspace) knotsWithin(bad int, units float64) (knots, int) {
	n := len(ws.x)
	step, share, _ := ws.stepOf(ws.x)
	if share < 0.6 {
		return knots{}, bad
	}
	best, sure, left, judged := knots{}, knots{}, bad, false
	for _, m := range perLine {
		if m*4 > n {
			continue
		}
		k := knots{every: float64(m) * step}
		held, all := 0, 0
		for a := 0; a < n; {
			if !k.is(ws.x[a]) {
				a++
				continue
			}
			b := a + 1
			for b < n && !k.is(ws.x[b]) {
				b++
			}
			if b < n && b-a >= 2 && math.Abs(ws.x[b]-ws.x[a]-k.every) < 1e-6*k.every {
				all++
				if ws.lineWithin(a, b, units) {
					held++
				}
			}
			a = b
		}
		k.share = float64(held) / float64(max(all, 1))
		if units < 1 && all >= 8 && m >= 4 && k.share >= surely && ws.fit.Family != fit.Straight {
			// Rounding alone would bend two lines of three.
			sure = k
			continue
		}
		if bad == 0 || all < 4 || k.share < 0.55 || bad < 3 && k.share < 0.93 {
			continue
		}
		ws.lines = k
		ws.judgeRows(0, n)
		judged = true
		if c := ws.countBad(0, n); c <= left && 2*c <= bad {
			best, left = k, c
		}
	}
	if sure.every > 0 {
		best, left = sure, 0
	}
	ws.lines = knots{}
	if best.every == 0 && judged {
		ws.judgeRows(0, n)
	}
	return best, left
}

// is reports whether a depth is a knot.
func (k knots) is(x float64) bool {
	q := x / k.every
	return math.Abs(q-math.Round(q)) < 1e-4
}

// lineHolds reports whether the rows between knots a and b lie on the straight
// line between them, to the rounding.
func (ws *Workspace) lineHolds(a, b int) bool { return ws.lineWithin(a, b, 0.501) }

// lineWithin reports the same for some units of rounding: half a unit where the
// knots are as they were used, a whole one where they were rounded afterwards.
func (ws *Workspace) lineWithin(a, b int, units float64) bool {
	for i := a + 1; i < b; i++ {
		if math.Abs(ws.w[i]-ws.chord(a, b, ws.x[i])) > units*ws.unit+1e-9*math.Abs(ws.w[i]) {
			return false
		}
	}
	return true
}

func (ws *Workspace) chord(a, b int, at float64) float64 {
	x, w := ws.x, ws.w
	return w[a] + (w[b]-w[a])*(at-x[a])/(x[b]-x[a])
}

// span gives the knots around row i, which is none: the last one before it and
// the first one after it. -1 and n where there is none.
func (ws *Workspace) span(i int) (a, b int) {
	n := len(ws.x)
	for a = i - 1; a >= 0 && !ws.lines.is(ws.x[a]); a-- {
	}
	for b = i + 1; b < n && !ws.lines.is(ws.x[b]); b++ {
	}
	return a, b
}

// judgeLine holds row i against its neighbours on straight lines between knots.
func (ws *Workspace) judgeLine(i int) {
	n, w := len(ws.x), ws.w
	low, high := math.Inf(1), math.Inf(-1)
	ws.best[i] = math.Inf(1)
	ws.tol[i] = inner * ws.grain(i)
	say := func(p float64) {
		q := w[i] - p
		if math.IsNaN(q) {
			return
		}
		if math.Abs(q) < math.Abs(ws.best[i]) {
			ws.best[i] = q
		}
		low, high = min(low, q), max(high, q)
	}
	a, b := ws.span(i)
	if ws.lines.is(ws.x[i]) {
		ws.judgeKnot(i, a, b, say)
	} else {
		whole := a >= 0 && b < n
		if whole {
			say(ws.chord(a, b, ws.x[i]))
		}
		// The rows of the same line, this one left out; beyond the last knot the
		// chart's last row may lie past the full tank, where the line ends.
		from, to := max(a, 0), min(b+1, n)
		if !whole && b >= n {
			to = n - 1
			if i >= to {
				to = n
			}
		}
		if to-from >= 4 || !whole && to-from >= 3 {
			say(fitAt(ws.x, w, from, to, i, ws.x[i], ws.x[min(to, n)-1]-ws.x[from], 1))
		}
		if !whole {
			ws.tol[i] = 2.6 * ws.unit
		}
	}
	if math.IsInf(ws.best[i], 0) {
		ws.best[i], ws.res[i], ws.tol[i] = 0, 0, math.Inf(1)
		return
	}
	ws.res[i] = ws.best[i]
	if ws.nearEnd(ws.x[i]) {
		wide := spreadNear * nearEnd
		if ws.lines.is(ws.x[i]) {
			wide = 2.2 // an end of a tilted tank between two knots
			if math.Min(ws.x[i], ws.x[n-1]-ws.x[i]) < 2.5*ws.lines.every {
				wide = 4 // the outer knots, which two of them tell of
			}
		}
		ws.tol[i] += wide * (high - low)
	} else {
		ws.tol[i] += bySpread * inner * (high - low)
	}
	flat := ws.fit.Family == fit.Straight || ws.form.boxed
	if i == 1 || i == n-2 || flat && (i == 2 || i == n-3) {
		ws.tol[i] = math.Inf(1)
	} else if ws.oddStep(i) || ws.oddStep(i+1) {
		ws.tol[i] *= 0.6
	}
}

// judgeKnot holds a knot against the knots around it and against the lines on
// both sides.
func (ws *Workspace) judgeKnot(i, a, b int, say func(float64)) {
	n := len(ws.x)
	var x, y [10]float64
	k, at := 0, 0
	// Four knots on each side, as far as there are any.
	left := [4]int{}
	l := 0
	for j := i - 1; j >= 0 && l < 4; j-- {
		if ws.lines.is(ws.x[j]) {
			left[l] = j
			l++
		}
	}
	for l--; l >= 0; l-- {
		x[k], y[k] = ws.x[left[l]], ws.e[left[l]]
		k++
	}
	at = k
	x[k], y[k] = ws.x[i], ws.e[i]
	k++
	for j := i + 1; j < n && k < at+5; j++ {
		if ws.lines.is(ws.x[j]) {
			x[k], y[k] = ws.x[j], ws.e[j]
			k++
		}
	}
	back := ws.w[i] - ws.e[i] // the fitted volume at the knot
	if k >= 6 && at > 0 && at < k-1 {
		say(back + local(x[:k], y[:k], at, 8, 3))
		say(back + local(x[:k], y[:k], at, 6, 2))
		say(back + local(x[:k], y[:k], at, 4, 1))
	}
	// Lines of three rows or more on either side, drawn on to the knot. Where they
	// meet it, they were filled in from it and say nothing of it.
	meet := a >= 0 && b < n && ws.lineHolds(a, i) && ws.lineHolds(i, b)
	if i-a >= 4 && a >= 0 && !meet {
		say(fitAt(ws.x, ws.w, a, i, -1, ws.x[i], ws.x[i]-ws.x[a], 1))
	}
	if b-i >= 4 && b < n && !meet {
		say(fitAt(ws.x, ws.w, i+1, b+1, -1, ws.x[i], ws.x[b]-ws.x[i], 1))
	}
	// The outer knots have others on one side only, where the curve is steepest.
	switch {
	case at < 1 || k-at < 2:
		ws.tol[i] = math.Inf(1)
	case at < 2 || k-at < 3:
		ws.tol[i] = 2 * outerRow * ws.unit
	case at < 4 || k-at < 5 || ws.nearEnd(ws.x[i]):
		ws.tol[i] = outerRow * ws.unit
	}
}
