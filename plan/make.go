package plan

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/device"
	"dropcut/plan/finding"
	"dropcut/plan/rule"
	"dropcut/plan/unit"
)

// defaultStep is the step to which tubes are cut where a device's data sheet
// says nothing: common practice, no source.
const defaultStep = unit.Inch / 16

// apart is how far two measurements of one height may lie apart before a person
// has to look: common practice, no source. A tape and a stick read to 3/16 in
// together.
const apart = unit.Inch / 2

// Make plans one tank. The chart may be nil, and so may the device; whatever can
// be said without them is said. Findings tell what a person must look at; where
// one of them is a Stop the caller takes the lengths out with Withhold.
func Make(t *Tank, c *chart.Chart, d *device.Device, rules *rule.Set, o Options) (Cut, []finding.Finding) {
	m := &maker{t: t, c: c, d: d, rules: rules, o: o}
	m.cut.CutStep = defaultStep
	if d != nil && d.CutStep.Given() && d.CutStep.V > 0 {
		m.cut.CutStep = d.CutStep.V
	}
	m.law = rules.In(m.place())
	m.limit()
	if m.curve() {
		m.tilt()
		m.shutoff()
		m.upper()
		m.lowEnd()
		m.chances()
		m.alarm()
	}
	m.lower()
	return m.cut, m.found
}

// Withhold takes every length out of a plan that must not be cut from. What is
// left tells what the chart and the limit are.
func (c *Cut) Withhold() {
	kept := Cut{FullVolume: c.FullVolume, LimitPercent: c.LimitPercent, LimitVolume: c.LimitVolume, LimitRule: c.LimitRule, CutStep: c.CutStep}
	for _, f := range c.Trail {
		if f.Name == lineLimit || f.Name == lineFull || f.Name == lineLimitVolume {
			kept.Trail = append(kept.Trail, f)
		}
	}
	*c = kept
}

// The lines of a calculation that a tank with a stop keeps.
const (
	lineLimit       = "limit"
	lineFull        = "full volume"
	lineLimitVolume = "limit volume"
)

// maker holds a plan while it is made.
type maker struct {
	t     *Tank
	c     *chart.Chart
	k     *chart.Curve
	d     *device.Device
	rules *rule.Set
	law   rule.Place // the rules of the tank's place
	o     Options

	cut   Cut
	found []finding.Finding

	inside unit.Length // inside height
	seam   unit.Length // planned depth of the seam below the tank top
	target unit.Length // depth at which the flow is to have stopped

	slope      *slope      // nil for a level tank
	offMiddle  float64     // how far the fill is off the middle, as a share of the length
	rounding   unit.Volume // of the chart's volumes; 0 where there is none
	chartInput string      // half-width of the chart, as text
	quiet      bool        // neither findings nor trail
	stopped    bool        // a stop was found, said or not
}

// find notes a finding about the tank. at is the cell that is meant; the zero
// Ref stands for the tank's row.
func (m *maker) find(slug finding.Slug, sev finding.Severity, at cell.Ref, found, expected, why, suggestion string) {
	m.stopped = m.stopped || sev == finding.Stop
	if m.quiet {
		return
	}
	if at.IsZero() {
		at = m.t.At
	}
	name := ""
	if m.c != nil {
		name = m.c.Name
	}
	m.found = append(m.found, finding.Finding{
		Slug: slug, Severity: sev, Site: m.t.Site.V, Tank: m.t.ID.V, Chart: name, At: at,
		Found: found, Expected: expected, Why: why, Suggestion: suggestion,
	})
}

// telling reports whether the calculation is written down. Its texts take longer
// than the calculation itself, so that they are not made in vain.
func (m *maker) telling() bool { return !m.quiet && !m.o.NoTrail }

// tell adds a line to the calculation.
func (m *maker) tell(name, value, formula, source string, from ...cell.Ref) {
	if !m.telling() {
		return
	}
	if m.cut.Trail == nil {
		m.cut.Trail = make([]Figure, 0, 32)
	}
	kept := from[:0]
	for _, at := range from {
		if !at.IsZero() {
			kept = append(kept, at)
		}
	}
	m.cut.Trail = append(m.cut.Trail, Figure{Name: name, Value: value, Formula: formula, From: kept, Source: source})
}

