package main

import (
	"archive/zip"
	"bufio"
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// typed is one cell of a large book that a person has typed anew.
type typed struct {
	tank int // from 0
	row  int // of its chart, from 0; -1 for the riser height
	add  float64
}

// largeBook writes a workbook of as many tanks, each with a chart of 201 rows, all
// in one long sheet, as XML by hand. sorted says that the list and the charts stand
// in the other order.
func largeBook(t testing.TB, path string, tanks int, edits []typed, sorted bool) {
	t.Helper()
	const head = `<?xml version="1.0" encoding="UTF-8" standalone="yes"?>` + "\n"
	const main, rels, pack = "http://schemas.openxmlformats.org/spreadsheetml/2006/main", "http://schemas.openxmlformats.org/officeDocument/2006/relationships", "http://schemas.openxmlformats.org/package/2006/"
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z := zip.NewWriter(f)
	part := func(name string, write func(w *bufio.Writer)) {
		w, err := z.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		b := bufio.NewWriter(w)
		_, _ = b.WriteString(head)
		write(b)
		if err := b.Flush(); err != nil {
			t.Fatal(err)
		}
	}
	text := func(s string) func(*bufio.Writer) { return func(w *bufio.Writer) { _, _ = w.WriteString(s) } }
	names := []string{"Tanks", "Charts", "Devices"}
	list, types, targets := "", "", ""
	for i, name := range names {
		list += fmt.Sprintf(`<sheet name="%s" sheetId="%d" r:id="r%d"/>`, name, i+1, i+1)
		types += fmt.Sprintf(`<Override PartName="/xl/worksheets/s%d.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/>`, i+1)
		targets += fmt.Sprintf(`<Relationship Id="r%d" Type="%s/worksheet" Target="worksheets/s%d.xml"/>`, i+1, rels, i+1)
	}
	part("[Content_Types].xml", text(`<Types xmlns="`+pack+`content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/>`+types+`</Types>`))
	part("_rels/.rels", text(`<Relationships xmlns="`+pack+`relationships"><Relationship Id="r1" Type="`+rels+`/officeDocument" Target="xl/workbook.xml"/></Relationships>`))
	part("xl/workbook.xml", text(`<workbook xmlns="`+main+`" xmlns:r="`+rels+`"><sheets>`+list+`</sheets></workbook>`))
	part("xl/_rels/workbook.xml.rels", text(`<Relationships xmlns="`+pack+`relationships">`+targets+`</Relationships>`))
	rows := func(w *bufio.Writer, n *int, cells ...any) {
		*n++
		fmt.Fprintf(w, `<row r="%d">`, *n)
		for i, c := range cells {
			if v, ok := c.(float64); ok {
				fmt.Fprintf(w, `<c r="%c%d"><v>%g</v></c>`, 'A'+i, *n, v)
			} else {
				fmt.Fprintf(w, `<c r="%c%d" t="inlineStr"><is><t>%s</t></is></c>`, 'A'+i, *n, c)
			}
		}
		_, _ = w.WriteString("</row>")
	}
	sheet := func(i int, write func(w *bufio.Writer, n *int)) {
		part(fmt.Sprintf("xl/worksheets/s%d.xml", i), func(w *bufio.Writer) {
			fmt.Fprintf(w, `<worksheet xmlns="%s"><sheetData>`, main)
			n := 0
			write(w, &n)
			_, _ = w.WriteString("</sheetData></worksheet>")
		})
	}
	order := make([]int, tanks)
	for i := range order {
		order[i] = i
	}
	if sorted {
		slices.Reverse(order)
	}
	changed := map[[2]int]float64{}
	for _, e := range edits {
		changed[[2]int{e.tank, e.row}] = e.add
	}
	sheet(1, func(w *bufio.Writer, n *int) {
		rows(w, n, "Site", "Tank", "Place", "Device", "Riser height (in)", "Face to bottom (in)", "Inside diameter (in)", "Length (in)", "Shape", "Ends")
		for _, i := range order {
			rows(w, n, largeSite(i), largeName(i), "US-federal", "Alder 4", largeRiser(i)+changed[[2]int{i, -1}], largeRiser(i)+100.25, 100.0, largeLength(i), "horizontal cylinder", "flat")
		}
	})
	sheet(2, func(w *bufio.Writer, n *int) {
		rows(w, n, "Tank", "Depth (in)", "Volume (gal)")
		for _, i := range order {
			for k := range 201 {
				rows(w, n, largeName(i), float64(k)/2, largeVolume(i, k)+changed[[2]int{i, k}])
			}
		}
	})
	sheet(3, func(w *bufio.Writer, n *int) {
		rows(w, n, "Device", "Shutoff drop (in)", "Least tube below tank top (in)", "Least upper tube (in)", "Body length (in)", "Source")
		rows(w, n, "Alder 4", 0.5, 0.25, 12.0, 2.0, "invented")
	})
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
}

func largeSite(i int) string    { return fmt.Sprintf("Site %d", i/4) }
func largeName(i int) string    { return fmt.Sprintf("K-%d", i) }
func largeRiser(i int) float64  { return 30 + float64(i%16)/8 }
func largeLength(i int) float64 { return 240 + float64(i%50) }

// largeVolume is what a cylinder on its side holds (a segment of a circle times
// the length), 231 cubic inches a gallon, in whole gallons.
func largeVolume(i, k int) float64 {
	const r = 50.0
	h := float64(k) / 2
	return math.Round((r*r*math.Acos((r-h)/r) - (r-h)*math.Sqrt(max(0, 2*r*h-h*h))) * largeLength(i) / 231)
}

// Two books that differ in 50 known cells, the one sorted the other way: exactly
// those 50 are told, each with its cell, and nothing of a book against itself.
func TestDiffTellsExactlyWhatWasChanged(t *testing.T) {
	tanks := 120
	if os.Getenv("DROPCUT_LONG") != "" {
		tanks = 5000
	}
	dir := t.TempDir()
	old, now := filepath.Join(dir, "old.xlsx"), filepath.Join(dir, "now.xlsx")
	var edits []typed
	var want []string
	for n := range 50 {
		e := typed{tank: n * tanks / 50, row: 20 + 3*n, add: 1}
		i := e.tank
		line := ""
		if n%5 == 0 {
			e.row, e.add = -1, 0.125
			line = fmt.Sprintf("tank|%s|%s|riser height|%g|%g|E%d", largeSite(i), largeName(i), largeRiser(i), largeRiser(i)+e.add, tanks-i+1)
		} else {
			v := largeVolume(i, e.row)
			line = fmt.Sprintf("chart|%s|%s|volume at %g in|%g|%g|C%d", largeSite(i), largeName(i), float64(e.row)/2, v, v+1, (tanks-1-i)*201+e.row+2)
		}
		edits, want = append(edits, e), append(want, line)
	}
	largeBook(t, old, tanks, nil, false)
	largeBook(t, now, tanks, edits, true)
	diff := func(a, b string) [][]string {
		var out, errs bytes.Buffer
		if status := run(context.Background(), []string{"dropcut", "diff", "--quiet", "--format", "csv", a, b}, nil, &out, &errs); status != statusDone {
			t.Fatalf("diff ended with %d: %s", status, errs.String())
		}
		list, err := csv.NewReader(&out).ReadAll()
		if err != nil || len(list) == 0 {
			t.Fatal(err, list)
		}
		return list
	}
	if list := diff(old, old); len(list) != 1 {
		t.Errorf("a book differs from itself: %v", list[1])
	}
	list := diff(old, now)
	at := map[string]int{}
	for i, name := range list[0] {
		at[name] = i
	}
	var got []string
	followed := 0
	for _, r := range list[1:] {
		if r[at["subject"]] == "cut" {
			followed++
			continue
		}
		cell := r[at["new_cell"]]
		got = append(got, strings.Join([]string{r[at["subject"]], r[at["site"]], r[at["tank"]], r[at["what"]], r[at["old"]], r[at["new"]], cell[strings.LastIndex(cell, "!")+1:]}, "|"))
	}
	slices.Sort(got)
	slices.Sort(want)
	if !slices.Equal(got, want) {
		t.Errorf("of 50 changes %d are told:\n%s\nwant\n%s", len(got), strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	if followed == 0 {
		t.Error("nothing followed from other riser heights")
	}
}

// BenchmarkDiff is a book of 100 tanks and 20,100 rows against itself.
func BenchmarkDiff(b *testing.B) {
	path := filepath.Join(b.TempDir(), "old.xlsx")
	largeBook(b, path, 100, nil, false)
	for b.Loop() {
		if status := run(context.Background(), []string{"dropcut", "diff", "--quiet", path, path}, nil, io.Discard, io.Discard); status != statusDone {
			b.Fatal(status)
		}
	}
}
