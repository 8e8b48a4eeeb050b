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
	LayoutUnclear       Slug = "layout-unclear"
	CellUnreadable      Slug = "cell-unreadable"
	CellsOutOfColumn    Slug = "cells-out-of-column"
	ColumnsDisagree     Slug = "columns-disagree"
	DecimalSignUnclear  Slug = "decimal-sign-unclear"
	UllageWithoutHeight Slug = "ullage-without-height"
	UllageUnclear       Slug = "ullage-unclear"
	UllageTurned        Slug = "ullage-turned-by-list"
	HiddenColumns       Slug = "hidden-columns"
	HiddenRows          Slug = "hidden-rows"
	NumberAsText        Slug = "number-as-text"
	RowsTurned          Slug = "rows-turned"
	FeetInchesWithPoint Slug = "feet-inches-with-point"
	TitleAndSheetDiffer Slug = "title-and-sheet-differ"
	DepthBelowZero      Slug = "depth-below-zero"
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
		About:   "a row of the Rules sheet cannot be used as it stands, or says a thing twice; a limit that cannot be read stops the tanks of its place",
		Example: "comparator \"about\"",
		Advice:  "write the row as in the built-in table",
	},
	{
		Slug:    DuplicateDevice,
		About:   "the same device stands in the list twice with different figures",
		Example: "two rows Lindenpost 4, shutoff drop 2 3/8 and 2 1/2",
		Advice:  "keep the row that the data sheet bears out",
	},
	{
		Slug:    LayoutUnclear,
		About:   "a table that looks like a chart can be read in more than one way, or in none",
		Example: "two columns of numbers that both rise evenly, without headings",
		Advice:  "name the columns in a heading, or correct the reading that inspect --save writes and give it back with --notes",
	},
	{
		Slug:    CellUnreadable,
		About:   "a cell of a chart cannot be read as the number that belongs there",
		Example: "Depth (in): 12 / 1? / 14",
		Advice:  "look at the original chart and type the number in",
	},
	{
		Slug:    CellsOutOfColumn,
		About:   "rows amid a chart hold their numbers in other columns than the rows around them",
		Example: "a row copied from a printed page, one column too far to the right",
		Advice:  "move the numbers into their columns",
	},
	{
		Slug:    ColumnsDisagree,
		About:   "two columns of one chart that must say the same contradict each other in a row",
		Example: "depth 40 and ullage 46 where all other rows add up to 96",
		Advice:  "look at the original chart; one of the cells of the row is wrong",
	},
	{
		Slug:    DecimalSignUnclear,
		About:   "nothing in the column tells whether its points or commas part decimals or thousands",
		Example: "1.238 / 1.402 / 1.577",
		Advice:  "write the column with one decimal place more, or without marks for thousands",
	},
	{
		Slug:    UllageWithoutHeight,
		About:   "the chart gives ullages, measured from the top of the tank, and no inside height",
		Example: "Ullage (in),Volume (gal) / 6,9890 / 8,9780",
		Advice:  "write the tank's inside diameter with its unit above the chart",
	},
	{
		Slug:    UllageUnclear,
		About:   "the numbers and the words of a chart do not agree on whether its depths are measured from the top or from the bottom",
		Example: "Depth (in),Volume (gal) / 0,10027 / 96,0",
		Advice:  "find out which of the two the column holds and name it so",
	},
	{
		Slug:    UllageTurned,
		About:   "the chart gives ullages; the inside height, or the unit, that makes depths of them was taken from the tank list or from --chart-units",
		Example: "Ullage (in),Volume (gal) and an inside diameter of 96 in in the tank list",
		Advice:  "make sure that the ullages are measured from the inside top, and write the height above the chart",
	},
	{
		Slug:    HiddenColumns,
		About:   "columns of the chart or of the tank list are hidden; they were read",
		Example: "columns D to F hidden, the volumes among them",
		Advice:  "show the columns and look whether they belong to the table",
	},
	{
		Slug:    HiddenRows,
		About:   "rows of the chart are hidden; they were read",
		Example: "rows 20 to 31 hidden to fit a page",
		Advice:  "show the rows and look whether they belong to the chart",
	},
	{
		Slug:    NumberAsText,
		About:   "numbers are stored as text; they were read",
		Example: "'0 / '18 / '51",
		Advice:  "no need to do anything",
	},
	{
		Slug:    RowsTurned,
		About:   "the chart stands from the full tank down; it was read from its last row up",
		Example: "96,10027 / 95,10009 / 94,9976",
		Advice:  "no need to do anything",
	},
	{
		Slug:    FeetInchesWithPoint,
		About:   "depths look like feet and inches written with a point, where .1 is both one inch and ten",
		Example: "7.9 / 7.10 / 7.11 / 8.0",
		Advice:  "write the depths in inches, or with marks: 7' 10\"",
	},
	{
		Slug:    DepthBelowZero,
		About:   "depths of the chart lie below zero, so that its zero is not the bottom of the tank",
		Example: "-2,0 / -1,0 / 0,11",
		Advice:  "find out how far below its zero the bottom lies, and add that to all depths",
	},

	{
		Slug:    TitleAndSheetDiffer,
		About:   "the title above a chart names another tank than the sheet's tab",
		Example: "tab R-3, title: Tank R-4",
		Advice:  "find out whose chart it is and correct the other name",
	},
}
