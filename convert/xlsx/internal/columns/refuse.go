package columns

import (
	"fmt"

	"dropcut/plan/cell"
)

// Reason is why a sheet cannot be written to as asked.
type Reason string

const (
	// ReasonOccupied: the cells hold something that is not dropcut's.
	ReasonOccupied Reason = "occupied"
	// ReasonFormula: a formula would be torn out of others that hang on it.
	ReasonFormula Reason = "formula"
	// ReasonMerged: the cells lie in a merged area.
	ReasonMerged Reason = "merged"
	// ReasonTable: the cells lie in a table whose headings are not dropcut's.
	ReasonTable Reason = "table"
	// ReasonProtected: the sheet is protected by its owner.
	ReasonProtected Reason = "protected-sheet"
	// ReasonStructure: the book's structure is protected, no sheet may be added.
	ReasonStructure Reason = "protected-structure"
	// ReasonNoSheet: there is no such worksheet.
	ReasonNoSheet Reason = "no-sheet"
	// ReasonEdge: the cells lie beyond the last row or column of a sheet.
	ReasonEdge Reason = "beyond-edge"
	// ReasonOrder: rows or cells do not stand in rising order.
	ReasonOrder Reason = "out-of-order"
)

// Refused says that nothing was written, where the obstacle is and what to do.
type Refused struct {
	At     cell.Ref // the file and the sheet
	Range  string   // "N5:N20"; empty for the whole sheet or book
	Reason Reason
	Found  string // "the cells hold something already"
	Do     string
}

func (e *Refused) Error() string {
	at := e.At.String()
	if e.Range != "" {
		at += "!" + e.Range
	}
	return fmt.Sprintf("%s: %s; %s", at, e.Found, e.Do)
}
