package xlsx

import (
	"archive/zip"
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"dropcut/convert/grid"
)

// A hand-made package: its parts in order. Every test builds the one feature
// that it is about on top of plain().
type handmade []handPart

type handPart struct{ name, content string }

// with gives the package with a part replaced or added; an empty content takes
// it away.
func (h handmade) with(name, content string) handmade {
	var out handmade
	done := false
	for _, p := range h {
		if p.name == name {
			p.content, done = content, true
		}
		if p.content != "" {
			out = append(out, p)
		}
	}
	if !done && content != "" {
		out = append(out, handPart{name, content})
	}
	return out
}

// edit gives the package with a text in one part replaced.
func (h handmade) edit(t testing.TB, name, old, with string) handmade {
	t.Helper()
	for _, p := range h {
		if p.name == name {
			if !strings.Contains(p.content, old) {
				t.Fatalf("%s does not hold %q", name, old)
			}
			return h.with(name, strings.ReplaceAll(p.content, old, with))
		}
	}
	t.Fatalf("there is no part %s", name)
	return nil
}

// rename gives the package with an entry under another name.
func (h handmade) rename(name, to string) handmade {
	out := append(handmade(nil), h...)
	for i := range out {
		if out[i].name == name {
			out[i].name = to
		}
	}
	return out
}

func (h handmade) bytes() []byte {
	var buf bytes.Buffer
	w := zip.NewWriter(&buf)
	for _, p := range h {
		f, err := w.Create(p.name)
		if err == nil {
			_, err = f.Write([]byte(p.content))
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

func (h handmade) book(t testing.TB) *Book {
	t.Helper()
	b, err := openBytes(h.bytes())
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func openBytes(b []byte) (*Book, error) {
	return OpenReader("hand.xlsx", bytes.NewReader(b), int64(len(b)))
}

const (
	xmlHead  = `<?xml version="1.0" encoding="UTF-8" standalone="yes"?>` + "\n"
	relTypes = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
	pkgRels  = "http://schemas.openxmlformats.org/package/2006/relationships"
)

// plain is a sound workbook of one sheet named Charts with these rows; the
// texts are its shared strings.
func plain(rows string, texts ...string) handmade {
	sst := ""
	for _, s := range texts {
		sst += "<si>" + s + "</si>"
	}
	return handmade{
		{"[Content_Types].xml", xmlHead + `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">` +
			`<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/>` +
			`<Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/>` +
			`<Override PartName="/xl/worksheets/sheet1.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/>` +
			`<Override PartName="/xl/styles.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.styles+xml"/>` +
			`<Override PartName="/xl/sharedStrings.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"/></Types>`},
		{"_rels/.rels", xmlHead + `<Relationships xmlns="` + pkgRels + `"><Relationship Id="rId1" Type="` + relTypes + `/officeDocument" Target="xl/workbook.xml"/></Relationships>`},
		{"xl/workbook.xml", xmlHead + `<workbook xmlns="` + nsMain + `" xmlns:r="` + relTypes + `"><sheets><sheet name="Charts" sheetId="1" r:id="rId1"/></sheets></workbook>`},
		{"xl/_rels/workbook.xml.rels", xmlHead + `<Relationships xmlns="` + pkgRels + `"><Relationship Id="rId1" Type="` + relTypes + `/worksheet" Target="worksheets/sheet1.xml"/>` +
			`<Relationship Id="rId2" Type="` + relTypes + `/styles" Target="styles.xml"/><Relationship Id="rId3" Type="` + relTypes + `/sharedStrings" Target="sharedStrings.xml"/></Relationships>`},
		{"xl/worksheets/sheet1.xml", xmlHead + `<worksheet xmlns="` + nsMain + `" xmlns:r="` + relTypes + `"><sheetData>` + rows + `</sheetData></worksheet>`},
		{"xl/styles.xml", xmlHead + `<styleSheet xmlns="` + nsMain + `"><numFmts count="1"><numFmt numFmtId="164" formatCode="0.0&quot; in&quot;"/></numFmts>` +
			`<fonts count="1"><font/></fonts><fills count="1"><fill/></fills><borders count="1"><border/></borders><cellStyleXfs count="1"><xf numFmtId="14"/></cellStyleXfs>` +
			`<cellXfs count="5"><xf numFmtId="0"/><xf numFmtId="16"/><xf numFmtId="9"/><xf numFmtId="12"/><xf numFmtId="164"/></cellXfs></styleSheet>`},
		{"xl/sharedStrings.xml", xmlHead + `<sst xmlns="` + nsMain + `" count="` + fmt.Sprint(len(texts)) + `" uniqueCount="` + fmt.Sprint(len(texts)) + `">` + sst + `</sst>`},
	}
}

const sheet1 = "xl/worksheets/sheet1.xml"

// dump gives a line a row: "4: A4=num 12.5|B4=text \"KR-1\"".
func dump(s grid.Sheet) (string, error) {
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

// corruptSum overwrites the checksum of an entry in both places where it stands.
func corruptSum(t testing.TB, book []byte, name string) []byte {
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

func writeFile(t testing.TB, name string, content []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}
