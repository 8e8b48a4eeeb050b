package intake

import (
	"io/fs"

	"dropcut/convert/grid"
	"dropcut/convert/intake/lists"
	"dropcut/convert/intake/notes"
	"dropcut/convert/intake/survey"
	"dropcut/plan/rule"
)

// What the other rooms see of a reading has its home in the rooms below; these
// are its names here.
type (
	// Reading is everything that was understood of the books.
	Reading = survey.Reading
	// TankList is one Tanks sheet, with what is needed to write beside its rows.
	TankList = survey.TankList
	// Notes say how charts are to be read.
	Notes = notes.Table
)

// ReadNotes reads the table that inspect --save writes and a person may have
// corrected. An error says which row of it is not sound.
func ReadNotes(b grid.Book) (*Notes, error) { return notes.Read(b) }

// NotesOf notes how the charts of a reading were read.
func NotesOf(r *Reading, books []grid.Book) (*Notes, error) { return notes.Of(r, books) }

// Rules reads the built-in rules. A damaged table is an error.
func Rules(fsys fs.FS) ([]rule.Rule, error) { return lists.Rules(fsys) }
