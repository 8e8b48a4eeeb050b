package charts

import (
	"fmt"
	"math"

	"dropcut/plan/finding"
	"dropcut/validate/charts/fit"
)

// How much of the top may be missing, in inches beyond two steps, before a chart
// stops early: sound charts end up to two steps short.
const (
	shortSheet = 1.2   // below a height that was measured
	shortFit   = 2.6   // below what the curve alone says
	shortShare = 0.03  // of the height, likewise
	shortName  = 3.3   // below a height by name
	shortFull  = 0.992 // of a measured capacity, upright walls
)

// How far the rows of a chart, and the tank that its curve is of, must reach
// beyond a measured height, in inches, for the chart to be another tank's.
const (
	beyondSheet = 0.33
	curveBeyond = 0.5
	curveRising = 0.85 // where the rows reach less than a step beyond it
	// endsWithin is how far a chart's last row may lie from a height that was given to a
	// quarter of an inch, of a dip whose zero lies a quarter off.
	endsWithin = 0.42
)

// anotherTank holds the tank that the chart describes against what else is known
// of the tank: its height, its capacity. At most one thing is said: the first
// that explains the difference.
func anotherTank(ws *Workspace) {
	n := len(ws.x)
	if n < least || ws.cut || len(ws.e) != n || !ws.fit.Recognised || ws.past > 0 {
		return
	}
	if ws.stopsEarly() || ws.otherHeight() {
		return
	}
	ws.otherCapacity()
}

// stopsEarly finds a chart whose last rows are missing.
func (ws *Workspace) stopsEarly() bool {
	n, r, in, step := len(ws.x), &ws.fit, ws.f.Inch, ws.lastStep()
	last := ws.x[n-1]
	h, how := ws.height()
	bySheet, byFit := (h-last-2*step)/in, (r.FullDepth-last-2*step)/in
	full := r.FullDepth
	early := false
	why := ""
	switch {
	case r.Family == fit.Straight:
		switch {
		case how == measured:
			early, full = bySheet > shortSheet, h
			if ws.form.upright {
				early = bySheet > shortSheet+0.4
			}
		case how == byName && bySheet > shortName:
			early, full = true, h
		}
		if early {
			why = "the tank is " + number(round(h, 3)) + " high"
			break
		}
		if v, sure := ws.full(); sure != unsaid && how != measured && !ws.form.lying {
			most := ws.w[n-1] * (last + 2*step) / last
			least := shortFull
			if sure == byName {
				least = 1 - nameOfFull
			}
			// In that case a chart in imperial gallons is the likelier fault.
			slack := fullWithin
			if sure == byName {
				slack = nameOfFull
			}
			inImperial := ws.f.USGallons && (math.Abs(most/v*imperial-1) < slack || math.Abs(ws.w[n-1]/v*imperial-1) < slack)
			if most < v*least && !inImperial {
				early, full = true, last*v/ws.w[n-1]
				why = "the tank holds " + ws.volume(v)
			}
		}
	case ws.form.boxed || ws.form.upright:
		return false // the curve was taken for another shape than the list's
	case how != measured && !ws.firm():
		return false // the curve is no evidence
	case !r.HeightSeen:
		// The curve does not bend toward a top at all.
		early = true
		if how != unsaid {
			full = h
			early = bySheet > 0
		}
		why = "the volumes still rise as steeply as in the middle of a tank"
	case how == measured:
		early, full = bySheet > shortSheet && math.Abs(r.Height-h) < max(1.2*in, 0.03*h)+0.35*(h-last), h
		why = fmt.Sprintf("the tank is %s high, and the curve agrees", number(round(h, 3)))
	default:
		early = byFit > max(shortFit, shortShare*full/in)
		if how == byName {
			early = early && bySheet > -nameOfWidth
		}
		why = fmt.Sprintf("the curve of the chart is that of a tank which is full at %s", number(round(full, 1)))
	}
	if !early || !(full > last) {
		return false
	}
	ws.say(finding.Finding{
		Slug: finding.ChartStopsEarly, Severity: finding.Check,
		Found:      fmt.Sprintf("the last row is %s | %s", number(ws.d[n-1]), number(ws.v[n-1])),
		Expected:   fmt.Sprintf("rows up to about %s", number(round(full, 1))),
		Why:        why + fmt.Sprintf(": %s %% of the depth is missing", number(round(100*(full-last)/full, 1))),
		Suggestion: "get the rest of the chart; a percentage of the last volume is one of too small a tank",
	}, n-1, false)
	return true
}

