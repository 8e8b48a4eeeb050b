package plan

import (
	"dropcut/plan/chart"
	"dropcut/plan/unit"
)

// TiltCorrection gives, for a tank that does not lie level, by how many percent
// of its capacity it holds more than the level one at a depth under the fill. It
// is what a plan counts with where it is above nothing. ok is false for a level
// tank, for one whose rise is not known, and where the effect of the rise cannot
// be worked out.
func TiltCorrection(t *Tank, c *chart.Chart) (at func(unit.Length) unit.Percent, ok bool) {
	if c == nil || !t.Rise.Given() {
		return nil, false
	}
	m := &maker{t: t, c: c, quiet: true}
	if !m.curve() {
		return nil, false
	}
	m.tilt()
	if m.slope == nil {
		return nil, false
	}
	return m.slope.correction, true
}
