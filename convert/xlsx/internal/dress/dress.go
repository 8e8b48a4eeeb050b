// Package dress adds cell formats to a book's own: dropcut's number formats and
// marks in the look of the neighbouring cells.
package dress

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"dropcut/convert/grid"
	"dropcut/convert/xlsx/internal/lex"
	"dropcut/convert/xlsx/internal/opc"
	"dropcut/convert/xlsx/internal/splice"
)

// The number formats of dropcut's columns. Decimals that stand are shown up to
// where a tape or a dip stick ends, so that no rounded figure crosses a limit on
// the screen: 94.996 is not shown as 95.00.
const (
	codeLength  = "0.00##"
	codeVolume  = "#,##0.0##"
	codePercent = "0.00####"
)

// The dress of states and of dropcut's own sheets. A state is told by its word
// in the cell, and seen without colour by its form: stop is bold in a thick
// box, check is italic on a hatch, a note has a dashed line below it. The tints
// are light, so that they print as near white under black letters.
const (
	fillStop    = `<fill><patternFill patternType="solid"><fgColor rgb="FFFBE3D6"/><bgColor indexed="64"/></patternFill></fill>`
	fillCheck   = `<fill><patternFill patternType="lightUp"><fgColor rgb="FFC9B458"/><bgColor rgb="FFFFFFFF"/></patternFill></fill>`
	fillHeading = `<fill><patternFill patternType="solid"><fgColor rgb="FFE4E9EE"/><bgColor indexed="64"/></patternFill></fill>`
	borderStop  = `<border><left style="thick"><color auto="1"/></left><right style="thick"><color auto="1"/></right><top style="thick"><color auto="1"/></top><bottom style="thick"><color auto="1"/></bottom><diagonal/></border>`
	borderNote  = `<border><left/><right/><top/><bottom style="mediumDashed"><color auto="1"/></bottom><diagonal/></border>`
	borderHead  = `<border><left/><right/><top/><bottom style="medium"><color auto="1"/></bottom><diagonal/></border>`
)

// styleSections are the children of a styles part in the order that the schema
// asks for (CT_Stylesheet, ECMA-376 Part 1, 18.8.39).
var styleSections = [...]string{"numFmts", "fonts", "fills", "borders", "cellStyleXfs", "cellXfs", "cellStyles", "dxfs", "tableStyles", "colors", "extLst"}

const (
	secNumFmts = 0
	secFonts   = 1
	secFills   = 2
	secBorders = 3
	secXfs     = 5
)

// emptyStyles is the least styles part that office programs take.
const emptyStyles = `<?xml version="1.0" encoding="UTF-8" standalone="yes"?>
<styleSheet xmlns="%s"><fonts count="1"><font><sz val="11"/><name val="Calibri"/><family val="2"/></font></fonts><fills count="2"><fill><patternFill patternType="none"/></fill><fill><patternFill patternType="gray125"/></fill></fills><borders count="1"><border><left/><right/><top/><bottom/><diagonal/></border></borders><cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs><cellXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/></cellXfs><cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles></styleSheet>`

// What stands in a list that the part leaves out, so that index 0 stays what
// every cell without a style shows.
var styleDefaults = [...]string{
	secFonts:   `<font><sz val="11"/><name val="Calibri"/><family val="2"/></font>`,
	secFills:   `<fill><patternFill patternType="none"/></fill><fill><patternFill patternType="gray125"/></fill>`,
	secBorders: `<border><left/><right/><top/><bottom/><diagonal/></border>`,
	secXfs:     `<xf numFmtId="0" fontId="0" fillId="0" borderId="0"/>`,
}

// Styles is a styles part with formats added behind its own. Nothing that
// was there moves or changes.
type Styles struct {
	part     []byte
	prefix   string // of the elements: "" or "x:"
	secs     [len(styleSections)]styleSection
	rootOpen int64 // where the root's start tag ends
	rootEnd  int64 // where its end tag begins
	Codes    map[int]string
	nextCode int
	Xfs      []Xf
	stop     int // ids of our own fills and borders in the part, -1 when not there yet
	check    int
	noteLine int
	cache    map[dressKey]int
	byXf     map[Xf]int // the first of equal ones; nil until asked for
}

