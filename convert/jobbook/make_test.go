package jobbook

import (
	"testing"

	"dropcut/templates"
)

func newMaker(t testing.TB) *Maker {
	t.Helper()
	m, err := NewMaker(templates.FS, templates.JobTexts)
	if err != nil {
		t.Fatal(err)
	}
	return m
}
