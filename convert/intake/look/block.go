package look

import (
	"math"
	"strings"
	"unicode/utf8"

	"dropcut/convert/intake/headword"
	"dropcut/plan/unit"
)

// Block is one table within the window: titles, headings and the first of its
// rows of numbers.
type Block struct {
	From   int // first row of its titles
	Head   int // first row of headings
	Body   int // first row of numbers
	Sample int // end of the rows that the layout is settled from
	Heads  bool
	// Far is the end of the rows that may be looked at where those up to the
	// next heading tell too little.
	Far int
}

const sampleRows = 400

// lineSort is what a row looks like before its columns are known.
type lineSort struct {
	Numbers, Words int
	depth, volume  bool // words for both
	roles          int
	UnitsOnly      bool // names of units and nothing else
	firstWord      bool // the first cell is a word
	value          bool // a label, its value and its unit: "Inside height", 96, "in"
}

func (w *Window) Sort(i int) (s lineSort) {
	s.UnitsOnly = true
	units := 0
	// A line that begins with # is a remark.
	remark := false
	row := w.Row(i)
	if row[0].Class == WordCell {
		raw := w.Raw(&row[0])
		remark = len(raw) > 2 && raw[0] == '#' && raw[1] == ' '
	}
	for k, b := range row {
		if b.Class.Readable() {
			s.Numbers++
			if k > 0 && k+1 < len(row) && len(row) <= 4 && row[k-1].Class == WordCell && row[k+1].Class == WordCell {
				if u, err := unit.ParseLengthUnit(headword.Tidy(w.Text(&row[k+1]))); err == nil && u != 0 {
					s.value = true
				}
			}
			s.UnitsOnly = false
			continue
		}
		s.Words++
		if k == 0 {
			s.firstWord = true
		}
		if remark || b.n > 120 {
			s.UnitsOnly = false
			continue
		}
		text := w.Text(&b)
		h := headword.Read(text)
		if h.Rest != "" || h.Lengths+h.Volumes == 0 && h.Role != headword.RolePercent || headword.ChartWordTable().Roles[unit.Fold(text)] != headword.RoleNone {
			s.UnitsOnly = false
		} else {
			units++
		}
		// A long text with a word for depths in it is a title or a note.
		if utf8.RuneCountInString(text) > 60 {
			continue
		}
		switch h.Role {
		case headword.RoleDepth, headword.RoleUllage:
			s.depth = true
			s.roles++
		case headword.RoleVolume:
			s.volume = true
			s.roles++
		case headword.RolePercent, headword.RoleStep, headword.RoleArea, headword.RoleTank, headword.RoleCompartment, headword.RoleDepthUnit, headword.RoleVolumeUnit:
			s.roles++
		case headword.RoleSite, headword.RoleOther:
		}
	}
	s.UnitsOnly = s.UnitsOnly && units > 0
	return s
}

// Heading rows hold words for two columns at least, one of them for depths or
// volumes.
func (s lineSort) Heading() bool {
	return !s.value && s.Words >= 2 && s.Words > s.Numbers && s.roles >= 2 && (s.depth || s.volume)
}

// Depth and Volume report whether a cell of the row is a word for one.
func (s lineSort) Depth() bool { return s.depth }

func (s lineSort) Volume() bool { return s.volume }

func (s lineSort) Data() bool { return s.Numbers >= 2 }

// FindBlock looks for the next table from row from on.
func (w *Window) FindBlock(from int) (b Block, ok bool) {
	n := len(w.Lines)
	for i := from; i < n; i++ {
		s := w.Sort(i)
		if s.Heading() {
			body := i + 1
			for body < n && body <= i+4 {
				x := w.Sort(body)
				if x.Data() || x.Numbers == 1 && !x.Heading() && !x.UnitsOnly {
					break
				}
				body++
			}
			if body >= n || !w.dataNear(body) {
				continue
			}
			// The last of several headings in a row belongs to the numbers.
			for k := body - 1; k > i; k-- {
				if w.Sort(k).Heading() && !w.together(i, k) {
					i = k
					break
				}
			}
			if w.namesBelow(i, body) {
				body++
			}
			head := i
			for head > from && head > i-3 && w.joinsHeading(head-1) {
				head--
			}
			return w.block(from, head, body, true), true
		}
		if s.Numbers >= 3 && s.firstWord && w.labelled(i) {
			return w.block(from, i, i, false), true
		}
		if !s.Data() {
			continue
		}
		// Numbers without a heading: enough of them in a run.
		run := 0
		for k := i; k < n && run < 5; k++ {
			if !w.Sort(k).Data() || w.Lines[k].N-w.Lines[max(i, k-1)].N > 2 {
				break
			}
			run++
		}
		if run >= 5 || run >= 2 && s.Numbers >= 5 || run >= 2 && i+run == n && run >= 3 {
			head := i
			for head > from && head > i-2 && w.joinsHeading(head-1) {
				head--
			}
			return w.block(from, head, i, head < i), true
		}
		i += max(run-1, 0)
	}
	return b, false
}

