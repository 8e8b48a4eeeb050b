package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/urfave/cli/v2"

	"dropcut/convert/safefile"
	"dropcut/convert/starter"
	"dropcut/plan/rule"
	"dropcut/templates"
	"dropcut/validate"
)

func demoCommand(w *world) *cli.Command {
	o := newOptions()
	p := &portfolioOptions{options: o}
	return &cli.Command{
		Name:      "demo",
		Usage:     "writes an invented portfolio, does the whole job on it, and says which file to open",
		ArgsUsage: "[DIR]",
		Description: `Writes the tanks and charts of an invented contractor into DIR (default: dropcut-demo), plans every cut and
says what was done. Some of its tanks have faults that such books have, which plan and audit answer with status 3.
--tanks writes an invented portfolio of any size instead, into a new or empty DIR, and plans nothing: books of
25 to 5,000 tanks in several units and layouts, and faults.csv, which says what was spoilt on purpose.

EXAMPLE
   dropcut demo
   dropcut demo /tmp/first-look
   dropcut demo --tanks 5000 --books 1 /tmp/large`,
		Flags: p.flags(),
		Action: func(c *cli.Context) error {
			args, err := books(c, 0, 1)
			if err != nil {
				return err
			}
			dir := "dropcut-demo"
			if len(args) > 0 {
				dir = args[0]
			}
			if p.wanted(c) {
				return p.run(c.Context, w, dir)
			}
			return demo(w, o, dir)
		},
	}
}

// demo writes the portfolio and runs the main job on it.
func demo(w *world, o *options, dir string) error {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	book := filepath.Join(dir, "brookfen-tanks.xlsx")
	err := safefile.Write(book, func(out io.Writer) error {
		tables, err := starter.DemoTables(templates.FS, templates.DemoDir)
		if err != nil {
			return err
		}
		return starter.Demo(out, tables)
	}, nil)
	if err != nil {
		return err
	}
	job, err := o.read(book)
	if err != nil {
		return err
	}
	defer job.close()
	if err := o.judge(job); err != nil {
		return err
	}
	done, err := o.writePlan(w, job)
	if err != nil {
		return err
	}
	fmt.Fprintf(w.out, "%s\n  the invented portfolio of a contractor: %s\n", book, lookedAt(job))
	fmt.Fprintf(w.out, "%s\n  the same book, planned: %s\n", done.files[0], statusCounts(job.results))
	for _, s := range []validate.Status{validate.Ready, validate.Check, validate.Measure, validate.Stop} {
		if i := firstOf(job.results, s); i >= 0 {
			fmt.Fprintf(w.out, "  %-8s for one: %s\n", s, oneLine(&job.results[i]))
		}
	}
	fmt.Fprintf(w.out, "Open %s first: the sheet Tanks, the columns that begin with Plan, and the sheet Findings.\n", done.files[0])
	fmt.Fprintf(w.out, "Then: dropcut audit %s\n", book)
	// The stops of the demonstration are there on purpose: it is done.
	return nil
}

func firstOf(results []validate.Result, s validate.Status) int {
	for i := range results {
		if results[i].Status == s {
			return i
		}
	}
	return -1
}

func oneLine(r *validate.Result) string {
	text := ""
	for i, part := range tankLine(r) {
		if part != "" && i != 2 {
			if text != "" {
				text += ", "
			}
			text += part
		}
	}
	return text
}

func templateCommand(w *world) *cli.Command {
	return &cli.Command{
		Name:      "template",
		Usage:     "writes an empty portfolio workbook with the right sheets, drop-downs and notes",
		ArgsUsage: "[FILE]",
		Description: `Writes an empty portfolio (default: dropcut-portfolio.xlsx). A file that is there already is not replaced.

EXAMPLE
   dropcut template tanks.xlsx`,
		Action: func(c *cli.Context) error {
			args, err := books(c, 0, 1)
			if err != nil {
				return err
			}
			path := "dropcut-portfolio.xlsx"
			if len(args) > 0 {
				path = args[0]
			}
			if filepath.Ext(path) != ".xlsx" {
				return usagef("%s: the template is an .xlsx workbook", path)
			}
			if _, err := os.Stat(path); !errors.Is(err, fs.ErrNotExist) {
				return fmt.Errorf("%s is there already; it was left as it is; name another file", path)
			}
			rules, err := embeddedRules()
			if err != nil {
				return err
			}
			err = safefile.Write(path, func(out io.Writer) error { return starter.Template(out, rule.Places(rules)) }, nil)
			if err == nil {
				fmt.Fprintf(w.out, "written: %s\n", path)
			}
			return err
		},
	}
}
