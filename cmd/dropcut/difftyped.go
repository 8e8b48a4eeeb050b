package main

import (
	"dropcut/convert/change"
	"dropcut/convert/writeback"
	"dropcut/validate/limits"
)

// typedFigures lists the figures of a planned book that somebody has typed over:
// what was written there no longer stands in the cell.
func (w *work) typedFigures() ([]change.Record, error) {
	own, closeAll := (&options{}).ownSheets(w)
	defer closeAll()
	rows, err := writeback.Written(w.book(), w.reading, w.results, own)
	if err != nil {
		return nil, err
	}
	var list []change.Record
	for _, row := range rows {
		t := w.results[row.Tank].Tank
		for _, f := range row.Figures {
			if f.Differs && f.Since == limits.Typed {
				list = append(list, change.Record{
					Subject: change.ByHand, Site: t.Site.Raw, Tank: t.ID.Raw, What: f.Name, Old: f.Want, New: f.Text, NewAt: f.At,
				})
			}
		}
	}
	return list, nil
}

// withTyped adds to the changes between two books the figures of a plan that
// somebody has typed over in the new one and not in the old one: the plan of both
// is the same, and the books are not.
func withTyped(set change.Set, old, new *work) (change.Set, error) {
	before, err := old.typedFigures()
	if err != nil {
		return set, err
	}
	now, err := new.typedFigures()
	if err != nil {
		return set, err
	}
	type figure struct{ site, tank, what, text string }
	key := func(r change.Record) figure { return figure{r.Site, r.Tank, r.What, r.New} }
	known := map[figure]bool{}
	for _, r := range before {
		known[key(r)] = true
	}
	touched := map[[2]string]bool{}
	for _, r := range set.Records {
		touched[[2]string{r.Site, r.Tank}] = true
	}
	for _, r := range now {
		if known[key(r)] {
			continue
		}
		set.Records = append(set.Records, r)
		if tank := [2]string{r.Site, r.Tank}; !touched[tank] {
			touched[tank] = true
			set.Tanks++
		}
	}
	return set, nil
}
