// Package parts reads what is around the sheets: the lists of sheets and names,
// tables, cell formats, shared texts.
package parts

import (
	"fmt"
	"io"
	"strings"

	"dropcut/convert/grid"
	"dropcut/convert/xlsx/internal/lex"
	"dropcut/convert/xlsx/internal/opc"
)

// Workbook is what the workbook part and its relationships say.
type Workbook struct {
	Part     *opc.Part
	Strict   bool
	Date1904 bool
	// structure reports that sheets may not be added or renamed.
	Structure bool
	Sheets    []SheetEntry
	Names     []DefinedName
	Strings   *opc.Part // the shared texts, nil where the book has none
	Styles    *opc.Part // the cell formats, nil where the book has none
	// dangling names the parts of these two that are pointed to but missing.
	Dangling []string
}

// SheetEntry is a line of the workbook's list of sheets.
type SheetEntry struct {
	Name  string
	ID    int
	relID string
	State string // "", "hidden", "veryHidden"
	Kind  string // "worksheet", "chartsheet", "dialogsheet", ...
	Part  *opc.Part
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

// ReadWorkbook finds the workbook part, wherever it is kept, and reads it.
func ReadWorkbook(p *opc.Package) (*Workbook, error) {
	main, err := mainPart(p)
	if err != nil {
		return nil, err
	}
	wb := &Workbook{Part: main}
	err = p.Lex(main, opc.SmallPartMax, func(x *lex.Lexer) error { return wb.read(x) })
	if err != nil {
		return nil, err
	}
	if len(wb.Sheets) == 0 {
		return nil, fmt.Errorf("%s holds no sheet at all; %s", p.Name, opc.SaveAnew)
	}
	return wb, wb.resolve(p)
}

// mainPart finds the workbook by the package's relationships or, where a
// careless writer left them out, by the content types.
func mainPart(p *opc.Package) (*opc.Part, error) {
	list, err := p.Rels("")
	if err != nil {
		return nil, err
	}
	for _, r := range list {
		if r.Kind != "officeDocument" || r.External {
			continue
		}
		e := p.Part(r.Target)
		if e == nil {
			return nil, fmt.Errorf("%s is damaged: its workbook part %s is missing; fetch it again from where it came", p.Name, r.Target)
		}
		kind := p.Types.Of(e.Name)
		switch {
		case strings.Contains(kind, "sheet.binary"):
			return nil, fmt.Errorf("%s is a binary workbook (.xlsb), which is not read; open it and save it as .xlsx", p.Name)
		case strings.Contains(kind, "wordprocessingml"), strings.Contains(kind, "presentationml"):
			return nil, fmt.Errorf("%s is a text document or a presentation, a workbook was expected", p.Name)
		}
		return e, nil
	}
	for _, e := range p.Parts {
		if kind := p.Types.Of(e.Name); strings.Contains(kind, "spreadsheetml") && strings.HasSuffix(kind, "main+xml") || strings.HasSuffix(kind, "macroEnabled.main+xml") {
			return e, nil
		}
	}
	return nil, p.NoWorkbook()
}

func (wb *Workbook) read(x *lex.Lexer) error {
	if err := x.Root("workbook"); err != nil {
		return err
	}
	for _, a := range x.Attrs {
		wb.Strict = wb.Strict || string(x.Buf[a.From:a.To]) == lex.NsStrict
	}
	for {
		tok, err := x.Next()
		if err == io.EOF {
			return nil
		}
		if err == nil && tok == lex.TokStart {
			switch {
			case x.Is("workbookPr"):
				wb.Date1904 = lex.Truth(x.Attr("date1904"))
			case x.Is("workbookProtection"):
				wb.Structure = lex.Truth(x.Attr("lockStructure"))
			case x.Is("sheet") && x.Depth() == 3:
				s := SheetEntry{Name: string(lex.DecodeEscapes([]byte(string(x.Attr("name"))))), relID: string(x.AttrLocal("id")), State: string(x.Attr("state"))}
				s.ID, _ = lex.Index(x.Attr("sheetId"))
				wb.Sheets = append(wb.Sheets, s)
			case x.Is("definedName"):
				d := DefinedName{Name: string(x.Attr("name")), Sheet: -1, Hidden: lex.Truth(x.Attr("hidden"))}
				if i, ok := lex.Index(x.Attr("localSheetId")); ok {
					d.Sheet = i
				}
				var text []byte
				text, err = lex.TextOf(x, nil)
				d.Text = string(text)
				wb.Names = append(wb.Names, d)
			}
		}
		if err != nil {
			return err
		}
	}
}

// resolve finds the parts that the workbook points to.
func (wb *Workbook) resolve(p *opc.Package) error {
	list, err := p.Rels(wb.Part.Name)
	if err != nil {
		return err
	}
	byID := make(map[string]opc.Rel, len(list))
	for _, r := range list {
		byID[r.ID] = r
		if r.External {
			continue
		}
		switch r.Kind {
		case "sharedStrings":
			wb.Strings = wb.optional(p, r.Target)
		case "styles":
			wb.Styles = wb.optional(p, r.Target)
		}
	}
	seen := map[string]bool{}
	for i := range wb.Sheets {
		s := &wb.Sheets[i]
		if key := strings.ToLower(s.Name); s.Name == "" || seen[key] {
			return fmt.Errorf("%s is damaged: sheet %d of its list has no name or that of another sheet (%q); %s", p.Name, i+1, s.Name, opc.SaveAnew)
		} else {
			seen[key] = true
		}
		r, ok := byID[s.relID]
		if !ok || r.External {
			return fmt.Errorf("%s is damaged: its sheet %q points to nothing (%q); fetch it again from where it came", p.Name, s.Name, s.relID)
		}
		s.Kind = r.Kind
		if s.Part = p.Part(r.Target); s.Part == nil {
			return fmt.Errorf("%s is damaged: the part %s of its sheet %q is missing; fetch it again from where it came", p.Name, r.Target, s.Name)
		}
	}
	return nil
}

// optional finds a part that a book can do without until a cell asks for it.
func (wb *Workbook) optional(p *opc.Package, name string) *opc.Part {
	e := p.Part(name)
	if e == nil {
		wb.Dangling = append(wb.Dangling, name)
	}
	return e
}

// ReadTable reads a table part.
func ReadTable(p *opc.Package, e *opc.Part) (Table, error) {
	t := Table{Part: e.Name, HeaderRows: 1}
	err := p.Walk(e, func(x *lex.Lexer) error {
		switch {
		case x.Is("table") && x.Depth() == 1:
			if t.Name = string(x.Attr("displayName")); t.Name == "" {
				t.Name = string(x.Attr("name"))
			}
			ref, ok := ParseRange(x.Attr("ref"))
			if !ok {
				return x.Fail(x.From, "the table %s says that it stands at %q, a range was expected", t.Name, x.Attr("ref"))
			}
			t.Range = ref
			if n, ok := lex.Index(x.Attr("headerRowCount")); ok {
				t.HeaderRows = n
			}
			t.TotalsRows, _ = lex.Index(x.Attr("totalsRowCount"))
		case x.Is("tableColumn"):
			t.Columns = append(t.Columns, string(lex.DecodeEscapes([]byte(string(x.Attr("name"))))))
		}
		return nil
	})
	return t, err
}

// SavedBy gives the program that the book says has saved it, "" where it says
// nothing.
func SavedBy(p *opc.Package) (string, error) {
	list, err := p.Rels("")
	if err != nil {
		return "", err
	}
	var app, version string
	for _, r := range list {
		e := p.Part(r.Target)
		if r.Kind != "extended-properties" && r.Kind != "extendedProperties" || e == nil {
			continue
		}
		err = p.Walk(e, func(x *lex.Lexer) error {
			var text []byte
			var err error
			switch string(x.Name()) {
			case "Application":
				text, err = lex.TextOf(x, nil)
				app = string(text)
			case "AppVersion":
				text, err = lex.TextOf(x, nil)
				version = string(text)
			}
			return err
		})
		if err != nil {
			return "", err
		}
	}
	return ProgramName(app, version), nil
}

// ProgramName joins a program's name and version for people. Some write their
// version and system into the name: "Calc/7.4.7.2$Linux_X86_64 ...".
func ProgramName(app, version string) string {
	app, _, long := strings.Cut(strings.TrimSpace(app), "$")
	if version = strings.TrimSpace(version); version == "" || app == "" || long {
		return app
	}
	return app + " " + version
}

const NameFilter = "_xlnm._FilterDatabase"
