// Package sheetkind settles what a sheet is, or what its parts are: a list of
// tanks, devices or rules, charts, or something else.
package sheetkind

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"dropcut/convert/grid"
	"dropcut/convert/intake/headword"
	"dropcut/convert/intake/idform"
	"dropcut/convert/intake/survey"
	"dropcut/plan/cell"
	"dropcut/plan/unit"
)

// headRows is how many rows of a sheet are looked at before it is decided what
// the sheet is. Titles, addresses and notes above a table seldom take ten.
const headRows = 60

// Cell is a cell kept beyond its row.
type Cell struct {
	Col     int
	Kind    grid.Kind
	Format  grid.Format
	Formula bool
	Num     float64
	Text    string // the stored text
	At      int    // row it stands in; another than its row's where it was merged
}

// Row is a row kept beyond the stream.
type Row struct {
	N      int
	Hidden bool
	Cells  []Cell
	// heads and units say whether it can be one of headings, or one of units; 0
	// while nobody has asked.
	heads, units answer
}

type answer uint8

const (
	yes answer = iota + 1
	no
)

// mayHead reports whether the row holds nothing that headings do not: numbers,
// results of formulas. A year may stand among them, as over a column of
// inspections, where most of the row is words.
func (r *Row) mayHead() bool {
	if r.heads == 0 {
		r.heads = yes
		words, years := 0, 0
		for i := range r.Cells {
			c := &r.Cells[i]
			switch {
			case c.year():
				years++
			case c.Kind == grid.Number || c.Kind == grid.Bool || c.Formula && c.Kind != grid.Text || c.Kind == grid.Text && looksNumber(c.Text):
				r.heads = no
				return false
			case c.Kind == grid.Text:
				words++
			}
		}
		if years > 0 && words < wordsAYear*years {
			r.heads = no
		}
	}
	return r.heads == yes
}

// wordsAYear is how many headings of words stand beside each one that is a year,
// at least (a guess without a source; a row of a list has other numbers too).
const wordsAYear = 4

// year reports whether the cell is a number that may be a year.
func (c *Cell) year() bool {
	n := c.Num
	switch {
	case c.Formula || c.Kind == grid.Number && c.Format != grid.Plain:
		return false
	case c.Kind == grid.Text:
		y, err := strconv.Atoi(strings.TrimFunc(c.Text, headword.IsBlank))
		if err != nil {
			return false
		}
		n = float64(y)
	case c.Kind != grid.Number:
		return false
	}
	return n >= 1950 && n <= 2100 && n == math.Trunc(n)
}

func (r *Row) At(col int) *Cell {
	for i := range r.Cells {
		if r.Cells[i].Col == col {
			return &r.Cells[i]
		}
	}
	return nil
}

// isUnits is unitsRow, remembered.
func (r *Row) isUnits() bool {
	if r.units == 0 {
		r.units = no
		if unitsRow(r) {
			r.units = yes
		}
	}
	return r.units == yes
}

// Blank reports whether a cell holds nothing that a person would see.
func (c *Cell) Blank() bool {
	return c == nil || !c.Formula && strings.TrimFunc(c.Text, headword.IsBlank) == ""
}

func KeepRow(r *grid.Row) Row {
	kept := Row{N: r.N, Hidden: r.Hidden, Cells: make([]Cell, 0, len(r.Cells))}
	for i := range r.Cells {
		c := &r.Cells[i]
		kept.Cells = append(kept.Cells, Cell{Col: c.Col, Kind: c.Kind, Format: c.Format, Formula: c.Formula, Num: c.Num, Text: string(c.Raw), At: r.N})
	}
	return kept
}

// Head is the first rows of a sheet.
type Head struct {
	At     cell.Ref
	Rows   []Row
	Merges []grid.Range
	All    bool // these are all of its rows
	// Date1904 says that the book counts its days from 1904 on.
	Date1904 bool
}

func ReadHead(sh grid.Sheet) (*Head, error) {
	h := &Head{At: sh.At(), All: true}
	for r, err := range sh.Rows() {
		if err != nil {
			return nil, err
		}
		if len(h.Rows) == headRows {
			h.All = false
			break
		}
		h.Rows = append(h.Rows, KeepRow(r))
	}
	// The merged areas of a long sheet cost a run over all of it.
	if h.All {
		return h, h.ReadMerges(sh)
	}
	return h, nil
}

func (h *Head) ReadMerges(sh grid.Sheet) (err error) {
	h.Merges, err = sh.Merges()
	return err
}

