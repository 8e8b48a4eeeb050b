package rule

import (
	"iter"
	"slices"
	"strings"
	"time"
	"unicode"
)

// Federal is the place that every place of the United States lies in.
const Federal = "US federal"

const federalKey = "us-federal"

// Set is a rules table made ready for questions: the rows that are switched on,
// by place. It is not changed after NewSet and may be shared.
type Set struct {
	byPlace map[string][]Rule
	names   map[string]string // folded name -> name as written
	unread  []unreadRule
}

// unreadRule is a row that cannot be used, with the folded name of its place.
type unreadRule struct {
	key string
	Rule
}

// NewSet takes the rows of all tables. Rows that are switched off stay out. A row
// of a book takes the place of the embedded one with its id. Where two rows of
// books have one id, both hold, and of two limits the lower one counts. What
// cannot be read is kept for [Place.Unread].
func NewSet(rows []Rule) *Set {
	s := &Set{byPlace: map[string][]Rule{}, names: map[string]string{}}
	own := map[string]bool{}
	for _, r := range rows {
		if !r.At.IsZero() && !r.Unread {
			own[r.ID] = true
		}
	}
	for _, r := range rows {
		key := foldPlace(r.Place)
		if r.Unread && key != "" {
			s.unread = append(s.unread, unreadRule{key, r})
			continue
		}
		if !r.Enabled || key == "" || r.At.IsZero() && r.ID != "" && own[r.ID] {
			continue
		}
		if _, ok := s.names[key]; !ok {
			s.names[key] = r.Place
		}
		var read reading
		read.percent, read.isPercent = r.Percent()
		read.height, read.isHeight = r.Height()
		read.done = true
		r.read = read
		s.byPlace[key] = append(s.byPlace[key], r)
	}
	return s
}

// foldPlace makes the ways in which a place is written one: "US federal",
// "us-federal", "USA" and "federal" are the same, and so are "US-Oregon", "US-OR"
// and "Oregon". Only the parts count, not what stands between them.
func foldPlace(s string) string {
	parts := strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	switch {
	case len(parts) == 0:
		return ""
	case parts[0] == "usa" || parts[0] == "federal" && len(parts) == 1:
		parts[0] = "us"
	case len(parts) > 1 && parts[0] == "united" && parts[1] == "states":
		parts = parts[1:]
		parts[0] = "us"
		if len(parts) > 2 && parts[1] == "of" && parts[2] == "america" {
			parts = slices.Delete(parts, 1, 3)
		}
	case len(parts) > 1 && parts[0] == "u" && parts[1] == "s":
		parts = parts[1:]
		parts[0] = "us"
	}
	if parts[0] == "us" {
		if len(parts) == 1 {
			return federalKey
		}
		if name, ok := postal(parts[1]); ok {
			parts[1] = name
		}
		return strings.Join(parts, "-")
	}
	// A state alone, by its name or, where nothing else stands there, by its two
	// letters.
	if name, ok := postal(parts[0]); ok && len(parts) == 1 {
		return "us-" + name
	}
	key := strings.Join(parts, "-")
	for _, st := range states {
		if key == st.name || strings.HasPrefix(key, st.name+"-") {
			return "us-" + key
		}
	}
	return key
}

// Places lists the places that rows which are switched on name, sorted, as they
// are written on the command line: "US-federal".
func Places(rows []Rule) []string {
	var list []string
	for _, r := range rows {
		name := r.Place
		if foldPlace(name) == federalKey {
			name = "US-federal"
		}
		if r.Enabled && name != "" && !slices.Contains(list, name) {
			list = append(list, name)
		}
	}
	slices.Sort(list)
	return list
}

// KnownPlace reports whether the rows name the place or one that it lies in.
func KnownPlace(rows []Rule, place string) bool { return NewSet(rows).Known(place) }

// Known reports whether the place, or one that it lies in, has rules. That it
// lies in the United States is not enough, so that a misspelled state is not
// taken for one without rules: it has to be a state that there is.
func (s *Set) Known(place string) bool {
	key := foldPlace(place)
	for _, k := range chain(key) {
		if len(s.byPlace[k]) > 0 && (k != federalKey || key == federalKey || inState(key)) {
			return true
		}
	}
	return false
}

// inState reports whether a place is a state of the United States or lies in
// one.
func inState(key string) bool {
	rest, ok := strings.CutPrefix(key, "us-")
	if !ok {
		return false
	}
	return slices.ContainsFunc(states[:], func(st state) bool { return rest == st.name || strings.HasPrefix(rest, st.name+"-") })
}

// Names reports whether rows name the place itself. Where none does, near is the
// name of a place that differs in one or two letters only, "" for none.
func (s *Set) Names(place string) (own bool, near string) {
	key := foldPlace(place)
	if len(s.byPlace[key]) > 0 {
		return true, ""
	}
	best := 3
	for k, name := range s.names {
		if d := distance(key, k, best+1); d < best || d == best && d < 3 && name < near {
			best, near = d, name
		}
	}
	return false, near
}

