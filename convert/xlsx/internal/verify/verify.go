// Package verify holds a written workbook against the one it was made from.
package verify

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"iter"
	"slices"
	"strconv"
	"strings"

	"dropcut/convert/grid"
	"dropcut/convert/xlsx/internal/opc"
	"dropcut/convert/xlsx/internal/parts"
	"dropcut/convert/xlsx/internal/read"
	"dropcut/plan/cell"
)

// Files compares a written workbook with the one it was made from: every entry
// of the archive that the edit does not need to touch has the same raw bytes,
// times and attributes; in the others, every old cell, row and setting is as it
// was and every cell of the edit holds its value. Both books are read by the
// scanner, and the parts that have changed by a second reader too, which stands
// on another XML library. The error names the first part and cell that differ.
//
// What the edit may touch is worked out from the edit alone, not from what the
// patch says it did.
func Files(oldPath, newPath string, edit grid.Edit) error {
	was, err := read.Open(oldPath)
	if err != nil {
		return err
	}
	defer was.Close()
	is, err := read.Open(newPath)
	if err != nil {
		return fmt.Errorf("the written book cannot be opened again: %w", err)
	}
	defer is.Close()
	return Books(was, is, edit)
}

// verifier holds the two books and the cells of the edit.
type verifier struct {
	was, is *read.Book
	edit    grid.Edit
	targets map[*opc.Part]*targets    // by old sheet part
	own     map[string]*grid.NewSheet // by lower-case part name in the new book
}

// Books is Files for books that are open.
func Books(was, is *read.Book, edit grid.Edit) error {
	v := &verifier{was: was, is: is, edit: edit, targets: map[*opc.Part]*targets{}, own: map[string]*grid.NewSheet{}}
	for i := range edit.Columns {
		c := &edit.Columns[i]
		s := was.Sheet(c.Sheet)
		if s == nil {
			return fmt.Errorf("%s: there is no sheet %q", was.Name(), c.Sheet)
		}
		e := s.Entry.Part
		if v.targets[e] == nil {
			v.targets[e] = &targets{}
		}
		v.targets[e].add(c)
	}
	if err := v.ownSheets(); err != nil {
		return err
	}
	if err := v.parts(); err != nil {
		return err
	}
	for _, s := range was.List {
		if v.targets[s.Entry.Part] == nil {
			continue
		}
		if err := v.scanned(s); err != nil {
			return err
		}
	}
	return nil
}

// wrong is a difference that must not be.
func (v *verifier) wrong(part, format string, args ...any) error {
	return fmt.Errorf("%s: the written book differs from the old one where it must not, in %s: %s; it was thrown away and the old book is as it was", v.was.Name(), part, fmt.Sprintf(format, args...))
}

// ownSheets finds the sheets of dropcut's own in the new book and holds their
// cells against the edit.
func (v *verifier) ownSheets() error {
	for i := range v.edit.Sheets {
		n := &v.edit.Sheets[i]
		var found *read.Sheet
		var why error
		for _, d := range v.is.Wb.Names {
			base, sum, ok := read.ParseMark(d.Text)
			if d.Name != read.NameOwn || !ok || !strings.EqualFold(base, n.Name) || d.Sheet < 0 || d.Sheet >= len(v.is.Wb.Sheets) {
				continue
			}
			s := &read.Sheet{Book: v.is, Entry: &v.is.Wb.Sheets[d.Sheet]}
			got, err := read.SumOld(s)
			if err != nil {
				return err
			}
			if sum != read.SumNew(n) || got != sum {
				continue
			}
			if why = v.ownCells(s, n); why == nil {
				found = s
			}
		}
		if found == nil {
			if why != nil {
				return why
			}
			return v.wrong("the list of sheets", "no sheet holds what was to be written onto %q", n.Name)
		}
		v.own[strings.ToLower(found.Entry.Part.Name)] = n
	}
	return nil
}

