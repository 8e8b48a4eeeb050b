package charts

import (
	"fmt"
	"math"

	"dropcut/plan/chart"
	"dropcut/plan/finding"
)

// commas names the cells whose comma or point means something else than in the
// rest of their column: a decimal comma among points, or a mark of thousands that
// became a point. The reading has marked them.
func commas(ws *Workspace) {
	c := ws.c
	for k := 0; k < len(c.Odd); {
		o := &c.Odd[k]
		if o.Kind != chart.OddComma {
			k++
			continue
		}
		if ws.doubtful(o) {
			k++
			continue
		}
		row := int(o.Row)
		run := 1
		for k+run < len(c.Odd) && c.Odd[k+run].Kind == chart.OddComma && c.Odd[k+run].Volume == o.Volume && int(c.Odd[k+run].Row) == row+run {
			run++
		}
		k += run
		number0 := c.Rows[row].Depth
		if o.Volume {
			number0 = c.Rows[row].Volume
		}
		f := finding.Finding{
			Slug: finding.DecimalComma, Severity: finding.Stop,
			Found:      fmt.Sprintf("%q in a column of numbers with the other decimal sign", o.Raw),
			Expected:   "one decimal sign in the whole column",
			Why:        "one program reads it as " + number(o.Value) + ", another as something else",
			Suggestion: "look at the original chart and type the number again",
		}
		if run > 1 {
			f.Found += fmt.Sprintf(", and so the %d rows after it", run-1)
		}
		if o.Volume && ok(number0) && ok(o.Value) && math.Abs(o.Value-1000*number0) <= 1e-6*o.Value {
			f.Slug = finding.ThousandsMarkLost
			f.Found = fmt.Sprintf("%s where %s belongs", o.Raw, number(o.Value))
			f.Why = "a mark of thousands became a decimal point"
		}
		// The depth by which the row is known: the one that was meant.
		d := c.Rows[row].Depth
		if !o.Volume && ok(o.Value) {
			d = o.Value
		}
		if ok(d) {
			f.Depth = number(d)
		}
		if o.Volume {
			f.At = c.VolumeAt(row)
		} else {
			f.At = c.DepthAt(row)
		}
		ws.put(f)
	}
	ws.believeOdd()
}

// doubtful reports whether the reading's suspicion of a cell does not hold: the
// number fits the rows on both sides as it stands, and better than the other one.
// The rows next to it may be the wrong ones.
func (ws *Workspace) doubtful(o *chart.Odd) bool {
	c, i := ws.c, int(o.Row)
	get := func(j int) float64 {
		if o.Volume {
			return c.Rows[j].Volume
		}
		return c.Rows[j].Depth
	}
	v := get(i)
	if !ok(v) || !ok(o.Value) || v == o.Value {
		return false
	}
	score := func(x float64) int {
		s := 0
		for j := max(0, i-4); j <= min(len(c.Rows)-1, i+4); j++ {
			if y := get(j); j < i && y <= x && x <= 3*y+3 || j > i && y >= x && x >= y/3-3 {
				s++
			}
		}
		return s
	}
	return score(v) > score(o.Value)
}

// believeOdd takes the likely values of marked cells into the working rows.
func (ws *Workspace) believeOdd() {
	c := ws.c
	any := false
	for k := range c.Odd {
		any = any || c.Odd[k].Kind == chart.OddComma
	}
	if !any {
		return
	}
	ws.reset()
	k := 0
	for i := range c.Rows {
		d, v, told := c.Rows[i].Depth, c.Rows[i].Volume, false
		for ; k < len(c.Odd) && int(c.Odd[k].Row) <= i; k++ {
			o := &c.Odd[k]
			if o.Kind != chart.OddComma || int(o.Row) != i || !ok(o.Value) || ws.doubtful(o) {
				continue
			}
			told = true
			if o.Volume {
				v = o.Value
			} else {
				d = o.Value
			}
		}
		if ok(d) && ok(v) {
			ws.add(i, d, v)
			ws.told[len(ws.told)-1] = told
		}
	}
}
