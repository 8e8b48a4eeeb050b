package finding

// Findings made while a file is read.
const (
	UnitsUnknown  Slug = "units-unknown"
	UnitsConflict Slug = "units-conflict"
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
}
