package writeback

import (
	"math"
	"strconv"
	"strings"

	"dropcut/convert/grid"
	"dropcut/convert/intake"
)

// held is what one of dropcut's cells holds at the moment.
type held struct {
	text    string // the value as a text that two runs can compare
	formula bool
}

// cellKey is a cell of the list: its row and its column.
type cellKey struct{ row, col int }

// current reads the cells that an earlier run wrote beside the tanks of a list,
// in one pass over the sheet. Blank cells are not in the map.
func current(book grid.Book, list *intake.TankList) (map[cellKey]held, error) {
	if len(list.Ours) == 0 {
		return nil, nil
	}
	ours := map[int]bool{}
	for _, col := range list.Ours {
		ours[col] = true
	}
	cells := map[cellKey]held{}
	for _, sheet := range book.Sheets() {
		if at := sheet.At(); at.Sheet != list.At.Sheet || at.File != list.At.File {
			continue
		}
		for row, err := range sheet.Rows() {
			if err != nil {
				return nil, err
			}
			if row.N <= list.HeaderRow {
				continue
			}
			if row.N > list.LastRow {
				break
			}
			for i := range row.Cells {
				c := &row.Cells[i]
				if !ours[c.Col] || c.Kind == grid.Blank && !c.Formula {
					continue
				}
				// A cell that holds an empty text is as empty as one that holds nothing.
				if h := (held{text: plainText(c), formula: c.Formula}); h.text != "" || h.formula {
					cells[cellKey{row.N, c.Col}] = h
				}
			}
		}
	}
	return cells, nil
}

// plainText gives a cell's value in the form in which wanted values are
// compared: numbers shortest and exact, so that 94.50 typed in a CSV file and
// 94.5 stored in a workbook are one.
func plainText(c *grid.Cell) string {
	switch c.Kind {
	case grid.Number:
		return numberText(c.Num)
	case grid.Text:
		return strings.TrimSpace(string(c.Raw))
	}
	return string(c.Raw)
}

func numberText(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// sameText reports whether a held text is the value: as text, or as the number
// that it spells, since a CSV file holds numbers as text and some programs
// change their notation when they save.
func sameText(h held, v grid.Value) bool {
	if h.formula {
		return false
	}
	if !v.IsNumber {
		return h.text == strings.TrimSpace(v.Text)
	}
	if h.text == numberText(v.Number) {
		return true
	}
	n, err := strconv.ParseFloat(strings.Replace(h.text, ",", ".", 1), 64)
	return err == nil && math.Abs(n-v.Number) <= 1e-12*math.Abs(v.Number)
}
