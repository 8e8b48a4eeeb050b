// Package intake turns messy grids into typed tanks, charts, devices and rules,
// and says of each value where it stood. It guesses headings, columns and
// layouts by evidence, and it repairs nothing in silence: what cannot be read,
// and what can be read in two ways, becomes a finding.
package intake

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"dropcut/convert/grid"
	"dropcut/convert/intake/charts"
	"dropcut/convert/intake/figures"
	"dropcut/convert/intake/headword"
	"dropcut/convert/intake/idform"
	"dropcut/convert/intake/join"
	"dropcut/convert/intake/lists"
	"dropcut/convert/intake/sheetkind"
	"dropcut/convert/intake/survey"
	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/rule"
	"dropcut/plan/unit"
)

// Options say what the user told beside the books.
type Options struct {
	// ChartDepthUnit and ChartVolumeUnit (--chart-units) are the units of charts
	// for which no file names any. Each use is reported; a chart that names its
	// units is not overruled.
	ChartDepthUnit  unit.LengthUnit
	ChartVolumeUnit unit.VolumeUnit
	// Notes, where given, say how charts are to be read (--notes).
	Notes *Notes
	// Rules are the embedded rules; rows of the books are put over them.
	Rules []rule.Rule
}

// Read understands books: the first is the portfolio, whose tanks are planned;
// the others hold more charts. Devices and rules are taken from all of them, a
// list of tanks only from the first book that has one. An error
// is trouble with a file, or notes that do not fit it; everything else is a
// finding. Nothing found at all is an error, since an empty result would pass
// for a good one.
func Read(books []grid.Book, opt Options) (*Reading, error) {
	if len(books) == 0 {
		return nil, errors.New("no book was given to read")
	}
	r := &reader{
		opt: opt, tanks: headword.NewMatcher(headword.TankFields), devices: headword.NewMatcher(headword.DeviceFields), rules: headword.NewMatcher(headword.RuleFields),
		reading: &Reading{Job: plan.Job{Book: books[0].Name()}},
	}
	r.tanks.Share(r.devices, r.rules)
	if opt.Notes != nil {
		if err := opt.Notes.Fit(books); err != nil {
			return nil, err
		}
	}
	// Lists come first: the names of the tanks help to read the charts.
	for _, b := range books {
		if err := r.lists(b); err != nil {
			return nil, err
		}
	}
	for _, c := range r.chartSheets {
		if err := r.charts(c); err != nil {
			return nil, err
		}
	}
	return r.finish(books)
}

// reader is the state of one Read.
type reader struct {
	opt                   Options
	tanks, devices, rules *headword.Matcher
	reading               *Reading
	out                   survey.Findings
	chartSheets           []chartSheet
	ownRules              []rule.Rule
	waiting               []*figures.Ullages
	order                 []cell.Ref // the sheets in file order
	listBook              int        // index of the book whose lists are read
	ids                   headword.Known
	counted               int // tanks whose ids are in ids
}

// knownIDs gives the ids of the tanks read so far, and the charts that they name.
func (r *reader) knownIDs() headword.Known {
	if r.ids == nil {
		r.ids = headword.KnownIDs()
	}
	for i := r.counted; i < len(r.reading.Job.Tanks); i++ {
		t := &r.reading.Job.Tanks[i]
		r.ids[t.ID.V] = true
		if t.ChartName.Given() {
			r.ids[t.ChartName.V] = true
		}
	}
	r.counted = len(r.reading.Job.Tanks)
	return r.ids
}

// chartSheet is a sheet that may hold charts, and where its note stands.
type chartSheet struct {
	sheet      grid.Sheet
	book, note int
}

