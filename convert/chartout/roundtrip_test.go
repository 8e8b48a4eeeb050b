package chartout

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"dropcut/convert/csvfile"
	"dropcut/convert/grid"
	"dropcut/convert/xlsx"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/shape"
	"dropcut/plan/unit"
)

// lying makes the chart of a lying cylinder, volumes rounded to round, both in
// the chart's own units.
func lying(t testing.TB, name string, du unit.LengthUnit, vu unit.VolumeUnit, diameter, length unit.Length, step, round float64) *chart.Chart {
	t.Helper()
	body, err := shape.New(shape.Spec{Kind: shape.Horizontal, Diameter: float64(diameter), Length: float64(length)})
	if err != nil {
		t.Fatal(err)
	}
	c := &chart.Chart{Name: name, DepthUnit: du, VolumeUnit: vu, At: cell.Ref{File: "tanks.xlsx", Sheet: "Charts", Col: 2, Row: 2}}
	top := du.Number(diameter)
	for i := 0; ; i++ {
		d := math.Min(round6(float64(i)*step), top)
		v := vu.Number(unit.Volume(body.Volume(float64(du.Length(d))) / shape.CubicInchesPerGallon))
		if round > 0 {
			v = round6(math.Round(v/round) * round)
		}
		c.Rows = append(c.Rows, chart.Row{Depth: d, Volume: v, SheetRow: int32(i + 2), DepthCol: 2, VolumeCol: 3})
		if d == top {
			break
		}
	}
	c.To = cell.Ref{Col: 3, Row: len(c.Rows) + 1}
	return c
}

// readBack writes tables, opens every file and holds it against them. It gives
// the names that read otherwise.
func readBack(t testing.TB, tables []*Table, l Layout, ending string) (notes []string, err error) {
	t.Helper()
	dir := t.TempDir()
	check := func(name string, want []*Table, write func(io.Writer) error, open func(string) (grid.Book, error)) error {
		var b bytes.Buffer
		if err := write(&b); err != nil {
			return err
		}
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, b.Bytes(), 0o600); err != nil {
			return err
		}
		book, err := open(path)
		if err != nil {
			return err
		}
		defer book.Close()
		more, err := Verify(book, want)
		notes = append(notes, more...)
		return err
	}
	if ending == ".xlsx" {
		want, err := Ordered(tables, l)
		if err != nil {
			return nil, err
		}
		return notes, check("out.xlsx", want, func(w io.Writer) error { return Workbook(w, tables, l) },
			func(p string) (grid.Book, error) { return xlsx.Open(p) })
	}
	files, err := Files(tables, l)
	if err != nil {
		return nil, err
	}
	for _, f := range files {
		if err := check("out"+f.Suffix+".csv", f.Tables, f.Write, func(p string) (grid.Book, error) { return csvfile.Open(p) }); err != nil {
			return notes, err
		}
	}
	return notes, nil
}

// There and back: whatever is written, in any layout, to either kind of file,
// in any units, at any step, reads back as the same charts.
func TestWrittenChartsReadBack(t *testing.T) {
	lengths := []struct {
		u     unit.LengthUnit
		steps []float64
	}{
		{unit.Inches, []float64{1, 0.5, 0.25, 0.125, 2, 3}},
		{unit.Millimetres, []float64{10, 25, 5}},
		{unit.Centimetres, []float64{1, 2.5}},
		{unit.Feet, []float64{0.1, 0.05}},
		{unit.Metres, []float64{0.01, 0.05}},
	}
	volumes := []struct {
		u     unit.VolumeUnit
		round float64
	}{{unit.USGallons, 1}, {unit.Litres, 1}, {unit.CubicMetres, 0.001}, {unit.ImperialGallons, 1}, {unit.Barrels, 0.01}, {unit.USGallons, 0.1}, {unit.Litres, 10}}
	steps := []struct {
		step unit.Length
		text string
	}{{0, ""}, {unit.Inch, "1 in"}, {unit.Inch / 8, "1/8 in"}, {unit.Millimetres.Length(5), "5 mm"}, {unit.Centimetres.Length(1), "1 cm"}, {unit.Inch / 2, "1/2 in"}}
	names := []string{"MR-1", "OQ-1/A", "CR-2+CR-3", "7", "Tank 12", "Diesel north", "0012", "AB 4", "P.F-3", "UST-04-b"}
	runs := 60
	if testing.Short() {
		runs = 40
	}
	bad := 0
	for run := range runs {
		rng := rand.New(rand.NewPCG(uint64(run), 11))
		l := []Layout{Long, Wide, Folded}[run%3]
		ending := []string{".xlsx", ".csv"}[run/3%2]
		var o Options
		if rng.IntN(3) > 0 {
			o.DepthUnit, o.VolumeUnit = lengths[rng.IntN(len(lengths))].u, volumes[rng.IntN(len(volumes))].u
		}
		s := steps[rng.IntN(len(steps))]
		o.Step, o.StepText = s.step, s.text
		var tables []*Table
		what := fmt.Sprintf("run %d, %s %s, to %s %s every %s:", run, l, ending, o.DepthUnit, o.VolumeUnit, o.StepText)
		for k, i := range rng.Perm(len(names))[:1+rng.IntN(4)] {
			lu, vu := lengths[rng.IntN(len(lengths))], volumes[rng.IntN(len(volumes))]
			diameter := unit.Length(64 + 8*rng.IntN(8))
			if lu.u.Metric() {
				diameter = unit.Millimetres.Length(float64(1600 + 100*rng.IntN(10)))
			}
			c := lying(t, names[i], lu.u, vu.u, diameter, unit.Length(120+rng.IntN(300)), lu.steps[rng.IntN(len(lu.steps))], vu.round)
			c.FromDimensions = rng.IntN(4) == 0
			if l == Long && k%2 == 1 {
				c.Site = "Millrace, " + names[i]
			}
			what += fmt.Sprintf(" %s in %s %s %d rows", c.Name, c.DepthUnit, c.VolumeUnit, len(c.Rows))
			table, err := Make(c, o)
			if err != nil {
				t.Fatal(what, err)
			}
			tables = append(tables, table)
		}
		notes, err := readBack(t, tables, l, ending)
		// A name of two words is known from a list of tanks only.
		for _, n := range notes {
			if !strings.HasPrefix(n, "chart AB 4 ") && !strings.HasPrefix(n, "chart Diesel north ") {
				t.Error(what, n)
			}
		}
		if err != nil {
			t.Error(what, err)
			if bad++; bad > 8 {
				t.Fatal("and so on")
			}
		}
	}
}
