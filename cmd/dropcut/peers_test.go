package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"dropcut/convert/peer"
)

// plannedDemo makes the demonstration, and gives the path of the planned book
// and its plan as the program prints it.
func plannedDemo(t *testing.T) (book string, plan [][]string) {
	t.Helper()
	dir := t.TempDir()
	var out, errs bytes.Buffer
	if status := run(context.Background(), []string{"dropcut", "demo", dir}, nil, &out, &errs); status != statusDone {
		t.Fatalf("demo ended with %d: %s", status, errs.String())
	}
	out.Reset()
	source := filepath.Join(dir, "brookfen-tanks.xlsx")
	if status := run(context.Background(), []string{"dropcut", "plan", "--dry-run", "--format", "csv", source}, nil, &out, &errs); status != statusStops {
		t.Fatalf("plan ended with %d: %s", status, errs.String())
	}
	rows, err := csv.NewReader(&out).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return filepath.Join(dir, "brookfen-tanks-planned.xlsx"), rows
}

// samePlan compares the Plan columns of a tank list, as another program reads
// them, with the plan that the program prints, to a relative difference.
func samePlan(t *testing.T, list, plan [][]string, relative float64) {
	t.Helper()
	head := slices.IndexFunc(list, func(r []string) bool { return slices.Contains(r, "Plan: Status") })
	if head < 0 {
		t.Fatal("there is no column Plan: Status")
	}
	column := func(row []string, name string) int {
		return slices.IndexFunc(row, func(s string) bool { return strings.HasPrefix(s, name) })
	}
	tank := column(list[head], "Tank")
	compared := 0
	for _, p := range plan[1:] {
		i := slices.IndexFunc(list, func(r []string) bool { return len(r) > tank && r[tank] == p[2] })
		if i < 0 {
			t.Errorf("tank %s is not on the sheet", p[2])
			continue
		}
		for _, pair := range [][2]string{
			{"Plan: Full volume", "full_volume"},
			{"Plan: Shutoff depth", "shutoff_depth"},
			{"Plan: Shutoff %", "shutoff_percent"},
			{"Plan: Upper tube cut", "upper_tube"},
			{"Plan: Lower tube cut", "lower_tube"},
			{"Plan: Status", "status"},
		} {
			got := list[i][column(list[head], pair[0])]
			want := p[column(plan[0], pair[1])]
			g, err1 := strconv.ParseFloat(got, 64)
			w, err2 := strconv.ParseFloat(want, 64)
			if got != want && (err1 != nil || err2 != nil || math.Abs(g-w) > relative*math.Abs(w)) {
				t.Errorf("tank %s, %s: %q, the plan says %q", p[2], pair[0], got, want)
			}
			compared++
		}
	}
	if compared < 100 {
		t.Errorf("only %d values were compared", compared)
	}
}

const openpyxlDump = `
import csv, sys, openpyxl
sheet = openpyxl.load_workbook(sys.argv[1], data_only=True)["Tanks"]
out = csv.writer(sys.stdout)
for row in sheet.iter_rows(values_only=True):
    out.writerow(["" if v is None else repr(v) if isinstance(v, float) else v for v in row])
`

func TestOpenpyxlReadsThePlannedBook(t *testing.T) {
	python := peer.Python(t)
	book, plan := plannedDemo(t)
	rows, err := csv.NewReader(strings.NewReader(peer.Output(t, python, "-c", openpyxlDump, book))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	samePlan(t, rows, plan, 0) // to the last bit
}

// LibreOffice opens the book, saves it as a workbook of its own, and the values
// are still there.
func TestLibreOfficeReadsThePlannedBook(t *testing.T) {
	python := peer.Python(t)
	book, plan := plannedDemo(t)
	saved := peer.Convert(t, book, "xlsx")
	if _, err := os.Stat(saved); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(strings.NewReader(peer.Output(t, python, "-c", openpyxlDump, saved))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	// LibreOffice writes numbers with 15 digits.
	samePlan(t, rows, plan, 1e-14)
}
