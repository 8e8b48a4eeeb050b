// Package intaketest makes sheets and books for tests.
package intaketest

import (
	"iter"
	"strconv"
	"strings"

	"dropcut/convert/grid"
	"dropcut/plan/cell"
)

// Sheet is a sheet written as text: rows by line, cells parted by "|". In a
// workbook (Name set) figures are numbers, and marks give the other kinds:
// 'text, @serial (a date), %share, =formula without value, #N/A. A line that
// starts with ~ is hidden.
type Sheet struct {
	File, Name string
	Text       string
	Merged     []grid.Range
	ColsHidden []grid.Range
}

func (s Sheet) At() cell.Ref { return cell.Ref{File: s.File, Sheet: s.Name} }

func (s Sheet) Hidden() bool { return false }

func (s Sheet) Merges() ([]grid.Range, error) { return s.Merged, nil }

func (s Sheet) HiddenCols() ([]grid.Range, error) { return s.ColsHidden, nil }

func (s Sheet) Rows() iter.Seq2[*grid.Row, error] {
	return func(yield func(*grid.Row, error) bool) {
		for i, l := range strings.Split(strings.Trim(s.Text, "\n"), "\n") {
			r := grid.Row{N: i + 1}
			if rest, ok := strings.CutPrefix(l, "~"); ok {
				r.Hidden, l = true, rest
			}
			for k, t := range strings.Split(l, "|") {
				if s.Name == "" || !strings.HasPrefix(t, "'") {
					t = strings.Trim(t, " ")
				}
				if t == "" {
					continue
				}
				r.Cells = append(r.Cells, s.cell(k+1, t))
			}
			if len(r.Cells) > 0 && !yield(&r, nil) {
				return
			}
		}
	}
}

func (s Sheet) cell(col int, t string) grid.Cell {
	c := grid.Cell{Col: col, Kind: grid.Text, Raw: []byte(t)}
	if s.Name == "" {
		return c
	}
	number := func(t string, f grid.Format) {
		if v, err := strconv.ParseFloat(t, 64); err == nil {
			c.Kind, c.Num, c.Format, c.Raw = grid.Number, v, f, []byte(t)
		}
	}
	switch t[0] {
	case '\'':
		c.Raw = []byte(t[1:])
	case '@':
		number(t[1:], grid.DateFormat)
	case '%':
		number(t[1:], grid.PercentFormat)
	case '=':
		c.Kind, c.Formula, c.Raw = grid.Blank, true, nil
	case '#':
		c.Kind = grid.Error
	default:
		number(t, grid.Plain)
	}
	return c
}
