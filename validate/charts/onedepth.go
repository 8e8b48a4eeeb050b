package charts

import (
	"fmt"
	"math"

	"dropcut/plan/finding"
)

// oneDepth finds single depths that do not lie on the grid of the others: with
// the row taken out, two steps lie between its neighbours.
func oneDepth(ws *Workspace) {
	x, n := ws.x, len(ws.x)
	if n < 5 {
		return
	}
	step, share, tol := ws.stepOf(x)
	for i := 1; i < n-1; i++ {
		h, fuzz := ws.stepAround(i, step, tol, share)
		if !(h > 0) || math.Abs(x[i]-x[i-1]-h) <= fuzz && math.Abs(x[i+1]-x[i]-h) <= fuzz {
			continue
		}
		// The row after may be the last one, which may be odd.
		gap := x[i+1] - x[i-1]
		wrong := math.Abs(gap-2*h) <= 2*fuzz && math.Abs(x[i]-x[i-1]-h) > 2*fuzz
		if i == n-2 && !wrong {
			wrong = gap > h+fuzz && gap < 2*h-fuzz && math.Abs(x[i]-x[i-1]-h) > 2*fuzz && (x[i] <= x[i-1] || x[i] >= x[i+1])
		}
		if i == 1 && wrong && n > 3 && math.Abs(x[2]-x[1]-h) <= fuzz {
			wrong = false // the first row is the odd one, not the second
		}
		if !wrong {
			continue
		}
		ws.sayDepth(i, x[i-1]+h)
	}
}

// stepAround gives the step of depth that the rows around row i keep, itself left
// out, and how much it may vary.
func (ws *Workspace) stepAround(i int, step, tol, share float64) (h, fuzz float64) {
	x, n := ws.x, len(ws.x)
	var t [12]float64
	k := 0
	for j := max(1, i-5); j <= min(n-2, i+6) && k < len(t); j++ {
		if j != i && j != i+1 {
			t[k] = x[j] - x[j-1]
			k++
		}
	}
	if k < 2 {
		return 0, 0
	}
	// The middle one, by insertion.
	for a := 1; a < k; a++ {
		for b := a; b > 0 && t[b] < t[b-1]; b-- {
			t[b], t[b-1] = t[b-1], t[b]
		}
	}
	h = t[k/2]
	same := 0
	f := max(tol, 1e-3*math.Abs(h))
	for _, s := range t[:k] {
		if math.Abs(s-h) <= f {
			same++
		}
	}
	if same*10 < k*6 {
		return 0, 0
	}
	return h, f
}

func (ws *Workspace) sayDepth(i int, likely float64) {
	d := ws.d[i]
	f := finding.Finding{
		Slug: finding.DepthStepWrong, Severity: finding.Check,
		Found:      fmt.Sprintf("depth %s between %s and %s", number(d), number(ws.x[i-1]), number(ws.x[i+1])),
		Expected:   "about " + number(round(likely, 6)),
		Why:        fmt.Sprintf("the depths around it are %s apart", number(round(likely-ws.x[i-1], 6))),
		Suggestion: "look at the original chart and correct the depth",
	}
	if p := power(d, likely); p != 0 {
		f.Slug = finding.DecimalComma
		f.Why += "; the digits are right, the decimal sign is lost"
	}
	if ws.told[i] {
		ws.x[i] = likely
		return
	}
	// The row is known by the depth that it should have where the one that
	// stands there belongs to no row near it.
	if math.Abs(d-likely) > 1.5*(likely-ws.x[i-1]) {
		f.Depth = number(round(likely, 6))
	}
	ws.say(f, i, false)
	ws.x[i] = likely
	ws.told[i] = true
}

// power gives the power of ten, not 0, by which one number is the other; 0 where
// it is none.
func power(a, b float64) int {
	if !(a > 0 && b > 0) {
		return 0
	}
	p := math.Round(math.Log10(a / b))
	if p == 0 || math.Abs(p) > 6 || math.Abs(a/b/math.Pow(10, p)-1) > 1e-4 {
		return 0
	}
	return int(p)
}
