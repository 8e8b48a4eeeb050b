// Package validate judges: charts, cuts against limits, measured against
// planned. Its Result is the one thing that every output reads.
package validate

import (
	"dropcut/plan"
	"dropcut/plan/chart"
	"dropcut/plan/device"
	"dropcut/plan/finding"
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
	Tank     *plan.Tank
	Chart    *chart.Chart   // nil where none was found
	Device   *device.Device // nil where none is named or found
	Cut      plan.Cut
	Findings []finding.Finding
	Status   Status
}
