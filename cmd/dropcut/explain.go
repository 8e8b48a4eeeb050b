package main

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"github.com/urfave/cli/v2"

	"dropcut/convert/csvfile"
	"dropcut/plan"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
	"dropcut/validate"
)

func explainCommand(w *world) *cli.Command {
	o := newOptions()
	tank, card := "", false
	step := new(stepValue)
	return &cli.Command{
		Name:      "explain",
		Usage:     "shows one tank's calculation, line by line, each with its numbers, cell and source",
		ArgsUsage: "BOOK",
		Description: `Shows how one tank's plan came about: every figure with its formula, the numbers in it, the cells they stand
in, and the rule or reference behind it, so that it can be followed with a pocket calculator.

EXAMPLE
   dropcut explain --tank MR-1 tanks.xlsx
   dropcut explain --tank MR-1 --fill-card --stick-step 1/2 tanks.xlsx`,
		Flags: append(append(o.readingFlags(), o.planningFlags()...), o.formatFlag(), o.unitsFlag(),
			&cli.StringFlag{Name: "tank", Usage: "`ID` of the tank", Destination: &tank},
			&cli.BoolFlag{Name: "fill-card", Usage: "how much may be delivered at each reading of the stick, instead of the calculation", Destination: &card},
			&cli.GenericFlag{Name: "stick-step", Usage: "`LENGTH` between two lines of the fill card, as in 1/2 or \"1 cm\" (default: 1 in, or 2 cm)", Value: step}),
		Action: func(c *cli.Context) error {
			paths, err := books(c, 1, 1)
			if err != nil {
				return err
			}
			if tank == "" {
				return usagef("dropcut explain needs --tank ID")
			}
			job, err := o.read(paths[0])
			if err != nil {
				return err
			}
			defer job.close()
			if err := o.judge(job); err != nil {
				return err
			}
			found := tanksNamed(job.results, tank)
			if len(found) == 0 {
				return fmt.Errorf("%s: no tank is called %q; the tanks are %s", paths[0], tank, someTanks(job.results))
			}
			if card {
				cards, err := o.fillCards(found, step)
				if err == nil {
					err = writeFillCards(o.to(w), o.format.word, cards)
				}
				if err != nil {
					return err
				}
			} else if err := writeExplained(o.to(w), o.format.word, found); err != nil {
				return err
			}
			for _, r := range found {
				if r.Status == validate.Stop {
					return errStops
				}
			}
			return nil
		},
	}
}

func tanksNamed(results []validate.Result, name string) []*validate.Result {
	var list []*validate.Result
	for i := range results {
		if unit.Fold(results[i].Tank.ID.V) == unit.Fold(name) {
			list = append(list, &results[i])
		}
	}
	return list
}

func someTanks(results []validate.Result) string {
	const most = 20
	var names []string
	for i := range results {
		if i == most {
			names = append(names, "and "+count(len(results)-most, "other", "others"))
			break
		}
		names = append(names, results[i].Tank.ID.V)
	}
	return joinWords(names)
}

// figureRow is a line of a calculation as CSV and JSON hold it.
type figureRow struct {
	Tank    string `csv:"tank" json:"tank"`
	Figure  string `csv:"figure" json:"figure"`
	Value   string `csv:"value" json:"value"`
	Formula string `csv:"formula" json:"formula"`
	Cells   string `csv:"cells" json:"cells"`
	Source  string `csv:"source" json:"source"`
}

func writeExplained(out io.Writer, format string, list []*validate.Result) error {
	if format == "text" {
		b := bufio.NewWriter(out)
		for _, r := range list {
			explainText(b, r)
		}
		return b.Flush()
	}
	var rows []figureRow
	for _, r := range list {
		for _, f := range r.Cut.Trail {
			rows = append(rows, figureRow{r.Tank.ID.V, f.Name, f.Value, f.Formula, cellsOf(f), f.Source})
		}
	}
	if format == "csv" {
		return csvfile.Write(out, rows)
	}
	return writeJSON(out, rows)
}

func explainText(b *bufio.Writer, r *validate.Result) {
	fmt.Fprintf(b, "tank %s", r.Tank.ID.V)
	if r.Tank.Site.Raw != "" {
		fmt.Fprintf(b, ", %s", r.Tank.Site.Raw)
	}
	fmt.Fprintf(b, ": %s\n", r.Status)
	for _, f := range r.Cut.Trail {
		fmt.Fprintf(b, "\n  %s: %s\n", f.Name, f.Value)
		for _, line := range []struct{ lead, text string }{{"=", f.Formula}, {"from", cellsOf(f)}, {"by", f.Source}} {
			if line.text != "" {
				fmt.Fprintf(b, "    %-5s %s\n", line.lead, line.text)
			}
		}
	}
	all := r.All()
	finding.Sort(all)
	for i, f := range all {
		if i == 0 {
			fmt.Fprint(b, "\nfindings\n")
		}
		fmt.Fprintf(b, "  %s: %s: found %s; expected %s; %s\n", f.Severity, f.Slug, f.Found, f.Expected, f.Suggestion)
	}
	fmt.Fprintf(b, "\n%s\n", cautions)
}

func cellsOf(f plan.Figure) string {
	var cells []string
	for _, at := range f.From {
		if s := at.Cell(); s != "" {
			cells = append(cells, s)
		} else {
			cells = append(cells, at.String())
		}
	}
	return strings.Join(cells, ", ")
}
