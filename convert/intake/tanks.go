package intake

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"dropcut/convert/grid"
	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// listTable starts the description of a list for inspect.
func listTable(at cell.Ref, layout string, hd *header) Table {
	tb := Table{At: at, To: at, Layout: layout, HeaderRow: hd.last}
	tb.At.Row, tb.To.Row = hd.first, max(hd.last, hd.units)
	for i := range hd.cols {
		c := &hd.cols[i]
		if tb.At.Col == 0 {
			tb.At.Col = c.col
		}
		tb.To.Col = max(tb.To.Col, c.col)
		col := Column{Col: c.col, Heading: c.text, UnitFrom: c.from}
		switch {
		case isOurs(c.text):
			col.Means = "written by dropcut"
		case c.known:
			col.Means = string(c.field.field)
		}
		switch {
		case !c.known:
			col.UnitFrom = cell.Ref{}
		case c.length != 0:
			col.Unit = c.length.String()
		case c.volume != 0:
			col.Unit = c.volume.String()
		}
		tb.Columns = append(tb.Columns, col)
	}
	return tb
}

func (t *Table) take(row int) {
	t.Rows++
	t.To.Row = max(t.To.Row, row)
}

// pass notes a row that was passed over; neighbours with the same reason are
// one run.
func (t *Table) pass(row int, why string) {
	if n := len(t.Passed); n > 0 && t.Passed[n-1].Why == why && t.Passed[n-1].ToRow == row-1 {
		t.Passed[n-1].ToRow = row
		return
	}
	t.Passed = append(t.Passed, Passed{Row: row, ToRow: row, Why: why})
}

// stopFields are those without which, misread, a tube would be cut wrong.
var stopFields = map[Field]bool{
	FieldLimit: true, FieldDiameter: true, FieldRiserHeight: true, FieldFaceToBottom: true, FieldSeal: true, FieldRise: true, FieldLowEnd: true,
	FieldFillStation: true, FieldDipStation: true, FieldChartDepthUnit: true, FieldChartVolumeUnit: true, FieldClearance: true, FieldCutAngle: true,
	FieldStrikerPlate: true, FieldFillPipeInstalled: true, FieldTestVariant: true, FieldTank: true, FieldChart: true, FieldDevice: true, FieldPlace: true,
}

// totals are the words that begin a row of sums.
var totals = regexp.MustCompile(`^(grand |sub|sub-|sub )?(totals?|sums?|summe|gesamt|gesamtsumme|zwischensumme|somme|suma|average|mean|count|anzahl|total general|total generale)\b`)

// tankReader reads one Tanks sheet.
type tankReader struct {
	*values
	hd    *header
	out   *findingsOf
	table Table
	list  TankList
	tanks []plan.Tank
	seen  map[string]int // index in tanks by id and compartment
	end   int            // row in which a chart begins below the list; 0 for none
}

// readTanks reads a sheet that was taken for a list of tanks. base is the index
// that its first tank gets in the job.
func readTanks(sh grid.Sheet, h *head, hd *header, base int, out *findingsOf) (*tankReader, error) {
	t := &tankReader{hd: hd, out: out, table: listTable(sh.At(), "tank list", hd), seen: map[string]int{}}
	t.list = TankList{At: sh.At(), HeaderRow: hd.last, Columns: map[Field]int{}, Ours: map[string]int{}}
	for i := range hd.cols {
		c := &hd.cols[i]
		t.list.LastCol = max(t.list.LastCol, c.col)
		switch {
		case isOurs(c.text):
			t.list.Ours[c.text] = c.col
		case !c.known:
			t.list.Unknown = append(t.list.Unknown, Heading{c.col, c.text})
		default:
			t.list.Columns[c.field.field] = hd.col(c.field.field)
		}
	}
	rows, err := t.collect(sh, h)
	if err != nil {
		return nil, err
	}
	if err := t.beyond(sh); err != nil {
		return nil, err
	}
	t.values = settle(sh.At(), h, hd, rows)
	t.duplicateHeadings()
	t.tanks = make([]plan.Tank, 0, len(rows)) // a tank is large; growing copies it
	var site cell.Of[string]                  // of a title row above the tanks
	for i := range rows {
		t.row(&rows[i], base, &site)
	}
	if err := t.hidden(sh, rows); err != nil {
		return nil, err
	}
	return t, nil
}

