// Package lists reads the lists of tanks, devices and rules: one row for each, in
// columns that their headings name.
//
// It is longer than a room should be: three kinds of list share the reading of
// their values (values.go), which is half of it, and none of them is used alone.
package lists

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"dropcut/convert/grid"
	"dropcut/convert/intake/headword"
	"dropcut/convert/intake/idform"
	"dropcut/convert/intake/sheetkind"
	"dropcut/convert/intake/survey"
	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// hidden reports the rows and the columns of a list of tanks that people do not
// see: their tanks are planned and their values used like all others.
func (t *TankReader) hidden(sh grid.Sheet, rows []sheetkind.Row) error {
	cols, err := sh.HiddenCols()
	if err != nil {
		return err
	}
	used := map[int]bool{}
	for i := range t.Hd.Cols {
		used[t.Hd.Cols[i].Col] = t.Hd.Cols[i].Known
	}
	for _, run := range survey.HiddenRuns(cols, used) {
		t.out.Add(survey.HiddenFinding(t.refAt(run.Col, t.Hd.Last), t.refAt(run.ToCol, max(t.List.LastRow, t.Hd.Last)), "the list of tanks"))
	}
	var from, last, n int
	tell := func() {
		if n > 0 {
			t.out.Add(finding.Finding{
				Slug: finding.HiddenRows, Severity: finding.Note, At: t.refAt(0, from), To: t.refAt(0, last),
				Found: fmt.Sprintf("%s of the list hidden", survey.Many(n, "tank")), Expected: "all rows in view",
				Why: "hidden rows are part of the list and were read", Suggestion: "show the rows, or take them out of the list",
			})
		}
		n = 0
	}
	k := 0
	for _, row := range t.List.Rows {
		for k < len(rows) && rows[k].N < row {
			k++
		}
		if k < len(rows) && rows[k].N == row && rows[k].Hidden {
			if n == 0 {
				from = row
			}
			last = row
			n++
			continue
		}
		tell()
	}
	tell()
	return nil
}

// ListTable starts the description of a list for inspect.
func ListTable(at cell.Ref, layout string, hd *sheetkind.Header) survey.Table {
	tb := survey.Table{At: at, To: at, Layout: layout, HeaderRow: hd.Last}
	tb.At.Row, tb.To.Row = hd.First, max(hd.Last, hd.Units)
	for i := range hd.Cols {
		c := &hd.Cols[i]
		if tb.At.Col == 0 {
			tb.At.Col = c.Col
		}
		tb.To.Col = max(tb.To.Col, c.Col)
		col := survey.Column{Col: c.Col, Heading: c.Text, UnitFrom: c.From}
		switch {
		case sheetkind.IsOurs(c.Text):
			col.Means = "written by dropcut"
		case c.Known:
			col.Means = string(c.Field.Field)
		}
		switch {
		case !c.Known:
			col.UnitFrom = cell.Ref{}
		case c.Length != 0:
			col.Unit = c.Length.String()
		case c.Volume != 0:
			col.Unit = c.Volume.String()
		}
		tb.Columns = append(tb.Columns, col)
	}
	return tb
}

// stopFields are those without which, misread, a tube would be cut wrong.
var stopFields = map[headword.Field]bool{
	headword.FieldLimit: true, headword.FieldDiameter: true, headword.FieldRiserHeight: true, headword.FieldFaceToBottom: true, headword.FieldSeal: true, headword.FieldRise: true, headword.FieldLowEnd: true,
	headword.FieldFillStation: true, headword.FieldDipStation: true, headword.FieldChartDepthUnit: true, headword.FieldChartVolumeUnit: true, headword.FieldClearance: true, headword.FieldCutAngle: true,
	headword.FieldStrikerPlate: true, headword.FieldFillPipeInstalled: true, headword.FieldTestVariant: true, headword.FieldTank: true, headword.FieldChart: true, headword.FieldDevice: true, headword.FieldPlace: true,
}

