package jobbook

import (
	"fmt"
	"strings"

	"dropcut/convert/jobbook/sheet"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// The fields of an inspection, in the order of its page.
func (m *maker) siteFields() []field {
	return []field{
		{key: fDate, label: "Date", kind: ofDate, must: true},
		{key: "next_due", label: "Next due", kind: ofDate},
		{key: "reason", label: "Reason", kind: ofWord, words: m.texts["reasons"], must: true},
		{key: "facility", label: "Facility number", kind: ofText},
		{key: "owner", label: "Owner, phone", kind: ofText},
		{key: "address", label: "Address", kind: ofText},
		{key: fCompany, label: "Company", kind: ofText, must: true},
		{key: fWho, label: "Technician", kind: ofText, must: true},
		{key: fLicence, label: "License number", kind: ofText, must: true},
		{key: "license_ends", label: "License ends", kind: ofDate},
		{key: "training", label: "Training certificates", kind: ofText},
		{key: "method", label: "Method", kind: ofWord, words: m.texts["methods"], must: true},
	}
}

func (m *maker) tankFields() []field {
	yes := []string{"yes", "no"}
	return []field{
		{key: "fill_contained", label: "Fill riser contained", kind: ofYesNo, words: yes},
		{key: "vent_contained", label: "Vent riser contained", kind: ofYesNo, words: yes},
		{key: "vent_restrictor", label: "Vent restrictor present", kind: ofYesNo, words: yes, must: true},
		{key: "response", label: "When activated it", kind: ofWord, words: m.texts["responses"], must: true},
	}
}

func foundFields() []field {
	return []field{
		{key: fFoundUpper, label: "Upper tube, as found", kind: ofLength, least: 1, most: 480, must: true},
		{key: fFoundRiser, label: "Riser height", kind: ofLength, least: 2, most: 240, must: true},
		{key: fFoundFace, label: "Face to bottom", kind: ofLength, least: 12, most: 480, must: true},
		{key: fLeftUpper, label: "Upper tube, as left", kind: ofLength, least: 1, most: 480, must: true},
	}
}

func (m *maker) answerFields() []field {
	var list []field
	for _, line := range m.texts["inspection answers"] {
		key, words, _ := strings.Cut(line, "|")
		list = append(list, field{key: key, label: words, kind: ofYesNo, words: []string{"yes", "no"}, must: true})
	}
	return list
}

// inspection is the page set of a tank's inspection: the page, and its
// calculation where there can be one.
func (m *maker) inspection(s *sheet.Sheet, r *validate.Result, n int) error {
	m.head(s, r, "Inspection")
	f := &form{m: m, s: s, n: n, row: 3, cells: map[string]string{}}
	m.cells = f.cells
	f.heading("Site and people")
	f.two(m.siteFields(), 18)
	f.heading("Tank and device")
	f.row++
	s.Height(f.row, 16)
	span(s, 1, f.row, wide, text, m.tankWords(r))
	f.two(m.tankFields(), 18)
	f.heading("How to go about it")
	for i, step := range m.texts["inspection steps"] {
		f.row++
		s.Height(f.row, 23)
		f.tick(fmt.Sprintf("step_%d", i+1))
		span(s, 2, f.row, wide, text, fmt.Sprintf("%d. %s", i+1, step))
	}
	f.heading("Measured")
	found := foundFields()
	f.two(found, 20)
	f.row++
	results := f.row
	s.Height(results, 34)
	f.heading("Seen (one no is a fail)")
	f.two(m.answerFields(), 24)
	f.row++
	verdict := f.row
	s.Height(verdict, 30)
	f.row++
	s.Height(f.row, 17)
	f.put(field{key: "pages", label: "Pages attached (charts, measures, set-up reports)", kind: ofNumber, most: 200}, f.row, 1, 10, 12)
	f.row++
	s.Height(f.row, 40)
	span(s, 1, f.row, 1, label, "Remarks")
	s.Blank(2, f.row, inputLong)
	s.Merge(2, f.row, wide, f.row)
	s.NameCell(name(n, fRemarks), 2, f.row)
	f.row++
	s.Height(f.row, 30)
	span(s, 1, f.row, 3, label, "Signature")
	span(s, 4, f.row, wide, signLine, "")
	f.row++
	s.Height(f.row, 42)
	span(s, 1, f.row, wide, caution, strings.Join(m.texts["cautions"], " "))
	f.row++
	m.key(s, f.row, n, "inspection", r)
	s.Print(wide, f.row)
	if r.Chart == nil || r.Device == nil || !r.Device.ShutoffDrop.Given() || !r.Cut.FullVolume.Known || !r.Cut.InsideHeight.Known {
		span(s, 1, results, wide, warnBox, "The level cannot be worked out here: chart, device or its shutoff drop is missing, or the row has a stop. Measure, write down, and ask the office.")
		span(s, 1, verdict, wide, warnBox, "No verdict from this page.")
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
	k, rows, err := newCalc(m.add(r.Tank.ID.Raw+" calculation", 12), r, m.job.Units)
	if err != nil {
		return err
	}
	k.measured(r, measures{riser: m.cells[fFoundRiser], face: m.cells[fFoundFace]})
	k.tubeLines("found", "As found", m.cells[fFoundUpper], rows)
	k.tubeLines("left", "As left", m.cells[fLeftUpper], rows)
	m.printed(k, r, n)
	for i, of := range [...]string{"found", "left"} {
		col := 1 + 6*i
		span(s, col, results, col+1, caption, "as "+of)
		spanFormula(s, col+2, results, col+3, valueBig, k.outside(`IF(ISNUMBER({`+of+` depth}),`+m.lengthFormula("{"+of+" depth}")+`,"")`))
		spanFormula(s, col+4, results, col+5, plannedPct, k.outside(`IF(ISNUMBER({`+of+` share}),`+sharedDown("{"+of+" share}", "{limit}")+`,"")`))
		s.NameCell(name(n, "shown_"+of), col+4, results)
	}
	var no, open []string
	for _, x := range m.answerFields() {
		no = append(no, m.cells[x.key]+`="no"`)
		open = append(open, m.cells[x.key]+`=""`)
	}
	limit := short(float64(r.Cut.LimitPercent.V)) + " %"
	spanFormula(s, 1, verdict, wide, warnBox, k.outside(fmt.Sprintf(
		`IF(OR(%s),"FAIL: one of the answers is no.",IF(AND(ISNUMBER({left depth}),{left share}=""),"FAIL: the level as left lies outside the chart.",IF({left share}="","Not judged yet: measures are missing.",IF({left share}>{limit},"FAIL: as left it shuts off above %s.",IF(OR(%s),"Not judged yet: answers are missing.","PASS: works as designed, and the flow stops at no more than %s.")))))`,
		strings.Join(no, ","), limit, strings.Join(open, ","), limit)))
	s.NameCell(name(n, "verdict"), 1, verdict)
	return nil
}
