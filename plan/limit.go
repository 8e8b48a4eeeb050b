package plan

import (
	"iter"
	"strings"
	"time"

	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/rule"
	"dropcut/plan/unit"
)

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
	case own.Given() && (own.V <= 0 || own.V > 100 || own.V == 100 && (!named || law == nil)):
		m.find(finding.LimitImpossible, finding.Stop, own.At, own.Raw, "a percentage above 0 and below 100", "a full tank has no room for what is still in the hose, and for the fuel to expand", "correct the limit")
		m.cut.LimitPercent = Known(federalLimit)
	case own.Given() && named && law != nil && percentOf(law) < own.V:
		m.useRule(law)
		m.find(finding.LimitAboveRule, finding.Check, own.At, "limit "+pct(own.V), "at most "+pct(m.cut.LimitPercent.V)+" in "+m.place(), law.Citation()+"; the lower one was taken", "correct the limit or the place")
	case own.Given():
		m.cut.LimitPercent = Known(own.V)
		if m.telling() {
			m.tell(lineLimit, pct(own.V), "the tank's own limit", "", own.At)
		}
		m.aboveFederal(own)
	case named && law != nil:
		m.useRule(law)
	case given.Given():
		m.cut.LimitPercent = Known(given.V)
		if m.telling() {
			m.tell(lineLimit, pct(given.V), "the default given", given.At.File, given.At)
		}
		m.aboveFederal(given)
	default:
		m.cut.LimitPercent = Known(federalLimit)
		if m.telling() {
			m.tell(lineLimit, pct(federalLimit), "assumed, since nothing names another", "40 CFR 280.20(c)(1)(ii)(A)")
		}
		switch {
		case !named:
			m.find(finding.LimitAssumed, finding.Check, cell.Ref{}, "no limit and no place", "a limit, or the place whose rules hold", "95 % was assumed, the federal limit of the United States (40 CFR 280.20(c)(1)(ii)(A))",
				"write the place into the Place column, or give --place or --limit")
		case known:
			m.find(finding.LimitAssumed, finding.Check, m.placeAt(), "place "+m.place()+", whose rules give no percentage that holds", "a limit", "95 % was assumed, the federal limit of the United States (40 CFR 280.20(c)(1)(ii)(A)), which need not hold there",
				"write the limit into the Limit column, or add the rule of the place to the Rules sheet")
		}

	}
	if named && known {
		m.placeDoubts()
	}
	if named && !known {
		sev := finding.Stop
		if own.Given() || given.Given() {
			sev = finding.Check
		}
		m.find(finding.PlaceUnknown, sev, m.placeAt(), "place "+m.place(), "a place that the rules name", "nobody can say which limit holds there", "correct the place, or add its rule with the citation to the Rules sheet")
	}
}

// aboveFederal says where a limit that no place backs is above the federal one.
func (m *maker) aboveFederal(limit cell.Of[unit.Percent]) {
	if limit.V > federalLimit {
		m.find(finding.LimitAboveRule, finding.Check, limit.At, "limit "+pct(limit.V), "at most "+pct(federalLimit)+" in the United States, or a place that allows more", "no place is named whose rules allow it; the limit given was taken", "write the place into the Place column")
	}
}

// Aboveground reports whether the words for a tank's shape say that it stands
// above ground. A tank of which nobody says so is taken for an underground one,
// as drop tubes with a shutoff are made for these.
func Aboveground(t *Tank) bool {
	w := strings.ReplaceAll(unit.Fold(t.Shape.V), " ", "")
	return strings.Contains(w, "aboveground")
}

// rulesAbout gives the rules about a quantity that hold in the tank's place on
// the day of the plan, or may hold where no day is given, innermost place first,
// without those that are for aboveground tanks where this is none.
func (m *maker) rulesAbout(quantity string) iter.Seq[*rule.Rule] {
	return func(yield func(*rule.Rule) bool) {
		above := Aboveground(m.t)
		for r := range m.law.About(quantity) {
			if holds, _ := r.InForce(m.o.Today); holds && (above || !r.Aboveground()) && !yield(r) {
				return
			}
		}
	}
}

