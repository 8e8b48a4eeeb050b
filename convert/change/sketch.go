package change

import (
	"fmt"
	"math"
	"math/bits"

	"dropcut/plan/chart"
)

// sketch is what is kept of a column of a chart: the sum of its values, the sum of
// the sums up to each row, and the sum of those, in the field of whole numbers
// modulo 2^61 - 1. A value m rows from the end is in them once, m times and
// m(m+1)/2 times: where one value was changed, the first two give the row and the
// difference, and the third confirms it, as a single error is decoded by power
// sums (R. Roth, Introduction to Coding Theory, 2006, chapter 6; from memory). Two
// changes pass for one with a chance of about rows/2^61.
type sketch [3]uint64

// modulus is a Mersenne prime, large enough for any volume in millionths.
const modulus = 1<<61 - 1

// step is the finest difference that is told: sixty-fourths of an inch are whole
// millionths.
const step = 1e6

// beyond is where values stop to be whole millionths in the field; no chart holds
// such a figure, and a NaN counts as one.
const beyond = 1e11

func sketchOf(c *chart.Chart) (depths, volumes sketch) {
	for i := range c.Rows {
		depths.add(c.Rows[i].Depth)
		volumes.add(c.Rows[i].Volume)
	}
	return depths, volumes
}

func (s *sketch) add(v float64) {
	s[0] = sum(s[0], inField(v))
	s[1] = sum(s[1], s[0])
	s[2] = sum(s[2], s[1])
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

// changed finds the row (from 0) whose value makes the difference between two
// sketches, and the difference, new less old in millionths; ok is false where it
// is not one row.
func (s sketch) changed(now sketch, rows int) (row int, diff int64, ok bool) {
	var d [3]uint64
	for i := range d {
		d[i] = sum(now[i]%modulus, modulus-s[i]%modulus)
	}
	if d[0] == 0 {
		return 0, 0, false
	}
	m := product(d[1], power(d[0], modulus-2)) // by Fermat's little theorem the inverse
	if m < 1 || m > uint64(rows) || product(d[0], product(m, m+1)) != sum(d[2], d[2]) {
		return 0, 0, false
	}
	diff = int64(d[0])
	if d[0] > modulus/2 {
		diff -= modulus
	}
	return rows - int(m), diff, true
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

// sum takes numbers below modulus.
func sum(a, b uint64) uint64 {
	s := a + b
	if s >= modulus {
		s -= modulus
	}
	return s
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

func (s sketch) String() string { return fmt.Sprintf("%x %x %x", s[0], s[1], s[2]) }

func readSketch(text string) (s sketch, ok bool) {
	n, err := fmt.Sscanf(text, "%x %x %x", &s[0], &s[1], &s[2])
	return s, err == nil && n == 3
}
