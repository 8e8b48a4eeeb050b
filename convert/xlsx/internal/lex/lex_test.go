package lex

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"testing/iotest"
)

// lexAll reads everything and gives a line a token, and the raw bytes joined.
func lexAll(x *Lexer) (lines []string, raw []byte, err error) {
	for {
		tok, err := x.Next()
		if err == io.EOF {
			return lines, raw, nil
		}
		if err != nil {
			return lines, raw, err
		}
		raw = append(raw, x.Raw()...)
		switch tok {
		case TokStart:
			line := fmt.Sprintf("%d<%s", x.Depth(), x.FullName())
			for i := range x.Attrs {
				a := &x.Attrs[i]
				line += fmt.Sprintf(" %s=%q", x.Buf[a.NameFrom:a.NameTo], x.Value(a))
			}
			lines = append(lines, line+">")
		case TokEnd:
			lines = append(lines, fmt.Sprintf("%d</%s>", x.Depth(), x.FullName()))
		case TokText:
			lines = append(lines, fmt.Sprintf("%q", x.Text()))
		case tokMisc:
			lines = append(lines, "misc")
		}
	}
}

// The expected text follows XML 1.0 (W3C): references 4.1 and 4.6, line ends
// 2.11, attribute values 3.3.3, CDATA 2.7.
var lexCases = []struct{ name, xml, want string }{
	{"self-closing", `<a><b x="1"/></a>`, `1<a>|2<b x="1">|1</b>|0</a>`},
	{"either quote", `<a x='1"' y="2'"/>`, `1<a x="1\"" y="2'">|0</a>`},
	{"blanks in tags", "<a  x = \"1\"\n y='2' ></a >", `1<a x="1" y="2">|0</a>`},
	{"references", `<a t="&lt;&#65;">&amp;&#x2044;&quot;&apos;&gt;</a>`, `1<a t="<A">|"&⁄\"'>"|0</a>`},
	{"line ends", "<a x=\"1\n2\">1\r\n2\r3&#13;</a>", `1<a x="1 2">|"1\n2\n3\r"|0</a>`},
	{"cdata", `<a><![CDATA[<b>&amp;]]></a>`, `1<a>|"<b>&amp;"|0</a>`},
	{"greater sign in an attribute", `<a x="1>2">></a>`, `1<a x="1>2">|">"|0</a>`},
	{"prefix", `<x:a><x:b/></x:a>`, `1<x:a>|2<x:b>|1</x:b>|0</x:a>`},
	{"misc", "\xef\xbb\xbf<?xml version=\"1.0\" encoding='utf-8'?>\n<!-- a > b --><a/><?end?>\n", `misc|misc|"\n"|misc|1<a>|0</a>|misc|"\n"`},
	{"letters beyond ASCII", `<a>¼ ⁄ é 漢 𝛑</a>`, `1<a>|"¼ ⁄ é 漢 𝛑"|0</a>`},
}

