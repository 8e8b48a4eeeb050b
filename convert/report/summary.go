package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"

	"dropcut/convert/csvfile"
	"dropcut/convert/newbook"
	"dropcut/convert/writeback"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// column is a column of the table of tanks, in the workbook and in the CSV.
type column struct {
	heading string // of the CSV
	title   string // of the workbook, {in} and {gal} are its units
	width   float64
	style   int
	text    func(r *row) string
	figure  int // of a number; -1 for text
}

// row is a tank with its book.
type row struct {
	book *Book
	tank *Tank
}

const (
	styleTitle = iota + 1
	styleNote
	styleHead
	styleText
	styleLength
	styleVolume
	stylePercent
	styleWhole
	styleStop
	styleCheck
)

func styles() []newbook.Style {
	const ink, line, paper, sand, rose = "1F2A30", "9AA7A0", "E7ECE4", "F3E7CF", "EBCFC6"
	return []newbook.Style{
		{Bold: true, Size: 15, Ink: ink},
		{Italic: true, Ink: "5B6B73"},
		{Bold: true, Ink: ink, Fill: paper, Under: ink, Thick: true, Wrap: true},
		{Under: line},
		{Under: line, Format: "0.0000"},
		{Under: line, Format: "#,##0.0"},
		{Under: line, Format: "0.00"},
		{Under: line, Format: "#,##0"},
		{Under: line, Fill: rose, Bold: true},
		{Under: line, Fill: sand},
	}
}

func columns() []column {
	text := func(heading, title string, width float64, get func(*row) string) column {
		return column{heading: heading, title: title, width: width, style: styleText, text: get, figure: -1}
	}
	figure := func(heading, title string, style, at int) column {
		return column{heading: heading, title: title, width: 12, style: style, figure: at}
	}
	return []column{
		text("book", "Book", 26, func(r *row) string { return r.book.Path }),
		text("site", "Site", 24, func(r *row) string { return r.tank.Site }),
		text("tank", "Tank", 12, func(r *row) string { return r.tank.ID }),
		text("job", "Job", 10, func(r *row) string { return r.tank.Job }),
		text("product", "Product", 12, func(r *row) string { return r.tank.Product }),
		text("place", "Place", 14, func(r *row) string { return r.tank.Place }),
		text("device", "Device", 18, func(r *row) string { return r.tank.Device }),
		text("status", "Status", 9, func(r *row) string { return string(r.tank.Status) }),
		figure("full_volume", "Full volume ({gal})", styleVolume, FullVolume),
		figure("limit_percent", "Limit %", stylePercent, LimitPercent),
		figure("limit_volume", "Limit volume ({gal})", styleVolume, LimitVolume),
		figure("shutoff_depth", "Shutoff depth ({in})", styleLength, ShutoffDepth),
		figure("shutoff_volume", "Shutoff volume ({gal})", styleVolume, ShutoffVolume),
		figure("shutoff_percent", "Shutoff %", stylePercent, ShutoffPercent),
		figure("worst_percent", "Worst-case %", stylePercent, WorstPercent),
		figure("chance_over_limit", "Chance over limit %", stylePercent, ChanceOverLimit),
		figure("headspace", "Headspace ({in})", styleLength, Headspace),
		figure("tube_below_top", "Tube below tank top ({in})", styleLength, TubeBelowTop),
		figure("upper_tube", "Upper tube cut ({in})", styleLength, UpperTube),
		figure("drop_length", "Drop length ({in})", styleLength, DropLength),
		figure("lower_tube", "Lower tube cut ({in})", styleLength, LowerTube),
		figure("alarm_depth", "Alarm depth ({in})", styleLength, AlarmDepth),
		text("as_found", "Tube as found", 22, func(r *row) string { return r.tank.AsFound }),
		text("last_inspection", "Last inspection", 12, func(r *row) string { return r.tank.LastInspection }),
		text("next_inspection", "Next inspection", 12, func(r *row) string { return r.tank.NextInspection }),
		text("flags", "Findings", 60, func(r *row) string { return flagsText(r.tank.Flags) }),
	}
}

// number gives a figure in the units of the report.
func (u Units) number(at int, n Num) (float64, bool) {
	v := n.V
	switch at {
	case FullVolume, LimitVolume, ShutoffVolume:
		v = u.Volume.Number(unit.Volume(v))
	case LimitPercent, ShutoffPercent, WorstPercent, ChanceOverLimit:
	default:
		v = u.Length.Number(unit.Length(v))
	}
	return v, n.Known && !math.IsNaN(v) && !math.IsInf(v, 0)
}

// eachTank goes through all tanks in the order of the books.
func (f *Folder) eachTank(do func(r *row) error) error {
	for i, r := range f.records.books(withTanks) {
		if r.err != nil {
			return r.err
		}
		for _, t := range f.tanks(i, r.book) {
			if err := do(&row{r.book, t}); err != nil {
				return err
			}
		}
	}
	return nil
}

