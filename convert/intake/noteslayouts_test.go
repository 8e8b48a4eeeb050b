package intake

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"dropcut/convert/grid"
	"dropcut/convert/intake/intaketest"
	"dropcut/convert/intake/notes"
	"dropcut/plan/chart"
	"dropcut/plan/unit"
)

// notedLayouts are sheets whose charts take more than two ranges to write down.
// Their volumes are those of a box, 10 units for each eighth.
func notedLayouts() map[string]string {
	in8 := func(f func(i int, ft, in, eighth int) string) string {
		var b strings.Builder
		for i := range 289 {
			b.WriteString(f(i, i/96, i/8%12, i%8) + "\n")
		}
		return b.String()
	}
	pair := func(i int) string { return fmt.Sprintf("%d|%d", i, 80*i) }
	rows := func(n int, f func(i int) string) string {
		var b strings.Builder
		for i := range n {
			b.WriteString(f(i) + "\n")
		}
		return b.String()
	}
	fractions := []string{"", "1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8"}
	heads, parts := "in", ""
	for i := range 12 {
		heads += fmt.Sprintf("|%d", i)
	}
	for k := range 8 {
		parts += []string{"0", "1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8"}[k]
		for i := range 12 {
			parts += fmt.Sprintf("|%d", 10*(8*i+k))
		}
		parts += "\n"
	}
	depths, volumes := "Depth (in)", "Volume (gal)"
	for i := range 40 {
		depths += fmt.Sprintf("|%d", i)
		volumes += fmt.Sprintf("|%d", 80*i)
	}
	pages := ""
	for p := range 3 {
		pages += fmt.Sprintf("Tank P-1||Page %d of 3\nDepth (in)|Volume (gal)\n", p+1) + rows(20, func(i int) string { return pair(20*p + i) })
	}
	return map[string]string{
		"feet, inches, eighths": "Tank E-1\nFt|In|Eighths|Volume (gal)\n" + in8(func(i, ft, in, e int) string { return fmt.Sprintf("%d|%d|%d|%d", ft, in, e, 10*i) }),
		"feet, inches, fraction": "Tank E-2\nFeet|Inches|Fraction|Volume (gal)\n" + in8(func(i, ft, in, e int) string {
			return fmt.Sprintf("%d|%d|%s|%d", ft, in, fractions[e], 10*i)
		}),
		"inches and fraction": "Tank E-3\nInches|1/8|Volume (gal)\n" + in8(func(i, ft, in, e int) string { return fmt.Sprintf("%d|%s|%d", 12*ft+in, fractions[e], 10*i) }),
		"matrix on its side":  "Tank M-1 (gallons)\n" + heads + "\n" + parts,
		"matrix": "Tank M-2 (gallons)\nin|0|1/8|1/4|3/8|1/2|5/8|3/4|7/8\n" + rows(20, func(i int) string {
			s := fmt.Sprint(i)
			for k := range 8 {
				s += fmt.Sprintf("|%d", 10*(8*i+k))
			}
			return s
		}),
		"pages":             pages,
		"paired":            "Tank A-1||Tank A-2|\nDepth (in)|Volume (gal)|Depth (cm)|Volume (L)\n" + rows(40, func(i int) string { return pair(i) + "|" + fmt.Sprintf("%d|%d", 2*i, 90*i) }),
		"folded by columns": "Tank F-1\nInches|Gallons|Inches|Gallons|Inches|Gallons\n" + rows(20, func(i int) string { return pair(i) + "|" + pair(20+i) + "|" + pair(40+i) }),
		"folded by rows":    "Tank F-2\nInches|Gallons|Inches|Gallons|Inches|Gallons\n" + rows(20, func(i int) string { return pair(3*i) + "|" + pair(3*i+1) + "|" + pair(3*i+2) }),
		"folded, feet and inches": "Tank F-3\nFeet|Inches|Gallons|Feet|Inches|Gallons\n" + rows(24, func(i int) string {
			return fmt.Sprintf("%d|%d|%d|%d|%d|%d", i/12, i%12, 80*i, 2+i/12, i%12, 80*(24+i))
		}),
		"ullage":                   "Tank U-1\nInside height|40|in\nUllage (in)|Volume (gal)\n" + rows(41, func(i int) string { return fmt.Sprintf("%d|%d", i, 80*(40-i)) }),
		"ullage from the full end": "Tank U-2\nInside height|40|in\nUllage (in)|Volume (gal)\n" + rows(41, func(i int) string { return fmt.Sprintf("%d|%d", 40-i, 80*i) }),
		"on its side":              "Tank T-1\n" + depths + "\n" + volumes + "\n",
		"volume step":              "Tank V-1\nVolume (gal)|Depth (in)\n" + rows(30, func(i int) string { return fmt.Sprintf("%d|%g", 100*i, math.Round(1000*math.Sqrt(float64(i)))/100) }),
		"names below one heading":  "Stick (in)|Gallons|\n|'0417|'0418\n" + rows(40, func(i int) string { return pair(i) + fmt.Sprintf("|%d", 90*i) }),
	}
}

