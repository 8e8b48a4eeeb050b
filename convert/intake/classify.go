package intake

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"dropcut/convert/grid"
	"dropcut/plan/cell"
	"dropcut/plan/unit"
)

// headRows is how many rows of a sheet are looked at before it is decided what
// the sheet is. Titles, addresses and notes above a table seldom take ten.
const headRows = 60

// rawCell is a cell kept beyond its row.
type rawCell struct {
	col     int
	kind    grid.Kind
	format  grid.Format
	formula bool
	num     float64
	text    string // the stored text
	at      int    // row it stands in; another than its row's where it was merged
}

// rawRow is a row kept beyond the stream.
type rawRow struct {
	n      int
	hidden bool
	cells  []rawCell
}

func (r *rawRow) at(col int) *rawCell {
	for i := range r.cells {
		if r.cells[i].col == col {
			return &r.cells[i]
		}
	}
	return nil
}

// blank reports whether a cell holds nothing that a person would see.
func (c *rawCell) blank() bool {
	return c == nil || !c.formula && strings.TrimFunc(c.text, isBlank) == ""
}

func keepRow(r *grid.Row) rawRow {
	kept := rawRow{n: r.N, hidden: r.Hidden, cells: make([]rawCell, 0, len(r.Cells))}
	for i := range r.Cells {
		c := &r.Cells[i]
		kept.cells = append(kept.cells, rawCell{col: c.Col, kind: c.Kind, format: c.Format, formula: c.Formula, num: c.Num, text: string(c.Raw), at: r.N})
	}
	return kept
}

// head is the first rows of a sheet.
type head struct {
	at     cell.Ref
	rows   []rawRow
	merges []grid.Range
	all    bool // these are all of its rows
	// date1904 says that the book counts its days from 1904 on.
	date1904 bool
}

func readHead(sh grid.Sheet) (*head, error) {
	h := &head{at: sh.At(), all: true}
	for r, err := range sh.Rows() {
		if err != nil {
			return nil, err
		}
		if len(h.rows) == headRows {
			h.all = false
			break
		}
		h.rows = append(h.rows, keepRow(r))
	}
	// The merged areas of a long sheet cost a run over all of it.
	if h.all {
		return h, h.readMerges(sh)
	}
	return h, nil
}

func (h *head) readMerges(sh grid.Sheet) (err error) {
	h.merges, err = sh.Merges()
	return err
}

// gapAbove reports whether a row of words leaves out a column for which the row
// of words below it has one, as a heading does that spans several columns.
func (h *head) gapAbove() bool {
	for i := 1; i < len(h.rows); i++ {
		a, b := &h.rows[i-1], &h.rows[i]
		if b.n != a.n+1 || len(a.cells) == 0 || !onlyWords(a) || !onlyWords(b) {
			continue
		}
		for _, c := range b.cells {
			if c.col > a.cells[0].col && a.at(c.col) == nil {
				return true
			}
		}
	}
	return false
}

// onlyWords reports whether a row holds texts and nothing else.
func onlyWords(r *rawRow) bool {
	return !slices.ContainsFunc(r.cells, func(c rawCell) bool { return c.kind != grid.Text || looksNumber(c.text) })
}

// header is where the headings of a list were found and what they mean.
type header struct {
	first, last int // rows of headings
	units       int // row of units, 0 for none
	cols        []column
	score       float64
	fields      int                 // distinct fields
	width       int                 // headings in all
	found       map[Field][]*column // what find has given before
}

// column is one column of a list.
type column struct {
	col     int
	text    string
	at      cell.Ref
	field   fieldWords
	known   bool
	score   float64
	length  unit.LengthUnit
	volume  unit.VolumeUnit
	from    cell.Ref // where the unit stands
	percent bool     // the heading carries a percent sign
}

// find gives the columns of a field, the best first.
func (h *header) find(f Field) []*column {
	found, ok := h.found[f]
	if ok {
		return found
	}
	for i := range h.cols {
		if h.cols[i].known && h.cols[i].field.field == f {
			found = append(found, &h.cols[i])
		}
	}
	slices.SortStableFunc(found, func(a, b *column) int {
		switch {
		case a.score > b.score+0.05:
			return -1
		case b.score > a.score+0.05:
			return 1
		}
		return 0
	})
	if h.found == nil {
		h.found = map[Field][]*column{}
	}
	h.found[f] = found
	return found
}

func (h *header) col(f Field) int {
	if found := h.find(f); len(found) > 0 {
		return found[0].col
	}
	return 0
}

// ourHeading begins the heading of each column that dropcut wrote itself.
const ourHeading = "plan:"

func isOurs(heading string) bool {
	return strings.HasPrefix(unit.Fold(heading), ourHeading)
}

// findHeader looks for the row, or the two or three rows on each other, whose
// cells name the most fields of the table. It returns nil where no row names two.
func (h *head) findHeader(m *matcher, must Field) *header {
	var best *header
	// One row first: more are taken only where they name clearly more.
	for span := 1; span <= 3; span++ {
		for i := 0; i+span <= len(h.rows); i++ {
			if h.rows[i+span-1].n != h.rows[i].n+span-1 {
				continue
			}
			hd := h.headerAt(m, i, span)
			if hd == nil {
				continue
			}
			if hd.fields < 2 || must != "" && hd.col(must) == 0 {
				continue
			}
			if best == nil || hd.score > best.score+0.5 {
				best = hd
			}
		}
	}
	return best
}

