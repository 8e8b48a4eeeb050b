package main

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/urfave/cli/v2"

	"dropcut/convert/chartout"
	"dropcut/convert/csvfile"
	"dropcut/convert/grid"
	"dropcut/convert/safefile"
	"dropcut/convert/xlsx"
	"dropcut/plan"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// stepValue is the value of --step: a length, whose unit may be left to the
// units of what is written.
type stepValue struct {
	raw   string
	named unit.LengthUnit // LengthUnknown where the text names none
}

func (s *stepValue) Set(text string) error {
	l, named, err := unit.ScanLength(text, unit.Inches, unit.DecimalPoint)
	if err != nil || !(l > 0) {
		return fmt.Errorf(`%q is no step; write a length above nothing, as in 1/8, 0.5 or "5 mm"`, text)
	}
	*s = stepValue{raw: strings.TrimSpace(text), named: named}
	return nil
}

func (s *stepValue) String() string { return s.raw }

// in gives the step for a chart written in a unit, and its text.
func (s *stepValue) in(u unit.LengthUnit) (unit.Length, string, error) {
	if s.raw == "" {
		return 0, "", nil
	}
	l, err := unit.ParseLength(s.raw, u, unit.DecimalPoint)
	if err != nil {
		return 0, "", err
	}
	text := s.raw
	switch s.named {
	case unit.LengthUnknown:
		text += " " + u.String()
	case u:
	default:
		// Two units above one chart would be one too many.
		text = strconv.FormatFloat(math.Round(u.Number(l)*1e4)/1e4, 'f', -1, 64) + " " + u.String()
	}
	return l, text, nil
}

// conversion is what convert is to do.
type conversion struct {
	*options
	step           stepValue
	layout         choiceValue
	to             string
	tanks          cli.StringSlice
	fromDimensions bool
}

func convertCommand(w *world) *cli.Command {
	v := &conversion{options: newOptions(), layout: choiceValue{word: "long", words: []string{"long", "wide", "folded"}}}
	return &cli.Command{
		Name:      "convert",
		Usage:     "writes charts anew: in other units, at other steps, long, wide or folded for print",
		ArgsUsage: "BOOK",
		Description: `Writes the charts of a book into a new workbook (default: NAME-charts.xlsx) or CSV file. Each says from which
cells it was made and what was done. Between rows the volumes follow a monotone curve; outside the rows of a
chart nothing is made up. What is rounded is rounded so that a shutoff comes out lower, never higher. Charts
that give ullage are turned around. A chart that cannot be used is refused by name, and the others are done.
--from-dimensions computes a chart for each tank of the list that has none; every such chart says that nobody
has measured it. Several tables for CSV become several files.

EXAMPLE
   dropcut convert --units mm,L --step "5 mm" tanks.xlsx
   dropcut convert --step 1/8 --layout folded --tank MR-1 --to mr-1.xlsx tanks.xlsx
   dropcut convert --from-dimensions --to computed.csv tanks.xlsx`,
		Flags: append(v.readingFlags(),
			v.unitsFlag(),
			&cli.GenericFlag{Name: "step", Usage: "a row every `LENGTH`, as in 1/8 or \"5 mm\" (default: the rows of the chart)", Value: &v.step},
			&cli.GenericFlag{Name: "layout", Usage: "`LAYOUT` of what is written: long, wide or folded (a page a tank)", Value: &v.layout},
			&cli.StringFlag{Name: "to", Usage: "`FILE`.xlsx or FILE.csv to write", Destination: &v.to},
			&cli.StringSliceFlag{Name: "tank", Usage: "only the chart of the tank with this `ID` (may be given several times)", Destination: &v.tanks},
			&cli.BoolFlag{Name: "from-dimensions", Usage: "compute charts from shape, diameter and length where there is none, or for each --tank", Destination: &v.fromDimensions},
			v.outFlag(), v.quietFlag()),
		Action: func(c *cli.Context) error {
			paths, err := books(c, 1, 1)
			if err != nil {
				return err
			}
			target, err := v.target(paths[0])
			if err != nil {
				return err
			}
			job, err := v.read(paths[0])
			if err != nil {
				return err
			}
			defer job.close()
			return v.run(w, job, target)
		},
	}
}

