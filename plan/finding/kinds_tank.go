package finding

// Findings about a tank, its device, its limits and its cut.
const (
	ChartMissing Slug = "chart-missing"

	// ColumnsPlacedApart and ChangedByHand are about dropcut's own columns.
	ColumnsPlacedApart Slug = "columns-placed-apart"
	ChangedByHand      Slug = "changed-by-hand"

	ChartNotUsable           Slug = "chart-not-usable"
	CapacityDiffersCertified Slug = "capacity-differs-from-certified"
	CapacityDiffersNominal   Slug = "capacity-differs-from-nominal"
	ChartBelowLimit          Slug = "chart-below-limit"
	HeightsDiffer            Slug = "heights-differ"
	LimitAssumed             Slug = "limit-assumed"
	LimitAboveRule           Slug = "limit-above-rule"
	LimitImpossible          Slug = "limit-impossible"
	PlaceUnknown             Slug = "place-unknown"
	RuleToBeChecked          Slug = "rule-to-be-checked"
	AlarmAboveShutoff        Slug = "alarm-above-shutoff"
	DeviceMissing            Slug = "device-missing"
	DeviceIncomplete         Slug = "device-incomplete"
	DeviceDoesNotFit         Slug = "device-does-not-fit"
	RiserTooNarrow           Slug = "riser-too-narrow"
	ArmBlocked               Slug = "arm-blocked"
	LeastBelowTopWins        Slug = "least-below-top-wins"
	RiserNotMeasured         Slug = "riser-not-measured"
	DiameterDoubtful         Slug = "diameter-doubtful"
	HeightsImpossible        Slug = "heights-impossible"
	UpperTubeTooShort        Slug = "upper-tube-too-short"
	UpperTubeAtLeast         Slug = "upper-tube-at-least"
	OverLimit                Slug = "over-limit"
	AngleCutTouches          Slug = "angle-cut-touches"
	ClearanceTooSmall        Slug = "clearance-too-small"
	ClearanceTooLarge        Slug = "clearance-too-large"
	StrikerPlateTouched      Slug = "striker-plate-touched"
	LowerTubeImpossible      Slug = "lower-tube-impossible"
	BottomNotMeasured        Slug = "bottom-not-measured"
)