// headerAt reads span rows from the i-th as headings; nil where the last of
// them holds a number, so that it is none.
func (h *head) headerAt(m *matcher, i, span int) *header {
	for j := range span {
		for _, c := range h.rows[i+j].cells {
			if c.kind == grid.Number || c.kind == grid.Bool || c.formula && c.kind != grid.Text || c.kind == grid.Text && looksNumber(c.text) {
				return nil
			}
		}
	}
	hd := &header{first: h.rows[i].n, last: h.rows[i+span-1].n}
	if next := i + span; next < len(h.rows) && unitsRow(&h.rows[next]) {
		hd.units = h.rows[next].n
	}
	last := 0
	for j := range span {
		if n := len(h.rows[i+j].cells); n > 0 {
			last = max(last, h.rows[i+j].cells[n-1].col)
		}
	}
	seen := map[Field]bool{}
	for col := 1; col <= last; col++ {
		var parts []string
		var at cell.Ref
		for j := range span {
			text := ""
			row := &h.rows[i+j]
			c := row.at(col)
			if c == nil {
				c = h.anchor(col, row.n, i, span)
			}
			if c != nil {
				text = strings.TrimFunc(c.text, isBlank)
			}
			if text != "" && !slices.Contains(parts, text) {
				parts = append(parts, text)
			}
			if text != "" {
				at = cell.Ref{File: h.at.File, Sheet: h.at.Sheet, Col: col, Row: row.n}
			}
		}
		if len(parts) == 0 {
			continue
		}
		c := column{col: col, text: strings.Join(parts, " "), at: at}
		hd.width++
		if isOurs(c.text) {
			hd.width--
			hd.cols = append(hd.cols, c)
			continue
		}
		unitText := ""
		if hd.units > 0 {
			if u := h.rows[i+span].at(col); u != nil {
				unitText = u.text
			}
		}
		h.readUnits(&c, unitText, hd.units)
		c.field, c.score, c.known = m.field(c.text, c.length != 0 || c.volume != 0)
		if c.known {
			// A field named twice counts once.
			if !seen[c.field.field] {
				hd.fields++
				hd.score += c.score
			}
			seen[c.field.field] = true
		}
		hd.cols = append(hd.cols, c)
	}
	return hd
}

// readUnits settles the unit of a column from its heading, else from the row of
// units under it.
func (h *head) readUnits(c *column, unitText string, unitsRow int) {
	var lengths, volumes int
	c.length, _, lengths = unit.FindLengthUnit(c.text)
	c.volume, _, volumes = unit.FindVolumeUnit(c.text)
	c.from = c.at
	c.percent = strings.ContainsAny(c.text, "%")
	if lengths+volumes == 0 && unitText != "" {
		if u, err := unit.ParseLengthUnit(unitText); err == nil {
			c.length = u
		} else if v, err := unit.ParseVolumeUnit(unitText); err == nil {
			c.volume = v
		}
		c.percent = c.percent || strings.Contains(unitText, "%")
		c.from.Row = unitsRow
	}
	if c.length == 0 && c.volume == 0 {
		c.from = cell.Ref{}
	}
}

// anchor gives the cell whose merged area covers a cell of the headings.
func (h *head) anchor(col, row, i, span int) *rawCell {
	for _, m := range h.merges {
		if !m.Contains(col, row) {
			continue
		}
		for j := range span {
			if h.rows[i+j].n == m.Row {
				return h.rows[i+j].at(m.Col)
			}
		}
	}
	return nil
}

var numberLike = regexp.MustCompile(`^[+\-−]?[\d][\d.,  '’/]*$`)

func looksNumber(s string) bool { return numberLike.MatchString(strings.TrimFunc(s, isBlank)) }

