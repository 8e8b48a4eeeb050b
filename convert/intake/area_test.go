package intake

import (
	"fmt"
	"strings"
	"testing"

	"dropcut/convert/grid"
	"dropcut/convert/intake/intaketest"
)

// besideEach puts the lines of texts side by side, with a blank column between.
func besideEach(wide []int, texts ...string) string {
	var lines [][]string
	n := 0
	for _, t := range texts {
		l := strings.Split(strings.TrimRight(t, "\n"), "\n")
		lines = append(lines, l)
		n = max(n, len(l))
	}
	var b strings.Builder
	for i := range n {
		for k, l := range lines {
			text := ""
			if i < len(l) {
				text = l[i]
			}
			b.WriteString(text + strings.Repeat("|", max(0, wide[k]-strings.Count(text, "|"))))
		}
		b.WriteString("\n")
	}
	return b.String()
}

// A list of tanks and charts on one sheet: each is found, wherever it stands, and
// no measure of the list passes for a depth.
func TestListAndChartsOnOneSheet(t *testing.T) {
	const list = "Tank|Capacity (gal)|Riser height (in)\nA-1|10000|40\nB-1|10000|41\n"
	wide := "Depth (in)|A-1 (gal)|B-1 (gal)\n" + intaketest.RunOf(0, 100, 1, func(d float64) string {
		return intaketest.Num(d) + "|" + intaketest.Num(100*d) + "|" + intaketest.Num(100*d)
	})
	long := "Tank|Depth (in)|Volume (gal)" + longRows("A-1", "B-1") + "\n"
	stacked := "Tank A-1|\nDepth (in)|Volume (gal)" + onlyRows() + "\n\nTank B-1|\nDepth (in)|Volume (gal)" + onlyRows() + "\n"
	onSide := func(id string) string {
		s := "Tank " + id + "|\nDepth (in)"
		for d := range 101 {
			s += fmt.Sprintf("|%d", d)
		}
		s += "\nVolume (gal)"
		for d := range 101 {
			s += fmt.Sprintf("|%d", 100*d)
		}
		return s + "\n"
	}
	short := "Tank|Depth (in)|Volume (gal)\n"
	for _, id := range []string{"A-1", "B-1"} {
		for d := 0; d <= 100; d += 10 {
			short += fmt.Sprintf("%s|%d|%d\n", id, d, 100*d)
		}
	}
	for _, c := range []struct {
		name, text string
		rows       int
		lastCol    int
	}{
		{"above a long chart", list + "\n\n" + long, 101, 3},
		{"right above a long chart", list + long, 101, 3},
		{"above tanks across", list + "\nCalibration charts|\n\n" + wide, 101, 3},
		{"above stacked charts", list + "\n\n" + stacked, 101, 3},
		{"above charts on their side", list + "\n" + onSide("A-1") + "\n" + onSide("B-1"), 101, 3},
		{"below a long chart", long + "\n\n" + list, 101, 3},
		{"below a short chart", short + "\n\n" + list, 11, 3},
		{"below stacked charts", stacked + "\n\nList of tanks|\n" + list, 101, 3},
		{"left of a long chart", besideEach([]int{4, 0}, list, long), 101, 7},
		{"right of a long chart", besideEach([]int{5, 0}, long, list), 101, 8},
		{"left of tanks across", besideEach([]int{4, 0}, list, wide), 101, 7},
		{"right of stacked charts", besideEach([]int{4, 0}, stacked, "\n"+list), 101, 7},
		{"left of a long chart, without a column between", besideEach([]int{3, 0}, list, long), 101, 6},
	} {
		for _, tab := range []string{"Sheet1", ""} {
			file := "b.xlsx"
			if tab == "" {
				file = "b.csv"
			}
			t.Run(c.name+" "+file, func(t *testing.T) {
				r := mustRead(t, Options{}, intaketest.Book{File: file, List: []intaketest.Sheet{{File: file, Name: tab, Text: c.text}}})
				notes := r.Job.Findings[:0:0]
				for _, f := range r.Job.Findings {
					if tab != "" || f.Slug != "number-as-text" {
						notes = append(notes, f)
					}
				}
				intaketest.WantSaid(t, notes)
				if len(r.Job.Tanks) != 2 || len(r.Job.Charts) != 2 || len(r.Lists) != 1 {
					t.Fatalf("%d tanks, %d charts, %d lists", len(r.Job.Tanks), len(r.Job.Charts), len(r.Lists))
				}
				for i, tk := range r.Job.Tanks {
					if k := r.Job.ChartOf[i]; k < 0 || r.Job.Charts[k].Name != tk.ID.V || r.Job.Charts[k].Len() != c.rows || tk.RiserHeight.Raw != fmt.Sprint(40+i) {
						t.Errorf("tank %s with riser %s got chart %d", tk.ID.V, tk.RiserHeight.Raw, k)
					}
				}
				l := r.Lists[0]
				if l.LastCol != c.lastCol || len(l.Rows) != 2 || l.Rows[1] != l.Rows[0]+1 || l.HeaderRow != l.Rows[0]-1 {
					t.Errorf("the list is %+v", l)
				}
				// The same by its own notes.
				books := []grid.Book{intaketest.Book{File: file, List: []intaketest.Sheet{{File: file, Name: tab, Text: c.text}}}}
				n, err := saved(t, r, books, func(s string) string { return strings.Replace(s, ",point,", ",,", 1) })
				if err != nil {
					t.Fatal(err)
				}
				again := mustRead(t, Options{Notes: n}, books...)
				if len(again.Job.Tanks) != 2 || len(again.Job.Charts) != 2 || again.Job.ChartOf[1] != 1 {
					t.Errorf("by its notes: %d tanks, %d charts, %v", len(again.Job.Tanks), len(again.Job.Charts), again.Job.ChartOf)
				}
			})
		}
	}
}

// The columns that an earlier run wrote behind a chart beside the list go with
// the list.
func TestOwnColumnsBehindAChart(t *testing.T) {
	text := besideEach([]int{4, 4, 0}, "Tank|Capacity (gal)|Riser height (in)\nA-1|10000|40\nB-1|10000|41\n", "Tank|Depth (in)|Volume (gal)"+longRows("A-1", "B-1"), "Plan: Shutoff depth (in)|Plan: Status\n94|ready\n94|ready\n")
	r := mustRead(t, Options{}, book("b.xlsx", "Sheet1", text))
	intaketest.WantSaid(t, r.Job.Findings)
	if len(r.Job.Tanks) != 2 || len(r.Job.Charts) != 2 || len(r.Lists) != 1 || r.Lists[0].Ours["Plan: Status"] != 10 || r.Lists[0].LastCol != 10 {
		t.Errorf("%d tanks, %d charts, lists %+v", len(r.Job.Tanks), len(r.Job.Charts), r.Lists)
	}
}
