package plan

import (
	"fmt"
	"math"
	"testing"

	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/unit"
)

// An upright tank of 120 in, 240 in high, that rises by 1 in over its diameter: as
// long as neither bottom nor top is touched the surface cuts the axis at the depth
// of the level tank, by the symmetry of the circle. 95 % are 228 in there; at a fill
// x in from the high side the stick shows 1 in x (60 - x)/120 less, and as much more
// on the low side. It was refused: its height was taken for the run of the rise.
func TestUprightTilted(t *testing.T) {
	rules := federalRules(t)
	c := &chart.Chart{Name: "T", DepthUnit: unit.Inches, VolumeUnit: unit.USGallons}
	for k := 0.0; k <= 240*4; k++ {
		c.Rows = append(c.Rows, chart.Row{Depth: k / 4, Volume: math.Pi * 3600 * k / 4 / 231, SheetRow: int32(k) + 2, DepthCol: 1, VolumeCol: 2})
	}
	for _, k := range []struct {
		low     End
		station float64 // from the nearest end; below 0: not given
		want    float64
	}{
		{OtherEnd, 0, 227.5},
		{OtherEnd, 30, 227.75},
		{OtherEnd, 60, 228},
		{FillEnd, 30, 228}, // 228.25, and of this and the level tank's the lower one serves
		{OtherEnd, -1, 227.5},
		{FillEnd, -1, 228},
		{EndUnknown, -1, 227.5},
	} {
		t.Run(fmt.Sprintf("%v %v", k.low, k.station), func(t *testing.T) {
			tank, _, dev := tradeCase()
			tank.Shape, tank.Diameter, tank.Length = given("upright", 4), inches(120), inches(240)
			tank.RiserHeight, tank.FaceToBottom = inches(40), inches(280)
			tank.Rise, tank.LowEnd = inches(1), given(k.low, 1)
			tank.FillStation = cell.Of[unit.Length]{}
			if k.station >= 0 {
				tank.FillStation = inches(k.station)
			}
			cut, found := Make(&tank, c, &dev, rules, Options{BetweenEntries: true})
			// A sixteenth of an inch is the step that the depth is floored to.
			if got := float64(cut.ShutoffDepth.V); !cut.ShutoffDepth.Known || got > k.want+1e-6 || got < k.want-1./8-1e-6 {
				t.Errorf("shuts off at %v (%v), want %v: %v", got, cut.ShutoffDepth.Known, k.want, found)
			}
		})
	}
}
