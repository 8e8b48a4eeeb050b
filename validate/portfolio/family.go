package portfolio

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// familyKey is what tanks of one make and size have in common, as far as a list
// tells: the nominal capacity, and the diameter to half an inch. The diameter
// belongs to it: tanks sold as 6,000 gal hold from 5,829 to 6,430 gal in three
// diameters (San Joaquin County EHD, UST Overfill Prevention, 2018, p. 7).
type familyKey struct{ nominal, halfInches int }

type member struct {
	book     string
	tank     int
	site, id string
	at       cell.Ref
	full     float64
}

func (v *View) families(b *Book) {
	for i := range b.Tanks {
		t := &b.Tanks[i]
		if !(t.Nominal > 0 && t.Nominal < 1e9 && t.Diameter > 0 && t.Diameter < 1e6 && t.Full > 0) {
			continue
		}
		key := familyKey{int(math.Round(t.Nominal)), int(math.Round(t.Diameter * 2))}
		v.family[key] = append(v.family[key], member{book: b.Name, tank: i, site: t.Site, id: t.ID, at: t.NominalAt, full: t.Full})
	}
}

// A family speaks from so many members on, and of those that lie apart from its
// middle by more than so much of it and so many times its spread: common
// practice, no source.
const (
	familyLeast  = 5
	familyApart  = 0.02
	familySpread = 6.0
)

// unlike finds tanks whose charted capacity is not that of their family.
func (v *View) unlike() []Found {
	keys := make([]familyKey, 0, len(v.family))
	for k, list := range v.family {
		if len(list) >= familyLeast {
			keys = append(keys, k)
		}
	}
	slices.SortFunc(keys, func(a, b familyKey) int {
		return cmp.Or(cmp.Compare(a.nominal, b.nominal), cmp.Compare(a.halfInches, b.halfInches))
	})
	var out []Found
	for _, k := range keys {
		list := v.family[k]
		full := make([]float64, len(list))
		for i, m := range list {
			full[i] = m.full
		}
		mid := median(full)
		for i := range full {
			full[i] = math.Abs(list[i].full - mid)
		}
		// 1.4826 makes of the median deviation the standard deviation of a normal
		// spread (Hampel 1974).
		most := max(familyApart*mid, familySpread*1.4826*median(full))
		for _, m := range list {
			if math.Abs(m.full-mid) <= most {
				continue
			}
			out = append(out, Found{Book: m.book, Tanks: []int{m.tank}, Finding: finding.Finding{
				Slug: finding.CapacityUnlikeFamily, Severity: finding.Check, Site: m.site, Tank: m.id, At: m.at,
				Found:      "charted capacity " + gallons(m.full),
				Expected:   "about " + gallons(mid),
				Why:        fmt.Sprintf("the middle one of the %d tanks of %d gal nominal and %s diameter in this folder holds so much, and half of them lie within %s of it", len(list), k.nominal, inches(float64(k.halfInches)/2), gallons(median(full))),
				Suggestion: "compare the chart with the plate of the tank",
			}})
		}
	}
	return out
}

func median(list []float64) float64 {
	s := slices.Clone(list)
	slices.Sort(s)
	n := len(s)
	if n == 0 {
		return math.NaN()
	}
	return (s[(n-1)/2] + s[n/2]) / 2
}

// named is a tank by its site and id.
type named struct {
	book           string
	tank           int
	at             cell.Ref
	shutoff, upper float64
}

// names finds tanks that stand in two books. Where the plans differ, somebody
// will cut by the wrong one.
func (v *View) names(b *Book) {
	for i := range b.Tanks {
		t := &b.Tanks[i]
		if t.Site == "" || t.ID == "" {
			continue
		}
		key := fold(t.Site) + "\x00" + fold(t.ID)
		list := v.named[key]
		me := named{book: b.Name, tank: i, at: t.At, shutoff: t.Shutoff, upper: t.Upper}
		for _, o := range list {
			if o.book == b.Name {
				continue // the reading tells of two rows of one name in one book
			}
			f := finding.Finding{
				Slug: finding.TankInTwoBooks, Severity: finding.Note, Site: t.Site, Tank: t.ID, At: t.At,
				Found: "the tank stands in " + where(o.book, o.at) + " too", Expected: "one row a tank",
				Why: "both rows give the same plan", Suggestion: "keep one of the two rows",
			}
			if math.Abs(o.shutoff-me.shutoff) > 1e-6 || math.Abs(o.upper-me.upper) > 1e-6 {
				f.Severity = finding.Check
				f.Why = fmt.Sprintf("this row shuts off at %s with an upper tube of %s, the other one at %s with %s", lengthOr(me.shutoff), lengthOr(me.upper), lengthOr(o.shutoff), lengthOr(o.upper))
				f.Suggestion = "find out which of the two rows holds, and take the other one out before anybody cuts"
			}
			v.doubled = append(v.doubled, Found{Finding: f, Book: b.Name, Tanks: []int{i}})
			break
		}
		if len(list) < 2 {
			v.named[key] = append(list, me)
		}
	}
}

func lengthOr(x float64) string {
	if x == 0 {
		return "no length"
	}
	return unit.DecimalText(x, 4, unit.Nearest) + " in"
}
