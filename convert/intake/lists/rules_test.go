package lists

import (
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"dropcut/plan/rule"
	"dropcut/templates"
)

// The table that is built in: every row is read, and rows of low confidence are
// switched off.
func TestBuiltInRules(t *testing.T) {
	rules, err := Rules(templates.FS)
	if err != nil {
		t.Fatal(err)
	}
	if len(rules) != 57 {
		t.Errorf("%d rules, the table has 57", len(rules))
	}
	byID := map[string]rule.Rule{}
	for _, r := range rules {
		byID[r.ID] = r
		if r.Enabled != (r.Confidence != rule.Low) {
			t.Errorf("rule %s of confidence %s is enabled: %v", r.ID, r.Confidence, r.Enabled)
		}
		if math.IsNaN(r.Value) == (r.ValueText == "") {
			t.Errorf("rule %s has the value %v and the text %q", r.ID, r.Value, r.ValueText)
		}
	}
	if r := byID["US-SHUTOFF-95"]; r.Value != 95 || r.Comparator != rule.AtMost || r.Place != "US federal" || r.From.Format("2006-01-02") != "1988-12-22" {
		t.Errorf("rule %+v", r)
	}
	if r := byID["US-SUBMERGED-12"]; !r.From.IsZero() || r.To.Format("2006-01-02") != "2006-11-09" {
		t.Errorf("rule %+v", r)
	}
	if r := byID["WI-93615-BOTH"]; r.ValueText != "90;95" {
		t.Errorf("rule %+v", r)
	}
	if r := byID["US-VENTRESTRICTOR-BAN"]; r.Comparator != rule.Banned {
		t.Errorf("rule %+v", r)
	}
}

func TestADamagedRulesTableIsAnError(t *testing.T) {
	head := "enabled,rule_id,jurisdiction,instrument,section,applies_to,quantity,comparator,value,unit,basis,condition,effective,how_known,confidence\n"
	for name, text := range map[string]string{
		"no header":    "",
		"no rows":      head,
		"a column":     strings.Replace(head, "unit", "units", 1) + "yes,A,B,C,,,q,<=,1,,,,,,high\n",
		"comparator":   head + "yes,A,B,C,,,q,about,1,,,,,,high\n",
		"value":        head + "yes,A,B,C,,,q,<=,,,,,,,high\n",
		"citation":     head + "yes,A,B,,,,q,<=,1,,,,,,high\n",
		"confidence":   head + "yes,A,B,C,,,q,<=,1,,,,,,sure\n",
		"twice":        head + "yes,A,B,C,,,q,<=,1,,,,,,high\nyes,A,B,C,,,q,<=,1,,,,,,high\n",
		"short line":   head + "yes,A\n",
		"one too many": head[:len(head)-1] + ",more\nyes,A,B,C,,,q,<=,1,,,,,,high,x\n",
	} {
		if _, err := Rules(fstest.MapFS{RulesFile: {Data: []byte(text)}}); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

func TestEffectiveDates(t *testing.T) {
	for _, c := range []struct{ text, from, to string }{
		{"1988-12-22", "1988-12-22", "0001-01-01"},
		{"1991-09", "1991-09-01", "0001-01-01"},
		{"2003", "2003-01-01", "0001-01-01"},
		{"..2006-11-09", "0001-01-01", "2006-11-09"},
		{"2004-01-01..2010", "2004-01-01", "2010-12-31"},
		{"2004..2010-02", "2004-01-01", "2010-02-28"},
		{"", "0001-01-01", "0001-01-01"},
		{"in-force status not checked", "0001-01-01", "0001-01-01"},
		{"1 January 2010", "2010-01-01", "0001-01-01"},
		{"since 2010-03", "2010-03-01", "0001-01-01"},
		{"2010-01-01 to 2020", "2010-01-01", "2020-12-31"},
		{"2/3/2010", "0001-01-01", "0001-01-01"}, // two readings
		{"installed after 2015-10-13: at installation", "0001-01-01", "0001-01-01"},
	} {
		from, to := EffectiveDates(c.text)
		if f, e := from.Format("2006-01-02"), to.Format("2006-01-02"); f != c.from || e != c.to {
			t.Errorf("%q is %s to %s, want %s to %s", c.text, f, e, c.from, c.to)
		}
	}
}

// The built-in rows themselves leave no doubt, but for those that are switched
// off.
func TestBuiltInRulesMakeSense(t *testing.T) {
	rules, err := Rules(templates.FS)
	if err != nil {
		t.Fatal(err)
	}
	for i := range rules {
		r := &rules[i]
		if field, found, expected := r.Doubt(); field != "" && r.Enabled {
			t.Errorf("rule %s, %s: found %s, expected %s", r.ID, field, found, expected)
		}
	}
}
