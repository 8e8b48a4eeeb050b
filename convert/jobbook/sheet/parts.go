package sheet

import (
	"fmt"
	"strconv"
	"strings"
)

const (
	relBase  = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/"
	relSpace = `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">`
)

func (b *Book) contentTypes(p []byte) []byte {
	p = append(p, declaration+`<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/><Default Extension="png" ContentType="image/png"/>`+
		`<Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/><Override PartName="/xl/styles.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.styles+xml"/><Override PartName="/docProps/core.xml" ContentType="application/vnd.openxmlformats-package.core-properties+xml"/>`...)
	for i, s := range b.Sheets {
		n := strconv.Itoa(i + 1)
		p = append(p, `<Override PartName="/xl/worksheets/sheet`+n+`.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/>`...)
		if len(s.pics) > 0 {
			p = append(p, `<Override PartName="/xl/drawings/drawing`+n+`.xml" ContentType="application/vnd.openxmlformats-officedocument.drawing+xml"/>`...)
		}
	}
	return append(p, "</Types>"...)
}

func (b *Book) rootRels(p []byte) []byte {
	return append(p, declaration+relSpace+`<Relationship Id="rId1" Type="`+relBase+`officeDocument" Target="xl/workbook.xml"/><Relationship Id="rId2" Type="http://schemas.openxmlformats.org/package/2006/relationships/metadata/core-properties" Target="docProps/core.xml"/></Relationships>`...)
}

// core gives the properties of the document. No day stands in them, so that the
// same book is the same bytes.
func (b *Book) core(p []byte) []byte {
	p = append(p, declaration+`<cp:coreProperties xmlns:cp="http://schemas.openxmlformats.org/package/2006/metadata/core-properties" xmlns:dc="http://purl.org/dc/elements/1.1/"><dc:title>`...)
	p = appendText(p, b.Title)
	return append(p, `</dc:title><dc:creator>dropcut</dc:creator></cp:coreProperties>`...)
}

func (b *Book) workbook(p []byte) []byte {
	p = append(p, declaration+`<workbook `+mainSpace+`><bookViews><workbookView activeTab="0"/></bookViews><sheets>`...)
	for i, s := range b.Sheets {
		n := strconv.Itoa(i + 1)
		p = append(p, `<sheet name="`...)
		p = appendText(p, s.Name)
		p = append(p, `" sheetId="`+n+`" r:id="rId`+n+`"/>`...)
	}
	p = append(p, "</sheets><definedNames>"...)
	for i, s := range b.Sheets {
		local := `" localSheetId="` + strconv.Itoa(i) + `">`
		if s.area[2] > 0 {
			p = append(p, `<definedName name="_xlnm.Print_Area`+local...)
			p = appendText(p, s.Quote()+"!"+Fixed(s.area[0], s.area[1])+":"+Fixed(s.area[2], s.area[3]))
			p = append(p, "</definedName>"...)
		}
		if s.Repeat > 0 {
			p = append(p, `<definedName name="_xlnm.Print_Titles`+local...)
			p = appendText(p, s.Quote()+"!$1:$"+strconv.Itoa(s.Repeat))
			p = append(p, "</definedName>"...)
		}
	}
	for _, n := range b.names {
		p = append(p, `<definedName name="`+n.text+`">`...)
		p = appendText(p, n.sheet.Quote()+"!"+Fixed(n.col, n.row))
		p = append(p, "</definedName>"...)
	}
	return append(p, `</definedNames><calcPr calcId="191029" fullCalcOnLoad="1"/></workbook>`...)
}

func (b *Book) workbookRels(p []byte) []byte {
	p = append(p, declaration+relSpace...)
	for i := range b.Sheets {
		n := strconv.Itoa(i + 1)
		p = append(p, `<Relationship Id="rId`+n+`" Type="`+relBase+`worksheet" Target="worksheets/sheet`+n+`.xml"/>`...)
	}
	return append(p, `<Relationship Id="rId`+strconv.Itoa(len(b.Sheets)+1)+`" Type="`+relBase+`styles" Target="styles.xml"/></Relationships>`...)
}

func sheetRels(n string) []byte {
	return []byte(declaration + relSpace + `<Relationship Id="rId1" Type="` + relBase + `drawing" Target="../drawings/drawing` + n + `.xml"/></Relationships>`)
}

func (s *Sheet) drawingRels(image int) []byte {
	p := []byte(declaration + relSpace)
	for i := range s.pics {
		p = append(p, `<Relationship Id="rId`+strconv.Itoa(i+1)+`" Type="`+relBase+`image" Target="../media/image`+strconv.Itoa(image+i+1)+`.png"/>`...)
	}
	return append(p, "</Relationships>"...)
}

// emu is the number of English Metric Units of a point (ECMA-376 22.9.2.1).
const emu = 12700

