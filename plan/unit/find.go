package unit

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// UnitWord is a unit named in a heading, a title or the name of a sheet. One of
// Length and Volume is set.
type UnitWord struct {
	Length LengthUnit
	Volume VolumeUnit
	Word   string // as it is written there
	At     int    // the byte where it starts
	// OfNumber units belong to the number before them ("96 in x 26 ft", "1000
	// gal tank") and say nothing about the column.
	OfNumber bool
	// Ratio units stand in a quotient ("Litres/mm", "gallons per inch") and
	// say nothing about the column either.
	Ratio bool
}

// Plain reports whether the unit is said of the column or the table.
func (w UnitWord) Plain() bool { return !w.OfNumber && !w.Ratio }

// FindUnits lists every unit that a text names, in its order. The English word
// "in" is taken for inches only where no word follows it and something tells
// that a unit may stand there; bare gallons are US gallons. A unit in thousands
// that has no name of its own (thousand barrels) is left out, so that nobody
// takes it for the plain one. Only the first 2,000 bytes are looked at.
func FindUnits(text string) []UnitWord {
	// More than a long title is a page of prose.
	if len(text) > 2000 {
		end := 2000
		for end > 1990 && !utf8.RuneStart(text[end]) {
			end--
		}
		text = text[:end]
	}
	t := tokens(text)
	var found []UnitWord
	words := unitWords()
	for i := 0; i < len(t); i++ {
		end, m, ok := phrase(t, i, words)
		if !ok {
			continue
		}
		w := UnitWord{Length: m.length, Volume: m.volume, At: t[i].start, Word: text[t[i].start:t[end-1].end]}
		w.OfNumber = afterNumber(t, i)
		w.Ratio = inRatio(t, i, end, words)
		at := i
		i = end - 1
		if !m.unit() || m.weak && !w.OfNumber && !w.Ratio && !expected(t, at, end, text) {
			continue
		}
		if m.volume != 0 && !w.Ratio {
			before, after := neighbour(t, at, -1), neighbour(t, end-1, +1)
			if m.gallon {
				q := qualifier(t.folded(after))
				if p := qualifier(t.folded(before)); p != 0 {
					if q != 0 && q != p {
						w.Volume = q
						found = append(found, w)
					}
					q = p
				}
				if q != 0 {
					w.Volume = q
				}
			}
			if s := scaleAt(t, at, end); s != 1 {
				if w.Volume = scaled(w.Volume, s); w.Volume == 0 {
					continue
				}
				w.OfNumber = false
			}
		}
		found = append(found, w)
	}
	return found
}

// FindLengthUnit gives the first unit of length that a heading, a title or the
// name of a sheet says of its column, and the word as it stands there. n counts
// the different units named: with more than one, the text contradicts itself.
func FindLengthUnit(text string) (u LengthUnit, word string, n int) {
	var seen [256]bool
	for _, w := range FindUnits(text) {
		if w.Length == 0 || !w.Plain() || seen[w.Length] {
			continue
		}
		seen[w.Length] = true
		if n++; n == 1 {
			u, word = w.Length, w.Word
		}
	}
	return u, word, n
}

// FindVolumeUnit is FindLengthUnit for volumes.
func FindVolumeUnit(text string) (u VolumeUnit, word string, n int) {
	var seen [256]bool
	for _, w := range FindUnits(text) {
		if w.Volume == 0 || !w.Plain() || seen[w.Volume] {
			continue
		}
		seen[w.Volume] = true
		if n++; n == 1 {
			u, word = w.Volume, w.Word
		}
	}
	return u, word, n
}

// ParseLengthUnit reads the name of one unit of length, as a cell of a units
// column or an option gives it: "in", "mm", "Zoll".
func ParseLengthUnit(s string) (LengthUnit, error) {
	if m, ok := unitName(s); ok && m.length != 0 {
		return m.length, nil
	}
	return 0, &Trouble{Text: s, Want: "a unit of length", Why: "write in, ft, mm, cm, dm or m"}
}

