package intake

import (
	"math"
	"slices"
)

// evidence is what the numbers of one column say of it.
type evidence struct {
	x        int
	n, words int // cells with numbers, with words
	spoiled  int // dates, errors, formulas without a result
	up       int // steps that rise, stand, fall
	flat     int
	down     int
	resets   int     // falls back to about the start, as where the next tank begins
	even     float64 // share of the steps that equal the commonest one
	first    float64
	last     float64
	least    float64
	most     float64
	repeats  int // words that equal the one above
	distinct int // changes of the word
	gaps     int // rows left out between two numbers
	lastRow  int
}

// rises reports whether the column goes one way nearly everywhere but where it
// starts anew.
func (e *evidence) rises() bool {
	steps := e.up + e.flat + e.down - e.resets
	return e.up > 0 && (e.down-e.resets)*8 <= steps
}

// falls is rises for a column that goes down.
func (e *evidence) falls() bool {
	return e.down > 0 && e.up*8 <= e.up+e.flat+e.down
}

// strict reports whether hardly two neighbours are equal.
func (e *evidence) strict() bool { return e.flat*10 <= e.up+e.down }

// weigh collects the evidence of every column in the rows from..to.
func (w *window) weigh(from, to int) map[int]*evidence {
	all := make(map[int]*evidence)
	prev := make(map[int]float64)
	word := make(map[int]string)
	steps := make(map[int][]float64)
	for i := from; i < to; i++ {
		row := w.row(i)
		for k := range row {
			b := &row[k]
			x := int(b.x)
			e := all[x]
			if e == nil {
				e = &evidence{x: x, least: math.Inf(1), most: math.Inf(-1), first: math.NaN()}
				all[x] = e
			}
			if b.class == wordCell || b.class == percentCell {
				e.words++
				t := tidy(w.text(b))
				if old, ok := word[x]; ok && old == t {
					e.repeats++
				} else {
					e.distinct++
				}
				word[x] = t
				continue
			}
			v := w.value(b)
			if math.IsNaN(v) {
				e.spoiled++
				continue
			}
			if e.n > 0 && i > e.lastRow+1 {
				e.gaps++
			}
			e.lastRow = i
			e.n++
			e.least, e.most, e.last = min(e.least, v), max(e.most, v), v
			old, ok := prev[x]
			prev[x] = v
			if !ok {
				e.first = v
				continue
			}
			d := v - old
			switch {
			case d > 0:
				e.up++
			case d < 0:
				e.down++
				if math.Abs(v-e.first) <= (e.most-e.least)/20 {
					e.resets++
				}
			default:
				e.flat++
			}
			steps[x] = append(steps[x], math.Abs(d))
		}
	}
	for x, e := range all {
		e.even = evenShare(steps[x])
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