// byRange are the layouts whose depths take a sum of three cells, or of cells that
// lie across: they are noted by the range that the chart was found in.
var byRange = map[string]bool{
	"feet, inches, eighths": true, "feet, inches, fraction": true, "inches and fraction": true, "matrix on its side": true, "folded, feet and inches": true,
}

// Every layout reads by its own notes as it reads without them: the same rows
// from the same cells, in the same units.
func TestNotesOfLayouts(t *testing.T) {
	for name, text := range notedLayouts() {
		t.Run(name, func(t *testing.T) {
			books := []grid.Book{book("b.xlsx", "Sheet1", strings.TrimRight(text, "\n"))}
			first := mustRead(t, Options{}, books...)
			if len(first.Job.Charts) == 0 || len(first.Job.Charts[0].Rows) < 30 {
				t.Fatalf("read as %+v, %v", Inspect(first), intaketest.Said(first.Job.Findings))
			}
			kept, err := saved(t, first, books, nil)
			if err != nil {
				t.Fatal(err)
			}
			again := mustRead(t, Options{Notes: kept}, books...)
			if len(again.Job.Charts) != len(first.Job.Charts) {
				t.Fatalf("%d charts by the notes, %d without", len(again.Job.Charts), len(first.Job.Charts))
			}
			for i, c := range again.Job.Charts {
				o := first.Job.Charts[i]
				if kept.Rows[i].DepthCells == "" && !byRange[name] {
					t.Errorf("chart %s is noted by its range alone", o.Name)
				}
				if c.Name != o.Name || c.DepthUnit != o.DepthUnit || c.VolumeUnit != o.VolumeUnit || !notes.SameRows(c, o) {
					t.Errorf("chart %s comes out as %s in %s, %s, the same rows: %v; %+v", o.Name, c.Name, c.DepthUnit, c.VolumeUnit, notes.SameRows(c, o), kept.Rows[i])
				}
				if what := notedElsewhere(c, o); what != "" {
					t.Error(what)
				}
			}

			// A corrected unit of the volumes is followed, and so is another name.
			u := first.Job.Charts[0].VolumeUnit
			other := map[unit.VolumeUnit]string{unit.USGallons: "imp gal", unit.Litres: "m3"}[u]
			kept, err = saved(t, first, books, func(s string) string {
				return strings.Replace(s, ","+u.String()+",", ","+other+",", 1)
			})
			if err != nil {
				t.Fatal(err)
			}
			again = mustRead(t, Options{Notes: kept}, books...)
			if c, o := again.Job.Charts[0], first.Job.Charts[0]; c.VolumeUnit.String() != other || !notes.SameRows(c, o) {
				t.Errorf("a unit corrected to %s comes out as %s", other, c.VolumeUnit)
			}

			// Notes of a file whose rows have gone say which cell is blank.
			kept, err = saved(t, first, books, nil)
			if err != nil {
				t.Fatal(err)
			}
			lines := strings.Split(strings.TrimRight(text, "\n"), "\n")
			short := book("b.xlsx", "Sheet1", strings.Join(lines[:len(lines)-1], "\n"))
			want := "is blank"
			if byRange[name] {
				want = "there is no chart at " + kept.Rows[0].Range
			}
			if _, err := Read([]grid.Book{short}, Options{Notes: kept}); err == nil || !strings.Contains(err.Error(), "does not fit the file") || !strings.Contains(err.Error(), want) {
				t.Errorf("a row less gives %v", err)
			}
		})
	}
}

// notedElsewhere says where two charts take a number from different cells.
func notedElsewhere(c, o *chart.Chart) string {
	for k := range c.Rows {
		if c.VolumeAt(k) != o.VolumeAt(k) {
			return fmt.Sprintf("chart %s: volume %d stands at %s, was %s", o.Name, k, c.VolumeAt(k), o.VolumeAt(k))
		}
	}
	return ""
}
