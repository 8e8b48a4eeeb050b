// Package portfolio looks for what only shows across many tanks: the same chart
// under tanks that cannot share it, a chart that is another one multiplied, a
// capacity unlike those of its family, measures that were copied from tank to
// tank, a tank that stands in two books with two plans, and shutoffs that moved
// up since the last time.
//
// It takes the books one after the other, twice: at the first look it keeps a few
// bytes of each tank, by which it knows at the second one what has a like
// elsewhere, and only of that it keeps more. With the rows of a bounded number of
// charts, half a million tanks take some ten megabytes, and the time grows with
// their number and no faster.
package portfolio

import (
	"cmp"
	"encoding/binary"
	"math"
	"slices"
	"strings"

	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// Tank is what is kept of a tank. Lengths are inches, volumes US gallons; 0 where
// nothing is known.
type Tank struct {
	Site, ID string
	At       cell.Ref
	// Chart is the index of its chart in Book.Charts, -1 for none.
	Chart int

	Nominal, Full    float64
	Diameter, Length float64
	Riser, Face      float64
	RiserAt          cell.Ref
	NominalAt        cell.Ref

	Shutoff, Upper float64
}

// Chart is what is kept of a chart: its depths in inches and its volumes as the
// file gives them.
type Chart struct {
	Name          string
	At            cell.Ref
	Depth, Volume []float64
	// Rounding is the step to which the volumes are rounded, in their own unit;
	// 0 where they are not.
	Rounding float64
	// Gallon is how many US gallons one of its volume units is.
	Gallon float64
}

// Book is what is kept of a book. Name tells it from all others.
type Book struct {
	Name   string
	Tanks  []Tank
	Charts []Chart
}

// Found is a finding with the tanks that it is about.
type Found struct {
	finding.Finding
	Book  string
	Tanks []int // indexes into the tanks of the book
}

// BookOf keeps what matters of a book of n tanks and its charts; tank gives the i-th
// with its cut and its chart, nil for none.
func BookOf(name string, charts []*chart.Chart, n int, tank func(i int) (*plan.Tank, *plan.Cut, *chart.Chart)) *Book {
	b := &Book{Name: name, Tanks: make([]Tank, n)}
	number := map[*chart.Chart]int{}
	for _, c := range charts {
		number[c] = len(b.Charts)
		b.Charts = append(b.Charts, ChartOf(c))
	}
	for i := range b.Tanks {
		t, cut, c := tank(i)
		k, ok := number[c]
		if !ok {
			k = -1
		}
		b.Tanks[i] = TankOf(t, cut, k)
	}
	return b
}

// TankOf keeps what matters of a tank. chart is the index that its chart has in
// the book, -1 for none.
func TankOf(t *plan.Tank, c *plan.Cut, chart int) Tank {
	return Tank{
		Site: t.Site.V, ID: t.ID.V, At: t.At, Chart: chart,
		Nominal: float64(t.Nominal.V), Full: float64(c.FullVolume.V),
		Diameter: float64(t.Diameter.V), Length: float64(t.Length.V),
		Riser: float64(t.RiserHeight.V), Face: float64(t.FaceToBottom.V),
		RiserAt: t.RiserHeight.At, NominalAt: t.Nominal.At,
		Shutoff: float64(c.ShutoffDepth.V), Upper: float64(c.UpperTube.V),
	}
}

// ChartOf keeps what matters of a chart. A chart whose units are not known, or
// that holds something that is no number, gives no rows: it cannot be compared.
func ChartOf(c *chart.Chart) Chart {
	k := Chart{Name: c.Name, At: c.At}
	if !c.UnitsKnown() {
		return k
	}
	k.Rounding, k.Gallon = c.Rounding(), float64(c.VolumeUnit.Volume(1))
	depth, volume := make([]float64, len(c.Rows)), make([]float64, len(c.Rows))
	for i := range c.Rows {
		d, v := float64(c.DepthUnit.Length(c.Rows[i].Depth)), c.Rows[i].Volume
		if !number(d) || !number(v) {
			return k
		}
		depth[i], volume[i] = d, v
	}
	k.Depth, k.Volume = depth, volume
	return k
}

func number(v float64) bool { return math.Abs(v) < 1e15 }

// View looks across a portfolio: Look is called for each book, then Add for each
// of them in the same order. The zero View is not ready; New makes one.
type View struct {
	first *firstLook // nil when the second look has begun

	charted map[word]bool // the charts that more than one tank goes by
	same    map[word][]holder
	order   []word
	near    near
	scaled  []Found
	family  map[familyKey]family
	odd     []oddMember
	twice   map[uint64]bool // the names that more than one tank has
	named   map[string][]named
	habits  []Found
	doubled []Found
}

// firstLook is what the first look keeps.
type firstLook struct {
	charts []word // of each tank with a chart
	names  []uint64
	full   map[familyKey][]float64
}

// New makes an empty View.
func New() *View {
	return &View{
		first: &firstLook{full: map[familyKey][]float64{}},
		same:  map[word][]holder{}, near: newNear(), named: map[string][]named{},
	}
}

// Look takes the next book for the first time.
func (v *View) Look(b *Book) {
	words := wordsOf(b)
	for i := range b.Tanks {
		t := &b.Tanks[i]
		if n := t.Chart; n >= 0 && n < len(words) && words[n] != (word{}) {
			v.first.charts = append(v.first.charts, words[n])
		}
		if key := nameOf(t); key != "" {
			v.first.names = append(v.first.names, hashOf(key))
		}
		if key, ok := familyOf(t); ok {
			v.first.full[key] = append(v.first.full[key], t.Full)
		}
	}
}

// Add takes the next book for the second time. Books are told apart by their
// names.
func (v *View) Add(b *Book) {
	if f := v.first; f != nil {
		v.charted = moreThanOnce(f.charts, word.compare)
		v.twice = moreThanOnce(f.names, cmp.Compare)
		v.family = familiesOf(f.full)
		v.first = nil
	}
	words := wordsOf(b)
	v.charts(b, words)
	v.holders(b, words)
	v.families(b)
	v.names(b)
	v.copied(b)
}

// moreThanOnce gives what stands in a list more than once. It sorts the list.
func moreThanOnce[T comparable](list []T, compare func(a, b T) int) map[T]bool {
	slices.SortFunc(list, compare)
	out := map[T]bool{}
	for i := 1; i < len(list); i++ {
		if list[i] == list[i-1] {
			out[list[i]] = true
		}
	}
	return out
}

// Findings gives everything that was found, in a total order: by book as they
// were added, by sheet, row, column and slug.
func (v *View) Findings() []Found {
	list := slices.Concat(v.shared(), v.scaled, v.unlike(), v.doubled, v.habits)
	slices.SortStableFunc(list, func(a, b Found) int {
		return cmp.Or(
			cmp.Compare(a.Book, b.Book), cmp.Compare(a.At.File, b.At.File), cmp.Compare(a.At.Sheet, b.At.Sheet),
			cmp.Compare(a.At.Row, b.At.Row), cmp.Compare(a.At.Col, b.At.Col), cmp.Compare(a.Slug, b.Slug), cmp.Compare(a.Found, b.Found),
		)
	})
	return list
}

// word is made of a chart's numbers: equal words are equal charts.
type word [2]uint64

func (w word) compare(o word) int { return cmp.Or(cmp.Compare(w[0], o[0]), cmp.Compare(w[1], o[1])) }

// wordsOf gives the words of a book's charts, the zero word where a chart cannot
// be compared.
func wordsOf(b *Book) []word {
	words := make([]word, len(b.Charts))
	for i := range b.Charts {
		if c := &b.Charts[i]; len(c.Depth) >= 2 && len(c.Depth) == len(c.Volume) {
			words[i] = wordOf(c.Depth, c.Volume, []float64{c.Gallon})
		}
	}
	return words
}

// wordOf hashes numbers (FNV-1a, twice, over their bytes).
func wordOf(lists ...[]float64) word {
	const prime = 1099511628211
	h, g := uint64(14695981039346656037), uint64(1469598103934665603)
	var buf [8]byte
	for _, list := range lists {
		for _, x := range list {
			binary.LittleEndian.PutUint64(buf[:], math.Float64bits(x))
			for _, c := range buf {
				h = (h ^ uint64(c)) * prime
				g = (g + uint64(c) + 1) * (prime + 2)
				g ^= g >> 29
			}
		}
		h = (h ^ uint64(len(list))) * prime
	}
	return word{h, g}
}

// hashOf hashes a text (FNV-1a).
func hashOf(s string) uint64 {
	h := uint64(14695981039346656037)
	for i := range len(s) {
		h = (h ^ uint64(s[i])) * 1099511628211
	}
	return h
}

// where names a place in another book.
func where(book string, at cell.Ref) string {
	if c := at.Cell(); c != "" {
		return book + ", " + c
	}
	return book
}

func inches(x float64) string { return unit.DecimalText(x, 4, unit.Nearest) + " in" }

func gallons(x float64) string {
	return unit.GroupedText(unit.DecimalText(x, 1, unit.Nearest)) + " gal"
}

func fold(s string) string { return unit.Fold(strings.TrimSpace(s)) }
