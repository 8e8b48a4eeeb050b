package portfolio

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
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

// No more charts are kept than the bounds allow, the oldest are let go first, and a
// chart that was let go is not found in again.
func TestNearForgets(t *testing.T) {
	n, grid := newNear(), word{1, 2}
	for i := range nearCharts + 3 {
		n.add(grid, kept{tank: strconv.Itoa(i), c: Chart{Depth: make([]float64, 2)}})
	}
	if list := n.grids[grid]; len(list) != nearCharts || list[0].tank != "3" || n.rows != 2*nearCharts {
		t.Errorf("%d charts kept from %q on, %d rows", len(list), list[0].tank, n.rows)
	}
	big := Chart{Depth: make([]float64, nearRows/2)}
	for i := range uint64(3) {
		n.add(word{9, i}, kept{c: big})
	}
	if n.rows > nearRows || n.grids[grid] != nil || n.grids[word{9, 0}] != nil || len(n.grids[word{9, 2}]) != 1 {
		t.Errorf("%d rows of %d kept, %d grids", n.rows, nearRows, len(n.grids))
	}
}

// Half a family is no family; two that are unlike theirs are told family by family.
func TestFamiliesInOrder(t *testing.T) {
	var tanks []Tank
	family := func(nominal, diameter, full float64, n int) {
		for range n {
			tanks = append(tanks, Tank{ID: strconv.Itoa(len(tanks)), Chart: -1, Nominal: nominal, Diameter: diameter, Full: full})
		}
	}
	family(10000, 96, 10027, 6)
	family(6000, 72, 6012, 6)
	family(4000, 64, 4010, familyLeast-1)
	tanks = append(tanks,
		Tank{ID: "big", Chart: -1, Nominal: 10000, Diameter: 96, Full: 9500},
		Tank{ID: "small", Chart: -1, Nominal: 6000, Diameter: 72, Full: 6500})
	want(t, found(bookOf("a", nil, tanks...)), "a small check capacity-unlike-its-family", "a big check capacity-unlike-its-family")
	tanks[len(tanks)-1] = Tank{ID: "few", Chart: -1, Nominal: 4000, Diameter: 64, Full: 4500}
	tanks = append(tanks[:0:0], tanks[12:16]...)
	want(t, found(bookOf("a", nil, tanks...)))
	if m := median(nil); !math.IsNaN(m) {
		t.Errorf("the middle of nothing is %v", m)
	}
}

// A length of another size is told too, but not of the compartments of one tank;
// two sizes that are the rarer ones are told each.
func TestSharedByLength(t *testing.T) {
	c := made("X", 96, 320, 1)
	want(t, found(bookOf("a", []Chart{c}, Tank{ID: "1", Length: 320}, Tank{ID: "2", Length: 320}, Tank{ID: "3", Length: 260})),
		"a 3 check chart-shared-wrongly")
	want(t, found(bookOf("a", []Chart{c}, Tank{ID: "1", Diameter: 96}, Tank{ID: "2", Diameter: 96}, Tank{ID: "3", Diameter: 84}, Tank{ID: "4", Diameter: 72})),
		"a 3 check chart-shared-wrongly", "a 4 check chart-shared-wrongly")
	part := c
	part.Name = "1/A"
	want(t, found(bookOf("a", []Chart{part}, Tank{ID: "1", Length: 320}, Tank{ID: "2", Length: 260})))
	if got := where("b.xlsx", cell.Ref{}); got != "b.xlsx" {
		t.Errorf("a place without a cell: %q", got)
	}
}

// A tank without a length is told as that; a name that stands twice in one book is
// the reading's to tell.
func TestTwoBooksWithoutLength(t *testing.T) {
	v := New()
	books := []*Book{
		bookOf("a", nil, Tank{Site: "S", ID: "1", Chart: -1}, Tank{Site: "S", ID: "1", Chart: -1}),
		bookOf("b", nil, Tank{Site: "s ", ID: "1", Chart: -1, Shutoff: 86, Upper: 48}),
	}
	for _, b := range books {
		v.Look(b)
	}
	for _, b := range books {
		v.Add(b)
	}
	list := v.Findings()
	if len(list) != 1 || list[0].Severity != finding.Check || !strings.Contains(list[0].Why, "no length with no length") && !strings.Contains(list[0].Why, "at no length") {
		t.Errorf("%+v", list)
	}
}

// Charts that are too short, empty at their first row or unlike from row to row are
// no multiples.
func TestNoMultiple(t *testing.T) {
	c := made("A", 96, 320, 1)
	for name, o := range map[string]Chart{
		"another number of rows": {Depth: c.Depth[:90], Volume: c.Volume[:90], Rounding: 1, Gallon: 1},
		"not rounded":            {Depth: c.Depth, Volume: c.Volume, Gallon: 1},
	} {
		if k, ok := multiple(&c, &o); ok {
			t.Errorf("%s: %v times", name, k)
		}
	}
	short := Chart{Depth: c.Depth[:8], Volume: c.Volume[:8], Rounding: 1, Gallon: 1}
	twice := times("B", short, 2)
	if k, ok := multiple(&short, &twice); ok {
		t.Errorf("eight rows: %v times", k)
	}
	odd := times("B", c, 1.3)
	odd.Volume[0] = 5 // something where the other chart has nothing
	if k, ok := multiple(&c, &odd); ok {
		t.Errorf("a first row that is not empty: %v times", k)
	}
}
