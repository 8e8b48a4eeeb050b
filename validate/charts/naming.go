package charts

import (
	"fmt"
	"math"
	"strconv"

	"dropcut/plan/finding"
)

// sayCell names a single wrong volume: was stands there, p is what the
// neighbours say, to within slack.
func (ws *Workspace) sayCell(i int, was, p, slack float64) {
	if ws.told[i] {
		return
	}
	ws.told[i] = true
	p = max(p, 0)
	units := math.Abs(was-p) / ws.unit
	f := finding.Finding{
		Severity: finding.Check,
		Found:    ws.volume(was),
		Expected: fmt.Sprintf("%s within %s", ws.volume(p), ws.volume(max(slack, ws.unit))),
		Why:      fmt.Sprintf("its neighbours say so; it is off by %s", plural(int(math.Round(units)), "unit of rounding", "units of rounding")),
	}
	f.Suggestion = "look at the original chart and type the number again"
	slug, likely := ws.name(i, was, p, slack)
	f.Slug = slug
	switch f.Slug {
	case finding.VolumeRepeated:
		f.Why += "; it is the volume of the row before"
		if was != ws.v[max(0, i-1)] {
			f.Why = f.Why[:len(f.Why)-len("before")] + "after"
		}
	case finding.DigitsSwapped:
		f.Suggestion = fmt.Sprintf("look at the original chart whether it says %s: two digits exchanged", ws.volume(likely))
	case finding.ThousandsMarkLost:
		f.Suggestion = "look at the original chart: the number was cut at its mark of thousands"
	case finding.DecimalComma:
		f.Suggestion = fmt.Sprintf("look at the original chart whether it says %s: the decimal sign is lost", ws.volume(likely))
	default:
		if !math.IsNaN(likely) {
			f.Suggestion = fmt.Sprintf("look at the original chart whether it says %s: one digit is wrong", ws.volume(likely))
		}
	}
	ws.say(f, i, true)
}

// name tells which slip makes of p, to within slack, what stands there, and which
// number was then meant.
func (ws *Workspace) name(i int, was, p, slack float64) (finding.Slug, float64) {
	near := func(c float64) bool { return math.Abs(c-p) <= slack }
	if i > 0 && was == ws.v[i-1] || i+1 < len(ws.v) && was == ws.v[i+1] {
		return finding.VolumeRepeated, math.NaN()
	}
	if was > 0 && p > 0 {
		if k := math.Round(math.Log10(was / p)); k != 0 && math.Abs(k) <= 4 && near(was/math.Pow(10, k)) {
			if k == -3 {
				return finding.ThousandsMarkLost, was * 1000
			}
			return finding.DecimalComma, was / math.Pow(10, k)
		}
	}
	text := ws.volume(was)
	if math.Abs(was-math.Round(was/ws.unit)*ws.unit) > 1e-6*ws.unit {
		text = number(was)
	}
	best, off := math.NaN(), math.Inf(1)
	tried := func(b []byte) {
		if c, err := strconv.ParseFloat(string(b), 64); err == nil && near(c) && math.Abs(c-p) < off {
			best, off = c, math.Abs(c-p)
		}
	}
	// A zero in front is not written: 269 for 0269, of 2069.
	for want := ws.volume(p); len(text) < len(want); {
		text = "0" + text
	}
	b := []byte(text)
	last := -1
	for k := range b {
		if b[k] < '0' || b[k] > '9' {
			continue
		}
		if last >= 0 && b[last] != b[k] {
			b[last], b[k] = b[k], b[last]
			tried(b)
			b[last], b[k] = b[k], b[last]
		}
		last = k
	}
	if !math.IsNaN(best) {
		return finding.DigitsSwapped, best
	}
	if p >= 1000 && was < 1000 && was == math.Trunc(was) {
		if t := math.Round((p-was)/1000)*1000 + was; near(t) || math.Floor(p/1000) == was {
			return finding.ThousandsMarkLost, t
		}
	}
	for k := range b {
		c := b[k]
		if c < '0' || c > '9' {
			continue
		}
		for q := byte('0'); q <= '9'; q++ {
			if q != c {
				b[k] = q
				tried(b)
			}
		}
		b[k] = c
	}
	return finding.WrongDigit, best
}
