package finding

// Findings of the chart audit.
const (
	DepthRunsBack       Slug = "depth-runs-back"
	DepthTurnedIntoDate Slug = "depth-turned-into-date"
	PlaceholderChart    Slug = "placeholder-chart"
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
}
