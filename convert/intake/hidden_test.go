package intake

import (
	"fmt"
	"strings"
	"testing"

	"dropcut/convert/grid"
	"dropcut/convert/intake/intaketest"
)

// Hidden rows and columns are read, and every table that has some is told of.
func TestHiddenPartsAreReadAndTold(t *testing.T) {
	cols := func(from, to int) []grid.Range {
		return []grid.Range{{Col: from, ToCol: to, Row: 1, ToRow: 1 << 20}}
	}
	sideways := "Tank HS-2|\nDepth (in)"
	for d := range 20 {
		sideways += fmt.Sprintf("|%d", d)
	}
	sideways += "\n~Volume (gal)"
	for d := range 20 {
		sideways += fmt.Sprintf("|%d", 100*d)
	}
	for _, c := range []struct {
		name   string
		text   string
		hidden []grid.Range
		charts int
		want   []string
	}{
		{"the volume of a list", "Tank|Depth (in)|Volume (gal)|Checked by" + longRows("A", "B"), cols(3, 3), 2, []string{"hidden-columns note  Charts!C1:C203"}},
		{"tanks across", "Depth (in)|HC-1 (gal)|HC-2 (gal)|HC-3 (gal)\n" + intaketest.RunOf(0, 60, 1, func(d float64) string {
			return intaketest.Num(d) + "|" + intaketest.Num(90*d) + "|" + intaketest.Num(80*d) + "|" + intaketest.Num(70*d)
		}), cols(3, 4), 3, []string{"hidden-columns note  Charts!C1:D62"}},
		{"columns that are none of the chart's", "Tank|Depth (in)|Volume (gal)|Checked by" + longRows("A"), cols(4, 9), 1, nil},
		{"on its side", sideways, cols(5, 6), 1, []string{"hidden-rows note HS-2 Charts!3", "hidden-columns note HS-2 Charts!E2:F3"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := intaketest.Book{File: "b.xlsx", List: []intaketest.Sheet{{File: "b.xlsx", Name: "Charts", Text: c.text, ColsHidden: c.hidden}}}
			r := mustRead(t, Options{}, b)
			intaketest.WantSaid(t, r.Job.Findings, c.want...)
			if len(r.Job.Charts) != c.charts {
				t.Errorf("%d charts", len(r.Job.Charts))
			}
		})
	}
	list := intaketest.Sheet{
		File: "b.xlsx", Name: "Tanks", ColsHidden: cols(2, 4),
		Text: "Tank|Capacity (gal)|Remark of mine|Riser height (in)\nA|10000||40\n~B|10000||40\n~C|10000||40\nD|10000||40",
	}
	charts := intaketest.Sheet{File: "b.xlsx", Name: "Charts", Text: "Tank|Depth (in)|Volume (gal)" + longRows("A", "B", "C", "D")}
	r := mustRead(t, Options{}, intaketest.Book{File: "b.xlsx", List: []intaketest.Sheet{list, charts}})
	intaketest.WantSaid(t, r.Job.Findings, "hidden-columns note  Tanks!B1:B5", "hidden-columns note  Tanks!D1:D5", "hidden-rows note  Tanks!3:4")
	if len(r.Job.Tanks) != 4 {
		t.Errorf("%d tanks", len(r.Job.Tanks))
	}
}

// Ids that are merged down hundreds of rows each, in a sheet much longer than
// what is looked at at once: every row gets the id that the eye sees.
func TestTallMergedIdsOfALongSheet(t *testing.T) {
	var b strings.Builder
	b.WriteString("Tank|Depth (in)|Volume (gal)")
	var areas []grid.Range
	row := 2
	for k := range 30 {
		for d := range 150 {
			id := ""
			if d == 0 {
				id = fmt.Sprintf("TM-%02d", k)
			}
			// Falls of depth tell nothing here: each tank's chart begins where
			// the last one's ended.
			fmt.Fprintf(&b, "\n%s|%d|%d", id, 150*k+d, 100*(150*k+d))
		}
		areas = append(areas, grid.Range{Col: 1, Row: row, ToCol: 1, ToRow: row + 149})
		row += 150
	}
	s := intaketest.Sheet{File: "b.xlsx", Name: "Charts", Text: b.String(), Merged: areas}
	r := mustRead(t, Options{}, intaketest.Book{File: "b.xlsx", List: []intaketest.Sheet{s}})
	if len(r.Job.Charts) != 30 {
		t.Fatalf("%d charts, findings %v", len(r.Job.Charts), intaketest.Said(r.Job.Findings))
	}
	for k, c := range r.Job.Charts {
		if c.Name != fmt.Sprintf("TM-%02d", k) || c.Len() != 150 {
			t.Errorf("chart %d is %s with %d rows", k, c.Name, c.Len())
		}
	}
	// Volumes merged over two rows each: the eye sees both rows.
	b.Reset()
	b.WriteString("Depth (in)|Volume (gal)")
	areas = nil
	for d := range 3000 {
		v := ""
		if d%2 == 0 {
			v = fmt.Sprint(50 * d)
			areas = append(areas, grid.Range{Col: 2, Row: d + 2, ToCol: 2, ToRow: d + 3})
		}
		fmt.Fprintf(&b, "\n%g|%s", float64(d)/10, v)
	}
	s = intaketest.Sheet{File: "b.xlsx", Name: "TM-99", Text: b.String(), Merged: areas}
	r = mustRead(t, Options{}, intaketest.Book{File: "b.xlsx", List: []intaketest.Sheet{s}})
	if len(r.Job.Charts) != 1 || r.Job.Charts[0].Len() != 3000 || r.Job.Charts[0].Rows[2999].Volume != 50*2998 {
		t.Fatalf("%d charts, findings %v", len(r.Job.Charts), intaketest.Said(r.Job.Findings))
	}
}
