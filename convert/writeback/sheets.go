package writeback

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"dropcut/convert/change"
	"dropcut/convert/grid"
	"dropcut/plan/finding"
)

// The names of the sheets that dropcut adds.
const (
	FindingsSheet = "Findings"
	ChangesSheet  = "Changes"
	SourcesSheet  = "Sources"
	// PlanSheet is added only where the tank list's own sheet is protected.
	PlanSheet = "Planned cuts"
)

// Cautions stand on every sheet that a person could cut from.
var Cautions = []string{
	"These are calculations from the data given; the authority having jurisdiction, the device maker's instructions and licensed practice decide.",
	"Fuel vapor burns, and entering a tank needs a permit. Measure again before cutting; check the level again after installing.",
}

// findingsSheet lists every finding, worst first.
func findingsSheet(list []finding.Finding) grid.NewSheet {
	s := grid.NewSheet{
		Name:   FindingsSheet,
		Widths: []float64{10, 22, 12, 14, 26, 20, 10, 40, 34, 44, 44},
	}
	s.Rows = append(s.Rows, []grid.Value{grid.Str("Findings", grid.LookTitle)})
	s.Rows = append(s.Rows, []grid.Value{grid.Str(countFindings(list), grid.LookPlain)})
	for _, c := range Cautions {
		s.Rows = append(s.Rows, []grid.Value{grid.Str(c, grid.LookPlain)})
	}
	s.Rows = append(s.Rows, headingRow("Severity", "Site", "Tank", "Chart", "Finding", "Where", "Depth", "Found", "Expected", "Why", "What to do"))
	s.HeaderRow = len(s.Rows)
	list = slices.Clone(list)
	finding.Sort(list)
	for _, f := range list {
		s.Rows = append(s.Rows, []grid.Value{
			grid.Str(f.Severity.String(), severityLook(f.Severity)),
			grid.Str(f.Site, grid.LookText),
			grid.Str(f.Tank, grid.LookText),
			grid.Str(f.Chart, grid.LookText),
			grid.Str(string(f.Slug), grid.LookText),
			grid.Str(where(f), grid.LookText),
			depthValue(f.Depth),
			grid.Str(f.Found, grid.LookText),
			grid.Str(f.Expected, grid.LookText),
			grid.Str(f.Why, grid.LookText),
			grid.Str(f.Suggestion, grid.LookText),
		})
	}
	return s
}

func headingRow(words ...string) []grid.Value {
	row := make([]grid.Value, len(words))
	for i, w := range words {
		row[i] = grid.Str(w, grid.LookHeading)
	}
	return row
}

func severityLook(s finding.Severity) grid.Look {
	switch s {
	case finding.Stop:
		return grid.LookStop
	case finding.Check:
		return grid.LookCheck
	}
	return grid.LookNote
}

// where gives the cell within the book: the sheet's name and the address.
func where(f finding.Finding) string {
	c := f.Cell()
	switch {
	case f.At.Sheet == "":
		return c
	case c == "":
		return f.At.Sheet
	}
	return f.At.Sheet + "!" + c
}

func depthValue(s string) grid.Value {
	if v, err := strconv.ParseFloat(s, 64); err == nil {
		return grid.Num(v, grid.LookPlain)
	}
	return grid.Str(s, grid.LookText)
}

func countFindings(list []finding.Finding) string {
	n := map[finding.Severity]int{}
	for _, f := range list {
		n[f.Severity]++
	}
	if len(list) == 0 {
		return "nothing found"
	}
	return fmt.Sprintf("%d stop (do not cut from this row), %d check (a person must look first), %d note", n[finding.Stop], n[finding.Check], n[finding.Note])
}

// changesHead is the row of the headings on the Changes sheet.
const changesHead = 4

// changesSheet tells what changed with this plan.
func changesSheet(summary string, rows []change.Row) grid.NewSheet {
	s := grid.NewSheet{Name: ChangesSheet, Widths: []float64{10, 22, 14, 34, 24, 24, 16, 26}, HeaderRow: changesHead}
	s.Rows = [][]grid.Value{
		{grid.Str("Changes", grid.LookTitle)},
		{grid.Str(summary, grid.LookPlain)},
		nil,
		headingRow("Of", "Site", "Tank or chart", "What", "Was", "Is", "Cell", "Shutoff moves"),
	}
	for _, r := range rows {
		at := r.NewCell
		if at == "" {
			at = r.OldCell
		}
		var row []grid.Value
		for _, text := range []string{r.Subject, r.Site, r.Tank, r.What, r.Old, r.New, at, r.Moved} {
			row = append(row, grid.Str(text, grid.LookText))
		}
		s.Rows = append(s.Rows, row)
	}
	return s
}

// Source is one line of the Sources sheet.
type Source struct {
	Kind   string // "rule", "device", "chart", "file", "program"
	Name   string
	Text   string // citation, data sheet, range and layout, hash
	Detail string // confidence, units, version
}

// marksTitle begins the part of the Sources sheet that later runs read.
const marksTitle = "Check words of the cells that dropcut wrote (a later run sees by them what somebody else has changed)"

func sourcesSheet(list []Source, lists []tankMarks, inputs change.Inputs) grid.NewSheet {
	s := grid.NewSheet{Name: SourcesSheet, Widths: []float64{12, 30, 70, 50}}
	s.Rows = append(s.Rows, []grid.Value{grid.Str("Sources", grid.LookTitle)}, nil)
	s.Rows = append(s.Rows, headingRow("Of", "Name", "Source", "Standing"))
	s.HeaderRow = len(s.Rows)
	for _, l := range list {
		s.Rows = append(s.Rows, []grid.Value{grid.Str(l.Kind, grid.LookText), grid.Str(l.Name, grid.LookText), grid.Str(l.Text, grid.LookText), grid.Str(l.Detail, grid.LookText)})
	}
	s.Rows = append(s.Rows, nil)
	for _, l := range lists {
		s.Rows = append(s.Rows, []grid.Value{grid.Str(marksTitle, grid.LookTitle)})
		s.Rows = append(s.Rows, []grid.Value{grid.Str(marksRow, grid.LookText), grid.Str(l.sheet, grid.LookText), grid.Str(strings.Join(l.headings, "; "), grid.LookText)})
		for _, t := range l.tanks {
			s.Rows = append(s.Rows, []grid.Value{grid.Str(t.site, grid.LookText), grid.Str(t.tank, grid.LookText), grid.Str(t.words, grid.LookText)})
		}
	}
	s.Rows = append(s.Rows, inputRows(inputs)...)
	return s
}

// marksRow stands in the first column of the row that names a list's sheet and
// headings; the tanks' rows follow it.
const marksRow = "columns of"

// tankMarks are the marks of one list as they are written.
type tankMarks struct {
	sheet    string
	headings []string
	tanks    []tankMark
}

type tankMark struct{ site, tank, words string }
