package finding

import "strings"

// Standing says how grave a kind of finding is and what it rests on.
type Standing struct {
	// Least and Worst are the severities that the kind is given, by its harm.
	Least, Worst Severity
	// Source is what the judgment rests on: a rule, a published method, or
	// common practice, said as such.
	Source string
}

// Severities gives the severities as people read them, as in "check or stop".
func (s Standing) Severities() string {
	switch {
	case s.Least == 0:
		return ""
	case s.Least == s.Worst:
		return s.Least.String()
	}
	var words []string
	for v := s.Least; v <= s.Worst; v++ {
		words = append(words, v.String())
	}
	return strings.Join(words, " or ")
}

// StandingOf gives the standing of a kind of finding.
func StandingOf(s Slug) Standing {
	for i := range standings {
		if standings[i].slug == s {
			return standings[i].Standing
		}
	}
	return Standing{}
}

// KindOf gives the kind of a slug.
func KindOf(s Slug) (Kind, bool) {
	for _, k := range Kinds() {
		if k.Slug == s {
			return k, true
		}
	}
	return Kind{}, false
}

// What the judgments rest on, in the words that the pages print.
const (
	fromReading     = "reading rule of dropcut: nothing is guessed and nothing repaired in silence"
	fromStatistic   = "comparison with the chart's own neighbours and with fitted shapes; thresholds set on invented charts with known faults"
	fromGeometry    = "geometry of the tank and the riser"
	fromRules       = "the row of the rules table that the Sources sheet names"
	fromDevice      = "the figures of the Devices sheet"
	fromPortfolio   = "comparison with the portfolio's other tanks; common practice, no source"
	fromPractice    = "common practice, no source"
	fromPages       = "the job workbook as it was filled in, against the plan it was made from"
	fromNumbers     = "the chart's own numbers"
	fromTwoWays     = "every figure is computed a second time, backwards from the tube"
	fromProbability = "the uncertainty budget of the plan (explain shows it)"
	fromOwnColumns  = "check words that dropcut keeps on the Sources sheet"
)

