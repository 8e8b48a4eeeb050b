package portfolio

import (
	"math"
	"slices"
	"testing"

	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/unit"
)

// What is kept of a chart is in inches and in the chart's own volumes; a chart
// without units, or with something that is no number, gives no rows.
func TestChartOf(t *testing.T) {
	rows := []chart.Row{{Depth: 0, Volume: 0}, {Depth: 254, Volume: 1000}, {Depth: 508, Volume: 2500}}
	c := &chart.Chart{Name: "A", DepthUnit: unit.Millimetres, VolumeUnit: unit.Litres, Rows: rows}
	k := ChartOf(c)
	// 25.4 mm are an inch, by definition (NIST SP 811, appendix B).
	if !slices.EqualFunc(k.Depth, []float64{0, 10, 20}, func(a, b float64) bool { return math.Abs(a-b) < 1e-12 }) || !slices.Equal(k.Volume, []float64{0, 1000, 2500}) || k.Name != "A" {
		t.Errorf("kept %+v", k)
	}
	c.Rows = append(slices.Clone(rows), chart.Row{Depth: 600, Volume: math.NaN()})
	if k := ChartOf(c); k.Depth != nil {
		t.Errorf("no number, and kept %+v", k)
	}
	c.Rows, c.DepthUnit = rows, unit.LengthUnknown
	if k := ChartOf(c); k.Depth != nil || k.Name != "A" {
		t.Errorf("no unit, and kept %+v", k)
	}
}

func TestTankOf(t *testing.T) {
	k := plan.Tank{ID: cell.Of[string]{V: "T-1"}, Site: cell.Of[string]{V: "Harbor Road"}, RiserHeight: cell.Of[unit.Length]{V: 36, At: cell.Ref{Row: 2, Col: 5}}, Nominal: cell.Of[unit.Volume]{V: 10000}}
	got := TankOf(&k, &plan.Cut{FullVolume: plan.Known(unit.Volume(10027)), ShutoffDepth: plan.Known(unit.Length(86)), UpperTube: plan.Known(unit.Length(43.625))}, 3)
	if got.ID != "T-1" || got.Site != "Harbor Road" || got.Chart != 3 || got.Riser != 36 || got.RiserAt.Col != 5 || got.Nominal != 10000 || got.Full != 10027 || got.Shutoff != 86 || got.Upper != 43.625 {
		t.Errorf("%+v", got)
	}
}