// collect keeps the rows below the headings, with the cells that merged areas
// cover filled from their first cell.
func (t *tankReader) collect(sh grid.Sheet, h *head) ([]rawRow, error) {
	var rows []rawRow
	start, id, above := max(t.hd.last, t.hd.units), t.hd.col(FieldTank), 0
	for r, err := range sh.Rows() {
		if err != nil {
			return nil, err
		}
		for i := range r.Cells {
			if t.end == 0 && (len(r.Cells[i].Raw) > 0 || r.Cells[i].Formula) {
				t.list.LastCol = max(t.list.LastCol, r.Cells[i].Col)
			}
		}
		if r.N <= start {
			above = t.list.LastCol
		}
		if r.N <= start || t.end > 0 {
			continue
		}
		rows = append(rows, keepRow(r))
		if n := len(rows); n > 1 && startsChart(&rows[n-2], &rows[n-1], id) && !t.isHeadingAgain(&rows[n-2]) {
			rows = t.cut(rows, n-2)
			t.list.LastCol = above
			for i := range rows {
				if c := rows[i].cells; len(c) > 0 {
					t.list.LastCol = max(t.list.LastCol, c[len(c)-1].col)
				}
			}
		}
	}
	if len(h.merges) == 0 {
		if err := h.readMerges(sh); err != nil { // known by now
			return nil, err
		}
	}
	for _, m := range h.merges {
		if m.ToRow <= m.Row || m.Row <= start {
			continue
		}
		// Down a column only: a name written once for several tanks.
		k, ok := slices.BinarySearchFunc(rows, m.Row, func(r rawRow, n int) int { return r.n - n })
		if !ok {
			continue
		}
		first := rows[k].at(m.Col)
		if first == nil || m.Col == t.hd.col(FieldTank) {
			continue
		}
		copied := *first
		for k++; k < len(rows) && rows[k].n <= m.ToRow; k++ {
			if rows[k].at(m.Col) == nil {
				rows[k].cells = append(rows[k].cells, copied)
				slices.SortFunc(rows[k].cells, func(a, b rawCell) int { return a.col - b.col })
			}
		}
	}
	return rows, nil
}

// beyond puts the last column of a list that is a part of its sheet behind
// everything that stands beside its rows, since new columns are written there.
func (t *tankReader) beyond(sh grid.Sheet) error {
	a, ok := sh.(area)
	if !ok {
		return nil
	}
	for {
		inner, ok := a.Sheet.(area)
		if !ok {
			break
		}
		a = inner
	}
	for r, err := range a.Sheet.Rows() {
		if err != nil {
			return err
		}
		if n := len(r.Cells); n > 0 && r.N >= t.hd.first && (t.end == 0 || r.N < t.end) {
			t.list.LastCol = max(t.list.LastCol, r.Cells[n-1].Col)
		}
	}
	return nil
}

// cut ends the list before the chart whose headings stand in rows[k], and before
// the titles right above them.
func (t *tankReader) cut(rows []rawRow, k int) []rawRow {
	for k > 0 && len(rows[k-1].cells) <= 2 && onlyWords(&rows[k-1]) && rows[k].n-rows[k-1].n <= 3 {
		k--
	}
	t.end = rows[k].n
	return rows[:k]
}

func (t *tankReader) refAt(col, row int) cell.Ref {
	return cell.Ref{File: t.list.At.File, Sheet: t.list.At.Sheet, Col: col, Row: row}
}

// duplicateHeadings says which fields have two columns.
func (t *tankReader) duplicateHeadings() {
	done := map[Field]bool{}
	for i := range t.hd.cols {
		f := t.hd.cols[i].field.field
		found := t.hd.find(f)
		if !t.hd.cols[i].known || done[f] || len(found) < 2 {
			continue
		}
		done[f] = true
		var names []string
		var related []cell.Ref
		for _, c := range found {
			names = append(names, fmt.Sprintf("%q in column %s", c.text, cell.ColumnName(c.col)))
			related = append(related, c.at)
		}
		t.out.add(finding.Finding{
			Slug: finding.DuplicateHeader, Severity: finding.Note, At: found[0].at, Related: related[1:],
			Found: strings.Join(names, " and "), Expected: "one column for " + string(f),
			Why:        "both headings mean the same; where both are filled and differ, the tank gets a finding of its own",
			Suggestion: "rename or delete the column that does not hold",
		})
	}
}

