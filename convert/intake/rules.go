package intake

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
	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/rule"
	"dropcut/plan/unit"
)

// The columns of a rules table.
const (
	ruleEnabled    Field = "enabled"
	ruleID         Field = "rule_id"
	rulePlace      Field = "jurisdiction"
	ruleInstrument Field = "instrument"
	ruleSection    Field = "section"
	ruleAppliesTo  Field = "applies_to"
	ruleQuantity   Field = "quantity"
	ruleComparator Field = "comparator"
	ruleValue      Field = "value"
	ruleUnit       Field = "unit"
	ruleBasis      Field = "basis"
	ruleCondition  Field = "condition"
	ruleEffective  Field = "effective"
	ruleHowKnown   Field = "how_known"
	ruleConfidence Field = "confidence"
)

// ruleFields is the table of the headings of a rules table. Every field is text:
// a value may be no plain number.
var ruleFields = []fieldWords{
	{ruleEnabled, kindText, "enabled, in force, use, active, switched", "activa, activo", "active, actif", "aktiv, gilt"},
	{ruleID, kindText, "rule id, rule, id, rule no, rule name", "regla, id regla", "regle, id regle", "regel, regel id"},
	{rulePlace, kindText, "jurisdiction, place, state, country, authority", "jurisdiccion, lugar, pais", "juridiction, lieu, pays", "rechtsraum, ort, land"},
	{ruleInstrument, kindText, "instrument, citation, law, code, regulation, standard", "norma, ley, reglamento", "texte, loi, reglement, norme", "vorschrift, gesetz, norm"},
	{ruleSection, kindText, "section, clause, paragraph, article", "seccion, articulo, apartado", "section, article, paragraphe", "abschnitt, paragraph, artikel"},
	{ruleAppliesTo, kindText, "applies, applies tank, scope", "aplica, se aplica, ambito", "applique, domaine, champ", "gilt fur, geltung, anwendung"},
	{ruleQuantity, kindText, "quantity, what, limit quantity", "magnitud", "grandeur", "grosse, groesse"},
	{ruleComparator, kindText, "comparator, comparison, compare, sign", "comparador", "comparateur, comparaison", "vergleich, zeichen"},
	{ruleValue, kindText, "value, limit, limit value, figure", "valor, limite", "valeur, limite", "wert, grenzwert"},
	{ruleUnit, kindText, "unit, units", "unidad", "unite", "einheit"},
	{ruleBasis, kindText, "basis, measured against", "base", "base", "bezug, basis"},
	{ruleCondition, kindText, "condition, conditions", "condicion", "condition", "bedingung"},
	{ruleEffective, kindText, "effective, effective date, since, date, effective since", "vigencia, vigente", "entree vigueur, vigueur", "gultig, gueltig ab, gultig ab"},
	{ruleHowKnown, kindText, "how known, known, evidence, source", "fuente", "source", "quelle, woher"},
	{ruleConfidence, kindText, "confidence, sure", "confianza", "confiance", "sicherheit, vertrauen"},
}

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
	index := map[Field]int{}
	for i, n := range names {
		index[Field(n)] = i
	}
	for _, f := range ruleFields {
		if _, ok := index[f.field]; !ok {
			return nil, fmt.Errorf("%s has no column %q", RulesFile, f.field)
		}
	}
	if len(names) != len(ruleFields) {
		return nil, fmt.Errorf("%s has %d columns, expected are %d", RulesFile, len(names), len(ruleFields))
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
		x, bad := parseRule(func(f Field) string { return rec[index[f]] })
		if bad.field != "" {
			return nil, fmt.Errorf("%s, rule %s, column %s: found %q, expected %s", RulesFile, rec[index[ruleID]], bad.field, bad.found, bad.expected)
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
	field           Field
	found, expected string
}

// parseRule makes a rule of the texts of a row.
func parseRule(get func(Field) string) (rule.Rule, badField) {
	text := func(f Field) string { return strings.TrimFunc(get(f), isBlank) }
	x := rule.Rule{
		ID: text(ruleID), Place: text(rulePlace), Instrument: text(ruleInstrument), Section: text(ruleSection), AppliesTo: text(ruleAppliesTo),
		Quantity: text(ruleQuantity), Unit: text(ruleUnit), Basis: text(ruleBasis), Condition: text(ruleCondition), Effective: text(ruleEffective),
		HowKnown: text(ruleHowKnown), Value: math.NaN(),
	}
	if x.Place == "" {
		return x, badField{rulePlace, "nothing", "the place where the rule holds"}
	}
	if x.Quantity == "" {
		return x, badField{ruleQuantity, "nothing", "what the rule limits, such as shutoff_level"}
	}
	if x.Instrument == "" {
		return x, badField{ruleInstrument, "nothing", "the law, code or standard that says so; a rule without its citation is not used"}
	}
	x.Quantity = strings.ReplaceAll(unit.Fold(x.Quantity), " ", "_")
	switch c := unit.Fold(text(ruleComparator)); c {
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
		return x, badField{ruleComparator, c, "one of <= < >= > == required not_allowed"}
	}
	v := text(ruleValue)
	if f, ok := ruleNumber(v); ok {
		x.Value = f
	} else if v != "" {
		x.ValueText = v
	} else {
		return x, badField{ruleValue, "nothing", "the rule's value"}
	}
	switch c := unit.Fold(text(ruleConfidence)); c {
	case "high", "":
		x.Confidence = rule.High
	case "medium":
		x.Confidence = rule.Medium
	case "low":
		x.Confidence = rule.Low
	default:
		return x, badField{ruleConfidence, c, "high, medium or low"}
	}
	x.From, x.To = effectiveDates(x.Effective)
	switch yes, ok := yesNo(text(ruleEnabled)); {
	case text(ruleEnabled) == "":
		x.Enabled = x.Confidence != rule.Low
	case !ok:
		return x, badField{ruleEnabled, text(ruleEnabled), "yes or no"}
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
	s = strings.TrimFunc(strings.TrimSuffix(s, "%"), isBlank)
	f, err := strconv.ParseFloat(s, 64)
	return f, err == nil && !math.IsNaN(f) && !math.IsInf(f, 0) && !strings.ContainsAny(s, "_xXpP")
}

// effectiveDates reads when a rule holds: "2018-10-01", "1991-09", "2003" (from
// the first day of the month or year on), "..2006-11-09", "2004-01-01..2010".
// Any other text gives no dates: it is printed, and the rule counts as in force.
func effectiveDates(s string) (from, to time.Time) {
	first, last, ranged := strings.Cut(s, "..")
	first, last = strings.TrimSpace(first), strings.TrimSpace(last)
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
	return time.Time{}, false
}

// readRules reads a Rules sheet: rows to be added to, or put over, the built-in
// ones.
func readRules(sh grid.Sheet, hd *header, out *findingsOf) ([]rule.Rule, Table, error) {
	tb := listTable(sh.At(), "rules", hd)
	var rules []rule.Rule
	for r, err := range sh.Rows() {
		if err != nil {
			return nil, tb, err
		}
		if r.N <= hd.last {
			continue
		}
		row := keepRow(r)
		get := func(f Field) string {
			c := row.at(hd.col(f))
			if hd.col(f) == 0 || c == nil {
				return ""
			}
			if f == ruleEffective && c.kind == grid.Number && c.format == grid.DateFormat {
				if t, ok := unit.SerialDate(c.num, false); ok {
					return t.Format("2006-01-02")
				}
			}
			if f == ruleValue && c.kind == grid.Number && c.format == grid.PercentFormat {
				return strconv.FormatFloat(c.num*100, 'g', 12, 64)
			}
			return c.text
		}
		if get(ruleQuantity) == "" && get(ruleValue) == "" {
			tb.pass(r.N, "no quantity and no value: a title or an empty row")
			continue
		}
		at := cell.Ref{File: sh.At().File, Sheet: sh.At().Sheet, Row: r.N}
		x, bad := parseRule(get)
		x.At = at
		if bad.field != "" {
			at.Col = hd.col(bad.field)
			out.add(finding.Finding{
				Slug: finding.RuleUnreadable, Severity: finding.Check, At: at, Found: bad.found, Expected: bad.expected,
				Why:        fmt.Sprintf("the rule %s cannot be used as it stands in the column %s", orNothing(x.ID), bad.field),
				Suggestion: "correct the row; until then the rule does not exist",
			})
			tb.pass(r.N, "the rule cannot be read: "+string(bad.field))
			continue
		}
		tb.take(r.N)
		rules = append(rules, x)
	}
	return rules, tb, nil
}

// mergeRules puts the rows of the books over the built-in ones of the same id.
func mergeRules(builtin, own []rule.Rule) []rule.Rule {
	over := make(map[string]int, len(own))
	for i, r := range own {
		over[unit.Fold(r.ID)] = i
	}
	merged := make([]rule.Rule, 0, len(builtin)+len(own))
	for _, r := range builtin {
		if _, ok := over[unit.Fold(r.ID)]; !ok {
			merged = append(merged, r)
		}
	}
	return append(merged, own...)
}

func orNothing(s string) string {
	if s == "" {
		return "without a name"
	}
	return s
}
