package intake

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"dropcut/convert/csvfile"
	"dropcut/convert/grid"
	"dropcut/convert/intake/intaketest"
	"dropcut/convert/intake/notes"
	"dropcut/convert/intake/survey"
	"dropcut/plan/chart"
	"dropcut/plan/unit"
)

// saved writes the notes of a reading to a file and reads them again, as a
// person would have them.
func saved(t *testing.T, r *survey.Reading, books []grid.Book, change func(string) string) (*notes.Table, error) {
	t.Helper()
	n, err := notes.Of(r, books)
	if err != nil {
		t.Fatal(err)
	}
	return written(t, n, change)
}

// written writes notes to a file and reads them again.
func written(t *testing.T, n *notes.Table, change func(string) string) (*notes.Table, error) {
	t.Helper()
	var b strings.Builder
	if err := n.Write(&b); err != nil {
		t.Fatal(err)
	}
	text := b.String()
	if change != nil {
		old := text
		if text = change(text); text == old {
			t.Fatalf("the change does nothing to\n%s", text)
		}
	}
	path := filepath.Join(t.TempDir(), "notes.csv")
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	book, err := csvfile.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	return notes.Read(book)
}

// Every sample reads the same by its own notes as without them.
func TestNotesThereAndBack(t *testing.T) {
	files, err := filepath.Glob("testdata/layouts/*.*")
	if err != nil || len(files) < 20 {
		t.Fatalf("%d samples, %v", len(files), err)
	}
	byCells, all := 0, 0
	for _, path := range files {
		if filepath.Base(path) == "expected.csv" {
			continue
		}
		t.Run(filepath.Base(path), func(t *testing.T) {
			books := []grid.Book{intaketest.Open(t, path)}
			first := mustRead(t, Options{}, books...)
			kept, err := saved(t, first, books, nil)
			if err != nil {
				t.Fatal(err)
			}
			for i := range kept.Rows {
				all++
				if kept.Rows[i].DepthCells != "" {
					byCells++
				}
			}
			again := mustRead(t, Options{Notes: kept}, books...)
			if len(again.Job.Charts) != len(first.Job.Charts) {
				t.Fatalf("%d charts by the notes, %d without", len(again.Job.Charts), len(first.Job.Charts))
			}
			for i, c := range again.Job.Charts {
				o := first.Job.Charts[i]
				if c.Name != o.Name || c.DepthUnit != o.DepthUnit || c.VolumeUnit != o.VolumeUnit || !notes.SameRows(c, o) {
					t.Errorf("chart %s comes out as %s in %s, %s, the same rows: %v", o.Name, c.Name, c.DepthUnit, c.VolumeUnit, notes.SameRows(c, o))
				}
				for k := range c.Rows {
					if c.DepthAt(k) != o.DepthAt(k) || c.VolumeAt(k) != o.VolumeAt(k) {
						t.Errorf("chart %s, row %d stands at %s and %s, was %s and %s", o.Name, k, c.DepthAt(k), c.VolumeAt(k), o.DepthAt(k), o.VolumeAt(k))
						break
					}
				}
			}
		})
	}
	// Charts with spoiled cells are taken by their range; the plain ones must
	// not need that.
	if byCells*10 < all*8 {
		t.Errorf("only %d of %d charts are noted by their cells", byCells, all)
	}
}

func ullageSheet() string {
	var b strings.Builder
	b.WriteString("Inside diameter (in)|100\n\nUllage (in)|Volume (gal)")
	for u := range 101 {
		fmt.Fprintf(&b, "\n%d|%d", u, 10000-100*u)
	}
	return b.String()
}

