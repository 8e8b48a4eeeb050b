package charts

import (
	"math"

	"dropcut/validate/charts/fit"
)

// What the last rows say by themselves of where the tank is full. A lying tank
// narrows towards its top, so that no step there adds more than the one before it:
// that holds for every shape the fit knows, for any ends, ribs and tilt, and needs
// no dimension of the tank.

// mostPast is how many rows are looked at as rows past full.
const mostPast = 13

// topThird is where the top begins: the slope falls from the middle on.
const topThird = 2. / 3

// kinkShare is by how much of the usual step a step must differ from it to be told
// from the waves of a measured curve, where the walls are straight.
const kinkShare = 0.1

// endedAt finds a row off the grid of depths after which the grid goes on: the
// full depth, at which a chart ends that is made for its tank, with rows that were
// filled in below it later. It counts where two rows or more follow, and it stands
// at the measured height h (0 where there is none), or none of them adds anything,
// or what they add does not follow the rows before. 0 for none.
func (ws *Workspace) endedAt(step, h float64) int {
	x, w, n := ws.x, ws.w, len(ws.x)
	for i := max(4, n-1-mostPast); i < n-2; i++ {
		a := x[i] - x[i-1]
		if !(a > 0.02*step && a < 0.98*step) || math.Abs(x[i+1]-x[i-1]-step) > 0.02*step ||
			math.Abs(x[i-1]-x[i-2]-step) > 0.02*step || math.Abs(x[i+2]-x[i+1]-step) > 0.02*step {
			continue
		}
		if w[i] == w[n-1] || math.Abs(x[i]-h) < endsWithin*ws.f.Inch {
			return i
		}
		// The slope before the row against the ones behind it, each as exact as the
		// rounding of its two volumes lets it be.
		before := (w[i] - w[i-2]) / (x[i] - x[i-2])
		slack := ws.unit / (x[i] - x[i-2])
		for _, j := range [2]int{i + 1, n - 1} {
			d := x[j] - x[i]
			off := (w[j]-w[i])/d - before
			if ws.fit.Family != fit.Straight {
				off = max(off, 0) // that it falls is what such a tank does
			}
			if rounding := slack + ws.unit/d + kinkShare*math.Abs(before); math.Abs(off) > rounding && math.Abs(off) > rounding+ws.noise()/d {
				return i
			}
		}
	}
	return 0
}

// noise is by how much the volumes of a chart that was measured may be off beyond
// their rounding: some standard deviations of what they differ by from their
// neighbours, less what rounding alone does. It is asked for seldom, so that it is
// worked out each time.
func (ws *Workspace) noise() float64 {
	const times = 4.5
	t := ws.tmp[:0]
	for i := 2; i < len(ws.res)-2; i++ {
		t = append(t, math.Abs(ws.res[i]))
	}
	ws.tmp = t
	if len(t) == 0 {
		return 0
	}
	sd := 1.4826 * median(t)
	return times * math.Sqrt(max(0, sd*sd-0.45*0.45*ws.unit*ws.unit))
}

// risesAgain finds the row from which on the steps of volume near the top are larger
// than the one before, 0 for none: rows that were filled in behind the full tank
// with a step that was usual below it. Of sound charts the bound is never passed,
// but for the rounding, which is allowed for.
func (ws *Workspace) risesAgain(step float64) int {
	x, w, n := ws.x, ws.w, len(ws.x)
	if ws.rough || ws.lines.every > 0 && ws.lines.every > 2.5*step {
		return 0
	}
	straight := ws.fit.Family == fit.Straight || ws.form.boxed || ws.form.upright
	usual := w[n-1] / x[n-1]
	odd := 0.0
	if a := x[n-1] - x[n-2]; math.Abs(a-step) > 0.02*step {
		odd = ws.f.Inch / 32 // such a depth was read off a tape
	}
	at, most, noise := 0, 0.0, -1.0
	for i := max(4, n-1-mostPast); i < n-2; i++ {
		if x[i] < topThird*x[n-1] {
			continue
		}
		behind := x[n-1] - x[i]
		after := (w[n-1] - w[i]) / behind
		for m := 1; m <= 4 && i-m > 0; m++ {
			d := x[i] - x[i-m]
			before := (w[i] - w[i-m]) / d
			slack := ws.unit*(1/behind+1/d) + odd/behind*after
			if straight {
				slack += 1.5 * kinkShare * usual
			}
			if off := (after - before) / (1.05 * slack); off > 1 && off > most {
				if noise < 0 {
					noise = ws.noise()
				}
				if off = (after - before) / (1.05*slack + noise*(1/behind+1/d)); off > 1 && off > most {
					at, most = i, off
				}
			}
		}
	}
	return at
}

// flatPast reports whether the rows stay at the top volume for longer than from
// where the tank may be full to the one row that is usual behind it. A volume is
// the full one, to its rounding, from a little below the top on.
func (ws *Workspace) flatPast(flat int, step float64) bool {
	n, r := len(ws.x), &ws.fit
	if n-1-flat < 2 || flat == 0 || ws.rough {
		return false
	}
	u := 1.2*ws.unit + ws.noise()
	below := 0.0
	if r.Family == fit.Straight {
		below = u / r.PerDepth
	} else {
		top := min(r.FullDepth+r.Rise/2, ws.x[n-1])
		full := r.Volume(top)
		lo, hi := 0.0, 0.2*r.Height
		for range 30 {
			if below = (lo + hi) / 2; full-r.Volume(top-below) < u {
				lo = below
			} else {
				hi = below
			}
		}
		below = max(below, ws.wedge(u))
	}
	return ws.x[n-1]-ws.x[flat]-1.25*below-step > 0.12*ws.f.Inch
}

// wedge gives how far below the top a tank that is dipped near its high end is full
// but for a volume u: what lacks at a depth g below the top is then a wedge of the
// round section, the integral of 4/3 sqrt(2R) y^1.5 along the tank, 8/15 shell
// sqrt(2R) g^2.5 / rise. The rise is that of the fit, or what its offset would
// come from, were it a tilt.
func (ws *Workspace) wedge(u float64) float64 {
	r := &ws.fit
	rise := max(r.Rise, 2.3*r.Offset)
	shell := r.Slope(r.Height/2-r.Offset) / r.Height
	if !(rise > 0 && shell > 0) {
		return 0
	}
	return math.Pow(u*rise*15/(8*shell*math.Sqrt(r.Height)), 0.4)
}

// upTo gives how deep the last row lies by its volume, where the walls are
// straight: a last row that stands for the full tank says less than its depth.
func (ws *Workspace) upTo() float64 {
	n, r := len(ws.x), &ws.fit
	j := n - 6
	i := max(1, j-12)
	if j-i < 4 {
		return ws.x[n-1]
	}
	slope := (ws.w[j] - ws.w[i]) / (ws.x[j] - ws.x[i])
	if r.Rise > 0 {
		slope = max(slope, r.PerDepth)
	}
	if !(slope > 0) {
		return ws.x[n-1]
	}
	return min(ws.x[n-1], ws.x[j]+(ws.w[n-1]-ws.w[j])/slope)
}
