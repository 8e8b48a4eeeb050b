package verify

import (
	"bytes"
	"fmt"
	"io"
	"strconv"
	"strings"

	"dropcut/convert/grid"
	"dropcut/convert/xlsx/internal/opc"
	"dropcut/convert/xlsx/internal/parts"
)

// A patch copies bytes, so that nearly all of a written sheet is, row by row, the
// very bytes of the old one, and equal bytes are read alike by every reader. This
// is the quick way of the second reader: it cuts both sheets into rows and the
// rows that differ into cells by their bytes alone, shares nothing with the lexer,
// and takes as sound only what differs in cells of the edit that hold their
// values. It never finds fault: whatever is not of the plain shape that nearly
// all books have (comments, addresses left out, another order) is left to the
// slow way, which reads both sheets by the standard library's XML, and so is
// every difference, for that to be judged and named.

// plainRows compares two sheets the quick way. It gives false where the slow one
// has to decide.
func (v *verifier) plainRows(old, now *opc.Part) (bool, error) {
	r, err := v.was.Pack.Open(old)
	if err != nil {
		return false, err
	}
	defer r.Close()
	s, err := v.is.Pack.Open(now)
	if err != nil {
		return false, err
	}
	defer s.Close()
	a, b := newRawSheet(r), newRawSheet(s)
	headA, ok := a.head()
	headB, ok2 := b.head()
	if !ok || !ok2 {
		return false, nil
	}
	if !bytes.Equal(headA, headB) {
		if same, err := v.plainHead(old, headA, headB); err != nil || !same {
			return false, err
		}
	}
	if !v.plainData(old, a, b) {
		return false, nil
	}
	tailA, ok := a.rest()
	tailB, ok2 := b.rest()
	if !ok || !ok2 {
		return false, nil
	}
	if bytes.Equal(tailA, tailB) {
		return true, nil
	}
	was, is := &sheetReader{xmlReader: *newXMLReader(bytes.NewReader(tailA)), root: a.root}, &sheetReader{xmlReader: *newXMLReader(bytes.NewReader(tailB)), root: b.root}
	x, err := was.tail()
	if err != nil {
		return false, nil
	}
	y, err := is.tail()
	if err != nil {
		return false, nil
	}
	return true, v.around(old, x, y)
}

// plainHead compares what stands before the rows.
func (v *verifier) plainHead(old *opc.Part, a, b []byte) (bool, error) {
	was, is := &sheetReader{xmlReader: *newXMLReader(bytes.NewReader(a))}, &sheetReader{xmlReader: *newXMLReader(bytes.NewReader(b))}
	x, err := was.head()
	if err != nil {
		return false, nil
	}
	y, err := is.head()
	if err != nil || was.root+was.attrs != is.root+is.attrs || was.rows != is.rows {
		return false, nil
	}
	return true, v.around(old, x, y)
}

// plainData compares the rows.
func (v *verifier) plainData(old *opc.Part, a, b *rawSheet) bool {
	targets := v.targets[old].walk()
	was, ok := a.row()
	if !ok {
		return false
	}
	for {
		is, ok := b.row()
		if !ok {
			return false
		}
		if is == nil {
			return was == nil
		}
		switch {
		case was == nil || is.n < was.n: // a row that was not there
			if string(is.tag) != fmt.Sprintf(`row r="%d"`, is.n) || !plainCells(targets, is.n, nil, is.cells) {
				return false
			}
		case is.n > was.n:
			return false
		default:
			if !bytes.Equal(was.raw, is.raw) {
				if !sameRowTag(was.tag, is.tag) || !plainCells(targets, is.n, was.cells, is.cells) {
					return false
				}
			}
			if was, ok = a.row(); !ok {
				return false
			}
		}
	}
}

// sameRowTag compares the start tags of a row; spans, which only help readers,
// may differ, and an empty row may have been opened.
func sameRowTag(a, b []byte) bool {
	cut := func(tag []byte) string {
		tag = bytes.TrimSuffix(tag, []byte("/"))
		if before, after, ok := bytes.Cut(tag, []byte(` spans="`)); ok {
			if i := bytes.IndexByte(after, '"'); i >= 0 && only(after[:i], "0123456789: ") {
				return string(before) + string(after[i+1:])
			}
		}
		return string(tag)
	}
	return cut(a) == cut(b)
}