// curve makes the curve of the chart and tells the full volume and the limit
// volume. It reports whether there is one.
func (m *maker) curve() bool {
	if m.c == nil {
		m.find(finding.ChartMissing, finding.Stop, cell.Ref{}, "no chart", "a chart named "+nameOf(m.t), "without its chart nothing says at which depth the tank holds how much",
			"add the tank's chart, or write its name into the Chart column")
		return false
	}
	k, err := chart.NewCurve(m.c)
	if err != nil {
		m.find(finding.ChartNotUsable, finding.Stop, m.c.At, err.Error(), "depths that rise and volumes that do not fall, in known units", "no level can be read from such a chart",
			"correct the chart from its original")
		return false
	}
	m.k = k
	m.rounding = unit.Volume(m.c.Rounding()) * m.c.VolumeUnit.Size()
	at, full := k.Full()
	if full <= 0 {
		m.find(finding.ChartNotUsable, finding.Stop, m.c.To, "a chart whose top volume is "+m.gal(full), "a volume above nothing", "no share can be taken of it", "correct the chart from its original")
		return false
	}
	m.cut.FullVolume = Known(full)
	if m.telling() {
		m.tell(lineFull, m.gal(full), "top charted volume, first reached at "+m.in(at), "capacity is the charted one, PEI RP1200-17 s. 7.1.4", m.c.To)
	}
	limit := m.cut.LimitPercent.V.Of(full)
	m.cut.LimitVolume = Known(limit)
	if m.telling() {
		m.tell(lineLimitVolume, m.whole(limit), pct(m.cut.LimitPercent.V)+" of "+m.gal(full)+" = "+m.volumes(limit)+", floored", m.limitSource())
	}
	if m.c.FromDimensions {
		m.find(finding.PlannedFromDimensions, finding.Check, m.c.At, "a chart computed from dimensions", "a chart of this tank, measured or from its maker", "what stands inside the tank, and how its ends are formed, is not in it", "get the chart, or have the tank calibrated")
	}
	m.capacity(full)
	m.insideHeight()
	return true
}

// capacity holds the charted capacity against what the tank is said to hold.
func (m *maker) capacity(full unit.Volume) {
	// A chart of manifolded tanks holds them all; the list gives each its own.
	tanks := unit.Volume(1 + strings.Count(m.c.Name, "+"))
	if v := m.t.Certified; v.Given() && v.V > 0 {
		v.V *= tanks
		// Both may be rounded to the chart's step; half a step each.
		if diff := math.Abs(float64(full - v.V)); diff > max(float64(m.rounding), 1e-6*float64(full))*(1+1e-9) {
			m.find(finding.CapacityDiffersCertified, finding.Check, v.At, m.gal(v.V)+" certified, "+m.gal(full)+" at the top of the chart", "one capacity",
				"the plan takes the chart's", "find out which of the two belongs to this tank")
		}
		if limit := m.cut.LimitPercent.V.Of(v.V); full < limit {
			m.find(finding.ChartBelowLimit, finding.Stop, m.c.To, "the chart ends at "+m.gal(full), "a chart that reaches "+m.gal(limit)+", "+pct(m.cut.LimitPercent.V)+" of the certified capacity",
				"what lies above the last row was measured by nobody", "complete the chart from its original")
		}
	}
	if v := m.t.Nominal; v.Given() && v.V > 0 {
		v.V *= tanks
		off := 100 * (float64(full)/float64(v.V) - 1)
		sev := finding.Severity(0)
		switch {
		case math.Abs(off) > 8:
			sev = finding.Check
		case math.Abs(off) > 4:
			sev = finding.Note
		}
		if sev != 0 {
			m.find(finding.CapacityDiffersNominal, sev, v.At, fmt.Sprintf("%s nominal, %s charted: %+.1f %%", m.gal(v.V), m.gal(full), off), "within 4 %; one published family of tanks spreads from -3.9 to +7.2 %",
				"the chart may be another tank's, or in another unit", "compare the chart's tank and unit with the plate")
		}
	}
}

