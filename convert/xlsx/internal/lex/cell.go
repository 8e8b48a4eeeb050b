package lex

import (
	"bytes"
)

// RawCell is a cell as shortCell finds it: places in the lexer's window, nil
// for an attribute that is not there.
type RawCell struct {
	Address, Style, Typ, Value []byte
	Has                        bool
}

// ShortCell takes a whole cell of the shape that nearly all have,
// <c r="B7" s="3" t="n"><v>12.5</v></c> or <c r="B7" s="3"/>, when all of it
// lies in the window. Anything else is left to next: this only saves the work
// of a general reader where there is nothing general to see. It is to be asked
// between the children of a row that was written without a prefix.
func (x *Lexer) ShortCell() (c RawCell, ok bool) {
	// The pieces and the longest that each may be; together they fit.
	const opens, styled, typed, filled, closes = `<c r="`, `" s="`, `" t="`, `"><v>`, `</v></c>`
	const window, addressMax, styleMax, typeMax, valueMax = 128, 12, 8, 10, 32
	if x.end-x.Pos < window || x.pendingEnd || x.Err != nil {
		return c, false
	}
	b := x.Buf[x.Pos : x.Pos+window]
	if string(b[:len(opens)]) != opens {
		return c, false
	}
	i := len(opens)
	if c.Address = upToQuote(b[i:], addressMax); c.Address == nil {
		return c, false
	}
	i += len(c.Address)
	if string(b[i:i+len(styled)]) == styled {
		i += len(styled)
		if c.Style = upToQuote(b[i:], styleMax); c.Style == nil {
			return c, false
		}
		i += len(c.Style)
	}
	if string(b[i:i+len(typed)]) == typed {
		i += len(typed)
		if c.Typ = upToQuote(b[i:], typeMax); c.Typ == nil {
			return c, false
		}
		i += len(c.Typ)
	}
	if string(b[i:i+3]) == `"/>` {
		x.Pos += i + 3
		return c, true
	}
	if string(b[i:i+len(filled)]) != filled {
		return c, false
	}
	i += len(filled)
	value := b[i:]
	for n := 0; n <= valueMax; n++ {
		switch value[n] {
		case '&', '\r':
			return c, false
		case '<':
			if string(value[n:n+len(closes)]) != closes {
				return c, false
			}
			c.Value, c.Has = value[:n], true
			x.Pos += i + n + len(closes)
			return c, true
		}
	}
	return c, false
}

// upToQuote gives what stands before the first double quote, nil where there is
// nothing, more than most bytes, or something to unescape.
func upToQuote(b []byte, most int) []byte {
	for i := 0; i <= most && i < len(b); i++ {
		switch c := b[i]; {
		case c == '"':
			if i == 0 {
				return nil
			}
			return b[:i]
		case c == '&' || c == '<' || c < ' ':
			return nil
		}
	}
	return nil
}

// SkipFast moves behind the end of the element whose start tag is in hand
// without looking at what it holds, but for comments and CDATA sections, in
// which its end tag may be spelled. Only an element that cannot hold another of
// its name may be skipped so.
func (x *Lexer) SkipFast() error {
	if x.Closed() {
		_, err := x.Next()
		return err
	}
	depth := x.Depth() - 1
	name := append([]byte("</"), x.names[x.starts[depth]:]...)
	until := []byte(nil) // the end of a comment or section that is open
	for {
		// What is behind pos is done with; the window may move over it.
		x.From = x.Pos
		b := x.Buf[x.Pos:x.end]
		if until != nil {
			i := bytes.Index(b, until)
			if i < 0 {
				x.Pos += max(0, len(b)-len(until)+1)
			} else {
				x.Pos += i + len(until)
				until = nil
				continue
			}
		} else {
			special := indexPast(b, []byte("<!"), 1)
			if special < 0 {
				special = len(b)
			}
			i := indexPast(b[:special], name, len("</s"))
			if i < 0 {
				i = special
			}
			if i == len(b) && !x.eof {
				// The mark may be cut by the window's end.
				i = max(0, len(b)-max(len(name), len("<!"))+1)
			}
			x.Pos += i
			b = b[i:]
			const longest = len("<![CDATA[")
			switch {
			case len(b) < max(longest, len(name)+1) && !x.eof: // more is needed
			case bytes.HasPrefix(b, name) && len(b) > len(name) && (b[len(name)] == '>' || isSpace(b[len(name)])):
				x.From = x.Pos
				_, err := x.Next()
				return err
			case bytes.HasPrefix(b, []byte("<!--")):
				x.Pos += len("<!--")
				until = []byte("-->")
				continue
			case bytes.HasPrefix(b, []byte("<![CDATA[")):
				x.Pos += len("<![CDATA[")
				until = []byte("]]>")
				continue
			case len(b) > 0:
				x.Pos++
				continue
			}
		}
		if x.eof {
			return x.Fail(x.end, "the XML breaks off inside <%s>", name[2:])
		}
		x.From = x.Pos
		if err := x.fill(); err != nil {
			return err
		}
	}
}

// indexPast is bytes.Index for a mark whose first bytes stand all over a sheet:
// it looks for the rest of it, which is rare, and then at those.
func indexPast(b, mark []byte, common int) int {
	for from := common; from <= len(b); {
		i := bytes.Index(b[from:], mark[common:])
		if i < 0 {
			return -1
		}
		if i += from; string(b[i-common:i]) == string(mark[:common]) {
			return i - common
		}
		from = i + 1
	}
	return -1
}