// ParseVolumeUnit reads the name of one unit of volume: "gal", "imp gal", "L",
// "m3".
func ParseVolumeUnit(s string) (VolumeUnit, error) {
	if m, ok := unitName(s); ok && m.volume != 0 {
		return m.volume, nil
	}
	return 0, &Trouble{Text: s, Want: "a unit of volume", Why: "write gal, imp gal, L, m3, bbl, ft3 or acre-ft"}
}

// unitName reads a text that is a unit and nothing else, weak words too.
func unitName(s string) (meaning, bool) {
	s = strings.Trim(trim(s), "()[]")
	t := tokens(s)
	if len(t) == 1 && t[0].kind == signToken {
		if m, ok := unitMark(t[0].folded); ok {
			return m, true
		}
	}
	switch s {
	case "M":
		return meaning{}, false // metres or thousands
	case "ml", "mL":
		return meaning{}, false // a thousandth of a litre; the table's is a million
	}
	if found := FindUnits(s); len(found) == 1 && found[0].Plain() {
		// Everything else in the text must belong to the unit.
		rest := strings.Replace(s, found[0].Word, " ", 1)
		for _, r := range tokens(rest) {
			if r.kind == signToken {
				continue
			}
			if qualifier(r.folded) == 0 && scaleWord(r.folded) == 0 && r.folded != "liquid" && r.folded != "de" && r.folded != "of" {
				return meaning{}, false
			}
		}
		return meaning{length: found[0].Length, volume: found[0].Volume}, true
	}
	return meaning{}, false
}

// unitMark gives the unit of a lone mark: inches for double ones, feet for
// single ones.
func unitMark(s string) (meaning, bool) {
	switch s {
	case `"`, "″", "”", "“", "''", "′′", "’’":
		return meaning{length: Inches, weak: true}, true
	case "'", "′", "’":
		return meaning{length: Feet, weak: true}, true
	}
	return meaning{}, false
}

type tokenKind uint8

const (
	wordToken tokenKind = iota
	numberToken
	signToken
)

// token is a piece of a heading. Its word is folded.
type token struct {
	kind       tokenKind
	folded     string
	start, end int
	gap        int  // blanks before it
	newline    bool // a line break before it
}

type tokenList []token

func (t tokenList) folded(i int) string {
	if i < 0 || i >= len(t) {
		return ""
	}
	return t[i].folded
}

// sign gives the sign at i, "" where there is none.
func (t tokenList) sign(i int) string {
	if i < 0 || i >= len(t) || t[i].kind != signToken {
		return ""
	}
	return t[i].folded
}

// tokens cuts a heading into words, numbers and signs. Abbreviations lose their
// points (U.S. gives us), a figure joins the word before it (m3, x1000), and
// words spaced out by letters are put together.
func tokens(s string) tokenList {
	var t tokenList
	gap, newline := 0, false
	for i := 0; i < len(s); {
		r, n := utf8.DecodeRuneInString(s[i:])
		if blank(r) || r == 0xAD {
			gap++
			newline = newline || r == '\n' || r == '\r'
			i += n
			continue
		}
		start := i
		kind := signToken
		switch {
		case isLetter(r) && vulgar(r).den == 0:
			kind = wordToken
			i = wordEnd(s, i)
		case unicode.IsNumber(r):
			kind = numberToken
			i = numberEnd(s, i)
		case (r == '\'' || r == '’' || r == '′') && strings.HasPrefix(s[i+n:], string(r)):
			i += 2 * n
		default:
			i += n
		}
		var b strings.Builder
		for _, r := range s[start:i] {
			if r >= 0x300 && r <= 0x36F || kind == wordToken && r == '.' {
				continue
			}
			b.WriteString(foldRune(r))
		}
		t = append(t, token{kind, b.String(), start, i, gap, newline})
		gap, newline = 0, false
	}
	return joinSpaced(t)
}

// isLetter takes the units that are one character (U+3371 to U+33DF) for
// letters, which to Unicode they are not.
func isLetter(r rune) bool { return unicode.IsLetter(r) || r >= 0x3371 && r <= 0x33DF }

