// Package fit finds the tank behind a calibration chart: it fits the volumes of
// simple shapes to a chart's rows so that single wrong rows, blocks of them, a
// chart that stops early or one that runs past full do not draw the answer.
//
// Depths and volumes are in the chart's own units, whatever they are. What they
// are to each other (volume units in one cubic depth unit) is needed only to
// give lengths along the tank; see [Hint].
//
// # What is well determined
//
// From a sound chart to 1 gal at every inch, of a 96 in, 10,000 gal tank: the
// inside height to about 0.01 in, the capacity to a gallon, the length to about
// 0.1 in where the ends are flat, ellipsoidal, conical or torispherical (1.00,
// 0.06). Length and end depth trade against each other: deep dished ends, which
// are fitted by the nearest of those forms, shift the length by some 8 in while
// height and capacity stay. Real tanks (ribs, dents, fittings, courses, smooth
// errors of 0.1 % of capacity) give the height to 0.1 in, seldom worse than
// 0.5 in, and a ribbed one half an inch more than its height between the ribs;
// a Capacity is then good to 0.1 %.
//
// Of a tilt, only the product of slope and the distance of the dip from the
// middle is well determined: it is Offset, and cannot be told from a dip that
// does not start at the bottom. Rise comes from the two ends of the curve
// alone. A level chart can thus never prove that the tank in the ground is
// level. Where a fifth of the chart is missing at the top the height is good to
// half an inch; one that stops below about three quarters of it gives a guess,
// and straight walls give no height at all: see HeightSeen.
//
// The method is that of iteratively reweighted least squares with Cauchy
// weights (Holland and Welsch 1977), Levenberg steps and analytic derivatives,
// started from the best of a few heights.
package fit

import (
	"math"

	"dropcut/plan/shape"
)

// Family is the kind of curve a chart follows.
type Family uint8

const (
	// Unknown: the chart has too few rows that can be read.
	Unknown Family = iota
	// Round is a lying tank of circular section, any ends. A tank of elliptical
	// section gives the same curve as a longer round one.
	Round
	// Straight has upright walls: an upright cylinder or a box.
	Straight
	// Wide is a lying tank of flat top and bottom and round sides.
	Wide
	// Tall is a lying tank of round top and bottom and straight sides.
	Tall
)

// String names the family in words.
func (f Family) String() string {
	switch f {
	case Round:
		return "lying tank of round section"
	case Straight:
		return "tank with upright walls"
	case Wide:
		return "lying tank wider than high"
	case Tall:
		return "lying tank higher than wide"
	}
	return "unknown"
}

// Hint is what the sheet says of the tank; every part may be 0 for unknown. It
// is only where the search starts: it does not draw the answer, which is to be
// held against the sheet afterwards.
type Hint struct {
	Height float64 // inside diameter or height, in the chart's depth unit
	// PerCubic is how many of the chart's volume units make one cubic depth
	// unit: 1/231 for inches and US gallons.
	PerCubic float64
}

// Result is the tank that a chart describes. Lengths are in the chart's depth
// unit, volumes in its volume unit.
type Result struct {
	Family Family
	// Recognised says that the curve follows its family closely enough for
	// the figures here to mean something: the residuals of most rows are small
	// against the capacity. Where it is false, only local checks make sense.
	Recognised bool

	// Height is the inside height of the section (a round tank's diameter).
	Height float64
	// HeightSeen says that the chart itself shows the height: it bends toward
	// its top. Otherwise Height is the chart's last depth, or far extrapolated.
	HeightSeen bool
	// Length is the shell from seam to seam (of a tall or wide tank: its whole
	// length); 0 where PerCubic was not given. For straight walls it is 0 and
	// PerDepth tells the base area.
	Length float64
	// PerDepth is, for straight walls, the volume for each unit of depth.
	PerDepth float64
	// Head is the form of the ends that fits best, both taken alike, HeadDepth
	// the sum of the depths of the two ends, 0 where PerCubic was not given.
	// Which form it is, is well determined only for charts to a tenth of a gallon.
	Head      shape.HeadKind
	HeadDepth float64
	HeadVol   float64 // volume of both ends together
	// Width of a wide or tall tank.
	Width float64
	// Rise is the tilt over the whole shell, 0 where the level tank fits as
	// well; at least about 1/50 of the height is needed to see any. Under
	// straight walls a dished bottom looks like one.
	Rise float64
	// Offset is how much deeper the middle of the tank is than the dip reads.
	Offset float64

	// Capacity is the volume of the whole fitted tank; FullDepth the dip at
	// which its middle is full: Height less Offset.
	Capacity  float64
	FullDepth float64

	// Scale is the robust standard deviation of the residuals, in volume units
	// (1.4826 times their median size), Share the same as a share of Capacity.
	Scale, Share float64
	// Within is the share of rows whose residual is under 1 % of Capacity.
	Within float64
	// Rows is the number of rows that could be used.
	Rows int

	m model
}

