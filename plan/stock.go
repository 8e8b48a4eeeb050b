package plan

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"

	"dropcut/plan/unit"
)

var errStep = errors.New("a step that gives 1 to 100,000 lines is expected")

// Piece is a tube that has to be cut.
type Piece struct {
	For    string // tank, or whatever else tells the pieces apart
	Length unit.Length
}

// Stick is one stock tube and what is cut from it.
type Stick struct {
	Pieces []Piece
	Rest   unit.Length
}

// CuttingPlan says how pieces are cut from stock tubes of one length.
type CuttingPlan struct {
	Stock unit.Length
	Saw   unit.Length // width of the saw cut
	Stick []Stick
	// Bound is the least number of tubes that any plan needs; a plan of as many
	// is the best there is.
	Bound int
}

// SawCut is the width of a saw cut that is counted with: common practice, no
// source.
const SawCut = unit.Inch / 8

// CutFromStock plans how pieces are cut from stock tubes: the longest first, each
// from the tube that it leaves the least of. No plan of this kind needs more
// than 11/9 of the least number of tubes and one (Johnson 1973, best fit
// decreasing). A piece longer than the stock is an error.
func CutFromStock(pieces []Piece, stock, saw unit.Length) (CuttingPlan, error) {
	p := CuttingPlan{Stock: stock, Saw: saw}
	if !(stock > 0) || !(saw >= 0) || math.IsInf(float64(stock), 0) {
		return p, fmt.Errorf("a stock length of %s and a saw cut of %s: expected a length above nothing and one of nothing or more", in(stock), in(saw))
	}
	sorted := slices.Clone(pieces)
	slices.SortStableFunc(sorted, func(a, b Piece) int { return cmp.Compare(b.Length, a.Length) })
	var rests restList
	for _, x := range sorted {
		if !(x.Length > 0 && x.Length <= stock+unit.Guard) {
			return p, fmt.Errorf("a piece of %s for %s: expected a length above nothing and up to the stock length of %s", in(x.Length), x.For, in(stock))
		}
		best, ok := rests.take(x.Length)
		if !ok {
			p.Stick = append(p.Stick, Stick{Rest: stock})
			best = len(p.Stick) - 1
		}
		s := &p.Stick[best]
		s.Pieces = append(s.Pieces, x)
		// The last cut of a tube may take less than the saw's width.
		s.Rest = max(s.Rest-x.Length-saw, 0)
		// What is too short for the shortest piece is never looked at again.
		if shortest := sorted[len(sorted)-1].Length; shortest <= s.Rest+unit.Guard {
			rests.put(rest{s.Rest, best})
		}
	}
	p.Bound = bound(sorted, stock, saw)
	return p, nil
}

// rest is what is left of the stick of a number.
type rest struct {
	left  unit.Length
	stick int
}

func (r rest) compare(o rest) int {
	return cmp.Or(cmp.Compare(r.left, o.left), cmp.Compare(r.stick, o.stick))
}

// restList keeps rests in order, the shortest first, in blocks of bounded length:
// to take one or put one takes about the root of their number, so that the tubes
// of a hundred thousand tanks are planned as fast, each, as those of a hundred.
type restList struct{ blocks [][]rest }

const restBlock = 512

// take takes out the shortest rest that a piece fits into, the first stick where
// several are alike.
func (l *restList) take(piece unit.Length) (stick int, ok bool) {
	fits := func(r rest) bool { return piece <= r.left+unit.Guard }
	n := sort.Search(len(l.blocks), func(i int) bool { b := l.blocks[i]; return fits(b[len(b)-1]) })
	if n == len(l.blocks) {
		return 0, false
	}
	b := l.blocks[n]
	at := sort.Search(len(b), func(i int) bool { return fits(b[i]) })
	stick = b[at].stick
	if l.blocks[n] = slices.Delete(b, at, at+1); len(b) == 1 {
		l.blocks = slices.Delete(l.blocks, n, n+1)
	}
	return stick, true
}

func (l *restList) put(r rest) {
	n := sort.Search(len(l.blocks), func(i int) bool { b := l.blocks[i]; return b[len(b)-1].compare(r) >= 0 })
	if n == len(l.blocks) {
		if n == 0 {
			l.blocks = [][]rest{{r}}
			return
		}
		n--
	}
	b := l.blocks[n]
	at, _ := slices.BinarySearchFunc(b, r, rest.compare)
	b = slices.Insert(b, at, r)
	if l.blocks[n] = b; len(b) > restBlock {
		l.blocks[n] = slices.Clone(b[:restBlock/2])
		l.blocks = slices.Insert(l.blocks, n+1, slices.Clone(b[restBlock/2:]))
	}
}

// bound gives the least number of tubes by the second bound of Martello and Toth
// (1990): for a threshold a, every piece longer than the stock less a has a tube
// to itself, every one longer than half the stock too, and what is left of the
// shorter ones has to fit beside the latter. A piece takes its length and one
// saw cut from a stock longer by one saw cut. sorted runs from the longest down.
func bound(sorted []Piece, stock, saw unit.Length) int {
	size := float64(stock + saw)
	w, sum := make([]float64, len(sorted)), make([]float64, len(sorted)+1)
	for i, x := range sorted {
		w[i] = float64(x.Length + saw)
		sum[i+1] = sum[i] + w[i]
	}
	// first gives where those begin that are no longer above a length.
	first := func(above func(w float64) bool) int {
		return sort.Search(len(w), func(i int) bool { return !above(w[i]) })
	}
	half := first(func(w float64) bool { return w > size/2 })
	best := 0
	try := func(a float64) {
		long := first(func(w float64) bool { return w > size-a })
		small := max(first(func(w float64) bool { return w >= a }), half)
		free := float64(half-long)*size - (sum[half] - sum[long])
		// The sums are a little off; a bound that is one too low is still one.
		more := math.Ceil((sum[small]-sum[half]-free)/size - 1e-6)
		best = max(best, half+max(int(more), 0))
	}
	try(0)
	for i := half; i < len(w); i++ {
		if i == half || w[i] != w[i-1] {
			try(w[i])
		}
	}
	return best
}
