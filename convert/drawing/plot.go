package drawing

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
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
	// Neighbours is the volume that the rows around each row say it has, NaN where
	// they say nothing; nil for none. With it what each row is off them is drawn in
	// a field of its own.
	Neighbours []float64
	// Flagged are the indexes of rows that a finding is about.
	Flagged []int
	Marks   []Mark
	// Notes are words that stand in the empty corner below the curve.
	Notes []string
	Units Units
	// NoUnits says that the file names no units: the axes then bear none.
	NoUnits bool
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
	if !p.rows(c, u) {
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

// PlotAsGiven makes the plot of a chart without a plan, of which not even the
// units need be known: the axes then bear the numbers of the file. ok is false
// where the chart gives no curve.
func PlotAsGiven(c *chart.Chart, u Units) (p Plot, ok bool) {
	if c == nil {
		return p, false
	}
	if !c.UnitsKnown() {
		as := *c
		as.DepthUnit, as.VolumeUnit = unit.Inches, unit.USGallons
		ok = p.rows(&as, Units{unit.Inches, unit.USGallons})
		p.NoUnits = true
		return p, ok
	}
	return p, p.rows(c, u)
}

// rows takes the rows of a chart that can be drawn.
func (c *Plot) rows(of *chart.Chart, u Units) bool {
	*c = Plot{Name: of.Name, Units: u, Depth: make([]float64, 0, len(of.Rows)), Volume: make([]float64, 0, len(of.Rows))}
	for i := range of.Rows {
		if !drawn(&of.Rows[i]) {
			continue
		}
		c.Depth = append(c.Depth, float64(of.DepthUnit.Length(of.Rows[i].Depth)))
		c.Volume = append(c.Volume, float64(of.VolumeUnit.Volume(of.Rows[i].Volume)))
	}
	return len(c.Depth) >= 2
}

// drawn reports whether a row of a chart can be drawn.
func drawn(r *chart.Row) bool { return math.Abs(r.Depth) < 1e15 && math.Abs(r.Volume) < 1e15 }

// Fit adds the curve that was fitted to the chart, given as the volume at a
// depth, both in the chart's units, and the residuals.
func (c *Plot) Fit(of *chart.Chart, volume func(depth float64) float64) {
	list := make([]float64, 0, len(c.Depth))
	for i := range of.Rows {
		if !drawn(&of.Rows[i]) {
			continue
		}
		v := c.volume(of, volume(of.Rows[i].Depth))
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return
		}
		list = append(list, v)
	}
	if len(list) == len(c.Depth) {
		c.Fitted = list
	}
}

// Compare adds what the neighbours of each row of the chart say of its volume, in
// the chart's unit, NaN where they say nothing.
func (c *Plot) Compare(of *chart.Chart, said []float64) {
	list := make([]float64, 0, len(c.Depth))
	some := false
	for i := range of.Rows {
		if i < len(said) && drawn(&of.Rows[i]) {
			list = append(list, c.volume(of, said[i]))
			some = some || !math.IsNaN(said[i])
		}
	}
	if some && len(list) == len(c.Depth) {
		c.Neighbours = list
	}
}

func (c *Plot) volume(of *chart.Chart, v float64) float64 {
	if c.NoUnits {
		return v
	}
	return float64(of.VolumeUnit.Volume(v))
}

// Limits of what is ringed: more rings say nothing more.
const (
	mostRings   = 60
	ringedRange = 400 // rows of one finding
	ringedWide  = 16  // columns of one finding
)

// Flag rings the rows of the chart that findings are about.
func (c *Plot) Flag(of *chart.Chart, list []finding.Finding) {
	at := map[cell.Ref]bool{}
	for _, f := range list {
		if f.At.File != of.At.File || f.At.Sheet != of.At.Sheet || f.At.Row == 0 || f.At == of.At && f.To == of.To {
			continue // of another place, or of the whole chart
		}
		last := f.At
		if f.To.Row >= f.At.Row && f.To.Sheet == f.At.Sheet && f.To.File == f.At.File {
			last = f.To
		}
		for row := f.At.Row; row <= min(last.Row, f.At.Row+ringedRange); row++ {
			for col := f.At.Col; col <= max(last.Col, f.At.Col) && col < f.At.Col+ringedWide; col++ {
				at[cell.Ref{File: f.At.File, Sheet: f.At.Sheet, Col: col, Row: row}] = true
			}
		}
	}
	if len(at) == 0 {
		return
	}
	n := 0
	for i := range of.Rows {
		if !drawn(&of.Rows[i]) {
			continue
		}
		if len(c.Flagged) < mostRings && (at[of.DepthAt(i)] || at[of.VolumeAt(i)]) {
			c.Flagged = append(c.Flagged, n)
		}
		n++
	}
}