// ownCells compares a sheet of ours cell by cell. One that an earlier run has
// written and that was sorted since holds the same rows in another order, which
// its sum has shown.
func (v *verifier) ownCells(s *read.Sheet, n *grid.NewSheet) error {
	if old := v.was.Pack.Part(s.Entry.Part.Name); old != nil && sameRaw(old.File, s.Entry.Part.File) == nil {
		return nil
	}
	count := 0
	for row, err := range s.Rows() {
		if err != nil {
			return err
		}
		for i := range row.Cells {
			c := &row.Cells[i]
			at := cell.Ref{Sheet: s.Entry.Name, Col: c.Col, Row: row.N}
			if row.N > len(n.Rows) || c.Col > len(n.Rows[row.N-1]) || !cellHolds(c, n.Rows[row.N-1][c.Col-1]) {
				return v.wrong(at.String(), "it holds %q, which was not to be written", c.Raw)
			}
			count++
		}
	}
	want := 0
	for _, row := range n.Rows {
		for _, value := range row {
			if !value.Blank() {
				want++
			}
		}
	}
	if count != want {
		return v.wrong(s.Entry.Name, "%d cells hold something, %d were to be written", count, want)
	}
	return nil
}

func cellHolds(c *grid.Cell, v grid.Value) bool {
	if c.Formula {
		return false
	}
	if v.IsNumber {
		return c.Kind == grid.Number && c.Num == v.Number
	}
	return c.Kind == grid.Text && string(c.Raw) == strings.ToValidUTF8(v.Text, "\uFFFD")
}

// parts compares the entries of the two archives.
func (v *verifier) parts() error {
	tables := map[string]bool{}
	for _, s := range v.was.List {
		if v.targets[s.Entry.Part] == nil {
			continue
		}
		list, err := s.Tables()
		if err != nil {
			return err
		}
		for _, t := range list {
			tables[t.Part] = true
		}
	}
	chain := ""
	rels, err := v.was.Pack.Rels(v.was.Wb.Part.Name)
	if err != nil {
		return err
	}
	for _, r := range rels {
		if r.Kind == "calcChain" && !r.External {
			chain = r.Target
		}
	}
	at := 0 // of the new entries
	news := v.is.Pack.Zip.File
	for _, f := range v.was.Pack.Zip.File {
		name, _ := opc.PartName(f.Name)
		old := v.was.Pack.Part(name)
		folder := old == nil || old.File != f
		if at < len(news) && news[at].Name == f.Name {
			at++
		} else if !folder && chain != "" && strings.EqualFold(name, chain) {
			if err := v.chain(old, nil); err != nil {
				return err
			}
			continue
		} else {
			return v.wrong(f.Name, "it is not in the place where it was in the archive")
		}
		g := news[at-1]
		if folder {
			continue
		}
		diff := sameRaw(f, g)
		if diff == nil {
			continue
		}
		now := v.is.Pack.Part(name)
		switch {
		case v.targets[old] != nil:
			err = v.sheet(old, now)
		case v.own[strings.ToLower(name)] != nil:
			err = v.wasOwn(old)
		case old == v.was.Wb.Styles:
			err = v.tree(old, now, styleRules)
		case old == v.was.Wb.Part:
			err = v.tree(old, now, workbookRules)
		case strings.EqualFold(name, opc.RelsName(v.was.Wb.Part.Name)), name == "[Content_Types].xml":
			err = v.tree(old, now, listRules)
		case tables[old.Name]:
			if err = v.tree(old, now, tableRules); err == nil {
				err = v.tableNames(old, now)
			}
		case chain != "" && strings.EqualFold(name, chain):
			err = v.chain(old, now)
		default:
			err = v.wrong(name, "%v", diff)
		}
		if err != nil {
			return err
		}
	}
	for _, g := range news[at:] {
		name, err := opc.PartName(g.Name)
		if err != nil {
			return err
		}
		if v.own[strings.ToLower(name)] == nil && (v.was.Wb.Styles != nil || v.is.Wb.Styles == nil || !strings.EqualFold(v.is.Wb.Styles.Name, name)) {
			return v.wrong(name, "the part is new and nobody asked for it")
		}
	}
	return nil
}

// wasOwn makes sure that a part which was rewritten as a sheet of ours was one.
func (v *verifier) wasOwn(old *opc.Part) error {
	for _, d := range v.was.Wb.Names {
		if _, _, ok := read.ParseMark(d.Text); ok && d.Name == read.NameOwn && d.Sheet >= 0 && d.Sheet < len(v.was.Wb.Sheets) && v.was.Wb.Sheets[d.Sheet].Part == old {
			return nil
		}
	}
	return v.wrong(old.Name, "a sheet that is not dropcut's was written over")
}

