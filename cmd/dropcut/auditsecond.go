package main

import (
	"dropcut/convert/writeback"
	"dropcut/plan/rule"
	"dropcut/validate/limits"
)

// secondOpinion holds the figures that stand in a planned book against today's
// plan and against the calculation that goes the other way. A book that was never
// planned has none.
func (w *work) secondOpinion() error {
	own, closeAll := (&options{}).ownSheets(w)
	defer closeAll()
	rows, err := writeback.Written(w.book(), w.reading, w.results, own)
	if err != nil {
		return err
	}
	w.confirmed = len(rows)
	rules := rule.NewSet(w.reading.Job.Rules)
	for _, row := range rows {
		r := &w.results[row.Tank]
		w.unclaimed = append(w.unclaimed, limits.Second(limits.Case{
			Tank: r.Tank, Chart: r.Chart, Device: r.Device, Cut: &r.Cut, Limits: &r.Limits, Options: &w.options, Rules: rules,
		}, row.Figures)...)
	}
	return nil
}