// endsEarly reports whether a lying tank's chart cannot reach the limit, whatever
// the form of its ends: of all lying tanks a ball holds the most, x^2 (3 - 2x) of
// its capacity, below a share x > 1/2 of its height.
func endsEarly(top, height unit.Length, limit unit.Percent) bool {
	x := float64(top / height)
	return x < 1 && 100*x*x*(3-2*x) < float64(limit)
}

// insideHeight settles the inside height: the measured diameter, else the top of
// the chart. Where the two are not the same height the larger serves, since a
// longer tube shuts off lower.
func (m *maker) insideHeight() {
	top := m.k.Top()
	m.inside = top
	dia := m.t.Diameter
	if !dia.Given() || dia.V <= 0 || !lying(m.t.Shape.V) {
		m.cut.InsideHeight = Known(m.inside)
		if m.telling() {
			m.tell("inside height", m.in(top), "top charted depth", "", m.c.To)
		}
		return
	}
	m.inside = dia.V
	formula := "inside diameter as given; the chart ends at " + m.in(top)
	if off := unit.Length(math.Abs(float64(dia.V - top))); off > m.k.Step(top)+unit.Inch/8+unit.Guard {
		m.inside = max(top, dia.V)
		if round(m.t.Shape.V) && endsEarly(top, dia.V, m.cut.LimitPercent.V) {
			m.find(finding.ChartBelowLimit, finding.Stop, m.c.To, "the chart ends at "+m.in(top)+" of a tank of "+m.in(dia.V), "a chart that reaches "+pct(m.cut.LimitPercent.V)+" of the tank",
				"what lies above the last row was measured by nobody, and the capacity is not known", "complete the chart from its original, or correct the diameter")
		}
		formula = "the larger of " + m.in(dia.V) + " inside diameter and " + m.in(top) + " top charted depth: a longer tube shuts off lower"
		m.find(finding.HeightsDiffer, finding.Check, dia.At, m.in(dia.V)+" inside diameter, "+m.in(top)+" top charted depth", "the two within one chart step and 1/8 in",
			"the chart may be another tank's, or it may stop early; the plan takes the larger, which shuts off lower", "measure the diameter: face to bottom less riser height")
	}
	m.cut.InsideHeight = Known(m.inside)
	if m.telling() {
		m.tell("inside height", m.in(m.inside), formula, "", dia.At, m.c.To)
	}
}

// lying reports whether a tank's diameter is its inside height: every tank that
// lies on its side; one whose shape is not given is taken for one.
func lying(shape string) bool { return !Standing(shape) }

