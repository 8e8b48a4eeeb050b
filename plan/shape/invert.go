package shape

import (
	"fmt"
	"math"
)

// Depth gives the depth at the dip station, in inches, at which the tank holds
// volume cubic inches: the inverse of Volume, to 1e-9 in wherever the surface
// is not vanishingly small. An empty tank gives the depth at which it is just
// empty, a full one the first depth at which it is full.
//
// Where the answer lies off the stick (only in tilted tanks) it is returned
// with ErrBelowDip or ErrAboveDip: the level then shows at the other end only.
// A volume below 0 or above Full gives ErrVolume and NaN.
func (t *Tank) Depth(volume float64) (float64, error) {
	if !(volume >= 0 && volume <= t.full) {
		return math.NaN(), fmt.Errorf("%g cubic inches, expected 0 to %g: %w", volume, t.full, ErrVolume)
	}
	h := t.solve(volume)
	if e := 1e-12 * t.height; math.Abs(h) < e {
		h = 0 // less than the rounding of the last step
	} else if math.Abs(h-t.height) < e {
		h = t.height
	}
	switch {
	case h < 0:
		return h, fmt.Errorf("depth of %.4g in: %w", h, ErrBelowDip)
	case h > t.height:
		return h, fmt.Errorf("depth of %.4g in where the tank is %.4g in high: %w", h, t.height, ErrAboveDip)
	}
	return h, nil
}

// solve finds the depth by Newton's rule kept inside a bracket: where a step
// would leave the bracket, or does not halve it, the bracket is cut in half.
func (t *Tank) solve(v float64) float64 {
	lo, hi := t.lo, t.hi
	switch v {
	case 0:
		return lo
	case t.full:
		return hi
	}
	x := lo + (hi-lo)*t.guess(v/t.full)
	eps := 1e-15 * (math.Abs(lo) + math.Abs(hi))
	last := hi - lo
	for range 200 {
		f := t.Volume(x) - v
		if f == 0 {
			return x
		}
		if f < 0 {
			lo = x
		} else {
			hi = x
		}
		step := f / t.Area(x)
		next := x - step
		if !(next > lo && next < hi) || math.Abs(step) > last/2 {
			next = (lo + hi) / 2
			step = x - next
		}
		last = math.Abs(step)
		x = next
		if last <= eps {
			break
		}
	}
	return x
}

// guess gives a first share of the height for a share of the volume. For a
// circle it inverts the first terms of the segment; it only has to be near.
func (t *Tank) guess(share float64) float64 {
	if t.spec.Kind == Upright || t.spec.Kind == Box {
		return share
	}
	c := math.Cbrt(1.5 * math.Pi * min(share, 1-share))
	x := (1 - math.Cos(c*(1+c*c/15))) / 2
	if share > 0.5 {
		return 1 - x
	}
	return x
}
