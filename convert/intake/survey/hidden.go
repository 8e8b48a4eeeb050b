package survey

import (
	"fmt"
	"slices"

	"dropcut/convert/grid"
	"dropcut/plan/cell"
	"dropcut/plan/finding"
)

// HiddenFinding says that columns are hidden.
func HiddenFinding(from, to cell.Ref, of string) finding.Finding {
	n := to.Col - from.Col + 1
	return finding.Finding{
		Slug: finding.HiddenColumns, Severity: finding.Note, At: from, To: to,
		Found: fmt.Sprintf("%s of %s %s hidden", Many(n, "column"), of, IsAre(n)), Expected: "all columns in view",
		Why: "hidden columns are part of the table and were read", Suggestion: "show the columns and look whether they belong to it",
	}
}

// HiddenRuns gives the runs of neighbouring columns that are hidden and used.
func HiddenRuns(hidden []grid.Range, used map[int]bool) []grid.Range {
	var cols []int
	for x, yes := range used {
		if yes && x > 0 && slices.ContainsFunc(hidden, func(h grid.Range) bool { return x >= h.Col && x <= h.ToCol }) {
			cols = append(cols, x)
		}
	}
	slices.Sort(cols)
	var runs []grid.Range
	for _, x := range cols {
		if n := len(runs); n > 0 && runs[n-1].ToCol == x-1 {
			runs[n-1].ToCol = x
			continue
		}
		runs = append(runs, grid.Range{Col: x, ToCol: x})
	}
	return runs
}
