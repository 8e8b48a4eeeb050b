package rule

import (
	"slices"
	"testing"
	"time"

	"dropcut/plan/cell"
)

func day(s string) time.Time {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		panic(err)
	}
	return t
}

func table() []Rule {
	row := func(id, place string, v float64) Rule {
		return Rule{ID: id, Place: place, Quantity: "shutoff_level", Comparator: AtMost, Value: v, Unit: "percent_full", Enabled: true, Confidence: High}
	}
	off := row("EU", "EU/UK", 97)
	off.Enabled, off.Confidence = false, Low
	return []Rule{row("US", "US federal", 95), row("OR", "US-Oregon", 95), row("DC", "US-District of Columbia", 95), row("T", "US-Tamarack", 95), row("TS", "US-Tamarack-Saltmarsh County", 92), row("AT", "Austria", 95), off}
}

func TestPlacesAreMatchedLoosely(t *testing.T) {
	s := NewSet(table())
	for place, want := range map[string][]string{
		"US federal": {"US federal"}, "us-federal": {"US federal"}, "US": {"US federal"}, "USA": {"US federal"}, "Federal": {"US federal"}, "United States of America": {"US federal"}, "U.S.": {"US federal"},
		"US-Oregon": {"US-Oregon", "US federal"}, "oregon": {"US-Oregon", "US federal"}, "OR": {"US-Oregon", "US federal"}, "US, OR": {"US-Oregon", "US federal"},
		"US-Oregon-Lane County": {"US-Oregon", "US federal"}, "Oregon, Lane county": {"US-Oregon", "US federal"},
		"US-DC": {"US-District of Columbia", "US federal"}, "us_district_of_columbia": {"US-District of Columbia", "US federal"},
		"US-Tamarack-Saltmarsh county": {"US-Tamarack-Saltmarsh County", "US-Tamarack", "US federal"},
		"Texas":                        {"US federal"}, "US-Texas-Travis County": {"US federal"},
		"austria": {"Austria"}, "United States, Oregon": {"US-Oregon", "US federal"}, "U S Oregon": {"US-Oregon", "US federal"},
		"EU/UK": nil, "United Kingdom": nil, "United": nil, "U.K.": nil, "U": nil, "America": nil, "XX": nil, "Atlantis": nil, "": nil, " - ": nil,
	} {
		p := s.In(place)
		if !slices.Equal(p.Names, want) {
			t.Errorf("%q lies in %v, want %v", place, p.Names, want)
		}
		if known := s.Known(place); known != (want != nil) {
			t.Errorf("%q known: %v", place, known)
		}
	}
	for _, typo := range []string{"United States of", "United States of Oregn", "US-XX", "US-Oregn", "US-Texsa", "US-", "U S A F"} {
		if s.Known(typo) && typo != "US-" {
			t.Errorf("%q is taken for a place", typo)
		}
	}
}

func TestNames(t *testing.T) {
	s := NewSet(table())
	for _, c := range []struct {
		place string
		own   bool
		near  string
	}{
		{"US-Tamarack-Saltmarsh county", true, ""},
		{"US-Tamarack-Saltmarch County", false, "US-Tamarack-Saltmarsh County"},
		{"US-Tamarack-Hill County", false, ""},
		{"US-Orgon", false, "US-Oregon"},
	} {
		if own, near := s.Names(c.place); own != c.own || near != c.near {
			t.Errorf("%q: %v, near %q", c.place, own, near)
		}
	}
}

// Three letters are another name; of two names as near, the first by the alphabet
// is told, whichever is come to first.
func TestTheNearestName(t *testing.T) {
	s := NewSet([]Rule{
		{Place: "Torvale", Quantity: "shutoff_level", Value: 95, Enabled: true},
		{Place: "Corvale", Quantity: "shutoff_level", Value: 95, Enabled: true},
		{Place: "Quillimore", Quantity: "shutoff_level", Value: 95, Enabled: true},
	})
	for place, want := range map[string]string{
		"Morvale": "Corvale", "Torvall": "Torvale", "Quillimxyz": "", "Quillimoxy": "Quillimore",
	} {
		for range 20 {
			if _, near := s.Names(place); near != want {
				t.Fatalf("%q is near %q, want %q", place, near, want)
			}
		}
	}
}