// plainCells compares the cells of a row that differs.
func plainCells(targets *targetWalk, row int, was, is []byte) bool {
	for _, b := range [][]byte{was, is} {
		if bytes.Contains(b, []byte("<!")) || bytes.Contains(b, []byte("<?")) {
			return false
		}
	}
	a, ok := nextCell(&was)
	if !ok {
		return false
	}
	var prev []byte // the cell before
	for {
		b, ok := nextCell(&is)
		if !ok {
			return false
		}
		if b == nil {
			return a == nil
		}
		if bytes.Equal(a, b) {
			prev = b
			if a, ok = nextCell(&was); !ok {
				return false
			}
			continue
		}
		col := columnOf(b, row)
		if col == 0 || prev != nil && columnOf(prev, row) >= col {
			return false
		}
		prev = b
		if want := targets.find(row, col); want == nil || !plainHolds(b, want) {
			return false
		}
		if a == nil {
			continue
		}
		switch there := columnOf(a, row); {
		case there < col:
			return false
		case there == col:
			if a, ok = nextCell(&was); !ok {
				return false
			}
		}
	}
}

// plainHolds reports whether a written cell holds a value of the edit. Of its
// attributes only those are known that a patch writes.
func plainHolds(b []byte, want *grid.Value) bool {
	_, attrs, _ := bytes.Cut(b[len(cellOpen):], []byte(`"`)) // behind the address
	if rest, ok := bytes.CutPrefix(attrs, []byte(` s="`)); ok {
		var style []byte
		if style, attrs, _ = bytes.Cut(rest, []byte(`"`)); !only(style, "0123456789") {
			return false
		}
	}
	if want.Blank() {
		return string(attrs) == "/>"
	}
	if want.IsNumber {
		number, ok := between(attrs, `><v>`, `</v></c>`)
		if !ok {
			return false
		}
		f, err := strconv.ParseFloat(string(number), 64)
		return err == nil && f == want.Number
	}
	text, ok := between(attrs, ` t="inlineStr"><is><t>`, `</t></is></c>`)
	if !ok {
		text, ok = between(attrs, ` t="inlineStr"><is><t xml:space="preserve">`, `</t></is></c>`)
	}
	if !ok || bytes.IndexByte(text, '<') >= 0 || bytes.IndexByte(text, '\r') >= 0 || bytes.Contains(text, []byte("_x")) {
		return false
	}
	plain := string(text)
	if strings.IndexByte(plain, '&') >= 0 {
		plain = strings.NewReplacer("&lt;", "<", "&gt;", ">", "&quot;", `"`, "&amp;", "&").Replace(plain)
		if strings.Count(plain, "&") != bytes.Count(text, []byte("&amp;")) {
			return false // another reference
		}
	}
	return plain == strings.ToValidUTF8(want.Text, "\uFFFD")
}

// only reports whether b holds no other bytes than these, and some.
func only(b []byte, of string) bool {
	for _, c := range b {
		if strings.IndexByte(of, c) < 0 {
			return false
		}
	}
	return len(b) > 0
}

// between gives what stands between two texts that b begins and ends with.
func between(b []byte, open, shut string) ([]byte, bool) {
	if len(b) < len(open)+len(shut) || string(b[:len(open)]) != open || string(b[len(b)-len(shut):]) != shut {
		return nil, false
	}
	return b[len(open) : len(b)-len(shut)], true
}

// cellOpen is how every plain cell begins.
const cellOpen = `<c r="`

// columnOf reads the address of a cell; 0 where it is none of that row.
func columnOf(b []byte, row int) int {
	col, i, n := 0, len(cellOpen), 0
	for ; i < len(b) && b[i] >= 'A' && b[i] <= 'Z' && col <= parts.MaxCol; i++ {
		col = col*26 + int(b[i]-'A') + 1
	}
	for ; i < len(b) && b[i] >= '0' && b[i] <= '9' && n <= parts.MaxRow; i++ {
		n = n*10 + int(b[i]-'0')
	}
	if i == len(b) || b[i] != '"' || n != row || col > parts.MaxCol {
		return 0
	}
	return col
}

// nextCell cuts the next cell off a row's content; nil behind the last one. It is
// not ok where something else stands there.
func nextCell(rest *[]byte) (_ []byte, ok bool) {
	b := *rest
	for len(b) > 0 && (b[0] == ' ' || b[0] == '\n' || b[0] == '\r' || b[0] == '\t') {
		b = b[1:]
	}
	if len(b) == 0 {
		*rest = nil
		return nil, true
	}
	if len(b) < len(cellOpen) || string(b[:len(cellOpen)]) != cellOpen {
		return nil, false
	}
	open := tagEnd(b)
	if open < 0 {
		return nil, false
	}
	end := open
	if b[open-2] != '/' {
		const shut = "</c>"
		i := bytes.Index(b[open:], []byte(shut))
		if i < 0 || bytes.Contains(b[open:open+i], []byte("<extLst")) {
			return nil, false
		}
		end = open + i + len(shut)
	}
	*rest = b[end:]
	return b[:end], true
}