// target gives the file to write, and refuses one that is read.
func (v *conversion) target(book string) (string, error) {
	target := v.to
	if target == "" {
		book := named(book)
		name := filepath.Base(book)
		target = filepath.Join(filepath.Dir(book), strings.TrimSuffix(name, filepath.Ext(name))+"-charts.xlsx")
		if v.out != "" {
			target = filepath.Join(v.out, filepath.Base(target))
		}
	} else if v.out != "" && !filepath.IsAbs(target) {
		target = filepath.Join(v.out, target)
	}
	switch strings.ToLower(filepath.Ext(target)) {
	case ".xlsx", ".csv":
	default:
		return "", usagef("--to %s: charts are written as .xlsx or .csv", v.to)
	}
	there, err := os.Stat(target)
	if err != nil {
		return target, nil
	}
	for _, path := range append([]string{book}, v.charts.Value()...) {
		if read, err := os.Stat(path); err == nil && os.SameFile(read, there) {
			return "", usagef("--to %s: this is the book that is read; name another file", target)
		}
	}
	return target, nil
}

// wanted is a chart to be written, with the name to give it where its file gives
// none, or the reason why it cannot be.
type wanted struct {
	name  string
	site  string
	chart *chart.Chart
	err   error
}

func (v *conversion) run(w *world, job *work, target string) error {
	list, err := v.wanted(w, job)
	if err != nil {
		return err
	}
	faults, err := v.faults(job)
	if err != nil {
		return err
	}
	var tables []*chartout.Table
	refused := 0
	for _, x := range list {
		err := x.err
		var doubts []string
		if err == nil && !x.chart.FromDimensions {
			doubts, err = judged(faults, x.chart)
		}
		var t *chartout.Table
		if err == nil {
			t, err = v.make(x, doubts)
		}
		if err != nil {
			refused++
			fmt.Fprintf(w.err, "not written: chart %s: %v\n", brief(x.name), err)
			continue
		}
		for _, d := range doubts {
			fmt.Fprintf(w.err, "look first: chart %s: %s\n", brief(x.name), d)
		}
		tables = append(tables, t)
	}
	if len(tables) == 0 {
		return fmt.Errorf("%s: no chart could be written; dropcut audit %[1]s says what is wrong with each", job.path)
	}
	if err := v.write(w, tables, target); err != nil {
		return err
	}
	if refused > 0 {
		return errStops
	}
	return nil
}

// make writes a chart anew in memory.
func (v *conversion) make(x wanted, doubts []string) (*chartout.Table, error) {
	o := chartout.Options{Name: x.name, Site: x.site, Doubts: doubts}
	if v.units.given {
		o.DepthUnit, o.VolumeUnit = v.units.length, v.units.volume
	}
	u := o.DepthUnit
	if u == unit.LengthUnknown {
		u = x.chart.DepthUnit
	}
	var err error
	if o.Step, o.StepText, err = v.step.in(u); err != nil {
		return nil, err
	}
	if x.chart.FromDimensions {
		o.Step = 0 // it was computed at this very step
	}
	return chartout.Make(x.chart, o)
}

