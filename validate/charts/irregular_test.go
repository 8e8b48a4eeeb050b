package charts

import (
	"math"
	"math/rand/v2"
	"testing"

	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// area is the wetted area of an invented vessel at a height, as a share of its
// largest, for heights from 0 to 1.
type area func(h float64) float64

// vessels are the kinds of invented vessels that no simple shape fits.
var vessels = []struct {
	name string
	make func(*rand.Rand) area
}{
	{"free-form", func(g *rand.Rand) area {
		var a, p [5]float64
		for i := range a {
			a[i], p[i] = 0.35*g.Float64()/float64(i+1), 2*math.Pi*g.Float64()
		}
		return func(h float64) float64 {
			s := 1.0
			for i := range a {
				s += a[i] * math.Sin(float64(i+1)*math.Pi*h+p[i])
			}
			return max(s, 0.05)
		}
	}},
	{"stepped", func(g *rand.Rand) area {
		n := 2 + g.IntN(4)
		var at, size []float64
		for range n {
			at, size = append(at, g.Float64()), append(size, 0.3+0.7*g.Float64())
		}
		return func(h float64) float64 {
			s := size[0]
			for i := range at {
				if h > at[i] {
					s = size[i] + 0.3*at[i]
				}
			}
			return s
		}
	}},
	{"cone-bottom", func(g *rand.Rand) area {
		cone, tip := 0.15+0.4*g.Float64(), 0.02+0.1*g.Float64()
		return func(h float64) float64 {
			if h >= cone {
				return 1
			}
			r := tip + (1-tip)*h/cone
			return r * r
		}
	}},
	{"baffled", func(g *rand.Rand) area {
		n, loss, width := 2+g.IntN(5), 0.05+0.25*g.Float64(), 0.01+0.03*g.Float64()
		return func(h float64) float64 {
			s := 2 * math.Sqrt(max(h*(1-h), 1e-6)) // a lying cylinder
			for i := 1; i <= n; i++ {
				if math.Abs(h-float64(i)/float64(n+1)) < width {
					s *= 1 - loss
				}
			}
			return s
		}
	}},
	{"ship-like", func(g *rand.Rand) area {
		bilge, hopper, wing := 0.05+0.1*g.Float64(), 0.2+0.2*g.Float64(), 0.6+0.3*g.Float64()
		slope := 0.3 + 0.4*g.Float64()
		return func(h float64) float64 {
			s := 1.0
			switch {
			case h < bilge:
				s = 0.5 + 0.2*math.Sqrt(h/bilge)
			case h < hopper:
				s = 0.7 + 0.3*(h-bilge)/(hopper-bilge)
			case h > wing:
				s = 1 - slope*(h-wing)/(1-wing)
			}
			return s
		}
	}},
}

// irregular makes the chart of an invented vessel.
func irregular(g *rand.Rand, a area) *chart.Chart {
	height := math.Round(40 + 160*g.Float64())
	step := []float64{0.25, 0.5, 1, 1, 2}[g.IntN(5)]
	round := []float64{0.1, 1, 1, 1, 5}[g.IntN(5)]
	full := 2000 * math.Pow(10, 1.5*g.Float64())
	total := 0.0
	const slices = 4000
	sums := make([]float64, slices+1)
	for i := range slices {
		total += a((float64(i) + 0.5) / slices)
		sums[i+1] = total
	}
	c := &chart.Chart{Name: "V-1", DepthUnit: unit.Inches, VolumeUnit: unit.USGallons, At: cell.Ref{File: "invented", Col: 1, Row: 2}}
	row := int32(2)
	for d := 0.0; d <= height; d += step {
		x := d / height * slices
		i := min(int(x), slices-1)
		v := (sums[i] + (x-float64(i))*(sums[i+1]-sums[i])) / total * full
		c.Rows = append(c.Rows, chart.Row{Depth: d, Volume: math.Round(v/round) * round, SheetRow: row})
		row++
	}
	return c
}

// Vessels that no simple shape fits are no faults: nothing is stopped, and where
// the shape is not recognised it is said that only the local checks ran. 200
// invented ones, each with its height and capacity in the list and without.
func TestIrregularVesselsAreNotStopped(t *testing.T) {
	g := rand.New(rand.NewPCG(47, 11))
	ws := new(Workspace)
	loudly, unknown, stopped := map[string]int{}, 0, 0
	for i := range 200 {
		k := vessels[i%len(vessels)]
		c := irregular(g, k.make(g))
		last := c.Rows[len(c.Rows)-1]
		for _, f := range []Facts{
			{PerCubic: 1.0 / 231},
			{PerCubic: 1.0 / 231, Shape: "irregular", FaceToBottomLessRiser: last.Depth, Certified: last.Volume},
		} {
			r := Audit(ws, c, f)
			if !r.Fit.Recognised {
				unknown++
				if !hasSlug(r.Findings, finding.ShapeNotRecognised) {
					t.Errorf("%s %d: not recognised, and nothing said", k.name, i)
				}
			}
			if finding.Worst(r.Findings) == finding.Stop {
				stopped++
				t.Errorf("%s %d, %d rows: %s", k.name, i, len(c.Rows), list(loud(r.Findings)))
			}
			if len(loud(r.Findings)) > 0 {
				loudly[k.name]++
				t.Logf("%s %d: %s", k.name, i, list(loud(r.Findings)))
			}
		}
	}
	t.Logf("%d of 400 not recognised, %d stopped, with a check: %v", unknown, stopped, loudly)
}
