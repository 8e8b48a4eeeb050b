package drawing

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/draw"
	"math"
	"slices"

	"github.com/klauspost/compress/zlib"
	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"
)

// shades is the number of greys of a PNG: four bits a pixel. What a printer or a
// phone shows of more is not worth twice the bytes.
const shades = 16

// grey gives a tone's shade, 0 black and shades-1 white.
func grey(t Tone) float64 {
	switch t {
	case Ink:
		return 1
	case Slate:
		return 5
	case Metal:
		return 11.5
	case Mist:
		return 13
	case Liquid:
		return 13.5
	}
	return shades - 1
}

// Raster draws pictures as PNG. It holds fonts and buffers and serves one
// goroutine at a time.
//
// It stands on golang.org/x/image alone, the Go project's own rasterizer and
// fonts, which gonum/plot's canvas draws with as well; going straight to it
// draws a picture in a fifth of the time, since nothing is kept in 24-bit colour
// and nothing is converted.
type Raster struct {
	regular, bold *opentype.Font
	faces         map[faceKey]font.Face
	glyphs        map[glyphKey]glyph
	scale         float64
	img           image.Gray // a shade in each byte
	fill          vector.Rasterizer
	mask          *image.Alpha
	out           bytes.Buffer
	pack          *zlib.Writer
	row           []byte
}

type faceKey struct {
	size float64
	bold bool
}

// glyph is a letter as it was drawn once: its cover, from its point on the base
// line rounded to a quarter of a pixel.
type glyph struct {
	cover   image.Alpha
	advance fixed.Int26_6
}

type glyphKey struct {
	faceKey
	quarter fixed.Int26_6
	letter  rune
}

// NewRaster makes a Raster of so many pixels a point.
func NewRaster(scale float64) (*Raster, error) {
	r := &Raster{faces: map[faceKey]font.Face{}, glyphs: map[glyphKey]glyph{}, scale: scale, mask: image.NewAlpha(image.Rect(0, 0, 1, 1))}
	if !(scale > 0 && scale <= 20) {
		return nil, fmt.Errorf("a picture of %g pixels a point: expected more than 0 and up to 20", scale)
	}
	var err error
	if r.regular, err = opentype.Parse(goregular.TTF); err != nil {
		return nil, err
	}
	if r.bold, err = opentype.Parse(gobold.TTF); err != nil {
		return nil, err
	}
	r.pack, err = zlib.NewWriterLevel(&r.out, zlib.BestSpeed)
	return r, err
}

// PNG draws the picture. The bytes are valid until the next call.
func (r *Raster) PNG(p *Picture) ([]byte, error) {
	w, h := int(math.Ceil(p.Width*r.scale)), int(math.Ceil(p.Height*r.scale))
	if w < 1 || h < 1 || w > 10_000 || h > 10_000 {
		return nil, fmt.Errorf("a picture of %d by %d pixels: expected 1 to 10,000 either way", w, h)
	}
	if n := w * h; cap(r.img.Pix) < n {
		r.img.Pix = make([]uint8, n)
	}
	r.img.Pix = r.img.Pix[:w*h]
	r.img.Stride, r.img.Rect = w, image.Rect(0, 0, w, h)
	for i := range r.img.Pix {
		r.img.Pix[i] = shades - 1
	}
	for i := range p.Shapes {
		if err := r.shape(&p.Shapes[i]); err != nil {
			return nil, err
		}
	}
	if err := r.encode(w, h); err != nil {
		return nil, err
	}
	return r.out.Bytes(), nil
}

// encode writes the picture as a PNG of four bits a pixel (ISO/IEC 15948). The
// library's encoder asks each pixel for its colour, which takes five times as
// long as all the drawing.
func (r *Raster) encode(w, h int) error {
	r.out.Reset()
	r.out.WriteString("\x89PNG\r\n\x1a\n")
	head := make([]byte, 13)
	binary.BigEndian.PutUint32(head, uint32(w))
	binary.BigEndian.PutUint32(head[4:], uint32(h))
	head[8] = 4 // bits; colour type 0 is grey, and neither filter nor interlace
	r.chunk("IHDR", head)
	at := r.out.Len()
	r.out.WriteString("\x00\x00\x00\x00IDAT")
	r.pack.Reset(&r.out)
	r.row = slices.Grow(r.row[:0], 1+(w+1)/2)[:1+(w+1)/2]
	for y := range h {
		pix := r.img.Pix[y*w : (y+1)*w]
		r.row[0] = 0 // no filter: the areas are flat
		for i := range w / 2 {
			r.row[1+i] = pix[2*i]<<4 | pix[2*i+1]
		}
		if w%2 == 1 {
			r.row[len(r.row)-1] = pix[w-1] << 4
		}
		if _, err := r.pack.Write(r.row); err != nil {
			return err
		}
	}
	if err := r.pack.Close(); err != nil {
		return err
	}
	data := r.out.Bytes()[at:]
	binary.BigEndian.PutUint32(data, uint32(len(data)-8))
	r.out.Write(binary.BigEndian.AppendUint32(nil, crc32.ChecksumIEEE(data[4:])))
	r.chunk("IEND", nil)
	return nil
}

