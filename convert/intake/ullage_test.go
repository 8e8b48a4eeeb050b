package intake

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"dropcut/convert/grid"
	"dropcut/convert/intake/intaketest"
	"dropcut/plan/unit"
)

// ullageRows is a tank 96 in high that holds 100 gal an inch, by its ullage.
func ullageRows() string {
	var b strings.Builder
	for u := range 97 {
		fmt.Fprintf(&b, "\n%d|%d", u, 9600-100*u)
	}
	return b.String()
}

// What turns ullages into depths may stand in the tank list or come from the
// user; it is used and said, and never guessed.
func TestUllagesThatTheListTurns(t *testing.T) {
	const head = "Tank|Inside diameter (in)|Length (in)|Shape|Chart depth unit|Chart volume unit|Chart\n"
	for _, c := range []struct {
		name, list, chart string
		opt               Options
		turned            bool
		want              []string
	}{
		{
			name: "a height from the list", list: head + "UL-1|96|240||||", chart: "Ullage (in)|Volume (gal)", turned: true,
			want: []string{"ullage-turned-by-list note UL-1 UL-1!A1"},
		},
		{
			name: "the length of a tank that stands", list: head + "UL-1|60|96|vertical|||", chart: "Ullage (in)|Volume (gal)", turned: true,
			want: []string{"ullage-turned-by-list note UL-1 UL-1!A1"},
		},
		{
			name: "the diameter of a tank that stands is no height", list: head + "UL-1|96||upright|||", chart: "Ullage (in)|Volume (gal)",
			want: []string{"ullage-without-height stop UL-1 UL-1!A1"},
		},
		{
			name: "no height anywhere", list: head + "UL-1||||in||", chart: "Ullage (in)|Volume (gal)",
			want: []string{"ullage-without-height stop UL-1 UL-1!A1"},
		},
		{
			name: "units from the list, height above the chart", list: head + "UL-1||||in|gal|", chart: "Inside diameter: 96 in|\nUllage|Contents", turned: true,
			want: []string{"ullage-turned-by-list note UL-1 UL-1!A2"},
		},
		{
			name: "units from the user, a bare height above the chart", list: head + "UL-1||||||", chart: "Inside diameter|96\nUllage|Contents", turned: true,
			opt:  Options{ChartDepthUnit: unit.Inches, ChartVolumeUnit: unit.USGallons},
			want: []string{"units-assumed note UL-1 UL-1!A3", "ullage-turned-by-list note UL-1 UL-1!A2"},
		},
		{
			name: "units and height from the list", list: head + "UL-1|96|||in|gal|", chart: "Ullage|Contents", turned: true,
			want: []string{"ullage-turned-by-list note UL-1 UL-1!A1"},
		},
		{
			name: "a height and no units", list: head + "UL-1|96|||||", chart: "Ullage|Contents",
			want: []string{"units-unknown stop UL-1 UL-1!A1:B1"},
		},
		{
			name: "a height below the largest ullage", list: head + "UL-1|84|||||", chart: "Ullage (in)|Volume (gal)", turned: false,
			want: []string{"ullage-unclear stop UL-1 UL-1!A98", "ullage-turned-by-list note UL-1 UL-1!A1"},
		},
		{
			name: "tanks of two heights share the chart", list: head + "UL-1|96|||||UL-1\nUL-2|84|||||UL-1", chart: "Ullage (in)|Volume (gal)",
			want: []string{"ullage-without-height stop UL-1 UL-1!A1", "ullage-without-height stop UL-2 UL-1!A1"},
		},
		{
			name: "tanks of one height share the chart", list: head + "UL-1|96|||||UL-1\nUL-2|96|||||UL-1", chart: "Ullage (in)|Volume (gal)", turned: true,
			want: []string{"ullage-turned-by-list note UL-1 UL-1!A1", "ullage-turned-by-list note UL-2 UL-1!A1"},
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := mustRead(t, c.opt, book("b.xlsx", "Tanks", c.list, "UL-1", c.chart+ullageRows()))
			intaketest.WantSaid(t, r.Job.Findings, c.want...)
			ch := r.Job.Charts[0]
			for i, row := range ch.Rows {
				switch {
				case c.turned && (row.Depth != float64(i) || row.Volume != 100*float64(i)):
					t.Fatalf("row %d is %v in, %v gal", i, row.Depth, row.Volume)
				case !c.turned && !ch.FullHeight.Given() && !math.IsNaN(row.Depth):
					t.Fatalf("row %d has the depth %v, and nobody gave a height and a unit", i, row.Depth)
				}
			}
			if c.turned != (ch.FullHeight.Given() && scaleKnown(ch) && ch.FullHeight.V == 96) {
				t.Errorf("height %+v", ch.FullHeight)
			}
		})
	}
}

// Notes that leave the height to the list are turned by it too.
func TestNotesLeaveTheHeightToTheList(t *testing.T) {
	b := book("b.xlsx", "Tanks", "Tank|Inside diameter (in)\nUL-1|96", "UL-1", "Ullage (in)|Volume (gal)"+ullageRows())
	books := []grid.Book{b}
	first := mustRead(t, Options{}, books...)
	notes, err := saved(t, first, books, func(s string) string { return strings.Replace(s, ",yes,96 in", ",yes,", 1) })
	if err != nil {
		t.Fatal(err)
	}
	r := mustRead(t, Options{Notes: notes}, books...)
	intaketest.WantSaid(t, r.Job.Findings, "ullage-turned-by-list note UL-1 UL-1!A98")
	if c := r.Job.Charts[0]; c.Rows[0].Depth != 0 || c.Rows[96].Depth != 96 {
		t.Errorf("rows %v to %v", c.Rows[0], c.Rows[96])
	}
}