// row reads one row of the list.
func (t *tankReader) row(r *rawRow, base int, site *cell.Of[string]) {
	idCol := t.hd.col(FieldTank)
	id := r.at(idCol)
	known, measured, filled := 0, 0, 0
	only := (*rawCell)(nil)
	for i := range r.cells {
		c := &r.cells[i]
		if c.blank() || t.oursCol(c.col) {
			continue
		}
		filled++
		only = c
		if f := t.fieldOf(c.col); f != nil && !empty(c, f.kind) {
			known++
			if f.field != FieldTank && f.field != FieldNominal && f.field != FieldCertified && f.field != FieldSite {
				measured++
			}
		}
	}
	switch {
	case filled == 0:
		return
	case t.isHeadingAgain(r):
		t.table.pass(r.n, "the headings again")
		return
	case t.total(r):
		t.table.pass(r.n, "a total")
		return
	case filled == 1 && t.hd.fields > 2 && only.kind == grid.Text && (only.col != idCol || strings.ContainsFunc(strings.TrimFunc(only.text, isBlank), isBlank)):
		// A text alone in its row is a title; the site's name, mostly.
		t.table.pass(r.n, "a title: one text and nothing else")
		*site = cell.Of[string]{V: neat(only.text), Raw: only.text, At: t.refAt(only.col, r.n)}
		return
	case empty(id, kindText):
		if measured > 0 {
			t.out.add(finding.Finding{
				Slug: finding.TankWithoutName, Severity: finding.Check, At: t.refAt(idCol, r.n), Found: fmt.Sprintf("no tank, and %d other values", known),
				Expected: "the tank's name", Why: "values that belong to no tank are not used", Suggestion: "write the tank's name into " + t.refAt(idCol, r.n).A1() + ", or empty the row",
			})
			t.table.pass(r.n, "no tank is named in it")
			return
		}
		t.table.pass(r.n, "no tank is named in it: a subtotal or a note")
		return
	}
	if bad := sound(id); bad.bad() {
		t.out.add(finding.Finding{Slug: bad.slug, Severity: finding.Stop, At: t.refAt(idCol, r.n), Found: id.text, Expected: "the tank's name", Why: bad.why, Suggestion: bad.suggestion})
		t.table.pass(r.n, "the tank's name cannot be read")
		return
	}
	tk := plan.Tank{At: t.refAt(0, r.n)}
	name := id.text
	if id.kind == grid.Number && powers(name) {
		// Stored in powers of ten, shown as the number that it is.
		name = strconv.FormatFloat(id.num, 'f', -1, 64)
	}
	tk.ID = cell.Of[string]{V: neat(name), Raw: name, At: t.refAt(idCol, r.n)}
	if comp := r.at(t.hd.col(FieldCompartment)); t.hd.col(FieldCompartment) > 0 && !empty(comp, kindText) {
		tk.ID.V += "/" + neat(comp.text)
	}
	// Site first, so that findings can name it.
	t.text(&tk, r, FieldSite, &tk.Site)
	if !tk.Site.Given() && t.hd.col(FieldSite) == 0 {
		tk.Site = *site
	}
	t.fill(&tk, r)
	t.table.take(r.n)
	if t.list.FirstRow == 0 {
		t.list.FirstRow = r.n
	}
	t.list.LastRow = r.n
	t.list.Rows = append(t.list.Rows, r.n)
	t.list.Tanks = append(t.list.Tanks, base+len(t.tanks))
	t.tanks = append(t.tanks, tk)
}

func (t *tankReader) oursCol(col int) bool {
	for _, c := range t.list.Ours {
		if c == col {
			return true
		}
	}
	return false
}

func (t *tankReader) fieldOf(col int) *fieldWords {
	for i := range t.hd.cols {
		if t.hd.cols[i].col == col && t.hd.cols[i].known {
			return &t.hd.cols[i].field
		}
	}
	return nil
}

