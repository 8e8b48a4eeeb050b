package writeback

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"dropcut/convert/grid"
	"dropcut/convert/intake"
	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
	"dropcut/validate"
	"dropcut/validate/limits"
)

// Row is a tank's row of a planned book.
type Row struct {
	Tank    int // in the reading's list of tanks
	Figures []limits.Written
}

// Written reads the figures that stand in a planned book and holds each against
// what the plan gives today. A book that was never planned has no rows, and
// neither has a tank that came into the list after the plan. own finds the
// sheets that dropcut added.
func Written(book grid.Book, reading *intake.Reading, results []validate.Result, own func(string) grid.Sheet) ([]Row, error) {
	earlier, err := ReadEarlier(own(SourcesSheet))
	if err != nil {
		return nil, err
	}
	var rows []Row
	columns := planColumns(true)
	for i := range reading.Lists {
		list := &reading.Lists[i]
		if list.At.File != book.Name() && !inBook(book, list.At) {
			continue
		}
		s := standing{columns: columns, list: list, results: results, marks: &earlier.marks}
		if s.places(list.Ours); !s.planned() {
			if err := s.apart(own(PlanSheet)); err != nil {
				return nil, err
			}
		} else if s.held, err = current(book, list); err != nil {
			return nil, err
		}
		if !s.planned() {
			continue
		}
		for j := range s.rows {
			if r := s.row(j); r != nil {
				rows = append(rows, Row{list.Tanks[j], r})
			}
		}
	}
	return rows, nil
}

// standing is a plan as it stands beside a list, or on a sheet of its own.
type standing struct {
	columns []column
	list    *intake.TankList
	results []validate.Result
	marks   *Marks

	at   cell.Ref // the sheet
	rows []int    // of the list's tanks; 0 for none
	held map[cellKey]held
	cols []int // of the columns; 0 for one that is not there
	in   []Units
}

// places finds the columns by their headings.
func (s *standing) places(headings map[string]int) {
	s.at, s.rows = s.list.At, s.list.Rows
	s.cols, s.in = make([]int, len(s.columns)), make([]Units, len(s.columns))
	for heading, col := range headings {
		base := baseOf(heading)
		i := slices.IndexFunc(s.columns, func(c column) bool { return c.base == base })
		if i < 0 {
			continue
		}
		s.cols[i], s.in[i] = col, defaultUnits
		word := strings.TrimSuffix(strings.TrimPrefix(strings.TrimPrefix(heading, base), " ("), ")")
		if u, err := unit.ParseLengthUnit(word); err == nil {
			s.in[i].Length = u
		}
		if u, err := unit.ParseVolumeUnit(word); err == nil {
			s.in[i].Volume = u
		}
	}
	// The mark on the tube is in the kind of unit that the cut is in.
	for i := range s.columns {
		if s.columns[i].of == words {
			s.in[i] = defaultUnits
			if k := slices.IndexFunc(s.columns, func(c column) bool { return c.base == tubeHeading }); k >= 0 && s.cols[k] > 0 {
				s.in[i] = s.in[k]
			}
		}
	}
}

const (
	depthHeading = prefix + limits.NameDepth
	tubeHeading  = prefix + limits.NameTube
	markHeading  = prefix + "Upper tube mark"
)

// planned reports whether the columns are those of a plan: one that a person has
// headed likewise is his own.
func (s *standing) planned() bool {
	n := 0
	for i := range s.columns {
		if b := s.columns[i].base; s.cols[i] > 0 && (b == depthHeading || b == tubeHeading) {
			n++
		}
	}
	return n == 2
}

// apart reads a plan that stands on a sheet of its own.
func (s *standing) apart(sheet grid.Sheet) error {
	texts, err := sheetTexts(sheet)
	if err != nil {
		return err
	}
	head := headingsAt(texts)
	if head < 0 || len(texts[0]) == 0 || texts[0][0] != planTitle(s.list) {
		return nil
	}
	headings := map[string]int{}
	for k, text := range texts[head] {
		if strings.HasPrefix(text, prefix) {
			headings[text] = k + 1
		}
	}
	s.places(headings)
	s.at = sheet.At()
	s.held = map[cellKey]held{}
	s.rows = make([]int, len(s.list.Tanks))
	for n := head + 1; n < len(texts); n++ {
		row := append(texts[n], "", "")
		j := slices.IndexFunc(s.list.Tanks, func(i int) bool {
			t := s.results[i].Tank
			return t.Site.Raw == row[0] && t.ID.V == row[1]
		})
		if j < 0 || s.rows[j] > 0 {
			continue
		}
		s.rows[j] = n + 1
		for k, text := range row {
			if text != "" {
				s.held[cellKey{n + 1, k + 1}] = held{text: text}
			}
		}
	}
	return nil
}

