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
// has typed over them. They are kept by site and tank, a mark for each heading.
type Marks struct {
	headings map[string]int // the place of each heading's mark in the lists
	tanks    map[tankKey][]mark
}

// tankKey is a row of a list: its site and tank, and the how-manieth of that name
// it is in the book.
type tankKey struct {
	site, tank string
	nth        int
}

// of gives the mark of a cell; known says that an earlier run wrote the cell, be
// it as a blank one.
func (m *Marks) of(at tankKey, heading string) (w mark, known bool) {
	list := m.tanks[at]
	i, ok := m.headings[heading]
	if !ok || i >= len(list) {
		return mark{}, false
	}
	return list[i], true
}

// wrote reports whether an earlier run wrote a column of this heading.
func (m *Marks) wrote(heading string) bool {
	_, ok := m.headings[heading]
	return ok
}

// mark is the check word of the value that dropcut wrote, and of the value that
// somebody else put in its place and that was reported and kept; 0 for none.
type mark struct{ ours, theirs word }

// word is a short hash of a cell's value, with a bit above it that tells it from
// none. It is no secret and no seal: one in 16 million typed values passes for
// ours.
type word uint32

const (
	wordBits = 0xffffff
	wordSet  = 1 << 24
)

func (w word) String() string {
	if w == 0 {
		return ""
	}
	return fmt.Sprintf("%06x", uint32(w&wordBits))
}

// readWord reads what String gives; what is no word is none.
func readWord(s string) word {
	v, err := strconv.ParseUint(s, 16, 24)
	if err != nil || len(s) != 6 {
		return 0
	}
	return word(v) | wordSet
}

func checkWord(text string) word {
	h := fnv.New32a()
	// Writing to a hash never fails.
	_, _ = h.Write([]byte(text))
	return word(h.Sum32()&wordBits) | wordSet
}

// digits is how many digits of a number its check word covers. Office programs
// save 15; what they round off is no change by a person.
const digits = 12

func numberWord(v float64) word { return checkWord(strconv.FormatFloat(v, 'g', digits, 64)) }

func valueWord(v grid.Value) word {
	if v.IsNumber {
		return numberWord(v.Number)
	}
	return checkWord(strings.TrimSpace(v.Text))
}

func heldWord(h held) word {
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
func (h held) is(w word) bool {
	if heldWord(h) == w {
		return true
	}
	v, err := strconv.ParseFloat(h.text, 64)
	if err != nil || h.formula {
		return false
	}
	return numberWord(v*(1-1e-14)) == w || numberWord(v*(1+1e-14)) == w
}

// marksText gives the marks of one tank as one cell: "word word/word - word", in
// the order of the headings, "-" for a cell that was left blank.
func marksText(list []mark) string {
	var b strings.Builder
	for i, k := range list {
		if i > 0 {
			b.WriteByte(' ')
		}
		switch {
		case k == mark{}:
			b.WriteByte('-')
		case k.theirs != 0:
			b.WriteString(k.ours.String() + "/" + k.theirs.String())
		default:
			b.WriteString(k.ours.String())
		}
	}
	return b.String()
}

// read puts the marks of one tank, as marksText gives them, into m. places are
// those of the headings they stand under.
func (m *Marks) read(key tankKey, places []int, text string) {
	list := m.tanks[key]
	i := 0
	for word := range strings.FieldsSeq(text) {
		if i >= len(places) {
			break
		}
		at := places[i]
		i++
		for len(list) <= at {
			list = append(list, mark{})
		}
		if word == "-" {
			continue
		}
		ours, theirs, _ := strings.Cut(word, "/")
		list[at] = mark{readWord(ours), readWord(theirs)}
	}
	m.tanks[key] = list
}

// place gives a heading its place in the lists.
func (m *Marks) place(heading string) int {
	i, ok := m.headings[heading]
	if !ok {
		i = len(m.headings)
		m.headings[heading] = i
	}
	return i
}
