package sheet

import (
	"archive/zip"
	"bytes"
	"hash/crc32"
	"io"
	"strconv"

	"github.com/klauspost/compress/flate"

	"dropcut/convert/jobbook/formula"
)

// Writer writes books in the looks that it was made for. What is the same in all
// of them is packed once. It serves one goroutine at a time.
type Writer struct {
	styles packed
	flate  *flate.Writer
	raw    []byte
	out    bytes.Buffer
	zip    *zip.Writer
}

// packed is a part of a book as it lies in the archive.
type packed struct {
	data []byte
	sum  uint32
	size int
}

// NewWriter makes a writer for looks; the first one is that of plain cells.
func NewWriter(looks []Look) (*Writer, error) {
	f, err := flate.NewWriter(io.Discard, flate.DefaultCompression)
	if err != nil {
		return nil, err
	}
	w := &Writer{flate: f}
	w.styles, err = w.packPart(stylesPart(looks))
	return w, err
}

func (w *Writer) packPart(body []byte) (packed, error) {
	var b bytes.Buffer
	w.flate.Reset(&b)
	if _, err := w.flate.Write(body); err != nil {
		return packed{}, err
	}
	if err := w.flate.Close(); err != nil {
		return packed{}, err
	}
	return packed{b.Bytes(), crc32.ChecksumIEEE(body), len(body)}, nil
}

// put adds a part that is packed already.
func (w *Writer) put(name string, p packed) error {
	h := &zip.FileHeader{Name: name, Method: zip.Deflate, CRC32: p.sum, CompressedSize64: uint64(len(p.data)), UncompressedSize64: uint64(p.size)}
	return w.raws(h, p.data)
}

func (w *Writer) raws(h *zip.FileHeader, data []byte) error {
	out, err := w.zip.CreateRaw(h)
	if err != nil {
		return err
	}
	_, err = out.Write(data)
	return err
}

// part packs a part and adds it.
func (w *Writer) part(name string, body []byte) error {
	w.out.Reset()
	w.flate.Reset(&w.out)
	if _, err := w.flate.Write(body); err != nil {
		return err
	}
	if err := w.flate.Close(); err != nil {
		return err
	}
	return w.put(name, packed{w.out.Bytes(), crc32.ChecksumIEEE(body), len(body)})
}

// stored adds a part that does not get smaller.
func (w *Writer) stored(name string, body []byte) error {
	n := uint64(len(body))
	return w.raws(&zip.FileHeader{Name: name, Method: zip.Store, CRC32: crc32.ChecksumIEEE(body), CompressedSize64: n, UncompressedSize64: n}, body)
}

// Write writes a book. An error is one of the writing, or of a formula that
// cannot be read.
func (w *Writer) Write(out io.Writer, b *Book) error {
	if b.err != nil {
		return b.err
	}
	w.zip = zip.NewWriter(out)
	if err := w.part("[Content_Types].xml", b.contentTypes(w.raw[:0])); err != nil {
		return err
	}
	if err := w.part("_rels/.rels", b.rootRels(w.raw[:0])); err != nil {
		return err
	}
	if err := w.part("docProps/core.xml", b.core(w.raw[:0])); err != nil {
		return err
	}
	if err := w.part("xl/workbook.xml", b.workbook(w.raw[:0])); err != nil {
		return err
	}
	if err := w.part("xl/_rels/workbook.xml.rels", b.workbookRels(w.raw[:0])); err != nil {
		return err
	}
	if err := w.put("xl/styles.xml", w.styles); err != nil {
		return err
	}
	image := 0
	for i, s := range b.Sheets {
		n := strconv.Itoa(i + 1)
		w.raw = s.xml(w.raw[:0], i == 0)
		if err := w.part("xl/worksheets/sheet"+n+".xml", w.raw); err != nil {
			return err
		}
		if len(s.pics) == 0 {
			continue
		}
		if err := w.part("xl/worksheets/_rels/sheet"+n+".xml.rels", sheetRels(n)); err != nil {
			return err
		}
		if err := w.part("xl/drawings/drawing"+n+".xml", s.drawing()); err != nil {
			return err
		}
		if err := w.part("xl/drawings/_rels/drawing"+n+".xml.rels", s.drawingRels(image)); err != nil {
			return err
		}
		for _, p := range s.pics {
			image++
			if err := w.stored("xl/media/image"+strconv.Itoa(image)+".png", p.data); err != nil {
				return err
			}
		}
	}
	return w.zip.Close()
}

