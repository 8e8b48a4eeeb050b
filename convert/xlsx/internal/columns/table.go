package columns

import (
	"bytes"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"dropcut/convert/grid"
	"dropcut/convert/xlsx/internal/lex"
	"dropcut/convert/xlsx/internal/opc"
	"dropcut/convert/xlsx/internal/parts"
	"dropcut/convert/xlsx/internal/read"
	"dropcut/convert/xlsx/internal/splice"
	"dropcut/plan/cell"
)

// filterName is the defined name that repeats a sheet filter's range.
type filterName struct {
	Sheet int // index in the workbook's list
	Text  string
}

// filterName finds the defined name that repeats the filter's range; nil where
// there is none. It is not ok where the name gives another range.
func (s *Sheet) filterName(area grid.Range) (*parts.DefinedName, bool) {
	wb := s.sheet.Book.Wb
	for i := range wb.Names {
		n := &wb.Names[i]
		if !strings.EqualFold(n.Name, parts.NameFilter) || n.Sheet < 0 || n.Sheet >= len(wb.Sheets) || wb.Sheets[n.Sheet].Part != s.sheet.Entry.Part {
			continue
		}
		at := strings.LastIndexByte(n.Text, '!')
		r, ok := parts.ParseRange([]byte(strings.ReplaceAll(n.Text[at+1:], "$", "")))
		return n, ok && at > 0 && r == area
	}
	return nil, true
}

// filterText gives the defined name's text with another range.
func filterText(old string, r grid.Range) string {
	at := strings.LastIndexByte(old, '!')
	return old[:at+1] + parts.Absolute(r)
}

// tablePart is a table's part as a patch needs it.
type tablePart struct {
	parts.Table
	part   *opc.Part
	body   []byte
	prefix string
	kind   string // tableType: "" or "worksheet", "xml", "queryTable"
	ref    [2]int64
	filter [2]int64 // of autoFilter's ref, 0 without one
	filtRg grid.Range
	count  [2]int64
	end    int64 // before </tableColumns>
	maxID  int
	names  [][2]int64 // of the columns' names
}

// readTableParts reads the parts of a sheet's tables.
func readTableParts(s *read.Sheet) ([]tablePart, error) {
	list, err := s.Tables()
	if err != nil {
		return nil, err
	}
	p := s.Book.Pack
	all := make([]tablePart, 0, len(list))
	for _, t := range list {
		tp := tablePart{Table: t, part: p.Part(t.Part), end: -1}
		if tp.body, err = p.Read(tp.part, opc.SmallPartMax); err != nil {
			return nil, err
		}
		x := lex.New(bytes.NewReader(tp.body), t.Part)
		for {
			tok, err := x.Next()
			if err != nil {
				break // it was read once already
			}
			switch {
			case tok == lex.TokStart && x.Is("table") && x.Depth() == 1:
				tp.prefix, tp.kind = lex.PrefixOf(x), string(x.Attr("tableType"))
				tp.ref[0], tp.ref[1], _ = x.AttrSpan("ref")
			case tok == lex.TokStart && x.Is("autoFilter") && x.Depth() == 2:
				tp.filter[0], tp.filter[1], _ = x.AttrSpan("ref")
				tp.filtRg, _ = parts.ParseRange(x.Attr("ref"))
			case tok == lex.TokStart && x.Is("tableColumns"):
				tp.count[0], tp.count[1], _ = x.AttrSpan("count")
			case tok == lex.TokStart && x.Is("tableColumn"):
				id, _ := lex.Index(x.Attr("id"))
				tp.maxID = max(tp.maxID, id)
				from, to, _ := x.AttrSpan("name")
				tp.names = append(tp.names, [2]int64{from, to})
			case tok == lex.TokEnd && x.Is("tableColumns") && x.Start() < x.Stop():
				tp.end = x.Start()
			}
		}
		all = append(all, tp)
	}
	return all, nil
}

// grows reports whether a table may get columns at its right edge whose
// headings stand in a row; why says what speaks against it.
func (t *tablePart) grows(headerRow int) (why string) {
	switch {
	case t.kind != "" && t.kind != "worksheet":
		return "it is filled from outside the book"
	case t.HeaderRows != 1:
		return "it has no heading row of its own"
	case t.Range.Row != headerRow:
		return fmt.Sprintf("its headings stand in row %d", t.Range.Row)
	case t.end < 0 || t.ref[1] == 0 || t.count[1] == 0 || len(t.Columns) != t.Range.ToCol-t.Range.Col+1:
		return "its list of columns does not fit its range"
	case t.filter[1] != 0 && (t.filtRg.ToCol != t.Range.ToCol || t.filtRg.Row != t.Range.Row):
		return "its filter covers another range"
	}
	return ""
}

