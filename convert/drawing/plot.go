package drawing

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"dropcut/plan"
	"dropcut/plan/chart"
	"dropcut/plan/unit"
)

// Plot is what is drawn of a chart. Depths and volumes are inches and US gallons.
type Plot struct {
	Name   string
	Depth  []float64
	Volume []float64
	// Fitted is the volume at each depth of the curve that was fitted to the
	// chart; nil for none. With it the residuals are drawn in a field below.
	Fitted []float64
	// Flagged are the indexes of rows that a finding is about.
	Flagged []int
	Marks   []Mark
	Units   Units
}

// Mark is a point of the curve that is named.
type Mark struct {
	Name          string
	Depth, Volume float64
	Part          string // "limit", "shutoff" or "alarm": gives the kind of line
}

// PlotOf makes the plot of a chart with the marks of a plan. ok is false where
// the chart gives no curve.
func PlotOf(c *chart.Chart, cut *plan.Cut, u Units) (p Plot, ok bool) {
	if c == nil || !c.UnitsKnown() {
		return p, false
	}
	p = Plot{Name: c.Name, Units: u, Depth: make([]float64, 0, len(c.Rows)), Volume: make([]float64, 0, len(c.Rows))}
	for i := range c.Rows {
		d, v := float64(c.DepthUnit.Length(c.Rows[i].Depth)), float64(c.VolumeUnit.Volume(c.Rows[i].Volume))
		if math.IsNaN(d) || math.IsNaN(v) || math.IsInf(d, 0) || math.IsInf(v, 0) {
			continue
		}
		p.Depth, p.Volume = append(p.Depth, d), append(p.Volume, v)
	}
	if len(p.Depth) < 2 {
		return p, false
	}
	if d, ok := limitDepth(cut); ok && cut.LimitVolume.Known {
		p.Marks = append(p.Marks, Mark{"limit " + plain(float64(cut.LimitPercent.V)) + " %", float64(d), float64(cut.LimitVolume.V), "limit"})
	}
	if cut.ShutoffDepth.Known && cut.ShutoffVolume.Known {
		p.Marks = append(p.Marks, Mark{"shutoff " + unit.PercentText(cut.ShutoffPercent.V, cut.LimitPercent.V) + " %", float64(cut.ShutoffDepth.V), float64(cut.ShutoffVolume.V), "shutoff"})
	}
	if cut.AlarmDepth.Known && cut.FullVolume.Known {
		p.Marks = append(p.Marks, Mark{"alarm " + plain(float64(cut.AlarmPercent.V)) + " %", float64(cut.AlarmDepth.V), float64(cut.AlarmPercent.V.Of(cut.FullVolume.V)), "alarm"})
	}
	return p, true
}

// The field of a plot, in points.
const (
	plotWidth  = 300
	plotLeft   = 44
	plotRight  = 288
	plotTop    = 26
	plotBottom = 330
	plotHeight = 372
	restTall   = 96 // of the residuals' field
)

// scaleOf maps values onto points.
type scaleOf struct{ lo, hi, a, b float64 }

func (s scaleOf) at(v float64) float64 { return s.a + (v-s.lo)/(s.hi-s.lo)*(s.b-s.a) }

