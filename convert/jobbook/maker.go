// Package jobbook makes the technician's workbook of a job and reads it back.
//
// A book holds a cover, for each tank the page with its cuts, the page of the
// work and its record, and its calculation with the chart, and a fill card; or
// for an inspection a cover, an inspection page a tank and its calculation. The
// calculation is live: formulas lead from the cells that are measured again on
// site to the cut, by the rules of the plan. Every cell that is filled in has a
// name, and every page a key, by which it is found when it comes back.
package jobbook

import (
	"cmp"
	"fmt"
	"io"
	"io/fs"
	"math"
	"slices"
	"strings"

	"dropcut/convert/drawing"
	"dropcut/convert/jobbook/calculation"
	"dropcut/convert/jobbook/field"
	"dropcut/convert/jobbook/look"
	"dropcut/convert/jobbook/sheet"
	"dropcut/convert/safefile"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// Units are the units of the pages.
type Units = field.Units

// Job is what one workbook is made of: the tanks of one job, or of one site where
// no job is named.
type Job struct {
	Name      string
	Portfolio string // the file that the tanks come from
	Results   []*validate.Result
	Units     Units
	// Letter takes the paper of the United States; A4 else.
	Letter bool
	// Inspection makes the pages of a three-year inspection.
	Inspection bool
	// Program is the version that stands on the cover.
	Program string
}

// Jobs puts the tanks of a portfolio into jobs, in the order of the list.
func Jobs(results []validate.Result, portfolio string) []Job {
	var list []Job
	at := map[string]int{}
	for i := range results {
		r := &results[i]
		name := strings.TrimSpace(r.Tank.Job.Raw)
		if name == "" {
			name = strings.TrimSpace(r.Tank.Site.Raw)
		}
		if name == "" {
			name = "Tanks of " + portfolio
		}
		k := unit.Fold(name)
		n, ok := at[k]
		if !ok {
			n = len(list)
			at[k] = n
			list = append(list, Job{Name: name, Portfolio: portfolio})
		}
		list[n].Results = append(list[n].Results, r)
	}
	return list
}

// FileNames gives each job a file name, by [safefile.Names].
func FileNames(list []Job, ending string) []string {
	names := make([]string, len(list))
	for i := range list {
		names[i] = list[i].Name
	}
	return safefile.Names(names, "job", ending)
}

// Maker makes job books. It holds what all of them share and serves one goroutine
// at a time.
type Maker struct {
	Texts  field.Texts
	writer *sheet.Writer
	raster *drawing.Raster
}

// pixels is the number of pixels a point of a picture.
const pixels = 2

// NewMaker makes a Maker with the page texts in a file of fsys.
func NewMaker(fsys fs.FS, name string) (*Maker, error) {
	t, err := field.ReadTexts(fsys, name)
	if err != nil {
		return nil, err
	}
	m := &Maker{Texts: t}
	if m.writer, err = sheet.NewWriter(look.All()); err != nil {
		return nil, err
	}
	m.raster, err = drawing.NewRaster(pixels)
	return m, err
}

// Write makes the book of a job.
func (m *Maker) Write(w io.Writer, job Job) error {
	b, err := m.Book(job)
	if err != nil {
		return err
	}
	return m.writer.Write(w, b)
}

// maker is one book while it is made.
type maker struct {
	*Maker
	job  *Job
	book *sheet.Book
	// cells and resultRow belong to the page of the tank in hand: where its
	// fields stand, and the row that shows what the built tube comes to.
	cells     map[string]string
	resultRow int
	keys      []keyCell
}

// Book makes the book of a job and does not write it.
func (m *Maker) Book(job Job) (*sheet.Book, error) {
	if len(job.Results) > 0 {
		job.Units = field.UnitsOf(job.Results[0], job.Units)
	}
	k := &maker{Maker: m, job: &job, book: &sheet.Book{Title: job.Name, Letter: job.Letter}}
	cover := k.add("Cover", 12)
	for i, r := range job.Results {
		if err := k.tank(r, i+1); err != nil {
			return nil, fmt.Errorf("tank %s: %w", r.Tank.ID.Raw, err)
		}
		k.seal()
	}
	k.cover(cover)
	return k.book, nil
}

// columnWidth is that of a page's narrow columns, in letters.
const columnWidth = 8

// linesOf estimates how many lines a text takes that is wrapped over so many
// narrow columns in letters of a size in points. It reckons with a broad face,
// since nobody knows which one a phone has.
func linesOf(text string, columns int, size float64) float64 {
	const column, broad = 45, 0.46 // points; of a letter's height
	per := math.Floor(float64(columns) * column / (size * broad))
	return max(math.Ceil(float64(len([]rune(text)))/per), 1)
}

// add adds a sheet of so many narrow columns, the grid of all pages.
func (m *maker) add(name string, columns int) *sheet.Sheet {
	widths := make([]float64, columns)
	for i := range widths {
		widths[i] = columnWidth
	}
	return m.book.Add(name, widths...)
}

func (m *maker) tank(r *validate.Result, n int) error {
	id := r.Tank.ID.Raw
	page := m.add(id, 12)
	if m.job.Inspection {
		return m.inspection(page, r, n)
	}
	if !calculation.Possible(r) {
		m.noCut(page, r, n)
		if r.Status == validate.Stop {
			return nil
		}
		m.record(m.add(id+" record", 12), r, n)
		m.fillCard(r, nil)
		return nil
	}
	record := m.add(id+" record", 12)
	s := m.add(id+" calculation", 12)
	k, rows, err := calculation.New(s, r, m.job.Units)
	if err != nil {
		return err
	}
	cells := m.measures(page, r, n)
	k.CutLines(r, cells, rows)
	m.record(record, r, n)
	k.TubeLines("built", "As built", m.cells[field.Upper], rows)
	m.recordResult(record, k, n)
	if err := m.cutPage(page, k, r, n); err != nil {
		return err
	}
	m.key(s, k.Printed(), n, "calculation", r)
	m.chartSheets(r)
	m.fillCard(r, k)
	return nil
}

// jobKey names the job on the cover: what it is, of which portfolio.
func (m *maker) jobKey() string {
	kind := "cut"
	if m.job.Inspection {
		kind = "inspection"
	}
	return strings.Join([]string{field.KeyWord, kind, m.unitWord(), m.job.Portfolio, m.job.Name}, field.Gap)
}

// devices lists the devices of the job with their number.
func (m *maker) devices() []counted {
	return count(m.job.Results, func(r *validate.Result) string {
		if r.Device == nil || r.Status == validate.Stop {
			return ""
		}
		return r.Device.Name.V
	})
}

type counted struct {
	text string
	n    int
}

func count(list []*validate.Result, of func(*validate.Result) string) []counted {
	var out []counted
	for _, r := range list {
		s := of(r)
		if s == "" {
			continue
		}
		i := slices.IndexFunc(out, func(c counted) bool { return c.text == s })
		if i < 0 {
			out = append(out, counted{s, 1})
			continue
		}
		out[i].n++
	}
	slices.SortStableFunc(out, func(a, b counted) int { return cmp.Compare(a.text, b.text) })
	return out
}