// GapAbove reports whether a row of words leaves out a column for which the row
// of words below it has one, as a heading does that spans several columns.
func (h *Head) GapAbove() bool {
	for i := 1; i < len(h.Rows); i++ {
		a, b := &h.Rows[i-1], &h.Rows[i]
		if b.N != a.N+1 || len(a.Cells) == 0 || !OnlyWords(a) || !OnlyWords(b) {
			continue
		}
		for _, c := range b.Cells {
			if c.Col > a.Cells[0].Col && a.At(c.Col) == nil {
				return true
			}
		}
	}
	return false
}

// OnlyWords reports whether a row holds texts and nothing else.
func OnlyWords(r *Row) bool {
	return !slices.ContainsFunc(r.Cells, func(c Cell) bool { return c.Kind != grid.Text || looksNumber(c.Text) })
}

// Header is where the headings of a list were found and what they mean.
type Header struct {
	First, Last int // rows of headings
	Units       int // row of units, 0 for none
	Cols        []Column
	score       float64
	Fields      int                          // distinct fields
	width       int                          // headings in all
	Found       map[headword.Field][]*Column // what find has given before
}

// Column is one column of a list.
type Column struct {
	Col     int
	Text    string
	At      cell.Ref
	Field   headword.FieldWords
	Known   bool
	score   float64
	Length  unit.LengthUnit
	Volume  unit.VolumeUnit
	From    cell.Ref // where the unit stands
	percent bool     // the heading carries a percent sign
	// Covered says that the heading is that of a column farther left, merged
	// with the cell above this one.
	Covered bool
}

// Find gives the columns of a field, the best first.
func (h *Header) Find(f headword.Field) []*Column {
	found, ok := h.Found[f]
	if ok {
		return found
	}
	for i := range h.Cols {
		if h.Cols[i].Known && h.Cols[i].Field.Field == f {
			found = append(found, &h.Cols[i])
		}
	}
	slices.SortStableFunc(found, func(a, b *Column) int {
		switch {
		case a.score > b.score+0.05:
			return -1
		case b.score > a.score+0.05:
			return 1
		}
		return 0
	})
	if h.Found == nil {
		h.Found = map[headword.Field][]*Column{}
	}
	h.Found[f] = found
	return found
}

func (h *Header) Col(f headword.Field) int {
	if found := h.Find(f); len(found) > 0 {
		return found[0].Col
	}
	return 0
}

// ourHeading begins the heading of each column that dropcut wrote itself.
const ourHeading = "plan:"

func IsOurs(heading string) bool {
	return strings.HasPrefix(unit.Fold(heading), ourHeading)
}

// FindHeader looks for the row, or the two or three rows on each other, whose
// cells name the most fields of the table. It returns nil where no row names two.
func (h *Head) FindHeader(m *headword.Matcher, must headword.Field) *Header {
	var best *Header
	// One row first: more are taken only where they name clearly more.
	for span := 1; span <= 3; span++ {
		for i := 0; i+span <= len(h.Rows); i++ {
			if h.Rows[i+span-1].N != h.Rows[i].N+span-1 {
				continue
			}
			hd := h.headerAt(m, i, span)
			if hd == nil {
				continue
			}
			if hd.Fields < 2 || must != "" && hd.Col(must) == 0 {
				continue
			}
			if best == nil || hd.score > best.score+0.5 {
				best = hd
			}
		}
	}
	return best
}

// Sideways reads the first column as the headings of a list that lies on its side;
// nil where no two columns stand beside it.
func (h *Head) Sideways(m *headword.Matcher) *Header {
	turned := Head{At: h.At, Rows: []Row{{N: 1}}}
	beside, col := 0, 0
	width := map[int]int{} // cells beside the heading of a row
	for i := range h.Rows {
		r := &h.Rows[i]
		if len(r.Cells) == 0 || r.Cells[0].Kind != grid.Text || looksNumber(r.Cells[0].Text) {
			continue
		}
		if col == 0 {
			col = r.Cells[0].Col
		}
		if r.Cells[0].Col != col {
			return nil
		}
		beside = max(beside, len(r.Cells)-1)
		width[r.N] = len(r.Cells) - 1
		c := r.Cells[0]
		c.Col = len(turned.Rows[0].Cells) + 1
		turned.Rows[0].Cells = append(turned.Rows[0].Cells, c)
	}
	if beside < 2 || len(turned.Rows[0].Cells) < 3 {
		return nil
	}
	hd := turned.headerAt(m, 0, 1)
	if hd != nil {
		// Labels with one value each are what is said above a chart.
		full := 0
		for i := range hd.Cols {
			c := &hd.Cols[i]
			n := width[turned.Rows[0].Cells[c.Col-1].At]
			if c.Known && n < 2 && c.Field.Field == headword.FieldTank {
				return nil
			}
			if c.Known && n >= 2 {
				full++
			}
		}
		if full < 3 {
			return nil
		}
		hd.Cols[0].At = cell.Ref{File: h.At.File, Sheet: h.At.Sheet, Col: col, Row: turned.Rows[0].Cells[0].At}
	}
	return hd
}

