package writeback

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"dropcut/convert/change"
	"dropcut/convert/grid"
	"dropcut/convert/intake"
	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
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
	// Protected reports whether a list's sheet may not be written on; nil: none.
	Protected func(list *intake.TankList) (bool, error)
	// Earlier is what the run before left on the Sources sheet, and Inputs are what
	// this one is made from. Since lists what was changed between the two.
	Earlier *Earlier
	Inputs  change.Inputs
	Since   []change.Record
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
	// Kept gives for each tank, by its place in Results, in whose row somebody
	// else's figure stands, the first finding about it.
	Kept map[int]finding.Finding

	// complete says that every column stands in the book under its heading;
	// files gives the file and sheet of each column of the edit.
	complete bool
	files    []cell.Ref
}

// Make decides every cell.
func Make(in Input) (*Output, error) {
	if in.Earlier == nil {
		var err error
		if in.Earlier, err = ReadEarlier(in.Own(SourcesSheet)); err != nil {
			return nil, err
		}
	}
	out := &Output{First: true, complete: true, Kept: map[int]finding.Finding{}}
	var written []tankMarks
	nth := map[tankKey]int{}
	for i := range in.Reading.Lists {
		list := &in.Reading.Lists[i]
		if list.At.File != in.Book.Name() && !inBook(in.Book, list.At) {
			continue
		}
		w := listWriter{in: &in, list: list, out: out, nth: nth}
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
	if !out.First && len(in.Since)+len(out.Changes.Records) > 0 {
		out.Changes = change.Weave(&in.Reading.Job, slices.Concat(in.Since, out.Changes.Records))
	}
	var err error
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
	out.Edit.Sheets = append(out.Edit.Sheets, findings, changes, sourcesSheet(in.Sources, written, in.Inputs))
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
	out   *Output
	nth   map[tankKey]int // how many tanks of a name there were so far
	keys  []tankKey       // of the list's rows
	next  [][]mark        // of this run: for each row, in the order of the columns
	units []unitsOf       // in which the columns stand in the book
	// otherMarks says that the tubes' marks stood in another unit, in which they are
	// rounded otherwise; whether a cut changed its own figure tells.
	otherMarks bool
	// news says that a cell of an earlier plan is to be written anew.
	news bool
}

// unitsOf is the unit in the heading of a column that an earlier run wrote, the
// number of them that one of the new ones makes; 0 where it is the same.
type unitsOf float64

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
	if len(held) > 0 && w.anyOurs(columns) {
		w.out.First = false
	}
	tm := tankMarks{sheet: w.list.At.Sheet, tanks: make([]tankMark, 0, len(w.list.Rows))}
	for _, c := range columns {
		tm.headings = append(tm.headings, strings.TrimPrefix(c.base, prefix))
	}
	words := make([]mark, len(columns)*len(w.list.Rows))
	w.next = slices.Collect(slices.Chunk(words, len(columns)))
	for j := range w.list.Rows {
		t := w.in.Results[w.list.Tanks[j]].Tank
		// Of a compartment the id is TANK/COMPARTMENT, so that its marks are its own.
		key := tankKey{site: t.Site.Raw, tank: t.ID.V}
		n := w.nth[key]
		w.nth[key] = n + 1
		key.nth = n
		w.keys = append(w.keys, key)
	}
	var list []grid.Column
	for i := range columns {
		c := &columns[i]
		if w.list.Ours[c.heading(w.in.Units)] != places[i] {
			w.out.complete, w.news = false, true // new, or in other units than before
		}
		edit := grid.Column{
			Sheet: w.list.At.Sheet, Col: places[i], HeaderRow: w.list.HeaderRow, Heading: c.heading(w.in.Units), Width: c.width,
			Cells: make([]grid.At, 0, len(w.list.Rows)),
		}
		for j, row := range w.list.Rows {
			tank := w.list.Tanks[j]
			r := &w.in.Results[tank]
			first, doubtful := w.out.Kept[tank]
			if doubtful && (c.base == statusHeading || c.base == flagsHeading) {
				r = Doubted(r, first)
			}
			v := c.cell(r, w.in.Units)
			if w.keep(i, c, j, r, cellKey{row, places[i]}, held, v) {
				if !doubtful {
					w.out.Kept[tank] = w.out.Findings[len(w.out.Findings)-1]
				}
				continue
			}
			edit.Cells = append(edit.Cells, grid.At{Row: row, Value: v})
		}
		list = append(list, edit)
	}
	for j, k := range w.keys {
		tm.tanks = append(tm.tanks, tankMark{k.site, k.tank, marksText(w.next[j])})
	}
	if w.in.Protected != nil {
		protected, err := w.in.Protected(w.list)
		if err != nil {
			return tm, err
		}
		if protected && w.news {
			return tm, fmt.Errorf("%s: the sheet is protected, and an earlier plan stands on it whose figures have changed; they cannot be replaced there and must not stand beside new ones; take the protection off in the spreadsheet program (Review) and plan again", w.list.At)
		}
		if protected {
			return tm, nil // its cells say what they would say
		}
	}
	for _, edit := range list {
		w.out.Edit.Columns = append(w.out.Edit.Columns, edit)
		w.out.files = append(w.out.files, w.list.At)
	}
	return tm, nil
}

