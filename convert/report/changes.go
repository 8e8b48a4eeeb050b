package report

import (
	"fmt"
	"strings"

	"dropcut/plan/unit"
)

// Change is something in which a run differs from the one before it.
type Change struct {
	Book string `json:"book"`
	Site string `json:"site,omitempty"`
	Tank string `json:"tank,omitempty"` // "" for the book itself
	What string `json:"what"`
	Old  string `json:"old,omitempty"`
	New  string `json:"new,omitempty"`
	// Moved says of a shutoff whether it moved "up" (towards the limit) or "down".
	Moved string `json:"moved,omitempty"`
}

// Changes are the changes since the run before.
type Changes struct {
	// First says that no run finished before, so that there is nothing to compare.
	First bool
	// List holds the first of them, Count is the number of all.
	List  []Change
	Count int
	// Unknown is the number of books of which another version of the program has
	// kept the results of the run before, so that they cannot be compared.
	Unknown int
	// Tanks is the number of tanks that changed, Up and Down of shutoffs that
	// moved.
	Tanks, Up, Down int
}

// changesKept bounds how many changes are listed one by one; whoever changes the
// limit of a whole country does not read them all.
const changesKept = 20_000

func (s *Changes) add(c Change) {
	s.Count++
	switch c.Moved {
	case "up":
		s.Up++
	case "down":
		s.Down++
	}
	if len(s.List) < changesKept {
		s.List = append(s.List, c)
	}
}

// Summary says in one line what changed.
func (s *Changes) Summary() string {
	switch {
	case s.First:
		return "first run of this folder"
	case s.Count == 0 && s.Unknown == 0:
		return "no changes"
	case s.Count == 0:
		return s.unknown()
	}
	t := count(s.Count, "change", "changes")
	if s.Tanks > 0 {
		t += " at " + count(s.Tanks, "tank", "tanks")
	}
	if s.Up+s.Down > 0 {
		t += fmt.Sprintf("; %s up (towards the limit), %s down", count(s.Up, "shutoff moved", "shutoffs moved"), grouped(s.Down))
	}
	if s.Unknown > 0 {
		t += "; " + s.unknown()
	}
	return t
}

func (s *Changes) unknown() string {
	return count(s.Unknown, "book", "books") + " cannot be compared, since the run before was made by another version of dropcut"
}

func (s *Changes) gone(paths []string) {
	for _, p := range paths {
		s.add(Change{Book: p, What: "book", Old: p})
	}
}

// book compares what two runs made of a book; before is nil for a book that is
// new.
func (s *Changes) book(before, now *Book, u Units) {
	if s.First {
		return
	}
	if before == nil {
		s.add(Change{Book: now.Path, What: "book", New: count(len(now.Tanks), "tank", "tanks")})
		return
	}
	if before.Failed != now.Failed {
		s.add(Change{Book: now.Path, What: "could not be done", Old: before.Failed, New: now.Failed})
	}
	if now.Failed != "" {
		return
	}
	was := map[tankKey]*Tank{}
	keys := tankKeys(before)
	for i := range before.Tanks {
		was[keys[i]] = &before.Tanks[i]
	}
	for i, k := range tankKeys(now) {
		t, o := &now.Tanks[i], was[k]
		delete(was, k)
		if o == nil {
			s.Tanks++
			s.add(Change{Book: now.Path, Site: t.Site, Tank: t.ID, What: "tank", New: string(t.Status)})
			continue
		}
		if n := s.Count; s.tank(now.Path, o, t, u) > n {
			s.Tanks++
		}
	}
	for i, k := range keys {
		if o := was[k]; o != nil {
			s.Tanks++
			s.add(Change{Book: now.Path, Site: before.Tanks[i].Site, Tank: before.Tanks[i].ID, What: "tank", Old: string(o.Status)})
		}
	}
}

