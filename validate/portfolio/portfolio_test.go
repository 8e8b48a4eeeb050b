package portfolio

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"dropcut/plan/cell"
	"dropcut/plan/finding"
)

// circle gives the volume of a lying cylinder with flat ends (CRC Standard
// Mathematical Tables, circular segment: r² acos((r-h)/r) - (r-h) sqrt(2rh-h²)).
func circle(diameter, length, h float64) float64 {
	r := diameter / 2
	return length * (r*r*math.Acos((r-h)/r) - (r-h)*math.Sqrt(max(0, 2*r*h-h*h)))
}

// made is a chart of a flat-ended tank at every inch, rounded as charts are.
func made(name string, diameter, length, round float64) Chart {
	c := Chart{Name: name, At: cell.Ref{File: "b", Sheet: "Charts", Col: 2, Row: 2}, Rounding: round, Gallon: 1}
	for d := 0.0; d <= diameter; d++ {
		c.Depth = append(c.Depth, d)
		c.Volume = append(c.Volume, math.Round(circle(diameter, length, d)/231/round)*round)
	}
	return c
}

// times is a chart whose volumes are those of another one multiplied.
func times(name string, c Chart, k float64) Chart {
	out := c
	out.Name, out.Volume = name, slices.Clone(c.Volume)
	for i := range out.Volume {
		out.Volume[i] = math.Round(out.Volume[i]*k/c.Rounding) * c.Rounding
	}
	return out
}

func bookOf(name string, charts []Chart, tanks ...Tank) *Book {
	for i := range tanks {
		tanks[i].At = cell.Ref{File: name, Sheet: "Tanks", Row: 5 + i}
	}
	return &Book{Name: name, Charts: charts, Tanks: tanks}
}

func found(books ...*Book) []string {
	v := New()
	for _, b := range books {
		v.Look(b)
	}
	for _, b := range books {
		v.Add(b)
	}
	var list []string
	for _, f := range v.Findings() {
		list = append(list, fmt.Sprintf("%s %s %s %s", f.Book, f.Tank, f.Severity, f.Slug))
	}
	return list
}

func want(t *testing.T, got []string, want ...string) {
	t.Helper()
	if !slices.Equal(got, want) {
		t.Errorf("found %q, want %q", got, want)
	}
}

func TestChartSharedWrongly(t *testing.T) {
	c := made("X", 96, 320, 1)
	// Twins may share, in one book and in two.
	want(t, found(
		bookOf("a", []Chart{c}, Tank{ID: "A-1", Diameter: 96, Nominal: 10000}, Tank{ID: "A-2", Diameter: 96, Nominal: 10000}),
		bookOf("b", []Chart{c}, Tank{ID: "B-1", Diameter: 96.25, Nominal: 10000}),
	))
	// A tank of another diameter or another capacity may not.
	want(t, found(
		bookOf("a", []Chart{c}, Tank{ID: "A-1", Diameter: 96}, Tank{ID: "A-2", Diameter: 96}),
		bookOf("b", []Chart{c}, Tank{ID: "B-1", Diameter: 92}),
	), "b B-1 check chart-shared-wrongly")
	want(t, found(
		bookOf("a", []Chart{c}, Tank{ID: "A-1", Nominal: 10000}, Tank{ID: "A-2", Nominal: 10000}, Tank{ID: "A-3", Nominal: 8000}),
	), "a A-3 check chart-shared-wrongly")
	// One against one: both are told.
	want(t, found(
		bookOf("a", []Chart{c}, Tank{ID: "A-1", Diameter: 96}),
		bookOf("b", []Chart{c}, Tank{ID: "B-1", Diameter: 92}),
	), "a A-1 check chart-shared-wrongly", "b B-1 check chart-shared-wrongly")
	// A manifolded set has the capacity of both.
	set := c
	set.Name = "A-1+A-2"
	want(t, found(bookOf("a", []Chart{set}, Tank{ID: "A-1", Diameter: 96, Nominal: 5000}, Tank{ID: "A-2", Diameter: 96, Nominal: 10000})))
}

// A chart that is another one multiplied is found; two tanks of one diameter and
// different lengths, which are true multiples of each other, are not taken for
// one, whatever their lengths.
func TestScaledChart(t *testing.T) {
	one := made("A-1", 96, 320, 1)
	for _, k := range []float64{1.2, 0.8, 1.0369, 2} {
		want(t, found(bookOf("a", []Chart{one, times("A-2", one, k)}, Tank{ID: "A-1", Chart: 0}, Tank{ID: "A-2", Chart: 1})),
			"a A-2 check chart-scaled-from-another")
	}
	var charts []Chart
	var tanks []Tank
	rng := rand.New(rand.NewPCG(1, 2))
	for i := range 150 {
		charts = append(charts, made(fmt.Sprint(i), 96, 100+math.Round(rng.Float64()*4000)/10, []float64{1, 1, 10, 0.1}[i%4]))
		tanks = append(tanks, Tank{ID: fmt.Sprint(i), Chart: i})
	}
	want(t, found(bookOf("a", charts, tanks...)))
	// The same tank in litres is no multiple.
	litres := one
	litres.Name, litres.Gallon, litres.Volume = "A-2", 1/3.785411784, slices.Clone(one.Volume)
	for i := range litres.Volume {
		litres.Volume[i] = math.Round(litres.Volume[i] * 3.785411784)
	}
	want(t, found(bookOf("a", []Chart{one, litres}, Tank{ID: "A-1", Chart: 0}, Tank{ID: "A-2", Chart: 1})))
}