// Picture draws the plot: depth upwards, as the stick stands, volume to the
// right.
func (c *Plot) Picture() Picture {
	p := Picture{Width: plotWidth, Height: plotHeight, Title: "Chart " + c.Name, About: c.about()}
	lu, vu := c.Units.Length, c.Units.Volume
	dMax, vMax := 0.0, 0.0
	dMin, vMin := math.Inf(1), 0.0
	for i := range c.Depth {
		dMax, vMax = max(dMax, c.Depth[i]), max(vMax, c.Volume[i])
		dMin, vMin = min(dMin, c.Depth[i]), min(vMin, c.Volume[i])
	}
	if !(vMax > vMin) || !(dMax > dMin) {
		p.text(plotWidth/2, plotHeight/2, Middle, 10, false, "No curve: the chart has no range.")
		return p
	}
	x := scaleOf{vMin, vMax, plotLeft, plotRight - 4}
	y := scaleOf{min(dMin, 0), dMax, plotBottom, plotTop}
	grid := solid(0.5, Mist)
	for v := range ticks(vu.Number(unit.Volume(vMin)), vu.Number(unit.Volume(vMax)), 4) {
		px := x.at(float64(vu.Volume(v)))
		p.line(grid, "", Point{px, plotTop}, Point{px, plotBottom})
		p.text(px, plotBottom+11, Middle, 8.5, false, unit.GroupedText(plain(v)))
	}
	for d := range ticks(lu.Number(unit.Length(y.lo)), lu.Number(unit.Length(dMax)), 6) {
		py := y.at(float64(lu.Length(d)))
		p.line(grid, "", Point{plotLeft, py}, Point{plotRight, py})
		p.text(plotLeft-4, py+3, End, 8.5, false, plain(d))
	}
	p.line(solid(1, Ink), "", Point{plotLeft, plotTop}, Point{plotLeft, plotBottom}, Point{plotRight, plotBottom})
	p.text(plotLeft-4, plotTop-10, End, 8.5, true, lu.String())
	p.text(plotRight, plotBottom+23, End, 8.5, true, "volume, "+vu.String())
	p.text(plotLeft, plotTop-10, Start, 9, true, "  depth and volume of chart "+clip(c.Name, 24))
	if c.Fitted != nil {
		p.line(dashed(1), "fitted", c.path(x, y, c.Fitted)...)
	}
	p.line(solid(1.5, Ink), "curve", c.path(x, y, c.Volume)...)
	c.marks(&p, x, y)
	for _, i := range c.Flagged {
		if i >= 0 && i < len(c.Depth) {
			c.flag(&p, Point{x.at(c.Volume[i]), y.at(c.Depth[i])})
		}
	}
	if c.Fitted != nil {
		c.residuals(&p)
	}
	return p
}

// path gives the curve, without points that no eye would miss.
func (c *Plot) path(x, y scaleOf, volume []float64) []Point {
	list := make([]Point, 0, 256)
	for i := range volume {
		q := Point{x.at(volume[i]), y.at(c.Depth[i])}
		if n := len(list); n > 0 && i < len(volume)-1 && math.Abs(q.X-list[n-1].X)+math.Abs(q.Y-list[n-1].Y) < 2 {
			continue
		}
		list = append(list, q)
	}
	return list
}

func (c *Plot) marks(p *Picture, x, y scaleOf) {
	order := make([]int, len(c.Marks))
	for i := range c.Marks {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(c.Marks[b].Depth, c.Marks[a].Depth) })
	lowest := plotTop + 10.0
	for _, m := range c.Marks {
		q := Point{x.at(m.Volume), y.at(m.Depth)}
		lowest = max(lowest, q.Y)
		p.line(penOf(m.Part), m.Part, Point{plotLeft, q.Y}, q, Point{q.X, plotBottom})
		if m.Part == "shutoff" {
			p.area(solid(1, Ink), Paper, Point{q.X - 3, q.Y}, Point{q.X, q.Y - 3}, Point{q.X + 3, q.Y}, Point{q.X, q.Y + 3})
		}
	}
	// The names stand below the lines, where the curve leaves room.
	for k, i := range order {
		m := c.Marks[i]
		at := lowest + 14 + 12*float64(k)
		p.line(penOf(m.Part), "", Point{plotLeft + 7, at - 3}, Point{plotLeft + 29, at - 3})
		p.text(plotLeft+33, at, Start, 8.5, m.Part == "shutoff", m.Name)
	}
}

// penOf gives the kind of line of a mark.
func penOf(part string) Pen {
	switch part {
	case "limit":
		return dashed(0.9)
	case "alarm":
		return dotted(1)
	}
	return solid(1.1, Ink)
}