func (r *Raster) chunk(name string, data []byte) {
	b := binary.BigEndian.AppendUint32(nil, uint32(len(data)))
	b = append(append(b, name...), data...)
	r.out.Write(binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b[4:])))
}

func (r *Raster) shape(s *Shape) error {
	if s.Text != "" {
		return r.text(s)
	}
	if s.Fill != None && len(s.Path) > 2 {
		r.polygon([][]Point{s.Path}, grey(s.Fill))
	}
	if s.Pen.Tone != None && s.Pen.Width > 0 {
		path := s.Path
		if s.Closed && len(path) > 1 {
			path = append(path[:len(path):len(path)], path[0])
		}
		for list := strokes(path, s.Pen); len(list) > 0; {
			n := r.sides(list)
			r.polygon(list[:n], grey(s.Pen.Tone))
			list = list[n:]
		}
	}
	return nil
}

// sidesAtOnce is how many sides of a line are filled together at most.
const sidesAtOnce = 6

// sides says how many sides of a line are filled together: filling goes through
// every pixel of the box around them, so that those of a ring, or of the corner
// of two long lines, are better taken one by one.
func (r *Raster) sides(list [][]Point) int {
	box := r.box(list[0])
	alone := box.Dx() * box.Dy()
	for n := 1; n < min(len(list), sidesAtOnce); n++ {
		next := r.box(list[n])
		box = box.Union(next)
		alone += next.Dx() * next.Dy()
		if box.Dx()*box.Dy() > 2*alone+smallBox {
			return n
		}
	}
	return min(len(list), sidesAtOnce)
}

// smallBox is the number of pixels that cost no more than beginning anew.
const smallBox = 1000

// box gives the pixels around an area.
func (r *Raster) box(area []Point) image.Rectangle {
	var box image.Rectangle
	for i, q := range area {
		at := image.Rect(int(math.Floor(q.X*r.scale)), int(math.Floor(q.Y*r.scale)), int(math.Ceil(q.X*r.scale))+1, int(math.Ceil(q.Y*r.scale))+1)
		if i == 0 {
			box = at
		} else {
			box = box.Union(at)
		}
	}
	return box
}

// strokes turns a line into the areas that its pen covers. Each side of the line
// is one area, a little longer than the side so that corners close.
func strokes(path []Point, pen Pen) [][]Point {
	var list [][]Point
	half := pen.Width / 2
	quad := func(a, b Point, over float64) {
		dx, dy := b.X-a.X, b.Y-a.Y
		n := math.Hypot(dx, dy)
		if n < 1e-9 {
			return
		}
		dx, dy = dx/n, dy/n
		a.X, a.Y, b.X, b.Y = a.X-dx*over, a.Y-dy*over, b.X+dx*over, b.Y+dy*over
		ox, oy := -dy*half, dx*half
		list = append(list, []Point{{a.X + ox, a.Y + oy}, {b.X + ox, b.Y + oy}, {b.X - ox, b.Y - oy}, {a.X - ox, a.Y - oy}})
	}
	if pen.Dash[0] <= 0 {
		for i := 1; i < len(path); i++ {
			over := 0.0
			if i > 1 && turns(path[i-2], path[i-1], path[i]) || i+1 < len(path) && turns(path[i-1], path[i], path[i+1]) {
				over = half
			}
			quad(path[i-1], path[i], over)
		}
		return list
	}
	k, left := 0, pen.Dash[0]
	for i := 1; i < len(path); i++ {
		a, b := path[i-1], path[i]
		for {
			n := math.Hypot(b.X-a.X, b.Y-a.Y)
			if n < 1e-9 {
				break
			}
			step := min(left, n)
			c := Point{a.X + (b.X-a.X)*step/n, a.Y + (b.Y-a.Y)*step/n}
			if k%2 == 0 {
				quad(a, c, 0)
			}
			a = c
			if left -= step; left < 1e-9 {
				k = (k + 1) % 4
				left = max(pen.Dash[k], 0.1)
			}
		}
	}
	return list
}

// turns reports whether a line turns so sharply at b that a gap would show there.
func turns(a, b, c Point) bool {
	ux, uy, vx, vy := b.X-a.X, b.Y-a.Y, c.X-b.X, c.Y-b.Y
	return ux*vx+uy*vy < 0.9*math.Hypot(ux, uy)*math.Hypot(vx, vy)
}

