package starter

import (
	"fmt"
	"io/fs"
	"iter"
	"math"
	"strings"
	"time"

	"dropcut/plan/shape"
	"dropcut/plan/unit"
)

// Portfolio is an invented portfolio of any size. The same numbers always give
// the same books, and no more than one tank is held at a time.
type Portfolio struct {
	Tanks int
	Books int // 0 lets the books have 25 to 5,000 tanks each
	Seed  uint64
}

// The sizes of books that contractors keep; common practice, no source.
const (
	smallBook = 25
	largeBook = 5000
	// fewTanks is the most for which people give each tank a sheet or a column.
	fewTanks = 60
)

// PortfolioBook is one book of a Portfolio.
type PortfolioBook struct {
	Name  string // without an ending
	Tanks int
	N     int // from 0

	first int // the number of its first tank in the portfolio
	seed  uint64
	style bookStyle
	words *portfolioWords
}

// bookStyle is how a contractor keeps charts.
type bookStyle struct {
	depth  unit.LengthUnit
	volume unit.VolumeUnit
	layout chartLayout
}

type chartLayout uint8

const (
	oneList chartLayout = iota
	sheetEach
	stackedCharts
	ullageSheets
)

// List gives the books in order.
func (p Portfolio) List(tables fs.FS) (iter.Seq[PortfolioBook], error) {
	if p.Tanks < 1 || p.Books < 0 || p.Books > p.Tanks {
		return nil, fmt.Errorf("%d tanks in %d books cannot be; each book needs a tank", p.Tanks, p.Books)
	}
	words, err := readWords(tables)
	if err != nil {
		return nil, err
	}
	return func(yield func(PortfolioBook) bool) {
		r := dice{p.Seed}
		for n, first := 0, 0; first < p.Tanks; n++ {
			size := min(int(smallBook*math.Pow(largeBook/smallBook, r.share())), p.Tanks-first)
			if p.Books > 0 {
				size = (p.Tanks-first-1)/(p.Books-n) + 1
			}
			b := PortfolioBook{Name: fmt.Sprintf("portfolio-%04d", n+1), Tanks: size, N: n, first: first, seed: r.next(), words: words}
			b.style = styleOf(dice{b.seed}, size)
			if !yield(b) {
				return
			}
			first += size
		}
	}, nil
}

// styleOf draws how a book is kept. Most are in inches and gallons.
func styleOf(r dice, tanks int) bookStyle {
	s := bookStyle{unit.Inches, unit.USGallons, oneList}
	switch x := r.share(); {
	case x < 0.78:
	case x < 0.86:
		s.depth, s.volume = unit.Millimetres, unit.Litres
	case x < 0.92:
		s.depth, s.volume = unit.Centimetres, unit.Litres
	case x < 0.97:
		s.volume = unit.ImperialGallons
	default:
		s.volume = unit.Litres
	}
	if tanks <= fewTanks {
		s.layout = []chartLayout{oneList, oneList, sheetEach, stackedCharts, ullageSheets}[r.below(5)]
	}
	return s
}

// portfolioWords are the words that names are made of.
type portfolioWords struct {
	places, kinds, products []string
	devices, jurisdictions  []string
	deviceRows, ruleRows    [][]string
}

func readWords(tables fs.FS) (*portfolioWords, error) {
	rows, err := table(tables, "names.csv")
	if err != nil {
		return nil, err
	}
	w := &portfolioWords{jurisdictions: []string{"US-federal"}}
	for _, r := range rows[1:] {
		w.places, w.kinds, w.products = append(w.places, r[0]), append(w.kinds, r[1]), append(w.products, r[2])
	}
	if w.deviceRows, err = table(tables, "devices.csv"); err != nil {
		return nil, err
	}
	for _, r := range w.deviceRows[1:] {
		w.devices = append(w.devices, r[0])
	}
	if w.ruleRows, err = table(tables, "rules.csv"); err != nil {
		return nil, err
	}
	for _, r := range w.ruleRows[1:] {
		w.jurisdictions = append(w.jurisdictions, r[1])
	}
	if len(w.places) == 0 || len(w.devices) == 0 {
		return nil, fmt.Errorf("names.csv and devices.csv need a row each")
	}
	return w, nil
}

