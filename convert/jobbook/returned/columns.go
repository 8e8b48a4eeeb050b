package returned

import (
	"slices"
	"strconv"
	"strings"

	"dropcut/convert/jobbook/field"

	"dropcut/convert/grid"
	"dropcut/convert/intake"
	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/unit"
)

// ReturnedSheet lists everything that came back.
const ReturnedSheet = "Returned"

// column is one of the columns of what came back. Its heading begins like all of
// dropcut's columns, by which they are found again.
type column struct {
	base  string
	width float64
	// only: 0 for both kinds of books, 1 for cuts, 2 for inspections
	only  int
	value func(*Outcome, field.Units) grid.Value
}

const columnPrefix = "Plan: "

func lengthColumn(base string, only int, get func(*Outcome) (unit.Length, bool)) column {
	return column{base: base, width: 11, only: only, value: func(o *Outcome, u field.Units) grid.Value {
		if l, ok := get(o); ok {
			return grid.Num(u.Length.Number(l), grid.LookLength)
		}
		return grid.Value{}
	}}
}

func textColumn(base string, only int, width float64, get func(*Outcome) string) column {
	return column{base: base, width: width, only: only, value: func(o *Outcome, _ field.Units) grid.Value { return grid.Str(get(o), grid.LookText) }}
}

func percentColumn(base string, only int, get func(*Outcome) plan.Value[unit.Percent]) column {
	return column{base: base, width: 11, only: only, value: func(o *Outcome, _ field.Units) grid.Value {
		if v := get(o); v.Known {
			return grid.Num(float64(v.V), grid.LookPercent)
		}
		return grid.Value{}
	}}
}

func ofLen(v cell.Of[unit.Length]) (unit.Length, bool) { return v.V, v.Given() }

func builtColumns() []column {
	rec := func(get func(*Outcome) cell.Of[unit.Length]) func(*Outcome) (unit.Length, bool) {
		return func(o *Outcome) (unit.Length, bool) { return ofLen(get(o)) }
	}
	return []column{
		lengthColumn("As-built riser height", 1, rec(func(o *Outcome) cell.Of[unit.Length] { return o.Record.Riser })),
		lengthColumn("As-built face to bottom", 1, rec(func(o *Outcome) cell.Of[unit.Length] { return o.Record.Face })),
		lengthColumn("As-built upper tube", 1, rec(func(o *Outcome) cell.Of[unit.Length] { return o.Record.Upper })),
		lengthColumn("As-built lower tube", 1, rec(func(o *Outcome) cell.Of[unit.Length] { return o.Record.Lower })),
		lengthColumn("As-built drop length", 1, rec(func(o *Outcome) cell.Of[unit.Length] { return o.Record.Drop })),
		lengthColumn("As-built shutoff depth", 1, func(o *Outcome) (unit.Length, bool) { return o.Built.ShutoffDepth.V, o.Built.ShutoffDepth.Known }),
		percentColumn("As-built %", 1, func(o *Outcome) plan.Value[unit.Percent] { return o.Built.ShutoffPercent }),
		percentColumn("As-built worst-case %", 1, func(o *Outcome) plan.Value[unit.Percent] { return o.Built.WorstPercent }),
		{base: "Leak test, psi", width: 9, only: 1, value: func(o *Outcome, _ field.Units) grid.Value {
			if p := o.Record.Pressure; p.Given() {
				return grid.Num(float64(p.V), grid.LookLength)
			}
			return grid.Value{}
		}},
		textColumn("Torques from the tank up, lbf·ft", 1, 14, func(o *Outcome) string { return torqueText(o.Record.Torques) }),
		lengthColumn("As-found riser height", 2, func(o *Outcome) (unit.Length, bool) { return ofLen(o.Record.Riser) }),
		lengthColumn("As-found face to bottom", 2, func(o *Outcome) (unit.Length, bool) { return ofLen(o.Record.Face) }),
		lengthColumn("As-found tube", 2, func(o *Outcome) (unit.Length, bool) { return ofLen(o.Found.Upper) }),
		percentColumn("As-found %", 2, func(o *Outcome) plan.Value[unit.Percent] { return o.AsFound.ShutoffPercent }),
		lengthColumn("As-left tube", 2, func(o *Outcome) (unit.Length, bool) { return ofLen(o.Record.Upper) }),
		percentColumn("As-left %", 2, func(o *Outcome) plan.Value[unit.Percent] { return o.Built.ShutoffPercent }),
		textColumn("As-built date", 1, 11, func(o *Outcome) string { return o.Record.Done.Raw }),
		textColumn("As-built by", 1, 18, by),
		textColumn("As-built status", 1, 10, func(o *Outcome) string { return o.Status }),
		textColumn("As-built flags", 1, 40, flags),
		textColumn("As-built record", 1, 50, func(o *Outcome) string { return o.Rest }),
		textColumn("Inspected on", 2, 11, func(o *Outcome) string { return o.Record.Done.Raw }),
		textColumn("Inspected by", 2, 18, by),
		textColumn("Inspection", 2, 10, func(o *Outcome) string { return o.Status }),
		textColumn("Inspection flags", 2, 40, flags),
		textColumn("Inspection record", 2, 50, func(o *Outcome) string { return o.Rest }),
	}
}

