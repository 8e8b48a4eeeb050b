package chart

import (
	"testing"

	"dropcut/plan/unit"
)

func TestCheckWordIsOfTheNumbers(t *testing.T) {
	make := func() *Chart {
		c := &Chart{Name: "T-1", DepthUnit: unit.Inches, VolumeUnit: unit.USGallons}
		for i := range 1000 {
			c.Rows = append(c.Rows, Row{Depth: float64(i), Volume: float64(i * i), SheetRow: int32(i)})
		}
		return c
	}
	a, b := make(), make()
	b.Name = "T-2"
	for i := range b.Rows {
		b.Rows[i].SheetRow += 40
	}
	if a.CheckWord() != b.CheckWord() || len(a.CheckWord()) != 12 {
		t.Errorf("the same numbers elsewhere: %s and %s", a.CheckWord(), b.CheckWord())
	}
	b.Rows[999].Volume++
	if a.CheckWord() == b.CheckWord() {
		t.Error("one volume more and the same word")
	}
	c := make()
	c.VolumeUnit = unit.Litres
	if a.CheckWord() == c.CheckWord() {
		t.Error("another unit and the same word")
	}
}
