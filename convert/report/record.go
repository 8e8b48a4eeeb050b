// Package report tells of many books at once: what a run keeps of each book, the
// summary workbook and table, the page that an auditor opens, and the words of a
// mail. All of them are made from the records of the books alone, so that the
// same records give the same bytes, however often the run was broken off.
package report

import (
	"math"
	"strconv"

	"dropcut/plan"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
	"dropcut/validate"
	"dropcut/validate/portfolio"
)

// Num is a figure that may not be known; in a record it is a number or null.
type Num struct {
	V     float64
	Known bool
}

// MarshalJSON writes the number with all its digits, null where it is not known.
func (n Num) MarshalJSON() ([]byte, error) {
	if !n.Known || math.IsNaN(n.V) || math.IsInf(n.V, 0) {
		return []byte("null"), nil
	}
	return strconv.AppendFloat(nil, n.V, 'g', -1, 64), nil
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (n *Num) UnmarshalJSON(data []byte) error {
	*n = Num{}
	if string(data) == "null" {
		return nil
	}
	v, err := strconv.ParseFloat(string(data), 64)
	*n = Num{v, err == nil}
	return err
}

func num[T ~float64](v plan.Value[T]) Num { return Num{float64(v.V), v.Known} }

// The figures of a plan, in the order in which every table shows them. Lengths
// are inches, volumes US gallons.
const (
	FullVolume = iota
	LimitPercent
	LimitVolume
	ShutoffDepth
	ShutoffVolume
	ShutoffPercent
	WorstPercent
	ChanceOverLimit
	Headspace
	TubeBelowTop
	UpperTube
	DropLength
	LowerTube
	AlarmDepth
	figureCount
)

// Flag is a kind of finding that holds for a tank, with its severity.
type Flag struct {
	Severity finding.Severity `json:"s"`
	Slug     finding.Slug     `json:"k"`
}

// Tank is what a record holds of a tank.
type Tank struct {
	Site    string           `json:"site,omitempty"`
	ID      string           `json:"id"`
	Job     string           `json:"job,omitempty"`
	Product string           `json:"product,omitempty"`
	Place   string           `json:"place,omitempty"`
	Device  string           `json:"device,omitempty"`
	Status  validate.Status  `json:"status"`
	Nominal Num              `json:"nominal"`
	Figures [figureCount]Num `json:"figures"`
	Flags   []Flag           `json:"flags,omitempty"`
	AsFound string           `json:"asfound,omitempty"` // what to do with the tube that was found
	// LastInspection and NextInspection are days as in 2026-03-15; Rule is what
	// the next one follows from.
	LastInspection string `json:"last,omitempty"`
	NextInspection string `json:"next,omitempty"`
	InspectionRule string `json:"rule,omitempty"`
}

// Note is a finding as a record holds it.
type Note struct {
	Slug       finding.Slug     `json:"k"`
	Severity   finding.Severity `json:"s"`
	Site       string           `json:"site,omitempty"`
	Tank       string           `json:"tank,omitempty"`
	Chart      string           `json:"chart,omitempty"`
	Where      string           `json:"at,omitempty"` // file, sheet and cell
	Depth      string           `json:"depth,omitempty"`
	Found      string           `json:"found,omitempty"`
	Expected   string           `json:"expected,omitempty"`
	Why        string           `json:"why,omitempty"`
	Suggestion string           `json:"do,omitempty"`
}

func noteOf(f finding.Finding) Note {
	at := f.At.String()
	if f.To != f.At && f.To.A1() != "" {
		at += ":" + f.To.A1()
	}
	return Note{f.Slug, f.Severity, f.Site, f.Tank, f.Chart, at, f.Depth, f.Found, f.Expected, f.Why, f.Suggestion}
}

// Order is what one book needs of one thing.
type Order struct {
	Device string `json:"device"`
	Item   string `json:"item"` // "device", "upper tube", "lower tube"
	Stock  Num    `json:"stock"`
	// Ready is the number to order for the tanks that are ready, All for those
	// that have to be looked at first too. Pieces are what is cut from them.
	Ready     int `json:"ready"`
	All       int `json:"all"`
	Pieces    int `json:"pieces"`
	AllPieces int `json:"allpieces"`
}

// Book is the record of one book: what came of it, without the pictures and
// calculations, which follow it in bundles. Tanks, Findings and Across stand in
// parts of their own, and are read by those who need them.
type Book struct {
	// Path is where the book stands in the folder, with slashes.
	Path string `json:"path"`
	// Failed says why the book could not be done; all else is then empty.
	Failed string `json:"failed,omitempty"`
	// Empty says that it holds nothing to plan or to audit, and is no book.
	Empty  bool     `json:"empty,omitempty"`
	Files  []string `json:"files,omitempty"` // written, seen from the folder of results
	Notes  []string `json:"notes,omitempty"` // said while writing
	Charts int      `json:"charts"`
	Rows   int      `json:"rows"` // of the charts
	Orders []Order  `json:"orders,omitempty"`
	Tanks  []Tank   `json:"-"`
	// Findings are all of the book, worst first.
	Findings []Note          `json:"-"`
	Across   *portfolio.Book `json:"-"` // for the view across the books
}

// Stopped reports whether a tank has a stop, or the reading found one.
func (b *Book) Stopped() bool {
	for i := range b.Findings {
		if b.Findings[i].Severity == finding.Stop {
			return true
		}
	}
	return false
}

// length and volume print a figure for people in the units of a report.
func (u Units) length(n Num, dir unit.Direction) string {
	if !n.Known {
		return ""
	}
	if u.Length.Metric() {
		return unit.LengthText(unit.Length(n.V), unit.Millimetres, 1, dir)
	}
	return unit.FractionText(unit.Length(n.V), 64, dir)
}

func (u Units) volume(n Num) string {
	if !n.Known {
		return ""
	}
	return unit.GroupedText(unit.VolumeText(unit.Volume(n.V), u.Volume, 0))
}

// lengthUnit and volumeUnit name the units in which these print.
func (u Units) lengthUnit() string {
	if u.Length.Metric() {
		return "mm"
	}
	return "in"
}

func (u Units) volumeUnit() string { return u.Volume.String() }

func percent(n Num, limit Num) string {
	if !n.Known {
		return ""
	}
	return unit.PercentText(unit.Percent(n.V), unit.Percent(limit.V))
}