// isHeadingAgain tells a heading that was repeated, at a page break say.
func (t *tankReader) isHeadingAgain(r *rawRow) bool {
	same := 0
	for i := range t.hd.cols {
		c := r.at(t.hd.cols[i].col)
		if c != nil && neat(c.text) == neat(t.hd.cols[i].text) {
			same++
		}
	}
	return same >= 2 && 2*same > len(t.hd.cols)
}

func (t *tankReader) total(r *rawRow) bool {
	for i := range r.cells {
		if c := &r.cells[i]; !c.blank() {
			return c.kind == grid.Text && totals.MatchString(unit.Fold(c.text))
		}
	}
	return false
}

// neat takes the blanks off the ends of a text and makes single blanks of
// those within.
func neat(s string) string { return strings.Join(strings.FieldsFunc(s, isBlank), " ") }

// say reports a cell of a tank that could not be read, and keeps its text.
func (t *tankReader) say(tk *plan.Tank, c *rawCell, f Field, bad misread) {
	sev := finding.Check
	if stopFields[f] {
		sev = finding.Stop
	}
	if tk.Unread == nil {
		tk.Unread = map[string]cell.Of[string]{}
	}
	at := t.ref(c)
	tk.Unread[string(f)] = cell.Of[string]{V: neat(c.text), Raw: c.text, At: at}
	found := neat(c.text)
	if found == "" {
		found = "a formula without its result"
	}
	t.out.add(finding.Finding{
		Slug: bad.slug, Severity: sev, Site: tk.Site.V, Tank: tk.ID.V, At: at, Found: string(f) + " " + quote(found),
		Expected: bad.expected, Why: bad.why, Suggestion: bad.suggestion,
	})
}

func quote(s string) string {
	if len(s) > 80 {
		s = strings.ToValidUTF8(s[:80], "") + "..."
	}
	return `"` + s + `"`
}

// assume reports a cell that was read in one of two ways.
func (t *tankReader) assume(tk *plan.Tank, c *rawCell, f Field, taken, why string) {
	t.out.add(finding.Finding{
		Slug: finding.ValueAssumed, Severity: finding.Note, Site: tk.Site.V, Tank: tk.ID.V, At: t.ref(c), Found: string(f) + " " + quote(neat(c.text)),
		Expected: "a value that can be read in one way only", Why: why + "; taken as " + taken, Suggestion: "write it out",
	})
}

// differ reports that two columns of one field disagree. The first one's value
// is dropped where it stops, since nobody can say which is right.
func (t *tankReader) differ(tk *plan.Tank, a, b *rawCell, f Field) finding.Severity {
	sev := finding.Check
	if stopFields[f] {
		sev = finding.Stop
	}
	t.out.add(finding.Finding{
		Slug: finding.ValuesDiffer, Severity: sev, Site: tk.Site.V, Tank: tk.ID.V, At: t.ref(b), Related: []cell.Ref{t.ref(a)},
		Found:    fmt.Sprintf("%s %s in %s and %s in %s", f, quote(neat(a.text)), t.ref(a).A1(), quote(neat(b.text)), t.ref(b).A1()),
		Expected: "the same value in both columns", Why: "two columns mean the same", Suggestion: "find out which holds and correct the other",
	})
	return sev
}

func (t *tankReader) text(tk *plan.Tank, r *rawRow, f Field, to *cell.Of[string]) {
	var first *rawCell
	for _, col := range t.hd.find(f) {
		c := r.at(col.col)
		if empty(c, kindText) {
			continue
		}
		if bad := sound(c); bad.bad() {
			bad.expected = "a text"
			t.say(tk, c, f, bad)
			continue
		}
		x := cell.Of[string]{V: neat(c.text), Raw: c.text, At: t.ref(c)}
		if first != nil {
			if !strings.EqualFold(x.V, to.V) && t.differ(tk, first, c, f) == finding.Stop {
				*to = cell.Of[string]{}
			}
			continue
		}
		first, *to = c, x
	}
}

// read fills one field of a tank from its column, or from the first of its
// columns that is filled; the others must agree.
func read[T any](t *tankReader, tk *plan.Tank, r *rawRow, f Field, k kind, to *cell.Of[T], parse func(*rawCell, *column) (cell.Of[T], misread), same func(a, b T) bool) {
	var first *rawCell
	for _, col := range t.hd.find(f) {
		c := r.at(col.col)
		if empty(c, k) {
			continue
		}
		x, bad := parse(c, col)
		if bad.bad() {
			t.say(tk, c, f, bad)
			continue
		}
		if first != nil {
			if !same(to.V, x.V) && t.differ(tk, first, c, f) == finding.Stop {
				*to = cell.Of[T]{}
			}
			continue
		}
		first, *to = c, x
	}
}

