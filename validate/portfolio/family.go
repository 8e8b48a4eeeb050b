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

// familyOf gives the family of a tank.
func familyOf(t *Tank) (familyKey, bool) {
	if !(t.Nominal > 0 && t.Nominal < 1e9 && t.Diameter > 0 && t.Diameter < 1e6 && t.Full > 0) {
		return familyKey{}, false
	}
	return familyKey{int(math.Round(t.Nominal)), int(math.Round(t.Diameter * 2))}, true
}

// A family speaks from so many members on, and of those that lie apart from its
// middle by more than so much of it and so many times its spread: common
// practice, no source.
const (
	familyLeast  = 5
	familyApart  = 0.02
	familySpread = 6.0
)

// family is what its members tell together: how many they are, what the middle
// one holds, and how far half of them lie from it at most.
type family struct {
	members       int
	middle, apart float64
}

// most is how far a member may lie from the middle. 1.4826 makes of the median
// deviation the standard deviation of a normal spread (Hampel 1974).
func (f family) most() float64 { return max(familyApart*f.middle, familySpread*1.4826*f.apart) }

// familiesOf leaves out those that are too small to speak.
func familiesOf(full map[familyKey][]float64) map[familyKey]family {
	out := map[familyKey]family{}
	for key, list := range full {
		if len(list) < familyLeast {
			continue
		}
		f := family{members: len(list), middle: median(list)}
		for i := range list {
			list[i] = math.Abs(list[i] - f.middle)
		}
		f.apart = median(list)
		out[key] = f
	}
	return out
}

// oddMember is a tank that is unlike its family.
type oddMember struct {
	key   familyKey
	found Found
}

// families finds tanks whose charted capacity is not that of their family.
func (v *View) families(b *Book) {
	for i := range b.Tanks {
		t := &b.Tanks[i]
		key, ok := familyOf(t)
		f, speaks := v.family[key]
		if !ok || !speaks || math.Abs(t.Full-f.middle) <= f.most() {
			continue
		}
		v.odd = append(v.odd, oddMember{key, Found{Book: b.Name, Tanks: []int{i}, Finding: finding.Finding{
			Slug: finding.CapacityUnlikeFamily, Severity: finding.Check, Site: t.Site, Tank: t.ID, At: t.NominalAt,
			Found:      "charted capacity " + gallons(t.Full),
			Expected:   "about " + gallons(f.middle),
			Why:        fmt.Sprintf("the middle one of the %d tanks of %d gal nominal and %s diameter in this folder holds so much, and half of them lie within %s of it", f.members, key.nominal, inches(float64(key.halfInches)/2), gallons(f.apart)),
			Suggestion: "compare the chart with the plate of the tank",
		}}})
	}
}

// unlike gives what families found, family by family.
func (v *View) unlike() []Found {
	slices.SortStableFunc(v.odd, func(a, b oddMember) int {
		return cmp.Or(cmp.Compare(a.key.nominal, b.key.nominal), cmp.Compare(a.key.halfInches, b.key.halfInches))
	})
	out := make([]Found, len(v.odd))
	for i := range v.odd {
		out[i] = v.odd[i].found
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

// nameOf gives a tank's name in the whole folder, "" where it has none.
func nameOf(t *Tank) string {
	if t.Site == "" || t.ID == "" {
		return ""
	}
	return fold(t.Site) + "\x00" + fold(t.ID)
}

// names finds tanks that stand in two books. Where the plans differ, somebody
// will cut by the wrong one.
func (v *View) names(b *Book) {
	for i := range b.Tanks {
		t := &b.Tanks[i]
		key := nameOf(t)
		if key == "" {
			continue
		}
		if !v.twice[hashOf(key)] {
			continue
		}
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
