package finding

// Findings about a tank, its device, its limits and its cut.
const (
	ChartMissing Slug = "chart-missing"

	// ColumnsPlacedApart and ChangedByHand are about dropcut's own columns.
	ColumnsPlacedApart Slug = "columns-placed-apart"
	ChangedByHand      Slug = "changed-by-hand"
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
}
