package main

import (
	"os"
	"path/filepath"
	"strings"

	"dropcut/convert/csvfile"
	"dropcut/convert/grid"
	"dropcut/convert/writeback"
	"dropcut/plan/rule"
	"dropcut/validate/limits"
)

// secondOpinion holds the figures that stand in a planned book against today's
// plan and against the calculation that goes the other way. A book that was never
// planned has none.
func (w *work) secondOpinion() error {
	own, closeAll := w.ownSheets()
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

// ownSheets finds what an earlier run has added to a book: sheets of a workbook,
// files beside a CSV file or in a folder of them.
func (w *work) ownSheets() (own func(string) grid.Sheet, closeAll func()) {
	if _, ok := w.book().(*csvfile.Book); !ok {
		return ownSheets(w.book()), func() {}
	}
	var opened []grid.Book
	own = func(sheet string) grid.Sheet {
		file := strings.ToLower(sheet) + ".csv"
		path := strings.TrimSuffix(w.path, filepath.Ext(w.path)) + "-" + file
		if info, err := os.Stat(w.path); err == nil && info.IsDir() {
			path = filepath.Join(w.path, file)
		}
		b, err := csvfile.Open(path)
		if err != nil {
			return nil // it was moved or never written: the figures speak for themselves
		}
		opened = append(opened, b)
		return b.Sheets()[0]
	}
	return own, func() {
		for _, b := range opened {
			_ = b.Close() // it was only read
		}
	}
}
