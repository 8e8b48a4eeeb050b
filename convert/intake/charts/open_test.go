package charts

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"dropcut/convert/intake/look"
	"dropcut/plan/finding"
)

// openChartsFolder gives the folder of public reservoir and lake tables, which
// is not part of the project: MANIFEST.csv there names the source and licence of
// each.
func openChartsFolder(t *testing.T) string {
	t.Helper()
	dir := os.Getenv("DROPCUT_OPEN_CHARTS")
	if dir == "" {
		if os.Getenv("DROPCUT_PEERS") == "required" {
			t.Fatal("DROPCUT_OPEN_CHARTS names no folder of open charts")
		}
		t.Skip("DROPCUT_OPEN_CHARTS names no folder of open charts")
	}
	return dir
}

// The open charts are read row for row, and none of them meets a finding beyond
// its missing units: their faults are the audit's to find (faults.csv there).
func TestOpenCharts(t *testing.T) {
	dir := openChartsFolder(t)
	files, err := filepath.Glob(filepath.Join(dir, "*.csv"))
	if err != nil || len(files) < 15 {
		t.Fatalf("%d files in %s: %v", len(files), dir, err)
	}
	for _, path := range files {
		name := filepath.Base(path)
		if name == "MANIFEST.csv" || name == "faults.csv" {
			continue
		}
		t.Run(name, func(t *testing.T) {
			got := bookCharts(t, path, Options{})
			if len(got.Charts) != 1 {
				t.Fatalf("%d charts; %s", len(got.Charts), findingList(got.Findings))
			}
			c := got.Charts[0]
			if want := plainRows(t, path); len(c.Rows) != want {
				t.Errorf("%d rows, the file has %d lines that start with two numbers", len(c.Rows), want)
			}
			for _, f := range got.Findings {
				if f.Severity > finding.Note && f.Slug != finding.UnitsUnknown {
					t.Errorf("%s %s at %s: %s (%s)", f.Severity, f.Slug, f.Cell(), f.Found, f.Why)
				}
			}
			t.Log(c.At.A1(), c.To.A1(), c.Layout, len(c.Rows), c.Rows[0], c.DepthUnit, c.VolumeUnit)
		})
	}
}

// plainRows counts the lines of a file whose first two cells that are not empty
// are numbers.
func plainRows(t *testing.T, path string) int {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	r := csv.NewReader(strings.NewReader(strings.TrimPrefix(string(data), "\ufeff")))
	r.FieldsPerRecord = -1
	lines, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, l := range lines {
		numbers := 0
		for _, f := range l {
			if f = strings.TrimSpace(f); f == "" {
				continue
			}
			if c, _, _ := look.TextClass([]byte(f)); c != look.NumberCell {
				break
			}
			numbers++
		}
		if numbers >= 2 {
			n++
		}
	}
	return n
}
