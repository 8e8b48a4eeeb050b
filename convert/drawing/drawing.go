// Package drawing makes the picture of a tank with its drop tube and the plot of
// its chart. Each is one description, a list of plain shapes, which is drawn as
// SVG text for a page and as PNG for a workbook, so that both show the same
// picture.
//
// Everything is told by kinds of lines, hatches and words; tones only help, so
// that a page from a black-and-white printer says as much as a screen.
package drawing

// Point is a place on a picture, in points (1/72 in) from its top left corner.
type Point struct{ X, Y float64 }

// Tone is the shade of a line or of an area. The zero Tone draws nothing.
type Tone uint8

// The tones, from the darkest.
const (
	None Tone = iota
	Ink
	Slate
	Metal
	Mist
	Liquid
	Paper
)

// Anchor says which end of a text stands at its point.
type Anchor uint8

// The anchors of a text.
const (
	Start Anchor = iota
	Middle
	End
)

// Pen is how a line is drawn: its width in points, its tone, and the lengths of
// its strokes and gaps, zero for a solid one.
type Pen struct {
	Width float64
	Tone  Tone
	Dash  [4]float64
}

// Shape is a line, an area or a text. A text stands at Path[0] on its base line.
type Shape struct {
	Path   []Point
	Closed bool
	Pen    Pen
	Fill   Tone

	Text   string
	Size   float64 // of the text, in points
	Bold   bool
	Anchor Anchor

	// Name is what the shape stands for ("shutoff", "limit"), so that a page can
	// dress it or point at it; "" for most.
	Name string
}

// Picture is a list of shapes, drawn in their order, with the words that stand
// for them where nobody sees them.
type Picture struct {
	Width, Height float64
	Title         string
	About         string // what the picture shows, in sentences
	Shapes        []Shape
}

func (p *Picture) add(s Shape) { p.Shapes = append(p.Shapes, s) }

func (p *Picture) line(pen Pen, name string, path ...Point) {
	p.add(Shape{Path: path, Pen: pen, Name: name})
}

func (p *Picture) area(pen Pen, fill Tone, path ...Point) {
	p.add(Shape{Path: path, Closed: true, Pen: pen, Fill: fill})
}

func (p *Picture) text(x, y float64, anchor Anchor, size float64, bold bool, s string) {
	p.add(Shape{Path: []Point{{x, y}}, Text: s, Size: size, Bold: bold, Anchor: anchor})
}

// The pens. Limit, shutoff and alarm are told apart by their strokes.
func solid(w float64, t Tone) Pen { return Pen{Width: w, Tone: t} }

func dashed(w float64) Pen  { return Pen{Width: w, Tone: Ink, Dash: [4]float64{6, 3, 6, 3}} }
func dotted(w float64) Pen  { return Pen{Width: w, Tone: Ink, Dash: [4]float64{1.5, 2.5, 1.5, 2.5}} }
func chained(w float64) Pen { return Pen{Width: w, Tone: Ink, Dash: [4]float64{8, 2.5, 1.5, 2.5}} }

// hatch fills an area with slanted lines that stand gap apart. The lines are
// shapes of the picture like all others, so that SVG and PNG show the same ones.
func (p *Picture) hatch(pen Pen, gap float64, area []Point) {
	lo, hi := 0.0, 0.0
	for i, q := range area {
		c := q.Y + q.X
		if i == 0 || c < lo {
			lo = c
		}
		if i == 0 || c > hi {
			hi = c
		}
	}
	for c := lo + gap/2; c < hi; c += gap {
		// Where x + y = c crosses the sides.
		var cross []Point
		for i, a := range area {
			b := area[(i+1)%len(area)]
			ca, cb := a.X+a.Y, b.X+b.Y
			if (ca < c) == (cb < c) {
				continue
			}
			t := (c - ca) / (cb - ca)
			cross = append(cross, Point{a.X + t*(b.X-a.X), a.Y + t*(b.Y-a.Y)})
		}
		sortByX(cross)
		for i := 0; i+1 < len(cross); i += 2 {
			p.line(pen, "", cross[i], cross[i+1])
		}
	}
}

func sortByX(list []Point) {
	for i := 1; i < len(list); i++ {
		for j := i; j > 0 && list[j].X < list[j-1].X; j-- {
			list[j], list[j-1] = list[j-1], list[j]
		}
	}
}

// arrow draws a dimension line with an arrow head at each end.
func (p *Picture) arrow(a, b Point) {
	pen := solid(0.7, Ink)
	p.line(pen, "", a, b)
	p.head(a, b)
	p.head(b, a)
}

// head draws the arrow head at a of a line that comes from b, upright or level.
func (p *Picture) head(a, b Point) {
	const long, half = 5, 1.8
	dx, dy := 0.0, 0.0
	switch {
	case b.Y > a.Y:
		dy = 1
	case b.Y < a.Y:
		dy = -1
	case b.X > a.X:
		dx = 1
	default:
		dx = -1
	}
	p.area(Pen{}, Ink, a, Point{a.X + dx*long + dy*half, a.Y + dy*long + dx*half}, Point{a.X + dx*long - dy*half, a.Y + dy*long - dx*half})
}
