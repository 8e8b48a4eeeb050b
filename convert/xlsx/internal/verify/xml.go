package verify

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"dropcut/convert/xlsx/internal/lex"
	"dropcut/plan/cell"
)

// The second reader: it stands on encoding/xml and shares nothing with the lexer
// and the scanner, so that a fault of theirs does not pass its own check. It
// compares, it does not interpret: two elements are equal when their names,
// attributes, texts and children are.

// node is an element of a small part.
type node struct {
	name  string // as written, with its prefix
	attrs []xml.Attr
	kids  []*node
	text  string // of texts between kids, joined
}

func (n *node) local() string {
	_, name, ok := strings.Cut(n.name, ":")
	if !ok {
		return n.name
	}
	return name
}

// undeclared gives a prefix that is used without a declaration in scope, "" for
// none. encoding/xml lets it pass, other readers do not.
func (n *node) undeclared(scope []string) string {
	for _, a := range n.attrs {
		if a.Name.Space == "xmlns" {
			scope = append(scope[:len(scope):len(scope)], a.Name.Local)
		}
	}
	missing := func(name string) string {
		p, _, ok := strings.Cut(name, ":")
		if !ok || p == "xml" || p == "xmlns" || slices.Contains(scope, p) {
			return ""
		}
		return p
	}
	if p := missing(n.name); p != "" {
		return p
	}
	for _, a := range n.attrs {
		if p := missing(rawName(a.Name)); p != "" {
			return p
		}
	}
	for _, k := range n.kids {
		if p := k.undeclared(scope); p != "" {
			return p
		}
	}
	return ""
}

func (n *node) attr(name string) string {
	for _, a := range n.attrs {
		if rawName(a.Name) == name {
			return a.Value
		}
	}
	return ""
}

func rawName(n xml.Name) string {
	if n.Space == "" {
		return n.Local
	}
	return n.Space + ":" + n.Local
}

// String gives an element as text, the attributes in the order of their names.
func (n *node) String() string {
	var b strings.Builder
	n.write(&b)
	return b.String()
}

func (n *node) write(b *strings.Builder) {
	b.WriteString("<" + n.name + attrsText(n.attrs, "") + ">" + n.text)
	for _, k := range n.kids {
		k.write(b)
	}
	b.WriteString("</>")
}

// attrsText writes attributes in the order of their names, without one of them.
func attrsText(attrs []xml.Attr, without string) string {
	if len(attrs) == 0 {
		return ""
	}
	list := make([]string, 0, len(attrs))
	for _, a := range attrs {
		if name := rawName(a.Name); name != without {
			list = append(list, " "+name+"="+strconv.Quote(a.Value))
		}
	}
	slices.Sort(list)
	return strings.Join(list, "")
}

// xmlReader reads XML by the standard library.
type xmlReader struct {
	dec *xml.Decoder
}

func newXMLReader(r io.Reader) *xmlReader {
	dec := xml.NewDecoder(r)
	dec.Strict = true
	return &xmlReader{dec}
}

// element reads the children of an element whose start was read.
func (x *xmlReader) element(start xml.StartElement) (*node, error) {
	n := &node{name: rawName(start.Name), attrs: slices.Clone(start.Attr)}
	for {
		tok, err := x.dec.RawToken()
		if err != nil {
			if err == io.EOF {
				err = io.ErrUnexpectedEOF
			}
			return nil, err
		}
		switch t := tok.(type) {
		case xml.StartElement:
			kid, err := x.element(t)
			if err != nil {
				return nil, err
			}
			n.kids = append(n.kids, kid)
		case xml.CharData:
			n.text += string(t)
		case xml.EndElement:
			if rawName(t.Name) != n.name {
				return nil, fmt.Errorf("</%s> closes <%s>", rawName(t.Name), n.name)
			}
			return n, nil
		}
	}
}

// tree reads a small part whole.
func (x *xmlReader) tree() (*node, error) {
	for {
		tok, err := x.dec.RawToken()
		if err != nil {
			if err == io.EOF {
				err = errors.New("the part is empty")
			}
			return nil, err
		}
		if t, ok := tok.(xml.StartElement); ok {
			return x.element(t)
		}
	}
}

// sheetReader reads a sheet: what stands before its rows, the rows one by one,
// what stands behind.
type sheetReader struct {
	xmlReader
	root  string
	rows  string // the name of sheetData as written
	attrs string // of the root
	rowN  int
	now   sheetRow
	buf   []byte
	open  []xml.Name
}

// head gives the children of the worksheet before its rows.
func (s *sheetReader) head() ([]*node, error) {
	var list []*node
	for {
		tok, err := s.dec.RawToken()
		if err != nil {
			return nil, err
		}
		t, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		switch {
		case s.root == "":
			s.root, s.attrs = rawName(t.Name), attrsText(t.Attr, "")
		case t.Name.Local == "sheetData":
			s.rows = rawName(t.Name)
			return list, nil
		default:
			n, err := s.element(t)
			if err != nil {
				return nil, err
			}
			list = append(list, n)
		}
	}
}

// sheetRow is a row as it is compared.
type sheetRow struct {
	n     int
	attrs string // without spans
	cells []sheetCell
}