// row gives the figures of a tank's row; nil where none was ever written.
func (s *standing) row(j int) []limits.Written {
	if s.rows[j] == 0 {
		return nil
	}
	r := &s.results[s.list.Tanks[j]]
	list := make([]limits.Written, 0, len(s.columns))
	any := false
	for i := range s.columns {
		c := &s.columns[i]
		if s.cols[i] == 0 {
			continue
		}
		h, there := s.held[cellKey{s.rows[j], s.cols[i]}]
		v := c.cell(r, s.in[i])
		w := limits.Written{
			Name: strings.TrimPrefix(c.base, prefix), Text: heldText(h), Want: valueText(v),
			At: cell.Ref{File: s.at.File, Sheet: s.at.Sheet, Col: s.cols[i], Row: s.rows[j]},
		}
		switch c.of {
		case length:
			w.Size, w.Unit = float64(s.in[i].Length.Size()), s.in[i].Length.String()
		case volume:
			w.Size, w.Unit = float64(s.in[i].Volume.Size()), s.in[i].Volume.String()
		case percent:
			w.Size, w.Unit = 1, "%"
		}
		if n, ok := numberOf(h); ok && c.of != words {
			w.Value, w.IsNumber = n*w.Size, true
		}
		word, known := s.marks.of(tankKey{site: r.Tank.Site.Raw, tank: r.Tank.ID.V}, w.Name)
		any = any || there || known
		if w.Differs = !agrees(h, v); w.Differs {
			switch {
			case known && (there && !h.is(word.ours) || !there && word.ours != 0):
				w.Since = limits.Typed
			case known:
				w.Since = limits.Older
			}
		}
		list = append(list, w)
	}
	if !any {
		return nil
	}
	passing(list)
	return list
}

// agrees reports whether a cell holds a value, as far as a book that went through
// an office program keeps it: the fewest digits that one saves of a number in a
// CSV file are nine.
func agrees(h held, v grid.Value) bool {
	if v.Blank() {
		return h.text == "" && !h.formula
	}
	if sameText(h, v) {
		return true
	}
	n, ok := numberOf(h)
	return ok && v.IsNumber && math.Abs(n-v.Number) <= 1e-8*math.Abs(v.Number)+1e-9
}

// numberOf gives the number that a cell holds.
func numberOf(h held) (float64, bool) {
	if h.formula || h.text == "" {
		return 0, false
	}
	n, err := strconv.ParseFloat(strings.Replace(h.text, ",", ".", 1), 64)
	return n, err == nil && !math.IsNaN(n) && !math.IsInf(n, 0)
}

// comesAndGoes are kinds of findings that a plan has on one day or in one company
// and not in another, without anybody having changed the row.
var comesAndGoes = []finding.Slug{
	finding.InspectionDue, finding.InspectionUnknown, finding.ChangedByHand, finding.ShutoffMovedUp, finding.RisersAlike,
	finding.TankInTwoBooks, finding.ChartSharedWrongly, finding.ChartScaledFromAnother, finding.CapacityUnlikeFamily,
}

// passing takes back that status and flags differ where only what comes and goes
// has changed them, and not a person.
func passing(row []limits.Written) {
	var status, flags *limits.Written
	for i := range row {
		switch w := &row[i]; prefix + w.Name {
		case statusHeading:
			status = w
		case flagsHeading:
			flags = w
		}
	}
	for _, w := range []*limits.Written{status, flags} {
		if w != nil && w.Differs && w.Since == limits.Older {
			w.Differs = false
		}
	}
	if flags == nil || status == nil || !flags.Differs || flags.Since == limits.Typed || lasting(flags.Text) != lasting(flags.Want) {
		return
	}
	flags.Differs = false
	if status.Differs && status.Since != limits.Typed && status.Text == statusOf(flags.Text) {
		status.Differs = false
	}
}

// lasting leaves out of a row's flags what comes and goes.
func lasting(flags string) string {
	parts := strings.Split(flags, "; ")
	return strings.Join(slices.DeleteFunc(parts, func(p string) bool {
		_, slug, _ := strings.Cut(p, ": ")
		return slices.Contains(comesAndGoes, finding.Slug(slug))
	}), "; ")
}

// statusOf gives the status that a row's flags amount to.
func statusOf(flags string) string {
	switch {
	case strings.HasPrefix(flags, finding.Stop.String()+": "):
		return string(validate.Stop)
	case strings.HasPrefix(flags, finding.Check.String()+": "):
		return string(validate.Check)
	}
	return string(validate.Ready)
}
