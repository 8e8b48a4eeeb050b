package plan

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

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
	for _, x := range sorted {
		if !(x.Length > 0 && x.Length <= stock+unit.Guard) {
			return p, fmt.Errorf("a piece of %s for %s: expected a length above nothing and up to the stock length of %s", in(x.Length), x.For, in(stock))
		}
		best := -1
		for i := range p.Stick {
			if rest := p.Stick[i].Rest; x.Length <= rest+unit.Guard && (best < 0 || rest < p.Stick[best].Rest) {
				best = i
			}
		}
		if best < 0 {
			p.Stick = append(p.Stick, Stick{Rest: stock})
			best = len(p.Stick) - 1
		}
		s := &p.Stick[best]
		s.Pieces = append(s.Pieces, x)
		// The last cut of a tube may take less than the saw's width.
		s.Rest = max(s.Rest-x.Length-saw, 0)
	}
	p.Bound = bound(sorted, stock, saw)
	return p, nil
}

// bound gives the least number of tubes by the second bound of Martello and Toth
// (1990): for a threshold a, every piece longer than the stock less a has a tube
// to itself, every one longer than half the stock too, and what is left of the
// shorter ones has to fit beside the latter. A piece takes its length and one
// saw cut from a stock longer by one saw cut. sorted runs from the longest down.
func bound(sorted []Piece, stock, saw unit.Length) int {
	size := float64(stock + saw)
	best := 0
	try := func(a float64) {
		long, half, mid, small := 0, 0, 0.0, 0.0
		for _, x := range sorted {
			w := float64(x.Length + saw)
			switch {
			case w > size-a:
				long++
			case w > size/2:
				half++
				mid += w
			case w >= a:
				small += w
			}
		}
		free := float64(half)*size - mid
		more := math.Ceil((small-free)/size - 1e-9)
		best = max(best, long+half+max(int(more), 0))
	}
	try(0)
	last := math.NaN()
	for _, x := range sorted {
		if w := float64(x.Length + saw); w <= size/2 && w != last {
			try(w)
			last = w
		}
	}
	return best
}