// The places are those where a reader that does not look twice goes on.
var lexFaults = []struct{ name, xml, want string }{
	{"cut in a tag", `<a><b x="1`, "breaks off"},
	{"cut in a text", `<a>12`, "breaks off inside <a>"},
	{"cut between tags", `<a><b></b>`, "breaks off inside <a>"},
	{"cut in a comment", `<a><!-- `, "breaks off"},
	{"empty", ``, "empty"},
	{"only a declaration", `<?xml version="1.0"?>`, "empty"},
	{"wrong end tag", `<a><b></a>`, "</a> closes what is not open; open is <b>"},
	{"end tag without a start", `<a/></a>`, "closes what is not open"},
	{"attribute without quotes", `<a x=1/>`, "malformed"},
	{"attribute without a value", `<a x/>`, "malformed"},
	{"no blank between attributes", `<a x="1"y="2"/>`, "malformed"},
	{"less sign in an attribute", `<a x="<"/>`, "malformed"},
	{"no name", `<a>< b/></a>`, "malformed"},
	{"doubled attribute", `<a x="1" x="2"/>`, "stands twice"},
	{"second root", `<a/><b/>`, "second root"},
	{"text behind the root", `<a/>12`, "outside"},
	{"document type", `<!DOCTYPE a [<!ENTITY e "1">]><a>&e;</a>`, "document type"},
	{"undeclared reference", `<a>&e;</a>`, "not declared"},
	{"reference without end", `<a>&amp</a>`, "no end"},
	{"reference to nothing", `<a>&#0;</a>`, "not declared"},
	{"half a surrogate", `<a>&#xD800;</a>`, "not declared"},
	{"UTF-16 with mark", "\xff\xfe<\x00a\x00/\x00>\x00", "UTF-16"},
	{"UTF-16 without mark", "<\x00a\x00/\x00>\x00", "UTF-16"},
	{"other encoding declared", `<?xml version="1.0" encoding="windows-1252"?><a/>`, "not UTF-8"},
	{"not UTF-8", "<a>82\xbc</a>", "not UTF-8: byte 0xbc"},
	{"half a character at the end", "<a/>\xc3", "not UTF-8"},
	{"too deep", strings.Repeat("<a>", 300), "deep"},
	{"too many attributes", "<a" + attrs(300) + "/>", "attributes"},
}

func attrs(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, ` a%d=""`, i)
	}
	return b.String()
}

func TestLexer(t *testing.T) {
	for _, c := range lexCases {
		for how, r := range map[string]io.Reader{"whole": strings.NewReader(c.xml), "byte by byte": iotest.OneByteReader(strings.NewReader(c.xml))} {
			lines, raw, err := lexAll(New(r, "part.xml"))
			if err != nil {
				t.Errorf("%s, %s: %v", c.name, how, err)
			}
			if got := strings.Join(lines, "|"); got != c.want {
				t.Errorf("%s, %s:\n got %s\nwant %s", c.name, how, got, c.want)
			}
			if string(raw) != c.xml {
				t.Errorf("%s, %s: the raw bytes joined are %q", c.name, how, raw)
			}
		}
	}
}

func TestLexerRefuses(t *testing.T) {
	for _, c := range lexFaults {
		for how, r := range map[string]io.Reader{"whole": strings.NewReader(c.xml), "byte by byte": iotest.OneByteReader(strings.NewReader(c.xml))} {
			x := New(r, "part.xml")
			_, _, err := lexAll(x)
			var damage *Error
			if !errors.As(err, &damage) || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%s, %s: error %v, want one with %q", c.name, how, err, c.want)
				continue
			}
			if _, again := x.Next(); again != err {
				t.Errorf("%s, %s: asked again it says %v", c.name, how, again)
			}
		}
	}
}

// Tokens keep their offsets while the window slides, and a token longer than
// the window makes it grow.
func TestLexerSlides(t *testing.T) {
	var b bytes.Buffer
	b.WriteString(`<a>`)
	for i := range 20_000 {
		fmt.Fprintf(&b, `<b n="%d">é%d</b>`, i, i)
	}
	long := strings.Repeat("é", 200_000)
	b.WriteString(`<c x="` + long + `">` + long + `</c></a>`)
	src := b.Bytes()
	x := New(iotest.HalfReader(bytes.NewReader(src)), "part.xml")
	n, at := 0, int64(0)
	for {
		tok, err := x.Next()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if x.Start() != at || !bytes.Equal(src[x.Start():x.Stop()], x.Raw()) {
			t.Fatalf("token %q says it stands at %d:%d, the one before ended at %d", Snippet(x.Raw()), x.Start(), x.Stop(), at)
		}
		at = x.Stop()
		if tok != TokStart {
			continue
		}
		if from, to, ok := x.AttrSpan("n"); ok {
			if string(src[from:to]) != fmt.Sprint(n) || string(x.Attr("n")) != fmt.Sprint(n) {
				t.Fatalf("attribute of element %d is %q at %d:%d", n, x.Attr("n"), from, to)
			}
			n++
		}
	}
	if n != 20_000 || at != int64(len(src)) {
		t.Errorf("%d elements and %d of %d bytes were seen", n, at, len(src))
	}
}

