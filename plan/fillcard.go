package plan

import (
	"fmt"
	"math"

	"dropcut/plan/chart"
	"dropcut/plan/unit"
)

// FillLine is a line of a fill card: with the stick at Depth, less than Room may
// still be delivered.
type FillLine struct {
	Depth  unit.Length
	Volume unit.Volume
	Room   unit.Volume
}

// Most is what may be delivered at the most, in whole ones of a unit: the greatest
// number below the room, 0 where nothing may be delivered. Of a room of 500 gal it
// is 499.
func (l FillLine) Most(u unit.VolumeUnit) float64 {
	room := u.Number(l.Room)
	// What is a whole number but for the last bits of a float64 is a whole number.
	return max(math.Ceil(room-1e-9*max(room, 1))-1, 0)
}

// StickStep gives the step between the lines of a fill card: a whole inch, or
// 2 cm where the chart is metric, so that a card fits a page. Common practice, no
// source.
func StickStep(c *chart.Chart) unit.Length {
	if c.DepthUnit.Metric() {
		return 20 * unit.Millimetre
	}
	return unit.Inch
}

// FillCard says, for each stick reading of a step from the lowest to the highest
// charted depth, how much may be delivered before the limit volume is reached:
// strictly less than the room left (40 CFR 280.30(a)). Whoever reads the stick
// between two lines takes the higher one. It is for a tank that lies level; see
// [FillCardAsItLies].
func FillCard(c *chart.Chart, limit unit.Volume, step unit.Length) ([]FillLine, error) {
	return fillCard(c, limit, step, nil)
}

// FillCardAsItLies is [FillCard] for a tank whose rise from end to end is known:
// the volume at a stick reading is that of the tilted tank where this is more
// than the chart's. The stick goes down at the dip station, else at the fill;
// where neither is known, at the high end, where it shows least. It is an error
// if the rise is given and what it does to the volume cannot be worked out.
func FillCardAsItLies(t *Tank, c *chart.Chart, limit unit.Volume, step unit.Length) ([]FillLine, error) {
	if !t.Rise.Given() || t.Rise.V == 0 {
		return fillCard(c, limit, step, nil)
	}
	at := *t
	if t.DipStation.Given() {
		at.FillStation = t.DipStation
	}
	m := &maker{t: &at, c: c, quiet: true}
	if !m.curve() {
		return nil, fmt.Errorf("tank %s: a chart from which a level can be read is expected", t.ID.V)
	}
	if m.tilt(); m.slope == nil {
		return nil, fmt.Errorf("tank %s: a rise of %s, and not the dimensions that its effect follows from", t.ID.V, m.in(t.Rise.V))
	}
	return fillCard(c, limit, step, m.slope)
}

func fillCard(c *chart.Chart, limit unit.Volume, step unit.Length, lies *slope) ([]FillLine, error) {
	k, err := chart.NewCurve(c)
	if err != nil {
		return nil, err
	}
	if !(step > 0) {
		return nil, errStep
	}
	first := unit.RoundTo(k.Bottom(), step, unit.Up)
	n := int((k.Top()-first)/step+unit.Guard) + 1
	if n < 1 || n > 100_000 {
		return nil, errStep
	}
	list := make([]FillLine, 0, n)
	_, full := k.Full()
	for i := range n {
		d := first + unit.Length(i)*step
		v, err := k.At(min(d, k.Top()))
		if err != nil {
			return nil, err
		}
		if lies != nil {
			v = max(v, min(v+lies.correction(d).Of(full), full))
		}
		list = append(list, FillLine{Depth: d, Volume: v, Room: max(limit-v, 0)})
	}
	return list, nil
}
