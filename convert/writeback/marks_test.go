package writeback

import (
	"math"
	"math/rand/v2"
	"strconv"
	"testing"

	"dropcut/convert/grid"
)

// A number that an office program saved with 15 digits is still the one that
// dropcut wrote; one that a person changed in the last digit of a cut is not.
func TestANumberSavedWith15DigitsIsStillOurs(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 100_000 {
		v := r.Float64() * math.Pow10(r.IntN(6))
		saved := strconv.FormatFloat(v, 'g', 15, 64)
		if !(held{text: saved}).is(valueWord(grid.Num(v, grid.LookLength))) {
			t.Fatalf("%v, saved as %s, passes for changed", v, saved)
		}
	}
	for _, c := range []struct{ ours, theirs string }{{"42.125", "42.0625"}, {"94.9673381869", "94.9673381868"}, {"42.125", "42,125"}, {"ready", "Ready!"}} {
		v, err := strconv.ParseFloat(c.ours, 64)
		w := checkWord(c.ours)
		if err == nil {
			w = numberWord(v)
		}
		if (held{text: c.theirs}).is(w) {
			t.Errorf("%s typed over %s goes unseen", c.theirs, c.ours)
		}
	}
	if (held{text: "42.125", formula: true}).is(numberWord(42.125)) {
		t.Error("a formula that shows our number passes for it")
	}
}

func TestMarksThereAndBack(t *testing.T) {
	list := []mark{{ours: 0x1000000}, {ours: 0x1abc123, theirs: 0x1def456}, {}, {theirs: 0x1123456}}
	text := marksText(list)
	if want := "000000 abc123/def456 - /123456"; text != want {
		t.Fatalf("written as %q, want %q", text, want)
	}
	m := Marks{headings: map[string]int{}, tanks: map[tankKey][]mark{}}
	var places []int
	for _, h := range []string{"Shutoff depth", "Upper tube cut", "Flags", "Status"} {
		places = append(places, m.place(h))
	}
	at := tankKey{"Harbor Road", "T-1", 0}
	m.read(at, places, text)
	for i, h := range []string{"Shutoff depth", "Upper tube cut", "Flags", "Status"} {
		if got, known := m.of(at, h); !known || got != list[i] {
			t.Errorf("%s: read back as %v, %v, want %v", h, got, known, list[i])
		}
	}
	if _, known := m.of(tankKey{"Harbor Road", "T-1", 1}, "Status"); known {
		t.Error("a second tank of the name has the marks of the first")
	}
	// More words than headings, and words that are none.
	m.read(tankKey{"Harbor Road", "T-2", 0}, places, "one 12 three four five six")
	if got, known := m.of(tankKey{"Harbor Road", "T-2", 0}, "Status"); !known || got != (mark{}) {
		t.Errorf("no word is read as %v, %v", got, known)
	}
}

func TestHeadingsWithAndWithoutUnits(t *testing.T) {
	for heading, want := range map[string]string{
		"Plan: Upper tube cut (in)": "Plan: Upper tube cut", "Plan: Upper tube cut (mm)": "Plan: Upper tube cut", "Plan: Flags": "Plan: Flags", " Plan: Status ": "Plan: Status",
		"Plan: Status by dropcut": "Plan: Status", "Plan: Upper tube cut by dropcut (in)": "Plan: Upper tube cut",
	} {
		if got := baseOf(heading); got != want {
			t.Errorf("%q is the column %q, want %q", heading, got, want)
		}
	}
}
