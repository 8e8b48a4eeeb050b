package finding

// Findings made while a file is read.
const (
	UnitsUnknown        Slug = "units-unknown"
	UnitsConflict       Slug = "units-conflict"
	DuplicateHeader     Slug = "duplicate-header"
	FormulaWithoutValue Slug = "formula-without-value"
	ErrorValue          Slug = "error-value"
	IDLooseMatch        Slug = "id-loose-match"
	IDMismatch          Slug = "id-mismatch"
	CombinedVolume      Slug = "combined-volume"
	UnitsAssumed        Slug = "units-assumed"
	UnitsDoubtful       Slug = "units-doubtful"
	DuplicateTank       Slug = "duplicate-tank"
	TankWithoutName     Slug = "tank-without-name"
	TankColumnMissing   Slug = "tank-column-missing"
	ValueUnreadable     Slug = "value-unreadable"
	ValueAssumed        Slug = "value-assumed"
	ValuesDiffer        Slug = "values-differ"
	ChartWithoutTank    Slug = "chart-without-tank"
	ChartNamedTwice     Slug = "chart-named-twice"
	RuleUnreadable      Slug = "rule-unreadable"
	DuplicateDevice     Slug = "duplicate-device"
)

var readingKinds = []Kind{
	{
		Slug:    UnitsUnknown,
		About:   "nothing in the file says in which unit the depths or the volumes of this chart stand",
		Example: "Tank,Dip,Volume / KR-1,50,188",
		Advice:  "write the units into the heading, or give them with --chart-units",
	},
	{
		Slug:    UnitsConflict,
		About:   "two places name different units for the same numbers",
		Example: "title: depths in cm; heading: Depth (in)",
		Advice:  "find out which of the two is right and correct the other",
	},
	{
		Slug:    DuplicateHeader,
		About:   "two columns have the same heading, or headings that mean the same",
		Example: "Tank,Depth (in),Volume (gal),Volume (gal)",
		Advice:  "find out which of the two is right and rename or delete the other",
	},
	{
		Slug:    FormulaWithoutValue,
		About:   "a cell holds a formula, and the file does not hold its result",
		Example: "C3: =C2+B3, saved by a program that does not calculate",
		Advice:  "open the book in a spreadsheet program, let it calculate, save it",
	},
	{
		Slug:    ErrorValue,
		About:   "a cell holds an error value",
		Example: "C7: #N/A",
		Advice:  "correct the formula or type the value",
	},
	{
		Slug:    IDLooseMatch,
		About:   "a tank and a chart were joined although their names differ in blanks, capitals or dashes",
		Example: "tank \"mq-3\" in the list, chart \"MQ–3\"",
		Advice:  "write both names alike",
	},
	{
		Slug:    IDMismatch,
		About:   "a name has lost zeros or was turned into a number, so that tank and chart are not joined",
		Example: "tank \"012\" in the list, chart 12",
		Advice:  "correct the name where it was changed, in a column formatted as text",
	},
	{
		Slug:    CombinedVolume,
		About:   "the chart gives the volume of several tanks together",
		Example: "Tanks QT-2 and QT-3, combined gallons",
		Advice:  "make sure that the tanks are alike and level with each other, or get a chart of each",
	},
	{
		Slug:    UnitsAssumed,
		About:   "the chart names no units; those of the tank list or of --chart-units were taken",
		Example: "Tank,Dip,Volume and --chart-units mm,L",
		Advice:  "write the units into the heading of the chart",
	},
	{
		Slug:    UnitsDoubtful,
		About:   "depth or volume of the chart do not fit the tank's diameter or capacity, and do fit in another unit",
		Example: "capacity 10,000 gal, chart ends at 37,854 gal",
		Advice:  "look whether the chart is in the unit that its heading names",
	},
	{
		Slug:    DuplicateTank,
		About:   "the same tank stands in the list twice",
		Example: "rows 4 and 9 both name tank R-3",
		Advice:  "delete one row, or give each tank a name of its own",
	},
	{
		Slug:    TankWithoutName,
		About:   "a row of the tank list has values and no tank",
		Example: "row 7: capacity 8000, riser height 41, no tank",
		Advice:  "write the tank's name into the row",
	},
	{
		Slug:    TankColumnMissing,
		About:   "a sheet looks like a list of tanks and has no column that names them",
		Example: "Site, Capacity, Riser height",
		Advice:  "give the column with the tanks' names the heading Tank",
	},
	{
		Slug:    ValueUnreadable,
		About:   "a cell of the tank list or the device list cannot be read",
		Example: "Riser height: \"41 or 42\"",
		Advice:  "write one value in the way that the finding shows",
	},
	{
		Slug:    ValueAssumed,
		About:   "a cell can be read in two ways, and one of them was taken for the reason given",
		Example: "Fill pipe installed: 2006",
		Advice:  "write the value so that it can be read in one way only",
	},
	{
		Slug:    ValuesDiffer,
		About:   "two columns that mean the same give different values",
		Example: "Riser height 41 and Riser height 42",
		Advice:  "measure again and keep one column",
	},
	{
		Slug:    ChartWithoutTank,
		About:   "a chart belongs to no tank of the list",
		Example: "chart R-9, and no tank R-9 in the list",
		Advice:  "add the tank to the list, or leave the chart as it is",
	},
	{
		Slug:    ChartNamedTwice,
		About:   "two charts have the same name",
		Example: "sheet R-3 and a block R-3 in the sheet Charts",
		Advice:  "delete the one that does not hold, or rename it",
	},
	{
		Slug:    RuleUnreadable,
		About:   "a row of the Rules sheet cannot be used as it stands",
		Example: "comparator \"about\"",
		Advice:  "write the row as in the built-in table",
	},
	{
		Slug:    DuplicateDevice,
		About:   "the same device stands in the list twice with different figures",
		Example: "two rows Lindenpost 4, shutoff drop 2 3/8 and 2 1/2",
		Advice:  "keep the row that the data sheet bears out",
	},
}
