package intake

import (
	"bufio"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"dropcut/convert/csvfile"
	"dropcut/convert/intake/headword"
	"dropcut/convert/intake/idform"
	"dropcut/convert/intake/join"
	"dropcut/convert/intake/survey"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// ChartRecord is one line of what inspect says of charts: where a chart was
// found and what its two ends are in inches and US gallons. The ends are empty
// where a unit or the height is not known.
type ChartRecord struct {
	File        string `csv:"file" json:"file"`
	Sheet       string `csv:"sheet" json:"sheet"`
	Range       string `csv:"range" json:"range"`
	Layout      string `csv:"layout" json:"layout"`
	Tank        string `csv:"tank" json:"tank"`
	Rows        int    `csv:"rows" json:"rows"`
	FirstDepth  string `csv:"first_depth_in" json:"first_depth_in"`
	FirstVolume string `csv:"first_volume_gal" json:"first_volume_gal"`
	LastDepth   string `csv:"last_depth_in" json:"last_depth_in"`
	LastVolume  string `csv:"last_volume_gal" json:"last_volume_gal"`
	DepthUnit   string `csv:"depth_unit" json:"depth_unit"`
	VolumeUnit  string `csv:"volume_unit" json:"volume_unit"`
	UnitsFrom   string `csv:"units_from" json:"units_from"`
}

// inspectColumns are the columns of inspect's CSV, in order.
var inspectColumns = []string{
	"file", "sheet", "range", "layout", "tank", "rows", "first_depth_in", "first_volume_gal", "last_depth_in", "last_volume_gal", "depth_unit", "volume_unit", "units_from",
}

// Inspect gives a record for each chart, in file order.
func Inspect(r *Reading) []ChartRecord {
	list := make([]ChartRecord, 0, len(r.Job.Charts))
	torn := unitsInConflict(r)
	for _, c := range r.Job.Charts {
		x := ChartRecord{
			File: c.At.File, Sheet: c.At.Sheet, Range: cell.Range(c.At, c.To), Layout: c.Layout, Tank: idform.Plain(c.Name), Rows: c.Len(),
			DepthUnit: c.DepthUnit.String(), VolumeUnit: c.VolumeUnit.String(), UnitsFrom: unitsFrom(c),
		}
		if torn[chartKey{c.At.File, c.At.Sheet, c.Name, c.Site}] {
			// Two places name two units, so that none is known.
			x.DepthUnit, x.VolumeUnit, x.UnitsFrom = "", "", ""
		} else if c.Len() > 0 && scaleKnown(c) {
			first, last := c.Rows[0], c.Rows[c.Len()-1]
			x.FirstDepth, x.LastDepth = inches(c, first.Depth), inches(c, last.Depth)
			x.FirstVolume, x.LastVolume = gallons(c, first.Volume), gallons(c, last.Volume)
		}
		list = append(list, x)
	}
	return list
}

// chartKey tells charts apart in findings.
type chartKey struct{ file, sheet, name, site string }

// unitsInConflict gives the charts for which two places name different units.
func unitsInConflict(r *Reading) map[chartKey]bool {
	torn := map[chartKey]bool{}
	for i := range r.Job.Findings {
		if f := &r.Job.Findings[i]; f.Slug == finding.UnitsConflict {
			for _, c := range r.Job.Charts {
				if c.At.File == f.At.File && c.At.Sheet == f.At.Sheet && c.Name == f.Chart {
					torn[chartKey{c.At.File, c.At.Sheet, c.Name, c.Site}] = true
				}
			}
		}
	}
	return torn
}

// scaleKnown reports whether the numbers of a chart are known lengths and
// volumes: both units, and the height where depths are counted from the top.
func scaleKnown(c *chart.Chart) bool {
	return c.UnitsKnown() && (!c.Ullage || c.FullHeight.Given())
}

func inches(c *chart.Chart, n float64) string { return fourDecimals(float64(c.DepthUnit.Length(n))) }

func gallons(c *chart.Chart, n float64) string { return fourDecimals(float64(c.VolumeUnit.Volume(n))) }

// fourDecimals prints a number to four decimals without the zeros at its end; ""
// where it is none.
func fourDecimals(x float64) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return ""
	}
	s := strings.TrimRight(strings.TrimRight(strconv.FormatFloat(x, 'f', 4, 64), "0"), ".")
	if s == "-0" {
		return "0"
	}
	return s
}

