package intaketest

import "dropcut/convert/grid"

// Book is a book of sheets written as text, see Sheet.
type Book struct {
	File string
	List []Sheet
}

func (b Book) Name() string { return b.File }

func (b Book) Notes() []string { return []string{"encoding: none, made by a test"} }

func (b Book) Close() error { return nil }

func (b Book) Sheets() (list []grid.Sheet) {
	for _, s := range b.List {
		list = append(list, s)
	}
	return list
}
