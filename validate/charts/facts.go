package charts

import (
	"dropcut/plan"
	"dropcut/plan/chart"
	"dropcut/plan/unit"
)

// FactsOf gives what a tank list says of the tank of a chart, in the chart's
// units. Where these are not known, only the shape and the limit are given.
func FactsOf(t *plan.Tank, c *chart.Chart, limit unit.Percent) Facts {
	f := Facts{Limit: float64(limit)}
	if t == nil {
		return f
	}
	f.Shape = t.Shape.V
	if !c.UnitsKnown() {
		return f
	}
	length := func(l unit.Length) float64 { return c.DepthUnit.Number(l) }
	f.Diameter, f.Length = length(t.Diameter.V), length(t.Length.V)
	f.Nominal, f.Certified = c.VolumeUnit.Number(t.Nominal.V), c.VolumeUnit.Number(t.Certified.V)
	if c.FullHeight.Given() && !t.Diameter.Given() {
		f.Diameter = length(c.FullHeight.V)
	}
	if t.FaceToBottom.V > 0 && t.RiserHeight.V > 0 {
		f.FaceToBottomLessRiser = length(t.FaceToBottom.V - t.RiserHeight.V)
	}
	f.Inch = length(unit.Inch)
	f.PerCubic = c.VolumeUnit.Number(unit.CubicInch) / (f.Inch * f.Inch * f.Inch)
	f.USGallons = c.VolumeUnit == unit.USGallons
	return f
}