// Counted by hand: letters changed, added and left out.
func TestDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{
		{"", "", 0},
		{"", "ab", 2},
		{"ab", "", 2},
		{"oregon", "oregon", 0},
		{"xoregon", "oregon", 1},
		{"oregon", "xyoregon", 2},
		{"oregn", "oregon", 1},
		{"texsa", "texas", 2},
		{"abcd", "wxyz", 4},
		{"abcde", "bcdef", 2},
	} {
		if got := distance(c.a, c.b, 9); got != c.want {
			t.Errorf("%q to %q: %d, want %d", c.a, c.b, got, c.want)
		}
		if got := distance(c.a, c.b, c.want); got != c.want {
			t.Errorf("%q to %q up to %d: %d", c.a, c.b, c.want, got)
		}
	}
}

func TestPlacesAreListed(t *testing.T) {
	want := []string{"Austria", "US-District of Columbia", "US-Oregon", "US-Tamarack", "US-Tamarack-Saltmarsh County", "US-federal"}
	if got := Places(table()); !slices.Equal(got, want) {
		t.Errorf("%v", got)
	}
	if !KnownPlace(table(), "US-federal") || KnownPlace(table(), "Atlantis") {
		t.Error("known places")
	}
}

func TestInForce(t *testing.T) {
	began, ended := Rule{From: day("2006-11-10")}, Rule{To: day("2006-11-09")}
	begins, ends := Rule{From: day("2040-01-01")}, Rule{To: day("2039-12-31")}
	type answer struct{ holds, sure bool }
	yes, no, perhaps := answer{true, true}, answer{false, true}, answer{true, false}
	for d, want := range map[string][4]answer{
		"2006-11-09": {no, yes, no, yes}, "2006-11-10": {yes, no, no, yes}, "2039-12-31": {yes, no, no, yes}, "2040-01-01": {yes, no, yes, no},
		"": {yes, no, perhaps, perhaps},
	} {
		on := time.Time{}
		if d != "" {
			on = day(d)
		}
		for i, r := range []Rule{began, ended, begins, ends} {
			if holds, sure := r.InForce(on); (answer{holds, sure}) != want[i] {
				t.Errorf("%q, rule %d: %v %v, want %v", d, i, holds, sure, want[i])
			}
		}
	}
}

// The same day of the period after: UST Compliance Performance Measures, Guide
// for Inspectors, 2018. Leap days by the calendar.
func TestDue(t *testing.T) {
	three := Rule{Value: 3, Unit: "year"}
	months := Rule{Value: 36, Unit: "month"}
	for last, want := range map[string]string{
		"2021-03-11": "2024-03-11", "2024-02-29": "2027-02-28", "2021-02-28": "2024-02-28", "2020-12-31": "2023-12-31",
	} {
		for _, r := range []Rule{three, months} {
			if got, ok := r.Due(day(last)); !ok || !got.Equal(day(want)) {
				t.Errorf("%v %s after %s: %s, want %s", r.Value, r.Unit, last, got.Format(time.DateOnly), want)
			}
		}
	}
	month := Rule{Value: 1, Unit: "month"}
	if got, _ := month.Due(day("2025-01-31")); !got.Equal(day("2025-02-28")) {
		t.Errorf("a month after 31 January: %s", got.Format(time.DateOnly))
	}
	days := Rule{Value: 30, Unit: "day"}
	if got, ok := days.Due(day("2025-01-31")); !ok || !got.Equal(day("2025-03-02")) {
		t.Errorf("30 days after 31 January: %s", got.Format(time.DateOnly))
	}
	for _, bad := range []Rule{{Value: 0, Unit: "year"}, {Value: 2.5, Unit: "year"}, {Value: 95, Unit: "percent_full"}, {}} {
		if _, ok := bad.Due(day("2025-01-31")); ok {
			t.Errorf("%v %s is taken for a period", bad.Value, bad.Unit)
		}
	}
}

