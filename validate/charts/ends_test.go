package charts

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"dropcut/plan/finding"
	"dropcut/plan/shape"
)

// What the ends of a chart and the list's figures say of it, for tanks that are
// not lying cylinders too.
func TestEndsAndOtherTanks(t *testing.T) {
	upright := shape.Spec{Kind: shape.Upright, Diameter: 96, Length: 120}
	box := shape.Spec{Kind: shape.Box, Length: 120, Width: 60, Height: 72}
	lying := shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320}
	gallons := func(s shape.Spec) float64 {
		c := made(t, s, 1, 1)
		return c.Rows[len(c.Rows)-1].Volume
	}
	for _, k := range []struct {
		name     string
		tank     shape.Spec
		rows     int // rows kept, fewer than 0: rows repeated at the end
		diameter float64
		length   float64
		nominal  float64
		shape    string
		want     finding.Slug
	}{
		{"upright, whole", upright, 0, 96, 120, gallons(upright), "vertical", ""},
		{"upright, 20 in missing", upright, 101, 96, 120, gallons(upright), "vertical", finding.ChartStopsEarly},
		{"upright, rows past full", upright, -4, 96, 120, gallons(upright), "vertical", finding.RowsPastFull},
		{"box, whole", box, 0, 72, 120, gallons(box), "rectangular", ""},
		{"box, 15 in missing, height not given", box, 58, 0, 120, gallons(box), "rectangular", finding.ChartStopsEarly},
		{"lying, whole", lying, 0, 96, 320, 10000, "horizontal", ""},
		// A chart that ends a row short is usual.
		{"lying, one row short", lying, 96, 96, 320, 10000, "horizontal", ""},
		{"lying, 8 in missing", lying, 89, 96, 320, 10000, "horizontal", finding.ChartStopsEarly},
		{"lying, 24 in missing, nothing given", lying, 73, 0, 0, 0, "", finding.ChartStopsEarly},
		{"lying, three rows past full", lying, -3, 96, 320, 10000, "horizontal", finding.RowsPastFull},
		// One row past full is usual.
		{"lying, one row past full", lying, -1, 96, 320, 10000, "horizontal", ""},
		{"of 95 in, chart of 96", lying, 0, 94.75, 320, 9768, "horizontal", finding.ChartOfAnotherDiameter},
		// A name: tanks called 96 in may be 3 in less or more.
		{"of 90 in by name, chart of 92.5", shape.Spec{Kind: shape.Horizontal, Diameter: 92.5, Length: 320}, 0, 90, 320, 9300, "horizontal", ""},
		{"capacity by name, 3 % off", lying, 0, 96, 320, 10300, "horizontal", ""},
		{"capacity by name, 10 % off", lying, 0, 96, 350, 11000, "horizontal", finding.ChartOfAnotherLength},
		{"capacity measured, 2 % off", lying, 0, 96, 326, 10228, "horizontal", finding.ChartOfAnotherLength},
		{"imperial gallons", lying, 0, 96, 384, 12042, "horizontal", finding.ImperialGallons},
	} {
		c := made(t, k.tank, 1, 1)
		switch {
		case k.rows > 0:
			c.Rows = c.Rows[:k.rows]
		case k.rows < 0:
			for range -k.rows {
				r := c.Rows[len(c.Rows)-1]
				r.Depth, r.SheetRow = r.Depth+1, r.SheetRow+1
				c.Rows = append(c.Rows, r)
			}
		}
		f := factsOf(k.tank)
		f.Diameter, f.Length, f.Nominal, f.Shape = k.diameter, k.length, k.nominal, k.shape
		got := loud(Audit(nil, c, f).Findings)
		if k.want == "" && len(got) > 0 || k.want != "" && (len(got) != 1 || got[0].Slug != k.want) {
			t.Errorf("%s: want %q, got %s", k.name, k.want, list(got))
		}
	}
}

// Rows of another tank among those of this one: nothing that happens to single
// cells explains it, and it is one finding, not one a row.
func TestRowsOfAnotherTank(t *testing.T) {
	s := shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320}
	c := made(t, s, 1, 1)
	s.Length = 290
	other := made(t, s, 1, 1)
	for i := 40; i < 60; i++ {
		c.Rows[i].Volume = other.Rows[i].Volume
	}
	got := loud(Audit(nil, c, factsOf(s)).Findings)
	if len(got) == 0 || len(got) > 2 || !hasSlug(got, finding.ChartNotSmooth) {
		t.Errorf("found %s", list(got))
	}
}

