package charts

import (
	"fmt"
	"math"
	"slices"

	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/validate/charts/fit"
)

// Rows past full, in inches beyond one step after the full depth. One row past
// full is usual.
const (
	pastFit   = 0.5  // beyond what the curve says
	pastSheet = 0.28 // beyond both the curve and a measured height
	// aboveFull is by what share the last volume may pass a measured capacity.
	aboveFull = 0.002
	// pastLevel is for the height of an upright tank that is given to the inch.
	pastLevel = 0.62
	// levelZero is how far below the bottom the zero of the dip may lie, in inches,
	// before a level tank of a measured height is held to end above it.
	levelZero = 0.25
)

// pastFull finds rows beyond the full tank: two or more that repeat its volume,
// or go on rising.
func pastFull(ws *Workspace) {
	n := len(ws.x)
	if n < least || ws.cut || len(ws.e) != n {
		return
	}
	step, in := ws.lastStep(), ws.f.Inch
	flat := n - 1 // the first row of the top volume
	for flat > 0 && ws.w[flat-1] == ws.w[n-1] {
		flat--
	}
	h, how := ws.height()
	top, past := math.NaN(), false
	r := &ws.fit
	switch {
	case ws.round():
		top, past = ws.pastRound(flat, step, h, how)
	case r.Recognised && r.Family == fit.Straight:
		top, past = ws.pastLevels(flat, step, h, how)
	}
	shaped := ws.shaped(h, how)
	if !past && (shaped || ws.form.lying) {
		known := 0.0
		if how == measured {
			known = h
		}
		if i := ws.endedAt(step, known); i > 0 {
			past, top = true, ws.x[i]
		}
	}
	if !past && shaped {
		if i := ws.risesAgain(step); i > 0 {
			past, top = true, ws.x[i]
		} else if ws.flatPast(flat, step) {
			past, top = true, ws.x[flat]
		}
	}
	if v, sure := ws.full(); !past && sure == measured && ws.w[n-1] > v*(1+aboveFull)+2*ws.unit && ws.w[n-1] < 1.1*v && r.Recognised {
		// More than the tank holds, at a depth where it is full.
		i := n - 1
		for i > 0 && ws.w[i-1] > v {
			i--
		}
		at := ws.x[i]
		if i > 0 && ws.w[i] > ws.w[i-1] {
			at -= (ws.w[i] - v) / (ws.w[i] - ws.w[i-1]) * (ws.x[i] - ws.x[i-1])
		}
		fits := how == unsaid || math.Abs(at-h) < (zeroOff+0.1)*in || how == byName && math.Abs(at-h) < (nameOfWidth+0.1)*in
		if ws.round() {
			fits = math.Abs(r.Capacity/v-1) < fullWithin && math.Abs(at-r.FullDepth) < 2*in+step
		}
		if fits && n-i >= 2 {
			past, top = true, at
		}
	}
	if !past {
		return
	}
	s := ws.firstPast(top, step)
	if s >= n {
		return
	}
	ws.takeBack(s - tailRows)
	ws.say(finding.Finding{
		Slug: finding.RowsPastFull, Severity: finding.Check,
		Found:      fmt.Sprintf("%s up to depth %s", plural(n-s, "row", "rows"), number(ws.d[n-1])),
		Expected:   "a chart that ends with the full tank, at about " + number(round(top, 2)),
		Why:        ws.whyPast(top, h, how),
		Suggestion: "measure the inside height; delete the rows beyond it, for a plan takes its percentage of the last volume",
		To:         ws.at(n-1, true),
	}, s, false)
	ws.past = s
}

