// Package calculation makes the live calculation of a tank's pages: a sheet of
// lines, each with a formula over the lines above it and over the cells that are
// filled in, from the measures to the cuts and to what stands against them, with
// the chart that they read from. Every rule is the plan's.
package calculation

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"dropcut/convert/jobbook/field"
	"dropcut/convert/jobbook/look"

	"dropcut/convert/jobbook/formula"
	"dropcut/convert/jobbook/sheet"
	"dropcut/plan"
	"dropcut/plan/chart"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// Page is the calculation sheet of a tank: one line a step, each with a formula
// over the cells above it and over the cells that are filled in on the pages, and
// the chart that they read from. All lengths on it are inches, all volumes US
// gallons, and every rule is the plan's.
type Page struct {
	s   *sheet.Sheet
	row int
	// aside counts the lines that stand beside the printed ones: helpers, and
	// what the sentences of the pages are made of.
	aside int
	ref   map[string]string // "$F$12" of each line
	u     field.Units
	// per is how many units of the pages' lengths an inch is.
	per float64

	tilted bool
	stops  []string // keys of the lines that are 1 where nothing may be cut
	warns  []string // keys of the lines that hold a sentence or nothing
}

// The columns of the calculation sheet.
const (
	calcLabel, calcValue, calcHow, calcLast = 1, 5, 7, 12
	segDepth, segVolume, segRise, segA      = 14, 15, 16, 17
	tiltDepth, tiltMore                     = 21, 22
	asideLabel, AsideValue                  = 24, 25
	firstLine                               = 4
)

