package patch

import (
	"bytes"
	"fmt"
	"io"
	"path"
	"slices"
	"strconv"
	"strings"

	"dropcut/convert/grid"
	"dropcut/convert/xlsx/internal/columns"
	"dropcut/convert/xlsx/internal/dress"
	"dropcut/convert/xlsx/internal/lex"
	"dropcut/convert/xlsx/internal/opc"
	"dropcut/convert/xlsx/internal/parts"
	"dropcut/convert/xlsx/internal/read"
	"dropcut/convert/xlsx/internal/splice"
	"dropcut/plan/cell"
)

// bookPatch is the changes to the parts around the sheets: the workbook's lists
// of sheets and names, relationships, content types, the chain of formulas.
type bookPatch struct {
	book     *read.Book
	sheets   []newEntry
	names    []newName
	recalc   bool
	newParts []newPart
	// replaced parts by their entry; a nil body takes the part out.
	replaced map[*opc.Part][]byte
	rels     []newRel
	gone     []*opc.Part
	notes    []string
}

// newEntry is a line for the workbook's list of sheets.
type newEntry struct {
	name  string
	id    int
	relID string
}

// newName is a defined name to be set, in the scope of a sheet of the list.
type newName struct {
	name   string
	sheet  int
	text   string
	hidden bool
}

type newPart struct {
	name, kind string // kind is the content type
	body       []byte
}

type newRel struct {
	id, kind, target string
}

// Content types and relationship types (ECMA-376 Part 1, 12.3; strict ones have
// another beginning).
const (
	TypeSheet  = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"
	typeStyles = "application/vnd.openxmlformats-officedocument.spreadsheetml.styles+xml"
	relsLoose  = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/"
	RelsStrict = "http://purl.oclc.org/ooxml/officeDocument/relationships/"
)

// addStyles makes a styles part for a book without one.
func (b *bookPatch) addStyles(body []byte) error {
	name := b.freePart("styles", "")
	b.newParts = append(b.newParts, newPart{name, typeStyles, body})
	id, err := b.relID()
	b.rels = append(b.rels, newRel{id, "styles", name})
	return err
}

// freePart gives a part name in a folder beside the workbook that nothing has
// yet: worksheets/sheet4.xml.
func (b *bookPatch) freePart(stem, folder string) string {
	dir := path.Join(path.Dir(b.book.Wb.Part.Name), folder)
	taken := func(name string) bool {
		return b.book.Pack.Part(name) != nil || slices.ContainsFunc(b.newParts, func(n newPart) bool { return strings.EqualFold(n.name, name) })
	}
	for n := 0; ; n++ {
		name := path.Join(dir, stem+".xml")
		if n > 0 || folder != "" {
			name = path.Join(dir, stem+strconv.Itoa(max(n, 1))+".xml")
		}
		if !taken(name) {
			return name
		}
	}
}

// relID gives an id that no relationship of the workbook has.
func (b *bookPatch) relID() (string, error) {
	list, err := b.book.Pack.Rels(b.book.Wb.Part.Name)
	if err != nil {
		return "", err
	}
	most := 0
	for _, r := range list {
		if digits, ok := strings.CutPrefix(r.ID, "rId"); ok {
			if n, err := strconv.Atoi(digits); err == nil {
				most = max(most, n)
			}
		}
	}
	return "rId" + strconv.Itoa(most+1+len(b.rels)), nil
}

