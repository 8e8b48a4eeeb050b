package main

import (
	"bufio"
	"cmp"
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/urfave/cli/v2"

	"dropcut/plan/finding"
	"dropcut/templates"
)

// docsTopics are the pages of `dropcut docs`, in the order in which they are
// listed. Pages that say what the program does are written from the program
// itself, so that they cannot drift from it.
func docsTopics() []docsTopic {
	return []docsTopic{
		{"findings", "every kind of finding: what it means, an example, what to do, how grave it is, where it comes from", docsFindings},
		{"sources", "where limits, formulas and device figures come from, and how sure we are of each", docsSources},
		{"limits", "what dropcut cannot see and does not do, and the cautions", docsPage("limits.md")},
		{"man", "the manual page, for man(1)", writeManual},
	}
}

type docsTopic struct {
	name, about string
	write       func(*cli.App, io.Writer) error
}

func docsCommand(w *world) *cli.Command {
	return &cli.Command{
		Name:      "docs",
		Usage:     "prints a page of the documents: findings, sources, limits, the manual page",
		ArgsUsage: "[TOPIC]",
		Description: `Prints a page of the documents that are built into the program. Without TOPIC it lists them. TOPIC may
also be the name of a finding, as a book's Findings sheet shows it.

EXAMPLE
   dropcut docs findings
   dropcut docs wrong-digit
   dropcut docs man > dropcut.1`,
		Action: func(c *cli.Context) error {
			if c.NArg() == 0 {
				for _, t := range docsTopics() {
					fmt.Fprintf(w.out, "%-10s %s\n", t.name, t.about)
				}
				fmt.Fprintf(w.out, "%-10s %s\n", "FINDING", "one kind of finding, by its name")
				return nil
			}
			args, err := books(c, 1, 1)
			if err != nil {
				return err
			}
			b := bufio.NewWriter(w.out)
			if i := slices.IndexFunc(docsTopics(), func(t docsTopic) bool { return t.name == args[0] }); i >= 0 {
				err = docsTopics()[i].write(c.App, b)
			} else if k, ok := finding.KindOf(finding.Slug(args[0])); ok {
				docsFinding(b, k)
			} else {
				return usagef("%q is neither a topic nor a finding; dropcut docs lists the topics, dropcut audit --list the findings", args[0])
			}
			return cmp.Or(err, b.Flush())
		},
	}
}

func docsPage(name string) func(*cli.App, io.Writer) error {
	return func(_ *cli.App, out io.Writer) error {
		page, err := templates.FS.ReadFile(templates.DocsDir + "/" + name)
		if err != nil {
			return err
		}
		_, err = out.Write(page)
		return err
	}
}

const docsFindingsLead = `# Findings

dropcut says what it finds about the data as findings. Each names the place (file, sheet, cell), what was found, what was
expected, why, and what to do. Three severities:

- **stop**: do not cut from this row; the tank gets no length, only the reason
- **check**: a person must look first
- **note**: good to know

Where two are given, the graver one is for cases in which the slip can lift the shutoff.

`

func docsFindings(_ *cli.App, out io.Writer) error {
	if _, err := io.WriteString(out, docsFindingsLead); err != nil {
		return err
	}
	for i, k := range finding.Kinds() {
		if i > 0 {
			fmt.Fprintln(out)
		}
		docsFinding(out, k)
	}
	return nil
}

func docsFinding(out io.Writer, k finding.Kind) {
	fmt.Fprintf(out, "## %s\n\n%s.\n\n", k.Slug, capital(k.About))
	line := func(lead, text string) {
		if text != "" {
			fmt.Fprintf(out, "- %s: %s\n", lead, text)
		}
	}
	line("example", k.Example)
	line("what to do", k.Advice)
	standing := finding.StandingOf(k.Slug)
	line("severity", standing.Severities())
	line("source", standing.Source)
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// docsSources prints what is said of sources, then every row of the rules table.
func docsSources(app *cli.App, out io.Writer) error {
	if err := docsPage("sources.md")(app, out); err != nil {
		return err
	}
	file, err := templates.FS.Open(templates.RulesFile)
	if err != nil {
		return err
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		return err
	}
	col := map[string]int{}
	for i, name := range rows[0] {
		col[name] = i
	}
	place := ""
	for _, row := range rows[1:] {
		get := func(name string) string { return row[col[name]] }
		if p := get("jurisdiction"); p != place {
			place = p
			fmt.Fprintf(out, "\n### %s\n\n", p)
		}
		used := ""
		if get("enabled") != "yes" {
			used = " (switched off)"
		}
		fmt.Fprintf(out, "- **%s**%s: %s%s. %s, %s. %s confidence: %s.\n", get("rule_id"), used,
			strings.NewReplacer("_", " ", ";", ", ").Replace(get("quantity")), ruleValue(get("comparator"), get("value"), get("unit")),
			get("instrument"), get("section"), capital(get("confidence")), get("how_known"))
	}
	return nil
}

// ruleValue puts the three columns that say what a rule asks into words.
func ruleValue(comparator, value, unit string) string {
	switch {
	case comparator == "not_allowed":
		return ": not allowed"
	case comparator == "required", comparator == "==" && unit == "bool" && value == "1":
		return ": required"
	case comparator == "==" && unit == "count" && value == "0":
		return ": none"
	}
	words := map[string]string{"<=": "at most", "<": "below", ">=": "at least", ">": "above", "==": "is"}[comparator]
	if words == "" {
		words = comparator
	}
	unit = strings.ReplaceAll(unit, "_", " ")
	if !strings.Contains(value, "(") { // a list, and no formula
		value = strings.ReplaceAll(value, ";", " and ")
	}
	unit = strings.Replace(unit, "percent", "%", 1)
	if unit == "gal us" {
		unit = "US gal"
	}
	switch {
	case unit == "volume": // it is measured in whatever unit the tank is
		return " " + words + " " + value
	case unit == "inch" && value != "1":
		unit = "inches"
	case (unit == "year" || unit == "month" || unit == "day" || unit == "minute") && value != "1":
		unit += "s"
	}
	return " " + words + " " + value + " " + unit
}
