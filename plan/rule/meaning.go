package rule

import (
	"strconv"
	"strings"
	"time"
)

// Aboveground reports whether the rule is for aboveground tanks only.
func (r *Rule) Aboveground() bool {
	w := strings.ToLower(r.AppliesTo)
	return strings.Contains(w, "aboveground") || strings.Contains(w, "above ground") || w == "ast"
}

// The rules of a place about one quantity are alternatives, any one of which is
// enough, unless a row says AND or BOTH in its basis or condition; the rules
// table writes these words in capitals where they join.

// AsksForBoth reports whether the rule asks for a high-level alarm beside the
// automatic shutoff.
func (r *Rule) AsksForBoth() bool {
	w := r.Basis + " " + r.Condition
	return strings.Contains(w, "BOTH") || strings.Contains(strings.ToLower(w), "both required") || r.Quantity == "alarm_level_and_shutoff_level"
}

// AsksForDryTop reports whether the rule asks, beside its own limit, that no
// fitting on top of the tank is ever wetted.
func (r *Rule) AsksForDryTop() bool {
	w := r.Basis + " " + r.Condition
	return strings.Contains(w, "AND") && strings.Contains(w, "fitting")
}

// First gives the first number of a value that has several, "90;95"; 0 where
// there is none.
func (r *Rule) First() float64 {
	first, _, _ := strings.Cut(r.ValueText, ";")
	v, err := strconv.ParseFloat(strings.TrimSpace(first), 64)
	if err != nil {
		return 0
	}
	return v
}

// Due gives the day by which something that was last done on a day has to be
// done again under the rule: the same day of the period after it, at the latest
// ("on or before the same day", UST Compliance Performance Measures, Guide for
// Inspectors, 2018). Where that month has no such day, as after 29 February, it
// is the month's last. ok is false where the rule is no period.
func (r *Rule) Due(last time.Time) (due time.Time, ok bool) {
	n := int(r.Value)
	if float64(n) != r.Value || n <= 0 {
		return time.Time{}, false
	}
	switch r.period() {
	case yearDays:
		return addMonths(last, 12*n), true
	case monthDays:
		return addMonths(last, n), true
	case oneDay:
		return last.AddDate(0, 0, n), true
	}
	return time.Time{}, false
}

// The days of a year, of a month and of a day, for comparing periods.
const (
	yearDays  = 365.2425
	monthDays = yearDays / 12
	oneDay    = 1
)

// period gives the days of the rule's unit of time; 0 where it is none.
func (r *Rule) period() float64 {
	switch strings.TrimSuffix(strings.ToLower(strings.TrimSpace(r.Unit)), "s") {
	case "year":
		return yearDays
	case "month":
		return monthDays
	case "day":
		return oneDay
	}
	return 0
}

// Shorter reports whether the rule's period is shorter than another's by more
// than a day: three years and 36 months are the same.
func (r *Rule) Shorter(than *Rule) bool {
	return r.Value*r.period() < than.Value*than.period()-1
}

func addMonths(t time.Time, n int) time.Time {
	due := t.AddDate(0, n, 0)
	if due.Day() != t.Day() {
		due = due.AddDate(0, 0, -due.Day())
	}
	return due
}
