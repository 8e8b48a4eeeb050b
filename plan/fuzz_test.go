package plan

import (
	"math"
	"testing"

	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// Whatever stands in a row, a plan neither panics nor gives a figure that is no
// number, nor one above the limit, nor a tube under the device's least, nor any
// length for a tank with a stop.
func FuzzMake(f *testing.F) {
	f.Add(13.0, 104.625, 91.625, 2.0, 6.5, 16.0, 12.0, 95.0, 0.0, 0.0, 0.0, 6.0, 20.0, false)
	f.Add(13.0, 104.625, 96.0, 2.375, 5.75, 14.5, 12.875, 90.0, 2.0, 24.0, 45.0, 6.0, 40.0, true)
	f.Add(-13.0, 0.0, 1e9, -2.0, 1e300, math.Inf(1), math.NaN(), 101.0, 1e9, -5.0, 90.0, -6.0, -1.0, true)
	f.Add(1e-300, 1e300, math.NaN(), 0.0, 0.0, 0.0, 0.0, 100.0, 320.0, 160.0, 89.0, 0.0, 0.0, false)
	rules := federalRules(f)
	f.Fuzz(func(t *testing.T, riser, face, dia, drop, leastTop, leastUpper, body, limit, rise, station, angle, clearance, found float64, between bool) {
		tank, c, d := tradeCase()
		set := func(v float64) cell.Of[unit.Length] {
			if v == 0 {
				return cell.Of[unit.Length]{}
			}
			return inches(v)
		}
		tank.RiserHeight, tank.FaceToBottom, tank.Diameter, tank.Rise, tank.FillStation, tank.Clearance, tank.AsFoundUpper = set(riser), set(face), set(dia), set(rise), set(station), set(clearance), set(found)
		tank.Length, tank.LowEnd, tank.Limit, tank.CutAngle = inches(320), given(OtherEnd, 1), given(unit.Percent(limit), 1), given(unit.Angle(angle), 1)
		d.ShutoffDrop, d.LeastBelowTop, d.LeastUpperTube, d.BodyLength = set(drop), set(leastTop), set(leastUpper), set(body)
		o := Options{BetweenEntries: between}
		cut, list := Make(&tank, c, &d, rules, o)
		a, more := Invert(&tank, c, &d, rules, o, &cut)
		for _, x := range append(list, more...) {
			if x.Found == "" || x.Expected == "" || x.Suggestion == "" {
				t.Errorf("a finding without its words: %+v", x)
			}
		}
		if finding.Worst(list) == finding.Stop {
			cut.Withhold()
		}
		for name, v := range map[string]Value[unit.Length]{
			"shutoff": cut.ShutoffDepth, "headspace": cut.Headspace, "below top": cut.TubeBelowTop, "upper": cut.UpperTube, "drop": cut.DropLength, "lower": cut.LowerTube,
			"alarm": cut.AlarmDepth, "found": a.ShutoffDepth, "cut by": a.CutBy, "new": a.NewTube,
		} {
			if v.Known && (math.IsNaN(float64(v.V)) || math.IsInf(float64(v.V), 0)) {
				t.Errorf("%s is %v", name, v.V)
			}
		}
		for name, v := range map[string]Value[unit.Percent]{"share": cut.ShutoffPercent, "worst": cut.WorstPercent, "chance": cut.ChanceOver, "found": a.ShutoffPercent} {
			if v.Known && (math.IsNaN(float64(v.V)) || v.V < 0) {
				t.Errorf("%s is %v", name, v.V)
			}
		}
		if !cut.UpperTube.Known {
			return
		}
		if cut.ShutoffPercent.V > cut.LimitPercent.V*(1+1e-9) {
			t.Errorf("%v %% of %v %%", cut.ShutoffPercent.V, cut.LimitPercent.V)
		}
		if cut.UpperTube.V <= 0 || cut.UpperTube.V < d.LeastUpperTube.V-1e-6 || cut.LowerTube.Known && cut.LowerTube.V <= 0 {
			t.Errorf("upper tube %v of at least %v, lower %v", cut.UpperTube.V, d.LeastUpperTube.V, cut.LowerTube.V)
		}
	})
}
