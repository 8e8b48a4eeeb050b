package xlsx

import (
	"bytes"
	"fmt"
	"io"
	"path"
	"slices"
	"strconv"
	"strings"

	"dropcut/convert/grid"
	"dropcut/plan/cell"
)

// bookPatch is the changes to the parts around the sheets: the workbook's lists
// of sheets and names, relationships, content types, the chain of formulas.
type bookPatch struct {
	book     *Book
	sheets   []newEntry
	names    []newName
	recalc   bool
	newParts []newPart
	// replaced parts by their entry; a nil body takes the part out.
	replaced map[*part][]byte
	rels     []newRel
	gone     []*part
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
	typeSheet  = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"
	typeStyles = "application/vnd.openxmlformats-officedocument.spreadsheetml.styles+xml"
	relsLoose  = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/"
	relsStrict = "http://purl.oclc.org/ooxml/officeDocument/relationships/"
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
	dir := path.Join(path.Dir(b.book.wb.part.name), folder)
	taken := func(name string) bool {
		return b.book.pack.part(name) != nil || slices.ContainsFunc(b.newParts, func(n newPart) bool { return strings.EqualFold(n.name, name) })
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
	list, err := b.book.pack.rels(b.book.wb.part.name)
	if err != nil {
		return "", err
	}
	most := 0
	for _, r := range list {
		if digits, ok := strings.CutPrefix(r.id, "rId"); ok {
			if n, err := strconv.Atoi(digits); err == nil {
				most = max(most, n)
			}
		}
	}
	return "rId" + strconv.Itoa(most+1+len(b.rels)), nil
}

// putSheet adds a sheet of our own or finds the one that an earlier run added,
// and gives the name of its tab.
func (b *bookPatch) putSheet(n *grid.NewSheet, styles *stylePatch) (string, error) {
	book, wb := b.book, b.book.wb
	if err := checkNewSheet(book.pack.name, n); err != nil {
		return "", err
	}
	sum := sumNew(n)
	for _, d := range wb.names {
		base, was, ok := parseMark(d.Text)
		if d.Name != nameOwn || !ok || !strings.EqualFold(base, n.Name) || d.Sheet < 0 || d.Sheet >= len(wb.sheets) {
			continue
		}
		e := &wb.sheets[d.Sheet]
		if e.kind != "worksheet" || !strings.HasPrefix(strings.ToLower(e.name), strings.ToLower(cutName(n.Name))) {
			continue // renamed: it is somebody's own copy now
		}
		sheet := &Sheet{book: book, entry: e}
		is, err := sumOld(sheet)
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
			return e.name, nil // nothing to do, even if it was sorted meanwhile
		}
		b.recalc = true
		b.replaced[e.part] = newSheetXML(n, styles, wb.strict)
		b.nameSheet(d.Sheet, e.name, n, sum)
		return e.name, nil
	}
	if wb.structure {
		return "", &Refused{At: cell.Ref{File: book.pack.name}, Reason: ReasonStructure, Found: fmt.Sprintf("the book's structure is protected by its owner, so the sheet %q cannot be added", n.Name), Do: "take the protection off in the spreadsheet program (Review), or write into a copy without it"}
	}
	name := b.freeName(n.Name)
	if name != n.Name {
		b.notes = append(b.notes, fmt.Sprintf("%s: the sheet %q is not dropcut's or was changed by somebody, and is kept; the new one is called %q", book.pack.name, n.Name, name))
	}
	id, err := b.relID()
	if err != nil {
		return "", err
	}
	part := b.freePart("sheet", "worksheets")
	b.newParts = append(b.newParts, newPart{part, typeSheet, newSheetXML(n, styles, wb.strict)})
	b.rels = append(b.rels, newRel{id, "worksheet", part})
	sheetID := 0
	for _, s := range wb.sheets {
		sheetID = max(sheetID, s.id)
	}
	at := len(wb.sheets) + len(b.sheets)
	b.sheets = append(b.sheets, newEntry{name, sheetID + 1 + len(b.sheets), id})
	b.nameSheet(at, name, n, sum)
	return name, nil
}

