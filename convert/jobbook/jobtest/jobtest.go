// Package jobtest judges the demonstration's portfolio for the tests of the job
// books. It is a package of its own, small as it is, because tests of several
// packages need it.
package jobtest

import (
	"bytes"
	"slices"
	"testing"

	"dropcut/convert/grid"
	"dropcut/convert/intake"
	"dropcut/convert/starter"
	"dropcut/convert/xlsx"
	"dropcut/plan"
	"dropcut/templates"
	"dropcut/validate"
)

// Demo reads and judges the demonstration's portfolio.
func Demo(t testing.TB) (*intake.Reading, []validate.Result) {
	t.Helper()
	tables, err := starter.DemoTables(templates.FS, templates.DemoDir)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := starter.Demo(&b, tables); err != nil {
		t.Fatal(err)
	}
	book, err := xlsx.OpenReader("demo.xlsx", bytes.NewReader(b.Bytes()), int64(b.Len()))
	if err != nil {
		t.Fatal(err)
	}
	rules, err := intake.Rules(templates.FS)
	if err != nil {
		t.Fatal(err)
	}
	reading, err := intake.Read([]grid.Book{book}, intake.Options{Rules: rules})
	if err != nil {
		t.Fatal(err)
	}
	return reading, slices.Collect(validate.Run(&reading.Job, plan.Options{}))
}
