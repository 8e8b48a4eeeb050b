package charts

import (
	"math"

	"dropcut/validate/charts/fit"
)

// Tolerances of a volume against what its neighbours say, in units of rounding.
// A cubic through four rows on each side errs by at most 1.24 units where the
// curve is a cubic (half a unit times one and the sum of the weights, 1.488); the
// mildest of several predictions passed 1.14 times (1 + 0.35 of their spread) in
// none of 607,000 inner rows of sound made charts. The first and last rows have
// neighbours on one side only, and the curve is steepest there.
const (
	inner     = 1.3
	bySpread  = 0.35
	nearEnd   = 1.7
	secondRow = 2.8
	outerRow  = 3.4
	// endShare is how much of the depth at each end counts as near the end, where
	// ends of tilted tanks run dry or are covered.
	endShare   = 0.07
	spreadNear = 0.8
	// spreadTilted is the same where the dip or a tilt moves the ends of the tank into
	// the curve.
	spreadTilted = 1.6
	least200     = 1. / 400 // of two steps
	roughUnits   = 0.43     // units of rounding; rounding alone gives 0.33 to 0.38
	roughTimes   = 5.5      // robust standard deviations of the whole chart
	roughLeast   = 1.3      // added in a chart that is rough all over
	noiseTimes   = 8.0      // robust standard deviations of a rough chart
	noiseLess    = 2.9      // of which the rounding explains so many units
)

// prepare fits the shape to the believed rows and computes what the neighbours
// say of each.
func (ws *Workspace) prepare() {
	n := len(ws.x)
	ws.unit = rounding(ws.w)
	if ws.blurred > 0 {
		ws.unit = max(ws.unit, rounding(ws.v)) // rows brought back from another unit are multiples of nothing
	}
	ws.fit = fit.Do(&ws.fits, ws.x, ws.w, fit.Hint{Height: ws.hintHeight(), PerCubic: ws.f.PerCubic})
	ws.e, ws.res, ws.best, ws.tol = grow(ws.e, n), grow(ws.res, n), grow(ws.best, n), grow(ws.tol, n)
	ws.lines, ws.rough, ws.digits = knots{}, false, 0
	ws.refit(0, n)
	ws.tipped = ws.fit.Rise > 0 || math.Abs(ws.e[0]-ws.e[min(6, n-1)]) > 3*ws.unit
	ws.judgeRows(0, n)
	if ws.isRough() {
		ws.rough = true
		ws.judgeRows(0, n)
	}
	if bad := ws.countBad(0, n); bad >= 5 {
		ws.findDigits(bad)
	}
	if bad := ws.countBad(0, n); bad > 0 {
		// A single place that is bad needs no other curve.
		at := ws.worst()
		if ws.countBad(0, at-window-1)+ws.countBad(at+window+2, n) == 0 {
			bad = 0
		}
		ws.lines = ws.findKnots(bad)
	} else {
		ws.lines = ws.findKnots(0)
	}
	if ws.lines.every > 0 {
		ws.judgeRows(0, n)
	}
}

func (ws *Workspace) hintHeight() float64 {
	switch {
	case ws.f.FaceToBottomLessRiser > 0:
		return ws.f.FaceToBottomLessRiser
	case !ws.form.upright:
		return ws.f.Diameter
	}
	return 0
}

// refit sets e: the volume less the fitted one.
func (ws *Workspace) refit(from, to int) {
	if !ws.fit.Recognised {
		copy(ws.e[from:to], ws.w[from:to])
		return
	}
	ws.fit.Residuals(ws.e[from:to], ws.x[from:to], ws.w[from:to])
}

// judgeRows computes res, best and tol for rows from..to-1.
func (ws *Workspace) judgeRows(from, to int) {
	n := len(ws.x)
	for i := max(from, 0); i < min(to, n); i++ {
		if i == 0 || i == n-1 {
			ws.res[i], ws.best[i], ws.tol[i] = 0, 0, math.Inf(1)
			continue
		}
		if ws.lines.every > 0 {
			ws.judgeLine(i)
			continue
		}
		ws.judgeSmooth(i)
	}
	if ws.lines.every == 0 {
		ws.addNoise(max(from, 0), min(to, n))
	}
}

