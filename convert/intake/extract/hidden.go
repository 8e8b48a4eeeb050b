package extract

import (
	"dropcut/convert/grid"
	"dropcut/convert/intake/survey"
)

func (e *Reader) Hide(n int) {
	if k := len(e.hidden); k > 0 && e.hidden[k-1].ToRow >= n-1 {
		e.hidden[k-1].ToRow = n
		return
	}
	e.hidden = append(e.hidden, hiddenRow(n))
}

// hiddenCols reports the columns of a table of charts that people do not see
// and that were read all the same.
func (e *Reader) hiddenCols() {
	if len(e.r.Hidden) == 0 || e.LastRow == 0 {
		return
	}
	used := map[int]bool{}
	if !e.C.Turned {
		for _, x := range []int{e.C.Id, e.C.Site, e.C.Comp} {
			used[x] = x > 0
		}
	}
	for _, b := range e.order {
		for i := range b.Rows {
			used[int(b.Rows[i].DepthCol)], used[int(b.Rows[i].VolumeCol)] = true, true
		}
	}
	for _, run := range survey.HiddenRuns(e.r.Hidden, used) {
		from, to := e.r.At, e.r.At
		from.Col, from.Row, to.Col, to.Row = run.Col, max(e.C.HeadRow, e.First.Row), run.ToCol, e.LastRow
		e.aboutAll(survey.HiddenFinding(from, to, "the chart"))
	}
}

func hiddenRow(n int) grid.Range { return grid.Range{Row: n, ToRow: n} }
