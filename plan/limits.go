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

	// Places is the chain that was looked through, the tank's own place first.
	Places []string
}
