package rule

import (
	"slices"
	"strings"
	"time"
	"unicode"
)

// Federal is the place that every place of the United States lies in.
const Federal = "US federal"

// Set is a rules table made ready for questions: the rows that are switched on,
// by place.
type Set struct {
	byPlace map[string][]Rule
	names   map[string]string // folded name -> name as written
}

// NewSet takes the rows of all tables. Rows that are switched off stay out. A row
// with the id of an earlier one takes its place, so that a book's own rows, put
// behind the embedded ones, override them.
func NewSet(rows []Rule) *Set {
	s := &Set{byPlace: map[string][]Rule{}, names: map[string]string{}}
	last := map[string]int{}
	for i, r := range rows {
		last[r.ID] = i
	}
	for i, r := range rows {
		if r.ID != "" && last[r.ID] != i {
			continue
		}
		key := foldPlace(r.Place)
		if key == "" {
			continue
		}
		if _, ok := s.names[key]; !ok {
			s.names[key] = r.Place
		}
		if r.Enabled {
			s.byPlace[key] = append(s.byPlace[key], r)
		}
	}
	return s
}

// foldPlace makes the ways in which a place is written one: "US federal",
// "us-federal" and "US Federal" are the same. Only the parts count, not what
// stands between them.
func foldPlace(s string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }), "-")
}

// Places lists the places that the rows name, sorted, as they are written on the
// command line: "US-federal".
func Places(rows []Rule) []string {
	var list []string
	for _, r := range rows {
		if name := strings.ReplaceAll(r.Place, "US federal", "US-federal"); r.Enabled && name != "" && !slices.Contains(list, name) {
			list = append(list, name)
		}
	}
	slices.Sort(list)
	return list
}

// KnownPlace reports whether any row that is switched on names the place, or a
// place that it lies in other than the whole country.
func KnownPlace(rows []Rule, place string) bool {
	s := NewSet(rows)
	return s.Known(place)
}

// Known reports whether the place, or the state that it lies in, has rules.
func (s *Set) Known(place string) bool {
	for _, key := range chain(place) {
		if key != foldPlace(Federal) || foldPlace(place) == key {
			if len(s.byPlace[key]) > 0 {
				return true
			}
		}
	}
	return false
}

// chain lists a place and the places that it lies in, innermost first: a county
// lies in its state, a state in the country.
func chain(place string) []string {
	key := foldPlace(place)
	var list []string
	for k := key; k != ""; {
		list = append(list, k)
		i := strings.LastIndexByte(k, '-')
		if i < 0 {
			break
		}
		k = k[:i]
	}
	if federal := foldPlace(Federal); (key == "us" || strings.HasPrefix(key, "us-")) && !slices.Contains(list, federal) {
		list = append(list, federal)
	}
	return list
}

// For gives the rows about a quantity that hold in a place on a day, innermost
// place first. A place that has rows of its own about a quantity is not relieved
// of those of the places around it: all are given.
func (s *Set) For(place, quantity string, day time.Time) []Rule {
	var list []Rule
	for _, key := range chain(place) {
		for _, r := range s.byPlace[key] {
			if r.Quantity == quantity && r.InForce(day) {
				list = append(list, r)
			}
		}
	}
	return list
}

// InForce reports whether the rule holds on a day. A zero day asks for the rules
// as they stand, without an end.
func (r *Rule) InForce(day time.Time) bool {
	if day.IsZero() {
		return r.To.IsZero()
	}
	return (r.From.IsZero() || !day.Before(r.From)) && (r.To.IsZero() || !day.After(r.To))
}