// sameRaw compares two entries as they lie in their archives.
func sameRaw(f, g *zip.File) error {
	a, b := f.FileHeader, g.FileHeader
	if a.Method != b.Method || a.CRC32 != b.CRC32 || a.CompressedSize64 != b.CompressedSize64 || a.UncompressedSize64 != b.UncompressedSize64 {
		return errors.New("its content is another one")
	}
	if !a.Modified.Equal(b.Modified) || a.ExternalAttrs != b.ExternalAttrs || a.CreatorVersion != b.CreatorVersion || a.Flags != b.Flags || a.Comment != b.Comment || !bytes.Equal(opc.WithoutZip64(a.Extra), opc.WithoutZip64(b.Extra)) {
		return errors.New("its time or attributes are others")
	}
	r, err := f.OpenRaw()
	if err != nil {
		return err
	}
	s, err := g.OpenRaw()
	if err != nil {
		return err
	}
	x, y := make([]byte, 64<<10), make([]byte, 64<<10)
	for {
		n, err := io.ReadFull(r, x)
		m, err2 := io.ReadFull(s, y)
		if n != m || !bytes.Equal(x[:n], y[:m]) {
			return errors.New("its packed bytes are others")
		}
		if err != nil || err2 != nil {
			if (err == io.EOF || err == io.ErrUnexpectedEOF) && (err2 == io.EOF || err2 == io.ErrUnexpectedEOF) {
				return nil
			}
			return errors.Join(err, err2)
		}
	}
}

// treeRules say in what two trees may differ.
type treeRules struct {
	// grow are elements that may get children behind those they have.
	grow []string
	// shrink are elements that may lose children for the calculation chain.
	shrink []string
	// insert are elements that may be new among the children of the root.
	insert []string
	// attrs are attributes that may differ, as element and name.
	attrs []string
	// texts are names (definedName) whose text may differ.
	texts []string
}

var (
	styleRules = treeRules{
		grow:   []string{"numFmts", "fonts", "fills", "borders", "cellXfs"},
		insert: []string{"numFmts", "fonts", "fills", "borders", "cellXfs"},
		attrs:  []string{"numFmts count", "fonts count", "fills count", "borders count", "cellXfs count"},
	}
	workbookRules = treeRules{
		grow:   []string{"sheets", "definedNames"},
		insert: []string{"definedNames", "calcPr"},
		attrs:  []string{"calcPr fullCalcOnLoad"},
		texts:  []string{parts.NameFilter, read.NameOwn, "_xlnm.Print_Titles"},
	}
	listRules  = treeRules{grow: []string{"Relationships", "Types"}, shrink: []string{"Relationships", "Types"}}
	tableRules = treeRules{
		grow:  []string{"tableColumns"},
		attrs: []string{"table ref", "autoFilter ref", "tableColumns count", "tableColumn name"},
	}
)

// tree compares two small parts by the second reader.
func (v *verifier) tree(old, now *opc.Part, rules treeRules) error {
	a, err := readTree(v.was.Pack, old)
	if err != nil {
		return err
	}
	b, err := readTree(v.is.Pack, now)
	if err != nil {
		return v.wrong(now.Name, "it cannot be read: %v", err)
	}
	if why := rules.compare(a, b, true); why != "" {
		return v.wrong(old.Name, "%s", why)
	}
	if prefix := b.undeclared(nil); prefix != "" && a.undeclared(nil) == "" {
		return v.wrong(old.Name, "the prefix %s is used and not declared", prefix)
	}
	return nil
}

// tableNames makes sure that a table's columns are named as before or as the
// edit names them.
func (v *verifier) tableNames(old, now *opc.Part) error {
	was, err := parts.ReadTable(v.was.Pack, old)
	if err != nil {
		return err
	}
	is, err := parts.ReadTable(v.is.Pack, now)
	if err != nil {
		return err
	}
	for i, name := range is.Columns {
		ours := slices.ContainsFunc(v.edit.Columns, func(c grid.Column) bool { return c.Heading == name })
		if !ours && (i >= len(was.Columns) || was.Columns[i] != name) {
			return v.wrong(old.Name, "a column is called %q", name)
		}
	}
	if is.Range.Col != was.Range.Col || is.Range.Row != was.Range.Row || is.Range.ToRow != was.Range.ToRow || is.Range.ToCol-is.Range.Col+1 != len(is.Columns) {
		return v.wrong(old.Name, "the table stood at %s and stands at %s", parts.RangeText(was.Range), parts.RangeText(is.Range))
	}
	return nil
}

