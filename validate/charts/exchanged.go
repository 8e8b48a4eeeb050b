package charts

import (
	"fmt"
	"math"

	"dropcut/plan/cell"
	"dropcut/plan/finding"
)

// reach is how far apart exchanged rows are looked for.
const reach = 4

// exchangedRows finds two rows that have changed places, with their volumes or
// with their depths alone: put back, the depths rise in even steps again.
func exchangedRows(ws *Workspace) {
	x := ws.x
	for i := 1; i < len(x); i++ {
		if x[i] >= x[i-1] {
			continue
		}
		// The row before the fall came too early; one of those from here on is
		// the other.
		a := i - 1
		for b := i; b < min(len(x), a+reach+1); b++ {
			if !ws.evenWhenExchanged(a, b) {
				continue
			}
			ws.sayExchanged(a, b)
			break
		}
	}
}

// evenWhenExchanged reports whether the depths around two rows rise, and in even
// steps where the chart has them, once the two are exchanged.
func (ws *Workspace) evenWhenExchanged(a, b int) bool {
	x := ws.x
	x[a], x[b] = x[b], x[a]
	defer func() { x[a], x[b] = x[b], x[a] }()
	lo, hi := max(1, a-1), min(len(x)-1, b+2)
	even, last := true, 0.0
	for i := lo; i <= hi; i++ {
		s := x[i] - x[i-1]
		if !(s > 0) {
			return false
		}
		if last > 0 && math.Abs(s-last) > 0.02*last && i < len(x)-1 {
			even = false
		}
		last = s
	}
	if even {
		return true
	}
	// Uneven steps: then the volumes must agree that the rows changed places.
	lo, hi = max(0, a-1), min(len(x)-1, b+1)
	w := ws.w
	w[a], w[b] = w[b], w[a]
	rises := true
	for i := lo + 1; i <= hi; i++ {
		rises = rises && w[i] >= w[i-1]
	}
	w[a], w[b] = w[b], w[a]
	return rises
}

func (ws *Workspace) sayExchanged(a, b int) {
	f := finding.Finding{
		Slug: finding.RowsExchanged, Severity: finding.Check,
		Found:      fmt.Sprintf("depth %s after %s", number(ws.d[b]), number(ws.d[b-1])),
		Expected:   "depths that rise from row to row",
		Suggestion: "look at the original chart and put the two in order",
		Related:    []cell.Ref{ws.at(a, false)},
	}
	ws.x[a], ws.x[b] = ws.x[b], ws.x[a]
	if ws.w[a] >= ws.w[b] && ws.w[a] != ws.w[b] {
		ws.w[a], ws.w[b] = ws.w[b], ws.w[a]
		f.Why = fmt.Sprintf("with the rows of %s and %s exchanged, depths and volumes rise evenly", number(ws.d[a]), number(ws.d[b]))
	} else {
		f.Why = fmt.Sprintf("with the depths %s and %s exchanged, the depths rise evenly; the volumes are in order as they stand", number(ws.d[a]), number(ws.d[b]))
	}
	ws.say(f, b, false)
	ws.told[a], ws.told[b] = true, true
}