func TestLexerHoldsNoMoreThanATokenNeeds(t *testing.T) {
	src := "<a>" + strings.Repeat("x", lexTokenMax+1) + "</a>"
	x := New(strings.NewReader(src), "part.xml")
	if _, _, err := lexAll(x); err == nil || !strings.Contains(err.Error(), "longer than") {
		t.Errorf("error %v", err)
	}
	if len(x.Buf) > lexTokenMax {
		t.Errorf("the window grew to %d", len(x.Buf))
	}
}

func TestNamespaces(t *testing.T) {
	for _, c := range []struct {
		xml  string
		ours bool
	}{
		{`<a xmlns="` + NsMain + `"><row/></a>`, true},
		{`<a xmlns='` + NsStrict + `'><row/></a>`, true},
		{`<x:a xmlns:x="` + NsMain + `"><x:row/></x:a>`, true},
		{`<a xmlns="` + NsMain + `" xmlns:x="` + NsMain + `"><x:row/></a>`, true},
		{`<q><row xmlns="` + NsMain + `"/></q>`, true},
		{`<q><y:row xmlns:y="` + NsMain + `"/></q>`, true},
		{`<a xmlns="` + NsMain + `"><row xmlns="urn:other"/></a>`, false},
		{`<a xmlns="` + NsMain + `"><z:row xmlns:z="urn:other"/></a>`, false},
		{`<x:a xmlns:x="` + NsMain + `"><row/></x:a>`, false},
		{`<a><row/></a>`, false},
	} {
		x := New(strings.NewReader(c.xml), "part.xml")
		seen := false
		for {
			tok, err := x.Next()
			if err != nil {
				if err != io.EOF {
					t.Errorf("%s: %v", c.xml, err)
				}
				break
			}
			if (tok == TokStart || tok == TokEnd) && string(x.Name()) == "row" {
				seen = true
				if x.Is("row") != c.ours {
					t.Errorf("%s: token %d of row is SpreadsheetML: %v", c.xml, tok, x.Is("row"))
				}
			}
		}
		if !seen {
			t.Errorf("%s: no row was seen", c.xml)
		}
	}
}

func TestSkipFast(t *testing.T) {
	fill := strings.Repeat(`<row r="1"><c/></row>`, 8000)
	for _, inner := range []string{"", fill, fill + `<!-- </doc> -->` + fill, `<![CDATA[</doc>]]>`, "<docs></docs>", "! <x/>oc> !", "<x>" + strings.Repeat("oc", 9000) + "</x>", `<!-- ` + fill + ` -->`} {
		for _, end := range []string{"</doc>", "</doc >"} {
			src := "<a><doc>" + inner + end + `<e n="1"/></a>`
			x := New(iotest.HalfReader(strings.NewReader(src)), "part.xml")
			for range 2 {
				if _, err := x.Next(); err != nil {
					t.Fatal(err)
				}
			}
			if err := x.SkipFast(); err != nil {
				t.Errorf("%q: %v", Snippet([]byte(src)), err)
				continue
			}
			tok, err := x.Next()
			if tok != TokStart || string(x.Name()) != "e" || string(x.Attr("n")) != "1" || err != nil {
				t.Errorf("%q: behind it stands %q (%v)", Snippet([]byte(src)), x.Raw(), err)
			}
			if err := x.rest(); err != nil {
				t.Error(err)
			}
		}
	}
	for _, src := range []string{"<a><d>" + fill, "<a><d>" + fill + "</d", "<a><d><!-- </d>", "<a><d></dd>"} {
		x := New(strings.NewReader(src), "part.xml")
		x.Next()
		x.Next()
		if err := x.SkipFast(); err == nil {
			t.Errorf("%q: no error", Snippet([]byte(src)))
		}
	}
}

