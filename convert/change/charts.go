package change

import (
	"math"
	"slices"
	"strconv"

	"dropcut/plan/chart"
)

// chartRows compares two charts of one name row by row. Rows belong together by
// their depth, so that moved blocks are no changes; a row whose depth changed is
// recognised where it stands behind the same row as before. The cost is linear
// in the rows of a sorted chart.
func chartRows(site string, old, new *chart.Chart, emit func(Record)) {
	if old.DepthUnit != new.DepthUnit {
		emit(Record{
			Subject: OfChart, Site: site, Tank: new.Name, What: "depth unit",
			Old: unitWord(old.DepthUnit.String()), New: unitWord(new.DepthUnit.String()), OldAt: old.DepthUnitFrom, NewAt: new.DepthUnitFrom,
		})
	}
	if old.VolumeUnit != new.VolumeUnit {
		emit(Record{
			Subject: OfChart, Site: site, Tank: new.Name, What: "volume unit",
			Old: unitWord(old.VolumeUnit.String()), New: unitWord(new.VolumeUnit.String()), OldAt: old.VolumeUnitFrom, NewAt: new.VolumeUnitFrom,
		})
	}
	if sameRows(old, new) {
		return
	}
	c := comparison{old: old, new: new, site: site, emit: emit}
	// Units that both files name are compared as quantities; where one is not
	// known, or changed under unchanged numbers, the numbers are compared.
	if old.UnitsKnown() && new.UnitsKnown() {
		c.depth = float64(new.DepthUnit.Size()) / float64(old.DepthUnit.Size())
		c.volume = float64(new.VolumeUnit.Size()) / float64(old.VolumeUnit.Size())
		if sameNumbers(old, new) {
			return // only the unit's name changed, which is said above
		}
	} else {
		c.depth, c.volume = 1, 1
	}
	c.run()
}

func unitWord(s string) string {
	if s == "" {
		return "not known"
	}
	return s
}

// sameRows is the fast answer for the many charts that nobody touched.
func sameRows(a, b *chart.Chart) bool {
	return a.DepthUnit == b.DepthUnit && a.VolumeUnit == b.VolumeUnit && sameNumbers(a, b)
}

func sameNumbers(a, b *chart.Chart) bool {
	if len(a.Rows) != len(b.Rows) {
		return false
	}
	for i := range a.Rows {
		if !sameNumber(a.Rows[i].Depth, b.Rows[i].Depth) || !sameNumber(a.Rows[i].Volume, b.Rows[i].Volume) {
			return false
		}
	}
	return true
}

type comparison struct {
	old, new      *chart.Chart
	depth, volume float64 // what one unit of the new chart is in units of the old
	site          string
	emit          func(Record)
}

func (c *comparison) run() {
	a, b := order(c.old), order(c.new)
	match := make([]int, len(c.old.Rows)) // index into new, -1 for none
	back := make([]int, len(c.new.Rows))
	for i := range match {
		match[i] = -1
	}
	for i := range back {
		back[i] = -1
	}
	for i, j := 0, 0; i < len(a) && j < len(b); {
		x, y := c.old.Rows[a[i]].Depth, c.new.Rows[b[j]].Depth*c.depth
		switch {
		case c.near(x, y, c.depth):
			match[a[i]], back[b[j]] = b[j], a[i]
			i, j = i+1, j+1
		case x < y:
			i++
		default:
			j++
		}
	}
	// A row left over on both sides behind the same row is one whose depth
	// was changed.
	for i := range match {
		if match[i] >= 0 {
			continue
		}
		j := 0
		if i > 0 {
			if match[i-1] < 0 {
				continue
			}
			j = match[i-1] + 1
		}
		if j < len(back) && back[j] < 0 {
			match[i], back[j] = j, i
		}
	}
	for i, j := range match {
		r := &c.old.Rows[i]
		if j < 0 {
			c.emit(Record{
				Subject: OfChart, Site: c.site, Tank: c.new.Name, What: "row at " + c.depthText(c.old, r.Depth),
				Old: number(r.Volume), OldAt: c.old.VolumeAt(i),
			})
			continue
		}
		s := &c.new.Rows[j]
		if !c.near(r.Depth, s.Depth*c.depth, c.depth) {
			c.emit(Record{
				Subject: OfChart, Site: c.site, Tank: c.new.Name, What: "depth of a row",
				Old: c.depthText(c.old, r.Depth), New: c.depthText(c.new, s.Depth), OldAt: c.old.DepthAt(i), NewAt: c.new.DepthAt(j),
			})
		}
		if !c.near(r.Volume, s.Volume*c.volume, c.volume) {
			c.emit(Record{
				Subject: OfChart, Site: c.site, Tank: c.new.Name, What: "volume at " + c.depthText(c.new, s.Depth),
				Old: number(r.Volume), New: number(s.Volume), OldAt: c.old.VolumeAt(i), NewAt: c.new.VolumeAt(j),
			})
		}
	}
	for j, i := range back {
		if i < 0 {
			s := &c.new.Rows[j]
			c.emit(Record{
				Subject: OfChart, Site: c.site, Tank: c.new.Name, What: "row at " + c.depthText(c.new, s.Depth),
				New: number(s.Volume), NewAt: c.new.VolumeAt(j),
			})
		}
	}
}

// near reports whether two numbers mean the same. In one unit they must be the
// same number; between two units they may differ by half the last digit that
// either of them shows, since one was rounded to get it.
func (c *comparison) near(old, new, factor float64) bool {
	if sameNumber(old, new) {
		return true
	}
	if factor == 1 || math.IsNaN(old) || math.IsNaN(new) {
		return false
	}
	half := max(lastDigit(old), lastDigit(new/factor)*factor) / 2
	return math.Abs(old-new) <= half*(1+relative)
}

// lastDigit gives the value of a unit in the last decimal of a number as
// people write it: 0.1 for 12.5, 1 for 500.
func lastDigit(v float64) float64 {
	s := strconv.FormatFloat(v, 'f', -1, 64)
	if i := slices.Index([]byte(s), '.'); i >= 0 {
		return math.Pow10(i + 1 - len(s))
	}
	return 1
}

// order gives the rows by rising depth, rows without a depth left out. Charts
// are sorted already but for faults and ullage.
func order(c *chart.Chart) []int {
	list := make([]int, 0, len(c.Rows))
	sorted := true
	for i := range c.Rows {
		if math.IsNaN(c.Rows[i].Depth) {
			continue
		}
		if n := len(list); n > 0 && c.Rows[list[n-1]].Depth > c.Rows[i].Depth {
			sorted = false
		}
		list = append(list, i)
	}
	if !sorted {
		slices.SortStableFunc(list, func(i, j int) int {
			switch x, y := c.Rows[i].Depth, c.Rows[j].Depth; {
			case x < y:
				return -1
			case x > y:
				return 1
			}
			return 0
		})
	}
	return list
}

func (c *comparison) depthText(of *chart.Chart, d float64) string {
	s := number(d)
	if u := of.DepthUnit.String(); u != "" {
		s += " " + u
	}
	return s
}

func number(v float64) string {
	if math.IsNaN(v) {
		return "unreadable"
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}
