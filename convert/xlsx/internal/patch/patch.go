// Package patch writes a copy of a workbook with an edit done to it.
package patch

import (
	"archive/zip"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"dropcut/convert/grid"
	"dropcut/convert/xlsx/internal/columns"
	"dropcut/convert/xlsx/internal/dress"
	"dropcut/convert/xlsx/internal/opc"
	"dropcut/convert/xlsx/internal/parts"
	"dropcut/convert/xlsx/internal/read"
	"dropcut/plan/cell"
)

// Report says what a patch did.
type Report struct {
	// Rewritten, Added and Removed name parts of the package. All others were
	// copied as they lay in the archive, byte for byte.
	Rewritten, Added, Removed []string
	// Sheets gives the name of the tab onto which each sheet of the edit went.
	Sheets map[string]string
	// Unchanged says that a book was to be replaced by itself and had nothing to
	// change. Kept names the copy that was kept of a replaced book.
	Unchanged bool
	Kept      string
	// Notes are for the user: a table that reaches farther now, a column that
	// was hidden, a signature that no longer holds.
	Notes []string
}

// Patch writes a copy of a workbook with an edit done to w. Only the sheets with
// new columns, their tables, the styles (when a format is missing) and what a
// new sheet needs are rewritten, and those only at the bytes that change; every
// other entry of the archive is copied raw, with its times and attributes. The
// same edit done again gives the same bytes.
//
// Everything is looked at before the first byte is written: where the edit
// cannot be done without harm the error is a *Refused that names the range, and
// where the book is damaged it says so. New columns (those whose heading does
// not stand in its cell yet) need free cells. In columns that are dropcut's from
// an earlier run, every cell of the edit is overwritten, formulas and values
// typed by others too: what is to be kept, the caller leaves out of the edit.
//
// A cell of dropcut's keeps its format when that tells the same (a user may
// choose another font); all others take theirs from their neighbours.
func Patch(src *read.Book, edit grid.Edit, w io.Writer) (*Report, error) {
	b := &bookPatch{book: src, replaced: map[*opc.Part][]byte{}}
	styles, err := dress.New(src.Pack, src.Wb.Styles, src.Wb.Strict)
	if err != nil {
		return nil, err
	}
	report := &Report{Sheets: map[string]string{}}
	sheets, err := b.columns(edit.Columns, styles)
	if err != nil {
		return nil, err
	}
	for i := range edit.Sheets {
		n := &edit.Sheets[i]
		if _, twice := report.Sheets[n.Name]; twice {
			return nil, fmt.Errorf("%s: the sheet %q is to be written twice; this is a fault of dropcut, nothing was written", src.Pack.Name, n.Name)
		}
		if report.Sheets[n.Name], err = b.putSheet(n, styles); err != nil {
			return nil, err
		}
	}
	if styles.Changed() {
		body, err := styles.Bytes()
		if err != nil {
			return nil, err
		}
		if src.Wb.Styles != nil {
			b.replaced[src.Wb.Styles] = body
		} else if err := b.addStyles(body); err != nil {
			return nil, err
		}
	}
	b.recalc = b.recalc && b.hasFormulas(sheets)
	if err := b.finish(); err != nil {
		return nil, err
	}
	// What is copied raw would carry its damage along unseen.
	for _, e := range src.Pack.Parts {
		if !e.Sound {
			if err := src.Pack.Verify(e); err != nil {
				return nil, err
			}
		}
	}
	report.Notes = b.notes
	if src.Signed() {
		report.Notes = append(report.Notes, src.Pack.Name+": the book is digitally signed; the signature does not hold for the new one, have it signed again")
	}
	return report, b.write(w, sheets, report)
}