// alarmLimit gives the share at which an alarm has to sound, its source, and the
// rule that asks for an alarm beside the shutoff, if there is one.
func (m *maker) alarmLimit() (limit unit.Percent, source string, both *rule.Rule) {
	limit, source = 90, "40 CFR 280.20(c)(1)(ii)(B), taken where the place has no rule"
	found := false
	for _, q := range [...]string{"alarm_or_restrict_level", "alarm_level", "alarm_level_and_shutoff_level"} {
		for r := range m.rulesAbout(q) {
			v, ok := r.Percent()
			if !ok {
				v = unit.Percent(r.First()) // "90;95": alarm and shutoff
			}
			if v > 0 && v <= 100 && (!found || v < limit) {
				limit, source, found = v, r.Citation(), true
			}
			if r.AsksForBoth() {
				both = r
			}
		}
	}
	for _, q := range limitQuantities {
		for r := range m.rulesAbout(q) {
			if r.AsksForBoth() {
				both = r
			}
		}
	}
	return limit, source, both
}

func (m *maker) placeAt() cell.Ref {
	if m.t.Place.Given() {
		return m.t.Place.At
	}
	return cell.Ref{}
}

// lowest gives the strictest of the rules that hold in the tank's place; of
// equal ones, that of the innermost place. It is nil where none gives a
// percentage, and where only rules that may not hold yet give one above the
// federal limit: without them that would be taken, which is lower.
func (m *maker) lowest() *rule.Rule {
	var best *rule.Rule
	sure := false // some rule holds for sure
	for _, q := range limitQuantities {
		for r := range m.rulesAbout(q) {
			v, ok := r.Percent()
			if !ok {
				continue
			}
			// Of two equal ones the one that forbids the level itself is lower.
			_, known := r.InForce(m.o.Today)
			sure = sure || known
			if best == nil || v < percentOf(best) || v == percentOf(best) && r.Comparator == rule.Below && best.Comparator != rule.Below {
				best = r
			}
		}
	}
	if best != nil && !sure && percentOf(best) > federalLimit {
		return nil
	}
	return best
}

// placeDoubts says where a place has no rules of its own, and whether it may be a
// misspelled one that has.
func (m *maker) placeDoubts() {
	own, near := m.rules.Names(m.place())
	switch {
	case own:
	case near != "":
		m.find(finding.PlaceDoubtful, finding.Check, m.placeAt(), "place "+m.place(), "perhaps "+near, "no rule names this place, and the rules of the place around it were taken; a place with almost the same name has rules of its own", "correct the place, or add its rules")
	default:
		m.find(finding.PlaceWithoutRules, finding.Note, m.placeAt(), "place "+m.place(), "rules of its own, where there are any", "no rule names this place; those of the place around it were taken", "ask the authority there whether it has a lower limit")
	}
}

func (m *maker) useRule(r *rule.Rule) {
	m.cut.LimitRule = r
	m.cut.LimitPercent = Known(percentOf(r))
	if m.telling() {
		how := r.ID + ", " + r.Place
		if r.Comparator == rule.Below {
			how += ": below it, so that a row at the limit itself is not taken"
		}
		m.tell(lineLimit, pct(percentOf(r)), how, r.Citation()+" (confidence: "+string(r.Confidence)+")", r.At)
	}
	if _, sure := r.InForce(m.o.Today); !sure {
		when := "from " + r.From.Format(time.DateOnly)
		if !r.To.IsZero() {
			when = "until " + r.To.Format(time.DateOnly)
		}
		m.find(finding.RuleToBeChecked, finding.Check, m.placeAt(), r.ID+": "+pct(percentOf(r))+" "+when, "a rule that holds on the day of the plan", "no day was given, so that nobody can say whether it does; it was taken, since it is the lower limit", "give the day with --day")
	}
	if r.Confidence == rule.Medium {
		m.find(finding.RuleToBeChecked, finding.Note, m.placeAt(), r.ID+": "+pct(percentOf(r)), "a rule read in its current text", r.HowKnown, "check the rule locally before you rely on it")
	}
}

// percentOf gives the limit of a rule that lowest has chosen.
func percentOf(r *rule.Rule) unit.Percent {
	p, _ := r.Percent()
	return p
}

func (m *maker) limitSource() string {
	if m.cut.LimitRule != nil {
		return m.cut.LimitRule.Citation()
	}
	return ""
}
