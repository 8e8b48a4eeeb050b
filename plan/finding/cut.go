package finding

import "slices"

// onlyForTheCut lists the kinds that say what a cut lacks or costs. They mean
// nothing to somebody who looks at charts and tanks alone.
var onlyForTheCut = []Slug{
	LimitAssumed, RuleToBeChecked,
	DeviceMissing, DeviceIncomplete, DeviceDoesNotFit, LeastBelowTopWins,
	RiserNotMeasured, BottomNotMeasured, MeasuredOneWay, UpperTubeTooShort, UpperTubeAtLeast,
	AngleCutTouches, ClearanceTooSmall, ClearanceTooLarge, StrikerPlateTouched, LowerTubeImpossible,
	TiltUnknown, TiltNotCounted, LowEndUnknown, FillStationUnknown, GuardNotReached,
	PlannedFromDimensions, CutNotConfirmed, InspectionUnknown,
	// The audit of the chart judges the diameter by better evidence.
	HeightsDiffer,
	ColumnsPlacedApart, ChangedByHand,
}

// OnlyForTheCut reports whether a kind of finding is about a cut that is to be
// made, and about neither the chart nor the tank as it is.
func OnlyForTheCut(s Slug) bool { return slices.Contains(onlyForTheCut, s) }