func by(o *Outcome) string {
	who := o.Record.Who.V
	if l := o.Record.License.V; l != "" {
		who = strings.TrimPrefix(who+", license "+l, ", ")
	}
	return who
}

func flags(o *Outcome) string {
	var parts []string
	for _, f := range o.Findings {
		part := f.Severity.String() + ": " + string(f.Slug)
		if !slices.Contains(parts, part) {
			parts = append(parts, part)
		}
	}
	return strings.Join(parts, "; ")
}

// Change is a cell that gets another value than it has.
type Change struct {
	Site, Tank, What, Old, New string
	At                         cell.Ref
}

// Target is the portfolio that is written into.
type Target struct {
	Book  grid.Book
	Lists []intake.TankList
	Units field.Units
	// Place finds n free columns for a list.
	Place func(list *intake.TankList, n int) (col int, err error)
}

// Edit decides what is written: the columns beside the tanks that came back, and
// the sheet that lists everything. Rows of other tanks keep what they have.
func (c *Collection) Edit(to Target) (grid.Edit, []Change, error) {
	var edit grid.Edit
	var changes []Change
	for i := range to.Lists {
		list := &to.Lists[i]
		cols, chg, err := c.Columns(to, list)
		if err != nil {
			return edit, nil, err
		}
		edit.Columns = append(edit.Columns, cols...)
		changes = append(changes, chg...)
	}
	var before [][]string
	for _, s := range to.Book.Sheets() {
		if s.At().Sheet != ReturnedSheet {
			continue
		}
		more, err := Earlier(s)
		if err != nil {
			return edit, nil, err
		}
		before = append(before, more...)
	}
	edit.Sheets = append(edit.Sheets, c.Sheet(before))
	return edit, changes, nil
}

// Columns makes the columns of one list, none where nothing came back for its
// tanks, and says what changes by them.
func (c *Collection) Columns(to Target, list *intake.TankList) ([]grid.Column, []Change, error) {
	rows := map[int]int{} // of each tank
	for k, n := range list.Tanks {
		rows[n] = list.Rows[k]
	}
	var mine []*Outcome
	kinds := map[int]bool{}
	for i := range c.Outcomes {
		o := &c.Outcomes[i]
		if rows[o.Index] > 0 {
			mine = append(mine, o)
			kinds[1] = kinds[1] || !o.Inspection
			kinds[2] = kinds[2] || o.Inspection
		}
	}
	if len(mine) == 0 {
		return nil, nil, nil
	}
	wanted := slices.DeleteFunc(builtColumns(), func(x column) bool { return !kinds[x.only] })
	headings := make([]string, len(wanted))
	missing := 0
	for i, x := range wanted {
		headings[i] = x.heading(to.Units)
		if list.Ours[headings[i]] == 0 {
			missing++
		}
	}
	next := 0
	if missing > 0 {
		var err error
		if next, err = to.Place(list, missing); err != nil {
			return nil, nil, err
		}
	}
	held, err := cellsOf(to.Book, list.At)
	if err != nil {
		return nil, nil, err
	}
	var cols []grid.Column
	var changes []Change
	for i, x := range wanted {
		col := list.Ours[headings[i]]
		if col == 0 {
			col = next
			next++
		}
		out := grid.Column{Sheet: list.At.Sheet, Col: col, HeaderRow: list.HeaderRow, Heading: headings[i], Width: x.width}
		for _, o := range mine {
			if (x.only == 2) != o.Inspection {
				continue
			}
			row := rows[o.Index]
			v := x.value(o, to.Units)
			out.Cells = append(out.Cells, grid.At{Row: row, Value: v})
			old, now := held[[2]int{col, row}], valueText(v)
			if old != now {
				changes = append(changes, Change{Site: o.Result.Tank.Site.Raw, Tank: o.Result.Tank.ID.Raw, What: strings.TrimPrefix(headings[i], columnPrefix), Old: old, New: now, At: cell.Ref{File: list.At.File, Sheet: list.At.Sheet, Col: col, Row: row}})
			}
		}
		slices.SortFunc(out.Cells, func(a, b grid.At) int { return a.Row - b.Row })
		cols = append(cols, out)
	}
	return cols, changes, nil
}