// otherHeight finds a chart of a tank of another inside height.
func (ws *Workspace) otherHeight() bool {
	if !ws.round() || ws.form.upright || ws.form.boxed {
		return false
	}
	h, how := ws.height()
	if how == unsaid || ws.otherUnit(ws.fit.Height/h) {
		return false
	}
	n := len(ws.x)
	r, in, last := &ws.fit, ws.f.Inch, ws.x[n-1]
	name := 0.0
	switch {
	case how == byName:
		name = nameOfWidth
	case ws.f.FaceToBottomLessRiser > 0:
		name = 0.3 // two readings of a tape more
	}
	above := (r.Height - h) / in
	rising := n - 1 // the first row of the top volume
	for rising > 0 && ws.w[rising-1] == ws.w[n-1] {
		rising--
	}
	risen := (ws.x[rising] - h) / in
	// Taller: height, full depth and the rows themselves must say so. Ribs make
	// the fitted height larger, a tilt the full depth; rows that stay where the tank
	// is full say that the chart is no taller.
	firm := ws.firm()
	taller := firm && !ws.endsAt(h, how) && min(above, (r.FullDepth-h)/in) > name+ws.blur(0.7, 0.007) && (last-h)/in > name-0.1 &&
		r.FullDepth-r.Height < 0.6*in && (rising == n-1 || risen > name+beyondSheet)
	// More than ribs do to it, the height alone is enough.
	taller = taller || firm && above > name+ws.blur(1.45, 0.015) && (last-h)/in > name-0.6
	// Rows that go on beyond a measured height: of more than 22,000 sound made
	// charts none stood more than a step and 0.25 in beyond it. Where the step holds
	// them back, rows that still rise there, of a curve that ribs do not explain.
	if how == measured {
		step := ws.lastStep()
		if a := last - ws.x[n-2]; a < 0.98*step {
			step = 0.1 * in // it ends where the tank does, and not with the grid
		}
		taller = taller || (last-h-step)/in > name+beyondSheet && above > name+max(curveBeyond, 0.005*h/in)
		ribs := 400 * r.Share * h / in / 96
		taller = taller || firm && risen > name+beyondSheet && above > name+max(curveRising, 0.0125*h/in)+ribs
	}
	lower := min(h-r.Height, (h-r.FullDepth)+0.4*in)/in > name+ws.blur(0.6, 0.0075)+0.04*r.Rise/in && h-last > 0.3*in
	if how == byName && lower {
		lower = (h-last)/in > name-zeroOff
	}
	if !taller && !lower {
		return false
	}
	v, sure := ws.full()
	same := sure != unsaid && ws.capacityOff(v, sure) == 0
	f := finding.Finding{
		Slug: finding.ChartOfAnotherDiameter, Severity: finding.Check,
		Found:      fmt.Sprintf("a chart of a tank of about %s inside, full at %s", number(round(r.Height, 1)), number(round(r.FullDepth, 1))),
		Expected:   number(round(h, 3)),
		Why:        "the curve bends as that of such a tank; the capacity differs too or is not known",
		Suggestion: "measure face to bottom and riser height: their difference is the inside diameter; then find the chart of this tank",
	}
	if ws.f.FaceToBottomLessRiser > 0 {
		f.Expected += ", which is face to bottom less riser height"
	}
	if same {
		f.Why = "the curve bends as that of such a tank, while the capacity fits: a chart of another tank of like capacity, or one that was scaled to it"
		// Tanks differ by whole inches; what was scaled differs by anything. A guess
		// on the likelier of two that look alike.
		off := (r.Height - h) / in
		if math.Abs(off-math.Round(off)) > 0.2 && math.Abs(off) < 0.085*h/in {
			f.Slug = finding.ScaledNominalChart
		}
	}
	ws.wrongHeight = h
	ws.whole(f)
	return true
}

