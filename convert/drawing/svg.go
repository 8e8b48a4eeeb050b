package drawing

import (
	"io"
	"math"
	"strconv"
	"strings"
)

// The colours of the tones on a screen; grey gives the PNG's shade of each.
func colour(t Tone) string {
	switch t {
	case Ink:
		return "#1f2a30"
	case Slate:
		return "#5b6b73"
	case Metal:
		return "#c3ccc8"
	case Mist:
		return "#dfe5e1"
	case Liquid:
		return "#dbe9ee"
	case Paper:
		return "#ffffff"
	}
	return "none"
}

// WriteSVG writes the picture as SVG 1.1 text. id makes the names of its title
// and description unique on a page. The same picture is the same text.
func (p *Picture) WriteSVG(w io.Writer, id string) error {
	var b strings.Builder
	b.Grow(256 + 96*len(p.Shapes))
	b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 `)
	b.WriteString(num(p.Width) + " " + num(p.Height))
	b.WriteString(`" role="img" aria-labelledby="` + attr(id) + `-t ` + attr(id) + `-d" font-family="Arial, Helvetica, sans-serif">` + "\n")
	b.WriteString(`<title id="` + attr(id) + `-t">` + body(p.Title) + "</title>\n")
	b.WriteString(`<desc id="` + attr(id) + `-d">` + body(p.About) + "</desc>\n")
	for i := range p.Shapes {
		p.Shapes[i].svg(&b)
	}
	b.WriteString("</svg>\n")
	_, err := io.WriteString(w, b.String())
	return err
}

func (s *Shape) svg(b *strings.Builder) {
	if s.Text != "" {
		b.WriteString(`<text x="` + num(s.Path[0].X) + `" y="` + num(s.Path[0].Y) + `" font-size="` + num(s.Size) + `"`)
		switch s.Anchor {
		case Middle:
			b.WriteString(` text-anchor="middle"`)
		case End:
			b.WriteString(` text-anchor="end"`)
		}
		if s.Bold {
			b.WriteString(` font-weight="bold"`)
		}
		s.named(b)
		b.WriteString(` fill="` + colour(Ink) + `">` + body(s.Text) + "</text>\n")
		return
	}
	if len(s.Path) == 0 {
		return
	}
	b.WriteString(`<path d="M`)
	for i, q := range s.Path {
		if i > 0 {
			b.WriteByte('L')
		}
		b.WriteString(num(q.X) + " " + num(q.Y))
	}
	if s.Closed {
		b.WriteByte('Z')
	}
	b.WriteString(`" fill="` + colour(s.Fill) + `"`)
	if s.Pen.Tone != None && s.Pen.Width > 0 {
		b.WriteString(` stroke="` + colour(s.Pen.Tone) + `" stroke-width="` + num(s.Pen.Width) + `"`)
		if s.Pen.Dash[0] > 0 {
			parts := make([]string, 0, 4)
			for _, d := range s.Pen.Dash {
				parts = append(parts, num(d))
			}
			b.WriteString(` stroke-dasharray="` + strings.Join(parts, " ") + `"`)
		}
	}
	s.named(b)
	b.WriteString("/>\n")
}

func (s *Shape) named(b *strings.Builder) {
	if s.Name != "" {
		b.WriteString(` data-part="` + attr(s.Name) + `"`)
	}
}

// num prints a coordinate to a hundredth of a point.
func num(v float64) string {
	v = math.Round(v*100) / 100
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		v = 0 // no "-0", and nothing that is no number
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// body and attr write text so that it stays text. What XML 1.0 cannot hold at
// all is left out.
func body(s string) string { return escape(s, false) }
func attr(s string) string { return escape(s, true) }

func escape(s string, quoted bool) string {
	var b strings.Builder
	for _, r := range strings.ToValidUTF8(s, "\uFFFD") {
		switch {
		case r == '&':
			b.WriteString("&amp;")
		case r == '<':
			b.WriteString("&lt;")
		case r == '>':
			b.WriteString("&gt;")
		case r == '"' && quoted:
			b.WriteString("&quot;")
		case r < 0x20 && r != '\t' && r != '\n' && r != '\r', r == 0xFFFE, r == 0xFFFF:
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}