var tankKinds = []Kind{
	{
		Slug:    ChartMissing,
		About:   "no chart was found for this tank",
		Example: "tank R-3 in the list, no chart named R-3",
		Advice:  "add the tank's chart, or write its name into the Chart column",
	},
	{
		Slug:    ColumnsPlacedApart,
		About:   "dropcut's columns could not stand directly beside the tank list, because something is in the way",
		Example: "a note in the first column behind the list",
		Advice:  "nothing needs to be done; the columns may be moved, a later run finds them by their headings",
	},
	{
		Slug:    ChangedByHand,
		About:   "somebody has typed over a value that dropcut wrote; it was kept",
		Example: "Plan: Upper tube cut holds 42, the plan gives 42.125",
		Advice:  "empty the cell to have it written again, or move the value into a column of your own",
	},
	{
		Slug:    ChartNotUsable,
		About:   "no level can be read from the chart, because its rows do not rise, lack a number or lack their units",
		Example: "a depth that stands before a smaller one",
		Advice:  "correct the chart from its original",
	},
	{
		Slug:    CapacityDiffersCertified,
		About:   "the top of the chart is not the certified capacity",
		Example: "certified 10,240 gal, charted 10,027 gal",
		Advice:  "find out which of the two belongs to this tank",
	},
	{
		Slug:    CapacityDiffersNominal,
		About:   "the top of the chart is far from the nominal capacity",
		Example: "nominal 10,000 gal, charted 8,730 gal",
		Advice:  "compare the chart's tank and unit with the plate",
	},
	{
		Slug:    ChartBelowLimit,
		About:   "the chart ends below the limit volume of the certified capacity",
		Example: "certified 10,000 gal, the chart ends at 9,200 gal, the limit is 95 %",
		Advice:  "complete the chart from its original",
	},
	{
		Slug:    HeightsDiffer,
		About:   "the inside diameter and the top of the chart are not the same height",
		Example: "diameter 96 in, the chart ends at 92 in",
		Advice:  "measure the diameter: face to bottom less riser height",
	},
	{
		Slug:    LimitAssumed,
		About:   "neither a limit nor a place is given; the federal 95 % was assumed",
		Example: "a row with an empty Place column",
		Advice:  "write the place into the Place column, or give --place or --limit",
	},
	{
		Slug:    LimitAboveRule,
		About:   "the tank's own limit is above that of its place; the lower one was taken",
		Example: "limit 97 %, place US-federal",
		Advice:  "correct the limit or the place",
	},
	{
		Slug:    LimitImpossible,
		About:   "the limit is no share of a tank",
		Example: "limit 950 %",
		Advice:  "correct the limit",
	},
	{
		Slug:    PlaceUnknown,
		About:   "no rule names the place of the tank",
		Example: "place US-Atlantis",
		Advice:  "correct the place, or add its rule with the citation to the Rules sheet",
	},
	{
		Slug:    RuleToBeChecked,
		About:   "the rule that was used was not read in its current text",
		Example: "a rule read in a mirror of the code",
		Advice:  "check the rule locally before you rely on it",
	},
	{
		Slug:    AlarmAboveShutoff,
		About:   "the alarm is set at or above the shutoff, so that it never sounds first",
		Example: "alarm at 88 in, shutoff at 86 in",
		Advice:  "set the alarm lower",
	},
	{
		Slug:    DeviceMissing,
		About:   "no device is named, or the Devices sheet has none of that name",
		Example: "device Alder 4, not on the Devices sheet",
		Advice:  "name the device, and add the figures of its data sheet",
	},
	{
		Slug:    DeviceIncomplete,
		About:   "the Devices sheet lacks a figure that the cut needs",
		Example: "an empty cell under Shutoff drop",
		Advice:  "fill in the Devices sheet",
	},
	{
		Slug:    DeviceDoesNotFit,
		About:   "the device is too long for the tank",
		Example: "a least tube of 40 in below the top of a 48 in tank",
		Advice:  "choose another device",
	},
	{
		Slug:    RiserTooNarrow,
		About:   "the device does not pass through the riser",
		Example: "bore 3 in, device needs 4 1/16 in",
		Advice:  "a wider riser, or a device for this bore",
	},
	{
		Slug:    ArmBlocked,
		About:   "the float arm has less free space than it needs",
		Example: "12 in free, 19 in needed",
		Advice:  "look whether the arm can point the other way",
	},
	{
		Slug:    LeastBelowTopWins,
		About:   "the device's least tube below the tank top puts the shutoff lower than the limit asks",
		Example: "8 in of headspace",
		Advice:  "nothing needs to be done",
	},
	{
		Slug:    RiserNotMeasured,
		About:   "the heights at the riser are not given, so that the tubes cannot be cut yet",
		Example: "empty Riser height and Face to bottom",
		Advice:  "measure inside tank top to sealing face, and sealing face to tank bottom",
	},
	{
		Slug:    DiameterDoubtful,
		About:   "face to bottom less riser height, which is the diameter, is not the height of the chart",
		Example: "137 in less 41 in is 96 in, the chart ends at 92 in",
		Advice:  "measure both again, and find the chart of this tank",
	},
	{
		Slug:    HeightsImpossible,
		About:   "the heights at the riser cannot belong to this tank",
		Example: "face to bottom 60 in, shutoff depth 86 in",
		Advice:  "measure riser height and face to bottom again",
	},
	{
		Slug:    UpperTubeTooShort,
		About:   "the upper tube comes out shorter than the device allows",
		Example: "12 in, the device needs 14 1/2 in",
		Advice:  "a taller riser, or the tube at its least",
	},
	{
		Slug:    UpperTubeAtLeast,
		About:   "the upper tube is exactly the device's least",
		Example: "14 1/2 in of 14 1/2 in",
		Advice:  "measure the riser height again before cutting",
	},
	{
		Slug:    OverLimit,
		About:   "the level at shutoff is above the limit",
		Example: "95.8 % of 95 %",
		Advice:  "look at the measurements",
	},
	{
		Slug:    AngleCutTouches,
		About:   "with the short side of an angle cut within the rule, the long side would reach the bottom",
		Example: "60 degrees on a 4 in tube",
		Advice:  "a squarer cut",
	},
	{
		Slug:    ClearanceTooSmall,
		About:   "the end of the lower tube comes nearer to the bottom than the device allows",
		Example: "2 in, the device asks for 4 in",
		Advice:  "a squarer cut, or a larger clearance",
	},
	{
		Slug:    ClearanceTooLarge,
		About:   "the wanted clearance leaves the opening farther from the bottom than the rule allows",
		Example: "8 in, the rule says 6 in",
		Advice:  "correct the clearance",
	},
	{
		Slug:    StrikerPlateTouched,
		About:   "the tube would stand on the striker plate",
		Example: "clearance 1/4 in, plate 3/8 in",
		Advice:  "a larger clearance",
	},
	{
		Slug:    LowerTubeImpossible,
		About:   "upper tube and device together are longer than the drop",
		Example: "a shallow tank and a long device",
		Advice:  "look at the measurements, or choose another device",
	},
	{
		Slug:    BottomNotMeasured,
		About:   "face to bottom is not given; riser height and inside height were added up",
		Example: "an empty Face to bottom column",
		Advice:  "measure sealing face to tank bottom",
	},
}