// WriteCSV writes a line a tank: UTF-8, LF, headings first, figures in full.
func (f *Folder) WriteCSV(w io.Writer) error {
	out := csv.NewWriter(w)
	cols := columns()
	line := make([]string, len(cols))
	for i, c := range cols {
		line[i] = c.heading
	}
	if err := out.Write(line); err != nil {
		return err
	}
	err := f.eachTank(func(r *row) error {
		for i, c := range cols {
			if c.figure < 0 {
				line[i] = csvfile.Inert(c.text(r))
				continue
			}
			line[i] = ""
			if v, ok := f.Units.number(c.figure, r.tank.Figures[c.figure]); ok {
				line[i] = strconv.FormatFloat(v, 'f', -1, 64)
			}
		}
		return out.Write(line)
	})
	out.Flush()
	if err == nil {
		err = out.Error()
	}
	return err
}

// WriteWorkbook writes the summary workbook. The sheets but the first hold one
// plain table each, with the headings in the first row, so that a pivot table or
// a filter can be put on them as they are.
func (f *Folder) WriteWorkbook(w io.Writer) error {
	b := newbook.New(w, styles())
	s := &sheets{Book: b, units: f.Units}
	f.overviewSheet(s)
	if err := f.tanksSheet(s); err != nil {
		return err
	}
	if err := f.findingsSheet(s); err != nil {
		return err
	}
	f.orderSheet(s)
	f.inspectionsSheet(s)
	f.changesSheet(s)
	if err := f.booksSheet(s); err != nil {
		return err
	}
	return b.Close()
}

// sheets writes plain tables; one that is longer than a sheet goes on on the
// next.
type sheets struct {
	*newbook.Book
	units  Units
	name   string
	part   int
	titles []string
	widths []float64
}

func (s *sheets) table(name string, widths []float64, titles ...string) {
	s.name, s.part, s.titles, s.widths = name, 1, titles, widths
	s.begin(name)
}

func (s *sheets) begin(name string) {
	s.Sheet(newbook.Sheet{Name: name, Widths: s.widths, Head: 1, Repeat: 1, Landscape: true})
	s.Row()
	for _, t := range s.titles {
		s.Text(t, styleHead)
	}
}

// line begins a row of the table in hand.
func (s *sheets) line() {
	if s.At() >= newbook.MaxRows {
		s.part++
		s.begin(fmt.Sprintf("%s %d", s.name, s.part))
	}
	s.Row()
}

// text writes a text, cut to what a cell holds.
func (s *sheets) text(t string, style int) {
	const most = 32_000
	if len(t) > most {
		cut := most
		for cut > 0 && t[cut]&0xC0 == 0x80 {
			cut--
		}
		t = t[:cut] + " (and more)"
	}
	s.Text(t, style)
}

func (s *sheets) texts(style int, list ...string) {
	for _, t := range list {
		s.text(t, style)
	}
}

func (f *Folder) overviewSheet(s *sheets) {
	s.Sheet(newbook.Sheet{Name: "Overview", Widths: []float64{30, 12, 12, 16, 12, 70}})
	put := func(style int, list ...string) {
		s.Row()
		s.texts(style, list...)
	}
	put(styleTitle, "Tanks of "+f.Name)
	put(styleNote, f.StatusLine())
	if f.Settings != "" {
		put(styleNote, "planned with "+f.Settings)
	}
	for _, c := range writeback.Cautions {
		put(styleNote, c)
	}
	s.Row()
	put(styleHead, "Status", "Tanks")
	for _, st := range statuses() {
		s.Row()
		s.Text(string(st), styleText)
		s.Number(float64(f.Status[st]), styleWhole)
	}
	s.Row()
	put(styleHead, "Finding", "Severity", "Findings", "Of this severity", "Tanks", "What it means")
	for _, k := range f.Kinds {
		s.Row()
		s.texts(styleText, string(k.Slug))
		s.Text(k.Worst.String(), severityStyle(k.Worst))
		s.Number(float64(k.Findings), styleWhole)
		s.Number(float64(k.Severe), styleWhole)
		s.Number(float64(k.Tanks), styleWhole)
		s.text(k.About, styleText)
	}
	s.Row()
	put(styleHead, "Inspections due", "Tanks")
	for m, n := range f.months() {
		s.Row()
		s.Text(m, styleText)
		s.Number(float64(n), styleWhole)
	}
	s.Row()
	put(styleHead, "Changes since the run before")
	put(styleText, f.Changes.Summary())
	if len(f.Failed) > 0 {
		s.Row()
		put(styleHead, "Book that could not be done", "Why")
		for _, x := range f.Failed {
			put(styleText, x.Path, x.Why)
		}
	}
}

// months counts the inspections by month, in order.
func (f *Folder) months() func(yield func(string, int) bool) {
	return func(yield func(string, int) bool) {
		month, n := "", 0
		for _, d := range f.Due {
			if d.Month() != month {
				if n > 0 && !yield(month, n) {
					return
				}
				month, n = d.Month(), 0
			}
			n++
		}
		if n > 0 {
			yield(month, n)
		}
	}
}

