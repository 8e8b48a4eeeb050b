package plan

import (
	"math"
	"slices"

	"dropcut/plan/unit"
)

// Half-widths of the single errors of a plan. Each error is taken to lie anywhere
// within its half-width with the same chance. Stick: sticks are read to 1/8 in
// (40 CFR 280.43(a)). The others: common practice, no source.
const (
	stickError    = unit.Inch / 8
	tapeError     = unit.Inch / 16
	sawError      = unit.Inch / 16
	dropError     = unit.Inch / 16
	riseUnknown   = unit.Inch
	riseMeasured  = unit.Inch / 8
	exactUniforms = 3
)

// budget lists by what the percentage at a depth is uncertain, by linear
// propagation: each half-width times the slope of the chart there. The slice is
// taken from buf.
func (m *maker) budget(d unit.Length, buf []Share) []Share {
	full := float64(m.cut.FullVolume.V)
	perInch := 100 * m.k.SlopeOver(d) / full
	list := buf[:0]
	add := func(name, input string, half float64) {
		list = append(list, Share{Name: name, Input: input, Half: unit.Percent(math.Abs(half))})
	}
	add("stick", "1/8 in", perInch*float64(stickError))
	add("tape", "1/16 in", perInch*float64(tapeError))
	add("cut", "1/16 in", perInch*float64(sawError))
	add("shutoff drop", "1/16 in", perInch*float64(dropError))
	chart := m.o.ChartError
	if !(chart > 0) {
		chart = DefaultChartError
	}
	add("chart", m.chartInput, float64(chart))
	if m.rounding > 0 {
		add("rounding of the chart", "half a unit", 100*float64(m.rounding)/2/full)
	}
	switch rise := m.t.Rise; {
	case m.offMiddle == 0:
	case rise.Given():
		add("rise", "1/8 in", perInch*m.offMiddle*float64(riseMeasured))
	default:
		add("rise", "1 in", perInch*m.offMiddle*float64(riseUnknown))
	}
	return list
}

// rate says what a length of one inch does to the share.
func (s *Share) rate(d unit.Length, m *maker) string {
	per := 100 * m.k.SlopeOver(d) / float64(m.cut.FullVolume.V)
	switch s.Name {
	case "chart", "rounding of the chart":
		return ""
	case "rise":
		return " x " + exact(m.offMiddle) + " off the middle x " + exact(per) + " % an inch"
	}
	return " x " + exact(per) + " % an inch"
}

// uncertain gives the worst case and the chance over the limit of a percentage.
func uncertain(planned, limit unit.Percent, list []Share) (worst, chance unit.Percent) {
	worst = planned
	var half [16]float64
	for i, s := range list {
		worst += s.Half
		half[i] = float64(s.Half)
	}
	return worst, unit.Percent(100 * overSum(half[:len(list)], float64(limit-planned)))
}

// shares fills in what each error contributes to the variance.
func shares(list []Share) {
	sum := 0.0
	for _, s := range list {
		sum += float64(s.Half) * float64(s.Half)
	}
	if sum == 0 {
		return
	}
	for i := range list {
		list[i].OfVariance = unit.Percent(100 * float64(list[i].Half) * float64(list[i].Half) / sum)
	}
}

// overSum gives the chance that a sum of independent errors, each uniform within
// its half-width, exceeds x. The largest three are summed exactly, the rest as a
// normal error of the same variance: where one error rules, as an unknown rise
// does, a normal sum alone is off by up to two points. It sorts half.
//
// The distribution of uniforms and a normal error of standard deviation s is
// s^k / prod(2 a_i) times the sum over all signs of (prod of signs) Psi_k of
// (x + sum of signed a_i)/s, with Psi_k the k-fold integral of the normal
// distribution: Psi_0 = Phi, Psi_1 = z Phi + phi, k Psi_k = z Psi_(k-1) +
// Psi_(k-2).
func overSum(half []float64, x float64) float64 {
	slices.SortFunc(half, func(a, b float64) int {
		switch {
		case a > b:
			return -1
		case a < b:
			return 1
		}
		return 0
	})
	total := 0.0
	for _, a := range half {
		total += a
	}
	// Outside of all errors together nothing is left to chance.
	switch {
	case x >= total:
		return 0
	case x < -total:
		return 1
	}
	k := 0
	for k < len(half) && k < exactUniforms && half[k] > 1e-3*half[0] {
		k++
	}
	variance := 0.0
	for _, a := range half[k:] {
		variance += a * a / 3
	}
	sd := math.Sqrt(variance)
	sum, scale := 0.0, 1.0
	for i := range k {
		scale *= 2 * half[i]
	}
	for signs := range 1 << k {
		z, sign := x, 1.0
		for i := range k {
			if signs>>i&1 == 1 {
				z -= half[i]
				sign = -sign
			} else {
				z += half[i]
			}
		}
		sum += sign * psi(k, z, sd)
	}
	return min(max(1-sum/scale, 0), 1)
}

// psi gives s^k times the k-fold integral of the normal distribution at z/s, for
// k up to 3.
func psi(k int, z, s float64) float64 {
	if z > 38*s { // the normal distribution is 1 there in a float64
		switch k {
		case 0:
			return 1
		case 1:
			return z
		case 2:
			return (z*z + s*s) / 2
		}
		return z * (z*z + 3*s*s) / 6
	}
	if s == 0 {
		return 0
	}
	u := z / s
	// At the start p is Psi_0, and last is phi, which serves as Psi_(-1).
	last, p := math.Exp(-u*u/2)/math.Sqrt(2*math.Pi), math.Erfc(-u/math.Sqrt2)/2
	for i := 1; i <= k; i++ {
		last, p = p, (u*p+last)/float64(i)
	}
	return p * math.Pow(s, float64(k))
}

// guarded gives the largest depth, not above d, at which the chance of more than
// the limit is at most the guard.
func (m *maker) guarded(d unit.Length) (unit.Length, bool) {
	var buf [16]Share
	limit := m.cut.LimitPercent.V
	ok := func(d unit.Length) bool {
		p, err := m.share(d)
		if err != nil {
			return false
		}
		_, chance := uncertain(p, limit, m.budget(d, buf[:0]))
		return chance <= m.o.Guard
	}
	if ok(d) {
		return d, true
	}
	lo, hi := m.k.Bottom(), d
	if !ok(lo) {
		return 0, false
	}
	for hi-lo > 1e-4 {
		mid := lo + (hi-lo)/2
		if mid <= lo || mid >= hi {
			break
		}
		if ok(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo, true
}