// totals are the words that begin a row of sums.
var totals = regexp.MustCompile(`^(grand |sub|sub-|sub )?(totals?|sums?|summe|gesamt|gesamtsumme|zwischensumme|somme|suma|average|mean|count|anzahl|total general|total generale)\b`)

// TankReader reads one Tanks sheet.
type TankReader struct {
	*values
	Hd    *sheetkind.Header
	out   *survey.Findings
	Table survey.Table
	List  survey.TankList
	Tanks []plan.Tank
	seen  map[string]int // index in tanks by id and compartment
	End   int            // row in which a chart begins below the list; 0 for none
}

// ReadTanks reads a sheet that was taken for a list of tanks. base is the index
// that its first tank gets in the job.
func ReadTanks(sh grid.Sheet, h *sheetkind.Head, hd *sheetkind.Header, base int, out *survey.Findings) (*TankReader, error) {
	t := &TankReader{Hd: hd, out: out, Table: ListTable(sh.At(), "tank list", hd), seen: map[string]int{}}
	t.List = survey.TankList{At: sh.At(), HeaderRow: hd.Last, Columns: map[headword.Field]int{}, Ours: map[string]int{}}
	for i := range hd.Cols {
		c := &hd.Cols[i]
		t.List.LastCol = max(t.List.LastCol, c.Col)
		switch {
		case sheetkind.IsOurs(c.Text):
			t.List.Ours[c.Text] = c.Col
		case !c.Known:
			t.List.Unknown = append(t.List.Unknown, survey.Heading{Col: c.Col, Text: c.Text})
		default:
			t.List.Columns[c.Field.Field] = hd.Col(c.Field.Field)
		}
	}
	rows, err := t.Collect(sh, h)
	if err != nil {
		return nil, err
	}
	if err := t.beyond(sh); err != nil {
		return nil, err
	}
	t.values = settle(sh.At(), h, hd, rows)
	t.duplicateHeadings()
	t.Tanks = make([]plan.Tank, 0, len(rows)) // a tank is large; growing copies it
	var site cell.Of[string]                  // of a title row above the tanks
	for i := range rows {
		t.row(&rows[i], base, &site)
	}
	if err := t.hidden(sh, rows); err != nil {
		return nil, err
	}
	return t, nil
}

// Collect keeps the rows below the headings, with the cells that merged areas
// cover filled from their first cell.
func (t *TankReader) Collect(sh grid.Sheet, h *sheetkind.Head) ([]sheetkind.Row, error) {
	var rows []sheetkind.Row
	start, id, above := max(t.Hd.Last, t.Hd.Units), t.Hd.Col(headword.FieldTank), 0
	for r, err := range sh.Rows() {
		if err != nil {
			return nil, err
		}
		for i := range r.Cells {
			if t.End == 0 && (len(r.Cells[i].Raw) > 0 || r.Cells[i].Formula) {
				t.List.LastCol = max(t.List.LastCol, r.Cells[i].Col)
			}
		}
		if r.N <= start {
			above = t.List.LastCol
		}
		if r.N <= start || t.End > 0 {
			continue
		}
		rows = append(rows, sheetkind.KeepRow(r))
		if n := len(rows); n > 1 && sheetkind.StartsChart(&rows[n-2], &rows[n-1], id) && !t.isHeadingAgain(&rows[n-2]) {
			rows = t.cut(rows, n-2)
			t.List.LastCol = above
			for i := range rows {
				if c := rows[i].Cells; len(c) > 0 {
					t.List.LastCol = max(t.List.LastCol, c[len(c)-1].Col)
				}
			}
		}
	}
	if len(h.Merges) == 0 {
		if err := h.ReadMerges(sh); err != nil { // known by now
			return nil, err
		}
	}
	for _, m := range h.Merges {
		if m.ToRow <= m.Row || m.Row <= start {
			continue
		}
		// Down a column only: a name written once for several tanks.
		k, ok := slices.BinarySearchFunc(rows, m.Row, func(r sheetkind.Row, n int) int { return r.N - n })
		if !ok {
			continue
		}
		first := rows[k].At(m.Col)
		if first == nil || m.Col == t.Hd.Col(headword.FieldTank) {
			continue
		}
		copied := *first
		for k++; k < len(rows) && rows[k].N <= m.ToRow; k++ {
			if rows[k].At(m.Col) == nil {
				rows[k].Cells = append(rows[k].Cells, copied)
				slices.SortFunc(rows[k].Cells, func(a, b sheetkind.Cell) int { return a.Col - b.Col })
			}
		}
	}
	return rows, nil
}