// styleSection is a list of the part, as far as a patch needs it.
type styleSection struct {
	there       bool
	closed      bool // <fonts/>
	start, stop int64
	open, end   int64 // behind its start tag, before its end tag
	count       [2]int64
	counted     bool
	items       []string // canonical; formats of numbers and xfs are kept elsewhere
	raw         [][2]int64
	n           int
	added       []string
}

// Xf is a cell format (CT_Xf, 18.8.45).
type Xf struct {
	NumFmt, Font, Fill, Border int
	style                      int // xfId, -1 where none is given
	Align, protect             string
	apply                      string // the apply... attributes that are on, in order
	quote                      bool
}

type dressKey struct {
	left, left2 int
	look        grid.Look
}

// New reads a styles part; nil makes a new one.
func New(p *opc.Package, e *opc.Part, strict bool) (*Styles, error) {
	s := &Styles{Codes: map[int]string{}, nextCode: 164, stop: -1, check: -1, noteLine: -1, cache: map[dressKey]int{}}
	name, ns := "xl/styles.xml", lex.NsMain
	if strict {
		ns = lex.NsStrict
	}
	if e == nil {
		s.part = fmt.Appendf(nil, emptyStyles, ns)
	} else {
		var err error
		name = e.Name
		if s.part, err = p.Read(e, opc.SmallPartMax); err != nil {
			return nil, err
		}
	}
	if err := s.read(name); err != nil {
		return nil, p.Blame(err)
	}
	s.stop, s.check = s.find(secFills, fillStop), s.find(secFills, fillCheck)
	s.noteLine = s.find(secBorders, borderNote)
	return s, nil
}

func (s *Styles) read(name string) error {
	x := lex.New(bytes.NewReader(s.part), name)
	if err := x.Root("styleSheet"); err != nil {
		return err
	}
	s.prefix = lex.PrefixOf(x)
	s.rootOpen = x.Stop()
	if x.Closed() {
		// <styleSheet/> has to be opened, as lists are put into it.
		s.part = slices.Concat(s.part[:x.Stop()-2], []byte("></"), x.FullName(), []byte(">"), s.part[x.Stop():])
		return s.read(name)
	}
	for {
		tok, err := x.Next()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		if tok == lex.TokEnd && x.Depth() == 0 {
			s.rootEnd = x.Start()
		}
		if tok != lex.TokStart {
			continue
		}
		i := slices.Index(styleSections[:], string(x.Name()))
		if i < 0 || !x.Ours {
			if err := x.Skip(); err != nil {
				return err
			}
			continue
		}
		if s.secs[i].there {
			return x.Fail(x.From, "<%s> stands twice among the cell formats", x.Name())
		}
		if err := s.section(x, i); err != nil {
			return err
		}
	}
}

func (s *Styles) section(x *lex.Lexer, i int) error {
	sec := &s.secs[i]
	sec.there, sec.closed = true, x.Closed()
	sec.start, sec.open = x.Start(), x.Stop()
	if from, to, ok := x.AttrSpan("count"); ok {
		sec.count, sec.counted = [2]int64{from, to}, true
	}
	for depth := x.Depth() - 1; x.Depth() > depth; {
		tok, err := x.Next()
		if err != nil {
			return err
		}
		if tok == lex.TokEnd {
			sec.end, sec.stop = x.Start(), x.Stop()
		}
		if tok != lex.TokStart {
			continue
		}
		from := x.Start()
		switch i {
		case secNumFmts:
			if id, ok := lex.Index(x.Attr("numFmtId")); ok {
				s.Codes[id] = string(lex.DecodeEscapes([]byte(string(x.Attr("formatCode")))))
				s.nextCode = max(s.nextCode, id+1)
			}
			err = x.Skip()
		case secXfs:
			var f Xf
			if f, err = readXf(x); err == nil {
				s.Xfs = append(s.Xfs, f)
			}
		case secFonts, secFills, secBorders:
			var text string
			if text, err = canonical(x); err == nil {
				sec.items = append(sec.items, text)
				sec.raw = append(sec.raw, [2]int64{from, x.Stop()})
			}
		default:
			err = x.Skip()
		}
		if err != nil {
			return err
		}
		sec.n++
	}
	return nil
}

