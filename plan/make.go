package plan

import (
	"fmt"
	"math"
	"strconv"

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
	m.limit()
	if m.curve() {
		m.shutoff()
		m.alarm()
		m.upper()
	}
	m.lower()
	return m.cut, m.found
}

// Withhold takes every length out of a plan that must not be cut from. What is
// left tells what the chart and the limit are.
func (c *Cut) Withhold() {
	kept := Cut{FullVolume: c.FullVolume, LimitPercent: c.LimitPercent, LimitVolume: c.LimitVolume, LimitRule: c.LimitRule, CutStep: c.CutStep}
	*c = kept
}

// maker holds a plan while it is made.
type maker struct {
	t     *Tank
	c     *chart.Chart
	k     *chart.Curve
	d     *device.Device
	rules *rule.Set
	o     Options

	cut   Cut
	found []finding.Finding

	inside unit.Length // inside height
	seam   unit.Length // planned depth of the seam below the tank top
}

// find notes a finding about the tank. at is the cell that is meant; the zero
// Ref stands for the tank's row.
func (m *maker) find(slug finding.Slug, sev finding.Severity, at cell.Ref, found, expected, why, suggestion string) {
	if at.IsZero() {
		at = m.t.At
	}
	name := ""
	if m.c != nil {
		name = m.c.Name
	}
	m.found = append(m.found, finding.Finding{
		Slug: slug, Severity: sev, Site: m.t.Site.Raw, Tank: m.t.ID.Raw, Chart: name, At: at,
		Found: found, Expected: expected, Why: why, Suggestion: suggestion,
	})
}

// tell adds a line to the calculation.
func (m *maker) tell(name, value, formula, source string, from ...cell.Ref) {
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
	at, full := k.Full()
	m.cut.FullVolume = Known(full)
	m.tell("full volume", gal(full), "top charted volume, first reached at "+in(at), "capacity is the charted one, PEI RP1200-17 s. 7.1.4", m.c.To)
	limit := m.cut.LimitPercent.V.Of(full)
	m.cut.LimitVolume = Known(limit)
	m.tell("limit volume", gal(unit.Volume(math.Floor(float64(limit)+1e-9))), pct(m.cut.LimitPercent.V)+" of "+gal(full)+" = "+exact(float64(limit))+" gal, floored", m.limitSource())
	m.capacity(full)
	m.insideHeight()
	return true
}

// capacity holds the charted capacity against what the tank is said to hold.
func (m *maker) capacity(full unit.Volume) {
	if v := m.t.Certified; v.Given() && v.V > 0 {
		if diff := math.Abs(float64(full - v.V)); diff > float64(m.c.VolumeUnit.Size())*1.01 {
			m.find(finding.CapacityDiffersCertified, finding.Check, v.At, gal(v.V)+" certified, "+gal(full)+" at the top of the chart", "one capacity",
				"the plan takes the chart's", "find out which of the two belongs to this tank")
		}
		if limit := m.cut.LimitPercent.V.Of(v.V); full < limit {
			m.find(finding.ChartBelowLimit, finding.Stop, m.c.To, "the chart ends at "+gal(full), "a chart that reaches "+gal(limit)+", "+pct(m.cut.LimitPercent.V)+" of the certified capacity",
				"what lies above the last row was measured by nobody", "complete the chart from its original")
		}
	}
	if v := m.t.Nominal; v.Given() && v.V > 0 {
		off := 100 * (float64(full)/float64(v.V) - 1)
		sev := finding.Severity(0)
		switch {
		case math.Abs(off) > 8:
			sev = finding.Check
		case math.Abs(off) > 4:
			sev = finding.Note
		}
		if sev != 0 {
			m.find(finding.CapacityDiffersNominal, sev, v.At, fmt.Sprintf("%s nominal, %s charted: %+.1f %%", gal(v.V), gal(full), off), "within 4 %; one published family of tanks spreads from -3.9 to +7.2 %",
				"the chart may be another tank's, or in another unit", "compare the chart's tank and unit with the plate")
		}
	}
}

// insideHeight settles the inside height: of the measured diameter and the top
// of the chart the larger, since a longer tube shuts off lower.
func (m *maker) insideHeight() {
	top := m.k.Top()
	m.inside = top
	dia := m.t.Diameter
	if !dia.Given() || dia.V <= 0 || !lying(m.t.Shape.V) {
		m.tell("inside height", in(top), "top charted depth", "", m.c.To)
		return
	}
	m.inside = max(top, dia.V)
	m.tell("inside height", in(m.inside), "the larger of "+in(dia.V)+" inside diameter and "+in(top)+" top charted depth", "a longer tube shuts off lower", dia.At, m.c.To)
	if off := unit.Length(math.Abs(float64(dia.V - top))); off > m.k.Step(top)+unit.Inch/8 {
		m.find(finding.HeightsDiffer, finding.Check, dia.At, in(dia.V)+" inside diameter, "+in(top)+" top charted depth", "the two within one chart step and 1/8 in",
			"the chart may be another tank's, or it may stop early; the plan takes the larger, which shuts off lower", "measure the diameter: face to bottom less riser height")
	}
}

