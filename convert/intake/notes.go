package intake

import ("dropcut/convert/grid"; "dropcut/plan/cell")

// Notes are a reading as a table that a person can correct: which cells of
// which sheet are the depths and the volumes of which tank.
type Notes struct {
	File string // the notes' own file, for messages
	Rows []Note
}

// Note is the reading of one chart, one line of a notes file.
type Note struct{}

func (n *Notes) fit([]grid.Book) error { return nil }
func (n *Notes) has(cell.Ref) bool { return false }
func (n *Notes) places(cell.Ref) []chartPlace { return nil }
