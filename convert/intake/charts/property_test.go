package charts

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"dropcut/convert/intake/figures"
	"dropcut/convert/intake/layout"
	"dropcut/plan/unit"
	"github.com/xuri/excelize/v2"
)

// made is a chart of the property test.
type made struct {
	name         string
	depths, vols []float64
	depthU, volU string // as the heading names them
	depthUnit    unit.LengthUnit
	volumeUnit   unit.VolumeUnit
	step         float64
	decimals     int
	full         float64
}

var lengthNames = []struct {
	name string
	unit unit.LengthUnit
	top  float64 // about the height of a tank
}{
	{"in", unit.Inches, 96},
	{"inches", unit.Inches, 120},
	{"mm", unit.Millimetres, 2400},
	{"cm", unit.Centimetres, 250},
	{"ft", unit.Feet, 8},
	{"Zoll", unit.Inches, 96},
	{"m", unit.Metres, 2.5},
	{"pulgadas", unit.Inches, 72},
}

var volumeNames = []struct {
	name string
	unit unit.VolumeUnit
	full float64
}{
	{"gal", unit.USGallons, 10000},
	{"US gallons", unit.USGallons, 6000},
	{"litres", unit.Litres, 38000},
	{"L", unit.Litres, 20000},
	{"m3", unit.CubicMetres, 38},
	{"imp gal", unit.ImperialGallons, 8000},
	{"bbl", unit.Barrels, 240},
	{"m³", unit.CubicMetres, 50},
}

// makeChart makes a lying cylinder's chart with n steps.
func makeChart(rng *rand.Rand, name string, n int) made {
	l, v := lengthNames[rng.IntN(len(lengthNames))], volumeNames[rng.IntN(len(volumeNames))]
	m := made{name: name, depthU: l.name, volU: v.name, depthUnit: l.unit, volumeUnit: v.unit}
	steps := []float64{0.125, 0.25, 0.5, 1, 2, 5, 10, 25}
	m.step = steps[rng.IntN(len(steps))]
	switch l.unit {
	case unit.Metres, unit.Feet:
		m.step = []float64{0.01, 0.05, 0.1}[rng.IntN(3)]
	case unit.Millimetres:
		m.step = []float64{1, 5, 10, 50}[rng.IntN(4)]
	}
	m.full = math.Round(v.full * (0.5 + rng.Float64()))
	m.decimals = rng.IntN(2)
	if v.full < 100 {
		m.decimals = 3
	}
	top := m.step * float64(n-1)
	for i := range n {
		d := layout.TidyNumber(m.step * float64(i))
		p := math.Pow(10, float64(m.decimals))
		m.depths = append(m.depths, d)
		m.vols = append(m.vols, math.Round(curve(d/top*96, 1e7)/1e7*m.full*p)/p)
	}
	return m
}

// bookTable is a table of numbers and words.
type bookTable [][]any

func (t *bookTable) row(cells ...any) { *t = append(*t, cells) }

// dress says how a table is written.
type dress struct {
	rng     *rand.Rand
	unitsIn int // heading, row below, title
	words   [2]string
}

func (d dress) head(m made) (depth, volume string) {
	depth, volume = d.words[0], d.words[1]
	if d.unitsIn == 0 {
		f := []string{"%s (%s)", "%s, %s", "%s [%s]"}[d.rng.IntN(3)]
		depth, volume = fmt.Sprintf(f, depth, m.depthU), fmt.Sprintf(f, volume, m.volU)
	}
	return depth, volume
}

// title writes the rows above a table.
func (d dress) title(t *bookTable, m made, name bool) {
	switch {
	case name && d.unitsIn == 2:
		t.row(fmt.Sprintf("Tank %s: %s in %s; %s in %s", m.name, strings.ToLower(d.words[0]), m.depthU, strings.ToLower(d.words[1]), m.volU))
	case name:
		t.row("Tank " + m.name)
	case d.unitsIn == 2:
		t.row(fmt.Sprintf("%s in %s; %s in %s", d.words[0], m.depthU, d.words[1], m.volU))
	}
}

