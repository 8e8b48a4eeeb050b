// Package charts reads every chart of a sheet, whatever its layout: it streams the
// rows, finds the tables among them and has each read by its layout.
package charts

import (
	"fmt"
	"slices"

	"dropcut/convert/grid"
	"dropcut/convert/intake/extract"
	"dropcut/convert/intake/figures"
	"dropcut/convert/intake/headword"
	"dropcut/convert/intake/layout"
	"dropcut/convert/intake/look"
	"dropcut/convert/intake/survey"
	"dropcut/convert/intake/title"
	"dropcut/plan/cell"
	"dropcut/plan/finding"
)

// Options say what is known beside the sheet.
type Options struct {
	// IDs are the ids of the tank list, as it writes them.
	IDs headword.Known
}

// The window in which a layout is settled. A table that needs all of its rows
// at once (a matrix, a table on its side) may be as long as the second figure,
// which is more than ten metres in millimetres.
const (
	lookRows  = 1024
	lookBoxes = 1 << 17
	mostRows  = 1 << 14
	mostBoxes = 1 << 20
	// besideRows is how far down the side of a chart a height may stand.
	besideRows = 12
)

// Read reads every chart of a sheet. Rows are streamed; memory holds the
// charts and a window of rows. The error is one of the stream. A sheet with
// merged areas that span rows, which are known at its end only, is read again
// with them; all others are read once.
func Read(sh grid.Sheet, opt Options) (figures.Yield, error) {
	out, err := readOnce(sh, opt, nil)
	if err != nil {
		return out, err
	}
	merges, err := sh.Merges()
	if err != nil {
		return out, err
	}
	if tall := look.TallOf(merges); tall != nil {
		return readOnce(sh, opt, tall)
	}
	return out, nil
}

func readOnce(sh grid.Sheet, opt Options, tall *look.TallMerges) (figures.Yield, error) {
	r := &reader{sh: sh, look: lookRows}
	r.At, r.Ids = sh.At(), opt.IDs
	var err error
	if r.Hidden, err = sh.HiddenCols(); err != nil {
		return r.Out, err
	}
	for row, err := range sh.Rows() {
		if err != nil {
			return r.Out, err
		}
		if r.ex != nil && tall == nil && len(r.window.Lines) == 0 && r.ex.Plain(row) {
			continue
		}
		if r.window.Add(row) && tall != nil {
			tall.Fill(&r.window)
		}
		if r.ex == nil && len(r.window.Lines) < r.look && len(r.window.Boxes) < max(lookBoxes, r.look*64) {
			continue
		}
		if err := r.pump(false); err != nil {
			return r.Out, err
		}
	}
	err = r.pump(true)
	r.finish()
	return r.Out, err
}

// reader is the state of reading one sheet.
type reader struct {
	extract.Source
	sh     grid.Sheet
	window look.Window
	look   int
	next   int // line of the window that is read next
	ex     *extract.Reader
	before *layout.Columnar // the layout of the table before
	seen   bool             // numbers stood on the sheet
}

// pump reads on as far as the window goes.
func (r *reader) pump(final bool) error {
	for {
		if r.ex != nil {
			if !r.feed(final) {
				return nil
			}
			continue
		}
		if len(r.window.Lines) == 0 {
			return nil
		}
		if !final && len(r.window.Lines) < r.look && len(r.window.Boxes) < max(lookBoxes, r.look*64) {
			return nil
		}
		r.window.Vote()
		b, ok := r.window.FindBlock(0)
		if !ok {
			r.noBlock(final)
			if final {
				return nil
			}
			if len(r.window.Lines) > 64 {
				r.window.Drop(len(r.window.Lines) - 64)
			}
			r.look = len(r.window.Lines) + lookRows
			return nil
		}
		r.seen = true
		if more := r.start(b, final); more {
			if len(r.window.Lines) < mostRows && len(r.window.Boxes) < mostBoxes {
				r.look = 2 * len(r.window.Lines)
				return nil
			}
			r.refuse(layout.Unclear{At: r.lineRef(b.Body), Found: fmt.Sprintf("a table of more than %d rows that is no list", mostRows), Why: "such a table is read as a whole"})
			r.window.Drop(len(r.window.Lines))
		}
		if r.ex == nil && !final {
			r.look = lookRows
		}
	}
}

func (r *reader) lineRef(i int) cell.Ref {
	at := r.At
	if row := r.window.Row(i); len(row) > 0 {
		return row[0].Ref(at)
	}
	at.Row = r.window.Lines[i].N
	return at
}

