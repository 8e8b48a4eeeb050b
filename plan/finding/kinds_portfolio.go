package finding

// Findings that only show across the tanks of a portfolio.
const (
	ChartSharedWrongly     Slug = "chart-shared-wrongly"
	ChartScaledFromAnother Slug = "chart-scaled-from-another"
	CapacityUnlikeFamily   Slug = "capacity-unlike-its-family"
	TankInTwoBooks         Slug = "tank-in-two-books"
	RisersAlike            Slug = "risers-alike"
	ShutoffMovedUp         Slug = "shutoff-moved-up"
)

var portfolioKinds = []Kind{
	{
		Slug:    ChartSharedWrongly,
		About:   "the same chart stands under tanks of different sizes, which cannot share it",
		Example: "one table under R-1 (96 in) and R-7 (92 in), in two books",
		Advice:  "find out which tank the chart belongs to, and get the chart of the other",
	},
	{
		Slug:    ChartScaledFromAnother,
		About:   "a chart is another tank's chart multiplied by a number",
		Example: "every volume of R-2 is 1.2 times that of R-1, to the gallon",
		Advice:  "find out which of the two was measured, and get the chart of the other tank",
	},
	{
		Slug:    CapacityUnlikeFamily,
		About:   "the charted capacity is far from that of the other tanks of the same nominal capacity and diameter",
		Example: "5,612 gal among tanks of 6,000 gal nominal that hold about 5,998 gal",
		Advice:  "compare the chart with the plate of the tank",
	},
	{
		Slug:    TankInTwoBooks,
		About:   "a tank of the same site and id stands in two books of the folder",
		Example: "Millrace Fuel Stop, MR-1 in north.xlsx and in all-tanks.xlsx",
		Advice:  "keep one of the two rows",
	},
	{
		Slug:    RisersAlike,
		About:   "all tanks of a site have the same riser height, as if one had been measured and written down for all",
		Example: "41 1/4 in at MR-1, MR-2, MR-3 and MR-4",
		Advice:  "measure each riser",
	},
	{
		Slug:    ShutoffMovedUp,
		About:   "the shutoff lies higher than in the plan of the last run, nearer to the limit",
		Example: "86 in last week, 87 in now",
		Advice:  "look at what was changed in the book",
	},
}
