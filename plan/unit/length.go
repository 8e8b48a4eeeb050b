package unit

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// ParseLength reads a length in every way that people write one: a plain number
// in the unit in; 98 3/8", 98-3/8, 98⅜, 98 3⁄8, 8' 2-3/8", 8 ft 2 3/8 in, with
// marks straight, curly or prime; 2.45 m, 1 250 mm; unit words in several
// languages. A unit in the text goes before in. With neither, the error is
// ErrNoUnit. A number such as 8.1 is never taken for feet and inches. Negative
// lengths are read; the caller judges them.
func ParseLength[S ~string | ~[]byte](s S, in LengthUnit, dec Decimal) (Length, error) {
	l, _, err := ScanLength(s, in, dec)
	return l, err
}

// ScanLength is ParseLength that also tells which unit the text names:
// LengthUnknown where it names none and in was used, Feet for feet and inches.
func ScanLength[S ~string | ~[]byte](s S, in LengthUnit, dec Decimal) (l Length, named LengthUnit, err error) {
	if in != LengthUnknown && !apostrophe(s) {
		if f, ok := Number(s, dec); ok {
			return in.Length(f), LengthUnknown, nil
		}
	}
	text := string(s)
	l, named, why := scanLength(text, in, dec)
	if why != "" {
		t := &Trouble{Text: text, Want: "a length", Why: why}
		if why == whyNoUnit {
			t.Err = ErrNoUnit
		}
		return 0, named, t
	}
	return l, named, nil
}

const whyNoUnit = "no unit is given; name it in the cell or in the column's heading"

func apostrophe[S ~string | ~[]byte](s S) bool {
	for i := range len(s) {
		if s[i] == '\'' || s[i] >= utf8.RuneSelf {
			return true
		}
	}
	return false
}

// part is one piece of a length: 8', 2 3/8", 2 m.
type part struct {
	value    float64
	whole    bool // no decimals, no fraction
	fraction bool
	thousand bool // an apostrophe marked thousands
	unit     LengthUnit
}

func scanLength(s string, in LengthUnit, dec Decimal) (l Length, named LengthUnit, why string) {
	r := reader{s: trim(s), dec: dec}
	if r.s == "" {
		return 0, 0, "a length was expected"
	}
	if len(r.s) > longestNumber {
		return 0, 0, "it is far too long"
	}
	neg := r.minus()
	var parts [4]part
	n := 0
	for !r.done() {
		if n == len(parts) {
			return 0, 0, "it has too many parts"
		}
		if n > 0 {
			r.between()
		}
		p, why := r.part()
		if why != "" {
			return 0, 0, why
		}
		parts[n] = p
		n++
	}
	if n == 0 {
		return 0, 0, "no number stands in it" // a dash for what is not known
	}
	for i := range parts[:n] {
		p := &parts[i]
		last := i == n-1
		switch {
		case p.unit == 0 && i > 0 && last && parts[i-1].unit == Feet:
			p.unit = Inches
		case p.unit == 0 && i > 0, p.unit == 0 && !last:
			return 0, 0, "it holds two numbers; write a fraction, or feet and inches with their marks"
		case p.unit == 0 && in == 0:
			return 0, 0, whyNoUnit
		case p.unit == 0 && p.fraction && in.Metric():
			return 0, 0, "a fraction stands in a column of " + in.String() + "; name its unit in the cell"
		case p.unit == 0:
			p.unit = in
		default:
			named = p.unit
		}
		if p.thousand && !p.unit.Metric() {
			return 0, named, "the mark in it may be of feet or of thousands; write it without"
		}
		if i == 0 {
			l = p.unit.Length(p.value)
			continue
		}
		up := parts[i-1]
		switch {
		case !up.whole:
			return 0, named, "a part follows one that is not a whole number"
		case p.unit.Metric() != up.unit.Metric() || p.unit.Size() >= up.unit.Size():
			return 0, named, "its parts do not go from the larger unit to the smaller"
		case p.unit.Length(p.value) >= up.unit.Size():
			return 0, named, "its second part is not smaller than one " + up.unit.String()
		}
		l += p.unit.Length(p.value)
		named = parts[0].unit
	}
	if neg {
		l = -l
	}
	return l, named, ""
}

// reader walks through the text of a length.
type reader struct {
	s   string
	i   int
	dec Decimal
}

func (r *reader) done() bool { return r.i >= len(r.s) }

func (r *reader) peek() (rune, int) { return utf8.DecodeRuneInString(r.s[r.i:]) }

func (r *reader) blanks() bool {
	start := r.i
	for !r.done() {
		c, n := r.peek()
		if !blank(c) {
			break
		}
		r.i += n
	}
	return r.i > start
}

// minus passes a sign; a minus must stand at its number.
func (r *reader) minus() bool {
	c, n := r.peek()
	switch c {
	case '-', '−':
		r.i += n
		return true
	case '+':
		r.i += n
	}
	return false
}

// between passes what may stand between feet and inches: blanks, a hyphen, a
// comma, "and".
func (r *reader) between() {
	r.blanks()
	if r.done() {
		return
	}
	c, n := r.peek()
	switch c {
	case '-', '‐', '‑', '–', ',', '&':
		r.i += n
	default:
		if rest := r.s[r.i:]; len(rest) > 4 && strings.EqualFold(rest[:4], "and ") {
			r.i += 3
		}
	}
	r.blanks()
}

