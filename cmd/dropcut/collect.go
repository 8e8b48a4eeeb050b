package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/urfave/cli/v2"

	"dropcut/convert/csvfile"
	"dropcut/convert/grid"
	"dropcut/convert/intake"
	"dropcut/convert/jobbook"
	"dropcut/convert/jobbook/returned"
	"dropcut/convert/safefile"
	"dropcut/convert/writeback"
	"dropcut/convert/xlsx"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
	"dropcut/templates"
)

func collectCommand(w *world) *cli.Command {
	o := newOptions()
	into := ""
	return &cli.Command{
		Name:      "collect",
		Usage:     "reads filled job workbooks back, holds what was built against the plan and writes it into the portfolio",
		ArgsUsage: "FILE...",
		Description: `Reads job workbooks as they came back from the site, finds their fields wherever the cells stand by now,
works out the level at which what was built shuts off, holds it against limit, device and plan, and
writes it into new columns beside the tanks of the portfolio, in a copy NAME-collected.xlsx (or .csv,
or a folder, as the portfolio is). Every entry, comment and picture that came back is listed on the
sheet Returned, placed or not.

EXAMPLE
   dropcut collect --into tanks.xlsx returned/*.xlsx
   dropcut collect --into tanks.xlsx --in-place Millrace-Fuel-Stop.xlsx`,
		Flags: append(append(o.readingFlags(), o.planningFlags()...),
			&cli.StringFlag{Name: "into", Usage: "`BOOK` that the jobs were made from (default: the book of that name beside the files)", Destination: &into},
			o.outFlag(), o.unitsFlag(), o.quietFlag(),
			&cli.BoolFlag{Name: "in-place", Usage: "replace the book and keep the old one as NAME-before-DATE-TIME", Destination: &o.inPlace},
			&cli.BoolFlag{Name: "dry-run", Usage: "say what came back and write nothing", Destination: &o.dryRun},
		),
		Action: func(c *cli.Context) error {
			paths, err := books(c, 1, 0)
			if err != nil {
				return err
			}
			if o.inPlace && o.out != "" {
				return usagef("--in-place and --out exclude each other: the book is either replaced where it is, or copied elsewhere")
			}
			return o.collect(w, paths, into)
		},
	}
}

// collect reads the returned books and writes what they hold into the portfolio.
// A file that cannot be read is told and does not stop the others.
func (o *options) collect(w *world, paths []string, into string) error {
	var list []*returned.Book
	var failed []error
	for i, path := range paths {
		if len(paths) > 1 && !o.quiet {
			fmt.Fprintf(w.err, "%d of %d: %s\n", i+1, len(paths), path)
		}
		r, err := readReturned(path)
		if err != nil {
			failed = append(failed, err)
			continue
		}
		list = append(list, r)
	}
	if len(list) == 0 {
		return errors.Join(failed...)
	}
	path, err := portfolioOf(list, paths, into)
	if err != nil {
		return err
	}
	job, err := o.read(path)
	if err != nil {
		return err
	}
	defer job.close()
	if err := o.judge(job); err != nil {
		return err
	}
	opt, err := o.planOptions(job.reading.Job.Rules)
	if err != nil {
		return err
	}
	maker, err := jobbook.NewMaker(templates.FS, templates.JobTexts)
	if err != nil {
		return err
	}
	units := writeback.UnitsOf(&job.reading.Job, o.writeUnits())
	all, err := returned.Collect(returned.Input{
		Job: &job.reading.Job, Results: job.results, Options: opt, Maker: maker, Units: jobbook.Units{Length: units.Length, Volume: units.Volume},
	}, list)
	if err != nil {
		return err
	}
	printCollected(w.out, path, all)
	if !o.dryRun {
		if err := o.writeCollected(w, job, all); err != nil {
			return err
		}
	}
	if len(failed) > 0 {
		return errors.Join(failed...)
	}
	worst := finding.Worst(all.Findings)
	for i := range all.Outcomes {
		worst = max(worst, finding.Worst(all.Outcomes[i].Findings))
	}
	if worst == finding.Stop {
		return errStops
	}
	return nil
}

func readReturned(path string) (*returned.Book, error) {
	book, err := openBook(path)
	if err != nil {
		return nil, err
	}
	defer book.Close()
	x, ok := book.(*xlsx.Book)
	if !ok {
		return nil, fmt.Errorf("%s: a job workbook is an .xlsx file; a CSV file has lost the names of its fields", path)
	}
	return returned.Read(x)
}

