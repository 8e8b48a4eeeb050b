// Package rule holds the limits of jurisdictions as data: each a quantity, a
// comparator and a value, with the citation, the confidence and the dates that
// go with it into every result.
package rule

import (
	"time"

	"dropcut/plan/cell"
	"dropcut/plan/unit"
)

// Comparator is how a quantity is held against a rule's value.
type Comparator string

// The comparators of the rules table.
const (
	AtMost   Comparator = "<="
	Below    Comparator = "<"
	AtLeast  Comparator = ">="
	Above    Comparator = ">"
	Equal    Comparator = "=="
	Required Comparator = "required"
	Banned   Comparator = "not_allowed"
)

// Confidence says how sure the project is of a row's wording and value. Rows of
// Low confidence ship switched off; Medium ones say "check locally".
type Confidence string

// The confidences of the rules table.
const (
	High   Confidence = "high"
	Medium Confidence = "medium"
	Low    Confidence = "low"
)

// Rule is one row of the rules table. Columns and their meaning are those of
// templates/rules.csv.
type Rule struct {
	ID         string
	Place      string // as the table writes it: "US federal", "US-Oregon"
	Instrument string
	Section    string
	AppliesTo  string
	Quantity   string
	Comparator Comparator
	Value      float64
	ValueText  string // where the value is no plain number, as written
	Unit       string
	Basis      string
	Condition  string
	From, To   time.Time // zero where open
	Effective  string    // as written
	HowKnown   string
	Confidence Confidence
	Enabled    bool
	// Unread says that a row of a Rules sheet cannot be used as it stands: no
	// question is answered by it, but whoever asks for its place is told.
	Unread bool
	At     cell.Ref // the cell of a Rules sheet; zero for an embedded row

	read reading
}

// reading is what Percent and Height make of a row of a Set, which every tank
// asks.
type reading struct {
	done      bool
	percent   unit.Percent
	height    unit.Length
	isPercent bool
	isHeight  bool
}

// Citation gives the instrument and the section as they are printed beside
// every limit.
func (r Rule) Citation() string {
	if r.Section == "" {
		return r.Instrument
	}
	return r.Instrument + ", " + r.Section
}
