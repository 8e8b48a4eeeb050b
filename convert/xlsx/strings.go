package xlsx

import (
	"bytes"
	"fmt"
	"io"
	"unicode/utf16"
	"unicode/utf8"
)

// Shared strings are kept for as long as the book is open: at most this much
// XML of them is read.
const stringsMax = 256 << 20

// sharedStrings is the book's table of texts in one piece of memory.
type sharedStrings struct {
	arena []byte
	ends  []uint32
}

// at gives a text by its index; ok is false beyond the table. The text is not
// to be changed.
func (s *sharedStrings) at(i int) (text []byte, ok bool) {
	if i < 0 || i >= len(s.ends) {
		return nil, false
	}
	from := uint32(0)
	if i > 0 {
		from = s.ends[i-1]
	}
	to := s.ends[i]
	return s.arena[from:to:to], true
}

// readStrings reads a shared strings part (ECMA-376 Part 1, 18.4).
func readStrings(p *pack, e *part) (*sharedStrings, error) {
	s := &sharedStrings{}
	err := p.lex(e, stringsMax, func(x *lexer) error {
		if err := x.root("sst"); err != nil {
			return err
		}
		for {
			tok, err := x.next()
			if err == io.EOF {
				return nil
			}
			if err == nil && tok == tokStart {
				if x.is("si") {
					s.arena, err = richText(x, s.arena)
					s.ends = append(s.ends, uint32(len(s.arena)))
				} else {
					err = x.skip()
				}
			}
			if err != nil {
				return err
			}
		}
	})
	if err != nil {
		return nil, err
	}
	return s, nil
}

// richText appends the text of the string item (si or is) whose start tag is
// in hand and moves to its end: all its runs joined, without the phonetic ones.
// Blanks at the ends stay whether or not xml:space says so: programs differ
// there, and an id with a stray blank is to be seen.
func richText(x *lexer, dst []byte) ([]byte, error) {
	depth := x.depth() - 1
	for x.depth() > depth {
		tok, err := x.next()
		if err == nil && tok == tokStart {
			switch {
			case x.is("t"):
				from := len(dst)
				if dst, err = textOf(x, dst); err == nil {
					dst = dst[:from+len(decodeEscapes(dst[from:]))]
				}
			case x.is("r"): // its t comes by
			default:
				err = x.skip()
			}
		}
		if err != nil {
			return dst, err
		}
	}
	return dst, nil
}

// textOf appends the text inside the element whose start tag is in hand and
// moves to its end.
func textOf(x *lexer, dst []byte) ([]byte, error) {
	depth := x.depth() - 1
	for x.depth() > depth {
		tok, err := x.next()
		if err != nil {
			return dst, err
		}
		switch tok {
		case tokText:
			dst = append(dst, x.text()...)
		case tokStart:
			return dst, x.fail(x.from, "<%s> stands inside a text", snippet(x.fullName()))
		}
	}
	return dst, nil
}

// decodeEscapes replaces _x000D_ and its like in place by the characters meant
// (ST_Xstring, ECMA-376 Part 1, 22.9.2.19) and gives the shorter slice.
func decodeEscapes(b []byte) []byte {
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
		d := hexDigit(c)
		if d < 0 {
			return 0, 0
		}
		r = r<<4 | d
	}
	return r, 7
}

// sharedString reads a cell's index into the table.
func (b *Book) sharedString(v []byte) ([]byte, error) {
	if b.strings == nil {
		if b.wb.strings == nil {
			return nil, fmt.Errorf("it points to shared text %s but the book has no shared texts", snippet(v))
		}
		s, err := readStrings(b.pack, b.wb.strings)
		if err != nil {
			return nil, err
		}
		b.strings = s
	}
	i, ok := index(v)
	if !ok {
		return nil, fmt.Errorf("it points to shared text %q, a number was expected", snippet(v))
	}
	text, ok := b.strings.at(i)
	if !ok {
		return nil, fmt.Errorf("it points to shared text %d but the book has %d of them (from 0)", i, len(b.strings.ends))
	}
	return text, nil
}

// index reads a count from 0, as it stands in XML.
func index(b []byte) (int, bool) {
	b = trimSpace(b)
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
