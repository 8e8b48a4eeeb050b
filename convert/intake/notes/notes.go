// Package notes reads charts as a person has noted them, and notes how charts were
// read.
package notes

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/gocarina/gocsv"

	"dropcut/convert/csvfile"
	"dropcut/convert/grid"
	"dropcut/convert/intake/charts"
	"dropcut/convert/intake/figures"
	"dropcut/convert/intake/headword"
	"dropcut/convert/intake/idform"
	"dropcut/convert/intake/lists"
	"dropcut/convert/intake/survey"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/unit"
)

// Table are a reading as a table that a person can correct: which cells of
// which sheet are the depths and the volumes of which tank. Given back, they are
// followed exactly; nothing on the sheets that they name is guessed.
type Table struct {
	File string // the notes' own file, for places and messages
	Rows []Entry
}

// Entry is the reading of one chart, one line of a notes file. Cells are given as
// ranges with blanks between, "A4:A36 C4:C36"; they are taken in the order in
// which they are written, so that "A36:A4" runs upward. Depths and volumes are
// pairs, first with first. Where StepCells are given (the eighths along the top
// of a matrix, the inches beside the feet), the depth of a volume is the depth
// cell of its row (or column) plus the step cell of its column (or row).
type Entry struct {
	File        string `csv:"file"`
	Sheet       string `csv:"sheet"`
	Range       string `csv:"range"` // of the chart; where no cells are given, the chart found there is taken as it was found
	Layout      string `csv:"layout"`
	Site        string `csv:"site"`
	Tank        string `csv:"tank"`
	Rows        string `csv:"rows"` // how many there are; empty: any number
	DepthCells  string `csv:"depth_cells"`
	StepCells   string `csv:"step_cells"`
	VolumeCells string `csv:"volume_cells"`
	DepthUnit   string `csv:"depth_unit"`
	StepUnit    string `csv:"step_unit"` // empty: the depths' unit
	VolumeUnit  string `csv:"volume_unit"`
	DecimalSign string `csv:"decimal_sign"` // "point" or "comma"
	FromTop     string `csv:"from_top"`     // "yes": the depths are counted from the top of the tank down
	FullHeight  string `csv:"full_height"`  // inside height, with its unit; needed with from_top

	line int
	read followed
}

// noteColumns are the columns of a notes file, in order.
var noteColumns = []string{
	"file", "sheet", "range", "layout", "site", "tank", "rows", "depth_cells", "step_cells", "volume_cells", "depth_unit", "step_unit", "volume_unit", "decimal_sign", "from_top", "full_height",
}

// followed is a note made out.
type followed struct {
	depth, step, volume []run
	depthUnit, stepUnit unit.LengthUnit
	volumeUnit          unit.VolumeUnit
	decimal             unit.Decimal
	fromTop             bool
	height              cell.Of[unit.Length]
	rows                int // -1: any number
	HasCells            bool
}

// run is cells in a row or a column, or a block of them, in writing order.
type run struct{ col, row, toCol, toRow int }

func (r run) Len() int { return (dist(r.col, r.toCol) + 1) * (dist(r.row, r.toRow) + 1) }

func dist(a, b int) int {
	if a > b {
		return a - b
	}
	return b - a
}

// CellAt gives the i-th cell of a run: along a row first, then the next row.
func (r run) CellAt(i int) (col, row int) {
	wide := dist(r.col, r.toCol) + 1
	dc, dr := i%wide, i/wide
	if r.toCol < r.col {
		dc = -dc
	}
	if r.toRow < r.row {
		dr = -dr
	}
	return r.col + dc, r.row + dr
}

// Index gives the place of a cell in the run; ok is false where it is not in it.
func (r run) Index(col, row int) (i int, ok bool) {
	if col < min(r.col, r.toCol) || col > max(r.col, r.toCol) || row < min(r.row, r.toRow) || row > max(r.row, r.toRow) {
		return 0, false
	}
	return dist(row, r.row)*(dist(r.col, r.toCol)+1) + dist(col, r.col), true
}