// The words of the rules table that join (Oregon: OAR 340-150-0310(2); Wisconsin:
// ATCP 93.410(10)).
func TestWordsThatJoin(t *testing.T) {
	oregon := Rule{Condition: "AND no top fitting exposed (cumulative, unlike federal)"}
	federal := Rule{Condition: "automatic shutoff alternative; carries no percentage"}
	restrict := Rule{Basis: "AND restriction at <= 95 percent AND audible alarm >= 5 min before overfill"}
	wisconsin := Rule{Basis: "BOTH alarm and shutoff", AppliesTo: "aboveground double-wall"}
	second := Rule{Quantity: "alarm_level_and_shutoff_level", ValueText: "90;95"}
	if !oregon.AsksForDryTop() || federal.AsksForDryTop() || restrict.AsksForDryTop() {
		t.Error("dry top")
	}
	if !wisconsin.AsksForBoth() || !second.AsksForBoth() || oregon.AsksForBoth() || restrict.AsksForBoth() {
		t.Error("both")
	}
	if !wisconsin.Aboveground() || oregon.Aboveground() {
		t.Error("aboveground")
	}
	if second.First() != 90 || oregon.First() != 0 {
		t.Error("first number")
	}
}

// A row of a contractor's book takes the place of the built-in row of its id;
// where two rows of books bear one id, both hold. A row that cannot be read
// answers no question, and does not take the built-in row away.
func TestRowsOfABookTakeThePlaceOfBuiltInOnes(t *testing.T) {
	at := func(row int) cell.Ref { return cell.Ref{File: "a.xlsx", Sheet: "Rules", Row: row} }
	row := func(id, place string, v float64, ref cell.Ref) Rule {
		return Rule{ID: id, Place: place, Quantity: "shutoff_level", Comparator: AtMost, Value: v, Enabled: true, At: ref}
	}
	unread := row("OR", "Oregon", 93, at(4))
	unread.Unread = true
	s := NewSet([]Rule{
		row("US", "US federal", 95, cell.Ref{}), row("OR", "US-Oregon", 95, cell.Ref{}), row("", "US-Oregon", 94, cell.Ref{}),
		row("US", "USA", 90, at(2)), row("US", "us-federal", 91, at(3)), unread,
		row("X", "", 80, at(5)),
	})
	var got []float64
	for r := range s.In("US-Oregon").About("shutoff_level") {
		got = append(got, r.Value)
	}
	if want := []float64{95, 94, 90, 91}; !slices.Equal(got, want) {
		t.Errorf("the limits in Oregon are %v, want %v", got, want)
	}
	if p := s.In("Oregon, Lane County"); len(p.Unread) != 1 || p.Unread[0].At != at(4) {
		t.Errorf("the row that could not be read is not told of: %v", p.Unread)
	}
	if p := s.In("US-Texas"); len(p.Unread) != 0 {
		t.Errorf("Texas is told of a row about Oregon: %v", p.Unread)
	}
	// Whoever wants the first row only gets no second.
	n := 0
	for range s.In("US-Oregon").About("shutoff_level") {
		n++
		break
	}
	for range s.In("US-Oregon").About("vapour") {
		n++
	}
	if n != 1 {
		t.Errorf("%d rows were given", n)
	}
}

func TestCitation(t *testing.T) {
	r := Rule{Instrument: "40 CFR 280"}
	if got := r.Citation(); got != "40 CFR 280" {
		t.Errorf("without a section: %q", got)
	}
	if r.Section = "20(c)(1)(ii)"; r.Citation() != "40 CFR 280, 20(c)(1)(ii)" {
		t.Errorf("with a section: %q", r.Citation())
	}
}

func TestWhatLimitsTheShutoff(t *testing.T) {
	for q, want := range map[string]bool{"shutoff_level": true, "fill_limit": true, "alarm_level": false, "fill_pipe_end_above_bottom": false, "record_retention": false, "": false} {
		if got := (&Rule{Quantity: q}).LimitsShutoff(); got != want {
			t.Errorf("%q limits the shutoff: %v", q, got)
		}
	}
}
