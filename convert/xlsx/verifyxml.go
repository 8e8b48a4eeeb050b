package xlsx

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

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
	shut  bool
	rowN  int
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

// sheetCell is a cell: everything in it as one text.
type sheetCell struct {
	col  int
	text string
	node *node
}

// row gives the next row, nil behind the last one.
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
			n, err := s.element(t)
			if err != nil {
				return nil, err
			}
			s.rowN++
			if v := n.attr("r"); v != "" {
				if s.rowN, err = strconv.Atoi(v); err != nil {
					return nil, err
				}
			}
			row := &sheetRow{n: s.rowN, attrs: n.name + attrsText(n.attrs, "spans"), cells: make([]sheetCell, 0, len(n.kids))}
			col := 0
			for _, k := range n.kids {
				col++
				if v := k.attr("r"); v != "" {
					c, r, ok := cell.ParseA1(v)
					if !ok || r != s.rowN {
						return nil, fmt.Errorf("cell %q stands in row %d", v, s.rowN)
					}
					col = c
				}
				row.cells = append(row.cells, sheetCell{col, k.String(), k})
			}
			return row, nil
		}
	}
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
	kind := c.node.attr("t")
	for _, k := range c.node.kids {
		switch k.local() {
		case "f":
			return false, 0, "", errors.New("it holds a formula")
		case "v":
			if kind != "" && kind != "n" {
				return false, 0, "", errors.New("it holds neither a number nor a text of its own")
			}
			num, err = strconv.ParseFloat(k.text, 64)
			return true, num, "", err
		case "is":
			for _, t := range k.kids {
				text += t.text
			}
			return false, 0, string(decodeEscapes([]byte(text))), nil
		}
	}
	return false, 0, "", nil
}