func (r run) String() string {
	a := cell.Ref{Col: r.col, Row: r.row}.A1()
	if b := (cell.Ref{Col: r.toCol, Row: r.toRow}).A1(); b != a {
		return a + ":" + b
	}
	return a
}

// MostCells bounds what one note may name: the rows of a sheet.
const MostCells = 1 << 20

// mostCellsOfAll bounds what all notes of a table may name together, since room is
// made for each cell before any is read: 8 million rows of charts, 150 MB.
const mostCellsOfAll = 1 << 24

func ParseRuns(s string) ([]run, error) {
	var runs []run
	total := 0
	for part := range strings.FieldsFuncSeq(s, func(r rune) bool { return headword.IsBlank(r) || r == ',' || r == ';' }) {
		from, to, ranged := strings.Cut(part, ":")
		if !ranged {
			to = from
		}
		c1, r1, ok1 := cell.ParseA1(from)
		c2, r2, ok2 := cell.ParseA1(to)
		if !ok1 || !ok2 || c1 == 0 || r1 == 0 || c2 == 0 || r2 == 0 {
			return nil, fmt.Errorf("%s is no range of cells; write it as in A4:A36", survey.Quote(part))
		}
		r := run{c1, r1, c2, r2}
		if total += r.Len(); total > MostCells {
			return nil, fmt.Errorf("%s names more than %d cells", survey.Quote(part), MostCells)
		}
		runs = append(runs, r)
	}
	return runs, nil
}

func RunsText(runs []run) string {
	parts := make([]string, len(runs))
	for i, r := range runs {
		parts[i] = r.String()
	}
	return strings.Join(parts, " ")
}

func RunsLen(runs []run) int {
	n := 0
	for _, r := range runs {
		n += r.Len()
	}
	return n
}

// Read reads a notes file, opened as a CSV book. The header must name every
// column of a notes file once and nothing else.
func Read(b grid.Book) (*Table, error) {
	sheets := b.Sheets()
	if len(sheets) != 1 {
		return nil, fmt.Errorf("%s has %d sheets; notes are one table, as inspect --save writes it", b.Name(), len(sheets))
	}
	n := &Table{File: b.Name()}
	var table [][]string
	var lines []int
	for r, err := range sheets[0].Rows() {
		if err != nil {
			return nil, err
		}
		rec := make([]string, len(noteColumns))
		for i := range r.Cells {
			c := &r.Cells[i]
			if c.Col > len(rec) {
				if strings.TrimFunc(c.String(), headword.IsBlank) == "" {
					continue
				}
				return nil, fmt.Errorf("%s, row %d: found %s in column %s, expected are %d columns: %s", n.File, r.N, survey.Quote(c.String()), cell.ColumnName(c.Col), len(noteColumns), strings.Join(noteColumns, ","))
			}
			rec[c.Col-1] = csvfile.Plain(strings.TrimFunc(c.String(), headword.IsBlank))
		}
		table, lines = append(table, rec), append(lines, r.N)
	}
	if len(table) == 0 {
		return nil, fmt.Errorf("%s is empty; inspect --save writes the table that is expected", n.File)
	}
	seen := map[string]bool{}
	for _, name := range table[0] {
		switch {
		case !slices.Contains(noteColumns, name):
			return nil, fmt.Errorf("%s: found the column %s, expected are the columns %s", n.File, survey.Quote(name), strings.Join(noteColumns, ","))
		case seen[name]:
			return nil, fmt.Errorf("%s: the column %s stands there twice; delete one of them", n.File, survey.Quote(name))
		}
		seen[name] = true
	}
	if err := gocsv.UnmarshalCSV(&records{table: table}, &n.Rows); err != nil {
		return nil, fmt.Errorf("%s: %w", n.File, err)
	}
	if len(n.Rows) != len(table)-1 {
		return nil, fmt.Errorf("%s: %d of %d lines were bound; save the table as plain CSV", n.File, len(n.Rows), len(table)-1)
	}
	total := 0
	for i := range n.Rows {
		x := &n.Rows[i]
		x.line = lines[i+1]
		if err := x.makeOut(n.File); err != nil {
			return nil, err
		}
		f := &x.read
		if total += RunsLen(f.depth) + RunsLen(f.step) + RunsLen(f.volume); total > mostCellsOfAll {
			return nil, fmt.Errorf("%s, row %d: the notes down to here name more than %d cells; correct the ranges, or split the table", n.File, x.line, mostCellsOfAll)
		}
	}
	return n, nil
}