func readTree(p *opc.Package, e *opc.Part) (*node, error) {
	r, err := p.OpenLimit(e, opc.SmallPartMax)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	return newXMLReader(r).tree()
}

// compare gives the first difference that the rules do not allow, "" for none.
func (t *treeRules) compare(a, b *node, root bool) string {
	if a.name != b.name {
		return fmt.Sprintf("<%s> became <%s>", a.name, b.name)
	}
	name := a.local()
	var names []string
	for _, list := range [][]string{keysOf(a), keysOf(b)} {
		for _, n := range list {
			if !slices.Contains(names, n) {
				names = append(names, n)
			}
		}
	}
	for _, n := range names {
		if x, y := a.attr(n), b.attr(n); (x != y || slices.Contains(keysOf(a), n) != slices.Contains(keysOf(b), n)) && !slices.Contains(t.attrs, name+" "+n) {
			return fmt.Sprintf("%s of <%s> was %q and is %q", n, name, x, y)
		}
	}
	if strings.TrimSpace(a.text) != strings.TrimSpace(b.text) && (name != "definedName" || !slices.Contains(t.texts, a.attr("name"))) {
		return fmt.Sprintf("<%s> %s held %q and holds %q", name, a.attr("name"), a.text, b.text)
	}
	k := 0
	for _, kid := range a.kids {
		for root && k < len(b.kids) && b.kids[k].name != kid.name && slices.Contains(t.insert, b.kids[k].local()) {
			k++
		}
		if slices.Contains(t.shrink, name) && strings.Contains(kid.String(), "calcChain") && (k == len(b.kids) || b.kids[k].String() != kid.String()) {
			continue
		}
		if k == len(b.kids) {
			return fmt.Sprintf("<%s> of <%s> is missing", kid.name, name)
		}
		if why := t.compare(kid, b.kids[k], false); why != "" {
			return why
		}
		k++
	}
	for _, kid := range b.kids[k:] {
		if !slices.Contains(t.grow, name) && (!root || !slices.Contains(t.insert, kid.local())) {
			return fmt.Sprintf("<%s> of <%s> is new", kid.name, name)
		}
	}
	return ""
}

func keysOf(n *node) []string {
	var list []string
	for _, a := range n.attrs {
		list = append(list, rawName(a.Name))
	}
	return list
}

// chain makes sure that only entries of overwritten cells left the calculation
// chain; now is nil where the whole part did.
func (v *verifier) chain(old, now *opc.Part) error {
	before, err := chainOf(v.was.Pack, old)
	if err != nil {
		return err
	}
	var after []string
	if now != nil {
		if after, err = chainOf(v.is.Pack, now); err != nil {
			return err
		}
	}
	gone := map[string]bool{}
	for e, list := range v.targets {
		for _, s := range v.was.List {
			if s.Entry.Part != e {
				continue
			}
			list.all(func(row, col int, _ *grid.Value) {
				gone[strconv.Itoa(s.Entry.ID)+" "+cell.Ref{Col: col, Row: row}.A1()] = true
			})
		}
	}
	k := 0
	for _, entry := range before {
		if k < len(after) && after[k] == entry {
			k++
			continue
		}
		if !gone[entry] {
			return v.wrong(old.Name, "the entry %q is missing", entry)
		}
	}
	if k < len(after) {
		return v.wrong(old.Name, "the entry %q is new", after[k])
	}
	return nil
}

func chainOf(p *opc.Package, e *opc.Part) ([]string, error) {
	t, err := readTree(p, e)
	if err != nil {
		return nil, err
	}
	var list []string
	sheet := "0"
	for _, k := range t.kids {
		if i := k.attr("i"); i != "" {
			sheet = i
		}
		list = append(list, sheet+" "+k.attr("r"))
	}
	return list, nil
}

// sheet compares a sheet that got columns by the second reader, row by row: the
// quick way where that proves it, else the slow one, which finds the fault.
func (v *verifier) sheet(old, now *opc.Part) error {
	if same, err := v.plainRows(old, now); same || err != nil {
		return err
	}
	return v.slowRows(old, now)
}