// A corrected note is followed: other cells, another unit, another name.
func TestCorrectedNotes(t *testing.T) {
	b := book("b.xlsx", "Charts", "Tank|Depth (in)|Volume (gal)"+longRows("A"), "U-1", ullageSheet())
	books := []grid.Book{b}
	first := mustRead(t, Options{}, books...)
	for _, c := range []struct {
		name   string
		change func(string) string
		check  func(*survey.Reading) bool
	}{
		{"another name", func(s string) string { return strings.Replace(s, "long,,A,", "long,,B-7,", 1) }, func(r *survey.Reading) bool { return r.Job.Charts[0].Name == "B-7" }},
		{"another unit", func(s string) string { return strings.Replace(s, ",in,,gal,", ",cm,,L,", 1) }, func(r *survey.Reading) bool {
			c := r.Job.Charts[0]
			return c.DepthUnit == unit.Centimetres && c.VolumeUnit == unit.Litres && c.Rows[50].Depth == 50 && c.DepthUnitFrom.Row == 2
		}},
		{"fewer cells", func(s string) string {
			return strings.Replace(strings.NewReplacer("B2:B102", "B2:B52", "C2:C102", "C2:C52").Replace(s), ",101,B2", ",51,B2", 1)
		}, func(r *survey.Reading) bool { return r.Job.Charts[0].Len() == 51 }},
		{"upward", func(s string) string {
			return strings.NewReplacer("B2:B102", "B102:B2", "C2:C102", "C102:C2").Replace(s)
		}, func(r *survey.Reading) bool {
			c := r.Job.Charts[0]
			return c.Rows[0].Depth == 100 && c.Rows[0].Volume == 10000 && c.Rows[100].SheetRow == 2
		}},
		{"a line taken out", func(s string) string { l := strings.SplitN(s, "\n", 3); return l[0] + "\n" + l[2] }, func(r *survey.Reading) bool {
			return len(r.Job.Charts) >= 1 && r.Job.Charts[len(r.Job.Charts)-1].Ullage
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			notes, err := saved(t, first, books, c.change)
			if err != nil {
				t.Fatal(err)
			}
			if r := mustRead(t, Options{Notes: notes}, books...); !c.check(r) {
				t.Errorf("read as %+v", Inspect(r))
			}
		})
	}
}

func TestNotesThatDoNotFit(t *testing.T) {
	b := book("b.xlsx", "Charts", "Tank|Depth (in)|Volume (gal)"+longRows("A"))
	books := []grid.Book{b}
	first := mustRead(t, Options{}, books...)
	for _, c := range []struct {
		name, old, new string
		want           string // in the error
	}{
		{"a cell beyond the end", "B2:B102", "B3:B103", "row 2: the note on A (b.xlsx, Charts) does not fit the file: the cell B103 is blank"},
		{"another count", ",101,B2", ",100,B2", "the cells hold 101 rows, and the note says 100"},
		{"unequal ranges", "C2:C102", "C2:C101", "101 depth cells and 100 volume cells"},
		{"no such sheet", "b.xlsx,Charts", "b.xlsx,Chart", "no such file or sheet"},
		{"no range", "B2:B102", "B2 to B102", `"to" is no range of cells`},
		{"no unit", ",in,", ",inn,", "column depth_unit"},
		{"a column too many", "full_height\n", "full_height,colour\n", "colour"},
		{"a column renamed", "volume_cells", "volumes", "volumes"},
		{"a column twice", "site,tank", "tank,tank", `the column "tank" stands there twice`},
		{"no decimal sign", ",point,", ",dot,", "column decimal_sign"},
		{"all cells of the sheet", "B2:B102", "A1:XFD1048576", "names more than"},
	} {
		t.Run(c.name, func(t *testing.T) {
			notes, err := saved(t, first, books, func(s string) string { return strings.Replace(s, c.old, c.new, 1) })
			if err == nil {
				_, err = Read(books, Options{Notes: notes})
			}
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %v, want one with %q", err, c.want)
			}
		})
	}
}

// Layouts that need a sum for each depth, by hand-written notes.
func TestNotesWithSteps(t *testing.T) {
	matrix := "in|0|1/4|1/2|3/4\n10|100|101|102|103\n11|104|105|106|107\n12|108"
	feet := "Feet|Inches|Gallons\n3|11|90\n4|0|91\n4|1|92"
	b := book("b.xlsx", "M", matrix, "F", feet)
	n := &notes.Table{File: "n.csv", Rows: []notes.Entry{
		{File: "b.xlsx", Sheet: "M", Tank: "M-1", DepthCells: "A2:A4", StepCells: "B1:E1", VolumeCells: "B2:E4", DepthUnit: "in", VolumeUnit: "gal", Rows: "9"},
		{File: "b.xlsx", Sheet: "F", Tank: "F-1", DepthCells: "A2:A4", StepCells: "B2:B4", VolumeCells: "C2:C4", DepthUnit: "ft", StepUnit: "in", VolumeUnit: "gal"},
	}}
	n, err := written(t, n, nil)
	if err != nil {
		t.Fatal(err)
	}
	r := mustRead(t, Options{Notes: n}, b)
	depths := func(c *chart.Chart) string {
		var s []string
		for _, x := range c.Rows {
			s = append(s, fmt.Sprintf("%g:%g", math.Round(float64(c.DepthUnit.Length(x.Depth))*1e9)/1e9, x.Volume))
		}
		return strings.Join(s, " ")
	}
	if got := depths(r.Job.Charts[0]); got != "10:100 10.25:101 10.5:102 10.75:103 11:104 11.25:105 11.5:106 11.75:107 12:108" {
		t.Errorf("matrix %s", got)
	}
	if got := depths(r.Job.Charts[1]); got != "47:90 48:91 49:92" {
		t.Errorf("feet and inches %s", got)
	}
}