// records hands a table that was read already to the CSV library.
type records struct {
	table [][]string
	next  int
}

func (r *records) Read() ([]string, error) {
	if r.next == len(r.table) {
		return nil, io.EOF
	}
	r.next++
	return r.table[r.next-1], nil
}

func (r *records) ReadAll() ([][]string, error) {
	rest := r.table[r.next:]
	r.next = len(r.table)
	return rest, nil
}

// makeOut reads the texts of a note.
func (x *Entry) makeOut(file string) error {
	bad := func(column, found, expected string) error {
		return fmt.Errorf("%s, row %d, column %s: found %s, expected %s", file, x.line, column, survey.Quote(found), expected)
	}
	f := &x.read
	var err error
	if x.File == "" {
		return bad("file", "", "the file that the note is about")
	}
	for _, c := range [...]struct {
		name, text string
		to         *[]run
	}{{"depth_cells", x.DepthCells, &f.depth}, {"step_cells", x.StepCells, &f.step}, {"volume_cells", x.VolumeCells, &f.volume}} {
		if *c.to, err = ParseRuns(c.text); err != nil {
			return fmt.Errorf("%s, row %d, column %s: %w", file, x.line, c.name, err)
		}
	}
	f.HasCells = len(f.depth) > 0 || len(f.volume) > 0
	switch d, v := RunsLen(f.depth), RunsLen(f.volume); {
	case f.HasCells && (d == 0 || v == 0):
		return bad("depth_cells", x.DepthCells, "cells for depths and for volumes, or neither")
	case f.HasCells && len(f.step) == 0 && d != v:
		return fmt.Errorf("%s, row %d: %d depth cells and %d volume cells; they are pairs, so that there must be as many of both", file, x.line, d, v)
	case !f.HasCells && len(f.step) > 0:
		return bad("step_cells", x.StepCells, "depth and volume cells beside them")
	case !f.HasCells && x.Range == "":
		return bad("range", "", "the chart's range, or depth and volume cells")
	}
	if x.DepthUnit != "" {
		if f.depthUnit, err = unit.ParseLengthUnit(x.DepthUnit); err != nil {
			return bad("depth_unit", x.DepthUnit, "a unit of length such as in or mm")
		}
	}
	f.stepUnit = f.depthUnit
	if x.StepUnit != "" {
		if f.stepUnit, err = unit.ParseLengthUnit(x.StepUnit); err != nil {
			return bad("step_unit", x.StepUnit, "a unit of length such as in or cm")
		}
		if f.depthUnit == 0 {
			return bad("depth_unit", x.DepthUnit, "the unit of the depths, where one of the steps is given")
		}
	}
	if x.VolumeUnit != "" {
		if f.volumeUnit, err = unit.ParseVolumeUnit(x.VolumeUnit); err != nil {
			return bad("volume_unit", x.VolumeUnit, "a unit of volume such as gal or L")
		}
	}
	switch unit.Fold(x.DecimalSign) {
	case "", "point", ".":
		f.decimal = unit.DecimalPoint
	case "comma", ",":
		f.decimal = unit.DecimalComma
	default:
		return bad("decimal_sign", x.DecimalSign, "point or comma")
	}
	if x.FromTop != "" {
		yes, ok := lists.YesNo(x.FromTop)
		if !ok {
			return bad("from_top", x.FromTop, "yes or no")
		}
		f.fromTop = yes
	}
	if x.FullHeight != "" {
		h, err := unit.ParseLength(x.FullHeight, f.depthUnit, f.decimal)
		if err != nil || !(h > 0) {
			return bad("full_height", x.FullHeight, "a length with its unit, as in 96 in")
		}
		f.height = cell.Of[unit.Length]{V: h, Raw: x.FullHeight, At: cell.Ref{File: file, Row: x.line}}
	}
	f.rows = -1
	if x.Rows != "" {
		n, err := strconv.Atoi(x.Rows)
		if err != nil || n < 1 {
			return bad("rows", x.Rows, "the number of the chart's rows, or nothing")
		}
		f.rows = n
	}
	return nil
}

