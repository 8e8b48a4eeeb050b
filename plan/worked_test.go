package plan

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/device"
	"dropcut/plan/finding"
	"dropcut/plan/rule"
	"dropcut/plan/unit"
)

// readTable reads a table of testdata as records by heading.
func readTable(t testing.TB, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var list []map[string]string
	for _, r := range rows[1:] {
		m := map[string]string{}
		for i, h := range rows[0] {
			m[h] = r[i]
		}
		list = append(list, m)
	}
	if len(list) == 0 {
		t.Fatalf("%s is empty", name)
	}
	return list
}

func number(t testing.TB, s string) float64 {
	t.Helper()
	f, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatalf("%q is no number", s)
	}
	return f
}

// federalRules is the rules table with its low rows off, as it ships.
func federalRules(t testing.TB) *rule.Set {
	t.Helper()
	var list []rule.Rule
	for _, r := range readTable(t, "rules.csv") {
		x := rule.Rule{
			ID: r["rule_id"], Place: r["jurisdiction"], Instrument: r["instrument"], Section: r["section"], AppliesTo: r["applies_to"],
			Quantity: r["quantity"], Comparator: rule.Comparator(r["comparator"]), Unit: r["unit"], Basis: r["basis"], Condition: r["condition"],
			Effective: r["effective"], HowKnown: r["how_known"], Confidence: rule.Confidence(r["confidence"]), ValueText: r["value"],
		}
		x.Value, _ = strconv.ParseFloat(r["value"], 64)
		x.Enabled = x.Confidence != rule.Low
		from, to, ranged := strings.Cut(r["effective"], "..")
		x.From, _ = time.Parse("2006-01-02", from)
		if ranged {
			x.To, _ = time.Parse("2006-01-02", to)
		}
		list = append(list, x)
	}
	return rule.NewSet(list)
}

func given[T any](v T, col int) cell.Of[T] {
	return cell.Of[T]{V: v, Raw: "x", At: cell.Ref{File: "tanks.csv", Row: 2, Col: col}}
}

// worked is an example of the worked_examples.csv, as the plan takes it.
type worked struct {
	row    map[string]string
	tank   Tank
	chart  *chart.Chart
	device device.Device
	length unit.LengthUnit
	volume unit.VolumeUnit
	lim    unit.Percent
}

func (w *worked) num(t testing.TB, col string) float64 { t.Helper(); return number(t, w.row[col]) }

func (w *worked) len(t testing.TB, col string) unit.Length {
	t.Helper()
	return w.length.Length(w.num(t, col))
}

// workedExamples are invented tanks, computed independently to full precision
// (worked_examples.csv, worked_charts.csv).
func workedExamples(t testing.TB) []*worked {
	t.Helper()
	charts := map[string][]chart.Row{}
	for i, r := range readTable(t, "worked_charts.csv") {
		charts[r["example"]] = append(charts[r["example"]], chart.Row{Depth: number(t, r["depth"]), Volume: number(t, r["volume"]), SheetRow: int32(i + 2), DepthCol: 2, VolumeCol: 3})
	}
	var list []*worked
	for _, r := range readTable(t, "worked_examples.csv") {
		w := &worked{row: r, lim: unit.Percent(number(t, r["limit_pct"]))}
		var err error
		if w.length, err = unit.ParseLengthUnit(r["depth_unit"]); err != nil {
			t.Fatal(err)
		}
		if w.volume, err = unit.ParseVolumeUnit(r["volume_unit"]); err != nil {
			t.Fatal(err)
		}
		w.chart = &chart.Chart{Name: r["example"], DepthUnit: w.length, VolumeUnit: w.volume, Rows: charts[r["example"]], At: cell.Ref{File: "worked_charts.csv"}}
		w.tank = Tank{
			ID: given("E-"+r["example"], 1), Limit: given(w.lim, 2), Shape: given(r["shape"], 3),
			RiserHeight: given(w.len(t, "riser_top_of_tank_to_seal"), 4), FaceToBottom: given(w.len(t, "overall_bottom_to_seal"), 5),
			Diameter: given(w.len(t, "inside_diameter"), 6),
			Place:    given("US-federal", 8),
		}
		if r["shape"] == "vertical" {
			w.tank.Diameter = cell.Of[unit.Length]{}
		}
		if a := r["cut_angle_deg"]; a != "" {
			w.tank.CutAngle = given(unit.Angle(number(t, a)), 7)
		}
		if a := r["as_found_upper"]; a != "" {
			w.tank.AsFoundUpper = given(w.len(t, "as_found_upper"), 9)
		}
		if w.lim > 95 {
			w.tank.Place = cell.Of[string]{} // 98 % stands in the tank's own column
		}
		step := unit.Inch / 16
		if w.length.Metric() {
			step = unit.Millimetre
		}
		w.device = device.Device{
			Name: given("trial", 1), ShutoffDrop: given(w.len(t, "device_offset_seam_to_shutoff"), 2), LeastBelowTop: given(w.len(t, "device_minimum"), 3),
			LeastUpperTube: given(w.len(t, "upper_tube_minimum"), 4), BodyLength: given(w.len(t, "body_length_between_seams"), 5),
			TubeDiameter: given(w.len(t, "tube_diameter"), 6), CutStep: given(step, 7),
		}
		list = append(list, w)
	}
	if len(list) < 13 {
		t.Fatalf("only %d worked examples", len(list))
	}
	return list
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.10g, want %.10g within %g", what, got, want, tol)
	}
}