func TestDecodeEscapes(t *testing.T) {
	// ECMA-376 Part 1, 22.9.2.19; pairs from Unicode 3.9, table 3-5.
	for in, want := range map[string]string{
		"a_x000D_b":          "a\rb",
		"_x005F_x000D_":      "_x000D_",
		"_x00e9_":            "é",
		"_xD83D__xDE00_":     "😀",
		"_xD83D_":            "_xD83D_",
		"_xDE00__xD83D_":     "_xDE00__xD83D_",
		"_x00":               "_x00",
		"_x00G0_":            "_x00G0_",
		"tank_x1":            "tank_x1",
		"__x0041__":          "_A_",
		"_x0041_x0042_":      "Ax0042_",
		"no escape at all _": "no escape at all _",
	} {
		if got := string(DecodeEscapes([]byte(in))); got != want {
			t.Errorf("%q gives %q, want %q", in, got, want)
		}
	}
}

// FuzzLexer holds the lexer against encoding/xml: what that reads as tokens
// this one reads the same, unless it refuses, and every byte is kept.
func FuzzLexer(f *testing.F) {
	for _, c := range lexCases {
		f.Add([]byte(c.xml))
	}
	for _, c := range lexFaults {
		f.Add([]byte(c.xml))
	}
	f.Fuzz(func(t *testing.T, src []byte) {
		lines, raw, err := lexAll(New(bytes.NewReader(src), "part.xml"))
		slow, slowRaw, slowErr := lexAll(New(iotest.OneByteReader(bytes.NewReader(src)), "part.xml"))
		// Damage shows with the window in which it lies, so the tokens before it
		// may differ.
		if (err == nil) != (slowErr == nil) || err == nil && strings.Join(lines, "|") != strings.Join(slow, "|") {
			t.Fatalf("read in one piece: %v, %v; byte by byte: %v, %v", lines, err, slow, slowErr)
		}
		if !bytes.HasPrefix(src, raw) || !bytes.HasPrefix(src, slowRaw) {
			t.Fatalf("the raw bytes are not the part's: %q, %q", raw, slowRaw)
		}
		if err != nil {
			return
		}
		if !bytes.Equal(src, raw) {
			t.Fatalf("%d of %d bytes were kept", len(raw), len(src))
		}
		want, ok := standardLex(src)
		if ok && strings.Join(want, "|") != strings.Join(lines, "|") {
			t.Fatalf("encoding/xml reads\n%s\nthe lexer\n%s", strings.Join(want, "|"), strings.Join(lines, "|"))
		}
	})
}

// standardLex is lexAll by the standard library. ok is false where the two may
// differ on purpose.
func standardLex(src []byte) (lines []string, ok bool) {
	// encoding/xml joins text with the CDATA behind it, keeps line ends in
	// attributes and treats the byte order mark as text.
	if bytes.Contains(src, []byte("<![CDATA[")) || bytes.Contains(src, []byte("\ufeff")) || bytes.ContainsAny(src, "\r\n\t") {
		return nil, false
	}
	d := xml.NewDecoder(bytes.NewReader(src))
	depth := 0
	full := func(n xml.Name) string {
		if n.Space != "" {
			return n.Space + ":" + n.Local
		}
		return n.Local
	}
	for {
		tok, err := d.RawToken()
		if err == io.EOF {
			return lines, true
		}
		if err != nil {
			return nil, false
		}
		switch tok := tok.(type) {
		case xml.StartElement:
			depth++
			line := fmt.Sprintf("%d<%s", depth, full(tok.Name))
			for _, a := range tok.Attr {
				line += fmt.Sprintf(" %s=%q", full(a.Name), a.Value)
			}
			lines = append(lines, line+">")
		case xml.EndElement:
			depth--
			lines = append(lines, fmt.Sprintf("%d</%s>", depth, full(tok.Name)))
		case xml.CharData:
			lines = append(lines, fmt.Sprintf("%q", tok))
		default:
			lines = append(lines, "misc")
		}
	}
}
