package intake

import (
	"math"
	"strings"
	"unicode/utf8"

	"dropcut/plan/unit"
)

// block is one table within the window: titles, headings and the first of its
// rows of numbers.
type block struct {
	from   int // first row of its titles
	head   int // first row of headings
	body   int // first row of numbers
	sample int // end of the rows that the layout is settled from
	heads  bool
}

const sampleRows = 400

// lineSort is what a row looks like before its columns are known.
type lineSort struct {
	numbers, words int
	depth, volume  bool // words for both
	roles          int
	unitsOnly      bool // names of units and nothing else
	firstWord      bool // the first cell is a word
}

func (w *window) sort(i int) (s lineSort) {
	s.unitsOnly = true
	units := 0
	for k, b := range w.row(i) {
		if b.class.readable() {
			s.numbers++
			s.unitsOnly = false
			continue
		}
		s.words++
		if k == 0 {
			s.firstWord = true
		}
		if b.n > 120 {
			s.unitsOnly = false
			continue
		}
		text := w.text(&b)
		h := readHeading(text)
		if h.rest != "" || h.lengths+h.volumes == 0 && h.role != rolePercent || chartWordTable().roles[unit.Fold(text)] != roleNone {
			s.unitsOnly = false
		} else {
			units++
		}
		// A long text with a word for depths in it is a title or a note.
		if utf8.RuneCountInString(text) > 60 {
			continue
		}
		switch h.role {
		case roleDepth, roleUllage:
			s.depth = true
			s.roles++
		case roleVolume:
			s.volume = true
			s.roles++
		case rolePercent, roleStep, roleArea, roleTank, roleCompartment, roleDepthUnit, roleVolumeUnit:
			s.roles++
		case roleSite, roleOther:
		}
	}
	s.unitsOnly = s.unitsOnly && units > 0
	return s
}

// heading rows hold words for two columns at least, one of them for depths or
// volumes.
func (s lineSort) heading() bool {
	return s.words >= 2 && s.words > s.numbers && s.roles >= 2 && (s.depth || s.volume)
}

func (s lineSort) data() bool { return s.numbers >= 2 }

// findBlock looks for the next table from row from on.
func (w *window) findBlock(from int) (b block, ok bool) {
	n := len(w.lines)
	for i := from; i < n; i++ {
		s := w.sort(i)
		if s.heading() {
			body := i + 1
			for body < n && body <= i+4 {
				x := w.sort(body)
				if x.data() || x.numbers == 1 && !x.heading() && !x.unitsOnly {
					break
				}
				body++
			}
			if body >= n || !w.dataNear(body) {
				continue
			}
			// The last of several headings in a row belongs to the numbers.
			for k := body - 1; k > i; k-- {
				if w.sort(k).heading() && !w.together(i, k) {
					i = k
					break
				}
			}
			head := i
			for head > from && head > i-3 && w.joinsHeading(head-1) {
				head--
			}
			return block{from: from, head: head, body: body, sample: w.sampleEnd(body), heads: true}, true
		}
		if s.numbers >= 3 && s.firstWord && w.labelled(i) {
			return block{from: from, head: i, body: i, sample: w.sampleEnd(i), heads: false}, true
		}
		if !s.data() {
			continue
		}
		// Numbers without a heading: enough of them in a run.
		run := 0
		for k := i; k < n && run < 5; k++ {
			if !w.sort(k).data() || w.lines[k].n-w.lines[max(i, k-1)].n > 2 {
				break
			}
			run++
		}
		if run >= 5 || run >= 2 && s.numbers >= 5 || run >= 2 && i+run == n && run >= 3 {
			head := i
			for head > from && head > i-2 && w.joinsHeading(head-1) {
				head--
			}
			return block{from: from, head: head, body: i, sample: w.sampleEnd(i), heads: head < i}, true
		}
		i += max(run-1, 0)
	}
	return b, false
}

