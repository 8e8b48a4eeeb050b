package charts

import (
	"math"
	"slices"
	"strings"

	"dropcut/plan"
	"dropcut/plan/unit"
	"dropcut/validate/charts/fit"
)

// trust is how a figure of the tank list is to be taken.
type trust uint8

const (
	unsaid trust = iota
	// byName is a figure that tanks are called by: it may be off by what is
	// usual between a name and a measure.
	byName
	// measured is a figure that was measured or calculated for this tank.
	measured
)

// What lies between a name and a measure. Diameters are called by half feet, so
// that a name may be off by a quarter foot; capacities are called by round
// numbers, off by up to 3.5 %. Common practice, no source.
const (
	halfFoot    = 6.0 // inches
	nameOfWidth = 3.0 // inches
	nameOfFull  = 0.0375
	fullWithin  = 0.008 // of a capacity that was measured
	roundFull   = 50    // volume units that named capacities are multiples of
	// zeroOff is how far the zero of a dip may lie off the bottom, in inches.
	zeroOff = 1.15
)

// height gives the inside height that others than the chart know of, and how it
// is to be taken.
func (ws *Workspace) height() (h float64, how trust) {
	f := &ws.f
	switch {
	case f.FaceToBottomLessRiser > 0:
		return f.FaceToBottomLessRiser, measured
	case ws.form.upright:
		if f.Length > 0 {
			return f.Length, measured
		}
		return 0, unsaid
	case f.Diameter > 0:
		if in := f.Diameter / f.Inch; math.Abs(in/halfFoot-math.Round(in/halfFoot)) < 0.002 {
			return f.Diameter, byName
		}
		return f.Diameter, measured
	}
	return 0, unsaid
}

// full gives the capacity that others than the chart know of.
func (ws *Workspace) full() (v float64, how trust) {
	switch f := &ws.f; {
	case f.Certified > 0:
		return f.Certified, measured
	case f.Nominal > 0:
		q := float64(roundFull)
		if f.Nominal < 1000 {
			q = 5
		}
		if r := f.Nominal / q; math.Abs(r-math.Round(r)) < 1e-6 {
			return f.Nominal, byName
		}
		return f.Nominal, measured
	}
	return 0, unsaid
}

// form is what the tank list calls the tank.
type form struct{ upright, boxed, lying bool }

func formOf(shape string) form {
	if shape == "" {
		return form{}
	}
	s := unit.Fold(shape)
	starts := func(with ...string) bool {
		return slices.ContainsFunc(with, func(p string) bool { return strings.HasPrefix(s, p) })
	}
	return form{
		upright: plan.Standing(shape),
		boxed:   starts("rect", "recht", "box", "cub", "squ", "quad"),
		lying:   starts("hori", "lying", "lieg"),
	}
}

// round reports whether the fit is one of a lying tank whose height can be
// trusted.
func (ws *Workspace) round() bool {
	r := &ws.fit
	return r.Recognised && r.HeightSeen && r.Family != fit.Straight
}

// What a curve may differ from its family's before nothing is concluded from the
// family alone: of sound made charts of lying tanks 99 in 100 keep the first, and
// of 200 invented vessels of no simple shape 1 in 20 keeps all three.
const (
	firmShare  = 0.0012 // of the capacity
	firmWithin = 0.96   // of the rows
	firmOffset = 0.02   // of the height, a zero off the bottom by zeroOff in any case
)

// firm reports whether the curve keeps so close to its family that the fitted tank
// is evidence by itself. Vessels of steps, cones and slopes are taken for some
// family or other, with a zero far below their bottom or rows that do not follow.
func (ws *Workspace) firm() bool {
	r := &ws.fit
	if !r.Recognised || r.Within < firmWithin {
		return false
	}
	if r.Family == fit.Straight {
		return math.Abs(r.Offset) < max(zeroOff*ws.f.Inch, firmOffset*ws.x[len(ws.x)-1]) || r.Rise > 0
	}
	// Of a tank that is not round the width is free, and makes up for much.
	return r.Family == fit.Round && ws.firmBelow()
}

// firmBelow reports the same of the rows below the full tank, whatever those do
// that stand above it.
func (ws *Workspace) firmBelow() bool {
	r := &ws.fit
	most := firmShare
	if r.Family != fit.Round {
		most /= 3
	}
	return r.Recognised && r.Share <= most && math.Abs(r.Offset)-r.Rise/2 <= max(zeroOff*ws.f.Inch, firmOffset*r.Height)
}

// roundingScale is the robust standard deviation of a fit's residuals that are
// nothing but rounding, in units of it.
const roundingScale = 0.38

// blur is how far the fitted height of a real tank may lie off its true one, in
// inches: ribs, dents and fittings bend the curve a little. Measured on made
// charts: 0.7 in at 96 in at worst, more where the residuals are large.
func (ws *Workspace) blur(least, share float64) float64 {
	d := ws.fit.Height / ws.f.Inch
	r := &ws.fit
	waves := math.Sqrt(max(0, r.Share*r.Share-math.Pow(roundingScale*ws.unit/r.Capacity, 2)))
	return max(least, share*d) + 250*waves*d/96
}

// lastStep gives the usual step of depth near the chart's end.
func (ws *Workspace) lastStep() float64 {
	x, n := ws.x, len(ws.x)
	var t [8]float64
	k := 0
	for j := max(1, n-10); j < n-1 && k < len(t); j++ {
		t[k] = x[j] - x[j-1]
		k++
	}
	if k == 0 {
		return 0
	}
	return middle(t[:k])
}