// portfolioOf finds the book that the jobs were made from: the one that was named,
// else the one of the name that the jobs tell, beside them or one folder up.
func portfolioOf(list []*returned.Book, paths []string, into string) (string, error) {
	if into != "" {
		return into, nil
	}
	name := ""
	for _, r := range list {
		if r.Portfolio != "" && name != "" && r.Portfolio != name {
			return "", usagef("the files come from two books, %s and %s; collect those of one book at a time, or name it with --into", name, r.Portfolio)
		}
		if r.Portfolio != "" {
			name = r.Portfolio
		}
	}
	if name == "" {
		return "", usagef("no file says from which book it was made; name the book with --into")
	}
	name = filepath.Base(name)
	for _, path := range paths {
		for _, dir := range []string{filepath.Dir(path), filepath.Dir(filepath.Dir(path)), filepath.Join(filepath.Dir(path), ".."), "."} {
			at := filepath.Join(dir, name)
			if _, err := os.Stat(at); err == nil {
				return at, nil
			}
		}
	}
	return "", usagef("the files were made from %s, which is not beside them; name it with --into", name)
}

// printCollected says what came back and to which portfolio, tank by tank.
func printCollected(out io.Writer, into string, all *returned.Collection) {
	fmt.Fprintf(out, "came back: %s, %s; the portfolio is %s\n", count(len(all.Outcomes), "tank", "tanks"), count(len(all.Lines), "entry", "entries"), into)
	for i := range all.Outcomes {
		t := &all.Outcomes[i]
		line := "  " + t.Result.Tank.ID.Raw + "  " + t.Status
		if p := t.Built.ShutoffPercent; p.Known {
			limit := t.Built.Planned.LimitPercent.V
			line += "  shuts off at " + unit.PercentText(p.V, limit) + " %, limit " + full(float64(limit), true) + " %"
		}
		fmt.Fprintln(out, line)
		for _, f := range t.Findings {
			writeFinding(out, f.Severity.String()+", "+string(f.Slug), f)
		}
	}
	for _, f := range all.Findings {
		writeFinding(out, f.Severity.String()+", "+string(f.Slug), f)
	}
	if len(all.Untouched) > 0 {
		fmt.Fprintf(out, "not filled in: %s\n", strings.Join(all.Untouched, ", "))
	}
}

// writeCollected writes the columns and the sheet of what came back.
func (o *options) writeCollected(w *world, job *work, all *returned.Collection) error {
	if book, ok := job.book().(*csvfile.Book); ok {
		return o.writeCollectedCSV(w, job, book, all)
	}
	book, ok := job.book().(*xlsx.Book)
	if !ok {
		return fmt.Errorf("%s: what came back can be written into a workbook or CSV files; --dry-run prints it", job.path)
	}
	units := writeback.UnitsOf(&job.reading.Job, o.writeUnits())
	edit, changes, err := all.Edit(returned.Target{
		Book: book, Lists: job.reading.Lists, Units: jobbook.Units{Length: units.Length, Volume: units.Volume},
		Place: func(list *intake.TankList, n int) (int, error) {
			spot, err := xlsx.FindPlace(book.Sheet(list.At.Sheet), list.HeaderRow, list.Rows, n)
			return spot.Col, err
		},
	})
	if err != nil {
		return err
	}
	for _, c := range changes {
		fmt.Fprintf(w.out, "  %s, %s: %q -> %q (%s)\n", c.Tank, c.What, c.Old, c.New, c.At.Cell())
	}
	return o.patchInto(w, job.path, job.stamps, book, edit)
}

// patchInto writes an edit into a copy of a book, NAME-collected.xlsx, or into the
// book itself.
func (o *options) patchInto(w *world, path string, was stamps, book *xlsx.Book, edit grid.Edit) error {
	target := path
	if !o.inPlace {
		target = o.collectedTarget(path)
	}
	var report *xlsx.Report
	write := func(out io.Writer) error {
		var err error
		report, err = xlsx.Patch(book, edit, out)
		return err
	}
	verify := func(name string) error {
		if err := was.changed(path); err != nil {
			return err
		}
		return xlsx.Verify(path, name, edit)
	}
	if o.inPlace {
		var b bytes.Buffer
		if err := write(&b); err != nil {
			return err
		}
		if same, err := sameContent(target, b.Bytes()); err != nil || same {
			fmt.Fprintf(w.out, "note: %s holds this already; it was left as it is\n", target)
			return err
		}
		kept, err := safefile.ReplaceKeepingCopy(target, w.now(), write, verify)
		if err != nil {
			return err
		}
		fmt.Fprintf(w.out, "written: %s\nkept: %s\n", target, kept)
	} else {
		done := &planned{}
		if err := o.replaceResult(w, target, write, verify, done); err != nil {
			return err
		}
		fmt.Fprintf(w.out, "written: %s\n", target)
		for _, note := range done.notes {
			fmt.Fprintf(w.out, "note: %s\n", collectNote(note))
		}
	}
	if report != nil {
		for _, note := range report.Notes {
			fmt.Fprintf(w.out, "note: %s\n", note)
		}
	}
	return nil
}