// Volume gives the fitted volume at a dip.
func (r *Result) Volume(depth float64) float64 {
	var g gradient
	return r.m.at(depth, &g)
}

// Slope gives the fitted volume for each unit of depth at a dip.
func (r *Result) Slope(depth float64) float64 {
	var g gradient
	r.m.at(depth, &g)
	return g[off]
}

// Residuals sets dst[i] to volume[i] less the fitted volume at depth[i]. NaN
// gives NaN. dst must be as long as the two.
func (r *Result) Residuals(dst, depth, volume []float64) {
	var g gradient
	for i, d := range depth {
		dst[i] = volume[i] - r.m.at(d, &g)
	}
}

// minRows is the least number of rows that say anything about five unknowns,
// with wild ones among them.
const minRows = 12

// Recognised: the robust scale is at most this share of the capacity (a real
// tank's ribs, dents and courses reach about 0.15 %; common practice, no
// source), at least so many rows lie within 1 %, the rows reach to at least so
// much of the fitted height, and its zero lies within so much of the dip's. The
// last two keep lakes and valleys out, which look like the bottom of a very
// large tank.
const (
	shareMost   = 0.003
	withinLeast = 0.55
	reachLeast  = 0.5
	offsetMost  = 0.25
)

// Do fits a chart. depth and volume are its rows in file order, as they stand
// in the file; rows that are NaN or infinite are passed over. It needs no
// order, keeps nothing, and does not allocate once ws has grown to the size of
// the chart. A nil ws makes one.
func Do(ws *Workspace, depth, volume []float64, h Hint) Result {
	if ws == nil {
		ws = new(Workspace)
	}
	ws.load(depth, volume)
	if len(ws.d) < minRows || !(ws.top > 0 && ws.most > 0) {
		return Result{Rows: len(ws.d)}
	}
	best := ws.search(h)
	return ws.finish(best, h)
}

func (ws *Workspace) finish(m model, h Hint) Result {
	r := Result{m: m, Rows: len(ws.d)}
	var g gradient
	for i, d := range ws.d {
		ws.res[i] = ws.v[i] - m.at(d, &g)
	}
	r.Capacity = m.full()
	if m.family == Straight && m.rise() > 0 {
		// Where a tilted floor ends is seen, where the top is not.
		r.Capacity = m.at(ws.top, &g)
	}
	if !(r.Capacity > 0) || math.IsInf(r.Capacity, 0) {
		return Result{Rows: len(ws.d)}
	}
	in := 0
	for i, x := range ws.res {
		x = math.Abs(x)
		if x <= 0.01*r.Capacity {
			in++
		}
		ws.tmp[i] = x
	}
	r.Scale = 1.4826 * median(ws.tmp[:len(ws.res)])
	r.Share = r.Scale / r.Capacity
	r.Within = float64(in) / float64(len(ws.res))
	r.Family = m.family
	r.Height = m.height()
	r.Offset = m.p[off]
	r.FullDepth = r.Height - r.Offset
	r.Rise = m.rise()
	r.HeightSeen = m.heightSeen(ws.top)
	r.Recognised = r.Share <= shareMost && r.Within >= withinLeast &&
		ws.top+r.Offset >= reachLeast*r.Height && math.Abs(r.Offset) <= offsetMost*r.Height
	k := h.PerCubic
	switch m.family {
	case Straight:
		r.PerDepth = m.p[shell]
	case Round:
		r.Head = m.headKind()
		r.HeadVol = m.headVol()
		if k > 0 {
			r.Length = m.p[shell] / k
			r.HeadDepth = m.headDepth() / k
		}
	case Wide:
		// The slab between the half circles is as long as the shell.
		r.Width = r.Height + m.p[ends]/m.p[shell]
		if k > 0 {
			r.Length = m.p[shell] / k
		}
	case Tall:
		r.Width = 2 * m.p[radius]
		if k > 0 {
			r.Length = m.p[shell] / k
		}
	}
	return r
}
