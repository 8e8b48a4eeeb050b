package record

import (
	"errors"
	"io"
	"unicode/utf16"
	"unicode/utf8"
)

// Half a surrogate pair is no character, yet a file that holds one must come
// back byte for byte when columns are added to it. So lone surrogates travel as
// the three bytes that UTF-8 would give them if it were allowed to; a reader of
// cells sees U+FFFD for them.

// WideReader turns UTF-16 into UTF-8, lone surrogates kept as said above.
type WideReader struct {
	r    io.Reader
	big  bool
	raw  []byte // read, not yet turned
	out  []byte // turned, not yet handed out
	room []byte
	err  error
	lone int // lone surrogates met
}

// NewWideReader reads UTF-16 of either kind behind its mark.
func NewWideReader(r io.Reader, e Encoding) *WideReader {
	return &WideReader{r: r, big: e == UTF16BE, raw: make([]byte, 0, 32<<10), room: make([]byte, 0, 64<<10)}
}

func (w *WideReader) unit(i int) rune {
	a, b := rune(w.raw[i]), rune(w.raw[i+1])
	if w.big {
		return a<<8 | b
	}
	return b<<8 | a
}

// Read gives UTF-8.
func (w *WideReader) Read(p []byte) (int, error) {
	for len(w.out) == 0 {
		if w.err != nil {
			return 0, w.err
		}
		n, err := w.r.Read(w.raw[len(w.raw):cap(w.raw)])
		w.raw = w.raw[:len(w.raw)+n]
		w.turn(err != nil)
		if err == io.EOF && len(w.raw) > 0 {
			err = errors.New("the file ends with half a character: it has been cut off; fetch or save it again")
		}
		w.err = err
	}
	n := copy(p, w.out)
	w.out = w.out[n:]
	return n, nil
}

// turn converts what has been read, but for a unit or a pair that may not be
// complete yet.
func (w *WideReader) turn(end bool) {
	out := w.room[:0]
	i := 0
	for i+1 < len(w.raw) {
		u := w.unit(i)
		if u < utf8.RuneSelf {
			out = append(out, byte(u))
			i += 2
			continue
		}
		if !utf16.IsSurrogate(u) {
			out = utf8.AppendRune(out, u)
			i += 2
			continue
		}
		if u < 0xDC00 {
			if i+3 >= len(w.raw) && !end {
				break
			}
			if i+3 < len(w.raw) {
				if r := utf16.DecodeRune(u, w.unit(i+2)); r != utf8.RuneError {
					out = utf8.AppendRune(out, r)
					i += 4
					continue
				}
			}
		}
		w.lone++
		out = append(out, 0xE0|byte(u>>12), 0x80|byte(u>>6)&0x3F, 0x80|byte(u)&0x3F)
		i += 2
	}
	w.raw = w.raw[:copy(w.raw, w.raw[i:])]
	w.room, w.out = out, out
}

// WideWriter turns what WideReader gave back into the same UTF-16.
type WideWriter struct {
	w    io.Writer
	big  bool
	in   []byte // the start of a character whose end is still to come
	room []byte
}

// NewWideWriter writes into w; the mark is the caller's.
func NewWideWriter(w io.Writer, e Encoding) *WideWriter {
	return &WideWriter{w: w, big: e == UTF16BE}
}

// Write takes UTF-8.
func (w *WideWriter) Write(p []byte) (int, error) {
	b := p
	if len(w.in) > 0 {
		b = append(w.in, p...)
	}
	out := w.room[:0]
	put := func(u rune) {
		if w.big {
			out = append(out, byte(u>>8), byte(u))
		} else {
			out = append(out, byte(u), byte(u>>8))
		}
	}
	for len(b) > 0 {
		if b[0] < utf8.RuneSelf {
			put(rune(b[0]))
			b = b[1:]
			continue
		}
		if b[0] == 0xED && len(b) >= 3 && b[1] >= 0xA0 {
			put(0xD000 | rune(b[1]&0x3F)<<6 | rune(b[2]&0x3F))
			b = b[3:]
			continue
		}
		if len(b) < 4 && !utf8.FullRune(b) || b[0] == 0xED && len(b) < 3 {
			break
		}
		r, size := utf8.DecodeRune(b)
		if r >= 0x10000 {
			hi, lo := utf16.EncodeRune(r)
			put(hi)
			put(lo)
		} else {
			put(r)
		}
		b = b[size:]
	}
	w.in = append(w.in[:0], b...)
	w.room = out
	if _, err := w.w.Write(out); err != nil {
		return 0, err
	}
	return len(p), nil
}
