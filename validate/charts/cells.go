package charts

import (
	"fmt"
	"math"

	"dropcut/plan/finding"
	"dropcut/validate/charts/fit"
)

// mostCells is how many separate faults of volume are named in one chart; more
// of them make it a chart that follows no curve.
const mostCells = 12

// mostWeighed is how many times the rows of a chart are looked at again for
// explanations: a chart in which everything is wrong must not take for ever.
const mostWeighed = 60

// story is one explanation of what is wrong around some row.
type story struct {
	kind   storyKind
	a, b   int     // its first row and the one after its last
	misfit float64 // sum of squares that it leaves around, in units of rounding
	price  float64 // what it must earn against a simpler one
	quiets int     // rows around that did not follow and then do
}

type storyKind uint8

const (
	noStory storyKind = iota
	oneCell
	twoExchanged
	tooLow   // a block one row too low
	tooHigh  // a block one row too high
	knotLine // a knot with the lines filled in from it
)

// cells finds volumes that do not follow their neighbours. It takes the worst
// row, tries what can have happened there, from one wrong cell to a block of rows
// shifted by one, and believes what leaves the neighbourhood quiet.
func cells(ws *Workspace) {
	if len(ws.x) < least {
		return
	}
	ws.prepare()
	n := len(ws.x)
	total := ws.countBad(0, n)
	if total == 0 {
		return
	}
	before := len(ws.out)
	defer ws.fitAgain()
	for range mostCells {
		i := ws.worst()
		if i < 0 {
			return
		}
		s := ws.bestStory(i)
		if s.kind == noStory {
			// Nothing explains the whole of it: the cell alone, if that helps.
			if !ws.someCell(i) {
				break
			}
			continue
		}
		ws.tell(s)
	}
	if i := ws.worst(); i >= 0 {
		// It follows no curve. What was said of single cells is not trusted then.
		left := ws.countBad(0, n)
		if left > 3 && left > total/3 {
			ws.out, ws.over = ws.out[:before], ws.over[:0]
		}
		ws.offBy = math.Abs(ws.best[i])
		ws.say(finding.Finding{
			Slug: finding.ChartNotSmooth, Severity: finding.Check,
			Found:      fmt.Sprintf("%s in which the volume does not follow its neighbours, at %s by %s", plural(left, "row", "rows"), number(ws.d[i]), ws.volume(math.Abs(ws.best[i]))),
			Expected:   "a volume that rises evenly with the depth",
			Why:        "no single slip explains it",
			Suggestion: "hold the chart against its original, from this row on",
		}, i, true)
	}
}

// manyMoved is the share of the rows from which on the fitted tank, which was
// found before they were moved, is not trusted any more.
const manyMoved = 1. / 40

// fitAgain fits the shape to the rows as they are believed now, where a block of
// them was shifted: by one row it draws the curve away from the tank's.
func (ws *Workspace) fitAgain() {
	if n := len(ws.x); ws.moved >= leastBlock && float64(ws.moved) > manyMoved*float64(n) {
		ws.fit = fit.Do(&ws.fits, ws.x, ws.w, fit.Hint{Height: ws.hintHeight(), PerCubic: ws.f.PerCubic})
		ws.refit(0, n)
	}
}

// bestStory tries everything that can have happened around row i.
func (ws *Workspace) bestStory(i int) story {
	n := len(ws.x)
	best := story{}
	hear := func(s story) {
		if s.kind == noStory || best.kind != noStory && s.cost() >= best.cost() {
			return
		}
		best = s
	}
	// The row that is off by most may stand a little aside of the one that is off
	// by most of its tolerance.
	far := i
	for j := max(1, i-window); j <= min(i+window, n-2); j++ {
		if math.Abs(ws.res[j]) > math.Abs(ws.res[far]) {
			far = j
		}
	}
	for j := max(1, min(i, far)-1); j <= min(max(i, far)+1, n-2); j++ {
		hear(ws.weigh(story{kind: oneCell, a: j, b: j + 1}))
	}
	if ws.lines.every > 0 {
		if a, b := ws.span(i); ws.lines.is(ws.x[i]) && a >= 0 && b < n && ws.lineHolds(a, i) && ws.lineHolds(i, b) {
			hear(ws.weigh(story{kind: knotLine, a: a + 1, b: b, price: 0.5}))
		}
	}
	for gap := 1; gap <= reach; gap++ {
		for a := max(1, min(i, far)-gap-1); a <= min(max(i, far)+1, n-2-gap); a++ {
			if ws.w[a] > ws.w[a+gap] {
				hear(ws.weigh(story{kind: twoExchanged, a: a, b: a + gap + 1, price: 1}))
			}
		}
	}
	ws.blocks(i, hear)
	return best
}

// cost says how well a story explains what is wrong: less is better. What also
// explains a place farther off is believed before what leaves that to another
// story.
func (s *story) cost() float64 { return s.misfit + s.price - float64(s.quiets) }

