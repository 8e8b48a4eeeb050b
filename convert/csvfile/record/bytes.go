package record

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"
)

// Encoding is how a file's bytes stand for characters.
type Encoding uint8

const (
	// UTF8 is also plain ASCII.
	UTF8 Encoding = iota
	// Windows1252 is what is left where the bytes are no UTF-8.
	Windows1252
	// UTF16LE and UTF16BE have the low or the high byte first.
	UTF16LE
	UTF16BE
)

// String gives the encoding's name as inspect prints it.
func (e Encoding) String() string {
	return [...]string{"UTF-8", "Windows-1252", "UTF-16 LE", "UTF-16 BE"}[min(e, UTF16BE)]
}

// Wide reports whether a character is two bytes or four.
func (e Encoding) Wide() bool { return e == UTF16LE || e == UTF16BE }

// Facts are what one pass over all the bytes of a file has shown.
type Facts struct {
	Encoding Encoding
	Mark     bool // it starts with a byte order mark
	Damaged  int  // characters that the encoding does not allow
	LF       int  // line ends of each kind, also those in quotes
	CRLF     int
	CR       int
	Head     []byte // the first characters, as UTF-8 or Windows-1252
	Whole    bool   // Head is the whole file
}

const (
	headSize = 64 << 10
	// BlockSize is how much is read at once.
	BlockSize = 64 << 10
)

var (
	markUTF8    = []byte{0xEF, 0xBB, 0xBF}
	markUTF16LE = []byte{0xFF, 0xFE}
	markUTF16BE = []byte{0xFE, 0xFF}
)

// MarkBytes gives the byte order mark, nil for none.
func (f *Facts) MarkBytes() []byte {
	switch {
	case !f.Mark:
		return nil
	case f.Encoding == UTF16LE:
		return markUTF16LE
	case f.Encoding == UTF16BE:
		return markUTF16BE
	}
	return markUTF8
}

// Survey reads a whole file once and says what its bytes are. Its errors end
// what was found with what to do; the caller puts the file's name before.
func Survey(r io.Reader) (Facts, error) {
	var f Facts
	first := make([]byte, BlockSize)
	n, err := io.ReadFull(r, first)
	switch {
	case err == io.EOF:
		return f, errors.New("the file is empty; a table was expected")
	case errors.Is(err, io.ErrUnexpectedEOF):
		f.Whole = n <= headSize
	case err != nil:
		return f, err
	}
	first = first[:n]
	if err := known(first); err != nil {
		return f, err
	}
	switch {
	case bytes.HasPrefix(first, []byte{0xFF, 0xFE, 0, 0}), bytes.HasPrefix(first, []byte{0, 0, 0xFE, 0xFF}):
		return f, errors.New("the text is in UTF-32, which is not read; save it as UTF-8")
	case bytes.HasPrefix(first, markUTF8):
		f.Mark = true
	case bytes.HasPrefix(first, markUTF16LE):
		f.Mark, f.Encoding = true, UTF16LE
	case bytes.HasPrefix(first, markUTF16BE):
		f.Mark, f.Encoding = true, UTF16BE
	default:
		f.Encoding = withoutMark(first)
	}
	body := io.MultiReader(bytes.NewReader(first[len(f.MarkBytes()):]), r)
	if f.Encoding.Wide() {
		return f, f.surveyWide(body)
	}
	return f, f.survey8(body)
}

// withoutMark tells UTF-16 by its zero bytes: in text of western letters and
// digits every second byte is zero, while other text holds none.
func withoutMark(b []byte) Encoding {
	b = b[:len(b)&^1]
	var even, odd int
	for i := 0; i < len(b); i += 2 {
		if b[i] == 0 {
			even++
		}
		if b[i+1] == 0 {
			odd++
		}
	}
	half := len(b) / 2
	switch {
	case half == 0:
		return UTF8
	case odd > half/2 && even < odd/8:
		return UTF16LE
	case even > half/2 && odd < even/8:
		return UTF16BE
	}
	return UTF8
}

// known refuses files that are something else under a wrong name.
func known(b []byte) error {
	b = bytes.TrimLeft(bytes.TrimPrefix(b, markUTF8), " \t\r\n")
	text := make([]byte, min(len(b), 16))
	for i := range text {
		if text[i] = b[i]; b[i] >= 'A' && b[i] <= 'Z' {
			text[i] |= 0x20
		}
	}
	for _, k := range []struct{ start, what string }{
		{"pk\x03\x04", "this is a workbook (or another zip file) under the name of a CSV file; give it the ending .xlsx"},
		{"pk\x05\x06", "this is an empty zip file under the name of a CSV file"},
		{"\xd0\xcf\x11\xe0", "this is an old binary workbook under the name of a CSV file; save it as .xlsx or .csv"},
		{"%pdf-", "this is a PDF, which holds no table that can be read; save the table as .xlsx or .csv"},
		{"\x1f\x8b", "this is a compressed file; unpack it first"},
		{"{\\rtf", "this is a text document; save its table as .xlsx or .csv"},
		{"<!doctype", "this is a web page; open it in a spreadsheet program and save it as .xlsx or .csv"},
		{"<html", "this is a web page; open it in a spreadsheet program and save it as .xlsx or .csv"},
		{"<table", "this is a web page; open it in a spreadsheet program and save it as .xlsx or .csv"},
		{"<?xml", "this is an XML file; open it in a spreadsheet program and save it as .xlsx or .csv"},
		{"\x89png", "this is a picture"},
		{"\xff\xd8\xff", "this is a picture"},
	} {
		if bytes.HasPrefix(text, []byte(k.start)) || bytes.HasPrefix(b, []byte(k.start)) {
			return errors.New(k.what)
		}
	}
	return nil
}

