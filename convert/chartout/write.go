package chartout

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"dropcut/convert/csvfile"
	"dropcut/convert/grid"
	"dropcut/convert/intake"
	"dropcut/convert/newbook"
)

// Workbook writes charts as a new .xlsx workbook, set up for print.
func Workbook(w io.Writer, tables []*Table, l Layout) error {
	list, err := laidOut(tables, l)
	if err != nil {
		return err
	}
	styles, of := stylesOf(list)
	b := newbook.New(w, styles)
	for i := range list {
		p := &list[i]
		s := newbook.Sheet{Name: p.name, Widths: p.widths, Head: p.head, Landscape: p.landscape, Tall: p.tall, A4: p.metric}
		if p.tall != 1 {
			s.Repeat = p.head
		}
		b.Sheet(s)
		forms := [2]numberForm{p.depth, p.volume}
		for line := range p.lines {
			b.Row()
			if len(line) > 0 && line[0].Look == grid.LookHeading {
				b.Height(2 * rowHeight) // a heading and its unit, one below the other
			}
			for _, v := range line {
				switch {
				case v.Blank():
					b.Skip()
				case v.IsNumber:
					form := forms[0]
					if v.Look == grid.LookVolume {
						form = forms[1]
					}
					b.Number(v.Number, of[look{v.Look, form}])
				default:
					b.Text(v.Text, of[look{v.Look, numberForm{}}])
				}
			}
		}
	}
	return b.Close()
}

// File is one CSV file of charts.
type File struct {
	// Suffix is what its name has behind the name that was asked for, "" where
	// there is one file only.
	Suffix string
	// Tables are the charts in it, in order.
	Tables []*Table
	page   page
}

// Files lays charts out as CSV files. A file holds one table: a list of charts in
// the same units, charts of the same depths side by side, or one folded chart. A
// folder of them is read as one book.
func Files(tables []*Table, l Layout) ([]File, error) {
	list, err := laidOut(tables, l)
	if err != nil {
		return nil, err
	}
	files := make([]File, len(list))
	for i, p := range list {
		files[i] = File{Tables: p.tables, page: p}
		switch {
		case len(list) == 1:
		case l == Folded:
			files[i].Suffix = "-" + strings.Map(fileSign, p.name)
		default:
			files[i].Suffix = "-" + strconv.Itoa(i+1)
		}
	}
	return files, nil
}

// fileSign leaves out what a file's name cannot hold on every system.
func fileSign(r rune) rune {
	if strings.ContainsRune(`<>"|`, r) {
		return '-'
	}
	return r
}

