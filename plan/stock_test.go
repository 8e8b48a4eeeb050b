package plan

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"dropcut/plan/unit"
)

// plainCut is best fit decreasing as Johnson (1973) words it, every tube looked at
// for every piece: what CutFromStock has to give, at a cost that grows with the
// square of the pieces.
func plainCut(pieces []Piece, stock, saw unit.Length) []Stick {
	sorted := slices.Clone(pieces)
	slices.SortStableFunc(sorted, func(a, b Piece) int { return cmp.Compare(b.Length, a.Length) })
	var list []Stick
	for _, x := range sorted {
		best := -1
		for i := range list {
			if rest := list[i].Rest; x.Length <= rest+unit.Guard && (best < 0 || rest < list[best].Rest) {
				best = i
			}
		}
		if best < 0 {
			list = append(list, Stick{Rest: stock})
			best = len(list) - 1
		}
		s := &list[best]
		s.Pieces = append(s.Pieces, x)
		s.Rest = max(s.Rest-x.Length-saw, 0)
	}
	return list
}

// plainBound is the second bound of Martello and Toth (1990) as they word it.
func plainBound(pieces []Piece, stock, saw unit.Length) int {
	size, best := float64(stock+saw), 0
	thresholds := []float64{0}
	for _, x := range pieces {
		if w := float64(x.Length + saw); w <= size/2 {
			thresholds = append(thresholds, w)
		}
	}
	for _, a := range thresholds {
		long, half, mid, small := 0, 0, 0.0, 0.0
		for _, x := range pieces {
			switch w := float64(x.Length + saw); {
			case w > size-a:
				long++
			case w > size/2:
				half++
				mid += w
			case w >= a:
				small += w
			}
		}
		best = max(best, long+half+max(int(math.Ceil((small-(float64(half)*size-mid))/size-1e-6)), 0))
	}
	return best
}

func somePieces(g *rand.Rand, n, shortest, longest int) []Piece {
	list := make([]Piece, n)
	for i := range list {
		list[i] = Piece{fmt.Sprint(i), unit.Length(shortest+g.IntN(longest-shortest+1)) / 16}
	}
	return list
}

func TestCutFromStockIsBestFitDecreasing(t *testing.T) {
	g := rand.New(rand.NewPCG(5, 11))
	for trial := range 60 {
		// Tubes of 5 in leave many rests open, more than one block of them.
		pieces := somePieces(g, 1+g.IntN(3000), 80, 96*16)
		if trial%3 == 0 {
			pieces = somePieces(g, 1+g.IntN(3000), 400, 700)
		}
		p, err := CutFromStock(pieces, 96, SawCut)
		if err != nil {
			t.Fatal(err)
		}
		if want := plainCut(pieces, 96, SawCut); !reflect.DeepEqual(p.Stick, want) {
			t.Fatalf("trial %d, %d pieces: %d tubes, %d by the plain way, or cut otherwise", trial, len(pieces), len(p.Stick), len(want))
		}
		if want := plainBound(pieces, 96, SawCut); p.Bound != want {
			t.Errorf("trial %d: bound %d, %d by the plain way", trial, p.Bound, want)
		}
	}
}

// The tubes of a whole country: 200,000 pieces would take the plain way some ten
// thousand million steps.
func TestCutFromStockOfManyPieces(t *testing.T) {
	pieces := somePieces(rand.New(rand.NewPCG(5, 12)), 200_000, 160, 96*16)
	p, err := CutFromStock(pieces, 96, SawCut)
	if err != nil {
		t.Fatal(err)
	}
	if n := len(p.Stick); n < p.Bound || float64(n) > 11*float64(p.Bound)/9+1 {
		t.Errorf("%d tubes, bound %d", n, p.Bound)
	}
}

func BenchmarkCutFromStock(b *testing.B) {
	for _, n := range []int{500, 5_000, 50_000} {
		pieces := somePieces(rand.New(rand.NewPCG(5, 13)), n, 160, 96*16)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				if _, err := CutFromStock(pieces, 96, SawCut); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/piece")
		})
	}
}