// San Joaquin County EHD, UST Overfill Prevention, 2018, p. 7: actual capacities
// of one make of tanks. Each diameter is a family of its own, so that none of
// them is unlike the others; one that holds what another diameter holds is.
func TestFamilies(t *testing.T) {
	var tanks []Tank
	for _, row := range [][3]float64{{6000, 70.25, 5829}, {6000, 89.75, 5998}, {6000, 118.25, 6430}, {10000, 117.75, 10369}, {12000, 89.75, 11527}, {12000, 117.75, 11849}} {
		for range 5 {
			tanks = append(tanks, Tank{ID: fmt.Sprint(len(tanks)), Chart: -1, Nominal: row[0], Diameter: row[1], Full: row[2]})
		}
	}
	want(t, found(bookOf("a", nil, tanks...)))
	tanks = append(tanks, Tank{ID: "odd", Chart: -1, Nominal: 6000, Diameter: 89.75, Full: 5829})
	want(t, found(bookOf("a", nil, tanks...)), "a odd check capacity-unlike-its-family")
}

func TestRisersAlike(t *testing.T) {
	site := func(heights ...float64) *Book {
		b := bookOf("a", nil)
		for i, h := range heights {
			b.Tanks = append(b.Tanks, Tank{Site: "Millrace", ID: fmt.Sprint(i), Chart: -1, Riser: h})
		}
		return b
	}
	want(t, found(site(41.25, 41.25)))
	want(t, found(site(41.25, 41.25, 41.25)), "a  note risers-alike")
	want(t, found(site(41.25, 41.25, 41.25, 41.25)), "a  check risers-alike")
	want(t, found(site(41.25, 41.25, 41.25, 41.3125)))
	want(t, found(site(0, 0, 0, 0))) // not measured at all
}

func TestTankInTwoBooks(t *testing.T) {
	tank := func(shutoff float64) Tank {
		return Tank{Site: "Millrace", ID: "MR-1", Chart: -1, Shutoff: shutoff, Upper: 48}
	}
	want(t, found(bookOf("a", nil, tank(86)), bookOf("b", nil, tank(86))), "b MR-1 note tank-in-two-books")
	want(t, found(bookOf("a", nil, tank(86)), bookOf("b", nil, tank(87))), "b MR-1 check tank-in-two-books")
	want(t, found(bookOf("a", nil, tank(86)), bookOf("b", nil, Tank{Site: "Elsewhere", ID: "MR-1", Chart: -1})))
}

func TestMoved(t *testing.T) {
	before := bookOf("a", nil, Tank{ID: "1", Shutoff: 86}, Tank{ID: "2", Shutoff: 86}, Tank{ID: "3", Shutoff: 86}, Tank{ID: "4"})
	now := bookOf("a", nil, Tank{ID: "2", Shutoff: 86.5}, Tank{ID: "1", Shutoff: 86}, Tank{ID: "3", Shutoff: 85}, Tank{ID: "4", Shutoff: 80}, Tank{ID: "5", Shutoff: 99})
	list := Moved(before, now)
	if len(list) != 1 || list[0].Tank != "2" || list[0].Slug != finding.ShutoffMovedUp || list[0].Tanks[0] != 0 {
		t.Errorf("moved %v, want tank 2 alone", list)
	}
}

// The order of the books is the order of their names, and nothing else shows in
// the findings.
func TestTheSameFindingsAgain(t *testing.T) {
	c := made("X", 96, 320, 1)
	books := func() []*Book {
		return []*Book{
			bookOf("a", []Chart{c, times("Y", c, 1.3)}, Tank{ID: "A-1", Diameter: 96}, Tank{ID: "A-2", Diameter: 90, Chart: 1}),
			bookOf("b", []Chart{c}, Tank{ID: "B-1", Diameter: 92}),
		}
	}
	first := found(books()...)
	for range 20 {
		want(t, found(books()...), first...)
	}
	if len(first) != 3 {
		t.Errorf("found %q, want three", first)
	}
}

func BenchmarkAdd(b *testing.B) {
	var charts []Chart
	var tanks []Tank
	for i := range 25 {
		charts = append(charts, made(fmt.Sprint(i), 96, 200+float64(i)*7, 1))
		tanks = append(tanks, Tank{Site: "S", ID: fmt.Sprint(i), Chart: i, Nominal: 10000, Diameter: 96, Full: 10000})
	}
	b.ReportAllocs()
	v := New()
	for i := range b.N {
		v.Look(bookOf(fmt.Sprint(i), charts, tanks...))
	}
	for i := range b.N {
		v.Add(bookOf(fmt.Sprint(i), charts, tanks...))
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/25, "ns/tank")
}