// shutoff settles the shutoff depth from the chart, the tilt and the guard.
func (m *maker) shutoff() {
	c := &m.cut
	limit := c.LimitVolume.V
	// What is the limit but for the last bit of a float64 is the limit, which is
	// lawful where the rule does not say "below".
	hair := limit * 1e-12
	if r := c.LimitRule; r != nil && r.Comparator == rule.Below {
		hair = -hair
	}
	limit += hair
	entry, volume, err := m.k.AtOrBelow(limit)
	if err != nil {
		m.find(finding.ChartNotUsable, finding.Stop, m.c.At, err.Error(), "a row below the limit volume of "+m.gal(c.LimitVolume.V), "the chart begins above the limit", "complete the chart from its original")
		return
	}
	between, err := m.k.Between(min(limit, c.LimitVolume.V))
	if err != nil || between < entry {
		between = entry
	}
	c.EntryDepth, c.BetweenDepth = Known(entry), Known(between)
	at := m.c.At
	if i := m.c.Entry(entry); i >= 0 {
		at = m.c.DepthAt(i)
	}
	if m.telling() {
		m.tell("shutoff by entry", m.in(entry), "largest charted depth whose volume, "+m.gal(volume)+", is not above "+m.gal(c.LimitVolume.V), "common practice, no source", at)
	}
	rounded := max(entry, unit.RoundTo(between, c.CutStep, unit.Down))
	if m.telling() {
		m.tell("shutoff between entries", m.fig(rounded), m.reached(between)+", rounded "+m.rounded("down", rounded), "")
	}
	depth := entry
	m.target = entry
	if m.o.BetweenEntries {
		// The tube is rounded once, when it is cut; the depth shown before that
		// is rounded down.
		depth, m.target = rounded, between
	}
	c.LevelDepth = Known(m.target)
	if m.slope != nil {
		d, ok := m.tiltedDepth(c.LimitPercent.V)
		if !ok {
			m.find(finding.TiltNotCounted, finding.Stop, m.slope.low, "a rise of "+m.in(m.slope.rise), "a limit that is reached within the rows of the chart", "as the tank lies it is beyond its limit at the lowest row", "have the tank calibrated as it lies")
			return
		}
		c.TiltedDepth = Known(d)
		if m.telling() {
			more := m.slope.correction(d)
			m.tell("shutoff as the tank lies", m.fine(d), "the depth under the fill at which the tilted tank reaches "+pct(c.LimitPercent.V)+": there the chart says "+exact(float64(c.LimitPercent.V-more))+" %, and the tilt adds "+exact(float64(more))+" %; of this and the level tank's "+m.fig(depth)+" the lower one serves",
				"volume of the tilted tank by integration", m.t.Rise.At, m.t.FillStation.At)
		}
		if d < m.target {
			m.target = d
			depth = unit.RoundTo(d, c.CutStep, unit.Down)
		}
	}
	if m.o.Guard > 0 {
		d, ok := m.guarded(m.target)
		if !ok {
			m.find(finding.GuardNotReached, finding.Stop, cell.Ref{}, "a chance of more than "+pct(m.o.Guard)+" at every depth of the chart", "a depth at which it is met", "the limit lies too near the bottom of the chart", "a larger guard, or a chart that goes deeper")
			return
		}
		if d < m.target {
			if m.telling() {
				m.tell("guard", m.fine(d), "the depth at which the chance over the limit is "+pct(m.o.Guard)+"; without it "+m.fine(m.target), "--guard")
			}
			m.target = d
			depth = unit.RoundTo(d, c.CutStep, unit.Down)
		}
	}
	c.Target = Known(m.target)
	m.settle(max(depth, m.k.Bottom()))
}

// reached tells how the limit is reached at a depth between the entries.
func (m *maker) reached(between unit.Length) string {
	limit := m.cut.LimitVolume.V
	lo, hi, less, more, ok := m.k.Around(between)
	if !ok {
		return "a row holds the limit itself: " + m.fine(between)
	}
	line := m.fig(lo) + " + (" + m.volumes(limit) + " - " + m.volumes(less) + ") / (" + m.volumes(more) + " - " + m.volumes(less) + ") x " + m.fig(hi-lo) + " = "
	if _, _, _, _, straight := m.k.Rows(between); straight {
		return line + m.fine(between)
	}
	at := lo + unit.Length(float64((limit-less)/(more-less)))*(hi-lo)
	return line + m.fine(at) + " on the straight line; these rows lie more than 1 in apart, and the monotone cubic through them and their neighbors reaches it lower, at " + m.fine(between)
}

// settle takes a depth as the shutoff and follows it through the chart.
func (m *maker) settle(depth unit.Length) {
	share, err := m.share(depth)
	if err != nil {
		m.find(finding.ChartNotUsable, finding.Stop, m.c.At, err.Error(), "a chart that covers the shutoff depth", "the level cannot be read from this chart", "complete the chart from its original")
		return
	}
	c := &m.cut
	volume, _ := m.k.At(depth) // share has read it already
	if m.slope != nil {
		volume = max(volume, share.Of(c.FullVolume.V))
	}
	c.ShutoffDepth, c.ShutoffVolume, c.ShutoffPercent = Known(depth), Known(volume), Known(share)
	c.Headspace = Known(m.inside - depth)
	c.GivenUp = Known(c.LimitVolume.V - volume)
}

