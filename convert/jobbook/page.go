package jobbook

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"dropcut/convert/jobbook/calculation"
	"dropcut/convert/jobbook/field"
	"dropcut/convert/jobbook/look"

	"dropcut/convert/drawing"
	"dropcut/convert/jobbook/sheet"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// wide is the number of columns of a page.
const wide = 12

// head writes the top of a tank's page.
func (m *maker) head(s *sheet.Sheet, r *validate.Result, kind string) {
	t := r.Tank
	s.Height(1, 30)
	big := "Tank " + t.ID.Raw
	if t.Product.Raw != "" {
		big += "   " + t.Product.Raw
	}
	s.Span(1, 1, 8, look.Title, big)
	s.Span(9, 1, wide, look.Right, kind)
	s.Height(2, 15)
	site := t.Site.Raw
	if t.Job.Raw != "" && t.Job.Raw != t.Site.Raw {
		site = strings.TrimPrefix(site+", job "+t.Job.Raw, ", ")
	}
	s.Span(1, 2, wide, look.Subtitle, site)
	s.Height(3, 24)
	var facts []string
	if r.Device != nil {
		facts = append(facts, "device "+r.Device.Name.V)
	}
	if c := &r.Cut; c.LimitPercent.Known {
		limit := "limit " + field.Number(float64(c.LimitPercent.V)) + " %"
		if c.LimitRule != nil {
			limit += " (" + c.LimitRule.Citation() + ")"
		}
		facts = append(facts, limit)
	}
	if r.Chart != nil {
		facts = append(facts, "chart "+r.Chart.Name+" ("+r.Chart.At.Cell()+")")
	}
	facts = append(facts, field.PlanHash(r)+" of "+m.job.Portfolio)
	s.Span(1, 3, wide, look.Small, strings.Join(facts, "; "))
}

// Rows of a cut page.
const (
	rowMarks    = 5  // three captions, three marks, their notes
	rowLevels   = 9  // captions and values of the levels
	rowWarn     = 12 // the sentence
	rowCautions = 13
	rowMeasures = 15 // heading, table head, then the marked cells
	rowPicture  = 27
	// the tallest picture, in points, and the height of a row beside it
	pictureTall, pictureRow = 315, 15
)

// The marked cell of a measure stands in this column.
const measureCol = 5

