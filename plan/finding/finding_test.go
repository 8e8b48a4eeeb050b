package finding

import (
	"regexp"
	"testing"

	"dropcut/plan/cell"
)

func TestEveryKindIsExplainedOnce(t *testing.T) {
	word := regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)
	seen := map[Slug]bool{}
	for _, k := range Kinds() {
		if !word.MatchString(string(k.Slug)) {
			t.Errorf("slug %q is not plain words joined by hyphens", k.Slug)
		}
		if seen[k.Slug] {
			t.Errorf("slug %q stands twice", k.Slug)
		}
		seen[k.Slug] = true
		if k.About == "" || k.Example == "" || k.Advice == "" {
			t.Errorf("kind %q lacks its explanation, its example or its advice", k.Slug)
		}
	}
}

func TestSortPutsTheWorstFirst(t *testing.T) {
	list := []Finding{
		{Slug: "b", Severity: Note, At: cell.Ref{Row: 1}},
		{Slug: "a", Severity: Stop, At: cell.Ref{Row: 9}},
		{Slug: "c", Severity: Stop, At: cell.Ref{Row: 2}},
	}
	Sort(list)
	if list[0].Slug != "c" || list[1].Slug != "a" || list[2].Slug != "b" {
		t.Errorf("sorted as %v, %v, %v", list[0].Slug, list[1].Slug, list[2].Slug)
	}
	if Worst(list) != Stop || Worst(nil) != 0 {
		t.Error("the worst severity is not the highest one")
	}
}

func TestEveryKindHasItsStanding(t *testing.T) {
	for _, k := range Kinds() {
		s := StandingOf(k.Slug)
		if s.Least == 0 || s.Worst < s.Least || s.Source == "" || s.Severities() == "" {
			t.Errorf("kind %q has no line in standings: how grave it is, and what it rests on", k.Slug)
		}
	}
	seen := map[Slug]bool{}
	for _, line := range standings {
		if _, known := KindOf(line.slug); !known || seen[line.slug] {
			t.Errorf("the standing of %q belongs to no kind, or stands twice", line.slug)
		}
		seen[line.slug] = true
	}
	if got := (Standing{Least: Note, Worst: Stop}).Severities(); got != "note or check or stop" {
		t.Errorf("severities from note to stop read %q", got)
	}
	if got := (Standing{}).Severities(); got != "" {
		t.Errorf("no standing reads %q", got)
	}
}