// Has reports whether any note is about the sheet.
func (n *Table) Has(at cell.Ref) bool { return n.of(at) != nil }

// of gives the notes about a sheet.
func (n *Table) of(at cell.Ref) []*Entry {
	var list []*Entry
	for i := range n.Rows {
		if n.Rows[i].File == at.File && n.Rows[i].Sheet == at.Sheet {
			list = append(list, &n.Rows[i])
		}
	}
	return list
}

// Fit checks that every note has its sheet among the books.
func (n *Table) Fit(books []grid.Book) error {
	there := map[cell.Ref]bool{}
	for _, b := range books {
		for _, sh := range b.Sheets() {
			there[sh.At()] = true
		}
	}
	for i := range n.Rows {
		x := &n.Rows[i]
		if !there[cell.Ref{File: x.File, Sheet: x.Sheet}] {
			return n.misfit(x, "no such file or sheet is being read", "delete the note, or correct its file and sheet")
		}
	}
	return nil
}

// misfit makes the error of a note that does not fit its file.
func (n *Table) misfit(x *Entry, found, do string) error {
	name := x.Tank
	if name == "" {
		name = "without a tank"
	}
	return fmt.Errorf("%s, row %d: the note on %s (%s) does not fit the file: %s; %s", n.File, x.line, name, cell.Ref{File: x.File, Sheet: x.Sheet}, found, do)
}

// Follow reads the charts of a sheet by its notes.
func (n *Table) Follow(sh grid.Sheet, opt charts.Options) (figures.Yield, error) {
	notes := n.of(sh.At())
	exact := notes[:0:0]
	for _, x := range notes {
		if x.read.HasCells {
			exact = append(exact, x)
		}
	}
	made, out, err := n.byCells(sh, exact)
	if err != nil {
		return out, err
	}
	if len(exact) < len(notes) {
		// The rest was taken as it was found, and is found again.
		found, err := charts.Read(sh, opt)
		if err != nil {
			return out, err
		}
		for _, x := range notes {
			if x.read.HasCells {
				continue
			}
			k := slices.IndexFunc(found.Charts, func(c *chart.Chart) bool {
				return cell.Range(c.At, c.To) == x.Range && (idform.Plain(c.Name) == idform.Plain(x.Tank) || len(found.Charts) == 1 || onlyRange(found.Charts, x.Range))
			})
			if k < 0 {
				return out, n.misfit(x, "there is no chart at "+x.Range, "correct the range, or name its cells")
			}
			c := found.Charts[k]
			if x.read.rows >= 0 && x.read.rows != c.Len() {
				return out, n.misfit(x, fmt.Sprintf("%d rows were found at %s, and the note says %d", c.Len(), x.Range, x.read.rows), "correct or empty rows")
			}
			n.correct(x, c)
			made[x] = c
			for _, u := range found.Waiting {
				if u.Chart == c {
					out.Waiting = append(out.Waiting, u)
				}
			}
			for _, f := range found.Findings {
				if f.Chart == "" || f.Chart == c.Name || f.Chart == c.NamedBy.V {
					out.Findings = append(out.Findings, f)
				}
			}
		}
	}
	at := sh.At()
	tb := survey.Table{At: at, To: at, Layout: "as noted in " + n.File}
	for _, x := range notes {
		c := made[x]
		out.Charts = append(out.Charts, c)
		tb.Charts++
		tb.Rows += c.Len()
		if tb.At.Row == 0 {
			tb.At, tb.To = c.At, c.To
		}
		tb.At.Row, tb.At.Col = min(tb.At.Row, c.At.Row), min(tb.At.Col, c.At.Col)
		tb.To.Row, tb.To.Col = max(tb.To.Row, c.To.Row), max(tb.To.Col, c.To.Col)
	}
	out.Tables = append(out.Tables, tb)
	return out, nil
}

