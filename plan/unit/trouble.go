package unit

import (
	"errors"
	"strconv"
	"strings"
	"unicode/utf8"
)

// ErrNoUnit says that a number stands without a unit and that nobody told in
// which unit it is. Test for it with errors.Is.
var ErrNoUnit = errors.New("no unit is given")

// ErrDayOrMonth says that a date such as 3/4/2026 can be read two ways. Test
// for it with errors.Is.
var ErrDayOrMonth = errors.New("day and month cannot be told apart")

// Trouble is a text that could not be read. The caller adds where it stood.
type Trouble struct {
	Text string // as it was given
	Want string // what was expected: "a length"
	Why  string // what is wrong with it, and what to do
	Err  error  // ErrNoUnit, ErrDayOrMonth or nil
}

// Error gives `"3/0" is not a length: the fraction divides by nothing`.
func (t *Trouble) Error() string {
	text := strconv.Quote(clip(t.Text, 60))
	if strings.TrimSpace(t.Text) == "" {
		text = "an empty cell"
	}
	return text + " is not " + t.Want + ": " + t.Why
}

// Unwrap gives the sentinel, if there is one.
func (t *Trouble) Unwrap() error { return t.Err }

// clip shortens a text for a message without cutting a character in two.
func clip(s string, n int) string {
	if len(s) <= n {
		return s
	}
	for n > 0 && !utf8.RuneStart(s[n]) {
		n--
	}
	return s[:n] + "..."
}