// judgeSmooth holds row i against its neighbours on a smooth curve. The first
// row stays out: a zero that is off the bottom bends the curve there.
func (ws *Workspace) judgeSmooth(i int) {
	n := len(ws.x)
	x, e, w := ws.x[1:], ws.e[1:], ws.w[1:]
	j := i - 1
	p := e[j] - local(x, e, j, 8, 3)
	ws.res[i], ws.best[i] = p, p
	base, wide, grain := inner, bySpread, ws.grain(i)
	if ws.digits > 0 {
		// Of the neighbours with the coarsest grain.
		grain = max(grain, grainOf(ws.w[min(i+window, n-1)], ws.digits))
	}
	switch {
	case i == 1 || i == n-2:
		base, wide = outerRow, spreadNear
	case i == 2 || i == n-3:
		base, wide = secondRow, spreadNear
	case i <= 4 || i >= n-7 || ws.nearEnd(ws.x[i]):
		base, wide = nearEnd, spreadNear
		if r := &ws.fit; r.Rise > 0 || math.Abs(r.Offset) > zeroOff/2*ws.f.Inch {
			wide = spreadTilted
		}
	}
	// A floor or a top that is not level bends the curve where it runs dry or
	// full: as soon as that is in sight, the ends say little.
	if ws.fit.Family == fit.Straight || ws.form.boxed {
		if i <= 2 || i >= n-3 {
			ws.tol[i] = math.Inf(1)
			return
		}
		if ws.tipped && (i < 8 || i >= n-8 || ws.nearEnd(ws.x[i])) {
			base, wide = outerRow, 2
		}
	}
	ws.tol[i] = base * grain
	if math.Abs(p) <= grain {
		return
	}
	low, high := p, p
	mild := func(q float64) {
		if math.IsNaN(q) {
			return
		}
		if math.Abs(q) < math.Abs(ws.best[i]) {
			ws.best[i] = q
		}
		low, high = min(low, q), max(high, q)
	}
	mild(w[j] - local(x, w, j, 8, 3))
	mild(e[j] - local(x, e, j, 6, 2))
	mild(e[j] - local(x, e, j, 4, 1))
	if i <= 6 {
		mild(ws.e[i] - local(ws.x, ws.e, i, 8, 3))
	}
	if i >= n-7 && n > least+2 {
		mild(e[j] - local(x[:n-2], e[:n-2], j, 8, 3))
		mild(e[j] - local(x[:n-2], e[:n-2], j, 4, 1))
	}
	if math.IsNaN(p) {
		ws.res[i], ws.best[i], ws.tol[i] = 0, 0, math.Inf(1)
		return
	}
	ws.tol[i] = base * (grain + wide*(high-low))
	if i > 2 && i < n-2 && (ws.offGrid(i) || ws.oddStep(i) || ws.oddStep(i+1)) {
		ws.tol[i] *= 0.5
	}
	// What does not move a depth by a two-hundredth of a step is no fault.
	ws.tol[i] = max(ws.tol[i], least200*math.Abs(w[min(j+1, n-2)]-w[max(j-1, 0)]))
}

// grain gives the unit that the volumes around row i are rounded to: a coarser one
// where they were brought back from another unit.
func (ws *Workspace) grain(i int) float64 {
	if ws.blurred > 1 && i >= ws.from-window && i < ws.to+window {
		return ws.unit * ws.blurred
	}
	return ws.unit
}

// nearEnd reports whether a depth lies near an end of the chart.
func (ws *Workspace) nearEnd(x float64) bool {
	a, b := ws.x[0], ws.x[len(ws.x)-1]
	return x-a < endShare*(b-a) || b-x < endShare*(b-a)
}

// offGrid reports whether a volume is no multiple of the chart's rounding, as
// nearly all others are.
func (ws *Workspace) offGrid(i int) bool {
	q := ws.w[i] / ws.unit
	return ws.unit >= 0.05 && ws.w[i] == ws.v[i] && ws.blurred == 0 && math.Abs(q-math.Round(q)) > 1e-3
}

