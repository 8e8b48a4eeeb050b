package charts

import (
	"math"

	"dropcut/plan/chart"
)

// Said gives, for each row of a chart, the volume that the four rows on either
// side of it say it has, itself left out, in the chart's unit; NaN where they say
// nothing: in charts of fewer than ten rows, at rows that cannot be read, and
// where the depths around do not rise. It is what a plot of residuals shows; the
// audit itself weighs several such predictions.
func Said(c *chart.Chart) []float64 {
	list := make([]float64, len(c.Rows))
	x, w, row := make([]float64, 0, len(c.Rows)), make([]float64, 0, len(c.Rows)), make([]int, 0, len(c.Rows))
	for i := range c.Rows {
		list[i] = math.NaN()
		if r := &c.Rows[i]; ok(r.Depth) && ok(r.Volume) {
			x, w, row = append(x, r.Depth), append(w, r.Volume), append(row, i)
		}
	}
	n := len(x)
	if n < least {
		return list
	}
	const side = 4
	for i := 1; i < n-1; i++ {
		from := around(i, n, 2*side)
		rises := true
		for j := from + 1; j <= from+2*side && rises; j++ {
			rises = x[j] > x[j-1]
		}
		if p := local(x, w, i, 2*side, 3); rises && ok(p) {
			list[row[i]] = p
		}
	}
	return list
}
