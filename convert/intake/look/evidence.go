package look

import (
	"math"
	"slices"

	"dropcut/convert/intake/headword"
)

// Evidence is what the numbers of one column say of it.
type Evidence struct {
	x        int
	N, Words int // cells with numbers, with words
	Spoiled  int // dates, errors, formulas without a result
	Up       int // steps that rise, stand, fall
	Flat     int
	Down     int
	Resets   int     // falls back to about the start, as where the next tank begins
	Even     float64 // share of the steps that equal the commonest one
	first    float64
	last     float64
	least    float64
	Most     float64
	Repeats  int // words that equal the one above
	Distinct int // changes of the word
	Gaps     int // rows left out between two numbers
	lastRow  int
}

// Rises reports whether the column goes one way nearly everywhere but where it
// starts anew.
func (e *Evidence) Rises() bool {
	steps := e.Up + e.Flat + e.Down - e.Resets
	return e.Up > 0 && (e.Down-e.Resets)*8 <= steps
}

// Falls is rises for a column that goes down.
func (e *Evidence) Falls() bool {
	return e.Down > 0 && e.Up*8 <= e.Up+e.Flat+e.Down
}

// Strict reports whether hardly two neighbours are equal.
func (e *Evidence) Strict() bool { return e.Flat*10 <= e.Up+e.Down }

// Weigh collects the evidence of every column in the rows from..to.
func (w *Window) Weigh(from, to int) map[int]*Evidence {
	all := make(map[int]*Evidence)
	prev := make(map[int]float64)
	word := make(map[int]string)
	steps := make(map[int][]float64)
	for i := from; i < to; i++ {
		row := w.Row(i)
		for k := range row {
			b := &row[k]
			x := int(b.X)
			e := all[x]
			if e == nil {
				e = &Evidence{x: x, least: math.Inf(1), Most: math.Inf(-1), first: math.NaN()}
				all[x] = e
			}
			if b.Class == WordCell || b.Class == PercentCell {
				e.Words++
				t := headword.Tidy(w.Text(b))
				if old, ok := word[x]; ok && old == t {
					e.Repeats++
				} else {
					e.Distinct++
				}
				word[x] = t
				continue
			}
			v := w.Value(b)
			if math.IsNaN(v) {
				e.Spoiled++
				continue
			}
			if e.N > 0 && i > e.lastRow+1 {
				e.Gaps++
			}
			e.lastRow = i
			e.N++
			e.least, e.Most, e.last = min(e.least, v), max(e.Most, v), v
			old, ok := prev[x]
			prev[x] = v
			if !ok {
				e.first = v
				continue
			}
			d := v - old
			switch {
			case d > 0:
				e.Up++
			case d < 0:
				e.Down++
				if math.Abs(v-e.first) <= (e.Most-e.least)/20 {
					e.Resets++
				}
			default:
				e.Flat++
			}
			steps[x] = append(steps[x], math.Abs(d))
		}
	}
	for x, e := range all {
		e.Even = evenShare(steps[x])
	}
	return all
}

// evenShare gives the share of steps that equal the median one within a
// thousandth of it: files round thirds of an inch and the like.
func evenShare(steps []float64) float64 {
	if len(steps) == 0 {
		return 0
	}
	s := slices.Clone(steps)
	slices.Sort(s)
	mid := s[len(s)/2]
	if mid == 0 {
		return 0
	}
	n := 0
	for _, d := range steps {
		if math.Abs(d-mid) <= mid*2e-3+1e-9 {
			n++
		}
	}
	return float64(n) / float64(len(steps))
}
