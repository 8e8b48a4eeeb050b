// Package lex cuts the XML of a part into tokens while it streams, keeps every
// byte of it, and reads and writes the small things that all parts share: texts,
// attributes, escapes.
package lex

import (
	"bytes"
	"fmt"
	"io"
	"unicode/utf8"
)

// token is a kind of piece that the lexer cuts XML into.
type token uint8

const (
	TokStart token = iota + 1 // <c r="A1"> or <c r="A1"/>; the latter is followed by a tokEnd without bytes
	TokEnd                    // </c>
	TokText                   // character data or a CDATA section
	tokMisc                   // a comment, a processing instruction, the XML declaration, a byte order mark
)

const (
	lexBuffer = 64 << 10
	// The longest token. A cell's text has at most 32,767 characters, which is
	// some 200 kB when each is escaped; longer tokens are comments.
	lexTokenMax = 16 << 20
	// Office documents stay below 20; extension lists may go deeper.
	lexDepthMax = 256
	// A sheet's root has some 20 with all its namespaces.
	lexAttrsMax = 256
	lexNameMax  = 1 << 10
	// Writers use one prefix for SpreadsheetML, or none.
	lexPrefixesMax = 16
)

// The namespace of SpreadsheetML: transitional (what office programs write by
// default) and strict. ECMA-376 Part 1 and Part 4, clause 18.
const (
	NsMain   = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
	NsStrict = "http://purl.oclc.org/ooxml/spreadsheetml/main"
)

// Lexer cuts an XML part into tokens while it streams through a window of
// fixed size. It copies nothing and allocates nothing per token. Every byte of
// the part belongs to exactly one token, so that the raw bytes of all tokens
// joined are the part again: a patch may copy tokens and drop its own in
// between.
//
// It ends with io.EOF only after a part that is well-formed as far as a reader
// of data can be hurt: UTF-8, tags balanced, one root, nothing cut off. A
// document type (and with it every declared entity) is refused.
//
// Slices that it gives are valid until the next call of next.
type Lexer struct {
	r    io.Reader
	part string // for errors

	Buf        []byte
	Pos, end   int   // the unread bytes are buf[pos:end]
	base       int64 // offset in the part of buf[0]
	checked    int   // buf[:checked] is known to be UTF-8
	eof        bool
	Err        error
	first      bool // nothing was read yet
	pendingEnd bool // the start tag before closed itself
	rootDone   bool

	// The token in hand: buf[from:pos].
	From     int
	NameFrom int // of the name as written, with its prefix
	nameTo   int
	Colon    int // index of the prefix's colon, or nameFrom-1 without a prefix
	cdata    bool
	Ours     bool // the element is of the SpreadsheetML namespace
	Attrs    []Attribute

	names     []byte // the names of the open elements, joined
	starts    []int  // where each begins in names
	oursStack []bool

	mainDefault  bool     // the default namespace is SpreadsheetML
	mainPrefixes []string // the prefixes bound to it

	scratch []byte // unescaped text
}

// Attribute is an attribute: places in buf.
type Attribute struct {
	NameFrom, NameTo int32
	From, To         int32
	escaped          bool
}

// New makes a lexer; part names what it reads, for errors.
func New(r io.Reader, part string) *Lexer {
	return &Lexer{r: r, part: part, Buf: make([]byte, lexBuffer), first: true}
}

// Error is damage in a part.
type Error struct {
	part string
	off  int64
	what string
}

func (e *Error) Error() string {
	return fmt.Sprintf("%s (%s, byte %d)", e.what, e.part, e.off)
}

// Fail makes the lexer give this damage from now on, at a place in its window.
func (x *Lexer) Fail(at int, format string, args ...any) error {
	if x.Err == nil || x.Err == io.EOF {
		x.Err = &Error{part: x.part, off: x.base + int64(at), what: fmt.Sprintf(format, args...)}
	}
	return x.Err
}

