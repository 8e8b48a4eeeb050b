package intake

// Notes are a reading as a table that a person can correct: which cells of
// which sheet are the depths and the volumes of which tank.
type Notes struct {
	File string // the notes' own file, for messages
	Rows []Note
}

// Note is the reading of one chart, one line of a notes file.
type Note struct{}
