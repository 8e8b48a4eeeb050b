package record

import (
	"bytes"
	"fmt"
	"io"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
)

// Bounds on one record, so that a file that is no table cannot fill the memory.
const (
	maxField  = 1 << 20  // bytes; a spreadsheet cell holds 32,767 characters
	maxRecord = 16 << 20 // bytes
	// MaxFields is how many columns a sheet has.
	MaxFields = 16384
)

// Field is one field within a record: its bytes go From To, without its quotes
// where it has some. The raw field, quotes and all, goes from Raw to End, where
// the next delimiter stands.
type Field struct {
	Raw, From, To, End int
	Quoted             bool
	Escaped            bool // it holds doubled quotes or line ends to be turned
}

// Splitter cuts a stream into records and fields. It is our own because the
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
type Splitter struct {
	r     io.Reader
	delim byte
	stops [256]bool // the delimiter and the line ends
	buf   []byte
	start int // of the record
	fresh int // of what is behind the record and its line end
	end   int // of what has been read
	eof   bool

	N      int     // records so far
	Size   int     // bytes of the record without its line end
	Fields []Field // of the record
	Err    error   // what ended the stream, nil for its end
}

// NewSplitter cuts what is read from r, which stands in UTF-8 or Windows-1252.
func NewSplitter(r io.Reader, delim byte) *Splitter {
	s := &Splitter{r: r, delim: delim, buf: make([]byte, BlockSize)}
	s.stops[delim], s.stops['\n'], s.stops['\r'] = true, true, true
	return s
}

// SplitBytes is a Splitter over bytes that are all there.
func SplitBytes(b []byte, delim byte) *Splitter {
	s := &Splitter{delim: delim, buf: b, end: len(b), eof: true}
	s.stops[delim], s.stops['\n'], s.stops['\r'] = true, true, true
	return s
}

// Record gives the bytes of the record without its line end. It is valid until
// Next.
func (s *Splitter) Record() []byte { return s.buf[s.start : s.start+s.Size] }

// LineEnd gives the bytes that ended the record, none at the end of the file.
func (s *Splitter) LineEnd() []byte { return s.buf[s.start+s.Size : s.fresh] }

// Last reports whether nothing follows the record.
func (s *Splitter) Last() bool { return s.eof && s.fresh == s.end }

// Text gives a field's bytes without quotes, doubled quotes still doubled.
func (s *Splitter) Text(f *Field) []byte { return s.buf[s.start+f.From : s.start+f.To] }

// Next moves to the next record. It is false at the end and on an error.
func (s *Splitter) Next() bool {
	if s.Err != nil {
		return false
	}
	s.start = s.fresh
	for {
		switch s.scan() {
		case scanned:
			s.N++
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
func (s *Splitter) fill() bool {
	if s.start > 0 {
		copy(s.buf, s.buf[s.start:s.end])
		s.end -= s.start
		s.fresh -= s.start
		s.start = 0
	}
	if s.end == len(s.buf) {
		if s.end >= maxRecord {
			s.Err = fmt.Errorf("row %d is longer than %d MiB: a quote may be left open there, or this is no table", s.N+1, maxRecord>>20)
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
			s.Err = err
			return false
		case n > 0:
			return true
		case tries == 100:
			s.Err = io.ErrNoProgress
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
func (s *Splitter) scan() scanResult {
	buf, end, base := s.buf, s.end, s.start
	s.Fields = s.Fields[:0]
	if base == end {
		return needMore
	}
	i := base
	for {
		if len(s.Fields) == MaxFields {
			s.Err = fmt.Errorf("row %d has more than %d columns: this is no table, or its delimiter is another", s.N+1, MaxFields)
			return failed
		}
		f := Field{Raw: i - base, From: i - base}
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
		f.To = i - base
	closed:
		f.End = i - base
		if f.End-f.Raw > maxField {
			s.Err = fmt.Errorf("row %d, column %d holds more than %d MiB: a quote may be left open there, or this is no table", s.N+1, len(s.Fields)+1, maxField>>20)
			return failed
		}
		if i == end && !s.eof {
			return needMore
		}
		s.Fields = append(s.Fields, f)
		if i < end && buf[i] == s.delim {
			i++
			continue
		}
		s.Size = i - base
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
func (s *Splitter) quoted(f *Field, i int) (int, scanResult) {
	buf, end, base := s.buf, s.end, s.start
	f.Quoted = true
	f.From = i - base
	loose, lines := false, false
	for {
		for i < end && buf[i] != '"' && buf[i] != '\n' && buf[i] != '\r' {
			i++
		}
		if i-base-f.From > maxField {
			s.Err = s.neverClosed()
			return 0, failed
		}
		if i == end {
			if !s.eof {
				return 0, needMore
			}
			s.Err = s.neverClosed()
			return 0, failed
		}
		if buf[i] != '"' {
			lines = true
			f.Escaped = f.Escaped || buf[i] == '\r'
			i++
			continue
		}
		j := i + 1
		if j < end && buf[j] == '"' {
			f.Escaped = true
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
				s.Err = fmt.Errorf("row %d, column %d has quotes that do not pair, so that several rows run into one: a quote is missing there or one too many stands before it; correct it", s.N+1, len(s.Fields)+1)
				return 0, failed
			}
			f.To = i - base
			return j, scanned
		}
		loose = true
		i++
	}
}

func (s *Splitter) neverClosed() error {
	return fmt.Errorf("row %d, column %d opens a quote that is never closed: the file has been cut off, or a quote is missing there", s.N+1, len(s.Fields)+1)
}

// Turner makes characters of a field's bytes. The zero Turner is for sound UTF-8.
type Turner struct {
	Encoding Encoding
	Damaged  bool // some bytes are none of the encoding
	scratch  []byte
}

// Reset forgets the texts given so far, for the next record.
func (t *Turner) Reset() { t.scratch = t.scratch[:0] }

// Text gives a field's text as UTF-8. It aliases the splitter's buffer or the
// Turner's own; both last until the next record.
func (t *Turner) Text(s *Splitter, f *Field) []byte {
	b := s.Text(f)
	if f.Escaped {
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
	case t.Encoding == Windows1252 && !ascii(b):
		start := len(t.scratch)
		for _, c := range b {
			if c < utf8.RuneSelf {
				t.scratch = append(t.scratch, c)
				continue
			}
			t.scratch = utf8.AppendRune(t.scratch, charmap.Windows1252.DecodeByte(c))
		}
		b = t.scratch[start:]
	case t.Damaged && !utf8.Valid(b):
		b = bytes.ToValidUTF8(b, []byte("\uFFFD"))
	}
	return b
}
