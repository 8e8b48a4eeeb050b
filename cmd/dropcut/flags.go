package main

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/urfave/cli/v2"

	"dropcut/plan/unit"
)

// bookEndings are the endings of files that are read as books or charts.
var bookEndings = []string{".xlsx", ".xlsm", ".csv"}

// percentValue is the value of an option such as --limit 95%: the library's own
// number flags refuse the sign and take NaN.
type percentValue struct {
	given   bool
	raw     string
	percent unit.Percent
}

func (p *percentValue) Set(s string) error {
	v, err := unit.ParsePercent(s, false, unit.DecimalPoint)
	if err != nil {
		return fmt.Errorf("%q is no percentage; write it as in 95%%", s)
	}
	if v <= 0 || v >= 100 {
		return fmt.Errorf("%s is no share of a tank; a percentage above 0 and below 100 is expected", s)
	}
	if v <= 1 && !strings.Contains(s, "%") {
		// In a sheet 0.95 is a share of 1; nobody can tell which is meant here.
		return fmt.Errorf("%s may be a percentage or a share of 1; write it with its sign, as in 95%%", s)
	}
	*p = percentValue{given: true, raw: s, percent: v}
	return nil
}

func (p *percentValue) String() string { return p.raw }

// choiceValue is the value of an option that takes one of a few words.
type choiceValue struct {
	word  string
	words []string
}

func (c *choiceValue) Set(s string) error {
	if !slices.Contains(c.words, s) {
		return fmt.Errorf("%q is not one of %s", s, strings.Join(c.words, ", "))
	}
	c.word = s
	return nil
}

func (c *choiceValue) String() string { return c.word }

// unitsValue is the value of --units and --chart-units: a unit of length and one
// of volume, as in in,gal.
type unitsValue struct {
	given  bool
	raw    string
	length unit.LengthUnit
	volume unit.VolumeUnit
}

func (u *unitsValue) Set(s string) error {
	l, v, ok := strings.Cut(s, ",")
	length, lerr := unit.ParseLengthUnit(strings.TrimSpace(l))
	volume, verr := unit.ParseVolumeUnit(strings.TrimSpace(v))
	if !ok || lerr != nil || verr != nil {
		return fmt.Errorf("%q is no pair of units; write a unit of length and one of volume, as in in,gal or mm,L or ft,acre-ft", s)
	}
	*u = unitsValue{given: true, raw: s, length: length, volume: volume}
	return nil
}

func (u *unitsValue) String() string { return u.raw }

// dayValue is the value of --day.
type dayValue struct {
	raw string
	day time.Time
}

func (d *dayValue) Set(s string) error {
	day, err := unit.ParseDate(s, unit.DateOrderUnknown)
	if err != nil {
		return fmt.Errorf("%q is no date that can be read one way only; write it as in 2026-03-15", s)
	}
	*d = dayValue{raw: s, day: day}
	return nil
}

func (d *dayValue) String() string { return d.raw }

// options are what the user set; each command takes the flags that it needs.
type options struct {
	charts     cli.StringSlice
	out        string
	limit      percentValue
	place      string
	device     string
	chartUnits unitsValue
	units      unitsValue
	format     choiceValue
	notes      string
	quiet      bool
	between    bool
	guard      percentValue
	inPlace    bool
	dryRun     bool
	asFound    bool
	noTrail    bool // nobody reads the calculation line by line
	day        dayValue
}

func newOptions() *options {
	return &options{format: choiceValue{word: "text", words: []string{"text", "csv", "json"}}}
}

// readingFlags say how files are read.
func (o *options) readingFlags() []cli.Flag {
	return []cli.Flag{
		&cli.StringSliceFlag{Name: "charts", Usage: "`FILE` with more charts (may be given several times)", Destination: &o.charts},
		&cli.GenericFlag{Name: "chart-units", Usage: "`UNITS` of charts that name none, as in in,gal; each use is reported", Value: &o.chartUnits},
		&cli.StringFlag{Name: "notes", Usage: "read by the table in `NOTES.csv` that inspect --save wrote", Destination: &o.notes},
	}
}

// planningFlags say what holds for tanks that name nothing of their own.
func (o *options) planningFlags() []cli.Flag {
	return []cli.Flag{
		&cli.GenericFlag{Name: "limit", Usage: "`PERCENT` full at which the flow must have stopped, for tanks that name no limit and no place", Value: &o.limit},
		&cli.StringFlag{Name: "place", Usage: "`PLACE` whose rules hold for tanks that name none, as in US-federal", Destination: &o.place},
		&cli.StringFlag{Name: "device", Usage: "`NAME` of the device for tanks that name none", Destination: &o.device},
		&cli.BoolFlag{Name: "between-entries", Usage: "take the shutoff depth from between the chart's entries, rounded down to the cut step", Destination: &o.between},
		&cli.GenericFlag{Name: "guard", Usage: "lower the shutoff until the chance of being over the limit is at most `PERCENT`", Value: &o.guard},
		&cli.GenericFlag{Name: "day", Usage: "`DATE` of the plan, for rules with dates and inspections that are due (default: no date is looked at)", Value: &o.day},
	}
}

func (o *options) formatFlag() cli.Flag {
	return &cli.GenericFlag{Name: "format", Usage: "`FORM` of what is printed: text, csv or json", Value: &o.format}
}

// to is where a command prints: for people, or for another program.
func (o *options) to(w *world) io.Writer {
	if o.format.word == "text" {
		return w.out
	}
	return w.data
}

func (o *options) outFlag() cli.Flag {
	return &cli.StringFlag{Name: "out", Usage: "`DIR` where results go (default: beside the book)", Destination: &o.out}
}

func (o *options) unitsFlag() cli.Flag {
	return &cli.GenericFlag{Name: "units", Usage: "`UNITS` of what is written, as in mm,L", Value: &o.units}
}

func (o *options) quietFlag() cli.Flag {
	return &cli.BoolFlag{Name: "quiet", Usage: "no progress on standard error", Destination: &o.quiet}
}
