package lex

import (
	"bytes"
	"unicode/utf16"
	"unicode/utf8"
)

// Truth reads a boolean attribute (xsd:boolean, with the "on" of old writers).
func Truth(b []byte) bool {
	switch string(b) {
	case "1", "true", "on":
		return true
	}
	return false
}

// RichText appends the text of the string item (si or is) whose start tag is
// in hand and moves to its end: all its runs joined, without the phonetic ones.
// Blanks at the ends stay whether or not xml:space says so: programs differ
// there, and an id with a stray blank is to be seen.
func RichText(x *Lexer, dst []byte) ([]byte, error) {
	depth := x.Depth() - 1
	for x.Depth() > depth {
		tok, err := x.Next()
		if err == nil && tok == TokStart {
			switch {
			case x.Is("t"):
				from := len(dst)
				if dst, err = TextOf(x, dst); err == nil {
					dst = dst[:from+len(DecodeEscapes(dst[from:]))]
				}
			case x.Is("r"): // its t comes by
			default:
				err = x.Skip()
			}
		}
		if err != nil {
			return dst, err
		}
	}
	return dst, nil
}

// TextOf appends the text inside the element whose start tag is in hand and
// moves to its end.
func TextOf(x *Lexer, dst []byte) ([]byte, error) {
	depth := x.Depth() - 1
	for x.Depth() > depth {
		tok, err := x.Next()
		if err != nil {
			return dst, err
		}
		switch tok {
		case TokText:
			dst = append(dst, x.Text()...)
		case TokStart:
			return dst, x.Fail(x.From, "<%s> stands inside a text", Snippet(x.FullName()))
		}
	}
	return dst, nil
}

// DecodeEscapes replaces _x000D_ and its like in place by the characters meant
// (ST_Xstring, ECMA-376 Part 1, 22.9.2.19) and gives the shorter slice.
func DecodeEscapes(b []byte) []byte {
	i := bytes.Index(b, []byte("_x"))
	if i < 0 {
		return b
	}
	out := b[:i]
	for i < len(b) {
		r, n := escape(b[i:])
		if n == 0 {
			out = append(out, b[i])
			i++
			continue
		}
		if utf16.IsSurrogate(r) {
			low, m := escape(b[i+n:])
			if pair := utf16.DecodeRune(r, low); m > 0 && pair != utf8.RuneError {
				r, n = pair, n+m
			} else {
				// Half a character stays as it is written.
				out = append(out, b[i:i+n]...)
				i += n
				continue
			}
		}
		out = utf8.AppendRune(out, r)
		i += n
	}
	return out
}

// escape reads _xHHHH_ at the start of b; n is 0 where none stands there.
func escape(b []byte) (r rune, n int) {
	if len(b) < 7 || b[0] != '_' || b[1] != 'x' || b[6] != '_' {
		return 0, 0
	}
	for _, c := range b[2:6] {
		d := HexDigit(c)
		if d < 0 {
			return 0, 0
		}
		r = r<<4 | d
	}
	return r, 7
}

// Index reads a count from 0, as it stands in XML.
func Index(b []byte) (int, bool) {
	b = TrimSpace(b)
	if len(b) == 0 || len(b) > 9 {
		return 0, false
	}
	n := 0
	for _, c := range b {
		if c < '0' || c > '9' {
			return 0, false
		}
		n = n*10 + int(c-'0')
	}
	return n, true
}