// unitsRow reports whether a row holds units and nothing else.
func unitsRow(r *rawRow) bool {
	n := 0
	for _, c := range r.cells {
		text := strings.TrimFunc(c.text, isBlank)
		if text == "" || text == "-" {
			continue
		}
		if c.kind != grid.Text {
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

func isBlank(r rune) bool {
	switch r {
	case ' ', '\t', '\n', '\r', 0xA0, 0x202F, 0x2007, 0x2009, 0x200A, 0x2002, 0x2003, 0x200B, 0x3000, 0xFEFF:
		return true
	}
	return false
}

// depthWords and volumeWords are what the two columns of a chart are commonly
// called; they only serve to tell a list of tanks from a chart.
var (
	depthWords    = setOf("depth depths dip dips ullage ullages innage outage stick gauge gage level trim profundidad nivel hauteur creux tiefe peilung peilhohe fullhohe fullstand")
	capacityWords = setOf("capacity cap capacidad capacite contenance kapazitat kapazitaet nennvolumen nenninhalt fassungsvermogen certified nominal actual size")
	volumeWords   = setOf("volume volumes gallons gallon gal litres liters litre liter contents content volumen volumenes litros inhalt inhalte contenu qty quantity")
)

// chartLike reports whether a heading row names a depth and a volume and little
// else.
func (hd *header) chartLike() bool {
	depth, volume := false, false
	for _, c := range hd.cols {
		if isOurs(c.text) || capacityWords[firstKnown(headingWords(c.text), capacityWords)] {
			continue
		}
		for _, w := range strings.FieldsFunc(unit.Fold(strings.ReplaceAll(c.text, "_", " ")), func(r rune) bool { return !('a' <= r && r <= 'z') }) {
			depth = depth || depthWords[w] && (!c.known || c.field.field == FieldNominal)
			volume = volume || volumeWords[w]
		}
	}
	return depth && volume && hd.width <= 6 && hd.fields <= 3
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
func (h *head) repeats(hd *header) (share float64, rows int) {
	col, comp := hd.col(FieldTank), hd.col(FieldCompartment)
	seen := map[string]bool{}
	again := 0
	for i := range h.rows {
		r := &h.rows[i]
		if r.n <= max(hd.last, hd.units) {
			continue
		}
		if i+1 < len(h.rows) && r.n > hd.last+1 && startsChart(r, &h.rows[i+1], col) {
			break // the ids of the charts below come again and again
		}
		c := r.at(col)
		if c.blank() {
			continue
		}
		id := foldID(c.text)
		if comp > 0 {
			if k := r.at(comp); k != nil {
				id += "/" + k.text
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

// classified is what a sheet was taken for.
type classified struct {
	kind   SheetKind
	header *header
	why    string
}

var (
	ourSheets    = regexp.MustCompile(`(?i)^(findings|changes|sources|returned|planned cuts)( \(dropcut\)| \d+)?$`)
	tanksName    = regexp.MustCompile(`(?i)^(tanks?|tank list|tank data|tanques|dep[oó]sitos|cuves|r[ée]servoirs|liste des cuves|tankliste|beh[äa]lter|portfolio)$`)
	devicesName  = regexp.MustCompile(`(?i)^(devices?|valves?|dispositivos|dispositifs|ger[äa]te)$`)
	rulesName    = regexp.MustCompile(`(?i)^(rules?|limits?|reglas|normas|r[èe]gles|regeln|vorschriften)$`)
	shareRepeats = 0.5
)

// classify settles what a sheet is by its headings; its name only adds to the
// evidence.
func classify(h *head, tanks, devices, rules *matcher) classified {
	name := strings.TrimSpace(h.at.Sheet)
	if name == "" {
		name = strings.TrimSuffix(baseName(h.at.File), ".csv")
	}
	if len(h.rows) == 0 {
		return classified{kind: EmptySheet, why: "it holds nothing"}
	}
	if h.at.Sheet != "" && ourSheets.MatchString(name) {
		return classified{kind: OurSheet, why: "its name is one that dropcut gives"}
	}
	tank, dev, rul := h.findHeader(tanks, FieldTank), h.findHeader(devices, FieldDeviceName), h.findHeader(rules, "")
	count := func(hd *header, named bool) float64 {
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
		case tank.fields < 4 && rows > 2 && share > shareRepeats:
			tank, t = nil, 0 // the ids of a long chart
		case tank.fields < 4 && float64(tank.fields) < 0.4*float64(tank.width):
			tank, t = nil, 0
		}
	}
	enoughRules := rul != nil && rul.col(ruleQuantity) > 0 && rul.col(ruleValue) > 0
	enoughDevices := dev != nil && dev.fields >= 3
	switch {
	case enoughRules && r >= t && r >= d:
		return classified{RulesSheet, rul, fmt.Sprintf("row %d names %d columns of a rules table", rul.last, rul.fields)}
	case enoughDevices && d > t:
		return classified{DevicesSheet, dev, fmt.Sprintf("row %d names %d figures of devices", dev.last, dev.fields)}
	case tank != nil:
		return classified{TanksSheet, tank, fmt.Sprintf("row %d names %d columns of a tank list", tank.last, tank.fields)}
	}
	if why := h.keyedOther(tanks); why != "" {
		return classified{kind: OtherSheet, why: why}
	}
	return classified{kind: ChartsSheet, why: "it is no list of tanks, devices or rules"}
}

// keyedOther tells a table with one row a tank that says nothing of its charts
// (a schedule, a price list): its ids never repeat and it is wider than a chart.
func (h *head) keyedOther(tanks *matcher) string {
	for i := range h.rows {
		hd := h.headerAt(tanks, i, 1)
		if hd == nil || hd.col(FieldTank) == 0 || hd.width < 4 || hd.chartLike() {
			continue
		}
		if share, rows := h.repeats(hd); rows >= 3 && share == 0 {
			return fmt.Sprintf("row %d has a tank column, each tank stands in it once, and no more than %d of %d headings are those of a tank list", hd.last, hd.fields, hd.width)
		}
		return ""
	}
	return ""
}

func baseName(file string) string {
	if i := strings.LastIndexAny(file, `/\`); i >= 0 {
		return file[i+1:]
	}
	return file
}
