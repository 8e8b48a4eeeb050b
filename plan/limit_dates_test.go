package plan

import (
	"testing"
	"time"

	"dropcut/plan/finding"
	"dropcut/plan/rule"
)

// Without the day of the plan, a rule that has yet to begin or to end is taken
// where it is the lower reading, and never where it is the higher one. The
// places and rules are invented.
func TestLimitByDay(t *testing.T) {
	on := func(s string) time.Time {
		d, err := time.Parse(time.DateOnly, s)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	row := func(id string, percent float64, from, to string) rule.Rule {
		r := rule.Rule{ID: id, Place: "Lanternmark", Quantity: "shutoff_level", Comparator: "<=", Value: percent, Unit: "percent_full", Confidence: rule.High, Enabled: true}
		if from != "" {
			r.From = on(from)
		}
		if to != "" {
			r.To = on(to)
		}
		return r
	}
	for name, c := range map[string]struct {
		rules []rule.Rule
		day   string
		want  float64
		check finding.Slug
	}{
		"in force for long":                      {[]rule.Rule{row("A", 97, "2012-01-01", "")}, "", 97, ""},
		"ended long ago":                         {[]rule.Rule{row("A", 90, "", "2011-12-31"), row("B", 95, "2012-01-01", "")}, "", 95, ""},
		"a higher one that may not hold yet":     {[]rule.Rule{row("A", 97, "2040-01-01", "")}, "", 95, finding.LimitAssumed},
		"the same, on a day before":              {[]rule.Rule{row("A", 97, "2040-01-01", "")}, "2039-06-30", 95, finding.LimitAssumed},
		"the same, on a day after":               {[]rule.Rule{row("A", 97, "2040-01-01", "")}, "2040-06-30", 97, ""},
		"a lower one that may not hold yet":      {[]rule.Rule{row("A", 96, "", ""), row("B", 92, "2040-01-01", "")}, "", 92, finding.RuleToBeChecked},
		"a lower one that may have ended":        {[]rule.Rule{row("A", 90, "", "2039-12-31"), row("B", 95, "2040-01-01", "")}, "", 90, finding.RuleToBeChecked},
		"the same, on a day after its end":       {[]rule.Rule{row("A", 90, "", "2039-12-31"), row("B", 95, "2040-01-01", "")}, "2040-01-01", 95, ""},
		"the same, on a day before its end":      {[]rule.Rule{row("A", 90, "", "2039-12-31"), row("B", 95, "2040-01-01", "")}, "2039-12-31", 90, ""},
		"a higher one, and one that surely does": {[]rule.Rule{row("A", 98, "2012-01-01", ""), row("B", 97, "2040-01-01", "")}, "", 97, finding.RuleToBeChecked},
	} {
		tank, ch, d := tradeCase()
		tank.Place = given("Lanternmark", 1)
		o := Options{}
		if c.day != "" {
			o.Today = on(c.day)
		}
		cut, found := Make(&tank, ch, &d, rule.NewSet(c.rules), o)
		if float64(cut.LimitPercent.V) != c.want {
			t.Errorf("%s: limit %v, want %v", name, cut.LimitPercent.V, c.want)
		}
		for _, slug := range []finding.Slug{finding.LimitAssumed, finding.RuleToBeChecked} {
			said := false
			for _, f := range found {
				said = said || f.Slug == slug && f.Severity == finding.Check
			}
			if said != (slug == c.check) {
				t.Errorf("%s: %s said %v", name, slug, said)
			}
		}
	}
}
