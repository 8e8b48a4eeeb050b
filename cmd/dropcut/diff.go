package main

import (
	"io"

	"github.com/urfave/cli/v2"

	"dropcut/convert/change"
	"dropcut/convert/csvfile"
)

func diffCommand(w *world) *cli.Command {
	o := newOptions()
	o.noTrail = true
	return &cli.Command{
		Name:      "diff",
		Usage:     "says what differs between two books, tank by tank and chart by chart, and what followed",
		ArgsUsage: "OLD NEW",
		Description: `Compares two books by tank and by chart, never by row number: rows moved, sorted or inserted are no changes.
Says what was changed in the input, what follows for the cut, and whether a shutoff moves up (towards the
limit) or down; and which figures of a plan somebody has typed over. The first line is the summary.

EXAMPLE
   dropcut diff tanks-march.xlsx tanks-april.xlsx
   dropcut diff --format csv tanks-march.xlsx tanks-april.xlsx > changes.csv`,
		Flags: append(append(o.readingFlags(), o.planningFlags()...), o.formatFlag(), o.quietFlag()),
		Action: func(c *cli.Context) error {
			paths, err := books(c, 2, 2)
			if err != nil {
				return err
			}
			var sides [2]change.Side
			var jobs [2]*work
			for i, path := range paths {
				job, err := o.read(path)
				if err != nil {
					return err
				}
				defer job.close()
				if err := o.judge(job); err != nil {
					return err
				}
				sides[i], jobs[i] = job.side(), job
			}
			set, err := withTyped(change.Compare(sides[0], sides[1]), jobs[0], jobs[1])
			if err != nil {
				return err
			}
			return printChanges(o.to(w), o.format.word, set)
		},
	}
}

func printChanges(out io.Writer, format string, set change.Set) error {
	switch format {
	case "csv":
		return csvfile.Write(out, set.Rows())
	case "json":
		return set.WriteJSON(out)
	}
	return set.WriteText(out)
}
