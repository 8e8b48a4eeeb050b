// Package finding holds what dropcut says about data. Trouble with the data is
// a Finding, which travels with the results and never stops the next tank;
// trouble with the machine is an error.
package finding

import (
	"cmp"
	"slices"

	"dropcut/plan/cell"
)

// Severity says what a finding means for the saw.
type Severity uint8

const (
	// Note is good to know.
	Note Severity = iota + 1
	// Check means that a person must look first.
	Check
	// Stop means: do not cut from this row. The tank gets no length.
	Stop
)

// String gives the word that stands in every output: "note", "check", "stop".
func (s Severity) String() string {
	switch s {
	case Note:
		return "note"
	case Check:
		return "check"
	case Stop:
		return "stop"
	}
	return "none"
}

// Slug names a kind of finding in plain words joined by hyphens. The list of
// all of them, with their explanations, is Kinds.
type Slug string

// Finding is one thing said about one place. Texts are whole phrases without a
// capital or a full stop; they name the values as the file writes them.
type Finding struct {
	Slug     Slug
	Severity Severity

	Site  string
	Tank  string
	Chart string

	// At is the cell that is wrong; To, where it is set, ends the range that
	// starts at At.
	At cell.Ref
	To cell.Ref
	// Depth is the chart row's depth as a plain decimal number in the unit
	// that the file uses; "" where the finding is about the whole chart.
	Depth string

	Found      string // what was found
	Expected   string // what was expected
	Why        string // the evidence
	Suggestion string // what to do

	Related []cell.Ref
}

// Cell gives the address of the finding within its sheet: "C52" or "A4:A10".
func (f Finding) Cell() string { return cell.Range(f.At, f.To) }

// Worst returns the highest severity in the list, 0 for an empty one.
func Worst(list []Finding) Severity {
	var w Severity
	for _, f := range list {
		w = max(w, f.Severity)
	}
	return w
}

// Sort orders findings for people: worst first, then by file, sheet, row,
// column and slug. The order is total, so that the same input always prints
// the same text.
func Sort(list []Finding) {
	slices.SortStableFunc(list, func(a, b Finding) int {
		return cmp.Or(
			cmp.Compare(b.Severity, a.Severity),
			cmp.Compare(a.At.File, b.At.File),
			cmp.Compare(a.At.Sheet, b.At.Sheet),
			cmp.Compare(a.At.Row, b.At.Row),
			cmp.Compare(a.At.Col, b.At.Col),
			cmp.Compare(a.Slug, b.Slug),
			cmp.Compare(a.Tank, b.Tank),
			cmp.Compare(a.Depth, b.Depth),
		)
	})
}