// chances settles the worst case and the chance over the limit.
func (m *maker) chances() {
	c := &m.cut
	if !c.ShutoffDepth.Known {
		return
	}
	chart := m.o.ChartError
	if !(chart > 0) {
		chart = DefaultChartError
	}
	m.chartInput = pct(chart) + " of the capacity"
	c.Budget = m.budget(c.ShutoffDepth.V, make([]Share, 0, 8))
	worst, chance := uncertain(c.ShutoffPercent.V, c.LimitPercent.V, c.Budget)
	shares(c.Budget)
	c.WorstPercent, c.ChanceOver = Known(worst), Known(chance)
	if !m.telling() {
		return
	}
	m.tellRate(c.ShutoffDepth.V)
	sum := make([]byte, 0, 128)
	sum = append(sum, points(c.ShutoffPercent.V)...)
	variance := 0.0
	for _, s := range c.Budget {
		if m.telling() {
			m.tell("uncertainty: "+s.Name, points(s.Half)+" %", s.Input+" either way"+s.rate(m.cut.ShutoffDepth.V, m)+"; "+unit.DecimalText(float64(s.OfVariance), 0, unit.Nearest)+" % of the variance", "every value within it equally likely")
		}
		sum = append(sum, " + "...)
		sum = append(sum, points(s.Half)...)
		variance += float64(s.Half) * float64(s.Half) / 3
	}
	sum = append(sum, " = "...)
	sum = append(sum, points(worst)...)
	if m.telling() {
		m.tell("worst case", unit.PercentText(worst, c.LimitPercent.V)+" %", string(sum), "all of them at once, each at its worst")
	}
	if m.telling() {
		m.tell("chance over the limit", unit.DecimalText(float64(chance), 2, unit.Up)+" %", "that the sum of these errors exceeds "+points(c.LimitPercent.V)+" - "+points(c.ShutoffPercent.V)+" = "+points(c.LimitPercent.V-c.ShutoffPercent.V)+"; the standard deviation of the sum, the root of a third of the sum of their squares, is "+points(unit.Percent(math.Sqrt(variance)))+", and a normal error would come near this chance",
			"distribution of a sum of independent uniform errors")
	}
}

// tellRate tells what an inch of depth is worth at the shutoff, as SlopeOver takes
// it from the chart.
func (m *maker) tellRate(d unit.Length) {
	lo, hi := max(d-unit.Inch, m.k.Bottom()), min(d+unit.Inch, m.k.Top())
	less, errLess := m.k.Volume(lo)
	more, errMore := m.k.Volume(hi)
	if errLess != nil || errMore != nil || !(hi > lo) {
		return
	}
	full := m.cut.FullVolume.V
	m.tell("one inch of depth there", exact(100*m.k.SlopeOver(d)/float64(full))+" %", "("+m.volumes(more)+" at "+m.fig(hi)+" - "+m.volumes(less)+" at "+m.fig(lo)+") / "+exact(float64(hi-lo))+" in / "+m.volumes(full), "straight lines between the chart's rows")
}

// points prints a difference of percentages.
func points(p unit.Percent) string { return strconv.FormatFloat(float64(p), 'f', 3, 64) }

// alarm settles the depth at which a high-level alarm has to sound.
func (m *maker) alarm() {
	limit, source, both := m.alarmLimit()
	depth, volume, err := m.k.AtOrBelow(limit.Of(m.cut.FullVolume.V) * (1 + 1e-12))
	if err != nil {
		return
	}
	m.cut.AlarmDepth, m.cut.AlarmPercent = Known(depth), Known(limit)
	if m.telling() {
		m.tell("alarm depth", m.in(depth), "largest charted depth whose volume, "+m.gal(volume)+", is not above "+pct(limit), source)
	}
	set := m.t.AlarmDepth
	if !set.Given() || !m.cut.ShutoffDepth.Known || set.V < m.cut.ShutoffDepth.V {
		return
	}
	sev, why := finding.Check, "such an alarm never sounds first"
	if both != nil {
		sev, why = finding.Stop, "the place asks for both ("+both.Citation()+"), and such an alarm never sounds first"
	}
	m.find(finding.AlarmAboveShutoff, sev, set.At, "alarm set at "+m.in(set.V), "below the shutoff at "+m.in(m.cut.ShutoffDepth.V)+"; "+pct(limit)+" is reached at "+m.in(depth), why, "set the alarm to "+m.in(depth)+" or lower")
}