// beyond puts the last column of a list that is a part of its sheet behind
// everything that stands beside its rows, since new columns are written there.
func (t *TankReader) beyond(sh grid.Sheet) error {
	a, ok := sh.(sheetkind.Area)
	if !ok {
		return nil
	}
	for {
		inner, ok := a.Sheet.(sheetkind.Area)
		if !ok {
			break
		}
		a = inner
	}
	for r, err := range a.Sheet.Rows() {
		if err != nil {
			return err
		}
		if n := len(r.Cells); n > 0 && r.N >= t.Hd.First && (t.End == 0 || r.N < t.End) {
			t.List.LastCol = max(t.List.LastCol, r.Cells[n-1].Col)
		}
	}
	return nil
}

// cut ends the list before the chart whose headings stand in rows[k], and before
// the titles right above them.
func (t *TankReader) cut(rows []sheetkind.Row, k int) []sheetkind.Row {
	for k > 0 && len(rows[k-1].Cells) <= 2 && sheetkind.OnlyWords(&rows[k-1]) && rows[k].N-rows[k-1].N <= 3 {
		k--
	}
	t.End = rows[k].N
	return rows[:k]
}

func (t *TankReader) refAt(col, row int) cell.Ref {
	return cell.Ref{File: t.List.At.File, Sheet: t.List.At.Sheet, Col: col, Row: row}
}

// duplicateHeadings says which fields have two columns.
func (t *TankReader) duplicateHeadings() {
	done := map[headword.Field]bool{}
	for i := range t.Hd.Cols {
		f := t.Hd.Cols[i].Field.Field
		found := t.Hd.Find(f)
		if !t.Hd.Cols[i].Known || done[f] || len(found) < 2 {
			continue
		}
		done[f] = true
		var names []string
		var related []cell.Ref
		for _, c := range found {
			if c.Covered {
				continue // one heading over two columns is not there twice
			}
			names = append(names, fmt.Sprintf("%q in column %s", c.Text, cell.ColumnName(c.Col)))
			related = append(related, c.At)
		}
		if len(names) < 2 {
			continue
		}
		t.out.Add(finding.Finding{
			Slug: finding.DuplicateHeader, Severity: finding.Note, At: related[0], Related: related[1:],
			Found: strings.Join(names, " and "), Expected: "one column for " + string(f),
			Why:        "both headings mean the same; where both are filled and differ, the tank gets a finding of its own",
			Suggestion: "rename or delete the column that does not hold",
		})
	}
}