// Number prints a constant of a formula so that it is read back as it is.
func Number(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// line adds a step. {key} in the formula stands for the line of that key.
func (k *Page) line(key, name, text, how string) formula.Value {
	k.row++
	k.s.Text(calcLabel, k.row, look.Line, name)
	k.s.Merge(calcLabel, k.row, calcValue-1, k.row)
	v := k.s.Formula(calcValue, k.row, look.LineValue, k.fill(text))
	k.s.Merge(calcValue, k.row, calcHow-1, k.row)
	k.how(how)
	k.ref[key] = sheet.Fixed(calcValue, k.row)
	return v
}

// how writes how a line came about, as high as it needs.
func (k *Page) how(text string) {
	const letters = 63 // of a line, in a broad face
	k.s.Height(k.row, 12.75+11*float64(max(len(text)-1, 0)/letters))
	k.s.Text(calcHow, k.row, look.LineText, text)
	k.s.Merge(calcHow, k.row, calcLast, k.row)
}

// help adds a line that is not printed.
func (k *Page) help(key, text string) {
	if k.aside == 0 {
		k.aside = firstLine - 1
		k.s.Text(asideLabel, k.aside, look.TableHead, "helper")
		k.s.Text(AsideValue, k.aside, look.TableHead, "value")
	}
	k.aside++
	k.s.Text(asideLabel, k.aside, look.Plain, key)
	k.s.Formula(AsideValue, k.aside, look.Plain, k.fill(text))
	k.ref[key] = sheet.Fixed(AsideValue, k.aside)
}

// fixed adds a figure that the pages do not change; none is written where it is
// not known.
func (k *Page) fixed(key, name string, v float64, known bool, how string) {
	k.row++
	k.s.Text(calcLabel, k.row, look.Line, name)
	k.s.Merge(calcLabel, k.row, calcValue-1, k.row)
	if known {
		k.s.Num(calcValue, k.row, look.LineValue, v)
	} else {
		k.s.Blank(calcValue, k.row, look.LineValue)
	}
	k.s.Merge(calcValue, k.row, calcHow-1, k.row)
	k.how(how)
	k.ref[key] = sheet.Fixed(calcValue, k.row)
}

func (k *Page) heading(text string) {
	k.row++
	k.s.Text(1, k.row, look.Section, text)
	k.s.Merge(1, k.row, calcLast, k.row)
	k.s.Height(k.row, 16)
}

// fill puts the cells of keys into a formula.
func (k *Page) fill(text string) string {
	var b strings.Builder
	for {
		i := strings.IndexByte(text, '{')
		if i < 0 {
			b.WriteString(text)
			return b.String()
		}
		j := strings.IndexByte(text[i:], '}') + i
		b.WriteString(text[:i])
		b.WriteString(k.ref[text[i+1:j]])
		text = text[j+1:]
	}
}

// Has reports whether the sheet has a line of that key.
func (k *Page) Has(key string) bool { return k.ref[key] != "" }

// Far gives the cell of a key as another sheet refers to it.
func (k *Page) Far(key string) string { return k.s.Quote() + "!" + k.ref[key] }

// Outside gives the cells of keys in a formula of another sheet.
func (k *Page) Outside(text string) string {
	own := k.ref
	k.ref = make(map[string]string, len(own))
	for key, at := range own {
		k.ref[key] = k.s.Quote() + "!" + at
	}
	text = k.fill(text)
	k.ref = own
	return text
}

// in gives a cell of a page as a length in inches, or an empty text where it does
// not hold a number.
func (k *Page) in(cell string) string {
	if k.per == 1 {
		return "IF(ISNUMBER(" + cell + ")," + cell + `,"")`
	}
	return "IF(ISNUMBER(" + cell + ")," + cell + "/" + Number(k.per) + `,"")`
}

// up rounds a formula's value up to a step, as unit.RoundTo does.
func up(x string, step unit.Length) string {
	mm := float64(step) * 25.4
	size, div := Number(float64(step)), ""
	if whole := math.Round(mm); math.Abs(mm-whole) < 1e-9 && mm > 0.5 && math.Abs(float64(step)*64-math.Round(float64(step)*64)) > 1e-9 {
		size, div = Number(whole), "/25.4"
	}
	n := "(" + x + ")/" + Number(float64(step))
	return fmt.Sprintf("IF(ABS(%[1]s-ROUND(%[1]s,0))<=%[2]s,ROUND(%[1]s,0),ROUNDUP(%[1]s,0))*%[3]s%[4]s", n, Number(float64(unit.Guard/step)), size, div)
}

// column gives the range of a column of the chart.
func (k *Page) column(col, n int) string {
	return sheet.Fixed(col, firstLine) + ":" + sheet.Fixed(col, firstLine+n-1)
}

// segments writes the curve behind the printed columns, for the formulas.
func (k *Page) segments(c *chart.Curve, t *plan.Tank, ch *chart.Chart) int {
	list := c.Segments()
	for i, h := range [...]string{"depth", "volume", "gal/in", "a", "b", "c"} {
		k.s.Text(segDepth+i, firstLine-1, look.TableHead, h)
	}
	for i, g := range list {
		for j, v := range [...]float64{float64(g.Depth), float64(g.Volume), g.Rise, g.A, g.B, g.C} {
			k.s.Num(segDepth+j, firstLine+i, look.Plain, v)
		}
	}
	if more, ok := plan.TiltCorrection(t, ch); ok {
		k.tilt(c, more)
	}
	return len(list)
}

// tiltRows is the least number of depths at which the effect of the tilt is
// tabulated; between them it bends by less than a thousandth of a percent.
const tiltRows = 512

func (k *Page) tilt(c *chart.Curve, more func(unit.Length) unit.Percent) {
	k.tilted = true
	k.s.Text(tiltDepth, firstLine-1, look.TableHead, "depth")
	k.s.Text(tiltMore, firstLine-1, look.TableHead, "tilt, % more")
	lo, hi := float64(c.Bottom()), float64(c.Top())
	for i := range tiltRows {
		// Denser towards the top, where the shutoff is and the shell bends.
		x := float64(i) / (tiltRows - 1)
		d := lo + (hi-lo)*(1-(1-x)*(1-x))
		k.s.Num(tiltDepth, firstLine+i, look.Plain, d)
		k.s.Num(tiltMore, firstLine+i, look.Plain, float64(more(unit.Length(d))))
	}
}

// share adds the lines from a depth to the share of the capacity.
func (k *Page) share(of, what string, n int) {
	d := "{" + of + " depth}"
	depths, volumes := k.column(segDepth, n), k.column(segVolume, n)
	k.help(of+" row", fmt.Sprintf(`IF(ISNUMBER(%[1]s),IF(AND(%[1]s>={bottom},%[1]s<={top}),MATCH(%[1]s,%[2]s,1),""),"")`, d, depths))
	k.help(of+" above", fmt.Sprintf(`IF(ISNUMBER({%[1]s row}),%[2]s-INDEX(%[3]s,{%[1]s row}),"")`, of, d, depths))
	k.line(of+" volume", "volume there (gal)", fmt.Sprintf(`IF(ISNUMBER({%[1]s above}),INDEX(%[2]s,{%[1]s row})+MAX(INDEX(%[3]s,{%[1]s row})*{%[1]s above},{%[1]s above}*(INDEX(%[4]s,{%[1]s row})+{%[1]s above}*(INDEX(%[5]s,{%[1]s row})+{%[1]s above}*INDEX(%[6]s,{%[1]s row})))),"")`,
		of, volumes, k.column(segRise, n), k.column(segA, n), k.column(segA+1, n), k.column(segA+2, n)), "the larger of the straight line and the cubic between two rows")
	tilt := ""
	if k.tilted {
		td, tm := k.column(tiltDepth, tiltRows), k.column(tiltMore, tiltRows)
		k.help(of+" tilt row", fmt.Sprintf(`IF(ISNUMBER({%[1]s row}),MIN(MATCH(%[2]s,%[3]s,1),%[4]d),"")`, of, d, td, tiltRows-1))
		k.line(of+" tilt", "tilt, % more", fmt.Sprintf(`IF(ISNUMBER({%[1]s tilt row}),MAX(0,INDEX(%[4]s,{%[1]s tilt row})+(%[2]s-INDEX(%[3]s,{%[1]s tilt row}))*(INDEX(%[4]s,{%[1]s tilt row}+1)-INDEX(%[4]s,{%[1]s tilt row}))/(INDEX(%[3]s,{%[1]s tilt row}+1)-INDEX(%[3]s,{%[1]s tilt row}))),"")`, of, d, td, tm),
			"as the tank lies, counted where it is more; volume by integration")
		tilt = "+{" + of + " tilt}"
	}
	k.line(of+" share", what, fmt.Sprintf(`IF(ISNUMBER({%[1]s volume}),100*{%[1]s volume}/{full}%[2]s,"")`, of, tilt), "of the full volume, in percent")
}

// tubeDepth adds the depth at which a tube shuts off: of the two measurements the
// one that puts it higher, so that the percentage is never told too low.
func (k *Page) tubeDepth(of, tube, name string) {
	k.line(of+" depth", name, fmt.Sprintf(`IF(AND(ISNUMBER(%[1]s),OR(ISNUMBER({riser}),ISNUMBER({face}))),IF(ISNUMBER({riser}),IF(ISNUMBER({face}),MAX({height}+{riser}-(%[1]s-{extra})-{drop},{face}-(%[1]s-{extra})-{drop}),{height}+{riser}-(%[1]s-{extra})-{drop}),{face}-(%[1]s-{extra})-{drop}),"")`, tube),
		"the higher of the levels from the top and from the bottom")
}

// Marked gives, as a formula of another sheet, a length as it is marked.
func (k *Page) Marked(key string) string {
	x := k.Far(key)
	if k.u.Length.Metric() {
		mm := x + "*25.4"
		return fmt.Sprintf(`TEXT(IF(ABS(%[1]s-ROUND(%[1]s,0))<=0.00000003,ROUND(%[1]s,0),ROUNDUP(%[1]s,0)),"0")&" mm"`, mm)
	}
	return k.Far(key+" text") + `&" in"`
}

// fractionLines adds the lines that write a length with a fraction.
func (k *Page) fractionLines(key, name string) {
	if k.u.Length.Metric() {
		return
	}
	k.help(key+" n", fmt.Sprintf(`IF(ISNUMBER({%[1]s}),IF(ABS({%[1]s}*64-ROUND({%[1]s}*64,0))<=0.000000064,ROUND({%[1]s}*64,0),ROUNDUP({%[1]s}*64,0)),"")`, key))
	k.help(key+" rest", fmt.Sprintf(`IF(ISNUMBER({%[1]s n}),{%[1]s n}-64*INT({%[1]s n}/64),"")`, key))
	k.help(key+" text", fmt.Sprintf(`IF(ISNUMBER({%[1]s n}),IF({%[1]s rest}=0,TEXT({%[1]s n}/64,"0"),IF(INT({%[1]s n}/64)=0,"",TEXT(INT({%[1]s n}/64),"0")&" ")&TEXT({%[1]s rest}/GCD({%[1]s rest},64),"0")&"/"&TEXT(64/GCD({%[1]s rest},64),"0")),"")`, key))
}

// stopSays begins the key of a sentence that forbids a cut.
const stopSays = "says "

// stop adds a line that is 1 where nothing may be cut, and its sentence. cond is
// looked at where every key of known holds a number.
func (k *Page) stop(key, known, cond, sentence string) {
	k.help(key, k.guarded(known, cond, "1", "0"))
	k.stops = append(k.stops, key)
	k.warn(stopSays+key, key, "{"+key+"}=1", "DO NOT CUT: "+sentence)
}

// warn adds a sentence that stands where a condition holds.
func (k *Page) warn(key, known, cond, sentence string) {
	k.help(key, k.guarded(known, cond, `"`+strings.ReplaceAll(sentence, `"`, `""`)+`. "`, `""`))
	k.warns = append(k.warns, key)
}

// guarded gives a formula that looks at a condition only where lines hold numbers:
// AND looks at all of its conditions, and a text in a sum is an error.
func (k *Page) guarded(known, cond, yes, no string) string {
	text := "IF(" + cond + "," + yes + "," + no + ")"
	for key := range strings.SplitSeq(known, ", ") {
		if key != "" {
			text = "IF(ISNUMBER({" + key + "})," + text + "," + no + ")"
		}
	}
	return text
}

func (k *Page) say(l unit.Length) string {
	if k.u.Length.Metric() {
		return unit.LengthText(l, unit.Millimetres, 1, unit.Nearest) + " mm"
	}
	if n := float64(l) * 64; math.Abs(n-math.Round(n)) < 1e-7 {
		return unit.FractionText(l, 64, unit.Nearest) + " in"
	}
	return unit.DecimalText(float64(l), 3, unit.Nearest) + " in"
}

// Possible reports whether live formulas can be written for a tank: there is
// a curve, a target and a device.
func Possible(r *validate.Result) bool {
	return r.Status != validate.Stop && r.Chart != nil && r.Device != nil && r.Cut.Target.Known && r.Cut.InsideHeight.Known && r.Cut.FullVolume.Known && r.Device.ShutoffDrop.Given()
}
