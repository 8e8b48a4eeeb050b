package plan

import (
	"testing"

	"dropcut/plan/shape"
)

// A plan of a level tank from a chart of 400 rows, findings and calculation
// included, with the lines of the calculation and without.
func BenchmarkMake(b *testing.B) {
	x := trials(b, 1)[0]
	c, err := ChartFromDimensions(&x.tank, 0.25, 1)
	if err != nil {
		b.Fatal(err)
	}
	c.FromDimensions = false
	rules := federalRules(b)
	for name, o := range map[string]Options{"with its lines": {}, "without": {NoTrail: true}} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if cut, _ := Make(&x.tank, c, &x.device, rules, o); !cut.UpperTube.Known {
					b.Fatal("no cut")
				}
			}
		})
	}
}

func BenchmarkMakeTilted(b *testing.B) {
	for _, ends := range []string{"flat", "2:1 elliptical", "torispherical"} {
		b.Run(ends, func(b *testing.B) {
			x := trials(b, 1)[0]
			x.tank.Rise, x.tank.LowEnd, x.tank.EndShape = inches(2), given(OtherEnd, 1), given(ends, 2)
			rules := federalRules(b)
			b.ReportAllocs()
			for b.Loop() {
				if cut, _ := Make(&x.tank, x.chart, &x.device, rules, Options{BetweenEntries: true}); !cut.TiltedDepth.Known {
					b.Fatal("no tilt")
				}
			}
		})
	}
}

func BenchmarkGuard(b *testing.B) {
	x := trials(b, 1)[0]
	rules := federalRules(b)
	for b.Loop() {
		Make(&x.tank, x.chart, &x.device, rules, Options{BetweenEntries: true, Guard: 1})
	}
}

// What everything is measured in: one volume of a level flat-ended tank.
func BenchmarkLevelVolume(b *testing.B) {
	t, err := shape.New(shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		t.Volume(86.66)
	}
}

// The plan of a chart with ten times the rows takes as many allocations.
func TestNoAllocationPerRow(t *testing.T) {
	x := trials(t, 1)[0]
	rules := federalRules(t)
	count := func(step float64) float64 {
		tank := x.tank
		c, err := ChartFromDimensions(&tank, inches(step).V, 1)
		if err != nil {
			t.Fatal(err)
		}
		c.FromDimensions = false
		return testing.AllocsPerRun(20, func() { Make(&tank, c, &x.device, rules, Options{}) })
	}
	few, many := count(1), count(1./16)
	// The texts of the calculation differ by a few numbers with a fraction.
	if many > few+20 {
		t.Errorf("%g allocations for a chart at every inch, %g at every sixteenth", few, many)
	}
}
