package calculation

import (
	"cmp"
	"slices"
	"strings"

	"dropcut/convert/jobbook/field"
	"dropcut/convert/jobbook/look"

	"dropcut/convert/jobbook/sheet"
	"dropcut/plan"
	"dropcut/plan/chart"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// Cells are the cells of the pages whose values the calculation reads, by the key
// of their field. What a page does not ask for is not there.
type Cells map[string]string

// New lays out a calculation sheet: its head and the chart's columns.
func New(s *sheet.Sheet, r *validate.Result, u field.Units) (*Page, int, error) {
	c, err := chart.NewCurve(r.Chart)
	if err != nil {
		return nil, 0, err
	}
	k := &Page{s: s, row: firstLine - 1, ref: map[string]string{}, u: u, per: 1}
	if u.Length.Metric() {
		k.per = 25.4
	}
	s.Text(1, 1, look.Subtitle, "Tank "+r.Tank.ID.Raw+": calculation")
	s.Merge(1, 1, calcLast, 1)
	s.Text(1, 2, look.Small, "Live: change a marked cell of this tank's pages and every line follows. Inches and US gallons. Chart "+r.Chart.Name+", "+r.Chart.At.String()+", "+field.PlanHash(r)+".")
	s.Merge(1, 2, calcLast, 2)
	s.Height(2, 24)
	n := k.segments(c, r.Tank, r.Chart)
	k.row = 3
	k.fixedLines(r, c)
	return k, n, nil
}

// LimitSource says where a tank's limit comes from.
func LimitSource(r *validate.Result) string {
	switch {
	case r.Cut.LimitRule != nil:
		return r.Cut.LimitRule.Citation()
	case r.Tank.Limit.Given():
		return "the tank's own limit"
	}
	return "federal limit, assumed"
}

// fixedLines are the figures that no measurement on site changes.
func (k *Page) fixedLines(r *validate.Result, c *chart.Curve) {
	cut, d, t := &r.Cut, r.Device, r.Tank
	k.heading("Given")
	k.fixed("full", "full volume (gal)", float64(cut.FullVolume.V), true, "top charted volume, at its first depth")
	k.fixed("limit", "limit (%)", float64(cut.LimitPercent.V), true, LimitSource(r))
	k.fixed("target", "level at which the flow is to stop", float64(cut.Target.V), true, "from the chart"+tiltWords(cut)+"; before the device's least and the rounding")
	k.fixed("bottom", "first depth of the chart", float64(c.Bottom()), true, "")
	k.fixed("top", "last depth of the chart", float64(c.Top()), true, "")
	sheetName := "device data sheet"
	if d.Source.V != "" {
		sheetName = d.Source.V
	}
	k.fixed("drop", "shutoff drop, tube seam to level", float64(d.ShutoffDrop.V), d.ShutoffDrop.Given(), sheetName)
	k.fixed("least", "least tube below the tank top", float64(d.LeastBelowTop.V), d.LeastBelowTop.Given(), sheetName)
	k.fixed("least tube", "least upper tube", float64(d.LeastUpperTube.V), d.LeastUpperTube.Given(), sheetName)
	k.fixed("body", "body length", float64(d.BodyLength.V), d.BodyLength.Given(), sheetName)
	extra := unit.Length(0)
	if d.TestExtra.Given() && (!t.TestVariant.Given() || t.TestVariant.V) {
		extra = d.TestExtra.V
	}
	k.fixed("extra", "test fitting, added to the upper tube", float64(extra), true, sheetName)
}

func tiltWords(c *plan.Cut) string {
	if c.TiltedDepth.Known {
		return " and the tilt"
	}
	return ""
}

// Measured adds the lines that read the marked cells.
func (k *Page) Measured(r *validate.Result, m Cells) {
	k.heading("Measured")
	k.line("riser", "riser height", k.in(m[field.Riser]), "inside tank top to sealing face")
	k.line("face", "face to bottom", k.in(m[field.Face]), "sealing face to tank bottom under the fill")
	if m[field.Diameter] == "" {
		k.fixed("height", "inside height", float64(r.Cut.InsideHeight.V), true, "as the plan counts it")
		return
	}
	k.line("diameter", "inside diameter", k.in(m[field.Diameter]), "where it was measured")
	step := heightStep(r)
	k.line("height", "inside height", `IF(ISNUMBER({diameter}),IF({diameter}>0,IF(ABS({diameter}-{top})>`+Number(float64(step))+`,MAX({top},{diameter}),{diameter}),{top}),{top})`,
		"measured diameter, else top of the chart; where they differ the larger: a longer tube shuts off lower")
}

// heightStep is how far diameter and chart may differ: one step of the chart at
// its top and 1/8 in.
func heightStep(r *validate.Result) unit.Length {
	c, err := chart.NewCurve(r.Chart)
	if err != nil {
		return 0
	}
	return c.Step(c.Top()) + unit.Inch/8 + unit.Guard
}

// CutLines add the way from the measurements to both cuts, and everything that
// may stand against them.
func (k *Page) CutLines(r *validate.Result, m Cells, n int) {
	step := r.Cut.CutStep
	k.Measured(r, m)
	k.heading("Upper tube")
	k.line("below asked", "tube below tank top, as the limit asks", "{height}-{target}-{drop}", "headspace less shutoff drop")
	k.line("least wins", "device's least rules", "IF({below asked}<{least}-0.000000001,1,0)", "1 where the shutoff moves down")
	k.line("below", "tube below tank top", "IF({least wins}=1,{least},{below asked})", "")
	k.line("aim", "shutoff depth aimed at", "IF({least wins}=1,{height}-{least}-{drop},{target})", "")
	k.line("from top", "upper tube from the top", `IF(ISNUMBER({riser}),{riser}+{below}+{extra},"")`, "riser height + tube below tank top + test fitting")
	k.line("from bottom", "upper tube from the bottom", `IF(ISNUMBER({face}),{face}-{aim}-{drop}+{extra},"")`, "face to bottom - shutoff depth - shutoff drop + test fitting")
	k.line("long", "the longer of the two", `IF(ISNUMBER({from top}),IF(ISNUMBER({from bottom}),MAX({from top},{from bottom}),{from top}),IF(ISNUMBER({from bottom}),{from bottom},""))`, "a longer upper tube shuts off lower")
	k.line("upper", "UPPER TUBE CUT", `IF(ISNUMBER({long}),`+up("{long}", step)+`,"")`, "rounded up to "+k.say(step))
	k.fractionLines("upper", "upper tube")
	k.tubeDepth("cut", "{upper}", "level at shutoff")
	k.share("cut", "planned share (%)", n)
	k.worst(r, n)
	k.lower(r, m, step)
	k.against(r, m)
}

// worst adds the worst case: every error at its worst at once.
func (k *Page) worst(r *validate.Result, n int) {
	inches, points := 0.0, 0.0
	stick := 0.0
	for _, s := range r.Cut.Budget {
		if s.Name == "stick" {
			stick = float64(s.Half)
		}
	}
	for _, s := range r.Cut.Budget {
		switch {
		case strings.HasPrefix(s.Name, "chart") || strings.HasPrefix(s.Name, "rounding") || stick == 0:
			points += float64(s.Half)
		default:
			// The stick's half-width is 1/8 in; the others follow from it.
			inches += float64(s.Half) / stick / 8
		}
	}
	depths, volumes, rise := k.column(segDepth, n), k.column(segVolume, n), k.column(segRise, n)
	k.help("lo", `IF(ISNUMBER({cut row}),MAX({cut depth}-1,{bottom}),"")`)
	k.help("hi", `IF(ISNUMBER({cut row}),MIN({cut depth}+1,{top}),"")`)
	at := func(x string) string {
		i := "MATCH(" + x + "," + depths + ",1)"
		return "(INDEX(" + volumes + "," + i + ")+INDEX(" + rise + "," + i + ")*(" + x + "-INDEX(" + depths + "," + i + ")))"
	}
	k.line("worst", "worst case (%)", `IF(ISNUMBER({lo}),{cut share}+100*(`+at("{hi}")+"-"+at("{lo}")+`)/({hi}-{lo})/{full}*`+Number(inches)+"+"+Number(points)+`,"")`,
		"stick, tape, saw and drop "+unit.DecimalText(inches, 4, unit.Nearest)+" in together, chart "+unit.DecimalText(points, 3, unit.Nearest)+" %")
}

// lower adds the drop length and the lower tube.
func (k *Page) lower(r *validate.Result, m Cells, step unit.Length) {
	cut, d, t := &r.Cut, r.Device, r.Tank
	slant := unit.Length(0)
	if a := t.CutAngle; a.Given() && a.V > 0 && d.TubeDiameter.Given() {
		slant = plan.AngleCut(d.TubeDiameter.V, a.V)
	}
	limit := cut.EndMost.V
	if !cut.EndMost.Known {
		limit = 6 * unit.Inch
	}
	// Without a wish the end stands as high as is lawful for every fill pipe.
	want := min(limit, 6*unit.Inch) - slant
	k.heading("Lower tube")
	k.line("overall", "face to bottom counted with", `IF(ISNUMBER({face}),{face},IF(ISNUMBER({riser}),{riser}+{height},""))`, "measured, else riser height + inside height")
	k.fixed("slant", "long side less short side", float64(slant), true, "outside diameter x tan of the angle")
	k.fixed("end most", "end of the tube at most above the bottom", float64(limit), true, endSource(cut))
	k.line("wish", "clearance wanted", k.in(m[field.Clearance]), "")
	k.line("tip", "nearest point above the bottom", `IF(ISNUMBER({wish}),IF({wish}+{slant}>{end most}+0.000000001,`+Number(float64(want))+`,{wish}),`+Number(float64(want))+`)`, "the highest point of the opening stays within the rule")
	if d.BodyLength.Given() {
		k.line("lower", "LOWER TUBE CUT", `IF(AND(ISNUMBER({upper}),ISNUMBER({overall})),`+up("{overall}-{tip}-({upper}-{extra})-{body}", step)+`,"")`, "rounded up to "+k.say(step))
		k.fractionLines("lower", "lower tube")
		k.line("drop length", "DROP LENGTH", `IF(ISNUMBER({lower}),{upper}-{extra}+{body}+{lower},"")`, "sealing face to the end of the tube")
		k.line("short", "short side of the lower tube", `IF(ISNUMBER({lower}),{lower}-{slant},"")`, "")
	} else {
		k.line("drop length", "DROP LENGTH", `IF(ISNUMBER({overall}),`+up("{overall}-{tip}", step)+`,"")`, "the lower tube cannot be cut without the device's body length")
	}
	k.fractionLines("drop length", "drop length")
	k.line("clear", "end above the bottom", `IF(ISNUMBER({drop length}),{overall}-{drop length},"")`, "")
}

func endSource(c *plan.Cut) string {
	if c.EndRule != nil {
		return c.EndRule.Citation()
	}
	return "common practice where no rule is known"
}

// against adds everything that may stand against the cuts: first what forbids
// them, then what a person must look at. The rules are those of the plan.
func (k *Page) against(r *validate.Result, m Cells) {
	d, t, cut := r.Device, r.Tank, &r.Cut
	k.heading("What stands against it")
	k.stop("no tube", "long", "{long}<=0", "these heights do not belong to this tank, measure both again")
	k.stop("too long", "aim", "{least wins}*({bottom}-{aim}+0.000000001)>0", "the device is too long for this tank")
	if d.LeastUpperTube.Given() {
		k.stop("too short", "upper", "{upper}<{least tube}-0.000000001", "the upper tube comes out shorter than the device's least of "+k.say(d.LeastUpperTube.V)+"; a taller riser is needed")
		k.warn("at least", "upper", "ABS({upper}-{least tube})<=0.000000001", "The upper tube is exactly the device's least: measure the riser height again before cutting")
	}
	k.stop("over", "cut share", "{cut share}>{limit}*1.000000001", "the cut would shut off above the limit")
	k.help("lowest", `IF(ISNUMBER({cut depth}),IF(ISNUMBER({riser}),IF(ISNUMBER({face}),MIN({height}+{riser},{face}),{height}+{riser}),{face})-({upper}-{extra})-{drop},"")`)
	k.stop("off chart", "cut depth, lowest", "OR({lowest}<{bottom},{cut depth}>{top})", "the level lies outside the chart; measure both heights again")
	if d.BodyLength.Given() {
		k.stop("no lower", "lower", "{lower}<=0", "upper tube and device reach the bottom already")
	}
	k.stop("touches", "tip", "{tip}<=0.000000001", "with this angle the long side would reach the bottom")
	if m[field.Plate] != "" {
		k.help("plate", k.in(m[field.Plate]))
		k.stop("plate touched", "plate, clear", "{clear}<={plate}", "the tube would stand on the striker plate")
	}
	if m[field.Bore] != "" && d.LeastRiserBore.Given() {
		k.help("bore", k.in(m[field.Bore]))
		k.stop("narrow", "bore", "{bore}<"+Number(float64(d.LeastRiserBore.V)), "the device needs a riser of "+k.say(d.LeastRiserBore.V)+" inside")
	}
	if m[field.Alarm] != "" {
		k.help("alarm", k.in(m[field.Alarm]))
		const known, cond = "alarm, cut depth", "{alarm}>={cut depth}"
		if r.Limits.BothAsked != nil {
			k.stop("alarm high", known, cond, "the alarm is set at or above the shutoff and the place asks for both; set it lower")
		} else {
			k.warn("alarm high", known, cond, "The alarm is set at or above the shutoff and never sounds first: set it lower")
		}
	}
	k.otherTank(r, m)
	k.warn("none", "", `AND({riser}="",{face}="")`, "Measure riser height and face to bottom first")
	k.warn("not both", "from bottom, from top", "ABS({from bottom}-{from top})>0.500000001", "Riser height and face to bottom are more than 1/2 in apart from the height of this chart: wrong chart, wrong tank or wrong tape. Measure both again, and ask the office")
	k.warn("no riser", "face", `{riser}=""`, "The riser height is missing: nobody can see whether the chart is this tank's. Measure it")
	k.warn("no face", "riser", `{face}=""`, "Face to bottom is missing: riser and inside height were added up. Measure it")
	k.warn("least rules", "", "{least wins}=1", "The device's least tube below the tank top rules: the flow stops lower than the limit asks")
	if m[field.Clearance] != "" {
		k.warn("wish high", "wish", "{wish}+{slant}>{end most}+0.000000001", "The clearance wanted leaves the opening too far from the bottom: the lawful one was taken")
	}
	if c := d.LeastClearance; c.Given() {
		plate := "0"
		if m[field.Plate] != "" {
			plate = "IF(ISNUMBER({plate}),{plate},0)"
		}
		k.warn("near", "clear", "{clear}<"+Number(float64(c.V))+"+"+plate+"-"+Number(float64(cut.CutStep)), "The end of the tube comes nearer to the bottom than the device allows, "+k.say(c.V))
	}
	if m[field.Arm] != "" && d.ArmSpace.Given() {
		k.help("arm", k.in(m[field.Arm]))
		k.warn("arm blocked", "arm", "{arm}<"+Number(float64(d.ArmSpace.V)), "The float arm needs "+k.say(d.ArmSpace.V)+" free along the tank")
	}
	if t.RiserHeight.Given() {
		k.differs("riser", float64(t.RiserHeight.V), "The riser height")
	}
	if t.FaceToBottom.Given() {
		k.differs("face", float64(t.FaceToBottom.V), "Face to bottom")
	}
	for _, x := range [...]struct{ cell, name string }{{m[field.Riser], "The riser height"}, {m[field.Face], "Face to bottom"}, {m[field.Diameter], "The inside diameter"}, {m[field.Plate], "The striker plate"}, {m[field.Alarm], "The alarm depth"}, {m[field.Bore], "The riser bore"}, {m[field.Arm], "The free space"}, {m[field.Clearance], "The clearance"}} {
		if x.cell != "" {
			// A blank cell is equal to an empty text; a number is not.
			k.warn(x.name+" unread", "", `IF(ISNUMBER(`+x.cell+`),1=0,`+x.cell+`<>"")`, x.name+" is a text and no number, and is not counted: type it as 41 1/4")
		}
	}
	list := make([]string, len(k.stops))
	for i, key := range k.stops {
		list[i] = "{" + key + "}"
	}
	k.help("stop", "IF("+strings.Join(list, "+")+">0,1,0)")
	// What forbids the cut is said first, so that it is read where the box is full.
	slices.SortStableFunc(k.warns, func(a, b string) int {
		return cmp.Compare(btoi(!strings.HasPrefix(a, stopSays)), btoi(!strings.HasPrefix(b, stopSays)))
	})
	k.help("sentences", strings.Join(joined(k.warns), "&"))
	k.row++
	k.s.Height(k.row, 76)
	k.s.SpanFormula(1, k.row, calcLast, look.LineText, k.fill(`IF({sentences}="","nothing",{sentences})`))
}

// How far, in inches, the heights measured on site may be off the chart's before a
// page stops: the audit of a chart begins to call it another tank's there. What
// the plan knew of when it gave its cut does not stop the page.
const (
	OtherByTube     = 0.9
	OtherByDiameter = 0.55
)

// otherTank stops a page whose measures are those of another tank than the
// chart's. The audit that decides this in the office fits the whole chart; on
// site there is only its height.
func (k *Page) otherTank(r *validate.Result, m Cells) {
	t, h := r.Tank, r.Cut.InsideHeight.V
	most := OtherByTube
	if t.RiserHeight.Given() && t.FaceToBottom.Given() {
		most = max(most, float64(field.Abs(t.FaceToBottom.V-t.RiserHeight.V-h))+budget)
	}
	const do = "these are the measures of another tank than the chart's; measure again and ask the office"
	k.stop("other tank", "riser, face", "ABS({face}-{riser}-"+Number(float64(h))+")>"+Number(most+1e-9), do)
	if m[field.Diameter] != "" {
		most = OtherByDiameter
		if t.Diameter.Given() {
			most = max(most, float64(field.Abs(t.Diameter.V-h))+budget)
		}
		k.stop("other diameter", "diameter", "ABS({diameter}-"+Number(float64(h))+")>"+Number(most+1e-9), do)
	}
}

// budget is by how much two readings of a tape and a stick lie apart at most:
// 1/16 and 1/8 in.
const budget = 3.0 / 16

// differs says that a measure is off its planned value by more than the budget.
func (k *Page) differs(key string, was float64, name string) {
	k.warn(key+" differs", key, "ABS({"+key+"}-"+Number(was)+")>"+Number(budget+1e-9), name+" differs from the plan's "+k.say(unit.Length(was))+" by more than reading errors: measure it again; the cuts shown follow the new value")
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

func joined(keys []string) []string {
	out := make([]string, len(keys))
	for i, key := range keys {
		out[i] = "{" + key + "}"
	}
	return out
}