// Write writes the file: UTF-8, LF, numbers with a decimal point.
func (f *File) Write(w io.Writer) error {
	out := csv.NewWriter(w)
	fields := make([]string, 0, len(f.page.widths))
	for line := range f.page.lines {
		fields = fields[:0]
		for _, v := range line {
			text := csvfile.Inert(v.Text)
			if v.IsNumber {
				text = strconv.FormatFloat(v.Number, 'f', -1, 64)
			}
			fields = append(fields, text)
		}
		for len(fields) < len(f.page.widths) {
			fields = append(fields, "")
		}
		if err := out.Write(fields); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

func laidOut(tables []*Table, l Layout) ([]page, error) {
	if len(tables) == 0 {
		return nil, errors.New("there is no chart to write")
	}
	for _, t := range tables {
		for _, r := range t.Rows {
			if math.IsNaN(r.Depth+r.Volume) || math.IsInf(r.Depth+r.Volume, 0) {
				return nil, fmt.Errorf("chart %s: a row holds %v and %v, which are no depth and volume", t.Name, r.Depth, r.Volume)
			}
		}
	}
	return pages(tables, l)
}

// look is a cell's look with the form of its number.
type look struct {
	look grid.Look
	form numberForm
}

// stylesOf lists the styles that pages need.
func stylesOf(list []page) (styles []newbook.Style, of map[look]int) {
	of = map[look]int{}
	add := func(k look, s newbook.Style) {
		if of[k] == 0 {
			styles = append(styles, s)
			of[k] = len(styles)
		}
	}
	// Ink on paper, told apart by rule and weight as well as by shade.
	const ink, slate, paper, rule = "1F2A30", "5B6B73", "E7ECE4", "9AA7A0"
	add(look{look: grid.LookTitle}, newbook.Style{Bold: true, Size: 14, Ink: ink})
	add(look{look: grid.LookText}, newbook.Style{Italic: true, Ink: slate})
	add(look{look: grid.LookHeading}, newbook.Style{Bold: true, Ink: ink, Fill: paper, Under: ink, Thick: true, Wrap: true, Right: true})
	for i := range list {
		p := &list[i]
		add(look{grid.LookLength, p.depth}, newbook.Style{Format: p.depth.depthFormat(), Bold: true, Under: rule, Right: true})
		add(look{grid.LookVolume, p.volume}, newbook.Style{Format: p.volume.volumeFormat(), Under: rule, Side: rule})
	}
	return styles, of
}

func (f numberForm) depthFormat() string {
	switch {
	// These formats shorten 2/4 to 1/2. One figure each way shows eighths as they
	// are and would show sixteenths wrong.
	case f.denominator > 8:
		return "# ??/??"
	case f.denominator > 0:
		return "# ?/?"
	case f.decimals > 0:
		return "0." + strings.Repeat("0", f.decimals)
	}
	return "0"
}

func (f numberForm) volumeFormat() string {
	if f.decimals > 0 {
		return "#,##0." + strings.Repeat("0", f.decimals)
	}
	return "#,##0"
}

// Ordered gives the charts in the order in which a workbook of a layout holds
// them.
func Ordered(tables []*Table, l Layout) ([]*Table, error) {
	list, err := laidOut(tables, l)
	var out []*Table
	for _, p := range list {
		out = append(out, p.tables...)
	}
	return out, err
}

// Verify reads what was written and holds it against what was meant: the same
// charts in the same order, row by row. book is the new file, opened. notes are
// names that read otherwise where no list of tanks stands beside the charts.
func Verify(book grid.Book, tables []*Table) (notes []string, err error) {
	reading, err := intake.Read([]grid.Book{book}, intake.Options{})
	if err != nil {
		return nil, fmt.Errorf("what was written does not read back: %w", err)
	}
	got := reading.Job.Charts
	if len(got) != len(tables) {
		return nil, fmt.Errorf("what was written reads back as %d charts instead of %d; take another layout", len(got), len(tables))
	}
	for i, t := range tables {
		c := got[i]
		switch {
		case c.DepthUnit != t.DepthUnit || c.VolumeUnit != t.VolumeUnit:
			return nil, fmt.Errorf("chart %s reads back in %q and %q instead of %s and %s; take another layout", t.Name, c.DepthUnit, c.VolumeUnit, t.DepthUnit, t.VolumeUnit)
		case c.FromDimensions != t.FromDimensions:
			return nil, fmt.Errorf("chart %s does not read back as what it is, measured or computed from dimensions; take another layout", t.Name)
		case len(c.Rows) != len(t.Rows):
			return nil, fmt.Errorf("chart %s reads back with %d rows instead of %d; take another layout", t.Name, len(c.Rows), len(t.Rows))
		}
		for k, r := range t.Rows {
			if c.Rows[k].Depth != r.Depth || c.Rows[k].Volume != r.Volume {
				return nil, fmt.Errorf("chart %s: row %d reads back as %v, %v instead of %v, %v; take another layout", t.Name, k+1, c.Rows[k].Depth, c.Rows[k].Volume, r.Depth, r.Volume)
			}
		}
		// Titles and headings say "Tank 12" of a tank that is called 12.
		if c.Name != t.Name && tankWord+c.Name != t.Name {
			name := strconv.Quote(c.Name)
			if c.Name == "" {
				name = "a chart without a name"
			}
			notes = append(notes, fmt.Sprintf("chart %s reads as %s where no list of tanks stands beside it", t.Name, name))
		}
	}
	return notes, nil
}
