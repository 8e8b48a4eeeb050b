package plan

import (
	"fmt"
	"math"
	"strings"

	"dropcut/plan/chart"
	"dropcut/plan/shape"
	"dropcut/plan/unit"
)

// ChartFromDimensions computes a level tank's chart from its dimensions, in
// inches and US gallons, at every step of depth up to the inside height. Where
// nothing says how the ends of a round tank are formed they are half balls: of
// all ends these reach 95 % lowest. volume is the step to which volumes are
// rounded down; 0 leaves them as they are. The chart says that nobody measured
// it, and so does every plan that uses it.
func ChartFromDimensions(t *Tank, step unit.Length, volume unit.Volume) (*chart.Chart, error) {
	m := &maker{t: t, quiet: true}
	m.inside = t.Diameter.V
	length := t.Length.V
	if Standing(t.Shape.V) {
		m.inside, length = t.Length.V, t.Diameter.V
	}
	if !(t.Diameter.V > 0) || !(t.Length.V > 0) {
		return nil, fmt.Errorf("tank %s: diameter %s and length %s; expected both, above nothing", t.ID.V, in(t.Diameter.V), in(t.Length.V))
	}
	spec, ok := m.spec(length)
	if !ok {
		return nil, fmt.Errorf("tank %s: shape %q; expected horizontal, upright, rectangular, obround or elliptical", t.ID.V, t.Shape.V)
	}
	words := strings.TrimSpace(t.EndShape.V)
	if spec.Kind == shape.Horizontal {
		if _, known := HeadOf(words, t.Diameter.V); !known {
			spec.Low = shape.Head{Kind: shape.Hemispherical}
			spec.High = spec.Low
			if words == "" {
				words = "half balls, since nothing else is said"
			} else {
				words = "half balls, since " + words + " gives no depth"
			}
		}
	}
	body, err := shape.New(spec)
	if err != nil {
		return nil, fmt.Errorf("tank %s: %w", t.ID.V, err)
	}
	height := body.Height()
	n := int(math.Ceil(height/float64(step) - 1e-9))
	if !(step > 0) || n < 1 || n > 100_000 {
		return nil, fmt.Errorf("tank %s: %w, found a step of %s", t.ID.V, errStep, in(step))
	}
	c := &chart.Chart{
		Name: t.ID.V, At: t.At, Layout: "computed from dimensions; ends: " + words, DepthUnit: unit.Inches, VolumeUnit: unit.USGallons,
		DepthUnitFrom: t.Diameter.At, VolumeUnitFrom: t.Diameter.At, FromDimensions: true, Rows: make([]chart.Row, 0, n+1),
	}
	for i := range n + 1 {
		d := min(float64(i)*float64(step), height)
		v := body.Volume(d) / shape.CubicInchesPerGallon
		if i == n {
			v = body.Full() / shape.CubicInchesPerGallon
		}
		if volume > 0 {
			v = math.Floor(v/float64(volume)+1e-9) * float64(volume)
		}
		c.Rows = append(c.Rows, chart.Row{Depth: d, Volume: v, SheetRow: int32(i + 1), DepthCol: 1, VolumeCol: 2})
	}
	return c, nil
}
