package chart

import "dropcut/plan/unit"

// Segment is what a curve is between a row and the next one: the volume at a
// depth Depth + x is the larger of the straight line, Volume + Rise x, and of
// the cubic, Volume + x (A + x (B + x C)). Where the rows stand near enough for
// the straight line, and behind the last row, A, B and C repeat the line.
type Segment struct {
	Depth   unit.Length
	Volume  unit.Volume
	Rise    float64 // gal/in
	A, B, C float64 // gal/in, gal/in², gal/in³
}

// Segments lists the curve of At from its first row to its last, so that it can
// be written down and read by others. The last one has no Rise.
func (k *Curve) Segments() []Segment {
	n := len(k.depth)
	list := make([]Segment, n)
	for i := range n {
		s := Segment{Depth: unit.Length(k.depth[i]), Volume: unit.Volume(k.volume[i])}
		if i+1 < n {
			h := k.depth[i+1] - k.depth[i]
			s.Rise = (k.volume[i+1] - k.volume[i]) / h
			s.A = s.Rise
			if k.coarse(i + 1) {
				poly := k.around(i + 1)
				a, b := poly.PredictDerivative(k.depth[i]), poly.PredictDerivative(k.depth[i+1])
				// Hermite's cubic from the values and derivatives of both ends.
				s.A = a
				s.B = (3*s.Rise - 2*a - b) / h
				s.C = (a + b - 2*s.Rise) / (h * h)
			}
		}
		list[i] = s
	}
	return list
}
