package intake

import (
	"fmt"
	"slices"

	"dropcut/plan/cell"
	"dropcut/plan/finding"

	"dropcut/convert/grid"
)

// hiddenCols reports the columns of a table of charts that people do not see
// and that were read all the same.
func (e *extractor) hiddenCols() {
	if len(e.r.hidden) == 0 || e.lastRow == 0 {
		return
	}
	used := map[int]bool{}
	if !e.c.turned {
		for _, x := range []int{e.c.id, e.c.site, e.c.comp} {
			used[x] = x > 0
		}
	}
	for _, b := range e.order {
		for i := range b.rows {
			used[int(b.rows[i].DepthCol)], used[int(b.rows[i].VolumeCol)] = true, true
		}
	}
	for _, run := range hiddenRuns(e.r.hidden, used) {
		from, to := e.r.at, e.r.at
		from.Col, from.Row, to.Col, to.Row = run.Col, max(e.c.headRow, e.first.Row), run.ToCol, e.lastRow
		e.aboutAll(hiddenFinding(from, to, "the chart"))
	}
}

// hiddenFinding says that columns are hidden.
func hiddenFinding(from, to cell.Ref, of string) finding.Finding {
	n := to.Col - from.Col + 1
	return finding.Finding{
		Slug: finding.HiddenColumns, Severity: finding.Note, At: from, To: to,
		Found: fmt.Sprintf("%s of %s %s hidden", many(n, "column"), of, isAre(n)), Expected: "all columns in view",
		Why: "hidden columns are part of the table and were read", Suggestion: "show the columns and look whether they belong to it",
	}
}

// hiddenRuns gives the runs of neighbouring columns that are hidden and used.
func hiddenRuns(hidden []grid.Range, used map[int]bool) []grid.Range {
	var cols []int
	for x, yes := range used {
		if yes && x > 0 && slices.ContainsFunc(hidden, func(h grid.Range) bool { return x >= h.Col && x <= h.ToCol }) {
			cols = append(cols, x)
		}
	}
	slices.Sort(cols)
	var runs []grid.Range
	for _, x := range cols {
		if n := len(runs); n > 0 && runs[n-1].ToCol == x-1 {
			runs[n-1].ToCol = x
			continue
		}
		runs = append(runs, grid.Range{Col: x, ToCol: x})
	}
	return runs
}

// hidden reports the rows and the columns of a list of tanks that people do not
// see: their tanks are planned and their values used like all others.
func (t *tankReader) hidden(sh grid.Sheet, rows []rawRow) error {
	cols, err := sh.HiddenCols()
	if err != nil {
		return err
	}
	used := map[int]bool{}
	for i := range t.hd.cols {
		used[t.hd.cols[i].col] = t.hd.cols[i].known
	}
	for _, run := range hiddenRuns(cols, used) {
		t.out.add(hiddenFinding(t.refAt(run.Col, t.hd.last), t.refAt(run.ToCol, max(t.list.LastRow, t.hd.last)), "the list of tanks"))
	}
	var from, last, n int
	tell := func() {
		if n > 0 {
			t.out.add(finding.Finding{
				Slug: finding.HiddenRows, Severity: finding.Note, At: t.refAt(0, from), To: t.refAt(0, last),
				Found: fmt.Sprintf("%s of the list hidden", many(n, "tank")), Expected: "all rows in view",
				Why: "hidden rows are part of the list and were read", Suggestion: "show the rows, or take them out of the list",
			})
		}
		n = 0
	}
	k := 0
	for _, row := range t.list.Rows {
		for k < len(rows) && rows[k].n < row {
			k++
		}
		if k < len(rows) && rows[k].n == row && rows[k].hidden {
			if n == 0 {
				from = row
			}
			last = row
			n++
			continue
		}
		tell()
	}
	tell()
	return nil
}
