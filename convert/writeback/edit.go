package writeback

import (
	"slices"
	"strings"

	"dropcut/convert/change"
	"dropcut/convert/grid"
	"dropcut/convert/intake"
	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/validate"
)

// Spot is where the new columns of a list are to stand.
type Spot struct {
	// Col is the first of the free columns; Why says why they do not stand
	// directly beside the list, where they do not.
	Col int
	Why string
	// OwnSheet says that nothing may be written on the list's sheet (its owner
	// has protected it): the plan goes onto a sheet of dropcut's own.
	OwnSheet bool
}

// Place finds n free columns side by side for a list.
type Place func(list *intake.TankList, n int) (Spot, error)

// Input is what an edit is made from.
type Input struct {
	Book     grid.Book
	Reading  *intake.Reading
	Results  []validate.Result // one a tank, in the order of Reading.Job.Tanks
	Units    Units             // of what is written
	Findings []finding.Finding // of the whole book: reading and results
	Sources  []Source
	Place    Place
	// Own finds the sheet that an earlier run has added to the book under a name;
	// nil where there is none.
	Own func(name string) grid.Sheet
	// Before, where there is one, is what changed against the plan that was
	// made before; nil makes the changes from the columns in the book itself.
	Before *change.Set
	// Last is the Changes sheet of that plan. It is written again while nothing
	// has changed since.
	Last LastChanges
}

// Output is what is to be written, and what is to be said about it.
type Output struct {
	Edit    grid.Edit
	Changes change.Set
	// First says that the book was never planned before, Unchanged that it holds
	// this very plan already: the copy is then the book as it is.
	First     bool
	Unchanged bool
	// Findings are about cells that somebody else has changed, and about places
	// where nothing could be written.
	Findings []finding.Finding

	// complete says that every column stands in the book under its heading;
	// files gives the file and sheet of each column of the edit.
	complete bool
	files    []cell.Ref
}

// Make decides every cell.
func Make(in Input) (*Output, error) {
	marks, err := readMarks(in.Own(SourcesSheet))
	if err != nil {
		return nil, err
	}
	out := &Output{First: true, complete: true}
	var written []tankMarks
	for i := range in.Reading.Lists {
		list := &in.Reading.Lists[i]
		if list.At.File != in.Book.Name() && !inBook(in.Book, list.At) {
			continue
		}
		w := listWriter{in: &in, list: list, marks: marks, out: out}
		tm, err := w.write()
		if err != nil {
			return nil, err
		}
		written = append(written, tm)
	}
	findings := findingsSheet(slices.Concat(in.Findings, byHand(out.Findings)))
	if in.Before != nil {
		out.Changes.Records = append(slices.Clone(in.Before.Records), out.Changes.Records...)
		out.First = false
	}
	if out.Unchanged, err = out.sameAsBefore(in.Own(FindingsSheet), findings); err != nil {
		return nil, err
	}
	if out.Unchanged {
		out.Edit = grid.Edit{}
		return out, nil
	}
	changes := changesSheet(out.Changes.Summary(), out.Changes.Rows())
	switch {
	case out.First:
		changes = changesSheet(firstPlan, nil)
	case len(out.Changes.Records) == 0 && in.Last.Summary != "":
		changes = changesSheet(in.Last.Summary, in.Last.Rows)
	}
	out.Edit.Sheets = append(out.Edit.Sheets, findings, changes, sourcesSheet(in.Sources, written))
	return out, nil
}

// byHand gives the findings about cells that somebody else has changed. Where new
// columns found their place is said by the run that places them; it is nothing
// about a tank, and a later run, which finds them by their headings, could not
// say it again.
func byHand(list []finding.Finding) []finding.Finding {
	return slices.DeleteFunc(slices.Clone(list), func(f finding.Finding) bool { return f.Slug != finding.ChangedByHand })
}

// firstPlan stands on the Changes sheet of a book that was never planned before.
const firstPlan = "first plan of this book; nothing to compare with"

