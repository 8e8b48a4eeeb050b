// Package validate judges: charts, cuts against limits, measured against
// planned. Its Result is the one thing that every output reads.
package validate

import (
	"slices"

	"dropcut/plan"
	"dropcut/plan/chart"
	"dropcut/plan/device"
	"dropcut/plan/finding"
	"dropcut/validate/charts/fit"
)

// Status says what may be done with a tank's row.
type Status string

const (
	// Ready: cut by it.
	Ready Status = "ready"
	// Measure: the chart part is done, a field measure is missing.
	Measure Status = "measure"
	// Check: a person must look first.
	Check Status = "check"
	// Stop: do not cut from this row. No length is given.
	Stop Status = "stop"
)

// Result is everything that dropcut has to say of one tank.
type Result struct {
	Tank    *plan.Tank
	Chart   *chart.Chart   // nil where none was found
	Device  *device.Device // nil where none is named or found
	Limits  plan.Limits
	Cut     plan.Cut
	AsFound plan.AsFound // of the tube that was found in the tank, where one was
	// Fit is the tank that the chart describes; nil where there is no chart. Tanks
	// that share a chart share it.
	Fit *fit.Result
	// Findings are those that are made here, each of them in one Result only.
	Findings []finding.Finding
	// Elsewhere are findings that hold for this tank too and are listed
	// elsewhere: those of the reading, and those of a chart that another tank
	// shares.
	Elsewhere []finding.Finding
	Status    Status
}

// All gives every finding that holds for the tank, worst first.
func (r *Result) All() []finding.Finding {
	list := slices.Concat(r.Findings, r.Elsewhere)
	finding.Sort(list)
	return list
}
