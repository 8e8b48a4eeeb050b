package newbook

import (
	"bufio"
	"fmt"
	"strings"
)

const (
	xmlHead  = `<?xml version="1.0" encoding="UTF-8" standalone="yes"?>` + "\n"
	mainNS   = `http://schemas.openxmlformats.org/spreadsheetml/2006/main`
	relNS    = `http://schemas.openxmlformats.org/officeDocument/2006/relationships`
	relTypes = `http://schemas.openxmlformats.org/officeDocument/2006/relationships/`
	typeBase = `application/vnd.openxmlformats-officedocument.spreadsheetml.`
)

// Style is how a cell looks.
type Style struct {
	// Format is the number format, as in "#,##0" or "# ?/8"; "" for none.
	Format       string
	Bold, Italic bool
	Size         float64 // of the font, 0 for 11
	Ink          string  // colour of the font, as in "1F2A30"
	Fill         string  // colour of the ground
	Under        string  // colour of a line below the cell
	Thick        bool    // that line is a thick one
	Side         string  // colour of a line to the right
	Wrap         bool
	Right        bool
}

// part writes a part of the package.
func (b *Book) part(name string, write func(w *bufio.Writer)) {
	if b.err != nil {
		return
	}
	f, err := b.zip.Create(name)
	if err != nil {
		b.fail(err)
		return
	}
	w := bufio.NewWriter(f)
	fmt.Fprint(w, xmlHead)
	write(w)
	b.fail(w.Flush())
}

// tail writes every part but the sheets.
func (b *Book) tail() {
	b.part("[Content_Types].xml", func(w *bufio.Writer) {
		fmt.Fprint(w, `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/>`)
		fmt.Fprintf(w, `<Override PartName="/xl/workbook.xml" ContentType="%ssheet.main+xml"/>`, typeBase)
		for i := range b.sheets {
			fmt.Fprintf(w, `<Override PartName="/xl/worksheets/sheet%d.xml" ContentType="%sworksheet+xml"/>`, i+1, typeBase)
		}
		fmt.Fprintf(w, `<Override PartName="/xl/styles.xml" ContentType="%sstyles+xml"/><Override PartName="/xl/sharedStrings.xml" ContentType="%[1]ssharedStrings+xml"/></Types>`, typeBase)
	})
	b.part("_rels/.rels", func(w *bufio.Writer) {
		fmt.Fprintf(w, `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="%sofficeDocument" Target="xl/workbook.xml"/></Relationships>`, relTypes)
	})
	b.part("xl/workbook.xml", b.workbook)
	b.part("xl/_rels/workbook.xml.rels", func(w *bufio.Writer) {
		fmt.Fprint(w, `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">`)
		n := len(b.sheets)
		for i := range n {
			fmt.Fprintf(w, `<Relationship Id="rId%d" Type="%sworksheet" Target="worksheets/sheet%[1]d.xml"/>`, i+1, relTypes)
		}
		fmt.Fprintf(w, `<Relationship Id="rId%d" Type="%sstyles" Target="styles.xml"/><Relationship Id="rId%d" Type="%[2]ssharedStrings" Target="sharedStrings.xml"/></Relationships>`, n+1, relTypes, n+2)
	})
	b.part("xl/styles.xml", b.styleSheet)
	b.part("xl/sharedStrings.xml", func(w *bufio.Writer) {
		fmt.Fprintf(w, `<sst xmlns="%s" uniqueCount="%d">`, mainNS, len(b.order))
		for _, s := range b.order {
			fmt.Fprintf(w, `<si><t xml:space="preserve">%s</t></si>`, escaped(s))
		}
		fmt.Fprint(w, `</sst>`)
	})
}

func (b *Book) workbook(w *bufio.Writer) {
	fmt.Fprintf(w, `<workbook xmlns="%s" xmlns:r="%s"><bookViews><workbookView/></bookViews><sheets>`, mainNS, relNS)
	repeats := false
	for i, s := range b.sheets {
		fmt.Fprintf(w, `<sheet name="%s" sheetId="%d" r:id="rId%[2]d"/>`, escaped(s.Name), i+1)
		repeats = repeats || s.Repeat > 0
	}
	fmt.Fprint(w, `</sheets>`)
	if repeats {
		fmt.Fprint(w, `<definedNames>`)
		for i, s := range b.sheets {
			if s.Repeat > 0 {
				name := strings.ReplaceAll(s.Name, "'", "''")
				fmt.Fprintf(w, `<definedName name="_xlnm.Print_Titles" localSheetId="%d">'%s'!$%d:$%d</definedName>`, i, escaped(name), s.Repeat, max(s.Repeat, s.Head))
			}
		}
		fmt.Fprint(w, `</definedNames>`)
	}
	fmt.Fprint(w, `</workbook>`)
}

