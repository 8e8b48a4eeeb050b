package finding

// Findings of the chart audit.
const (
	DepthRunsBack Slug = "depth-runs-back"
)

var chartKinds = []Kind{
	{
		Slug:    DepthRunsBack,
		About:   "a depth is smaller than the one in the row before it",
		Example: "57 / 58 / 52 / 60",
		Advice:  "look at the original chart and correct the depth",
	},
}