// Next moves to the next token. It returns io.EOF after the last one of a
// whole document, and else the damage that it found, again and again.
func (x *Lexer) Next() (token, error) {
	if x.Err != nil {
		return 0, x.Err
	}
	x.From = x.Pos
	if x.pendingEnd {
		x.pendingEnd = false
		x.pop()
		return TokEnd, nil
	}
	for {
		if x.Pos == x.end {
			if x.eof {
				return 0, x.finish()
			}
			if err := x.fill(); err != nil {
				return 0, err
			}
			continue
		}
		tok, n := x.cut(x.Buf[x.Pos:x.end])
		if x.Err != nil && n == 0 {
			return 0, x.Err
		}
		if n > 0 {
			x.Pos += n
			return tok, nil
		}
		if x.eof {
			return 0, x.Fail(x.Pos, "the XML breaks off inside %q", Snippet(x.Buf[x.Pos:x.end]))
		}
		if err := x.fill(); err != nil {
			return 0, err
		}
	}
}

func (x *Lexer) finish() error {
	switch {
	case len(x.starts) > 0:
		return x.Fail(x.Pos, "the XML breaks off inside <%s>", x.names[x.starts[len(x.starts)-1]:])
	case !x.rootDone:
		return x.Fail(x.Pos, "the part is empty")
	}
	x.Err = io.EOF
	return x.Err
}

// cut finds the token at the start of b. It gives 0 bytes where it needs more
// of the part, or after fail.
func (x *Lexer) cut(b []byte) (token, int) {
	if b[0] != '<' {
		n := bytes.IndexByte(b, '<')
		if n < 0 {
			if !x.eof {
				return 0, 0
			}
			n = len(b)
		}
		if len(x.starts) == 0 && len(TrimSpace(b[:n])) > 0 {
			if x.base+int64(x.Pos) == 0 && string(b[:n]) == "\xef\xbb\xbf" {
				return tokMisc, n
			}
			x.Fail(x.Pos, "text stands outside the XML: %q", Snippet(b[:n]))
			return 0, 0
		}
		x.cdata = false
		return TokText, n
	}
	if len(b) < 2 {
		return 0, 0
	}
	switch b[1] {
	case '/':
		return TokEnd, x.cutEnd(b)
	case '?':
		n := bytes.Index(b, []byte("?>"))
		if n < 0 {
			return 0, 0
		}
		if bytes.HasPrefix(b, []byte("<?xml ")) && !declaresUTF8(b[:n]) {
			x.Fail(x.Pos, "the part is not UTF-8 but says %q", Snippet(b[:n+2]))
			return 0, 0
		}
		return tokMisc, n + 2
	case '!':
		return x.cutBang(b)
	}
	return TokStart, x.cutStart(b)
}

// cutBang finds a comment or a CDATA section.
func (x *Lexer) cutBang(b []byte) (token, int) {
	const comment, cdata = "<!--", "<![CDATA["
	switch {
	case bytes.HasPrefix(b, []byte(comment)):
		n := bytes.Index(b[len(comment):], []byte("-->"))
		if n < 0 {
			return 0, 0
		}
		return tokMisc, len(comment) + n + 3
	case bytes.HasPrefix(b, []byte(cdata)):
		n := bytes.Index(b[len(cdata):], []byte("]]>"))
		if n < 0 {
			return 0, 0
		}
		if len(x.starts) == 0 {
			x.Fail(x.Pos, "text stands outside the XML: %q", Snippet(b))
			return 0, 0
		}
		x.cdata = true
		return TokText, len(cdata) + n + 3
	case !x.eof && len(b) < len(cdata):
		return 0, 0
	}
	x.Fail(x.Pos, "a document type or entity is declared: %q", Snippet(b))
	return 0, 0
}

// cutEnd finds an end tag and holds it against the element that is open.
func (x *Lexer) cutEnd(b []byte) int {
	n := bytes.IndexByte(b, '>')
	if n < 0 {
		return 0
	}
	name := b[2:n]
	for len(name) > 0 && isSpace(name[len(name)-1]) {
		name = name[:len(name)-1]
	}
	depth := len(x.starts)
	if depth == 0 || string(name) != string(x.names[x.starts[depth-1]:]) {
		open := "nothing"
		if depth > 0 {
			open = "<" + string(x.names[x.starts[depth-1]:]) + ">"
		}
		x.Fail(x.Pos, "</%s> closes what is not open; open is %s", Snippet(name), open)
		return 0
	}
	x.NameFrom, x.nameTo = x.Pos+2, x.Pos+2+len(name)
	x.Colon = x.NameFrom - 1
	if i := bytes.IndexByte(name, ':'); i >= 0 {
		x.Colon = x.NameFrom + i
	}
	x.Ours = x.oursStack[depth-1]
	x.pop()
	return n + 1
}