// polygon fills areas, all at once, with a shade.
func (r *Raster) polygon(areas [][]Point, shade float64) {
	var box image.Rectangle
	for _, a := range areas {
		box = box.Union(r.box(a))
	}
	box = box.Intersect(r.img.Rect)
	if box.Empty() {
		return
	}
	r.fill.Reset(box.Dx(), box.Dy())
	at := func(q Point) (x, y float32) {
		return float32(q.X*r.scale - float64(box.Min.X)), float32(q.Y*r.scale - float64(box.Min.Y))
	}
	for _, a := range areas {
		if len(a) < 3 {
			continue
		}
		r.fill.MoveTo(at(a[0]))
		// All areas run the same way round, so that none takes from another.
		if signed(a) > 0 {
			for _, q := range a[1:] {
				r.fill.LineTo(at(q))
			}
		} else {
			for i := len(a) - 1; i > 0; i-- {
				r.fill.LineTo(at(a[i]))
			}
		}
		r.fill.ClosePath()
	}
	n := box.Dx() * box.Dy()
	if cap(r.mask.Pix) < n {
		r.mask.Pix = make([]uint8, n)
	}
	r.mask.Pix = r.mask.Pix[:n]
	r.mask.Stride, r.mask.Rect = box.Dx(), image.Rect(0, 0, box.Dx(), box.Dy())
	r.fill.DrawOp = draw.Src // so that the mask need not be cleared
	r.fill.Draw(r.mask, r.mask.Rect, image.Opaque, image.Point{})
	r.blend(r.mask.Pix, box, shade)
}

func signed(a []Point) float64 {
	sum := 0.0
	for i, p := range a {
		q := a[(i+1)%len(a)]
		sum += p.X*q.Y - q.X*p.Y
	}
	return sum
}

// mixes gives what becomes of a shade that is there under another one that covers
// so many sixteenths of it.
func mixes(shade float64) (to [shades][17]uint8) {
	for old := range to {
		for c := range to[old] {
			to[old][c] = uint8(float64(old) + (shade-float64(old))*float64(c)/16 + 0.5)
		}
	}
	return to
}

// blend lays a shade over the picture as far as a mask covers it.
func (r *Raster) blend(mask []uint8, box image.Rectangle, shade float64) {
	to := mixes(shade)
	w := box.Dx()
	for y := range box.Dy() {
		row := r.img.Pix[(box.Min.Y+y)*r.img.Stride+box.Min.X:]
		for x, m := range mask[y*w : (y+1)*w] {
			if m >= 8 {
				row[x] = to[row[x]][(int(m)+8)/16]
			}
		}
	}
}

func (r *Raster) face(size float64, bold bool) (font.Face, error) {
	key := faceKey{size, bold}
	if f := r.faces[key]; f != nil {
		return f, nil
	}
	src := r.regular
	if bold {
		src = r.bold
	}
	// 72 dots an inch make a point a pixel.
	f, err := opentype.NewFace(src, &opentype.FaceOptions{Size: size * r.scale, DPI: 72, Hinting: font.HintingNone})
	if err != nil {
		return nil, err
	}
	if len(r.faces) > 64 {
		// A picture has a handful of sizes.
		clear(r.faces)
		clear(r.glyphs)
	}
	r.faces[key] = f
	return f, nil
}

func (r *Raster) text(s *Shape) error {
	f, err := r.face(s.Size, s.Bold)
	if err != nil {
		return err
	}
	x := s.Path[0].X * r.scale
	switch wide := float64(font.MeasureString(f, s.Text)) / 64; s.Anchor {
	case Middle:
		x -= wide / 2
	case End:
		x -= wide
	}
	dot := fixed.Point26_6{X: fixed.Int26_6(math.Round(x * 64)), Y: fixed.Int26_6(math.Round(s.Path[0].Y * r.scale * 64))}
	last := rune(-1)
	for _, c := range s.Text {
		if last >= 0 {
			dot.X += f.Kern(last, c)
		}
		last = c
		g := r.letter(f, faceKey{s.Size, s.Bold}, c, dot.X)
		r.put(&g.cover, dot.X.Floor(), dot.Y.Round())
		dot.X += g.advance
	}
	return nil
}

// letter gives a letter as it stands at x, drawn once for each quarter of a pixel.
func (r *Raster) letter(f font.Face, of faceKey, c rune, x fixed.Int26_6) glyph {
	key := glyphKey{of, (x & 63) / 16, c}
	g, ok := r.glyphs[key]
	if ok {
		return g
	}
	box, mask, at, advance, ok := f.Glyph(fixed.Point26_6{X: key.quarter * 16}, c)
	g.advance = advance
	if a, is := mask.(*image.Alpha); ok && is {
		g.cover = *image.NewAlpha(box)
		for y := range box.Dy() {
			copy(g.cover.Pix[y*g.cover.Stride:(y+1)*g.cover.Stride], a.Pix[a.PixOffset(at.X, at.Y+y):])
		}
	}
	if len(r.glyphs) > 4096 {
		clear(r.glyphs)
	}
	r.glyphs[key] = g
	return g
}

// put lays a letter over the picture.
func (r *Raster) put(cover *image.Alpha, dx, dy int) {
	seen := cover.Rect.Add(image.Pt(dx, dy)).Intersect(r.img.Rect)
	to := mixes(grey(Ink))
	for y := seen.Min.Y; y < seen.Max.Y; y++ {
		row := r.img.Pix[y*r.img.Stride:]
		from := cover.Pix[cover.PixOffset(seen.Min.X-dx, y-dy):]
		for x := range seen.Dx() {
			if m := from[x]; m >= 8 {
				i := seen.Min.X + x
				row[i] = to[row[i]][(int(m)+8)/16]
			}
		}
	}
}
