package starter

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"dropcut/convert/newbook"
	"dropcut/plan/shape"
	"dropcut/plan/unit"
)

// PortfolioCount says what a book of a portfolio holds.
type PortfolioCount struct{ Tanks, Charts, Rows, Faults int }

// Add adds the figures of another book.
func (c *PortfolioCount) Add(o PortfolioCount) {
	c.Tanks += o.Tanks
	c.Charts += o.Charts
	c.Rows += o.Rows
	c.Faults += o.Faults
}

// sink takes cells in order; a workbook's and a CSV file's are alike.
type sink interface {
	Sheet(name string, widths ...float64)
	Row()
	Text(s string, look sinkLook)
	Number(v float64, look sinkLook)
}

type sinkLook int

const (
	plainLook sinkLook = iota
	titleLook
	headLook
	wholeLook
	fractionLook
	dateLook
)

// Workbook writes a book as .xlsx.
func (b *PortfolioBook) Workbook(w io.Writer) (PortfolioCount, error) {
	book := newbook.New(w, []newbook.Style{
		{Bold: true, Size: 15, Ink: ink}, {Bold: true, Ink: ink, Fill: paper, Under: ink, Thick: true}, {Format: "#,##0"}, {Format: "# ?/8"}, {Format: `yyyy\-mm\-dd`},
	})
	s := &bookSink{Book: book}
	b.lists(s)
	count, err := b.charts(s)
	if err != nil {
		return count, err
	}
	return count, book.Close()
}

type bookSink struct{ *newbook.Book }

func (s *bookSink) Sheet(name string, widths ...float64) {
	s.Book.Sheet(newbook.Sheet{Name: name, Widths: widths, Landscape: true})
}
func (s *bookSink) Text(t string, look sinkLook)    { s.Book.Text(t, int(look)) }
func (s *bookSink) Number(v float64, look sinkLook) { s.Book.Number(v, int(look)) }

// csvSink writes the sheets of a book as files.
type csvSink struct {
	create func(name string) (io.WriteCloser, error)
	file   io.WriteCloser
	out    *bufio.Writer
	buf    []byte
	cells  int
	rows   int
	err    error
}

// CSV writes a book as a folder of CSV files; create makes one of them.
func (b *PortfolioBook) CSV(create func(name string) (io.WriteCloser, error)) (PortfolioCount, error) {
	s := &csvSink{create: create}
	b.lists(s)
	count, err := b.charts(s)
	s.end()
	if err == nil {
		err = s.err
	}
	return count, err
}

func (s *csvSink) end() {
	if s.file == nil {
		return
	}
	s.out.WriteByte('\n')
	err := s.out.Flush()
	if e := s.file.Close(); err == nil {
		err = e
	}
	if s.err == nil {
		s.err = err
	}
	s.file = nil
}

func (s *csvSink) Sheet(name string, _ ...float64) {
	s.end()
	s.cells, s.rows = 0, 0
	if s.err != nil {
		return
	}
	s.file, s.err = s.create(strings.ToLower(strings.ReplaceAll(name, " ", "-")) + ".csv")
	if s.err == nil {
		s.out = bufio.NewWriterSize(s.file, 64<<10)
	}
}

func (s *csvSink) Row() {
	if s.rows++; s.rows > 1 && s.file != nil {
		s.out.WriteByte('\n')
	}
	s.cells = 0
}

func (s *csvSink) put(p []byte) {
	if s.file == nil {
		return
	}
	if s.cells++; s.cells > 1 {
		s.out.WriteByte(',')
	}
	// The buffered writer keeps its first error, which end gives.
	s.out.Write(p)
	s.buf = p[:0]
}

func (s *csvSink) Text(t string, look sinkLook) {
	if look == titleLook {
		return // a table of a CSV file begins with its headings
	}
	if strings.ContainsAny(t, ",\"\n") {
		t = `"` + strings.ReplaceAll(t, `"`, `""`) + `"`
	}
	s.put(append(s.buf[:0], t...))
}

func (s *csvSink) Number(v float64, look sinkLook) {
	if look == dateLook {
		day, _ := unit.SerialDate(v, false)
		s.put(day.AppendFormat(s.buf[:0], "2006-01-02"))
		return
	}
	s.put(strconv.AppendFloat(s.buf[:0], v, 'f', -1, 64))
}

// lists writes the tanks, the devices and the rules.
func (b *PortfolioBook) lists(s sink) {
	l, v := b.style.depth, b.style.volume
	s.Sheet("Tanks", 30, 12, 14, 12, 12, 12, 13, 14, 24, 30, 13, 12, 12, 18, 12, 13)
	_, book := s.(*bookSink)
	if book {
		s.Row()
		s.Text("Tanks in the device program, book "+strconv.Itoa(b.N+1)+" of an invented portfolio", titleLook)
		s.Row()
	}
	s.Row()
	for _, h := range []string{
		"Site", "Tank", "Product", "Nominal capacity (" + v.String() + ")", "Inside diameter (" + l.String() + ")", "Length (" + l.String() + ")", "Shape", "Ends", "Place", "Device",
		"Fill pipe installed", "Riser height (" + l.String() + ")", "Face to bottom (" + l.String() + ")", "Seal", "Alarm set at (" + l.String() + ")", "Last inspection",
	} {
		s.Text(h, headLook)
	}
	for t, err := range b.tanks() {
		if err != nil {
			break // charts meets it again and gives it
		}
		b.tankRow(s, t)
	}
	for _, x := range []struct {
		name string
		rows [][]string
	}{{"Devices", b.words.deviceRows}, {"Rules", b.words.ruleRows}} {
		s.Sheet(x.name, 26)
		for i, row := range x.rows {
			s.Row()
			for _, text := range row {
				if f, err := strconv.ParseFloat(text, 64); err == nil {
					s.Number(f, plainLook)
				} else if i == 0 {
					s.Text(text, headLook)
				} else {
					s.Text(text, plainLook)
				}
			}
		}
	}
}

