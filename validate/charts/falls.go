package charts

import (
	"fmt"

	"dropcut/plan/cell"
	"dropcut/plan/finding"
)

// falls names volumes that fall from one row to the next and that nothing has
// explained. No tank does that, and no rounding.
func falls(ws *Workspace) {
	w := ws.w
	slack := 1e-9
	if ws.blurred > 0 {
		slack = ws.unit * max(1, ws.blurred)
	}
	first, count := -1, 0
	for i := 1; i < len(w); i++ {
		if ws.told[i] || ws.told[i-1] || w[i] >= w[i-1]-slack {
			continue
		}
		count++
		if first < 0 {
			first = i
		}
	}
	if first < 0 {
		return
	}
	f := finding.Finding{
		Slug: finding.VolumeFalls, Severity: finding.Stop,
		Found:      fmt.Sprintf("%s after %s", number(ws.v[first]), number(ws.v[first-1])),
		Expected:   "a volume that does not fall as the depth grows",
		Why:        "no tank holds less when it is fuller",
		Suggestion: "look at the original chart and correct the row that is wrong",
		Related:    []cell.Ref{ws.at(first-1, true)},
	}
	if count > 1 {
		f.Found += fmt.Sprintf(", and in %s more", plural(count-1, "place", "places"))
	}
	ws.say(f, first, true)
}
