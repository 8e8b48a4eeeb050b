package join

import (
	"fmt"
	"strings"
	"testing"

	"dropcut/convert/intake/headword"
	"dropcut/convert/intake/intaketest"
	"dropcut/convert/intake/survey"
	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// joinNames joins a list and charts made of names alone. A tank's name may be
// "site|name" or "site|name|chart"; a chart's "site|name".
func joinNames(tanks, charts []string) (*plan.Job, []finding.Finding) {
	job := &plan.Job{}
	for i, s := range tanks {
		p := append(strings.Split(s, "|"), "", "")
		if !strings.Contains(s, "|") {
			p = []string{"", s, ""}
		}
		t := plan.Tank{ID: cell.Of[string]{V: headword.Tidy(p[1]), Raw: p[1], At: cell.Ref{Sheet: "Tanks", Col: 1, Row: i + 2}}}
		t.Site.V = p[0]
		if p[2] != "" {
			t.ChartName = cell.Of[string]{V: headword.Tidy(p[2]), Raw: p[2], At: cell.Ref{Sheet: "Tanks", Col: 2, Row: i + 2}}
		}
		job.Tanks = append(job.Tanks, t)
	}
	for i, s := range charts {
		p := strings.Split(s, "|")
		if len(p) == 1 {
			p = []string{"", s}
		}
		at := cell.Ref{Sheet: "Charts", Col: 1, Row: 100*i + 2}
		job.Charts = append(job.Charts, &chart.Chart{
			Name: headword.Tidy(p[1]), NamedBy: cell.Of[string]{V: headword.Tidy(p[1]), Raw: p[1], At: at}, Site: p[0], At: at, DepthUnit: unit.Inches, VolumeUnit: unit.USGallons,
			Rows: []chart.Row{{Depth: 0, Volume: 0}, {Depth: 1, Volume: float64(i)}},
		})
	}
	out := &survey.Findings{}
	Tanks(job, out)
	return job, out.List
}

// Ids as they come out of spreadsheets; the kinds are those of the reference
// notes on charts in the wild (lost zeros, powers of ten, stray blanks, case,
// dashes), the names are invented.
func TestJoin(t *testing.T) {
	for _, c := range []struct {
		name          string
		tanks, charts []string
		want          string // the chart of each tank
		said          []string
	}{
		{"the same", []string{"R-1", "R-2"}, []string{"R-2", "R-1"}, "[1 0]", nil},
		{"blanks before", []string{"R-1"}, []string{"  R-1"}, "[0]", []string{"id-loose-match note R-1 Charts!A2"}},
		{"a no-break space behind", []string{"R-1\u00a0"}, []string{"R-1"}, "[0]", []string{"id-loose-match note R-1 Tanks!A2"}},
		{"a blank too many within", []string{"East  1"}, []string{"East 1"}, "[0]", []string{"id-loose-match note East 1 Tanks!A2"}},
		{"capitals", []string{"r-1"}, []string{"R-1"}, "[0]", []string{"id-loose-match note r-1 Tanks!A2"}},
		{"an en dash", []string{"R-1"}, []string{"R–1"}, "[0]", []string{"id-loose-match note R-1 Charts!A2"}},
		{"a minus sign", []string{"R\u22121"}, []string{"R-1"}, "[0]", []string{"id-loose-match note R\u22121 Tanks!A2"}},
		{"blanks around a dash", []string{"R - 1"}, []string{"R-1"}, "[0]", []string{"id-loose-match note R - 1 Tanks!A2"}},
		{"the word tank on the tab", []string{"4"}, []string{"Tank 4"}, "[0]", []string{"id-loose-match note 4 Charts!A2"}},
		{"exact before loose", []string{"r-1", "R-1"}, []string{"R-1", "r-1"}, "[1 0]", []string{
			"duplicate-tank stop r-1 Tanks!A2", "duplicate-tank stop R-1 Tanks!A3",
		}},
		{"zeros lost at the chart", []string{"0012"}, []string{"12"}, "[-1]", []string{"id-mismatch stop 0012 Charts!A2"}},
		{"zeros lost in the list", []string{"12"}, []string{"0012"}, "[-1]", []string{"id-mismatch stop 12 Tanks!A2"}},
		{"zeros lost within", []string{"F-007"}, []string{"F-7"}, "[-1]", []string{"id-mismatch stop F-007 Charts!A2"}},
		{"a name taken for powers of ten", []string{"22E1"}, []string{"220"}, "[-1]", []string{"id-mismatch stop 22E1 Charts!A2"}},
		{"the same in the list", []string{"220"}, []string{"22E1"}, "[-1]", []string{"id-mismatch stop 220 Tanks!A2"}},
		{"zeros and powers", []string{"0503E000"}, []string{"503"}, "[-1]", []string{"id-mismatch stop 0503E000 Charts!A2"}},
		{"a long number shown short", []string{"120045007891"}, []string{"1.20E+11"}, "[-1]", []string{"id-mismatch stop 120045007891 Charts!A2"}},
		{"a number too long", []string{"1234567890123456789"}, []string{"1234567890123450000"}, "[-1]", []string{"id-mismatch stop 1234567890123456789 Charts!A2"}},
		{"a date", []string{"3-1"}, []string{"46025"}, "[-1]", []string{"id-mismatch stop 3-1 Charts!A2"}}, // 2026-01-03
		{"O for 0", []string{"B-10"}, []string{"B-1O"}, "[-1]", []string{"id-mismatch stop B-10 Tanks!A2"}},
		{"no dash", []string{"B-10"}, []string{"B10"}, "[-1]", []string{"id-mismatch stop B-10 Tanks!A2"}},
		{"no such chart", []string{"B-10", "B-11"}, []string{"B-11"}, "[-1 0]", []string{"chart-missing stop B-10 Tanks!A2"}},
		{"11 and 1 1 are two", []string{"11"}, []string{"1 1"}, "[-1]", []string{"id-mismatch stop 11 Tanks!A2"}},
		{"a chart left over", []string{"A"}, []string{"A", "Z"}, "[0]", []string{"chart-without-tank note  Charts!A102"}},
		{"compartments", []string{"C-1/A", "C-1/B"}, []string{"C-1/A", "C-1/B"}, "[0 1]", nil},
		{"a tank of two compartments", []string{"C-1"}, []string{"C-1/A", "C-1/B"}, "[-1]", []string{"chart-missing stop C-1 Tanks!A2"}},
		{"a manifolded pair", []string{"M-1", "M-2"}, []string{"M-1+M-2"}, "[0 0]", []string{"combined-volume check M-1 Charts!A2", "combined-volume check M-2 Charts!A2"}},
		{"a pair as one row", []string{"M-1 & M-2"}, []string{"M-1+M-2"}, "[0]", []string{"id-loose-match note M-1 & M-2 Tanks!A2"}},
		{"the same tank twice", []string{"A", "A"}, []string{"A"}, "[0 0]", []string{"duplicate-tank stop A Tanks!A2", "duplicate-tank stop A Tanks!A3"}},
		{"two sites, one chart", []string{"North|1", "South|1"}, []string{"1"}, "[0 0]", []string{"duplicate-tank stop 1 Tanks!A2", "duplicate-tank stop 1 Tanks!A3"}},
		{"two sites with their charts", []string{"North|1", "South|1"}, []string{"South|1", "North|1"}, "[1 0]", nil},
		{"another site's chart", []string{"North|1"}, []string{"South|1"}, "[-1]", nil},
		{"the Chart column", []string{"|1|Ten thousand", "|2|ten thousand"}, []string{"Ten thousand"}, "[0 0]", []string{"id-loose-match note 2 Tanks!B3"}},
		{"a Chart column that names none", []string{"|1|Old"}, []string{"1"}, "[-1]", []string{"chart-missing stop 1 Tanks!B2", "chart-without-tank note  Charts!A2"}},
		{"two charts of one name", []string{"A"}, []string{"A", "A"}, "[-1]", []string{"chart-named-twice stop A Charts!A102"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			job, list := joinNames(c.tanks, c.charts)
			if got := fmt.Sprint(job.ChartOf); got != c.want {
				t.Errorf("charts of the tanks are %s, want %s", got, c.want)
			}
			if c.name == "another site's chart" {
				if finding.Worst(list) != finding.Stop {
					t.Errorf("findings %v, want a stop", intaketest.Said(list))
				}
				return
			}
			intaketest.WantSaid(t, list, c.said...)
		})
	}
}

// Whatever the names are, a tank whose name is no chart's is never joined to one
// without a word, and every tank has a chart or a stop.
func FuzzJoin(f *testing.F) {
	for _, s := range [][2]string{{"0012", "12"}, {"22E1", "220"}, {"mq-3", "MQ–3"}, {"Tank 4", "4"}, {"3-1", "46025"}, {"", " "}, {"1.2E+11", "120000000001"}, {"A+B", "a & b"}, {"e", "E0"}} {
		f.Add(s[0], s[1])
	}
	f.Fuzz(func(t *testing.T, a, b string) {
		if len(a) > 200 || len(b) > 200 || strings.Contains(a+b, "|") {
			t.Skip()
		}
		job, list := joinNames([]string{a}, []string{b})
		switch {
		case job.ChartOf[0] < 0 && finding.Worst(list) != finding.Stop:
			t.Errorf("tank %q has no chart and no stop", a)
		case job.ChartOf[0] >= 0 && a != b && len(list) == 0:
			t.Errorf("tank %q and chart %q were joined in silence", a, b)
		case job.ChartOf[0] >= 0 && digits(a) != digits(b) && list[0].Slug != finding.CombinedVolume:
			t.Errorf("tank %q and chart %q were joined although their figures differ", a, b)
		}
	})
}

func digits(s string) string {
	return strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' {
			return r
		}
		return -1
	}, s)
}

func BenchmarkJoin(b *testing.B) {
	var tanks, charts []string
	for i := range 5000 {
		tanks = append(tanks, fmt.Sprintf("%07d", i))
		charts = append(charts, fmt.Sprintf("%d", i)) // every one a mismatch
	}
	for b.Loop() {
		joinNames(tanks, charts)
	}
}
