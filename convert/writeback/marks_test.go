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
		word := checkWord(c.ours)
		if err == nil {
			word = numberWord(v)
		}
		if (held{text: c.theirs}).is(word) {
			t.Errorf("%s typed over %s goes unseen", c.theirs, c.ours)
		}
	}
	if (held{text: "42.125", formula: true}).is(numberWord(42.125)) {
		t.Error("a formula that shows our number passes for it")
	}
}

func TestMarksThereAndBack(t *testing.T) {
	headings := []string{"Shutoff depth", "Upper tube cut", "Flags", "Status"}
	m := Marks{
		{"Harbor Road", "T-1", "Shutoff depth"}:  {ours: "00ff12"},
		{"Harbor Road", "T-1", "Upper tube cut"}: {ours: "abc123", theirs: "def456"},
		{"Harbor Road", "T-1", "Status"}:         {theirs: "123456"},
	}
	text := m.text("Harbor Road", "T-1", headings)
	if want := "00ff12 abc123/def456 - /123456"; text != want {
		t.Fatalf("written as %q, want %q", text, want)
	}
	back := Marks{}
	back.read("Harbor Road", "T-1", headings, text)
	if len(back) != 3 || back[markKey{"Harbor Road", "T-1", "Upper tube cut"}] != (mark{"abc123", "def456"}) || back[markKey{"Harbor Road", "T-1", "Status"}] != (mark{"", "123456"}) {
		t.Errorf("read back as %v", back)
	}
	back.read("Harbor Road", "T-2", headings, "one two three four five six")
	if len(back) != 7 {
		t.Errorf("more words than headings: %v", back)
	}
}

func TestHeadingsWithAndWithoutUnits(t *testing.T) {
	for heading, want := range map[string]string{
		"Plan: Upper tube cut (in)": "Plan: Upper tube cut", "Plan: Upper tube cut (mm)": "Plan: Upper tube cut", "Plan: Flags": "Plan: Flags", " Plan: Status ": "Plan: Status",
	} {
		if got := baseOf(heading); got != want {
			t.Errorf("%q is the column %q, want %q", heading, got, want)
		}
	}
}