// lists classifies the sheets of a book and reads those that are lists.
func (r *reader) lists(b grid.Book) error {
	note := survey.BookNote{File: b.Name(), Notes: b.Notes()}
	for _, sh := range b.Sheets() {
		r.order = append(r.order, sh.At())
		note.Sheets = append(note.Sheets, survey.SheetNote{At: sh.At(), Hidden: sh.Hidden()})
		if r.opt.Notes != nil && r.opt.Notes.Has(sh.At()) {
			if err := r.notedSheet(b, sh, &note); err != nil {
				return err
			}
			continue
		}
		if err := r.sheet(b, sh, &note); err != nil {
			return err
		}
	}
	r.reading.Books = append(r.reading.Books, note)
	return nil
}

// sheet settles what a sheet is, or what its parts are, and reads the lists on
// it. The last note of the book is the sheet's.
func (r *reader) sheet(b grid.Book, sh grid.Sheet, note *survey.BookNote) error {
	h, err := sheetkind.ReadHead(sh)
	if err != nil {
		return err
	}
	parts := h.Beside(sh, r.tanks)
	for _, p := range parts {
		h, err := sheetkind.ReadHead(p)
		if err != nil {
			return err
		}
		if len(h.Rows) > 0 {
			if err := r.part(b, p, h, note); err != nil {
				return err
			}
		}
	}
	if len(parts) > 0 {
		return nil
	}
	return r.part(b, sh, h, note)
}

// notedSheet reads a sheet whose charts stand in the notes. A list of tanks may
// stand beside or above them; a sheet that would pass for a list as a whole is
// what the notes say.
func (r *reader) notedSheet(b grid.Book, sh grid.Sheet, note *survey.BookNote) error {
	job, reading, sheets, book := r.reading.Job, *r.reading, len(r.chartSheets), r.listBook
	found := len(r.out.List)
	if err := r.sheet(b, sh, note); err != nil {
		return err
	}
	if len(r.chartSheets) == sheets {
		*r.reading, r.listBook = reading, book
		r.reading.Job = job
		r.out.List = r.out.List[:found]
	}
	r.chartSheets = append(r.chartSheets[:sheets], chartSheet{sh, len(r.reading.Books), len(note.Sheets) - 1})
	sn := &note.Sheets[len(note.Sheets)-1]
	sn.What, sn.Why = survey.ChartsSheet, "the notes say so"
	return nil
}

// part reads a sheet, or a part of one, of which the head is known.
func (r *reader) part(b grid.Book, sh grid.Sheet, h *sheetkind.Head, note *survey.BookNote) error {
	if d, ok := b.(interface{ Date1904() bool }); ok {
		h.Date1904 = d.Date1904()
	}
	c := sheetkind.Classify(h, r.tanks, r.devices, r.rules)
	if !h.All && (c.Kind != survey.ChartsSheet || h.GapAbove()) {
		if err := h.ReadMerges(sh); err != nil {
			return err
		}
		c = sheetkind.Classify(h, r.tanks, r.devices, r.rules)
	}
	sn := &note.Sheets[len(note.Sheets)-1]
	if sn.What == "" {
		sn.What, sn.Why = c.Kind, c.Why
	} else if c.Kind == survey.ChartsSheet {
		sn.Why += "; charts may stand beside it"
	}
	charts := func(rows grid.Range) {
		r.chartSheets = append(r.chartSheets, chartSheet{sheetkind.Area{Sheet: sh, Is: rows}, len(r.reading.Books), len(note.Sheets) - 1})
	}
	job := &r.reading.Job
	switch c.Kind {
	case survey.TanksSheet:
		above := h.ChartAbove(c.Header)
		if above {
			charts(grid.Range{Row: 1, ToRow: c.Header.First - 1, Col: 1, ToCol: sheetkind.LastOf})
			sn.Why += "; above it stand charts"
		}
		if len(r.reading.Lists) > 0 && r.listBook != len(r.reading.Books) {
			// The tanks of the portfolio are planned; the same tanks in the
			// charts' own list would only come twice.
			sn.What, sn.Why = survey.OtherSheet, c.Why+"; passed over, since "+r.reading.Lists[0].At.String()+" is the list that is planned"
			end, err := chartBelow(sh, h, c.Header)
			if err != nil {
				return err
			}
			if end > 0 {
				charts(grid.Range{Row: end, ToRow: sheetkind.LastOf, Col: 1, ToCol: sheetkind.LastOf})
			}
			return nil
		}
		t, err := r.list(sh, h, c.Header, len(r.reading.Books))
		if err != nil {
			return err
		}
		if t.End > 0 {
			charts(grid.Range{Row: t.End, ToRow: sheetkind.LastOf, Col: 1, ToCol: sheetkind.LastOf})
			sn.Why += fmt.Sprintf("; charts begin at row %d below it", t.End)
		}
	case survey.DevicesSheet:
		list, table, err := lists.ReadDevices(sh, h, c.Header, &r.out)
		if err != nil {
			return err
		}
		job.Devices = append(job.Devices, list...)
		r.reading.Tables = append(r.reading.Tables, table)
	case survey.RulesSheet:
		list, table, err := lists.ReadRules(sh, c.Header, &r.out)
		if err != nil {
			return err
		}
		r.ownRules = append(r.ownRules, list...)
		r.reading.Tables = append(r.reading.Tables, table)
	case survey.ChartsSheet:
		r.chartSheets = append(r.chartSheets, chartSheet{sh, len(r.reading.Books), len(note.Sheets) - 1})
		r.namelessList(h)
	}
	if c.Kind == survey.ChartsSheet || c.Kind == survey.OtherSheet {
		r.turnedList(h)
	}
	return nil
}