// wordEnd gives the end of the word that starts at i.
func wordEnd(s string, i int) int {
	letters := 0
	start := i
	for i < len(s) {
		r, n := utf8.DecodeRuneInString(s[i:])
		if !isLetter(r) && !(r >= 0x300 && r <= 0x36F) {
			break
		}
		letters++
		i += n
	}
	// U.S. and U.S.A.
	for letters == 1 && i < len(s) && s[i] == '.' {
		r, n := utf8.DecodeRuneInString(s[i+1:])
		if !unicode.IsLetter(r) {
			if i-start > 1 {
				i++ // the last point of U.S.
			}
			return i
		}
		next, m := utf8.DecodeRuneInString(s[i+1+n:])
		if m > 0 && unicode.IsLetter(next) {
			return i // "m.gal" is two words
		}
		i += 1 + n
	}
	if i < len(s) && s[i] == '^' && i+1 < len(s) && isDigit(s[i+1]) {
		i++
	}
	for i < len(s) {
		r, n := utf8.DecodeRuneInString(s[i:])
		if !unicode.IsDigit(r) && r != '²' && r != '³' && r != '¹' {
			break
		}
		i += n
		// h2o
		if after, n := utf8.DecodeRuneInString(s[i:]); i-start == 2 && (after == 'o' || after == 'O') {
			return i + n
		}
	}
	return i
}

// numberEnd gives the end of the number that starts at i, with its fraction.
func numberEnd(s string, i int) int {
	for i < len(s) {
		r, n := utf8.DecodeRuneInString(s[i:])
		inside := r == '.' || r == ',' || r == '/' || r == '⁄' || r == '∕' || r == '^'
		if inside {
			next, _ := utf8.DecodeRuneInString(s[i+n:])
			if !unicode.IsNumber(next) {
				return i
			}
		} else if !unicode.IsNumber(r) {
			return i
		}
		i += n
	}
	return i
}

// joinSpaced puts words together whose letters are spaced out: three single
// letters or more with one blank between. Where there is such a word, pairs are
// taken for words too.
func joinSpaced(t tokenList) tokenList {
	run := func(i int) int {
		j := i
		for j < len(t) && t[j].kind == wordToken && utf8.RuneCountInString(t[j].folded) == 1 && (j == i || t[j].gap == 1 && !t[j].newline) {
			j++
		}
		return j - i
	}
	spaced := false
	for i := 0; i < len(t) && !spaced; {
		n := run(i)
		spaced = n >= 3
		i += max(n, 1)
	}
	if !spaced {
		return t
	}
	out := make(tokenList, 0, len(t))
	for i := 0; i < len(t); {
		n := run(i)
		if n < 2 {
			out = append(out, t[i])
			i++
			continue
		}
		w := t[i]
		var b strings.Builder
		for _, x := range t[i : i+n] {
			b.WriteString(x.folded)
			w.end = x.end
		}
		w.folded = b.String()
		out = append(out, w)
		i += n
	}
	return out
}

// phrase finds the longest unit phrase that starts at token i and gives the
// index behind its end.
func phrase(t tokenList, i int, words map[string]meaning) (end int, m meaning, ok bool) {
	if t[i].kind == signToken {
		m, ok = unitMark(t[i].folded)
		return i + 1, m, ok
	}
	if t[i].kind != wordToken {
		return 0, m, false
	}
	var b strings.Builder
	for j, n := i, 0; j < len(t) && n < 3; j++ {
		if t[j].kind == signToken && n > 0 && joiner(t[j].folded) {
			continue
		}
		if t[j].kind != wordToken || n > 0 && t[j].newline {
			break
		}
		if n > 0 {
			b.WriteByte(' ')
		}
		b.WriteString(t[j].folded)
		n++
		if x, there := words[b.String()]; there {
			end, m, ok = j+1, x, true
		}
	}
	return end, m, ok
}

// joiner signs stand between the words of one unit: acre-ft, cu. ft, N·m.
func joiner(s string) bool {
	switch s {
	case ".", "-", "‐", "‑", "–", "·", "⋅", "*":
		return true
	}
	return false
}

// afterNumber reports whether the unit at i belongs to a number before it.
func afterNumber(t tokenList, i int) bool {
	j := i - 1
	if t.sign(j) == "-" && t[i].gap == 0 {
		j-- // 4-inch
	}
	return j >= 0 && t[j].kind == numberToken && !t[i].newline
}