// measures writes the cells that are measured again, and tells where they stand.
func (m *maker) measures(s *sheet.Sheet, r *validate.Result, n int) calculation.Cells {
	row := rowMeasures
	s.Height(row-1, 5)
	s.Height(row, 17)
	s.Span(1, row, wide, look.Section, "Measure again, and type or write here (the numbers above follow)")
	row++
	s.Height(row, 13)
	s.Span(1, row, 4, look.TableHead, "measure")
	s.Span(5, row, 6, look.TableHead, "value, "+m.unitWord())
	s.Span(7, row, 7, look.TableHead, "planned")
	s.Span(8, row, 8, look.TableHead, "again?")
	s.Span(9, row, wide, look.TableHead, "where (step "+m.stepText(&field.Field{Kind: field.OfLength}, 1)+" "+m.unitWord()+")")
	at := calculation.Cells{}
	for _, f := range field.Asked(r) {
		row++
		s.Height(row, 18)
		s.Span(1, row, 4, look.Label, f.Label)
		if v := field.Given(r, f.Key); v.Given() {
			s.Num(measureCol, row, look.Input, m.show(v.V))
			s.Num(7, row, look.Planned, m.show(v.V))
		} else {
			s.Blank(measureCol, row, look.Input)
			s.Blank(7, row, look.Planned)
		}
		s.Merge(measureCol, row, 6, row)
		s.Blank(8, row, look.Tick)
		s.Allow(8, row, sheet.Rule{Kind: "list", Formula: `"yes"`, Must: true, Title: f.Label, Prompt: "yes, when it was measured again on site", Wrong: "yes, or nothing"})
		s.Span(9, row, wide, look.LineText, f.Hint)
		s.Allow(measureCol, row, m.rule(&f, measureCol, row))
		s.NameCell(field.Name(n, f.Key), measureCol, row)
		s.NameCell(field.Name(n, field.Again+"_"+f.Key), 8, row)
		at[f.Key] = s.Quote() + "!" + sheet.Fixed(measureCol, row)
	}
	for row++; row < rowPicture-1; row++ {
		s.Height(row, 4)
	}
	return at
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
func (m *maker) rangeText(f *field.Field) string {
	lo, hi, step := m.bounds(f)
	return fmt.Sprintf("%s to %s, step %s", field.Number(lo), field.Number(hi), m.stepText(f, step))
}

func (m *maker) stepText(f *field.Field, step float64) string {
	if f.Kind == field.OfLength && !m.metric() {
		return "1/16"
	}
	return field.Number(step)
}

func (m *maker) bounds(f *field.Field) (lo, hi, step float64) {
	switch {
	case f.Kind == field.OfLength && m.metric():
		return float64(int(f.Least * 25.4)), float64(int(f.Most * 25.4)), 1
	case f.Kind == field.OfLength:
		return f.Least, f.Most, 1.0 / 16
	case f.Kind == field.OfTorque:
		return 0, 200, 0.5
	}
	return f.Least, f.Most, 0.01
}

func (m *maker) rule(f *field.Field, col, row int) sheet.Rule {
	lo, hi, step := m.bounds(f)
	at := sheet.Address(col, row)
	n := at + "/" + calculation.Number(step)
	text := fmt.Sprintf("AND(ISNUMBER(%[1]s),%[1]s>=%[2]s,%[1]s<=%[3]s,ABS(%[4]s-ROUND(%[4]s,0))<0.001)", at, calculation.Number(lo), calculation.Number(hi), n)
	word := "number"
	if f.Kind == field.OfLength {
		word = m.unitWord()
	}
	return sheet.Rule{
		Kind: "custom", Formula: text, Title: f.Label,
		Prompt: strings.TrimPrefix(f.Hint+". "+word+", "+m.rangeText(f)+".", ". "),
		Wrong:  "Expected: " + word + ", " + m.rangeText(f) + ". A fraction is typed as 41 1/4. Keep this value?",
	}
}

// cutPage fills in what follows from the calculation: marks, levels, the sentence
// and the pictures.
func (m *maker) cutPage(s *sheet.Sheet, k *calculation.Page, r *validate.Result, n int) error {
	m.head(s, r, "Cut page")
	s.Height(4, 5)
	hasLower := k.Has("lower")
	marks := [...]struct {
		col, to   int
		name, key string
	}{{1, 4, "UPPER TUBE, CUT", "upper"}, {5, 8, "LOWER TUBE, CUT", "lower"}, {9, 12, "DROP LENGTH", "drop length"}}
	for i, h := range [...]float64{18, 52, 16} {
		s.Height(rowMarks+i, h)
	}
	for _, x := range marks {
		s.Span(x.col, rowMarks, x.to, look.Caption, x.name)
		if x.key == "lower" && !hasLower {
			s.Span(x.col, rowMarks+1, x.to, look.MarkNote, "needs the device's body length")
			s.Span(x.col, rowMarks+2, x.to, look.MarkNote, "")
			continue
		}
		at := k.Far(x.key)
		s.SpanFormula(x.col, rowMarks+1, x.to, look.Mark, fmt.Sprintf(`IF(%s=1,"do not cut",IF(ISNUMBER(%s),%s,"measure first"))`, k.Far("stop"), at, k.Marked(x.key)))
		s.SpanFormula(x.col, rowMarks+2, x.to, look.MarkNote, fmt.Sprintf(`IF(AND(%[1]s=0,ISNUMBER(%[2]s)),TEXT(%[2]s,"0.0000")&" in = "&TEXT(ROUNDUP(ROUND(%[2]s*254,6),0)/10,"0.0")&" mm","")`, k.Far("stop"), at))
		s.NameCell(field.Name(n, "shown_"+strings.ReplaceAll(x.key, " ", "_")), x.col, rowMarks+1)
	}
	s.Height(rowMarks+3, 13)
	s.Span(1, rowMarks+3, 4, look.Small, "sealing face to device seam, square")
	s.Span(5, rowMarks+3, 8, look.Small, m.lowerWords(r))
	s.Span(9, rowMarks+3, 12, look.Small, "sealing face to the end")
	m.levels(s, k, r)
	s.Height(rowWarn-1, 5)
	s.Height(rowWarn, 62)
	s.SpanFormula(1, rowWarn, wide, look.WarnBox, fmt.Sprintf(`IF(%[1]s="","Nothing stands against these numbers as long as the marked values are right.",%[1]s)`, k.Far("sentences")))
	s.NameCell(field.Name(n, "says"), 1, rowWarn)
	s.Height(rowCautions, 46)
	s.Span(1, rowCautions, wide, look.Caution, strings.Join(m.Texts["cautions"], " "))
	return m.pictures(s, r, n)
}

func (m *maker) lowerWords(r *validate.Result) string {
	if a := r.Tank.CutAngle; a.Given() && a.V > 0 {
		return "long side; short side " + m.cutText(r.Cut.ShortSide.V) + ", " + field.Number(float64(a.V)) + "° from square"
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
func (m *maker) levels(s *sheet.Sheet, k *calculation.Page, r *validate.Result) {
	s.Height(rowLevels, 15)
	s.Height(rowLevels+1, 22)
	boxes := [...]struct{ name, text string }{
		{"flow stops at level", fmt.Sprintf(`IF(AND(%s=0,ISNUMBER(%s)),%s,"")`, k.Far("stop"), k.Far("cut depth"), m.lengthFormula(k.Far("cut depth")))},
		{"full, of " + field.Number(float64(r.Cut.LimitPercent.V)) + " % allowed", fmt.Sprintf(`IF(AND(%s=0,ISNUMBER(%s)),%s,"")`, k.Far("stop"), k.Far("cut share"), sharedDown(k.Far("cut share"), k.Far("limit")))},
		{"worst case", fmt.Sprintf(`IF(AND(%s=0,ISNUMBER(%s)),%s,"")`, k.Far("stop"), k.Far("worst"), sharedDown(k.Far("worst"), k.Far("limit")))},
	}
	for i, b := range boxes {
		style := look.ValueBig
		if i > 0 {
			style = look.PlannedPct
		}
		s.Span(1+3*i, rowLevels, 3+3*i, look.Caption, b.name)
		s.SpanFormula(1+3*i, rowLevels+1, 3+3*i, style, b.text)
	}
	s.Span(10, rowLevels, 12, look.Caption, "alarm no higher than")
	text := ""
	if r.Cut.AlarmDepth.Known {
		text = m.lengthText(r.Cut.AlarmDepth.V)
	}
	s.Span(10, rowLevels+1, 12, look.ValueBig, text)
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
	const left, right = 344, 200 // points
	tank := drawing.Tank(r.Tank, &r.Cut, r.Device, m.job.Units)
	tall, err := m.picture(s, &tank, 1, rowPicture, left, pictureTall)
	if err != nil {
		return err
	}
	if plot, ok := drawing.PlotOf(r.Chart, &r.Cut, m.job.Units); ok {
		p := plot.Picture()
		high, err := m.picture(s, &p, 9, rowPicture, right, pictureTall)
		if err != nil {
			return err
		}
		tall = max(tall, high)
	}
	rows := int(math.Ceil(tall / pictureRow))
	s.Height(rowPicture-1, 12)
	s.Span(1, rowPicture-1, wide, look.Small, "Drawn from the plan, to scale; not redrawn when a value is changed.")
	for i := range rows {
		s.Height(rowPicture+i, pictureRow)
	}
	m.key(s, rowPicture+rows, n, "cut", r)
	s.Print(wide, rowPicture+rows)
	return nil
}

// picture fits a picture into a field of the sheet and gives its height there.
func (m *maker) picture(s *sheet.Sheet, p *drawing.Picture, col, row int, width, height float64) (float64, error) {
	data, err := m.raster.PNG(p)
	if err != nil {
		return 0, err
	}
	scale := min(width/p.Width, height/p.Height)
	s.Picture(col, row, slices.Clone(data), p.Width*scale, p.Height*scale, p.Title, p.About)
	return p.Height * scale, nil
}

// key writes a page's key, by which it is known when it comes back. The number of
// its formulas is put in by seal, once all of them stand.
func (m *maker) key(s *sheet.Sheet, row, n int, kind string, r *validate.Result) {
	s.Height(row, 10)
	s.Span(1, row, wide, look.Key, field.PageKey(kind, m.unitWord(), r, 0))
	s.NameCell(field.Name(n, field.KeyField+kind), 1, row)
	m.keys = append(m.keys, keyCell{s, row, kind, r})
}

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
		k.s.Text(1, k.row, look.Key, field.PageKey(k.kind, m.unitWord(), k.r, k.s.Formulas()))
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
	s.Span(1, 5, wide, look.StopBig, big)
	row := 6
	s.Span(1, row, wide, look.Plain, "")
	row++
	s.Span(1, row, wide, look.Section, "Why, and what would cure it")
	all := r.All()
	shown := 0
	for _, f := range all {
		if f.Severity < finding.Check || shown == 8 {
			continue
		}
		shown++
		row++
		line := fmt.Sprintf("%s: found %s; expected %s. %s. To do: %s. (%s)", f.Severity, f.Found, f.Expected, upperFirst(f.Why), f.Suggestion, f.At)
		s.Height(row, 8+15*linesOf(line, wide, 12))
		s.Span(1, row, wide, look.StopText, line)
	}
	if shown == 0 {
		row++
		s.Span(1, row, wide, look.StopText, "The plan gives no cut for this tank; ask the office.")
	}
	row += 2
	s.Height(row, 46)
	s.Span(1, row, wide, look.Caution, strings.Join(m.Texts["cautions"], " "))
	row++
	s.Span(1, row, wide, look.Section, "Found on site (type or write here; it goes back to the office)")
	row++
	s.Height(row, 220)
	s.Blank(1, row, look.InputLong)
	s.Merge(1, row, wide, row)
	s.NameCell(field.Name(n, field.Remarks), 1, row)
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