// list reads a list of tanks of a book.
func (r *reader) list(sh grid.Sheet, h *sheetkind.Head, hd *sheetkind.Header, book int) (*lists.TankReader, error) {
	job := &r.reading.Job
	t, err := lists.ReadTanks(sh, h, hd, len(job.Tanks), &r.out)
	if err != nil {
		return nil, err
	}
	if len(job.Tanks) == 0 {
		job.Tanks = t.Tanks
	} else {
		job.Tanks = append(job.Tanks, t.Tanks...)
	}
	r.listBook = book
	r.reading.Lists = append(r.reading.Lists, t.List)
	r.reading.Tables = append(r.reading.Tables, t.Table)
	return t, nil
}

// chartBelow gives the row in which charts begin below a list that is passed
// over; 0 for none.
func chartBelow(sh grid.Sheet, h *sheetkind.Head, hd *sheetkind.Header) (int, error) {
	t := &lists.TankReader{Hd: hd, Table: lists.ListTable(sh.At(), "tank list", hd)}
	_, err := t.Collect(sh, h)
	return t.End, err
}

// namelessList says where a sheet has the headings of a tank list but for the
// one that matters.
func (r *reader) namelessList(h *sheetkind.Head) {
	hd := h.FindHeader(r.tanks, "")
	if hd == nil || hd.Fields < 4 {
		return
	}
	var known []string
	for _, c := range hd.Cols {
		if c.Known {
			known = append(known, c.Text)
		}
	}
	at := h.At
	at.Row = hd.Last
	r.out.Add(finding.Finding{
		Slug: finding.TankColumnMissing, Severity: finding.Check, At: at, Found: "the headings " + strings.Join(known, ", "), Expected: "a column that names the tanks",
		Why: "the sheet looks like a list of tanks, and its rows cannot be told apart", Suggestion: "give the column with the tanks' names the heading Tank",
	})
}

// turnedList says where a list of tanks lies on its side, a tank a column: nothing
// could be written beside its rows.
func (r *reader) turnedList(h *sheetkind.Head) {
	hd := h.Sideways(r.tanks)
	if hd == nil || hd.Fields < 3 || hd.Col(headword.FieldTank) == 0 {
		return
	}
	at := h.At
	at.Row, at.Col = hd.Cols[0].At.Row, hd.Cols[0].At.Col
	r.out.Add(finding.Finding{
		Slug: finding.TankColumnMissing, Severity: finding.Stop, At: at, Found: fmt.Sprintf("a list of tanks with %d of its headings below each other", hd.Fields), Expected: "a row for each tank",
		Why: "the list lies on its side, a column for each tank; none of its tanks was read", Suggestion: "copy the list and paste it with rows and columns exchanged",
	})
}

