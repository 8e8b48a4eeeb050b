// Package returned reads job books as they came back from the site, holds what was
// built against plan and limit, and decides what is written into the portfolio.
package returned

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"dropcut/convert/jobbook/field"

	"dropcut/convert/grid"
	"dropcut/convert/xlsx"
	"dropcut/plan/cell"
)

// Entry is what a cell of a returned book holds.
type Entry struct {
	IsNumber bool
	Num      float64
	Text     string // as stored
	Formula  bool
	Date     bool // shown as a date
	At       cell.Ref
}

// Blank reports whether nothing stands there.
func (e Entry) Blank() bool { return !e.IsNumber && strings.TrimSpace(e.Text) == "" }

// Page is a page of a returned book: the sheets of one tank that its key is on.
type Page struct {
	Kind string // "cut", "record", "inspection", "stop", "calculation"
	Site string
	Tank string
	Plan string
	// Metric says that its lengths are millimetres; inches else.
	Metric bool
	// Formulas is how many the sheet was made with, Has how many it still has.
	Formulas, Has int
	At            cell.Ref // of the key
	// Copy says that the sheet is a copy of another one, so that no names lead to
	// its fields.
	Copy bool
}

// Tank is what came back for one tank of a book.
type Tank struct {
	Number int
	Pages  []Page
	Values map[string]Entry // by the key of the field
}

// Book is a job book that came back.
type Book struct {
	File      string
	Kind      string // "cut" or "inspection"
	Portfolio string
	Job       string
	Date1904  bool
	Tanks     []Tank
	Cover     map[string]Entry
	// Lost names the fields whose cells are gone.
	Lost []string
	// Beside are the comments, pictures and drawings, dropcut's own among them.
	Beside []xlsx.Beside
	cells  map[string][]Entry // constants, by sheet, in row order
	named  map[cell.Ref]bool
}

// Read reads a returned book by its names and keys, wherever the cells stand by
// now. A book that is none of dropcut's is an error.
func Read(b *xlsx.Book) (*Book, error) {
	r := &Book{File: b.Name(), Date1904: b.Date1904(), Cover: map[string]Entry{}, cells: map[string][]Entry{}, named: map[cell.Ref]bool{}}
	at := map[cell.Ref]Entry{}
	formulas := map[string]int{}
	var keys []Entry
	for _, s := range b.Sheets() {
		if s, ok := s.(*xlsx.Sheet); ok {
			beside, err := s.Beside()
			if err != nil {
				return nil, err
			}
			r.Beside = append(r.Beside, beside...)
		}
		for row, err := range s.Rows() {
			if err != nil {
				return nil, err
			}
			for i := range row.Cells {
				c := &row.Cells[i]
				e := Entry{
					IsNumber: c.Kind == grid.Number, Num: c.Num, Text: c.String(), Formula: c.Formula, Date: c.Format == grid.DateFormat,
					At: cell.Ref{File: b.Name(), Sheet: s.At().Sheet, Col: c.Col, Row: row.N},
				}
				at[e.At] = e
				if c.Formula {
					formulas[e.At.Sheet]++
					continue
				}
				if !e.Blank() {
					r.cells[e.At.Sheet] = append(r.cells[e.At.Sheet], e)
				}
				if !e.IsNumber && strings.HasPrefix(e.Text, field.KeyWord+field.Gap) {
					keys = append(keys, e)
				}
			}
		}
	}
	tanks := map[int]*Tank{}
	for _, n := range b.Names() {
		number, key, ok := field.FieldName(n.Name)
		if !ok && n.Name != "job_key" || n.Sheet >= 0 {
			continue
		}
		ref, ok := refersTo(b.Name(), n.Text)
		if !ok {
			r.Lost = append(r.Lost, n.Name)
			continue
		}
		r.named[ref] = true
		e := at[ref]
		e.At = ref
		switch {
		case n.Name == "job_key":
			r.jobKey(e.Text)
		case number == 0:
			r.Cover[key] = e
		default:
			t := tanks[number]
			if t == nil {
				t = &Tank{Number: number, Values: map[string]Entry{}}
				tanks[number] = t
			}
			t.Values[key] = e
		}
	}
	if r.Kind == "" && len(keys) == 0 {
		return nil, fmt.Errorf("%s: no page key of dropcut's was found; a job workbook that dropcut jobs has written was expected, as it came back from the site", b.Name())
	}
	r.pages(tanks, keys, formulas)
	for _, t := range tanks {
		r.Tanks = append(r.Tanks, *t)
	}
	slices.SortFunc(r.Tanks, func(a, b Tank) int { return a.Number - b.Number })
	slices.Sort(r.Lost)
	return r, nil
}

