package jobbook

import (
	"fmt"
	"strconv"
	"strings"

	"dropcut/convert/jobbook/calculation"
	"dropcut/convert/jobbook/field"
	"dropcut/convert/jobbook/look"

	"dropcut/convert/jobbook/sheet"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// form lays out fields on a page and remembers where each one stands.
type form struct {
	m     *maker
	s     *sheet.Sheet
	n     int
	row   int
	cells map[string]string // by key, as other sheets refer to them
}

// put writes one field: its label from a column on, its cell from another one to
// a last one.
func (f *form) put(x field.Field, row, from, col, to int) {
	f.s.Span(from, row, col-1, look.Label, x.Label+f.unit(&x))
	f.s.Blank(col, row, style(&x))
	f.s.Merge(col, row, to, row)
	f.s.NameCell(field.Name(f.n, x.Key), col, row)
	f.cells[x.Key] = f.s.Quote() + "!" + sheet.Fixed(col, row)
	switch x.Kind {
	case field.OfYesNo, field.OfWord:
		f.s.Allow(col, row, sheet.Rule{Kind: "list", Formula: `"` + strings.ReplaceAll(strings.Join(x.Words, ","), `"`, "") + `"`, Must: x.Kind == field.OfYesNo, Title: x.Label, Prompt: strings.Join(x.Words, " or "), Wrong: "Expected: " + strings.Join(x.Words, " or ")})
	case field.OfDate:
		// Day 36526 is 2000-01-01.
		f.s.Allow(col, row, sheet.Rule{Kind: "date", Formula: "36526", Title: x.Label, Prompt: "a date: year-month-day", Wrong: "Expected: a date, written year-month-day. Keep this value?"})
	case field.OfLength, field.OfTorque, field.OfPressure, field.OfNumber:
		f.s.Allow(col, row, f.m.rule(&x, col, row))
	}
}

func (f *form) unit(x *field.Field) string {
	switch x.Kind {
	case field.OfLength:
		return ", " + f.m.unitWord()
	case field.OfTorque:
		return ", lbf·ft"
	case field.OfPressure:
		return ", psi"
	}
	return ""
}

// labelSize is the height of a label's letters, in points.
const labelSize = 9.5

// remarks lays out the field for whatever else there is to say, and the line of
// the signature below it.
func (f *form) remarks(height float64) {
	f.row++
	f.s.Height(f.row, height)
	f.s.Span(1, f.row, 2, look.Label, "Remarks")
	f.s.Blank(3, f.row, look.InputLong)
	f.s.Merge(3, f.row, wide, f.row)
	f.s.NameCell(field.Name(f.n, field.Remarks), 3, f.row)
	f.row++
	f.s.Height(f.row, 34)
	f.s.Span(1, f.row, 3, look.Label, "Signature")
	f.s.Span(4, f.row, wide, look.SignLine, "")
	f.row++
	f.s.Height(f.row, 8) // so that the line is seen
}

// two lays out fields in two columns.
func (f *form) two(list []field.Field, height float64) {
	for i, x := range list {
		if i%2 == 0 {
			f.row++
			need := linesOf(x.Label+f.unit(&x), 3, labelSize)
			if i+1 < len(list) {
				need = max(need, linesOf(list[i+1].Label+f.unit(&list[i+1]), 3, labelSize))
			}
			f.s.Height(f.row, max(height, 3+12*need))
			f.put(x, f.row, 1, 4, 6)
		} else {
			f.put(x, f.row, 7, 10, 12)
		}
	}
}

// tick lays out a box at the start of the row that is ticked.
func (f *form) tick(key string) {
	f.s.Blank(1, f.row, look.Tick)
	f.s.NameCell(field.Name(f.n, key), 1, f.row)
}

func (f *form) heading(text string) {
	f.row++
	f.s.Height(f.row, 17)
	f.s.Span(1, f.row, wide, look.Section, text)
}

// record is the page of the work: its steps, and what is written down.
func (m *maker) record(s *sheet.Sheet, r *validate.Result, n int) {
	m.head(s, r, "Work and record")
	f := &form{m: m, s: s, n: n, row: 3, cells: map[string]string{}}
	m.cells = f.cells
	f.heading("Steps (tick each one)")
	for i, step := range m.steps(r) {
		f.row++
		line := strconv.Itoa(i+1) + ". " + step
		s.Height(f.row, 4+11.5*max(linesOf(line, wide-1, labelSize), 1.5))
		f.tick("step_" + strconv.Itoa(i+1))
		s.Span(2, f.row, wide, look.Text, line)
	}
	f.heading("As built")
	f.two(field.RecordFields(), 19)
	// The place beside the last field: what comes of the tube as it was cut.
	m.resultRow = f.row
	f.heading("Torques, from the tank up (each within its range, each less than the one before)")
	joints := field.TorqueFields(r)
	if len(joints) == 0 {
		f.row++
		s.Span(1, f.row, wide, look.Text, "The device's row names no joints: take the torques from the maker's instructions and write them under remarks.")
	}
	for i, x := range joints {
		f.row++
		s.Height(f.row, 18)
		f.put(x, f.row, 1, 4, 6)
		j := r.Device.Joints[i]
		s.Span(7, f.row, wide, look.Text, "range "+torqueRange(float64(j.Least.V), float64(j.Most.V))+" lbf·ft")
	}
	if len(joints) > 0 {
		f.row++
		s.Height(f.row, 16)
		s.SpanFormula(1, f.row, wide, look.WarnBox, m.torqueFormula(r, joints))
		s.MarkWhileText(1, f.row)
	}
	f.heading("Checked")
	f.two(field.CheckFields(), 18)
	f.heading("Who and when")
	f.two(field.SignFields(), 19)
	f.remarks(38)
	f.row++
	s.Height(f.row, 46)
	s.Span(1, f.row, wide, look.Caution, strings.Join(m.Texts["cautions"], " "))
	f.row++
	m.key(s, f.row, n, "record", r)
	s.Print(wide, f.row)
}

func torqueRange(lo, hi float64) string { return field.Number(lo) + " to " + field.Number(hi) }

// torqueFormula says what is wrong with the torques; nothing while they are right.
func (m *maker) torqueFormula(r *validate.Result, joints []field.Field) string {
	var parts []string
	for i, x := range joints {
		at := m.cells[x.Key]
		j := r.Device.Joints[i]
		if j.Least.Given() && j.Most.Given() {
			parts = append(parts, fmt.Sprintf(`IF(AND(ISNUMBER(%[1]s),OR(%[1]s<%[2]s,%[1]s>%[3]s)),"%[4]s is out of its range. ","")`, at, calculation.Number(float64(j.Least.V)), calculation.Number(float64(j.Most.V)), strings.ReplaceAll(upperFirst(x.Label), `"`, "")))
		}
		if i > 0 {
			below := m.cells[joints[i-1].Key]
			parts = append(parts, fmt.Sprintf(`IF(AND(ISNUMBER(%[1]s),ISNUMBER(%[2]s),%[1]s>=%[2]s),"%[3]s is not less than the joint below it. ","")`, at, below, strings.ReplaceAll(upperFirst(x.Label), `"`, "")))
		}
	}
	if len(parts) == 0 {
		return `""`
	}
	return strings.Join(parts, "&")
}

func (m *maker) steps(r *validate.Result) []string {
	ceiling, end, arm := "the maker's figure", m.lengthShort(6*unit.Inch), "as long as it is,"
	if d := r.Device; d != nil {
		if d.TestPressure.Given() {
			ceiling = field.Number(float64(d.TestPressure.V)) + " psi"
		}
		if d.ArmSpace.Given() {
			arm = m.lengthShort(d.ArmSpace.V)
		}
	}
	if r.Cut.EndMost.Known {
		end = m.lengthShort(r.Cut.EndMost.V)
	}
	return m.Texts.Filled("steps", "{ceiling}", ceiling, "{end}", end, "{arm}", arm)
}

func (m *maker) lengthShort(l unit.Length) string {
	if m.metric() {
		return unit.LengthText(l, unit.Millimetres, 0, unit.Down) + " mm"
	}
	return unit.FractionText(l, 16, unit.Down) + " in"
}

// recordResult shows, beside the last field of a record, what the tube that was
// cut comes to.
func (m *maker) recordResult(s *sheet.Sheet, k *calculation.Page, n int) {
	row := m.resultRow
	s.Span(7, row, 9, look.Label, "Full at shutoff, as built")
	s.SpanFormula(10, row, 11, look.PlannedPct, k.Outside(`IF(ISNUMBER({built share}),`+sharedDown("{built share}", "{limit}")+`,"")`))
	s.Formula(12, row, look.ValueBig, k.Outside(`IF(ISNUMBER({built share}),IF({built share}<={limit},"ok","OVER"),"")`))
	s.NameCell(field.Name(n, "shown_built"), 10, row)
}

// style gives the dress of a field's cell.
func style(f *field.Field) sheet.Style {
	switch f.Kind {
	case field.OfText, field.OfWord:
		return look.InputText
	case field.OfLong:
		return look.InputLong
	case field.OfDate:
		return look.InputDate
	}
	return look.Input
}
