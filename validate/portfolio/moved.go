package portfolio

import (
	"fmt"

	"dropcut/plan/finding"
)

// noise is below what any step of a cut could be: figures that differ by less
// are the same figure computed twice.
const noise = 1e-6

// Moved finds tanks of a book whose shutoff moved up, towards the limit, since
// the book was planned before. A tank is known by its site, its id and the
// how-manieth of that name it is.
func Moved(before, now *Book) []Found {
	type key struct {
		site, id string
		nth      int
	}
	keys := func(b *Book) []key {
		seen := map[key]int{}
		list := make([]key, len(b.Tanks))
		for i := range b.Tanks {
			k := key{site: fold(b.Tanks[i].Site), id: fold(b.Tanks[i].ID)}
			n := seen[k]
			seen[k] = n + 1
			k.nth = n
			list[i] = k
		}
		return list
	}
	was := map[key]*Tank{}
	for i, k := range keys(before) {
		was[k] = &before.Tanks[i]
	}
	var out []Found
	for i, k := range keys(now) {
		t, o := &now.Tanks[i], was[k]
		if o == nil || o.Shutoff == 0 || t.Shutoff == 0 || t.Shutoff <= o.Shutoff+noise {
			continue
		}
		out = append(out, Found{Book: now.Name, Tanks: []int{i}, Finding: finding.Finding{
			Slug: finding.ShutoffMovedUp, Severity: finding.Note, Site: t.Site, Tank: t.ID, At: t.At,
			Found:      "shutoff depth " + inches(t.Shutoff),
			Expected:   inches(o.Shutoff) + ", as planned the last time",
			Why:        fmt.Sprintf("the shutoff moved up by %s, towards the limit", inches(t.Shutoff-o.Shutoff)),
			Suggestion: "look at what was changed in the book, and who changed it",
		}})
	}
	return out
}
