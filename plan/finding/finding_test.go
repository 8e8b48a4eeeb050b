package finding

import (
	"math/rand/v2"
	"regexp"
	"slices"
	"strings"
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

func TestSeverityReadsAsAWord(t *testing.T) {
	for s, want := range map[Severity]string{Note: "note", Check: "check", Stop: "stop", 0: "none", 9: "none"} {
		if got := s.String(); got != want {
			t.Errorf("severity %d reads %q, want %q", s, got, want)
		}
	}
	if !(Note < Check && Check < Stop) {
		t.Error("the severities do not rise from note to stop")
	}
}

// The order of findings must not depend on the order in which they were found,
// or the same input would print another text.
func TestSortIsTotal(t *testing.T) {
	var want []Finding
	for _, s := range []Severity{Stop, Check} {
		for _, file := range []string{"a.xlsx", "b.xlsx"} {
			for _, sheet := range []string{"Charts", "Tanks"} {
				for _, row := range []int{2, 10} {
					for _, col := range []int{1, 27} {
						for _, slug := range []Slug{"a", "b"} {
							for _, tank := range []string{"T1", "T2"} {
								for _, depth := range []string{"1", "2"} {
									want = append(want, Finding{Severity: s, Slug: slug, Tank: tank, Depth: depth, At: cell.Ref{File: file, Sheet: sheet, Row: row, Col: col}})
								}
							}
						}
					}
				}
			}
		}
	}
	g := rand.New(rand.NewPCG(1, 2))
	for range 20 {
		got := slices.Clone(want)
		g.Shuffle(len(got), func(i, j int) { got[i], got[j] = got[j], got[i] })
		Sort(got)
		for i := range got {
			if got[i].Severity != want[i].Severity || got[i].At != want[i].At || got[i].Slug != want[i].Slug || got[i].Tank != want[i].Tank || got[i].Depth != want[i].Depth {
				t.Fatalf("place %d holds %v %v %s %s %s, want %v %v %s %s %s", i,
					got[i].Severity, got[i].At, got[i].Slug, got[i].Tank, got[i].Depth, want[i].Severity, want[i].At, want[i].Slug, want[i].Tank, want[i].Depth)
			}
		}
	}
}

func TestCellOfAFinding(t *testing.T) {
	f := Finding{At: cell.Ref{File: "t.xlsx", Sheet: "Charts", Col: 1, Row: 4}}
	if got := f.Cell(); got != "A4" {
		t.Errorf("one cell reads %q", got)
	}
	if f.To = (cell.Ref{Sheet: "Charts", Col: 1, Row: 10}); f.Cell() != "A4:A10" {
		t.Errorf("a range reads %q", f.Cell())
	}
}

// What a person who looks at charts alone is not told must be a kind at all, and
// must never be a fault of a chart.
func TestOnlyForTheCut(t *testing.T) {
	for _, s := range onlyForTheCut {
		if _, ok := KindOf(s); !ok {
			t.Errorf("%q is no kind", s)
		}
		if !OnlyForTheCut(s) {
			t.Errorf("%q is not held for what it is", s)
		}
		if strings.HasPrefix(string(s), "chart-") || StandingOf(s).Source == fromStatistic {
			t.Errorf("%q is a fault of a chart and would be kept from who audits it", s)
		}
	}
	for _, s := range []Slug{WrongDigit, ChartMissing, OverLimit, UnitsUnknown, "no-such-kind"} {
		if OnlyForTheCut(s) {
			t.Errorf("%q is kept from who audits charts", s)
		}
	}
	if _, ok := KindOf("no-such-kind"); ok {
		t.Error("what is no kind has a page")
	}
	if (StandingOf("no-such-kind") != Standing{}) {
		t.Error("what is no kind has a standing")
	}
}