const declaration = `<?xml version="1.0" encoding="UTF-8" standalone="yes"?>` + "\n"

const mainSpace = `xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"`

// xml writes the sheet's part.
func (s *Sheet) xml(b []byte, first bool) []byte {
	b = append(b, declaration...)
	b = append(b, `<worksheet `...)
	b = append(b, mainSpace...)
	b = append(b, `><sheetPr><pageSetUpPr fitToPage="1"/></sheetPr><sheetViews><sheetView showGridLines="0"`...)
	if first {
		b = append(b, ` tabSelected="1"`...)
	}
	b = append(b, ` workbookViewId="0"/></sheetViews><sheetFormatPr defaultRowHeight="15"/>`...)
	if len(s.widths) > 0 {
		b = append(b, "<cols>"...)
		for i, w := range s.widths {
			n := strconv.Itoa(i + 1)
			b = append(b, `<col min="`+n+`" max="`+n+`" width="`...)
			b = strconv.AppendFloat(b, w, 'f', -1, 64)
			b = append(b, `" customWidth="1"/>`...)
		}
		b = append(b, "</cols>"...)
	}
	b = append(b, "<sheetData>"...)
	for i := range s.rows {
		b = s.rows[i].xml(b, i+1)
	}
	b = append(b, "</sheetData>"...)
	b = s.behind(b)
	return append(b, "</worksheet>"...)
}

func (r *row) xml(b []byte, n int) []byte {
	if len(r.cells) == 0 && r.height == 0 {
		return b
	}
	b = append(b, `<row r="`...)
	b = strconv.AppendInt(b, int64(n), 10)
	b = append(b, '"')
	if r.height > 0 {
		b = append(b, ` ht="`...)
		b = strconv.AppendFloat(b, r.height, 'f', -1, 64)
		b = append(b, `" customHeight="1"`...)
	}
	b = append(b, '>')
	for i := range r.cells {
		b = r.cells[i].xml(b, n)
	}
	return append(b, "</row>"...)
}

func (c *at) xml(b []byte, row int) []byte {
	b = append(b, `<c r="`...)
	b = appendColumn(b, c.col)
	b = strconv.AppendInt(b, int64(row), 10)
	b = append(b, '"')
	if c.style != 0 {
		b = append(b, ` s="`...)
		b = strconv.AppendInt(b, int64(c.style), 10)
		b = append(b, '"')
	}
	v := c.value
	if c.formula != "" {
		switch v.Kind {
		case formula.Text:
			b = append(b, ` t="str"`...)
		case formula.Bool:
			b = append(b, ` t="b"`...)
		case formula.Error:
			b = append(b, ` t="e"`...)
		}
		b = append(b, `><f>`...)
		b = appendText(b, c.formula)
		b = append(b, `</f><v>`...)
		if v.Kind == formula.Text || v.Kind == formula.Error {
			b = appendText(b, v.Text)
		} else {
			b = strconv.AppendFloat(b, v.Num, 'g', -1, 64)
		}
		return append(b, "</v></c>"...)
	}
	switch v.Kind {
	case formula.Number:
		b = append(b, "><v>"...)
		b = strconv.AppendFloat(b, v.Num, 'g', -1, 64)
		return append(b, "</v></c>"...)
	case formula.Text:
		b = append(b, ` t="inlineStr"><is><t xml:space="preserve">`...)
		b = appendText(b, v.Text)
		return append(b, "</t></is></c>"...)
	}
	return append(b, "/>"...)
}

func appendColumn(b []byte, col int) []byte {
	if col > 26 {
		b = appendColumn(b, (col-1)/26)
		col = (col-1)%26 + 1
	}
	return append(b, byte('A'+col-1))
}

