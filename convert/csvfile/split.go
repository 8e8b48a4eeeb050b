package csvfile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
)

// Bounds on one record, so that a file that is no table cannot fill the memory.
const (
	maxField  = 1 << 20  // bytes; a spreadsheet cell holds 32,767 characters
	maxRecord = 16 << 20 // bytes
	maxFields = 16384    // columns, as many as a sheet has
)

// span is one field within a record: the bytes from from to to, without its
// quotes where it has some. The raw field, quotes and all, goes from raw to the
// next delimiter.
type span struct {
	raw, from, to, end int
	quoted             bool
	escaped            bool // it holds doubled quotes or line ends to be turned
}

// splitter cuts a stream into records and fields. It is our own because the
// spreadsheet world's CSV is wider than what the standard library reads: bare
// CR ends a row, a quote may stand within a field (6" riser), and a new slice
// for each row of a million is too much. What it accepts beyond RFC 4180:
//
//   - rows end with LF, CRLF, CR or CR CR LF, mixed at will;
//   - a quote that is not a field's first character is that character; blanks
//     before the first quote and behind the last are passed over;
//   - within a quoted field a single quote that is followed neither by the
//     delimiter nor by a row's end is that character, as long as the field holds
//     no line break: with both, a quote was left open somewhere and rows would
//     be swallowed, which is an error.
type splitter struct {
	r     io.Reader
	delim byte
	stops [256]bool // the delimiter and the line ends
	buf   []byte
	start int // of the record
	fresh int // of what is behind the record and its line end
	end   int // of what has been read
	eof   bool
	err   error

	n      int // records so far
	size   int // bytes of the record without its line end
	fields []span
}

func newSplitter(r io.Reader, delim byte) *splitter {
	s := &splitter{r: r, delim: delim, buf: make([]byte, blockSize)}
	s.stops[delim], s.stops['\n'], s.stops['\r'] = true, true, true
	return s
}

// splitBytes is a splitter over bytes that are all there.
func splitBytes(b []byte, delim byte) *splitter {
	s := &splitter{delim: delim, buf: b, end: len(b), eof: true}
	s.stops[delim], s.stops['\n'], s.stops['\r'] = true, true, true
	return s
}

// record gives the bytes of the record without its line end, lineEnd those that
// ended it. Both are valid until next.
func (s *splitter) record() []byte { return s.buf[s.start : s.start+s.size] }

func (s *splitter) lineEnd() []byte { return s.buf[s.start+s.size : s.fresh] }

// field gives a field's bytes without quotes, doubled quotes still doubled.
func (s *splitter) field(f *span) []byte { return s.buf[s.start+f.from : s.start+f.to] }

// next moves to the next record. It is false at the end and on an error.
func (s *splitter) next() bool {
	if s.err != nil {
		return false
	}
	s.start = s.fresh
	for {
		switch s.scan() {
		case scanned:
			s.n++
			return true
		case failed:
			return false
		}
		if s.eof {
			// Scanning to the end of the file needs no more; only an empty
			// rest gets here.
			return false
		}
		if !s.fill() {
			return false
		}
	}
}

// fill reads more behind what is there, moving the record to the front and
// doubling the room where it must.
func (s *splitter) fill() bool {
	if s.start > 0 {
		copy(s.buf, s.buf[s.start:s.end])
		s.end -= s.start
		s.fresh -= s.start
		s.start = 0
	}
	if s.end == len(s.buf) {
		if s.end >= maxRecord {
			s.err = fmt.Errorf("row %d is longer than %d MiB: a quote may be left open there, or this is no table", s.n+1, maxRecord>>20)
			return false
		}
		s.buf = append(s.buf, make([]byte, len(s.buf))...)
	}
	for tries := 0; ; tries++ {
		n, err := s.r.Read(s.buf[s.end:])
		s.end += n
		switch {
		case err == io.EOF:
			s.eof = true
			return true
		case err != nil:
			s.err = err
			return false
		case n > 0:
			return true
		case tries == 100:
			s.err = io.ErrNoProgress
			return false
		}
	}
}

type scanResult uint8

const (
	scanned scanResult = iota
	needMore
	failed
)

