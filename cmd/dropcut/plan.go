package main

import (
	"bufio"
	"fmt"
	"io"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/urfave/cli/v2"

	"dropcut/convert/csvfile"
	"dropcut/convert/writeback"
	"dropcut/plan"
	"dropcut/plan/unit"
	"dropcut/validate"
)

func planCommand(w *world) *cli.Command {
	o := newOptions()
	o.noTrail = true
	return &cli.Command{
		Name:      "plan",
		Usage:     "audits the charts, plans every cut and writes the plans into a copy of the book",
		ArgsUsage: "BOOK...",
		Description: `Reads each book, audits its charts, plans the cut of every tank and writes a copy, NAME-planned.xlsx, with
the plan in new columns beside the tanks and with the sheets Findings, Changes and Sources. The book
itself is not touched, unless --in-place is given. A tank with a stop gets no length, only the reason.

EXAMPLE
   dropcut plan tanks.xlsx
   dropcut plan --place US-federal --out planned tanks.xlsx more-tanks.xlsx
   dropcut plan --dry-run --format csv tanks.xlsx > plan.csv`,
		Flags: append(append(o.readingFlags(), o.planningFlags()...),
			o.outFlag(), o.unitsFlag(), o.formatFlag(), o.quietFlag(),
			&cli.BoolFlag{Name: "in-place", Usage: "replace the book and keep the old one as NAME-before-DATE-TIME", Destination: &o.inPlace},
			&cli.BoolFlag{Name: "as-found", Usage: "print what the tubes do that were found in the tanks, and what to do with each", Destination: &o.asFound},
			&cli.BoolFlag{Name: "dry-run", Usage: "print the plan and write nothing", Destination: &o.dryRun},
		),
		Action: func(c *cli.Context) error {
			if o.inPlace && o.out != "" {
				return usagef("--in-place and --out exclude each other: the book is either replaced where it is, or copied elsewhere")
			}
			printer := planPrinter{format: o.format.word, out: o.to(w), asked: o.writeUnits(), asFound: o.asFound}
			err := o.eachReading(c, w, func(job *work) error {
				job.planOnly = true
				if err := o.prepare(job); err != nil {
					return err
				}
				if err := o.judge(job); err != nil {
					return err
				}
				done, err := o.writePlan(w, job)
				if err != nil {
					return err
				}
				return printer.book(job, done)
			})
			if ended := printer.end(); ended != nil {
				return ended
			}
			return err
		},
	}
}

// writeUnits are the units asked for with --units, unknown where none were.
func (o *options) writeUnits() writeback.Units {
	return writeback.Units{Length: o.units.length, Volume: o.units.volume}
}

// planPrinter prints the plans of one or more books in one form.
type planPrinter struct {
	format string
	out    io.Writer
	asked  writeback.Units
	rows   []planRow

	asFound bool // print the tubes that were found, and not the new cuts
	found   []foundRow
}

// planRow is one tank's plan as CSV and JSON hold it, in inches and US gallons
// unless other units were asked for.
type planRow struct {
	File            string `csv:"file" json:"file"`
	Site            string `csv:"site" json:"site"`
	Tank            string `csv:"tank" json:"tank"`
	FullVolume      string `csv:"full_volume" json:"full_volume"`
	LimitPercent    string `csv:"limit_percent" json:"limit_percent"`
	LimitVolume     string `csv:"limit_volume" json:"limit_volume"`
	ShutoffDepth    string `csv:"shutoff_depth" json:"shutoff_depth"`
	ShutoffVolume   string `csv:"shutoff_volume" json:"shutoff_volume"`
	ShutoffPercent  string `csv:"shutoff_percent" json:"shutoff_percent"`
	WorstPercent    string `csv:"worst_percent" json:"worst_percent"`
	ChanceOverLimit string `csv:"chance_over_limit" json:"chance_over_limit"`
	Headspace       string `csv:"headspace" json:"headspace"`
	TubeBelowTop    string `csv:"tube_below_top" json:"tube_below_top"`
	UpperTube       string `csv:"upper_tube" json:"upper_tube"`
	DropLength      string `csv:"drop_length" json:"drop_length"`
	LowerTube       string `csv:"lower_tube" json:"lower_tube"`
	AlarmDepth      string `csv:"alarm_depth" json:"alarm_depth"`
	Status          string `csv:"status" json:"status"`
	Flags           string `csv:"flags" json:"flags"`
}

// units are the ones asked for, else inches and US gallons.
func (p *planPrinter) units() writeback.Units {
	u := p.asked
	if u.Length == unit.LengthUnknown {
		u.Length = unit.Inches
	}
	if u.Volume == unit.VolumeUnknown {
		u.Volume = unit.USGallons
	}
	return u
}

func (p *planPrinter) row(job *work, r *validate.Result) planRow {
	l, g, s := figures(p.units())
	c := &r.Cut
	return planRow{
		File: filepath.Base(job.path), Site: r.Tank.Site.Raw, Tank: r.Tank.ID.V,
		FullVolume: g(c.FullVolume), LimitPercent: s(c.LimitPercent), LimitVolume: g(c.LimitVolume),
		ShutoffDepth: l(c.ShutoffDepth), ShutoffVolume: g(c.ShutoffVolume), ShutoffPercent: s(c.ShutoffPercent),
		WorstPercent: s(c.WorstPercent), ChanceOverLimit: s(c.ChanceOver),
		Headspace: l(c.Headspace), TubeBelowTop: l(c.TubeBelowTop), UpperTube: l(c.UpperTube),
		DropLength: l(c.DropLength), LowerTube: l(c.LowerTube), AlarmDepth: l(c.AlarmDepth),
		Status: string(r.Status), Flags: writeback.Flags(r.All()),
	}
}