// Many faults of one kind are listed up to a number and counted from there on.
func TestManyFaultsOfAKindAreCounted(t *testing.T) {
	s := shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320}
	c := made(t, s, 0.5, 1)
	rows := c.Rows[:0:0]
	for i, r := range c.Rows {
		if i > 10 && i%8 == 0 {
			continue
		}
		rows = append(rows, r)
	}
	c.Rows = rows
	var got []finding.Finding
	for _, f := range Audit(nil, c, factsOf(s)).Findings {
		if f.Slug == finding.RowMissing {
			got = append(got, f)
		}
	}
	if len(got) != mostAlike || !strings.Contains(got[mostAlike-1].Found, "more like it") {
		t.Errorf("%d findings of missing rows: %s", len(got), list(got))
	}
}

// A tilt that the chart itself shows is a note.
func TestTiltInChart(t *testing.T) {
	s := shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320, Rise: 6, Dip: 24}
	r := Audit(nil, made(t, s, 1, 1), Facts{PerCubic: 1.0 / 231})
	if !hasSlug(r.Findings, finding.TiltInChart) {
		t.Errorf("a rise of 6 in, fitted as %v: no note: %s", r.Fit.Rise, list(r.Findings))
	}
	if len(loud(r.Findings)) > 0 {
		t.Errorf("found %s", list(r.Findings))
	}
}

// Rows that go on beyond a measured height by more than a step belong to another
// tank, even where the two heights differ by little; a zero that lies off the
// bottom, and a last row that repeats the full volume, make nobody suspicious.
func TestRowsBeyondTheHeight(t *testing.T) {
	for _, k := range []struct {
		name   string
		tank   shape.Spec
		step   float64
		height float64
		zero   float64 // by how much every depth reads too high
		repeat bool    // the full volume once more
		want   bool
	}{
		{"0.75 in beyond, by quarter inches", shape.Spec{Kind: shape.Horizontal, Diameter: 47.75, Length: 160}, 0.25, 47, 0, false, true},
		{"1 in beyond, tilted", shape.Spec{Kind: shape.Horizontal, Diameter: 64, Length: 160, Rise: 4, Dip: 24}, 1, 63, 0, false, true},
		{"a zero 1/4 in off, the full volume repeated", shape.Spec{Kind: shape.Horizontal, Diameter: 95.5, Length: 320}, 0.25, 95.5, 0.25, true, false},
		{"a last row on the next whole inch", shape.Spec{Kind: shape.Horizontal, Diameter: 95.5, Length: 320}, 1, 95.5, 0, true, false},
	} {
		c := made(t, k.tank, k.step, 1)
		if k.repeat {
			r := c.Rows[len(c.Rows)-1]
			r.Depth, r.SheetRow = r.Depth+k.step, r.SheetRow+1
			c.Rows = append(c.Rows, r)
		}
		for i := range c.Rows {
			c.Rows[i].Depth += k.zero
		}
		got := loud(Audit(nil, c, Facts{Diameter: k.height, PerCubic: 1.0 / 231, Shape: "horizontal"}).Findings)
		if k.want != hasSlug(got, finding.ChartOfAnotherDiameter) || !k.want && len(got) > 0 {
			t.Errorf("%s: %s", k.name, list(got))
		}
	}
}

