package charts

import (
	"testing"

	"dropcut/convert/intake/intaketest"
)

// titleCases are units and remarks above charts, and tables that are no charts; of
// our own invention.
func titleCases() []layoutCase {
	rows := intaketest.RunOf(0, 96, 1, dv("|"))
	std2 := func(name string) wantChart {
		return wantChart{name, 97, [2]float64{0, 0}, [2]float64{96, 10000}, cm, litres}
	}
	return []layoutCase{
		{name: "units over all of several charts", text: "All charts in cm and litres\nTank 1\nDepth|Volume\n" + rows + "\n\nTank 2\nDepth|Volume\n" + rows, charts: []wantChart{std2("1"), std2("2")}},
		{
			name: "units of the first chart alone", tab: "Charts", text: "Tank 1, cm and litres\nDepth|Volume\n" + rows + "\n\nTank 2\nDepth|Volume\n" + rows,
			charts: []wantChart{std2("1"), {"2", 97, [2]float64{0, 0}, [2]float64{96, 10000}, 0, 0}}, finds: []string{"units-unknown stop A103:B103"},
		},
		{name: "units in a remark", text: "# units: in| gal\nTank|Depth|Volume\n" + intaketest.RunOf(0, 96, 1, func(d float64) string { return "TT-1|" + dv("|")(d) }), charts: []wantChart{std("TT-1")}},
		{name: "units with a stroke between", tab: "TT-1", text: "Units: in/gal\nDepth|Volume\n" + rows, charts: []wantChart{std("TT-1")}},
		{name: "depths below zero", text: "Tank TT-1\nDepth (in)|Volume (gal)\n-2|0\n-1|0\n" + rows, charts: []wantChart{{"TT-1", 99, [2]float64{-2, 0}, [2]float64{96, 10000}, in, gal}}, finds: []string{"depth-below-zero stop A3:A4"}},
		{name: "an index of files is no chart", text: "file|where|licence|layout|step|remark\na.csv|north|free|two columns|1|none in it (ft, acre-ft)\nb.csv|south|free|two columns|2|none\nc.csv|east|free|two columns|2|none\nd.csv|west|free|long|3|even\ne.csv|mid|free|long|5|even\n"},
	}
}

func TestTitlesAndRemarks(t *testing.T) {
	for _, c := range titleCases() {
		t.Run(c.name, func(t *testing.T) { c.check(t) })
	}
}