func equal[T comparable](a, b T) bool { return a == b }

// nearLength and nearVolume take two units' roundings of the same value for
// equal: half a millimetre, half a percent.
func nearLength(a, b unit.Length) bool {
	return a-b < unit.Millimetre/2+1e-9 && b-a < unit.Millimetre/2+1e-9
}

func nearVolume(a, b unit.Volume) bool { return a-b <= 0.005*b && b-a <= 0.005*b }

// fill reads every field of a tank but its name and site.
func (t *tankReader) fill(tk *plan.Tank, r *rawRow) {
	t.text(tk, r, FieldJob, &tk.Job)
	t.text(tk, r, FieldProduct, &tk.Product)
	t.text(tk, r, FieldShape, &tk.Shape)
	t.text(tk, r, FieldEndShape, &tk.EndShape)
	t.text(tk, r, FieldChart, &tk.ChartName)
	t.text(tk, r, FieldPlace, &tk.Place)
	t.text(tk, r, FieldDevice, &tk.Device)
	t.chartUnits(tk, r)

	// The lengths and volumes of a list whose headings name no unit stand in
	// the units that the row itself gives.
	length := func(f Field, to *cell.Of[unit.Length], least unit.Length) {
		read(t, tk, r, f, kindLength, to, func(c *rawCell, col *column) (cell.Of[unit.Length], misread) {
			l, bad := t.lengthIn(c, col, tk.ChartDepthUnit.V)
			if !bad.bad() && l.V < least {
				return l, t.unreadable("a length above 0", "nothing has that size", "measure again")
			}
			return l, bad
		}, nearLength)
	}
	const some = unit.Length(1e-9)
	length(FieldDiameter, &tk.Diameter, some)
	length(FieldLength, &tk.Length, some)
	length(FieldWidth, &tk.Width, some)
	length(FieldRiserHeight, &tk.RiserHeight, some)
	length(FieldRiserBore, &tk.RiserBore, some)
	length(FieldFaceToBottom, &tk.FaceToBottom, some)
	length(FieldAsFoundUpper, &tk.AsFoundUpper, some)
	length(FieldAlarmDepth, &tk.AlarmDepth, some)
	length(FieldClearance, &tk.Clearance, 0)
	length(FieldStrikerPlate, &tk.StrikerPlate, 0)
	length(FieldRise, &tk.Rise, 0)
	length(FieldFillStation, &tk.FillStation, 0)
	length(FieldDipStation, &tk.DipStation, 0)
	length(FieldFreeArm, &tk.FreeArm, 0)

	volume := func(f Field, to *cell.Of[unit.Volume]) {
		read(t, tk, r, f, kindVolume, to, func(c *rawCell, col *column) (cell.Of[unit.Volume], misread) {
			return t.volumeIn(c, col, tk.ChartVolumeUnit.V)
		}, nearVolume)
	}
	volume(FieldNominal, &tk.Nominal)
	volume(FieldCertified, &tk.Certified)

	read(t, tk, r, FieldLimit, kindPercent, &tk.Limit, func(c *rawCell, col *column) (cell.Of[unit.Percent], misread) {
		p, assumed, bad := t.percentIn(c, col)
		if assumed != "" {
			t.assume(tk, c, FieldLimit, fmt.Sprintf("%g %%", float64(p.V)), assumed)
		}
		return p, bad
	}, equal)
	read(t, tk, r, FieldFillPipeInstalled, kindDate, &tk.FillPipeInstalled, t.dates(tk, FieldFillPipeInstalled, true), sameDay)
	read(t, tk, r, FieldLastInspection, kindDate, &tk.LastInspection, t.dates(tk, FieldLastInspection, false), sameDay)
	read(t, tk, r, FieldCutAngle, kindAngle, &tk.CutAngle, t.angleIn, equal)

	words(t, tk, r, FieldSeal, &tk.Seal, sealChoices, "one of: built in, separate face seal, at nipple")
	words(t, tk, r, FieldLowEnd, &tk.LowEnd, endChoices, "one of: fill end, other end")
	words(t, tk, r, FieldDelivery, &tk.Pressurized, deliveryChoices, "one of: gravity, pressure")
	words(t, tk, r, FieldVentRestrictor, &tk.VentRestrictor, yesNoChoices, "yes or no")
	words(t, tk, r, FieldTestVariant, &tk.TestVariant, yesNoChoices, "yes or no")
}

