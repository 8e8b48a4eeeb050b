package charts

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
)

// openColumns are the columns of depth and volume in the open charts: public
// tables of reservoirs and lakes, their source and licence in MANIFEST.csv.
var openColumns = []struct {
	name          string
	depth, volume int
}{
	{"crss_blueMesa_elev_volume.csv", 0, 1},
	{"crss_flamingGorge_elev_volume.csv", 0, 1},
	{"crss_mead_elev_volume.csv", 0, 1},
	{"crss_navajo_elev_volume.csv", 0, 1},
	{"crss_powell_elev_volume.csv", 0, 1},
	{"drb_beltzvilleCombined_storage_curve.csv", 0, 1},
	{"drb_blueMarsh_storage_curve.csv", 0, 1},
	{"drb_fewalter_storage_curve.csv", 0, 1},
	{"drb_prompton_storage_curve.csv", 0, 1},
	{"drb_cannonsville_storage_curve.csv", 0, 4},
	{"calvin_sr_sha_elev_area_cap.csv", 0, 2},
	{"calvin_sr_dlv_elev_area_cap.csv", 0, 2},
	{"calvin_sr_cmn_elev_area_cap.csv", 0, 2},
	{"calvin_sr_ll_enr_elev_area_cap.csv", 0, 2},
	{"calvin_sr_isb_elev_area_cap.csv", 0, 2},
	{"calvin_sr_prr_elev_area_cap.csv", 0, 2},
	{"calvin_sr_snl_elev_area_cap.csv", 0, 2},
	{"calvin_sr_cfw_elev_area_cap.csv", 0, 2},
}

// Charts that people use, which no one made for a test: exactly the faults of
// faults.csv are named, and what it calls a note is no more than one.
func TestOpenCharts(t *testing.T) {
	dir := os.Getenv("DROPCUT_OPEN_CHARTS")
	if dir == "" {
		if os.Getenv("DROPCUT_PEERS") == "required" {
			t.Fatal("DROPCUT_OPEN_CHARTS is not set; it names the folder with the open charts")
		}
		t.Skip("DROPCUT_OPEN_CHARTS is not set: the folder with the open charts is not part of the project")
	}
	faults := map[string]string{} // file: line range and verdict
	for _, r := range readAll(t, filepath.Join(dir, "faults.csv"))[1:] {
		faults[r[0]+" "+r[4]] = r[1]
	}
	ws := new(Workspace)
	for _, o := range openColumns {
		c := openChart(t, filepath.Join(dir, o.name), o.depth, o.volume)
		r := Audit(ws, c, Facts{})
		lines, must := faults[o.name+" must_report"]
		got := loud(r.Findings)
		switch {
		case !must && len(got) > 0:
			t.Errorf("%s is sound: %s", o.name, list(got))
		case must && len(got) != 1:
			t.Errorf("%s: want one finding in lines %s, got %s", o.name, lines, list(got))
		case must:
			first, last, _ := strings.Cut(lines, "-")
			if row := fmt.Sprint(got[0].At.Row); row != first && row != last {
				t.Errorf("%s: found in line %s, want %s", o.name, row, lines)
			}
		}
		if _, noted := faults[o.name+" note"]; noted && !hasSlug(r.Findings, finding.ChartHabits) {
			t.Errorf("%s: no note of its habits: %s", o.name, list(r.Findings))
		}
		if len(c.Rows) >= 12 && r.Fit.Recognised {
			t.Errorf("%s was taken for a %s", o.name, r.Fit.Family)
		}
	}
}

func hasSlug(fs []finding.Finding, s finding.Slug) bool {
	for _, f := range fs {
		if f.Slug == s {
			return true
		}
	}
	return false
}

func readAll(t *testing.T, path string) [][]string {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.FieldsPerRecord, r.LazyQuotes = -1, true
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return rows
}

func openChart(t *testing.T, path string, depth, volume int) *chart.Chart {
	t.Helper()
	c := &chart.Chart{At: cell.Ref{File: filepath.Base(path), Col: depth + 1, Row: 2}}
	for i, r := range readAll(t, path) {
		if len(r) <= max(depth, volume) {
			continue
		}
		d, err1 := strconv.ParseFloat(strings.TrimSpace(r[depth]), 64)
		v, err2 := strconv.ParseFloat(strings.TrimSpace(r[volume]), 64)
		if err1 != nil || err2 != nil {
			continue
		}
		c.Rows = append(c.Rows, chart.Row{Depth: d, Volume: v, SheetRow: int32(i + 1), DepthCol: int16(depth + 1), VolumeCol: int16(volume + 1)})
	}
	if len(c.Rows) < 2 {
		t.Fatalf("%s: %d rows", path, len(c.Rows))
	}
	c.To = c.VolumeAt(len(c.Rows) - 1)
	return c
}
