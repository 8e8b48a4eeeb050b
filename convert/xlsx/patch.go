package xlsx

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"io"
	"maps"
	"slices"
	"strings"

	"github.com/klauspost/compress/flate"

	"dropcut/convert/grid"
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
func Patch(src *Book, edit grid.Edit, w io.Writer) (*Report, error) {
	b := &bookPatch{book: src, replaced: map[*part][]byte{}}
	styles, err := newStylePatch(src.pack, src.wb.styles, src.wb.strict)
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
			return nil, fmt.Errorf("%s: the sheet %q is to be written twice; this is a fault of dropcut, nothing was written", src.pack.name, n.Name)
		}
		if report.Sheets[n.Name], err = b.putSheet(n, styles); err != nil {
			return nil, err
		}
	}
	if styles.changed() {
		body, err := styles.bytes()
		if err != nil {
			return nil, err
		}
		if src.wb.styles != nil {
			b.replaced[src.wb.styles] = body
		} else if err := b.addStyles(body); err != nil {
			return nil, err
		}
	}
	b.recalc = b.recalc && b.hasFormulas(sheets)
	if err := b.finish(); err != nil {
		return nil, err
	}
	// What is copied raw would carry its damage along unseen.
	for _, e := range src.pack.parts {
		if !e.sound {
			if err := src.pack.verify(e); err != nil {
				return nil, err
			}
		}
	}
	report.Notes = b.notes
	if src.Signed() {
		report.Notes = append(report.Notes, src.pack.name+": the book is digitally signed; the signature does not hold for the new one, have it signed again")
	}
	return report, b.write(w, sheets, report)
}

// columns runs over every sheet that gets columns.
func (b *bookPatch) columns(cols []grid.Column, styles *stylePatch) (map[*part]*sheetPatch, error) {
	bySheet := map[*Sheet][]grid.Column{}
	var order []*Sheet
	for _, c := range cols {
		sheet := b.book.Sheet(c.Sheet)
		if sheet == nil {
			return nil, &Refused{At: cell.Ref{File: b.book.pack.name}, Reason: ReasonNoSheet, Found: fmt.Sprintf("there is no worksheet %q for the column %q", c.Sheet, c.Heading), Do: "look at the names of the tabs"}
		}
		if _, there := bySheet[sheet]; !there {
			order = append(order, sheet)
		}
		bySheet[sheet] = append(bySheet[sheet], c)
	}
	out := map[*part]*sheetPatch{}
	gone := map[int]map[string]bool{}
	for _, sheet := range order {
		s, err := newSheetPatch(sheet, styles, bySheet[sheet])
		if err != nil {
			return nil, err
		}
		if err := s.run(); err != nil {
			return nil, err
		}
		tables, err := s.growTables()
		if err != nil {
			return nil, err
		}
		maps.Copy(b.replaced, tables)
		if err := s.change.sort(); err != nil {
			return nil, err
		}
		b.notes = append(b.notes, s.notes...)
		b.recalc = b.recalc || s.changed
		if s.newFilter != nil {
			b.names = append(b.names, newName{nameFilter, s.newFilter.sheet, s.newFilter.text, true})
		}
		if len(s.formulas) > 0 {
			gone[sheet.entry.id] = map[string]bool{}
			for _, at := range s.formulas {
				gone[sheet.entry.id][at.A1()] = true
			}
		}
		if !s.change.idle() {
			out[sheet.entry.part] = s
		}
	}
	if len(gone) > 0 {
		return out, b.dropFromChain(gone)
	}
	return out, nil
}

// hasFormulas reports whether results stored in the book may hang on values that
// have changed.
func (b *bookPatch) hasFormulas(sheets map[*part]*sheetPatch) bool {
	for _, s := range sheets {
		if s.anyF {
			return true
		}
	}
	return slices.ContainsFunc(b.book.pack.parts, func(e *part) bool { return strings.HasSuffix(strings.ToLower(e.name), "calcchain.xml") })
}

