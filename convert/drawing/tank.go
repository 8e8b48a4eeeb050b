package drawing

import (
	"math"
	"slices"
	"strings"

	"dropcut/plan"
	"dropcut/plan/device"
	"dropcut/plan/unit"
)

// Units are the units in which a picture is lettered.
type Units struct {
	Length unit.LengthUnit
	Volume unit.VolumeUnit
}

// length letters a length: inches as a fraction, all else in millimetres.
func (u Units) length(l unit.Length) string {
	if u.Length.Metric() {
		return unit.LengthText(l, unit.Millimetres, 0, unit.Nearest) + " mm"
	}
	return unit.FractionText(l, 16, unit.Nearest) + " in"
}

// cut letters a length that is cut, which never gets shorter by rounding.
func (u Units) cut(l unit.Length) string {
	if u.Length.Metric() {
		return unit.LengthText(l, unit.Millimetres, 0, unit.Up) + " mm"
	}
	return unit.FractionText(l, 64, unit.Up) + " in"
}

// The sheet of a tank's picture, in points.
const (
	tankWidth  = 474
	tankTop    = 18
	tankFloor  = 330 // the bottom of the tank at the lowest
	tankHeight = 376
	// Where the tank does not lie level its section is drawn so much smaller, and
	// the picture is so much higher: a page has no more room, and letters that are
	// printed smaller are not read in the rain.
	tiltLess, tiltMore = 42, 36

	chainA = 92  // dimension line of the heights
	chainB = 172 // dimension line of the tubes
	middle = 268 // the fill
	tags   = 366 // where the levels are named
	broad  = 176 // of the tank at the most

	// Letters, in points: the picture is printed at about 7/10 of its size.
	letters = 11
	figures = 12
)

// tankView is a picture of a tank while it is drawn.
type tankView struct {
	p     Picture
	t     *plan.Tank
	c     *plan.Cut
	d     *device.Device
	u     Units
	scale float64 // points an inch
	floor float64 // of the tank bottom
	tall  unit.Length
	riser unit.Length
	// guessed says that the riser was not measured and is drawn as it may be.
	guessed bool
}

// Tank draws a tank at its fill, to scale: the section with its riser, the levels
// of limit, shutoff and alarm, and the drop tube with its cuts. What a plan does
// not know is not drawn. The device may be nil. A tank whose inside height is not
// known gives a picture that says so.
func Tank(t *plan.Tank, c *plan.Cut, d *device.Device, u Units) Picture {
	v := &tankView{t: t, c: c, d: d, u: u}
	v.p = Picture{Width: tankWidth, Height: tankHeight, Title: "Tank " + t.ID.Raw + ": section at the fill, to scale"}
	if !c.InsideHeight.Known || !(c.InsideHeight.V > 0) {
		v.p.text(tankWidth/2, tankHeight/2, Middle, 11, false, "No picture: the inside height of this tank is not known.")
		v.p.About = "The inside height is not known."
		return v.p
	}
	v.tall = c.InsideHeight.V
	v.measure()
	v.tank()
	v.levels()
	v.heights()
	if c.UpperTube.Known && d != nil {
		v.tube()
	}
	if v.tilted() {
		v.tilt()
	}
	v.p.About = v.about()
	return v.p
}

func (v *tankView) tilted() bool { return v.t.Rise.Given() && v.t.Rise.V > 0 }

// measure settles the riser and the scale.
func (v *tankView) measure() {
	switch {
	case v.t.RiserHeight.Given() && v.t.RiserHeight.V > 0:
		v.riser = v.t.RiserHeight.V
	case v.t.FaceToBottom.Given() && v.t.FaceToBottom.V > v.tall:
		v.riser = v.t.FaceToBottom.V - v.tall
	default:
		v.riser, v.guessed = v.tall*0.4, true
	}
	wide := float64(v.tall)
	if w := v.t.Width; w.Given() && w.V > 0 {
		wide = float64(w.V)
	} else if s := v.t.Shape.V; plan.Standing(s) && v.t.Diameter.Given() {
		wide = float64(v.t.Diameter.V)
	}
	v.floor = tankFloor
	if v.tilted() {
		v.floor -= tiltLess
	}
	v.scale = min((v.floor-tankTop-8)/float64(v.tall+v.riser), broad/wide)
}

