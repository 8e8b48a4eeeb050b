package portfolio

import (
	"fmt"
	"math"

	"dropcut/plan/cell"
	"dropcut/plan/finding"
)

// From so many tanks of a site on, equal measures are told, and from so many on
// a person must look: common practice, no source. Two risers of one length are
// common; four that agree to 1/32 in were hardly measured one by one.
const (
	alikeTold  = 3
	alikeCheck = 4
	alikeStep  = 1.0 / 32
)

// copied finds sites whose tanks all have the same riser height. One measure was
// then taken and written down for all, and the upper tube follows from it.
func (v *View) copied(b *Book) {
	sites := map[string][]int{}
	var order []string
	for i := range b.Tanks {
		t := &b.Tanks[i]
		if t.Site == "" || !(t.Riser > 0) {
			continue
		}
		key := fold(t.Site)
		if _, ok := sites[key]; !ok {
			order = append(order, key)
		}
		sites[key] = append(sites[key], i)
	}
	for _, key := range order {
		list := sites[key]
		first := &b.Tanks[list[0]]
		if len(list) < alikeTold {
			continue
		}
		alike := true
		var related []cell.Ref
		for _, i := range list {
			alike = alike && math.Abs(b.Tanks[i].Riser-first.Riser) < alikeStep
			if i != list[0] {
				related = append(related, b.Tanks[i].RiserAt)
			}
		}
		if !alike {
			continue
		}
		s := finding.Note
		if len(list) >= alikeCheck {
			s = finding.Check
		}
		v.habits = append(v.habits, Found{Book: b.Name, Tanks: list, Finding: finding.Finding{
			Slug: finding.RisersAlike, Severity: s, Site: first.Site, At: first.RiserAt,
			Found:      fmt.Sprintf("riser height %s at all %d tanks of the site", inches(first.Riser), len(list)),
			Expected:   "a measure of its own for each riser",
			Why:        "risers are cut to the grade above each tank; one measure written down for all gives upper tubes that shut off at the wrong level",
			Suggestion: "ask who measured, and measure the others again",
			Related:    related,
		}})
	}
}
