package grid

// Look is the dress of a cell that dropcut writes: a number format and, for
// states, a sign that stands in the text too, so that nothing is told by colour
// alone.
type Look uint8

const (
	// LookPlain is text or a number without a format of its own.
	LookPlain Look = iota
	// LookHeading is a column's heading.
	LookHeading
	// LookTitle is a sheet's title.
	LookTitle
	// LookLength shows a decimal length, LookVolume a volume, LookPercent a
	// percentage written as 94.97.
	LookLength
	LookVolume
	LookPercent
	// LookText is text that wraps.
	LookText
	// LookStop, LookCheck, LookNote and LookReady mark a state.
	LookStop
	LookCheck
	LookNote
	LookReady
)

// Value is what a written cell holds: a number or a text. The zero Value is a
// blank cell.
type Value struct {
	IsNumber bool
	Number   float64
	Text     string
	Look     Look
}

// Num and Str make values.
func Num(v float64, look Look) Value { return Value{IsNumber: true, Number: v, Look: look} }

// Str makes a text value; "" is a blank cell.
func Str(s string, look Look) Value { return Value{Text: s, Look: look} }

// Blank reports whether the value is an empty cell.
func (v Value) Blank() bool { return !v.IsNumber && v.Text == "" }

// Column is one of dropcut's columns on a sheet of somebody else's: its heading
// and one value a row.
type Column struct {
	Sheet     string
	Col       int // from 1
	HeaderRow int
	Heading   string
	Width     float64 // in characters; 0 leaves the width alone
	Cells     []At    // in row order
}

// At is a value at a row.
type At struct {
	Row   int
	Value Value
}

// NewSheet is a sheet of dropcut's own. It is added behind the others, or takes
// the place of the sheet of that name that an earlier run has added.
type NewSheet struct {
	Name   string
	Widths []float64 // of the columns, in characters
	Rows   [][]Value
	// HeaderRow is the row (from 1) that stays in view and carries the filter;
	// 0 for none.
	HeaderRow int
}

// Edit is everything that is to be written into a book.
type Edit struct {
	Columns []Column
	Sheets  []NewSheet
}
