package intake

import (
	"testing"

	"dropcut/convert/grid"
	"dropcut/convert/intake/intaketest"
)

// A list of tanks on its side is told with its place, not passed over.
func TestRead_listOnItsSide(t *testing.T) {
	book := intaketest.Book{File: "side.xlsx", List: []intaketest.Sheet{
		{File: "side.xlsx", Name: "Stations", Text: "Tank|TL-1|TL-2|TL-3\nCapacity (gal)|10000|8000|6000\nInside diameter (in)|96|92|84\nRiser height (in)|41|42|40\n"},
	}}
	r, err := Read([]grid.Book{book}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	intaketest.WantSaid(t, r.Job.Findings, "tank-column-missing stop  Stations!A1")
}
