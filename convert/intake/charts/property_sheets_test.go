package charts

import (
	"math"
	"math/rand/v2"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/xuri/excelize/v2"

	"dropcut/plan/finding"
)

// A sheet for each tank, in any of the layouts that hold one chart without its
// name: the tab names the tank.
func TestAnySheetPerTankReadsBack(t *testing.T) {
	layouts := []string{"plain", "volume first", "ullage", "transposed", "even steps of volume", "beside percent and area"}
	makers := moreLayouts()
	for k, v := range layoutMakers {
		makers[k] = v
	}
	dir := t.TempDir()
	for i := range 40 {
		rng := rand.New(rand.NewPCG(uint64(i), 11))
		f := excelize.NewFile()
		var want []made
		for k := range 1 + rng.IntN(4) {
			m := makeChart(rng, []string{"PQ-" + strconv.Itoa(k+1), "Tank " + strconv.Itoa(k+1), "00" + strconv.Itoa(k+1)}[rng.IntN(3)], 14+rng.IntN(60))
			d := dress{rng, rng.IntN(2), [2]string{"Depth", "Volume"}}
			tab, out := makers[layouts[rng.IntN(len(layouts))]](d, m, m)
			if _, err := f.NewSheet(m.name); err != nil {
				t.Fatal(err)
			}
			for y, r := range tab {
				if len(r) == 1 && y == 0 {
					continue // the title names it too
				}
				for x, c := range r {
					name, err := excelize.CoordinatesToCellName(x+1, y+1)
					if err != nil {
						t.Fatal(err)
					}
					if c == nil {
						continue
					}
					if err := f.SetCellValue(m.name, name, c); err != nil {
						t.Fatal(err)
					}
				}
			}
			if n := out[0].name; len(n) > 5 && n[:5] == "Tank " {
				out[0].name = n[5:]
			}
			want = append(want, out[0])
		}
		if err := f.DeleteSheet("Sheet1"); err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(dir, strconv.Itoa(i)+".xlsx")
		if err := f.SaveAs(path); err != nil {
			t.Fatal(err)
		}
		f.Close()
		if msg := sameCharts(bookCharts(t, path, Options{}), want); msg != "" {
			t.Errorf("run %d: %s", i, msg)
		}
	}
}

// Ullages without a height are never depths, whatever units and words they come in.
func TestAnyUllageWithoutHeightIsRefused(t *testing.T) {
	dir := t.TempDir()
	for i := range 60 {
		rng := rand.New(rand.NewPCG(uint64(i), 13))
		m := makeChart(rng, "PU-1", 14+rng.IntN(60))
		d := dress{rng, rng.IntN(2), [2]string{[]string{"Ullage", "Outage", "Creux", "Leerhöhe", "Vacío"}[rng.IntN(5)], "Volume"}}
		var tab bookTable
		d.title(&tab, m, true)
		a, b := d.head(m)
		tab.row(a, b)
		if d.unitsIn == 1 {
			tab.row(m.depthU, m.volU)
		}
		top := m.depths[len(m.depths)-1]
		for k := len(m.depths) - 2; k > 0; k-- {
			tab.row(math.Round((top-m.depths[k])*1e6)/1e6, m.vols[k])
		}
		path := filepath.Join(dir, strconv.Itoa(i)+".csv")
		writeCSV(t, path, tab, ",", ".")
		got := bookCharts(t, path, Options{})
		refused := false
		for _, f := range got.Findings {
			refused = refused || f.Slug == finding.UllageWithoutHeight && f.Severity == finding.Stop
		}
		if len(got.Charts) != 1 || !refused {
			t.Fatalf("run %d, %s: %d charts, %s", i, a, len(got.Charts), findingList(got.Findings))
		}
		for k := range got.Charts[0].Rows {
			if x := got.Charts[0].Rows[k].Depth; !math.IsNaN(x) {
				t.Fatalf("run %d, %s: row %d has depth %v", i, a, k, x)
			}
		}
	}
}
