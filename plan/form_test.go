package plan

import "testing"

// The words as contractors write them, in the languages whose headings are read.
// "Vert. cyl." was taken for a tank that lies, by one room and not by another.
func TestWordsForTheShape(t *testing.T) {
	for words, want := range map[string]struct{ standing, round bool }{
		"": {false, true}, " ": {false, true}, "horizontal": {false, true}, "Horiz. cyl": {false, true}, "Cylinder": {false, true}, "lying": {false, true},
		"cylindrical (horizontal)": {false, true}, "underground": {false, true}, "Above-ground": {false, true}, "aboveground": {false, true}, "round": {false, true},
		"liegend": {false, true}, "Zylinder, liegend": {false, true}, "Cilíndrico": {false, true}, "couché": {false, true},
		"vertical": {true, false}, "Vert. cyl.": {true, false}, "VERT": {true, false}, "cylindrical/vertical": {true, false}, "upright": {true, false}, "standing cylinder": {true, false},
		"stehend": {true, false}, "senkrecht": {true, false}, "cuve verticale": {true, false}, "debout": {true, false}, "vertikal": {true, false},
		"aboveground upright": {true, false},
		"rectangular":         {false, false}, "obround": {false, false}, "oval": {false, false}, "elliptical": {false, false}, "box": {false, false}, "converted": {false, false},
	} {
		if got := Standing(words); got != want.standing {
			t.Errorf("%q stands: %v", words, got)
		}
		if got := round(words); got != want.round {
			t.Errorf("%q is a lying cylinder: %v", words, got)
		}
	}
}