// appendText writes text as XML. What XML cannot hold is left out.
func appendText(b []byte, s string) []byte {
	for _, r := range s {
		switch {
		case r == '&':
			b = append(b, "&amp;"...)
		case r == '<':
			b = append(b, "&lt;"...)
		case r == '>':
			b = append(b, "&gt;"...)
		case r == '"':
			b = append(b, "&quot;"...)
		case r < 0x20 && r != '\t' && r != '\n', r == 0xFFFE, r == 0xFFFF:
		default:
			b = appendRune(b, r)
		}
	}
	return b
}

func appendRune(b []byte, r rune) []byte {
	if r < 0x80 {
		return append(b, byte(r))
	}
	return append(b, string(r)...)
}

// behind writes what stands behind the cells, in the order that ECMA-376 18.3.1.99
// asks for.
func (s *Sheet) behind(b []byte) []byte {
	count := func(tag string, n int) {
		b = append(b, "<"+tag+` count="`...)
		b = strconv.AppendInt(b, int64(n), 10)
		b = append(b, `">`...)
	}
	if len(s.merges) > 0 {
		count("mergeCells", len(s.merges))
		for _, m := range s.merges {
			b = append(b, `<mergeCell ref="`+Address(m[0], m[1])+":"+Address(m[2], m[3])+`"/>`...)
		}
		b = append(b, "</mergeCells>"...)
	}
	for i, m := range s.marked {
		at := Address(m[0], m[1])
		b = append(b, `<conditionalFormatting sqref="`+at+`"><cfRule type="expression" dxfId="0" priority="`+strconv.Itoa(i+1)+`"><formula>LEN(`+at+`)&gt;0</formula></cfRule></conditionalFormatting>`...)
	}
	if len(s.rules) > 0 {
		count("dataValidations", len(s.rules))
		for i := range s.rules {
			b = s.rules[i].xml(b)
		}
		b = append(b, "</dataValidations>"...)
	}
	b = append(b, `<printOptions horizontalCentered="1"/><pageMargins left="0.45" right="0.45" top="0.45" bottom="0.55" header="0.25" footer="0.25"/><pageSetup paperSize="`...)
	if s.book.Letter {
		b = append(b, '1')
	} else {
		b = append(b, '9')
	}
	b = append(b, `" orientation="`...)
	if s.Landscape {
		b = append(b, "landscape"...)
	} else {
		b = append(b, "portrait"...)
	}
	b = append(b, `" fitToWidth="1" fitToHeight="`...)
	if s.Pages {
		b = append(b, '0')
	} else {
		b = append(b, '1')
	}
	b = append(b, `"/>`...)
	if s.Footer != "" {
		b = append(b, "<headerFooter><oddFooter>"...)
		b = appendText(b, s.Footer)
		b = append(b, "</oddFooter></headerFooter>"...)
	}
	if len(s.pics) > 0 {
		b = append(b, `<drawing r:id="rId1"/>`...)
	}
	return b
}

func (r *rule) xml(b []byte) []byte {
	b = append(b, `<dataValidation type="`+r.Kind+`"`...)
	if r.Kind == "date" {
		b = append(b, ` operator="greaterThanOrEqual"`...)
	}
	if !r.Must {
		b = append(b, ` errorStyle="warning"`...)
	}
	b = append(b, ` allowBlank="1" showInputMessage="1" showErrorMessage="1" errorTitle="`...)
	b = appendText(b, clip16(r.Title, 32))
	b = append(b, `" error="`...)
	b = appendText(b, clip16(r.Wrong, 255))
	b = append(b, `" promptTitle="`...)
	b = appendText(b, clip16(r.Title, 32))
	b = append(b, `" prompt="`...)
	b = appendText(b, clip16(r.Prompt, 255))
	b = append(b, `" sqref="`+Address(r.col, r.row)+`"><formula1>`...)
	b = appendText(b, r.Formula)
	return append(b, "</formula1></dataValidation>"...)
}
