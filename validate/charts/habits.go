package charts

import (
	"fmt"
	"math"
	"strings"

	"dropcut/plan/finding"
)

// habits folds what chart makers do without meaning into one note, and says
// where the shape was not recognised.
func habits(ws *Workspace) {
	n := len(ws.x)
	if n < 3 || ws.cut {
		return
	}
	if n >= least && !ws.fit.Recognised {
		ws.whole(finding.Finding{
			Slug: finding.ShapeNotRecognised, Severity: finding.Note,
			Found:      "a curve that no simple shape of tank has",
			Expected:   "nothing else, where the tank is no simple one",
			Why:        "only local checks ran: each row was held against its neighbours, and the chart not against the tank's dimensions",
			Suggestion: "nothing needs to be done where the tank is no simple one",
		})
	}
	if r := &ws.fit; ws.round() && r.Rise > 0.03*r.Height {
		ws.whole(finding.Finding{
			Slug: finding.TiltInChart, Severity: finding.Note,
			Found:      fmt.Sprintf("the curve of a tank that rises by about %s from end to end", number(round(r.Rise, 1))),
			Expected:   "a level tank, or one that lies as the chart was made for",
			Why:        "such a curve shows at its two ends",
			Suggestion: "look whether the tank in the ground has the same rise",
		})
	}
	var list []string
	flat := 0
	for i := n - 1; i > 0 && ws.v[i] == ws.v[i-1]; i-- {
		flat++
	}
	if flat > 0 && ws.past == 0 {
		list = append(list, fmt.Sprintf("it ends flat (%s with the top volume; full is the first of them)", plural(flat+1, "row", "rows")))
	}
	if ws.d[0] == 0 && ws.v[0] > 0 {
		list = append(list, "its first volume is above 0")
	}
	if ws.v[0] == 0 && n > 4 && ws.v[1] > 0 {
		// A filler row: the first step is out of all proportion.
		first, next := (ws.v[1]-ws.v[0])/math.Max(ws.d[1]-ws.d[0], 1e-9), (ws.v[2]-ws.v[1])/math.Max(ws.d[2]-ws.d[1], 1e-9)
		if a, b := ws.d[1]-ws.d[0], ws.d[2]-ws.d[1]; a > 20*b && a > 0 && b > 0 || first > 20*next && next > 0 {
			list = append(list, "its first row is a filler of zeros")
		}
	}
	if s := ws.lastStep(); s > 0 && math.Abs(ws.d[n-1]-ws.d[n-2]-s) > 0.01*s && ws.past == 0 {
		list = append(list, fmt.Sprintf("its last step is %s where the others are %s", number(round(ws.d[n-1]-ws.d[n-2], 4)), number(round(s, 4))))
	}
	equal := 0
	for i := 1; i < n-1-flat; i++ {
		if ws.v[i] == ws.v[i-1] && !ws.told[i] && !ws.told[i-1] {
			equal++
		}
	}
	if equal > 0 {
		list = append(list, fmt.Sprintf("equal neighbours within the rounding (%d)", equal))
	}
	if len(list) == 0 {
		return
	}
	ws.whole(finding.Finding{
		Slug: finding.ChartHabits, Severity: finding.Note,
		Found:      strings.Join(list, "; "),
		Expected:   "nothing else: these are habits of chart makers",
		Why:        "they do not change the shutoff",
		Suggestion: "nothing needs to be done",
	})
}