func (x *column) heading(u field.Units) string {
	if strings.HasSuffix(x.base, "%") || !strings.HasPrefix(x.base, "As-") {
		return columnPrefix + x.base
	}
	for _, word := range [...]string{"height", "bottom", "tube", "length", "depth"} {
		if strings.HasSuffix(x.base, word) {
			return columnPrefix + x.base + " (" + u.Length.String() + ")"
		}
	}
	return columnPrefix + x.base
}

func valueText(v grid.Value) string {
	if v.IsNumber {
		return strconv.FormatFloat(v.Number, 'g', 12, 64)
	}
	return v.Text
}

// cellsOf reads what stands in the cells of a list's sheet.
func cellsOf(book grid.Book, at cell.Ref) (map[[2]int]string, error) {
	held := map[[2]int]string{}
	for _, s := range book.Sheets() {
		if s.At() != at {
			continue
		}
		for row, err := range s.Rows() {
			if err != nil {
				return nil, err
			}
			for i := range row.Cells {
				c := &row.Cells[i]
				if c.Kind == grid.Number {
					held[[2]int{c.Col, row.N}] = strconv.FormatFloat(c.Num, 'g', 12, 64)
				} else {
					held[[2]int{c.Col, row.N}] = c.String()
				}
			}
		}
	}
	return held, nil
}

var lineHeads = [...]string{"File", "Cell", "Site", "Tank", "Field", "Value", "Placed"}

// Sheet lists everything that came back, behind the lines of earlier runs.
func (c *Collection) Sheet(before [][]string) grid.NewSheet {
	s := grid.NewSheet{Name: ReturnedSheet, Widths: []float64{28, 22, 24, 12, 22, 44, 30}, HeaderRow: 3}
	s.Rows = append(s.Rows, []grid.Value{grid.Str("Returned from the site", grid.LookTitle)}, []grid.Value{grid.Str("Every entry of every returned book, as it stood there. Nothing is taken off this sheet by a later run.", grid.LookPlain)})
	var head []grid.Value
	for _, h := range lineHeads {
		head = append(head, grid.Str(h, grid.LookHeading))
	}
	s.Rows = append(s.Rows, head)
	seen := map[string]bool{}
	add := func(fields []string) {
		key := strings.Join(fields, "\x00")
		if seen[key] {
			return
		}
		seen[key] = true
		row := make([]grid.Value, len(fields))
		for i, f := range fields {
			row[i] = grid.Str(f, grid.LookText)
		}
		s.Rows = append(s.Rows, row)
	}
	for _, line := range before {
		add(line)
	}
	for _, l := range c.Lines {
		add([]string{l.File, l.Cell, l.Site, l.Tank, l.Field, l.Value, l.Placed})
	}
	return s
}

// Earlier reads the lines of an earlier run.
func Earlier(s grid.Sheet) ([][]string, error) {
	var list [][]string
	for row, err := range s.Rows() {
		if err != nil {
			return nil, err
		}
		if row.N <= 3 {
			continue
		}
		line := make([]string, len(lineHeads))
		for i := range row.Cells {
			if c := &row.Cells[i]; c.Col <= len(line) {
				line[c.Col-1] = c.String()
			}
		}
		list = append(list, line)
	}
	return list, nil
}
