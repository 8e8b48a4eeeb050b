package main

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/urfave/cli/v2"

	"dropcut/convert/intake"
	"dropcut/convert/safefile"
)

func inspectCommand(w *world) *cli.Command {
	o := newOptions()
	save := ""
	return &cli.Command{
		Name:      "inspect",
		Usage:     "says how each file is read: tables, layouts, units and where they come from",
		ArgsUsage: "BOOK...",
		Description: `Says of each book what was found and where: encoding, tables, layout, columns, units and the cell that names
them, tanks, rows read, rows passed over and why, and which chart went to which tank. --save writes that
reading as a table; corrected and given back with --notes it is followed exactly.

EXAMPLE
   dropcut inspect tanks.xlsx
   dropcut inspect --save notes.csv old-charts.csv
   dropcut plan --notes notes.csv tanks.xlsx`,
		Flags: append(o.readingFlags(), o.formatFlag(), o.quietFlag(),
			&cli.StringFlag{Name: "save", Usage: "write the reading to `NOTES.csv`", Destination: &save}),
		Action: func(c *cli.Context) error {
			var records []intake.ChartRecord
			all := &intake.Notes{}
			err := o.eachReading(c, w, func(job *work) error {
				records = append(records, intake.Inspect(job.reading)...)
				if save != "" {
					notes, err := intake.NotesOf(job.reading, job.books)
					if err != nil {
						return err
					}
					all.Rows = append(all.Rows, notes.Rows...)
				}
				if o.format.word == "text" {
					return intake.WriteInspectText(w.out, job.reading)
				}
				return nil
			})
			switch o.format.word {
			case "csv":
				if e := intake.WriteInspectCSV(w.data, records); e != nil {
					return e
				}
			case "json":
				if e := writeJSON(w.data, records); e != nil {
					return e
				}
			}
			if save == "" || len(all.Rows) == 0 {
				return err
			}
			if _, e := os.Stat(save); e == nil {
				return fmt.Errorf("%s is there already, and somebody may have corrected it; name another file", save)
			}
			if e := os.MkdirAll(filepath.Dir(save), 0o777); e != nil {
				return e
			}
			if e := safefile.Write(save, all.Write, nil); e != nil {
				return e
			}
			if !o.quiet {
				fmt.Fprintf(w.err, "written: %s\n", save)
			}
			return err
		},
	}
}