// dice gives the same numbers for the same seed, today and with the next release
// of any library (Steele, Lea and Flood 2014, "Fast splittable pseudorandom
// number generators", the mixing function of SplitMix64).
type dice struct{ state uint64 }

func (d *dice) next() uint64 {
	d.state += 0x9e3779b97f4a7c15
	z := d.state
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// share gives a number from 0 up to 1.
func (d *dice) share() float64 { return float64(d.next()>>11) / (1 << 53) }

// below gives a whole number from 0 up to n. The slight preference of small ones
// does no harm here.
func (d *dice) below(n int) int { return int(d.next() % uint64(n)) }

func (d *dice) word(list []string) string { return list[d.below(len(list))] }

// drawn is one invented tank. Lengths are inches.
type drawn struct {
	site, id, product string
	body              *shape.Tank
	spec              shape.Spec
	shape, ends       string
	step              float64 // of its chart, in the unit of the book
	place, device     string
	riser             float64 // 0 where it was not measured
	face              float64
	seal              string
	alarm             float64
	installed, seen   time.Time
	fault             string
	seed              uint64
}

// The faults of an invented portfolio, by how often they are met among a hundred
// tanks. The shares are made up.
var portfolioFaults = []struct {
	name  string
	share float64
}{
	{"a wrong digit in the chart", 0.010},
	{"a row of the chart missing", 0.006},
	{"two volumes of the chart exchanged", 0.004},
	{"the chart stops early", 0.005},
	{"litres under another heading", 0.003},
	{"no chart", 0.010},
	{"the name on the chart written otherwise", 0.010},
	{"riser too short for the device", 0.008},
	{"alarm set above the shutoff", 0.015},
}

const (
	ownDigit = iota
	ownMissing
	ownExchanged
	ownShort
	ownLitres
	ownNoChart
	ownLooseName
	ownShortRiser
	ownHighAlarm
)

// tanks draws the tanks of a book, one after the other.
func (b *PortfolioBook) tanks() iter.Seq2[*drawn, error] {
	return func(yield func(*drawn, error) bool) {
		r := dice{b.seed + 1}
		site, left, inSite := "", 0, 0
		for i, sites := 0, 0; i < b.Tanks; i++ {
			if left == 0 {
				left, inSite = 2+r.below(4), 0
				sites++
				place := r.word(b.words.places)
				site = fmt.Sprintf("%s %s %d", place, r.word(b.words.kinds), sites)
			}
			left--
			inSite++
			t, err := b.draw(dice{b.seed ^ uint64(i+1)*0xd1342543de82ef95}, site, inSite, i)
			if !yield(t, err) || err != nil {
				return
			}
		}
	}
}

// draw invents one tank.
func (b *PortfolioBook) draw(r dice, site string, n, i int) (*drawn, error) {
	words := strings.Fields(site)
	t := &drawn{
		site: site, id: fmt.Sprintf("%c%c%s-%d", words[0][0], words[len(words)-2][0], words[len(words)-1], n),
		product: r.word(b.words.products), device: r.word(b.words.devices), place: r.word(b.words.jurisdictions), seed: r.next(),
	}
	if err := t.form(&r, b.style.depth); err != nil {
		return nil, fmt.Errorf("tank %s: %w", t.id, err)
	}
	t.step = stepOf(&r, b.style.depth)
	height := t.body.Height()
	t.riser = math.Round((34+20*r.share())*8) / 8
	t.face = t.riser + height + float64(r.below(3)-1)/8
	t.seal = []string{"built in", "separate face seal", "at nipple"}[r.below(3)]
	t.alarm = math.Floor(height * 0.80)
	t.installed = time.Date(1998+r.below(27), time.Month(1+r.below(12)), 1+r.below(28), 0, 0, 0, 0, time.UTC)
	t.seen = time.Date(2023+r.below(3), time.Month(1+r.below(12)), 1+r.below(28), 0, 0, 0, 0, time.UTC)
	x := r.share()
	for k, f := range portfolioFaults {
		if x -= f.share; x < 0 {
			t.fault = f.name
			switch k {
			case ownShortRiser:
				t.face -= t.riser - 6
				t.riser = 6
			case ownHighAlarm:
				t.alarm = math.Floor(height * 0.97)
			}
			break
		}
	}
	// About one riser in twelve is still to be measured; that is no fault.
	if r.below(12) == 0 && t.fault != portfolioFaults[ownShortRiser].name {
		t.riser, t.face = 0, 0
	}
	return t, nil
}

// form draws the shape of a tank.
func (t *drawn) form(r *dice, u unit.LengthUnit) error {
	d := []float64{64, 72, 92, 96, 96, 96, 114, 120, 120, 126}[r.below(10)]
	if u.Metric() {
		d = float64(unit.Millimetres.Length([]float64{1600, 2000, 2500, 2500, 2900}[r.below(5)]))
	}
	l := math.Round(110 + 300*r.share())
	head := shape.Head{}
	t.ends = "flat"
	switch x := r.share(); {
	case x < 0.2:
		head.Kind, t.ends = shape.Hemispherical, "hemispherical"
	case x < 0.35:
		head, t.ends = shape.Head{Kind: shape.Ellipsoidal, Depth: d / 4}, "2:1 elliptical"
	}
	t.shape = "horizontal"
	t.spec = shape.Spec{Kind: shape.Horizontal, Diameter: d, Length: l, Low: head, High: head}
	switch x := r.share(); {
	case x < 0.04:
		t.shape, t.ends = "upright", "flat"
		t.spec = shape.Spec{Kind: shape.Upright, Diameter: d, Length: math.Round(l / 2)}
	case x < 0.08:
		t.shape, t.ends = "rectangular", "flat"
		t.spec = shape.Spec{Kind: shape.Box, Height: d, Width: math.Round(d * 0.8), Length: l}
	case x < 0.10:
		t.shape, t.ends = "elliptical", "flat"
		t.spec = shape.Spec{Kind: shape.Elliptic, Height: d, Width: math.Round(d * 1.3), Length: l}
	}
	var err error
	t.body, err = shape.New(t.spec)
	return err
}

// stepOf draws the step of a chart so that charts have about 190 rows in the mean.
func stepOf(r *dice, u unit.LengthUnit) float64 {
	x := r.share()
	switch {
	case u == unit.Millimetres && x < 0.8:
		return 10
	case u == unit.Millimetres:
		return 5
	case u == unit.Centimetres:
		return 1
	case x < 0.55:
		return 1
	case x < 0.80:
		return 0.5
	case x < 0.92:
		return 0.25
	case x < 0.97:
		return 0.125
	}
	return 2
}

// chart gives the rows of a tank's chart in the units of the book, rounded to
// whole ones and spoilt where the tank has that fault.
func (t *drawn) chart(s bookStyle, rows []demoRow) []demoRow {
	rows = rows[:0]
	if t.fault == portfolioFaults[ownNoChart].name {
		return rows
	}
	vu := s.volume
	if t.fault == portfolioFaults[ownLitres].name {
		vu = unit.Litres
		if s.volume == unit.Litres {
			vu = unit.USGallons
		}
	}
	top := tidy6(s.depth.Number(unit.Length(t.body.Height())))
	for i := 0; ; i++ {
		d := min(float64(i)*t.step, top)
		v := vu.Number(unit.Volume(t.body.Volume(float64(s.depth.Length(d))) / shape.CubicInchesPerGallon))
		rows = append(rows, demoRow{d, math.Round(v)})
		if d == top {
			break
		}
	}
	r := dice{t.seed}
	at := len(rows)/3 + r.below(len(rows)/2)
	switch t.fault {
	case portfolioFaults[ownDigit].name:
		rows[at].volume += []float64{90, 500, 70}[r.below(3)]
	case portfolioFaults[ownMissing].name:
		rows = append(rows[:at], rows[at+1:]...)
	case portfolioFaults[ownExchanged].name:
		rows[at].volume, rows[at+1].volume = rows[at+1].volume, rows[at].volume
	case portfolioFaults[ownShort].name:
		rows = rows[:len(rows)*3/4]
	}
	return rows
}

// chartID gives the name as it stands at the chart.
func (t *drawn) chartID() string {
	if t.fault == portfolioFaults[ownLooseName].name {
		return strings.ToLower(t.id) + " "
	}
	return t.id
}

// Faults lists what was spoilt on purpose, by tank.
func (b *PortfolioBook) Faults() iter.Seq2[string, string] {
	return func(yield func(tank, fault string) bool) {
		for t, err := range b.tanks() {
			if err != nil || t.fault != "" && !yield(t.id, t.fault) {
				return
			}
		}
	}
}