// styleSheet gives each style its own font, ground, border and format: a book
// has a dozen of them, and nothing is gained by sharing.
func (b *Book) styleSheet(w *bufio.Writer) {
	n := len(b.styles) + 1
	fmt.Fprintf(w, `<styleSheet xmlns="%s">`, mainNS)
	formats := 0
	for _, s := range b.styles {
		if s.Format != "" {
			formats++
		}
	}
	if formats > 0 {
		fmt.Fprintf(w, `<numFmts count="%d">`, formats)
		for i, s := range b.styles {
			if s.Format != "" {
				fmt.Fprintf(w, `<numFmt numFmtId="%d" formatCode="%s"/>`, firstFormat+i, escaped(s.Format))
			}
		}
		fmt.Fprint(w, `</numFmts>`)
	}
	fmt.Fprintf(w, `<fonts count="%d"><font><sz val="11"/><name val="Calibri"/><family val="2"/></font>`, n)
	for _, s := range b.styles {
		fmt.Fprint(w, `<font>`)
		if s.Bold {
			fmt.Fprint(w, `<b/>`)
		}
		if s.Italic {
			fmt.Fprint(w, `<i/>`)
		}
		size := s.Size
		if size == 0 {
			size = 11
		}
		fmt.Fprintf(w, `<sz val="%g"/>`, size)
		if s.Ink != "" {
			fmt.Fprintf(w, `<color rgb="FF%s"/>`, s.Ink)
		}
		fmt.Fprint(w, `<name val="Calibri"/><family val="2"/></font>`)
	}
	// The first two grounds are kept for "none" and a pattern of dots.
	fmt.Fprintf(w, `</fonts><fills count="%d"><fill><patternFill patternType="none"/></fill><fill><patternFill patternType="gray125"/></fill>`, n+1)
	for _, s := range b.styles {
		if s.Fill == "" {
			fmt.Fprint(w, `<fill><patternFill patternType="none"/></fill>`)
			continue
		}
		fmt.Fprintf(w, `<fill><patternFill patternType="solid"><fgColor rgb="FF%s"/><bgColor indexed="64"/></patternFill></fill>`, s.Fill)
	}
	fmt.Fprintf(w, `</fills><borders count="%d"><border><left/><right/><top/><bottom/><diagonal/></border>`, n)
	for _, s := range b.styles {
		fmt.Fprintf(w, `<border><left/>%s<top/>%s<diagonal/></border>`, edge("right", s.Side, false), edge("bottom", s.Under, s.Thick))
	}
	fmt.Fprintf(w, `</borders><cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs><cellXfs count="%d"><xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/>`, n)
	for i, s := range b.styles {
		format, fill := 0, 0
		if s.Format != "" {
			format = firstFormat + i
		}
		if s.Fill != "" {
			fill = i + 2
		}
		fmt.Fprintf(w, `<xf numFmtId="%d" fontId="%d" fillId="%d" borderId="%[2]d" xfId="0" applyNumberFormat="1" applyFont="1" applyFill="1" applyBorder="1" applyAlignment="1"><alignment`, format, i+1, fill)
		if s.Right {
			fmt.Fprint(w, ` horizontal="right"`)
		}
		if s.Wrap {
			fmt.Fprint(w, ` vertical="top" wrapText="1"`)
		}
		fmt.Fprint(w, `/></xf>`)
	}
	fmt.Fprint(w, `</cellXfs><cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles></styleSheet>`)
}

// firstFormat is the first number of a format of one's own.
const firstFormat = 164

func edge(side, colour string, thick bool) string {
	if colour == "" {
		return "<" + side + "/>"
	}
	weight := "thin"
	if thick {
		weight = "medium"
	}
	return fmt.Sprintf(`<%s style="%s"><color rgb="FF%s"/></%[1]s>`, side, weight, colour)
}
