package read

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"path"
	"strconv"
	"strings"

	"dropcut/convert/xlsx/internal/opc"
	"dropcut/plan/cell"
)

// Beside is something that stands on a sheet beside its cells.
type Beside struct {
	Kind string // "comment", "picture" or "drawing"
	// At is the cell of a comment, or the one at the top left corner of a picture;
	// without a row where it stands on no cell.
	At cell.Ref
	// Name is what a picture or a drawing is called in the book, File the part that
	// holds the picture.
	Name, File string
	Text       string // of a comment, or in a drawing
}

// besideMax is what a part with comments or drawings may hold: a thousand photos
// are named in some hundred kilobytes.
const besideMax = 16 << 20

// Beside lists comments, pictures and drawings of the sheet. Parts that it points
// to and that are missing are passed over.
func (s *Sheet) Beside() ([]Beside, error) {
	p := s.Book.Pack
	rels, err := p.Rels(s.Entry.Part.Name)
	if err != nil {
		return nil, err
	}
	var list []Beside
	for _, r := range rels {
		part := p.Part(r.Target)
		if r.External || part == nil {
			continue
		}
		var read func(*xml.Decoder) ([]Beside, error)
		switch r.Kind {
		case "comments":
			read = func(d *xml.Decoder) ([]Beside, error) { return s.comments(d, "comment") }
		case "threadedComment":
			read = func(d *xml.Decoder) ([]Beside, error) { return s.comments(d, "threadedComment") }
		case "drawing":
			pictures, err := p.Rels(part.Name)
			if err != nil {
				return nil, err
			}
			read = func(d *xml.Decoder) ([]Beside, error) { return s.drawings(d, pictures) }
		default:
			continue
		}
		data, err := p.Read(part, besideMax)
		if err != nil {
			return nil, err
		}
		d := xml.NewDecoder(bytes.NewReader(data))
		more, err := read(d)
		if err != nil {
			return nil, fmt.Errorf("%s: the part %s is damaged: %w; %s", s.At(), part.Name, err, opc.SaveAnew)
		}
		list = append(list, more...)
	}
	return list, nil
}

// comments reads comments (ECMA-376 18.7.3) or threaded ones, whose elements have
// the same shape.
func (s *Sheet) comments(d *xml.Decoder, element string) ([]Beside, error) {
	var list []Beside
	var text strings.Builder
	inside, words := false, false
	err := tokens(d, func(t xml.Token) {
		switch t := t.(type) {
		case xml.StartElement:
			switch t.Name.Local {
			case element:
				inside = true
				text.Reset()
				b := Beside{Kind: "comment", At: s.At()}
				if col, row, ok := cell.ParseA1(attr(t, "ref")); ok {
					b.At.Col, b.At.Row = col, row
				}
				list = append(list, b)
			case "t", "text":
				words = true
			}
		case xml.EndElement:
			switch t.Name.Local {
			case element:
				if inside {
					list[len(list)-1].Text = strings.TrimSpace(text.String())
				}
				inside = false
			case "t", "text":
				words = false
			}
		case xml.CharData:
			if inside && words {
				text.Write(t)
			}
		}
	})
	return list, err
}

// drawings reads the anchors of a drawing (ECMA-376 20.5).
func (s *Sheet) drawings(d *xml.Decoder, rels []opc.Rel) ([]Beside, error) {
	var list []Beside
	var b *Beside
	var text strings.Builder
	place, corner, words := "", false, false
	err := tokens(d, func(t xml.Token) {
		switch t := t.(type) {
		case xml.StartElement:
			switch t.Name.Local {
			case "twoCellAnchor", "oneCellAnchor", "absoluteAnchor":
				list = append(list, Beside{Kind: "drawing", At: s.At()})
				b = &list[len(list)-1]
				text.Reset()
			case "from":
				corner = true
			case "col", "row":
				place = t.Name.Local
			case "cNvPr":
				if b != nil && b.Name == "" {
					b.Name = attr(t, "name")
				}
			case "blip":
				if b == nil {
					break
				}
				b.Kind = "picture"
				for _, r := range rels {
					if id := attr(t, "embed"); id != "" && r.ID == id && !r.External {
						b.File = path.Base(r.Target)
					}
				}
			case "t":
				words = true
			}
		case xml.EndElement:
			switch t.Name.Local {
			case "twoCellAnchor", "oneCellAnchor", "absoluteAnchor":
				if b != nil {
					b.Text = strings.TrimSpace(text.String())
				}
				b = nil
			case "from":
				corner = false
			case "col", "row":
				place = ""
			case "t":
				words = false
			case "p":
				text.WriteByte(' ')
			}
		case xml.CharData:
			switch {
			case b == nil:
			case words:
				text.Write(t)
			case corner && place != "":
				n, err := strconv.Atoi(strings.TrimSpace(string(t)))
				if err != nil || n < 0 || n > 1<<20 {
					break
				}
				if place == "col" {
					b.At.Col = n + 1
				} else {
					b.At.Row = n + 1
				}
			}
		}
	})
	return list, err
}

// tokens goes through a part. Whatever it declares, nothing is expanded.
func tokens(d *xml.Decoder, do func(xml.Token)) error {
	for {
		t, err := d.RawToken()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		do(t)
	}
}

func attr(t xml.StartElement, name string) string {
	for _, a := range t.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}
