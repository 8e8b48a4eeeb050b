package plan

import (
	"math"
	"testing"

	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/unit"
)

// Less than the room may be delivered, never as much: 40 CFR 280.30(a).
func TestFillCard(t *testing.T) {
	_, c, _ := tradeCase()
	limit := unit.Volume(9204)
	card, err := FillCard(c, limit, 0.25)
	if err != nil {
		t.Fatal(err)
	}
	if n := len(card); n != 91*4+3 {
		t.Fatalf("%d lines", n)
	}
	for _, l := range card {
		for _, u := range []unit.VolumeUnit{unit.USGallons, unit.Litres, unit.CubicMetres} {
			most, room := l.Most(u), u.Number(l.Room)
			switch {
			case l.Room < 0 || most < 0 || most != math.Floor(most):
				t.Errorf("at %v: room %v, most %v %v", l.Depth, l.Room, most, u)
			case room == 0 && most != 0:
				t.Errorf("at %v: %v %v may be delivered into no room", l.Depth, most, u)
			case room > 0 && !(most < room && most+1 >= room-1e-6):
				t.Errorf("at %v: most %v of a room of %v %v", l.Depth, most, room, u)
			}
		}
	}
	if l := card[4*82]; l.Depth != 82 || l.Room != 23 || l.Most(unit.USGallons) != 22 {
		t.Errorf("at 82 in there is room for 23 gal, so 22 may be delivered: %+v", l)
	}
	if l := card[4*82+1]; l.Room != 0 || l.Most(unit.USGallons) != 0 {
		t.Errorf("at the limit: %+v", l)
	}
	for _, step := range []unit.Length{0, -1, unit.Length(math.NaN()), 1e-9} {
		if _, err := FillCard(c, limit, step); err == nil {
			t.Errorf("a step of %v is taken", step)
		}
	}
}

// The volume under a stick in a tilted tank: row T02 of the check values, own
// closed form in two ways: a flat-ended tank of 96 in by 319.1388 in that rises
// by 0.01 of its length holds 9383.5868 gal with 86.658 in of liquid 18 in from
// its low end, and so with 86.658 - 0.01 x 283.1388 in 18 in from its high end.
func TestFillCardAsItLies(t *testing.T) {
	const length, slope, volume = 319.1388, 0.01, 9383.5868
	high := 86.658 - slope*(length-36)
	tank := Tank{
		ID: given("K7", 1), Diameter: inches(96), Length: inches(length), EndShape: given("flat", 1),
		Rise: inches(slope * length), LowEnd: given(OtherEnd, 1), FillStation: inches(length / 2), DipStation: inches(18),
	}
	c, err := ChartFromDimensions(&tank, 1, 0)
	if err != nil {
		t.Fatal(err)
	}
	at := func(tank *Tank, depth float64) FillLine {
		card, err := FillCardAsItLies(tank, c, 9525, unit.Length(depth))
		if err != nil {
			t.Fatal(err)
		}
		return card[1]
	}
	// The chart's lines are an inch apart; between them the curve is off by less than
	// a gallon.
	l := at(&tank, high)
	if math.Abs(float64(l.Volume)-volume) > 1 || l.Most(unit.USGallons) >= 9525-volume+1 {
		t.Errorf("the stick at the high end: %+v, want %v gal", l, volume)
	}
	// At the low end the stick shows more than there is; the chart's volume stays.
	tank.LowEnd = given(FillEnd, 1)
	level, err := FillCard(c, 9525, unit.Length(86.658))
	if err != nil {
		t.Fatal(err)
	}
	if got := at(&tank, 86.658); got != level[1] || float64(got.Volume) < volume {
		t.Errorf("the stick at the low end: %+v, want %+v", got, level[1])
	}
	// Without a dip station the stick goes down at the fill; without either, where it
	// shows least.
	tank.LowEnd, tank.DipStation, tank.FillStation = given(OtherEnd, 1), cell.Of[unit.Length]{}, inches(18)
	if got := at(&tank, high); got != l {
		t.Errorf("the stick at the fill: %+v, want %+v", got, l)
	}
	tank.FillStation = cell.Of[unit.Length]{}
	if got := at(&tank, high); got.Volume < l.Volume {
		t.Errorf("the stick nobody knows where: %+v, want at least %+v", got, l)
	}
	tank.Diameter = cell.Of[unit.Length]{}
	tank.Shape = given("no such shape", 1)
	if card, err := FillCardAsItLies(&tank, c, 9525, 1); err == nil {
		t.Errorf("a tilt that nothing follows from gives %d lines", len(card))
	}
}

func TestStickStep(t *testing.T) {
	if got := StickStep(&chart.Chart{DepthUnit: unit.Inches}); got != 1 {
		t.Errorf("inches: %v", got)
	}
	if got := StickStep(&chart.Chart{DepthUnit: unit.Centimetres}); math.Abs(float64(got)*25.4-20) > 1e-12 {
		t.Errorf("centimetres: %v", got)
	}
}
