package writeback

import (
	"fmt"
	"hash/fnv"
	"strconv"
	"strings"

	"dropcut/convert/grid"
)

// Marks are the check words of the cells that dropcut wrote, kept on the Sources
// sheet, so that a later run can tell its own figures from those that somebody
// has typed over them. They are keyed by site, tank and heading.
type Marks map[markKey]mark

type markKey struct{ site, tank, heading string }

// mark is the check word of the value that dropcut wrote, and of the value that
// somebody else put in its place and that was reported and kept; "" for none.
type mark struct{ ours, theirs string }

// checkWord is a short hash of a cell's value. It is no secret and no seal: one
// in 16 million typed values passes for ours.
func checkWord(text string) string {
	h := fnv.New32a()
	// Writing to a hash never fails.
	_, _ = h.Write([]byte(text))
	return fmt.Sprintf("%06x", h.Sum32()&0xffffff)
}

// digits is how many digits of a number its check word covers. Office programs
// save 15; what they round off is no change by a person.
const digits = 12

func numberWord(v float64) string { return checkWord(strconv.FormatFloat(v, 'g', digits, 64)) }

func valueWord(v grid.Value) string {
	if v.IsNumber {
		return numberWord(v.Number)
	}
	return checkWord(strings.TrimSpace(v.Text))
}

func heldWord(h held) string {
	if h.formula {
		return checkWord("=" + h.text)
	}
	if v, err := strconv.ParseFloat(h.text, 64); err == nil {
		return numberWord(v)
	}
	return checkWord(h.text)
}

// is reports whether a held value is the one of a check word. A number that was
// saved with 15 digits may have crossed the edge between two words of 12.
func (h held) is(word string) bool {
	if heldWord(h) == word {
		return true
	}
	v, err := strconv.ParseFloat(h.text, 64)
	if err != nil || h.formula {
		return false
	}
	return numberWord(v*(1-1e-14)) == word || numberWord(v*(1+1e-14)) == word
}

// text gives the marks of one tank as one cell: "word word/word - word", in the
// order of the headings, "-" for a cell that was left blank.
func (m Marks) text(site, tank string, headings []string) string {
	words := make([]string, len(headings))
	for i, h := range headings {
		k, ok := m[markKey{site, tank, h}]
		switch {
		case !ok || k.ours == "" && k.theirs == "":
			words[i] = "-"
		case k.theirs != "":
			words[i] = k.ours + "/" + k.theirs
		default:
			words[i] = k.ours
		}
	}
	return strings.Join(words, " ")
}

// read puts the marks of one tank, as text gives them, into m.
func (m Marks) read(site, tank string, headings []string, text string) {
	for i, word := range strings.Fields(text) {
		if i >= len(headings) {
			return
		}
		if word == "-" {
			continue
		}
		ours, theirs, _ := strings.Cut(word, "/")
		m[markKey{site, tank, headings[i]}] = mark{ours, theirs}
	}
}
