package starter

import (
	"encoding/csv"
	"fmt"
	"io"
	"io/fs"
	"math"
	"path"
	"slices"
	"strconv"
	"strings"

	"github.com/gocarina/gocsv"

	"dropcut/plan/shape"
	"dropcut/plan/unit"
)

// demoChart is one line of the demonstration's charts.csv: the tank that a chart
// is computed from, how it is written down, and the fault that it gets.
type demoChart struct {
	Chart      string  `csv:"chart"`
	Shape      string  `csv:"shape"`
	Ends       string  `csv:"ends"`
	Diameter   float64 `csv:"diameter"`
	Shell      float64 `csv:"shell"`
	Sheet      string  `csv:"sheet"`
	DepthUnit  string  `csv:"depth_unit"`
	VolumeUnit string  `csv:"volume_unit"`
	Step       float64 `csv:"step"`
	Round      float64 `csv:"round"`
	Fault      string  `csv:"fault"`
}

// demoRow is a row of a chart as it stands in the demonstration's book.
type demoRow struct{ depth, volume float64 }

// The faults of the demonstration. Each is one that people make.
const (
	faultDigit  = "a wrong digit"
	faultLitres = "litres under a gallon heading"
	faultShort  = "stops early"
)

// Demo writes the demonstration: the portfolio of an invented contractor, with
// titles, notes, formats and formulas as such books have them, charts on several
// sheets, and a few honest faults. tables is the folder of its tables.
func Demo(w io.Writer, tables fs.FS) error {
	tanks, err := table(tables, "tanks.csv")
	if err != nil {
		return err
	}
	devices, err := table(tables, "devices.csv")
	if err != nil {
		return err
	}
	rules, err := table(tables, "rules.csv")
	if err != nil {
		return err
	}
	charts, err := demoCharts(tables)
	if err != nil {
		return err
	}
	b := newBook()
	b.demoTanks(tanks)
	if err := b.demoChartSheets(charts); err != nil {
		return err
	}
	b.demoTable("Devices", "Shutoff devices we fit (from the data sheets)", devices)
	b.demoTable("Rules", "", rules)
	return b.write(w)
}

func table(tables fs.FS, name string) ([][]string, error) {
	f, err := tables.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return rows, nil
}

func demoCharts(tables fs.FS) ([]demoChart, error) {
	data, err := fs.ReadFile(tables, "charts.csv")
	if err != nil {
		return nil, err
	}
	var list []demoChart
	if err := gocsv.UnmarshalBytes(data, &list); err != nil {
		return nil, fmt.Errorf("charts.csv: %w", err)
	}
	for _, c := range list {
		if c.Diameter <= 0 || c.Shell <= 0 || c.Step <= 0 || c.Round <= 0 {
			return nil, fmt.Errorf("charts.csv: chart %q lacks a dimension", c.Chart)
		}
	}
	return list, nil
}

// demoTanks makes the tank list: two title rows, the headings, the tanks with a
// formula column of the contractor's own, and a line of totals below.
func (b *book) demoTanks(rows [][]string) {
	const sheet, head = "Tanks", 4
	head0, body := rows[0], rows[1:]
	widths := make([]float64, len(head0)+1)
	for i, h := range head0 {
		widths[i] = max(9, min(26, float64(len(h))*0.7))
	}
	widths[0], widths[len(head0)-1], widths[len(head0)] = 26, 28, 12
	b.sheet(sheet, widths...)
	b.set(sheet, 1, 1, "Brookfen Petroleum Service: tanks in the device program", b.title)
	b.set(sheet, 1, 2, "All lengths in inches. Riser and face heights measured with the steel tape, July. Ask the office before you change a heading.", 0)
	for i, h := range head0 {
		b.set(sheet, i+1, head, h, b.head)
	}
	own := len(head0) + 1
	b.set(sheet, own, head, "90 % of nominal (gal)", b.head)
	nominal := slices.Index(head0, "Nominal capacity (gal)") + 1
	total := 0.0
	for r, record := range body {
		row := head + 1 + r
		for i, text := range record {
			b.demoCell(sheet, i+1, row, head0[i], text)
		}
		n, err := strconv.ParseFloat(record[nominal-1], 64)
		b.fail(err)
		total += n
		b.set(sheet, own, row, formula{fmt.Sprintf("ROUND(D%d*0.9,0)", row), math.Round(n * 0.9)}, b.whole)
	}
	last := head + len(body)
	b.set(sheet, 1, last+2, "Total", b.text)
	b.set(sheet, nominal, last+2, formula{fmt.Sprintf("SUM(D%d:D%d)", head+1, last), total}, b.whole)
	b.freeze(sheet, head)
	b.landscape(sheet)
}

// demoCell writes one value of the tank list in the dress that it has there:
// dates as dates, whole gallons with marks, measured lengths partly as numbers in
// a fraction format and partly as the text that somebody typed.
func (b *book) demoCell(sheet string, col, row int, heading, text string) {
	switch {
	case text == "":
		b.set(sheet, col, row, nil, b.text)
	case strings.HasPrefix(heading, "Fill pipe") || strings.HasPrefix(heading, "Last inspection"):
		t, err := unit.ParseDate(text, unit.DateOrderUnknown)
		b.fail(err)
		b.set(sheet, col, row, t, b.date)
	case strings.Contains(heading, "(gal)"):
		n, err := strconv.ParseFloat(text, 64)
		b.fail(err)
		b.set(sheet, col, row, n, b.whole)
	case strings.Contains(heading, "(in)"):
		l, err := unit.ParseLength(text, unit.Inches, unit.DecimalPoint)
		b.fail(err)
		if row%3 == 0 && strings.Contains(text, "/") {
			b.set(sheet, col, row, text, b.text)
			return
		}
		b.set(sheet, col, row, float64(l), b.eighth)
	default:
		b.set(sheet, col, row, text, b.text)
	}
}

