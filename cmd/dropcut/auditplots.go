package main

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"dropcut/convert/drawing"
	"dropcut/convert/safefile"
	"dropcut/convert/writeback"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
	"dropcut/validate"
	"dropcut/validate/charts"
	"dropcut/validate/charts/fit"
)

// plotter writes a plot of each suspicious chart into a folder, as SVG and as
// PNG.
type plotter struct {
	o      *options
	w      *world
	dir    string
	bases  map[string]int // how many books of each base name there are
	raster *drawing.Raster
}

// plotPixels is the number of pixels a point of a picture.
const plotPixels = 2

func newPlotter(o *options, w *world, dir string, paths []string) (*plotter, error) {
	p := &plotter{o: o, w: w, dir: dir, bases: map[string]int{}}
	for _, path := range paths {
		p.bases[baseOf(path)]++
	}
	var err error
	p.raster, err = drawing.NewRaster(plotPixels)
	return p, err
}

// baseOf gives the name of a book without its folder and ending.
func baseOf(path string) string {
	name := filepath.Base(filepath.Clean(path))
	return strings.ToLower(strings.TrimSuffix(name, filepath.Ext(name)))
}

// suspect is a chart of which a person must look at something.
type suspect struct {
	chart *chart.Chart
	site  string
	fit   *fit.Result
	found []finding.Finding
}

// suspects gives the charts that something of check or stop was found in, in the
// order of the job.
func suspects(job *work) []suspect {
	list := job.reading.Job.Charts
	at := make(map[*chart.Chart]int, len(list))
	all := make([]suspect, len(list))
	for i, c := range list {
		at[c] = i
		all[i] = suspect{chart: c, site: c.Site}
	}
	hear := func(c *chart.Chart, fitted *fit.Result, said []finding.Finding) {
		s := &all[at[c]]
		if fitted != nil {
			s.fit = fitted
		}
		for _, f := range said {
			// Two tanks of one chart hear the same of it.
			told := slices.ContainsFunc(s.found, func(g finding.Finding) bool { return g.Slug == f.Slug && g.At == f.At && g.Depth == f.Depth })
			if f.Severity >= finding.Check && of(f, c) && !told {
				s.found = append(s.found, f)
			}
		}
	}
	for i := range job.results {
		r := &job.results[i]
		if r.Chart == nil {
			continue
		}
		if s := &all[at[r.Chart]]; s.site == "" {
			s.site = r.Tank.Site.V
		}
		hear(r.Chart, r.Fit, r.Findings)
		hear(r.Chart, r.Fit, r.Elsewhere)
	}
	for l := range validate.LooseCharts(&job.reading.Job, job.options) {
		fitted := l.Fit
		hear(l.Chart, &fitted, l.Findings)
	}
	return slices.DeleteFunc(all, func(s suspect) bool { return len(s.found) == 0 })
}

// of reports whether a finding is about a chart: it stands within its cells.
func of(f finding.Finding, c *chart.Chart) bool {
	if f.At.File != c.At.File || f.At.Sheet != c.At.Sheet {
		return false
	}
	if f.Chart == c.Name {
		return true
	}
	return f.At.Row >= c.At.Row && f.At.Row <= c.To.Row && f.At.Col >= c.At.Col && f.At.Col <= c.To.Col
}

// book plots the suspicious charts of a book.
func (p *plotter) book(job *work) error {
	list := suspects(job)
	base := baseOf(job.path)
	if p.bases[base] > 1 {
		sum := sha256.Sum256([]byte(filepath.ToSlash(filepath.Clean(job.path))))
		base += "-" + hex.EncodeToString(sum[:3])
	}
	names := make([]string, len(list))
	for i, s := range list {
		names[i] = strings.TrimSuffix(base+" "+s.site, " ") + " " + s.chart.Name
	}
	units := writeback.UnitsOf(&job.reading.Job, p.o.writeUnits())
	written := 0
	for i, name := range safefile.Names(names, "chart", "") {
		s := &list[i]
		plot, ok := drawing.PlotAsGiven(s.chart, drawing.Units{Length: units.Length, Volume: units.Volume})
		if !ok {
			continue
		}
		if s.fit != nil && s.fit.Recognised {
			plot.Fit(s.chart, s.fit.Volume)
		}
		plot.Compare(s.chart, charts.Said(s.chart))
		plot.Flag(s.chart, s.found)
		plot.Notes = noteLines(s.found)
		picture := plot.Picture()
		png, err := p.raster.PNG(&picture)
		if err != nil {
			return fmt.Errorf("the plot of chart %s: %w", s.chart.Name, err)
		}
		svg := func(out io.Writer) error { return picture.WriteSVG(out, "plot") }
		if err := p.o.replaceResult(p.w, filepath.Join(p.dir, name+".svg"), svg, nil, &planned{}); err != nil {
			return err
		}
		dots := func(out io.Writer) error {
			_, err := out.Write(png)
			return err
		}
		if err := p.o.replaceResult(p.w, filepath.Join(p.dir, name+".png"), dots, nil, &planned{}); err != nil {
			return err
		}
		written++
	}
	if !p.o.quiet {
		fmt.Fprintf(p.w.err, "%s: %s, as SVG and PNG, in %s\n", job.path, count(written, "plot", "plots"), p.dir)
	}
	return nil
}

// noteLines says in a few lines what was found.
func noteLines(list []finding.Finding) []string {
	const most = 5
	list = slices.Clone(list)
	finding.Sort(list)
	var lines []string
	for i, f := range list {
		if i == most-1 && len(list) > most {
			return append(lines, fmt.Sprintf("and %d more", len(list)-i))
		}
		line := f.Severity.String() + ": " + string(f.Slug)
		if f.Depth != "" {
			line += " at " + f.Depth
		}
		lines = append(lines, line)
	}
	return lines
}
