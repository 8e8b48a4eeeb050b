package charts

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"dropcut/convert/intake/figures"
	"dropcut/convert/intake/intaketest"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
)

// bookCharts reads the charts of every sheet of a book.
func bookCharts(t testing.TB, path string, opt Options) (out figures.Yield) {
	t.Helper()
	for _, sh := range intaketest.Open(t, path).Sheets() {
		if sh.At().Sheet == "Tanks" {
			continue // a list, which the classification keeps away from here
		}
		r, err := Read(sh, opt)
		if err != nil {
			t.Fatal(err)
		}
		out.Charts = append(out.Charts, r.Charts...)
		out.Tables = append(out.Tables, r.Tables...)
		out.Findings = append(out.Findings, r.Findings...)
	}
	return out
}

// expectedChart is a line of testdata/layouts/expected.csv, which was written
// together with the files there, by hand, before the reader.
type expectedChart struct {
	file, tank, verdict, slug, cells string
	rows                             int
	first, last                      [2]float64 // in, gal; NaN where not known
}

func expectedCharts(t testing.TB) []expectedChart {
	t.Helper()
	f, err := os.Open("../testdata/layouts/expected.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	num := func(s string) float64 {
		if s == "" {
			return math.NaN()
		}
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	var out []expectedChart
	for _, l := range lines[1:] {
		out = append(out, expectedChart{
			file: l[0], tank: l[3], rows: int(num(l[4])), verdict: l[10], slug: l[11], cells: l[12],
			first: [2]float64{num(l[6]), num(l[7])}, last: [2]float64{num(l[8]), num(l[9])},
		})
	}
	return out
}

// inUnits gives the ends of a chart in inches and US gallons.
func inUnits(c *chart.Chart, i int) (in, gal float64) {
	r := c.Rows[i]
	return float64(c.DepthUnit.Length(r.Depth)), float64(c.VolumeUnit.Volume(r.Volume))
}

// close4 compares figures that expected.csv gives to four decimals.
func close4(got, want float64) bool {
	return math.IsNaN(want) || math.Abs(got-want) <= 0.00005+1e-9
}

func TestSampleLayouts(t *testing.T) {
	for _, want := range expectedCharts(t) {
		t.Run(want.file+" "+want.tank, func(t *testing.T) {
			got := bookCharts(t, filepath.Join("../testdata/layouts", want.file), Options{})
			var c *chart.Chart
			var names []string
			for _, x := range got.Charts {
				names = append(names, x.Name)
				if strings.EqualFold(strings.ReplaceAll(x.Name, "–", "-"), want.tank) {
					c = x
				}
			}
			if c == nil {
				t.Fatalf("charts %q, want %q; findings %v", names, want.tank, got.Findings)
			}
			if len(c.Rows) != want.rows {
				t.Errorf("%d rows, want %d", len(c.Rows), want.rows)
			}
			if want.slug != "formula-without-value" && (!math.IsNaN(want.first[0]) || c.UnitsKnown()) && want.slug != "units-conflict" {
				d, v := inUnits(c, 0)
				if !close4(d, want.first[0]) || !close4(v, want.first[1]) {
					t.Errorf("first row %v in, %v gal, want %v", d, v, want.first)
				}
				d, v = inUnits(c, len(c.Rows)-1)
				if !close4(d, want.last[0]) || !close4(v, want.last[1]) {
					t.Errorf("last row %v in, %v gal, want %v", d, v, want.last)
				}
			}
			if math.IsNaN(want.first[0]) && want.slug == "units-unknown" && c.UnitsKnown() {
				t.Error("units were made up")
			}
			sampleFindings(t, got.Findings, want)
		})
	}
}

// sampleFindings holds the findings of a file against its line: the one that is
// asked for at its cells, and no other that would stop a tank.
func sampleFindings(t *testing.T, got []finding.Finding, want expectedChart) {
	t.Helper()
	joins := want.slug == "id-loose-match" // made when tanks and charts are joined
	found := want.slug == "" || joins
	for _, f := range got {
		switch {
		case string(f.Slug) == want.slug:
			found = true
			cells := strings.Split(want.cells, ",")
			if len(cells) == 2 {
				var rel []string
				for _, r := range f.Related {
					rel = append(rel, r.A1())
				}
				if !slices.Equal(rel, cells) {
					t.Errorf("%s about %v, want %v", f.Slug, rel, cells)
				}
			} else if f.Cell() != want.cells {
				t.Errorf("%s at %s, want %s", f.Slug, f.Cell(), want.cells)
			}
			if want.verdict == "must_report" && f.Severity != finding.Stop {
				t.Errorf("%s is a %s", f.Slug, f.Severity)
			}
		case f.Severity > finding.Note:
			t.Errorf("unexpected %s %s at %s: %s (%s)", f.Severity, f.Slug, f.Cell(), f.Found, f.Why)
		}
		if f.Found == "" || f.Expected == "" || f.Why == "" || f.Suggestion == "" {
			t.Errorf("%s lacks a text", f.Slug)
		}
	}
	if !found {
		t.Errorf("no %s", want.slug)
	}
}