// demoTable writes a table as it is, numbers as numbers.
func (b *book) demoTable(sheet, title string, rows [][]string) {
	widths := make([]float64, len(rows[0]))
	for i := range widths {
		widths[i] = 9
		for _, record := range rows {
			widths[i] = max(widths[i], min(36, float64(len(record[i]))*0.8))
		}
	}
	b.sheet(sheet, widths...)
	head := 1
	if title != "" {
		b.set(sheet, 1, 1, title, b.title)
		head = 3
	}
	for r, record := range rows {
		for i, text := range record {
			switch n, err := strconv.ParseFloat(text, 64); {
			case r == 0:
				b.set(sheet, i+1, head, text, b.head)
			case text != "" && err == nil:
				b.set(sheet, i+1, head+r, n, b.text)
			case text != "":
				b.set(sheet, i+1, head+r, text, b.text)
			}
		}
	}
	b.freeze(sheet, head)
	b.landscape(sheet)
}

// demoChartSheets writes each chart on its sheet. "Charts" is one long list; the
// other sheets have a depth column and one volume column a chart.
func (b *book) demoChartSheets(charts []demoChart) error {
	var sheets []string
	bySheet := map[string][]demoChart{}
	for _, c := range charts {
		if _, ok := bySheet[c.Sheet]; !ok {
			sheets = append(sheets, c.Sheet)
		}
		bySheet[c.Sheet] = append(bySheet[c.Sheet], c)
	}
	for _, sheet := range sheets {
		list := bySheet[sheet]
		tables := make([][]demoRow, len(list))
		for i, c := range list {
			rows, err := c.rows()
			if err != nil {
				return err
			}
			tables[i] = rows
		}
		if sheet == "Charts" {
			b.longCharts(sheet, list, tables)
		} else {
			b.wideCharts(sheet, list, tables)
		}
	}
	return nil
}

func (b *book) longCharts(sheet string, list []demoChart, tables [][]demoRow) {
	b.sheet(sheet, 12, 12, 14)
	for i, h := range []string{"Tank", "Depth (in)", "Volume (gal)"} {
		b.set(sheet, i+1, 1, h, b.head)
	}
	row := 1
	for i, rows := range tables {
		for _, r := range rows {
			row++
			b.set(sheet, 1, row, list[i].Chart, 0)
			b.set(sheet, 2, row, r.depth, 0)
			b.set(sheet, 3, row, r.volume, b.whole)
		}
	}
	b.freeze(sheet, 1)
}

// wideCharts gives each sheet the title that such a sheet has: the pair that is
// manifolded, the tank with its compartments, or a family of tanks.
func (b *book) wideCharts(sheet string, list []demoChart, tables [][]demoRow) {
	b.sheet(sheet, 12, 18, 18, 18, 18)
	title := "Fiberglass tanks, charts from the maker's booklet"
	headings := make([]string, len(list))
	for i, c := range list {
		headings[i] = c.Chart + " (gal)"
		if one, two, ok := strings.Cut(c.Chart, "+"); ok {
			title = fmt.Sprintf("Tanks %s and %s, manifolded, combined gallons", one, two)
			headings[i] = "Volume (gal)"
		}
		if tank, part, ok := strings.Cut(c.Chart, "/"); ok {
			title = "Tank " + tank + ", two compartments"
			headings[i] = "Compartment " + part + " (gal)"
		}
	}
	b.set(sheet, 1, 1, title, b.title)
	b.set(sheet, 1, 3, "Depth (in)", b.head)
	longest := 0
	for i := range list {
		b.set(sheet, i+2, 3, headings[i], b.head)
		if len(tables[i]) > len(tables[longest]) {
			longest = i
		}
	}
	for r, at := range tables[longest] {
		b.set(sheet, 1, 4+r, at.depth, 0)
		for i, rows := range tables {
			if r < len(rows) {
				b.set(sheet, i+2, 4+r, rows[r].volume, b.whole)
			}
		}
	}
	b.freeze(sheet, 3)
}

// rows computes a chart from its tank, rounds it as charts are rounded, and
// spoils it where the table asks for it.
func (c *demoChart) rows() ([]demoRow, error) {
	head := shape.Head{}
	if c.Ends == "hemispherical" {
		head.Kind = shape.Hemispherical
	}
	tank, err := shape.New(shape.Spec{Kind: shape.Horizontal, Diameter: c.Diameter, Length: c.Shell, Low: head, High: head})
	if err != nil {
		return nil, fmt.Errorf("chart %s: %w", c.Chart, err)
	}
	per := shape.CubicInchesPerGallon
	if c.Fault == faultLitres {
		per = shape.CubicInchesPerGallon * float64(unit.Litre)
	}
	var rows []demoRow
	n := int(math.Round(c.Diameter / c.Step))
	for i := range n + 1 {
		d := float64(i) * c.Step
		rows = append(rows, demoRow{d, math.Round(tank.Volume(d)/per/c.Round) * c.Round})
	}
	switch c.Fault {
	case "", faultLitres:
	case faultDigit:
		// Five rows above the middle a 3 was read as an 8, or the like: the tens.
		at := &rows[len(rows)/2+5]
		at.volume += 50
	case faultShort:
		rows = rows[:len(rows)*3/4]
	default:
		return nil, fmt.Errorf("chart %s: no fault is called %q", c.Chart, c.Fault)
	}
	return rows, nil
}

// DemoTables opens the folder of the demonstration's tables.
func DemoTables(fsys fs.FS, dir string) (fs.FS, error) { return fs.Sub(fsys, path.Clean(dir)) }