// oddStep reports whether the volume stays from row i-1 to i, or makes two steps
// at once, where all steps around are alike and more than two units of rounding:
// no rounding does that.
func (ws *Workspace) oddStep(i int) bool {
	const side = 4
	n, w := len(ws.x), ws.w
	if i < side+2 || i > n-side-2 {
		return false
	}
	var t [2 * side]float64
	k := 0
	for j := i - side; j <= i+side; j++ {
		if j != i {
			t[k] = w[j] - w[j-1]
			k++
		}
	}
	m := middle(t[:])
	if m < 2.2*ws.unit || t[0] < 0.5*m || t[2*side-1] > 1.5*m {
		return false
	}
	s := w[i] - w[i-1]
	return s <= 0.1*m || s >= 1.8*m
}

// findDigits looks whether all volumes hold no more than some number of
// significant digits, as 1.2084E+11 does: large ones are then rounded to a
// coarser unit than small ones.
func (ws *Workspace) findDigits(bad int) {
	n := len(ws.w)
	for s := 3; s <= 6; s++ {
		over := 0
		for _, v := range ws.w {
			q := v / grainOf(v, s)
			if math.Abs(q-math.Round(q)) > 1e-6 {
				over++
			}
		}
		if over*50 > n {
			continue
		}
		if grainOf(ws.w[n-1], s) < 5*ws.unit {
			return
		}
		ws.digits = s
		ws.judgeRows(0, n)
		if 2*ws.countBad(0, n) > bad {
			ws.digits = 0
			ws.judgeRows(0, n)
		}
		return
	}
}

// grainOf gives the last of some significant digits of a number.
func grainOf(v float64, digits int) float64 {
	if !(v > 0) {
		return 1e-9
	}
	return math.Pow(10, math.Floor(math.Log10(v)+1e-12)-float64(digits-1))
}

// isRough reports whether more rows are off by a unit of rounding and more than
// rounding explains, all over the chart and not around one place: one row in
// 10,000 of smooth charts is, one in 20 of those that were measured.
func (ws *Workspace) isRough() bool {
	n := len(ws.x)
	at := ws.worst()
	if at < 0 {
		return false
	}
	t := ws.tmp[:0]
	for i := 6; i < n-6; i++ {
		t = append(t, math.Abs(ws.res[i]))
	}
	ws.tmp = t
	ws.sd = 0
	if len(t) >= 40 {
		ws.sd = 1.4826 * median(t)
		if ws.sd > roughUnits*ws.unit {
			return true
		}
	}
	off := 0
	for i := 6; i < n-6; i++ {
		if (i < at-window || i > at+window) && math.Abs(ws.best[i]) > ws.unit && !ws.nearEnd(ws.x[i]) {
			off++
		}
	}
	return off >= 3 && off*80 > n
}

// addNoise raises the tolerance where the rows around are rough: a chart that was
// measured and not computed.
func (ws *Workspace) addNoise(from, to int) {
	const half = 16
	n := len(ws.x)
	var t [2*half + 1]float64
	last, noise := -1, 0.0
	for i := from; i < to; i++ {
		if math.Abs(ws.best[i]) <= ws.tol[i] {
			continue
		}
		if last >= 0 && i-last < 3 {
			ws.tol[i] += noise
			continue
		}
		k := 0
		lo := max(1, min(i-half, n-2*half-2))
		for j := lo; j < min(n-1, lo+2*half+1); j++ {
			if j < i-4 || j > i+4 {
				t[k] = math.Abs(ws.res[j])
				k++
			}
		}
		if k < 6 {
			continue
		}
		m := 1.4826 * middle(t[:k])
		last, noise = i, max(0, noiseTimes*m-noiseLess*ws.unit)
		if ws.rough {
			noise = max(noise, noiseTimes*m-noiseLess*ws.unit/2, roughLeast*ws.unit, roughTimes*ws.sd-inner*ws.unit)
		}
		ws.tol[i] += noise
	}
}

// middle gives the median of a few numbers, by insertion.
func middle(t []float64) float64 {
	for a := 1; a < len(t); a++ {
		for b := a; b > 0 && t[b] < t[b-1]; b-- {
			t[b], t[b-1] = t[b-1], t[b]
		}
	}
	return t[len(t)/2]
}

// bad reports whether row i does not follow its neighbours.
func (ws *Workspace) bad(i int) bool { return math.Abs(ws.best[i]) > ws.tol[i] }

func (ws *Workspace) countBad(from, to int) int {
	n := 0
	for i := max(0, from); i < min(to, len(ws.x)); i++ {
		if ws.bad(i) {
			n++
		}
	}
	return n
}