// wanted lists the charts to be written: all of the book, or those of the tanks
// that were chosen; computed ones where that was asked for.
func (v *conversion) wanted(w *world, job *work) ([]wanted, error) {
	j := &job.reading.Job
	owner := make([]int, len(j.Charts)) // the first tank of each chart, -1 for none
	for i := range owner {
		owner[i] = -1
	}
	for i, k := range j.ChartOf {
		if k >= 0 && owner[k] < 0 {
			owner[k] = i
		}
	}
	listed := len(job.reading.Lists) > 0
	if v.fromDimensions && !listed {
		return nil, fmt.Errorf("%s: no list of tanks was found, so that there are no dimensions; a list has headings such as Tank, Inside diameter (in) and Length (in)", job.path)
	}
	name := func(k int) string {
		if n := j.Charts[k].Name; n != "" || owner[k] < 0 {
			return n
		}
		return j.Tanks[owner[k]].ID.V
	}
	site := func(k int) string {
		if owner[k] < 0 {
			return ""
		}
		return j.Tanks[owner[k]].Site.V
	}
	var list []wanted
	ids := v.tanks.Value()
	if len(ids) == 0 {
		for k, c := range j.Charts {
			list = append(list, wanted{name: name(k), site: site(k), chart: c})
		}
		without := 0
		for i := range j.Tanks {
			if i < len(j.ChartOf) && j.ChartOf[i] >= 0 {
				continue
			}
			without++
			if v.fromDimensions {
				list = append(list, v.computed(&j.Tanks[i], j))
			}
		}
		if len(list) == 0 {
			return nil, fmt.Errorf("%s: there is no chart in it; --from-dimensions computes charts from the dimensions of the tanks", job.path)
		}
		if without > 0 && !v.fromDimensions && !v.quiet {
			fmt.Fprintf(w.err, "%d of %d tanks have no chart; --from-dimensions computes one for each\n", without, len(j.Tanks))
		}
		return list, nil
	}
	for _, id := range ids {
		found := false
		seen := map[int]bool{}
		for i := range j.Tanks {
			if unit.Fold(j.Tanks[i].ID.V) != unit.Fold(id) {
				continue
			}
			found = true
			switch k := chartIndex(j, i); {
			case v.fromDimensions:
				list = append(list, v.computed(&j.Tanks[i], j))
			case k < 0:
				list = append(list, wanted{name: j.Tanks[i].ID.V, err: errors.New("the tank has no chart; --from-dimensions computes one from its shape, diameter and length")})
			case !seen[k]:
				seen[k] = true
				list = append(list, wanted{name: name(k), site: site(k), chart: j.Charts[k]})
			}
		}
		for k, c := range j.Charts {
			if !v.fromDimensions && !seen[k] && c.Name != "" && unit.Fold(c.Name) == unit.Fold(id) {
				found = true
				seen[k] = true
				list = append(list, wanted{name: c.Name, chart: c})
			}
		}
		if !found {
			return nil, fmt.Errorf("%s: no tank and no chart is called %q; the tanks are %s", job.path, id, firstTanks(j))
		}
	}
	return list, nil
}

func chartIndex(j *plan.Job, i int) int {
	if i < len(j.ChartOf) {
		return j.ChartOf[i]
	}
	return -1
}

// firstTanks names the first dozen of the tanks.
func firstTanks(j *plan.Job) string {
	var ids []string
	for i := range j.Tanks {
		if len(ids) == 12 {
			return strings.Join(ids, ", ") + fmt.Sprintf(" and %d more", len(j.Tanks)-12)
		}
		ids = append(ids, j.Tanks[i].ID.V)
	}
	return strings.Join(ids, ", ")
}

// computed makes a tank's chart from its dimensions, at the step that was asked
// for, else at every inch or centimetre.
func (v *conversion) computed(t *plan.Tank, j *plan.Job) wanted {
	x := wanted{name: t.ID.V}
	lu, vu := v.units.length, v.units.volume
	if !v.units.given {
		lu, vu = t.ChartDepthUnit.V, t.ChartVolumeUnit.V
	}
	if lu == unit.LengthUnknown || vu == unit.VolumeUnknown {
		lu, vu = unit.Inches, unit.USGallons
		if len(j.Charts) > 0 && j.Charts[0].UnitsKnown() {
			lu, vu = j.Charts[0].DepthUnit, j.Charts[0].VolumeUnit
		}
	}
	step, _, err := v.step.in(lu)
	if err != nil {
		x.err = err
		return x
	}
	if step == 0 {
		step = unit.Inch
		if lu.Metric() {
			step = unit.Centimetres.Length(1)
		}
	}
	c, err := plan.ChartFromDimensions(t, step, 0)
	if err != nil {
		x.err = err
		return x
	}
	// The chart is computed in inches and gallons and written in the units of its
	// book, as if they were its own.
	for i := range c.Rows {
		r := &c.Rows[i]
		r.Depth, r.Volume = lu.Number(unit.Length(r.Depth)), vu.Number(unit.Volume(r.Volume))
	}
	c.DepthUnit, c.VolumeUnit, c.Site = lu, vu, t.Site.V
	x.chart = c
	return x
}

// chartKey tells in whose cells a finding lies.
type chartKey struct{ file, sheet, chart string }

// faults gives the stops and checks that the reading and the audit have found in
// charts: those that name a chart and lie in a cell of its sheet.
func (v *conversion) faults(job *work) (map[chartKey][]finding.Finding, error) {
	j := &job.reading.Job
	opt, err := v.planOptions(j.Rules)
	if err != nil {
		return nil, err
	}
	opt.NoTrail = true
	all := append(slices.Clone(j.Findings), validate.Unclaimed(j, opt)...)
	for r := range validate.Run(j, opt) {
		all = append(all, r.Findings...)
	}
	faults := map[chartKey][]finding.Finding{}
	for _, f := range all {
		if f.Severity != finding.Note && f.At.Col > 0 {
			k := chartKey{f.At.File, f.At.Sheet, f.Chart}
			faults[k] = append(faults[k], f)
		}
	}
	return faults, nil
}

