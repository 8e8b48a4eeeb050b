package returned

import (
	"iter"

	"dropcut/convert/grid"
	"dropcut/plan/cell"
)

// fakeBook is a book whose only sheet is that of what came back.
type fakeBook struct{ rows [][]grid.Value }

func (b fakeBook) Name() string         { return "fake.xlsx" }
func (b fakeBook) Sheets() []grid.Sheet { return []grid.Sheet{fakeSheet{b}} }
func (b fakeBook) Notes() []string      { return nil }
func (b fakeBook) Close() error         { return nil }

type fakeSheet struct{ b fakeBook }

func (s fakeSheet) At() cell.Ref                      { return cell.Ref{File: "fake.xlsx", Sheet: ReturnedSheet} }
func (s fakeSheet) Hidden() bool                      { return false }
func (s fakeSheet) Merges() ([]grid.Range, error)     { return nil, nil }
func (s fakeSheet) HiddenCols() ([]grid.Range, error) { return nil, nil }

func (s fakeSheet) Rows() iter.Seq2[*grid.Row, error] {
	return func(yield func(*grid.Row, error) bool) {
		for i, line := range s.b.rows {
			row := &grid.Row{N: i + 1}
			for j, v := range line {
				if !v.Blank() {
					row.Cells = append(row.Cells, grid.Cell{Col: j + 1, Kind: grid.Text, Raw: []byte(v.Text)})
				}
			}
			if !yield(row, nil) {
				return
			}
		}
	}
}