// charts reads the charts of one sheet.
func (r *reader) charts(c chartSheet) error {
	opt := charts.Options{IDs: r.knownIDs()}
	read := charts.Read
	if r.opt.Notes != nil && r.opt.Notes.Has(c.sheet.At()) {
		read = r.opt.Notes.Follow
	}
	got, err := read(c.sheet, opt)
	if err != nil {
		return err
	}
	if r.opt.Notes != nil && r.opt.Notes.Has(c.sheet.At()) {
		// What is no chart may be a list; the notes speak of charts only.
		found, err := charts.Read(c.sheet, opt)
		if err != nil {
			return err
		}
		got.Refused = found.Refused
	}
	made, err := r.listsWithin(c, got.Refused)
	if err != nil {
		return err
	}
	if len(made) > 0 {
		opt.IDs = r.knownIDs()
		if got, err = read(c.sheet, opt); err != nil {
			return err
		}
		without(&got, made)
	}
	note := &r.reading.Books[c.book].Sheets[c.note]
	if len(made) > 0 && len(got.Charts) > 0 {
		note.Why = "charts, and " + survey.Many(len(made), "list") + " of tanks among them"
	}
	if len(got.Charts) == 0 && note.What == survey.ChartsSheet {
		note.What = survey.OtherSheet
		note.Why = "no chart was found on it"
		if len(made) > 0 {
			note.What, note.Why = survey.TanksSheet, "a list of tanks stands below other things"
		}
		if len(got.Findings) > 0 {
			note.Why = "what may be a chart on it could not be read"
		}
	}
	job := &r.reading.Job
	job.Charts = append(job.Charts, got.Charts...)
	r.reading.Tables = append(r.reading.Tables, got.Tables...)
	r.waiting = append(r.waiting, got.Waiting...)
	r.out.List = append(r.out.List, got.Findings...)
	return nil
}

// listsWithin reads the lists of tanks among the tables that are no charts.
func (r *reader) listsWithin(c chartSheet, refused []grid.Range) (made []*lists.TankReader, err error) {
	known := slices.Clone(r.reading.Lists)
	for _, at := range refused {
		if slices.ContainsFunc(known, func(l survey.TankList) bool {
			return l.At == c.sheet.At() && at.ToRow >= l.HeaderRow && at.Row <= l.LastRow
		}) {
			continue // read before, though the notes name the sheet
		}
		if len(r.reading.Lists) > 0 && r.listBook != c.book {
			break
		}
		if slices.ContainsFunc(made, func(t *lists.TankReader) bool { return at.Row <= t.Table.To.Row }) {
			continue
		}
		part := sheetkind.Area{Sheet: c.sheet, Is: grid.Range{Row: at.Row, ToRow: sheetkind.LastOf, Col: 1, ToCol: sheetkind.LastOf}}
		h, err := sheetkind.ReadHead(part)
		if err != nil {
			return nil, err
		}
		k := sheetkind.Classify(h, r.tanks, r.devices, r.rules)
		if k.Kind != survey.TanksSheet || k.Header.First > at.ToRow || k.Header.Fields < 3 {
			continue
		}
		t, err := r.list(part, h, k.Header, c.book)
		if err != nil {
			return nil, err
		}
		made = append(made, t)
	}
	return made, nil
}