// scan cuts the record that starts at start.
func (s *splitter) scan() scanResult {
	buf, end, base := s.buf, s.end, s.start
	s.fields = s.fields[:0]
	if base == end {
		return needMore
	}
	i := base
	for {
		if len(s.fields) == maxFields {
			s.err = fmt.Errorf("row %d has more than %d columns: this is no table, or its delimiter is another", s.n+1, maxFields)
			return failed
		}
		f := span{raw: i - base, from: i - base}
		if i < end && (buf[i] == '"' || buf[i] == ' ') {
			j := i
			for j < end && buf[j] == ' ' {
				j++
			}
			if j == end && !s.eof {
				return needMore
			}
			if j < end && buf[j] == '"' {
				k, r := s.quoted(&f, j+1)
				if r != scanned {
					return r
				}
				i = k
				goto closed
			}
		}
		for i < end && !s.stops[buf[i]] {
			i++
		}
		f.to = i - base
	closed:
		f.end = i - base
		if f.end-f.raw > maxField {
			s.err = fmt.Errorf("row %d, column %d holds more than %d MiB: a quote may be left open there, or this is no table", s.n+1, len(s.fields)+1, maxField>>20)
			return failed
		}
		if i == end && !s.eof {
			return needMore
		}
		s.fields = append(s.fields, f)
		if i < end && buf[i] == s.delim {
			i++
			continue
		}
		s.size = i - base
		switch {
		case i == end:
			s.fresh = end
		case buf[i] == '\n':
			s.fresh = i + 1
		default: // CR, CR LF, CR CR LF
			if i+2 >= end && !s.eof {
				return needMore
			}
			s.fresh = i + 1
			if i+1 < end && buf[i+1] == '\n' {
				s.fresh = i + 2
			} else if i+2 < end && buf[i+1] == '\r' && buf[i+2] == '\n' {
				s.fresh = i + 3
			}
		}
		return scanned
	}
}

// quoted passes a quoted field whose text starts at i and gives the index of
// what ends it, a delimiter or a row's end.
func (s *splitter) quoted(f *span, i int) (int, scanResult) {
	buf, end, base := s.buf, s.end, s.start
	f.quoted = true
	f.from = i - base
	loose, lines := false, false
	for {
		for i < end && buf[i] != '"' && buf[i] != '\n' && buf[i] != '\r' {
			i++
		}
		if i-base-f.from > maxField {
			s.err = s.open(f)
			return 0, failed
		}
		if i == end {
			if !s.eof {
				return 0, needMore
			}
			s.err = s.open(f)
			return 0, failed
		}
		if buf[i] != '"' {
			lines = true
			f.escaped = f.escaped || buf[i] == '\r'
			i++
			continue
		}
		j := i + 1
		if j < end && buf[j] == '"' {
			f.escaped = true
			i += 2
			continue
		}
		for j < end && buf[j] == ' ' {
			j++
		}
		if j == end && !s.eof {
			return 0, needMore
		}
		if j == end || s.stops[buf[j]] {
			if loose && lines {
				s.err = fmt.Errorf("row %d, column %d has quotes that do not pair, so that several rows run into one: a quote is missing there or one too many stands before it; correct it", s.n+1, len(s.fields)+1)
				return 0, failed
			}
			f.to = i - base
			return j, scanned
		}
		loose = true
		i++
	}
}

func (s *splitter) open(*span) error {
	return fmt.Errorf("row %d, column %d opens a quote that is never closed: the file has been cut off, or a quote is missing there", s.n+1, len(s.fields)+1)
}

// turner makes characters of a field's bytes.
type turner struct {
	encoding Encoding
	damaged  bool
	scratch  []byte
}

// text gives a field's text as UTF-8. It aliases the splitter's buffer or the
// turner's own; both last until the next record.
func (t *turner) text(s *splitter, f *span) []byte {
	b := s.field(f)
	if f.escaped {
		start := len(t.scratch)
		for i := 0; i < len(b); i++ {
			c := b[i]
			switch {
			case c == '"' && i+1 < len(b) && b[i+1] == '"':
				i++
			case c == '\r' && i+1 < len(b) && b[i+1] == '\n':
				continue
			case c == '\r':
				c = '\n'
			}
			t.scratch = append(t.scratch, c)
		}
		b = t.scratch[start:]
	}
	switch {
	case t.encoding == Windows1252 && !ascii(b):
		start := len(t.scratch)
		for _, c := range b {
			if c < utf8.RuneSelf {
				t.scratch = append(t.scratch, c)
				continue
			}
			t.scratch = utf8.AppendRune(t.scratch, charmap.Windows1252.DecodeByte(c))
		}
		b = t.scratch[start:]
	case t.damaged && !utf8.Valid(b):
		b = bytes.ToValidUTF8(b, []byte("\uFFFD"))
	}
	return b
}

var errChanged = errors.New("the file has changed since it was opened; run again when nobody writes it")