// sheetCell is a cell: everything in it as one text, and what it holds.
type sheetCell struct {
	col     int
	text    string
	kind    string // its t attribute
	formula bool
	number  string // the text of v
	inline  string // the texts of is
}

// row gives the next row, nil behind the last one. It is valid until the next.
func (s *sheetReader) row() (*sheetRow, error) {
	for {
		tok, err := s.dec.RawToken()
		if err != nil {
			return nil, err
		}
		switch t := tok.(type) {
		case xml.EndElement:
			if rawName(t.Name) != s.rows {
				return nil, fmt.Errorf("</%s> closes <%s>", rawName(t.Name), s.rows)
			}
			return nil, nil
		case xml.StartElement:
			return s.readRow(t)
		}
	}
}

func (s *sheetReader) readRow(start xml.StartElement) (*sheetRow, error) {
	name := rawName(start.Name)
	s.rowN++
	for _, a := range start.Attr {
		if a.Name.Space == "" && a.Name.Local == "r" {
			n, err := strconv.Atoi(a.Value)
			if err != nil {
				return nil, err
			}
			s.rowN = n
		}
	}
	s.now.n, s.now.attrs, s.now.cells = s.rowN, name+attrsText(start.Attr, "spans"), s.now.cells[:0]
	col := 0
	for {
		tok, err := s.dec.RawToken()
		if err != nil {
			return nil, err
		}
		switch t := tok.(type) {
		case xml.EndElement:
			if rawName(t.Name) != name {
				return nil, fmt.Errorf("</%s> closes <%s>", rawName(t.Name), name)
			}
			return &s.now, nil
		case xml.StartElement:
			c, err := s.readCell(t, col+1)
			if err != nil {
				return nil, err
			}
			col = c.col
			s.now.cells = append(s.now.cells, c)
		}
	}
}

func (s *sheetReader) readCell(start xml.StartElement, col int) (sheetCell, error) {
	c := sheetCell{col: col}
	for _, a := range start.Attr {
		switch {
		case a.Name.Space != "":
		case a.Name.Local == "r":
			n, r, ok := cell.ParseA1(a.Value)
			if !ok || r != s.rowN {
				return c, fmt.Errorf("cell %q stands in row %d", a.Value, s.rowN)
			}
			c.col = n
		case a.Name.Local == "t":
			c.kind = a.Value
		}
	}
	b := appendTag(s.buf[:0], start)
	open := append(s.open[:0], start.Name)
	for len(open) > 0 {
		tok, err := s.dec.RawToken()
		if err != nil {
			return c, err
		}
		switch t := tok.(type) {
		case xml.StartElement:
			c.formula = c.formula || t.Name.Local == "f"
			b = appendTag(b, t)
			open = append(open, t.Name)
		case xml.CharData:
			b = append(b, t...)
			switch open[len(open)-1].Local {
			case "v":
				c.number += string(t)
			case "t":
				c.inline += string(t)
			}
		case xml.EndElement:
			if t.Name != open[len(open)-1] {
				return c, fmt.Errorf("</%s> closes <%s>", rawName(t.Name), rawName(open[len(open)-1]))
			}
			b = append(b, "</>"...)
			open = open[:len(open)-1]
		}
	}
	s.buf, s.open = b, open
	c.text = string(b)
	return c, nil
}

// appendTag writes a start tag with its attributes in the order in which they
// stand: a patch copies tags as they are.
func appendTag(b []byte, t xml.StartElement) []byte {
	b = append(b, '<')
	b = append(b, t.Name.Space...)
	b = append(b, ':')
	b = append(b, t.Name.Local...)
	for _, a := range t.Attr {
		b = append(b, ' ')
		b = append(b, a.Name.Space...)
		b = append(b, ':')
		b = append(b, a.Name.Local...)
		b = append(b, '=')
		b = strconv.AppendQuote(b, a.Value)
	}
	return append(b, '>')
}

// tail gives the children of the worksheet behind its rows.
func (s *sheetReader) tail() ([]*node, error) {
	var list []*node
	for {
		tok, err := s.dec.RawToken()
		if err == io.EOF {
			return nil, io.ErrUnexpectedEOF
		}
		if err != nil {
			return nil, err
		}
		switch t := tok.(type) {
		case xml.EndElement:
			if rawName(t.Name) != s.root {
				return nil, fmt.Errorf("</%s> closes <%s>", rawName(t.Name), s.root)
			}
			_, err := s.dec.RawToken()
			for err == nil {
				_, err = s.dec.RawToken()
			}
			if err != io.EOF {
				return nil, err
			}
			return list, nil
		case xml.StartElement:
			n, err := s.element(t)
			if err != nil {
				return nil, err
			}
			list = append(list, n)
		}
	}
}

// value gives a written cell's content: a number or a text.
func (c *sheetCell) value() (number bool, num float64, text string, err error) {
	switch {
	case c.formula:
		return false, 0, "", errors.New("it holds a formula")
	case c.kind == "inlineStr":
		return false, 0, string(lex.DecodeEscapes([]byte(c.inline))), nil
	case c.number == "" && c.inline == "":
		return false, 0, "", nil
	case c.kind != "" && c.kind != "n" || c.inline != "":
		return false, 0, "", errors.New("it holds neither a number nor a text of its own")
	}
	num, err = strconv.ParseFloat(c.number, 64)
	return true, num, "", err
}