// survey8 goes through text of single bytes.
func (f *Facts) survey8(r io.Reader) error {
	buf := make([]byte, 0, BlockSize+utf8.UTFMax)
	var (
		offset     int64
		multi, bad int // sequences of UTF-8, bytes that are none
		lastCR     bool
		cut        bool // the last bytes start a character that never ends
	)
	for {
		kept := len(buf)
		n, err := io.ReadFull(r, buf[kept:cap(buf)])
		if err != nil && err != io.EOF && !errors.Is(err, io.ErrUnexpectedEOF) {
			return err
		}
		end := err != nil
		buf = buf[:kept+n]
		fresh := buf[kept:]
		if len(f.Head) < headSize {
			f.Head = append(f.Head, fresh[:min(len(fresh), headSize-len(f.Head))]...)
		}
		if i := bytes.IndexByte(fresh, 0); i >= 0 {
			return fmt.Errorf("a zero byte stands at byte %d: the file is damaged or no text; save it again from the program that made it", offset+int64(kept+i)+1)
		}
		f.countLines(fresh, &lastCR)
		// A character may go on in the next block.
		whole := len(buf)
		if !end {
			for k := 1; k < utf8.UTFMax && k <= len(buf); k++ {
				if c := buf[len(buf)-k]; c >= 0xC0 {
					whole = len(buf) - k
					break
				} else if c < utf8.RuneSelf {
					break
				}
			}
		}
		if b := buf[:whole]; !ascii(b) {
			for len(b) > 0 {
				r, size := utf8.DecodeRune(b)
				switch {
				case r == utf8.RuneError && size <= 1:
					bad++
					if end && !utf8.FullRune(b) {
						cut = true
						b = b[:1]
					}
				case size > 1:
					multi++
				}
				b = b[size:]
			}
		}
		offset += int64(whole)
		buf = buf[:copy(buf, buf[whole:])]
		if end {
			break
		}
	}
	if lastCR {
		f.CR++
	}
	switch {
	case bad == 0:
	case cut && bad == 1 && multi > 0:
		return errors.New("the file ends within a character: it has been cut off; fetch or save it again")
	case f.Mark || multi >= 4*bad:
		// Mostly UTF-8: a few bytes got damaged, or were pasted in from
		// elsewhere. To read it all as Windows-1252 would spoil the rest.
		f.Damaged = bad
	default:
		f.Encoding = Windows1252
	}
	if !f.Whole {
		f.Head = f.Head[:min(len(f.Head), headSize)]
	}
	return nil
}

// ascii reports whether all bytes are below 128.
func ascii(b []byte) bool {
	for len(b) >= 8 {
		if (b[0]|b[1]|b[2]|b[3]|b[4]|b[5]|b[6]|b[7])&0x80 != 0 {
			return false
		}
		b = b[8:]
	}
	for _, c := range b {
		if c >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

// countLines counts line ends; lastCR carries a CR at the end of a block over
// to the next.
func (f *Facts) countLines(b []byte, lastCR *bool) {
	if len(b) == 0 {
		return
	}
	if *lastCR {
		if b[0] == '\n' {
			f.CRLF++
			b = b[1:]
		} else {
			f.CR++
		}
		*lastCR = false
	}
	lf := bytes.Count(b, []byte{'\n'})
	for {
		i := bytes.IndexByte(b, '\r')
		if i < 0 {
			break
		}
		switch {
		case i+1 == len(b):
			*lastCR = true
		case b[i+1] == '\n':
			f.CRLF++
			lf--
		default:
			f.CR++
		}
		b = b[i+1:]
	}
	f.LF += lf
}

// surveyWide goes through UTF-16.
func (f *Facts) surveyWide(r io.Reader) error {
	w := NewWideReader(r, f.Encoding)
	buf := make([]byte, BlockSize)
	lastCR := false
	var offset int64
	for {
		n, err := io.ReadFull(w, buf)
		b := buf[:n]
		if len(f.Head) < headSize {
			f.Head = append(f.Head, b[:min(len(b), headSize-len(f.Head))]...)
		}
		if i := bytes.IndexByte(b, 0); i >= 0 {
			return fmt.Errorf("a zero character stands near character %d: the file is damaged or no text; save it again from the program that made it", offset+int64(i)+1)
		}
		offset += int64(n)
		f.countLines(b, &lastCR)
		if err == io.EOF || errors.Is(err, io.ErrUnexpectedEOF) {
			break
		}
		if err != nil {
			return err
		}
	}
	if lastCR {
		f.CR++
	}
	f.Damaged = w.lone
	if f.Whole = offset <= headSize; !f.Whole {
		// No half character at the end of the head.
		f.Head = bytes.ToValidUTF8(f.Head, nil)
	}
	return nil
}