// together reports whether heading rows i and k are two lines of one heading:
// words that one has, the other has not in the same column.
func (w *window) together(i, k int) bool {
	if k-i > 2 {
		return false
	}
	for _, b := range w.row(i) {
		o := at(w.row(k), int(b.x))
		if o == nil {
			continue
		}
		x, y := readHeading(w.text(&b)), readHeading(w.text(o))
		if x.role == y.role && x.role != roleNone && x.lengths == y.lengths && x.volumes == y.volumes {
			return false
		}
	}
	return true
}

// joinsHeading reports whether a row above a heading may belong to it: words in
// two columns or more, or one beyond the first, and no numbers.
func (w *window) joinsHeading(i int) bool {
	s := w.sort(i)
	if s.numbers > 0 || s.words == 0 {
		return false
	}
	row := w.row(i)
	return s.words >= 2 || row[0].x > 1
}

// dataNear reports whether numbers stand at row i or just below.
func (w *window) dataNear(i int) bool {
	for k := i; k < len(w.lines) && k < i+3; k++ {
		if w.sort(k).numbers >= 1 {
			return true
		}
	}
	return false
}

// labelled reports whether the first cell of row i is a word for depths or
// volumes, or the corner of a matrix, and its neighbours are numbers.
func (w *window) labelled(i int) bool {
	row := w.row(i)
	h := readHeading(w.text(&row[0]))
	switch h.role {
	case roleDepth, roleUllage, roleVolume:
		return true
	}
	return h.lengths > 0
}

func (w *window) sampleEnd(body int) int {
	end := body
	for end < len(w.lines) && end < body+sampleRows {
		end++
	}
	return end
}

// value reads a box as a plain number where that can be done without knowing
// its column: NaN where it cannot.
func (w *window) value(b *box) float64 {
	switch b.class {
	case numberCell:
		if w.comma {
			switch b.form {
			case unit.FormEitherPoint:
				return math.Round(b.num * 1000)
			case unit.FormEitherComma:
				return b.num / 1000
			}
		}
		return b.num
	case measureCell:
		if !math.IsNaN(b.num) {
			return b.num // feet and inches that only the heading tells
		}
		raw := w.raw(b)
		if l, _, err := unit.ScanLength(raw, unit.Inches, unit.DecimalPoint); err == nil {
			return float64(l)
		}
		if v, _, err := unit.ScanVolume(raw, unit.USGallons, unit.DecimalPoint); err == nil {
			return float64(v)
		}
	}
	return math.NaN()
}

// titleLike reports whether a row between heading and numbers is a title that
// names the tank.
func (w *window) titleLike(i int, s lineSort) bool {
	if s.words != 1 || s.numbers > 0 || s.unitsOnly {
		return false
	}
	_, ok := readName(w.text(&w.row(i)[0]), nil, false)
	return ok
}

// headTexts gives the heading of every column: the rows of headings put
// together, from above to below.
func (w *window) headTexts(head, body int) (own, above map[int]string, places map[int]*box) {
	own, above = make(map[int]string), make(map[int]string)
	places = make(map[int]*box)
	bottom := head
	for i := head; i < body; i++ {
		if w.sort(i).heading() {
			bottom = i
			break
		}
		bottom = i
	}
	for i := head; i < body; i++ {
		row := w.row(i)
		s := w.sort(i)
		if s.numbers > 0 && i > bottom && !s.heading() || i > bottom && w.titleLike(i, s) {
			continue
		}
		for k := range row {
			b := &row[k]
			text := tidy(w.text(b))
			if i >= bottom {
				own[int(b.x)] = strings.TrimSpace(own[int(b.x)] + " " + text)
				if places[int(b.x)] == nil {
					places[int(b.x)] = b
				}
				continue
			}
			// What stands above spans the columns up to the next word.
			var end int
			if k+1 < len(row) {
				end = int(row[k+1].x)
			} else {
				end = int(b.x) + 12
			}
			for x := int(b.x); x < end; x++ {
				above[x] = strings.TrimSpace(above[x] + " " + text)
			}
		}
	}
	return own, above, places
}