// Where nothing but the chart is known, its last rows tell that the tank was full
// before them: a row off the grid and then the grid again, a step larger than the
// one before it, more rows of the top volume than one. A row in between that
// somebody added for the limit, a last row off the grid, and one row on the next
// whole inch are nothing.
func TestLastRowsByThemselves(t *testing.T) {
	lying := shape.Spec{Kind: shape.Horizontal, Diameter: 95.5, Length: 320}
	even := shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320}
	box := shape.Spec{Kind: shape.Box, Length: 120, Width: 60, Height: 71.5}
	upright := shape.Spec{Kind: shape.Upright, Diameter: 96, Length: 120}
	tilted := shape.Spec{Kind: shape.Horizontal, Diameter: 96, Length: 320, Rise: 3, Dip: 300}
	metric := shape.Spec{Kind: shape.Horizontal, Diameter: 244, Length: 800}
	past := finding.RowsPastFull
	for _, k := range []struct {
		name   string
		tank   shape.Spec
		step   float64
		facts  Facts
		add    []float64 // volumes of the rows added, a step apart on the grid, beyond the last one
		insert float64   // a row at this depth, of the chart's curve
		want   finding.Slug
	}{
		{"whole", lying, 1, Facts{}, nil, 0, ""},
		{"one row on the next whole inch", lying, 1, Facts{}, []float64{0}, 0, ""},
		{"two rows on the grid behind the end", lying, 1, Facts{}, []float64{0, 0}, 0, past},
		{"two rows that rise behind the end", lying, 1, Facts{}, []float64{25, 25}, 0, past},
		{"two rows behind an even end", even, 1, Facts{}, []float64{0, 0}, 0, past},
		{"three rows that rise behind an even end", even, 1, Facts{}, []float64{27, 27, 27}, 0, past},
		{"a row at the limit", lying, 1, Facts{}, nil, 86.625, ""},
		{"a row at the limit of a box", box, 1, Facts{}, nil, 67.9375, ""},
		{"box, whole", box, 1, Facts{Diameter: 71.5, Shape: "rectangular"}, nil, 0, ""},
		{"box, one row on the next whole inch", box, 1, Facts{Diameter: 71.5, Shape: "rectangular"}, []float64{0}, 0, ""},
		{"box, two rows that rise behind the end", box, 1, Facts{Shape: "rectangular"}, []float64{24, 24}, 0, past},
		{"upright, an inch and a half beyond its height", upright, 0.5, Facts{Length: 118.5, Shape: "vertical"}, nil, 0, past},
		{"upright, of 120 in", upright, 0.5, Facts{Length: 120, Shape: "vertical"}, nil, 0, ""},
		{"upright, an inch beyond its height", upright, 1, Facts{Length: 119, Shape: "vertical"}, nil, 0, past},
		// Two rows of a centimetre are less than half an inch beyond the one that is usual.
		{"by centimetres, two rows of the full volume", metric, 1, Facts{Inch: 2.54}, []float64{0, 0}, 0, past},
		{"by centimetres, two rows that rise", metric, 1, Facts{Inch: 2.54}, []float64{102, 102}, 0, past},
		{"by centimetres, one row", metric, 1, Facts{Inch: 2.54}, []float64{0}, 0, ""},
		// Called 66 in a box may be 69, not 71.5.
		{"box, 5.5 in beyond its name", box, 1, Facts{Diameter: 66, Shape: "rectangular"}, nil, 0, past},
		{"box, 2.5 in beyond its name", shape.Spec{Kind: shape.Box, Length: 120, Width: 60, Height: 68.5}, 1, Facts{Diameter: 66, Shape: "rectangular"}, nil, 0, ""},
		// Dipped near the high end it is full, to a gallon, half an inch below the top.
		{"tilted, flat at its end", tilted, 0.125, Facts{}, nil, 0, ""},
	} {
		c := made(t, k.tank, k.step, 1)
		for _, v := range k.add {
			r := c.Rows[len(c.Rows)-1]
			r.Depth, r.Volume, r.SheetRow = math.Floor(r.Depth/k.step+1e-9)*k.step+k.step, r.Volume+v, r.SheetRow+1
			c.Rows = append(c.Rows, r)
		}
		for i, r := range c.Rows {
			if k.insert > 0 && r.Depth > k.insert {
				tank, err := shape.New(k.tank)
				if err != nil {
					t.Fatal(err)
				}
				r.Depth, r.Volume = k.insert, math.Round(tank.Volume(k.insert)/shape.CubicInchesPerGallon)
				c.Rows = slices.Insert(c.Rows, i, r)
				break
			}
		}
		k.facts.PerCubic = 1.0 / 231
		got := loud(Audit(nil, c, k.facts).Findings)
		if k.want == "" && len(got) > 0 || k.want != "" && (len(got) != 1 || got[0].Slug != k.want) {
			t.Errorf("%s: want %q, got %s", k.name, k.want, list(got))
		}
	}
}

// A chart that ends off the grid where a measured height says that the tank ends
// was made for it, though ribs draw the fitted height up; one that ends off the
// grid more than half an inch above it was not.
func TestEndOffTheGrid(t *testing.T) {
	s := shape.Spec{Kind: shape.Horizontal, Diameter: 63.625, Length: 219}
	got := loud(Audit(nil, made(t, s, 1, 1), Facts{Diameter: 63, PerCubic: 1.0 / 231, Shape: "horizontal"}).Findings)
	if len(got) != 1 || got[0].Slug != finding.ChartOfAnotherDiameter {
		t.Errorf("0.625 in above: %s", list(got))
	}
	// Waves that die out at both ends, of up to 0.6 % of the capacity.
	s = shape.Spec{Kind: shape.Horizontal, Diameter: 64.5625, Length: 295}
	g := rand.New(rand.NewPCG(5, 1))
	for try := range 60 {
		c := made(t, s, 1, 1)
		full := c.Rows[len(c.Rows)-1].Volume
		p, q := 2*math.Pi*g.Float64(), 2*math.Pi*g.Float64()
		for i := range c.Rows {
			x := c.Rows[i].Depth / s.Diameter
			wave := 0.003 * (math.Sin(math.Pi*x+p) + math.Sin(2*math.Pi*x+q))
			c.Rows[i].Volume = math.Round(c.Rows[i].Volume + wave*full*math.Pow(4*x*(1-x), 2))
		}
		if got := loud(Audit(nil, c, Facts{Diameter: 64.5, PerCubic: 1.0 / 231, Shape: "horizontal"}).Findings); len(got) > 0 {
			t.Errorf("waves, try %d: %s", try, list(got))
		}
	}
}