// row reads one row of the list.
func (t *TankReader) row(r *sheetkind.Row, base int, site *cell.Of[string]) {
	idCol := t.Hd.Col(headword.FieldTank)
	id := r.At(idCol)
	known, measured, filled := 0, 0, 0
	only := (*sheetkind.Cell)(nil)
	for i := range r.Cells {
		c := &r.Cells[i]
		if c.Blank() || t.oursCol(c.Col) {
			continue
		}
		filled++
		only = c
		if f := t.fieldOf(c.Col); f != nil && !empty(c, f.Kind) {
			known++
			if f.Field != headword.FieldTank && f.Field != headword.FieldNominal && f.Field != headword.FieldCertified && f.Field != headword.FieldSite {
				measured++
			}
		}
	}
	switch {
	case filled == 0:
		return
	case t.isHeadingAgain(r):
		t.Table.Pass(r.N, "the headings again")
		return
	case t.total(r):
		t.Table.Pass(r.N, "a total")
		return
	case filled == 1 && t.Hd.Fields > 2 && only.Kind == grid.Text && (only.Col != idCol || strings.ContainsFunc(strings.TrimFunc(only.Text, headword.IsBlank), headword.IsBlank)):
		// A text alone in its row is a title; the site's name, mostly.
		t.Table.Pass(r.N, "a title: one text and nothing else")
		*site = cell.Of[string]{V: headword.Tidy(only.Text), Raw: only.Text, At: t.refAt(only.Col, r.N)}
		return
	case empty(id, headword.KindText):
		if measured > 0 {
			t.out.Add(finding.Finding{
				Slug: finding.TankWithoutName, Severity: finding.Check, At: t.refAt(idCol, r.N), Found: fmt.Sprintf("no tank, and %d other values", known),
				Expected: "the tank's name", Why: "values that belong to no tank are not used", Suggestion: "write the tank's name into " + t.refAt(idCol, r.N).A1() + ", or empty the row",
			})
			t.Table.Pass(r.N, "no tank is named in it")
			return
		}
		t.Table.Pass(r.N, "no tank is named in it: a subtotal or a note")
		return
	}
	if bad := sound(id); bad.bad() {
		t.out.Add(finding.Finding{Slug: bad.slug, Severity: finding.Stop, At: t.refAt(idCol, r.N), Found: id.Text, Expected: "the tank's name", Why: bad.why, Suggestion: bad.suggestion})
		t.Table.Pass(r.N, "the tank's name cannot be read")
		return
	}
	tk := plan.Tank{At: t.refAt(0, r.N)}
	name := id.Text
	if id.Kind == grid.Number && idform.Powers(name) {
		// Stored in powers of ten, shown as the number that it is.
		name = strconv.FormatFloat(id.Num, 'f', -1, 64)
	}
	tk.ID = cell.Of[string]{V: headword.Tidy(name), Raw: name, At: t.refAt(idCol, r.N)}
	if comp := r.At(t.Hd.Col(headword.FieldCompartment)); t.Hd.Col(headword.FieldCompartment) > 0 && !empty(comp, headword.KindText) {
		tk.ID.V += "/" + headword.Tidy(comp.Text)
	}
	// Site first, so that findings can name it.
	t.text(&tk, r, headword.FieldSite, &tk.Site)
	if !tk.Site.Given() && t.Hd.Col(headword.FieldSite) == 0 {
		tk.Site = *site
	}
	t.fill(&tk, r)
	t.Table.Take(r.N)
	if t.List.FirstRow == 0 {
		t.List.FirstRow = r.N
	}
	t.List.LastRow = r.N
	t.List.Rows = append(t.List.Rows, r.N)
	t.List.Tanks = append(t.List.Tanks, base+len(t.Tanks))
	t.Tanks = append(t.Tanks, tk)
}

func (t *TankReader) oursCol(col int) bool {
	for _, c := range t.List.Ours {
		if c == col {
			return true
		}
	}
	return false
}

func (t *TankReader) fieldOf(col int) *headword.FieldWords {
	for i := range t.Hd.Cols {
		if t.Hd.Cols[i].Col == col && t.Hd.Cols[i].Known {
			return &t.Hd.Cols[i].Field
		}
	}
	return nil
}

// isHeadingAgain tells a heading that was repeated, at a page break say.
func (t *TankReader) isHeadingAgain(r *sheetkind.Row) bool {
	same := 0
	for i := range t.Hd.Cols {
		c := r.At(t.Hd.Cols[i].Col)
		if c != nil && headword.Tidy(c.Text) == headword.Tidy(t.Hd.Cols[i].Text) {
			same++
		}
	}
	return same >= 2 && 2*same > len(t.Hd.Cols)
}

func (t *TankReader) total(r *sheetkind.Row) bool {
	for i := range r.Cells {
		if c := &r.Cells[i]; !c.Blank() {
			return c.Kind == grid.Text && totals.MatchString(unit.Fold(c.Text))
		}
	}
	return false
}

