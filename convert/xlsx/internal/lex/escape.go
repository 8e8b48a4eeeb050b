package lex

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// EscapeXML appends text as it stands between tags or in double quotes.
func EscapeXML(dst []byte, text string) []byte {
	for i := 0; i < len(text); i++ {
		switch c := text[i]; c {
		case '&':
			dst = append(dst, "&amp;"...)
		case '<':
			dst = append(dst, "&lt;"...)
		case '>':
			dst = append(dst, "&gt;"...)
		case '"':
			dst = append(dst, "&quot;"...)
		default:
			dst = append(dst, c)
		}
	}
	return dst
}

// EscapeText appends the text of a cell: XML escapes, and for what XML cannot
// carry the escapes of ST_Xstring (ECMA-376 Part 1, 22.9.2.19). A text that
// looks like such an escape gets its underscore escaped.
func EscapeText(dst []byte, text string) []byte {
	for i, r := range text {
		switch {
		case r == '_' && LooksEscaped(text[i:]):
			dst = append(dst, "_x005F_"...)
		case r < ' ' && r != '\n' && r != '\t', r == 0xfffe, r == 0xffff:
			dst = fmt.Appendf(dst, "_x%04X_", r)
		case r == '&':
			dst = append(dst, "&amp;"...)
		case r == '<':
			dst = append(dst, "&lt;"...)
		case r == '>':
			dst = append(dst, "&gt;"...)
		default:
			// What is no UTF-8 comes as U+FFFD.
			dst = utf8.AppendRune(dst, r)
		}
	}
	return dst
}

// LooksEscaped reports whether a text begins with _xHHHH_.
func LooksEscaped(s string) bool {
	_, n := escape([]byte(s[:min(len(s), 7)]))
	return n > 0
}

// KeepsSpace reports whether blanks of the text are lost without xml:space.
func KeepsSpace(text string) bool {
	return strings.TrimSpace(text) != text || strings.ContainsAny(text, "\n\t") || strings.Contains(text, "  ")
}