// figures gives the printers of lengths, volumes and percentages in some units,
// in full precision, "" for what is not known.
func figures(u writeback.Units) (l func(plan.Value[unit.Length]) string, g func(plan.Value[unit.Volume]) string, s func(plan.Value[unit.Percent]) string) {
	l = func(v plan.Value[unit.Length]) string { return full(u.Length.Number(v.V), v.Known) }
	g = func(v plan.Value[unit.Volume]) string { return full(u.Volume.Number(v.V), v.Known) }
	s = func(v plan.Value[unit.Percent]) string { return full(float64(v.V), v.Known) }
	return l, g, s
}

// full prints a figure in full precision, "" where it is not known.
func full(v float64, known bool) string {
	if !known {
		return ""
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

func (p *planPrinter) book(job *work, done *planned) error {
	if p.format == "text" {
		return p.text(job, done)
	}
	for i := range job.results {
		r := &job.results[i]
		if !p.asFound {
			p.rows = append(p.rows, p.row(job, r))
		} else if r.AsFound.UpperTube.Known {
			p.found = append(p.found, p.foundRow(job, r))
		}
	}
	return nil
}

func (p *planPrinter) end() error {
	switch p.format {
	case "csv":
		if p.asFound {
			return csvfile.Write(p.out, p.found)
		}
		return csvfile.Write(p.out, p.rows)
	case "json":
		if p.asFound {
			return writeJSON(p.out, p.found)
		}
		return writeJSON(p.out, p.rows)
	}
	return nil
}

// shown is how many tanks are printed at most; a longer list is cut to those
// that somebody must look at.
const shown = 60

// text prints the plan for people: the counts, the tanks, what changed and what
// was written.
func (p *planPrinter) text(job *work, done *planned) error {
	b := bufio.NewWriter(p.out)
	fmt.Fprintf(b, "%s: %s\n", job.path, statusCounts(job.results))
	left := 0
	lines := [][]string{}
	for i := range job.results {
		r := &job.results[i]
		if len(job.results) > shown && (r.Status == validate.Ready || len(lines) >= shown) {
			left++
			continue
		}
		if p.asFound {
			if r.AsFound.UpperTube.Known {
				lines = append(lines, foundLine(r))
			}
			continue
		}
		lines = append(lines, tankLine(r))
	}
	writeAligned(b, lines)
	if left > 0 {
		fmt.Fprintf(b, "  and %s; --format csv prints all\n", count(left, "tank more", "tanks more"))
	}
	if !p.asFound {
		orders, err := job.orders()
		if err != nil {
			return err
		}
		for _, o := range orders {
			fmt.Fprintf(b, "to order: %s: %s", o.Name, o.Text)
			if o.Detail != "" {
				fmt.Fprintf(b, "; %s", o.Detail)
			}
			fmt.Fprintln(b)
		}
	}
	if done != nil {
		fmt.Fprintf(b, "changes: %s\n", done.changes)
		if err := done.set.WriteList(b, shown); err != nil {
			return err
		}
		for _, path := range done.files {
			fmt.Fprintf(b, "written: %s\n", path)
		}
		for _, note := range done.notes {
			fmt.Fprintf(b, "note: %s\n", note)
		}
	}
	return b.Flush()
}

func statusCounts(results []validate.Result) string {
	n := map[validate.Status]int{}
	for i := range results {
		n[results[i].Status]++
	}
	parts := []string{count(len(results), "tank", "tanks")}
	for _, s := range []validate.Status{validate.Ready, validate.Measure, validate.Check, validate.Stop} {
		if n[s] > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n[s], s))
		}
	}
	return strings.Join(parts, ", ")
}

// tankLine says of one tank what a technician would ask first.
func tankLine(r *validate.Result) []string {
	c := &r.Cut
	line := []string{r.Tank.ID.V, r.Tank.Site.Raw, string(r.Status), "", "", "", ""}
	if c.ShutoffDepth.Known {
		line[3] = "shuts off at " + unit.FractionText(c.ShutoffDepth.V, 16, unit.Down) + " in"
	}
	if c.ShutoffPercent.Known {
		line[4] = "= " + unit.PercentText(c.ShutoffPercent.V, c.LimitPercent.V) + " %"
	}
	if c.UpperTube.Known {
		line[5] = "upper tube " + unit.FractionText(c.UpperTube.V, 64, unit.Up) + " in"
	}
	if c.LowerTube.Known {
		line[5] += ", lower " + unit.FractionText(c.LowerTube.V, 64, unit.Nearest) + " in"
	}
	line[6] = writeback.Flags(r.All())
	return line
}

// writeAligned prints lines in columns; the last column is not padded.
func writeAligned(b *bufio.Writer, lines [][]string) {
	var widths []int
	for _, line := range lines {
		for i, s := range line {
			if i == len(widths) {
				widths = append(widths, 0)
			}
			widths[i] = max(widths[i], len([]rune(s)))
		}
	}
	for _, line := range lines {
		var s strings.Builder
		for i, text := range line {
			fmt.Fprintf(&s, "  %-*s", widths[i], text)
		}
		fmt.Fprintln(b, strings.TrimRight(s.String(), " "))
	}
}