func (s *Sheet) drawing() []byte {
	p := []byte(declaration + `<xdr:wsDr xmlns:xdr="http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing" xmlns:a="http://schemas.openxmlformats.org/drawingml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships">`)
	for i, q := range s.pics {
		n := strconv.Itoa(i + 1)
		size := fmt.Sprintf(`cx="%d" cy="%d"`, int(q.width*emu), int(q.height*emu))
		p = append(p, fmt.Sprintf(`<xdr:oneCellAnchor><xdr:from><xdr:col>%d</xdr:col><xdr:colOff>0</xdr:colOff><xdr:row>%d</xdr:row><xdr:rowOff>0</xdr:rowOff></xdr:from><xdr:ext %s/><xdr:pic><xdr:nvPicPr><xdr:cNvPr id="%d" name="`, q.col-1, q.row-1, size, i+2)...)
		p = appendText(p, q.name)
		p = append(p, `" descr="`...)
		p = appendText(p, q.about)
		p = append(p, `"/><xdr:cNvPicPr><a:picLocks noChangeAspect="1"/></xdr:cNvPicPr></xdr:nvPicPr><xdr:blipFill><a:blip r:embed="rId`+n+`"/><a:stretch><a:fillRect/></a:stretch></xdr:blipFill><xdr:spPr><a:xfrm><a:off x="0" y="0"/><a:ext `+size+`/></a:xfrm><a:prstGeom prst="rect"><a:avLst/></a:prstGeom></xdr:spPr></xdr:pic><xdr:clientData/></xdr:oneCellAnchor>`...)
	}
	return append(p, "</xdr:wsDr>"...)
}

// stylesPart writes the looks. Fonts, fills and borders are written once a look:
// a few dozen, packed once.
func stylesPart(looks []Look) []byte {
	var fonts, fills, borders, forms, xfs strings.Builder
	number := 164 // the first of a book's own formats
	for i, l := range looks {
		size := l.Size
		if size == 0 {
			size = 10
		}
		fonts.WriteString("<font>")
		if l.Bold {
			fonts.WriteString("<b/>")
		}
		if l.Italic {
			fonts.WriteString("<i/>")
		}
		colour := "FF1F2A30"
		if l.Pale {
			colour = "FF5B6B73"
		}
		fmt.Fprintf(&fonts, `<sz val="%g"/><color rgb="%s"/><name val="Arial"/><family val="2"/></font>`, size, colour)
		if l.Fill == "" {
			fills.WriteString(`<fill><patternFill patternType="none"/></fill>`)
		} else {
			fmt.Fprintf(&fills, `<fill><patternFill patternType="solid"><fgColor rgb="FF%s"/><bgColor indexed="64"/></patternFill></fill>`, l.Fill)
		}
		borders.WriteString(l.Border.xml())
		form := 0
		if l.Format != "" {
			form = number
			forms.WriteString(`<numFmt numFmtId="` + strconv.Itoa(number) + `" formatCode="`)
			forms.Write(appendText(nil, l.Format))
			forms.WriteString(`"/>`)
			number++
		}
		// Fills 0 and 1 are the format's own.
		fmt.Fprintf(&xfs, `<xf numFmtId="%d" fontId="%d" fillId="%d" borderId="%d" xfId="0" applyNumberFormat="1" applyFont="1" applyFill="1" applyBorder="1" applyAlignment="1"><alignment`, form, i, i+2, i)
		if l.Across != "" {
			fmt.Fprintf(&xfs, ` horizontal="%s"`, l.Across)
		}
		if l.Down != "" {
			fmt.Fprintf(&xfs, ` vertical="%s"`, l.Down)
		}
		if l.Indent > 0 {
			fmt.Fprintf(&xfs, ` horizontal="left" indent="%d"`, l.Indent)
		}
		if l.Wrap {
			xfs.WriteString(` wrapText="1"`)
		}
		if l.Shrink {
			xfs.WriteString(` shrinkToFit="1"`)
		}
		xfs.WriteString("/></xf>")
	}
	n := len(looks)
	var b strings.Builder
	b.WriteString(declaration + `<styleSheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">`)
	if number > 164 {
		fmt.Fprintf(&b, `<numFmts count="%d">%s</numFmts>`, number-164, forms.String())
	}
	fmt.Fprintf(&b, `<fonts count="%d">%s</fonts>`, n, fonts.String())
	fmt.Fprintf(&b, `<fills count="%d"><fill><patternFill patternType="none"/></fill><fill><patternFill patternType="gray125"/></fill>%s</fills>`, n+2, fills.String())
	fmt.Fprintf(&b, `<borders count="%d">%s</borders>`, n, borders.String())
	b.WriteString(`<cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs>`)
	fmt.Fprintf(&b, `<cellXfs count="%d">%s</cellXfs>`, n, xfs.String())
	b.WriteString(`<cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles>`)
	b.WriteString(`<dxfs count="1"><dxf><font><b/></font><fill><patternFill patternType="solid"><fgColor rgb="FFF3E7CF"/><bgColor rgb="FFF3E7CF"/></patternFill></fill></dxf></dxfs></styleSheet>`)
	return []byte(b.String())
}

func (k Border) xml() string {
	side := func(name, style string) string {
		if style == "" {
			return "<" + name + "/>"
		}
		return "<" + name + ` style="` + style + `"><color rgb="FF1F2A30"/></` + name + ">"
	}
	all, below := "", ""
	switch k {
	case Under:
		below = "hair"
	case Box:
		all, below = "thin", "thin"
	case Thick:
		all, below = "medium", "medium"
	case Heavy:
		below = "medium"
	}
	return "<border>" + side("left", all) + side("right", all) + side("top", all) + side("bottom", below) + "<diagonal/></border>"
}