// putSheet adds a sheet of our own or finds the one that an earlier run added,
// and gives the name of its tab.
func (b *bookPatch) putSheet(n *grid.NewSheet, styles *dress.Styles) (string, error) {
	book, wb := b.book, b.book.Wb
	if err := checkNewSheet(book.Pack.Name, n); err != nil {
		return "", err
	}
	sum := read.SumNew(n)
	for _, d := range wb.Names {
		base, was, ok := read.ParseMark(d.Text)
		if d.Name != read.NameOwn || !ok || !strings.EqualFold(base, n.Name) || d.Sheet < 0 || d.Sheet >= len(wb.Sheets) {
			continue
		}
		e := &wb.Sheets[d.Sheet]
		if e.Kind != "worksheet" || !strings.HasPrefix(strings.ToLower(e.Name), strings.ToLower(cutName(n.Name))) {
			continue // renamed: it is somebody's own copy now
		}
		sheet := &read.Sheet{Book: book, Entry: e}
		is, err := read.SumOld(sheet)
		if err != nil {
			return "", err
		}
		theirs, err := b.touchedByOthers(sheet)
		if err != nil {
			return "", err
		}
		if is != was || theirs != "" {
			if theirs == "" {
				theirs = "somebody has changed cells of it"
			}
			b.notes = append(b.notes, fmt.Sprintf("%s is kept, since %s; the new %s goes onto a sheet of another name", sheet.At(), theirs, n.Name))
			continue
		}
		if is == sum {
			return e.Name, nil // nothing to do, even if it was sorted meanwhile
		}
		b.recalc = true
		b.replaced[e.Part] = newSheetXML(n, styles, wb.Strict)
		b.nameSheet(d.Sheet, e.Name, n, sum)
		return e.Name, nil
	}
	if wb.Structure {
		return "", &columns.Refused{At: cell.Ref{File: book.Pack.Name}, Reason: columns.ReasonStructure, Found: fmt.Sprintf("the book's structure is protected by its owner, so the sheet %q cannot be added", n.Name), Do: "take the protection off in the spreadsheet program (Review), or write into a copy without it"}
	}
	name := b.freeName(n.Name)
	if name != n.Name {
		b.notes = append(b.notes, fmt.Sprintf("%s: the sheet %q is not dropcut's or was changed by somebody, and is kept; the new one is called %q", book.Pack.Name, n.Name, name))
	}
	id, err := b.relID()
	if err != nil {
		return "", err
	}
	part := b.freePart("sheet", "worksheets")
	b.newParts = append(b.newParts, newPart{part, TypeSheet, newSheetXML(n, styles, wb.Strict)})
	b.rels = append(b.rels, newRel{id, "worksheet", part})
	sheetID := 0
	for _, s := range wb.Sheets {
		sheetID = max(sheetID, s.ID)
	}
	at := len(wb.Sheets) + len(b.sheets)
	b.sheets = append(b.sheets, newEntry{name, sheetID + 1 + len(b.sheets), id})
	b.nameSheet(at, name, n, sum)
	return name, nil
}

// touchedByOthers says what a person has hung onto a sheet of ours.
func (b *bookPatch) touchedByOthers(s *read.Sheet) (string, error) {
	list, err := b.book.Pack.Rels(s.Entry.Part.Name)
	if err != nil {
		return "", err
	}
	for _, r := range list {
		if e := b.book.Pack.Part(r.Target); r.Kind == "drawing" && e != nil {
			// Some programs give every sheet an empty drawing.
			anchors := 0
			err := b.book.Pack.Walk(e, func(x *lex.Lexer) error {
				if strings.HasSuffix(string(x.Name()), "Anchor") {
					anchors++
				}
				return nil
			})
			if err != nil {
				return "", err
			}
			if anchors == 0 {
				continue
			}
		}
		if r.Kind != "printerSettings" {
			return "somebody has put something onto it (" + r.Kind + ")", nil
		}
	}
	protected, err := s.Protected()
	if err == nil && protected {
		return "somebody has protected it", nil
	}
	return "", err
}

// nameSheet sets the names of a sheet of ours: mark, filter, printed heading.
func (b *bookPatch) nameSheet(at int, name string, n *grid.NewSheet, sum uint64) {
	quoted := "'" + strings.ReplaceAll(name, "'", "''") + "'!"
	if area, ok := filterOf(n); ok {
		b.names = append(b.names, newName{parts.NameFilter, at, quoted + parts.Absolute(area), true})
	}
	if n.HeaderRow > 0 {
		b.names = append(b.names, newName{"_xlnm.Print_Titles", at, fmt.Sprintf("%s$%d:$%d", quoted, n.HeaderRow, n.HeaderRow), false})
	}
	b.names = append(b.names, newName{read.NameOwn, at, read.OwnMark(n.Name, sum), true})
}