// canonical gives the element in hand without prefixes, blanks between its
// parts and the order of its attributes, and moves to its end.
func canonical(x *lex.Lexer) (string, error) {
	var b strings.Builder
	canonicalTag(&b, x)
	for depth := x.Depth() - 1; x.Depth() > depth; {
		tok, err := x.Next()
		if err != nil {
			return "", err
		}
		switch tok {
		case lex.TokStart:
			canonicalTag(&b, x)
		case lex.TokEnd:
			b.WriteString("/")
		case lex.TokText:
			b.Write(bytes.TrimSpace(x.Text()))
		}
	}
	return b.String(), nil
}

func canonicalTag(b *strings.Builder, x *lex.Lexer) {
	b.WriteByte('<')
	b.Write(x.Name())
	attrs := make([]string, 0, 4)
	for i := range x.Attrs {
		a := &x.Attrs[i]
		attrs = append(attrs, fmt.Sprintf(" %s=%q", x.Buf[a.NameFrom:a.NameTo], x.Value(a)))
	}
	slices.Sort(attrs)
	for _, a := range attrs {
		b.WriteString(a)
	}
}

// canonicalText is canonical for an element of our own.
func canonicalText(element string) string {
	x := lex.New(strings.NewReader(element), "")
	if _, err := x.Next(); err != nil {
		return ""
	}
	text, _ := canonical(x)
	return text
}

func readXf(x *lex.Lexer) (Xf, error) {
	f := Xf{style: -1}
	var apply []string
	for i := range x.Attrs {
		a := &x.Attrs[i]
		name, v := string(x.Buf[a.NameFrom:a.NameTo]), x.Buf[a.From:a.To]
		n, _ := lex.Index(v)
		switch name {
		case "numFmtId":
			f.NumFmt = n
		case "fontId":
			f.Font = n
		case "fillId":
			f.Fill = n
		case "borderId":
			f.Border = n
		case "xfId":
			f.style = n
		case "quotePrefix":
			f.quote = lex.Truth(v)
		default:
			if strings.HasPrefix(name, "apply") && lex.Truth(v) {
				apply = append(apply, name)
			}
		}
	}
	slices.Sort(apply)
	f.apply = strings.Join(apply, " ")
	for depth := x.Depth() - 1; x.Depth() > depth; {
		tok, err := x.Next()
		if err != nil {
			return f, err
		}
		if tok != lex.TokStart {
			continue
		}
		switch {
		case x.Is("alignment"):
			f.Align = lex.AttrsOf(x)
		case x.Is("protection"):
			f.protect = lex.AttrsOf(x)
		}
		if err := x.Skip(); err != nil {
			return f, err
		}
	}
	return f, nil
}

// find looks for an element in a list; -1 where it is not there.
func (s *Styles) find(sec int, element string) int {
	return slices.Index(s.secs[sec].items, canonicalText(element))
}

// add gives the index of an element in a list and appends it where needed.
// Elements are written without a prefix here.
func (s *Styles) add(sec int, element string) int {
	text := canonicalText(element)
	if i := slices.Index(s.secs[sec].items, text); i >= 0 {
		return i
	}
	l := &s.secs[sec]
	if !l.there && len(l.added) == 0 {
		s.seed(sec)
	}
	l.items = append(l.items, text)
	l.added = append(l.added, s.prefixed(element))
	l.n++
	return len(l.items) - 1
}

