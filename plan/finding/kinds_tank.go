package finding

// Findings about a tank, its device, its limits and its cut.
const (
	ChartMissing Slug = "chart-missing"
)

var tankKinds = []Kind{
	{
		Slug:    ChartMissing,
		About:   "no chart was found for this tank",
		Example: "tank R-3 in the list, no chart named R-3",
		Advice:  "add the tank's chart, or write its name into the Chart column",
	},
}