func (v *verifier) slowRows(old, now *opc.Part) error {
	a, err := v.was.Pack.Open(old)
	if err != nil {
		return err
	}
	defer a.Close()
	b, err := v.is.Pack.Open(now)
	if err != nil {
		return err
	}
	defer b.Close()
	was, is := &sheetReader{xmlReader: *newXMLReader(a)}, &sheetReader{xmlReader: *newXMLReader(b)}
	x, err := was.head()
	if err != nil {
		return fmt.Errorf("%s: the part %s cannot be read a second time: %w", v.was.Name(), old.Name, err)
	}
	y, err := is.head()
	if err != nil {
		return v.wrong(old.Name, "it cannot be read: %v", err)
	}
	if was.root+was.attrs != is.root+is.attrs || was.rows != is.rows {
		return v.wrong(old.Name, "its root element is another one")
	}
	if err := v.around(old, x, y); err != nil {
		return err
	}
	if err := v.rows(old, was, is); err != nil {
		return err
	}
	if x, err = was.tail(); err != nil {
		return err
	}
	if y, err = is.tail(); err != nil {
		return v.wrong(old.Name, "it cannot be read: %v", err)
	}
	return v.around(old, x, y)
}

// sheetRules are for what stands around the rows; columns have rules of their own.
var sheetRules = treeRules{attrs: []string{"dimension ref", "autoFilter ref", "sortState ref"}}

// around compares what stands before or behind the rows.
func (v *verifier) around(old *opc.Part, a, b []*node) error {
	a, wasCols := splitCols(a)
	b, isCols := splitCols(b)
	if len(a) != len(b) {
		return v.wrong(old.Name, "%d settings of the sheet became %d", len(a), len(b))
	}
	for i := range a {
		if why := sheetRules.compare(a[i], b[i], false); why != "" {
			return v.wrong(old.Name, "%s", why)
		}
	}
	for col := 1; col <= parts.MaxCol; col++ {
		if x, y := wasCols[col], isCols[col]; x != y && !v.targets[old].has(col) {
			return v.wrong(old.Name, "the settings of column %s were %q and are %q", cell.ColumnName(col), x, y)
		}
	}
	return nil
}

// splitCols takes the cols element out and gives each column's settings.
func splitCols(list []*node) ([]*node, map[int]string) {
	var rest []*node
	cols := map[int]string{}
	for _, n := range list {
		if n.local() != "cols" {
			rest = append(rest, n)
			continue
		}
		for _, c := range n.kids {
			from, _ := strconv.Atoi(c.attr("min"))
			to, _ := strconv.Atoi(c.attr("max"))
			attrs := slices.DeleteFunc(slices.Clone(c.attrs), func(a xml.Attr) bool { return a.Name.Local == "min" || a.Name.Local == "max" })
			text := attrsText(attrs, "")
			for col := max(from, 1); col <= min(to, parts.MaxCol); col++ {
				cols[col] = text
			}
		}
	}
	return rest, cols
}

// rows compares the rows of a sheet: the old cells as they were, the new ones
// where they belong.
func (v *verifier) rows(old *opc.Part, was, is *sheetReader) error {
	targets := v.targets[old].walk()
	a, err := was.row()
	if err != nil {
		return fmt.Errorf("%s: the part %s cannot be read a second time: %w", v.was.Name(), old.Name, err)
	}
	for {
		b, err := is.row()
		if err != nil {
			return v.wrong(old.Name, "it cannot be read: %v", err)
		}
		if b == nil {
			break
		}
		var before []sheetCell
		done := false
		switch {
		case a != nil && a.n == b.n:
			if a.attrs != b.attrs {
				return v.wrong(old.Name, "row %d was %s and is %s", a.n, a.attrs, b.attrs)
			}
			before, done = a.cells, true
		case a != nil && a.n < b.n:
			return v.wrong(old.Name, "row %d is missing", a.n)
		}
		k := 0
		for i := range b.cells {
			c := &b.cells[i]
			at := cell.Ref{Col: c.col, Row: b.n}.A1()
			want := targets.find(b.n, c.col)
			for k < len(before) && before[k].col < c.col {
				return v.wrong(old.Name, "cell %s is missing", cell.Ref{Col: before[k].col, Row: b.n}.A1())
			}
			there := k < len(before) && before[k].col == c.col
			switch {
			case there && before[k].text == c.text:
			case want == nil && there:
				return v.wrong(old.Name, "cell %s was %s and is %s", at, before[k].text, c.text)
			case want == nil:
				return v.wrong(old.Name, "cell %s is new", at)
			default:
				number, num, text, err := c.value()
				if err != nil || number != want.IsNumber || (number && num != want.Number) || text != strings.ToValidUTF8(want.Text, "\uFFFD") && !number {
					return v.wrong(old.Name, "cell %s is %s, which was not to be written", at, c.text)
				}
			}
			if there {
				k++
			}
		}
		if k < len(before) {
			return v.wrong(old.Name, "cell %s is missing", cell.Ref{Col: before[k].col, Row: b.n}.A1())
		}
		if done {
			if a, err = was.row(); err != nil {
				return fmt.Errorf("%s: the part %s cannot be read a second time: %w", v.was.Name(), old.Name, err)
			}
		}
	}
	if a != nil {
		return v.wrong(old.Name, "row %d is missing", a.n)
	}
	return nil
}

