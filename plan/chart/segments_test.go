package chart

import (
	"math"
	"testing"

	"dropcut/plan/unit"
)

// The segments say what At says, at every sixteenth of an inch of a chart with
// fine and coarse rows.
func TestSegmentsAreTheCurve(t *testing.T) {
	k := &Curve{depth: []float64{0, 3, 6, 7, 7.5, 12, 20, 23, 24}, volume: []float64{0, 20, 55, 70, 77, 160, 290, 320, 322}, first: 8}
	list := k.Segments()
	i := 0
	for n := range 24*16 + 1 {
		d := float64(n) / 16
		for i+1 < len(list) && float64(list[i+1].Depth) <= d {
			i++
		}
		s := list[i]
		x := d - float64(s.Depth)
		got := float64(s.Volume) + max(s.Rise*x, x*(s.A+x*(s.B+x*s.C)))
		want, err := k.At(unit.Length(d))
		if err != nil {
			t.Fatal(err)
		}
		// Thirteen digits: two ways of computing the same cubic.
		if math.Abs(got-float64(want)) > 1e-10 {
			t.Errorf("at %g in: %.12f, the curve says %.12f", d, got, float64(want))
		}
	}
}
