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
)

// pastFull finds rows beyond the full tank: two or more that repeat its volume,
// or go on rising.
func pastFull(ws *Workspace) {
	n := len(ws.x)
	if n < least || ws.cut || len(ws.e) != n {
		return
	}
	step, in, last := ws.lastStep(), ws.f.Inch, ws.x[n-1]
	flat := n - 1 // the first row of the top volume
	for flat > 0 && ws.w[flat-1] == ws.w[n-1] {
		flat--
	}
	h, how := ws.height()
	top, past := math.NaN(), false
	r := &ws.fit
	switch {
	case ws.round():
		top = r.FullDepth
		past = ws.firmBelow() && last-max(top, r.Height)-step > pastFit*in
		if how == measured && math.Abs(r.Height-h) < 1.5*in {
			past = past || last-max(top, h)-step > pastSheet*in
			if math.Abs(top-h) < 0.6*in {
				top = h
			}
		}
		if n-1-flat >= 2 {
			// It stays where the tank is not full yet.
			rise := r.Volume(ws.x[flat+1]) - ws.w[flat]
			past = past || rise > max(4*ws.unit, 0.0008*r.Capacity, 6*r.Scale) && last-top > 0
			top = min(top, ws.x[flat]+0.4*step)
		}
		past = past || ws.firmBelow() && ws.w[n-1]-r.Capacity > max(0.004*r.Capacity, 6*ws.unit) && last-top > step
	case r.Recognised && r.Family == fit.Straight:
		// Walls that end: the volume stays for two rows and more.
		if n-1-flat >= 2 && flat > 0 && r.PerDepth*(last-ws.x[flat]-step) > 2.5*ws.unit {
			past, top = true, ws.x[flat]
		}
		if how == measured {
			slack := pastSheet
			if ws.form.upright && math.Abs(h/in-math.Round(h/in)) < 0.01 {
				slack = pastLevel
			}
			if last-h-step > slack*in {
				past = true
				top = min(h, ws.x[n-2])
				if n-1-flat >= 2 {
					top = ws.x[flat]
				}
			}
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