// say reports a cell of a tank that could not be read, and keeps its text.
func (t *TankReader) say(tk *plan.Tank, c *sheetkind.Cell, f headword.Field, bad misread) {
	sev := finding.Check
	if stopFields[f] {
		sev = finding.Stop
	}
	if tk.Unread == nil {
		tk.Unread = map[string]cell.Of[string]{}
	}
	at := t.ref(c)
	tk.Unread[string(f)] = cell.Of[string]{V: headword.Tidy(c.Text), Raw: c.Text, At: at}
	found := headword.Tidy(c.Text)
	if found == "" {
		found = "a formula without its result"
	}
	t.out.Add(finding.Finding{
		Slug: bad.slug, Severity: sev, Site: tk.Site.V, Tank: tk.ID.V, At: at, Found: string(f) + " " + survey.Quote(found),
		Expected: bad.expected, Why: bad.why, Suggestion: bad.suggestion,
	})
}

// assume reports a cell that was read in one of two ways.
func (t *TankReader) assume(tk *plan.Tank, c *sheetkind.Cell, f headword.Field, taken, why string) {
	t.out.Add(finding.Finding{
		Slug: finding.ValueAssumed, Severity: finding.Note, Site: tk.Site.V, Tank: tk.ID.V, At: t.ref(c), Found: string(f) + " " + survey.Quote(headword.Tidy(c.Text)),
		Expected: "a value that can be read in one way only", Why: why + "; taken as " + taken, Suggestion: "write it out",
	})
}

// differ reports that two columns of one field disagree. The first one's value
// is dropped where it stops, since nobody can say which is right.
func (t *TankReader) differ(tk *plan.Tank, a, b *sheetkind.Cell, f headword.Field) finding.Severity {
	sev := finding.Check
	if stopFields[f] {
		sev = finding.Stop
	}
	t.out.Add(finding.Finding{
		Slug: finding.ValuesDiffer, Severity: sev, Site: tk.Site.V, Tank: tk.ID.V, At: t.ref(b), Related: []cell.Ref{t.ref(a)},
		Found:    fmt.Sprintf("%s %s in %s and %s in %s", f, survey.Quote(headword.Tidy(a.Text)), t.ref(a).A1(), survey.Quote(headword.Tidy(b.Text)), t.ref(b).A1()),
		Expected: "the same value in both columns", Why: "two columns mean the same", Suggestion: "find out which holds and correct the other",
	})
	return sev
}

