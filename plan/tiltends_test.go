package plan

import (
	"math"
	"math/rand/v2"
	"testing"

	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/shape"
	"dropcut/plan/unit"
)

// A tilted tank whose ends or length nobody has given is never planned to shut
// off higher than with them: 600 invented tanks of every end, level charts by the
// shape itself.
func TestEndsNotGivenShutOffLower(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 12))
	rules := federalRules(t)
	ends := []string{"flat", "hemispherical", "2:1 elliptical", "torispherical", "10 % torispherical"}
	differ := 0
	for i := range 600 {
		d := 48 + float64(rng.IntN(85))
		word := ends[i%len(ends)]
		head, ok := HeadOf(word, unit.Length(d))
		if !ok {
			t.Fatal(word)
		}
		length := math.Round(d * (1.2 + 3*rng.Float64()))
		s, err := shape.New(shape.Spec{Kind: shape.Horizontal, Diameter: d, Height: d, Length: length, Low: head, High: head})
		if err != nil {
			t.Fatal(err)
		}
		c := &chart.Chart{Name: "T", DepthUnit: unit.Inches, VolumeUnit: unit.USGallons}
		for k := 0.0; k <= d*4; k++ {
			c.Rows = append(c.Rows, chart.Row{Depth: k / 4, Volume: math.Round(s.Volume(k/4)/shape.CubicInchesPerGallon*100) / 100, SheetRow: int32(k) + 2, DepthCol: 1, VolumeCol: 2})
		}
		tank, _, dev := tradeCase()
		low := FillEnd
		if rng.IntN(2) == 0 {
			low = OtherEnd
		}
		tank.Diameter, tank.RiserHeight, tank.FaceToBottom = inches(d), inches(40), inches(d+40)
		tank.Rise, tank.LowEnd, tank.FillStation = inches(0.25+0.02*length*rng.Float64()), given(low, 1), inches(length*rng.Float64())
		plan := func(end string, given1 bool) float64 {
			k := tank
			if end != "" {
				k.EndShape = given(end, 3)
			}
			k.Length = cell.Of[unit.Length]{}
			if given1 {
				k.Length = inches(length)
			}
			cut, _ := Make(&k, c, &dev, rules, Options{BetweenEntries: true})
			if !cut.ShutoffDepth.Known {
				return math.NaN()
			}
			return float64(cut.ShutoffDepth.V)
		}
		full := plan(word, true)
		for name, got := range map[string]float64{"ends": plan("", true), "length": plan(word, false), "ends and length": plan("", false)} {
			if math.IsNaN(got) || math.IsNaN(full) {
				continue
			}
			if got != full {
				differ++
			}
			if got > full+1./16+1e-9 {
				t.Errorf("%v in, %v in long, %s, rise %v, station %v, low %v: without %s it shuts off at %v, with all at %v", d, length, word, tank.Rise.V, tank.FillStation.V, low, name, got, full)
			}
		}
	}
	if differ < 50 {
		t.Errorf("only %d readings differ", differ)
	}
}
