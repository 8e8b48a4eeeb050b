// Package survey holds what was found in books and is told of it: tables, lists,
// joins, and the findings. It reads nothing itself.
package survey

import (
	"dropcut/convert/intake/headword"
	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/finding"
)

// Reading is everything that was understood of the books.
type Reading struct {
	// Job is what the plan is made from. Its Findings are those of the reading.
	Job plan.Job
	// Lists are the Tanks sheets, in file order, with what is needed to write
	// beside their rows.
	Lists []TankList
	// Tables are all tables found, charts and lists, in file order.
	Tables []Table
	// Books says for each book how its bytes were read and what its sheets hold.
	Books []BookNote
	// Joins says for each tank of the list which chart was taken, and how.
	Joins []Join
}

// TankList is one Tanks sheet.
type TankList struct {
	At        cell.Ref // file and sheet
	HeaderRow int      // the (last) row of headings
	FirstRow  int      // of the first tank
	LastRow   int      // of the last tank
	LastCol   int      // last column that holds anything
	Rows      []int    // row of each tank of the list, in order
	Tanks     []int    // index of each of them in Job.Tanks
	// Columns gives the column of each field that was found.
	Columns map[headword.Field]int
	// Ours gives the columns that an earlier run wrote, by heading ("Plan: ...").
	Ours map[string]int
	// Unknown lists the headings of columns that mean nothing to dropcut.
	Unknown []Heading
}

// Heading is a column's heading.
type Heading struct {
	Col  int
	Text string
}

// BookNote says how a book was read.
type BookNote struct {
	File   string
	Notes  []string // encoding, line ends, delimiter
	Sheets []SheetNote
}

// SheetNote says what a sheet was taken for.
type SheetNote struct {
	At     cell.Ref
	What   SheetKind
	Why    string // the evidence
	Hidden bool
}

// SheetKind is what a sheet is taken for.
type SheetKind string

// The kinds of sheets.
const (
	TanksSheet   SheetKind = "tanks"
	DevicesSheet SheetKind = "devices"
	RulesSheet   SheetKind = "rules"
	ChartsSheet  SheetKind = "charts"
	OurSheet     SheetKind = "written by dropcut"
	EmptySheet   SheetKind = "empty"
	OtherSheet   SheetKind = "other"
)

// Join says which chart a tank got.
type Join struct {
	Tank  int // index in Job.Tanks
	Chart int // index in Job.Charts, -1 for none
	// How is "same name", "loosely the same name", "named in the Chart column",
	// or the reason why there is none.
	How string
}

// Findings collects findings while books are read.
type Findings struct{ List []finding.Finding }

func (f *Findings) Add(x finding.Finding) { f.List = append(f.List, x) }