func (t *TankReader) text(tk *plan.Tank, r *sheetkind.Row, f headword.Field, to *cell.Of[string]) {
	var first *sheetkind.Cell
	for _, col := range t.Hd.Find(f) {
		c := r.At(col.Col)
		if empty(c, headword.KindText) {
			continue
		}
		if bad := sound(c); bad.bad() {
			bad.expected = "a text"
			t.say(tk, c, f, bad)
			continue
		}
		x := cell.Of[string]{V: headword.Tidy(c.Text), Raw: c.Text, At: t.ref(c)}
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
func read[T any](t *TankReader, tk *plan.Tank, r *sheetkind.Row, f headword.Field, k headword.Kind, to *cell.Of[T], parse func(*sheetkind.Cell, *sheetkind.Column) (cell.Of[T], misread), same func(a, b T) bool) {
	var first *sheetkind.Cell
	for _, col := range t.Hd.Find(f) {
		c := r.At(col.Col)
		if empty(c, k) {
			if crossed(c) {
				t.assume(tk, c, f, "not given", "an x is no figure")
			}
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

// NearLength and nearVolume take two units' roundings of the same value for
// equal: half a millimetre, half a percent.
func NearLength(a, b unit.Length) bool {
	return a-b < unit.Millimetre/2+1e-9 && b-a < unit.Millimetre/2+1e-9
}

func nearVolume(a, b unit.Volume) bool { return a-b <= 0.005*b && b-a <= 0.005*b }

// fill reads every field of a tank but its name and site.
func (t *TankReader) fill(tk *plan.Tank, r *sheetkind.Row) {
	t.text(tk, r, headword.FieldJob, &tk.Job)
	t.text(tk, r, headword.FieldProduct, &tk.Product)
	t.text(tk, r, headword.FieldShape, &tk.Shape)
	t.text(tk, r, headword.FieldEndShape, &tk.EndShape)
	t.text(tk, r, headword.FieldChart, &tk.ChartName)
	t.text(tk, r, headword.FieldPlace, &tk.Place)
	t.text(tk, r, headword.FieldDevice, &tk.Device)
	t.chartUnits(tk, r)

	// The lengths and volumes of a list whose headings name no unit stand in
	// the units that the row itself gives.
	length := func(f headword.Field, to *cell.Of[unit.Length], least unit.Length) {
		read(t, tk, r, f, headword.KindLength, to, func(c *sheetkind.Cell, col *sheetkind.Column) (cell.Of[unit.Length], misread) {
			l, bad := t.lengthIn(c, col, tk.ChartDepthUnit.V)
			if !bad.bad() && l.V < least {
				return l, t.unreadable("a length above 0", "nothing has that size", "measure again")
			}
			return l, bad
		}, NearLength)
	}
	const some = unit.Length(1e-9)
	length(headword.FieldDiameter, &tk.Diameter, some)
	length(headword.FieldLength, &tk.Length, some)
	length(headword.FieldWidth, &tk.Width, some)
	length(headword.FieldRiserHeight, &tk.RiserHeight, some)
	length(headword.FieldRiserBore, &tk.RiserBore, some)
	length(headword.FieldFaceToBottom, &tk.FaceToBottom, some)
	length(headword.FieldAsFoundUpper, &tk.AsFoundUpper, some)
	length(headword.FieldAlarmDepth, &tk.AlarmDepth, some)
	length(headword.FieldClearance, &tk.Clearance, 0)
	length(headword.FieldStrikerPlate, &tk.StrikerPlate, 0)
	length(headword.FieldRise, &tk.Rise, 0)
	length(headword.FieldFillStation, &tk.FillStation, 0)
	length(headword.FieldDipStation, &tk.DipStation, 0)
	length(headword.FieldFreeArm, &tk.FreeArm, 0)

	volume := func(f headword.Field, to *cell.Of[unit.Volume]) {
		read(t, tk, r, f, headword.KindVolume, to, func(c *sheetkind.Cell, col *sheetkind.Column) (cell.Of[unit.Volume], misread) {
			return t.volumeIn(c, col, tk.ChartVolumeUnit.V)
		}, nearVolume)
	}
	volume(headword.FieldNominal, &tk.Nominal)
	volume(headword.FieldCertified, &tk.Certified)

	read(t, tk, r, headword.FieldLimit, headword.KindPercent, &tk.Limit, func(c *sheetkind.Cell, col *sheetkind.Column) (cell.Of[unit.Percent], misread) {
		p, assumed, bad := t.percentIn(c, col)
		if assumed != "" {
			t.assume(tk, c, headword.FieldLimit, fmt.Sprintf("%g %%", float64(p.V)), assumed)
		}
		return p, bad
	}, equal)
	read(t, tk, r, headword.FieldFillPipeInstalled, headword.KindDate, &tk.FillPipeInstalled, t.dates(tk, headword.FieldFillPipeInstalled, true), sameDay)
	read(t, tk, r, headword.FieldLastInspection, headword.KindDate, &tk.LastInspection, t.dates(tk, headword.FieldLastInspection, false), sameDay)
	read(t, tk, r, headword.FieldCutAngle, headword.KindAngle, &tk.CutAngle, t.angleIn, equal)

	words(t, tk, r, headword.FieldSeal, &tk.Seal, SealChoices, "one of: built in, separate face seal, at nipple")
	words(t, tk, r, headword.FieldLowEnd, &tk.LowEnd, EndChoices, "one of: fill end, other end")
	words(t, tk, r, headword.FieldDelivery, &tk.Pressurized, deliveryChoices, "one of: gravity, pressure")
	words(t, tk, r, headword.FieldVentRestrictor, &tk.VentRestrictor, yesNoChoices, "yes or no")
	words(t, tk, r, headword.FieldTestVariant, &tk.TestVariant, yesNoChoices, "yes or no")
}

func sameDay(a, b time.Time) bool { return a.Equal(b) }

// dates reads the dates of a field and says where a year alone was taken for a
// day; late takes its last day.
func (t *TankReader) dates(tk *plan.Tank, f headword.Field, late bool) func(*sheetkind.Cell, *sheetkind.Column) (cell.Of[time.Time], misread) {
	return func(c *sheetkind.Cell, col *sheetkind.Column) (cell.Of[time.Time], misread) {
		d, assumed, bad := t.dateIn(c, col, late)
		if assumed != "" {
			t.assume(tk, c, f, d.V.Format("2006-01-02"), assumed)
		}
		return d, bad
	}
}

// words fills a field whose cells hold one of a few words.
func words[T comparable](t *TankReader, tk *plan.Tank, r *sheetkind.Row, f headword.Field, to *cell.Of[T], choices []choice[T], want string) {
	read(t, tk, r, f, headword.KindWord, to, func(c *sheetkind.Cell, _ *sheetkind.Column) (cell.Of[T], misread) {
		if bad := sound(c); bad.bad() {
			return cell.Of[T]{}, bad
		}
		v, ok := Pick(choices, c.Text)
		if !ok {
			return cell.Of[T]{}, t.unreadable(want, "the word is not known here", "write "+want)
		}
		return cell.Of[T]{V: v, Raw: c.Text, At: t.ref(c)}, misread{}
	}, equal)
}

// chartUnits reads the columns that name the units of the tank's chart.
func (t *TankReader) chartUnits(tk *plan.Tank, r *sheetkind.Row) {
	read(t, tk, r, headword.FieldChartDepthUnit, headword.KindLengthUnit, &tk.ChartDepthUnit, func(c *sheetkind.Cell, _ *sheetkind.Column) (cell.Of[unit.LengthUnit], misread) {
		u, err := unit.ParseLengthUnit(c.Text)
		if err != nil {
			return cell.Of[unit.LengthUnit]{}, t.fromError(err, "in")
		}
		return cell.Of[unit.LengthUnit]{V: u, Raw: c.Text, At: t.ref(c)}, misread{}
	}, equal)
	read(t, tk, r, headword.FieldChartVolumeUnit, headword.KindVolumeUnit, &tk.ChartVolumeUnit, func(c *sheetkind.Cell, _ *sheetkind.Column) (cell.Of[unit.VolumeUnit], misread) {
		u, err := unit.ParseVolumeUnit(c.Text)
		if err != nil {
			return cell.Of[unit.VolumeUnit]{}, t.fromError(err, "gal")
		}
		return cell.Of[unit.VolumeUnit]{V: u, Raw: c.Text, At: t.ref(c)}, misread{}
	}, equal)
	// One column for both: "in, gal".
	for _, col := range t.Hd.Find(headword.FieldChartUnits) {
		c := r.At(col.Col)
		if empty(c, headword.KindText) {
			continue
		}
		var bad misread
		for part := range strings.FieldsFuncSeq(c.Text, func(r rune) bool { return r == ',' || r == ';' || r == '/' || r == '|' }) {
			l, lerr := unit.ParseLengthUnit(part)
			v, verr := unit.ParseVolumeUnit(part)
			switch {
			case lerr == nil && !tk.ChartDepthUnit.Given():
				tk.ChartDepthUnit = cell.Of[unit.LengthUnit]{V: l, Raw: c.Text, At: t.ref(c)}
			case verr == nil && !tk.ChartVolumeUnit.Given():
				tk.ChartVolumeUnit = cell.Of[unit.VolumeUnit]{V: v, Raw: c.Text, At: t.ref(c)}
			default:
				bad = t.unreadable("a unit of length and one of volume, as in in, gal", survey.Quote(strings.TrimSpace(part))+" is none, or a second one", "write it as in in, gal")
			}
		}
		if bad.bad() {
			t.say(tk, c, headword.FieldChartDepthUnit, bad)
			tk.ChartDepthUnit, tk.ChartVolumeUnit = cell.Of[unit.LengthUnit]{}, cell.Of[unit.VolumeUnit]{}
		}
	}
}
