package csvfile

import (
	"iter"

	"dropcut/convert/grid"
)

// Own gives a sheet that WriteSheet has written as it was before its texts were
// made inert.
func Own(s grid.Sheet) grid.Sheet { return ownSheet{s} }

type ownSheet struct{ grid.Sheet }

func (o ownSheet) Rows() iter.Seq2[*grid.Row, error] {
	return func(yield func(*grid.Row, error) bool) {
		for row, err := range o.Sheet.Rows() {
			if row != nil {
				for i := range row.Cells {
					c := &row.Cells[i]
					if len(c.Raw) > 1 && c.Raw[0] == '\'' {
						c.Raw = []byte(Plain(string(c.Raw)))
					}
				}
			}
			if !yield(row, err) {
				return
			}
		}
	}
}