// rename repeats a changed heading of a column of the sheet.
func (t *tablePart) rename(change *splice.List, col int, heading string) (why string) {
	k := col - t.Range.Col
	if k >= len(t.names) || t.names[k][1] == 0 {
		return "its list of columns does not fit its range"
	}
	for i, n := range t.Columns {
		if i != k && strings.EqualFold(n, heading) {
			return fmt.Sprintf("it has a column %q already", heading)
		}
	}
	change.Put(t.names[k][0], t.names[k][1], string(columnText(heading)))
	return ""
}

// withColumns gives the table's part with columns added at its right edge.
func (t *tablePart) withColumns(change *splice.List, headings []string) ([]byte, error) {
	wide := t.Range
	wide.ToCol += len(headings)
	change.Put(t.ref[0], t.ref[1], parts.RangeText(wide))
	if t.filter[1] != 0 {
		f := t.filtRg
		f.ToCol = wide.ToCol
		change.Put(t.filter[0], t.filter[1], parts.RangeText(f))
	}
	change.Put(t.count[0], t.count[1], strconv.Itoa(len(t.Columns)+len(headings)))
	var b []byte
	for i, h := range headings {
		b = fmt.Appendf(b, `<%stableColumn id="%d" name="%s"/>`, t.prefix, t.maxID+1+i, columnText(h))
	}
	change.Put(t.end, t.end, string(b))
	return change.Apply(t.body)
}

// columnText is a heading as a table's part repeats it: line breaks escaped.
func columnText(h string) []byte {
	b := bytes.ReplaceAll(lex.EscapeXML(nil, string(escapeNothing(h))), []byte("\n"), []byte("_x000a_"))
	return bytes.ReplaceAll(b, []byte("\t"), []byte("_x0009_"))
}

// escapeNothing drops nothing but turns what XML cannot carry into escapes,
// leaving the marks of XML to escapeXML.
func escapeNothing(h string) []byte {
	var b []byte
	for i, r := range h {
		switch {
		case r == '_' && lex.LooksEscaped(h[i:]):
			b = append(b, "_x005F_"...)
		case r < ' ' && r != '\n' && r != '\t':
			b = fmt.Appendf(b, "_x%04X_", r)
		default:
			b = append(b, string(r)...)
		}
	}
	return b
}

// GrowTables lets tables reach over the new columns at their right edge, where
// that is safe, and refuses headings inside a table. It gives the changed parts.
func (s *Sheet) GrowTables() (map[*opc.Part][]byte, error) {
	tables, err := readTableParts(s.sheet)
	if err != nil || len(s.lines) == 0 {
		return nil, err
	}
	lastRow := s.lines[len(s.lines)-1].row
	var out map[*opc.Part][]byte
	for i := range tables {
		t := &tables[i]
		for k := range s.cols {
			c := &s.cols[k]
			if !s.known[k] && c.Col >= t.Range.Col && c.Col <= t.Range.ToCol && c.HeaderRow <= t.Range.ToRow && lastRow >= t.Range.Row {
				return nil, s.refuse(ReasonTable, parts.RangeText(t.Range), fmt.Sprintf("the new column %q would stand inside the table %s", c.Heading, t.Name), "let the columns begin behind the table")
			}
		}
		var change splice.List
		for k := range s.cols {
			c := &s.cols[k]
			if was, ok := s.renamed[c.Col]; ok && c.Col >= t.Range.Col && c.Col <= t.Range.ToCol && c.HeaderRow == t.Range.Row && t.HeaderRows > 0 {
				if why := t.rename(&change, c.Col, c.Heading); why != "" {
					return nil, s.refuse(ReasonTable, parts.RangeText(t.Range), fmt.Sprintf("the heading %q of the table %s cannot become %q, because %s", was, t.Name, c.Heading, why), "delete the column and try again")
				}
				s.note("the heading %q of the table %s became %q; formulas that name it have to be looked at", was, t.Name, c.Heading)
			}
		}
		if !change.Idle() {
			if out == nil {
				out = map[*opc.Part][]byte{}
			}
			if out[t.part], err = change.Apply(t.body); err != nil {
				return nil, err
			}
		}
		first := t.Range.ToCol + 1
		k, touch := s.byCol[first]
		if !touch || s.known[k] || s.cols[k].HeaderRow > t.Range.ToRow || lastRow < t.Range.Row {
			continue
		}
		why := t.grows(s.cols[k].HeaderRow)
		n := s.freshRun(first, t.Range.Row)
		area := grid.Range{Col: first, ToCol: first + n - 1, Row: t.Range.Row, ToRow: t.Range.ToRow}
		if why == "" {
			why = s.blocked(t, tables, area)
		}
		if why != "" {
			s.note("the table %s does not reach over the new columns, because %s; whoever sorts it leaves them where they are", t.Name, why)
			continue
		}
		var headings []string
		for col := first; col < first+n; col++ {
			headings = append(headings, s.cols[s.byCol[col]].Heading)
		}
		body, err := t.withColumns(&change, headings)
		if err != nil {
			return nil, err
		}
		if out == nil {
			out = map[*opc.Part][]byte{}
		}
		out[t.part] = body
		area.Col = t.Range.Col
		s.note("the table %s reaches over the new columns now: %s", t.Name, parts.RangeText(area))
	}
	return out, nil
}

