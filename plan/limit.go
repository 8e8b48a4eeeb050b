package plan

import (
	"strings"
	"time"

	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/rule"
	"dropcut/plan/unit"
)

// noDay asks for the rules as they stand.
var noDay time.Time

// federalLimit is assumed where nothing else is given: 40 CFR
// 280.20(c)(1)(ii)(A).
const federalLimit unit.Percent = 95

// limitQuantities are the quantities of the rules table that say how full a
// tank may be when the flow has stopped.
var limitQuantities = [...]string{"shutoff_level", "fill_limit", "limit_sensor_fill_level"}

// place gives the place whose rules hold for the tank.
func (m *maker) place() string {
	switch {
	case m.t.Place.Given():
		return m.t.Place.V
	case m.o.Place.Given():
		return m.o.Place.V
	}
	return rule.Federal
}

// limit settles the limit: the tank's own, else its place's rule, else the
// default given, else the federal one, which is said. Where the tank's own is
// above its place's, the place's holds.
func (m *maker) limit() {
	named := m.t.Place.Given() || m.o.Place.Given()
	known := m.rules.Known(m.place())
	var law *rule.Rule
	if known {
		law = m.lowest()
	}
	own, given := m.t.Limit, m.o.Limit
	switch {
	case own.Given() && (own.V <= 0 || own.V > 100):
		m.find(finding.LimitImpossible, finding.Stop, own.At, own.Raw, "a percentage above 0 and up to 100", "no tank can be filled so far", "correct the limit")
		m.cut.LimitPercent = Known(federalLimit)
	case own.Given() && named && law != nil && unit.Percent(law.Value) < own.V:
		m.useRule(law)
		m.find(finding.LimitAboveRule, finding.Check, own.At, "limit "+pct(own.V), "at most "+pct(m.cut.LimitPercent.V)+" in "+m.place(), law.Citation()+"; the lower one was taken", "correct the limit or the place")
	case own.Given():
		m.cut.LimitPercent = Known(own.V)
		m.tell("limit", pct(own.V), "the tank's own limit", "", own.At)
	case named && law != nil:
		m.useRule(law)
	case given.Given():
		m.cut.LimitPercent = Known(given.V)
		m.tell("limit", pct(given.V), "the default given", given.At.File, given.At)
	default:
		m.cut.LimitPercent = Known(federalLimit)
		m.tell("limit", pct(federalLimit), "assumed, since nothing names another", "40 CFR 280.20(c)(1)(ii)(A)")
		if !named {
			m.find(finding.LimitAssumed, finding.Check, cell.Ref{}, "no limit and no place", "a limit, or the place whose rules hold", "95 % was assumed, the federal limit of the United States (40 CFR 280.20(c)(1)(ii)(A))",
				"write the place into the Place column, or give --place or --limit")
		}
	}
	if named && !known {
		sev := finding.Stop
		if own.Given() || given.Given() {
			sev = finding.Check
		}
		m.find(finding.PlaceUnknown, sev, m.placeAt(), "place "+m.place(), "a place that the rules name", "nobody can say which limit holds there", "correct the place, or add its rule with the citation to the Rules sheet")
	}
}

func (m *maker) placeAt() cell.Ref {
	if m.t.Place.Given() {
		return m.t.Place.At
	}
	return cell.Ref{}
}

// lowest gives the strictest of the rules that hold in the tank's place; of
// equal ones, that of the innermost place. It is nil where none gives a
// percentage.
func (m *maker) lowest() *rule.Rule {
	var best *rule.Rule
	for _, q := range limitQuantities {
		for _, r := range m.rules.For(m.place(), q, noDay) {
			if !(r.Value > 0 && r.Value <= 100) || !strings.HasPrefix(r.Unit, "percent") {
				continue
			}
			if best == nil || r.Value < best.Value {
				best = &r
			}
		}
	}
	return best
}

func (m *maker) useRule(r *rule.Rule) {
	m.cut.LimitRule = r
	m.cut.LimitPercent = Known(unit.Percent(r.Value))
	m.tell("limit", pct(unit.Percent(r.Value)), r.ID+", "+r.Place, r.Citation(), r.At)
	if r.Confidence == rule.Medium {
		m.find(finding.RuleToBeChecked, finding.Note, m.placeAt(), r.ID+": "+pct(unit.Percent(r.Value)), "a rule read in its current text", r.HowKnown, "check the rule locally before you rely on it")
	}
}

func (m *maker) limitSource() string {
	if m.cut.LimitRule != nil {
		return m.cut.LimitRule.Citation()
	}
	return ""
}