func (b *PortfolioBook) tankRow(s sink, t *drawn) {
	u := b.style.depth
	length := func(x float64, asText bool) {
		switch {
		case x == 0:
			s.Text("", plainLook)
		case asText && !u.Metric():
			s.Text(unit.FractionText(unit.Length(x), 8, unit.Nearest), plainLook)
		case u.Metric():
			n := u.Number(unit.Length(x))
			s.Number(math.Round(n*10)/10, plainLook)
		default:
			s.Number(x, fractionLook)
		}
	}
	r := dice{t.seed + 7}
	typed := r.below(3) == 0
	wide := t.spec.Diameter
	if wide == 0 {
		wide = t.spec.Height
	}
	s.Row()
	s.Text(t.site, plainLook)
	s.Text(t.id, plainLook)
	s.Text(t.product, plainLook)
	full := b.style.volume.Number(unit.Volume(t.body.Full() / shape.CubicInchesPerGallon))
	s.Number(math.Round(full/100)*100, wholeLook)
	length(wide, false)
	length(t.spec.Length, false)
	s.Text(t.shape, plainLook)
	s.Text(t.ends, plainLook)
	s.Text(t.place, plainLook)
	s.Text(t.device, plainLook)
	s.Number(serial(t.installed.Unix()), dateLook)
	length(t.riser, typed)
	length(t.face, typed)
	s.Text(t.seal, plainLook)
	length(t.alarm, false)
	s.Number(serial(t.seen.Unix()), dateLook)
}

// tidy6 takes the noise of conversions out of a length.
func tidy6(x float64) float64 { return math.Round(x*1e6) / 1e6 }

// serial gives a day as sheets count it; 25,569 is 1970-01-01.
func serial(unix int64) float64 { return float64(unix/86400 + 25569) }

// charts writes the charts in the way of the book.
func (b *PortfolioBook) charts(s sink) (PortfolioCount, error) {
	count := PortfolioCount{Tanks: b.Tanks}
	l := b.style.layout
	_, workbook := s.(*bookSink)
	depth, volume := "Depth ("+b.style.depth.String()+")", "Volume ("+b.style.volume.String()+")"
	if l == ullageSheets {
		depth = "Ullage (" + b.style.depth.String() + ")"
	}
	sheets, at := 0, newbook.MaxRows
	next := func(name string) {
		sheets++
		s.Sheet(name, 14, 12, 14)
		at = 0
	}
	row := func() { at++; s.Row() }
	heads := func(list ...string) {
		row()
		for _, h := range list {
			s.Text(h, headLook)
		}
	}
	var rows []demoRow
	for t, err := range b.tanks() {
		if err != nil {
			return count, err
		}
		if t.fault != "" {
			count.Faults++
		}
		if rows = t.chart(b.style, rows); len(rows) == 0 {
			continue
		}
		count.Charts++
		count.Rows += len(rows)
		id := t.chartID()
		switch l {
		case oneList:
			// The first list is "Charts"; one that is full goes on in the next.
			if at+len(rows) > newbook.MaxRows && (workbook || sheets == 0) {
				name := "Charts"
				if sheets > 0 {
					name = fmt.Sprintf("Charts %d", sheets+1)
				}
				next(name)
				heads("Tank", depth, volume)
			}
			for _, x := range rows {
				row()
				s.Text(id, plainLook)
				s.Number(x.depth, plainLook)
				s.Number(x.volume, wholeLook)
			}
			continue
		case sheetEach:
			next(id)
			heads(depth, volume)
		case ullageSheets:
			next(id)
			row()
			top := tidy6(b.style.depth.Number(unit.Length(t.body.Height())))
			s.Text("Inside height ("+b.style.depth.String()+")", plainLook)
			s.Number(top, plainLook)
			row()
			heads(depth, volume)
			for i := len(rows) - 1; i >= 0; i-- {
				row()
				s.Number(tidy6(top-rows[i].depth), plainLook)
				s.Number(rows[i].volume, wholeLook)
			}
			continue
		case stackedCharts:
			if sheets == 0 {
				next("Charts")
			} else {
				row()
				row()
			}
			row()
			s.Text("Tank "+id, plainLook)
			heads(depth, volume)
		}
		for _, x := range rows {
			row()
			s.Number(x.depth, plainLook)
			s.Number(x.volume, wholeLook)
		}
	}
	return count, nil
}
