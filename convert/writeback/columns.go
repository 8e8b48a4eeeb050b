// Package writeback decides what is written into a contractor's book: the new
// columns beside the tanks, the sheets Findings, Changes and Sources, and which
// of its own cells it must leave alone because somebody has typed over them.
package writeback

import (
	"strings"

	"dropcut/convert/grid"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// Units are the units in which lengths and volumes are written.
type Units struct {
	Length unit.LengthUnit
	Volume unit.VolumeUnit
}

// defaultUnits are written where no chart of a book says which it uses.
var defaultUnits = Units{Length: unit.Inches, Volume: unit.USGallons}

// quantity says what a column holds.
type quantity uint8

const (
	length quantity = iota
	volume
	percent
	words
)

// column is one of the columns of a plan.
type column struct {
	// base is the heading without its unit; a later run finds the column by it.
	base string
	// apart says that somebody else's column has the heading already, so that
	// ours says whose it is.
	apart bool
	of    quantity
	width float64
	value func(*validate.Result) (v float64, known bool)
	text  func(*validate.Result, Units) string
}

// heading gives the heading with the unit that the numbers stand in.
func (c *column) heading(u Units) string {
	name := c.base
	if c.apart {
		name += byDropcut
	}
	switch c.of {
	case length:
		return name + " (" + u.Length.String() + ")"
	case volume:
		return name + " (" + u.Volume.String() + ")"
	}
	return name
}

// prefix begins every heading of ours, and byDropcut ends those whose plain form
// is the heading of somebody else's column.
const (
	prefix    = "Plan: "
	byDropcut = " by dropcut"
)

// baseOf strips the unit from one of our headings, and whose it is.
func baseOf(heading string) string {
	base, _, _ := cutHeading(heading)
	return base
}

// cutHeading cuts a heading into its base and its unit, and says whether it names
// dropcut as its writer.
func cutHeading(heading string) (base, unit string, apart bool) {
	base = strings.TrimSpace(heading)
	if i := strings.LastIndex(base, " ("); i > 0 && strings.HasSuffix(base, ")") {
		base, unit = base[:i], base[i+2:len(base)-1]
	}
	base, apart = strings.CutSuffix(base, byDropcut)
	return base, unit, apart
}

// cell gives what is written for a result.
func (c *column) cell(r *validate.Result, u Units) grid.Value {
	if c.of == words {
		return grid.Str(c.text(r, u), look(c, r))
	}
	v, known := c.value(r)
	if !known {
		return grid.Value{}
	}
	switch c.of {
	case length:
		return grid.Num(u.Length.Number(unit.Length(v)), grid.LookLength)
	case volume:
		return grid.Num(u.Volume.Number(unit.Volume(v)), grid.LookVolume)
	}
	return grid.Num(v, grid.LookPercent)
}

// look marks the state where it stands in words; the word itself says it too.
func look(c *column, r *validate.Result) grid.Look {
	if c.base != statusHeading {
		return grid.LookText
	}
	switch r.Status {
	case validate.Stop:
		return grid.LookStop
	case validate.Check:
		return grid.LookCheck
	case validate.Measure:
		return grid.LookNote
	}
	return grid.LookReady
}

const (
	statusHeading = prefix + "Status"
	flagsHeading  = prefix + "Flags"
)