// scanned compares a sheet that got columns by the scanner, as later runs will
// read it, both books in step, and holds every cell of the edit against its
// value.
func (v *verifier) scanned(was *read.Sheet) error {
	is := v.is.Sheet(was.Entry.Name)
	if is == nil {
		return v.wrong("the list of sheets", "the sheet %q is missing", was.Entry.Name)
	}
	targets := v.targets[was.Entry.Part]
	a := &oldCells{v: v, targets: targets.walk()}
	b := &oldCells{v: v, targets: targets.walk(), held: true, sheet: was.Entry.Name}
	var stop, stop2 func()
	a.next, stop = iter.Pull2(was.Rows())
	defer stop()
	b.next, stop2 = iter.Pull2(is.Rows())
	defer stop2()
	for {
		x, err := a.row()
		if err != nil {
			return err
		}
		y, err := b.row()
		if err != nil {
			return err
		}
		if x == nil && y == nil {
			break
		}
		if x == nil || y == nil || x.N != y.N || x.Hidden != y.Hidden || !slices.EqualFunc(a.cells, b.cells, sameCell) {
			row := 0
			switch {
			case x == nil || y != nil && y.N < x.N:
				row = y.N
			default:
				row = x.N
			}
			return v.wrong(was.Entry.Name, "the old cells of row %d are read in another way", row)
		}
	}
	if b.seen == targets.full {
		return nil
	}
	return v.empty(was.Entry.Part, is)
}

// empty names the first cell of the edit that holds nothing.
func (v *verifier) empty(old *opc.Part, is *read.Sheet) error {
	there := map[[2]int]bool{}
	for row, err := range is.Rows() {
		if err != nil {
			return err
		}
		for i := range row.Cells {
			there[[2]int{row.N, row.Cells[i].Col}] = true
		}
	}
	var first [2]int
	v.targets[old].all(func(row, col int, want *grid.Value) {
		at := [2]int{row, col}
		if !want.Blank() && !there[at] && (first[0] == 0 || slices.Compare(at[:], first[:]) < 0) {
			first = at
		}
	})
	return v.wrong(cell.Ref{Sheet: is.Entry.Name, Col: first[1], Row: first[0]}.String(), "it holds nothing, and was to be written")
}

// oldCells gives the rows of a sheet with the cells that are not the edit's, and
// passes over rows that have none.
type oldCells struct {
	v       *verifier
	targets *targetWalk
	sheet   string
	next    func() (*grid.Row, error, bool)
	cells   []grid.Cell
	held    bool // hold the cells of the edit against their values
	seen    int  // of those
}

// row gives the next of them, nil behind the last one; it is valid until the next.
func (o *oldCells) row() (*grid.Row, error) {
	for {
		row, err, ok := o.next()
		if !ok {
			return nil, nil
		}
		if err != nil && o.held {
			return nil, o.v.wrong(o.sheet, "it cannot be read: %v", err)
		}
		if err != nil {
			return nil, err
		}
		o.cells = o.cells[:0]
		for i := range row.Cells {
			c := &row.Cells[i]
			if want := o.targets.find(row.N, c.Col); want != nil {
				if o.held {
					if want.Blank() || !cellHolds(c, *want) {
						return nil, o.v.wrong(cell.Ref{Sheet: o.sheet, Col: c.Col, Row: row.N}.String(), "it holds %q, which was not to be written", c.Raw)
					}
					o.seen++
				}
				continue
			}
			o.cells = append(o.cells, *c)
		}
		if len(o.cells) > 0 {
			return row, nil
		}
	}
}

// sameCell reports whether two cells are read alike.
func sameCell(a, b grid.Cell) bool {
	return a.Col == b.Col && a.Kind == b.Kind && a.Formula == b.Formula && a.Style == b.Style && bytes.Equal(a.Raw, b.Raw)
}
