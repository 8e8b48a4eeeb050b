// Package handmade makes workbooks by hand, part by part, for the tests of the
// rooms beside it. It knows none of them, so that all of them can use it.
package handmade

import (
	"archive/zip"
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf16"

	"dropcut/convert/grid"
	"dropcut/convert/xlsx/internal/lex"
)

// A hand-made package: its parts in order. Every test builds the one feature
// that it is about on top of plain().
type Package []handPart

type handPart struct{ Name, Content string }

// With gives the package with a part replaced or added; an empty content takes
// it away.
func (h Package) With(name, content string) Package {
	var out Package
	done := false
	for _, p := range h {
		if p.Name == name {
			p.Content, done = content, true
		}
		if p.Content != "" {
			out = append(out, p)
		}
	}
	if !done && content != "" {
		out = append(out, handPart{name, content})
	}
	return out
}

// Add gives the package with one more entry, whatever else has its name.
func (h Package) Add(name, content string) Package {
	return append(append(Package(nil), h...), handPart{name, content})
}

// Edit gives the package with a text in one part replaced.
func (h Package) Edit(t testing.TB, name, old, with string) Package {
	t.Helper()
	for _, p := range h {
		if p.Name == name {
			if !strings.Contains(p.Content, old) {
				t.Fatalf("%s does not hold %q", name, old)
			}
			return h.With(name, strings.ReplaceAll(p.Content, old, with))
		}
	}
	t.Fatalf("there is no part %s", name)
	return nil
}

// Rename gives the package with an entry under another name.
func (h Package) Rename(name, to string) Package {
	out := append(Package(nil), h...)
	for i := range out {
		if out[i].Name == name {
			out[i].Name = to
		}
	}
	return out
}

// Bytes packs it.
func (h Package) Bytes() []byte {
	var buf bytes.Buffer
	w := zip.NewWriter(&buf)
	for _, p := range h {
		f, err := w.Create(p.Name)
		if err == nil {
			_, err = f.Write([]byte(p.Content))
		}
		if err != nil {
			panic(err)
		}
	}
	if err := w.Close(); err != nil {
		panic(err)
	}
	return buf.Bytes()
}

const (
	Head     = `<?xml version="1.0" encoding="UTF-8" standalone="yes"?>` + "\n"
	RelTypes = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
	PkgRels  = "http://schemas.openxmlformats.org/package/2006/relationships"
)

// Plain is a sound workbook of one sheet named Charts with these rows; the
// texts are its shared strings.
func Plain(rows string, texts ...string) Package {
	sst := ""
	for _, s := range texts {
		sst += "<si>" + s + "</si>"
	}
	return Package{
		{"[Content_Types].xml", Head + `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">` +
			`<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/>` +
			`<Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/>` +
			`<Override PartName="/xl/worksheets/sheet1.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/>` +
			`<Override PartName="/xl/styles.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.styles+xml"/>` +
			`<Override PartName="/xl/sharedStrings.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"/></Types>`},
		{"_rels/.rels", Head + `<Relationships xmlns="` + PkgRels + `"><Relationship Id="rId1" Type="` + RelTypes + `/officeDocument" Target="xl/workbook.xml"/></Relationships>`},
		{"xl/workbook.xml", Head + `<workbook xmlns="` + lex.NsMain + `" xmlns:r="` + RelTypes + `"><sheets><sheet name="Charts" sheetId="1" r:id="rId1"/></sheets></workbook>`},
		{"xl/_rels/workbook.xml.rels", Head + `<Relationships xmlns="` + PkgRels + `"><Relationship Id="rId1" Type="` + RelTypes + `/worksheet" Target="worksheets/sheet1.xml"/>` +
			`<Relationship Id="rId2" Type="` + RelTypes + `/styles" Target="styles.xml"/><Relationship Id="rId3" Type="` + RelTypes + `/sharedStrings" Target="sharedStrings.xml"/></Relationships>`},
		{"xl/worksheets/sheet1.xml", Head + `<worksheet xmlns="` + lex.NsMain + `" xmlns:r="` + RelTypes + `"><sheetData>` + rows + `</sheetData></worksheet>`},
		{"xl/styles.xml", Head + `<styleSheet xmlns="` + lex.NsMain + `"><numFmts count="1"><numFmt numFmtId="164" formatCode="0.0&quot; in&quot;"/></numFmts>` +
			`<fonts count="1"><font/></fonts><fills count="1"><fill/></fills><borders count="1"><border/></borders><cellStyleXfs count="1"><xf numFmtId="14"/></cellStyleXfs>` +
			`<cellXfs count="5"><xf numFmtId="0"/><xf numFmtId="16"/><xf numFmtId="9"/><xf numFmtId="12"/><xf numFmtId="164"/></cellXfs></styleSheet>`},
		{"xl/sharedStrings.xml", Head + `<sst xmlns="` + lex.NsMain + `" count="` + fmt.Sprint(len(texts)) + `" uniqueCount="` + fmt.Sprint(len(texts)) + `">` + sst + `</sst>`},
	}
}

const Sheet1 = "xl/worksheets/sheet1.xml"

// Dump gives a line a row: "4: A4=num 12.5|B4=text \"KR-1\"".
func Dump(s grid.Sheet) (string, error) {
	var b strings.Builder
	for r, err := range s.Rows() {
		if err != nil {
			return b.String(), err
		}
		fmt.Fprintf(&b, "%d", r.N)
		if r.Hidden {
			b.WriteString(" hidden")
		}
		b.WriteString(":")
		for i := range r.Cells {
			c := &r.Cells[i]
			at := s.At()
			at.Col, at.Row = c.Col, r.N
			fmt.Fprintf(&b, " %s=%s", at.A1(), [...]string{"blank", "num", "text", "bool", "error", "date"}[c.Kind])
			if c.Formula {
				b.WriteString("!")
			}
			if c.Format != grid.Plain {
				b.WriteString([...]string{"", "/date", "/percent", "/fraction"}[c.Format])
			}
			switch c.Kind {
			case grid.Blank:
			case grid.Number:
				fmt.Fprintf(&b, " %v", c.Num)
			default:
				fmt.Fprintf(&b, " %q", c.Raw)
			}
		}
		b.WriteString("\n")
	}
	return b.String(), nil
}

// CorruptSum overwrites the checksum of an entry in both places where it stands.
func CorruptSum(t testing.TB, book []byte, name string) []byte {
	t.Helper()
	out := bytes.Clone(book)
	r, err := zip.NewReader(bytes.NewReader(book), int64(len(book)))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range r.File {
		if f.Name != name {
			continue
		}
		sum := []byte{byte(f.CRC32), byte(f.CRC32 >> 8), byte(f.CRC32 >> 16), byte(f.CRC32 >> 24)}
		if n := bytes.Count(out, sum); n == 0 || n > 2 {
			t.Fatalf("the checksum stands %d times", n)
		}
		return bytes.ReplaceAll(out, sum, []byte{sum[0] ^ 1, sum[1], sum[2], sum[3]})
	}
	t.Fatalf("there is no entry %s", name)
	return nil
}

// WriteFile writes a file into a folder that goes with the test.
func WriteFile(t testing.TB, name string, content []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// UTF16 gives a text in UTF-16, low byte first.
func UTF16(s string) string {
	var b strings.Builder
	for _, u := range utf16.Encode([]rune("\ufeff" + s)) {
		b.WriteByte(byte(u))
		b.WriteByte(byte(u >> 8))
	}
	return b.String()
}
