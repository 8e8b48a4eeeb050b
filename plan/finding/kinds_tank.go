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

	FillStationOutside    Slug = "fill-station-outside"
	TiltUnknown           Slug = "tilt-unknown"
	TiltNotCounted        Slug = "tilt-not-counted"
	LowEndUnknown         Slug = "low-end-unknown"
	FillStationUnknown    Slug = "fill-station-unknown"
	ExtremeTilt           Slug = "extreme-tilt"
	GuardNotReached       Slug = "guard-not-reached"
	MeasuredOneWay        Slug = "measured-one-way"
	PlaceDoubtful         Slug = "place-doubtful"
	PlaceWithoutRules     Slug = "place-without-rules"
	PlannedFromDimensions Slug = "planned-from-dimensions"
	AsFoundOverLimit      Slug = "as-found-over-limit"
	AsFoundUnderLeast     Slug = "as-found-under-least"
	AsFoundUnknown        Slug = "as-found-unknown"
	DeviceFigureOdd       Slug = "device-figure-odd"
	VentRestrictor        Slug = "vent-restrictor"
	PressurizedDelivery   Slug = "pressurized-delivery"
	InspectionDue         Slug = "inspection-due"
	InspectionUnknown     Slug = "inspection-unknown"
	TopFittingWetted      Slug = "top-fitting-wetted"
	CutNotConfirmed       Slug = "cut-not-confirmed"
	FigureNotConfirmed    Slug = "figure-not-confirmed"
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
		About:   "neither a limit nor a place whose rules give one; the federal 95 % was assumed",
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
		About:   "the limit is no share of a tank, or a full tank",
		Example: "limit 950 %, or 100 % in a place whose rules nobody named",
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
		About:   "the rule that was used was not read in its current text, or begins or ends on a day that may not have come",
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
	{
		Slug:    FillStationOutside,
		About:   "the fill is said to stand beyond the end of the tank",
		Example: "fill station 30 ft in a 27 ft tank",
		Advice:  "correct the fill station or the length",
	},
	{
		Slug:    TiltUnknown,
		About:   "the rise of the tank from end to end is not given, and the fill does not stand in the middle",
		Example: "fill 24 in from an end, no rise",
		Advice:  "measure the rise with two sticks at two openings",
	},
	{
		Slug:    TiltNotCounted,
		About:   "the tank is tilted, and what that does to the shutoff cannot be worked out",
		Example: "rise 2 in, no length",
		Advice:  "give shape, diameter and length, or correct the rise",
	},
	{
		Slug:    LowEndUnknown,
		About:   "the tank is tilted and nobody says which end is low; the fill was taken to stand at the high end",
		Example: "rise 2 in, empty Low end column",
		Advice:  "write fill or other into the Low end column",
	},
	{
		Slug:    FillStationUnknown,
		About:   "the tank is tilted and the place of the fill is not given; the worst possible place was taken",
		Example: "rise 2 in, empty Fill station column",
		Advice:  "measure how far the fill stands from the nearest end",
	},
	{
		Slug:    ExtremeTilt,
		About:   "at shutoff the liquid touches the top at the low end, or leaves the bottom dry at the high end",
		Example: "rise 14 in over 32 ft",
		Advice:  "have the tank leveled, or calibrated as it lies",
	},
	{
		Slug:    GuardNotReached,
		About:   "no depth of the chart keeps the chance over the limit under the guard",
		Example: "a limit near the first row of the chart",
		Advice:  "a larger guard, or a chart that goes deeper",
	},
	{
		Slug:    MeasuredOneWay,
		About:   "the upper tube rests on face to bottom alone, so that nothing shows a chart of another tank",
		Example: "face to bottom 137 1/4 in, empty Riser height",
		Advice:  "measure the riser height",
	},
	{
		Slug:    PlaceDoubtful,
		About:   "no rule names the place, and one names a place with almost the same name",
		Example: "place US-Tamarack-Saltmarch County",
		Advice:  "correct the place, or add its rules",
	},
	{
		Slug:    PlaceWithoutRules,
		About:   "no rule names the place; those of the place around it were taken",
		Example: "place US-Texas",
		Advice:  "ask the authority there whether it has a lower limit",
	},
	{
		Slug:    PlannedFromDimensions,
		About:   "the chart was computed from the tank's dimensions and measured by nobody",
		Example: "a chart made by convert",
		Advice:  "get the chart of the tank's maker, or have the tank calibrated",
	},
	{
		Slug:    AsFoundOverLimit,
		About:   "the tube that was found in the tank shuts off above the limit",
		Example: "as found 95.8 % of 95 %",
		Advice:  "replace the tube",
	},
	{
		Slug:    AsFoundUnderLeast,
		About:   "the tube that was found in the tank is shorter than the device allows",
		Example: "as found 13 in, the device needs 14 1/2 in",
		Advice:  "replace the tube",
	},
	{
		Slug:    AsFoundUnknown,
		About:   "what the tube does that was found in the tank cannot be said",
		Example: "as-found tube 41 in, no riser height",
		Advice:  "measure the riser height or face to bottom",
	},
	{
		Slug:    DeviceFigureOdd,
		About:   "a figure of the Devices sheet is not one that such a device can have",
		Example: "shutoff drop 60 in",
		Advice:  "compare the row with the data sheet",
	},
	{
		Slug:    VentRestrictor,
		About:   "a flow restrictor in the vent line, where it is not allowed or disturbs the shutoff",
		Example: "vent restrictor: yes",
		Advice:  "have it removed",
	},
	{
		Slug:    PressurizedDelivery,
		About:   "the tank is filled under pressure, which not every shutoff device is made for",
		Example: "delivery: pressure",
		Advice:  "ask for the listing of the device",
	},
	{
		Slug:    InspectionDue,
		About:   "the overfill device has to be inspected again",
		Example: "last inspection 2021-03-11, every 3 years",
		Advice:  "inspect it",
	},
	{
		Slug:    InspectionUnknown,
		About:   "the day of the last inspection lies ahead of today",
		Example: "last inspection 2062-03-11",
		Advice:  "correct the date",
	},
	{
		Slug:    TopFittingWetted,
		About:   "at shutoff the liquid may reach the fittings on top of the tank",
		Example: "a tank tilted by 12 in",
		Advice:  "lower the shutoff, or level the tank",
	},
	{
		Slug:    CutNotConfirmed,
		About:   "a figure of the plan does not agree with the same figure computed in another way",
		Example: "upper tube 42 1/8 in, depth 86 5/8 in",
		Advice:  "report it; do not cut",
	},
	{
		Slug:    FigureNotConfirmed,
		About:   "a figure that stands in a planned book does not follow from the book any more: somebody has changed it, or what it was made from",
		Example: "Plan: Upper tube cut holds 41.5; measurements and chart give 42.125, and a tube of 41.5 in shuts off at 95.7 % of the tank",
		Advice:  "do not cut by this row; plan the book anew",
	},
}