// y gives the place of a depth.
func (v *tankView) y(d unit.Length) float64 { return v.floor - float64(d)*v.scale }

// half gives half the width of the section at a depth, in inches.
func (v *tankView) half(d float64) float64 {
	h := float64(v.tall)
	d = min(max(d, 0), h)
	w := unit.Fold(v.t.Shape.V)
	wide := h
	if x := v.t.Width; x.Given() && x.V > 0 {
		wide = float64(x.V)
	}
	switch {
	case plan.Standing(w):
		if x := v.t.Diameter; x.Given() && x.V > 0 {
			wide = float64(x.V)
		}
		return wide / 2
	case strings.Contains(w, "rect") || strings.Contains(w, "box"):
		return wide / 2
	case strings.Contains(w, "obround") && wide > h:
		return (wide-h)/2 + math.Sqrt(d*(h-d))
	case strings.Contains(w, "obround"):
		r := wide / 2
		switch {
		case d < r:
			return math.Sqrt(d * (2*r - d))
		case d > h-r:
			return math.Sqrt((h - d) * (2*r - h + d))
		}
		return r
	}
	return wide / h * math.Sqrt(d*(h-d))
}

// section gives the outline of the tank up to a depth.
func (v *tankView) section(to unit.Length) []Point {
	const n = 40
	path := make([]Point, 0, 2*n+2)
	for i := range n + 1 {
		// Closer steps where the outline turns.
		d := float64(to) * (1 - math.Cos(math.Pi*float64(i)/n)) / 2
		path = append(path, Point{middle + v.half(d)*v.scale, v.y(unit.Length(d))})
	}
	for i := n; i >= 0; i-- {
		q := path[i]
		path = append(path, Point{2*middle - q.X, q.Y})
	}
	return path
}

// tank draws liquid, shell and riser.
func (v *tankView) tank() {
	if v.c.ShutoffDepth.Known {
		v.p.area(Pen{}, Liquid, v.section(v.c.ShutoffDepth.V)...)
	}
	v.p.area(solid(2, Ink), None, v.section(v.tall)...)
	top, face := v.y(v.tall), v.y(v.tall+v.riser)
	bore := 3.0 // half of it, in inches, where it was not measured
	if v.d != nil && v.d.TubeDiameter.Given() {
		bore = float64(v.d.TubeDiameter.V)/2 + 1
	}
	if b := v.t.RiserBore; b.Given() && b.V > 0 {
		bore = max(float64(b.V)/2, bore-0.9)
	}
	x := bore * v.scale
	pen := solid(1.4, Ink)
	if v.guessed {
		pen = dashed(1)
	}
	// The shell is open under the riser.
	v.p.area(Pen{}, Paper, Point{middle - x, top - 2}, Point{middle + x, top - 2}, Point{middle + x, top + 1.2}, Point{middle - x, top + 1.2})
	v.p.line(pen, "", Point{middle - x, top}, Point{middle - x, face})
	v.p.line(pen, "", Point{middle + x, top}, Point{middle + x, face})
	v.p.line(solid(2.4, Ink), "face", Point{middle - x - 7, face}, Point{middle + x + 7, face})
	v.p.text(middle+x+10, face+3, Start, letters, false, "sealing face")
	if v.guessed {
		v.p.text(middle+x+6, (top+face)/2, Start, letters, false, "riser not measured yet")
	}
}

// tag is a level that is named at the right.
type tag struct {
	depth      unit.Length
	name, text string
	part       string
	pen        Pen
}

