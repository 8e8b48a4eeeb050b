package charts

import (
	"math"
	"math/rand/v2"
	"testing"

	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/shape"
	"dropcut/plan/unit"
)

// made gives a chart of a tank as a maker prints it: depths a step apart up to
// the full tank, volumes in gallons rounded to one.
func made(t testing.TB, s shape.Spec, step, rounding float64) *chart.Chart {
	t.Helper()
	tank, err := shape.New(s)
	if err != nil {
		t.Fatal(err)
	}
	c := &chart.Chart{
		Name: "M-1", At: cell.Ref{File: "made.csv", Col: 1, Row: 2},
		DepthUnit: unit.Inches, VolumeUnit: unit.USGallons,
	}
	for i := 0; ; i++ {
		d := min(float64(i)*step, tank.Height())
		v := math.Round(tank.Volume(d)/shape.CubicInchesPerGallon/rounding) * rounding
		c.Rows = append(c.Rows, chart.Row{Depth: d, Volume: v, SheetRow: int32(i + 2), DepthCol: 1, VolumeCol: 2})
		if d >= tank.Height() {
			break
		}
	}
	c.To = c.VolumeAt(len(c.Rows) - 1)
	return c
}

// aTank gives one of the tanks that charts are made of here.
func aTank(r *rand.Rand) shape.Spec {
	d := []float64{48, 64, 72, 84, 95.5, 96, 120, 126}[r.IntN(8)]
	s := shape.Spec{Kind: shape.Horizontal, Diameter: d, Length: d * (1.6 + 3*r.Float64())}
	switch r.IntN(5) {
	case 0:
		s.Low, s.High = shape.Head{Kind: shape.TwoToOne}, shape.Head{Kind: shape.TwoToOne}
	case 1:
		s.Low, s.High = shape.TorisphericalOf(d, 1, 0.06), shape.TorisphericalOf(d, 1, 0.06)
	case 2:
		s.Rise, s.Dip = 0.5+3*r.Float64(), s.Length*r.Float64()
	}
	return s
}

func factsOf(s shape.Spec) Facts {
	return Facts{Diameter: s.Diameter, Length: s.Length, Shape: "horizontal", Limit: 95, PerCubic: 1.0 / 231, Inch: 1, USGallons: true}
}

func BenchmarkAudit(b *testing.B) {
	s := shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320, Low: shape.Head{Kind: shape.TwoToOne}, High: shape.Head{Kind: shape.TwoToOne}}
	sound := made(b, s, 0.25, 1)
	wrong := made(b, s, 0.25, 1)
	wrong.Rows[200].Volume += 90
	for _, c := range []struct {
		name string
		c    *chart.Chart
	}{{"sound", sound}, {"one wrong digit", wrong}} {
		b.Run(c.name, func(b *testing.B) {
			ws := new(Workspace)
			f := factsOf(s)
			Audit(ws, c.c, f)
			b.ReportAllocs()
			for b.Loop() {
				Audit(ws, c.c, f)
			}
			b.ReportMetric(float64(len(c.c.Rows)), "rows")
		})
	}
}
