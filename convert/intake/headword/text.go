package headword

import (
	"strings"
)

// IsBlank reports whether a rune leaves nothing to be seen: blanks of any width,
// line ends, and the marks that programs put into texts.
func IsBlank(r rune) bool {
	switch r {
	case ' ', '\t', '\n', '\r', 0xA0, 0x2002, 0x2003, 0x2007, 0x2009, 0x200A, 0x200B, 0x202F, 0x2060, 0x3000, 0xFEFF:
		return true
	}
	return false
}

// Tidy gives a text for names and messages: without blanks at its ends, and blanks
// of any width within as one blank.
func Tidy(s string) string { return strings.Join(strings.FieldsFunc(s, IsBlank), " ") }