// touchedByOthers says what a person has hung onto a sheet of ours.
func (b *bookPatch) touchedByOthers(s *Sheet) (string, error) {
	list, err := b.book.pack.rels(s.entry.part.name)
	if err != nil {
		return "", err
	}
	for _, r := range list {
		if e := b.book.pack.part(r.target); r.kind == "drawing" && e != nil {
			// Some programs give every sheet an empty drawing.
			anchors := 0
			err := b.book.pack.walk(e, func(x *lexer) error {
				if strings.HasSuffix(string(x.name()), "Anchor") {
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
		if r.kind != "printerSettings" {
			return "somebody has put something onto it (" + r.kind + ")", nil
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
		b.names = append(b.names, newName{nameFilter, at, quoted + absolute(area), true})
	}
	if n.HeaderRow > 0 {
		b.names = append(b.names, newName{"_xlnm.Print_Titles", at, fmt.Sprintf("%s$%d:$%d", quoted, n.HeaderRow, n.HeaderRow), false})
	}
	b.names = append(b.names, newName{nameOwn, at, ownMark(n.Name, sum), true})
}

// cutName leaves room for what freeName puts behind.
func cutName(name string) string {
	for utf16Len(name) > sheetNameMax-len(" (dropcut 99)") {
		r := []rune(name)
		name = string(r[:len(r)-1])
	}
	return name
}

// freeName gives the wanted name, or one like it that no sheet has.
func (b *bookPatch) freeName(want string) string {
	taken := func(name string) bool {
		return slices.ContainsFunc(b.book.wb.sheets, func(s sheetEntry) bool { return strings.EqualFold(s.name, name) }) ||
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
	p := b.book.pack
	list, err := p.rels(b.book.wb.part.name)
	if err != nil {
		return err
	}
	for _, r := range list {
		e := p.part(r.target)
		if r.kind != "calcChain" || r.external || e == nil {
			continue
		}
		body, err := p.read(e, stringsMax)
		if err != nil {
			return err
		}
		body, left, err := cutChain(body, e.name, gone)
		if err != nil {
			return p.blame(err)
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
	x := newLexer(bytes.NewReader(body), name)
	if err := x.root("calcChain"); err != nil {
		return nil, 0, err
	}
	var change splices
	sheet, left := 0, 0
	owed := false
	for {
		tok, err := x.next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, 0, err
		}
		if tok != tokStart || !x.is("c") {
			continue
		}
		own := false
		if n, ok := index(x.attr("i")); ok {
			sheet, own = n, true
		}
		from := x.start()
		name := from + 1 + int64(len(x.fullName()))
		drop := gone[sheet][string(x.attr("r"))]
		if err := x.skip(); err != nil {
			return nil, 0, err
		}
		switch {
		case drop:
			change.put(from, x.stop(), "")
			owed = owed || own
		default:
			left++
			if owed && !own {
				change.put(name, name, fmt.Sprintf(` i="%d"`, sheet))
			}
			owed = false
		}
	}
	out, err := change.apply(body)
	return out, left, err
}

// finish makes the workbook part, its relationships and the content types.
func (b *bookPatch) finish() error {
	p := b.book.pack
	wb := b.book.wb.part
	body, err := p.read(wb, smallPartMax)
	if err != nil {
		return err
	}
	if body, err = b.workbook(body); err != nil {
		return p.blame(err)
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
	x := newLexer(bytes.NewReader(body), b.book.wb.part.name)
	if err := x.root("workbook"); err != nil {
		return nil, err
	}
	prefix := prefixOf(x)
	var (
		change            splices
		namesAt, calcAt   int64 = x.stop(), x.stop()
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
	if b.book.wb.strict {
		space = strings.TrimSuffix(relsStrict, "/")
	}
	for i := range x.attrs {
		a := &x.attrs[i]
		if p, ok := strings.CutPrefix(string(x.buf[a.nameFrom:a.nameTo]), "xmlns:"); ok && string(x.value(a)) == space {
			relAttr = p + ":id"
		}
	}
	if relAttr == "" {
		relAttr = `xmlns:r="` + space + `" r:id`
	}
	for {
		tok, err := x.next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, err
		}
		if tok == tokEnd && x.depth() == 1 && x.ours {
			name := string(x.name())
			if slices.Contains(beforeNames, name) {
				namesAt = x.stop()
			}
			if slices.Contains(beforeCalc, name) {
				calcAt = x.stop()
			}
			switch name {
			case "sheets":
				sheetsEnd = x.start()
			case "definedNames":
				namesEnd = x.start()
			}
		}
		if tok != tokStart {
			continue
		}
		switch {
		case x.is("definedNames") && x.closed():
			namesShut = [2]int64{x.start(), x.stop()}
		case x.is("definedName"):
			at, _ := index(x.attr("localSheetId"))
			scoped := x.attr("localSheetId") != nil
			name := string(x.attr("name"))
			from := x.stop()
			var text []byte
			if text, err = textOf(x, nil); err != nil {
				return nil, err
			}
			for i, n := range b.names {
				if scoped && at == n.sheet && strings.EqualFold(n.name, name) {
					set[i] = true
					if string(text) != n.text && x.start() >= from {
						change.put(from, x.start(), string(escapeXML(nil, n.text)))
					}
				}
			}
		case x.is("calcPr"):
			calc, calcOn = true, truth(x.attr("fullCalcOnLoad"))
			calcFrom, calcTo, _ = x.attrSpan("fullCalcOnLoad")
			calcTag = x.start()
			calcName = calcTag + 1 + int64(len(x.fullName()))
		}
	}
	if len(b.sheets) > 0 {
		var list []byte
		for _, s := range b.sheets {
			list = fmt.Appendf(list, `<%ssheet name="%s" sheetId="%d" %s="%s"/>`, prefix, escapeXML(nil, s.name), s.id, relAttr, s.relID)
		}
		change.put(sheetsEnd, sheetsEnd, string(list))
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
		list = fmt.Appendf(list, `<%sdefinedName name="%s" localSheetId="%d"%s>%s</%sdefinedName>`, prefix, n.name, n.sheet, hidden, escapeXML(nil, n.text), prefix)
	}
	if len(list) > 0 {
		whole := fmt.Sprintf("<%sdefinedNames>%s</%sdefinedNames>", prefix, list, prefix)
		switch {
		case namesShut[1] != 0:
			change.put(namesShut[0], namesShut[1], whole)
		case namesEnd >= 0:
			change.put(namesEnd, namesEnd, string(list))
		default:
			change.put(namesAt, namesAt, whole)
		}
	}
	if b.recalc {
		switch {
		case calcOn:
		case calc && calcTo > 0:
			change.put(calcFrom, calcTo, "1")
		case calc:
			change.put(calcName, calcName, ` fullCalcOnLoad="1"`)
		default:
			change.put(calcAt, calcAt, fmt.Sprintf(`<%scalcPr fullCalcOnLoad="1"/>`, prefix))
		}
	}
	if change.idle() {
		return nil, nil
	}
	return change.apply(body)
}

// relationships adds the new parts to those of the workbook and takes out those
// that are gone.
func (b *bookPatch) relationships() error {
	p, wb := b.book.pack, b.book.wb
	e := p.part(relsName(wb.part.name))
	if e == nil {
		return fmt.Errorf("%s is damaged: its workbook has no relationships; fetch it again from where it came", p.name)
	}
	body, err := p.read(e, smallPartMax)
	if err != nil {
		return err
	}
	kinds := relsLoose
	if wb.strict {
		kinds = relsStrict
	}
	dir := path.Dir(wb.part.name)
	return b.listed(e, body, "Relationships", "Relationship", func(x *lexer) bool {
		target := resolve(wb.part.name, string(x.attr("Target")))
		return string(x.attr("TargetMode")) != "External" && slices.Contains(b.gone, p.part(target))
	}, func(prefix string) (list []byte) {
		for _, r := range b.rels {
			target := "/" + r.target
			if rest, ok := strings.CutPrefix(r.target, dir+"/"); ok {
				target = rest
			}
			list = fmt.Appendf(list, `<%sRelationship Id="%s" Type="%s" Target="%s"/>`, prefix, r.id, kinds+r.kind, escapeXML(nil, target))
		}
		return list
	})
}

// types adds the content types of the new parts.
func (b *bookPatch) types() error {
	p := b.book.pack
	e := p.part("[Content_Types].xml")
	body, err := p.read(e, smallPartMax)
	if err != nil {
		return err
	}
	return b.listed(e, body, "Types", "Override", func(x *lexer) bool {
		return slices.Contains(b.gone, p.part(strings.ReplaceAll(string(x.attr("PartName")), `\`, "/")))
	}, func(prefix string) (list []byte) {
		for _, n := range b.newParts {
			list = fmt.Appendf(list, `<%sOverride PartName="/%s" ContentType="%s"/>`, prefix, escapeXML(nil, n.name), n.kind)
		}
		return list
	})
}

// listed takes elements out of a part that is a plain list and adds others at
// its end.
func (b *bookPatch) listed(e *part, body []byte, root, item string, drop func(*lexer) bool, add func(prefix string) []byte) error {
	x := newLexer(bytes.NewReader(body), e.name)
	var change splices
	for {
		tok, err := x.next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return b.book.pack.blame(err)
		}
		name := ""
		if tok == tokStart || tok == tokEnd {
			name = string(x.name())
		}
		switch {
		case tok == tokEnd && x.depth() == 0 && name == root:
			change.put(x.start(), x.start(), string(add(prefixOf(x))))
		case tok == tokStart && name == item && drop(x):
			from := x.start()
			if err := x.skip(); err != nil {
				return b.book.pack.blame(err)
			}
			change.put(from, x.stop(), "")
		}
	}
	if change.idle() {
		return nil
	}
	out, err := change.apply(body)
	b.replaced[e] = out
	return err
}
