package charts

import (
	"fmt"

	"dropcut/plan/cell"
	"dropcut/plan/finding"
)

// back names what is left of depths that do not rise. Without an explanation
// there is no curve to judge further.
func back(ws *Workspace) {
	x := ws.x
	for i := 1; i < len(x); i++ {
		switch {
		case x[i] > x[i-1]:
			continue
		case x[i] == x[i-1]:
			ws.say(finding.Finding{
				Slug: finding.SameDepthTwice, Severity: finding.Stop,
				Found:      fmt.Sprintf("depth %s with %s and with %s", number(ws.d[i]), number(ws.v[i-1]), number(ws.v[i])),
				Expected:   "one volume for each depth",
				Why:        "one of the two belongs to another depth, or to another chart",
				Suggestion: "look at the original chart and correct the row that is wrong",
				Related:    []cell.Ref{ws.at(i-1, false)},
			}, i, false)
		default:
			ws.say(finding.Finding{
				Slug: finding.DepthRunsBack, Severity: finding.Stop,
				Found:      fmt.Sprintf("depth %s after %s", number(ws.d[i]), number(ws.d[i-1])),
				Expected:   "depths that rise from row to row",
				Why:        "the rows are out of order, a depth is wrong, or rows of another tank stand among them",
				Suggestion: "look at the original chart and correct the depth",
				Related:    []cell.Ref{ws.at(i-1, false)},
			}, i, false)
		}
		// One is enough to look at; the rows before it are judged further.
		ws.keep(i)
		ws.cut = true
		return
	}
}
