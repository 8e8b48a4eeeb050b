package charts

import (
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// kind is a chart with one fault and the same chart mended, from a file of
// testdata/kinds. In such a file a line that begins with - belongs to the spoiled
// chart alone, one with + to the mended one alone, others to both; ^ stands before
// the cell that must be named. The volumes are those of a worked example that was
// computed outside this project.
type kind struct {
	slug            finding.Slug
	spoiled, mended *chart.Chart
	facts, right    Facts
	mark            cell.Ref
}

func readKind(t *testing.T, path string) kind {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	name := filepath.Base(path)
	k := kind{slug: finding.Slug(strings.TrimSuffix(name, ".txt"))}
	base := chart.Chart{Name: "K-1", DepthUnit: unit.Inches, VolumeUnit: unit.USGallons, At: cell.Ref{File: name, Col: 1, Row: 2}}
	s, m := base, base
	k.spoiled, k.mended = &s, &m
	k.facts = Facts{Limit: 95, PerCubic: 1.0 / 231, Inch: 1, USGallons: true}
	number := func(s string) float64 {
		f, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		return f
	}
	mended := map[string]float64{}
	for line := range strings.Lines(string(data)) {
		line = strings.TrimRight(line, "\r\n")
		if head, ok := strings.CutPrefix(line, "# "); ok {
			key, value, _ := strings.Cut(head, ": ")
			switch key {
			case "shape":
				k.facts.Shape = value
			case "diameter":
				k.facts.Diameter = number(value)
			case "length":
				k.facts.Length = number(value)
			case "capacity":
				k.facts.Nominal = number(value)
			case "mended_diameter", "mended_length", "mended_capacity":
				mended[key] = number(value)
			}
			continue
		}
		if line == "" {
			continue
		}
		to := []*chart.Chart{k.spoiled, k.mended}
		switch line[0] {
		case '-':
			to = to[:1]
		case '+':
			to = to[1:]
		}
		depth, volume, _ := strings.Cut(line[1:], ",")
		row := int32(len(k.spoiled.Rows) + 2)
		if d, ok := strings.CutPrefix(depth, "^"); ok {
			depth, k.mark = d, cell.Ref{File: name, Col: 1, Row: int(row)}
		}
		if v, ok := strings.CutPrefix(volume, "^"); ok {
			volume, k.mark = v, cell.Ref{File: name, Col: 2, Row: int(row)}
		}
		for _, c := range to {
			c.Rows = append(c.Rows, chart.Row{
				Depth: number(depth), Volume: number(volume),
				SheetRow: int32(len(c.Rows) + 2), DepthCol: 1, VolumeCol: 2,
			})
		}
	}
	for _, c := range []*chart.Chart{k.spoiled, k.mended} {
		c.To = c.VolumeAt(len(c.Rows) - 1)
	}
	k.right = k.facts
	for key, f := range mended {
		switch key {
		case "mended_diameter":
			k.right.Diameter = f
		case "mended_length":
			k.right.Length = f
		case "mended_capacity":
			k.right.Nominal = f
		}
	}
	return k
}

// loud gives the findings that are more than notes.
func loud(list []finding.Finding) []finding.Finding {
	return slices.DeleteFunc(slices.Clone(list), func(f finding.Finding) bool { return f.Severity < finding.Check })
}

func TestOneFaultIsOneFindingAtItsCell(t *testing.T) {
	paths, err := filepath.Glob("testdata/kinds/*.txt")
	if err != nil || len(paths) < 20 {
		t.Fatalf("%d files in testdata/kinds, %v", len(paths), err)
	}
	ws := new(Workspace)
	for _, path := range paths {
		k := readKind(t, path)
		t.Run(string(k.slug), func(t *testing.T) {
			got := loud(Audit(ws, k.spoiled, k.facts).Findings)
			if len(got) != 1 || got[0].Slug != k.slug {
				t.Fatalf("found %s, want one %s", list(got), k.slug)
			}
			f := got[0]
			if k.mark.IsZero() {
				if f.At != k.spoiled.At {
					t.Errorf("found at %s, want the whole chart", f.At)
				}
			} else if f.At != k.mark {
				t.Errorf("found at %s, want %s", f.At, k.mark)
			}
			if f.Found == "" || f.Expected == "" || f.Why == "" || f.Suggestion == "" {
				t.Errorf("a text is missing: %+v", f)
			}
			if f.Depth != "" {
				if _, err := strconv.ParseFloat(f.Depth, 64); err != nil {
					t.Errorf("depth %q is no plain number", f.Depth)
				}
			}
			if rest := loud(Audit(ws, k.mended, k.right).Findings); len(rest) != 0 {
				t.Errorf("in the mended chart: %s", list(rest))
			}
		})
	}
}

func list(fs []finding.Finding) string {
	var b strings.Builder
	for _, f := range fs {
		b.WriteString("\n  " + f.Severity.String() + " " + string(f.Slug) + " at " + f.Cell() + ": " + f.Found + " | " + f.Expected + " | " + f.Why)
	}
	return b.String()
}

// Every kind that the audit promises has a case.
func TestEveryKindHasItsSmallestCase(t *testing.T) {
	// The reading names dates, since it alone knows the text of the cell.
	elsewhere := []finding.Slug{finding.ChartHabits}
	for _, c := range Checks() {
		if c.About == "" || c.Run == nil {
			t.Errorf("check %s lacks its text or its function", c.Slug)
		}
		if slices.Contains(elsewhere, c.Slug) {
			continue
		}
		if _, err := os.Stat("testdata/kinds/" + string(c.Slug) + ".txt"); err != nil {
			t.Errorf("%s: %v", c.Slug, err)
		}
	}
}
