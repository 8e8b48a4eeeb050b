package console

import (
	"io"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Plain takes out of a text what would move the cursor of a terminal, change its
// state, or turn the direction in which a line is read: names of files and texts
// of books are other people's.
func Plain(s string) string {
	return strings.Map(func(r rune) rune {
		if r == '\n' {
			return unicode.ReplacementChar
		}
		return plainRune(r)
	}, s)
}

// Short shortens a line that quotes something very long in its middle: what is
// wrong stands at the beginning, what to do at the end.
func Short(line string) string {
	const most, end = 1500, 500
	if len(line) <= most {
		return line
	}
	return strings.ToValidUTF8(line[:most-end], "") + " ... " + strings.ToValidUTF8(line[len(line)-end:], "")
}

func plainRune(r rune) rune {
	if r != '\n' && r != '\t' && unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) || r == '\u2028' || r == '\u2029' {
		return unicode.ReplacementChar
	}
	return r
}

// Writer passes text on with what Plain takes out replaced, but for the ends of
// lines. What is for another program and not for a person does not go through
// it.
type Writer struct {
	to   io.Writer
	rest []byte // the beginning of a character whose end has not come yet
}

// NewWriter gives a writer of plain text.
func NewWriter(to io.Writer) *Writer { return &Writer{to: to} }

// Write writes text. A character that is cut in two by two calls is put
// together; Flush writes one that stays cut.
func (w *Writer) Write(b []byte) (int, error) {
	text := b
	if len(w.rest) > 0 {
		text = append(w.rest, b...)
	}
	end := len(text)
	for back := 1; back < utf8.UTFMax && back <= end; back++ {
		if c := text[end-back]; utf8.RuneStart(c) {
			if !utf8.FullRune(text[end-back:]) {
				end -= back
			}
			break
		}
	}
	rest := append([]byte(nil), text[end:]...)
	if err := w.put(text[:end]); err != nil {
		return 0, err
	}
	w.rest = rest
	return len(b), nil
}

// Flush writes what is left of a text that ends within a character.
func (w *Writer) Flush() error {
	rest := w.rest
	w.rest = nil
	return w.put(rest)
}

func (w *Writer) put(b []byte) error {
	if len(b) == 0 {
		return nil
	}
	// Bytes that are no UTF-8 become the replacement character, one each.
	_, err := io.WriteString(w.to, strings.Map(plainRune, string(b)))
	return err
}
