// Package chart holds a tank's calibration chart as it was given, row by row
// and in the units of the file, and the curve that runs through its rows.
package chart

import (
	"dropcut/plan/cell"
	"dropcut/plan/unit"
)

// Chart is one tank's calibration chart: at each depth of liquid, the volume in
// the tank. Rows stand in the order of the file and hold the numbers that the
// file holds; nothing is repaired.
type Chart struct {
	// Name is what the chart is called in its file: a tank id, a tank and its
	// compartment joined by "/", the tanks of a manifolded set joined by "+";
	// "" where the file names none.
	Name string

	// NamedBy is where the name was read: the cell, or the sheet or file whose
	// own name it is, with the text as it stands there (blanks, dashes and lost
	// zeros included). Its V is Name.
	NamedBy cell.Of[string]

	// Site is the site that a column beside the name gives; "" where there is
	// none.
	Site string

	// At is the file and sheet that hold the chart, and the cell of its first
	// depth; To is the cell of its last volume. The ranges of several blocks of
	// one chart are spanned.
	At cell.Ref
	To cell.Ref

	// Layout names the layout the chart was read from, for inspect.
	Layout string

	// DepthUnit and VolumeUnit are the units of Rows; Unknown where nothing in
	// the file nor the user named one. DepthUnitFrom and VolumeUnitFrom say
	// where each was found (a cell, or the option --chart-units).
	DepthUnit      unit.LengthUnit
	VolumeUnit     unit.VolumeUnit
	DepthUnitFrom  cell.Ref
	VolumeUnitFrom cell.Ref

	// FullHeight is the inside height that the sheet states beside the chart,
	// in inches; an ullage chart cannot be turned around without one.
	FullHeight cell.Of[unit.Length]
	// Ullage says that the file gives the depth from the top of the tank down;
	// the Depth of each row is then already turned around with FullHeight.
	Ullage bool
	// FeetPoint says that the depths look like feet and inches written with a
	// point, of which the reading has made a finding: as numbers they neither rise
	// nor lie on a curve.
	FeetPoint bool
	// FromDimensions says that the chart was computed from the tank's
	// dimensions and measured by nobody.
	FromDimensions bool

	Rows []Row
	// Apart tells where the volumes stand that are not beside their depths.
	Apart Aparts
	// Odd lists the cells of Rows that say more than a plain number of their
	// column would, in row order.
	Odd []Odd
}

// Row is one row of a chart. Depth and Volume are the numbers of the file, in
// its units; NaN where the cell holds something that is not a number (see Odd).
type Row struct {
	Depth  float64
	Volume float64
	// SheetRow, the row of the depth (see Chart.Apart for the volume's), and the two
	// columns say where the numbers stand; a folded or transposed chart changes them
	// from row to row.
	SheetRow  int32
	DepthCol  int16
	VolumeCol int16
}

// Odd is a cell of a chart whose text matters; the reading has made a finding
// of every one but OddComma, which is left to the audit: a date where a depth belongs, a
// comma in a column of decimal points, text.
type Odd struct {
	Row    int32 // index into Chart.Rows
	Volume bool  // the volume's cell; else the depth's
	Kind   OddKind
	Raw    string  // as the file holds it
	Value  float64 // the reading that the Kind suggests, NaN where there is none
}

// OddKind says what is odd about a cell.
type OddKind uint8

const (
	// OddText is text that reads as no number.
	OddText OddKind = iota + 1
	// OddDate is a cell with a date's number format, or the text of a date;
	// Value is the fraction day/month or month/day that was probably typed.
	OddDate
	// OddComma is a number whose comma or point does not have the meaning that
	// it has in the rest of the column; Value takes it the other way.
	OddComma
	// OddError is an error value such as #N/A.
	OddError
	// OddNoValue is a formula whose result the file does not hold.
	OddNoValue
)

// Len gives the number of rows.
func (c *Chart) Len() int { return len(c.Rows) }

// DepthAt and VolumeAt give the cells of row i.
func (c *Chart) DepthAt(i int) cell.Ref {
	r := &c.Rows[i]
	return cell.Ref{File: c.At.File, Sheet: c.At.Sheet, Col: int(r.DepthCol), Row: int(r.SheetRow)}
}

// VolumeAt gives the cell of the volume of row i.
func (c *Chart) VolumeAt(i int) cell.Ref {
	r := &c.Rows[i]
	return cell.Ref{File: c.At.File, Sheet: c.At.Sheet, Col: int(r.VolumeCol), Row: int(r.SheetRow + c.Apart.By(i))}
}

// UnitsKnown reports whether both units of the chart are known.
func (c *Chart) UnitsKnown() bool {
	return c.DepthUnit != unit.LengthUnknown && c.VolumeUnit != unit.VolumeUnknown
}