// levels draws limit, shutoff and alarm, and names each at the right.
func (v *tankView) levels() {
	c := v.c
	var list []tag
	if d, ok := limitDepth(c); ok && c.LimitPercent.Known {
		list = append(list, tag{depth: d, name: "limit " + plain(float64(c.LimitPercent.V)) + " %", text: "at " + v.u.length(d), part: "limit", pen: dashed(1.1)})
	}
	if c.ShutoffDepth.Known {
		name := "shutoff"
		if c.ShutoffPercent.Known {
			name += " " + unit.PercentText(c.ShutoffPercent.V, c.LimitPercent.V) + " %"
		}
		list = append(list, tag{depth: c.ShutoffDepth.V, name: name, text: "at " + v.u.length(c.ShutoffDepth.V), part: "shutoff", pen: solid(1.5, Ink)})
	}
	if c.AlarmDepth.Known {
		list = append(list, tag{depth: c.AlarmDepth.V, name: "alarm " + plain(float64(c.AlarmPercent.V)) + " %", text: "at " + v.u.length(c.AlarmDepth.V), part: "alarm", pen: dotted(1.3)})
	}
	list = append(list, tag{depth: v.tall, name: "tank top", text: "height " + v.u.length(v.tall), part: "top", pen: Pen{}})
	slices.SortStableFunc(list, func(a, b tag) int {
		switch {
		case a.depth > b.depth:
			return -1
		case a.depth < b.depth:
			return 1
		}
		return 0
	})
	ys := make([]float64, len(list))
	for i := range list {
		ys[i] = v.y(list[i].depth)
	}
	spread(ys, 28, tankTop+14, v.floor)
	for i := range list {
		g := &list[i]
		y := v.y(g.depth)
		half := v.half(float64(g.depth)) * v.scale
		if g.part != "top" {
			v.p.line(g.pen, g.part, Point{middle - half, y}, Point{middle + half, y})
		}
		lead := max(middle+half, middle+12)
		v.p.line(solid(0.5, Slate), "", Point{lead, y}, Point{tags - 9, ys[i]}, Point{tags - 3, ys[i]})
		v.p.text(tags, ys[i]-1, Start, figures, true, g.name)
		v.p.text(tags, ys[i]+11, Start, letters, false, g.text)
		if g.part == "shutoff" {
			// The triangle that marks a liquid level on technical drawings.
			x := middle - half*0.62
			v.p.area(solid(0.8, Ink), Paper, Point{x, y}, Point{x - 4, y - 7}, Point{x + 4, y - 7})
			for k := range 2 {
				w := 5 - 2.5*float64(k)
				v.p.line(solid(0.8, Ink), "", Point{x - w, y + 3 + 2.4*float64(k)}, Point{x + w, y + 3 + 2.4*float64(k)})
			}
		}
	}
}

// limitDepth gives the depth at which the limit is reached: between the rows of
// the chart, or lower as the tank lies.
func limitDepth(c *plan.Cut) (unit.Length, bool) {
	switch {
	case c.TiltedDepth.Known && (!c.BetweenDepth.Known || c.TiltedDepth.V < c.BetweenDepth.V):
		return c.TiltedDepth.V, true
	case c.BetweenDepth.Known:
		return c.BetweenDepth.V, true
	}
	return 0, false
}

// spread moves places apart until they stand gap apart, within lo and hi.
func spread(ys []float64, gap, lo, hi float64) {
	for i := range ys {
		ys[i] = max(ys[i], lo)
		if i > 0 {
			ys[i] = max(ys[i], ys[i-1]+gap)
		}
	}
	for i := len(ys) - 1; i >= 0; i-- {
		top := hi
		if i+1 < len(ys) {
			top = ys[i+1] - gap
		}
		ys[i] = min(ys[i], top)
	}
}

// chain draws dimensions one under the other at an upright line.
type link struct {
	from, to   float64 // on the picture
	name, text string
	bold       bool
}

func (v *tankView) chain(x float64, links []link, lo float64) {
	ys := make([]float64, len(links))
	for i, l := range links {
		ys[i] = (l.from + l.to) / 2
	}
	spread(ys, 27, lo, v.floor+12)
	for i, l := range links {
		v.p.line(solid(0.5, Slate), "", Point{x - 3, l.from}, Point{x + 3, l.from})
		v.p.line(solid(0.5, Slate), "", Point{x - 3, l.to}, Point{x + 3, l.to})
		if l.to-l.from > 11 {
			v.p.arrow(Point{x, l.from}, Point{x, l.to})
		} else {
			v.p.line(solid(0.7, Ink), "", Point{x, l.from}, Point{x, l.to})
		}
		v.p.text(x-5, ys[i]-1, End, letters, false, l.name)
		v.p.text(x-5, ys[i]+11, End, figures, l.bold, l.text)
	}
}

