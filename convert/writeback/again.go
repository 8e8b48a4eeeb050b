package writeback

import (
	"fmt"

	"dropcut/convert/change"
	"dropcut/convert/grid"
)

// LastChanges is what the Changes sheet of an earlier plan says. It stays on the
// sheet while nothing new has changed.
type LastChanges struct {
	Summary string
	Rows    []change.Row
}

// ReadChanges reads the Changes sheet of a planned book; it is empty where there
// is none.
func ReadChanges(sheet grid.Sheet) (last LastChanges, err error) {
	texts, err := sheetTexts(sheet)
	if err != nil || len(texts) < changesHead {
		return last, err
	}
	at := func(row []string, i int) string {
		if i < len(row) {
			return row[i]
		}
		return ""
	}
	last.Summary = at(texts[1], 0)
	for _, row := range texts[changesHead:] {
		last.Rows = append(last.Rows, change.Row{
			Subject: at(row, 0), Site: at(row, 1), Tank: at(row, 2), What: at(row, 3), Old: at(row, 4), New: at(row, 5), NewCell: at(row, 6), Moved: at(row, 7),
		})
	}
	return last, nil
}

// sheetTexts reads a sheet as texts, rows from 1 on, each as long as its last
// cell that holds something. No sheet has no rows.
func sheetTexts(sheet grid.Sheet) ([][]string, error) {
	if sheet == nil {
		return nil, nil
	}
	var texts [][]string
	for row, err := range sheet.Rows() {
		if err != nil {
			return nil, fmt.Errorf("reading what the last run wrote: %w", err)
		}
		for len(texts) < row.N {
			texts = append(texts, nil)
		}
		var line []string
		for i := range row.Cells {
			c := &row.Cells[i]
			for len(line) < c.Col {
				line = append(line, "")
			}
			line[c.Col-1] = plainText(c)
		}
		texts[row.N-1] = line
	}
	return texts, nil
}

// sameTexts reports whether a sheet in a book says what a new one would say, as
// far as a book that went through an office program keeps it.
func sameTexts(have [][]string, want grid.NewSheet) bool {
	for i := range max(len(have), len(want.Rows)) {
		var a []string
		var b []grid.Value
		if i < len(have) {
			a = have[i]
		}
		if i < len(want.Rows) {
			b = want.Rows[i]
		}
		for k := range max(len(a), len(b)) {
			var h held
			var v grid.Value
			if k < len(a) {
				h.text = a[k]
			}
			if k < len(b) {
				v = b[k]
			}
			if !sameText(h, v) {
				return false
			}
		}
	}
	return true
}