// sameAsBefore reports whether the book holds this very plan already: it was
// planned before, none of its figures changed, and its findings are the same.
func (o *Output) sameAsBefore(sheet grid.Sheet, findings grid.NewSheet) (bool, error) {
	if o.First || !o.complete || len(o.Changes.Records) > 0 {
		return false, nil
	}
	have, err := sheetTexts(sheet)
	return err == nil && sameTexts(have, findings), err
}

// ColumnsOf gives the columns that are to be written beside a list.
func (o *Output) ColumnsOf(at cell.Ref) []grid.Column {
	var list []grid.Column
	for i, c := range o.Edit.Columns {
		if o.files[i] == at {
			list = append(list, c)
		}
	}
	return list
}

func inBook(book grid.Book, at cell.Ref) bool {
	return slices.ContainsFunc(book.Sheets(), func(s grid.Sheet) bool { return s.At() == at })
}

// listWriter writes beside one list.
type listWriter struct {
	in    *Input
	list  *intake.TankList
	marks Marks // of the run before
	next  Marks // of this run
	out   *Output
}

func (w *listWriter) write() (tankMarks, error) {
	columns := planColumns(HasAsFound(w.in.Results))
	complete := w.out.complete
	places, apart, err := w.columnPlaces(columns)
	if err != nil {
		return tankMarks{}, err
	}
	if apart {
		return tankMarks{sheet: w.list.At.Sheet}, w.writeApart(columns, complete)
	}
	held, err := current(w.in.Book, w.list)
	if err != nil {
		return tankMarks{}, err
	}
	if len(held) > 0 {
		w.out.First = false
	}
	w.next = make(Marks, len(columns)*len(w.list.Rows))
	tm := tankMarks{sheet: w.list.At.Sheet, tanks: make([]tankMark, 0, len(w.list.Rows))}
	for _, c := range columns {
		tm.headings = append(tm.headings, strings.TrimPrefix(c.base, prefix))
	}
	kept := make([]*finding.Finding, len(w.list.Rows)) // of each row, the first cell that stays as somebody else wrote it
	for i := range columns {
		c := &columns[i]
		if w.list.Ours[c.heading(w.in.Units)] != places[i] {
			w.out.complete = false // new, or in other units than before
		}
		edit := grid.Column{
			Sheet: w.list.At.Sheet, Col: places[i], HeaderRow: w.list.HeaderRow, Heading: c.heading(w.in.Units), Width: c.width,
			Cells: make([]grid.At, 0, len(w.list.Rows)),
		}
		for j, row := range w.list.Rows {
			r := &w.in.Results[w.list.Tanks[j]]
			if kept[j] != nil && (c.base == statusHeading || c.base == flagsHeading) {
				r = doubted(r, *kept[j])
			}
			v := c.cell(r, w.in.Units)
			if w.keep(c, r, cellKey{row, places[i]}, held, v) {
				if kept[j] == nil {
					kept[j] = &w.out.Findings[len(w.out.Findings)-1]
				}
				continue
			}
			edit.Cells = append(edit.Cells, grid.At{Row: row, Value: v})
		}
		w.out.Edit.Columns = append(w.out.Edit.Columns, edit)
		w.out.files = append(w.out.files, w.list.At)
	}
	for j := range w.list.Rows {
		t := w.in.Results[w.list.Tanks[j]].Tank
		site, id := t.Site.Raw, t.ID.V // of a compartment TANK/COMPARTMENT, so that its marks are its own
		tm.tanks = append(tm.tanks, tankMark{site, id, w.next.text(site, id, tm.headings)})
	}
	return tm, nil
}

// doubted is the result of a tank in whose row somebody else's figure stands: it
// is not ready to be cut by, since the row no longer holds one plan.
func doubted(r *validate.Result, f finding.Finding) *validate.Result {
	d := *r
	d.Elsewhere = append(slices.Clone(r.Elsewhere), f)
	if d.Status != validate.Stop {
		d.Status = validate.Check
	}
	return &d
}

