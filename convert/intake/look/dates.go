package look

import (
	"math"
	"strings"
	"unicode"

	"dropcut/plan/unit"
)

// A fraction of an inch that a spreadsheet took for a date: 1/8 became 8
// January, 3/4 became 4 March, 1/32 became January 1932.

// isDate reports whether a text is one of the forms that such dates are stored
// in: "8-Jan", "Jan-08", "1-Mar", "01/08/2026", "2026-01-08 00:00:00".
func isDate(s string) bool {
	_, ok := dateParts(s)
	return ok
}

// dateText is what a date's text says; 0 for a part that is not there.
type dateText struct {
	day, month, year int
	// swap: day and month may be the other way round
	swap bool
}

func dateParts(s string) (d dateText, ok bool) {
	if len(s) < 4 || len(s) > 30 {
		return d, false
	}
	letters, figures, other := 0, 0, 0
	for _, r := range s {
		switch {
		case unicode.IsLetter(r):
			letters++
		case r >= '0' && r <= '9':
			figures++
		case r == '-' || r == '/' || r == '.' || r == ' ' || r == ':' || r == ',':
			other++
		default:
			return d, false
		}
	}
	if figures == 0 || other == 0 {
		return d, false
	}
	if letters > 0 {
		parts := strings.FieldsFunc(s, func(r rune) bool { return r == '-' || r == '/' || r == '.' || r == ' ' || r == ',' })
		if len(parts) != 2 && len(parts) != 3 {
			return d, false
		}
		var nums []int
		for _, p := range parts {
			if m := monthOf(p); m > 0 && d.month == 0 {
				d.month = m
				continue
			}
			n := 0
			for _, c := range p {
				if c < '0' || c > '9' || n > 9999 {
					return d, false
				}
				n = n*10 + int(c-'0')
			}
			nums = append(nums, n)
		}
		if d.month == 0 || len(nums) == 0 {
			return d, false
		}
		d.day = nums[0]
		if len(nums) > 1 {
			d.year = nums[1]
		}
		return d, true
	}
	// A date in figures has three parts, and a year of four figures is one.
	day := s
	if i := strings.IndexByte(s, ' '); i > 0 {
		if !strings.Contains(s[i:], ":") {
			return d, false
		}
		day = s[:i]
	}
	sign := strings.IndexAny(day, "-/.")
	if sign < 0 {
		return d, false
	}
	parts := strings.Split(day, day[sign:sign+1])
	if len(parts) != 3 {
		return d, false
	}
	var n [3]int
	for i, p := range parts {
		if p == "" || len(p) > 4 {
			return d, false
		}
		for _, c := range p {
			if c < '0' || c > '9' {
				return d, false
			}
			n[i] = n[i]*10 + int(c-'0')
		}
	}
	switch {
	case len(parts[0]) == 4:
		d = dateText{day: n[2], month: n[1], year: n[0]}
	case len(parts[2]) == 4:
		d = dateText{day: n[1], month: n[0], year: n[2], swap: true}
		if day[sign] == '.' {
			d.day, d.month = d.month, d.day
		}
	default:
		return d, false
	}
	fits := func(day, month int) bool { return day >= 1 && day <= 31 && month >= 1 && month <= 12 }
	return d, fits(d.day, d.month) || d.swap && fits(d.month, d.day)
}

// monthAhead reports whether a text may start with the name of a month.
func monthAhead(raw []byte) bool {
	if len(raw) < 4 || len(raw) > 30 {
		return false
	}
	if raw[1] >= 0x80 || raw[2] >= 0x80 {
		return true
	}
	switch string([]byte{raw[0] | 0x20, raw[1] | 0x20, raw[2] | 0x20}) {
	case "jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec", "ene", "abr", "ago", "dic", "fev", "avr", "mai", "jui", "aou", "mrz", "mae", "okt", "dez":
		return true
	}
	return false
}

// monthOf gives the number of a month's name in one of four languages, by its
// first three letters.
func monthOf(s string) int {
	if len(s) < 3 {
		return 0
	}
	for _, r := range s {
		if !unicode.IsLetter(r) {
			return 0
		}
	}
	f := unit.Fold(s)
	if len(f) > 10 {
		return 0
	}
	switch {
	case strings.HasPrefix(f, "juil"):
		return 7
	case strings.HasPrefix(f, "juin"):
		return 6
	case strings.HasPrefix(f, "mars"), strings.HasPrefix(f, "marz"), strings.HasPrefix(f, "mrz"), strings.HasPrefix(f, "maerz"):
		return 3
	case f == "avril", f == "avr", f == "abril", f == "abr":
		return 4
	case f == "mai", f == "mayo", f == "may":
		return 5
	case f == "aout", f == "aou", f == "agosto", f == "ago":
		return 8
	case f == "enero", f == "ene":
		return 1
	case f == "fevrier", f == "fev", f == "fevr", f == "febrero":
		return 2
	case f == "dezember", f == "dez", f == "diciembre", f == "dic", f == "decembre":
		return 12
	case f == "oktober", f == "okt", f == "octubre", f == "octobre":
		return 10
	}
	months := [...]string{"january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november", "december"}
	for i, m := range months {
		if f == m || f == m[:3] || i == 8 && f == "sept" || f == "septiembre" && i == 8 || f == "noviembre" && i == 10 || f == "novembre" && i == 10 || f == "septembre" && i == 8 || f == "januar" && i == 0 || f == "februar" && i == 1 || f == "janvier" && i == 0 || f == "juni" && i == 5 || f == "junio" && i == 5 || f == "juli" && i == 6 || f == "julio" && i == 6 || f == "janv" && i == 0 {
			return i + 1
		}
	}
	return 0
}

// TypedFractions gives the fractions that may have been typed where a date
// stands now, the likeliest first. serial is the date's number where it has one.
func TypedFractions(text string, serial float64) []float64 {
	var d dateText
	switch {
	case !math.IsNaN(serial):
		t, ok := unit.SerialDate(serial, false)
		if !ok {
			return nil
		}
		d = dateText{day: t.Day(), month: int(t.Month()), year: t.Year(), swap: true}
	default:
		var ok bool
		if d, ok = dateParts(text); !ok {
			return nil
		}
		d.swap = true
	}
	var out []float64
	add := func(num, den int) {
		switch den {
		case 2, 4, 8, 16, 32, 64, 3, 5, 6, 7, 9, 10, 12:
			if num > 0 && num < den {
				out = append(out, float64(num)/float64(den))
			}
		}
	}
	add(d.month, d.day)
	add(d.day, d.month)
	if d.day <= 1 {
		add(d.month, d.year%100)
	}
	return out
}

// A serial number of a day in these years standing among depths is a date that
// has lost its format. A depth in that range would be a tank of 900 m in
// millimetres.
const (
	FirstSerial = 36526 // 1 January 2000
	LastSerial  = 54789 // 31 December 2049
)