// write puts the package together: the entries in their old order, new ones
// behind them.
func (b *bookPatch) write(w io.Writer, sheets map[*part]*sheetPatch, report *Report) error {
	p := b.book.pack
	byFile := make(map[*zip.File]*part, len(p.parts))
	for _, e := range p.parts {
		byFile[e.file] = e
	}
	out := zip.NewWriter(w)
	if err := out.SetComment(p.zip.Comment); err != nil {
		return err
	}
	pack := newPacker()
	for _, f := range p.zip.File {
		e := byFile[f]
		var err error
		body, whole := b.replaced[e]
		switch {
		case e != nil && slices.Contains(b.gone, e):
			report.Removed = append(report.Removed, e.name)
		case e != nil && sheets[e] != nil:
			report.Rewritten = append(report.Rewritten, e.name)
			err = pack.entry(out, f.FileHeader, func(w io.Writer) error {
				r, err := p.open(e)
				if err != nil {
					return err
				}
				defer r.Close()
				return sheets[e].change.copy(w, r)
			})
		case e != nil && whole:
			report.Rewritten = append(report.Rewritten, e.name)
			err = pack.entry(out, f.FileHeader, func(w io.Writer) error {
				_, err := w.Write(body)
				return err
			})
		default:
			err = copyRaw(out, f)
		}
		if err != nil {
			return err
		}
	}
	for _, n := range b.newParts {
		report.Added = append(report.Added, n.name)
		// New entries have the time of the workbook part, so that nothing
		// depends on the clock.
		h := b.book.wb.part.file.FileHeader
		h.Name, h.Comment, h.Extra, h.ExternalAttrs = n.name, "", nil, b.book.wb.part.file.ExternalAttrs
		err := pack.entry(out, h, func(w io.Writer) error {
			_, err := w.Write(n.body)
			return err
		})
		if err != nil {
			return err
		}
	}
	return out.Close()
}

// copyRaw copies an entry as it lies in the archive.
func copyRaw(out *zip.Writer, f *zip.File) error {
	h := f.FileHeader
	h.Extra = withoutZip64(h.Extra)
	if strings.HasSuffix(h.Name, "/") {
		// A folder; some writers give it two bytes of packed nothing.
		h.Method, h.CompressedSize64, h.UncompressedSize64, h.CRC32 = zip.Store, 0, 0, 0
		h.Flags &^= 8
	}
	w, err := out.CreateRaw(&h)
	if err != nil || strings.HasSuffix(h.Name, "/") {
		return err
	}
	r, err := f.OpenRaw()
	if err != nil {
		return err
	}
	_, err = io.Copy(w, r)
	return err
}

// withoutZip64 drops the field of long sizes (APPNOTE 4.5.3): the writer puts in
// its own where an entry needs one, and a second one would contradict it.
func withoutZip64(extra []byte) []byte {
	var out []byte
	for rest := extra; len(rest) >= 4; {
		n := int(binary.LittleEndian.Uint16(rest[2:])) + 4
		if n > len(rest) {
			return append(out, rest...)
		}
		if binary.LittleEndian.Uint16(rest) != 1 {
			out = append(out, rest[:n]...)
		}
		rest = rest[n:]
	}
	return out
}

// packer deflates one entry at a time.
type packer struct {
	flate *flate.Writer
	buf   bytes.Buffer
}

func newPacker() *packer {
	w, _ := flate.NewWriter(io.Discard, flate.DefaultCompression) // fails on a level that does not exist
	return &packer{flate: w}
}

// entry writes an entry under an old one's header. The packed bytes are held in
// memory, for their size and checksum stand before them.
func (p *packer) entry(out *zip.Writer, h zip.FileHeader, write func(io.Writer) error) error {
	p.buf.Reset()
	p.flate.Reset(&p.buf)
	count := &counter{w: p.flate}
	if err := write(count); err != nil {
		return err
	}
	if err := p.flate.Close(); err != nil {
		return err
	}
	h.Extra = withoutZip64(h.Extra)
	h.Method = zip.Deflate
	h.Flags &^= 0x8 | 0x6 // no descriptor behind the data, no word on the level
	h.CRC32, h.CompressedSize64, h.UncompressedSize64 = count.sum, uint64(p.buf.Len()), count.n
	w, err := out.CreateRaw(&h)
	if err != nil {
		return err
	}
	_, err = w.Write(p.buf.Bytes())
	return err
}

// counter counts and sums what goes through.
type counter struct {
	w   io.Writer
	n   uint64
	sum uint32
}

func (c *counter) Write(b []byte) (int, error) {
	c.n += uint64(len(b))
	c.sum = crc32.Update(c.sum, crc32.IEEETable, b)
	return c.w.Write(b)
}
