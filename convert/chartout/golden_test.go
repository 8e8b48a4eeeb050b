package chartout

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"dropcut/plan/unit"
)

// A folded page and a long and a wide list, as text. DROPCUT_GOLDEN=write makes
// the texts anew, for a person to read before they are kept.
func TestPagesAsText(t *testing.T) {
	a := lying(t, "MR-1", unit.Inches, unit.USGallons, 24, 60, 1, 1)
	a.Site = "Millrace Fuel Stop"
	b := lying(t, "MR-2", unit.Millimetres, unit.Litres, unit.Millimetres.Length(610), 60, 25, 1)
	b.FromDimensions, b.Layout = true, "computed from dimensions; ends: flat"
	for _, l := range []Layout{Long, Wide, Folded} {
		var tables []*Table
		for _, o := range []Options{{Step: unit.Inch / 2, StepText: "1/2 in"}, {DepthUnit: unit.Inches, VolumeUnit: unit.USGallons}} {
			c := a
			if len(tables) > 0 {
				c = b
			}
			made, err := Make(c, o)
			if err != nil {
				t.Fatal(err)
			}
			tables = append(tables, made)
		}
		files, err := Files(tables, l)
		if err != nil {
			t.Fatal(err)
		}
		var out bytes.Buffer
		for _, f := range files {
			out.WriteString("== " + f.Suffix + "\n")
			if err := f.Write(&out); err != nil {
				t.Fatal(err)
			}
		}
		path := filepath.Join("testdata", string(l)+".txt")
		if os.Getenv("DROPCUT_GOLDEN") == "write" {
			if err := os.WriteFile(path, out.Bytes(), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(out.Bytes(), want) {
			t.Errorf("%s: the text is not that of %s:\n%s", l, path, out.String())
		}
	}
}

// A folded sheet is one page, on the paper of its units, in fractions that the
// office program shows as such.
func TestFoldedSheetPrintsOnOnePage(t *testing.T) {
	a, err := Make(lying(t, "MR-1", unit.Inches, unit.USGallons, 96, 320, 1, 1), Options{Step: unit.Inch / 4, StepText: "1/4 in"})
	if err != nil {
		t.Fatal(err)
	}
	b, err := Make(lying(t, "MR-2", unit.Inches, unit.USGallons, 96, 320, 1, 1), Options{DepthUnit: unit.Centimetres, VolumeUnit: unit.Litres, Step: unit.Centimetres.Length(1), StepText: "1 cm"})
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := Workbook(&out, []*Table{a, b}, Folded); err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(&out)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for sheet, paper := range map[string]int{"MR-1": 1, "MR-2": 9} {
		o, err := f.GetPageLayout(sheet)
		if err != nil || *o.Size != paper || *o.FitToHeight != 1 || *o.FitToWidth != 1 {
			t.Errorf("%s: page %+v, %v", sheet, o, err)
		}
	}
	at, err := f.SearchSheet("MR-1", "0 1/2")
	if err != nil || len(at) == 0 {
		t.Fatalf("no cell shows 1/2: %v", err)
	}
	if raw, err := f.GetCellValue("MR-1", at[0], excelize.Options{RawCellValue: true}); err != nil || raw != "0.5" {
		t.Errorf("the cell that shows 1/2 holds %q, %v", raw, err)
	}
}

// Two charts of one name are told apart in a long list with a column for sites
// only.
func TestChartsOfOneName(t *testing.T) {
	a, err := Make(lying(t, "T-1", unit.Inches, unit.USGallons, 96, 320, 1, 1), Options{})
	if err != nil {
		t.Fatal(err)
	}
	b := *a
	a.Site, b.Site = "Millrace", "Pinefork"
	for _, l := range []Layout{Wide, Folded} {
		if _, err := Files([]*Table{a, &b}, l); err == nil || !strings.Contains(err.Error(), "two charts are called T-1") {
			t.Errorf("%s: %v", l, err)
		}
	}
	if _, err := readBack(t, []*Table{a, &b}, Long, ".csv"); err != nil {
		t.Error(err)
	}
	if err := Workbook(&bytes.Buffer{}, nil, Long); err == nil {
		t.Error("a book of no chart was written")
	}
}

func BenchmarkMakeEighths(b *testing.B) {
	c := lying(b, "MR-1", unit.Inches, unit.USGallons, 96, 320, 1, 1)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Make(c, Options{VolumeUnit: unit.Litres, Step: unit.Inch / 8, StepText: "1/8 in"}); err != nil {
			b.Fatal(err)
		}
	}
}