func sameDay(a, b time.Time) bool { return a.Equal(b) }

// dates reads the dates of a field and says where a year alone was taken for a
// day; late takes its last day.
func (t *tankReader) dates(tk *plan.Tank, f Field, late bool) func(*rawCell, *column) (cell.Of[time.Time], misread) {
	return func(c *rawCell, col *column) (cell.Of[time.Time], misread) {
		d, assumed, bad := t.dateIn(c, col, late)
		if assumed != "" {
			t.assume(tk, c, f, d.V.Format("2006-01-02"), assumed)
		}
		return d, bad
	}
}

// words fills a field whose cells hold one of a few words.
func words[T comparable](t *tankReader, tk *plan.Tank, r *rawRow, f Field, to *cell.Of[T], choices []choice[T], want string) {
	read(t, tk, r, f, kindWord, to, func(c *rawCell, _ *column) (cell.Of[T], misread) {
		if bad := sound(c); bad.bad() {
			return cell.Of[T]{}, bad
		}
		v, ok := pick(choices, c.text)
		if !ok {
			return cell.Of[T]{}, t.unreadable(want, "the word is not known here", "write "+want)
		}
		return cell.Of[T]{V: v, Raw: c.text, At: t.ref(c)}, misread{}
	}, equal)
}

// chartUnits reads the columns that name the units of the tank's chart.
func (t *tankReader) chartUnits(tk *plan.Tank, r *rawRow) {
	read(t, tk, r, FieldChartDepthUnit, kindLengthUnit, &tk.ChartDepthUnit, func(c *rawCell, _ *column) (cell.Of[unit.LengthUnit], misread) {
		u, err := unit.ParseLengthUnit(c.text)
		if err != nil {
			return cell.Of[unit.LengthUnit]{}, t.fromError(err, "in")
		}
		return cell.Of[unit.LengthUnit]{V: u, Raw: c.text, At: t.ref(c)}, misread{}
	}, equal)
	read(t, tk, r, FieldChartVolumeUnit, kindVolumeUnit, &tk.ChartVolumeUnit, func(c *rawCell, _ *column) (cell.Of[unit.VolumeUnit], misread) {
		u, err := unit.ParseVolumeUnit(c.text)
		if err != nil {
			return cell.Of[unit.VolumeUnit]{}, t.fromError(err, "gal")
		}
		return cell.Of[unit.VolumeUnit]{V: u, Raw: c.text, At: t.ref(c)}, misread{}
	}, equal)
	// One column for both: "in, gal".
	for _, col := range t.hd.find(FieldChartUnits) {
		c := r.at(col.col)
		if empty(c, kindText) {
			continue
		}
		var bad misread
		for part := range strings.FieldsFuncSeq(c.text, func(r rune) bool { return r == ',' || r == ';' || r == '/' || r == '|' }) {
			l, lerr := unit.ParseLengthUnit(part)
			v, verr := unit.ParseVolumeUnit(part)
			switch {
			case lerr == nil && !tk.ChartDepthUnit.Given():
				tk.ChartDepthUnit = cell.Of[unit.LengthUnit]{V: l, Raw: c.text, At: t.ref(c)}
			case verr == nil && !tk.ChartVolumeUnit.Given():
				tk.ChartVolumeUnit = cell.Of[unit.VolumeUnit]{V: v, Raw: c.text, At: t.ref(c)}
			default:
				bad = t.unreadable("a unit of length and one of volume, as in in, gal", quote(strings.TrimSpace(part))+" is none, or a second one", "write it as in in, gal")
			}
		}
		if bad.bad() {
			t.say(tk, c, FieldChartDepthUnit, bad)
			tk.ChartDepthUnit, tk.ChartVolumeUnit = cell.Of[unit.LengthUnit]{}, cell.Of[unit.VolumeUnit]{}
		}
	}
}