// columns runs over every sheet that gets columns.
func (b *bookPatch) columns(cols []grid.Column, styles *dress.Styles) (map[*opc.Part]*columns.Sheet, error) {
	bySheet := map[*read.Sheet][]grid.Column{}
	var order []*read.Sheet
	for _, c := range cols {
		sheet := b.book.Sheet(c.Sheet)
		if sheet == nil {
			return nil, &columns.Refused{At: cell.Ref{File: b.book.Pack.Name}, Reason: columns.ReasonNoSheet, Found: fmt.Sprintf("there is no worksheet %q for the column %q", c.Sheet, c.Heading), Do: "look at the names of the tabs"}
		}
		if _, there := bySheet[sheet]; !there {
			order = append(order, sheet)
		}
		bySheet[sheet] = append(bySheet[sheet], c)
	}
	out := map[*opc.Part]*columns.Sheet{}
	gone := map[int]map[string]bool{}
	for _, sheet := range order {
		s, err := columns.New(sheet, styles, bySheet[sheet])
		if err != nil {
			return nil, err
		}
		if err := s.Run(); err != nil {
			return nil, err
		}
		tables, err := s.GrowTables()
		if err != nil {
			return nil, err
		}
		maps.Copy(b.replaced, tables)
		if err := s.Change.Sort(); err != nil {
			return nil, err
		}
		b.notes = append(b.notes, s.Notes...)
		b.recalc = b.recalc || s.Changed
		if s.NewFilter != nil {
			b.names = append(b.names, newName{parts.NameFilter, s.NewFilter.Sheet, s.NewFilter.Text, true})
		}
		if len(s.Formulas) > 0 {
			gone[sheet.Entry.ID] = map[string]bool{}
			for _, at := range s.Formulas {
				gone[sheet.Entry.ID][at.A1()] = true
			}
		}
		if !s.Change.Idle() {
			out[sheet.Entry.Part] = s
		}
	}
	if len(gone) > 0 {
		return out, b.dropFromChain(gone)
	}
	return out, nil
}

// hasFormulas reports whether results stored in the book may hang on values that
// have changed.
func (b *bookPatch) hasFormulas(sheets map[*opc.Part]*columns.Sheet) bool {
	for _, s := range sheets {
		if s.AnyF {
			return true
		}
	}
	return slices.ContainsFunc(b.book.Pack.Parts, func(e *opc.Part) bool { return strings.HasSuffix(strings.ToLower(e.Name), "calcchain.xml") })
}

// write puts the package together: the entries in their old order, new ones
// behind them.
func (b *bookPatch) write(w io.Writer, sheets map[*opc.Part]*columns.Sheet, report *Report) error {
	p := b.book.Pack
	byFile := make(map[*zip.File]*opc.Part, len(p.Parts))
	for _, e := range p.Parts {
		byFile[e.File] = e
	}
	out := zip.NewWriter(w)
	if err := out.SetComment(p.Zip.Comment); err != nil {
		return err
	}
	pack := opc.NewPacker()
	for _, f := range p.Zip.File {
		e := byFile[f]
		var err error
		body, whole := b.replaced[e]
		switch {
		case e != nil && slices.Contains(b.gone, e):
			report.Removed = append(report.Removed, e.Name)
		case e != nil && sheets[e] != nil:
			report.Rewritten = append(report.Rewritten, e.Name)
			err = pack.Entry(out, f.FileHeader, func(w io.Writer) error {
				r, err := p.Open(e)
				if err != nil {
					return err
				}
				defer r.Close()
				return sheets[e].Change.Copy(w, r)
			})
		case e != nil && whole:
			report.Rewritten = append(report.Rewritten, e.Name)
			err = pack.Entry(out, f.FileHeader, func(w io.Writer) error {
				_, err := w.Write(body)
				return err
			})
		default:
			err = opc.CopyRaw(out, f)
		}
		if err != nil {
			return err
		}
	}
	for _, n := range b.newParts {
		report.Added = append(report.Added, n.name)
		// New entries have the time of the workbook part, so that nothing
		// depends on the clock.
		h := b.book.Wb.Part.File.FileHeader
		h.Name, h.Comment, h.Extra, h.ExternalAttrs = n.name, "", nil, b.book.Wb.Part.File.ExternalAttrs
		err := pack.Entry(out, h, func(w io.Writer) error {
			_, err := w.Write(n.body)
			return err
		})
		if err != nil {
			return err
		}
	}
	return out.Close()
}
