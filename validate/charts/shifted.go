package charts

import (
	"fmt"

	"dropcut/plan/finding"
)

// leastBlock is the fewest rows that count as a block; fewer are wrong cells.
const leastBlock = 3

// blocks tries whether a block of volumes that begins or ends near row i stands one
// row too low (its first volume is then a repeat of the one before) or too high
// (its last one is a repeat), to the end of the chart or not.
func (ws *Workspace) blocks(i int, hear func(story)) {
	w, n := ws.w, len(ws.x)
	// The places where the volumes do not follow: a block begins and ends at one.
	var marks [2 * mostCells]int
	m := 0
	for j, last := 1, -window; j < n-1 && m < len(marks); j++ {
		if ws.bad(j) {
			if j-last > 1 {
				marks[m] = j
				m++
			}
			last = j
		}
	}
	near := func(j int) bool { return j >= i-window && j <= i+window }
	for _, from := range marks[:m] {
		for a := max(1, from-1); a <= min(from+4, n-leastBlock); a++ {
			low := w[a] == w[a-1]
			high := func(end int) bool {
				if end == n {
					return w[n-1] == w[n-2]
				}
				return w[end-1] == w[end]
			}
			for _, to := range marks[:m] {
				if to < from || !near(from) && !near(to) {
					continue
				}
				for end := max(to-1, a+leastBlock); end <= min(to+4, n-1); end++ {
					if low {
						hear(ws.weigh(story{kind: tooLow, a: a, b: end, price: 4}))
					}
					if high(end) {
						hear(ws.weigh(story{kind: tooHigh, a: a, b: end, price: 4}))
					}
				}
			}
			if !near(from) {
				continue
			}
			if low {
				hear(ws.weigh(story{kind: tooLow, a: a, b: n, price: 4}))
			}
			if high(n) {
				hear(ws.weigh(story{kind: tooHigh, a: a, b: n, price: 4}))
			}
		}
	}
}

// fill gives a row whose volume was lost what its neighbours say.
func (ws *Workspace) fill(i int) {
	n := len(ws.x)
	ws.refit(max(0, i-2*window), min(n, i+2*window+1))
	if i == n-1 {
		ws.w[i] = max(ws.w[i], ws.w[i-1])
		return
	}
	if p := local(ws.x, ws.e, i, 8, 3); ok(p) {
		ws.w[i] += p - ws.e[i]
	}
}

func (ws *Workspace) tellBlock(s story) {
	how, v, w := "too low", ws.w[s.a], ws.w[s.a-1]
	if s.kind == tooHigh {
		how = "too high"
	}
	ws.believe(s)
	ws.moved += s.b - s.a
	ws.say(finding.Finding{
		Slug: finding.BlockShiftedOneRow, Severity: finding.Check,
		Found:      fmt.Sprintf("%s after %s, and %d rows that stand one row %s", ws.volume(v), ws.volume(w), s.b-s.a, how),
		Expected:   ws.volume(ws.w[s.a]),
		Why:        "moved by one row, the whole block follows its neighbours",
		Suggestion: "look at the original chart and move the volumes back; one volume of the block is lost",
		To:         ws.at(s.b-1, true),
	}, s.a, true)
	for r := s.a; r < s.b; r++ {
		ws.told[r] = true
	}
}