func (f *Folder) tanksSheet(s *sheets) error {
	cols := columns()
	titles, widths := make([]string, len(cols)), make([]float64, len(cols))
	for i, c := range cols {
		titles[i], widths[i] = titleOf(c.title, f.Units), c.width
	}
	s.table("Tanks", widths, titles...)
	return f.eachTank(func(r *row) error {
		s.line()
		for _, c := range cols {
			if c.figure < 0 {
				style := c.style
				if c.heading == "status" {
					style = statusStyle(string(r.tank.Status))
				}
				s.text(c.text(r), style)
				continue
			}
			if v, ok := f.Units.number(c.figure, r.tank.Figures[c.figure]); ok {
				s.Number(v, c.style)
			} else {
				s.Text("", c.style)
			}
		}
		return nil
	})
}

func statusStyle(status string) int {
	switch status {
	case "stop":
		return styleStop
	case "check":
		return styleCheck
	}
	return styleText
}

func severityStyle(s finding.Severity) int { return statusStyle(s.String()) }

func (f *Folder) findingsSheet(s *sheets) error {
	s.table("Findings", []float64{9, 26, 26, 22, 12, 12, 34, 9, 40, 34, 44, 44},
		"Severity", "Finding", "Book", "Site", "Tank", "Chart", "Where", "Depth", "Found", "Expected", "Why", "What to do")
	put := func(book string, n Note) {
		s.line()
		s.Text(n.Severity.String(), severityStyle(n.Severity))
		s.texts(styleText, string(n.Slug), book, n.Site, n.Tank, n.Chart, n.Where, n.Depth, n.Found, n.Expected, n.Why, n.Suggestion)
	}
	for i, r := range f.records.books(withFindings) {
		if r.err != nil {
			return r.err
		}
		for _, n := range r.book.Findings {
			put(r.book.Path, n)
		}
		for _, x := range f.across[i] {
			put(r.book.Path, noteOf(x.Finding))
		}
	}
	return nil
}

func (f *Folder) orderSheet(s *sheets) {
	s.table("Order", []float64{24, 16, 16, 14, 14, 16, 16},
		"Device", "Item", titleOf("Stock length ({in})", f.Units), "To order for tanks that are ready", "To order with those to be looked at first", "Pieces of ready tanks", "Pieces with those to be looked at")
	for _, o := range f.Orders {
		s.line()
		s.texts(styleText, o.Device, o.Item)
		if o.Stock.Known {
			s.Number(f.Units.Length.Number(unit.Length(o.Stock.V)), styleLength)
		} else {
			s.Text("", styleText)
		}
		for _, n := range []int{o.Ready, o.All, o.Pieces, o.AllPieces} {
			s.Number(float64(n), styleWhole)
		}
	}
}

func (f *Folder) inspectionsSheet(s *sheets) {
	s.table("Inspections", []float64{12, 10, 12, 24, 12, 26, 60}, "Due by", "Month", "Last", "Site", "Tank", "Book", "Rule")
	for _, d := range f.Due {
		s.line()
		style := styleText
		if f.Day != "" && d.Day < f.Day {
			style = styleCheck
		}
		s.Text(d.Day, style)
		s.texts(styleText, d.Month(), d.Last, d.Site, d.Tank, d.Book, d.Rule)
	}
}

func (f *Folder) changesSheet(s *sheets) {
	s.table("Changes", []float64{26, 24, 12, 18, 34, 34, 10}, "Book", "Site", "Tank", "What", "Before", "Now", "Shutoff moved")
	for _, c := range f.Changes.List {
		s.line()
		style := styleText
		if c.Moved == "up" {
			style = styleCheck
		}
		s.texts(styleText, c.Book, c.Site, c.Tank, c.What, c.Old, c.New)
		s.text(c.Moved, style)
	}
	if more := f.Changes.Count - len(f.Changes.List); more > 0 {
		s.line()
		s.texts(styleNote, "and "+count(more, "change more", "changes more"))
	}
}

func (f *Folder) booksSheet(s *sheets) error {
	s.table("Books", []float64{30, 9, 9, 9, 9, 9, 9, 11, 60, 60}, "Book", "Tanks", "Ready", "Measure", "Check", "Stop", "Charts", "Chart rows", "Written", "Could not be done, or notes")
	for i, r := range f.records.books(headOnly) {
		if r.err != nil {
			return r.err
		}
		b, n := r.book, f.stands[i]
		s.line()
		style := styleText
		why := b.Failed
		if why != "" {
			style = styleStop
		} else {
			why = joined(b.Notes)
		}
		s.text(b.Path, style)
		s.Number(float64(n.tanks), styleWhole)
		for _, tanks := range n.status {
			s.Number(float64(tanks), styleWhole)
		}
		s.Number(float64(b.Charts), styleWhole)
		s.Number(float64(b.Rows), styleWhole)
		s.texts(styleText, joined(b.Files), why)
	}
	return nil
}