// heights draws the chain riser, headspace, depth at shutoff.
func (v *tankView) heights() {
	top, face := v.y(v.tall), v.y(v.tall+v.riser)
	var list []link
	if !v.guessed {
		list = append(list, link{face, top, "riser", v.u.length(v.riser), false})
	}
	if d := v.c.ShutoffDepth; d.Known {
		level := v.y(d.V)
		list = append(list, link{top, level, "headspace", v.u.length(v.tall - d.V), false}, link{level, v.floor, "level at shutoff", v.u.length(d.V), false})
	} else {
		list = append(list, link{top, v.floor, "inside height", v.u.length(v.tall), false})
	}
	v.chain(chainA, list, tankTop+8)
	pen := solid(0.4, Slate)
	v.p.line(pen, "", Point{chainA + 4, v.floor}, Point{middle - 20, v.floor})
}

// tube draws the drop tube with the device and its cuts.
func (v *tankView) tube() {
	c, d := v.c, v.d
	half := 2.0
	if d.TubeDiameter.Given() && d.TubeDiameter.V > 0 {
		half = float64(d.TubeDiameter.V) / 2
	}
	x := max(half*v.scale, 2.5)
	face := v.tall + v.riser
	seam := v.tall - c.TubeBelowTop.V
	pen := solid(1, Ink)
	box := func(from, to unit.Length) []Point {
		return []Point{{middle - x, v.y(from)}, {middle + x, v.y(from)}, {middle + x, v.y(to)}, {middle - x, v.y(to)}}
	}
	v.p.area(pen, Paper, box(face, seam)...)
	links := []link{{v.y(face), v.y(seam), "upper tube", v.u.cut(c.UpperTube.V), true}}
	if d.BodyLength.Given() {
		end := seam - d.BodyLength.V
		body := box(seam, end)
		for i := range body {
			body[i].X += math.Copysign(1.2, body[i].X-middle)
		}
		v.p.area(solid(1.2, Ink), Metal, body...)
		v.p.hatch(solid(0.5, Ink), 4, body)
		links = append(links, link{v.y(seam), v.y(end), "device", v.u.length(d.BodyLength.V), false})
		v.arm(seam, end, x)
		if c.LowerTube.Known && c.TipHeight.Known {
			v.lower(end, x, &links)
		}
	}
	v.cutMark(seam, x)
	v.chain(chainB, links, v.y(face)+6)
}

// arm draws the float arm where it hangs in the liquid.
func (v *tankView) arm(seam, end unit.Length, x float64) {
	space := 19.0
	if s := v.d.ArmSpace; s.Given() && s.V > 0 {
		space = float64(s.V)
	}
	root := Point{middle + x, v.y((seam + end) / 2)}
	reach := min(space*v.scale, broad/2-6)
	tip := Point{root.X + reach*0.85, root.Y + reach*0.25}
	v.p.line(solid(1.2, Ink), "arm", root, tip)
	v.p.area(solid(1, Ink), Paper, Point{tip.X - 5, tip.Y - 3}, Point{tip.X + 5, tip.Y - 3}, Point{tip.X + 5, tip.Y + 3}, Point{tip.X - 5, tip.Y + 3})
}

// lower draws the lower tube, its slanted end and what the end may be above the
// bottom.
func (v *tankView) lower(from unit.Length, x float64, links *[]link) {
	c := v.c
	tip := c.TipHeight.V
	short := tip
	if c.EndHeight.Known {
		short = max(short, c.EndHeight.V)
	}
	v.p.area(solid(1, Ink), Paper, Point{middle - x, v.y(from)}, Point{middle + x, v.y(from)}, Point{middle + x, v.y(short)}, Point{middle - x, v.y(tip)})
	*links = append(*links, link{v.y(from), v.y(tip), "lower tube", v.u.cut(c.LowerTube.V), true})
	v.cutMark(tip, x)
	if c.EndMost.Known {
		y := v.y(c.EndMost.V)
		v.p.line(chained(0.9), "end", Point{middle + x + 2, y}, Point{middle + v.half(float64(c.EndMost.V))*v.scale, y})
		v.p.text(tags, min(y+3, v.floor-2), Start, letters, false, "end at most "+v.u.length(c.EndMost.V))
		v.p.line(solid(0.5, Slate), "", Point{middle + v.half(float64(c.EndMost.V))*v.scale, y}, Point{tags - 3, y})
	}
	words := "clear of the bottom by " + v.u.length(tip)
	if short > tip+unit.Guard {
		words = "long side clear of the bottom by " + v.u.length(tip) + ", short side by " + v.u.length(short)
	}
	v.p.text(middle, v.floor+18, Middle, letters, false, words)
	if c.DropLength.Known {
		v.p.text(middle, v.floor+33, Middle, figures, true, "drop length, sealing face to end: "+v.u.cut(c.DropLength.V))
	}
}

