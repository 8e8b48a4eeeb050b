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
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"io"
	"io/fs"
	"math"
	"slices"
	"strconv"
	"strings"

	"dropcut/convert/drawing"
	"dropcut/convert/jobbook/sheet"
	"dropcut/plan/unit"
	"dropcut/validate"
)

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

// FileNames gives each job a file name that every system takes, that no other job
// of the list has, and that is the same in every run: what cannot stand in a name
// becomes a hyphen, and names that become equal, or lose more than their blanks,
// end in a few letters made from the name itself.
func FileNames(list []Job, ending string) []string {
	names := make([]string, len(list))
	seen := map[string]int{}
	for i := range list {
		names[i] = safeName(list[i].Name)
		seen[strings.ToLower(names[i])]++
	}
	for i := range list {
		if name := names[i]; seen[strings.ToLower(name)] > 1 || changed(list[i].Name, name) {
			sum := sha256.Sum256([]byte(list[i].Name))
			names[i] = name + "-" + hex.EncodeToString(sum[:3])
		}
		names[i] += ending
	}
	return names
}

// reserved are the names that stand for devices on Windows.
var reserved = [...]string{"con", "prn", "aux", "nul", "com", "lpt", "conin$", "conout$"}

func safeName(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '_':
			b.WriteRune(r)
		default:
			b.WriteByte('-')
		}
	}
	name := b.String()
	for strings.Contains(name, "--") {
		name = strings.ReplaceAll(name, "--", "-")
	}
	name = strings.Trim(name, "-")
	if len(name) > 60 {
		name = strings.Trim(name[:60], "-")
	}
	low := strings.ToLower(strings.TrimRight(name, "0123456789"))
	if name == "" || slices.Contains(reserved[:], low) || slices.Contains(reserved[:], strings.ToLower(name)) {
		return strings.TrimSuffix("job-"+name, "-")
	}
	return name
}

// changed reports whether a name lost more than blanks on its way to a file name.
func changed(from, to string) bool {
	plain := func(s string) string {
		return strings.Join(strings.FieldsFunc(s, func(r rune) bool { return r == ' ' || r == '-' }), "-")
	}
	return plain(from) != plain(to)
}

// Maker makes job books. It holds what all of them share and serves one goroutine
// at a time.
type Maker struct {
	texts  texts
	writer *sheet.Writer
	raster *drawing.Raster
}

// pixels is the number of pixels a point of a picture.
const pixels = 2

// NewMaker makes a Maker with the page texts in a file of fsys.
func NewMaker(fsys fs.FS, name string) (*Maker, error) {
	t, err := readTexts(fsys, name)
	if err != nil {
		return nil, err
	}
	m := &Maker{texts: t}
	if m.writer, err = sheet.NewWriter(looks()); err != nil {
		return nil, err
	}
	m.raster, err = drawing.NewRaster(pixels)
	return m, err
}

// Write makes the book of a job.
func (m *Maker) Write(w io.Writer, job Job) error {
	b, err := m.book(job)
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

func (m *Maker) book(job Job) (*sheet.Book, error) {
	if len(job.Results) > 0 {
		job.Units = unitsOf(job.Results[0], job.Units)
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
	if !job.Inspection {
		k.fillCard()
	}
	return k.book, nil
}

// add adds a sheet of so many narrow columns, the grid of all pages.
func (m *maker) add(name string, columns int) *sheet.Sheet {
	widths := make([]float64, columns)
	for i := range widths {
		widths[i] = 8
	}
	return m.book.Add(name, widths...)
}

func (m *maker) tank(r *validate.Result, n int) error {
	id := r.Tank.ID.Raw
	page := m.add(id, 12)
	if m.job.Inspection {
		return m.inspection(page, r, n)
	}
	if !canCalculate(r) {
		m.noCut(page, r, n)
		if r.Status == validate.Stop {
			return nil
		}
		m.record(m.add(id+" record", 12), r, n)
		return nil
	}
	record := m.add(id+" record", 12)
	s := m.add(id+" calculation", 12)
	k, rows, err := newCalc(s, r, m.job.Units)
	if err != nil {
		return err
	}
	cells := m.measures(page, r, n)
	k.cutLines(r, cells, rows)
	m.record(record, r, n)
	k.tubeLines("built", "As built", m.cells[fUpper], rows)
	m.recordResult(record, k, n)
	if err := m.cutPage(page, k, r, n); err != nil {
		return err
	}
	m.printed(k, r, n)
	return nil
}

// jobKey names the job on the cover: what it is, of which portfolio.
func (m *maker) jobKey() string {
	kind := "cut"
	if m.job.Inspection {
		kind = "inspection"
	}
	return strings.Join([]string{keyWord, kind, m.unitWord(), m.job.Portfolio, m.job.Name}, keyGap)
}

// keyWord begins every key; keyGap stands between its parts.
const (
	keyWord = "dropcut page"
	keyGap  = " | "
	// formulaWords stand between the number of a page's formulas and its unit.
	formulaWords = " formulas, "
)

// pageKey names a page: its tank and the plan that it was made from.
func pageKey(kind, unit string, r *validate.Result, formulas int) string {
	return strings.Join([]string{keyWord, kind, r.Tank.Site.Raw, r.Tank.ID.Raw, planHash(r), strconv.Itoa(formulas) + formulaWords + unit}, keyGap)
}

// planHash is a short word made from everything that a plan rests on and comes
// to: another chart, another measure or another cut is another word.
func planHash(r *validate.Result) string {
	h := sha256.New()
	put := func(v ...float64) {
		for _, x := range v {
			// Noise in the last digits is not another plan.
			x = math.Round(x*1e6) / 1e6
			_ = binary.Write(h, binary.LittleEndian, x) // a hash takes everything
		}
	}
	t, c := r.Tank, &r.Cut
	fmt.Fprintf(h, "%q %q %q %q", t.Site.Raw, t.ID.Raw, t.Product.Raw, r.Status)
	put(float64(t.RiserHeight.V), float64(t.FaceToBottom.V), float64(t.Diameter.V), float64(t.Rise.V), float64(t.FillStation.V), float64(t.CutAngle.V), float64(t.Clearance.V))
	put(float64(c.FullVolume.V), float64(c.LimitPercent.V), float64(c.Target.V), float64(c.UpperTube.V), float64(c.LowerTube.V), float64(c.DropLength.V), float64(c.ShutoffDepth.V))
	if d := r.Device; d != nil {
		fmt.Fprintf(h, "%q", d.Name.V)
		put(float64(d.ShutoffDrop.V), float64(d.BodyLength.V), float64(d.LeastBelowTop.V), float64(d.LeastUpperTube.V), float64(d.TestPressure.V))
		for _, j := range d.Joints {
			put(float64(j.Least.V), float64(j.Most.V))
		}
	}
	if r.Chart != nil {
		for i := range r.Chart.Rows {
			put(r.Chart.Rows[i].Depth, r.Chart.Rows[i].Volume)
		}
	}
	return "plan " + hex.EncodeToString(h.Sum(nil)[:4])
}

// name gives the name of a field of tank n.
func name(n int, key string) string { return fmt.Sprintf("t%d_%s", n, key) }

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