// cutStart finds a start tag with its attributes in one walk.
func (x *Lexer) cutStart(b []byte) int {
	i, colon := 1, 0
	for i < len(b) && isName[b[i]] {
		if b[i] == ':' && colon == 0 {
			colon = i
		}
		i++
	}
	if i == len(b) {
		return 0
	}
	if i == 1 || i > lexNameMax || colon == 1 || colon == i-1 {
		x.Fail(x.Pos, "a tag is malformed: %q", Snippet(b))
		return 0
	}
	x.NameFrom, x.nameTo, x.Colon = x.Pos+1, x.Pos+i, x.Pos+colon
	x.Attrs = x.Attrs[:0]
	declares := false
	for {
		spaced := false
		for i < len(b) && isSpace(b[i]) {
			i++
			spaced = true
		}
		if i == len(b) {
			return 0
		}
		switch b[i] {
		case '>':
			return x.opened(i+1, false, declares)
		case '/':
			if i+1 == len(b) {
				return 0
			}
			if b[i+1] == '>' {
				return x.opened(i+2, true, declares)
			}
		}
		from := i
		for i < len(b) && isName[b[i]] {
			i++
		}
		to := i
		for i < len(b) && isSpace(b[i]) {
			i++
		}
		if i == len(b) {
			return 0
		}
		if to == from || !spaced || b[i] != '=' {
			x.Fail(x.Pos, "a tag is malformed: %q", Snippet(b))
			return 0
		}
		i++
		for i < len(b) && isSpace(b[i]) {
			i++
		}
		if i == len(b) {
			return 0
		}
		quote := b[i]
		if quote != '"' && quote != '\'' {
			x.Fail(x.Pos, "a tag is malformed: %q", Snippet(b))
			return 0
		}
		i++
		value, escaped := i, false
		for i < len(b) && b[i] != quote {
			if b[i] == '&' || b[i] < ' ' {
				escaped = true
			} else if b[i] == '<' {
				x.Fail(x.Pos, "a tag is malformed: %q", Snippet(b))
				return 0
			}
			i++
		}
		if i == len(b) {
			return 0
		}
		if b[from] == 'x' && bytes.HasPrefix(b[from:to], []byte("xmlns")) {
			declares = true
		}
		x.Attrs = append(x.Attrs, Attribute{
			NameFrom: int32(x.Pos + from), NameTo: int32(x.Pos + to),
			From: int32(x.Pos + value), To: int32(x.Pos + i), escaped: escaped,
		})
		i++
	}
}

// opened does what a whole start tag of n bytes asks for.
func (x *Lexer) opened(n int, closed, declares bool) int {
	if len(x.starts) == 0 && x.rootDone {
		x.Fail(x.Pos, "a second root element follows: %q", Snippet(x.Buf[x.Pos:x.Pos+n]))
		return 0
	}
	if len(x.starts) == lexDepthMax {
		x.Fail(x.Pos, "elements stand in each other more than %d deep", lexDepthMax)
		return 0
	}
	if len(x.Attrs) > 1 && x.doubledAttr() {
		return 0
	}
	local := false // the default namespace is another one for this element
	if declares {
		for _, a := range x.Attrs {
			name, ok := bytes.CutPrefix(x.Buf[a.NameFrom:a.NameTo], []byte("xmlns"))
			if !ok || (len(name) > 0 && name[0] != ':') {
				continue
			}
			uri := x.Buf[a.From:a.To]
			main := string(uri) == NsMain || string(uri) == NsStrict
			switch {
			case len(name) == 0 && len(x.starts) == 0:
				x.mainDefault = main
			case len(name) == 0:
				local = !main
				x.mainDefault = x.mainDefault || main
			case main && !x.isMain(name[1:]):
				if len(x.mainPrefixes) == lexPrefixesMax {
					x.Fail(x.Pos, "more than %d prefixes stand for one namespace", lexPrefixesMax)
					return 0
				}
				x.mainPrefixes = append(x.mainPrefixes, string(name[1:]))
			}
		}
	}
	if x.Colon < x.NameFrom {
		x.Ours = x.mainDefault && !local
	} else {
		x.Ours = x.isMain(x.Buf[x.NameFrom:x.Colon])
	}
	x.starts = append(x.starts, len(x.names))
	x.names = append(x.names, x.Buf[x.NameFrom:x.nameTo]...)
	x.oursStack = append(x.oursStack, x.Ours)
	x.rootDone = true
	x.pendingEnd = closed
	return n
}