// cutName leaves room for what freeName puts behind.
func cutName(name string) string {
	for splice.Utf16Len(name) > sheetNameMax-len(" (dropcut 99)") {
		r := []rune(name)
		name = string(r[:len(r)-1])
	}
	return name
}

// freeName gives the wanted name, or one like it that no sheet has.
func (b *bookPatch) freeName(want string) string {
	taken := func(name string) bool {
		return slices.ContainsFunc(b.book.Wb.Sheets, func(s parts.SheetEntry) bool { return strings.EqualFold(s.Name, name) }) ||
			slices.ContainsFunc(b.sheets, func(s newEntry) bool { return strings.EqualFold(s.name, name) })
	}
	name := want
	for n := 1; taken(name); n++ {
		name = cutName(want) + " (dropcut)"
		if n > 1 {
			name = fmt.Sprintf("%s (dropcut %d)", cutName(want), n)
		}
	}
	return name
}

// dropFromChain takes overwritten formulas out of the chain in which they are
// calculated: an entry for a cell without a formula makes a book damaged.
func (b *bookPatch) dropFromChain(gone map[int]map[string]bool) error {
	p := b.book.Pack
	list, err := p.Rels(b.book.Wb.Part.Name)
	if err != nil {
		return err
	}
	for _, r := range list {
		e := p.Part(r.Target)
		if r.Kind != "calcChain" || r.External || e == nil {
			continue
		}
		body, err := p.Read(e, parts.StringsMax)
		if err != nil {
			return err
		}
		body, left, err := cutChain(body, e.Name, gone)
		if err != nil {
			return p.Blame(err)
		}
		if left == 0 {
			// The part may not be empty; without it the program makes one.
			b.gone = append(b.gone, e)
			continue
		}
		b.replaced[e] = body
	}
	return nil
}

// cutChain takes entries out of a calculation chain by sheet id and address.
// An entry without a sheet is of the sheet of the one before it, so the next one
// that stays has to be told its sheet.
func cutChain(body []byte, name string, gone map[int]map[string]bool) ([]byte, int, error) {
	x := lex.New(bytes.NewReader(body), name)
	if err := x.Root("calcChain"); err != nil {
		return nil, 0, err
	}
	var change splice.List
	sheet, left := 0, 0
	owed := false
	for {
		tok, err := x.Next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, 0, err
		}
		if tok != lex.TokStart || !x.Is("c") {
			continue
		}
		own := false
		if n, ok := lex.Index(x.Attr("i")); ok {
			sheet, own = n, true
		}
		from := x.Start()
		name := from + 1 + int64(len(x.FullName()))
		drop := gone[sheet][string(x.Attr("r"))]
		if err := x.Skip(); err != nil {
			return nil, 0, err
		}
		switch {
		case drop:
			change.Put(from, x.Stop(), "")
			owed = owed || own
		default:
			left++
			if owed && !own {
				change.Put(name, name, fmt.Sprintf(` i="%d"`, sheet))
			}
			owed = false
		}
	}
	out, err := change.Apply(body)
	return out, left, err
}

// finish makes the workbook part, its relationships and the content types.
func (b *bookPatch) finish() error {
	p := b.book.Pack
	wb := b.book.Wb.Part
	body, err := p.Read(wb, opc.SmallPartMax)
	if err != nil {
		return err
	}
	if body, err = b.workbook(body); err != nil {
		return p.Blame(err)
	}
	if body != nil {
		b.replaced[wb] = body
	}
	if len(b.newParts) == 0 && len(b.gone) == 0 {
		return nil
	}
	if err := b.relationships(); err != nil {
		return err
	}
	return b.types()
}

// The children of a workbook that stand before its names, and those before the
// settings of calculation (CT_Workbook, ECMA-376 Part 1, 18.2.27).
var (
	beforeNames = []string{"fileVersion", "fileSharing", "workbookPr", "workbookProtection", "bookViews", "sheets", "functionGroups", "externalReferences"}
	beforeCalc  = append(slices.Clone(beforeNames), "definedNames")
)

