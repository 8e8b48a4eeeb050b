package fit

import (
	"math"
)

// Workspace holds what a fit needs, so that the next one need not ask for it.
// It is for one goroutine at a time. The zero value is ready.
type Workspace struct {
	d, v     []float64 // rows that can be used
	res, tmp []float64
	sd, sv   []float64 // a sample of them, denser at both ends
	cd, cv   []float64 // every third of the sample
	old      []float64
	slopes   [2][]gradient
	top      float64 // last depth, wild ones left out
	most     float64 // a volume of the order of the largest
	unit     float64 // that the volumes are rounded to
	tori     *table
}

// sampleRows is how many rows the search looks at; the last steps take all.
const sampleRows = 96

func (ws *Workspace) load(depth, volume []float64) {
	n := min(len(depth), len(volume))
	ws.d, ws.v = ws.d[:0], ws.v[:0]
	for i := range n {
		d, v := depth[i], volume[i]
		if math.Abs(d) < 1e12 && math.Abs(v) < 1e15 { // false for NaN
			ws.d, ws.v = append(ws.d, d), append(ws.v, v)
		}
	}
	n = len(ws.d)
	if cap(ws.tmp) < n {
		ws.tmp = make([]float64, n, n+n/4)
		ws.res = make([]float64, n, n+n/4)
		ws.old = make([]float64, n, n+n/4)
		ws.slopes[0] = make([]gradient, n, n+n/4)
		ws.slopes[1] = make([]gradient, n, n+n/4)
	}
	ws.tmp, ws.res, ws.old = ws.tmp[:n], ws.res[:n], ws.old[:n]
	ws.slopes[0], ws.slopes[1] = ws.slopes[0][:n], ws.slopes[1][:n]
	if n == 0 {
		return
	}
	ws.sd, ws.sv = ws.sd[:0], ws.sv[:0]
	const first, last = 10, 16
	for i := range n {
		// Every row near the ends, where the shape shows; between them as
		// many as make up the number.
		mid := n - first - last
		if n > sampleRows && i >= first && i < n-last {
			j, want := i-first, sampleRows-first-last
			if j*want/mid == (j+1)*want/mid {
				continue
			}
		}
		ws.sd, ws.sv = append(ws.sd, ws.d[i]), append(ws.sv, ws.v[i])
	}
	ws.cd, ws.cv = ws.cd[:0], ws.cv[:0]
	step := max(1, len(ws.sd)/32)
	for i := step / 2; i < len(ws.sd); i += step {
		ws.cd, ws.cv = append(ws.cd, ws.sd[i]), append(ws.cv, ws.sv[i])
	}
	// The last depth, unless it is out of all proportion to where the bulk of
	// the rows ends (a date's serial number, a lost decimal point).
	t := ws.tmp[:len(ws.sd)]
	copy(t, ws.sd)
	ws.top = 1.35 * kth(t, len(t)*17/20)
	m := 0.0
	for _, d := range ws.sd {
		if d > m && d <= ws.top {
			m = d
		}
	}
	ws.top = m
	copy(t, ws.sv)
	ws.most = kth(t, len(t)*3/4)
	ws.unit = ws.rounding()
	if ws.tori == nil {
		ws.tori = newTable()
	}
}

// search finds the model that follows the rows best.
func (ws *Workspace) search(h Hint) model {
	line, s := ws.straight()
	if full := line.full(); s <= 1e-3*full {
		return line
	}
	best, sb := ws.round(h)
	if sb > shareMost/3*best.full() || ws.unit > 0 && sb > 5*least*ws.unit {
		// Not quite: the sections that are neither round nor straight. They
		// must do much better, for they bend to more than a round one does.
		for _, f := range [2]Family{Wide, Tall} {
			m, x := ws.other(f, best, sb)
			if x < 0.4*sb && m.oblong() {
				best, sb = m, x
			}
		}
	}
	if s < sb {
		best = line
	}
	if best.family != Straight {
		ws.descend(&best, ws.d, ws.v, 2)
	}
	return best
}

// straight fits upright walls, level and, if that does not do, tilted.
func (ws *Workspace) straight() (model, float64) {
	n := len(ws.sd)
	m, s := ws.line(n)
	if s > 1e-3*m.p[shell]*ws.top {
		// The unit may change midway.
		if x, y := ws.line(n / 2); y < s {
			m, s = x, y
		}
	}
	full := m.p[shell] * (ws.top + m.p[off])
	unit := max(s, least*ws.unit)
	if c := ws.cost(&m, unit); s < 0.03*full && c > quiet*float64(n) {
		for _, rise := range [2]float64{0.01, 0.04} {
			x := m
			x.p[tilt] = rise * ws.top * rise * ws.top
			y := ws.descend(&x, ws.sd, ws.sv, 12)
			if z := ws.cost(&x, unit); z < c-2*earns && x.rise() > 0 {
				m, s, c = x, y, z
			}
		}
	}
	// The walls end where the volume stays; else at the last row.
	m.p[wall] = ws.top + m.p[off] + m.rise()/2
	last := len(ws.v) - 1
	if i := last; ws.v[i] > 0 {
		for i > 0 && ws.v[i-1] == ws.v[last] {
			i--
		}
		if h := ws.v[i] / m.p[shell]; last-i >= 2 && h < m.p[wall] {
			m.p[wall] = h
		}
	}
	return m, s
}

