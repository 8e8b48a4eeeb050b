package fit

import (
	"math"
	"testing"

	"dropcut/plan/shape"
)

// made gives a chart of a tank as a maker prints it: depths a step apart, the
// volumes in gallons rounded to unit.
func made(s shape.Spec, step, unit float64) (d, v []float64) {
	t, err := shape.New(s)
	if err != nil {
		panic(err)
	}
	for i := 0; float64(i)*step <= t.Height()+1e-9; i++ {
		h := float64(i) * step
		d = append(d, h)
		v = append(v, math.Round(t.Volume(h)/shape.CubicInchesPerGallon/unit)*unit)
	}
	return d, v
}

func BenchmarkFit(b *testing.B) {
	for _, c := range []struct {
		name string
		s    shape.Spec
	}{
		{"flat", shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320}},
		{"two to one", shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320, Low: shape.Head{Kind: shape.TwoToOne}, High: shape.Head{Kind: shape.TwoToOne}}},
		{"torispherical", shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320, Low: shape.TorisphericalOf(96, 1, 0.06), High: shape.TorisphericalOf(96, 1, 0.06)}},
		{"tilted", shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320, Rise: 4, Dip: 24}},
		{"upright", shape.Spec{Kind: shape.Upright, Diameter: 96, Length: 96}},
	} {
		d, v := made(c.s, 0.25, 1)
		b.Run(c.name, func(b *testing.B) {
			ws := new(Workspace)
			b.ReportAllocs()
			for b.Loop() {
				Do(ws, d, v, Hint{PerCubic: 1.0 / 231})
			}
		})
	}
}
