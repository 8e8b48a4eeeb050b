// Package chartout writes charts anew: in other units, at other steps, long,
// wide or folded for print, into a workbook or a CSV file. Every chart says from
// which cells it was made and what was done to it, and what is written reads
// back as the same charts.
package chartout

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"unicode"

	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/unit"
)

// Computed is what a chart made from dimensions says of itself, in every layout.
const Computed = "computed from dimensions, measured by nobody"

// maxRows is the most rows that a chart can get: a step below a thousandth of a
// tank's height is a slip.
const maxRows = 100_000

// Errors of Make. Each is wrapped with what was found.
var (
	ErrHeight = errors.New("the chart gives ullage and no inside height, so that no depth is known")
	ErrStep   = errors.New("the step does not fit the chart")
)

// Options say how a chart is written anew.
type Options struct {
	// DepthUnit and VolumeUnit are the units to be written; unknown ones leave
	// the chart's own.
	DepthUnit  unit.LengthUnit
	VolumeUnit unit.VolumeUnit
	// Step is the distance of the rows; 0 leaves the chart's own rows.
	Step unit.Length
	// StepText is the step as people say it: "1/8 in".
	StepText string
	// Name and Site are those of a chart whose file names none.
	Name string
	Site string
	// Doubts are what a person must look at first, a phrase each; they go with
	// the chart.
	Doubts []string
}

// Row is a row as it is written, in the units of its Table.
type Row struct{ Depth, Volume float64 }

// Table is a chart as it is written. Depths rise from row to row.
type Table struct {
	Name string
	Site string

	DepthUnit  unit.LengthUnit
	VolumeUnit unit.VolumeUnit
	Rows       []Row

	// DepthDecimals and VolumeDecimals are the decimals that show every digit.
	DepthDecimals  int
	VolumeDecimals int
	// Denominator is that of the fractions of an inch in which all depths stand,
	// 0 where they stand in none.
	Denominator int

	// From says from which cells the chart was made.
	From string
	// Done says what was done to it, a phrase each.
	Done []string

	FromDimensions bool
}

// depthDecimals are the decimals of depths that do not come out even: the last
// one is below a hundredth of any mark on a stick.
var depthDecimals = map[unit.LengthUnit]int{
	unit.Inches: 4, unit.Feet: 5, unit.Millimetres: 3, unit.Centimetres: 4, unit.Decimetres: 5, unit.Metres: 6,
}

// Make writes a chart anew. It is an error where the chart cannot be used: its
// units are not known, its rows do not rise, its depths are counted from a top
// that nobody gave. Nothing is computed outside the rows that the chart has; its
// first and its last row are always among those that are written.
//
// What must be rounded is rounded so that a plan made from the new chart shuts
// off no higher than one made from the old: depths down, volumes up, the top
// volume down.
func Make(c *chart.Chart, o Options) (*Table, error) {
	if c.Ullage && !c.FullHeight.Given() {
		return nil, ErrHeight
	}
	curve, err := chart.NewCurve(c)
	if err != nil {
		return nil, err
	}
	t := &Table{
		Name: c.Name, Site: c.Site, DepthUnit: c.DepthUnit, VolumeUnit: c.VolumeUnit, FromDimensions: c.FromDimensions, From: origin(c),
	}
	if t.Name == "" {
		t.Name = o.Name
	}
	if t.Site == "" {
		t.Site = o.Site
	}
	if o.DepthUnit != unit.LengthUnknown {
		t.DepthUnit = o.DepthUnit
	}
	if o.VolumeUnit != unit.VolumeUnknown {
		t.VolumeUnit = o.VolumeUnit
	}
	if c.Ullage {
		t.Done = append(t.Done, "turned from ullage with the inside height beside the chart")
	}
	if t.DepthUnit != c.DepthUnit || t.VolumeUnit != c.VolumeUnit {
		// Which units those were stands in the cells that are named: a unit above
		// a chart is read as the chart's own.
		t.Done = append(t.Done, "units changed")
	}
	rows := rising(c)
	if o.Step > 0 {
		if rows, err = t.stepped(c, curve, rows, &o); err != nil {
			return nil, err
		}
	}
	t.Rows = make([]Row, len(rows))
	t.depths(c, rows, o.Step > 0)
	t.volumes(c, rows, o.Step > 0)
	for _, d := range o.Doubts {
		t.Done = append(t.Done, "LOOK FIRST: "+d)
	}
	return t, nil
}

// origin names the cells of a chart.
func origin(c *chart.Chart) string {
	if c.FromDimensions {
		at, row := c.At, ""
		if at.Row > 0 && at.Col == 0 {
			row = fmt.Sprintf("row %d of ", at.Row)
			at.Row = 0
		}
		return "the dimensions in " + row + at.String() + "; " + strings.TrimPrefix(c.Layout, "computed from dimensions; ")
	}
	at := c.At
	at.Col, at.Row = 0, 0
	if area := cell.Range(c.At, c.To); area != "" && at.Sheet != "" {
		return at.String() + "!" + area
	} else if area != "" {
		return at.String() + ", " + area
	}
	return at.String()
}

