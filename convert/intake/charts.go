package intake

import (
	"fmt"
	"strings"

	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/finding"

	"dropcut/convert/grid"
)

// chartOptions say what is known beside the sheet.
type chartOptions struct {
	// IDs are the ids of the tank list, as it writes them.
	IDs []string
}

// chartReading is what one sheet yields.
type chartReading struct {
	Charts   []*chart.Chart
	Tables   []Table
	Findings []finding.Finding
	// waiting are the charts whose ullages could not be turned yet.
	waiting []*ullages
	// refused are the headings of tables that are no charts, or none that could
	// be read.
	refused []grid.Range
}

// The window in which a layout is settled. A table that needs all of its rows
// at once (a matrix, a table on its side) may be as long as the second figure,
// which is more than ten metres in millimetres.
const (
	lookRows  = 1024
	lookBoxes = 1 << 17
	mostRows  = 1 << 14
	mostBoxes = 1 << 20
)

// readCharts reads every chart of a sheet. Rows are streamed; memory holds the
// charts and a window of rows. The error is one of the stream. A sheet with
// merged areas that span rows, which are known at its end only, is read again
// with them; all others are read once.
func readCharts(sh grid.Sheet, opt chartOptions) (chartReading, error) {
	out, err := readChartsOnce(sh, opt, nil)
	if err != nil {
		return out, err
	}
	merges, err := sh.Merges()
	if err != nil {
		return out, err
	}
	if tall := tallOf(merges); tall != nil {
		return readChartsOnce(sh, opt, tall)
	}
	return out, nil
}

func readChartsOnce(sh grid.Sheet, opt chartOptions, tall *tallMerges) (chartReading, error) {
	r := &chartReader{sh: sh, opt: opt, at: sh.At(), look: lookRows}
	var err error
	if r.hidden, err = sh.HiddenCols(); err != nil {
		return r.out, err
	}
	for row, err := range sh.Rows() {
		if err != nil {
			return r.out, err
		}
		if r.window.add(row) && tall != nil {
			tall.fill(&r.window)
		}
		if r.ex == nil && len(r.window.lines) < r.look && len(r.window.boxes) < max(lookBoxes, r.look*64) {
			continue
		}
		if err := r.pump(false); err != nil {
			return r.out, err
		}
	}
	err = r.pump(true)
	r.finish()
	return r.out, err
}

// chartReader is the state of reading one sheet.
type chartReader struct {
	sh     grid.Sheet
	opt    chartOptions
	at     cell.Ref
	window window
	look   int
	next   int // line of the window that is read next
	ex     *extractor
	before *columnar // the layout of the table before
	top    titles    // of the sheet: what stands above its first table and names no tank
	tables int
	hidden []grid.Range // columns that people do not see
	seen   bool         // numbers stood on the sheet
	out    chartReading
}

// pump reads on as far as the window goes.
func (r *chartReader) pump(final bool) error {
	for {
		if r.ex != nil {
			if !r.feed(final) {
				return nil
			}
			continue
		}
		if len(r.window.lines) == 0 {
			return nil
		}
		if !final && len(r.window.lines) < r.look && len(r.window.boxes) < max(lookBoxes, r.look*64) {
			return nil
		}
		r.window.vote()
		b, ok := r.window.findBlock(0)
		if !ok {
			r.noBlock(final)
			if final {
				return nil
			}
			if len(r.window.lines) > 64 {
				r.window.drop(len(r.window.lines) - 64)
			}
			r.look = len(r.window.lines) + lookRows
			return nil
		}
		r.seen = true
		if more := r.start(b, final); more {
			if len(r.window.lines) < mostRows && len(r.window.boxes) < mostBoxes {
				r.look = 2 * len(r.window.lines)
				return nil
			}
			r.refuse(unclear{at: r.lineRef(b.body), found: fmt.Sprintf("a table of more than %d rows that is no list", mostRows), why: "such a table is read as a whole"})
			r.window.drop(len(r.window.lines))
		}
		if r.ex == nil && !final {
			r.look = lookRows
		}
	}
}

func (r *chartReader) lineRef(i int) cell.Ref {
	at := r.at
	if row := r.window.row(i); len(row) > 0 {
		return row[0].ref(at)
	}
	at.Row = r.window.lines[i].n
	return at
}

