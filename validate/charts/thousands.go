package charts

import (
	"fmt"
	"math"

	"dropcut/plan/finding"
)

// mostLost is how many rows in a row are looked at for a lost mark of thousands.
const mostLost = 40

// thousands finds volumes that were cut at their mark of thousands: 12,345 that
// became 12, 345 or 12.345, one row or several together.
func thousands(ws *Workspace) {
	w, n := ws.w, len(ws.w)
	if n < least {
		return
	}
	for i := 1; i < n-1; i++ {
		if !(w[i] < 1000 && w[i-1] >= 900 && w[i] < 0.52*w[i-1]) {
			continue
		}
		end := i
		for end < n && end < i+mostLost && w[end] < 0.75*w[i-1] && w[end] < 1000 {
			end++
		}
		if end == n || !(w[end] >= w[i-1]) {
			continue
		}
		form := ws.lostForm(i, end)
		if form == lostNothing {
			continue
		}
		f := finding.Finding{
			Slug: finding.ThousandsMarkLost, Severity: finding.Check,
			Found:      fmt.Sprintf("%s after %s", number(ws.v[i]), number(ws.v[i-1])),
			Expected:   "about " + number(math.Round(ws.e[i])),
			Suggestion: "look at the original chart and type the number again",
		}
		switch form {
		case lostPoint:
			f.Why = "a mark of thousands became a decimal point"
		case lostTail:
			f.Why = "the number ends where its mark of thousands stood"
		default:
			f.Why = "the number begins behind where its mark of thousands stood"
		}
		if k := end - i; k > 1 {
			f.Found += fmt.Sprintf(", and %s after it likewise", plural(k-1, "row", "rows"))
			f.To = ws.at(end-1, true)
		}
		ws.say(f, i, true)
		for r := i; r < end; r++ {
			w[r], ws.told[r] = ws.e[r], true
		}
		i = end
	}
}

type lost uint8

const (
	lostNothing lost = iota
	lostPoint
	lostTail
	lostHead
)

// lostForm tells in which way the volumes of rows i to end-1 were cut, all of
// them in the same, and leaves the likely volumes in ws.e.
func (ws *Workspace) lostForm(i, end int) lost {
	ws.e = grow(ws.e, len(ws.w))
	for _, form := range [...]lost{lostPoint, lostTail, lostHead} {
		fits := true
		for r := i; r < end && fits; r++ {
			// What the rows outside the run say of this one.
			p := ws.across(i, end, ws.x[r])
			slack := 3 + 0.02*p + 0.05*(ws.w[end]-ws.w[i-1])
			a := ws.w[r]
			switch form {
			case lostPoint:
				t := 1000 * a
				fits = a != math.Trunc(a) && math.Abs(t-p) <= slack || a == math.Trunc(a) && math.Abs(t-p) <= slack && end-i > 1
				ws.e[r] = math.Round(t)
			case lostTail:
				fits = a == math.Trunc(a) && p >= 1000-slack && math.Floor((p-slack)/1000) <= a && a <= math.Floor((p+slack)/1000)
				ws.e[r] = p
			case lostHead:
				t := math.Round((p-a)/1000)*1000 + a
				fits = math.Abs(t-p) <= min(slack, 200) && t >= 1000
				ws.e[r] = t
			}
		}
		if fits {
			return form
		}
	}
	return lostNothing
}

// across gives what a cubic through four rows on each side of rows i to end-1
// says at a depth between.
func (ws *Workspace) across(i, end int, at float64) float64 {
	var x, y [8]float64
	k := 0
	for r := max(0, i-4); r < i; r++ {
		x[k], y[k] = ws.x[r], ws.w[r]
		k++
	}
	for r := end; r < min(len(ws.x), end+4); r++ {
		x[k], y[k] = ws.x[r], ws.w[r]
		k++
	}
	return fitAt(x[:k], y[:k], 0, k, -1, at, (x[k-1]-x[0])/float64(k), min(3, k-2))
}

// grow makes s at least n long, and exactly so.
func grow(s []float64, n int) []float64 {
	if cap(s) < n {
		return make([]float64, n, n+n/4)
	}
	return s[:n]
}