// start reads the table that begins at b, or opens an extractor for it; more
// says that it must be seen to its end first.
func (r *reader) start(b look.Block, final bool) (more bool) {
	w := &r.window
	t := title.Read(w, b.From, b.Head, r.At, r.Ids)
	for i := b.Head + 1; b.Heads && i < b.Body; i++ {
		if s := w.Sort(i); w.TitleLike(i, s) || w.LabelLike(i, s) {
			t.Names = append(title.Read(w, i, i+1, r.At, r.Ids).Names, t.Names...)
		}
	}
	if r.Tables == 0 {
		// What stands above the first name is said of the whole sheet.
		end := b.From
		for end < b.Head && len(title.Read(w, end, end+1, r.At, r.Ids).Names) == 0 {
			end++
		}
		r.Top = title.Read(w, b.From, end, r.At, r.Ids)
	}
	if m, ok := layout.FindMatrix(w, b); ok {
		if m.End >= len(w.Lines) && !final {
			return true
		}
		r.Tables++
		// Rows above the heads may hold the name too.
		t.Names = append(t.Names, title.Read(w, b.Head, m.Head, r.At, r.Ids).Names...)
		r.readMatrix(w, b, m, t, false)
		w.Drop(m.End)
		return false
	}
	if turned, m, head, end, ok := layout.FindTurned(w, b); ok {
		if end >= len(w.Lines) && !final {
			return true
		}
		r.Tables++
		t = title.Read(w, b.From, head, r.At, r.Ids)
		r.readMatrix(turned, look.Block{Body: 1, Sample: len(turned.Lines), Far: len(turned.Lines), Heads: true}, m, t, true)
		for i := b.From; i < head; i++ {
			r.Out.Tables[len(r.Out.Tables)-1].Pass(w.Lines[i].N, "title")
		}
		w.Drop(end)
		return false
	}
	if end, ok := r.sideways(w, b); ok {
		if end >= len(w.Lines) && !final {
			return true
		}
		r.Tables++
		r.readSideways(w, b, end, t)
		w.Drop(end)
		return false
	}
	c, un := layout.Settle(w, b, r.before, r.At, r.Ids)
	if un != nil && b.Far > b.Sample {
		far := b
		far.Sample = b.Far
		if c2, un2 := layout.Settle(w, far, r.before, r.At, r.Ids); un2 == nil {
			c, un = c2, nil
		}
	}
	if un != nil {
		r.Tables++
		if un.At.Row == 0 {
			un.At = r.lineRef(b.Head)
		}
		r.Out.Refused = append(r.Out.Refused, grid.Range{Row: w.Lines[b.Head].N, ToRow: w.Lines[b.Body].N})
		if un.List || r.wordy(b) {
			r.Out.Tables = append(r.Out.Tables, survey.Table{At: un.At, To: r.lineRef(b.Sample - 1), Layout: "list, no chart", HeaderRow: w.Lines[max(b.Body-1, 0)].N})
		} else {
			r.refuse(*un)
		}
		// The next table starts at the next heading.
		end := b.Body + 1
		for end < len(w.Lines) && !w.Sort(end).Heading() {
			end++
		}
		// with the titles above it
		for end < len(w.Lines) && end > b.Body+1 && w.Sort(end-1).Numbers == 0 {
			end--
		}
		w.Drop(end)
		return false
	}
	r.Tables++
	if c.Fold != layout.NoFold || len(c.Strands) == 1 && len(c.Strands[0].Vols) == 1 {
		// A title with more beside it ("Tank 9", "Page 1 of 4") was taken for a part
		// of the heading.
		head := b.Head
		for head < b.Body && !w.Sort(head).Heading() {
			head++
		}
		if head < b.Body {
			more := title.Read(w, b.Head, head, r.At, r.Ids)
			if len(more.Names) == 1 {
				t.Names = append(t.Names, more.Names[0])
			}
			t.AddUnits(&more)
		}
	}
	if !t.Height.Given() && slices.ContainsFunc(c.Strands, func(s layout.Strand) bool { return s.Depth.Ullage }) {
		// The height may stand beside the headings, or beside the first rows.
		beside := title.Read(w, b.Head, min(b.Body+besideRows, b.Sample), r.At, r.Ids)
		switch {
		case c.Height.Given():
			t.Height = c.Height
		case beside.Height.Given():
			t.Height = beside.Height
		case t.HeightBad == (cell.Ref{}):
			t.HeightBad, t.HeightNum = beside.HeightBad, beside.HeightNum
		}
	}
	r.ex = extract.New(&r.Source, w, c, b, t)
	r.next = b.Body
	return false
}

