package fit

import "math"

// cauchy is the tuning constant at which the Cauchy weight loses 5 % against
// least squares on normal residuals (Holland and Welsch 1977).
const cauchy = 2.385

// descend improves a model by at most steps Levenberg steps of reweighted least
// squares over the rows given, and gives the robust scale of the residuals.
func (ws *Workspace) descend(m *model, d, v []float64, steps int) float64 {
	act, n := m.active()
	at, try := ws.slopes[0][:len(d)], ws.slopes[1][:len(d)]
	res, next := ws.res[:len(d)], ws.old[:len(d)]
	for i := range d {
		res[i] = v[i] - m.at(d[i], &at[i])
	}
	floor := 1e-8*math.Abs(ws.most) + 1e-300
	s := max(ws.scale(res), floor)
	cost := lost(res, s)
	lambda := 1e-4
	for range steps {
		var a [unknowns][unknowns]float64
		var b gradient
		k := 1 / (cauchy * s)
		for i := range at {
			g := &at[i]
			r := res[i]
			w := 1 / (1 + r*r*k*k)
			for x := range n {
				gx := w * g[act[x]]
				b[x] += gx * r
				for y := range x + 1 {
					a[x][y] += gx * g[act[y]]
				}
			}
		}
		// The middle of the tank is seldom far from the dip's zero: a weak
		// prior of 3 % of the height keeps it where the rows do not say.
		for x := range n {
			if act[x] == off && m.family != Straight {
				p := s / (0.03 * m.height())
				a[x][x] += p * p
				b[x] -= p * p * m.p[off]
			}
		}
		gain := 0.0
		keep := *m
		for range 5 {
			dx, ok := solve(&a, &b, n, lambda)
			if ok && m.step(act, n, &dx) {
				for i := range d {
					next[i] = v[i] - m.at(d[i], &try[i])
				}
				if c := lost(next, s); c <= cost {
					gain = cost - c
					res, next = next, res
					at, try = try, at
					lambda = max(lambda/5, 1e-9)
					break
				}
			}
			*m = keep
			lambda *= 8
			if lambda > 1e6 {
				break
			}
		}
		now := max(ws.scale(res), floor)
		// Less than a thousandth of a row's worth to gain: as good as there.
		if gain < 1e-3 && now > 0.97*s {
			s = now
			break
		}
		// The scale falls by no more than to a quarter at a time, so that
		// rows that only the first guess left out can come back.
		s = max(now, s/4)
		cost = lost(res, s)
	}
	return s
}

// cost is what descend makes less, over the sample at a given scale, so that
// models can be held against each other. Half the square of cauchy times a
// difference is the logarithm of their likelihoods' ratio.
func (ws *Workspace) cost(m *model, s float64) float64 {
	res := ws.res[:len(ws.sd)]
	var g gradient
	for i, d := range ws.sd {
		res[i] = ws.sv[i] - m.at(d, &g)
	}
	return lost(res, s)
}

// active lists the unknowns a model has.
func (m *model) active() (act [unknowns]int, n int) {
	add := func(k int) { act[n] = k; n++ }
	add(shell)
	add(off)
	if m.basis != none {
		add(ends)
	}
	if m.family != Straight {
		add(radius)
	}
	if m.p[tilt] > 0 {
		add(tilt)
	}
	if m.family == Tall {
		add(wall)
	}
	return act, n
}

// step moves the model, unless to where no tank is.
func (m *model) step(act [unknowns]int, n int, dx *gradient) bool {
	size := m.size()
	for x := range n {
		k := act[x]
		if math.IsNaN(dx[x]) {
			return false
		}
		switch k {
		case radius, wall:
			if math.Abs(dx[x]) > 0.15*size {
				return false
			}
		case off:
			if math.Abs(dx[x]) > 0.1*size {
				return false
			}
		}
		m.p[k] += dx[x]
	}
	if m.p[tilt] < 0 {
		m.p[tilt] = 0
	}
	// Ends of more than four radii for each length of shell are no tank.
	return m.p[shell] > 0 && (m.family == Straight || m.p[radius] > 0) && m.p[wall] >= 0 &&
		(m.basis == none || m.p[ends] > -0.05*m.p[shell]*m.p[radius])
}

// lost is what the Cauchy estimate makes least.
func lost(res []float64, s float64) float64 {
	k := 1 / (cauchy * s)
	// A product of a few factors costs one logarithm instead of many.
	sum, prod := 0.0, 1.0
	for i, r := range res {
		x := r * k
		prod *= 1 + min(x*x, 1e30)
		if i&7 == 7 {
			sum += math.Log(prod)
			prod = 1
		}
	}
	return sum + math.Log(prod)
}

// scale is the size that two fifths of the residuals stay under, over 0.5244,
// which makes it the standard deviation of normal ones. The median would be
// drawn as soon as nearly half the rows are in another unit.
func (ws *Workspace) scale(res []float64) float64 {
	t := ws.tmp[:len(res)]
	for i, r := range res {
		t[i] = math.Abs(r)
	}
	return kth(t, len(t)*2/5) / 0.5244
}

// solve gives the step of (A + lambda diag A) x = b by Cholesky's rule; A is
// given by its lower half.
func solve(a *[unknowns][unknowns]float64, b *gradient, n int, lambda float64) (x gradient, ok bool) {
	var l [unknowns][unknowns]float64
	for i := range n {
		for j := range i + 1 {
			s := a[i][j]
			if i == j {
				s += lambda*s + 1e-300
			}
			for k := range j {
				s -= l[i][k] * l[j][k]
			}
			if i == j {
				if !(s > 0) {
					return x, false
				}
				l[i][i] = math.Sqrt(s)
			} else {
				l[i][j] = s / l[j][j]
			}
		}
	}
	for i := range n {
		s := b[i]
		for k := range i {
			s -= l[i][k] * x[k]
		}
		x[i] = s / l[i][i]
	}
	for i := n - 1; i >= 0; i-- {
		s := x[i]
		for k := i + 1; k < n; k++ {
			s -= l[k][i] * x[k]
		}
		x[i] = s / l[i][i]
	}
	return x, true
}

// median rearranges x and gives its upper median; NaN for none.
func median(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	return kth(x, len(x)/2)
}

// kth rearranges x and gives its k-th smallest value (Hoare 1961).
func kth(x []float64, k int) float64 {
	lo, hi := 0, len(x)-1
	for lo < hi {
		p := x[(lo+hi)/2]
		i, j := lo, hi
		for i <= j {
			for x[i] < p {
				i++
			}
			for x[j] > p {
				j--
			}
			if i <= j {
				x[i], x[j] = x[j], x[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return x[k]
		}
	}
	return x[k]
}