// unitsFrom names the places that gave the units of a chart: cells of its own
// sheet by their address, others with their sheet or file.
func unitsFrom(c *chart.Chart) string {
	var places []string
	for _, at := range [...]cell.Ref{c.DepthUnitFrom, c.VolumeUnitFrom} {
		if at.IsZero() {
			continue
		}
		s := at.String()
		switch {
		case at.File == c.At.File && at.Sheet == c.At.Sheet && at.A1() != "":
			s = at.A1()
		case at.File == c.At.File && at.Cell() != "":
			s = at.Cell()
		}
		if !slices.Contains(places, s) {
			places = append(places, s)
		}
	}
	return strings.Join(places, "; ")
}

// WriteInspectCSV prints the records with their header.
func WriteInspectCSV(w io.Writer, list []ChartRecord) error {
	out := csv.NewWriter(w)
	if err := out.Write(inspectColumns); err != nil {
		return err
	}
	for _, x := range list {
		line := []string{
			x.File, x.Sheet, x.Range, x.Layout, x.Tank, strconv.Itoa(x.Rows), x.FirstDepth, x.FirstVolume, x.LastDepth, x.LastVolume, x.DepthUnit, x.VolumeUnit, x.UnitsFrom,
		}
		for i, text := range line {
			line[i] = csvfile.Inert(text)
		}
		if err := out.Write(line); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// WriteInspectText prints for people how the books were read: bytes, sheets,
// tables with their columns and units, rows read and passed over, charts, and
// which tank got which chart.
func WriteInspectText(w io.Writer, r *Reading) error {
	p := &printer{w: bufio.NewWriter(w)}
	for _, b := range r.Books {
		p.book(r, b)
	}
	p.joins(r)
	return p.w.Flush()
}

// printer keeps no error: a bufio.Writer gives the first one at its Flush.
type printer struct{ w *bufio.Writer }

func (p *printer) line(format string, args ...any) { fmt.Fprintf(p.w, format+"\n", args...) }

func (p *printer) book(r *Reading, b survey.BookNote) {
	p.line("%s", b.File)
	for _, n := range b.Notes {
		p.line("  %s", n)
	}
	for _, sh := range b.Sheets {
		name := "the file"
		if sh.At.Sheet != "" {
			name = "sheet " + sh.At.Sheet
		} else if sh.At.File != b.File {
			name = sh.At.File
		}
		if sh.Hidden {
			name += " (hidden)"
		}
		switch sh.What {
		case survey.OurSheet:
			p.line("  %s: written by dropcut, passed over", name)
		case survey.EmptySheet:
			p.line("  %s: empty", name)
		default:
			p.line("  %s: %s; %s", name, sh.What, sh.Why)
		}
		for i := range r.Tables {
			if t := &r.Tables[i]; t.At.File == sh.At.File && t.At.Sheet == sh.At.Sheet {
				p.table(t)
			}
		}
		for i := range r.Lists {
			if l := &r.Lists[i]; l.At.File == sh.At.File && l.At.Sheet == sh.At.Sheet && len(l.Unknown) > 0 {
				var names []string
				for _, u := range l.Unknown {
					names = append(names, fmt.Sprintf("%s %q", cell.ColumnName(u.Col), u.Text))
				}
				p.line("      columns that mean nothing to dropcut: %s", strings.Join(names, ", "))
			}
		}
		for _, c := range r.Job.Charts {
			if c.At.File == sh.At.File && c.At.Sheet == sh.At.Sheet {
				p.chart(c)
			}
		}
	}
	p.line("")
}

func (p *printer) table(t *survey.Table) {
	head := ""
	if t.HeaderRow > 0 {
		head = fmt.Sprintf(", headings in row %d", t.HeaderRow)
	}
	p.line("    %s %s%s, %s read", t.Layout, cell.Range(t.At, t.To), head, howMany(t.Rows, "row"))
	for _, c := range t.Columns {
		if c.Means == "" {
			continue
		}
		where := cell.ColumnName(c.Col)
		if c.Col == 0 && c.Row > 0 {
			where = "row " + strconv.Itoa(c.Row)
		}
		text := fmt.Sprintf("      %s %q: %s", where, oneLine(c.Heading), c.Means)
		if c.Unit != "" {
			text += " in " + c.Unit
			if !c.UnitFrom.IsZero() {
				from := c.UnitFrom.A1()
				if from == "" {
					from = c.UnitFrom.String()
				}
				text += " (from " + from + ")"
			}
		}
		if c.Decimal != "" {
			text += ", " + c.Decimal
		}
		p.line("%s", text)
	}
	for _, x := range t.Passed {
		rows := fmt.Sprintf("row %d", x.Row)
		if x.ToRow > x.Row {
			rows = fmt.Sprintf("rows %d to %d", x.Row, x.ToRow)
		}
		p.line("      passed over: %s, %s", rows, x.Why)
	}
}

func (p *printer) chart(c *chart.Chart) {
	name := idform.Plain(c.Name)
	if name == "" {
		name = "without a name"
	}
	text := fmt.Sprintf("    chart %s: %s, %s", name, cell.Range(c.At, c.To), howMany(c.Len(), "row"))
	if n := c.Len(); n > 0 {
		first, last := c.Rows[0], c.Rows[n-1]
		text += fmt.Sprintf(", depth %s to %s%s, volume %s to %s%s", number(first.Depth), number(last.Depth), symbol(c.DepthUnit.String()), number(first.Volume), number(last.Volume), symbol(c.VolumeUnit.String()))
	}
	if from := unitsFrom(c); from != "" {
		text += ", units from " + from
	}
	if !c.UnitsKnown() {
		text += guess(c)
	}
	if c.Ullage {
		text += ", counted from the top down"
		if c.FullHeight.Given() {
			text += " from a height of " + unit.LengthText(c.FullHeight.V, unit.Inches, 4, unit.Nearest) + " (" + c.FullHeight.At.A1() + ")"
		}
	}
	if len(c.Odd) > 0 {
		text += ", " + howMany(len(c.Odd), "odd cell")
	}
	p.line("%s", text)
}

// guess says which units the numbers look like, in so many words that nobody
// takes it for a reading. Most tanks are 40 to 180 in high and hold 250 to
// 50,000 gal (common practice, no source).
func guess(c *chart.Chart) string {
	depth, volume, _, ok := join.Ends(c)
	if !ok {
		return "; units unknown"
	}
	var lengths, volumes []string
	for _, u := range [...]unit.LengthUnit{unit.Inches, unit.Centimetres, unit.Millimetres, unit.Feet, unit.Metres} {
		if l := u.Length(depth); l >= 40 && l <= 180 {
			lengths = append(lengths, u.String())
		}
	}
	for _, u := range [...]unit.VolumeUnit{unit.USGallons, unit.Litres, unit.CubicMetres} {
		if v := u.Volume(volume); v >= 250 && v <= 50000 {
			volumes = append(volumes, u.String())
		}
	}
	if c.DepthUnit != 0 {
		lengths = []string{c.DepthUnit.String()}
	}
	if c.VolumeUnit != 0 {
		volumes = []string{c.VolumeUnit.String()}
	}
	if len(lengths) == 0 || len(volumes) == 0 {
		return "; units unknown"
	}
	return fmt.Sprintf("; units unknown (by its size it could be %s and %s; if so, give --chart-units %s,%s)", strings.Join(lengths, " or "), strings.Join(volumes, " or "), lengths[0], volumes[0])
}

func (p *printer) joins(r *Reading) {
	if len(r.Joins) == 0 {
		return
	}
	p.line("tanks and their charts")
	for _, j := range r.Joins {
		t := &r.Job.Tanks[j.Tank]
		name := t.ID.V
		if t.Site.V != "" {
			name = t.Site.V + ", " + name
		}
		if j.Chart < 0 {
			p.line("  %s (%s): no chart; %s", name, t.ID.At.Cell(), j.How)
			continue
		}
		c := r.Job.Charts[j.Chart]
		at := c.At
		place := cell.Ref{Sheet: at.Sheet, Col: at.Col, Row: at.Row}.Cell()
		if at.File != t.At.File {
			place = at.String()
		}
		p.line("  %s (%s): chart %s at %s; %s", name, t.ID.At.Cell(), join.OrUnnamed(idform.Plain(c.Name)), place, j.How)
	}
}

func howMany(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return strconv.Itoa(n) + " " + what + "s"
}

func number(x float64) string {
	if s := fourDecimals(x); s != "" {
		return s
	}
	return "(unreadable)"
}

func symbol(s string) string {
	if s == "" {
		return ""
	}
	return " " + s
}

// oneLine shows a heading of several lines on one.
func oneLine(s string) string { return headword.Tidy(s) }