// blocked says what keeps a table from growing over an area.
func (s *Sheet) blocked(t *tablePart, all []tablePart, area grid.Range) string {
	for _, at := range s.occupied {
		if area.Contains(at.Col, at.Row) {
			return fmt.Sprintf("cell %s holds something", at.A1())
		}
	}
	for _, m := range s.merges {
		if parts.Overlap(m, area) {
			return fmt.Sprintf("%s is merged", parts.RangeText(m))
		}
	}
	for i := range all {
		if o := &all[i]; o.part != t.part && parts.Overlap(o.Range, area) {
			return fmt.Sprintf("the table %s stands there", o.Name)
		}
	}
	if f := s.filter; f.there && parts.Overlap(f.area, area) {
		return "the sheet's filter stands there"
	}
	names := slices.Clone(t.Columns)
	for col := area.Col; col <= area.ToCol; col++ {
		h := s.cols[s.byCol[col]].Heading
		if h == "" {
			return "a heading is empty"
		}
		if slices.ContainsFunc(names, func(n string) bool { return strings.EqualFold(n, h) }) {
			return fmt.Sprintf("it has a column %q already", h)
		}
		names = append(names, h)
	}
	return ""
}

// Place says where new columns go on a sheet.
type Place struct {
	Col int
	// Why says why they do not stand directly behind the last heading; empty
	// where they do.
	Why string
	// Table is the table that will reach over them; empty where none does.
	Table string
}

// FindPlace finds n free columns side by side for headings in a row of the sheet and
// values in the given rows below it (in rising order; nil for all rows). They
// begin behind the last heading; where something stands in the way farther to
// the right, or behind a table that cannot grow, with one column between. A
// protected sheet is refused with a *Refused, and so is one without room.
func FindPlace(s *read.Sheet, headerRow int, rows []int, n int) (Place, error) {
	last := parts.MaxRow
	if len(rows) > 0 {
		last = rows[len(rows)-1]
	}
	heading := 0
	why := map[int]string{} // what stands in a column
	for row, err := range s.Rows() {
		if err != nil {
			return Place{}, err
		}
		if row.N < headerRow || row.N > last {
			continue
		}
		for i := range row.Cells {
			col := row.Cells[i].Col
			if row.N == headerRow {
				heading = max(heading, col)
			} else if _, there := why[col]; !there {
				why[col] = "cell " + cell.Ref{Col: col, Row: row.N}.A1() + " holds something"
			}
		}
	}
	if protected, err := s.Protected(); err != nil || protected {
		if err == nil {
			err = protectedSheet(s.At())
		}
		return Place{}, err
	}
	merges, err := s.Merges()
	if err != nil {
		return Place{}, err
	}
	for _, m := range merges {
		k, _ := slices.BinarySearch(rows, m.Row)
		if headerRow < m.Row || headerRow > m.ToRow {
			// A row of a section's title may be merged as wide as it likes.
			if rows != nil && (k == len(rows) || rows[k] > m.ToRow) || m.ToRow < headerRow {
				continue
			}
		}
		for col := max(m.Col, heading+1); col <= m.ToCol; col++ {
			why[col] = parts.RangeText(m) + " is merged"
		}
	}
	tables, err := readTableParts(s)
	if err != nil {
		return Place{}, err
	}
	for i := range tables {
		t := &tables[i]
		if t.Range.ToRow < headerRow || t.Range.Row > last {
			continue
		}
		for col := max(t.Range.Col, heading+1); col <= t.Range.ToCol; col++ {
			why[col] = "the table " + t.Name + " stands there"
		}
		if no := t.grows(headerRow); no != "" {
			why[t.Range.ToCol+1] = fmt.Sprintf("the table %s cannot reach over new columns, because %s", t.Name, no)
		}
	}
	place := Place{Col: heading + 1}
	for col := place.Col; col < place.Col+n; col++ {
		if what, there := why[col]; there {
			place.Col, place.Why = col+1, what
		}
		if place.Col+n-1 > parts.MaxCol {
			return Place{}, &Refused{At: s.At(), Reason: ReasonEdge, Found: fmt.Sprintf("%d new columns find no room before the last column, XFD", n), Do: "delete unused columns and try again"}
		}
	}
	for i := range tables {
		if t := &tables[i]; t.Range.ToCol+1 == place.Col && t.grows(headerRow) == "" {
			place.Table = t.Name
		}
	}
	return place, nil
}

func protectedSheet(at cell.Ref) *Refused {
	return &Refused{At: at, Reason: ReasonProtected, Found: "the sheet is protected by its owner", Do: "take the protection off in the spreadsheet program (Review), or let the results go onto a sheet of their own"}
}