// lying reports whether a tank's diameter is its inside height: every tank that
// lies on its side; one whose shape is not given is taken for one.
func lying(shape string) bool {
	switch unit.Fold(shape) {
	case "vertical", "upright", "standing":
		return false
	}
	return true
}

// shutoff settles the shutoff depth from the chart.
func (m *maker) shutoff() {
	entry, volume, err := m.k.AtOrBelow(m.cut.LimitVolume.V)
	if err != nil {
		m.find(finding.ChartNotUsable, finding.Stop, m.c.At, err.Error(), "a row below the limit volume of "+gal(m.cut.LimitVolume.V), "the chart begins above the limit", "complete the chart from its original")
		return
	}
	between, err := m.k.Depth(m.cut.LimitVolume.V)
	if err != nil {
		between = entry
	}
	m.cut.EntryDepth, m.cut.BetweenDepth = Known(entry), Known(between)
	depth := entry
	m.tell("shutoff by entry", in(entry), "largest charted depth whose volume, "+gal(volume)+", is not above "+gal(m.cut.LimitVolume.V), "common practice, no source", m.c.At)
	rounded := unit.RoundTo(between, m.cut.CutStep, unit.Down)
	m.tell("shutoff between entries", in(rounded), "straight line between the entries: "+exact(float64(between))+" in, rounded down to "+in(m.cut.CutStep), "")
	if m.o.BetweenEntries {
		depth = max(entry, rounded)
	}
	m.settle(depth)
}

// settle takes a depth as the shutoff and follows it through the chart.
func (m *maker) settle(depth unit.Length) {
	volume, err := m.k.Volume(depth)
	if err != nil {
		m.find(finding.ChartNotUsable, finding.Stop, m.c.At, err.Error(), "a chart that covers the shutoff depth", "the level cannot be read from this chart", "complete the chart from its original")
		return
	}
	c := &m.cut
	c.ShutoffDepth, c.ShutoffVolume = Known(depth), Known(volume)
	c.ShutoffPercent = Known(unit.Percent(100 * float64(volume) / float64(c.FullVolume.V)))
	c.Headspace = Known(m.inside - depth)
}

// alarm settles the depth at which a high-level alarm has to sound.
func (m *maker) alarm() {
	limit, source := unit.Percent(90), "40 CFR 280.20(c)(1)(ii)(B)"
	both := false
	for _, r := range m.rules.For(m.place(), "alarm_or_restrict_level", noDay) {
		if v := unit.Percent(r.Value); v > 0 && v < limit {
			limit, source = v, r.Citation()
		}
	}
	for _, q := range []string{"alarm_level", "alarm_level_and_shutoff_level"} {
		for _, r := range m.rules.For(m.place(), q, noDay) {
			both = true
			if v := unit.Percent(r.Value); v > 0 && v < limit {
				limit, source = v, r.Citation()
			}
		}
	}
	depth, volume, err := m.k.AtOrBelow(limit.Of(m.cut.FullVolume.V))
	if err != nil {
		return
	}
	m.cut.AlarmDepth = Known(depth)
	m.tell("alarm depth", in(depth), "largest charted depth whose volume, "+gal(volume)+", is not above "+pct(limit), source)
	set := m.t.AlarmDepth
	if !set.Given() || !m.cut.ShutoffDepth.Known || set.V < m.cut.ShutoffDepth.V {
		return
	}
	sev, why := finding.Check, "such an alarm never sounds first"
	if both {
		sev, why = finding.Stop, "the place asks for both, and such an alarm never sounds first"
	}
	m.find(finding.AlarmAboveShutoff, sev, set.At, "alarm set at "+in(set.V), "below the shutoff at "+in(m.cut.ShutoffDepth.V)+"; 90 % is reached at "+in(depth), why, "set the alarm to "+in(depth)+" or lower")
}

func nameOf(t *Tank) string {
	if t.ChartName.Raw != "" {
		return t.ChartName.Raw
	}
	return t.ID.Raw
}

// in prints a length: with a fraction where it stands on a sixty-fourth, else
// with decimals.
func in(l unit.Length) string {
	if n := float64(l) * 64; math.Abs(n-math.Round(n)) < 1e-7 {
		return unit.FractionText(l, 64, unit.Nearest) + " in"
	}
	return unit.DecimalText(float64(l), 3, unit.Nearest) + " in"
}

// gal prints a volume, floored to a tenth: a volume is never printed larger than
// it is.
func gal(v unit.Volume) string {
	return unit.GroupedText(exact(math.Floor(float64(v)*10+1e-6)/10)) + " gal"
}

func pct(p unit.Percent) string { return exact(float64(p)) + " %" }

// exact prints a number with up to six decimals, without zeros at the end.
func exact(v float64) string { return strconv.FormatFloat(math.Round(v*1e6)/1e6, 'f', -1, 64) }
