package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"github.com/urfave/cli/v2"

	"dropcut/convert/csvfile"
	"dropcut/plan/finding"
	"dropcut/validate/charts"
)

func auditCommand(w *world) *cli.Command {
	o := newOptions()
	o.noTrail = true
	list, plots := false, ""
	return &cli.Command{
		Name:      "audit",
		Usage:     "finds charts that cannot be right, and tanks whose shutoff breaks the limit",
		ArgsUsage: "BOOK...",
		Description: `Reads each book and prints what it finds about charts and tanks, worst first. Nothing is written but, with --plots,
a picture of each chart that something was found in: its curve, and below by how much each row is off.
A stop means: do not cut from this row. A check means: a person must look first.
In a book that was planned, every figure of the plan is worked out once more, forwards and backwards, and the first one of a row that
somebody has changed is named. Give the options that the plan was made with.

EXAMPLE
   dropcut audit tanks.xlsx
   dropcut audit --charts maker-charts.csv --format csv tanks.xlsx > findings.csv
   dropcut audit --plots pictures tanks.xlsx
   dropcut audit --list`,
		Flags: append(append(o.readingFlags(), o.planningFlags()...), o.formatFlag(), o.quietFlag(),
			&cli.BoolFlag{Name: "list", Usage: "explain every kind of finding, with a small example each", Destination: &list},
			&cli.StringFlag{Name: "plots", Usage: "`DIR` for a plot of each chart that something was found in, as SVG and PNG", Destination: &plots}),
		Action: func(c *cli.Context) error {
			if list {
				return listKinds(w.out)
			}
			printer := findingsPrinter{format: o.format.word, out: o.to(w)}
			var pictures *plotter
			if plots != "" {
				var err error
				if pictures, err = newPlotter(o, w, plots, c.Args().Slice()); err != nil {
					return err
				}
			}
			err := o.eachBook(c, w, func(job *work) error {
				job.noCut = true
				if err := job.secondOpinion(); err != nil {
					return err
				}
				if err := printer.book(job); err != nil || pictures == nil {
					return err
				}
				return pictures.book(job)
			})
			if ended := printer.end(); ended != nil {
				return ended
			}
			return err
		},
	}
}

// listKinds explains every kind of finding.
func listKinds(out io.Writer) error {
	b := bufio.NewWriter(out)
	for i, k := range finding.Kinds() {
		if i > 0 {
			fmt.Fprintln(b)
		}
		fmt.Fprintf(b, "%s\n  %s\n  example: %s\n  what to do: %s\n", k.Slug, k.About, k.Example, k.Advice)
	}
	return b.Flush()
}

// findingRow is a finding as CSV and JSON hold it.
type findingRow struct {
	File       string `csv:"file" json:"file"`
	Sheet      string `csv:"sheet" json:"sheet"`
	Cell       string `csv:"cell" json:"cell"`
	Site       string `csv:"site" json:"site"`
	Tank       string `csv:"tank" json:"tank"`
	Chart      string `csv:"chart" json:"chart"`
	Depth      string `csv:"depth" json:"depth"`
	Severity   string `csv:"severity" json:"severity"`
	Finding    string `csv:"finding" json:"finding"`
	Found      string `csv:"found" json:"found"`
	Expected   string `csv:"expected" json:"expected"`
	Why        string `csv:"why" json:"why"`
	Suggestion string `csv:"suggestion" json:"suggestion"`
}

func rowOf(f finding.Finding) findingRow {
	return findingRow{
		File: f.At.File, Sheet: f.At.Sheet, Cell: f.Cell(), Site: f.Site, Tank: f.Tank, Chart: f.Chart, Depth: f.Depth,
		Severity: f.Severity.String(), Finding: string(f.Slug), Found: f.Found, Expected: f.Expected, Why: f.Why, Suggestion: f.Suggestion,
	}
}

// findingsPrinter prints the findings of one or more books in one form.
type findingsPrinter struct {
	format string
	out    io.Writer
	rows   []findingRow
}