// cutMark marks a saw cut: a line across the tube with a stroke at each end.
func (v *tankView) cutMark(d unit.Length, x float64) {
	y := v.y(d)
	for _, side := range []float64{-1, 1} {
		a := middle + side*(x+3)
		v.p.line(solid(1.6, Ink), "cut", Point{a, y}, Point{a + side*9, y})
		v.p.line(solid(1, Ink), "", Point{a + side*6, y - 3}, Point{a + side*11, y + 3})
	}
}

// tilt draws the outline of the tank from its side as it lies. No level is drawn
// there: with the rise enlarged it would seem to stand where it does not.
func (v *tankView) tilt() {
	v.p.Height += tiltMore
	const left, wide, tall = 96, 250, 28
	length := v.t.Length.V
	if !v.t.Length.Given() || length <= 0 {
		length = 3 * v.tall
	}
	per := wide / float64(length)
	times := 1.0
	for _, k := range []float64{2, 5, 10, 20} {
		if float64(v.t.Rise.V)*per*k <= 20 {
			times = k
		}
	}
	rise := min(float64(v.t.Rise.V)*per*times, 24)
	base := v.floor + 96.0
	// The end nearer the fill stands at the left.
	a, b := -rise, 0.0
	if v.t.LowEnd.V == plan.FillEnd {
		a, b = 0, -rise
	}
	v.p.area(solid(1.4, Ink), None, Point{left, base + a}, Point{left + wide, base + b}, Point{left + wide, base + b - tall}, Point{left, base + a - tall})
	v.p.line(solid(0.6, Slate), "", Point{left - 12, base + 3}, Point{left + wide + 12, base + 3})
	at := 0.0
	if s := v.t.FillStation; s.Given() && length > 0 {
		at = min(max(float64(s.V/length), 0), 1)
	}
	x, top := left+at*wide, base+a+(b-a)*at-tall
	v.p.line(solid(2, Ink), "", Point{x, top - 9}, Point{x, top})
	v.p.text(x+4, top-3, Start, letters, false, "fill")
	end := "fill end low"
	switch v.t.LowEnd.V {
	case plan.OtherEnd:
		end = "fill end high"
	case plan.EndUnknown:
		end = "low end not known, fill end taken as high"
	}
	v.p.text(left+wide+10, base-tall/2+3, Start, figures, true, "rise "+v.u.length(v.t.Rise.V))
	words := "as the tank lies, " + end
	if times > 1 {
		words += "; rise drawn " + plain(times) + " times as large"
	}
	v.p.text(left, base+14, Start, letters, false, words)
}

func (v *tankView) about() string {
	c := v.c
	list := []string{"Inside height " + v.u.length(v.tall) + "."}
	if v.guessed {
		list = append(list, "The riser is not measured yet.")
	} else {
		list = append(list, "Riser "+v.u.length(v.riser)+".")
	}
	if c.ShutoffDepth.Known {
		list = append(list, "The flow stops at a level of "+v.u.length(c.ShutoffDepth.V)+", "+unit.PercentText(c.ShutoffPercent.V, c.LimitPercent.V)+" % full; the limit is "+plain(float64(c.LimitPercent.V))+" %.")
	}
	if c.AlarmDepth.Known {
		list = append(list, "Alarm at "+v.u.length(c.AlarmDepth.V)+".")
	}
	if c.UpperTube.Known {
		list = append(list, "Upper tube "+v.u.cut(c.UpperTube.V)+".")
	}
	if c.LowerTube.Known {
		list = append(list, "Lower tube "+v.u.cut(c.LowerTube.V)+", its end "+v.u.length(c.TipHeight.V)+" above the bottom.")
	}
	if v.tilted() {
		list = append(list, "The tank rises by "+v.u.length(v.t.Rise.V)+" from end to end.")
	}
	return strings.Join(list, " ")
}

// plain prints a number with as few decimals as it has, four at the most.
func plain(x float64) string {
	s := unit.DecimalText(x, 4, unit.Nearest)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}