// The field of a plot, in points.
const (
	plotWidth  = 300
	plotLeft   = 50
	plotRight  = 288
	plotTop    = 26
	plotBottom = 330
	plotHeight = 372
	restTall   = 102 // of the residuals' field

	// Letters, in points: a job's page prints the plot at about 6/10 of its size.
	plotLetters = 10.5
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
		p.text(px, plotBottom+13, Middle, plotLetters, false, unit.GroupedText(plain(v)))
	}
	for d := range ticks(lu.Number(unit.Length(y.lo)), lu.Number(unit.Length(dMax)), 6) {
		py := y.at(float64(lu.Length(d)))
		p.line(grid, "", Point{plotLeft, py}, Point{plotRight, py})
		p.text(plotLeft-4, py+3, End, plotLetters, false, plain(d))
	}
	p.line(solid(1, Ink), "", Point{plotLeft, plotTop}, Point{plotLeft, plotBottom}, Point{plotRight, plotBottom})
	if c.NoUnits {
		p.text(plotLeft-4, plotTop-10, End, plotLetters, true, "depth")
		p.text(plotRight, plotBottom+27, End, plotLetters, true, "volume; the file names no units")
	} else {
		p.text(plotLeft-4, plotTop-10, End, plotLetters, true, lu.String())
		p.text(plotRight, plotBottom+27, End, plotLetters, true, "volume, "+vu.String())
	}
	p.text(plotLeft, plotTop-10, Start, plotLetters, true, "  depth and volume of chart "+clip(c.Name, 20))
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
	for k, s := range c.Notes {
		p.text(plotRight-6, plotBottom-8-13*float64(len(c.Notes)-1-k), End, plotLetters, false, clip(s, 40))
	}
	if c.Fitted != nil {
		c.residuals(&p, "chart less fitted curve, by depth", c.Fitted)
	}
	if c.Neighbours != nil {
		c.residuals(&p, "each row less what its neighbours say, by depth", c.Neighbours)
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
		at := lowest + 16 + 14*float64(k)
		p.line(penOf(m.Part), "", Point{plotLeft + 7, at - 3}, Point{plotLeft + 29, at - 3})
		p.text(plotLeft+33, at, Start, plotLetters, m.Part == "shutoff", m.Name)
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

// residuals draws, in a field below what is there, by how much each row is off
// what another curve says of it.
func (c *Plot) residuals(p *Picture, title string, by []float64) {
	top := p.Height + 4
	p.Height += restTall
	mid := top + 48
	most := 0.0
	n := min(len(by), len(c.Volume))
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range n {
		if q := math.Abs(c.Volume[i] - by[i]); q > most { // false for NaN
			most = q
		}
		lo, hi = min(lo, c.Depth[i]), max(hi, c.Depth[i])
	}
	if !(most > 0) {
		most = 1
	}
	if !(hi > lo) {
		return
	}
	x := scaleOf{lo, hi, plotLeft, plotRight - 4}
	s := scaleOf{-most, most, mid + 34, mid - 34}
	p.line(solid(0.8, Slate), "", Point{plotLeft, mid}, Point{plotRight, mid})
	p.text(plotLeft, top, Start, plotLetters-1, true, "  "+title)
	p.text(plotLeft-4, mid+3, End, plotLetters, false, "0")
	vu := c.Units.Volume
	label := unit.GroupedText(unit.DecimalText(vu.Number(unit.Volume(most)), 1, unit.Up))
	p.text(plotLeft-4, mid-30, End, plotLetters, false, "+"+label)
	p.text(plotLeft-4, mid+36, End, plotLetters, false, "-"+label)
	for i := range n {
		if q := c.Volume[i] - by[i]; !math.IsNaN(q) {
			px := x.at(c.Depth[i])
			p.line(solid(1, Ink), "residual", Point{px, mid}, Point{px, s.at(q)})
		}
	}
	for _, i := range c.Flagged {
		if i >= 0 && i < n && !math.IsNaN(by[i]) {
			c.flag(p, Point{x.at(c.Depth[i]), s.at(c.Volume[i] - by[i])})
		}
	}
}

func (c *Plot) about() string {
	words := []string{"Volume by depth."}
	for _, m := range c.Marks {
		words = append(words, strings.ToUpper(m.Name[:1])+m.Name[1:]+" at "+c.Units.length(unit.Length(m.Depth))+".")
	}
	if c.Fitted != nil {
		words = append(words, "Below, by how much each row is off the curve that was fitted.")
	}
	if c.Neighbours != nil {
		words = append(words, "Below, by how much each row is off what the rows around it say.")
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
