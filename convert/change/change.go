// Package change says what differs between two books: tank by tank and chart by
// chart, never by row number, so that rows moved, sorted or inserted are no
// changes; and what followed from it in the cuts, with the direction in which
// each shutoff moved.
package change

import (
	"dropcut/plan/cell"
)

// Subject says what a Record is about.
type Subject string

const (
	// OfTank is a value in the tank list; OfChart a row of a chart; OfDevice
	// and OfRule a value of a device or a rule.
	OfTank   Subject = "tank"
	OfChart  Subject = "chart"
	OfDevice Subject = "device"
	OfRule   Subject = "rule"
	// OfCut is a figure that followed.
	OfCut Subject = "cut"
	// ByHand is one of dropcut's own cells that somebody else has changed.
	ByHand Subject = "by hand"
)

// Direction says which way a shutoff moved.
type Direction string

const (
	Same Direction = ""
	// Up is towards the limit, Down away from it.
	Up   Direction = "up, towards the limit"
	Down Direction = "down, away from the limit"
)

// Record is one difference.
type Record struct {
	Subject Subject
	Site    string
	Tank    string // the tank's id, or the name of the chart, device or rule
	What    string // "riser height", "volume at 57 in", "shutoff depth"
	Old     string // as the old book writes it; "" where it was not there
	New     string // as the new book writes it; "" where it is gone
	OldAt   cell.Ref
	NewAt   cell.Ref
	Moved   Direction // of a shutoff
}

// Input reports whether the record is something that a person changed, and not
// a figure that followed from it.
func (r Record) Input() bool { return r.Subject != OfCut }

// Set is all that differs between two books.
type Set struct {
	Records []Record
	// Tanks counts the tanks that have at least one record.
	Tanks int
}

// Summary is the first line of every form of the list.
func (s Set) Summary() string { return summarize(s) }