func nameOf(t *Tank) string {
	if t.ChartName.V != "" {
		return t.ChartName.V
	}
	return t.ID.V
}

// in prints a length in inches: with a fraction where it stands on a
// sixty-fourth, else with decimals.
func in(l unit.Length) string {
	if on64(l) {
		return unit.FractionText(l, 64, unit.Nearest) + " in"
	}
	return unit.DecimalText(float64(l), 3, unit.Nearest) + " in"
}

// in prints a length for the reader of the chart: in its own unit where that is
// metric, else in inches.
func (m *maker) in(l unit.Length) string {
	if u := m.lengthUnit(); u != unit.Inches {
		return exact3(u.Number(l)) + " " + u.String()
	}
	return in(l)
}

// fig prints a length for a calculation: like in, but with all the digits that
// it takes to add it up again.
func (m *maker) fig(l unit.Length) string {
	if m.lengthUnit() == unit.Inches && on64(l) {
		return in(l)
	}
	return m.fine(l)
}

// on64 reports whether a length stands on a sixty-fourth of an inch.
func on64(l unit.Length) bool {
	n := float64(l) * 64
	return math.Abs(n-math.Round(n)) < 1e-7
}

// step prints the cut step as its data sheet has it: a sixteenth of an inch is a
// mark on the tape also where the chart is metric, and a millimeter where it is
// not.
func (m *maker) step() string {
	s := m.cut.CutStep
	for _, u := range [...]unit.LengthUnit{m.lengthUnit(), unit.Millimetres} {
		if n := u.Number(s); u != unit.Inches && math.Abs(n-math.Round(n)) < 1e-9 {
			return exact(n) + " " + u.String()
		}
	}
	return in(s)
}

// rounded tells a rounding to the cut step, with its result on the tape where
// that is not in the unit of the chart.
func (m *maker) rounded(which string, l unit.Length) string {
	s := which + " to " + m.step()
	switch inch := on64(m.cut.CutStep); {
	case inch && m.lengthUnit() != unit.Inches:
		s += ", which is " + in(l)
	case !inch && m.lengthUnit() == unit.Inches && !on64(l):
		s += ", which is " + exact(unit.Millimetres.Number(l)) + " mm"
	}
	return s
}

// fine prints a length with all its digits.
func (m *maker) fine(l unit.Length) string { return m.lengths(l) + " " + m.lengthUnit().String() }

// whole prints a volume floored to a whole unit of the chart.
func (m *maker) whole(v unit.Volume) string {
	u := m.volumeUnit()
	return unit.GroupedText(unit.VolumeText(v, u, 0)) + " " + u.String()
}

// lengths and volumes print bare numbers of the units that in and gal print.
func (m *maker) lengths(l unit.Length) string { return exact(m.lengthUnit().Number(l)) }
func (m *maker) volumes(v unit.Volume) string { return exact(m.volumeUnit().Number(v)) }

func (m *maker) lengthUnit() unit.LengthUnit {
	if m.c != nil && m.c.DepthUnit.Metric() {
		return m.c.DepthUnit
	}
	return unit.Inches
}

func (m *maker) volumeUnit() unit.VolumeUnit {
	if m.c != nil && m.c.VolumeUnit != unit.VolumeUnknown {
		return m.c.VolumeUnit
	}
	return unit.USGallons
}

// gal prints a volume in the chart's unit, floored to a tenth: a volume is never
// printed larger than it is.
func (m *maker) gal(v unit.Volume) string {
	u := m.volumeUnit()
	n := u.Number(v)
	return unit.GroupedText(exact(math.Floor(n*10+1e-6)/10)) + " " + u.String()
}

func pct(p unit.Percent) string { return exact(float64(p)) + " %" }

// exact3 prints a number with up to three decimals.
func exact3(v float64) string { return strconv.FormatFloat(math.Round(v*1e3)/1e3, 'f', -1, 64) }

// exact prints a number with up to six decimals, without zeros at the end.
func exact(v float64) string { return strconv.FormatFloat(math.Round(v*1e6)/1e6, 'f', -1, 64) }
