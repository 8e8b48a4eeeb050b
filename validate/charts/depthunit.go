package charts

import (
	"fmt"
	"math"

	"dropcut/plan/finding"
)

// factor is how two units that people confuse stand to each other.
type factor struct {
	by   float64
	says string
}

// Factors of depth, each exact by the definition of the inch (25.4 mm).
var depthFactors = [...]factor{
	{2.54, "from inches to centimetres"},
	{1 / 2.54, "from centimetres to inches"},
	{25.4, "from inches to millimetres"},
	{1 / 25.4, "from millimetres to inches"},
	{12, "from feet to inches"},
	{1. / 12, "from inches to feet"},
	{10, "from centimetres to millimetres"},
	{0.1, "from millimetres to centimetres"},
	{30.48, "from feet to centimetres"},
	{1 / 30.48, "from centimetres to feet"},
	{100, "from metres to centimetres"},
	{0.01, "from centimetres to metres"},
	{1000, "from metres to millimetres"},
	{0.001, "from millimetres to metres"},
}

// depthUnit finds the row from which on depths stand in another unit: both the
// depth and the step from row to row are multiplied there.
func depthUnit(ws *Workspace) {
	x, n := ws.x, len(ws.x)
	if n < least {
		return
	}
	for i := 3; i < n-2; i++ {
		h1, h2 := x[i-1]-x[i-2], x[i+1]-x[i]
		if !(h1 > 0 && h2 > 0) || h2 < 2*h1 && h1 < 2*h2 {
			continue
		}
		// A second step on either side, so that one odd depth is no change.
		if s := x[i-2] - x[i-3]; !(math.Abs(s-h1) <= 0.25*h1) {
			continue
		}
		if s := x[i+2] - x[i+1]; !(math.Abs(s-h2) <= 0.35*h2) && i+2 != n-1 {
			continue
		}
		j := min(i+8, n-2)
		mean := h2
		if j > i+1 {
			mean = (x[j] - x[i]) / float64(j-i)
		}
		for _, k := range depthFactors {
			fine := 0.011 // two decimals
			if math.Abs(mean-k.by*h1) > 0.02*k.by*h1+fine/float64(max(j-i, 1)) {
				continue
			}
			if math.Abs(x[i]-k.by*(x[i-1]+h1)) > 0.25*k.by*h1+fine {
				continue
			}
			end := ws.endOfUnit(i, h1, k.by)
			ws.say(finding.Finding{
				Slug: finding.DepthUnitChangesMidway, Severity: finding.Stop,
				Found:      fmt.Sprintf("depth %s after %s, and steps of about %s after steps of %s", number(x[i]), number(x[i-1]), number(round(mean, 3)), number(h1)),
				Expected:   fmt.Sprintf("about %s", number(x[i-1]+h1)),
				Why:        fmt.Sprintf("depth and step are both multiplied by %s: the unit changes %s", number(round(k.by, 4)), k.says),
				Suggestion: "find out in which unit each part of the chart was written, and bring both into one",
				// The row is known by its depth in the unit that the chart began with.
				Depth: number(round(x[i-1]+h1, 6)),
			}, i, false)
			for r := i; r < end; r++ {
				y := x[r] / k.by
				if m := math.Round((y - x[i-1]) / h1); math.Abs(y-x[i-1]-m*h1) < 0.1*h1 || math.Abs(y-x[i-1]-m*h1) < fine/k.by {
					y = x[i-1] + m*h1
				}
				ws.x[r] = y
			}
			break
		}
	}
}

// endOfUnit gives the row at which the first unit is taken up again, or n.
func (ws *Workspace) endOfUnit(i int, h, by float64) int {
	x, n := ws.x, len(ws.x)
	for r := i + 1; r < n; r++ {
		if math.Abs(x[r]-(x[r-1]/by+h)) < 0.5*h && math.Abs(x[r]-x[r-1]-h*by) > 2*h {
			return r
		}
	}
	return n
}

func round(f float64, digits int) float64 {
	p := math.Pow(10, float64(digits))
	return math.Round(f*p) / p
}
