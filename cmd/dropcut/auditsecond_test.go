package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// plannedTanks are tanks of an invented scenario: one that is ready, one tilted,
// one with a tube as found, one that lacks its measures, one with a stop.
var plannedTanks = [][]string{
	{"Site", "Tank", "Place", "Device", "Riser height (in)", "Face to bottom (in)", "Inside diameter (in)", "Length (in)", "Rise end to end (in)", "Low end", "Fill station (in)", "As-found upper tube (in)", "Chart"},
	{"Harbor Road", "T-1", "US-federal", "Alder 4", "36", "132", "96", "320", "", "", "", "", "C"},
	{"Harbor Road", "T-2", "US-federal", "Alder 4", "30 1/2", "126 1/2", "96", "320", "2", "other end", "24", "", "C"},
	{"Mill Lane", "T-3", "US-federal", "Alder 4", "40", "136", "96", "320", "", "", "", "44 1/4", "C"},
	{"Mill Lane", "T-4", "US-federal", "Alder 4", "", "", "96", "320", "", "", "", "", "C"},
	{"Mill Lane", "T-5", "US-federal", "Alder 4", "4", "100", "96", "320", "", "", "", "", "C"},
}

// plannedBook writes the book as a folder of CSV and as a workbook, and plans
// both.
func plannedBook(t *testing.T, dir string) (folder, book string) {
	t.Helper()
	charts := [][]string{{"Chart", "Depth (in)", "Volume (gal)"}}
	for h := 0; h <= 96; h++ {
		u := 1 - float64(h)/48
		v := 320 * 48 * 48 * (math.Acos(u) - u*math.Sqrt(1-u*u)) / 231 // a circle's segment
		charts = append(charts, []string{"C", strconv.Itoa(h), strconv.Itoa(int(math.Round(v)))})
	}
	devices := [][]string{
		{"Device", "Shutoff drop (in)", "Least tube below tank top (in)", "Least upper tube (in)", "Body length (in)", "Source"},
		{"Alder 4", "2.375", "5.75", "14.5", "12.875", "invented"},
	}
	folder, book = filepath.Join(dir, "portfolio"), filepath.Join(dir, "tanks.xlsx")
	if err := os.Mkdir(folder, 0o777); err != nil {
		t.Fatal(err)
	}
	f := excelize.NewFile()
	defer f.Close()
	for _, s := range []struct {
		name string
		rows [][]string
	}{{"Tanks", plannedTanks}, {"Charts", charts}, {"Devices", devices}} {
		var b bytes.Buffer
		if err := csv.NewWriter(&b).WriteAll(s.rows); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(folder, strings.ToLower(s.name)+".csv"), b.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
		if _, err := f.NewSheet(s.name); err != nil {
			t.Fatal(err)
		}
		for r, row := range s.rows {
			for c, text := range row {
				at, _ := excelize.CoordinatesToCellName(c+1, r+1)
				var v any = text
				if n, err := strconv.ParseFloat(text, 64); err == nil {
					v = n
				}
				if text == "" {
					continue
				}
				if err := f.SetCellValue(s.name, at, v); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
	if err := f.DeleteSheet("Sheet1"); err != nil {
		t.Fatal(err)
	}
	if err := f.SaveAs(book); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{folder, book} {
		say(t, "plan", "--quiet", path)
	}
	return folder + "-planned", strings.TrimSuffix(book, ".xlsx") + "-planned.xlsx"
}

// say runs a command that must end well, or with a stop, and gives what it prints.
func say(t *testing.T, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	if code := run(context.Background(), append([]string{"dropcut"}, args...), strings.NewReader(""), &out, &errs); code != 0 && code != 3 {
		t.Fatalf("%q ends with %d: %s", args, code, errs.String())
	}
	return out.String()
}

// notConfirmed gives the cells that the audit of a planned book names.
func notConfirmed(t *testing.T, path string) (cells []string, severity []string) {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(say(t, "audit", "--quiet", "--format", "csv", path))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range rows[1:] {
		if r[8] == "figure-not-confirmed" {
			cells, severity = append(cells, r[2]), append(severity, r[7])
		}
	}
	return cells, severity
}

// other gives something that a person might type over a figure.
func other(text string) string {
	switch v, err := strconv.ParseFloat(text, 64); {
	case text == "":
		return "12.5"
	case err == nil:
		return strconv.FormatFloat(v-0.5, 'g', -1, 64)
	case text == "ready":
		return "check"
	case strings.HasSuffix(text, " in"):
		return "41 1/2 in"
	}
	return "ready"
}

// Every figure of a planned workbook and of a planned CSV folder is changed by
// hand, one at a time: the audit names that very cell, and nothing where nothing
// was changed. CSV is tried with the check words beside it and without them.
func TestSecondOpinion(t *testing.T) {
	dir := t.TempDir()
	folder, book := plannedBook(t, dir)
	file := filepath.Join(folder, "tanks.csv")
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	first := len(plannedTanks[0])
	if n := len(rows[0]) - first; n != 20 {
		t.Fatalf("%d columns of a plan", n)
	}
	part := 0 // each way takes a third of the cells, all of them where there is time
	each := func(name, path string, set func(row, col int, text string)) {
		if cells, _ := notConfirmed(t, path); cells != nil {
			t.Errorf("%s: %v named in a plan that nobody touched", name, cells)
		}
		for row := 1; row < len(rows); row++ {
			for col := first; col < len(rows[0]); col++ {
				if os.Getenv("DROPCUT_LONG") == "" && (row+col+part)%3 != 0 {
					continue
				}
				was := rows[row][col]
				set(row, col, other(was))
				at, _ := excelize.CoordinatesToCellName(col+1, row+1)
				if cells, _ := notConfirmed(t, path); len(cells) != 1 || cells[0] != at {
					t.Errorf("%s: %s of %s changed from %q to %q in %s: %v named", name, rows[0][col], rows[row][1], was, other(was), at, cells)
				}
				set(row, col, was)
			}
		}
		part++
	}
	inFile := func(row, col int, text string) {
		changed := make([][]string, len(rows))
		for i := range rows {
			changed[i] = append([]string(nil), rows[i]...)
		}
		changed[row][col] = text
		var b bytes.Buffer
		if err := csv.NewWriter(&b).WriteAll(changed); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, b.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	each("CSV", folder, inFile)
	if err := os.Remove(filepath.Join(folder, "sources.csv")); err != nil {
		t.Fatal(err)
	}
	each("CSV without check words", folder, inFile)

	f, err := excelize.OpenFile(book)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	each("workbook", book, func(row, col int, text string) {
		at, _ := excelize.CoordinatesToCellName(col+1, row+1)
		var v any = text
		if n, err := strconv.ParseFloat(text, 64); err == nil {
			v = n
		} else if text == "" {
			v = nil
		}
		if err := f.SetCellValue("Tanks", at, v); err != nil {
			t.Fatal(err)
		}
		if err := f.Save(); err != nil {
			t.Fatal(err)
		}
	})
}

// A tube that would shut off above the limit is a stop, one that is too long a
// check; an input that was changed after the plan is said as such.
func TestSecondOpinionSaysWhatHappens(t *testing.T) {
	folder, _ := plannedBook(t, t.TempDir())
	file := filepath.Join(folder, "tanks.csv")
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	tube := -1
	for i, h := range rows[0] {
		if strings.HasPrefix(h, "Plan: Upper tube cut") {
			tube = i
		}
	}
	planned, err := strconv.ParseFloat(rows[1][tube], 64)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		col  int
		text string
		want string
	}{
		{tube, fmt.Sprint(planned - 3), "stop"},
		{tube, fmt.Sprint(planned + 3), "check"},
		{5, "132 1/8", "check"}, // measured anew
	} {
		was := rows[1][c.col]
		rows[1][c.col] = c.text
		var b bytes.Buffer
		if err := csv.NewWriter(&b).WriteAll(rows); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, b.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
		if cells, severity := notConfirmed(t, folder); len(cells) != 1 || severity[0] != c.want {
			t.Errorf("%s instead of %s: %v %v", c.text, was, cells, severity)
		}
		rows[1][c.col] = was
	}
}