// headerAt reads span rows from the i-th as headings; nil where the last of
// them holds a number, so that it is none.
func (h *Head) headerAt(m *headword.Matcher, i, span int) *Header {
	for j := range span {
		if !h.Rows[i+j].mayHead() {
			return nil
		}
	}
	hd := &Header{First: h.Rows[i].N, Last: h.Rows[i+span-1].N}
	if next := i + span; next < len(h.Rows) && h.Rows[next].isUnits() {
		hd.Units = h.Rows[next].N
	}
	last := 0
	for j := range span {
		if n := len(h.Rows[i+j].Cells); n > 0 {
			last = max(last, h.Rows[i+j].Cells[n-1].Col)
		}
	}
	seen := map[headword.Field]bool{}
	for col := 1; col <= last; col++ {
		var parts []string
		var at cell.Ref
		covered := true
		for j := range span {
			text := ""
			row := &h.Rows[i+j]
			c := row.At(col)
			if c == nil {
				c = h.anchor(col, row.N, i, span)
			}
			if c != nil {
				text = strings.TrimFunc(c.Text, headword.IsBlank)
			}
			covered = covered && (text == "" || c.Col < col)
			if text != "" && !slices.Contains(parts, text) {
				parts = append(parts, text)
			}
			if text != "" {
				at = cell.Ref{File: h.At.File, Sheet: h.At.Sheet, Col: col, Row: row.N}
			}
		}
		if len(parts) == 0 {
			continue
		}
		c := Column{Col: col, Text: strings.Join(parts, " "), At: at, Covered: covered}
		hd.width++
		if IsOurs(c.Text) {
			hd.width--
			hd.Cols = append(hd.Cols, c)
			continue
		}
		unitText := ""
		if hd.Units > 0 {
			if u := h.Rows[i+span].At(col); u != nil {
				unitText = u.Text
			}
		}
		h.readUnits(m, &c, unitText, hd.Units)
		c.Field, c.score, c.Known = m.Field(c.Text, c.Length != 0 || c.Volume != 0)
		if c.Known && c.Field.Field == headword.FieldTank && headword.IdWord(headword.Read(headword.Tidy(c.Text)).Rest, nil) {
			c.Known = false // "Tank M3" names one, and heads none
		}
		if c.Known {
			// A field named twice counts once.
			if !seen[c.Field.Field] {
				hd.Fields++
				hd.score += c.score
			}
			seen[c.Field.Field] = true
		}
		hd.Cols = append(hd.Cols, c)
	}
	return hd
}

// readUnits settles the unit of a column from its heading, else from the row of
// units under it.
func (h *Head) readUnits(m *headword.Matcher, c *Column, unitText string, unitsRow int) {
	u := m.Units(c.Text)
	c.Length, c.Volume = u.Length, u.Volume
	lengths, volumes := u.Lengths, u.Volumes
	c.From = c.At
	c.percent = strings.ContainsAny(c.Text, "%")
	if lengths+volumes == 0 && unitText != "" {
		if u, err := unit.ParseLengthUnit(unitText); err == nil {
			c.Length = u
		} else if v, err := unit.ParseVolumeUnit(unitText); err == nil {
			c.Volume = v
		}
		c.percent = c.percent || strings.Contains(unitText, "%")
		c.From.Row = unitsRow
	}
	if c.Length == 0 && c.Volume == 0 {
		c.From = cell.Ref{}
	}
}

// anchor gives the cell whose merged area covers a cell of the headings.
func (h *Head) anchor(col, row, i, span int) *Cell {
	for _, m := range h.Merges {
		if !m.Contains(col, row) {
			continue
		}
		for j := range span {
			if h.Rows[i+j].N == m.Row {
				return h.Rows[i+j].At(m.Col)
			}
		}
	}
	return nil
}