// endsAt reports whether a chart whose curve is bent by more than rounding ends
// where a measured height says that its tank does: with a row off the grid, or with
// the last one of a fine grid. It was made for that height then, whatever ribs and
// dents did to its curve.
func (ws *Workspace) endsAt(h float64, how trust) bool {
	n, in := len(ws.x), ws.f.Inch
	step := ws.lastStep()
	odd := math.Abs(ws.x[n-1]-ws.x[n-2]-step) > 0.02*step
	return how == measured && ws.fit.Scale > 1.5*roundingScale*ws.unit && (odd || step < 0.13*in) && math.Abs(ws.x[n-1]-h) < endsWithin*in
}

// capacityOff tells by what share the chart's capacity misses the known one, 0
// where it fits. The chart may end a little short, so that what the curve says
// of the full tank counts as well as the last row.
func (ws *Workspace) capacityOff(v float64, how trust) float64 {
	n := len(ws.x)
	lo, hi := ws.w[n-1], ws.fit.Capacity
	if ws.fit.Family == fit.Straight {
		last := ws.x[n-1]
		hi = lo * (last + 2*ws.lastStep()) / last
	}
	lo, hi = min(lo, hi), max(lo, hi)
	slack := fullWithin
	if how == byName {
		slack = nameOfFull
	}
	switch {
	case hi < v*(1-slack):
		return hi/v - 1
	case lo > v*(1+slack):
		return lo/v - 1
	}
	return 0
}

// imperial is how many US gallons make an imperial one.
const imperial = 4.54609 / 3.785411784

// otherCapacity finds a chart whose height fits and whose capacity does not.
func (ws *Workspace) otherCapacity() {
	v, how := ws.full()
	if how == unsaid {
		return
	}
	off := ws.capacityOff(v, how)
	if off == 0 || ws.otherUnit(1+off) {
		return
	}
	n := len(ws.x)
	f := finding.Finding{
		Slug: finding.ChartOfAnotherLength, Severity: finding.Check,
		Found:      fmt.Sprintf("a chart of a tank that holds %s", ws.volume(max(ws.w[n-1], ws.fit.Capacity))),
		Expected:   fmt.Sprintf("about %s, as the list says", number(round(v, 1))),
		Why:        fmt.Sprintf("it is off by %s %%, while its height is not", number(round(100*off, 1))),
		Suggestion: "find the chart of this tank, or correct the capacity in the list",
	}
	if how == byName {
		f.Why += "; names of tanks are rounded by less"
	}
	slack := fullWithin
	if how == byName {
		slack = nameOfFull
	}
	if ws.f.USGallons && (math.Abs((1+off)*imperial-1) < slack || math.Abs(ws.w[n-1]/v*imperial-1) < slack) {
		f.Slug = finding.ImperialGallons
		f.Why = fmt.Sprintf("it is smaller by %s, the factor between imperial and US gallons being 1.201", number(round(1/(1+off), 3)))
		f.Suggestion = "find out in which gallons the chart was made; a shorter tank would look the same"
	}
	ws.whole(f)
}

// otherUnit reports whether a ratio is so near to one between two units that the
// reading has doubted the unit.
func (ws *Workspace) otherUnit(ratio float64) bool {
	for _, k := range [...]float64{2.54, 25.4, 12, 10, 1000, 3.785411784, 4.54609, 42, 7.48052, 264.172, 100} {
		if math.Abs(ratio/k-1) < 0.05 || math.Abs(ratio*k-1) < 0.05 {
			return true
		}
	}
	return false
}
