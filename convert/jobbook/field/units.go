package field

import (
	"dropcut/convert/drawing"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// Units are the units of a book's pages.
type Units = drawing.Units

// UnitsOf are the units of a job's pages: those of its first chart, or the ones
// that were asked for.
func UnitsOf(r *validate.Result, asked drawing.Units) drawing.Units {
	u := asked
	if u.Length == unit.LengthUnknown {
		u.Length = unit.Inches
		if r.Chart != nil && r.Chart.DepthUnit.Metric() {
			u.Length = unit.Millimetres
		}
	}
	if u.Volume == unit.VolumeUnknown {
		u.Volume = unit.USGallons
		if r.Chart != nil && r.Chart.VolumeUnit != unit.VolumeUnknown {
			u.Volume = r.Chart.VolumeUnit
		}
	}
	return u
}