// without takes out what was said of tables that are lists of tanks.
func without(c *figures.Yield, made []*lists.TankReader) {
	within := func(row int) bool {
		return slices.ContainsFunc(made, func(t *lists.TankReader) bool { return row >= t.Table.At.Row && row <= t.Table.To.Row })
	}
	c.Tables = slices.DeleteFunc(c.Tables, func(t survey.Table) bool { return t.Charts == 0 && within(t.At.Row) })
	c.Findings = slices.DeleteFunc(c.Findings, func(f finding.Finding) bool { return f.Slug == finding.LayoutUnclear && within(f.At.Row) })
}

// ErrNothing says that there is nothing in a book to plan or to audit.
var ErrNothing = errors.New("holds neither a list of tanks nor a chart")

// finish joins tanks and charts and settles what needs both.
func (r *reader) finish(books []grid.Book) (*Reading, error) {
	job := &r.reading.Job
	if len(job.Tanks) == 0 && len(job.Charts) == 0 && len(r.out.List) == 0 && len(r.reading.Lists) > 0 {
		return nil, fmt.Errorf("the list of tanks in %s has its headings and no tank yet, and there is no chart; fill in a row for each tank", r.reading.Lists[0].At)
	}
	if len(job.Tanks) == 0 && len(job.Charts) == 0 && len(r.out.List) == 0 {
		return nil, fmt.Errorf("%s %w; a list has a heading Tank and headings such as Capacity (gal) or Riser height (in), a chart columns of depths and volumes; dropcut inspect shows what each sheet was taken for", bookNames(books), ErrNothing)
	}
	job.Rules = lists.MergeRules(r.opt.Rules, r.ownRules)
	job.Devices = lists.OneOfEach(job.Devices, &r.out)
	listed := len(job.Tanks)
	if listed > 0 {
		r.reading.Joins = join.Tanks(job, &r.out)
	} else {
		chartsAsTanks(job, &r.out)
	}
	join.SettleUnits(job, r.opt.ChartDepthUnit, r.opt.ChartVolumeUnit, &r.out)
	join.TurnUllages(job, r.waiting, &r.out)
	r.dropSettled()
	r.dropCombined()
	join.UnknownUnits(job, &r.out)
	join.DoubtUnits(job, &r.out)
	r.nameTanks()
	job.Findings = r.out.List
	r.sortTables()
	return r.reading, nil
}

func bookNames(books []grid.Book) string {
	var names []string
	for _, b := range books {
		names = append(names, b.Name())
	}
	return strings.Join(names, " and ")
}

// chartsAsTanks makes a tank of each chart of a book without a list, so that
// charts alone can be audited.
func chartsAsTanks(job *plan.Job, out *survey.Findings) {
	job.ChartOf = make([]int, len(job.Charts))
	job.Tanks = make([]plan.Tank, len(job.Charts))
	first := make(map[[2]string]int) // by site and name as they are compared
	nameless := make(map[string]int)
	for i, c := range job.Charts {
		t := plan.Tank{At: c.At}
		t.At.Col, t.At.Row = 0, 0
		t.ID = cell.Of[string]{V: c.Name, Raw: join.ChartRaw(c), At: join.NameAt(c)}
		if c.Name == "" {
			// Nothing in the file names it; the file itself does, and the place
			// where several stand in one.
			t.ID.V = strings.TrimSuffix(sheetkind.BaseName(c.At.File), ".csv")
			if c.At.Sheet != "" {
				t.ID.V = c.At.Sheet
			}
			if nameless[t.ID.V]++; nameless[t.ID.V] > 1 {
				t.ID.V += " " + c.At.A1()
			}
			t.ID.Raw = t.ID.V
		}
		job.Tanks[i] = t
		job.ChartOf[i] = i
		key := [2]string{idform.Fold(c.Site), idform.Fold(t.ID.V)}
		k, again := first[key]
		if !again {
			first[key] = i
		} else if c.Name != "" {
			join.NamedTwice(job, k, i, out)
		}
	}
}

