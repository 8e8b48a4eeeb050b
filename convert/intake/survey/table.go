package survey

import (
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/unit"
)

// DepthUnit notes the units of the table's first chart at its columns.
func (t *Table) DepthUnit(c *chart.Chart) {
	for i := range t.Columns {
		k := &t.Columns[i]
		switch k.Means {
		case "depth", "ullage":
			if k.Unit == "" {
				k.Unit = c.DepthUnit.String()
			}
			k.UnitFrom = c.DepthUnitFrom
		case "volume":
			if k.Unit == "" {
				k.Unit = c.VolumeUnit.String()
			}
			k.UnitFrom = c.VolumeUnitFrom
		}
	}
}

// Table is one table found on a sheet, with everything that inspect says of it.
// A table of charts may hold one chart (a sheet per tank) or thousands (long).
type Table struct {
	// At and To span the table from its first heading to its last row.
	At, To cell.Ref
	// Layout names the layout in plain words: "long", "wide", "paired columns",
	// "folded by columns", "matrix", "ullage", "transposed", "tank list", ...
	Layout    string
	HeaderRow int // the (last) row of headings; 0 for none
	Columns   []Column
	Rows      int // rows read
	Passed    []Passed
	// Charts counts the charts read from the table.
	Charts int
}

// Column is one column (or, transposed, one row) of a table.
type Column struct {
	Col     int
	Row     int    // of a transposed table, else 0
	Heading string // as written; "" for none
	Means   string // "tank", "depth", "volume", "step", "percent", ... or the field; "" where it is unknown
	// Unit is the symbol of the column's unit and UnitFrom the place that named
	// it; empty where the column has none or none was found.
	Unit     string
	UnitFrom cell.Ref
	// StepUnit is the unit of the headings along the row of a matrix.
	StepUnit unit.LengthUnit
	Decimal  string // "point" or "comma" where the column settled it
}

// Passed is a run of rows that were passed over, and why.
type Passed struct {
	Row, ToRow int
	Why        string
}

func (t *Table) Take(row int) {
	t.Rows++
	t.To.Row = max(t.To.Row, row)
}

// Pass notes a row that was passed over; neighbours with the same reason are
// one run.
func (t *Table) Pass(row int, why string) {
	if n := len(t.Passed); n > 0 && t.Passed[n-1].Why == why && t.Passed[n-1].ToRow == row-1 {
		t.Passed[n-1].ToRow = row
		return
	}
	t.Passed = append(t.Passed, Passed{Row: row, ToRow: row, Why: why})
}