// distance gives the number of letters to change, add or leave out to make b of
// a; limit where there are as many or more.
func distance(a, b string, limit int) int {
	if d := len(a) - len(b); d >= limit || -d >= limit {
		return limit
	}
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		last := row[0]
		row[0] = i + 1
		for j := range len(b) {
			next := min(row[j], row[j+1]) + 1
			if a[i] == b[j] {
				next = min(next, last)
			} else {
				next = min(next, last+1)
			}
			last, row[j+1] = row[j+1], next
		}
	}
	return min(row[len(b)], limit)
}

// chain lists a place and the places that it lies in, innermost first: a county
// lies in its state, a state in the country.
func chain(key string) []string {
	list := make([]string, 0, 6)
	for k := key; k != ""; {
		list = append(list, k)
		i := strings.LastIndexByte(k, '-')
		if i < 0 {
			break
		}
		k = k[:i]
	}
	if strings.HasPrefix(key, "us-") && key != federalKey {
		list = append(list, federalKey)
	}
	return list
}

// Place is a place with the rules that hold in it.
type Place struct {
	rows [][]Rule // innermost place first
	// Names are the places that have rules, innermost first.
	Names []string
	// Unread are the rows about these places that cannot be used as they stand.
	Unread []*Rule
}

// In gathers the rules of a place and of the places around it.
func (s *Set) In(place string) Place {
	var p Place
	for _, k := range chain(foldPlace(place)) {
		if rows := s.byPlace[k]; len(rows) > 0 {
			p.rows = append(p.rows, rows)
			p.Names = append(p.Names, s.names[k])
		}
		for i := range s.unread {
			if s.unread[i].key == k {
				p.Unread = append(p.Unread, &s.unread[i].Rule)
			}
		}
	}
	return p
}

// About gives the rows about a quantity, innermost place first. A place that has
// rows of its own about a quantity is not relieved of those of the places around
// it: all are given.
func (p Place) About(quantity string) iter.Seq[*Rule] {
	return func(yield func(*Rule) bool) {
		for _, rows := range p.rows {
			for i := range rows {
				if rows[i].Quantity == quantity && !yield(&rows[i]) {
					return
				}
			}
		}
	}
}

// written is a day that lies behind every plan this program makes: without the day
// of the plan, rules that began or ended before it are known to hold or not.
var written = time.Date(2026, time.November, 1, 0, 0, 0, 0, time.UTC)

// InForce reports whether the rule holds on a day, and whether that is sure. Where
// the day is zero, not given, a rule that ends or begins after the day on which this was
// written may hold.
func (r *Rule) InForce(day time.Time) (holds, sure bool) {
	if day.IsZero() {
		ended := !r.To.IsZero() && r.To.Before(written)
		return !ended, ended || r.To.IsZero() && !r.From.After(written)
	}
	return (r.From.IsZero() || !day.Before(r.From)) && (r.To.IsZero() || !day.After(r.To)), true
}

// state is a state of the United States, a district or a territory.
type state struct{ post, name string }

func postal(two string) (string, bool) {
	if len(two) != 2 {
		return "", false
	}
	for _, st := range states {
		if st.post == two {
			return st.name, true
		}
	}
	return "", false
}

// states with their postal abbreviations, as they are generally known.
var states = [...]state{
	{"al", "alabama"},
	{"ak", "alaska"},
	{"az", "arizona"},
	{"ar", "arkansas"},
	{"ca", "california"},
	{"co", "colorado"},
	{"ct", "connecticut"},
	{"de", "delaware"},
	{"dc", "district-of-columbia"},
	{"fl", "florida"},
	{"ga", "georgia"},
	{"hi", "hawaii"},
	{"id", "idaho"},
	{"il", "illinois"},
	{"in", "indiana"},
	{"ia", "iowa"},
	{"ks", "kansas"},
	{"ky", "kentucky"},
	{"la", "louisiana"},
	{"me", "maine"},
	{"md", "maryland"},
	{"ma", "massachusetts"},
	{"mi", "michigan"},
	{"mn", "minnesota"},
	{"ms", "mississippi"},
	{"mo", "missouri"},
	{"mt", "montana"},
	{"ne", "nebraska"},
	{"nv", "nevada"},
	{"nh", "new-hampshire"},
	{"nj", "new-jersey"},
	{"nm", "new-mexico"},
	{"ny", "new-york"},
	{"nc", "north-carolina"},
	{"nd", "north-dakota"},
	{"oh", "ohio"},
	{"ok", "oklahoma"},
	{"or", "oregon"},
	{"pa", "pennsylvania"},
	{"pr", "puerto-rico"},
	{"ri", "rhode-island"},
	{"sc", "south-carolina"},
	{"sd", "south-dakota"},
	{"tn", "tennessee"},
	{"tx", "texas"},
	{"ut", "utah"},
	{"vt", "vermont"},
	{"va", "virginia"},
	{"wa", "washington"},
	{"wv", "west-virginia"},
	{"wi", "wisconsin"},
	{"wy", "wyoming"},
	{"gu", "guam"},
	{"vi", "virgin-islands"},
}
