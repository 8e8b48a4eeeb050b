package finding

// Findings of the chart audit.
const (
	DepthRunsBack           Slug = "depth-runs-back"
	DepthTurnedIntoDate     Slug = "depth-turned-into-date"
	PlaceholderChart        Slug = "placeholder-chart"
	BlockShiftedOneRow      Slug = "block-shifted-one-row"
	ChartOfAnotherDiameter  Slug = "chart-of-another-diameter"
	ChartOfAnotherLength    Slug = "chart-of-another-length"
	ChartStopsEarly         Slug = "chart-stops-early"
	DecimalComma            Slug = "decimal-comma"
	DepthStepWrong          Slug = "depth-step-wrong"
	DepthUnitChangesMidway  Slug = "depth-unit-changes-midway"
	DigitsSwapped           Slug = "digits-swapped"
	ImperialGallons         Slug = "imperial-gallons"
	RowDoubled              Slug = "row-doubled"
	RowMissing              Slug = "row-missing"
	RowsExchanged           Slug = "rows-exchanged"
	RowsPastFull            Slug = "rows-past-full"
	ScaledNominalChart      Slug = "scaled-nominal-chart"
	ThousandsMarkLost       Slug = "thousands-mark-lost"
	VolumeRepeated          Slug = "volume-repeated"
	VolumeUnitChangesMidway Slug = "volume-unit-changes-midway"
	WrongDigit              Slug = "wrong-digit"
	SameDepthTwice          Slug = "same-depth-twice"
	VolumeFalls             Slug = "volume-falls"
	ChartNotSmooth          Slug = "chart-not-smooth"
	ChartHabits             Slug = "chart-habits"
	ShapeNotRecognised      Slug = "shape-not-recognised"
	TiltInChart             Slug = "tilt-in-chart"
)

