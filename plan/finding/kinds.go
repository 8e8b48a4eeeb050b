package finding

import "slices"

// Kind explains one kind of finding, for `dropcut audit --list` and for the
// reader of a report.
type Kind struct {
	Slug    Slug
	About   string // what it means, one sentence for people
	Example string // a small example as it would stand in a file
	Advice  string // what to do about it, one sentence
}

// Kinds lists every kind of finding that dropcut can make: about reading, about
// charts, about tanks and their cuts, about what came back from the site, across
// a portfolio. A test demands that each has its texts and that no slug stands
// twice.
func Kinds() []Kind {
	return slices.Concat(readingKinds, chartKinds, tankKinds, builtKinds, portfolioKinds)
}
