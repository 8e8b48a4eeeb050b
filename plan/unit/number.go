package unit

import (
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Decimal says which sign parts the whole from the decimals in a column of
// numbers. One cell cannot tell (1.238 may be twelve hundred), so it is settled
// for a whole column; see DecimalVote.
type Decimal uint8

const (
	// DecimalPoint reads 1,234.5.
	DecimalPoint Decimal = iota
	// DecimalComma reads 1.234,5.
	DecimalComma
)

// String gives "decimal point" or "decimal comma".
func (d Decimal) String() string {
	if d == DecimalComma {
		return "decimal comma"
	}
	return "decimal point"
}

// sign gives the decimal sign, other the sign that then marks thousands.
func (d Decimal) sign() rune {
	if d == DecimalComma {
		return ','
	}
	return '.'
}

func (d Decimal) other() rune {
	if d == DecimalComma {
		return '.'
	}
	return ','
}

// Powers of ten that a float64 holds exactly; more decimals than these go the
// long way.
var exactTens = [...]float64{
	1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
}

// Number reads a number as people and spreadsheets write it: digits, one
// decimal sign, thousands marks in correct groups of three (the sign that is
// not the decimal one, an apostrophe, or a blank of any width), a leading sign
// (also U+2212) and an exponent as spreadsheets store it (1.21E+11). Blanks
// around it are ignored. The result is finite and correctly rounded; ok is
// false for anything else. A plain number costs no allocation.
func Number[S ~string | ~[]byte](s S, dec Decimal) (f float64, ok bool) {
	i, n, neg := 0, len(s), false
	if n > 0 && s[0] == '-' {
		i, neg = 1, true
	}
	point := byte(dec.sign())
	var m uint64
	first, at := i, -1
	for ; i < n; i++ {
		c := s[i]
		if d := c - '0'; d <= 9 {
			m = m*10 + uint64(d)
		} else if c == point && at < 0 {
			at = i
		} else {
			f, _, ok := scanNumber(string(s), dec, 0)
			return f, ok
		}
	}
	digits, decimals := n-first, 0
	if at >= 0 {
		digits--
		decimals = n - 1 - at
	}
	// Up to 2^53 and 1e22 both operands are exact, so that one division rounds
	// once: the result is the nearest float64.
	if digits == 0 || digits > 18 || m > 1<<53 {
		f, _, ok := scanNumber(string(s), dec, 0)
		return f, ok
	}
	f = float64(m)
	if decimals > 0 {
		f /= exactTens[decimals]
	}
	if neg {
		f = -f
	}
	return f, true
}

// Plain reads a number that is digits alone, or digits around one decimal point,
// and says what its writing proves, in one pass: what Number by the point and
// FormOf say of it. ok is false for any other text, which may well be a number.
// Long charts are made of such cells.
func Plain(s []byte) (f float64, form Form, ok bool) {
	var m uint64
	at := -1
	for i, c := range s {
		if d := c - '0'; d <= 9 {
			m = m*10 + uint64(d)
		} else if c == '.' && at < 0 {
			at = i
		} else {
			return 0, FormNone, false
		}
	}
	// Fifteen digits are below 2^53, so that one division rounds once.
	if len(s) == 0 || len(s) > 16 || at < 0 && len(s) > 15 {
		return 0, FormNone, false
	}
	if at < 0 {
		return float64(m), FormWhole, true
	}
	decimals := len(s) - 1 - at
	if at == 0 || decimals == 0 {
		return 0, FormNone, false
	}
	form = FormPoint
	if decimals == 3 && at <= 3 && s[0] != '0' {
		form = FormEitherPoint
	}
	return float64(m) / exactTens[decimals], form, true
}

// ParseNumber is Number with an error that says what is wrong.
func ParseNumber[S ~string | ~[]byte](s S, dec Decimal) (float64, error) {
	f, ok := Number(s, dec)
	if ok {
		return f, nil
	}
	_, why := number(string(s), dec, 0)
	return 0, &Trouble{Text: string(s), Want: "a number", Why: why}
}

// blank reports whether r is white space of any width, or one of the marks
// without width that copied text carries.
func blank(r rune) bool {
	switch r {
	case ' ', '\t', '\n', '\r', '\v', '\f', 0x85, 0xA0, 0x1680, 0x2028, 0x2029, 0x202F, 0x205F, 0x3000, 0x200B, 0x2060, 0xFEFF:
		return true
	}
	return r >= 0x2000 && r <= 0x200A
}

// trim cuts blanks off both ends.
func trim(s string) string { return strings.TrimFunc(s, blank) }

// mark gives a thousands mark's kind: ' ' for blanks, '\” for apostrophes, the
// sign that is not the decimal one; 0 for anything else.
func thousandsMark(r rune, dec Decimal) rune {
	switch {
	case r == dec.other():
		return r
	case r == '\'' || r == '’':
		return '\''
	case r == ' ' || r == 0xA0 || r == 0x202F || r == 0x2009 || r == 0x2007:
		return ' '
	}
	return 0
}

const longestNumber = 400 // bytes; more is no number that a person or a sheet wrote

// number is scanNumber with what is wrong in words.
func number(s string, dec Decimal, shift int) (f float64, why string) {
	f, wrong, ok := scanNumber(s, dec, shift)
	switch {
	case ok:
		return f, ""
	case wrong.strange:
		return 0, odd(wrong.r, trim(s))
	case wrong.r != 0:
		return 0, badGroups(wrong.r)
	}
	return 0, wrong.why
}

// wrong is why a text is no number: a strange character, a thousands mark out of
// place, or a fixed phrase. It is put into words only for a message, since most
// texts of a book are no numbers and need none.
type wrong struct {
	why     string
	r       rune
	strange bool
}

// scanNumber reads any number the long way, times ten to the power shift.
func scanNumber(s string, dec Decimal, shift int) (f float64, w wrong, ok bool) {
	t := trim(s)
	if t == "" {
		return 0, wrong{why: "a number was expected"}, false
	}
	if len(t) > longestNumber {
		return 0, wrong{why: "it is far too long"}, false
	}
	var room [64]byte
	buf := room[:0]
	switch r, n := utf8.DecodeRuneInString(t); r {
	case '-', '−':
		buf = append(buf, '-')
		t = t[n:]
	case '+':
		t = t[n:]
	}
	var (
		kind   rune // of the thousands mark in use
		run    int  // digits since the last mark
		digits int
		whole  = true // before the decimal sign
		zero   = true // only zeros so far
		lead   byte   // the first digit
		exp    int
	)
	i := 0
scan:
	for i < len(t) {
		r, n := utf8.DecodeRuneInString(t[i:])
		switch {
		case r >= '0' && r <= '9':
			if digits == 0 {
				lead = byte(r)
			}
			digits++
			run++
			zero = zero && r == '0'
			buf = append(buf, byte(r))
		case r == dec.sign():
			if !whole {
				return 0, wrong{why: "it has two decimal signs"}, false
			}
			if kind != 0 && run != 3 {
				return 0, wrong{r: kind}, false
			}
			whole = false
			buf = append(buf, '.')
		case r == 'e' || r == 'E':
			if kind != 0 || digits == 0 {
				return 0, wrong{why: "an exponent does not belong there"}, false
			}
			var ok bool
			if exp, ok = exponent(t[i+1:]); !ok {
				return 0, wrong{why: "its exponent is not a small whole number"}, false
			}
			break scan
		default:
			k := thousandsMark(r, dec)
			switch {
			case k == 0:
				return 0, wrong{r: r, strange: true}, false
			case !whole:
				return 0, wrong{why: "nothing but digits may follow its decimal sign"}, false
			case kind == 0 && (run == 0 || run > 3 || lead == '0'), kind != 0 && (k != kind || run != 3):
				return 0, wrong{r: k}, false
			}
			kind, run = k, 0
		}
		i += n
	}
	if digits == 0 {
		return 0, wrong{why: "it has no digits"}, false
	}
	if kind != 0 && whole && run != 3 {
		return 0, wrong{r: kind}, false
	}
	if exp += shift; exp != 0 {
		buf = append(buf, 'e')
		buf = strconv.AppendInt(buf, int64(exp), 10)
	}
	f, err := strconv.ParseFloat(string(buf), 64)
	if err != nil || math.IsInf(f, 0) || math.IsNaN(f) {
		return 0, wrong{why: "it is beyond every number that a computer holds"}, false
	}
	if f == 0 && !zero {
		return 0, wrong{why: "it is too small to be told from nothing"}, false
	}
	return f, wrong{}, true
}

// exponent reads what follows the E: a sign and one to three digits.
func exponent(s string) (e int, ok bool) {
	neg := false
	if s != "" && (s[0] == '+' || s[0] == '-') {
		neg = s[0] == '-'
		s = s[1:]
	}
	if s == "" || len(s) > 3 {
		return 0, false
	}
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return 0, false
		}
		e = e*10 + int(s[i]-'0')
	}
	if neg {
		e = -e
	}
	return e, true
}

func badGroups(kind rune) string {
	name := "blanks"
	switch kind {
	case '\'':
		name = "apostrophes"
	case ',':
		name = "commas"
	case '.':
		name = "points"
	}
	return "its " + name + " do not part groups of three digits"
}

// odd says what is wrong with a number that holds r.
func odd(r rune, t string) string {
	low := strings.ToLower(strings.TrimLeft(t, "+-"))
	switch {
	case low == "nan" || strings.HasPrefix(low, "inf"):
		return "it is no finite number"
	case r == '_':
		return "an underscore does not belong in a number"
	case (r == 'x' || r == 'X') && strings.HasPrefix(low, "0"):
		return "only decimal digits are read"
	case r == utf8.RuneError:
		return "it holds a damaged character"
	}
	return strconv.QuoteRune(r) + " does not belong there"
}