// judged gives the first stop of a chart as an error, and its checks as doubts
// that travel with it.
func judged(faults map[chartKey][]finding.Finding, c *chart.Chart) (doubts []string, err error) {
	for _, f := range faults[chartKey{c.At.File, c.At.Sheet, c.Name}] {
		switch {
		case f.Site != "" && c.Site != "" && f.Site != c.Site:
		case f.Severity == finding.Stop:
			return nil, fmt.Errorf("%s at %s: %s; expected %s; %s", f.Slug, f.At, brief(f.Found), f.Expected, f.Suggestion)
		default:
			doubts = append(doubts, fmt.Sprintf("%s at %s, found %s, expected %s", f.Slug, f.At.Cell(), brief(f.Found), f.Expected))
		}
	}
	return doubts, nil
}

// write writes the charts, reads them back, and says what was made.
func (v *conversion) write(w *world, tables []*chartout.Table, target string) error {
	layout := chartout.Layout(v.layout.word)
	if err := os.MkdirAll(filepath.Dir(target), 0o777); err != nil {
		return err
	}
	if strings.EqualFold(filepath.Ext(target), ".xlsx") {
		ordered, err := chartout.Ordered(tables, layout)
		if err != nil {
			return err
		}
		return v.put(w, target, ordered, func(out io.Writer) error { return chartout.Workbook(out, tables, layout) },
			func(name string) (grid.Book, error) { return xlsx.Open(name) })
	}
	files, err := chartout.Files(tables, layout)
	if err != nil {
		return err
	}
	for i := range files {
		f := &files[i]
		path := strings.TrimSuffix(target, filepath.Ext(target)) + f.Suffix + filepath.Ext(target)
		if err := v.put(w, path, f.Tables, f.Write, func(name string) (grid.Book, error) { return csvfile.Open(name) }); err != nil {
			return err
		}
	}
	return nil
}

// put writes one file. One that is there already and holds anything else is kept
// under a dated name.
func (v *conversion) put(w *world, path string, tables []*chartout.Table, write func(io.Writer) error, open func(string) (grid.Book, error)) error {
	var notes []string
	verify := func(name string) error {
		book, err := open(name)
		if err != nil {
			return err
		}
		defer book.Close()
		notes, err = chartout.Verify(book, tables)
		return err
	}
	kept := ""
	if _, err := os.Stat(path); err != nil {
		if err := safefile.Write(path, write, verify); err != nil {
			return err
		}
	} else {
		same, err := holds(path, write)
		if err != nil {
			return err
		}
		if same {
			kept = "it held these charts already and was left as it is"
		} else {
			name, err := safefile.ReplaceKeepingCopy(path, w.now(), write, verify)
			if err != nil {
				return err
			}
			kept = "what stood there before is kept as " + filepath.Base(name)
		}
	}
	rows, computed := 0, 0
	for _, t := range tables {
		rows += len(t.Rows)
		if t.FromDimensions {
			computed++
		}
	}
	fmt.Fprintf(w.out, "%s\n  %s, %s\n", path, count(len(tables), "chart", "charts"), count(rows, "row", "rows"))
	if computed > 0 {
		fmt.Fprintf(w.out, "  %d of them %s; plans made from them need a look first\n", computed, chartout.Computed)
	}
	if kept != "" {
		fmt.Fprintf(w.out, "  %s\n", kept)
	}
	for _, n := range notes {
		fmt.Fprintf(w.err, "%s\n", n)
	}
	return nil
}

// holds reports whether a file holds what would be written into it.
func holds(path string, write func(io.Writer) error) (bool, error) {
	want := sha256.New()
	if err := write(want); err != nil {
		return false, err
	}
	f, err := os.Open(path)
	if err != nil {
		return false, err
	}
	defer f.Close()
	have := sha256.New()
	if _, err := io.Copy(have, f); err != nil {
		return false, err
	}
	return bytes.Equal(have.Sum(nil), want.Sum(nil)), nil
}
