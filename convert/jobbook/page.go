package jobbook

import (
	"fmt"
	"slices"
	"strings"

	"dropcut/convert/drawing"
	"dropcut/convert/jobbook/formula"
	"dropcut/convert/jobbook/sheet"
	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// wide is the number of columns of a page.
const wide = 12

// span writes a text over columns.
func span(s *sheet.Sheet, col, row, to int, style sheet.Style, text string) {
	s.Text(col, row, style, text)
	s.Merge(col, row, to, row)
}

// spanFormula writes a formula over columns.
func spanFormula(s *sheet.Sheet, col, row, to int, style sheet.Style, text string) formula.Value {
	v := s.Formula(col, row, style, text)
	s.Merge(col, row, to, row)
	return v
}

// head writes the top of a tank's page.
func (m *maker) head(s *sheet.Sheet, r *validate.Result, kind string) {
	t := r.Tank
	s.Height(1, 30)
	big := "Tank " + t.ID.Raw
	if t.Product.Raw != "" {
		big += "   " + t.Product.Raw
	}
	span(s, 1, 1, 8, title, big)
	span(s, 9, 1, wide, right, kind)
	s.Height(2, 15)
	site := t.Site.Raw
	if t.Job.Raw != "" && t.Job.Raw != t.Site.Raw {
		site = strings.TrimPrefix(site+", job "+t.Job.Raw, ", ")
	}
	span(s, 1, 2, wide, subtitle, site)
	s.Height(3, 24)
	var facts []string
	if r.Device != nil {
		facts = append(facts, "device "+r.Device.Name.V)
	}
	if c := &r.Cut; c.LimitPercent.Known {
		limit := "limit " + short(float64(c.LimitPercent.V)) + " %"
		if c.LimitRule != nil {
			limit += " (" + c.LimitRule.Citation() + ")"
		}
		facts = append(facts, limit)
	}
	if r.Chart != nil {
		facts = append(facts, "chart "+r.Chart.Name+" ("+r.Chart.At.Cell()+")")
	}
	facts = append(facts, planHash(r)+" of "+m.job.Portfolio)
	span(s, 1, 3, wide, small, strings.Join(facts, "; "))
}

func short(v float64) string {
	s := unit.DecimalText(v, 4, unit.Nearest)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// Rows of a cut page.
const (
	rowMarks    = 5  // three captions, three marks, their notes
	rowLevels   = 9  // captions and values of the levels
	rowWarn     = 12 // the sentence
	rowCautions = 13
	rowMeasures = 15 // heading, table head, then the marked cells
	rowPicture  = 27
	pictureRows = 19
	rowKey      = rowPicture + pictureRows
)

// The marked cell of a measure stands in this column.
const measureCol = 5

// asked gives the measures that a tank's page asks for.
func asked(r *validate.Result) []field {
	list := measureFields()
	return slices.DeleteFunc(list, func(f field) bool {
		switch f.key {
		case fDiameter:
			// The dimensions that a tilt is computed from are not changed on site;
			// and an upright tank's diameter is not its height.
			return (r.Tank.Rise.Given() && r.Tank.Rise.V > 0) || upright(r.Tank.Shape.V)
		case fBore:
			return r.Device == nil || !r.Device.LeastRiserBore.Given()
		case fArm:
			return r.Device == nil || !r.Device.ArmSpace.Given()
		}
		return false
	})
}

func upright(word string) bool {
	w := unit.Fold(word)
	return strings.Contains(w, "vert") || strings.Contains(w, "upright") || strings.Contains(w, "standing")
}

// given gives the value that the list has for a measure.
func given(r *validate.Result, key string) cell.Of[unit.Length] {
	t := r.Tank
	switch key {
	case fRiser:
		return t.RiserHeight
	case fFace:
		return t.FaceToBottom
	case fDiameter:
		return t.Diameter
	case fBore:
		return t.RiserBore
	case fArm:
		return t.FreeArm
	case fPlate:
		return t.StrikerPlate
	case fClearance:
		return t.Clearance
	case fAlarm:
		return t.AlarmDepth
	}
	return cell.Of[unit.Length]{}
}

// measures writes the cells that are measured again, and tells where they stand.
func (m *maker) measures(s *sheet.Sheet, r *validate.Result, n int) measures {
	row := rowMeasures
	s.Height(row-1, 5)
	s.Height(row, 17)
	span(s, 1, row, wide, section, "Measure again, and type or write here (the numbers above follow)")
	row++
	s.Height(row, 13)
	span(s, 1, row, 4, tableHead, "measure")
	span(s, 5, row, 6, tableHead, "value, "+m.unitWord())
	span(s, 7, row, 7, tableHead, "planned")
	span(s, 8, row, 8, tableHead, "again?")
	span(s, 9, row, wide, tableHead, "where (step "+m.stepText(&field{kind: ofLength}, 1)+" "+m.unitWord()+")")
	var at measures
	for _, f := range asked(r) {
		row++
		s.Height(row, 19)
		span(s, 1, row, 4, label, f.label)
		if v := given(r, f.key); v.Given() {
			s.Num(measureCol, row, input, m.show(v.V))
			s.Num(7, row, planned, m.show(v.V))
		} else {
			s.Blank(measureCol, row, input)
			s.Blank(7, row, planned)
		}
		s.Merge(measureCol, row, 6, row)
		s.Blank(8, row, tick)
		s.Allow(8, row, sheet.Rule{Kind: "list", Formula: `"yes"`, Must: true, Title: f.label, Prompt: "yes, when it was measured again on site", Wrong: "yes, or nothing"})
		span(s, 9, row, wide, lineText, f.hint)
		s.Allow(measureCol, row, m.rule(&f, measureCol, row))
		s.NameCell(name(n, f.key), measureCol, row)
		s.NameCell(name(n, fAgain+"_"+f.key), 8, row)
		at.set(f.key, s.Quote()+"!"+sheet.Fixed(measureCol, row))
	}
	return at
}

func (a *measures) set(key, cell string) {
	switch key {
	case fRiser:
		a.riser = cell
	case fFace:
		a.face = cell
	case fDiameter:
		a.diameter = cell
	case fBore:
		a.bore = cell
	case fArm:
		a.arm = cell
	case fPlate:
		a.plate = cell
	case fClearance:
		a.clearance = cell
	case fAlarm:
		a.alarm = cell
	}
}

func (m *maker) metric() bool { return m.job.Units.Length.Metric() }

func (m *maker) unitWord() string {
	if m.metric() {
		return "mm"
	}
	return "in"
}

// show gives a length in the unit of the pages.
func (m *maker) show(l unit.Length) float64 {
	if m.metric() {
		return unit.Millimetres.Number(l)
	}
	return float64(l)
}

// rangeText and rule say what a field takes.
func (m *maker) rangeText(f *field) string {
	lo, hi, step := m.bounds(f)
	return fmt.Sprintf("%s to %s, step %s", short(lo), short(hi), m.stepText(f, step))
}

func (m *maker) stepText(f *field, step float64) string {
	if f.kind == ofLength && !m.metric() {
		return "1/16"
	}
	return short(step)
}

func (m *maker) bounds(f *field) (lo, hi, step float64) {
	switch {
	case f.kind == ofLength && m.metric():
		return float64(int(f.least * 25.4)), float64(int(f.most * 25.4)), 1
	case f.kind == ofLength:
		return f.least, f.most, 1.0 / 16
	case f.kind == ofTorque:
		return 0, 200, 0.5
	}
	return f.least, f.most, 0.01
}

func (m *maker) rule(f *field, col, row int) sheet.Rule {
	lo, hi, step := m.bounds(f)
	at := sheet.Address(col, row)
	n := at + "/" + number(step)
	text := fmt.Sprintf("AND(ISNUMBER(%[1]s),%[1]s>=%[2]s,%[1]s<=%[3]s,ABS(%[4]s-ROUND(%[4]s,0))<0.001)", at, number(lo), number(hi), n)
	word := "number"
	if f.kind == ofLength {
		word = m.unitWord()
	}
	return sheet.Rule{
		Kind: "custom", Formula: text, Title: f.label,
		Prompt: strings.TrimPrefix(f.hint+". "+word+", "+m.rangeText(f)+".", ". "),
		Wrong:  "Expected: " + word + ", " + m.rangeText(f) + ". A fraction is typed as 41 1/4. Keep this value?",
	}
}

// cutPage fills in what follows from the calculation: marks, levels, the sentence
// and the pictures.
func (m *maker) cutPage(s *sheet.Sheet, k *calc, r *validate.Result, n int) error {
	m.head(s, r, "Cut page")
	s.Height(4, 5)
	hasLower := k.ref["lower"] != ""
	marks := [...]struct {
		col, to   int
		name, key string
	}{{1, 4, "UPPER TUBE, CUT", "upper"}, {5, 8, "LOWER TUBE, CUT", "lower"}, {9, 12, "DROP LENGTH", "drop length"}}
	for i, h := range [...]float64{16, 44, 15} {
		s.Height(rowMarks+i, h)
	}
	for _, x := range marks {
		span(s, x.col, rowMarks, x.to, caption, x.name)
		if x.key == "lower" && !hasLower {
			span(s, x.col, rowMarks+1, x.to, markNote, "needs the device's body length")
			span(s, x.col, rowMarks+2, x.to, markNote, "")
			continue
		}
		at := k.far(x.key)
		spanFormula(s, x.col, rowMarks+1, x.to, mark, fmt.Sprintf(`IF(%s=1,"do not cut",IF(ISNUMBER(%s),%s,"measure first"))`, k.far("stop"), at, k.marked(x.key)))
		spanFormula(s, x.col, rowMarks+2, x.to, markNote, fmt.Sprintf(`IF(AND(%[1]s=0,ISNUMBER(%[2]s)),TEXT(%[2]s,"0.0000")&" in = "&TEXT(ROUNDUP(ROUND(%[2]s*254,6),0)/10,"0.0")&" mm","")`, k.far("stop"), at))
		s.NameCell(name(n, "shown_"+strings.ReplaceAll(x.key, " ", "_")), x.col, rowMarks+1)
	}
	s.Height(rowMarks+3, 13)
	span(s, 1, rowMarks+3, 4, small, "sealing face to device seam, square")
	span(s, 5, rowMarks+3, 8, small, m.lowerWords(r))
	span(s, 9, rowMarks+3, 12, small, "sealing face to the end")
	m.levels(s, k, r)
	s.Height(rowWarn-1, 5)
	s.Height(rowWarn, 52)
	spanFormula(s, 1, rowWarn, wide, warnBox, fmt.Sprintf(`IF(%[1]s="","Nothing stands against these numbers as long as the marked values are right.",%[1]s)`, k.far("sentences")))
	s.NameCell(name(n, "says"), 1, rowWarn)
	s.Height(rowCautions, 46)
	span(s, 1, rowCautions, wide, caution, strings.Join(m.texts["cautions"], " "))
	return m.pictures(s, r, n)
}

func (m *maker) lowerWords(r *validate.Result) string {
	if a := r.Tank.CutAngle; a.Given() && a.V > 0 {
		return "long side; short side " + m.cutText(r.Cut.ShortSide.V) + ", " + short(float64(a.V)) + "° from square"
	}
	return "device seam to the end, square"
}

func (m *maker) cutText(l unit.Length) string {
	if m.metric() {
		return unit.LengthText(l, unit.Millimetres, 0, unit.Up) + " mm"
	}
	return unit.FractionText(l, 64, unit.Up) + " in"
}

// levels writes the boxes of shutoff, share, worst case and alarm.
func (m *maker) levels(s *sheet.Sheet, k *calc, r *validate.Result) {
	s.Height(rowLevels, 15)
	s.Height(rowLevels+1, 22)
	boxes := [...]struct{ name, text string }{
		{"flow stops at level", fmt.Sprintf(`IF(AND(%s=0,ISNUMBER(%s)),%s,"")`, k.far("stop"), k.far("cut depth"), m.lengthFormula(k.far("cut depth")))},
		{"full, of " + short(float64(r.Cut.LimitPercent.V)) + " % allowed", fmt.Sprintf(`IF(AND(%s=0,ISNUMBER(%s)),%s,"")`, k.far("stop"), k.far("cut share"), sharedDown(k.far("cut share"), k.far("limit")))},
		{"worst case", fmt.Sprintf(`IF(AND(%s=0,ISNUMBER(%s)),%s,"")`, k.far("stop"), k.far("worst"), sharedDown(k.far("worst"), k.far("limit")))},
	}
	for i, b := range boxes {
		style := valueBig
		if i > 0 {
			style = plannedPct
		}
		span(s, 1+3*i, rowLevels, 3+3*i, caption, b.name)
		spanFormula(s, 1+3*i, rowLevels+1, 3+3*i, style, b.text)
	}
	span(s, 10, rowLevels, 12, caption, "alarm no higher than")
	text := ""
	if r.Cut.AlarmDepth.Known {
		text = m.lengthText(r.Cut.AlarmDepth.V)
	}
	span(s, 10, rowLevels+1, 12, valueBig, text)
}

// sharedDown cuts a share to two decimals so that it never crosses the limit:
// down below it, up above it.
func sharedDown(share, limit string) string {
	return fmt.Sprintf("IF(%[1]s>%[2]s,ROUNDUP(%[1]s,2),INT(ROUND(%[1]s*100,9))/100)", share, limit)
}

// lengthFormula writes a level as a formula's text; lengthText a known one.
func (m *maker) lengthFormula(at string) string {
	if m.metric() {
		// Rounded in two steps, so that every program takes a half as a half.
		return `TEXT(ROUND(ROUND(` + at + `*254,6),0)/10,"0.0")&" mm"`
	}
	return `TEXT(` + at + `,"0.000")&" in"`
}

func (m *maker) lengthText(l unit.Length) string {
	if m.metric() {
		return unit.LengthText(l, unit.Millimetres, 1, unit.Nearest) + " mm"
	}
	return unit.DecimalText(float64(l), 3, unit.Nearest) + " in"
}

// pictures puts drawing and plot on a page, and the key below them.
func (m *maker) pictures(s *sheet.Sheet, r *validate.Result, n int) error {
	const left, right = 300, 216 // points
	tank := drawing.Tank(r.Tank, &r.Cut, r.Device, m.job.Units)
	if err := m.picture(s, &tank, 1, rowPicture, left, pictureRows*15); err != nil {
		return err
	}
	if plot, ok := drawing.PlotOf(r.Chart, &r.Cut, m.job.Units); ok {
		p := plot.Picture()
		if err := m.picture(s, &p, 8, rowPicture, right, pictureRows*15); err != nil {
			return err
		}
	}
	s.Height(rowPicture-1, 12)
	span(s, 1, rowPicture-1, wide, small, "Drawn from the plan, to scale; not redrawn when a value is changed.")
	for i := range pictureRows {
		s.Height(rowPicture+i, 15)
	}
	m.key(s, rowKey, n, "cut", r)
	s.Print(wide, rowKey)
	return nil
}

// picture fits a picture into a field of the sheet.
func (m *maker) picture(s *sheet.Sheet, p *drawing.Picture, col, row int, width, height float64) error {
	data, err := m.raster.PNG(p)
	if err != nil {
		return err
	}
	scale := min(width/p.Width, height/p.Height)
	s.Picture(col, row, slices.Clone(data), p.Width*scale, p.Height*scale, p.Title, p.About)
	return nil
}

// key writes a page's key, by which it is known when it comes back. The number of
// its formulas is put in by seal, once all of them stand.
func (m *maker) key(s *sheet.Sheet, row, n int, kind string, r *validate.Result) {
	s.Height(row, 10)
	span(s, 1, row, wide, key, pageKey(kind, m.unitWord(), r, 0))
	s.NameCell(name(n, keyField+kind), 1, row)
	m.keys = append(m.keys, keyCell{s, row, kind, r})
}

// keyField begins the names of the cells that hold keys.
const keyField = "key_"

type keyCell struct {
	s    *sheet.Sheet
	row  int
	kind string
	r    *validate.Result
}

// seal writes into each key of the tank in hand how many formulas its sheet has,
// so that one that was typed over is missed.
func (m *maker) seal() {
	for _, k := range m.keys {
		k.s.Text(1, k.row, key, pageKey(k.kind, m.unitWord(), k.r, k.s.Formulas()))
	}
	m.keys = nil
}

// noCut is the page of a tank that must not be cut, or cannot be yet.
func (m *maker) noCut(s *sheet.Sheet, r *validate.Result, n int) {
	kind, big := "No cut yet", "NO CUT YET"
	if r.Status == validate.Stop {
		kind, big = "Do not cut", "DO NOT CUT"
	}
	m.head(s, r, kind)
	s.Height(5, 60)
	span(s, 1, 5, wide, stopBig, big)
	row := 6
	span(s, 1, row, wide, plain, "")
	row++
	span(s, 1, row, wide, section, "Why, and what would cure it")
	all := r.All()
	shown := 0
	for _, f := range all {
		if f.Severity < finding.Check || shown == 8 {
			continue
		}
		shown++
		row++
		s.Height(row, 64)
		where := f.At.String()
		span(s, 1, row, wide, stopText, fmt.Sprintf("%s: found %s; expected %s. %s. To do: %s. (%s)", f.Severity, f.Found, f.Expected, upperFirst(f.Why), f.Suggestion, where))
	}
	if shown == 0 {
		row++
		span(s, 1, row, wide, stopText, "The plan gives no cut for this tank; ask the office.")
	}
	row += 2
	s.Height(row, 46)
	span(s, 1, row, wide, caution, strings.Join(m.texts["cautions"], " "))
	row++
	span(s, 1, row, wide, section, "Found on site (type or write here; it goes back to the office)")
	row++
	s.Height(row, 150)
	s.Blank(1, row, inputLong)
	s.Merge(1, row, wide, row)
	s.NameCell(name(n, fRemarks), 1, row)
	row++
	m.key(s, row, n, "stop", r)
	s.Print(wide, row)
}

func upperFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
