package starter

import (
	"bytes"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"dropcut/templates"
)

func demo(t *testing.T) []byte {
	t.Helper()
	tables, err := DemoTables(templates.FS, templates.DemoDir)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := Demo(&b, tables); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestTheSameBookIsTheSameBytes(t *testing.T) {
	if !bytes.Equal(demo(t), demo(t)) {
		t.Error("two demonstrations differ")
	}
	var a, b bytes.Buffer
	for _, w := range []*bytes.Buffer{&a, &b} {
		if err := Template(w, []string{"US-federal", "US-Oregon"}); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("two empty portfolios differ")
	}
}

func TestDemoIsAPortfolio(t *testing.T) {
	f, err := excelize.OpenReader(bytes.NewReader(demo(t)))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := f.GetRows("Tanks", excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	sites, tanks := map[string]bool{}, 0
	for _, r := range rows[4:] {
		if len(r) > 2 && r[1] != "" {
			sites[r[0]] = true
			tanks++
		}
	}
	if len(sites) < 5 || tanks < 16 {
		t.Errorf("the demonstration has %d sites and %d tanks, want at least 5 and 16", len(sites), tanks)
	}
	if got := strings.Join(f.GetSheetList(), ", "); got != "Tanks, Charts, Fiberglass, Manifold, Quarry, Devices, Rules" {
		t.Errorf("sheets: %s", got)
	}
	if formula, _ := f.GetCellFormula("Tanks", "U5"); formula != "ROUND(D5*0.9,0)" {
		t.Errorf("the contractor's own formula reads %q", formula)
	}
}
