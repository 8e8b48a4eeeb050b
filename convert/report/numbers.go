package report

import (
	"encoding/binary"
	"math"
)

// appendNumbers writes a list of numbers so that the same bits come back. Rows of
// charts are mostly whole numbers, eighths, tenths or thousandths that rise
// evenly: then it is one or two bytes a number, and where they are not, eight.
//
// First stands how many there are; then the scale on which all of them are whole
// numbers, 0 where there is none; then each one's step from the one before.
func appendNumbers(to []byte, list []float64) []byte {
	to = binary.AppendUvarint(to, uint64(len(list)))
	if len(list) == 0 {
		return to
	}
	scale := scaleOf(list)
	to = binary.AppendUvarint(to, scale)
	if scale == 0 {
		for _, v := range list {
			to = binary.LittleEndian.AppendUint64(to, math.Float64bits(v))
		}
		return to
	}
	last := int64(0)
	for _, v := range list {
		n := int64(math.Round(v * float64(scale)))
		to = binary.AppendVarint(to, n-last)
		last = n
	}
	return to
}

// scaleOf gives the first scale on which all numbers are whole and come back to
// the bit.
func scaleOf(list []float64) uint64 {
	for _, scale := range [...]uint64{1, 8, 64, 10, 100, 1000, 10_000} {
		s := float64(scale)
		fits := true
		for _, v := range list {
			n := math.Round(v * s)
			if !(math.Abs(n) <= 1<<50) || math.Float64bits(float64(int64(n))/s) != math.Float64bits(v) {
				fits = false
				break
			}
		}
		if fits {
			return scale
		}
	}
	return 0
}

// takeNumbers reads what appendNumbers wrote and gives what follows it. ok is
// false where it is something else.
func takeNumbers(from []byte) (list []float64, rest []byte, ok bool) {
	n, k := binary.Uvarint(from)
	// A number takes a byte at least.
	if k <= 0 || n > uint64(len(from)) {
		return nil, nil, false
	}
	from = from[k:]
	if n == 0 {
		return nil, from, true
	}
	scale, k := binary.Uvarint(from)
	if k <= 0 {
		return nil, nil, false
	}
	from = from[k:]
	list = make([]float64, n)
	if scale == 0 {
		if uint64(len(from)) < 8*n {
			return nil, nil, false
		}
		for i := range list {
			list[i] = math.Float64frombits(binary.LittleEndian.Uint64(from[8*i:]))
		}
		return list, from[8*n:], true
	}
	last, s := int64(0), float64(scale)
	for i := range list {
		step, k := binary.Varint(from)
		if k <= 0 {
			return nil, nil, false
		}
		from = from[k:]
		last += step
		list[i] = float64(last) / s
	}
	return list, from, true
}