// isMain reports whether a prefix stands for SpreadsheetML.
func (x *Lexer) isMain(prefix []byte) bool {
	for _, p := range x.mainPrefixes {
		if string(prefix) == p {
			return true
		}
	}
	return false
}

// doubledAttr refuses a tag that gives an attribute twice: there is no telling
// which one another program would believe.
func (x *Lexer) doubledAttr() bool {
	if len(x.Attrs) > lexAttrsMax {
		x.Fail(x.Pos, "a tag has more than %d attributes", lexAttrsMax)
		return true
	}
	for i, a := range x.Attrs {
		for _, b := range x.Attrs[:i] {
			if string(x.Buf[a.NameFrom:a.NameTo]) == string(x.Buf[b.NameFrom:b.NameTo]) {
				x.Fail(int(a.NameFrom), "the attribute %s stands twice", x.Buf[a.NameFrom:a.NameTo])
				return true
			}
		}
	}
	return false
}

func (x *Lexer) pop() {
	depth := len(x.starts) - 1
	x.Ours = x.oursStack[depth]
	x.names = x.names[:x.starts[depth]]
	x.starts = x.starts[:depth]
	x.oursStack = x.oursStack[:depth]
}

// Name is the element's name, of a start or end tag, without its prefix.
func (x *Lexer) Name() []byte {
	if x.Colon >= x.NameFrom {
		return x.Buf[x.Colon+1 : x.nameTo]
	}
	return x.Buf[x.NameFrom:x.nameTo]
}

// Is reports whether the element of a start or end tag is a SpreadsheetML
// element of that name.
func (x *Lexer) Is(name string) bool { return x.Ours && string(x.Name()) == name }

// FullName is the element's name as written.
func (x *Lexer) FullName() []byte { return x.Buf[x.NameFrom:x.nameTo] }

// Closed reports whether the start tag in hand closes its element itself.
func (x *Lexer) Closed() bool { return x.pendingEnd }

// Depth counts the open elements: 1 after the root's start tag, 0 after its end.
func (x *Lexer) Depth() int { return len(x.starts) }

// Raw gives the bytes of the token in hand.
func (x *Lexer) Raw() []byte { return x.Buf[x.From:x.Pos] }

// Start and stop are the offsets in the part of the token in hand.
func (x *Lexer) Start() int64 { return x.base + int64(x.From) }

func (x *Lexer) Stop() int64 { return x.base + int64(x.Pos) }

// Attr gives the value of an attribute by its name as written, unescaped; nil
// where it is not there. The value is valid until the next call of attr, text
// or next.
func (x *Lexer) Attr(name string) []byte {
	for i := range x.Attrs {
		if a := &x.Attrs[i]; string(x.Buf[a.NameFrom:a.NameTo]) == name {
			return x.Value(a)
		}
	}
	return nil
}

// AttrLocal is attr for a name with any prefix, such as id for r:id.
func (x *Lexer) AttrLocal(local string) []byte {
	for i := range x.Attrs {
		a := &x.Attrs[i]
		if _, name, ok := bytes.Cut(x.Buf[a.NameFrom:a.NameTo], []byte(":")); ok && string(name) == local {
			return x.Value(a)
		}
	}
	return nil
}

// AttrSpan gives the offsets in the part of an attribute's value between its
// quotes; ok is false where it is not there.
func (x *Lexer) AttrSpan(name string) (from, to int64, ok bool) {
	for _, a := range x.Attrs {
		if string(x.Buf[a.NameFrom:a.NameTo]) == name {
			return x.base + int64(a.From), x.base + int64(a.To), true
		}
	}
	return 0, 0, false
}

// Value gives an attribute's value, unescaped. It is valid until the next call of
// Attr, Text, Value or Next.
func (x *Lexer) Value(a *Attribute) []byte {
	v := x.Buf[a.From:a.To]
	if !a.escaped {
		if v == nil {
			return []byte{}
		}
		return v
	}
	x.scratch = x.unescape(x.scratch[:0], v, int(a.From), true)
	return x.scratch
}

