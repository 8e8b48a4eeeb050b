// Package splice changes a part at some of its bytes and leaves all others as
// they are, and writes cells as XML.
package splice

import (
	"bytes"
	"cmp"
	"fmt"
	"io"
	"slices"
)

// List are the changes to one part: pieces of it by their offsets, and what
// stands there instead. All other bytes stay as they are. What is put in lies
// in one piece of memory, for a sheet gets tens of thousands of cells.
type List struct {
	List []splice
	Text []byte
}

// splice replaces the bytes [from, to) of the part by text[a:b].
type splice struct {
	from, to int64
	a, b     int
}

// Begin opens a change whose text is appended to s.text until end.
func (s *List) Begin() int { return len(s.Text) }

// End closes a change that was opened at mark; one that puts in nothing and
// takes out nothing is none.
func (s *List) End(mark int, from, to int64) {
	if mark < len(s.Text) || from < to {
		s.List = append(s.List, splice{from, to, mark, len(s.Text)})
	}
}

// Put replaces [from, to) by text.
func (s *List) Put(from, to int64, text string) {
	mark := s.Begin()
	s.Text = append(s.Text, text...)
	s.End(mark, from, to)
}

// Sort brings the changes into the order of the part. Those at one offset keep
// the order in which they were made, an insertion before a replacement.
func (s *List) Sort() error {
	slices.SortStableFunc(s.List, func(a, b splice) int {
		return cmp.Or(cmp.Compare(a.from, b.from), cmp.Compare(a.to, b.to))
	})
	for i := 1; i < len(s.List); i++ {
		if s.List[i].from < s.List[i-1].to {
			return fmt.Errorf("two changes of one part meet at byte %d; this is a fault of dropcut, nothing was written", s.List[i].from)
		}
	}
	return nil
}

// Copy streams a part from r to w with the changes made. It has to have been
// sorted.
func (s *List) Copy(w io.Writer, r io.Reader) error {
	at := int64(0)
	buf := make([]byte, 64<<10)
	for _, c := range s.List {
		if err := copyN(w, r, c.from-at, buf); err != nil {
			return err
		}
		if _, err := w.Write(s.Text[c.a:c.b]); err != nil {
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

// Apply makes the changes in a small part.
func (s *List) Apply(part []byte) ([]byte, error) {
	if err := s.Sort(); err != nil {
		return nil, err
	}
	var out bytes.Buffer
	err := s.Copy(&out, bytes.NewReader(part))
	return out.Bytes(), err
}

// Idle reports whether the changes leave the part as it is.
func (s *List) Idle() bool { return len(s.List) == 0 }