// columnPlaces gives each column its place: where an earlier run put it and
// somebody may have moved it, else a new one behind the list. apart says that
// the list's sheet may not be written on.
func (w *listWriter) columnPlaces(columns []column) (places []int, apart bool, err error) {
	ours := map[string]int{}
	for heading, col := range w.list.Ours {
		ours[baseOf(heading)] = col
	}
	places = make([]int, len(columns))
	missing := 0
	for i := range columns {
		places[i] = ours[columns[i].base]
		if places[i] == 0 {
			missing++
		}
	}
	if missing == 0 {
		return places, false, nil
	}
	w.out.complete = false
	spot, err := w.in.Place(w.list, missing)
	if err != nil {
		return nil, false, err
	}
	if spot.Why != "" {
		w.out.Findings = append(w.out.Findings, finding.Finding{
			Slug: finding.ColumnsPlacedApart, Severity: finding.Note,
			At:         cell.Ref{File: w.list.At.File, Sheet: w.list.At.Sheet, Col: spot.Col, Row: w.list.HeaderRow},
			Found:      spot.Why,
			Expected:   "free columns directly beside the tank list",
			Why:        "nothing that stands in the book is written over",
			Suggestion: "nothing needs to be done; the columns may be moved, a later run finds them by their headings",
		})
	}
	for i := range places {
		if places[i] == 0 {
			places[i] = spot.Col
			spot.Col++
		}
	}
	return places, spot.OwnSheet, nil
}

// writeApart writes the plan onto a sheet of its own. complete says whether all
// was in its place before this list.
func (w *listWriter) writeApart(columns []column, complete bool) error {
	s := w.planSheet(columns)
	w.out.Edit.Sheets = append(w.out.Edit.Sheets, s)
	have, err := sheetTexts(w.in.Own(PlanSheet))
	if err != nil || len(have) == 0 {
		return err
	}
	w.out.First = false
	if sameTexts(have, s) {
		w.out.complete = complete
		return nil
	}
	for k, i := range w.list.Tanks {
		row := s.HeaderRow + k
		if row < len(have) && sameTexts([][]string{have[row]}, grid.NewSheet{Rows: [][]grid.Value{s.Rows[row]}}) {
			continue
		}
		t := w.in.Results[i].Tank
		w.out.Changes.Records = append(w.out.Changes.Records, change.Record{
			Subject: change.OfCut, Site: t.Site.Raw, Tank: t.ID.Raw, What: "plan", Old: "as written before", New: "written anew on " + PlanSheet, NewAt: t.At,
		})
	}
	return nil
}

// planSheet is the plan on a sheet of its own, for a list that may not be
// written beside.
func (w *listWriter) planSheet(columns []column) grid.NewSheet {
	s := grid.NewSheet{Name: PlanSheet, Widths: []float64{22, 14}}
	s.Rows = append(s.Rows, []grid.Value{grid.Str("Plan for the tanks of "+w.list.At.Sheet, grid.LookTitle)})
	for _, c := range Cautions {
		s.Rows = append(s.Rows, []grid.Value{grid.Str(c, grid.LookPlain)})
	}
	head := headingRow("Site", "Tank")
	for i := range columns {
		head = append(head, grid.Str(columns[i].heading(w.in.Units), grid.LookHeading))
		s.Widths = append(s.Widths, columns[i].width)
	}
	s.Rows = append(s.Rows, head)
	s.HeaderRow = len(s.Rows)
	for _, i := range w.list.Tanks {
		r := &w.in.Results[i]
		row := []grid.Value{grid.Str(r.Tank.Site.Raw, grid.LookText), grid.Str(r.Tank.ID.V, grid.LookText)}
		for k := range columns {
			row = append(row, columns[k].cell(r, w.in.Units))
		}
		s.Rows = append(s.Rows, row)
	}
	return s
}

