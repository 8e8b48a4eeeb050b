package change

import (
	"math"
	"math/bits"
	"strconv"
	"strings"

	"dropcut/plan/chart"
)

// sketch is what is kept of a column of a chart: the sum of its values, the sum of
// the sums up to each row, the sum of those, and so on, in the field of whole
// numbers modulo 2^61 - 1. A value m rows from the end is in the k-th of them
// (m+k-1 over k) times. From 2t such sums of two charts up to t changed values are
// found again, each with its row, as errors are decoded by power sums (R. Roth,
// Introduction to Coding Theory, 2006, chapter 6; from memory). More changes than
// that pass for fewer with a chance of about rows/2^61.
type sketch []uint64

// A chart's volumes are what people correct, a digit or a few rows; a depth is
// seldom wrong alone.
const (
	depthSums  = 4
	volumeSums = 12
)

// modulus is a Mersenne prime, large enough for any volume in millionths.
const modulus = 1<<61 - 1

// step is the finest difference that is told: sixty-fourths of an inch are whole
// millionths.
const step = 1e6

// beyond is where values stop to be whole millionths in the field; no chart holds
// such a figure, and a NaN counts as one.
const beyond = 1e11

func sketchOf(c *chart.Chart) (depths, volumes sketch) {
	depths, volumes = make(sketch, depthSums), make(sketch, volumeSums)
	for i := range c.Rows {
		depths.add(c.Rows[i].Depth)
		volumes.add(c.Rows[i].Volume)
	}
	return depths, volumes
}

func (s sketch) add(v float64) {
	x := inField(v)
	for k := range s {
		x = sum(s[k], x)
		s[k] = x
	}
}

func inField(v float64) uint64 {
	if math.IsNaN(v) || math.Abs(v) > beyond {
		v = beyond
	}
	x := int64(math.Round(v * step))
	if x < 0 {
		x += modulus
	}
	return uint64(x)
}

// oneChanged is a row (from 0) and the difference of its value, new less old in
// millionths.
type oneChanged struct {
	row  int
	diff int64
}

// changed finds the rows whose values make the difference between two sketches, in
// their order; ok is false where they are more than the sums tell.
func (s sketch) changed(now sketch, rows int) (list []oneChanged, ok bool) {
	p := s.powers(now)
	locator := shortest(p)
	n := len(locator) - 1
	if n > len(p)/2 || locator[n] == 0 {
		return nil, false
	}
	// The places m are those at which the locator, the product of (1 - m z), is 0
	// for z = 1/m.
	var at []uint64
	for m := uint64(rows); m >= 1 && len(at) < n; m-- {
		v := uint64(0)
		for _, l := range locator {
			v = sum(product(v, m), l)
		}
		if v == 0 {
			at = append(at, m)
		}
	}
	if len(at) < n {
		return nil, false
	}
	for i, d := range values(at, p) {
		if d > modulus/2 {
			d -= modulus // below 0 as an int64
		}
		list = append(list, oneChanged{rows - int(at[i]), int64(d)})
	}
	return list, true
}

// powers gives the sums of the differences times their places, counted from the
// end, to the power of 0, 1, 2 and so on. Of two sketches of different length the
// shorter one counts.
func (s sketch) powers(now sketch) []uint64 {
	p := make([]uint64, min(len(s), len(now)))
	// A power is made of rising factorials, which the sums are made of: m^k is the
	// sum over j of (-1)^(k-j) S(k, j) m(m+1)...(m+j-1) with the Stirling numbers S
	// of the second kind (R. Graham, D. Knuth, O. Patashnik, Concrete Mathematics,
	// 2nd edition, (6.12)), and (m+j-1 over j) is the product over j!.
	stirling := make([]uint64, len(p)+1)
	stirling[0] = 1
	for k := range p {
		if k > 0 {
			for j := k; j > 0; j-- {
				stirling[j] = sum(product(uint64(j), stirling[j]), stirling[j-1])
			}
			stirling[0] = 0
		}
		factorial := uint64(1)
		for j := 0; j <= k; j++ {
			if j > 1 {
				factorial = product(factorial, uint64(j))
			}
			d := sum(now[j]%modulus, modulus-s[j]%modulus)
			d = product(product(d%modulus, factorial), stirling[j])
			if (k-j)%2 == 1 {
				d = minus(d)
			}
			p[k] = sum(p[k], d)
		}
	}
	return p
}