// workbook gives the workbook part with sheets, names and the wish to be
// calculated anew; nil where nothing changes.
func (b *bookPatch) workbook(body []byte) ([]byte, error) {
	if len(b.sheets) == 0 && len(b.names) == 0 && !b.recalc {
		return nil, nil
	}
	x := lex.New(bytes.NewReader(body), b.book.Wb.Part.Name)
	if err := x.Root("workbook"); err != nil {
		return nil, err
	}
	prefix := lex.PrefixOf(x)
	var (
		change            splice.List
		namesAt, calcAt   int64 = x.Stop(), x.Stop()
		namesEnd          int64 = -1
		namesShut         [2]int64
		calc, calcOn      bool
		sheetsEnd         int64
		relAttr           string
		set               = make([]bool, len(b.names))
		calcFrom, calcTo  int64
		calcTag, calcName int64
	)
	// The prefix of relationship ids may be declared on the root, or on every
	// single sheet, which helps ours nothing.
	space := strings.TrimSuffix(relsLoose, "/")
	if b.book.Wb.Strict {
		space = strings.TrimSuffix(RelsStrict, "/")
	}
	for i := range x.Attrs {
		a := &x.Attrs[i]
		if p, ok := strings.CutPrefix(string(x.Buf[a.NameFrom:a.NameTo]), "xmlns:"); ok && string(x.Value(a)) == space {
			relAttr = p + ":id"
		}
	}
	if relAttr == "" {
		relAttr = `xmlns:r="` + space + `" r:id`
	}
	for {
		tok, err := x.Next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, err
		}
		if tok == lex.TokEnd && x.Depth() == 1 && x.Ours {
			name := string(x.Name())
			if slices.Contains(beforeNames, name) {
				namesAt = x.Stop()
			}
			if slices.Contains(beforeCalc, name) {
				calcAt = x.Stop()
			}
			switch name {
			case "sheets":
				sheetsEnd = x.Start()
			case "definedNames":
				namesEnd = x.Start()
			}
		}
		if tok != lex.TokStart {
			continue
		}
		switch {
		case x.Is("definedNames") && x.Closed():
			namesShut = [2]int64{x.Start(), x.Stop()}
		case x.Is("definedName"):
			at, _ := lex.Index(x.Attr("localSheetId"))
			scoped := x.Attr("localSheetId") != nil
			name := string(x.Attr("name"))
			from := x.Stop()
			var text []byte
			if text, err = lex.TextOf(x, nil); err != nil {
				return nil, err
			}
			for i, n := range b.names {
				if scoped && at == n.sheet && strings.EqualFold(n.name, name) {
					set[i] = true
					if string(text) != n.text && x.Start() >= from {
						change.Put(from, x.Start(), string(lex.EscapeXML(nil, n.text)))
					}
				}
			}
		case x.Is("calcPr"):
			calc, calcOn = true, lex.Truth(x.Attr("fullCalcOnLoad"))
			calcFrom, calcTo, _ = x.AttrSpan("fullCalcOnLoad")
			calcTag = x.Start()
			calcName = calcTag + 1 + int64(len(x.FullName()))
		}
	}
	if len(b.sheets) > 0 {
		var list []byte
		for _, s := range b.sheets {
			list = fmt.Appendf(list, `<%ssheet name="%s" sheetId="%d" %s="%s"/>`, prefix, lex.EscapeXML(nil, s.name), s.id, relAttr, s.relID)
		}
		change.Put(sheetsEnd, sheetsEnd, string(list))
	}
	var list []byte
	for i, n := range b.names {
		if set[i] {
			continue
		}
		hidden := ""
		if n.hidden {
			hidden = ` hidden="1"`
		}
		list = fmt.Appendf(list, `<%sdefinedName name="%s" localSheetId="%d"%s>%s</%sdefinedName>`, prefix, n.name, n.sheet, hidden, lex.EscapeXML(nil, n.text), prefix)
	}
	if len(list) > 0 {
		whole := fmt.Sprintf("<%sdefinedNames>%s</%sdefinedNames>", prefix, list, prefix)
		switch {
		case namesShut[1] != 0:
			change.Put(namesShut[0], namesShut[1], whole)
		case namesEnd >= 0:
			change.Put(namesEnd, namesEnd, string(list))
		default:
			change.Put(namesAt, namesAt, whole)
		}
	}
	if b.recalc {
		switch {
		case calcOn:
		case calc && calcTo > 0:
			change.Put(calcFrom, calcTo, "1")
		case calc:
			change.Put(calcName, calcName, ` fullCalcOnLoad="1"`)
		default:
			change.Put(calcAt, calcAt, fmt.Sprintf(`<%scalcPr fullCalcOnLoad="1"/>`, prefix))
		}
	}
	if change.Idle() {
		return nil, nil
	}
	return change.Apply(body)
}