// standings has one line for each kind; a test demands it.
var standings = []struct {
	slug Slug
	Standing
}{
	{UnitsUnknown, Standing{Stop, Stop, fromReading}},
	{UnitsConflict, Standing{Stop, Stop, fromReading}},
	{DuplicateHeader, Standing{Note, Note, fromReading}},
	{FormulaWithoutValue, Standing{Stop, Stop, fromReading}},
	{ErrorValue, Standing{Stop, Stop, fromReading}},
	{IDLooseMatch, Standing{Note, Note, fromReading}},
	{IDMismatch, Standing{Check, Stop, fromReading}},
	{CombinedVolume, Standing{Note, Check, fromReading}},
	{UnitsAssumed, Standing{Note, Note, fromReading}},
	{UnitsDoubtful, Standing{Check, Stop, fromNumbers}},
	{DuplicateTank, Standing{Stop, Stop, fromReading}},
	{TankWithoutName, Standing{Check, Check, fromReading}},
	{TankColumnMissing, Standing{Check, Check, fromReading}},
	{ValueUnreadable, Standing{Check, Stop, fromReading}},
	{ValueAssumed, Standing{Note, Check, fromReading}},
	{ValuesDiffer, Standing{Note, Stop, fromReading}},
	{ChartWithoutTank, Standing{Note, Note, fromReading}},
	{ChartNamedTwice, Standing{Stop, Stop, fromReading}},
	{RuleUnreadable, Standing{Check, Stop, fromReading}},
	{DuplicateDevice, Standing{Check, Check, fromReading}},
	{LayoutUnclear, Standing{Stop, Stop, fromReading}},
	{CellUnreadable, Standing{Check, Stop, fromReading}},
	{CellsOutOfColumn, Standing{Stop, Stop, fromReading}},
	{ColumnsDisagree, Standing{Check, Stop, fromReading}},
	{DecimalSignUnclear, Standing{Stop, Stop, fromReading}},
	{UllageWithoutHeight, Standing{Stop, Stop, fromReading}},
	{UllageUnclear, Standing{Stop, Stop, fromReading}},
	{UllageTurned, Standing{Note, Note, fromReading}},
	{HiddenColumns, Standing{Note, Note, fromReading}},
	{HiddenRows, Standing{Note, Note, fromReading}},
	{NumberAsText, Standing{Note, Note, fromReading}},
	{RowsTurned, Standing{Note, Note, fromReading}},
	{FeetInchesWithPoint, Standing{Stop, Stop, fromReading}},
	{DepthBelowZero, Standing{Stop, Stop, fromReading}},
	{TitleAndSheetDiffer, Standing{Check, Check, fromReading}},

	{DepthRunsBack, Standing{Check, Stop, fromNumbers}},
	{DepthTurnedIntoDate, Standing{Stop, Stop, fromReading}},
	{PlaceholderChart, Standing{Stop, Stop, fromNumbers}},
	{BlockShiftedOneRow, Standing{Check, Stop, fromStatistic}},
	{ChartOfAnotherDiameter, Standing{Check, Stop, fromStatistic}},
	{ChartOfAnotherLength, Standing{Check, Stop, fromStatistic}},
	{ChartStopsEarly, Standing{Check, Stop, fromStatistic}},
	{DecimalComma, Standing{Check, Stop, fromStatistic}},
	{DepthStepWrong, Standing{Check, Stop, fromStatistic}},
	{DepthUnitChangesMidway, Standing{Check, Stop, fromStatistic}},
	{DigitsSwapped, Standing{Check, Stop, fromStatistic}},
	{ImperialGallons, Standing{Check, Stop, fromStatistic}},
	{RowDoubled, Standing{Note, Stop, fromNumbers}},
	{RowMissing, Standing{Note, Stop, fromStatistic}},
	{RowsExchanged, Standing{Check, Stop, fromStatistic}},
	{RowsPastFull, Standing{Check, Stop, fromStatistic}},
	{ScaledNominalChart, Standing{Check, Stop, fromStatistic}},
	{ThousandsMarkLost, Standing{Check, Stop, fromStatistic}},
	{VolumeRepeated, Standing{Check, Stop, fromStatistic}},
	{VolumeUnitChangesMidway, Standing{Check, Stop, fromStatistic}},
	{WrongDigit, Standing{Check, Stop, fromStatistic}},
	{SameDepthTwice, Standing{Stop, Stop, fromNumbers}},
	{VolumeFalls, Standing{Check, Stop, fromNumbers}},
	{ChartNotSmooth, Standing{Check, Stop, fromStatistic}},
	{ChartHabits, Standing{Note, Note, fromStatistic}},
	{ShapeNotRecognised, Standing{Note, Note, fromStatistic}},
	{TiltInChart, Standing{Note, Check, fromStatistic}},

	{ChartMissing, Standing{Stop, Stop, fromReading}},
	{ColumnsPlacedApart, Standing{Note, Note, fromReading}},
	{ChangedByHand, Standing{Check, Check, fromOwnColumns}},
	{ChartNotUsable, Standing{Stop, Stop, fromNumbers}},
	{CapacityDiffersCertified, Standing{Check, Check, fromNumbers}},
	{CapacityDiffersNominal, Standing{Note, Check, fromPractice}},
	{ChartBelowLimit, Standing{Stop, Stop, fromNumbers}},
	{HeightsDiffer, Standing{Check, Check, fromGeometry}},
	{LimitAssumed, Standing{Check, Check, fromRules}},
	{LimitAboveRule, Standing{Check, Check, fromRules}},
	{LimitImpossible, Standing{Stop, Stop, fromRules}},
	{PlaceUnknown, Standing{Check, Stop, fromRules}},
	{RuleToBeChecked, Standing{Note, Check, fromRules}},
	{AlarmAboveShutoff, Standing{Check, Stop, fromRules}},
	{DeviceMissing, Standing{Check, Stop, fromDevice}},
	{DeviceIncomplete, Standing{Check, Stop, fromDevice}},
	{DeviceDoesNotFit, Standing{Stop, Stop, fromDevice}},
	{RiserTooNarrow, Standing{Stop, Stop, fromDevice}},
	{ArmBlocked, Standing{Check, Check, fromDevice}},
	{LeastBelowTopWins, Standing{Note, Note, fromDevice}},
	{RiserNotMeasured, Standing{Note, Note, fromGeometry}},
	{DiameterDoubtful, Standing{Check, Check, fromGeometry}},
	{HeightsImpossible, Standing{Stop, Stop, fromGeometry}},
	{UpperTubeTooShort, Standing{Stop, Stop, fromDevice}},
	{UpperTubeAtLeast, Standing{Check, Check, fromDevice}},
	{OverLimit, Standing{Stop, Stop, fromRules}},
	{AngleCutTouches, Standing{Stop, Stop, fromGeometry}},
	{ClearanceTooSmall, Standing{Check, Stop, fromDevice}},
	{ClearanceTooLarge, Standing{Check, Check, fromRules}},
	{StrikerPlateTouched, Standing{Stop, Stop, fromGeometry}},
	{LowerTubeImpossible, Standing{Stop, Stop, fromGeometry}},
	{BottomNotMeasured, Standing{Check, Check, fromGeometry}},
	{FillStationOutside, Standing{Check, Check, fromGeometry}},
	{TiltUnknown, Standing{Note, Check, fromGeometry}},
	{TiltNotCounted, Standing{Stop, Stop, fromGeometry}},
	{LowEndUnknown, Standing{Check, Check, fromGeometry}},
	{FillStationUnknown, Standing{Check, Check, fromGeometry}},
	{ExtremeTilt, Standing{Check, Check, fromGeometry}},
	{GuardNotReached, Standing{Stop, Stop, fromProbability}},
	{MeasuredOneWay, Standing{Check, Check, fromPractice}},
	{PlaceDoubtful, Standing{Check, Check, fromRules}},
	{PlaceWithoutRules, Standing{Note, Note, fromRules}},
	{PlannedFromDimensions, Standing{Check, Check, fromGeometry}},
	{AsFoundOverLimit, Standing{Check, Check, fromRules}},
	{AsFoundUnderLeast, Standing{Check, Check, fromDevice}},
	{AsFoundUnknown, Standing{Check, Check, fromGeometry}},
	{DeviceFigureOdd, Standing{Check, Stop, fromPractice}},
	{VentRestrictor, Standing{Check, Check, fromRules}},
	{PressurizedDelivery, Standing{Check, Check, fromRules}},
	{InspectionDue, Standing{Note, Check, fromRules}},
	{InspectionUnknown, Standing{Check, Check, fromRules}},
	{TopFittingWetted, Standing{Note, Stop, fromRules}},
	{CutNotConfirmed, Standing{Stop, Stop, fromTwoWays}},
	{FigureNotConfirmed, Standing{Check, Stop, fromTwoWays}},

	{AsBuiltOverLimit, Standing{Check, Stop, fromRules}},
	{AsBuiltDiffers, Standing{Check, Check, fromPages}},
	{AsBuiltUnderLeast, Standing{Stop, Stop, fromDevice}},
	{EndTooHigh, Standing{Stop, Stop, fromRules}},
	{PiecesDoNotAddUp, Standing{Check, Check, fromGeometry}},
	{LeakTestTooHigh, Standing{Check, Check, fromDevice}},
	{TorqueOutOfRange, Standing{Check, Check, fromDevice}},
	{TorqueNotFalling, Standing{Check, Check, fromPractice}},
	{AnsweredNo, Standing{Check, Check, fromPages}},
	{RecordIncomplete, Standing{Check, Check, fromPages}},
	{ValueImpossible, Standing{Check, Check, fromPages}},
	{InspectionFailed, Standing{Check, Stop, fromPages}},
	{PageFilledTwice, Standing{Note, Check, fromPages}},
	{PageOfOtherTank, Standing{Check, Check, fromPages}},
	{PageOfOlderPlan, Standing{Check, Check, fromPages}},
	{FormulaTypedOver, Standing{Check, Check, fromPages}},
	{EntryNotPlaced, Standing{Note, Check, fromPages}},

	{ChartSharedWrongly, Standing{Check, Check, fromPortfolio}},
	{ChartScaledFromAnother, Standing{Check, Check, fromPortfolio}},
	{CapacityUnlikeFamily, Standing{Check, Check, fromPortfolio}},
	{TankInTwoBooks, Standing{Note, Note, fromPortfolio}},
	{RisersAlike, Standing{Note, Check, fromPortfolio}},
	{ShutoffMovedUp, Standing{Note, Note, fromPortfolio}},
}