// inRatio reports whether the unit from i to end is one side of a quotient.
func inRatio(t tokenList, i, end int, words map[string]meaning) bool {
	self, own := words[t.phraseText(i, end)]
	other := func(m meaning, ok bool) bool {
		if !ok || !own {
			return false
		}
		return (m.length != 0) != (self.length != 0) || (m.volume != 0) != (self.volume != 0)
	}
	j := end
	if t.sign(j) == "." {
		j++
	}
	switch {
	case per(t.folded(j)):
		return true
	case t.sign(j) == "/" && j+1 < len(t):
		if period(t.folded(j + 1)) {
			return true
		}
		_, m, ok := phrase(t, j+1, words)
		return other(m, ok)
	}
	// The side below the line.
	j = i - 1
	if j < 1 || t.sign(j) != "/" && !per(t.folded(j)) {
		return false
	}
	if per(t.folded(j)) {
		return true
	}
	for start := max(0, j-5); start < j; start++ {
		if e, m, ok := phrase(t, start, words); ok && (e == j || e == j-1 && t.sign(e) == ".") && other(m, ok) {
			return true
		}
	}
	return false
}

func (t tokenList) phraseText(i, end int) string {
	var b strings.Builder
	for _, x := range t[i:end] {
		if x.kind != wordToken {
			continue
		}
		if b.Len() > 0 {
			b.WriteByte(' ')
		}
		b.WriteString(x.folded)
	}
	return b.String()
}

func per(w string) bool {
	switch w {
	case "per", "par", "por", "pro", "je":
		return true
	}
	return false
}

// period words below a line make a rate of what stands above it.
func period(w string) bool {
	switch w {
	case "s", "sec", "min", "minute", "h", "hr", "hour", "day", "d", "std", "step", "div":
		return true
	}
	return false
}

// neighbour gives the index of the word next to i in the direction of step,
// passing over the signs that may part a unit from what qualifies it.
func neighbour(t tokenList, i, step int) int {
	for j := i + step; j >= 0 && j < len(t); j += step {
		if t[j].kind != signToken {
			if t[j].folded == "liquid" || t[j].folded == "de" || t[j].folded == "of" {
				continue
			}
			return j
		}
		switch t[j].folded {
		case ".", "-", "(", ")", "[", "]", ",":
		default:
			return -1
		}
	}
	return -1
}

// scaleAt gives what the unit from i to end is multiplied by: "thousand gal",
// "gal x 1000", "gal (000)", "10³ m³"; 1 where nothing is, 0 where it can be read
// in two ways.
func scaleAt(t tokenList, i, end int) float64 {
	before := neighbour(t, i, -1)
	if qualifier(t.folded(before)) != 0 {
		before = neighbour(t, before, -1)
	}
	after := neighbour(t, end-1, +1)
	if qualifier(t.folded(after)) != 0 {
		after = neighbour(t, after, +1)
	}
	if after >= 0 && t[after].folded == "x" && after+1 < len(t) || end < len(t) && (t[end].folded == "×" || t[end].folded == "*") {
		if end < len(t) && t[end].kind == signToken {
			after = end
		}
		if s := figure(t.folded(after + 1)); s != 1 {
			return s
		}
	}
	for _, j := range [...]int{before, after} {
		if s := scaleWord(t.folded(j)); s != 0 {
			return s
		}
	}
	if after >= 0 && t[after].folded == "000" {
		return 1e3
	}
	if before >= 0 && t[before].kind == numberToken {
		if powerOf(t, before, i) {
			x := t[before]
			raised := x.end-x.start != len(x.folded) // 10³ is folded to 103
			switch {
			case x.folded == "000" || x.folded == "10^3" || raised && x.folded == "103":
				return 1e3
			case x.folded == "10^6" || raised && x.folded == "106":
				return 1e6
			case x.folded == "103" || x.folded == "106":
				// A power of ten whose figure has lost its place, or the number of a tank:
				// the two are a thousand times apart, so that the unit is not known.
				return 0
			}
		}
		if times(t.folded(before - 1)) {
			return figure(t[before].folded)
		}
	}
	// "1000 x gal"
	if times(t.folded(i - 1)) {
		return figure(t.folded(i - 2))
	}
	return 1
}

