package charts

import (
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
