package plan

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"dropcut/plan/unit"
)

// trailText writes the lines of a calculation down.
func trailText(list []Figure) string {
	var b strings.Builder
	for _, f := range list {
		b.WriteString(f.Name + ": " + f.Value + "\n\t= " + f.Formula + "\n")
		if len(f.From) > 0 {
			b.WriteString("\tfrom")
			for _, at := range f.From {
				b.WriteString(" " + at.String())
			}
			b.WriteString("\n")
		}
		if f.Source != "" {
			b.WriteString("\tby " + f.Source + "\n")
		}
	}
	return b.String()
}

// The whole calculation of the trade case between the entries, and of a metric
// one, as a reader gets it. The figures were followed with a pocket calculator.
func TestTrail(t *testing.T) {
	rules := federalRules(t)
	tank, c, d := tradeCase()
	c.Rows = append(c.Rows[:4:4], c.Rows[4], c.Rows[5])
	cut, _ := Make(&tank, c, &d, rules, Options{BetweenEntries: true})
	text := trailText(cut.Trail)

	c.DepthUnit, c.VolumeUnit = unit.Millimetres, unit.Litres
	for i := range c.Rows {
		c.Rows[i].Depth *= 25
		c.Rows[i].Volume *= 4
	}
	tank.Diameter, tank.RiserHeight, tank.FaceToBottom = given(unit.Millimetres.Length(91.625*25), 1), given(unit.Millimetres.Length(325), 1), given(unit.Millimetres.Length(91.625*25+325), 1)
	d.CutStep = given(unit.Millimetre, 1)
	cut, _ = Make(&tank, c, &d, rules, Options{BetweenEntries: true})
	text += "\n" + trailText(cut.Trail)

	tank.AsFoundUpper = given(unit.Millimetres.Length(600), 9)
	a, _ := Invert(&tank, c, &d, rules, Options{}, &cut)
	text += "\n" + trailText(a.Trail)

	name := filepath.Join("testdata", "trail.txt")
	want, err := os.ReadFile(name)
	if err != nil || string(want) != text {
		if os.Getenv("DROPCUT_UPDATE_GOLDEN") != "" {
			if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
				t.Fatal(err)
			}
			return
		}
		t.Errorf("%s says something else (%v); got\n%s", name, err, text)
	}
}