// relationships adds the new parts to those of the workbook and takes out those
// that are gone.
func (b *bookPatch) relationships() error {
	p, wb := b.book.Pack, b.book.Wb
	e := p.Part(opc.RelsName(wb.Part.Name))
	if e == nil {
		return fmt.Errorf("%s is damaged: its workbook has no relationships; fetch it again from where it came", p.Name)
	}
	body, err := p.Read(e, opc.SmallPartMax)
	if err != nil {
		return err
	}
	kinds := relsLoose
	if wb.Strict {
		kinds = RelsStrict
	}
	dir := path.Dir(wb.Part.Name)
	return b.listed(e, body, "Relationships", "Relationship", func(x *lex.Lexer) bool {
		target := opc.Resolve(wb.Part.Name, string(x.Attr("Target")))
		return string(x.Attr("TargetMode")) != "External" && slices.Contains(b.gone, p.Part(target))
	}, func(prefix string) (list []byte) {
		for _, r := range b.rels {
			target := "/" + r.target
			if rest, ok := strings.CutPrefix(r.target, dir+"/"); ok {
				target = rest
			}
			list = fmt.Appendf(list, `<%sRelationship Id="%s" Type="%s" Target="%s"/>`, prefix, r.id, kinds+r.kind, lex.EscapeXML(nil, target))
		}
		return list
	})
}

// types adds the content types of the new parts.
func (b *bookPatch) types() error {
	p := b.book.Pack
	e := p.Part("[Content_Types].xml")
	body, err := p.Read(e, opc.SmallPartMax)
	if err != nil {
		return err
	}
	return b.listed(e, body, "Types", "Override", func(x *lex.Lexer) bool {
		return slices.Contains(b.gone, p.Part(strings.ReplaceAll(string(x.Attr("PartName")), `\`, "/")))
	}, func(prefix string) (list []byte) {
		for _, n := range b.newParts {
			list = fmt.Appendf(list, `<%sOverride PartName="/%s" ContentType="%s"/>`, prefix, lex.EscapeXML(nil, n.name), n.kind)
		}
		return list
	})
}

// listed takes elements out of a part that is a plain list and adds others at
// its end.
func (b *bookPatch) listed(e *opc.Part, body []byte, root, item string, drop func(*lex.Lexer) bool, add func(prefix string) []byte) error {
	x := lex.New(bytes.NewReader(body), e.Name)
	var change splice.List
	for {
		tok, err := x.Next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return b.book.Pack.Blame(err)
		}
		name := ""
		if tok == lex.TokStart || tok == lex.TokEnd {
			name = string(x.Name())
		}
		switch {
		case tok == lex.TokEnd && x.Depth() == 0 && name == root:
			change.Put(x.Start(), x.Start(), string(add(lex.PrefixOf(x))))
		case tok == lex.TokStart && name == item && drop(x):
			from := x.Start()
			if err := x.Skip(); err != nil {
				return b.book.Pack.Blame(err)
			}
			change.Put(from, x.Stop(), "")
		}
	}
	if change.Idle() {
		return nil
	}
	out, err := change.Apply(body)
	b.replaced[e] = out
	return err
}
