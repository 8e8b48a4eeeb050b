package plan

import (
	"dropcut/plan/cell"
	"dropcut/plan/rule"
	"dropcut/plan/unit"
)

// Limits are what a tank's cut is held against.
type Limits struct {
	// Percent is the fill at which the flow must have stopped.
	Percent unit.Percent
	// Rule is where Percent comes from; nil for the tank's own limit, the option
	// or the assumption. Source says it in words.
	Rule    *rule.Rule
	From    cell.Ref
	Source  string
	Assumed bool

	// Alarm is the fill at which a high-level alarm has to sound or the flow to
	// be restricted.
	Alarm       unit.Percent
	AlarmRule   *rule.Rule
	AlarmSource string
	// BothAsked says that the place asks for the alarm beside the shutoff, and
	// DryTop that no fitting on top of the tank may ever be wetted.
	BothAsked *rule.Rule
	DryTop    *rule.Rule

	// EndMost is how far the point of the lower opening farthest from the bottom
	// may be above it.
	EndMost   unit.Length
	EndRule   *rule.Rule
	EndSource string

	// NoVentRestrictor forbids flow restrictors in the vent line, OnlyShutoff
	// allows nothing but the automatic shutoff where delivery is under pressure,
	// Inspection is how often the device has to be inspected; each nil where the
	// place has no such rule.
	NoVentRestrictor *rule.Rule
	OnlyShutoff      *rule.Rule
	Inspection       *rule.Rule

	// Unread are rules of the place that cannot be used as they stand in the book.
	Unread []*rule.Rule

	// Places is the chain that was looked through, the tank's own place first.
	Places []string
}

// LimitsOf gathers what a tank's plan is held against: the limit that the plan
// was made for, and the rules of the tank's place that are about more than one
// length.
func LimitsOf(t *Tank, planned *Cut, rules *rule.Set, o Options) Limits {
	m := &maker{t: t, rules: rules, o: o, quiet: true}
	m.law = rules.In(m.place())
	l := Limits{Percent: planned.LimitPercent.V, Rule: planned.LimitRule, Places: m.law.Names}
	named := t.Place.Given() || o.Place.Given()
	switch {
	case l.Rule != nil:
		l.From, l.Source = l.Rule.At, l.Rule.Citation()
	case t.Limit.Given():
		l.From, l.Source = t.Limit.At, "the tank's own limit"
	case o.Limit.Given():
		l.From, l.Source = o.Limit.At, "the default given"
	default:
		l.Source, l.Assumed = "40 CFR 280.20(c)(1)(ii)(A), assumed", true
	}
	l.Unread = m.law.Unread
	l.Alarm, l.AlarmSource, l.BothAsked = m.alarmLimit()
	l.EndMost, l.EndSource = m.opening()
	l.EndRule = m.cut.EndRule
	for _, q := range limitQuantities {
		for r := range m.rulesAbout(q) {
			if l.DryTop == nil && r.AsksForDryTop() {
				l.DryTop = r
			}
		}
	}
	first := func(q string) *rule.Rule {
		for r := range m.rulesAbout(q) {
			return r
		}
		return nil
	}
	l.NoVentRestrictor = first("vent_line_flow_restrictor")
	l.OnlyShutoff = first("only_automatic_shutoff_allowed")
	// Only where somebody says where the tank lies does its inspection follow
	// from a rule; of several periods the shortest holds.
	if named {
		for r := range m.rulesAbout("overfill_inspection_interval") {
			if l.Inspection == nil || r.Shorter(l.Inspection) {
				l.Inspection = r
			}
		}
	}
	return l
}