func (r *Book) jobKey(text string) {
	parts := strings.SplitN(text, field.Gap, 5)
	if len(parts) == 5 {
		r.Kind, r.Portfolio, r.Job = parts[1], parts[3], parts[4]
	}
}

// pages puts each page to its tank; a page that no name leads to is a copy.
func (r *Book) pages(tanks map[int]*Tank, keys []Entry, formulas map[string]int) {
	for _, e := range keys {
		parts := strings.Split(e.Text, field.Gap)
		if len(parts) < 6 {
			continue // that of the job
		}
		// A site or a tank may hold the mark between the parts itself.
		n := len(parts)
		p := Page{Kind: parts[1], Site: strings.Join(parts[2:n-3], field.Gap), Tank: parts[n-3], Plan: parts[n-2], At: e.At, Has: formulas[e.At.Sheet]}
		count, unitWord, _ := strings.Cut(parts[n-1], field.FormulaWords)
		p.Formulas, _ = strconv.Atoi(count)
		p.Metric = unitWord == "mm"
		home := r.owner(tanks, e.At, p.Kind)
		if home == nil {
			p.Copy = true
			home = r.sameTank(tanks, p)
		}
		if home == nil {
			home = &Tank{Number: len(tanks) + 1000, Values: map[string]Entry{}}
			tanks[home.Number] = home
		}
		home.Pages = append(home.Pages, p)
	}
}

func (r *Book) owner(tanks map[int]*Tank, at cell.Ref, kind string) *Tank {
	for _, t := range tanks {
		if e, ok := t.Values[field.KeyField+kind]; ok && e.At == at {
			return t
		}
	}
	return nil
}

func (r *Book) sameTank(tanks map[int]*Tank, p Page) *Tank {
	for _, t := range tanks {
		if e, ok := t.Values[field.KeyField+p.Kind]; ok && strings.Contains(e.Text, field.Gap+p.Tank+field.Gap) {
			return t
		}
	}
	return nil
}

// refersTo reads what a name stands for: one cell of a sheet.
func refersTo(file, text string) (cell.Ref, bool) {
	text = strings.TrimPrefix(strings.TrimSpace(text), "=")
	i := strings.LastIndexByte(text, '!')
	if i < 0 {
		return cell.Ref{}, false
	}
	sheet := strings.TrimPrefix(text[:i], "$")
	if len(sheet) > 1 && sheet[0] == '\'' && sheet[len(sheet)-1] == '\'' {
		sheet = strings.ReplaceAll(sheet[1:len(sheet)-1], "''", "'")
	}
	first, _, _ := strings.Cut(text[i+1:], ":")
	col, row, ok := cell.ParseA1(first)
	return cell.Ref{File: file, Sheet: sheet, Col: col, Row: row}, ok && col > 0 && row > 0
}

// loose lists what stands in a returned book beside its fields and is not in the
// book as it was written: notes in free cells, and whatever was typed over the
// pages' own texts. written is the book as it would be made now.
func (r *Book) loose(written map[string]bool) []Entry {
	var list []Entry
	sheets := make([]string, 0, len(r.cells))
	for s := range r.cells {
		sheets = append(sheets, s)
	}
	slices.Sort(sheets)
	copies := map[string]bool{}
	for _, t := range r.Tanks {
		for _, p := range t.Pages {
			if p.Copy {
				copies[p.At.Sheet] = true
			}
		}
	}
	for _, s := range sheets {
		for _, e := range r.cells[s] {
			if r.named[e.At] || strings.HasPrefix(e.Text, field.KeyWord+field.Gap) || strings.HasPrefix(e.Text, field.MadeBy) || written[entryWord(e)] && !copies[s] {
				continue
			}
			if copies[s] && written[entryWord(e)] && !e.IsNumber {
				continue
			}
			list = append(list, e)
		}
	}
	return list
}

// entryWord is a value as it is looked for among those that were written.
func entryWord(e Entry) string {
	if e.IsNumber {
		return strconv.FormatFloat(e.Num, 'g', 12, 64)
	}
	return planWord.ReplaceAllString(strings.Join(strings.Fields(e.Text), " "), "plan")
}

// planWord is the word of a plan within the pages' own texts: an older plan's is
// another one, and says so by its key.
var planWord = regexp.MustCompile(`\bplan [0-9a-f]{8}\b`)
