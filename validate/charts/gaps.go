package charts

import (
	"fmt"
	"math"

	"dropcut/plan/cell"
	"dropcut/plan/finding"
)

// gaps finds rows that are missing, and depths that are shifted by whole steps
// from one row on. Both leave a wrong step of depth; the volumes tell which: where
// rows are missing, the volume makes the same leap as the depth.
func gaps(ws *Workspace) {
	n := len(ws.x)
	if n < 6 {
		return
	}
	step, share, tol := ws.stepOf(ws.x)
	shifts := 0
	for i := 2; i < n-1; i++ {
		x := ws.x
		s := x[i] - x[i-1]
		h, fuzz := ws.stepAround(i, step, tol, share)
		if !(h > 0) || math.Abs(s-h) <= 2*fuzz {
			continue
		}
		m := math.Round(s / h)
		if math.Abs(s-m*h) > max(2*fuzz, 0.02*h) || m == 1 || m > 60 || m < -60 {
			continue
		}
		// The rows on both sides must keep one step: else the chart only changes
		// its step here.
		if math.Abs(x[i-1]-x[i-2]-h) > 2*fuzz || i < n-2 && math.Abs(x[i+1]-x[i]-h) > 2*fuzz {
			continue
		}
		if m >= 2 && !ws.shiftFits(i, h, m-1) {
			// A row that stands there and cannot be read has its own finding.
			if ws.unreadableBetween(i) < int(m)-1 {
				ws.sayMissing(i, h, int(m)-1)
			}
			continue
		}
		if m < 1 && !ws.risesAcross(i) {
			continue
		}
		f := finding.Finding{
			Slug: finding.DepthStepWrong, Severity: finding.Check,
			Found:      fmt.Sprintf("depth %s after %s", number(ws.d[i]), number(ws.d[i-1])),
			Expected:   number(round(x[i-1]+h, 6)),
			Suggestion: "look at the original chart and correct the depths from this row on",
			Related:    []cell.Ref{ws.at(i-1, false)},
		}
		if m >= 2 {
			f.Why = fmt.Sprintf("the depth leaps by %s steps, the volume by one: the depths are shifted from here on", number(m))
		} else {
			f.Why = "the volumes go on rising, each for the next step: the depths are shifted from here on"
		}
		f.Depth = number(round(x[i-1]+h, 6))
		ws.say(f, i, false)
		if shifts++; shifts > mostAlike {
			return // every further one would move all rows behind it again
		}
		for r := i; r < n; r++ {
			ws.x[r] -= (m - 1) * h
		}
	}
}

// unreadableBetween counts the rows of the chart between row i and the one before
// it that lack a number.
func (ws *Workspace) unreadableBetween(i int) (n int) {
	for r := min(ws.row[i-1], ws.row[i]) + 1; r < max(ws.row[i-1], ws.row[i]); r++ {
		if c := &ws.c.Rows[r]; math.IsNaN(c.Depth) || math.IsNaN(c.Volume) {
			n++
		}
	}
	return n
}

// shiftFits reports whether the volumes around row i follow better when the rows
// from i on are moved down by some steps of depth.
func (ws *Workspace) shiftFits(i int, h, steps float64) bool {
	misfit := func(shift float64) float64 {
		// Both sides by a straight line through three rows, which is enough to
		// tell one step from two.
		return math.Abs(ws.lineThrough(i-3, i, ws.x[i]-shift)-ws.w[i]) + math.Abs(ws.lineThrough(i, i+3, ws.x[i-1]+shift)-ws.w[i-1])
	}
	a, b := misfit(0), misfit(steps*h)
	return b < a
}

// lineThrough gives the value at a depth of the straight line through rows
// from..to-1 by least squares; few rows near the ends.
func (ws *Workspace) lineThrough(from, to int, at float64) float64 {
	from, to = max(0, from), min(len(ws.x), to)
	if to-from < 2 {
		return ws.w[min(max(from, 0), len(ws.w)-1)]
	}
	degree := 1
	return fitAt(ws.x, ws.w, from, to, -1, at, ws.x[to-1]-ws.x[from], degree)
}

// risesAcross reports whether the volumes rise from the rows before i to those
// after it as if no depth were wrong.
func (ws *Workspace) risesAcross(i int) bool {
	return ws.w[i] >= ws.w[i-1] && ws.w[min(i+1, len(ws.w)-1)] >= ws.w[i]
}

func (ws *Workspace) sayMissing(i int, h float64, k int) {
	x := ws.x
	first := round(x[i-1]+h, 6)
	f := finding.Finding{
		Slug: finding.RowMissing, Severity: finding.Check,
		Found:      fmt.Sprintf("depth %s after %s", number(ws.d[i]), number(ws.d[i-1])),
		Expected:   "a row at " + number(first),
		Why:        fmt.Sprintf("the rows around it are %s apart, and the volume makes the same leap as the depth", number(round(h, 6))),
		Suggestion: "look at the original chart and put the row in",
		Depth:      number(first),
	}
	if k > 1 {
		f.Expected = fmt.Sprintf("%d rows from %s to %s", k, number(first), number(round(x[i]-h, 6)))
		f.Suggestion = "look at the original chart and put the rows in"
	}
	ws.say(f, i, false)
}
