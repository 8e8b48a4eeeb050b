package xlsx

import (
	"bytes"
	"fmt"
	"io"
	"strconv"
	"strings"

	"dropcut/convert/grid"
	"dropcut/plan/cell"
)

// workbook is what the workbook part and its relationships say.
type workbook struct {
	part     *part
	strict   bool
	date1904 bool
	// structure reports that sheets may not be added or renamed.
	structure bool
	sheets    []sheetEntry
	names     []DefinedName
	strings   *part // the shared texts, nil where the book has none
	styles    *part // the cell formats, nil where the book has none
	// dangling names the parts of these two that are pointed to but missing.
	dangling []string
}

// sheetEntry is a line of the workbook's list of sheets.
type sheetEntry struct {
	name  string
	id    int
	relID string
	state string // "", "hidden", "veryHidden"
	kind  string // "worksheet", "chartsheet", "dialogsheet", ...
	part  *part
}

// DefinedName is a name of the workbook: a range, a constant or a built-in one
// such as _xlnm.Print_Area.
type DefinedName struct {
	Name string
	Text string // what it stands for, as written: "Tanks!$A$4:$Q$20"
	// Sheet is the index in the workbook's list of sheets (worksheets and
	// others) that the name is confined to, -1 for the whole book.
	Sheet  int
	Hidden bool
}

// Table is a table of a sheet (ECMA-376 Part 1, 18.5.1).
type Table struct {
	Name       string
	Part       string // the part that describes it
	Range      grid.Range
	HeaderRows int
	TotalsRows int
	Columns    []string
}

// readWorkbook finds the workbook part, wherever it is kept, and reads it.
func readWorkbook(p *pack) (*workbook, error) {
	main, err := mainPart(p)
	if err != nil {
		return nil, err
	}
	wb := &workbook{part: main}
	err = p.lex(main, smallPartMax, func(x *lexer) error { return wb.read(x) })
	if err != nil {
		return nil, err
	}
	if len(wb.sheets) == 0 {
		return nil, fmt.Errorf("%s holds no sheet at all; %s", p.name, saveAnew)
	}
	return wb, wb.resolve(p)
}

// mainPart finds the workbook by the package's relationships or, where a
// careless writer left them out, by the content types.
func mainPart(p *pack) (*part, error) {
	list, err := p.rels("")
	if err != nil {
		return nil, err
	}
	for _, r := range list {
		if r.kind != "officeDocument" || r.external {
			continue
		}
		e := p.part(r.target)
		if e == nil {
			return nil, fmt.Errorf("%s is damaged: its workbook part %s is missing; fetch it again from where it came", p.name, r.target)
		}
		kind := p.types.of(e.name)
		switch {
		case strings.Contains(kind, "sheet.binary"):
			return nil, fmt.Errorf("%s is a binary workbook (.xlsb), which is not read; open it and save it as .xlsx", p.name)
		case strings.Contains(kind, "wordprocessingml"), strings.Contains(kind, "presentationml"):
			return nil, fmt.Errorf("%s is a text document or a presentation, a workbook was expected", p.name)
		}
		return e, nil
	}
	for _, e := range p.parts {
		if kind := p.types.of(e.name); strings.Contains(kind, "spreadsheetml") && strings.HasSuffix(kind, "main+xml") || strings.HasSuffix(kind, "macroEnabled.main+xml") {
			return e, nil
		}
	}
	return nil, p.noWorkbook()
}

func (wb *workbook) read(x *lexer) error {
	if err := x.root("workbook"); err != nil {
		return err
	}
	for _, a := range x.attrs {
		wb.strict = wb.strict || string(x.buf[a.from:a.to]) == nsStrict
	}
	for {
		tok, err := x.next()
		if err == io.EOF {
			return nil
		}
		if err == nil && tok == tokStart {
			switch {
			case x.is("workbookPr"):
				wb.date1904 = truth(x.attr("date1904"))
			case x.is("workbookProtection"):
				wb.structure = truth(x.attr("lockStructure"))
			case x.is("sheet") && x.depth() == 3:
				s := sheetEntry{name: string(decodeEscapes([]byte(string(x.attr("name"))))), relID: string(x.attrLocal("id")), state: string(x.attr("state"))}
				s.id, _ = index(x.attr("sheetId"))
				wb.sheets = append(wb.sheets, s)
			case x.is("definedName"):
				d := DefinedName{Name: string(x.attr("name")), Sheet: -1, Hidden: truth(x.attr("hidden"))}
				if i, ok := index(x.attr("localSheetId")); ok {
					d.Sheet = i
				}
				var text []byte
				text, err = textOf(x, nil)
				d.Text = string(text)
				wb.names = append(wb.names, d)
			}
		}
		if err != nil {
			return err
		}
	}
}

