package read

import (
	"fmt"
	"hash/fnv"
	"io"
	"slices"
	"strconv"
	"strings"

	"dropcut/convert/grid"
	"dropcut/convert/xlsx/internal/parts"
)

// A sheet of dropcut's own carries a hidden name, confined to it, that stands
// for a text: the name under which the sheet was asked for and the sum of what
// was written into it. By the name it is known again after the book went through
// an office program, wherever its tab was moved. By the sum it shows whether
// somebody has written into it since: such a sheet is theirs and is kept, and
// the new one gets another tab. Rows in another order are no change, since the
// sheet has a filter to sort it by.
const NameOwn = "_dropcut_sheet"

// OwnMark is the text of the hidden name.
func OwnMark(base string, sum uint64) string {
	return fmt.Sprintf(`"%s %016x"`, strings.ReplaceAll(base, `"`, `""`), sum)
}

// ParseMark reads what ownMark has made.
func ParseMark(text string) (base string, sum uint64, ok bool) {
	text = strings.TrimSpace(text)
	if len(text) < 2 || text[0] != '"' || text[len(text)-1] != '"' {
		return "", 0, false
	}
	text = strings.ReplaceAll(text[1:len(text)-1], `""`, `"`)
	i := strings.LastIndexByte(text, ' ')
	if i < 0 {
		return "", 0, false
	}
	sum, err := strconv.ParseUint(text[i+1:], 16, 64)
	return text[:i], sum, err == nil
}

// sheetSum adds up rows: each row's cells with their columns, in any order of
// the rows. Numbers count to 12 digits, since some programs keep no more than 15.
type sheetSum struct{ sum uint64 }

type rowSum struct {
	h interface {
		io.Writer
		Sum64() uint64
		Reset()
	}
	any bool
}

func newRowSum() *rowSum { return &rowSum{h: fnv.New64a()} }

func (r *rowSum) cell(col int, number bool, num float64, text string) {
	if !number && text == "" {
		return
	}
	r.any = true
	if number {
		text = strconv.FormatFloat(num, 'g', 12, 64)
	} else {
		text = strings.ReplaceAll(text, "\r\n", "\n")
	}
	fmt.Fprintf(r.h, "%d %t %d %s;", col, number, len(text), text)
}

func (r *rowSum) add(to *sheetSum) {
	if r.any {
		to.sum += r.h.Sum64()
	}
	r.h.Reset()
	r.any = false
}

// SumNew is the sum of a sheet that is to be written.
func SumNew(n *grid.NewSheet) uint64 {
	var s sheetSum
	r := newRowSum()
	for _, row := range n.Rows {
		for i, v := range row {
			r.cell(i+1, v.IsNumber, v.Number, strings.ToValidUTF8(v.Text, "\uFFFD"))
		}
		r.add(&s)
	}
	return s.sum
}

// SumOld is the sum of a sheet of the book.
func SumOld(sheet *Sheet) (uint64, error) {
	var s sheetSum
	r := newRowSum()
	for row, err := range sheet.Rows() {
		if err != nil {
			return 0, err
		}
		for i := range row.Cells {
			c := &row.Cells[i]
			if c.Formula {
				r.cell(c.Col, false, 0, "=")
			}
			r.cell(c.Col, c.Kind == grid.Number, c.Num, string(c.Raw))
		}
		r.add(&s)
	}
	return s.sum, nil
}

// settleMarks puts right where marks point to, after a program that miscounts the
// sheets to which names are confined: one does, by as many as a book has scenarios,
// which it keeps as sheets. A mark that points beyond the last sheet, or to a sheet
// whose name is that of another mark, belongs to the sheet of its own name, where
// none points to that already.
func (b *Book) settleMarks() {
	wb := b.Wb
	at := func(name string) int {
		return slices.IndexFunc(wb.Sheets, func(e parts.SheetEntry) bool { return strings.EqualFold(e.Name, name) })
	}
	home := map[string]bool{} // names to which a mark points as it should
	var astray []int
	for i := range wb.Names {
		d := &wb.Names[i]
		base, _, ok := ParseMark(d.Text)
		switch {
		case d.Name != NameOwn || !ok || d.Sheet < 0:
		case d.Sheet < len(wb.Sheets) && strings.EqualFold(wb.Sheets[d.Sheet].Name, base):
			home[strings.ToLower(base)] = true
		default:
			astray = append(astray, i)
		}
	}
	for _, i := range astray {
		d := &wb.Names[i]
		base, _, _ := ParseMark(d.Text)
		beyond := d.Sheet >= len(wb.Sheets)
		others := !beyond && slices.ContainsFunc(wb.Names, func(o parts.DefinedName) bool {
			name, _, ok := ParseMark(o.Text)
			return ok && o.Name == NameOwn && strings.EqualFold(name, wb.Sheets[d.Sheet].Name)
		})
		if n := at(base); n >= 0 && (beyond || others) && !home[strings.ToLower(base)] {
			d.Sheet = n
		}
	}
}

// OwnSheet finds the sheet that an earlier run has added under a name, wherever
// its tab stands and whatever it had to be called; the last one where somebody
// has kept older ones. It is nil where there is none.
func (b *Book) OwnSheet(name string) *Sheet {
	var found *Sheet
	for _, d := range b.Wb.Names {
		base, _, ok := ParseMark(d.Text)
		if d.Name != NameOwn || !ok || !strings.EqualFold(base, name) || d.Sheet < 0 || d.Sheet >= len(b.Wb.Sheets) {
			continue
		}
		if s := b.Sheet(b.Wb.Sheets[d.Sheet].Name); s != nil {
			found = s
		}
	}
	return found
}