func stops(list []finding.Finding) (s []string) {
	for _, f := range list {
		if f.Severity == finding.Stop {
			s = append(s, string(f.Slug)+": "+f.Found)
		}
	}
	return s
}

// The whole forward way against worked_examples.csv, at the entry and between
// the entries. Lengths there have 12 digits; the tolerance of a cut is nothing,
// since a cut stands on its step.
func TestWorkedExamples(t *testing.T) {
	rules := federalRules(t)
	for _, w := range workedExamples(t) {
		t.Run(w.row["example"], func(t *testing.T) {
			eighth := w.device
			eighth.CutStep = given(unit.Inch/8, 7)
			if w.length.Metric() {
				eighth.CutStep = given(5*unit.Millimetre, 7)
			}
			coarse := w.num(t, "chart_step") > 1
			for _, c := range []struct {
				d    device.Device
				tube string
			}{{w.device, "upper_tube_cut_sixteenth"}, {eighth, "upper_tube_cut_eighth"}} {
				cut, found := Make(&w.tank, w.chart, &c.d, rules, Options{BetweenEntries: true})
				if s := stops(found); s != nil {
					t.Fatalf("stopped: %v", s)
				}
				near(t, c.tube, w.length.Number(cut.UpperTube.V), w.num(t, c.tube), 1e-9)
				near(t, "charted capacity", w.volume.Number(cut.FullVolume.V), w.num(t, "charted_capacity"), 1e-9)
				near(t, "limit volume", w.volume.Number(cut.LimitVolume.V), w.num(t, "shutoff_volume"), 1e-9)
				near(t, "entry", w.length.Number(cut.EntryDepth.V), w.num(t, "depth_row_below"), 1e-9)
				if coarse {
					// Rows more than 1 in apart: the cubic is lower, and serves.
					near(t, "between entries", w.length.Number(cut.BetweenDepth.V), w.num(t, "depth_monotone_cubic"), 0.005)
					near(t, "exact depth", w.length.Number(cut.BetweenDepth.V), w.num(t, "depth_exact_geometry"), 0.005)
				} else {
					near(t, "between entries", w.length.Number(cut.BetweenDepth.V), w.num(t, "depth_linear"), 1e-9)
				}
				if cut.ShutoffPercent.V > cut.LimitPercent.V {
					t.Errorf("%v %% is above the limit", cut.ShutoffPercent.V)
				}
			}
			cut, _ := Make(&w.tank, w.chart, &eighth, rules, Options{BetweenEntries: true})
			near(t, "shutoff depth", w.length.Number(cut.ShutoffDepth.V), w.num(t, "shutoff_depth_cut_eighth"), 1e-9)
			near(t, "lower tube", w.length.Number(cut.LowerTube.V), w.num(t, "lower_long_side_cut_eighth"), 1e-9)
			near(t, "long side above the bottom", w.length.Number(cut.TipHeight.V), w.num(t, "long_side_above_bottom"), 1e-9)
			near(t, "highest point of the opening", w.length.Number(cut.EndHeight.V), w.num(t, "opening_highest_point"), 1e-9)
			near(t, "long minus short", w.length.Number(cut.LowerTube.V-cut.ShortSide.V), w.num(t, "long_minus_short"), 1e-9)
			if coarse {
				near(t, "percent", float64(cut.ShutoffPercent.V), w.num(t, "pct_true_cut_eighth"), 0.002)
			} else {
				near(t, "percent", float64(cut.ShutoffPercent.V), w.num(t, "pct_chart_cut_eighth"), 1e-9)
			}

			// At the entry: common practice. Where the device's least wins the
			// answer is the same one as between the entries.
			cut, found := Make(&w.tank, w.chart, &w.device, rules, Options{})
			if s := stops(found); s != nil {
				t.Fatalf("stopped: %v", s)
			}
			if strings.HasPrefix(w.row["device_ok"], "no") {
				near(t, "shutoff depth at the least", w.length.Number(cut.ShutoffDepth.V), w.num(t, "shutoff_depth_cut_eighth"), 1e-9)
				return
			}
			near(t, "depth at entry", w.length.Number(cut.ShutoffDepth.V), w.num(t, "depth_row_below"), 1e-9)
			near(t, "percent at entry", float64(cut.ShutoffPercent.V), w.num(t, "pct_row_below"), 1e-9)
		})
	}
}
