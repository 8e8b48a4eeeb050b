package shape

import "math"

// AtEnds gives the depths at the low and at the high seam, in inches square to
// the axis, when the depth at the dip station is depth. They may lie below 0
// (that end is dry) or above the height (its top is covered). Of an upright
// tank they are the depths at its low and high side.
func (t *Tank) AtEnds(depth float64) (low, high float64) {
	low = depth + t.spec.Dip*t.t
	return low, low - t.run()*t.t
}

// BelowTop gives how far the surface lies below the inside top of the tank at
// the low and at the high seam, in inches; below 0 where the top is covered.
func (t *Tank) BelowTop(depth float64) (low, high float64) {
	low, high = t.AtEnds(depth)
	return t.height - low, t.height - high
}

// BottomDry reports whether the liquid has left the bottom at the high end:
// one half of extreme tilt, in which no level-tank formula applies.
func (t *Tank) BottomDry(depth float64) bool {
	_, high := t.AtEnds(depth)
	return t.t > 0 && high < 0
}

// TopWet reports whether the liquid touches the top of the shell at the low
// end: the other half of extreme tilt. A level tank is wet at its top when full.
func (t *Tank) TopWet(depth float64) bool {
	low, _ := t.AtEnds(depth)
	return low >= t.height
}

// Plumb gives what a stick hanging plumb reads for a depth square to the axis:
// depth times the cosine of the tilt. The difference is 0.005 in for 4 in of
// rise over 32 ft, 0.17 in for 12 in over 16 ft.
func (t *Tank) Plumb(depth float64) float64 { return depth / math.Hypot(1, t.t) }