// told lists the figures whose changes are told, in the order of the telling.
func told() []struct {
	at   int
	name string
} {
	return []struct {
		at   int
		name string
	}{
		{FullVolume, "full volume"},
		{LimitPercent, "limit"},
		{ShutoffDepth, "shutoff depth"},
		{UpperTube, "upper tube"},
		{DropLength, "drop length"},
		{LowerTube, "lower tube"},
		{AlarmDepth, "alarm depth"},
	}
}

func (s *Changes) tank(book string, o, t *Tank, u Units) int {
	add := func(c Change) {
		c.Book, c.Site, c.Tank = book, t.Site, t.ID
		s.add(c)
	}
	if o.Status != t.Status {
		add(Change{What: "status", Old: string(o.Status), New: string(t.Status)})
	}
	for _, f := range told() {
		a, b := o.Figures[f.at], t.Figures[f.at]
		if x, y := figureText(f.at, a, u), figureText(f.at, b, u); x != y {
			c := Change{What: f.name, Old: x, New: y}
			if f.at == ShutoffDepth && a.Known && b.Known {
				c.Moved = "down"
				if b.V > a.V {
					c.Moved = "up"
				}
			}
			add(c)
		}
	}
	if x, y := flagsText(o.Flags), flagsText(t.Flags); x != y {
		add(Change{What: "findings", Old: x, New: y})
	}
	return s.Count
}

// figureText prints a figure with its unit, finely enough that what prints alike
// is the same to a saw.
func figureText(at int, n Num, u Units) string {
	if !n.Known {
		return ""
	}
	switch at {
	case FullVolume, LimitVolume, ShutoffVolume:
		return unit.GroupedText(trimZeros(unit.VolumeText(unit.Volume(n.V), u.Volume, 1))) + " " + u.volumeUnit()
	case LimitPercent, ShutoffPercent, WorstPercent, ChanceOverLimit:
		return trimZeros(unit.DecimalText(n.V, 3, unit.Down)) + " %"
	}
	if u.Length.Metric() {
		return trimZeros(unit.LengthText(unit.Length(n.V), unit.Millimetres, 1, unit.Nearest)) + " mm"
	}
	return trimZeros(unit.DecimalText(n.V, 4, unit.Nearest)) + " in"
}

// tankKey is what makes rows of two runs the same tank: site and id, and the
// how-manieth of that name it is.
type tankKey struct {
	site, id string
	nth      int
}

func tankKeys(b *Book) []tankKey {
	seen := map[tankKey]int{}
	keys := make([]tankKey, len(b.Tanks))
	for i := range b.Tanks {
		k := tankKey{site: unit.Fold(strings.TrimSpace(b.Tanks[i].Site)), id: unit.Fold(strings.TrimSpace(b.Tanks[i].ID))}
		n := seen[k]
		seen[k] = n + 1
		k.nth = n
		keys[i] = k
	}
	return keys
}

// Text says a change in one line.
func (c Change) Text() string {
	var b strings.Builder
	if c.Tank == "" {
		b.WriteString("the book " + c.Book)
	} else {
		b.WriteString("tank " + c.Tank)
		if c.Site != "" {
			b.WriteString(", " + c.Site)
		}
	}
	switch {
	case c.What == "book" && c.Old == "", c.What == "tank" && c.Old == "":
		b.WriteString(" is new: " + c.New)
	case c.What == "book", c.What == "tank":
		b.WriteString(" is gone")
	case c.What == "could not be done" && c.New == "":
		b.WriteString(" could be done again")
	case c.What == "could not be done":
		b.WriteString(" could not be done: " + c.New)
	default:
		b.WriteString(": " + c.What + " " + orNone(c.Old) + " -> " + orNone(c.New))
	}
	if c.Moved == "up" {
		b.WriteString(", up, towards the limit")
	} else if c.Moved == "down" {
		b.WriteString(", down")
	}
	return b.String()
}

func orNone(s string) string {
	if s == "" {
		return "none"
	}
	return s
}