// pastRound holds the last rows of a lying tank, of which flat is the first one of
// the top volume, against the top of the fitted tank and of the list's.
func (ws *Workspace) pastRound(flat int, step, h float64, how trust) (top float64, past bool) {
	n, in, r := len(ws.x), ws.f.Inch, &ws.fit
	last := ws.x[n-1]
	top = r.FullDepth
	// Measured charts' waves draw the fitted top down.
	waves := max(0, r.Scale-roundingScale*ws.unit) / r.Capacity
	past = ws.firmBelow() && last-max(top, r.Height)-step > (pastFit+min(0.25, 700*waves))*in
	if how == measured && math.Abs(r.Height-h) < 1.5*in {
		past = past || last-max(top, h)-step > pastSheet*in
		if math.Abs(top-h) < 0.6*in {
			top = h
		}
	}
	if how == byName && r.Height < h+nameOfWidth*in && last-h-step > (nameOfWidth+pastFit)*in {
		past = true
	}
	if n-1-flat >= 2 {
		// It stays where the tank is not full yet.
		rise := r.Volume(ws.x[flat+1]) - ws.w[flat]
		past = past || rise > max(4*ws.unit, 0.0008*r.Capacity, 6*r.Scale) && last-top > 0
		top = min(top, ws.x[flat]+0.4*step)
	}
	past = past || ws.firmBelow() && ws.w[n-1]-r.Capacity > max(0.004*r.Capacity, 6*ws.unit) && last-top > step
	return top, past
}

// pastLevels does the same where the walls are straight: their end shows where the
// volume stays, and else by a known height alone.
func (ws *Workspace) pastLevels(flat int, step, h float64, how trust) (top float64, past bool) {
	n, in, r := len(ws.x), ws.f.Inch, &ws.fit
	last := ws.x[n-1]
	if n-1-flat >= 2 && flat > 0 && r.PerDepth*(last-ws.x[flat]-step) > 2.5*ws.unit {
		top, past = ws.x[flat], true
	}
	reach := ws.upTo() - h - 1.2*ws.unit/r.PerDepth
	switch how {
	case measured:
		slack := pastSheet
		if ws.form.upright && math.Abs(h/in-math.Round(h/in)) < 0.01 {
			slack = pastLevel
		}
		if last-h-step > slack*in || reach > (slack+levelZero)*in {
			top, past = min(h, ws.x[n-2]), true
			if n-1-flat >= 2 {
				top = ws.x[flat]
			}
		}
	case byName:
		if reach > (nameOfWidth+pastSheet+levelZero)*in {
			top, past = min(h+nameOfWidth*in, ws.x[n-2]), true
		}
	}
	return top, past
}

// shaped reports whether the tank is one of the shapes that the last rows can be
// judged by: by its curve, or by a height that others know and the curve has too.
func (ws *Workspace) shaped(h float64, how trust) bool {
	r := &ws.fit
	switch {
	case !r.Recognised || r.Within < firmWithin:
		return false
	case r.Family == fit.Straight || ws.round() && ws.firmBelow():
		return true
	case how == unsaid || !ws.round():
		return false
	}
	most := 1.5
	if how == byName {
		most = nameOfWidth
	}
	return math.Abs(r.Height-h) < most*ws.f.Inch
}

// tailRows is how far before the first row past full the curve breaks.
const tailRows = 4

// takeBack takes back what was said of single volumes and of blocks from a row on:
// rows past full are why they do not follow.
func (ws *Workspace) takeBack(from int) {
	if len(ws.over) > 0 {
		return
	}
	at := map[cell.Ref]bool{}
	for i := max(0, from); i < len(ws.x); i++ {
		at[ws.at(i, true)] = true
	}
	ws.out = slices.DeleteFunc(ws.out, func(f finding.Finding) bool {
		switch f.Slug {
		case finding.WrongDigit, finding.DigitsSwapped, finding.VolumeRepeated, finding.BlockShiftedOneRow, finding.ChartNotSmooth:
			return at[f.At]
		}
		return false
	})
}

// firstPast gives the first row that lies beyond the full depth: the one after a
// row off the grid near the end, which is where the chart once ended, or the
// first one clearly deeper than top.
func (ws *Workspace) firstPast(top, step float64) int {
	x, n := ws.x, len(ws.x)
	for i := max(2, n-14); i < n-1; i++ {
		if a := x[i] - x[i-1]; a > 0 && a < 0.98*step && math.Abs(x[i+1]-x[i-1]-step) < 0.02*step && math.Abs(x[i]-top) < 1.2*ws.f.Inch+step {
			return i + 1
		}
	}
	s := n
	for s > 1 && x[s-1] > top+0.3*step {
		s--
	}
	return s
}

func (ws *Workspace) whyPast(top, h float64, how trust) string {
	s := fmt.Sprintf("the curve of the chart is that of a tank which is full at %s", number(round(top, 2)))
	if how != unsaid {
		s += fmt.Sprintf("; its height is given as %s", number(round(h, 3)))
	}
	return s
}