// part reads a quantity and its unit.
func (r *reader) part() (p part, why string) {
	if r.done() {
		return p, "something is missing at its end"
	}
	c, _ := r.peek()
	switch {
	case isFraction(c):
		why = r.fraction(&p)
	case c >= '0' && c <= '9' || c == r.dec.sign() || raised(c) >= 0:
		why = r.quantity(&p)
	case unicode.IsLetter(c):
		return p, strconvQuote(r.word()) + " stands where a number was expected"
	default:
		return p, odd(c, r.s)
	}
	if why != "" {
		return p, why
	}
	why = r.unit(&p)
	return p, why
}

// quantity reads a number with the fraction that may follow it.
func (r *reader) quantity(p *part) (why string) {
	if num, den, ok := r.ratio(); ok {
		return p.add(num, den)
	}
	start := r.i
	r.number(p)
	text := r.s[start:r.i]
	f, why := number(text, r.dec, 0)
	if why != "" {
		return why
	}
	p.value = f
	p.whole = true
	for i := range len(text) {
		if text[i] == byte(r.dec.sign()) || text[i]|0x20 == 'e' {
			p.whole = false
		}
	}
	// A fraction may follow at once (98⅜), behind a blank, a hyphen, "&", "+" or "and".
	back := r.i
	r.blanks()
	if c, n := r.peek(); c == '-' || c == '‐' || c == '‑' || c == '–' || c == '&' || c == '+' {
		r.i += n
		r.blanks()
	} else if rest := r.s[r.i:]; len(rest) > 4 && strings.EqualFold(rest[:4], "and ") {
		r.i += 3
		r.blanks()
	}
	c, _ := r.peek()
	follows := isFraction(c)
	if !follows && r.i > back {
		here := r.i
		_, _, follows = r.ratio()
		r.i = here
	}
	if !follows && raised(c) >= 0 {
		follows = true
	}
	if !follows {
		r.i = back
		return ""
	}
	if !p.whole {
		return "a fraction follows decimals"
	}
	return r.fraction(p)
}

// number passes the characters of one number, thousands marks only where three
// digits follow that are no numerator.
func (r *reader) number(p *part) {
	for !r.done() {
		c, n := r.peek()
		switch {
		case c >= '0' && c <= '9':
		case c == '.' || c == ',':
			next, _ := utf8.DecodeRuneInString(r.s[r.i+n:])
			if (next < '0' || next > '9') && c != r.dec.sign() {
				return
			}
		case (c == 'e' || c == 'E') && exponentHere(r.s[r.i+n:]):
			n++
			for r.i+n < len(r.s) && isDigit(r.s[r.i+n]) {
				n++
			}
		default:
			k := thousandsMark(c, r.dec)
			at := r.i + n
			if k == 0 || !threeDigits(r.s, at) {
				return
			}
			if rest := r.s[at+3:]; isSlash(firstRune(rest)) || isSlash(firstRune(strings.TrimLeftFunc(rest, blank))) {
				return
			}
			p.thousand = p.thousand || k == '\''
		}
		r.i += n
	}
}

func exponentHere(s string) bool {
	return len(s) > 1 && (s[0] == '+' || s[0] == '-') && isDigit(s[1])
}

func firstRune(s string) rune {
	r, _ := utf8.DecodeRuneInString(s)
	return r
}

// unit reads the unit behind a quantity, if there is one.
func (r *reader) unit(p *part) (why string) {
	back := r.i
	r.blanks()
	if r.done() {
		return ""
	}
	c, n := r.peek()
	switch c {
	case '"', '″', '”', '“', '〃', '˝':
		r.i += n
		p.unit = Inches
		return ""
	case '\'', '′', '’', '‘', '´', '`', 'ʹ', 'ʼ':
		r.i += n
		if next, m := r.peek(); next == c && m > 0 {
			r.i += m
			p.unit = Inches
			return ""
		}
		p.unit = Feet
		return ""
	case '-': // 4-inch
		if next, _ := utf8.DecodeRuneInString(r.s[r.i+n:]); !unicode.IsLetter(next) {
			r.i = back
			return ""
		}
		r.i += n
		c, _ = r.peek()
	}
	if !unicode.IsLetter(c) {
		r.i = back
		return ""
	}
	if rest := r.s[r.i:]; len(rest) > 4 && strings.EqualFold(rest[:4], "and ") {
		r.i = back
		return ""
	}
	w := r.word()
	m, ok := unitWords()[foldWord(w)]
	if !ok || m.length == 0 || w == "M" {
		if m.volume != 0 {
			return "it names a volume"
		}
		return strconvQuote(w) + " is no unit of length"
	}
	if !r.done() && r.s[r.i] == '.' {
		r.i++
	}
	p.unit = m.length
	return ""
}

// word passes a run of letters, with a raised figure behind it.
func (r *reader) word() string {
	start := r.i
	for !r.done() {
		c, n := r.peek()
		if !unicode.IsLetter(c) && c != '²' && c != '³' && !(c >= 0x300 && c <= 0x36F) {
			break
		}
		r.i += n
	}
	return r.s[start:r.i]
}

func foldWord(w string) string { return strings.ReplaceAll(Fold(w), " ", "") }