// shortest gives the shortest recurrence that makes a sequence: 1, c1, c2 ... with
// p[k] + c1 p[k-1] + c2 p[k-2] ... = 0 (J. Massey, Shift-register synthesis and BCH
// decoding, IEEE Transactions on Information Theory 15, 1969).
func shortest(p []uint64) []uint64 {
	c, b := []uint64{1}, []uint64{1}
	length, gap, last := 0, 1, uint64(1)
	for k := range p {
		d := uint64(0)
		for i := 0; i <= length && i < len(c); i++ {
			d = sum(d, product(c[i], p[k-i]))
		}
		if d == 0 {
			gap++
			continue
		}
		factor := product(d, power(last, modulus-2)) // by Fermat's little theorem the inverse
		was := append([]uint64(nil), c...)
		for len(c) < len(b)+gap {
			c = append(c, 0)
		}
		for i := range b {
			c[i+gap] = sum(c[i+gap], minus(product(factor, b[i])))
		}
		if 2*length > k {
			gap++
			continue
		}
		length, gap, last, b = k+1-length, 1, d, was
	}
	for len(c) < length+1 {
		c = append(c, 0)
	}
	return c[:length+1]
}

// values solves for the differences at some places, of which the first power sums
// are given (Gaussian elimination; the places differ, so there is one solution).
func values(at, p []uint64) []uint64 {
	n := len(at)
	rows := make([][]uint64, n)
	for k := range rows {
		rows[k] = make([]uint64, n+1)
		for i, m := range at {
			rows[k][i] = power(m, uint64(k))
		}
		rows[k][n] = p[k]
	}
	for i := range n {
		for k := i; k < n; k++ {
			if rows[k][i] != 0 {
				rows[i], rows[k] = rows[k], rows[i]
				break
			}
		}
		inverse := power(rows[i][i], modulus-2)
		for j := i; j <= n; j++ {
			rows[i][j] = product(rows[i][j], inverse)
		}
		for k := range rows {
			f := rows[k][i]
			if k == i || f == 0 {
				continue
			}
			for j := i; j <= n; j++ {
				rows[k][j] = sum(rows[k][j], minus(product(f, rows[i][j])))
			}
		}
	}
	list := make([]uint64, n)
	for i := range list {
		list[i] = rows[i][n]
	}
	return list
}

// before gives the value that stood where v stands now.
func before(v float64, diff int64) float64 {
	if math.IsNaN(v) {
		v = beyond
	}
	if v = float64(int64(math.Round(v*step))-diff) / step; v >= beyond {
		return math.NaN()
	}
	return v
}

// sum takes numbers below modulus. Which of the two sums it is nobody can foresee,
// so that a branch would often be guessed wrong.
func sum(a, b uint64) uint64 {
	s := a + b - modulus
	return s + uint64(int64(s)>>63)&modulus
}

func minus(a uint64) uint64 {
	if a == 0 {
		return 0
	}
	return modulus - a
}

func product(a, b uint64) uint64 {
	hi, lo := bits.Mul64(a, b)
	return sum(hi<<3|lo>>61, lo&modulus)
}

func power(a, n uint64) uint64 {
	p := uint64(1)
	for ; n > 0; n >>= 1 {
		if n&1 == 1 {
			p = product(p, a)
		}
		a = product(a, a)
	}
	return p
}

func (s sketch) String() string {
	var b []byte
	for i, v := range s {
		if i > 0 {
			b = append(b, ' ')
		}
		b = strconv.AppendUint(b, v, 16)
	}
	return string(b)
}

func readSketch(text string) (s sketch, ok bool) {
	for word := range strings.FieldsSeq(text) {
		v, err := strconv.ParseUint(word, 16, 64)
		if err != nil {
			return nil, false
		}
		s = append(s, v%modulus)
	}
	return s, len(s) >= 2
}
