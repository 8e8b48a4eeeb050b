package unit

import (
	"strings"
	"time"
	"unicode"
)

// DateOrder says which number of 3/4/2026 is the month.
type DateOrder uint8

const (
	// DateOrderUnknown reads only dates that can be read one way.
	DateOrderUnknown DateOrder = iota
	// MonthFirst reads 3/4/2026 as 4 March.
	MonthFirst
	// DayFirst reads it as 3 April.
	DayFirst
)

// ParseDate reads a date: 2026-04-03, also with a time of day behind it; 3 Apr
// 2026, April 3, 2026, in four languages; 3.4.2026, which is always day first;
// 3/4/2026 by the order, or without one if only one reading is a date or both
// are the same day; else the error is ErrDayOrMonth. Two-digit years are 1930
// to 2029, as spreadsheets read them. Years from 1900 to 2199 are taken. The
// result is midnight UTC.
func ParseDate[S ~string | ~[]byte](s S, order DateOrder) (time.Time, error) {
	text := string(s)
	t, why := parseDate(trim(text), order)
	if why == "" {
		return t, nil
	}
	bad := &Trouble{Text: text, Want: "a date", Why: why}
	if why == whyDayOrMonth {
		bad.Err = ErrDayOrMonth
	}
	return time.Time{}, bad
}

const (
	whyDayOrMonth = "day and month cannot be told apart; write it as 2026-04-03"
	whyNoDate     = "write it as 2026-04-03"
)

func parseDate(s string, order DateOrder) (time.Time, string) {
	if len(s) > 60 {
		return time.Time{}, whyNoDate
	}
	// A time of day behind the date is no part of it.
	if i := strings.IndexAny(s, "T "); i >= 8 && i+1 < len(s) && isDigit(s[i+1]) && strings.Contains(s[i:], ":") && strings.IndexByte(s, ':') > i {
		s = trim(s[:i])
	}
	var (
		nums   [3]int
		digits [3]int
		n      int
		month  int
		monthI int
		sep    rune
	)
	for i := 0; i < len(s); {
		c := s[i]
		switch {
		case isDigit(c):
			if n == 3 {
				return time.Time{}, whyNoDate
			}
			for i < len(s) && isDigit(s[i]) {
				nums[n] = nums[n]*10 + int(s[i]-'0')
				if digits[n]++; digits[n] > 4 {
					return time.Time{}, whyNoDate
				}
				i++
			}
			n++
		case c == '-' || c == '/' || c == '.' || c == ',' || c == ' ':
			if c == '-' || c == '/' || c == '.' && n == 1 && sep == 0 {
				if sep != 0 && sep != rune(c) {
					return time.Time{}, whyNoDate
				}
				sep = rune(c)
			}
			i++
		default:
			end := i
			for end < len(s) {
				r := firstRune(s[end:])
				if !unicode.IsLetter(r) {
					break
				}
				end += len(string(r))
			}
			if end == i {
				return time.Time{}, whyNoDate
			}
			w := foldWord(s[i:end])
			i = end
			switch w {
			case "de", "del", "of", "the", "st", "nd", "rd", "th", "er":
				continue
			}
			m := monthName(w)
			if m == 0 || month != 0 {
				return time.Time{}, whyNoDate
			}
			month, monthI = m, n
		}
	}
	if month != 0 {
		switch {
		case n != 2:
			return time.Time{}, "day, month and year were expected"
		case digits[0] == 4 && monthI <= 1:
			return date(nums[0], digits[0], month, nums[1])
		}
		return date(nums[1], digits[1], month, nums[0])
	}
	switch {
	case n != 3:
		return time.Time{}, "day, month and year were expected"
	case digits[0] == 4:
		return date(nums[0], digits[0], nums[1], nums[2])
	case sep == '.':
		return date(nums[2], digits[2], nums[1], nums[0])
	case sep == 0:
		return time.Time{}, whyNoDate
	}
	monthFirst, why1 := date(nums[2], digits[2], nums[0], nums[1])
	dayFirst, why2 := date(nums[2], digits[2], nums[1], nums[0])
	switch {
	case order == MonthFirst:
		return monthFirst, why1
	case order == DayFirst:
		return dayFirst, why2
	case why1 != "":
		return dayFirst, why2
	case why2 != "" || monthFirst.Equal(dayFirst):
		return monthFirst, ""
	}
	return time.Time{}, whyDayOrMonth
}

// date makes a date of its numbers, refusing what is in no calendar.
func date(y, digits, m, d int) (time.Time, string) {
	switch {
	case digits == 2 && y < 30:
		y += 2000
	case digits == 2:
		y += 1900
	case digits != 4:
		return time.Time{}, "its year has neither two digits nor four"
	}
	if y < 1900 || y > 2199 {
		return time.Time{}, "its year is out of all reason"
	}
	t := time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC)
	if t.Day() != d || int(t.Month()) != m || t.Year() != y {
		return time.Time{}, "no calendar has that day"
	}
	return t, ""
}

// monthName gives the number of a month by its name or its first letters, 0 for
// none.
func monthName(w string) int {
	if len(w) < 3 {
		return 0
	}
	for i, names := range [...]string{
		"january janvier januar enero jan janv ene",
		"february fevrier februar febrero feb fev fevr",
		"march mars marz maerz marzo mar",
		"april avril abril apr avr abr",
		"may mai mayo",
		"june juin juni junio jun",
		"july juillet juli julio jul juil",
		"august aout agosto aug ago",
		"september septembre septiembre sep sept set",
		"october octobre oktober octubre oct okt",
		"november novembre noviembre nov",
		"december decembre dezember diciembre dec dez dic",
	} {
		for name := range strings.SplitSeq(names, " ") {
			if name == w {
				return i + 1
			}
		}
	}
	return 0
}

// SerialDate gives the day of a spreadsheet's serial number: 1 is 1900-01-01
// (and 60 a 29 February that never was), or, in a 1904 book, 0 is 1904-01-01.
// ok is false for what is no date between 1900 and 2199.
func SerialDate(n float64, from1904 bool) (t time.Time, ok bool) {
	base := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
	switch {
	case from1904:
		base = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
	case n < 60:
		base = base.AddDate(0, 0, 1)
	case n < 61:
		return time.Time{}, false
	}
	if !(n >= 0 && n < 110000) || !from1904 && n < 1 {
		return time.Time{}, false
	}
	t = base.AddDate(0, 0, int(n))
	return t, t.Year() < 2200
}