// seed puts the defaults into a list that the part leaves out.
func (s *Styles) seed(sec int) {
	l := &s.secs[sec]
	l.added = append(l.added, s.prefixed(styleDefaults[sec]))
	l.n = 1
	l.items = append(l.items, canonicalText(styleDefaults[sec]))
	if sec == secFills {
		l.n = 2
		l.items = append(l.items, canonicalText(`<fill><patternFill patternType="gray125"/></fill>`))
	}
}

func (s *Styles) prefixed(element string) string {
	if s.prefix == "" {
		return element
	}
	element = strings.ReplaceAll(element, "</", "\x00")
	element = strings.ReplaceAll(element, "<", "<"+s.prefix)
	return strings.ReplaceAll(element, "\x00", "</"+s.prefix)
}

// code gives the id of a number format and adds it where needed.
func (s *Styles) code(format string) int {
	if format == "" {
		return 0
	}
	best := -1
	for id, c := range s.Codes {
		if c == format && (best < 0 || id < best) {
			best = id
		}
	}
	if best >= 0 {
		return best
	}
	id := s.nextCode
	s.nextCode++
	s.Codes[id] = format
	l := &s.secs[secNumFmts]
	l.added = append(l.added, fmt.Sprintf(`<%snumFmt numFmtId="%d" formatCode="%s"/>`, s.prefix, id, lex.EscapeXML(nil, format)))
	l.n++
	return id
}

func lookCode(look grid.Look) string {
	switch look {
	case grid.LookLength:
		return codeLength
	case grid.LookVolume:
		return codeVolume
	case grid.LookPercent:
		return codePercent
	}
	return ""
}

// state is what a look tells by its form.
func lookState(look grid.Look) grid.Look {
	switch look {
	case grid.LookStop, grid.LookCheck, grid.LookNote:
		return look
	}
	return grid.LookPlain
}

// Fits reports whether a cell of ours may keep its format under a look: it is
// then the user who has changed a font or a tint, which is theirs to do.
func (s *Styles) Fits(i int, look grid.Look) bool {
	if i < 0 || i >= len(s.Xfs) {
		return false
	}
	f := s.Xfs[i]
	state := grid.LookPlain
	switch {
	case f.Fill == s.stop:
		state = grid.LookStop
	case f.Fill == s.check:
		state = grid.LookCheck
	case f.Border == s.noteLine:
		state = grid.LookNote
	}
	if state != lookState(look) {
		return false
	}
	if code := lookCode(look); code != "" {
		return s.Codes[f.NumFmt] == code
	}
	return f.NumFmt == 0
}

// Dress gives the format of a cell of ours that stands right of two cells with
// the formats left and left2; -1 where there is none. Font and fill are taken
// where both neighbours agree, so that a striped table stays striped and one
// marked cell does not mark ours; the border is the neighbour's.
func (s *Styles) Dress(left, left2 int, look grid.Look) int {
	key := dressKey{left, left2, look}
	if i, ok := s.cache[key]; ok {
		return i
	}
	f := Xf{style: -1}
	if s.secs[4].n > 0 {
		f.style = 0
	}
	if base, ok := s.xf(left); ok {
		f = Xf{Font: base.Font, Fill: base.Fill, Border: base.Border, style: base.style, Align: base.Align, protect: base.protect}
		if other, ok := s.xf(left2); ok && look != grid.LookHeading {
			if other.Fill != base.Fill {
				f.Fill = 0
			}
			if other.Font != base.Font {
				f.Font = 0
			}
		}
	}
	vertical := ""
	for _, a := range strings.Split(f.Align, " ") {
		if v, ok := strings.CutPrefix(a, `vertical="`); ok {
			vertical = strings.TrimSuffix(v, `"`)
		}
	}
	if look != grid.LookHeading {
		f.Align = lex.WithAttr("", "vertical", vertical)
	}
	switch look {
	case grid.LookLength, grid.LookVolume, grid.LookPercent:
		f.Align = lex.WithAttr(f.Align, "horizontal", "right")
	case grid.LookText:
		f.Align = lex.WithAttr(lex.WithAttr(f.Align, "horizontal", "left"), "wrapText", "1")
	case grid.LookHeading:
		f.Align = lex.WithAttr(f.Align, "wrapText", "1")
	}
	f.NumFmt = s.code(lookCode(look))
	s.mark(&f, look)
	i := -1
	if base, ok := s.xf(max(left, 0)); ok {
		// A neighbour that is dressed as wanted already is taken as it is.
		if base.apply = ""; base == f {
			i = max(left, 0)
		}
	}
	if i < 0 || i >= len(s.Xfs) {
		i = s.addXf(f)
	}
	s.cache[key] = i
	return i
}