// powerOf reports whether the number at b, such as 103 or 000, is a factor of the
// unit at i and no tank's: raised figures, a number that stands in one bracket with
// the unit, or right behind a word for what is measured. "Tank 103 (gal)" and
// "CF-103 gal" name tanks.
func powerOf(t tokenList, b, i int) bool {
	if x := t[b]; x.end-x.start != len(x.folded) || strings.Contains(x.folded, "^") {
		return true
	}
	for j := b + 1; j < i; j++ {
		if s := t.sign(j); s == "(" || s == "[" || s == ")" || s == "]" {
			return false
		}
	}
	switch t.sign(b - 1) {
	case "(", "[", "'", "’":
		return true
	}
	return b > 0 && measured(t[b-1].folded)
}

// times reports whether a token is a sign of multiplication.
func times(s string) bool { return s == "x" || s == "×" || s == "*" }

// figure reads the factor behind a sign of multiplication.
func figure(s string) float64 {
	switch s {
	case "1000", "1,000", "1.000", "103", "10^3":
		return 1e3
	case "1000000", "1,000,000", "1.000.000", "106", "10^6":
		return 1e6
	}
	return 1
}

// expected reports whether a unit may be expected from token i to end, so that
// a weak word there is one.
func expected(t tokenList, i, end int, text string) bool {
	own := text[t[i].start:t[end-1].end]
	switch own {
	case "M":
		if strings.ToUpper(text) != text {
			return false
		}
	case "ml", "mL":
		return false
	}
	// A word or a number behind it makes a preposition of "in" and a letter of
	// a name of "L".
	j := end
	if t.sign(j) == "." && t[j].gap == 0 {
		j++
	}
	scaled := t.folded(j) == "x" && figure(t.folded(j+1)) != 1 // "L x 1000"
	if j < len(t) && t[j].kind != signToken && !t[j].newline && !scaled {
		return false
	}
	if i == 0 {
		return true
	}
	if t[i].newline {
		return true
	}
	switch t.sign(i - 1) {
	case "(", "[", "{", ",", ";", ":", "|", "/", "\\", "=", "&", "_":
		return true
	case "-", "–", "—":
		// "Depth - in", "Depth-in" and "ft-in", not "walk-in".
		return t[i].gap > 0 || i > 1 && (unitWords()[t[i-2].folded].length != 0 || measured(t[i-2].folded))
	}
	if t[i-1].kind != wordToken && t.sign(i-1) != "." {
		return false
	}
	word := t[i].folded
	switch word {
	case "meter", "meters", "foot":
		return t.folded(i-1) == "in" || t.folded(i-1) == "en"
	case "in", `"`, "''", "″", "”":
		for _, x := range t[:i] {
			if measured(x.folded) {
				return true
			}
		}
		return false
	}
	p := i - 1
	if t.sign(p) == "." {
		p--
	}
	w := t.folded(p)
	return measured(w) || w == "in" || w == "en" || w == "em"
}

// measured words name what a unit can be said of, folded.
func measured(w string) bool {
	switch w {
	case "depth", "depths", "dip", "dips", "dipped", "height", "ht", "hgt", "level", "ullage", "ullages", "innage", "outage", "gauge", "gage", "gaug", "ull",
		"stick", "sounding", "soundings", "reading", "readings", "diameter", "dia", "diam", "length", "width", "riser", "elevation", "elev", "stage", "trim", "headspace", "rise", "clearance", "bore", "bottom", "tube", "tubes",
		"volume", "volumes", "vol", "vols", "content", "contents", "capacity", "capacities", "cap", "quantity", "qty", "storage", "amount", "net", "gross",
		"profundidad", "altura", "nivel", "sonda", "varilla", "diametro", "largo", "ancho", "volumen", "contenido", "capacidad", "cantidad",
		"profondeur", "hauteur", "niveau", "creux", "jauge", "diametre", "longueur", "largeur", "contenance", "capacite", "quantite",
		"tiefe", "hohe", "hoehe", "fullhohe", "fuellhoehe", "peilung", "peilhohe", "peilmass", "fullstand", "fuellstand", "pegel", "durchmesser", "lange", "laenge", "breite", "inhalt", "menge", "fassungsvermogen",
		"profundidade", "profondita", "altezza", "livello", "capacita", "contenuto":
		return true
	}
	return false
}