// looksNumber reports whether a text is one figure with its signs: a figure first,
// then figures, points, commas, blanks, apostrophes and strokes.
func looksNumber(s string) bool {
	s = strings.TrimFunc(s, headword.IsBlank)
	if rest := strings.TrimLeft(s, "+-−"); len(s)-len(rest) <= len("−") {
		s = rest
	}
	if s == "" || s[0] < '0' || s[0] > '9' {
		return false
	}
	for _, r := range s {
		if (r < '0' || r > '9') && !strings.ContainsRune(".,   '’/", r) {
			return false
		}
	}
	return true
}

// unitsRow reports whether a row holds units and nothing else.
func unitsRow(r *Row) bool {
	n := 0
	for _, c := range r.Cells {
		text := strings.TrimFunc(c.Text, headword.IsBlank)
		if text == "" || text == "-" {
			continue
		}
		if c.Kind != grid.Text {
			return false
		}
		if strings.Trim(text, "()[]") == "%" {
			n++
			continue
		}
		_, lerr := unit.ParseLengthUnit(text)
		_, verr := unit.ParseVolumeUnit(text)
		if lerr != nil && verr != nil {
			return false
		}
		n++
	}
	return n > 0
}

// depthWords and volumeWords are what the two columns of a chart are commonly
// called; they only serve to tell a list of tanks from a chart.
var (
	depthWords    = headword.SetOf("depth depths dip dips ullage ullages innage outage stick gauge gage level trim profundidad nivel hauteur creux tiefe peilung peilhohe fullhohe fullstand")
	capacityWords = headword.SetOf("capacity cap capacidad capacite contenance kapazitat kapazitaet nennvolumen nenninhalt fassungsvermogen certified nominal actual size")
	volumeWords   = headword.SetOf("volume volumes gallons gallon gal litres liters litre liter contents content volumen volumenes litros inhalt inhalte contenu qty quantity")
)

// chartLike reports whether a heading row names a depth and a volume and little
// else.
func (hd *Header) chartLike() bool {
	depth, volume := false, false
	for _, c := range hd.Cols {
		if IsOurs(c.Text) || capacityWords[firstKnown(headword.HeadingWords(c.Text), capacityWords)] {
			continue
		}
		for _, w := range strings.FieldsFunc(unit.Fold(strings.ReplaceAll(c.Text, "_", " ")), func(r rune) bool { return !('a' <= r && r <= 'z') }) {
			depth = depth || depthWords[w] && (!c.Known || c.Field.Field == headword.FieldNominal)
			volume = volume || volumeWords[w]
		}
	}
	return depth && volume && hd.width <= 6 && hd.Fields <= 3
}

// firstKnown gives the first of the words that is in the set, "" for none.
func firstKnown(words []string, set map[string]bool) string {
	for _, w := range words {
		if set[w] {
			return w
		}
	}
	return ""
}

// repeats gives the share of the rows under the header whose id has stood above.
func (h *Head) repeats(hd *Header) (share float64, rows int) {
	col, comp := hd.Col(headword.FieldTank), hd.Col(headword.FieldCompartment)
	seen := map[string]bool{}
	again := 0
	for i := range h.Rows {
		r := &h.Rows[i]
		if r.N <= max(hd.Last, hd.Units) {
			continue
		}
		if i+1 < len(h.Rows) && r.N > hd.Last+1 && StartsChart(r, &h.Rows[i+1], col) {
			break // the ids of the charts below come again and again
		}
		c := r.At(col)
		if c.Blank() {
			continue
		}
		id := idform.Fold(c.Text)
		if comp > 0 {
			if k := r.At(comp); k != nil {
				id += "/" + k.Text
			}
		}
		rows++
		if seen[id] {
			again++
		}
		seen[id] = true
	}
	if rows == 0 {
		return 0, 0
	}
	return float64(again) / float64(rows), rows
}

// Kind is what a sheet was taken for.
type Kind struct {
	Kind   survey.SheetKind
	Header *Header
	Why    string
}

var (
	ourSheets    = regexp.MustCompile(`(?i)^(findings|changes|sources|returned|planned cuts)( \(dropcut\)| \d+)?$`)
	ourTitles    = regexp.MustCompile(`^(Findings|Changes|Sources|Returned from the site|Plan for the tanks of .*)$`)
	tanksName    = regexp.MustCompile(`(?i)^(tanks?|tank list|tank data|tanques|dep[oó]sitos|cuves|r[ée]servoirs|liste des cuves|tankliste|beh[äa]lter|portfolio)$`)
	devicesName  = regexp.MustCompile(`(?i)^(devices?|valves?|dispositivos|dispositifs|ger[äa]te)$`)
	rulesName    = regexp.MustCompile(`(?i)^(rules?|limits?|reglas|normas|r[èe]gles|regeln|vorschriften)$`)
	shareRepeats = 0.5
)