func onlyRange(list []*chart.Chart, rng string) bool {
	k := 0
	for _, c := range list {
		if cell.Range(c.At, c.To) == rng {
			k++
		}
	}
	return k == 1
}

// correct puts what the note says of a chart over what was found.
func (n *Table) correct(x *Entry, c *chart.Chart) {
	at := cell.Ref{File: n.File, Row: x.line}
	if idform.Plain(c.Name) != idform.Plain(x.Tank) {
		c.Name = x.Tank
		c.NamedBy = cell.Of[string]{V: x.Tank, Raw: x.Tank, At: at}
	}
	c.Site = x.Site
	if u := x.read.depthUnit; u != 0 && u != c.DepthUnit {
		if c.Ullage && c.FullHeight.Given() && c.DepthUnit != 0 {
			// The ullages are the file's numbers; the depths hang on their unit.
			for i := range c.Rows {
				c.Rows[i].Depth = figures.BelowTop(u.Number(c.FullHeight.V), c.DepthUnit.Number(c.FullHeight.V)-c.Rows[i].Depth)
			}
		}
		c.DepthUnit, c.DepthUnitFrom = u, at
	}
	if u := x.read.volumeUnit; u != 0 && u != c.VolumeUnit {
		c.VolumeUnit, c.VolumeUnitFrom = u, at
	}
}

// Of writes down a reading, so that it can be corrected. It follows each
// note at once and gives the cells only of charts that come out the same by
// them; the few others are named by their range.
func Of(r *survey.Reading, books []grid.Book) (*Table, error) {
	n := &Table{File: "notes"}
	for i, c := range r.Job.Charts {
		x := noteOf(r, c)
		x.line = i + 2
		n.Rows = append(n.Rows, x)
		if err := n.Rows[i].makeOut(n.File); err != nil {
			return nil, err
		}
	}
	first := map[cell.Ref]int{}
	for i, c := range r.Job.Charts {
		at := cell.Ref{File: c.At.File, Sheet: c.At.Sheet}
		if _, ok := first[at]; !ok {
			first[at] = i
		}
	}
	for _, b := range books {
		for _, sh := range b.Sheets() {
			if _, ok := first[sh.At()]; !ok {
				continue
			}
			if err := n.prove(sh, r.Job.Charts); err != nil {
				return nil, err
			}
		}
	}
	return n, nil
}

// prove follows the notes of a sheet and takes the cells out of those by which
// another chart comes out.
func (n *Table) prove(sh grid.Sheet, charts []*chart.Chart) error {
	var list []*Entry
	for _, x := range n.of(sh.At()) {
		if x.read.HasCells {
			list = append(list, x)
		}
	}
	got, _, err := n.byCells(sh, list)
	if err != nil {
		// A note that does not even fit is found out one by one.
		for _, x := range list {
			if one, _, err := n.byCells(sh, []*Entry{x}); err != nil {
				x.forgetCells()
			} else {
				got[x] = one[x]
			}
		}
	}
	for i := range n.Rows {
		x := &n.Rows[i]
		if c, ok := got[x]; ok && !SameRows(c, charts[i]) {
			x.forgetCells()
		}
	}
	return nil
}

func (x *Entry) forgetCells() {
	x.DepthCells, x.StepCells, x.VolumeCells, x.StepUnit = "", "", "", ""
	x.read.depth, x.read.step, x.read.volume, x.read.HasCells = nil, nil, nil, false
}

// SameRows reports whether two readings of a chart give the same numbers. Sums
// of feet and inches may differ in their last bits.
func SameRows(a, b *chart.Chart) bool {
	return slices.EqualFunc(a.Rows, b.Rows, func(x, y chart.Row) bool { return sameNumber(x.Depth, y.Depth) && sameNumber(x.Volume, y.Volume) })
}