// wordy reports whether a table has far more words than numbers, and no heading
// for depths or volumes: it is an index or a list.
func (r *reader) wordy(b look.Block) bool {
	w := &r.window
	numbers, words := 0, 0
	for i := b.From; i < b.Sample; i++ {
		s := w.Sort(i)
		for k, row := 0, w.Row(i); i <= b.Body && k < len(row) && (s.Depth() || s.Volume()); k++ {
			h := headword.Read(headword.Tidy(w.Text(&row[k])))
			if h.Rest == "" && (h.Role == headword.RoleDepth || h.Role == headword.RoleUllage || h.Role == headword.RoleVolume) {
				return false
			}
		}
		numbers, words = numbers+s.Numbers, words+s.Words
	}
	return words > 2*numbers
}

// feed gives the extractor the lines of the window; it reports whether a new
// table starts.
func (r *reader) feed(final bool) bool {
	w := &r.window
	for r.next < len(w.Lines) {
		switch r.ex.Take(w, r.next) {
		case extract.RowTaken:
			r.next++
			r.ex.PendFrom = r.next
		case extract.RowPending:
			r.next++
		case extract.RowOfNext:
			if r.ex.Rows == 0 {
				// Nothing was read yet: what waits is no table of its own.
				r.ex.Pass(w, r.next)
				r.ex.PendFrom = r.next
				continue
			}
			from := r.ex.PendFrom
			r.ex.Close(w, from)
			r.before, r.ex = r.ex.C, nil
			w.Drop(from)
			r.next = 0
			return true
		}
	}
	if final {
		end := r.ex.LastHeading(w)
		r.ex.Close(w, end)
		r.before, r.ex = r.ex.C, nil
		if end < len(w.Lines) {
			w.Drop(end)
			r.next = 0
			return true
		}
		w.Reset()
		return false
	}
	// Nothing pending: the window may be emptied. Rows that wait stay in it; a
	// sheet that ends in very many of them is not kept.
	if r.ex.PendFrom >= len(w.Lines) {
		w.Reset()
		r.next, r.ex.PendFrom = 0, 0
		r.ex.Pend = r.ex.Pend[:0]
	} else if len(w.Lines)-r.ex.PendFrom > mostRows {
		r.ex.Pass(w, len(w.Lines))
		w.Reset()
		r.next, r.ex.PendFrom = 0, 0
	} else if r.ex.PendFrom > 4096 {
		w.Drop(r.ex.PendFrom)
		r.next -= r.ex.PendFrom
		for i := range r.ex.Pend {
			r.ex.Pend[i].Line -= r.ex.PendFrom
		}
		r.ex.PendFrom = 0
	}
	return false
}

// noBlock is called where rows hold no table.
func (r *reader) noBlock(final bool) {
	w := &r.window
	if r.Tables > 0 || !final {
		return
	}
	numbers, words := 0, 0
	at := r.At
	for i := range w.Lines {
		s := w.Sort(i)
		words += s.Words
		if s.Numbers > 0 && numbers == 0 {
			at = r.lineRef(i)
		}
		numbers += s.Numbers
	}
	// Words with a number here and there are a text, an index, a list.
	if numbers > 0 && words < 4*numbers {
		r.refuse(layout.Unclear{At: at, Found: fmt.Sprintf("%d rows and no table of depths and volumes", len(w.Lines)), Why: "a chart needs a heading with a word for depths and one for volumes, or columns of numbers that rise"})
	}
}

func (r *reader) refuse(u layout.Unclear) {
	r.Out.Findings = append(r.Out.Findings, finding.Finding{
		Slug: finding.LayoutUnclear, Severity: finding.Stop, At: u.At, To: u.To, Found: u.Found,
		Expected: "a table that can be read in one way only", Why: u.Why,
		Suggestion: "name the columns in a heading (Tank, Depth (in), Volume (gal)), or save the reading as notes and correct it there",
	})
}

// finish makes the last checks over the whole sheet.
func (r *reader) finish() {
	r.goOn()
	if n := len(r.Out.Tables); n > 1 {
		for i := range r.Out.Tables {
			t := &r.Out.Tables[i]
			if t.Layout == "depth and volume" {
				t.Layout = "stacked"
			}
		}
		for _, c := range r.Out.Charts {
			if c.Layout == "depth and volume" {
				c.Layout = "stacked"
			}
		}
	}
}