// flag marks a row that a finding is about with a cross in a ring.
func (c *Plot) flag(p *Picture, q Point) {
	ring := make([]Point, 16)
	for i := range ring {
		a := 2 * math.Pi * float64(i) / 16
		ring[i] = Point{q.X + 6*math.Cos(a), q.Y + 6*math.Sin(a)}
	}
	p.add(Shape{Path: ring, Closed: true, Pen: solid(1, Ink), Name: "flagged"})
	p.line(solid(1.2, Ink), "", Point{q.X - 3, q.Y - 3}, Point{q.X + 3, q.Y + 3})
	p.line(solid(1.2, Ink), "", Point{q.X - 3, q.Y + 3}, Point{q.X + 3, q.Y - 3})
}

// residuals draws, below the chart, by how much each row is off the fitted curve.
func (c *Plot) residuals(p *Picture) {
	top := p.Height + 4
	p.Height += restTall
	mid := top + 42
	most := 0.0
	n := min(len(c.Fitted), len(c.Volume))
	for i := range n {
		most = max(most, math.Abs(c.Volume[i]-c.Fitted[i]))
	}
	if !(most > 0) {
		most = 1
	}
	x := scaleOf{min(c.Depth[0], c.Depth[n-1]), max(c.Depth[0], c.Depth[n-1]), plotLeft, plotRight - 4}
	if !(x.hi > x.lo) {
		return
	}
	s := scaleOf{-most, most, mid + 34, mid - 34}
	p.line(solid(0.8, Slate), "", Point{plotLeft, mid}, Point{plotRight, mid})
	p.text(plotLeft, top, Start, 8.5, true, "  chart less fitted curve, by depth")
	p.text(plotLeft-4, mid+3, End, 8.5, false, "0")
	vu := c.Units.Volume
	label := unit.GroupedText(unit.DecimalText(vu.Number(unit.Volume(most)), 1, unit.Up))
	p.text(plotLeft-4, mid-30, End, 8.5, false, "+"+label)
	p.text(plotLeft-4, mid+36, End, 8.5, false, "-"+label)
	for i := range n {
		px := x.at(c.Depth[i])
		p.line(solid(1, Ink), "residual", Point{px, mid}, Point{px, s.at(c.Volume[i] - c.Fitted[i])})
	}
	for _, i := range c.Flagged {
		if i >= 0 && i < n {
			c.flag(p, Point{x.at(c.Depth[i]), s.at(c.Volume[i] - c.Fitted[i])})
		}
	}
}

func (c *Plot) about() string {
	words := []string{"Volume by depth."}
	for _, m := range c.Marks {
		words = append(words, strings.ToUpper(m.Name[:1])+m.Name[1:]+" at "+c.Units.length(unit.Length(m.Depth))+".")
	}
	if len(c.Flagged) > 0 {
		words = append(words, "Rows with a finding are ringed.")
	}
	return strings.Join(words, " ")
}

// ticks gives about n round numbers from lo to hi.
func ticks(lo, hi float64, n int) func(yield func(float64) bool) {
	return func(yield func(float64) bool) {
		raw := (hi - lo) / float64(n)
		if !(raw > 0) || math.IsInf(raw, 0) {
			return
		}
		ten := math.Pow(10, math.Floor(math.Log10(raw)))
		step := 10 * ten
		for _, k := range []float64{1, 2, 2.5, 5} {
			if k*ten >= raw*0.999 {
				step = k * ten
				break
			}
		}
		for i := math.Ceil(lo/step - 1e-9); i*step <= hi+step*1e-9; i++ {
			if !yield(i * step) {
				return
			}
		}
	}
}

// clip shortens a text to n letters.
func clip(s string, n int) string {
	if r := []rune(s); len(r) > n {
		return string(r[:n-1]) + "…"
	}
	return s
}