// tagEnd gives the index behind the tag that b begins with, -1 where it does not
// end.
func tagEnd(b []byte) int {
	for i := 1; i < len(b); i++ {
		switch b[i] {
		case '>':
			return i + 1
		case '"', '\'':
			n := bytes.IndexByte(b[i+1:], b[i])
			if n < 0 {
				return -1
			}
			i += n + 1
		}
	}
	return -1
}

// rawRow is a row by its bytes, valid until the next one.
type rawRow struct {
	n          int
	raw        []byte
	tag, cells []byte // the start tag without its brackets, and what stands in the row
}

// rawSheet cuts a sheet into rows by its bytes.
type rawSheet struct {
	r        io.Reader
	buf      []byte
	from, to int
	eof      bool
	damaged  bool // it could not be read to its end
	root     string
	now      rawRow
	last     int
}

// rawMost is the longest head, row or tail that the quick way holds in memory.
const rawMost = 32 << 20

func newRawSheet(r io.Reader) *rawSheet { return &rawSheet{r: r, buf: make([]byte, 256<<10)} }

// more reads more of the sheet; false at its end, and where it is too much.
func (s *rawSheet) more() bool {
	if s.eof {
		return false
	}
	if s.from > 0 {
		s.to = copy(s.buf, s.buf[s.from:s.to])
		s.from = 0
	}
	if s.to == len(s.buf) {
		if len(s.buf) >= rawMost {
			return false
		}
		s.buf = append(s.buf, make([]byte, len(s.buf))...)
	}
	n, err := io.ReadFull(s.r, s.buf[s.to:])
	s.to += n
	s.eof = err != nil
	s.damaged = err != nil && err != io.EOF && err != io.ErrUnexpectedEOF
	return n > 0
}

// head gives what stands before the rows with the start tag of their element.
// Sheets under a prefix are left to the slow way.
func (s *rawSheet) head() ([]byte, bool) {
	const data = "<sheetData>"
	for {
		b := s.buf[s.from:s.to]
		if i := bytes.Index(b, []byte(data)); i >= 0 {
			head := bytes.Clone(b[:i+len(data)])
			s.from += len(head)
			at := bytes.Index(head, []byte("<worksheet"))
			s.root = "worksheet"
			return head, at >= 0 && !bytes.Contains(head, []byte("<!"))
		}
		if !s.more() {
			return nil, false
		}
	}
}

// row gives the next row, nil behind the last one.
func (s *rawSheet) row() (*rawRow, bool) {
	const open, shut, end = "<row ", "</row>", "</sheetData>"
	for {
		b := s.buf[s.from:s.to]
		i := 0
		for i < len(b) && (b[i] == ' ' || b[i] == '\n' || b[i] == '\r' || b[i] == '\t') {
			i++
		}
		s.from += i
		b = b[i:]
		switch {
		case len(b) < len(end): // more is needed
		case string(b[:len(end)]) == end:
			return nil, true
		case string(b[:len(open)]) != open:
			return nil, false
		default:
			tag := tagEnd(b)
			if tag < 0 {
				break
			}
			to := tag
			s.now.tag, s.now.cells = b[1:tag-1], nil
			if b[tag-2] != '/' {
				n := bytes.Index(b[tag:], []byte(shut))
				if n < 0 {
					break
				}
				to = tag + n + len(shut)
				s.now.cells = b[tag : tag+n]
			}
			s.now.raw = b[:to]
			s.from += to
			n, ok := rowNumber(s.now.tag)
			if !ok || n <= s.last {
				return nil, false
			}
			s.now.n, s.last = n, n
			return &s.now, true
		}
		if !s.more() {
			return nil, false
		}
	}
}

// rowNumber reads the r attribute of a row.
func rowNumber(tag []byte) (int, bool) {
	_, rest, ok := bytes.Cut(tag, []byte(` r="`))
	if !ok {
		return 0, false
	}
	n := 0
	for i, c := range rest {
		if c == '"' {
			return n, i > 0
		}
		if c < '0' || c > '9' || i > 7 {
			return 0, false
		}
		n = n*10 + int(c-'0')
	}
	return 0, false
}

// rest gives what stands behind the rows, and reads the sheet to its end.
func (s *rawSheet) rest() ([]byte, bool) {
	for s.more() {
		if s.to-s.from >= rawMost {
			return nil, false
		}
	}
	tail, ok := bytes.CutPrefix(s.buf[s.from:s.to], []byte("</sheetData>"))
	return tail, ok && s.eof && !s.damaged
}
