package xlsx

import (
	"bytes"
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"
)

// splices are the changes to one part: pieces of it by their offsets, and what
// stands there instead. All other bytes stay as they are. What is put in lies
// in one piece of memory, for a sheet gets tens of thousands of cells.
type splices struct {
	list []splice
	text []byte
}

// splice replaces the bytes [from, to) of the part by text[a:b].
type splice struct {
	from, to int64
	a, b     int
}

// begin opens a change whose text is appended to s.text until end.
func (s *splices) begin() int { return len(s.text) }

// end closes a change that was opened at mark; one that puts in nothing and
// takes out nothing is none.
func (s *splices) end(mark int, from, to int64) {
	if mark < len(s.text) || from < to {
		s.list = append(s.list, splice{from, to, mark, len(s.text)})
	}
}

// put replaces [from, to) by text.
func (s *splices) put(from, to int64, text string) {
	mark := s.begin()
	s.text = append(s.text, text...)
	s.end(mark, from, to)
}

// sort brings the changes into the order of the part. Those at one offset keep
// the order in which they were made, an insertion before a replacement.
func (s *splices) sort() error {
	slices.SortStableFunc(s.list, func(a, b splice) int {
		return cmp.Or(cmp.Compare(a.from, b.from), cmp.Compare(a.to, b.to))
	})
	for i := 1; i < len(s.list); i++ {
		if s.list[i].from < s.list[i-1].to {
			return fmt.Errorf("two changes of one part meet at byte %d; this is a fault of dropcut, nothing was written", s.list[i].from)
		}
	}
	return nil
}

// copy streams a part from r to w with the changes made. It has to have been
// sorted.
func (s *splices) copy(w io.Writer, r io.Reader) error {
	at := int64(0)
	buf := make([]byte, 64<<10)
	for _, c := range s.list {
		if err := copyN(w, r, c.from-at, buf); err != nil {
			return err
		}
		if _, err := w.Write(s.text[c.a:c.b]); err != nil {
			return err
		}
		if err := copyN(io.Discard, r, c.to-c.from, buf); err != nil {
			return err
		}
		at = c.to
	}
	_, err := io.CopyBuffer(w, r, buf)
	return err
}

func copyN(w io.Writer, r io.Reader, n int64, buf []byte) error {
	if n == 0 {
		return nil
	}
	got, err := io.CopyBuffer(w, io.LimitReader(r, n), buf)
	if err == nil && got < n {
		err = io.ErrUnexpectedEOF
	}
	return err
}

// apply makes the changes in a small part.
func (s *splices) apply(part []byte) ([]byte, error) {
	if err := s.sort(); err != nil {
		return nil, err
	}
	var out bytes.Buffer
	err := s.copy(&out, bytes.NewReader(part))
	return out.Bytes(), err
}

// idle reports whether the changes leave the part as it is.
func (s *splices) idle() bool { return len(s.list) == 0 }

// escapeXML appends text as it stands between tags or in double quotes.
func escapeXML(dst []byte, text string) []byte {
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

// escapeText appends the text of a cell: XML escapes, and for what XML cannot
// carry the escapes of ST_Xstring (ECMA-376 Part 1, 22.9.2.19). A text that
// looks like such an escape gets its underscore escaped.
func escapeText(dst []byte, text string) []byte {
	for i, r := range text {
		switch {
		case r == '_' && looksEscaped(text[i:]):
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

func looksEscaped(s string) bool {
	_, n := escape([]byte(s[:min(len(s), 7)]))
	return n > 0
}

// keepsSpace reports whether blanks of the text are lost without xml:space.
func keepsSpace(text string) bool {
	return strings.TrimSpace(text) != text || strings.ContainsAny(text, "\n\t") || strings.Contains(text, "  ")
}
