package writeback

import (
	"slices"
	"strings"

	"dropcut/convert/change"
	"dropcut/convert/grid"
)

// Earlier is what the Sources sheet of a planned book tells of the run that wrote
// it: which cells are dropcut's and with what in them, and what the plan was made
// from.
type Earlier struct {
	marks  Marks
	Inputs change.Inputs
}

// Planned reports whether an earlier run has written a plan into the book.
func (e *Earlier) Planned() bool { return len(e.marks.headings) > 0 }

// ReadEarlier reads the Sources sheet of a book; no sheet tells of no run.
func ReadEarlier(sheet grid.Sheet) (*Earlier, error) {
	e := &Earlier{marks: Marks{headings: map[string]int{}, tanks: map[tankKey][]mark{}}}
	texts, err := sheetTexts(sheet)
	var places []int
	var list *change.InputList
	nth := map[tankKey]int{}
	for _, row := range texts {
		for len(row) < 3 {
			row = append(row, "")
		}
		switch {
		case row[0] == marksRow:
			list, places = nil, nil
			for h := range strings.SplitSeq(row[2], "; ") {
				places = append(places, e.marks.place(h))
			}
		case row[0] == inputsRow:
			e.Inputs = append(e.Inputs, change.InputList{Of: change.Subject(row[1]), Fields: slices.Clone(row[2:])})
			list = &e.Inputs[len(e.Inputs)-1]
		case list != nil && !blankFrom(row, 1):
			r := change.InputRow{Site: row[0], Name: row[1], Values: row[2:]}
			for len(r.Values) < len(list.Fields) {
				r.Values = append(r.Values, "")
			}
			list.Rows = append(list.Rows, r)
		case list == nil && places != nil && row[2] != "":
			key := tankKey{site: row[0], tank: row[1]}
			n := nth[key]
			nth[key] = n + 1
			key.nth = n
			e.marks.read(key, places, row[2])
		}
	}
	return e, err
}

func blankFrom(row []string, i int) bool {
	return !slices.ContainsFunc(row[i:], func(s string) bool { return s != "" })
}

// inputsRow stands in the first column of the row that names a kind of input and
// its fields; the tanks', charts', devices' or rules' rows follow it.
const inputsRow = "made from"

// inputsTitle begins the part of the Sources sheet that tells the input.
const inputsTitle = "What the plan was made from (a later run tells by it what was changed)"

// inputRows are the rows of the Sources sheet that tell the input.
func inputRows(list change.Inputs) [][]grid.Value {
	var rows [][]grid.Value
	for _, l := range list {
		if len(l.Rows) == 0 {
			continue
		}
		head := make([]grid.Value, 0, len(l.Fields)+2)
		head = append(head, grid.Str(inputsRow, grid.LookText), grid.Str(string(l.Of), grid.LookText))
		for _, f := range l.Fields {
			head = append(head, grid.Str(f, grid.LookText))
		}
		if rows == nil {
			rows = append(rows, nil, []grid.Value{grid.Str(inputsTitle, grid.LookTitle)})
		}
		rows = append(rows, head)
		for _, r := range l.Rows {
			row := make([]grid.Value, 0, len(r.Values)+2)
			row = append(row, grid.Str(r.Site, grid.LookText), grid.Str(r.Name, grid.LookText))
			for _, v := range r.Values {
				row = append(row, grid.Str(v, grid.LookText))
			}
			rows = append(rows, row)
		}
	}
	return rows
}
