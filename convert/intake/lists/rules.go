package lists

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"strconv"
	"strings"
	"time"

	"dropcut/convert/grid"
	"dropcut/convert/intake/headword"
	"dropcut/convert/intake/sheetkind"
	"dropcut/convert/intake/survey"
	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/rule"
	"dropcut/plan/unit"
)

// RulesFile is the name under which the built-in rules stand in the FS that
// Rules reads.
const RulesFile = "rules.csv"

// Rules reads the built-in rules table. Its header must name every column of a
// rules table and nothing else; a row that cannot be read is an error, since
// the table is part of the program.
func Rules(fsys fs.FS) ([]rule.Rule, error) {
	f, err := fsys.Open(RulesFile)
	if err != nil {
		return nil, fmt.Errorf("the built-in rules cannot be opened: %w", err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	names, err := r.Read()
	if err != nil {
		return nil, fmt.Errorf("%s has no header: %w", RulesFile, err)
	}
	index := map[headword.Field]int{}
	for i, n := range names {
		index[headword.Field(n)] = i
	}
	for _, f := range headword.RuleFields {
		if _, ok := index[f.Field]; !ok {
			return nil, fmt.Errorf("%s has no column %q", RulesFile, f.Field)
		}
	}
	if len(names) != len(headword.RuleFields) {
		return nil, fmt.Errorf("%s has %d columns, expected are %d", RulesFile, len(names), len(headword.RuleFields))
	}
	var rules []rule.Rule
	seen := map[string]bool{}
	for {
		rec, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, fmt.Errorf("%s cannot be read: %w", RulesFile, err)
		}
		x, bad := parseRule(func(f headword.Field) string { return rec[index[f]] })
		if bad.field != "" {
			return nil, fmt.Errorf("%s, rule %s, column %s: found %q, expected %s", RulesFile, rec[index[headword.RuleID]], bad.field, bad.found, bad.expected)
		}
		if seen[x.ID] {
			return nil, fmt.Errorf("%s names rule %s twice", RulesFile, x.ID)
		}
		seen[x.ID] = true
		rules = append(rules, x)
	}
	if len(rules) == 0 {
		return nil, fmt.Errorf("%s holds no rule", RulesFile)
	}
	return rules, nil
}

// badField says which field of a rule cannot be read.
type badField struct {
	field           headword.Field
	found, expected string
}

// parseRule makes a rule of the texts of a row.
func parseRule(get func(headword.Field) string) (rule.Rule, badField) {
	text := func(f headword.Field) string { return strings.TrimFunc(get(f), headword.IsBlank) }
	x := rule.Rule{
		ID: text(headword.RuleID), Place: text(headword.RulePlace), Instrument: text(headword.RuleInstrument), Section: text(headword.RuleSection), AppliesTo: text(headword.RuleAppliesTo),
		Quantity: text(headword.RuleQuantity), Unit: text(headword.RuleUnit), Basis: text(headword.RuleBasis), Condition: text(headword.RuleCondition), Effective: text(headword.RuleEffective),
		HowKnown: text(headword.RuleHowKnown), Value: math.NaN(),
	}
	if x.Place == "" {
		return x, badField{headword.RulePlace, "nothing", "the place where the rule holds"}
	}
	if x.Quantity == "" {
		return x, badField{headword.RuleQuantity, "nothing", "what the rule limits, such as shutoff_level"}
	}
	if x.Instrument == "" {
		return x, badField{headword.RuleInstrument, "nothing", "the law, code or standard that says so; a rule without its citation is not used"}
	}
	x.Quantity = strings.ReplaceAll(unit.Fold(x.Quantity), " ", "_")
	switch c := unit.Fold(text(headword.RuleComparator)); c {
	case "<=", "≤", "=<", "at most", "not above":
		x.Comparator = rule.AtMost
	case "<", "below", "less than":
		x.Comparator = rule.Below
	case ">=", "≥", "=>", "at least":
		x.Comparator = rule.AtLeast
	case ">", "above", "more than":
		x.Comparator = rule.Above
	case "==", "=", "equal", "equals":
		x.Comparator = rule.Equal
	case "required", "must":
		x.Comparator = rule.Required
	case "not_allowed", "not allowed", "banned", "forbidden":
		x.Comparator = rule.Banned
	default:
		return x, badField{headword.RuleComparator, c, "one of <= < >= > == required not_allowed"}
	}
	v := text(headword.RuleValue)
	if f, ok := ruleNumber(v); ok {
		x.Value = f
	} else if v != "" {
		x.ValueText = v
	} else {
		return x, badField{headword.RuleValue, "nothing", "the rule's value"}
	}
	switch c := unit.Fold(text(headword.RuleConfidence)); c {
	case "high", "":
		x.Confidence = rule.High
	case "medium":
		x.Confidence = rule.Medium
	case "low":
		x.Confidence = rule.Low
	default:
		return x, badField{headword.RuleConfidence, c, "high, medium or low"}
	}
	x.From, x.To = EffectiveDates(x.Effective)
	switch yes, ok := YesNo(text(headword.RuleEnabled)); {
	case text(headword.RuleEnabled) == "":
		x.Enabled = x.Confidence != rule.Low
	case !ok:
		return x, badField{headword.RuleEnabled, text(headword.RuleEnabled), "yes or no"}
	default:
		x.Enabled = yes
	}
	if x.ID == "" {
		x.ID = x.Place + " " + x.Quantity
	}
	return x, badField{}
}

// ruleNumber reads the value of a rule: 95, 95 %, 0.125.
func ruleNumber(s string) (float64, bool) {
	s = strings.TrimFunc(strings.TrimSuffix(s, "%"), headword.IsBlank)
	f, err := strconv.ParseFloat(s, 64)
	return f, err == nil && !math.IsNaN(f) && !math.IsInf(f, 0) && !strings.ContainsAny(s, "_xXpP")
}

// EffectiveDates reads when a rule holds: "2018-10-01", "1991-09", "2003" (from
// the first day of the month or year on), "..2006-11-09", "2004-01-01..2010".
// Any other text gives no dates: it is printed, and the rule counts as in force.
func EffectiveDates(s string) (from, to time.Time) {
	first, last, ranged := strings.Cut(s, "..")
	if a, b, ok := strings.Cut(s, " to "); ok && !ranged {
		if _, aOK := partDate(strings.TrimSpace(a), false); aOK {
			first, last, ranged = a, b, true
		}
	}
	first, last = strings.TrimSpace(first), strings.TrimSpace(last)
	if _, day, ok := strings.Cut(first, " "); ok && !ranged {
		switch w, _, _ := strings.Cut(unit.Fold(first), " "); w {
		case "from", "since", "ab", "seit", "desde", "depuis":
			first = strings.TrimSpace(day)
		}
	}
	from, fromOK := partDate(first, false)
	if !ranged {
		return from, time.Time{}
	}
	to, toOK := partDate(last, true)
	if first != "" && !fromOK || last != "" && !toOK {
		return time.Time{}, time.Time{}
	}
	return from, to
}

// partDate reads a day, a month or a year; end takes its last day instead of
// its first.
func partDate(s string, end bool) (time.Time, bool) {
	for _, f := range [...]struct {
		layout       string
		years, month int
	}{{"2006-01-02", 0, 0}, {"2006-01", 0, 1}, {"2006", 1, 0}} {
		t, err := time.Parse(f.layout, s)
		if err != nil {
			continue
		}
		if end && f.years+f.month > 0 {
			t = t.AddDate(f.years, f.month, -1)
		}
		return t, true
	}
	// "1 January 2010" has one reading; "1/2/2010" has two and is none.
	if t, err := unit.ParseDate(s, unit.DateOrderUnknown); err == nil {
		return t, true
	}
	return time.Time{}, false
}

// ReadRules reads a Rules sheet: rows to be added to, or put over, the built-in
// ones.
func ReadRules(sh grid.Sheet, hd *sheetkind.Header, out *survey.Findings) ([]rule.Rule, survey.Table, error) {
	tb := ListTable(sh.At(), "rules", hd)
	var rules []rule.Rule
	for r, err := range sh.Rows() {
		if err != nil {
			return nil, tb, err
		}
		if r.N <= hd.Last {
			continue
		}
		row := sheetkind.KeepRow(r)
		get := func(f headword.Field) string {
			c := row.At(hd.Col(f))
			if hd.Col(f) == 0 || c == nil {
				return ""
			}
			if f == headword.RuleEffective && c.Kind == grid.Number && c.Format == grid.DateFormat {
				if t, ok := unit.SerialDate(c.Num, false); ok {
					return t.Format("2006-01-02")
				}
			}
			if f == headword.RuleValue && c.Kind == grid.Number && c.Format == grid.PercentFormat {
				return strconv.FormatFloat(c.Num*100, 'g', 12, 64)
			}
			return c.Text
		}
		if get(headword.RuleQuantity) == "" && get(headword.RuleValue) == "" {
			tb.Pass(r.N, "no quantity and no value: a title or an empty row")
			continue
		}
		at := cell.Ref{File: sh.At().File, Sheet: sh.At().Sheet, Row: r.N}
		x, bad := parseRule(get)
		x.At = at
		if bad.field == "" && x.Enabled {
			// A rule that nobody could follow must not be passed over in silence.
			field, found, expected := x.Doubt()
			bad = badField{headword.Field(field), found, expected}
			if e := x.Effective; field == "" && e != "" && (e[0] == '.' || '0' <= e[0] && e[0] <= '9') && x.From.IsZero() && x.To.IsZero() {
				bad = badField{headword.RuleEffective, e, "a day such as 2024-03-31, or two of them parted by \"..\""}
			}
		}
		if bad.field != "" {
			at.Col = hd.Col(bad.field)
			out.Add(finding.Finding{
				Slug: finding.RuleUnreadable, Severity: finding.Check, At: at, Found: bad.found, Expected: bad.expected,
				Why:        fmt.Sprintf("the rule %s cannot be used as it stands in the column %s", orNothing(x.ID), bad.field),
				Suggestion: "correct the row; until then the rule does not exist",
			})
			tb.Pass(r.N, "the rule cannot be read: "+string(bad.field))
			x.Unread, x.Enabled = true, false
			rules = append(rules, x)
			continue
		}
		for i := range rules {
			if o := &rules[i]; !o.Unread && x.Enabled && o.Enabled && unit.Fold(o.ID) == unit.Fold(x.ID) && get(headword.RuleID) != "" && !sameLimit(o, &x) {
				at.Col = hd.Col(headword.RuleID)
				out.Add(finding.Finding{
					Slug: finding.RuleUnreadable, Severity: finding.Check, At: at, Related: []cell.Ref{o.At}, Found: "a second row " + x.ID, Expected: "one row for each rule",
					Why: "the two say different things; both were taken, and of two limits the lower one holds", Suggestion: "take out the row that no longer holds, or give it an id of its own",
				})
				break
			}
		}
		tb.Take(r.N)
		rules = append(rules, x)
	}
	return rules, tb, nil
}

// MergeRules puts the rows of the books over the built-in ones of the same id.
func MergeRules(builtin, own []rule.Rule) []rule.Rule {
	over := make(map[string]bool, len(own))
	for _, r := range own {
		if !r.Unread {
			over[unit.Fold(r.ID)] = true
		}
	}
	merged := make([]rule.Rule, 0, len(builtin)+len(own))
	for _, r := range builtin {
		if !over[unit.Fold(r.ID)] {
			merged = append(merged, r)
		}
	}
	return append(merged, own...)
}

// sameLimit reports whether two rows say the same.
func sameLimit(a, b *rule.Rule) bool {
	return a.Quantity == b.Quantity && a.Comparator == b.Comparator && (a.Value == b.Value || math.IsNaN(a.Value) && math.IsNaN(b.Value)) &&
		a.ValueText == b.ValueText && a.Unit == b.Unit && a.Place == b.Place && a.From.Equal(b.From) && a.To.Equal(b.To)
}

func orNothing(s string) string {
	if s == "" {
		return "without a name"
	}
	return s
}