// dropSettled takes back what a chart alone lacked and its tank list, or the
// option, has given since.
func (r *reader) dropSettled() {
	known := map[cell.Ref]map[string]bool{}
	for _, c := range r.reading.Job.Charts {
		if !c.UnitsKnown() {
			continue
		}
		at := cell.Ref{File: c.At.File, Sheet: c.At.Sheet}
		if known[at] == nil {
			known[at] = map[string]bool{}
		}
		known[at][c.Name] = true
	}
	r.out.List = slices.DeleteFunc(r.out.List, func(f finding.Finding) bool {
		return f.Slug == finding.UnitsUnknown && f.Chart != "" && known[cell.Ref{File: f.At.File, Sheet: f.At.Sheet}][f.Chart] ||
			f.Slug == finding.UnitsUnknown && f.Chart == "" && f.Tank == "" && r.only(f.At)
	})
}

// dropCombined takes back the note that a chart holds several tanks where one of
// them has a check that says so.
func (r *reader) dropCombined() {
	checked := map[string]bool{}
	for i := range r.out.List {
		if f := &r.out.List[i]; f.Slug == finding.CombinedVolume && f.Severity == finding.Check {
			checked[f.Chart] = true
		}
	}
	r.out.List = slices.DeleteFunc(r.out.List, func(f finding.Finding) bool {
		return f.Slug == finding.CombinedVolume && f.Severity == finding.Note && checked[f.Chart]
	})
}

// only reports whether the single chart of a sheet, which has no name, has its
// units by now.
func (r *reader) only(at cell.Ref) bool {
	n, known := 0, false
	for _, c := range r.reading.Job.Charts {
		if c.At.File == at.File && c.At.Sheet == at.Sheet {
			n++
			known = c.UnitsKnown()
		}
	}
	return n == 1 && known
}

// nameTanks gives each finding about a chart the tank that the chart was joined
// to, so that a fault of the chart stops its tank.
func (r *reader) nameTanks() {
	job := &r.reading.Job
	owner := map[chartKey][]int{}
	chartSheets := map[cell.Ref]bool{} // those that hold a chart without a name
	for i, k := range job.ChartOf {
		if k >= 0 {
			c := job.Charts[k]
			id := chartKey{c.At.File, c.At.Sheet, c.Name, c.Site}
			owner[id] = append(owner[id], i)
			if c.Name == "" {
				chartSheets[cell.Ref{File: c.At.File, Sheet: c.At.Sheet}] = true
			}
		}
	}
	var more []finding.Finding
	for i := range r.out.List {
		f := &r.out.List[i]
		if f.Chart == "" && (f.Tank != "" || !chartSheets[cell.Ref{File: f.At.File, Sheet: f.At.Sheet}]) {
			continue
		}
		tanks := owner[chartKey{f.At.File, f.At.Sheet, f.Chart, f.Site}]
		if len(tanks) == 0 {
			tanks = owner[chartKey{f.At.File, f.At.Sheet, f.Chart, ""}]
		}
		if len(tanks) == 0 || f.Tank != "" && f.Tank != f.Chart {
			continue
		}
		f.Tank, f.Site = job.Tanks[tanks[0]].ID.V, job.Tanks[tanks[0]].Site.V
		for _, t := range tanks[1:] { // a chart that several tanks share
			g := *f
			g.Tank, g.Site = job.Tanks[t].ID.V, job.Tanks[t].Site.V
			more = append(more, g)
		}
	}
	r.out.List = append(r.out.List, more...)
}

// sortTables puts the tables into the order of the files.
func (r *reader) sortTables() {
	place := map[cell.Ref]int{}
	for i, at := range r.order {
		if _, ok := place[at]; !ok {
			place[at] = i
		}
	}
	slices.SortStableFunc(r.reading.Tables, func(a, b survey.Table) int {
		x, y := place[cell.Ref{File: a.At.File, Sheet: a.At.Sheet}], place[cell.Ref{File: b.At.File, Sheet: b.At.Sheet}]
		if x != y {
			return x - y
		}
		return a.At.Row - b.At.Row
	})
}
