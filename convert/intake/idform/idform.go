// Package idform compares the ids of tanks: as written, loosely, as a tired eye
// does, and as a spreadsheet program spoils them.
package idform

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"dropcut/convert/intake/headword"
	"dropcut/plan/unit"
)

// isDash reports whether a rune is one of the dashes that people and programs
// write for a hyphen.
func isDash(r rune) bool {
	return r == '-' || r >= 0x2010 && r <= 0x2015 || r == 0x2212 || r == 0xFE58 || r == 0xFE63 || r == 0xFF0D || r == 0xAD
}

// Plain gives an id without blanks at its ends, with single blanks within and
// hyphens for dashes: the way it is shown.
func Plain(s string) string {
	return strings.Map(func(r rune) rune {
		if isDash(r) {
			return '-'
		}
		return r
	}, headword.Tidy(s))
}

var (
	aroundJoint = regexp.MustCompile(` ?([-/+]) ?`)
	andJoint    = regexp.MustCompile(` ?& ?| (?:and|und|y|et) `)
	tankPrefix  = regexp.MustCompile(`^(?:tank|tanque|cuve|behalter|tk)[ .#-]+(?:(?:no|nr|number|n°)[ .#-]*)?`)
)

// Fold gives the form in which ids are compared loosely: capitals, blanks and
// dashes do not count, figures and letters do.
func Fold(s string) string {
	s = unit.Fold(Plain(s))
	if !strings.ContainsAny(s, " &") {
		return s // as nearly all are; the patterns below cost ten times as much
	}
	s = andJoint.ReplaceAllString(s, "+")
	return aroundJoint.ReplaceAllString(s, "$1")
}

// Bare gives an id without a word for "tank" before it, so that the sheet
// "Tank 4" holds the chart of the tank 4.
func Bare(s string) string {
	folded := Fold(s)
	if !strings.HasPrefix(folded, "t") && !strings.HasPrefix(folded, "c") && !strings.HasPrefix(folded, "b") {
		return folded
	}
	if bare := tankPrefix.ReplaceAllString(folded, ""); bare != "" && strings.ContainsAny(bare, "0123456789") && len(folded) > len(bare)+1 {
		return bare
	}
	return folded
}

// Close gives the form in which two ids look alike to a tired eye: without
// blanks and signs, O for 0, l and I for 1, no zeros before a number.
func Close(s string) string {
	var b strings.Builder
	run := false // within a number
	for _, r := range Fold(s) {
		switch r {
		case 'o':
			r = '0'
		case 'l', 'i':
			r = '1'
		}
		switch {
		case r >= '1' && r <= '9' || r == '0' && run:
			run = true
			b.WriteRune(r)
		case r == '0':
			// a zero before a number, or alone
		case r == '-' || r == '/' || r == '.' || r == '_' || r == ' ' || r == '#':
			run = false
		default:
			run = false
			b.WriteRune(r)
		}
	}
	return b.String()
}

// Oddities counts what makes an id hard to match: stray blanks, dashes that are
// no hyphens, small letters.
func Oddities(s string) int {
	n := 0
	if s != headword.Tidy(s) {
		n++
	}
	for _, r := range s {
		if isDash(r) && r != '-' {
			n++
			break
		}
	}
	if strings.ToUpper(s) != s {
		n++
	}
	return n
}

// Machine tells what a spreadsheet program made of an id, and which of the
// two is the spoiled one: lost zeros, a number in powers of ten, a date.
func Machine(a, b string) (why string, spoiled string) {
	a, b = headword.Tidy(a), headword.Tidy(b)
	x, xok := IdNumber(a)
	y, yok := IdNumber(b)
	if xok && yok {
		switch {
		case zeros(a) != zeros(b) && x == y:
			if zeros(a) > zeros(b) {
				return "the zeros before the number are lost", b
			}
			return "the zeros before the number are lost", a
		case Powers(a) != Powers(b) && (x == y || alike(a, b, x, y)):
			// 22E1 is an id, and 220 what became of it; 1.2E+11 is what became
			// of a long number.
			if machinePower(a) || plainDigits(a) && !machinePower(b) {
				return "a program took the name for a number in powers of ten", a
			}
			return "a program took the name for a number in powers of ten", b
		case x == y:
			return "the same number is written in two ways", b
		case len(a) > 11 && len(a) == len(b) && alike(a, b, x, y):
			// Eleven figures are what a cell shows, fifteen what it keeps.
			if roundZeros(a) > roundZeros(b) {
				return "a program has rounded the number that it took the name for", a
			}
			return "a program has rounded the number that it took the name for", b
		}
	}
	if dateOf(a, y, yok) || dateOf(b, x, xok) {
		if dateOf(a, y, yok) {
			return "a program made a date of the name", b
		}
		return "a program made a date of the name", a
	}
	return "", ""
}

var idNumberText = regexp.MustCompile(`^\d+(?:\.\d+)?(?:[eE][+-]?\d{1,3})?$`)

func IdNumber(s string) (float64, bool) {
	if !idNumberText.MatchString(s) {
		return 0, false
	}
	f, err := strconv.ParseFloat(s, 64)
	return f, err == nil && !math.IsInf(f, 0)
}

func zeros(s string) int { return len(s) - len(strings.TrimLeft(s, "0")) }

func roundZeros(s string) int { return len(s) - len(strings.TrimRight(s, "0")) }

func Powers(s string) bool { return strings.ContainsAny(s, "eE") }

// machinePower tells the 1.2E+11 that a program writes from the 22E1 that a
// person does.
func machinePower(s string) bool { return Powers(s) && strings.ContainsAny(s, ".+") }

func plainDigits(s string) bool { return strings.Trim(s, "0123456789") == "" }

// alike reports whether one number is the other, rounded to the figures shown.
func alike(a, b string, x, y float64) bool {
	figures := func(s string) int {
		m, _, _ := strings.Cut(strings.ToLower(s), "e")
		if !Powers(s) && roundZeros(s) > 2 {
			m = strings.TrimRight(m, "0")
		}
		return min(15, len(strings.TrimLeft(strings.ReplaceAll(m, ".", ""), "0")))
	}
	n := min(figures(a), figures(b)) - 1
	if n < 0 {
		return false
	}
	return strconv.FormatFloat(x, 'e', n, 64) == strconv.FormatFloat(y, 'e', n, 64) || math.Abs(x-y) <= math.Abs(x)*1e-14
}

var DayMonth = regexp.MustCompile(`^(\d{1,2})[-/.](\d{1,2})$`)

// dateOf reports whether the id is two small numbers and n the serial number of
// a date with them.
func dateOf(id string, n float64, ok bool) bool {
	m := DayMonth.FindStringSubmatch(id)
	if m == nil || !ok || n < 30000 || n > 80000 {
		return false
	}
	day, good := unit.SerialDate(n, false)
	p, _ := strconv.Atoi(m[1])
	q, _ := strconv.Atoi(m[2])
	d, mo := day.Day(), int(day.Month())
	return good && (p == d && q == mo || p == mo && q == d)
}