// rising gives the rows of a chart from the bottom up, in its own units, without
// those that say the same twice. chart.NewCurve has seen to it that they rise.
func rising(c *chart.Chart) []Row {
	n := len(c.Rows)
	rows := make([]Row, 0, n)
	down := c.Rows[0].Depth > c.Rows[n-1].Depth
	for j := range n {
		i := j
		if down {
			i = n - 1 - j
		}
		r := Row{c.Rows[i].Depth, c.Rows[i].Volume}
		if m := len(rows); m == 0 || rows[m-1] != r {
			rows = append(rows, r)
		}
	}
	return rows
}

// stepped gives the rows at every multiple of a step within the chart, and its
// first and last row, in the units of the chart. Between two rows of the chart
// the monotone cubic holds; above the half, where a shutoff can be, the larger
// one of it and the straight line, since the fuller tank shuts off lower.
func (t *Table) stepped(c *chart.Chart, curve *chart.Curve, given []Row, o *Options) ([]Row, error) {
	smooth, err := curve.Smooth()
	if err != nil {
		return nil, err
	}
	first, last := curve.Bottom(), curve.Top()
	from, to := math.Ceil(float64((first-unit.Guard)/o.Step)), math.Floor(float64((last+unit.Guard)/o.Step))
	switch {
	case to-from > maxRows:
		return nil, fmt.Errorf("%w: %s gives %.0f rows; at most %d are written", ErrStep, o.StepText, to-from, maxRows)
	case o.Step > last-first:
		return nil, fmt.Errorf("%w: %s is more than the chart is high, which runs from %s to %s in", ErrStep, o.StepText,
			unit.DecimalText(float64(first), 3, unit.Nearest), unit.DecimalText(float64(last), 3, unit.Nearest))
	}
	half := c.VolumeUnit.Volume(given[len(given)-1].Volume) / 2
	rows := []Row{given[0]}
	next, made := 1, 0 // the first row of the chart that is not passed yet
	for n := from; n <= to; n++ {
		d := unit.RoundTo(unit.Length(n)*o.Step, o.Step, unit.Nearest)
		for next < len(given) && c.DepthUnit.Length(given[next].Depth) < d-unit.Guard {
			next++
		}
		switch {
		case d-first < unit.Guard:
			continue
		case next < len(given) && c.DepthUnit.Length(given[next].Depth)-d < unit.Guard:
			rows = append(rows, given[next])
			continue
		}
		line, err := curve.Volume(d)
		if err != nil {
			return nil, err
		}
		cubic, err := smooth.Volume(d)
		if err != nil {
			return nil, err
		}
		v := cubic
		if c.VolumeUnit.Volume(given[next-1].Volume) >= half {
			v = max(line, cubic)
		}
		rows = append(rows, Row{c.DepthUnit.Number(d), c.VolumeUnit.Number(v)})
		made++
	}
	end := given[len(given)-1]
	if c.DepthUnit.Length(end.Depth)-c.DepthUnit.Length(rows[len(rows)-1].Depth) > unit.Guard {
		rows = append(rows, end)
	}
	text := fmt.Sprintf("a row every %s, each of them a row of the chart", o.StepText)
	if made > 0 {
		text = fmt.Sprintf("a row every %s; %d of %d lie between rows of the chart, on the monotone curve, or above the half on the straight line where that is fuller", o.StepText, made, len(rows))
	}
	t.Done = append(t.Done, text)
	return rows, nil
}

// depths converts the depths. Those that come out even in the new unit keep all
// their digits; where one does not, all are rounded down.
func (t *Table) depths(c *chart.Chart, rows []Row, stepped bool) {
	verbatim := t.DepthUnit == c.DepthUnit && !stepped
	even := true
	for i, r := range rows {
		d := r.Depth
		if t.DepthUnit != c.DepthUnit {
			d = t.DepthUnit.Number(c.DepthUnit.Length(d))
		}
		t.Rows[i].Depth = d
		even = even && math.Abs(d-round6(d)) < 1e-9
	}
	if !even && !verbatim {
		p := math.Pow10(depthDecimals[t.DepthUnit])
		for i := range t.Rows {
			t.Rows[i].Depth = floorTo(t.Rows[i].Depth, p)
		}
		t.Done = append(t.Done, "depths rounded down to "+unit.DecimalText(1/p, depthDecimals[t.DepthUnit], unit.Nearest)+" "+t.DepthUnit.String())
	} else if !verbatim {
		for i := range t.Rows {
			t.Rows[i].Depth = round6(t.Rows[i].Depth)
		}
	}
	for i := range t.Rows {
		t.DepthDecimals = max(t.DepthDecimals, decimalsOf(t.Rows[i].Depth))
	}
	if t.DepthUnit == unit.Inches {
		t.Denominator = denominator(t.Rows)
	}
}

