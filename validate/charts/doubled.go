package charts

import (
	"fmt"
	"math"

	"dropcut/plan/cell"
	"dropcut/plan/finding"
)

// mostDoubled is the largest block that is looked for a second time.
const mostDoubled = 1000

// doubled finds rows that stand there twice: one row right after itself, or a
// whole block pasted a second time. The second ones are left out from here on.
func doubled(ws *Workspace) {
	n := len(ws.x)
	j := min(1, n) // rows kept so far
	for i := 1; i < n; {
		k := 0
		if ws.x[i] <= ws.x[j-1] {
			k = ws.repeats(i, j)
		}
		if k == 0 {
			ws.move(j, i)
			i, j = i+1, j+1
			continue
		}
		f := finding.Finding{
			Slug: finding.RowDoubled, Severity: finding.Check,
			Found:      fmt.Sprintf("%s | %s twice", number(ws.d[i]), number(ws.v[i])),
			Expected:   "each depth once",
			Why:        "the same depth and the same volume stand in the row before",
			Suggestion: "delete one of the two, after a look whether a row was overwritten",
			Related:    []cell.Ref{ws.at(j-k, false)},
		}
		if k > 1 {
			f.Found = fmt.Sprintf("%d rows from %s | %s twice", k, number(ws.d[i]), number(ws.v[i]))
			f.Why = "the same depths and volumes stand in the rows before"
			f.To = ws.at(i+k-1, true)
		}
		ws.say(f, i, false)
		i += k
	}
	ws.keep(j)
}

// repeats gives how many rows from row i on say again what the last ones of the
// first j rows said; 0 where they do not.
func (ws *Workspace) repeats(i, j int) int {
	x, w, n := ws.x, ws.w, len(ws.x)
	for k := 1; k <= j && i+k <= n && k <= mostDoubled; k++ {
		if x[j-k] < x[i] {
			return 0
		}
		if x[j-k] != x[i] {
			continue
		}
		for r := range k {
			if x[j-k+r] != x[i+r] || w[j-k+r] != w[i+r] {
				return 0
			}
		}
		if k == 1 && i+1 < n && j > 1 {
			// A depth that is one step short with a volume that stays, in the flat
			// of a chart, leaves a gap of two steps behind it.
			h := x[j-1] - x[j-2]
			if math.Abs(x[i+1]-x[i]-2*h) < 0.1*h {
				return 0
			}
		}
		return k
	}
	return 0
}
