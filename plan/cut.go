package plan

import (
	"dropcut/plan/cell"
	"dropcut/plan/rule"
	"dropcut/plan/unit"
)

// Options are what holds for tanks that name nothing of their own, and how the
// plan is made.
type Options struct {
	Limit  cell.Of[unit.Percent]
	Place  cell.Of[string]
	Device cell.Of[string]

	// BetweenEntries takes the shutoff depth from the curve between the
	// chart's entries, rounded down to the cut step, instead of the largest
	// entry that is not above the limit. Both are always given.
	BetweenEntries bool
	// Guard lowers the shutoff until the chance that the tank is filled beyond
	// its limit is at most this; 0 for none.
	Guard unit.Percent
}

// Value is a figure of a plan that may not be known: a measure is missing, or
// the tank has a stop.
type Value[T ~float64] struct {
	V     T
	Known bool
}

// Known makes a known Value.
func Known[T ~float64](v T) Value[T] { return Value[T]{V: v, Known: true} }

// Figure is one line of a calculation: what it is, its value as text, how it
// came about, with numbers, and where its inputs stand.
type Figure struct {
	Name    string
	Value   string
	Formula string // with the numbers in it: "137 1/4 - 82 - 2 3/8"
	From    []cell.Ref
	Source  string // rule and citation, data sheet, or standard
}

// Cut is the plan for one tank, in inches, US gallons and percent.
type Cut struct {
	FullVolume     Value[unit.Volume]
	LimitPercent   Value[unit.Percent]
	LimitVolume    Value[unit.Volume] // exact; printed floored
	ShutoffDepth   Value[unit.Length]
	ShutoffVolume  Value[unit.Volume]
	ShutoffPercent Value[unit.Percent]
	WorstPercent   Value[unit.Percent]
	ChanceOver     Value[unit.Percent]
	Headspace      Value[unit.Length]
	TubeBelowTop   Value[unit.Length]
	UpperTube      Value[unit.Length] // rounded up to the cut step
	DropLength     Value[unit.Length]
	LowerTube      Value[unit.Length]
	AlarmDepth     Value[unit.Length]

	// EntryDepth and BetweenDepth are the two readings of the chart: the largest
	// entry not above the limit, and the curve between the entries.
	EntryDepth   Value[unit.Length]
	BetweenDepth Value[unit.Length]

	// LimitRule is the rule that gave the limit; nil for the tank's own limit,
	// the option or the assumption.
	LimitRule *rule.Rule
	// CutStep is the step to which the tubes are cut.
	CutStep unit.Length
	// Trail is the calculation, line by line.
	Trail []Figure
}
