package unit

import "unicode/utf8"

// Form is what the writing of one number proves about the decimal sign of the
// column that it stands in.
type Form uint8

const (
	// FormNone holds no number.
	FormNone Form = iota
	// FormWhole is digits alone, which prove nothing: 1234.
	FormWhole
	// FormPoint proves a decimal point: 12.5, 1,234.5, 1,234,567, 0.125.
	FormPoint
	// FormComma proves a decimal comma: 12,5, 1.234,5, 1.234.567, 0,125.
	FormComma
	// FormEitherPoint holds one point before exactly three digits, 1.238: a
	// decimal point or a mark of thousands.
	FormEitherPoint
	// FormEitherComma holds one comma before exactly three digits: 1,238.
	FormEitherComma
)

// FormOf looks at the first number of a cell's text; a unit or anything else
// behind it ("2,45 m") is passed over. It does not allocate.
func FormOf[S ~string | ~[]byte](s S) Form {
	var (
		points, commas int
		digits         int  // in all
		before         int  // digits before the first sign
		run            int  // digits since the last sign or mark
		lead           byte // the first digit
		last           byte // the last sign
		groups         bool // a blank or an apostrophe parted digits
		even           = true
	)
	i := 0
	for i < len(s) && !isDigit(s[i]) && s[i] != '.' && s[i] != ',' {
		if c := s[i]; c|0x20 >= 'a' && c|0x20 <= 'z' {
			return FormNone // words first: a title, an id
		}
		i++
	}
scan:
	for i < len(s) {
		c := s[i]
		switch {
		case isDigit(c):
			if digits == 0 {
				lead = c
			}
			digits++
			run++
			i++
		case c == '.' || c == ',':
			if points+commas == 0 {
				before = run
			} else if run != 3 {
				even = false
			}
			if c == '.' {
				points++
			} else {
				commas++
			}
			last, run = c, 0
			i++
		case (c == 'e' || c == 'E') && run > 0 && points+commas == 1 && exponentAt(s, i+1):
			// Only a machine writes an exponent, so that its sign is decimal.
			if last == '.' {
				return FormPoint
			}
			return FormComma
		default:
			n := groupMark(s, i)
			if n == 0 || run == 0 || points+commas > 0 && run != 3 || !threeDigits(s, i+n) {
				break scan
			}
			groups, run = true, 0
			i += n
		}
	}
	if digits == 0 {
		return FormNone
	}
	one := func(c byte) Form {
		if c == '.' {
			return FormPoint
		}
		return FormComma
	}
	other := func(c byte) Form {
		if c == '.' {
			return FormComma
		}
		return FormPoint
	}
	switch {
	case points+commas == 0:
		return FormWhole
	case run == 0: // "12." at the end of a phrase or of a printed number
		if points+commas > 1 || before == 0 {
			return FormNone
		}
		return FormWhole
	case points > 0 && commas > 0:
		if points > 1 && commas > 1 || last == '.' && points > 1 || last == ',' && commas > 1 || !even {
			return FormNone
		}
		return one(last)
	case points+commas > 1:
		if !even || run != 3 {
			return FormNone // 1.2.3, 12,34,5
		}
		return other(last)
	case groups, run != 3, before == 0, before > 3, lead == '0':
		return one(last)
	case last == '.':
		return FormEitherPoint
	}
	return FormEitherComma
}

func isDigit(c byte) bool { return c-'0' <= 9 }

// groupMark gives the length of a blank or apostrophe at s[i] that may part
// groups of digits, 0 for none.
func groupMark[S ~string | ~[]byte](s S, i int) int {
	if s[i] == ' ' || s[i] == '\'' {
		return 1
	}
	if s[i] < utf8.RuneSelf {
		return 0
	}
	var b [utf8.UTFMax]byte
	n := copy(b[:], s[i:min(i+utf8.UTFMax, len(s))])
	r, size := utf8.DecodeRune(b[:n])
	if k := thousandsMark(r, DecimalPoint); k == ' ' || k == '\'' {
		return size
	}
	return 0
}

func threeDigits[S ~string | ~[]byte](s S, i int) bool {
	if i+3 > len(s) || !isDigit(s[i]) || !isDigit(s[i+1]) || !isDigit(s[i+2]) {
		return false
	}
	return i+3 == len(s) || !isDigit(s[i+3])
}

func exponentAt[S ~string | ~[]byte](s S, i int) bool {
	if i < len(s) && (s[i] == '+' || s[i] == '-') {
		i++
	}
	start := i
	for i < len(s) && isDigit(s[i]) {
		i++
	}
	return i > start && i-start <= 3 && i == len(s)
}

// DecimalVote settles the decimal sign of a column from all its cells. The zero
// DecimalVote has seen none. Votes of several columns of one file can be
// merged, since a file has one writer.
type DecimalVote struct {
	Point       int // cells that prove a decimal point
	Comma       int // cells that prove a decimal comma
	EitherPoint int // 1.238
	EitherComma int // 1,238
	Whole       int // 1238
	None        int // no number
}

// Add counts one cell. It does not allocate.
func (v *DecimalVote) Add(raw []byte) { v.add(FormOf(raw)) }

// AddString is Add for a string.
func (v *DecimalVote) AddString(raw string) { v.add(FormOf(raw)) }

func (v *DecimalVote) add(f Form) {
	switch f {
	case FormWhole:
		v.Whole++
	case FormPoint:
		v.Point++
	case FormComma:
		v.Comma++
	case FormEitherPoint:
		v.EitherPoint++
	case FormEitherComma:
		v.EitherComma++
	default:
		v.None++
	}
}

// Merge adds the cells of another vote.
func (v *DecimalVote) Merge(o DecimalVote) {
	v.Point += o.Point
	v.Comma += o.Comma
	v.EitherPoint += o.EitherPoint
	v.EitherComma += o.EitherComma
	v.Whole += o.Whole
	v.None += o.None
}

// Verdict says how sure the vote of a column is.
type Verdict uint8

const (
	// Undecided columns hold 1.238 or 1,238 and nothing that tells which sign
	// is decimal: ask.
	Undecided Verdict = iota
	// Free columns hold no sign at all; either reading gives the same numbers.
	Free
	// Settled columns hold proof for one sign and none for the other.
	Settled
	// Mixed columns hold proof for both; the sign of the clear majority is
	// given and the cells that contradict it are to be reported one by one.
	Mixed
)

// String gives the verdict as a word.
func (v Verdict) String() string {
	return [...]string{"undecided", "free", "settled", "mixed"}[min(v, Mixed)]
}

// Result gives the decimal sign of the column. With Undecided, the sign given
// means nothing.
func (v *DecimalVote) Result() (Decimal, Verdict) {
	switch {
	case v.Point == 0 && v.Comma == 0:
		if v.EitherPoint+v.EitherComma > 0 {
			return DecimalPoint, Undecided
		}
		return DecimalPoint, Free
	case v.Comma == 0:
		return DecimalPoint, Settled
	case v.Point == 0:
		return DecimalComma, Settled
	// A stray comma in a column of points is a slip to be shown; a column that
	// is half and half has been pasted together, and nobody can say which half
	// the 1.238 in it belongs to. Three to one is common practice, no source.
	case v.Point >= 3*v.Comma:
		return DecimalPoint, Mixed
	case v.Comma >= 3*v.Point:
		return DecimalComma, Mixed
	}
	return DecimalPoint, Undecided
}

// Contradicts reports whether a cell proves the sign that the column does not
// use.
func (d Decimal) Contradicts(f Form) bool {
	return d == DecimalPoint && f == FormComma || d == DecimalComma && f == FormPoint
}