// resolve finds the parts that the workbook points to.
func (wb *workbook) resolve(p *pack) error {
	list, err := p.rels(wb.part.name)
	if err != nil {
		return err
	}
	byID := make(map[string]rel, len(list))
	for _, r := range list {
		byID[r.id] = r
		if r.external {
			continue
		}
		switch r.kind {
		case "sharedStrings":
			wb.strings = wb.optional(p, r.target)
		case "styles":
			wb.styles = wb.optional(p, r.target)
		}
	}
	seen := map[string]bool{}
	for i := range wb.sheets {
		s := &wb.sheets[i]
		if key := strings.ToLower(s.name); s.name == "" || seen[key] {
			return fmt.Errorf("%s is damaged: sheet %d of its list has no name or that of another sheet (%q); %s", p.name, i+1, s.name, saveAnew)
		} else {
			seen[key] = true
		}
		r, ok := byID[s.relID]
		if !ok || r.external {
			return fmt.Errorf("%s is damaged: its sheet %q points to nothing (%q); fetch it again from where it came", p.name, s.name, s.relID)
		}
		s.kind = r.kind
		if s.part = p.part(r.target); s.part == nil {
			return fmt.Errorf("%s is damaged: the part %s of its sheet %q is missing; fetch it again from where it came", p.name, r.target, s.name)
		}
	}
	return nil
}

// optional finds a part that a book can do without until a cell asks for it.
func (wb *workbook) optional(p *pack, name string) *part {
	e := p.part(name)
	if e == nil {
		wb.dangling = append(wb.dangling, name)
	}
	return e
}

// truth reads a boolean attribute (xsd:boolean, with the "on" of old writers).
func truth(b []byte) bool {
	switch string(b) {
	case "1", "true", "on":
		return true
	}
	return false
}

// readTable reads a table part.
func readTable(p *pack, e *part) (Table, error) {
	t := Table{Part: e.name, HeaderRows: 1}
	err := p.walk(e, func(x *lexer) error {
		switch {
		case x.is("table") && x.depth() == 1:
			if t.Name = string(x.attr("displayName")); t.Name == "" {
				t.Name = string(x.attr("name"))
			}
			ref, ok := parseRange(x.attr("ref"))
			if !ok {
				return x.fail(x.from, "the table %s says that it stands at %q, a range was expected", t.Name, x.attr("ref"))
			}
			t.Range = ref
			if n, ok := index(x.attr("headerRowCount")); ok {
				t.HeaderRows = n
			}
			t.TotalsRows, _ = index(x.attr("totalsRowCount"))
		case x.is("tableColumn"):
			t.Columns = append(t.Columns, string(decodeEscapes([]byte(string(x.attr("name"))))))
		}
		return nil
	})
	return t, err
}

// parseRange reads "A4:C10" or "B2"; whole columns and rows ("A:C", "4:10")
// reach to the sheet's end.
func parseRange(b []byte) (grid.Range, bool) {
	first, last, two := bytes.Cut(b, []byte(":"))
	if !two {
		last = first
	}
	col, row, ok := cell.ParseA1(string(first))
	toCol, toRow, ok2 := cell.ParseA1(string(last))
	if !ok || !ok2 || (col == 0) != (toCol == 0) || (row == 0) != (toRow == 0) {
		return grid.Range{}, false
	}
	if col == 0 {
		col, toCol = 1, maxCol
	}
	if row == 0 {
		row, toRow = 1, maxRow
	}
	return grid.Range{Col: min(col, toCol), Row: min(row, toRow), ToCol: max(col, toCol), ToRow: max(row, toRow)}, true
}

// savedBy gives the program that the book says has saved it, "" where it says
// nothing.
func savedBy(p *pack) (string, error) {
	list, err := p.rels("")
	if err != nil {
		return "", err
	}
	var app, version string
	for _, r := range list {
		e := p.part(r.target)
		if r.kind != "extended-properties" && r.kind != "extendedProperties" || e == nil {
			continue
		}
		err = p.walk(e, func(x *lexer) error {
			var text []byte
			var err error
			switch string(x.name()) {
			case "Application":
				text, err = textOf(x, nil)
				app = string(text)
			case "AppVersion":
				text, err = textOf(x, nil)
				version = string(text)
			}
			return err
		})
		if err != nil {
			return "", err
		}
	}
	return programName(app, version), nil
}

// programName joins a program's name and version for people. Some write their
// version and system into the name: "Calc/7.4.7.2$Linux_X86_64 ...".
func programName(app, version string) string {
	app, _, long := strings.Cut(strings.TrimSpace(app), "$")
	if version = strings.TrimSpace(version); version == "" || app == "" || long {
		return app
	}
	return app + " " + version
}

// sheetCount says "1 sheet", "3 sheets".
func sheetCount(n int) string {
	if n == 1 {
		return "1 sheet"
	}
	return strconv.Itoa(n) + " sheets"
}
