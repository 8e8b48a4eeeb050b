package charts

import (
	"math"
	"slices"
)

// loaded is a chart as the checks work on it: the rows that can be read, in file
// order, as they stand there and as they are believed to be. What a check has
// explained it puts right in the believed numbers, so that the next check is not
// deceived by the same fault.
type loaded struct {
	row  []int32   // index into the chart's rows
	d, v []float64 // as in the file
	x, w []float64 // as believed
	// told marks rows that a finding has named.
	told []bool
}

func (l *loaded) reset() {
	l.row, l.d, l.v, l.x, l.w = l.row[:0], l.d[:0], l.v[:0], l.x[:0], l.w[:0]
	l.told = l.told[:0]
}

func (l *loaded) add(row int, d, v float64) {
	l.row = append(l.row, int32(row))
	l.d, l.v = append(l.d, d), append(l.v, v)
	l.x, l.w = append(l.x, d), append(l.w, v)
	l.told = append(l.told, false)
}

// move puts row i in the place of row j.
func (l *loaded) move(j, i int) {
	if i != j {
		l.row[j], l.d[j], l.v[j], l.x[j], l.w[j], l.told[j] = l.row[i], l.d[i], l.v[i], l.x[i], l.w[i], l.told[i]
	}
}

// keep leaves only the first n rows among the working ones.
func (l *loaded) keep(n int) {
	l.row, l.d, l.v, l.x, l.w, l.told = l.row[:n], l.d[:n], l.v[:n], l.x[:n], l.w[:n], l.told[:n]
}

// roundings are the units that people round volumes to, coarse to fine.
var roundings = [...]float64{1e12, 1e11, 1e10, 1e9, 1e8, 1e7, 1e6, 5e5, 2e5, 1e5, 5e4, 2e4, 1e4, 5000, 2000, 1000, 500, 200, 100, 50, 25, 20, 10, 5, 2.5, 2, 1, 0.5, 0.25, 0.2, 0.1, 0.05, 0.02, 0.01, 1e-3, 1e-4, 1e-5, 1e-6}

// rounding gives the coarsest unit that nearly all numbers are multiples of;
// some may be wrong. A chart that is not rounded at all gets a millionth.
func rounding(v []float64) float64 {
	most := 0.0
	for _, x := range v {
		if a := math.Abs(x); a > most && !math.IsInf(a, 0) {
			most = a
		}
	}
	for _, q := range roundings {
		if q > most/20 {
			continue
		}
		if misses(v, q, len(v)/20+min(2, len(v)/8)) {
			continue
		}
		return q
	}
	return 1e-7
}

// misses reports whether more than allowed of the numbers are no multiples of q.
func misses(v []float64, q float64, allowed int) bool {
	bad := 0
	for _, x := range v {
		y := x / q
		if d := math.Abs(y - math.Round(y)); d > 1e-6+4e-16*math.Abs(y)*8 {
			bad++
			if bad > allowed {
				return true
			}
		}
	}
	return false
}

// stepOf gives the commonest distance between one depth and the next, and the
// share of the rows that keep it. tol is how far a depth may lie from the grid
// for its printed digits.
func (ws *Workspace) stepOf(x []float64) (step, share, tol float64) {
	n := len(x)
	if n < 3 {
		return 0, 0, 0
	}
	t := ws.tmp[:0]
	for i := 1; i < n; i++ {
		if s := x[i] - x[i-1]; s > 0 {
			t = append(t, s)
		}
	}
	ws.tmp = t
	if len(t) == 0 {
		return 0, 0, 0
	}
	slices.Sort(t)
	quantum := rounding(x)
	best, at := 0, 0
	for i, j := 0, 0; i < len(t); i++ {
		for j < len(t) && t[j] <= t[i]*1.001+1e-9 {
			j++
		}
		if j-i > best {
			best, at = j-i, i
		}
	}
	step, share = t[at+best/2], float64(best)/float64(n-1)
	tol = max(1e-3*step, 1e-9)
	if share < 0.6 && step > 2*quantum {
		// 0.125 printed as 0.13, 0.25, 0.38: the steps differ by the last digit.
		lo := t[at+best/2] - 1.01*quantum
		hi := t[at+best/2] + 1.01*quantum
		in, sum := 0, 0.0
		for _, s := range t {
			if s >= lo && s <= hi {
				in, sum = in+1, sum+s
			}
		}
		if float64(in) > 0.6*float64(n-1) {
			step, share, tol = sum/float64(in), float64(in)/float64(n-1), 1.5*quantum
		}
	}
	return step, share, tol
}

// around gives the first of the k rows nearest to row i, i itself not counted,
// among n: half on either side, more on one side near an end.
func around(i, n, k int) int {
	return max(0, min(i-k/2, n-k-1))
}

// local gives what the rows around row i say of its volume, by a polynomial of
// the given degree (at most 3) through k rows, row i left out. x must rise. It is
// NaN where the rows do not do.
func local(x, y []float64, i, k, degree int) float64 {
	n := len(x)
	k = min(k, n-1)
	if k < degree+1 {
		return math.NaN()
	}
	from := around(i, n, k)
	h := (x[from+k] - x[from]) / float64(k)
	if !(h > 0) {
		return math.NaN()
	}
	return fitAt(x, y, from, from+k+1, i, x[i], h, degree)
}

// fitAt fits a polynomial to rows from..to-1 (without row skip) and gives its
// value at a depth; h scales the depths.
func fitAt(x, y []float64, from, to, skip int, at, h float64, degree int) float64 {
	var s [7]float64
	var b [4]float64
	m := degree + 1
	y0 := y[from]
	for j := from; j < to; j++ {
		if j == skip {
			continue
		}
		t := (x[j] - at) / h
		f := y[j] - y0
		p := 1.0
		for k := 0; k < 2*m-1; k++ {
			s[k] += p
			if k < m {
				b[k] += p * f
			}
			p *= t
		}
	}
	var a [4][5]float64
	for r := range m {
		for c := range m {
			a[r][c] = s[r+c]
		}
		a[r][m] = b[r]
	}
	// Elimination from the highest power down, so that the last unknown left is
	// the value itself. The matrix is positive: no pivoting is needed.
	for r := m - 1; r > 0; r-- {
		if !(a[r][r] > 0) {
			return math.NaN()
		}
		for q := range r {
			f := a[q][r] / a[r][r]
			for c := range r {
				a[q][c] -= f * a[r][c]
			}
			a[q][m] -= f * a[r][m]
		}
	}
	if !(a[0][0] > 0) {
		return math.NaN()
	}
	return y0 + a[0][m]/a[0][0]
}

// median puts t in order and gives its middle.
func median(t []float64) float64 {
	if len(t) == 0 {
		return math.NaN()
	}
	slices.Sort(t)
	return t[len(t)/2]
}