// anyOurs reports whether a column of an earlier plan stands beside the list.
func (w *listWriter) anyOurs(columns []column) bool {
	return slices.ContainsFunc(columns, func(c column) bool { return w.ours(&c) > 0 })
}

// ours gives the column of the book that holds one of ours, 0 for none.
func (w *listWriter) ours(c *column) int {
	for heading, col := range w.list.Ours {
		if base, _, apart := cutHeading(heading); base == c.base && apart == c.apart {
			return col
		}
	}
	return 0
}

// Doubted is the result of a tank in whose row somebody else's figure stands: it
// is not ready to be cut by, since the row no longer holds one plan.
func Doubted(r *validate.Result, f finding.Finding) *validate.Result {
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
	if err := w.leaveTheirs(columns); err != nil {
		return nil, false, err
	}
	places = make([]int, len(columns))
	w.units = make([]unitsOf, len(columns))
	missing := 0
	for i := range columns {
		places[i] = w.ours(&columns[i])
		if places[i] == 0 {
			missing++
			continue
		}
		w.units[i] = w.unitsAt(&columns[i], places[i])
		if columns[i].base == tubeHeading {
			w.otherMarks = w.units[i] != 0
		}
	}
	if missing == 0 {
		return places, false, nil
	}
	w.out.complete, w.news = false, true
	spot, err := w.in.Place(w.list, missing)
	if err != nil {
		return nil, false, err
	}
	if spot.OwnSheet && missing < len(columns) {
		// Old lengths on the one sheet and new ones on the other: somebody would cut
		// by the wrong ones. The protection is looked at once more below.
		return places, false, nil
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

// leaveTheirs finds the columns that have a heading of ours and were not written
// by dropcut: the heading is in no list of an earlier run, and something stands
// below it. They are left alone; ours stand elsewhere and say whose they are.
// Where nothing tells what an earlier run wrote, a whole set of the headings is
// taken for one.
func (w *listWriter) leaveTheirs(columns []column) error {
	all, sure := 0, 0
	for i := range columns {
		c := &columns[i]
		c.apart = true
		if w.ours(c) > 0 {
			continue // as an earlier run called it
		}
		c.apart = false
		if w.ours(c) == 0 {
			continue
		}
		all++
		if w.in.Earlier.marks.wrote(strings.TrimPrefix(c.base, prefix)) {
			sure++
		}
	}
	if all == sure || all == len(columns) && !w.in.Earlier.Planned() {
		return nil
	}
	held, err := current(w.in.Book, w.list)
	if err != nil {
		return err
	}
	filled := map[int]bool{}
	for at := range held {
		filled[at.col] = true
	}
	for i := range columns {
		c := &columns[i]
		col := w.ours(c)
		if c.apart || col == 0 || !filled[col] || w.in.Earlier.marks.wrote(strings.TrimPrefix(c.base, prefix)) {
			continue
		}
		c.apart = true
		w.out.Findings = append(w.out.Findings, finding.Finding{
			Slug: finding.ColumnsPlacedApart, Severity: finding.Note,
			At:         cell.Ref{File: w.list.At.File, Sheet: w.list.At.Sheet, Col: col, Row: w.list.HeaderRow},
			Found:      "a column with the heading " + c.base + " that dropcut has not written",
			Expected:   "headings that begin with " + strings.TrimSpace(prefix) + " on dropcut's own columns alone",
			Why:        "nothing that stands in the book is written over; dropcut's column has the heading " + c.heading(w.in.Units),
			Suggestion: "nothing needs to be done; another heading for your own column keeps the two from being mixed up",
		})
	}
	return nil
}

// unitsAt says how many of the units that a column of an earlier run stands in
// make one of those that are written now.
func (w *listWriter) unitsAt(c *column, col int) unitsOf {
	for heading, at := range w.list.Ours {
		if _, name, _ := cutHeading(heading); at == col && name != "" {
			return w.unitsOf(c, name)
		}
	}
	return 0
}

// unitsOf says the same of the unit that a heading names.
func (w *listWriter) unitsOf(c *column, name string) unitsOf {
	switch c.of {
	case length:
		if u, err := unit.ParseLengthUnit(name); err == nil && u != w.in.Units.Length && u.Size() > 0 {
			return unitsOf(w.in.Units.Length.Size() / u.Size())
		}
	case volume:
		if u, err := unit.ParseVolumeUnit(name); err == nil && u != w.in.Units.Volume && u.Size() > 0 {
			return unitsOf(w.in.Units.Volume.Size() / u.Size())
		}
	}
	return 0
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
	if w.in.Before == nil {
		w.changesApart(columns, have)
	}
	return nil
}

// changesApart tells what is written anew on a sheet of dropcut's own, of which
// the texts that an earlier run wrote are given.
func (w *listWriter) changesApart(columns []column, have [][]string) {
	sheet := w.in.Own(PlanSheet).At()
	head := headingsAt(have)
	if head < 0 {
		return
	}
	old := map[tankKey]int{}
	nth := map[tankKey]int{}
	next := func(site, tank string) tankKey {
		key := tankKey{site: site, tank: tank}
		n := nth[key]
		nth[key] = n + 1
		key.nth = n
		return key
	}
	for n := head + 1; n < len(have); n++ {
		if row := have[n]; len(row) > 1 {
			old[next(row[0], row[1])] = n
		}
	}
	clear(nth)
	for _, i := range w.list.Tanks {
		r := &w.in.Results[i]
		n, ok := old[next(r.Tank.Site.Raw, r.Tank.ID.V)]
		if !ok {
			continue // the tank is new in the list, which is told with the list
		}
		for j, heading := range have[head] {
			k := slices.IndexFunc(columns, func(c column) bool { return c.base == baseOf(heading) })
			if k < 0 {
				continue
			}
			c := &columns[k]
			h, v := held{}, c.cell(r, w.in.Units)
			if j < len(have[n]) {
				h.text = have[n][j]
			}
			_, name, _ := cutHeading(heading)
			units := w.unitsOf(c, name)
			record := w.cutRecord(c, r, h, v, units, cell.Ref{File: sheet.File, Sheet: sheet.Sheet, Col: j + 1, Row: n + 1})
			if !sameText(h, v) && record.Old != record.New {
				w.out.Changes.Records = append(w.out.Changes.Records, record)
			}
		}
	}
}

// headingsAt finds the row, from 0, of the headings of a plan on a sheet of its
// own; -1 where there is none.
func headingsAt(texts [][]string) int {
	return slices.IndexFunc(texts, func(line []string) bool { return len(line) > 2 && strings.HasPrefix(line[2], prefix) })
}

// cutRecord tells a figure of a plan that became another one.
func (w *listWriter) cutRecord(c *column, r *validate.Result, h held, v grid.Value, units unitsOf, at cell.Ref) change.Record {
	name := strings.TrimPrefix(c.base, prefix)
	return change.Record{
		Subject: change.OfCut, Site: r.Tank.Site.Raw, Tank: r.Tank.ID.V, What: strings.ToLower(name),
		Old: c.said(h.text, units, w.in.Units), New: c.said(valueText(v), 0, w.in.Units), OldAt: at, NewAt: at, Moved: moved(name, units, h, v),
	}
}

// planTitle heads a plan on a sheet of its own.
func planTitle(list *intake.TankList) string { return "Plan for the tanks of " + list.At.Sheet }

// planSheet is the plan on a sheet of its own, for a list that may not be
// written beside.
func (w *listWriter) planSheet(columns []column) grid.NewSheet {
	s := grid.NewSheet{Name: PlanSheet, Widths: []float64{22, 14}}
	s.Rows = append(s.Rows, []grid.Value{grid.Str(planTitle(w.list), grid.LookTitle)})
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

// keep decides over one cell, of column i and row j. It returns true where the cell
// must be left as it is, because somebody else has written into it; and it notes
// the change, if there is one, and the check word for the next run.
func (w *listWriter) keep(i int, c *column, j int, r *validate.Result, at cellKey, held map[cellKey]held, v grid.Value) bool {
	name := strings.TrimPrefix(c.base, prefix)
	h, there := held[at]
	before, known := w.in.Earlier.marks.of(w.keys[j], name)
	w.next[j][i] = mark{ours: wordOf(v)}

	record := w.cutRecord(c, r, h, v, w.units[i], cell.Ref{File: w.list.At.File, Sheet: w.list.At.Sheet, Col: at.col, Row: at.row})
	if !there && !v.Blank() {
		// A cell that somebody has emptied was not typed over: it is written
		// again, and so is one of a tank that is new in the list.
		w.out.complete, w.news = false, true
	}
	if !there || sameText(h, v) {
		return false
	}
	// A cell that was left blank holds what somebody typed, whatever it is.
	if h.formula || known && (before.ours == 0 || !h.is(before.ours)) {
		theirs := heldWord(h)
		w.next[j][i].theirs = theirs
		if known {
			// What dropcut wrote last is still what it compares with.
			w.next[j][i].ours = before.ours
		}
		w.out.Findings = append(w.out.Findings, w.keptFinding(&record, h, v))
		if before.theirs != theirs {
			record.Subject, record.Old, record.New, record.Moved = change.ByHand, valueText(v), heldText(h), change.Same
			w.out.Changes.Records = append(w.out.Changes.Records, record)
		}
		return true
	}
	w.news = true
	if w.in.Before == nil && record.Old != record.New && (c.base != markHeading || !w.otherMarks) {
		w.out.Changes.Records = append(w.out.Changes.Records, record)
	}
	return false
}

// said gives a figure of a plan as a list of changes says it: to the precision
// that people use, with its unit. old is the unit that the text stands in.
func (c *column) said(text string, old unitsOf, u Units) string {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || c.of == words {
		return text
	}
	if old != 0 {
		v /= float64(old)
	}
	// A ten-thousandth of a percent or of an inch is below all that can be read
	// off a tape; a tenth of a gallon is what charts are rounded to.
	decimals, name := 1e4, ""
	switch c.of {
	case length:
		name = " " + u.Length.String()
	case volume:
		decimals, name = 10, " "+u.Volume.String()
	case percent:
		name = " %"
	}
	return numberText(math.Round(v*decimals)/decimals) + name
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

func wordOf(v grid.Value) word {
	if v.Blank() {
		return 0
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
func moved(name string, old unitsOf, h held, v grid.Value) change.Direction {
	if name != "Shutoff depth" || !v.IsNumber {
		return change.Same
	}
	if old != 0 {
		v.Number *= float64(old)
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