// layouts of the property test, by name. Each writes one chart or two.
var layoutMakers = map[string]func(d dress, m, n made) (bookTable, []made){
	"long": func(d dress, m, n made) (t bookTable, out []made) {
		n.depthU, n.volU, n.depthUnit, n.volumeUnit = m.depthU, m.volU, m.depthUnit, m.volumeUnit
		d.title(&t, m, false)
		a, b := d.head(m)
		t.row("Tank", a, b)
		if d.unitsIn == 1 {
			t.row(nil, m.depthU, m.volU)
		}
		for _, x := range []made{m, n} {
			for i := range x.depths {
				t.row(x.name, x.depths[i], x.vols[i])
			}
		}
		return t, []made{m, n}
	},
	"plain": func(d dress, m, _ made) (t bookTable, out []made) {
		d.title(&t, m, true)
		a, b := d.head(m)
		t.row(a, b)
		if d.unitsIn == 1 {
			t.row(m.depthU, m.volU)
		}
		for i := range m.depths {
			t.row(m.depths[i], m.vols[i])
		}
		return t, []made{m}
	},
	"volume first": func(d dress, m, _ made) (t bookTable, out []made) {
		d.title(&t, m, true)
		a, b := d.head(m)
		t.row(b, a)
		if d.unitsIn == 1 {
			t.row(m.volU, m.depthU)
		}
		for i := range m.depths {
			t.row(m.vols[i], m.depths[i])
		}
		return t, []made{m}
	},
	"wide": func(d dress, m, n made) (t bookTable, out []made) {
		// Two tanks with the depths of the first.
		n.depthU, n.volU, n.depthUnit, n.volumeUnit = m.depthU, m.volU, m.depthUnit, m.volumeUnit
		k := min(len(m.depths), len(n.depths))
		n.depths, n.vols = m.depths[:k], n.vols[:k]
		d.title(&t, m, false)
		a, _ := d.head(m)
		u := ""
		if d.unitsIn == 0 {
			u = " (" + m.volU + ")"
		}
		t.row(a, m.name+u, n.name+u)
		if d.unitsIn == 1 {
			t.row(m.depthU, m.volU, m.volU)
		}
		for i := range m.depths {
			if i < k {
				t.row(m.depths[i], m.vols[i], n.vols[i])
			} else {
				t.row(m.depths[i], m.vols[i])
			}
		}
		return t, []made{m, n}
	},
	"paired": func(d dress, m, n made) (t bookTable, out []made) {
		if d.unitsIn == 2 {
			d.unitsIn = 1
		}
		t.row("Tank "+m.name, nil, "Tank "+n.name, nil)
		a, b := d.head(m)
		e, f := d.head(n)
		t.row(a, b, e, f)
		if d.unitsIn == 1 {
			t.row(m.depthU, m.volU, n.depthU, n.volU)
		}
		for i := range max(len(m.depths), len(n.depths)) {
			r := make([]any, 4)
			if i < len(m.depths) {
				r[0], r[1] = m.depths[i], m.vols[i]
			}
			if i < len(n.depths) {
				r[2], r[3] = n.depths[i], n.vols[i]
			}
			t.row(r...)
		}
		return t, []made{m, n}
	},
	"folded by columns": func(d dress, m, _ made) (t bookTable, out []made) {
		d.title(&t, m, true)
		a, b := d.head(m)
		t.row(a, b, a, b, a, b)
		if d.unitsIn == 1 {
			t.row(m.depthU, m.volU, m.depthU, m.volU, m.depthU, m.volU)
		}
		k := (len(m.depths) + 2) / 3
		for i := range k {
			var r []any
			for j := i; j < len(m.depths); j += k {
				r = append(r, m.depths[j], m.vols[j])
			}
			t.row(r...)
		}
		return t, []made{m}
	},
	"folded by rows": func(d dress, m, _ made) (t bookTable, out []made) {
		d.title(&t, m, true)
		a, b := d.head(m)
		t.row(a, b, a, b)
		if d.unitsIn == 1 {
			t.row(m.depthU, m.volU, m.depthU, m.volU)
		}
		for i := 0; i < len(m.depths); i += 2 {
			r := []any{m.depths[i], m.vols[i]}
			if i+1 < len(m.depths) {
				r = append(r, m.depths[i+1], m.vols[i+1])
			}
			t.row(r...)
		}
		return t, []made{m}
	},
	"ullage": func(d dress, m, _ made) (t bookTable, out []made) {
		d.words[0] = []string{"Ullage", "Outage", "Creux"}[d.rng.IntN(3)]
		if d.unitsIn == 2 {
			d.unitsIn = 0
		}
		d.title(&t, m, true)
		top := m.depths[len(m.depths)-1]
		t.row(fmt.Sprintf("Inside diameter (%s)", m.depthU), top)
		a, b := d.head(m)
		t.row(a, b)
		if d.unitsIn == 1 {
			t.row(m.depthU, m.volU)
		}
		for i := len(m.depths) - 1; i >= 0; i-- {
			t.row(layout.TidyNumber(top-m.depths[i]), m.vols[i])
		}
		return t, []made{m}
	},
	"transposed": func(d dress, m, _ made) (t bookTable, out []made) {
		if d.unitsIn == 1 {
			d.unitsIn = 0
		}
		d.title(&t, m, true)
		a, b := d.head(m)
		r, s := []any{a}, []any{b}
		for i := range m.depths {
			r, s = append(r, m.depths[i]), append(s, m.vols[i])
		}
		t.row(r...)
		t.row(s...)
		return t, []made{m}
	},
	"matrix": func(d dress, m, _ made) (t bookTable, out []made) {
		// Tens and units of the step.
		t.row(fmt.Sprintf("Tank %s, contents in %s", m.name, m.volU))
		r := []any{m.depthU}
		for k := range 10 {
			r = append(r, layout.TidyNumber(m.step*float64(k)))
		}
		t.row(r...)
		for i := 0; i < len(m.depths); i += 10 {
			r := []any{m.depths[i]}
			for k := i; k < min(i+10, len(m.depths)); k++ {
				r = append(r, m.vols[k])
			}
			t.row(r...)
		}
		return t, []made{m}
	},
	"stacked": func(d dress, m, n made) (t bookTable, out []made) {
		for _, x := range []made{m, n} {
			d.title(&t, x, true)
			a, b := d.head(x)
			t.row(a, b)
			if d.unitsIn == 1 {
				t.row(x.depthU, x.volU)
			}
			for i := range x.depths {
				t.row(x.depths[i], x.vols[i])
			}
			t.row()
			t.row()
		}
		return t, []made{m, n}
	},
	"beside percent and area": func(d dress, m, _ made) (t bookTable, out []made) {
		d.title(&t, m, true)
		a, b := d.head(m)
		t.row("% full", a, "Surface area", b)
		if d.unitsIn == 1 {
			t.row(nil, m.depthU, nil, m.volU)
		}
		last := m.vols[len(m.vols)-1]
		for i := range m.depths {
			t.row(math.Round(m.vols[i]/last*1000)/10, m.depths[i], float64(i*(len(m.depths)-i)), m.vols[i])
		}
		t.row()
		t.row(nil, "Total", nil, last)
		t.row(nil, "Checked by the depot")
		return t, []made{m}
	},
}