// Text gives the text in hand without its escapes, line ends as XML wants
// them. A reference to something undeclared gives the text without it, and
// the next call of next fails.
func (x *Lexer) Text() []byte {
	b := x.Raw()
	if x.cdata {
		b = b[len("<![CDATA[") : len(b)-len("]]>")]
		if bytes.IndexByte(b, '\r') < 0 {
			return b
		}
		x.scratch = normalizeLines(x.scratch[:0], b)
		return x.scratch
	}
	if bytes.IndexByte(b, '&') < 0 && bytes.IndexByte(b, '\r') < 0 {
		return b
	}
	x.scratch = x.unescape(x.scratch[:0], b, x.From, false)
	return x.scratch
}

// Skip moves behind the end of the element whose start tag is in hand.
func (x *Lexer) Skip() error {
	depth := x.Depth() - 1
	for x.Depth() > depth {
		if _, err := x.Next(); err != nil {
			return err
		}
	}
	return nil
}

// Root moves to the root element's start tag and refuses another one than the
// named.
func (x *Lexer) Root(name string) error {
	for {
		tok, err := x.Next()
		if err != nil {
			if err == io.EOF {
				err = x.Fail(x.Pos, "the part is empty")
			}
			return err
		}
		if tok != TokStart {
			continue
		}
		if !x.Is(name) {
			return x.Fail(x.From, "<%s> was found where <%s> of SpreadsheetML was expected", Snippet(x.FullName()), name)
		}
		return nil
	}
}

// rest reads the part to its end and reports damage that only shows there.
func (x *Lexer) rest() error {
	for {
		if _, err := x.Next(); err != nil {
			if err == io.EOF {
				return nil
			}
			return err
		}
	}
}

// fill reads more of the part into the window; what was read already of the
// token in hand stays.
func (x *Lexer) fill() error {
	if x.From > 0 {
		n := copy(x.Buf, x.Buf[x.From:x.end])
		x.base += int64(x.From)
		x.Pos -= x.From
		x.checked = max(0, x.checked-x.From)
		x.end, x.From = n, 0
	}
	if x.end == len(x.Buf) {
		if len(x.Buf) >= lexTokenMax {
			return x.Fail(x.Pos, "a tag or text is longer than %d bytes", lexTokenMax)
		}
		x.Buf = append(x.Buf, make([]byte, len(x.Buf))...)
	}
	// The token in hand is looked at again from its start: at least as much
	// again as there is of it keeps that linear. Two bytes tell the encoding.
	enough := min(max(2, 2*x.end), len(x.Buf))
	for tries := 0; ; tries++ {
		n, err := x.r.Read(x.Buf[x.end:])
		x.end += n
		if err == io.EOF {
			x.eof = true
		} else if err != nil {
			x.Err = err
			return err
		}
		if x.eof || x.end >= enough {
			break
		}
		if n > 0 {
			tries = 0
		}
		if tries == 100 {
			x.Err = io.ErrNoProgress
			return x.Err
		}
	}
	if x.first {
		x.first = false
		if b := x.Buf[:x.end]; len(b) >= 2 && (b[0] == 0 || b[1] == 0 || (b[0] == 0xfe && b[1] == 0xff) || (b[0] == 0xff && b[1] == 0xfe)) {
			return x.Fail(0, "the part is not UTF-8 but looks like UTF-16")
		}
	}
	return x.check()
}

// check makes sure that the window is UTF-8. A character that is cut by the
// window's end is looked at with the next one.
func (x *Lexer) check() error {
	b := x.Buf[x.checked:x.end]
	if utf8.Valid(b) {
		x.checked = x.end
		return nil
	}
	for len(b) > 0 {
		i := 0
		for i < len(b) && b[i] < utf8.RuneSelf {
			i++
		}
		b = b[i:]
		x.checked += i
		if len(b) == 0 {
			return nil
		}
		if !utf8.FullRune(b) && !x.eof {
			return nil
		}
		r, n := utf8.DecodeRune(b)
		if r == utf8.RuneError && n == 1 {
			return x.Fail(x.checked, "the part is not UTF-8: byte 0x%02x", b[0])
		}
		b = b[n:]
		x.checked += n
	}
	return nil
}

