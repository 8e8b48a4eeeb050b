package jobbook

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

// demo reads and judges the demonstration's portfolio.
func demo(t testing.TB) (*intake.Reading, []validate.Result) {
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

func newMaker(t testing.TB) *Maker {
	t.Helper()
	m, err := NewMaker(templates.FS, templates.JobTexts)
	if err != nil {
		t.Fatal(err)
	}
	return m
}