// keep decides over one cell. It returns true where the cell must be left as it
// is, because somebody else has written into it; and it notes the change, if
// there is one, and the check word for the next run.
func (w *listWriter) keep(c *column, r *validate.Result, at cellKey, held map[cellKey]held, v grid.Value) bool {
	name := strings.TrimPrefix(c.base, prefix)
	key := markKey{r.Tank.Site.Raw, r.Tank.ID.V, name}
	h, there := held[at]
	before, known := w.marks[key]
	next := mark{ours: wordOf(v)}
	defer func() { w.next[key] = next }()

	record := change.Record{
		Site: r.Tank.Site.Raw, Tank: r.Tank.ID.V, What: strings.ToLower(name), Old: h.text, New: valueText(v),
		NewAt: cell.Ref{File: w.list.At.File, Sheet: w.list.At.Sheet, Col: at.col, Row: at.row},
	}
	record.OldAt = record.NewAt
	if !there && !v.Blank() {
		// A cell that somebody has emptied was not typed over: it is written
		// again, and so is one of a tank that is new in the list.
		w.out.complete = false
	}
	byHand := there && !sameText(h, v) && (h.formula || known && !h.is(before.ours))
	if byHand {
		theirs := heldWord(h)
		next.theirs = theirs
		if known {
			// What dropcut wrote last is still what it compares with.
			next.ours = before.ours
		}
		w.out.Findings = append(w.out.Findings, w.keptFinding(&record, h, v))
		if before.theirs != theirs {
			record.Subject, record.Old, record.New = change.ByHand, valueText(v), heldText(h)
			w.out.Changes.Records = append(w.out.Changes.Records, record)
		}
		return true
	}
	if there && !sameText(h, v) && w.in.Before == nil {
		record.Subject = change.OfCut
		record.Moved = moved(name, h, v)
		w.out.Changes.Records = append(w.out.Changes.Records, record)
	}
	return false
}

func (w *listWriter) keptFinding(r *change.Record, h held, v grid.Value) finding.Finding {
	return finding.Finding{
		Slug: finding.ChangedByHand, Severity: finding.Check,
		Site: r.Site, Tank: r.Tank, At: r.NewAt,
		Found:      heldText(h),
		Expected:   orNothing(valueText(v)),
		Why:        "somebody else has written into this cell of dropcut's; it is kept as it is",
		Suggestion: "empty the cell to have it written again, or move the value into a column of your own",
	}
}

func orNothing(s string) string {
	if s == "" {
		return "nothing"
	}
	return s
}

func heldText(h held) string {
	switch {
	case h.formula && h.text == "":
		return "a formula whose result the file does not hold"
	case h.formula:
		return "a formula, showing " + h.text
	}
	return h.text
}

func wordOf(v grid.Value) string {
	if v.Blank() {
		return ""
	}
	return valueWord(v)
}

func valueText(v grid.Value) string {
	if v.IsNumber {
		return numberText(v.Number)
	}
	return v.Text
}

// moved says which way a shutoff went, for the column that tells its depth.
func moved(name string, h held, v grid.Value) change.Direction {
	if name != "Shutoff depth" || !v.IsNumber {
		return change.Same
	}
	return change.DirectionOf(h.text, v.Number)
}

// UnitsOf chooses the units to write in: the ones asked for, else those that
// most charts of the book use, since what the book uses goes in and comes out.
func UnitsOf(job *plan.Job, asked Units) Units {
	lengths, volumes := map[int]int{}, map[int]int{}
	for _, i := range job.ChartOf {
		if i >= 0 && job.Charts[i].UnitsKnown() {
			lengths[int(job.Charts[i].DepthUnit)]++
			volumes[int(job.Charts[i].VolumeUnit)]++
		}
	}
	u := asked
	if u.Length == 0 {
		u.Length = most(lengths, defaultUnits.Length)
	}
	if u.Volume == 0 {
		u.Volume = most(volumes, defaultUnits.Volume)
	}
	return u
}

func most[U ~uint8](counts map[int]int, other U) U {
	best, n := other, counts[int(other)]
	for _, u := range sortedKeys(counts) {
		if counts[u] > n {
			best, n = U(u), counts[u]
		}
	}
	return best
}

func sortedKeys(m map[int]int) []int {
	keys := make([]int, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// readMarks reads the check words of an earlier run from its Sources sheet.
func readMarks(sheet grid.Sheet) (Marks, error) {
	marks := Marks{}
	texts, err := sheetTexts(sheet)
	var headings []string
	for _, row := range texts {
		row = append(row, "", "", "")
		switch {
		case row[0] == marksRow:
			headings = strings.Split(row[2], "; ")
		case headings != nil && row[2] != "":
			marks.read(row[0], row[1], headings, row[2])
		}
	}
	return marks, err
}