// unescape appends b with its references replaced. at is b's place in the
// window, for errors.
func (x *Lexer) unescape(dst, b []byte, at int, attr bool) []byte {
	for i := 0; i < len(b); {
		switch c := b[i]; {
		case c == '&':
			end := bytes.IndexByte(b[i:], ';')
			if end < 0 {
				x.Fail(at+i, "a reference has no end: %q", Snippet(b[i:]))
				return dst
			}
			r, ok := reference(b[i+1 : i+end])
			if !ok {
				x.Fail(at+i, "the reference %q is not declared", Snippet(b[i:i+end+1]))
				return dst
			}
			dst = utf8.AppendRune(dst, r)
			i += end + 1
		case c == '\r':
			if attr {
				dst = append(dst, ' ')
			} else {
				dst = append(dst, '\n')
			}
			i++
			if i < len(b) && b[i] == '\n' {
				i++
			}
		case attr && (c == '\n' || c == '\t'):
			dst = append(dst, ' ')
			i++
		default:
			dst = append(dst, c)
			i++
		}
	}
	return dst
}

// reference gives the character of amp, #13 or #xD. XML 1.0, clause 4.1 and 4.6.
func reference(b []byte) (rune, bool) {
	switch string(b) {
	case "amp":
		return '&', true
	case "lt":
		return '<', true
	case "gt":
		return '>', true
	case "quot":
		return '"', true
	case "apos":
		return '\'', true
	}
	if len(b) < 2 || b[0] != '#' {
		return 0, false
	}
	digits, base := b[1:], rune(10)
	if digits[0] == 'x' {
		digits, base = digits[1:], 16
	}
	var r rune
	for _, c := range digits {
		d := HexDigit(c)
		if d < 0 || d >= base || r > utf8.MaxRune {
			return 0, false
		}
		r = r*base + d
	}
	return r, len(digits) > 0 && r > 0 && utf8.ValidRune(r)
}

// HexDigit gives a digit's worth, -1 where it is none.
func HexDigit(c byte) rune {
	switch {
	case c >= '0' && c <= '9':
		return rune(c - '0')
	case c >= 'a' && c <= 'f':
		return rune(c-'a') + 10
	case c >= 'A' && c <= 'F':
		return rune(c-'A') + 10
	}
	return -1
}

// normalizeLines appends b with CR LF and CR turned into LF, as XML 1.0 clause
// 2.11 asks for.
func normalizeLines(dst, b []byte) []byte {
	for i, c := range b {
		switch {
		case c == '\r':
			dst = append(dst, '\n')
		case c == '\n' && i > 0 && b[i-1] == '\r':
		default:
			dst = append(dst, c)
		}
	}
	return dst
}

// declaresUTF8 reports whether an XML declaration names no encoding, or UTF-8,
// or ASCII, which is a part of it.
func declaresUTF8(decl []byte) bool {
	_, after, ok := bytes.Cut(decl, []byte("encoding"))
	if !ok {
		return true
	}
	after = bytes.TrimLeft(after, " \t\r\n=")
	if len(after) < 2 {
		return false
	}
	name, _, ok := bytes.Cut(after[1:], after[:1])
	if !ok {
		return false
	}
	return bytes.EqualFold(name, []byte("UTF-8")) || bytes.EqualFold(name, []byte("UTF8")) || bytes.EqualFold(name, []byte("US-ASCII"))
}

// TrimSpace takes XML's white space off both ends. It is bytes.Trim without
// the table that this makes on each call.
func TrimSpace(b []byte) []byte {
	for len(b) > 0 && isSpace(b[0]) {
		b = b[1:]
	}
	for len(b) > 0 && isSpace(b[len(b)-1]) {
		b = b[:len(b)-1]
	}
	return b
}

func isSpace(c byte) bool { return c == ' ' || c == '\n' || c == '\t' || c == '\r' }

// isName marks the bytes that a name may hold. Letters beyond ASCII are let
// through; XML's finer rules keep no data safe.
var isName = nameTable()

func nameTable() (t [256]bool) {
	for c := range t {
		t[c] = c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' ||
			c == ':' || c == '_' || c == '-' || c == '.' || c >= utf8.RuneSelf
	}
	return t
}

// Snippet shortens bytes for an error's text.
func Snippet(b []byte) []byte {
	const most = 40
	if len(b) <= most {
		return b
	}
	b = b[:most]
	for len(b) > 0 && !utf8.Valid(b) {
		b = b[:len(b)-1]
	}
	return append(append([]byte(nil), b...), "…"...)
}
