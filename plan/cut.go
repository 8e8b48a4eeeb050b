package plan

import (
	"time"

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
	// ChartError is by how much of the capacity a chart may be wrong either way;
	// 0 takes [DefaultChartError].
	ChartError unit.Percent
	// NoTrail leaves out the lines of the calculation, which take longer to write
	// than the plan to make.
	NoTrail bool
	// Today is the day of the plan, for rules with dates and for inspections
	// that are due; zero where nobody says. Nothing below cmd asks the clock.
	Today time.Time
}

// DefaultChartError is the share of its capacity by which a chart is taken to
// be wrong at most, either way. Published limits run from 0.2 to 0.5 %.
const DefaultChartError unit.Percent = 0.25

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
	// AlarmPercent is the limit that AlarmDepth stands for.
	AlarmPercent Value[unit.Percent]
	// InsideHeight is the height that the plan counts with, and FaceToBottom the
	// distance from the sealing face to the bottom.
	InsideHeight Value[unit.Length]
	FaceToBottom Value[unit.Length]
	// LevelDepth and TiltedDepth are the depths at which the limit is reached in
	// the tank as charted and in the tank as it lies; the lower one serves.
	LevelDepth  Value[unit.Length]
	TiltedDepth Value[unit.Length]
	// Target is the depth at which the flow is to have stopped: the lower of these,
	// lowered by the guard, before the device's least and the saw's step count.
	Target Value[unit.Length]
	// FromTop and FromBottom are the two ways to the upper tube, before it is
	// rounded; the longer one serves.
	FromTop    Value[unit.Length]
	FromBottom Value[unit.Length]
	// EndHeight is how far the point of the lower opening farthest from the bottom
	// is above it, TipHeight the nearest point; EndMost is what the rule allows.
	EndHeight Value[unit.Length]
	TipHeight Value[unit.Length]
	EndMost   Value[unit.Length]
	EndRule   *rule.Rule
	// ShortSide is the short side of a lower tube cut at an angle; LowerTube is
	// its long side.
	ShortSide Value[unit.Length]
	// LowEndRoom is the distance from the liquid at shutoff up to the inside top
	// of the tank at its low end.
	LowEndRoom Value[unit.Length]
	// GivenUp is the volume between the limit and the shutoff.
	GivenUp Value[unit.Volume]

	// Budget lists what the shutoff percentage is uncertain by, in the order in
	// which it was found.
	Budget []Share

	// CutStep is the step to which the tubes are cut.
	CutStep unit.Length
	// Trail is the calculation, line by line.
	Trail []Figure
}

// Share is one source of uncertainty of the shutoff percentage: within Half of
// the planned value either way, and every value in between equally likely.
type Share struct {
	Name string
	// Input is the half-width as it was measured or assumed, as text with its
	// unit; Half is what it does to the percentage.
	Input string
	Half  unit.Percent
	// OfVariance is its share of the whole variance, in percent.
	OfVariance unit.Percent
}

// Verdict says what to do with a tube that was found in a tank.
type Verdict string

const (
	// Leave it: it shuts off within the limit.
	Leave Verdict = "leave"
	// CutIt: it shuts off much lower than it has to and may be shortened.
	CutIt Verdict = "cut"
	// Replace it: it shuts off above the limit, or is under a least length of
	// the device, and a tube that is too short cannot be lengthened.
	Replace Verdict = "replace"
)

// AsFound is what an upper tube that is already in the tank does.
type AsFound struct {
	UpperTube      Value[unit.Length]
	ShutoffDepth   Value[unit.Length]
	ShutoffVolume  Value[unit.Volume]
	ShutoffPercent Value[unit.Percent]
	WorstPercent   Value[unit.Percent]
	ChanceOver     Value[unit.Percent]
	// Within says that the shutoff is not above the limit; it means nothing while
	// ShutoffPercent is not known.
	Within  bool
	Verdict Verdict // "" where it cannot be judged
	// CutBy is by how much it may be shortened, NewTube the length of the tube
	// that replaces it.
	CutBy   Value[unit.Length]
	NewTube Value[unit.Length]
	Trail   []Figure
}