// mark gives a format the form of its state.
func (s *Styles) mark(f *Xf, look grid.Look) {
	switch look {
	case grid.LookStop:
		s.stop = s.add(secFills, fillStop)
		f.Fill, f.Border, f.Font = s.stop, s.add(secBorders, borderStop), s.font(f.Font, "b", 0)
	case grid.LookCheck:
		s.check = s.add(secFills, fillCheck)
		f.Fill, f.Font = s.check, s.font(f.Font, "i", 0)
	case grid.LookNote:
		s.noteLine = s.add(secBorders, borderNote)
		f.Border = s.noteLine
	}
}

// Own gives a format of dropcut's own sheets.
func (s *Styles) Own(look grid.Look) int {
	key := dressKey{-2, -2, look}
	if i, ok := s.cache[key]; ok {
		return i
	}
	f := Xf{style: -1, Align: `vertical="top"`, NumFmt: s.code(lookCode(look))}
	if s.secs[4].n > 0 {
		f.style = 0
	}
	switch look {
	case grid.LookHeading:
		f.Font, f.Fill, f.Border = s.font(0, "b", 0), s.add(secFills, fillHeading), s.add(secBorders, borderHead)
		f.Align = `vertical="center" wrapText="1"`
	case grid.LookTitle:
		f.Font = s.font(0, "b", 14)
	case grid.LookText:
		f.Align = `horizontal="left" vertical="top" wrapText="1"`
	case grid.LookLength, grid.LookVolume, grid.LookPercent:
		f.Align = `horizontal="right" vertical="top"`
	}
	s.mark(&f, look)
	i := s.addXf(f)
	s.cache[key] = i
	return i
}

func (s *Styles) xf(i int) (Xf, bool) {
	if i < 0 {
		return Xf{}, false
	}
	if i >= len(s.Xfs) {
		i = 0
	}
	if len(s.Xfs) == 0 {
		return Xf{}, false
	}
	return s.Xfs[i], true
}

// font gives the id of a font like another one, bold or italic, in a size of
// its own unless that is 0.
func (s *Styles) font(id int, how string, size int) int {
	sec := &s.secs[secFonts]
	if !sec.there && len(sec.added) == 0 {
		s.seed(secFonts)
	}
	raw := styleDefaults[secFonts]
	if id < len(sec.raw) {
		raw = string(s.part[sec.raw[id][0]:sec.raw[id][1]])
		if s.prefix != "" {
			raw = strings.ReplaceAll(strings.ReplaceAll(raw, "</"+s.prefix, "</"), "<"+s.prefix, "<")
		}
	}
	x := lex.New(strings.NewReader(raw), "")
	var out strings.Builder
	if _, err := x.Next(); err != nil {
		return id
	}
	out.WriteString("<font>")
	if how == "b" {
		out.WriteString("<b/>")
	}
	var rest strings.Builder
	for {
		tok, err := x.Next()
		if err != nil || (tok == lex.TokEnd && x.Depth() == 0) {
			break
		}
		if tok != lex.TokStart {
			continue
		}
		name := string(x.Name())
		var piece strings.Builder
		piece.Write(x.Raw())
		for depth := x.Depth() - 1; x.Depth() > depth; {
			if _, err := x.Next(); err != nil {
				return id
			}
			piece.Write(x.Raw())
		}
		switch {
		case name == how, name == "sz" && size > 0:
		case name == "b":
			out.WriteString(piece.String())
		default:
			rest.WriteString(piece.String())
		}
	}
	if how == "i" {
		out.WriteString("<i/>")
	}
	if size > 0 {
		out.WriteString(`<sz val="` + strconv.Itoa(size) + `"/>`)
	}
	out.WriteString(rest.String() + "</font>")
	return s.add(secFonts, out.String())
}

