package charts

import (
	"fmt"
	"math"

	"dropcut/plan/cell"
	"dropcut/plan/finding"
)

// doubled finds rows that stand there twice: one row right after itself, or a
// whole block pasted a second time.
func doubled(ws *Workspace) {
	for i := 1; i < len(ws.x); i++ {
		if !(ws.x[i] <= ws.x[i-1]) {
			continue
		}
		k := ws.repeats(i)
		if k == 0 {
			continue
		}
		f := finding.Finding{
			Slug: finding.RowDoubled, Severity: finding.Check,
			Found:      fmt.Sprintf("%s | %s twice", number(ws.d[i]), number(ws.v[i])),
			Expected:   "each depth once",
			Why:        "the same depth and the same volume stand in the row before",
			Suggestion: "delete one of the two, after a look whether a row was overwritten",
			Related:    []cell.Ref{ws.at(i-k, false)},
		}
		if k > 1 {
			f.Found = fmt.Sprintf("%d rows from %s | %s twice", k, number(ws.d[i]), number(ws.v[i]))
			f.Why = "the same depths and volumes stand in the rows before"
			f.To = ws.at(i+k-1, true)
		}
		ws.say(f, i, false)
		for range k {
			ws.drop(i)
		}
		i--
	}
}

// repeats gives how many rows from row i on say again what the rows right before
// it said; 0 where they do not.
func (ws *Workspace) repeats(i int) int {
	x, w, n := ws.x, ws.w, len(ws.x)
	for k := 1; k <= i && i+k <= n; k++ {
		if x[i-k] != x[i] {
			if k > 1 && x[i-k] < x[i] {
				return 0
			}
			continue
		}
		for r := range k {
			if x[i-k+r] != x[i+r] || w[i-k+r] != w[i+r] {
				return 0
			}
		}
		if k == 1 && i+1 < n && i > 1 {
			// A depth that is one step short with a volume that stays, in the flat
			// of a chart, leaves a gap of two steps behind it.
			h := x[i-1] - x[i-2]
			if math.Abs(x[i+1]-x[i]-2*h) < 0.1*h {
				return 0
			}
		}
		return k
	}
	return 0
}
