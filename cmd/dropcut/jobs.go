package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/urfave/cli/v2"

	"dropcut/convert/jobbook"
	"dropcut/convert/writeback"
	"dropcut/templates"
	"dropcut/validate"
)

func jobsCommand(w *world) *cli.Command {
	o := newOptions()
	purpose := choiceValue{word: "cut", words: []string{"cut", "inspection"}}
	paper := choiceValue{words: []string{"letter", "a4"}}
	return &cli.Command{
		Name:      "jobs",
		Usage:     "writes one workbook a job for the technician: what to cut, what to bring, what to write down",
		ArgsUsage: "BOOK...",
		Description: `Plans every tank and writes one workbook a job (the Job column, else the site) into the folder NAME-jobs:
a cover, for each tank the page with its cuts, the page of the work and its record, the calculation,
the chart, and a fill card. The pages are live: a height that is measured again moves the cut. Print
them, or fill them in on a phone or a laptop, and give what comes back to dropcut collect. With
--for inspection the pages are those of the three-year inspection.

EXAMPLE
   dropcut jobs --place US-federal tanks.xlsx
   dropcut jobs --for inspection --out inspections tanks.xlsx`,
		Flags: append(append(o.readingFlags(), o.planningFlags()...),
			&cli.GenericFlag{Name: "for", Usage: "`PURPOSE` of the pages: cut or inspection", Value: &purpose},
			&cli.GenericFlag{Name: "paper", Usage: "`SIZE` of the paper: letter or a4 (default: a4 for metric books, letter else)", Value: &paper},
			o.outFlag(), o.unitsFlag(), o.quietFlag(),
		),
		Action: func(c *cli.Context) error {
			maker, err := jobbook.NewMaker(templates.FS, templates.JobTexts)
			if err != nil {
				return err
			}
			return o.eachBook(c, w, func(job *work) error {
				return o.writeJobs(c.Context, w, job, maker, purpose.word == "inspection", paper.word)
			})
		},
	}
}

// writeJobs writes the job books of one portfolio. An interrupt ends after the
// book in hand.
func (o *options) writeJobs(ctx context.Context, w *world, job *work, maker *jobbook.Maker, inspection bool, paper string) error {
	if len(job.results) == 0 {
		return fmt.Errorf("%s: no tank was found, so there is no page to make; dropcut inspect %[1]s says what was found", job.path)
	}
	path := named(job.path)
	portfolio := filepath.Base(path)
	list := jobbook.Jobs(job.results, portfolio)
	names := jobbook.FileNames(list, ".xlsx")
	dir := strings.TrimSuffix(portfolio, filepath.Ext(portfolio)) + "-jobs"
	if inspection {
		dir = strings.TrimSuffix(dir, "jobs") + "inspections"
	}
	if o.out != "" {
		dir = filepath.Join(o.out, dir)
	} else {
		dir = filepath.Join(filepath.Dir(path), dir)
	}
	units := o.writeUnits()
	if units == (writeback.Units{}) {
		units = writeback.UnitsOf(&job.reading.Job, units)
	}
	fmt.Fprintf(w.out, "%s: %s, %s\n", job.path, count(len(list), "job", "jobs"), statusCounts(job.results))
	for i := range list {
		if ctx.Err() != nil {
			return context.Canceled
		}
		one := list[i]
		one.Units = jobbook.Units{Length: units.Length, Volume: units.Volume}
		one.Inspection, one.Program = inspection, versionText()
		one.Letter = paper == "letter" || paper == "" && !units.Length.Metric()
		var b bytes.Buffer
		if err := maker.Write(&b, one); err != nil {
			return fmt.Errorf("%s, job %s: %w", job.path, one.Name, err)
		}
		path := filepath.Join(dir, names[i])
		done := &planned{}
		write := func(out io.Writer) error {
			_, err := out.Write(b.Bytes())
			return err
		}
		// A book that somebody has filled in is never replaced without a copy.
		if err := o.replaceResult(w, path, write, nil, done); err != nil {
			return err
		}
		fmt.Fprintf(w.out, "written: %s (%s%s)\n", path, count(len(one.Results), "tank", "tanks"), stopsOf(one.Results))
		for _, note := range done.notes {
			fmt.Fprintf(w.out, "note: %s\n", strings.Replace(strings.Replace(note, "the plan that stood there before is", "the book that stood there before, which somebody may have filled in, is", 1), "this plan", "this job", 1))
		}
	}
	return nil
}

// stopsOf says how many tanks of a job must not be cut.
func stopsOf(list []*validate.Result) string {
	n := 0
	for _, r := range list {
		if r.Status == validate.Stop {
			n++
		}
	}
	if n == 0 {
		return ""
	}
	return fmt.Sprintf(", %d of them not to be cut", n)
}
