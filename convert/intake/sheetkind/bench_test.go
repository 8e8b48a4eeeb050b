package sheetkind

import (
	"fmt"
	"strings"
	"testing"

	"dropcut/convert/intake/headword"
	"dropcut/convert/intake/intaketest"
)

// BenchmarkClassify settles what the three usual sheets of a book are: a list of
// tanks with 20 columns, a chart in a sheet of its own, charts in a long text file.
func BenchmarkClassify(b *testing.B) {
	var list, chart, long strings.Builder
	list.WriteString("Portfolio of the Moorfield depots\n\nSite|Tank|Product|Capacity (gal)|Inside diameter (in)|Length (ft)|End shape|Depth unit|Volume unit|Chart|Place|Limit %|Device|Fill pipe installed|Riser height (in)|Face to bottom (in)|Seal|Low end|Fill station (in)|Last inspection\n")
	chart.WriteString("Calibration chart\nTank MB-1, Moorfield depot, north yard\nrevision 3\nDepth (in)|Volume (gal)\n")
	long.WriteString("Tank|Depth (in)|Volume (gal)\n")
	for i := range 100 {
		fmt.Fprintf(&list, "Moorfield|MB-%d|Diesel|10000|96|26|flat|in|gal||US-federal|95|Alder 4|1998|41|137|built in|fill|24|2024-03-01\n", i)
		fmt.Fprintf(&chart, "%d|%d\n", i, i*i)
		fmt.Fprintf(&long, "MB-1|%d|%d\n", i, i*i)
	}
	sheets := []intaketest.Sheet{{File: "b.xlsx", Name: "Tanks", Text: list.String()}, {File: "b.xlsx", Name: "MB-1", Text: chart.String()}, {File: "long.csv", Text: long.String()}}
	tanks, devices, rules := headword.NewMatcher(headword.TankFields), headword.NewMatcher(headword.DeviceFields), headword.NewMatcher(headword.RuleFields)
	tanks.Share(devices, rules)
	b.ReportAllocs()
	for b.Loop() {
		for _, s := range sheets {
			b.StopTimer()
			h, err := ReadHead(s)
			if err != nil {
				b.Fatal(err)
			}
			b.StartTimer()
			Classify(h, tanks, devices, rules)
		}
	}
}
