package main

import (
	"path/filepath"
	"slices"

	"dropcut/plan"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
	"dropcut/validate/portfolio"
)

// acrossTanks gives what only shows when the tanks of a book are held against each
// other: a chart that tanks of unlike sizes share, one that is another one
// multiplied, a capacity unlike those of the tanks of the same dimensions. Where the
// chart itself has told of another tank, that is the same fault.
func acrossTanks(job *work) []finding.Finding {
	b := portfolio.BookOf(filepath.Base(job.path), job.reading.Job.Charts, len(job.results), func(i int) (*plan.Tank, *plan.Cut, *chart.Chart) {
		r := &job.results[i]
		return r.Tank, &r.Cut, r.Chart
	})
	v := portfolio.New()
	v.Look(b)
	v.Add(b)
	var list []finding.Finding
	for _, f := range v.Findings() {
		switch f.Slug {
		case finding.ChartSharedWrongly, finding.ChartScaledFromAnother, finding.CapacityUnlikeFamily:
			if !slices.ContainsFunc(f.Tanks, func(i int) bool { return slices.ContainsFunc(job.results[i].All(), ofAnotherTank) }) {
				if f.Slug == finding.CapacityUnlikeFamily {
					// Of 12,898 tanks with sound charts 15 were unlike the others of their
					// name and diameter: among those of one book it is a hint.
					f.Severity = finding.Note
				}
				list = append(list, f.Finding)
			}
		}
	}
	return list
}

// ofAnotherTank reports whether a finding says that a chart is not its tank's.
func ofAnotherTank(f finding.Finding) bool {
	switch f.Slug {
	case finding.ChartOfAnotherDiameter, finding.ChartOfAnotherLength, finding.ScaledNominalChart, finding.ImperialGallons, finding.ChartStopsEarly,
		finding.CapacityDiffersNominal, finding.CapacityDiffersCertified, finding.UnitsDoubtful:
		return f.Severity >= finding.Check
	}
	return false
}