// namesBelow reports whether row i, right below a heading, holds the names of
// tanks that are numbers: one word for volumes stands above several columns, and
// nothing stands below the word for depths until the next row.
func (w *Window) namesBelow(heading, i int) bool {
	head, row := w.Row(heading), w.Row(i)
	if i+1 >= len(w.Lines) || len(row) < 2 || row[0].X <= head[0].X || At(w.Row(i+1), int(head[0].X)) == nil {
		return false
	}
	if r := headword.Read(w.Text(&head[0])).Role; r != headword.RoleDepth && r != headword.RoleUllage {
		return false
	}
	bare := false
	for k := range row {
		b := &row[k]
		if b.Class != NumberCell || b.Num != math.Trunc(b.Num) || b.Num < 0 || At(w.Row(i+1), int(b.X)) == nil {
			return false
		}
		bare = bare || At(head, int(b.X)) == nil
	}
	return bare
}

// together reports whether heading rows i and k are two lines of one heading:
// words that one has, the other has not in the same column.
func (w *Window) together(i, k int) bool {
	if k-i > 2 {
		return false
	}
	for _, b := range w.Row(i) {
		o := At(w.Row(k), int(b.X))
		if o == nil {
			continue
		}
		x, y := headword.Read(w.Text(&b)), headword.Read(w.Text(o))
		if x.Role == y.Role && x.Role != headword.RoleNone && x.Lengths == y.Lengths && x.Volumes == y.Volumes {
			return false
		}
	}
	return true
}

// joinsHeading reports whether a row above a heading may belong to it: words in
// two columns or more, or one beyond the first, and no numbers.
func (w *Window) joinsHeading(i int) bool {
	s := w.Sort(i)
	if s.Numbers > 0 || s.Words == 0 {
		return false
	}
	row := w.Row(i)
	if raw := w.Raw(&row[0]); len(raw) > 2 && raw[0] == '#' && raw[1] == ' ' {
		return false
	}
	return s.Words >= 2 || row[0].X > 1 || s.UnitsOnly && i > 0 && w.Sort(i-1).Words >= 2
}

// dataNear reports whether numbers stand at row i or just below.
func (w *Window) dataNear(i int) bool {
	for k := i; k < len(w.Lines) && k < i+3; k++ {
		if w.Sort(k).Numbers >= 1 {
			return true
		}
	}
	return false
}

// labelled reports whether the first cell of row i is a word for depths or
// volumes, or the corner of a matrix, and its neighbours are numbers.
func (w *Window) labelled(i int) bool {
	row := w.Row(i)
	h := headword.Read(w.Text(&row[0]))
	switch h.Role {
	case headword.RoleDepth, headword.RoleUllage, headword.RoleVolume:
		return true
	}
	return h.Lengths > 0
}

// leastSample is how many rows tell a layout, where there are so many: with
// fewer, the rows behind a heading repeated at a page break count too.
const leastSample = 8

// block gives the block that begins with the row body of numbers. Its sample ends
// where the next heading stands, which may be another table's.
func (w *Window) block(from, head, body int, heads bool) Block {
	far := min(len(w.Lines), body+sampleRows)
	end := body
	for end < far && (end < body+leastSample || !w.headed(end)) {
		end++
	}
	return Block{From: from, Head: head, Body: body, Sample: end, Far: far, Heads: heads}
}

// headed is Sort(i).Heading() at the cost of a glance for rows of numbers.
func (w *Window) headed(i int) bool {
	words, row := 0, w.Row(i)
	for k := range row {
		if !row[k].Class.Readable() {
			words++
		}
	}
	return words >= 2 && 2*words > len(row) && w.Sort(i).Heading()
}