func sameNumber(x, y float64) bool {
	return x == y || math.IsNaN(x) && math.IsNaN(y) || math.Abs(x-y) <= 1e-12*max(math.Abs(x), math.Abs(y))
}

// noteOf describes a chart by its cells.
func noteOf(r *survey.Reading, c *chart.Chart) Entry {
	x := Entry{
		File: c.At.File, Sheet: c.At.Sheet, Range: cell.Range(c.At, c.To), Layout: c.Layout, Site: c.Site, Tank: c.Name, Rows: strconv.Itoa(c.Len()),
		DepthUnit: c.DepthUnit.String(), VolumeUnit: c.VolumeUnit.String(), DecimalSign: "point",
	}
	if c.Ullage {
		x.FromTop = "yes"
		if c.FullHeight.Given() {
			x.FullHeight = strconv.FormatFloat(float64(c.FullHeight.V), 'g', -1, 64) + " in"
		}
	}
	var depth, volume []run
	shared := false
	for i := range c.Rows {
		d, v := c.DepthAt(i), c.VolumeAt(i)
		if i > 0 && c.DepthAt(i-1) == d {
			shared = true
		}
		depth, volume = extend(depth, d), extend(volume, v)
	}
	for i := range r.Tables {
		t := &r.Tables[i]
		if t.At.File != c.At.File || t.At.Sheet != c.At.Sheet || t.To.Row > 0 && (c.At.Row < t.At.Row || c.At.Row > t.To.Row) {
			continue
		}
		for _, col := range t.Columns {
			if strings.Contains(col.Decimal, "comma") {
				x.DecimalSign = "comma"
			}
			if shared && col.StepUnit != 0 {
				x.StepUnit = col.StepUnit.String()
			}
		}
		if shared && t.HeaderRow > 0 {
			x.StepCells, depth, volume = matrixRuns(c, t.HeaderRow)
		}
		break
	}
	x.DepthCells, x.VolumeCells = RunsText(depth), RunsText(volume)
	return x
}

// matrixRuns gives the cells of a matrix whose steps stand in a row above it.
func matrixRuns(c *chart.Chart, header int) (step string, depth, volume []run) {
	cols := map[int]bool{}
	var steps []run
	for i := range c.Rows {
		d, v := c.DepthAt(i), c.VolumeAt(i)
		if i == 0 || c.DepthAt(i-1) != d {
			depth = extend(depth, d)
		}
		if !cols[v.Col] {
			cols[v.Col] = true
			steps = extend(steps, cell.Ref{Col: v.Col, Row: header})
		}
		volume = extend(volume, v)
	}
	return RunsText(steps), depth, volume
}

// extend adds a cell to the last run where it goes on in the same direction,
// else starts a new one.
func extend(runs []run, at cell.Ref) []run {
	if n := len(runs); n > 0 {
		r := &runs[n-1]
		dc, dr := at.Col-r.toCol, at.Row-r.toRow
		single := r.Len() == 1
		switch {
		case dc == 0 && (dr == 1 || dr == -1) && r.col == r.toCol && (single || sign(r.toRow-r.row) == dr):
			r.toRow = at.Row
			return runs
		case dr == 0 && (dc == 1 || dc == -1) && r.row == r.toRow && (single || sign(r.toCol-r.col) == dc):
			r.toCol = at.Col
			return runs
		}
	}
	return append(runs, run{at.Col, at.Row, at.Col, at.Row})
}

func sign(n int) int {
	switch {
	case n > 0:
		return 1
	case n < 0:
		return -1
	}
	return 0
}

// Write writes the notes as CSV, header first; texts that a spreadsheet would take
// for formulas are made inert, and Read makes them plain again.
func (n *Table) Write(w io.Writer) error {
	rows := n.Rows
	if rows == nil {
		rows = []Entry{}
	}
	return csvfile.Write(w, rows)
}
