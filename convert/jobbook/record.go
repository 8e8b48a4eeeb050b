package jobbook

import (
	"fmt"
	"strconv"
	"strings"

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
func (f *form) put(x field, row, from, col, to int) {
	span(f.s, from, row, col-1, label, x.label+f.unit(&x))
	f.s.Blank(col, row, x.style())
	f.s.Merge(col, row, to, row)
	f.s.NameCell(name(f.n, x.key), col, row)
	f.cells[x.key] = f.s.Quote() + "!" + sheet.Fixed(col, row)
	switch x.kind {
	case ofYesNo, ofWord:
		f.s.Allow(col, row, sheet.Rule{Kind: "list", Formula: `"` + strings.ReplaceAll(strings.Join(x.words, ","), `"`, "") + `"`, Must: x.kind == ofYesNo, Title: x.label, Prompt: strings.Join(x.words, " or "), Wrong: "Expected: " + strings.Join(x.words, " or ")})
	case ofDate:
		// Day 36526 is 2000-01-01.
		f.s.Allow(col, row, sheet.Rule{Kind: "date", Formula: "36526", Title: x.label, Prompt: "a date: year-month-day", Wrong: "Expected: a date, written year-month-day. Keep this value?"})
	case ofLength, ofTorque, ofPressure, ofNumber:
		f.s.Allow(col, row, f.m.rule(&x, col, row))
	}
}

func (f *form) unit(x *field) string {
	switch x.kind {
	case ofLength:
		return ", " + f.m.unitWord()
	case ofTorque:
		return ", lbf·ft"
	case ofPressure:
		return ", psi"
	}
	return ""
}

// two lays out fields in two columns.
func (f *form) two(list []field, height float64) {
	for i, x := range list {
		if i%2 == 0 {
			f.row++
			f.s.Height(f.row, height)
			f.put(x, f.row, 1, 4, 6)
		} else {
			f.put(x, f.row, 7, 10, 12)
		}
	}
}

// tick lays out a box at the start of the row that is ticked.
func (f *form) tick(key string) {
	f.s.Blank(1, f.row, tick)
	f.s.NameCell(name(f.n, key), 1, f.row)
}

func (f *form) heading(text string) {
	f.row++
	f.s.Height(f.row, 17)
	span(f.s, 1, f.row, wide, section, text)
}

// torqueFields are the joints of a device, from the tank up.
func torqueFields(r *validate.Result) []field {
	if r.Device == nil {
		return nil
	}
	var list []field
	for i, j := range r.Device.Joints {
		list = append(list, field{key: fTorque + strconv.Itoa(i+1), label: j.Name, kind: ofTorque, most: 200, must: true})
	}
	return list
}

// record is the page of the work: its steps, and what is written down.
func (m *maker) record(s *sheet.Sheet, r *validate.Result, n int) {
	m.head(s, r, "Work and record")
	f := &form{m: m, s: s, n: n, row: 3, cells: map[string]string{}}
	m.cells = f.cells
	f.heading("Steps (tick each one)")
	for i, step := range m.steps(r) {
		f.row++
		s.Height(f.row, 25)
		f.tick("step_" + strconv.Itoa(i+1))
		span(s, 2, f.row, wide, text, strconv.Itoa(i+1)+". "+step)
	}
	f.heading("As built")
	f.two(recordFields(), 19)
	// The place beside the last field: what comes of the tube as it was cut.
	m.resultRow = f.row
	f.heading("Torques, from the tank up (each within its range, each less than the one before)")
	joints := torqueFields(r)
	if len(joints) == 0 {
		f.row++
		span(s, 1, f.row, wide, text, "The device's row names no joints: take the torques from the maker's instructions and write them under remarks.")
	}
	for i, x := range joints {
		f.row++
		s.Height(f.row, 18)
		f.put(x, f.row, 1, 4, 6)
		j := r.Device.Joints[i]
		span(s, 7, f.row, wide, text, "range "+torqueRange(float64(j.Least.V), float64(j.Most.V))+" lbf·ft")
	}
	if len(joints) > 0 {
		f.row++
		s.Height(f.row, 16)
		spanFormula(s, 1, f.row, wide, warnBox, m.torqueFormula(r, joints))
		s.MarkWhileText(1, f.row)
	}
	f.heading("Checked")
	f.two(checkFields(), 18)
	f.heading("Who and when")
	f.two(signFields(), 19)
	f.row++
	s.Height(f.row, 40)
	span(s, 1, f.row, 1, label, "Remarks")
	s.Blank(2, f.row, inputLong)
	s.Merge(2, f.row, wide, f.row)
	s.NameCell(name(n, fRemarks), 2, f.row)
	f.row++
	s.Height(f.row, 34)
	span(s, 1, f.row, 3, label, "Signature")
	span(s, 4, f.row, wide, signLine, "")
	f.row++
	s.Height(f.row, 46)
	span(s, 1, f.row, wide, caution, strings.Join(m.texts["cautions"], " "))
	f.row++
	m.key(s, f.row, n, "record", r)
	s.Print(wide, f.row)
}

func torqueRange(lo, hi float64) string { return short(lo) + " to " + short(hi) }

// torqueFormula says what is wrong with the torques; nothing while they are right.
func (m *maker) torqueFormula(r *validate.Result, joints []field) string {
	var parts []string
	for i, x := range joints {
		at := m.cells[x.key]
		j := r.Device.Joints[i]
		if j.Least.Given() && j.Most.Given() {
			parts = append(parts, fmt.Sprintf(`IF(AND(ISNUMBER(%[1]s),OR(%[1]s<%[2]s,%[1]s>%[3]s)),"%[4]s is out of its range. ","")`, at, number(float64(j.Least.V)), number(float64(j.Most.V)), strings.ReplaceAll(upperFirst(x.label), `"`, "")))
		}
		if i > 0 {
			below := m.cells[joints[i-1].key]
			parts = append(parts, fmt.Sprintf(`IF(AND(ISNUMBER(%[1]s),ISNUMBER(%[2]s),%[1]s>=%[2]s),"%[3]s is not less than the joint below it. ","")`, at, below, strings.ReplaceAll(upperFirst(x.label), `"`, "")))
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
			ceiling = short(float64(d.TestPressure.V)) + " psi"
		}
		if d.ArmSpace.Given() {
			arm = m.lengthShort(d.ArmSpace.V)
		}
	}
	if r.Cut.EndMost.Known {
		end = m.lengthShort(r.Cut.EndMost.V)
	}
	return m.texts.filled("steps", "{ceiling}", ceiling, "{end}", end, "{arm}", arm)
}

func (m *maker) lengthShort(l unit.Length) string {
	if m.metric() {
		return unit.LengthText(l, unit.Millimetres, 0, unit.Down) + " mm"
	}
	return unit.FractionText(l, 16, unit.Down) + " in"
}

// tubeLines adds the lines of a tube that somebody has measured.
func (k *calc) tubeLines(of, what, cell string, n int) {
	k.heading(what)
	k.line(of+" tube", "upper tube", k.in(cell), "from the pages")
	k.tubeDepth(of, "{"+of+" tube}", "level at which it shuts off")
	k.share(of, "share of the capacity (%)", n)
}

// recordResult shows, beside the last field of a record, what the tube that was
// cut comes to.
func (m *maker) recordResult(s *sheet.Sheet, k *calc, n int) {
	row := m.resultRow
	span(s, 7, row, 9, label, "Full at shutoff, as built")
	spanFormula(s, 10, row, 11, plannedPct, k.outside(`IF(ISNUMBER({built share}),`+sharedDown("{built share}", "{limit}")+`,"")`))
	s.Formula(12, row, valueBig, k.outside(`IF(ISNUMBER({built share}),IF({built share}<={limit},"ok","OVER"),"")`))
	s.NameCell(name(n, "shown_built"), 10, row)
}

// printed finishes a calculation sheet: the chart is folded below the lines, so that
// paper shows all of it.
func (m *maker) printed(k *calc, r *validate.Result, n int) {
	k.heading("Chart " + r.Chart.Name + ", as read from " + r.Chart.At.String() + " (" + r.Chart.DepthUnit.String() + ", " + r.Chart.VolumeUnit.String() + ")")
	const blocks = wide / 2
	rows := r.Chart.Rows
	k.row++
	top := k.row
	each := (len(rows) + blocks - 1) / blocks
	for b := range blocks {
		if b*each >= len(rows) {
			break
		}
		k.s.Text(1+2*b, top, tableHead, "depth")
		k.s.Text(2+2*b, top, tableHead, "volume")
	}
	for i := range each {
		k.row++
		for b := range blocks {
			if j := b*each + i; j < len(rows) {
				k.s.Num(1+2*b, k.row, tableDepth, rows[j].Depth)
				k.s.Num(2+2*b, k.row, tableVolume, rows[j].Volume)
			}
		}
	}
	k.row++
	m.key(k.s, k.row, n, "calculation", r)
	k.s.Print(wide, k.row)
	// A chart that no page could hold legibly takes several.
	k.s.Pages = each > pageRows
	if k.s.Pages {
		k.s.Repeat = 1
	}
}

// pageRows is how many rows of a folded chart stand below the calculation on one
// page before the letters get too small to read.
const pageRows = 90