// Value reads a box as a plain number where that can be done without knowing
// its column: NaN where it cannot.
func (w *Window) Value(b *Box) float64 {
	switch b.Class {
	case NumberCell:
		if w.Comma {
			switch b.Form {
			case unit.FormEitherPoint:
				return math.Round(b.Num * 1000)
			case unit.FormEitherComma:
				return b.Num / 1000
			}
		}
		return b.Num
	case MeasureCell:
		if !math.IsNaN(b.Num) {
			return b.Num // feet and inches that only the heading tells
		}
		raw := w.Raw(b)
		if l, _, err := unit.ScanLength(raw, unit.Inches, unit.DecimalPoint); err == nil {
			return float64(l)
		}
		if v, _, err := unit.ScanVolume(raw, unit.USGallons, unit.DecimalPoint); err == nil {
			return float64(v)
		}
	}
	return math.NaN()
}

// TitleLike reports whether a row between heading and numbers is a title that
// names the tank.
func (w *Window) TitleLike(i int, s lineSort) bool {
	if s.Words != 1 || s.Numbers > 0 || s.UnitsOnly {
		return false
	}
	_, ok := headword.ReadName(w.Text(&w.Row(i)[0]), nil, false)
	return ok
}

// LabelLike reports whether a row between heading and numbers holds one id alone:
// it names the rows below it.
func (w *Window) LabelLike(i int, s lineSort) bool {
	if len(w.Row(i)) != 1 || s.UnitsOnly || s.roles > 0 {
		return false
	}
	t := headword.Tidy(w.Text(&w.Row(i)[0]))
	return headword.IdWord(t, nil) && strings.ContainsAny(t, "0123456789")
}

// HeadTexts gives the heading of every column: the rows of headings put
// together, from above to below.
func (w *Window) HeadTexts(head, body int) (own, above map[int]string, places map[int]*Box) {
	own, above = make(map[int]string), make(map[int]string)
	places = make(map[int]*Box)
	bottom := head
	for i := head; i < body; i++ {
		if w.Sort(i).Heading() {
			bottom = i
			break
		}
		bottom = i
	}
	for i := head; i < body; i++ {
		row := w.Row(i)
		s := w.Sort(i)
		if s.Numbers > 0 && i > bottom && !s.Heading() && !w.namesBelow(bottom, i) || i > bottom && (w.TitleLike(i, s) || w.LabelLike(i, s)) {
			continue
		}
		for k := range row {
			b := &row[k]
			text := headword.Tidy(w.Text(b))
			if i >= bottom {
				if i > bottom && own[int(b.X)] == "" {
					own[int(b.X)] = w.spans(bottom, int(b.X), text)
				}
				own[int(b.X)] = strings.TrimSpace(own[int(b.X)] + " " + text)
				if places[int(b.X)] == nil {
					places[int(b.X)] = b
				}
				continue
			}
			// What stands above spans the columns up to the next word.
			var end int
			if k+1 < len(row) {
				end = int(row[k+1].X)
			} else {
				end = int(b.X) + 12
			}
			for x := int(b.X); x < end; x++ {
				above[x] = strings.TrimSpace(above[x] + " " + text)
			}
		}
	}
	return own, above, places
}

// spans gives the word for volumes in row heading that reaches over column x, where
// a name stands alone below: "Gallons" above 0417, 0418, 0419.
func (w *Window) spans(heading, x int, name string) string {
	if h := headword.Read(name); h.Role != headword.RoleNone || h.Rest == "" {
		return ""
	}
	var left *Box
	for k, row := 0, w.Row(heading); k < len(row) && int(row[k].X) < x; k++ {
		left = &row[k]
	}
	if left == nil || left.Class != WordCell {
		return ""
	}
	if h := headword.Read(w.Text(left)); h.Role != headword.RoleVolume || h.Rest != "" {
		return ""
	}
	return headword.Tidy(w.Text(left))
}

// Repeats reports whether row i says the same as row k.
func (w *Window) Repeats(i, k int) bool {
	a, b := w.Row(i), w.Row(k)
	if len(a) != len(b) {
		return false
	}
	for j := range a {
		if a[j].X != b[j].X || string(w.Raw(&a[j])) != string(w.Raw(&b[j])) {
			return false
		}
	}
	return true
}