// change puts right what a story says is wrong.
func (ws *Workspace) change(s story) {
	w := ws.w
	switch s.kind {
	case oneCell:
		w[s.a] -= ws.res[s.a]
	case twoExchanged:
		w[s.a], w[s.b-1] = w[s.b-1], w[s.a]
	case tooLow:
		copy(w[s.a:s.b-1], w[s.a+1:s.b])
		ws.fill(s.b - 1)
	case tooHigh:
		copy(w[s.a+1:s.b], w[s.a:s.b-1])
		ws.fill(s.a)
	case knotLine:
		a, b := s.a-1, s.b
		k := a + 1
		for !ws.lines.is(ws.x[k]) {
			k++
		}
		w[k] -= ws.res[k]
		for r := a + 1; r < k; r++ {
			w[r] = ws.chord(a, k, ws.x[r])
		}
		for r := k + 1; r < b; r++ {
			w[r] = ws.chord(k, b, ws.x[r])
		}
	}
}

// weigh tells how well a story explains what is bad: its misfit, or no story
// where something stays bad around it.
func (ws *Workspace) weigh(s story) story {
	from, to := ws.area(s.a, s.b-1)
	if ws.weighed += to - from; ws.weighed > mostWeighed*len(ws.x)+20000 {
		return story{}
	}
	before := ws.countBad(from, to)
	keep := append(ws.keepW[:0], ws.w[s.a:s.b]...)
	ws.keepW = keep
	ws.change(s)
	ws.refit(s.a, s.b)
	ws.judgeRows(from, to)
	quiet := before > 0 && ws.countBad(from, to) == 0
	if quiet {
		s.quiets = before
		for i := max(from, s.a-2*window); i < min(to, s.a+2*window); i++ {
			s.misfit += ws.res[i] * ws.res[i] / (ws.unit * ws.unit)
		}
		for i := max(from, s.a+2*window, s.b-2*window); i < min(to, s.b+2*window); i++ {
			s.misfit += ws.res[i] * ws.res[i] / (ws.unit * ws.unit)
		}
	} else {
		s.kind = noStory
	}
	copy(ws.w[s.a:s.b], keep)
	ws.refit(s.a, s.b)
	ws.judgeRows(from, to)
	return s
}

// believe takes a story into the believed volumes.
func (ws *Workspace) believe(s story) {
	from, to := ws.area(s.a, s.b-1)
	ws.change(s)
	ws.refit(s.a, s.b)
	ws.judgeRows(from, to)
}

// tell makes the finding of a story and believes it.
func (ws *Workspace) tell(s story) {
	a, b := s.a, s.b-1
	switch s.kind {
	case oneCell:
		was, p, slack := ws.w[a], ws.w[a]-ws.res[a], ws.tol[a]
		ws.believe(s)
		ws.sayCell(a, was, p, slack)
	case knotLine:
		k := a
		for !ws.lines.is(ws.x[k]) {
			k++
		}
		was, p, slack := ws.w[k], ws.w[k]-ws.res[k], ws.tol[k]
		ws.believe(s)
		ws.sayCell(k, was, p, slack)
		if m := len(ws.out); m > 0 && b > a {
			ws.out[m-1].Why += fmt.Sprintf("; %s beside it filled in from it", plural(b-a, "row was", "rows were"))
		}
	case twoExchanged:
		ws.say(finding.Finding{
			Slug: finding.RowsExchanged, Severity: finding.Check,
			Found:      fmt.Sprintf("%s, and %s at depth %s", ws.volume(ws.w[a]), ws.volume(ws.w[b]), number(ws.d[b])),
			Expected:   "volumes that rise from row to row",
			Why:        "with the two volumes exchanged, both follow their neighbours",
			Suggestion: "look at the original chart and exchange the two volumes",
			To:         ws.at(b, true),
		}, a, true)
		ws.believe(s)
		ws.told[a], ws.told[b] = true, true
	default:
		ws.tellBlock(s)
	}
}

// worst gives the row that is off by most of what is tolerated, -1 for none.
func (ws *Workspace) worst() int {
	at, most := -1, 1.0
	for i := range ws.x {
		if q := math.Abs(ws.best[i]) / ws.tol[i]; q > most {
			at, most = i, q
		}
	}
	return at
}

// window is how far a wrong row shows in its neighbours' residuals.
const window = 5

// area gives the rows whose judgement hangs on rows lo..hi.
func (ws *Workspace) area(lo, hi int) (from, to int) {
	w := window
	if ws.lines.every > 0 {
		w = int(math.Round(5*ws.lines.every/max(ws.x[1]-ws.x[0], 1e-9))) + 1
		w = min(max(w, window), 110)
	}
	return max(0, lo-w), min(len(ws.x), hi+1+w)
}

// someCell takes row i alone as wrong where that leaves fewer bad rows around.
func (ws *Workspace) someCell(i int) bool {
	if i < 1 || i > len(ws.x)-2 {
		return false
	}
	s := story{kind: oneCell, a: i, b: i + 1}
	from, to := ws.area(i, i)
	before, was, p, slack := ws.countBad(from, to), ws.w[i], ws.w[i]-ws.res[i], ws.tol[i]
	ws.believe(s)
	if ws.countBad(from, to) >= before {
		ws.w[i] = was
		ws.refit(i, i+1)
		ws.judgeRows(from, to)
		return false
	}
	ws.sayCell(i, was, p, slack)
	return true
}