var chartKinds = []Kind{
	{
		Slug:    DepthRunsBack,
		About:   "a depth is smaller than the one in the row before it",
		Example: "57 / 58 / 52 / 60",
		Advice:  "look at the original chart and correct the depth",
	},
	{
		Slug:    DepthTurnedIntoDate,
		About:   "a fraction of an inch was turned into a date by a spreadsheet program",
		Example: "8-Jan where 1/8 was typed",
		Advice:  "type the fractions again into cells with a number format",
	},
	{
		Slug:    PlaceholderChart,
		About:   "the chart was never filled in: every volume equals its depth, or all volumes are one number",
		Example: "10,10 / 11,11 / 12,12",
		Advice:  "put the tank's own chart in",
	},
	{
		Slug:    BlockShiftedOneRow,
		About:   "a block of volumes stands one row too high or too low against its depths",
		Example: "12,1093 / 13,1093 / 14,1232 / 15,1376",
		Advice:  "move the block back; one of its volumes is lost and must be looked up",
	},
	{
		Slug:    ChartOfAnotherDiameter,
		About:   "the chart describes a tank of another inside diameter than the one in the list or measured at the riser",
		Example: "a chart that is full at 96 in, a tank of 92 in",
		Advice:  "measure face to bottom and riser height (their difference is the diameter) and find this tank's chart",
	},
	{
		Slug:    ChartOfAnotherLength,
		About:   "the diameter fits and the capacity does not: the chart describes a longer or shorter tank",
		Example: "a chart up to 8,000 gal, a tank of 10,000 gal",
		Advice:  "find this tank's chart; the percentage of the charted capacity is not touched by the length",
	},
	{
		Slug:    ChartStopsEarly,
		About:   "the last row lies well below the full tank, so that the charted capacity is too small",
		Example: "a chart that ends at 84 in, a tank of 96 in",
		Advice:  "get the rest of the chart; the percentage is taken of too small a capacity until then",
	},
	{
		Slug:    DecimalComma,
		About:   "a decimal sign that differs from the rest of its column, or was lost",
		Example: "12.25 / 12.375 / 12,5 / 12.625",
		Advice:  "type the number again",
	},
	{
		Slug:    DepthStepWrong,
		About:   "a depth, or all depths from one row on, do not lie on the grid of the others, while the volumes go on evenly",
		Example: "57 / 58 / 60 / 60 / 61",
		Advice:  "correct the depth from the original chart",
	},
	{
		Slug:    DepthUnitChangesMidway,
		About:   "from one row on the depths stand in another unit",
		Example: "40 / 41 / 106.68 / 109.22",
		Advice:  "bring both parts into one unit",
	},
	{
		Slug:    DigitsSwapped,
		About:   "two digits of a volume have changed places",
		Example: "4489 / 4853 / 4676 where 4583 was meant",
		Advice:  "type the number again",
	},
	{
		Slug:    ImperialGallons,
		About:   "the whole chart is too small by the factor between US and imperial gallons",
		Example: "a chart up to 8,327 gal, a tank of 10,000 gal",
		Advice:  "find out in which gallons the chart was made",
	},
	{
		Slug:    RowDoubled,
		About:   "a row, or a block of rows, stands there twice",
		Example: "57,4583 / 57,4583 / 58,4676",
		Advice:  "delete one of the two, after a look whether a row was overwritten",
	},
	{
		Slug:    RowMissing,
		About:   "rows are left out: depth and volume make the same leap",
		Example: "57 / 58 / 60 / 61",
		Advice:  "put the rows in from the original chart",
	},
	{
		Slug:    RowsExchanged,
		About:   "two rows, or their volumes, have changed places",
		Example: "57 / 59 / 58 / 60",
		Advice:  "put the two in order",
	},
	{
		Slug:    RowsPastFull,
		About:   "the chart goes on beyond the full tank",
		Example: "rows up to 99 in for a tank of 96 in",
		Advice:  "delete the rows beyond the full tank",
	},
	{
		Slug:    ScaledNominalChart,
		About:   "the volumes seem to be those of a tank of another diameter, multiplied until the capacity fits",
		Example: "a chart that is full at 96 in and at this tank's capacity, a tank of 102 in",
		Advice:  "measure the diameter, and get a chart that was made for this tank",
	},
	{
		Slug:    ThousandsMarkLost,
		About:   "a volume was cut at its mark of thousands, or the mark became a decimal point",
		Example: "12,340 / 12,456 / 12 / 12,689",
		Advice:  "type the number again",
	},
	{
		Slug:    VolumeRepeated,
		About:   "a volume is that of the row next to it, where it should have risen",
		Example: "4489 / 4489 / 4676",
		Advice:  "look the volume up in the original chart",
	},
	{
		Slug:    VolumeUnitChangesMidway,
		About:   "from one row on, or in a block of rows, the volumes stand in another unit",
		Example: "4489 / 4583 / 17702 / 18056",
		Advice:  "bring both parts into one unit",
	},
	{
		Slug:    WrongDigit,
		About:   "a single volume does not follow its neighbours",
		Example: "4489 / 4593 / 4676 where 4583 was meant",
		Advice:  "type the number again",
	},
	{
		Slug:    SameDepthTwice,
		About:   "one depth stands there twice, with two volumes",
		Example: "57,4583 / 57,4676",
		Advice:  "find out which of the two is right",
	},
	{
		Slug:    VolumeFalls,
		About:   "a volume is smaller than the one of the row before it",
		Example: "4583 / 4481 / 4676",
		Advice:  "correct the row that is wrong",
	},
	{
		Slug:    ChartNotSmooth,
		About:   "volumes do not follow their neighbours, and no single slip explains it",
		Example: "rows of another tank among those of this one",
		Advice:  "hold the chart against its original",
	},
	{
		Slug:    ChartHabits,
		About:   "habits of chart makers that mean nothing: a flat end, a first volume above 0, an odd last step",
		Example: "95,9990 / 96,10000 / 97,10000",
		Advice:  "nothing needs to be done",
	},
	{
		Slug:    ShapeNotRecognised,
		About:   "the chart follows no simple shape of tank, so that only its rows were held against each other",
		Example: "a reservoir, a ship's tank, a tank of courses",
		Advice:  "nothing needs to be done where the tank is no simple one",
	},
	{
		Slug:    TiltInChart,
		About:   "the curve is that of a tank that does not lie level",
		Example: "a rise of 3 in",
		Advice:  "look whether the tank in the ground has the same tilt",
	},
}
