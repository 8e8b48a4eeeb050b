package read

import (
	"archive/zip"
	"bytes"
	"image"
	"image/png"
	"path/filepath"
	"slices"
	"testing"

	"dropcut/convert/peer"

	"github.com/xuri/excelize/v2"
)

// What somebody has put beside the cells is found: of a book as the workbook
// library writes it, and, where peers are required, as LibreOffice saves it again.
func TestBesideTheCells(t *testing.T) {
	f := excelize.NewFile()
	if err := f.AddComment("Sheet1", excelize.Comment{Cell: "C7", Author: "Q", Paragraph: []excelize.RichTextRun{{Text: "vent cap "}, {Text: "is <loose>"}}}); err != nil {
		t.Fatal(err)
	}
	var dot bytes.Buffer
	if err := png.Encode(&dot, image.NewGray(image.Rect(0, 0, 8, 8))); err != nil {
		t.Fatal(err)
	}
	if err := f.AddPictureFromBytes("Sheet1", "E3", &excelize.Picture{Extension: ".png", File: dot.Bytes()}); err != nil {
		t.Fatal(err)
	}
	if err := f.AddShape("Sheet1", &excelize.Shape{Cell: "B9", Type: "rect", Paragraph: []excelize.RichTextRun{{Text: "cut here"}}}); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "b.xlsx")
	if err := f.SaveAs(path); err != nil {
		t.Fatal(err)
	}
	look := func(t *testing.T, path string) {
		b, err := Open(path)
		if err != nil {
			t.Fatal(err)
		}
		defer b.Close()
		list, err := b.Sheet("Sheet1").Beside()
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, x := range list {
			got = append(got, x.Kind+" "+x.At.A1()+" "+x.Text)
			if x.Kind == "picture" && (x.Name == "" || x.File == "") {
				t.Errorf("a picture without a name: %+v", x)
			}
		}
		slices.Sort(got)
		if want := []string{"comment C7 vent cap is <loose>", "drawing B9 cut here", "picture E3 "}; !slices.Equal(got, want) {
			t.Errorf("found %q, %q were put there", got, want)
		}
	}
	look(t, path)
	t.Run("LibreOffice", func(t *testing.T) {
		look(t, peer.Convert(t, path, "xlsx"))
	})
}

// A damaged part is an error that names it, never a panic.
func FuzzBeside(f *testing.F) {
	f.Add([]byte(`<xdr:wsDr><xdr:oneCellAnchor><xdr:from><xdr:col>1</xdr:col></xdr:from><a:blip r:embed="x"/></xdr:oneCellAnchor></xdr:wsDr>`), true)
	f.Add([]byte(`<comments><commentList><comment ref="B2"><text><t>x</t></text></comment></commentList></comments>`), false)
	f.Add([]byte(`<a></comment></threadedComment></t>`), false)
	f.Add([]byte(`<!DOCTYPE a [<!ENTITY b "c">]><a>&b;</comment></twoCellAnchor>`), true)
	f.Fuzz(func(t *testing.T, part []byte, drawing bool) {
		kind, name := "comments", "comments1.xml"
		if drawing {
			kind, name = "drawing", "drawing1.xml"
		}
		var b bytes.Buffer
		w := zip.NewWriter(&b)
		for file, text := range map[string]string{
			"[Content_Types].xml": `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="xml" ContentType="application/xml"/></Types>`,
			"_rels/.rels":         `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="a" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="w.xml"/></Relationships>`,
			"w.xml":               `<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="S" sheetId="1" r:id="a"/></sheets></workbook>`,
			"_rels/w.xml.rels":    `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="a" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="s.xml"/></Relationships>`,
			"s.xml":               `<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData/></worksheet>`,
			"_rels/s.xml.rels":    `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="a" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/` + kind + `" Target="` + name + `"/></Relationships>`,
			name:                  string(part),
		} {
			out, err := w.Create(file)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := out.Write([]byte(text)); err != nil {
				t.Fatal(err)
			}
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		book, err := OpenReader("f.xlsx", bytes.NewReader(b.Bytes()), int64(b.Len()))
		if err != nil {
			t.Fatal(err)
		}
		list, err := book.List[0].Beside()
		if err == nil && len(list) > len(part) {
			t.Errorf("%d of %d bytes", len(list), len(part))
		}
	})
}
