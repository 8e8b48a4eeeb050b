package unit

import (
	"strconv"
	"unicode/utf8"
)

// ratio is a fraction as it is written; den is 0 for none.
type ratio struct{ num, den int }

// vulgar gives the fraction that one character stands for (Unicode, Number
// Forms and Latin-1 Supplement). U+215F, the numerator one, has no denominator
// of its own and is read by reader.fraction.
func vulgar(r rune) ratio {
	switch r {
	case '¼':
		return ratio{1, 4}
	case '½':
		return ratio{1, 2}
	case '¾':
		return ratio{3, 4}
	case '⅐':
		return ratio{1, 7}
	case '⅑':
		return ratio{1, 9}
	case '⅒':
		return ratio{1, 10}
	case '⅓':
		return ratio{1, 3}
	case '⅔':
		return ratio{2, 3}
	case '⅕':
		return ratio{1, 5}
	case '⅖':
		return ratio{2, 5}
	case '⅗':
		return ratio{3, 5}
	case '⅘':
		return ratio{4, 5}
	case '⅙':
		return ratio{1, 6}
	case '⅚':
		return ratio{5, 6}
	case '⅛':
		return ratio{1, 8}
	case '⅜':
		return ratio{3, 8}
	case '⅝':
		return ratio{5, 8}
	case '⅞':
		return ratio{7, 8}
	case '↉':
		return ratio{0, 3}
	}
	return ratio{}
}

const numeratorOne = '⅟'

func isFraction(r rune) bool { return r == numeratorOne || vulgar(r).den != 0 }

// isSlash reports whether r parts a numerator from its denominator.
func isSlash(r rune) bool { return r == '/' || r == '⁄' || r == '∕' }

// raised gives the digit of a superscript, lowered that of a subscript; -1 for
// anything else.
func raised(r rune) int {
	switch r {
	case '¹':
		return 1
	case '²':
		return 2
	case '³':
		return 3
	case '⁰', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹':
		return int(r - '⁰')
	}
	return -1
}

func lowered(r rune) int {
	if r >= '₀' && r <= '₉' {
		return int(r - '₀')
	}
	return -1
}

// fraction reads a fraction and adds it to the part.
func (r *reader) fraction(p *part) (why string) {
	c, n := r.peek()
	if v := vulgar(c); v.den != 0 {
		r.i += n
		return p.add(v.num, v.den)
	}
	if c == numeratorOne {
		r.i += n
		den, ok := r.figures(lowered)
		if !ok {
			return "a denominator is missing"
		}
		return p.add(1, den)
	}
	num, den, ok := r.ratio()
	if !ok {
		return "a fraction is not whole"
	}
	return p.add(num, den)
}

// ratio reads digits, a slash and digits; where that does not stand there it
// moves nowhere.
func (r *reader) ratio() (num, den int, ok bool) {
	start := r.i
	if num, ok = r.figures(raised); !ok {
		r.i = start
		return 0, 0, false
	}
	r.blanks()
	if c, n := r.peek(); isSlash(c) && n > 0 {
		r.i += n
		r.blanks()
		if den, ok = r.figures(lowered); ok {
			return num, den, true
		}
	}
	r.i = start
	return 0, 0, false
}

// figures reads a whole number of ordinary digits or of small ones, never of
// both: 98³ starts with 98.
func (r *reader) figures(small func(rune) int) (v int, ok bool) {
	ordinary := !r.done() && isDigit(r.s[r.i])
	for !r.done() {
		c, n := r.peek()
		d := -1
		switch {
		case !ordinary:
			d = small(c)
		case c >= '0' && c <= '9':
			d = int(c - '0')
		}
		if d < 0 {
			break
		}
		if v = v*10 + d; v > 1e6 {
			return 0, false
		}
		ok = true
		r.i += n
	}
	return v, ok
}

// add puts a fraction to the part. An improper one is refused: 35/8 is more
// often 3 5/8 with its blank lost than what it says.
func (p *part) add(num, den int) (why string) {
	switch {
	case den == 0:
		return "the fraction divides by nothing"
	case num >= den:
		return "the fraction is not smaller than one"
	case den > 1000:
		return "the fraction is finer than any rule is marked"
	}
	p.value += float64(num) / float64(den)
	p.whole = false
	p.fraction = true
	return ""
}

func strconvQuote(s string) string {
	if utf8.ValidString(s) {
		return strconv.Quote(clip(s, 40))
	}
	return "a damaged character"
}