// start reads the table that begins at b, or opens an extractor for it; more
// says that it must be seen to its end first.
func (r *chartReader) start(b block, final bool) (more bool) {
	w := &r.window
	t := r.titles(w, b.from, b.head)
	for i := b.head + 1; b.heads && i < b.body; i++ {
		if w.titleLike(i, w.sort(i)) {
			t.names = append(r.titles(w, i, i+1).names, t.names...)
		}
	}
	if r.tables == 0 && len(t.names) == 0 {
		r.top = t
	}
	if m, ok := r.findMatrix(w, b); ok {
		if m.end >= len(w.lines) && !final {
			return true
		}
		r.tables++
		r.readMatrix(w, b, m, t)
		w.drop(m.end)
		return false
	}
	if end, ok := r.sideways(w, b); ok {
		if end >= len(w.lines) && !final {
			return true
		}
		r.tables++
		r.readSideways(w, b, end, t)
		w.drop(end)
		return false
	}
	c, un := r.settle(w, b, r.before)
	if un != nil {
		r.tables++
		if un.at.Row == 0 {
			un.at = r.lineRef(b.head)
		}
		r.out.refused = append(r.out.refused, grid.Range{Row: w.lines[b.head].n, ToRow: w.lines[b.body].n})
		if un.list {
			r.out.Tables = append(r.out.Tables, Table{At: un.at, To: r.lineRef(b.sample - 1), Layout: "list, no chart", HeaderRow: w.lines[max(b.body-1, 0)].n})
		} else {
			r.refuse(*un)
		}
		// The next table starts at the next heading.
		end := b.body + 1
		for end < len(w.lines) && !w.sort(end).heading() {
			end++
		}
		w.drop(end)
		return false
	}
	r.tables++
	r.ex = r.newExtractor(w, c, b, t)
	r.next = b.body
	return false
}

// feed gives the extractor the lines of the window; it reports whether a new
// table starts.
func (r *chartReader) feed(final bool) bool {
	w := &r.window
	for r.next < len(w.lines) {
		switch r.ex.take(w, r.next) {
		case rowTaken:
			r.next++
			r.ex.pendFrom = r.next
		case rowPending:
			r.next++
		case rowOfNext:
			if r.ex.rows == 0 {
				// Nothing was read yet: what waits is no table of its own.
				r.ex.pass(w, r.next)
				r.ex.pendFrom = r.next
				continue
			}
			from := r.ex.pendFrom
			r.ex.close(w, from)
			r.before, r.ex = r.ex.c, nil
			w.drop(from)
			r.next = 0
			return true
		}
	}
	if final {
		end := r.ex.lastHeading(w)
		r.ex.close(w, end)
		r.before, r.ex = r.ex.c, nil
		if end < len(w.lines) {
			w.drop(end)
			r.next = 0
			return true
		}
		w.reset()
		return false
	}
	// Nothing pending: the window may be emptied. Rows that wait stay in it; a
	// sheet that ends in very many of them is not kept.
	if r.ex.pendFrom >= len(w.lines) {
		w.reset()
		r.next, r.ex.pendFrom = 0, 0
		r.ex.pend = r.ex.pend[:0]
	} else if len(w.lines)-r.ex.pendFrom > mostRows {
		r.ex.pass(w, len(w.lines))
		w.reset()
		r.next, r.ex.pendFrom = 0, 0
	} else if r.ex.pendFrom > 4096 {
		w.drop(r.ex.pendFrom)
		r.next -= r.ex.pendFrom
		for i := range r.ex.pend {
			r.ex.pend[i].line -= r.ex.pendFrom
		}
		r.ex.pendFrom = 0
	}
	return false
}

// noBlock is called where rows hold no table.
func (r *chartReader) noBlock(final bool) {
	w := &r.window
	if r.tables > 0 || !final {
		return
	}
	numbers := 0
	at := r.at
	for i := range w.lines {
		s := w.sort(i)
		if s.numbers > 0 && numbers == 0 {
			at = r.lineRef(i)
		}
		numbers += s.numbers
	}
	if numbers > 0 {
		r.refuse(unclear{at: at, found: fmt.Sprintf("%d rows and no table of depths and volumes", len(w.lines)), why: "a chart needs a heading with a word for depths and one for volumes, or columns of numbers that rise"})
	}
}

func (r *chartReader) refuse(u unclear) {
	r.out.Findings = append(r.out.Findings, finding.Finding{
		Slug: finding.LayoutUnclear, Severity: finding.Stop, At: u.at, To: u.to, Found: u.found,
		Expected: "a table that can be read in one way only", Why: u.why,
		Suggestion: "name the columns in a heading (Tank, Depth (in), Volume (gal)), or save the reading as notes and correct it there",
	})
}

// finish makes the last checks over the whole sheet.
func (r *chartReader) finish() {
	if n := len(r.out.Tables); n > 1 {
		for i := range r.out.Tables {
			t := &r.out.Tables[i]
			if t.Layout == "depth and volume" {
				t.Layout = "stacked"
			}
		}
		for _, c := range r.out.Charts {
			if c.Layout == "depth and volume" {
				c.Layout = "stacked"
			}
		}
	}
}

// chartName joins a tank's name and its compartment's.
func chartName(tank, comp string) string {
	switch {
	case comp == "":
		return tank
	case tank == "":
		return comp
	case strings.HasPrefix(comp, tank+"/"):
		return comp
	}
	return tank + "/" + comp
}