// writeCSV writes the table as a text file with the given signs.
func writeCSV(t *testing.T, path string, tab bookTable, comma, decimal string) {
	t.Helper()
	var b strings.Builder
	width := 0
	for _, r := range tab {
		width = max(width, len(r))
	}
	for _, r := range tab {
		// Programs fill all rows up to one length.
		for i := range width {
			if i > 0 {
				b.WriteString(comma)
			}
			if i >= len(r) {
				continue
			}
			switch v := r[i].(type) {
			case string:
				if strings.ContainsAny(v, comma+"\"") {
					v = `"` + strings.ReplaceAll(v, `"`, `""`) + `"`
				}
				b.WriteString(v)
			case float64:
				s := strings.Replace(strconv.FormatFloat(v, 'f', -1, 64), ".", decimal, 1)
				b.WriteString(s)
			}
		}
		b.WriteString("\r\n")
	}
	if err := os.WriteFile(path, []byte(b.String()), 0o600); err != nil {
		t.Fatal(err)
	}
}

func writeXLSX(t *testing.T, path string, tab bookTable, asText bool) {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	for y, r := range tab {
		for x, c := range r {
			name, err := excelize.CoordinatesToCellName(x+1, y+1)
			if err != nil {
				t.Fatal(err)
			}
			switch v := c.(type) {
			case string:
				err = f.SetCellStr("Sheet1", name, v)
			case float64:
				if asText {
					err = f.SetCellStr("Sheet1", name, strconv.FormatFloat(v, 'f', -1, 64))
				} else {
					err = f.SetCellFloat("Sheet1", name, v, -1, 64)
				}
			}
			if err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := f.SaveAs(path); err != nil {
		t.Fatal(err)
	}
}

// Any chart in any layout, with any pair of units, in a workbook and in a text
// file, reads back the same: there and back.
func TestAnyChartInAnyLayoutReadsBack(t *testing.T) {
	runs := 690
	if testing.Short() {
		runs = 120
	}
	makers := moreLayouts()
	maps.Copy(makers, layoutMakers)
	names := slices.Sorted(maps.Keys(makers))
	words := [][2]string{{"Depth", "Volume"}, {"Dip", "Contents"}, {"Tiefe", "Inhalt"}, {"Hauteur", "Contenance"}, {"Altura", "Volumen"}, {"Gauge", "Capacity"}, {"Level", "Vol"}}
	dir := t.TempDir()
	bad := 0
	for i := range runs {
		rng := rand.New(rand.NewPCG(uint64(i), 7))
		name := names[i%len(names)]
		m := makeChart(rng, "PR-"+strconv.Itoa(1+rng.IntN(90)), 14+rng.IntN(90))
		n := makeChart(rng, "PS-"+strconv.Itoa(1+rng.IntN(90)), 14+rng.IntN(90))
		d := dress{rng, rng.IntN(3), words[rng.IntN(len(words))]}
		tab, want := makers[name](d, m, n)
		path := filepath.Join(dir, strconv.Itoa(i))
		how := ""
		switch k := rng.IntN(8); k {
		case 0, 1, 6, 7:
			path += ".csv"
			writeCSV(t, path, tab, ",", ".")
			how = "csv"
		case 2:
			path += ".csv"
			writeCSV(t, path, tab, ";", ",")
			how = "csv with decimal comma"
		case 3:
			path += ".csv"
			writeCSV(t, path, tab, "\t", ".")
			how = "tabs"
		case 4:
			path += ".xlsx"
			writeXLSX(t, path, tab, false)
			how = "xlsx"
		case 5:
			path += ".xlsx"
			writeXLSX(t, path, tab, true)
			how = "xlsx, numbers as text"
		}
		got := bookCharts(t, path, Options{})
		if msg := sameCharts(got, want); msg != "" {
			t.Errorf("run %d, %s, %s, units in %d, %s/%s step %v: %s\nfindings %s", i, name, how, d.unitsIn, m.depthU, m.volU, m.step, msg, findingList(got.Findings))
			for k, r := range tab {
				if k < 5 {
					t.Log(r...)
				}
			}
			if bad++; bad > 8 {
				t.Fatal("and so on")
			}
		}
	}
}

func sameCharts(got figures.Yield, want []made) string {
	if len(got.Charts) != len(want) {
		return fmt.Sprintf("%d charts, want %d", len(got.Charts), len(want))
	}
	for i, w := range want {
		c := got.Charts[i]
		switch {
		case c.Name != w.name:
			return fmt.Sprintf("name %q, want %q", c.Name, w.name)
		case len(c.Rows) != len(w.depths):
			return fmt.Sprintf("%s: %d rows, want %d", w.name, len(c.Rows), len(w.depths))
		case c.DepthUnit != w.depthUnit || c.VolumeUnit != w.volumeUnit:
			return fmt.Sprintf("%s: units %q %q, want %q %q", w.name, c.DepthUnit, c.VolumeUnit, w.depthUnit, w.volumeUnit)
		}
		for k := range w.depths {
			// A depth put together or taken from a height may differ in the
			// last bit; a millionth of a unit is beyond every file's figures.
			if math.Abs(c.Rows[k].Depth-w.depths[k]) > 1e-6 || c.Rows[k].Volume != w.vols[k] {
				return fmt.Sprintf("%s row %d: %v %v, want %v %v", w.name, k, c.Rows[k].Depth, c.Rows[k].Volume, w.depths[k], w.vols[k])
			}
		}
	}
	for _, f := range got.Findings {
		if f.Severity != 1 {
			return "a finding that is none"
		}
	}
	return ""
}
