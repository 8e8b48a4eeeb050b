package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"

	"github.com/urfave/cli/v2"

	"dropcut/convert/csvfile"
	"dropcut/convert/grid"
	"dropcut/convert/intake"
	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/rule"
	"dropcut/plan/unit"
	"dropcut/templates"
	"dropcut/validate"
)

// work is one book on its way: what was read, and what came of it.
type work struct {
	path    string
	books   []grid.Book // the book, and the files with more charts
	paths   []string    // of each
	reading *intake.Reading
	results []validate.Result
	// noCut says that nobody is about to cut: what only a cut lacks is not told.
	noCut bool
	// planOnly says that nothing looks at the rows of the charts once the plan is
	// made.
	planOnly bool
	before   *before // what is known before the tanks are judged; nil until prepare
	// unclaimed are findings on charts that belong to no tank of the list.
	unclaimed []finding.Finding
	// confirmed is how many rows of a plan were worked out once more.
	confirmed int
	options   plan.Options // that it was judged by
	stamps    stamps
	close     func()
}

// book is the portfolio itself.
func (w *work) book() grid.Book { return w.books[0] }

// findings are those of the reading and of every tank.
func (w *work) findings() []finding.Finding {
	n := len(w.reading.Job.Findings) + len(w.unclaimed)
	for i := range w.results {
		n += len(w.results[i].Findings)
	}
	list := append(make([]finding.Finding, 0, n), w.reading.Job.Findings...)
	for i := range w.results {
		list = append(list, w.results[i].Findings...)
	}
	list = append(list, w.unclaimed...)
	if w.noCut {
		list = slices.DeleteFunc(list, func(f finding.Finding) bool { return finding.OnlyForTheCut(f.Slug) })
	}
	return list
}

// stopped reports whether at least one tank has a stop.
func (w *work) stopped() bool {
	stop := func(f finding.Finding) bool {
		return f.Severity == finding.Stop && !(w.noCut && finding.OnlyForTheCut(f.Slug))
	}
	return slices.ContainsFunc(w.reading.Job.Findings, stop) || slices.ContainsFunc(w.unclaimed, stop) ||
		slices.ContainsFunc(w.results, func(r validate.Result) bool { return slices.ContainsFunc(r.Findings, stop) })
}

// planMade lets the rows of the charts go, the larger part of what a book takes in
// memory, where nothing looks at them any more.
func (w *work) planMade() {
	if !w.planOnly {
		return
	}
	for _, c := range w.reading.Job.Charts {
		c.Rows = nil
	}
}

// tanksOfCharts counts for each chart the tanks that use it, where its rows may go
// with the last of them; nil where they may not.
func (w *work) tanksOfCharts() []int {
	if !w.planOnly || w.before == nil || w.before.keepRows {
		return nil
	}
	n := make([]int, len(w.reading.Job.Charts))
	for _, k := range w.reading.Job.ChartOf {
		if k >= 0 {
			n[k]++
		}
	}
	return n
}

// embeddedRules are the rules that are built in.
func embeddedRules() ([]rule.Rule, error) { return intake.Rules(templates.FS) }

// read opens a book and reads it. close the work when done with it.
func (o *options) read(path string) (*work, error) {
	opt, err := o.intakeOptions()
	if err != nil {
		return nil, err
	}
	paths := append([]string{path}, o.charts.Value()...)
	stamps := stampsOf(paths)
	books, closeAll, err := openAll(path, o.charts.Value())
	if err != nil {
		return nil, err
	}
	reading, err := intake.Read(books, opt)
	if err != nil {
		closeAll()
		return nil, err
	}
	return &work{path: path, books: books, paths: paths, reading: reading, stamps: stamps, close: closeAll}, nil
}

func (o *options) intakeOptions() (intake.Options, error) {
	rules, err := embeddedRules()
	if err != nil {
		return intake.Options{}, err
	}
	opt := intake.Options{Rules: rules}
	if o.chartUnits.given {
		opt.ChartDepthUnit, opt.ChartVolumeUnit = o.chartUnits.length, o.chartUnits.volume
	}
	if o.notes != "" {
		if opt.Notes, err = readNotes(o.notes); err != nil {
			return intake.Options{}, err
		}
	}
	return opt, nil
}

func readNotes(path string) (*intake.Notes, error) {
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return nil, usagef("--notes %s: there is no such file", path)
	}
	book, err := csvfile.Open(path)
	if err != nil {
		return nil, err
	}
	defer book.Close()
	return intake.ReadNotes(book)
}

// judge audits the charts and makes the plans.
func (o *options) judge(w *work) error {
	opt, err := o.planOptions(w.reading.Job.Rules)
	if err != nil {
		return err
	}
	opt.NoTrail = o.noTrail
	w.options = opt
	w.results = make([]validate.Result, 0, len(w.reading.Job.Tanks))
	left := w.tanksOfCharts()
	for r := range validate.Run(&w.reading.Job, opt) {
		// The rows of charts are the larger part of what a book takes in memory.
		if k := w.reading.Job.ChartOf[len(w.results)]; k >= 0 && left != nil {
			if left[k]--; left[k] == 0 {
				w.reading.Job.Charts[k].Rows = nil
			}
		}
		w.results = append(w.results, r)
	}
	w.unclaimed = validate.Unclaimed(&w.reading.Job, opt)
	return nil
}

// planOptions checks the place against the known rules before any book is read
// through.
func (o *options) planOptions(rules []rule.Rule) (plan.Options, error) {
	opt := plan.Options{BetweenEntries: o.between, Guard: o.guard.percent, Today: o.day.day}
	if o.limit.given {
		opt.Limit = cell.Of[unit.Percent]{V: o.limit.percent, Raw: o.limit.raw, At: cell.Ref{File: "--limit"}}
	}
	if o.place != "" {
		if !rule.KnownPlace(rules, o.place) {
			return opt, usagef("--place %s: no rule names this place; the places are %s", o.place, joinWords(rule.Places(rules)))
		}
		opt.Place = cell.Of[string]{V: o.place, Raw: o.place, At: cell.Ref{File: "--place"}}
	}
	if o.device != "" {
		opt.Device = cell.Of[string]{V: o.device, Raw: o.device, At: cell.Ref{File: "--device"}}
	}
	return opt, nil
}

// eachBook reads and judges every book that was named, and does something with
// it.
func (o *options) eachBook(c *cli.Context, w *world, do func(*work) error) error {
	return o.eachReading(c, w, func(job *work) error {
		if err := o.judge(job); err != nil {
			return err
		}
		return do(job)
	})
}

// eachReading does something with every book that was named. A book that fails
// is told and does not stop the next one; an interrupt ends after the book in
// hand.
func (o *options) eachReading(c *cli.Context, w *world, do func(*work) error) error {
	paths, err := books(c, 1, 0)
	if err != nil {
		return err
	}
	var failed []error
	stops := false
	for i, path := range paths {
		if c.Context.Err() != nil {
			return context.Canceled
		}
		if len(paths) > 1 && !o.quiet {
			fmt.Fprintf(w.err, "%d of %d: %s\n", i+1, len(paths), path)
		}
		job, err := o.read(path)
		if err == nil {
			err = do(job)
			stops = stops || job.stopped()
			job.close()
		}
		var usage usageError
		if errors.As(err, &usage) {
			return err
		}
		if err != nil {
			failed = append(failed, err)
		}
	}
	switch {
	case len(failed) > 0:
		return errors.Join(failed...)
	case stops:
		return errStops
	}
	return nil
}
