package intaketest

import (
	"fmt"
	"strings"
	"testing"

	"dropcut/plan/finding"
)

// Said lists findings as "slug severity tank place", in order.
func Said(list []finding.Finding) []string {
	var s []string
	for _, f := range list {
		s = append(s, fmt.Sprintf("%s %s %s %s", f.Slug, f.Severity, f.Tank, CellOf(f)))
	}
	return s
}

// CellOf gives the cell of a finding, with its sheet.
func CellOf(f finding.Finding) string {
	if f.At.Sheet == "" {
		return f.Cell()
	}
	return f.At.Sheet + "!" + f.Cell()
}

// WantSaid compares findings with what Said makes of them.
func WantSaid(t testing.TB, list []finding.Finding, want ...string) {
	t.Helper()
	got := strings.Join(Said(list), "\n")
	if got != strings.Join(want, "\n") {
		t.Errorf("findings are\n%s\nwant\n%s", got, strings.Join(want, "\n"))
	}
}
