package jobbook

import (
	"fmt"
	"strings"

	"dropcut/convert/jobbook/calculation"
	"dropcut/convert/jobbook/field"
	"dropcut/convert/jobbook/look"

	"dropcut/convert/jobbook/sheet"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// inspection is the page set of a tank's inspection: the page, and its
// calculation where there can be one.
func (m *maker) inspection(s *sheet.Sheet, r *validate.Result, n int) error {
	m.head(s, r, "Inspection")
	f := &form{m: m, s: s, n: n, row: 3, cells: map[string]string{}}
	m.cells = f.cells
	f.heading("Site and people")
	f.two(field.SiteFields(m.Texts), 18)
	f.heading("Tank and device")
	f.row++
	s.Height(f.row, 16)
	s.Span(1, f.row, wide, look.Text, m.tankWords(r))
	f.two(field.TankFields(m.Texts), 18)
	f.heading("How to go about it")
	for i, step := range m.Texts["inspection steps"] {
		f.row++
		s.Height(f.row, 23)
		f.tick(fmt.Sprintf("step_%d", i+1))
		s.Span(2, f.row, wide, look.Text, fmt.Sprintf("%d. %s", i+1, step))
	}
	f.heading("Measured")
	found := field.FoundFields()
	f.two(found, 20)
	f.row++
	s.Height(f.row, 15)
	for i := range 2 {
		s.Span(1+6*i, f.row, 2+6*i, look.TableHead, "")
		s.Span(3+6*i, f.row, 4+6*i, look.TableHead, "flow stops at level")
		s.Span(5+6*i, f.row, 6+6*i, look.TableHead, "full, of "+field.Number(float64(r.Cut.LimitPercent.V))+" %")
	}
	f.row++
	results := f.row
	s.Height(results, 30)
	f.heading("Seen (one no is a fail)")
	f.two(field.AnswerFields(m.Texts), 22)
	f.row++
	verdict := f.row
	s.Height(verdict, 30)
	f.row++
	s.Height(f.row, 17)
	f.put(field.Field{Key: "pages", Label: "Pages attached (charts, measures, set-up reports)", Kind: field.OfNumber, Most: 200}, f.row, 1, 10, 12)
	f.remarks(44)
	f.row++
	s.Height(f.row, 46)
	s.Span(1, f.row, wide, look.Caution, strings.Join(m.Texts["cautions"], " "))
	f.row++
	m.key(s, f.row, n, "inspection", r)
	s.Print(wide, f.row)
	if r.Chart == nil || r.Device == nil || !r.Device.ShutoffDrop.Given() || !r.Cut.FullVolume.Known || !r.Cut.InsideHeight.Known {
		s.Span(1, results, wide, look.WarnBox, "The level cannot be worked out here: chart, device or its shutoff drop is missing, or the row has a stop. Measure, write down, and ask the office.")
		s.Span(1, verdict, wide, look.WarnBox, "No verdict from this page.")
		return nil
	}
	return m.inspectionResults(s, r, n, results, verdict)
}

func (m *maker) tankWords(r *validate.Result) string {
	var words []string
	if r.Cut.FullVolume.Known {
		u := m.job.Units.Volume
		words = append(words, "volume "+unit.GroupedText(unit.VolumeText(r.Cut.FullVolume.V, u, 0))+" "+u.String())
	}
	if r.Cut.InsideHeight.Known {
		words = append(words, "inside height "+m.lengthText(r.Cut.InsideHeight.V))
	}
	if r.Device != nil {
		words = append(words, "device "+r.Device.Name.V+" ("+r.Device.Source.V+")")
	}
	if len(words) == 0 {
		return "Neither chart nor device is known for this tank."
	}
	return strings.Join(words, "; ")
}

// inspectionResults adds the calculation and what the page shows of it.
func (m *maker) inspectionResults(s *sheet.Sheet, r *validate.Result, n, results, verdict int) error {
	under := m.add(r.Tank.ID.Raw+" calculation", 12)
	k, rows, err := calculation.New(under, r, m.job.Units)
	if err != nil {
		return err
	}
	k.Measured(r, calculation.Cells{field.Riser: m.cells[field.FoundRiser], field.Face: m.cells[field.FoundFace]})
	k.TubeLines("found", "As found", m.cells[field.FoundUpper], rows)
	k.TubeLines("left", "As left", m.cells[field.LeftUpper], rows)
	m.key(under, k.Printed(), n, "calculation", r)
	m.chartSheets(r)
	for i, of := range [...]string{"found", "left"} {
		col := 1 + 6*i
		s.Span(col, results, col+1, look.Caption, "as "+of)
		s.SpanFormula(col+2, results, col+3, look.ValueBig, k.Outside(`IF(ISNUMBER({`+of+` depth}),`+m.lengthFormula("{"+of+" depth}")+`,"")`))
		s.SpanFormula(col+4, results, col+5, look.PlannedPct, k.Outside(`IF(ISNUMBER({`+of+` share}),`+sharedDown("{"+of+" share}", "{limit}")+`,"")`))
		s.NameCell(field.Name(n, "shown_"+of), col+4, results)
	}
	var no, open []string
	for _, x := range field.AnswerFields(m.Texts) {
		no = append(no, m.cells[x.Key]+`="no"`)
		open = append(open, m.cells[x.Key]+`=""`)
	}
	limit := field.Number(float64(r.Cut.LimitPercent.V)) + " %"
	s.SpanFormula(1, verdict, wide, look.WarnBox, k.Outside(fmt.Sprintf(
		`IF(OR(%s),"FAIL: one of the answers is no.",IF(AND(ISNUMBER({left depth}),{left share}=""),"FAIL: the level as left lies outside the chart.",IF({left share}="","Not judged yet: measures are missing.",IF({left share}>{limit},"FAIL: as left it shuts off above %s.",IF(OR(%s),"Not judged yet: answers are missing.","PASS: works as designed, and the flow stops at no more than %s.")))))`,
		strings.Join(no, ","), limit, strings.Join(open, ","), limit)))
	s.NameCell(field.Name(n, "verdict"), 1, verdict)
	return nil
}