// addXf gives the index of a format and appends it where needed.
func (s *Styles) addXf(f Xf) int {
	apply := []string{"applyBorder", "applyFill", "applyFont", "applyNumberFormat"}
	if f.Align != "" {
		apply = append(apply, "applyAlignment")
	}
	if f.protect != "" {
		apply = append(apply, "applyProtection")
	}
	slices.Sort(apply)
	f.apply = strings.Join(apply, " ")
	if s.byXf == nil {
		s.byXf = make(map[Xf]int, len(s.Xfs))
		for i, f := range slices.Backward(s.Xfs) {
			s.byXf[f] = i
		}
	}
	if i, ok := s.byXf[f]; ok {
		return i
	}
	l := &s.secs[secXfs]
	if !l.there && len(l.added) == 0 {
		l.added = append(l.added, s.prefixed(styleDefaults[secXfs]))
		l.n = 1
		s.Xfs = append(s.Xfs, Xf{style: -1})
	}
	b := fmt.Appendf(nil, `<xf numFmtId="%d" fontId="%d" fillId="%d" borderId="%d"`, f.NumFmt, f.Font, f.Fill, f.Border)
	if f.style >= 0 {
		b = fmt.Appendf(b, ` xfId="%d"`, f.style)
	}
	for _, a := range apply {
		b = fmt.Appendf(b, ` %s="1"`, a)
	}
	if f.Align == "" && f.protect == "" {
		b = append(b, "/>"...)
	} else {
		b = append(b, '>')
		if f.Align != "" {
			b = fmt.Appendf(b, "<alignment %s/>", f.Align)
		}
		if f.protect != "" {
			b = fmt.Appendf(b, "<protection %s/>", f.protect)
		}
		b = append(b, "</xf>"...)
	}
	l.added = append(l.added, s.prefixed(string(b)))
	l.n++
	s.byXf[f] = len(s.Xfs)
	s.Xfs = append(s.Xfs, f)
	return len(s.Xfs) - 1
}

// Changed reports whether something was added.
func (s *Styles) Changed() bool {
	for i := range s.secs {
		if len(s.secs[i].added) > 0 {
			return true
		}
	}
	return false
}

// The number of cell formats that a book may have (Excel specifications and
// limits, "Unique cell formats/cell styles": 65,490).
const xfsMax = 65490

// Bytes gives the part with what was added.
func (s *Styles) Bytes() ([]byte, error) {
	if len(s.Xfs) > xfsMax {
		return nil, fmt.Errorf("the book would have %d cell formats, at most %d were expected; delete unused formats and save it", len(s.Xfs), xfsMax)
	}
	var change splice.List
	for i := range s.secs {
		sec := &s.secs[i]
		if len(sec.added) == 0 {
			continue
		}
		name := s.prefix + styleSections[i]
		items := strings.Join(sec.added, "")
		list := fmt.Sprintf(`<%s count="%d">%s</%s>`, name, sec.n, items, name)
		switch {
		case !sec.there:
			at := s.rootEnd
			for _, later := range s.secs[i+1:] {
				if later.there {
					at = min(at, later.start)
				}
			}
			change.Put(at, at, list)
		case sec.closed:
			change.Put(sec.start, sec.stop, list)
		default:
			if sec.counted {
				change.Put(sec.count[0], sec.count[1], strconv.Itoa(sec.n))
			}
			change.Put(sec.end, sec.end, items)
		}
	}
	return change.Apply(s.part)
}