// volumes converts the volumes. They are rounded no coarser than the chart's own
// are, and finer where two rows would otherwise become equal.
func (t *Table) volumes(c *chart.Chart, rows []Row, stepped bool) {
	for i, r := range rows {
		v := r.Volume
		if t.VolumeUnit != c.VolumeUnit {
			v = t.VolumeUnit.Number(c.VolumeUnit.Volume(v))
		}
		t.Rows[i].Volume = v
	}
	if t.VolumeUnit != c.VolumeUnit || stepped || c.FromDimensions {
		t.round(t.coarsest(c))
	}
	for i := range t.Rows {
		t.VolumeDecimals = max(t.VolumeDecimals, decimalsOf(t.Rows[i].Volume))
	}
}

// coarsest gives the power of ten to which volumes may be rounded: that of the
// chart's own rounding in the new unit. A chart computed from dimensions is
// worth whole gallons, one that is not rounded thousandths of a gallon.
func (t *Table) coarsest(c *chart.Chart) int {
	own := c.VolumeUnit.Volume(c.Rounding())
	if c.FromDimensions {
		own = unit.USGallon
	}
	if !(own > 0) {
		own = unit.USGallon / 1000
	}
	return int(math.Floor(math.Log10(t.VolumeUnit.Number(own)) + 1e-9))
}

// round rounds to 10 to the power of exp, or up to three powers finer.
func (t *Table) round(exp int) {
	for finest := exp - 3; ; exp-- {
		if exp > finest && exp > -9 && t.meet(exp) {
			continue
		}
		break
	}
	step, exact := unit.DecimalText(math.Pow10(exp), max(-exp, 0), unit.Nearest), true
	last := len(t.Rows) - 1
	top := roundTo(t.Rows[last].Volume, exp, false)
	for i := range t.Rows {
		v := min(roundTo(t.Rows[i].Volume, exp, true), top)
		exact = exact && math.Abs(v-t.Rows[i].Volume) <= 1e-9*math.Abs(v)
		t.Rows[i].Volume = v
	}
	if !exact {
		t.Done = append(t.Done, fmt.Sprintf("volumes rounded up to %s %s and the top one down, since that shuts off lower", step, t.VolumeUnit))
	}
}

// meet reports whether two volumes that differ become equal by rounding.
func (t *Table) meet(exp int) bool {
	last := len(t.Rows) - 1
	top := roundTo(t.Rows[last].Volume, exp, false)
	for i := range last {
		a, b := t.Rows[i].Volume, t.Rows[i+1].Volume
		if b-a > 1e-9*b && min(roundTo(a, exp, true), top) >= min(roundTo(b, exp, true), top) {
			return true
		}
	}
	return false
}

// roundTo rounds up or down to 10 to the power of exp; a millionth of it is
// noise of the conversion.
func roundTo(v float64, exp int, up bool) float64 {
	p := math.Pow10(max(exp, -exp))
	q := v * p
	if exp > 0 {
		q = v / p
	}
	n := math.Round(q)
	if math.Abs(q-n) > 1e-6 {
		n = math.Floor(q)
		if up {
			n++
		}
	}
	if exp > 0 {
		return n * p
	}
	return n / p
}

func round6(x float64) float64 { return math.Round(x*1e6) / 1e6 }

func floorTo(x, p float64) float64 { return math.Floor(x*p+1e-6) / p }

// decimalsOf gives the decimals that a number needs, nine at most.
func decimalsOf(x float64) int {
	for n, p := 0, 1.0; n < 9; n, p = n+1, p*10 {
		if y := x * p; math.Abs(y-math.Round(y)) <= 1e-9*math.Max(1, math.Abs(y)) {
			return n
		}
	}
	return 9
}

// denominator gives the coarsest fraction of an inch in which all depths stand,
// 0 for whole inches and for depths in no fraction down to sixteenths.
func denominator(rows []Row) int {
	den := 1
	for i := range rows {
		for den <= 16 && rows[i].Depth*float64(den) != math.Trunc(rows[i].Depth*float64(den)) {
			den *= 2
		}
	}
	if den == 1 || den > 16 {
		return 0
	}
	return den
}

// tankWord stands before a name where nothing else says what it is the name of.
const tankWord = "Tank "

// Called gives the name as a heading bears it: a bare number is told from a
// number by the word before it.
func (t *Table) Called() string {
	if strings.ContainsFunc(t.Name, unicode.IsLetter) {
		return t.Name
	}
	return tankWord + t.Name
}

// Titles gives what stands above a chart: what it is, where it comes from and
// what was done.
func (t *Table) Titles() []string {
	name := tankWord + t.Name
	if strings.HasPrefix(t.Name, tankWord) {
		name = t.Name
	}
	if t.Site != "" {
		name += ", " + t.Site
	}
	if t.FromDimensions {
		name += ": " + Computed
	}
	return []string{name, strings.TrimPrefix(t.Source(), Computed+", ")}
}

// Source says from which cells the chart was made and what was done to it.
func (t *Table) Source() string {
	text := "made from " + t.From
	if t.FromDimensions {
		text = Computed + ", " + text
	}
	for _, d := range t.Done {
		text += "; " + d
	}
	return text
}