func (p *findingsPrinter) book(job *work) error {
	list := append(job.findings(), acrossTanks(job)...)
	finding.Sort(list)
	if p.format == "text" {
		return writeFindings(p.out, job, list)
	}
	for _, f := range list {
		p.rows = append(p.rows, rowOf(f))
	}
	return nil
}

func (p *findingsPrinter) end() error {
	switch p.format {
	case "csv":
		return csvfile.Write(p.out, p.rows)
	case "json":
		return writeJSON(p.out, p.rows)
	}
	return nil
}

func writeJSON(out io.Writer, v any) error {
	enc := json.NewEncoder(out)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	return enc.Encode(v)
}

// writeFindings prints findings for people: what was looked at, then the
// findings, worst first, each with where, what, why and what to do.
func writeFindings(out io.Writer, job *work, list []finding.Finding) error {
	b := bufio.NewWriter(out)
	fmt.Fprintf(b, "%s: %s\n", job.path, lookedAt(job))
	if len(list) == 0 {
		fmt.Fprintf(b, "  nothing found; looked for %s\n", lookedFor(job))
	}
	last := finding.Severity(0)
	for _, f := range list {
		if f.Severity != last {
			last = f.Severity
			fmt.Fprintf(b, "\n%s\n", severityTitle(last))
		}
		writeFinding(b, string(f.Slug), f)
	}
	return b.Flush()
}

// writeFinding prints one finding: whom it is about, then where, what, why and what
// to do, a line each.
func writeFinding(out io.Writer, head string, f finding.Finding) {
	fmt.Fprintf(out, "  %s: %s\n", subject(f), head)
	for _, line := range []struct{ lead, text string }{
		{"where", f.At.String() + rangeEnd(f)},
		{"found", f.Found},
		{"expected", f.Expected},
		{"why", f.Why},
		{"do", f.Suggestion},
	} {
		if line.text != "" {
			fmt.Fprintf(out, "    %-8s  %s\n", line.lead, line.text)
		}
	}
}

// rangeEnd completes the place of a finding that spans a range.
func rangeEnd(f finding.Finding) string {
	if whole := f.Cell(); strings.Contains(whole, ":") {
		return whole[strings.Index(whole, ":"):]
	}
	return ""
}

func severityTitle(s finding.Severity) string {
	switch s {
	case finding.Stop:
		return "STOP: do not cut from these rows"
	case finding.Check:
		return "CHECK: a person must look first"
	}
	return "NOTE: good to know"
}

func subject(f finding.Finding) string {
	var s string
	switch {
	case f.Tank != "":
		s = "tank " + f.Tank
	case f.Chart != "":
		s = "chart " + f.Chart
	default:
		s = "the book"
	}
	if f.Site != "" {
		s += ", " + f.Site
	}
	if f.Depth != "" {
		s += ", at depth " + f.Depth
	}
	return s
}

// lookedFor lists what would have been found.
func lookedFor(job *work) string {
	var list []string
	for _, c := range charts.Checks() {
		if c.Slug != finding.ChartHabits {
			list = append(list, c.About)
		}
	}
	list = append(list, "charts that tanks of unlike sizes share, or that are another one multiplied, and capacities unlike those of the same dimensions",
		"limits, devices and inspections of the tanks")
	if job.confirmed > 0 {
		list = append(list, "figures of the plan that do not follow from the book ("+count(job.confirmed, "row", "rows")+")")
	}
	return strings.Join(list, "; ")
}

// lookedAt says what the findings rest on, so that "nothing found" means
// something.
func lookedAt(job *work) string {
	rows := 0
	for _, c := range job.reading.Job.Charts {
		rows += len(c.Rows)
	}
	return fmt.Sprintf("%s, %s with %s looked at",
		count(len(job.reading.Job.Tanks), "tank", "tanks"), count(len(job.reading.Job.Charts), "chart", "charts"), count(rows, "row", "rows"))
}