// line fits level walls, starting from the first n rows of the sample: from the
// median slope between rows an eighth of them apart, which wild rows do not
// draw.
func (ws *Workspace) line(n int) (model, float64) {
	m := model{family: Straight, tori: ws.tori}
	m.p[wall] = 8 * ws.top // no top yet
	m.p[shell] = ws.most / ws.top
	t := ws.tmp[:0]
	gap := max(1, n/8)
	for i := range n - gap {
		if d := ws.sd[i+gap] - ws.sd[i]; d != 0 {
			t = append(t, (ws.sv[i+gap]-ws.sv[i])/d)
		}
	}
	if c := median(t); c > 0 {
		m.p[shell] = c
	}
	t = ws.tmp[:n]
	for i := range n {
		t[i] = ws.sv[i]/m.p[shell] - ws.sd[i]
	}
	m.p[off] = median(t)
	// Two steps tell whether the rows lie on anything like a line.
	s := ws.descend(&m, ws.sd, ws.sv, 2)
	if s < 0.02*m.p[shell]*ws.top {
		s = ws.descend(&m, ws.sd, ws.sv, 6)
	}
	return m, s
}

// heights tried for a round tank, as shares of the last depth: the chart may
// stop early, or run past full, or go on in another unit.
var heights = [...]float64{1, 1.06, 1.15, 1.35, 1.7, 2.3, 0.93, 0.8, 0.6, 0.42}

func (ws *Workspace) round(h Hint) (model, float64) {
	type start struct {
		m model
		x float64
	}
	var best [2]start
	best[0].x, best[1].x = math.Inf(1), math.Inf(1)
	try := func(height float64) {
		if !(height > 0.3*ws.top && height < 4*ws.top) {
			return
		}
		// By all rows; by the lower half alone, if the unit changes above it.
		n := len(ws.cd)
		for k, use := range [2]int{n, n / 2} {
			if k == 1 && best[0].x < 0.1*float64(n) {
				break // all rows agree
			}
			m := model{family: Round, basis: ellipsoid, tori: ws.tori}
			m.p[radius] = height / 2
			if x := ws.linear(&m, use); x < best[k].x {
				best[k] = start{m, x}
			}
		}
	}
	for _, s := range heights {
		try(s * ws.top)
	}
	try(h.Height)
	m := best[0].m
	s := ws.descend(&m, ws.sd, ws.sv, 14)
	if s > 1e-3*m.full() && !math.IsInf(best[1].x, 1) {
		m2 := best[1].m
		if s2 := ws.descend(&m2, ws.sd, ws.sv, 14); s2 < s {
			m, s = m2, s2
		}
	}
	unit := max(s, least*ws.unit)
	c := ws.cost(&m, unit)
	if c <= quiet*float64(len(ws.sd)) || s <= 1e-7*m.full() {
		return ws.ends(m, s)
	}
	// A tilt can look like another form of ends and the other way round: each
	// gets its chance, unless the tilt alone explains most of what is left.
	for _, rise := range [2]float64{0.015, 0.04} {
		x := m
		x.p[tilt] = rise * x.height() * rise * x.height()
		y := ws.descend(&x, ws.sd, ws.sv, 8)
		ct := ws.cost(&x, unit)
		if ct >= c-2*earns || x.rise() == 0 {
			continue
		}
		x, y = ws.ends(x, y)
		if ct > 0.5*c {
			if l, sl := ws.ends(m, s); ws.cost(&l, unit) < ws.cost(&x, unit)+2*earns {
				return l, sl
			}
		}
		return x, y
	}
	return ws.ends(m, s)
}

// earns is by how much another form of the ends must lower the cost to be
// taken for the tank's: at 2 it is some 300 times as likely as the ellipsoid.
const earns = 2

// least is the robust scale of residuals that are nothing but rounding, in
// units of it: 0.2/0.5244, see scale.
const least = 0.38

// quiet is the cost of a row whose residual is nothing but rounding (0.095 on
// the mean), with a little to spare: below it no tilt is looked for.
const quiet = 0.125

