package rule

import (
	"math"
	"testing"

	"dropcut/plan/unit"
)

// What a contractor may write into a Rules sheet: either it is understood, or it
// is said which column is not. Lengths by the definition of the inch, 25.4 mm.
func TestSense(t *testing.T) {
	for _, c := range []struct {
		quantity string
		sign     Comparator
		value    float64
		text     string
		unit     string
		percent  unit.Percent
		height   unit.Length
		doubt    string
	}{
		{"shutoff_level", AtMost, 92, "", "percent_full", 92, 0, ""},
		{"shutoff_level", AtMost, 92, "", "%", 92, 0, ""},
		{"shutoff_level", AtMost, 92, "", "% of capacity", 92, 0, ""},
		{"fill_limit", Below, 92, "", "", 92, 0, ""},
		{"fill_limit", Equal, 92, "", "Pct", 92, 0, ""},
		{"shutoff_level", AtMost, 0.92, "", "fraction", 92, 0, ""},
		{"shutoff_level", AtMost, 0.92, "", "percent", 0, 0, "value"},
		{"shutoff_level", AtMost, 920, "", "percent", 0, 0, "value"},
		{"shutoff_level", AtMost, math.NaN(), "92,0", "percent", 0, 0, "value"},
		{"shutoff_level", AtMost, 1, "", "percent", 0, 0, "value"},
		{"shutoff_level", AtMost, 100, "", "percent", 100, 0, ""},
		{"shutoff_level", AtMost, 1, "", "fraction", 100, 0, ""},
		{"shutoff_level", AtMost, 0.01, "", "fraction", 0, 0, "value"},
		{"shutoff_level", AtMost, 92, "", "fraction", 0, 0, "value"},
		{"shutoff_level", AtMost, 9000, "", "gal", 0, 0, "value"},
		{"shutoff_level", AtLeast, 92, "", "percent", 92, 0, "comparator"},
		{"shutoff", AtMost, 92, "", "percent", 92, 0, "quantity"},
		{"alarm_level", Equal, 90, "", "%", 90, 0, ""},
		{"alarm_level", Equal, 0.9, "", "%", 0, 0, "value"},
		{"alarm_level_and_shutoff_level", AtMost, math.NaN(), "90;95", "percent_full", 0, 0, ""},
		{"alarm_level_and_shutoff_level", AtMost, math.NaN(), "1;95", "percent_full", 0, 0, "value"},
		{"alarm_level_and_shutoff_level", AtMost, math.NaN(), "100;95", "percent_full", 0, 0, ""},
		{"fill_pipe_end_above_bottom", AtMost, 0, "", "inch", 0, 0, "unit"},
		{"fill_pipe_end_above_bottom", AtMost, 6, "", "inch", 0, 6, ""},
		{"fill_pipe_end_above_bottom", AtMost, 6, "", "in above bottom", 0, 6, ""},
		{"fill_pipe_end_above_bottom", AtMost, 127, "", "mm", 0, 5, ""},
		{"drop_tube_end_above_bottom", AtMost, 0.5, "", "ft", 0, 6, ""},
		{"drop_tube_end_above_bottom", AtMost, 6, "", "", 6, 0, "unit"},
		{"drop_tube_end_above_bottom", AtMost, 6, "", "gal", 0, 0, "unit"},
		{"overfill_inspection_interval", AtMost, 3, "", "Years", 0, 0, ""},
		{"overfill_inspection_interval", AtMost, 3, "", "", 3, 0, "unit"},
		{"overfill_inspection_interval", AtMost, 1.5, "", "year", 0, 0, "unit"},
		{"overfill_inspection_interval", AtMost, 1, "", "year", 0, 0, ""},
		{"overfill_inspection_interval", AtMost, 0, "", "year", 0, 0, "unit"},
		{"record_retention", AtLeast, 3, "", "year", 0, 0, ""},
	} {
		r := Rule{Quantity: c.quantity, Comparator: c.sign, Value: c.value, ValueText: c.text, Unit: c.unit}
		p, ok := r.Percent()
		if !ok {
			p = 0
		}
		h, _ := r.Height()
		if p != c.percent || math.Abs(float64(h-c.height)) > 1e-9 {
			t.Errorf("%s %v %q: %v %% and %v in, want %v and %v", c.quantity, c.value, c.unit, p, h, c.percent, c.height)
		}
		if field, found, expected := r.Doubt(); field != c.doubt || field != "" && (found == "" || expected == "") {
			t.Errorf("%s %s %v%s %q: doubt about %q (%s, %s), want %q", c.quantity, c.sign, c.value, c.text, c.unit, field, found, expected, c.doubt)
		}
	}
}

// Three years and 36 months are one period, whatever stands before the other.
func TestShorter(t *testing.T) {
	three, months, days := &Rule{Value: 3, Unit: "Years"}, &Rule{Value: 36, Unit: "month"}, &Rule{Value: 365, Unit: "day"}
	if three.Shorter(months) || months.Shorter(three) || !days.Shorter(three) || three.Shorter(days) {
		t.Error("periods are compared wrongly")
	}
	// A day is what a period may differ by through the lengths of months.
	one, two := &Rule{Value: 1, Unit: "day"}, &Rule{Value: 2, Unit: "day"}
	if one.Shorter(two) || !one.Shorter(&Rule{Value: 3, Unit: "day"}) {
		t.Error("a difference of a day")
	}
}
