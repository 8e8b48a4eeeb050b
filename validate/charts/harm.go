package charts

import (
	"math"

	"dropcut/plan/finding"
	"dropcut/plan/shape"
)

// hair is what a shutoff may pass the limit by before a finding becomes a stop,
// as a share of the capacity: the rounding of a small chart.
const hair = 0.0005

// judge raises findings to a stop where trusting the chart would set the shutoff
// above the limit: the depth that its rows give, filled up in the tank that it is
// believed to be.
func (ws *Workspace) judge() {
	worst := finding.Worst(ws.out)
	if worst != finding.Check {
		return
	}
	depth, share := ws.trusted()
	if math.IsNaN(share) {
		return
	}
	for i := range ws.out {
		f := &ws.out[i]
		if f.Severity != finding.Check {
			continue
		}
		switch {
		case share > ws.limit+hair:
			f.Severity = finding.Stop
			f.Why += "; a shutoff set by the chart as it stands, at " + number(round(depth, 3)) + ", would fill the tank to " + number(round(100*share, 1)) + " %"
		case f.Slug == finding.ChartNotSmooth && ws.firm() && ws.offBy > hair*ws.w[len(ws.w)-1] && ws.nearShutoff(f, depth):
			f.Severity = finding.Stop
			f.Why += "; it lies where the flow is to be stopped"
		}
	}
}

// trusted gives the shutoff depth that a trusting reader takes from the file, and
// how full the tank then is, as far as the audit can tell. NaN where it cannot.
func (ws *Workspace) trusted() (depth, share float64) {
	c, n := ws.c, len(ws.x)
	nan := math.NaN()
	if n < 2 || ws.cut {
		return nan, nan
	}
	// The file's last row, and the first one from the top that the limit allows.
	last := len(c.Rows) - 1
	for last > 0 && !(ok(c.Rows[last].Depth) && ok(c.Rows[last].Volume)) {
		last--
	}
	want := ws.limit * c.Rows[last].Volume
	depth = nan
	for i := last; i >= 0; i-- {
		if c.Rows[i].Volume <= want && ok(c.Rows[i].Depth) {
			depth = c.Rows[i].Depth
			break
		}
	}
	if math.IsNaN(depth) {
		return nan, nan
	}
	if ws.wrongHeight > 0 {
		// The depth in a tank of the right height and of level ends: what lies
		// above the limit there does so whatever its length.
		r := ws.wrongHeight / 2
		h := min(max(depth+ws.fit.Offset, 0), 2*r)
		a, _ := shape.Segment(r, h)
		return depth, a / (math.Pi * r * r)
	}
	top := n - 1
	if ws.past > 0 {
		top = ws.past - 1
	}
	full := ws.w[top]
	if !(full > 0) {
		return nan, nan
	}
	i := 0
	for i < n && ws.x[i] <= depth {
		i++
	}
	switch {
	case i == 0:
		return depth, ws.w[0] / full
	case i > top:
		return depth, 1
	}
	w := ws.w[i-1]
	if s := ws.x[i] - ws.x[i-1]; s > 0 {
		w += (ws.w[i] - w) * (depth - ws.x[i-1]) / s
	}
	return depth, w / full
}

// nearShutoff reports whether a finding's row lies within a tenth of the shutoff
// depth.
func (ws *Workspace) nearShutoff(f *finding.Finding, depth float64) bool {
	for i := range ws.x {
		if ws.at(i, true) == f.At {
			return math.Abs(ws.x[i]-depth) < 0.1*depth
		}
	}
	return false
}
