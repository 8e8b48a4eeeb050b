package xlsx

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"dropcut/convert/grid"
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

// stylePatch is a styles part with formats added behind its own. Nothing that
// was there moves or changes.
type stylePatch struct {
	part     []byte
	prefix   string // of the elements: "" or "x:"
	secs     [len(styleSections)]styleSection
	rootOpen int64 // where the root's start tag ends
	rootEnd  int64 // where its end tag begins
	codes    map[int]string
	nextCode int
	xfs      []xf
	stop     int // ids of our own fills and borders in the part, -1 when not there yet
	check    int
	noteLine int
	cache    map[dressKey]int
	byXf     map[xf]int // the first of equal ones; nil until asked for
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

// xf is a cell format (CT_Xf, 18.8.45).
type xf struct {
	numFmt, font, fill, border int
	style                      int // xfId, -1 where none is given
	align, protect             string
	apply                      string // the apply... attributes that are on, in order
	quote                      bool
}

type dressKey struct {
	left, left2 int
	look        grid.Look
}

// newStylePatch reads a styles part; nil makes a new one.
func newStylePatch(p *pack, e *part, strict bool) (*stylePatch, error) {
	s := &stylePatch{codes: map[int]string{}, nextCode: 164, stop: -1, check: -1, noteLine: -1, cache: map[dressKey]int{}}
	name, ns := "xl/styles.xml", nsMain
	if strict {
		ns = nsStrict
	}
	if e == nil {
		s.part = fmt.Appendf(nil, emptyStyles, ns)
	} else {
		var err error
		name = e.name
		if s.part, err = p.read(e, smallPartMax); err != nil {
			return nil, err
		}
	}
	if err := s.read(newLexer(bytes.NewReader(s.part), name)); err != nil {
		return nil, p.blame(err)
	}
	s.stop, s.check = s.find(secFills, fillStop), s.find(secFills, fillCheck)
	s.noteLine = s.find(secBorders, borderNote)
	return s, nil
}

func (s *stylePatch) read(x *lexer) error {
	if err := x.root("styleSheet"); err != nil {
		return err
	}
	s.prefix = prefixOf(x)
	s.rootOpen = x.stop()
	if x.closed() {
		return x.fail(x.from, "the cell formats are empty")
	}
	for {
		tok, err := x.next()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		if tok == tokEnd && x.depth() == 0 {
			s.rootEnd = x.start()
		}
		if tok != tokStart {
			continue
		}
		i := slices.Index(styleSections[:], string(x.name()))
		if i < 0 || !x.ours {
			if err := x.skip(); err != nil {
				return err
			}
			continue
		}
		if s.secs[i].there {
			return x.fail(x.from, "<%s> stands twice among the cell formats", x.name())
		}
		if err := s.section(x, i); err != nil {
			return err
		}
	}
}

func (s *stylePatch) section(x *lexer, i int) error {
	sec := &s.secs[i]
	sec.there, sec.closed = true, x.closed()
	sec.start, sec.open = x.start(), x.stop()
	if from, to, ok := x.attrSpan("count"); ok {
		sec.count, sec.counted = [2]int64{from, to}, true
	}
	for depth := x.depth() - 1; x.depth() > depth; {
		tok, err := x.next()
		if err != nil {
			return err
		}
		if tok == tokEnd {
			sec.end, sec.stop = x.start(), x.stop()
		}
		if tok != tokStart {
			continue
		}
		from := x.start()
		switch i {
		case secNumFmts:
			if id, ok := index(x.attr("numFmtId")); ok {
				s.codes[id] = string(decodeEscapes([]byte(string(x.attr("formatCode")))))
				s.nextCode = max(s.nextCode, id+1)
			}
			err = x.skip()
		case secXfs:
			var f xf
			if f, err = readXf(x); err == nil {
				s.xfs = append(s.xfs, f)
			}
		case secFonts, secFills, secBorders:
			var text string
			if text, err = canonical(x); err == nil {
				sec.items = append(sec.items, text)
				sec.raw = append(sec.raw, [2]int64{from, x.stop()})
			}
		default:
			err = x.skip()
		}
		if err != nil {
			return err
		}
		sec.n++
	}
	return nil
}

// prefixOf gives the prefix of the element in hand with its colon.
func prefixOf(x *lexer) string {
	if x.colon < x.nameFrom {
		return ""
	}
	return string(x.buf[x.nameFrom : x.colon+1])
}

// canonical gives the element in hand without prefixes, blanks between its
// parts and the order of its attributes, and moves to its end.
func canonical(x *lexer) (string, error) {
	var b strings.Builder
	canonicalTag(&b, x)
	for depth := x.depth() - 1; x.depth() > depth; {
		tok, err := x.next()
		if err != nil {
			return "", err
		}
		switch tok {
		case tokStart:
			canonicalTag(&b, x)
		case tokEnd:
			b.WriteString("/")
		case tokText:
			b.Write(bytes.TrimSpace(x.text()))
		}
	}
	return b.String(), nil
}

func canonicalTag(b *strings.Builder, x *lexer) {
	b.WriteByte('<')
	b.Write(x.name())
	attrs := make([]string, 0, 4)
	for i := range x.attrs {
		a := &x.attrs[i]
		attrs = append(attrs, fmt.Sprintf(" %s=%q", x.buf[a.nameFrom:a.nameTo], x.value(a)))
	}
	slices.Sort(attrs)
	for _, a := range attrs {
		b.WriteString(a)
	}
}

// canonicalText is canonical for an element of our own.
func canonicalText(element string) string {
	x := newLexer(strings.NewReader(element), "")
	if _, err := x.next(); err != nil {
		return ""
	}
	text, _ := canonical(x)
	return text
}

func readXf(x *lexer) (xf, error) {
	f := xf{style: -1}
	var apply []string
	for i := range x.attrs {
		a := &x.attrs[i]
		name, v := string(x.buf[a.nameFrom:a.nameTo]), x.buf[a.from:a.to]
		n, _ := index(v)
		switch name {
		case "numFmtId":
			f.numFmt = n
		case "fontId":
			f.font = n
		case "fillId":
			f.fill = n
		case "borderId":
			f.border = n
		case "xfId":
			f.style = n
		case "quotePrefix":
			f.quote = truth(v)
		default:
			if strings.HasPrefix(name, "apply") && truth(v) {
				apply = append(apply, name)
			}
		}
	}
	slices.Sort(apply)
	f.apply = strings.Join(apply, " ")
	for depth := x.depth() - 1; x.depth() > depth; {
		tok, err := x.next()
		if err != nil {
			return f, err
		}
		if tok != tokStart {
			continue
		}
		switch {
		case x.is("alignment"):
			f.align = attrsOf(x)
		case x.is("protection"):
			f.protect = attrsOf(x)
		}
		if err := x.skip(); err != nil {
			return f, err
		}
	}
	return f, nil
}

// attrsOf gives the attributes of the tag in hand as they are to be written
// again, in the order of their names.
func attrsOf(x *lexer) string {
	list := make([]string, 0, len(x.attrs))
	for i := range x.attrs {
		a := &x.attrs[i]
		list = append(list, string(x.buf[a.nameFrom:a.nameTo])+`="`+string(escapeXML(nil, string(x.value(a))))+`"`)
	}
	slices.Sort(list)
	return strings.Join(list, " ")
}

// withAttr sets an attribute in what attrsOf gives; an empty value drops it.
func withAttr(attrs, name, value string) string {
	list := make([]string, 0, 4)
	for rest := attrs; rest != ""; {
		eq := strings.Index(rest, `="`)
		end := strings.IndexByte(rest[eq+2:], '"') + eq + 3
		if rest[:eq] != name {
			list = append(list, rest[:end])
		}
		rest = strings.TrimPrefix(rest[end:], " ")
	}
	if value != "" {
		list = append(list, name+`="`+value+`"`)
	}
	slices.Sort(list)
	return strings.Join(list, " ")
}

// find looks for an element in a list; -1 where it is not there.
func (s *stylePatch) find(sec int, element string) int {
	return slices.Index(s.secs[sec].items, canonicalText(element))
}

// add gives the index of an element in a list and appends it where needed.
// Elements are written without a prefix here.
func (s *stylePatch) add(sec int, element string) int {
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
func (s *stylePatch) seed(sec int) {
	l := &s.secs[sec]
	l.added = append(l.added, s.prefixed(styleDefaults[sec]))
	l.n = 1
	l.items = append(l.items, canonicalText(styleDefaults[sec]))
	if sec == secFills {
		l.n = 2
		l.items = append(l.items, canonicalText(`<fill><patternFill patternType="gray125"/></fill>`))
	}
}

func (s *stylePatch) prefixed(element string) string {
	if s.prefix == "" {
		return element
	}
	element = strings.ReplaceAll(element, "</", "\x00")
	element = strings.ReplaceAll(element, "<", "<"+s.prefix)
	return strings.ReplaceAll(element, "\x00", "</"+s.prefix)
}

// code gives the id of a number format and adds it where needed.
func (s *stylePatch) code(format string) int {
	if format == "" {
		return 0
	}
	best := -1
	for id, c := range s.codes {
		if c == format && (best < 0 || id < best) {
			best = id
		}
	}
	if best >= 0 {
		return best
	}
	id := s.nextCode
	s.nextCode++
	s.codes[id] = format
	l := &s.secs[secNumFmts]
	l.added = append(l.added, fmt.Sprintf(`<%snumFmt numFmtId="%d" formatCode="%s"/>`, s.prefix, id, escapeXML(nil, format)))
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

// fits reports whether a cell of ours may keep its format under a look: it is
// then the user who has changed a font or a tint, which is theirs to do.
func (s *stylePatch) fits(i int, look grid.Look) bool {
	if i < 0 || i >= len(s.xfs) {
		return false
	}
	f := s.xfs[i]
	state := grid.LookPlain
	switch {
	case f.fill == s.stop:
		state = grid.LookStop
	case f.fill == s.check:
		state = grid.LookCheck
	case f.border == s.noteLine:
		state = grid.LookNote
	}
	if state != lookState(look) {
		return false
	}
	if code := lookCode(look); code != "" {
		return s.codes[f.numFmt] == code
	}
	return f.numFmt == 0
}

// dress gives the format of a cell of ours that stands right of two cells with
// the formats left and left2; -1 where there is none. Font and fill are taken
// where both neighbours agree, so that a striped table stays striped and one
// marked cell does not mark ours; the border is the neighbour's.
func (s *stylePatch) dress(left, left2 int, look grid.Look) int {
	key := dressKey{left, left2, look}
	if i, ok := s.cache[key]; ok {
		return i
	}
	f := xf{style: -1}
	if s.secs[4].n > 0 {
		f.style = 0
	}
	if base, ok := s.xf(left); ok {
		f = xf{font: base.font, fill: base.fill, border: base.border, style: base.style, align: base.align, protect: base.protect}
		if other, ok := s.xf(left2); ok && look != grid.LookHeading {
			if other.fill != base.fill {
				f.fill = 0
			}
			if other.font != base.font {
				f.font = 0
			}
		}
	}
	vertical := ""
	for _, a := range strings.Split(f.align, " ") {
		if v, ok := strings.CutPrefix(a, `vertical="`); ok {
			vertical = strings.TrimSuffix(v, `"`)
		}
	}
	if look != grid.LookHeading {
		f.align = withAttr("", "vertical", vertical)
	}
	switch look {
	case grid.LookLength, grid.LookVolume, grid.LookPercent:
		f.align = withAttr(f.align, "horizontal", "right")
	case grid.LookText:
		f.align = withAttr(withAttr(f.align, "horizontal", "left"), "wrapText", "1")
	case grid.LookHeading:
		f.align = withAttr(f.align, "wrapText", "1")
	}
	f.numFmt = s.code(lookCode(look))
	s.mark(&f, look)
	i := -1
	if base, ok := s.xf(max(left, 0)); ok {
		// A neighbour that is dressed as wanted already is taken as it is.
		if base.apply = ""; base == f {
			i = max(left, 0)
		}
	}
	if i < 0 || i >= len(s.xfs) {
		i = s.addXf(f)
	}
	s.cache[key] = i
	return i
}

// mark gives a format the form of its state.
func (s *stylePatch) mark(f *xf, look grid.Look) {
	switch look {
	case grid.LookStop:
		s.stop = s.add(secFills, fillStop)
		f.fill, f.border, f.font = s.stop, s.add(secBorders, borderStop), s.font(f.font, "b", 0)
	case grid.LookCheck:
		s.check = s.add(secFills, fillCheck)
		f.fill, f.font = s.check, s.font(f.font, "i", 0)
	case grid.LookNote:
		s.noteLine = s.add(secBorders, borderNote)
		f.border = s.noteLine
	}
}

// own gives a format of dropcut's own sheets.
func (s *stylePatch) own(look grid.Look) int {
	key := dressKey{-2, -2, look}
	if i, ok := s.cache[key]; ok {
		return i
	}
	f := xf{style: -1, align: `vertical="top"`, numFmt: s.code(lookCode(look))}
	if s.secs[4].n > 0 {
		f.style = 0
	}
	switch look {
	case grid.LookHeading:
		f.font, f.fill, f.border = s.font(0, "b", 0), s.add(secFills, fillHeading), s.add(secBorders, borderHead)
		f.align = `vertical="center" wrapText="1"`
	case grid.LookTitle:
		f.font = s.font(0, "b", 14)
	case grid.LookText:
		f.align = `horizontal="left" vertical="top" wrapText="1"`
	case grid.LookLength, grid.LookVolume, grid.LookPercent:
		f.align = `horizontal="right" vertical="top"`
	}
	s.mark(&f, look)
	i := s.addXf(f)
	s.cache[key] = i
	return i
}

func (s *stylePatch) xf(i int) (xf, bool) {
	if i < 0 {
		return xf{}, false
	}
	if i >= len(s.xfs) {
		i = 0
	}
	if len(s.xfs) == 0 {
		return xf{}, false
	}
	return s.xfs[i], true
}

// font gives the id of a font like another one, bold or italic, in a size of
// its own unless that is 0.
func (s *stylePatch) font(id int, how string, size int) int {
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
	x := newLexer(strings.NewReader(raw), "")
	var out strings.Builder
	if _, err := x.next(); err != nil {
		return id
	}
	out.WriteString("<font>")
	if how == "b" {
		out.WriteString("<b/>")
	}
	var rest strings.Builder
	for {
		tok, err := x.next()
		if err != nil || (tok == tokEnd && x.depth() == 0) {
			break
		}
		if tok != tokStart {
			continue
		}
		name := string(x.name())
		var piece strings.Builder
		piece.Write(x.raw())
		for depth := x.depth() - 1; x.depth() > depth; {
			if _, err := x.next(); err != nil {
				return id
			}
			piece.Write(x.raw())
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
func (s *stylePatch) addXf(f xf) int {
	apply := []string{"applyBorder", "applyFill", "applyFont", "applyNumberFormat"}
	if f.align != "" {
		apply = append(apply, "applyAlignment")
	}
	if f.protect != "" {
		apply = append(apply, "applyProtection")
	}
	slices.Sort(apply)
	f.apply = strings.Join(apply, " ")
	if s.byXf == nil {
		s.byXf = make(map[xf]int, len(s.xfs))
		for i, f := range slices.Backward(s.xfs) {
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
		s.xfs = append(s.xfs, xf{style: -1})
	}
	b := fmt.Appendf(nil, `<xf numFmtId="%d" fontId="%d" fillId="%d" borderId="%d"`, f.numFmt, f.font, f.fill, f.border)
	if f.style >= 0 {
		b = fmt.Appendf(b, ` xfId="%d"`, f.style)
	}
	for _, a := range apply {
		b = fmt.Appendf(b, ` %s="1"`, a)
	}
	if f.align == "" && f.protect == "" {
		b = append(b, "/>"...)
	} else {
		b = append(b, '>')
		if f.align != "" {
			b = fmt.Appendf(b, "<alignment %s/>", f.align)
		}
		if f.protect != "" {
			b = fmt.Appendf(b, "<protection %s/>", f.protect)
		}
		b = append(b, "</xf>"...)
	}
	l.added = append(l.added, s.prefixed(string(b)))
	l.n++
	s.byXf[f] = len(s.xfs)
	s.xfs = append(s.xfs, f)
	return len(s.xfs) - 1
}

// changed reports whether something was added.
func (s *stylePatch) changed() bool {
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

// bytes gives the part with what was added.
func (s *stylePatch) bytes() ([]byte, error) {
	if len(s.xfs) > xfsMax {
		return nil, fmt.Errorf("the book would have %d cell formats, at most %d were expected; delete unused formats and save it", len(s.xfs), xfsMax)
	}
	var change splices
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
			change.put(at, at, list)
		case sec.closed:
			change.put(sec.start, sec.stop, list)
		default:
			if sec.counted {
				change.put(sec.count[0], sec.count[1], strconv.Itoa(sec.n))
			}
			change.put(sec.end, sec.end, items)
		}
	}
	return change.apply(s.part)
}