// ends tries the other forms of the ends against the ellipsoid, which else
// stands for all of them.
func (ws *Workspace) ends(m model, s float64) (model, float64) {
	best, sb := m, s
	if s < 1e-7*m.full() {
		return best, sb
	}
	unit := max(s, least*ws.unit)
	cost := ws.cost(&m, unit)
	lowest := cost - earns
	if m.p[ends] <= 0.05*m.p[shell]*m.p[radius] {
		x := m
		x.basis = none
		x.p[ends] = 0
		y := ws.descend(&x, ws.sd, ws.sv, 6)
		if c := ws.cost(&x, unit); c < cost+earns/2 || m.p[ends] < 0 {
			return x, y
		}
	}
	vol := m.headVol()
	for _, b := range [3]basis{dish, cone, tori} {
		x := m
		x.basis = b
		x.p[ends] = 1
		x.p[ends] = vol / x.headVol()
		y := ws.descend(&x, ws.sd, ws.sv, 4)
		if c := ws.cost(&x, unit); c < lowest && x.p[ends] > 0 {
			best, sb, lowest = x, y, c
		}
	}
	return best, sb
}

// units that volumes are rounded to.
var units = [...]float64{10, 5, 2, 1, 0.5, 0.1}

// rounding gives the largest unit of which nearly all volumes are multiples; 0
// for none.
func (ws *Workspace) rounding() float64 {
	for _, u := range units {
		n := 0
		for _, v := range ws.sv {
			if x := v / u; math.Abs(x-math.Round(x)) < 1e-6 {
				n++
			}
		}
		if 20*n >= 19*len(ws.sv) {
			return u
		}
	}
	return 0
}

// other fits a wide or a tall section, starting from the height of the round
// one; beat is the scale it has to come near for the trouble to go on.
func (ws *Workspace) other(f Family, from model, beat float64) (model, float64) {
	var best model
	sb := math.Inf(1)
	for _, share := range [3]float64{0.9, 0.7, 0.5} {
		m := model{family: f, tori: ws.tori}
		h := min(from.height(), ws.top*1.02)
		m.p[shell] = 1
		switch f {
		case Wide:
			m.basis = slab
			m.p[radius] = h / 2
			m.p[ends] = h * (1/share - 1)
		case Tall:
			m.p[radius] = h / 2 * share
			m.p[wall] = h * (1 - share)
		}
		ws.scaleTo(&m)
		s := ws.descend(&m, ws.sd, ws.sv, 5)
		if s < 3*beat {
			s = ws.descend(&m, ws.sd, ws.sv, 8)
		}
		if s < sb {
			best, sb = m, s
		}
	}
	return best, sb
}

// oblong reports whether a wide or tall section is at all.
func (m *model) oblong() bool {
	if m.family == Wide {
		return m.p[ends] > 0.06*m.p[shell]*m.p[radius]
	}
	return m.p[wall] > 0.06*m.p[radius]
}

// scaleTo sets the size of a model's volumes by the median ratio.
func (ws *Workspace) scaleTo(m *model) {
	t := ws.tmp[:0]
	var g gradient
	for i, d := range ws.sd {
		if x := m.at(d, &g); x > 0 {
			t = append(t, ws.sv[i]/x)
		}
	}
	if k := median(t); k > 0 {
		m.p[shell] *= k
		m.p[ends] *= k
	}
}

// linear fits shell and ends at a given radius to the first rows of the rough
// sample by the sum of absolute residuals, and gives a measure of how well it does that wild rows cannot draw.
func (ws *Workspace) linear(m *model, use int) float64 {
	var a, b [64]float64
	n := min(len(ws.cd), len(a))
	for i := range n {
		a[i], _, _, _ = m.section(ws.cd[i])
		b[i], _, _ = m.second(ws.cd[i])
	}
	r := m.p[radius]
	c1, c2 := 0.0, 0.0
	for it := range 8 {
		var aa, ab, bb, av, bv float64
		for i := range min(use, n) {
			w := 1.0
			if it > 0 {
				w = 1 / (math.Abs(ws.cv[i]-c1*a[i]-c2*b[i]) + 1e-4*c1*r*r)
			}
			aa += w * a[i] * a[i]
			ab += w * a[i] * b[i]
			bb += w * b[i] * b[i]
			av += w * a[i] * ws.cv[i]
			bv += w * b[i] * ws.cv[i]
		}
		det := aa*bb - ab*ab
		c1, c2 = (av*bb-bv*ab)/det, (bv*aa-av*ab)/det
		if !(det > 1e-12*aa*bb) || c2 < 0 || c1 <= 0 {
			c1, c2 = av/aa, 0
		}
		if c2 > 4*r*c1 { // a sphere of less than half a radius of shell
			c1 = (av + 4*r*bv) / (aa + 8*r*ab + 16*r*r*bb)
			c2 = 4 * r * c1
		}
	}
	m.p[shell], m.p[ends] = c1, c2
	unit := 3e-3 * m.full()
	if !(unit > 0) {
		return math.Inf(1)
	}
	x := 0.0
	for i := range min(use, n) {
		x += math.Log1p(math.Abs(ws.cv[i]-c1*a[i]-c2*b[i]) / unit)
	}
	return x
}