// ours reports whether the first rows hold the title or the headings of a sheet
// that dropcut writes. The name alone is not enough: a contractor may keep charts
// on a sheet that he calls Sources.
func (h *Head) ours() bool {
	for i := range h.Rows[:min(len(h.Rows), ourHead)] {
		row := &h.Rows[i]
		if len(row.Cells) == 0 {
			continue
		}
		first := row.Cells[0].Text
		if ourTitles.MatchString(first) {
			return true
		}
		if len(row.Cells) > 3 && (first == "Severity" && row.Cells[1].Text == "Site" || first == "Of" && (row.Cells[1].Text == "Site" || row.Cells[1].Text == "Name")) {
			return true
		}
	}
	return false
}

// ourHead is how many rows dropcut writes above the headings of a sheet, with some
// to spare for rows that somebody has put in.
const ourHead = 16

// Classify settles what a sheet is by its headings; its name only adds to the
// evidence.
func Classify(h *Head, tanks, devices, rules *headword.Matcher) Kind {
	name := strings.TrimSpace(h.At.Sheet)
	if name == "" {
		name = strings.TrimSuffix(BaseName(h.At.File), ".csv")
	}
	if len(h.Rows) == 0 {
		return Kind{Kind: survey.EmptySheet, Why: "it holds nothing"}
	}
	if h.At.Sheet != "" && ourSheets.MatchString(name) && h.ours() {
		return Kind{Kind: survey.OurSheet, Why: "its name and its first rows are those that dropcut writes"}
	}
	tank, dev, rul := h.FindHeader(tanks, headword.FieldTank), h.FindHeader(devices, headword.FieldDeviceName), h.FindHeader(rules, "")
	count := func(hd *Header, named bool) float64 {
		if hd == nil {
			return 0
		}
		n := hd.score
		if named {
			n += 1.5
		}
		return n
	}
	t := count(tank, tanksName.MatchString(name))
	d := count(dev, devicesName.MatchString(name))
	r := count(rul, rulesName.MatchString(name))
	if tank != nil {
		share, rows := h.repeats(tank)
		switch {
		case tank.chartLike():
			tank, t = nil, 0
		case tank.Fields < 4 && rows > 2 && share > shareRepeats:
			tank, t = nil, 0 // the ids of a long chart
		case tank.Fields < 4 && float64(tank.Fields) < 0.4*float64(tank.width):
			tank, t = nil, 0
		}
	}
	enoughRules := rul != nil && rul.Col(headword.RuleQuantity) > 0 && rul.Col(headword.RuleValue) > 0
	enoughDevices := dev != nil && dev.Fields >= 3
	switch {
	case enoughRules && r >= t && r >= d:
		return Kind{survey.RulesSheet, rul, fmt.Sprintf("row %d names %d columns of a rules table", rul.Last, rul.Fields)}
	case enoughDevices && d > t:
		return Kind{survey.DevicesSheet, dev, fmt.Sprintf("row %d names %d figures of devices", dev.Last, dev.Fields)}
	case tank != nil:
		return Kind{survey.TanksSheet, tank, fmt.Sprintf("row %d names %d columns of a tank list", tank.Last, tank.Fields)}
	}
	if why := h.keyedOther(tanks); why != "" {
		return Kind{Kind: survey.OtherSheet, Why: why}
	}
	return Kind{Kind: survey.ChartsSheet, Why: "it is no list of tanks, devices or rules"}
}

// keyedOther tells a table with one row a tank that says nothing of its charts
// (a schedule, a price list): its ids never repeat and it is wider than a chart.
func (h *Head) keyedOther(tanks *headword.Matcher) string {
	for i := range h.Rows {
		hd := h.headerAt(tanks, i, 1)
		if hd == nil || hd.Col(headword.FieldTank) == 0 || hd.width < 4 || hd.chartLike() {
			continue
		}
		if share, rows := h.repeats(hd); rows >= 3 && share == 0 {
			return fmt.Sprintf("row %d has a tank column, each tank stands in it once, and no more than %d of %d headings are those of a tank list", hd.Last, hd.Fields, hd.width)
		}
		return ""
	}
	return ""
}

func BaseName(file string) string {
	if i := strings.LastIndexAny(file, `/\`); i >= 0 {
		return file[i+1:]
	}
	return file
}
