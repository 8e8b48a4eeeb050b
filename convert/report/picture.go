package report

import (
	"bytes"
	"math"
	"strconv"
	"strings"

	"dropcut/convert/drawing"
)

// svg writes a picture as SVG for a page that holds thousands of them: its
// points to a tenth of a point, which no eye tells from the picture itself, and
// shapes that are drawn alike one after the other, as the hundreds of strokes of
// a chart's residuals are, as one path. It takes an eighth of the room.
func svg(p drawing.Picture, id string) (string, error) {
	shapes := p.Shapes
	p.Shapes = make([]drawing.Shape, 0, len(shapes))
	strokes := map[string]*strings.Builder{}
	var order []string
	for _, s := range shapes {
		path := make([]drawing.Point, len(s.Path))
		for i, q := range s.Path {
			path[i] = drawing.Point{X: tenth(q.X), Y: tenth(q.Y)}
		}
		s.Path = path
		if s.Name == "residual" && len(path) == 2 && path[0].X == path[1].X {
			key := strconv.FormatFloat(s.Pen.Width, 'f', -1, 64)
			b := strokes[key]
			if b == nil {
				b = &strings.Builder{}
				strokes[key] = b
				order = append(order, key)
			}
			b.WriteString("M" + short(path[0].X) + " " + short(path[0].Y) + "V" + short(path[1].Y))
			continue
		}
		p.Shapes = append(p.Shapes, s)
	}
	var buf bytes.Buffer
	if err := p.WriteSVG(&buf, id); err != nil {
		return "", err
	}
	text := buf.String()
	if len(order) == 0 {
		return text, nil
	}
	head, ok := strings.CutSuffix(text, "</svg>\n")
	if !ok {
		return text, nil
	}
	for _, width := range order {
		head += `<path d="` + strokes[width].String() + `" fill="none" stroke="#1f2a30" stroke-width="` + width + `" data-part="residual"/>` + "\n"
	}
	return head + "</svg>\n", nil
}

func tenth(v float64) float64 { return math.Round(v*10) / 10 }

func short(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
