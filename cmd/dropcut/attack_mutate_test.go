package main

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math/rand/v2"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// hostileTexts are what a cell, a name or an option may hold when somebody means
// ill or has had bad luck: text that a spreadsheet runs, that a page shows as a
// tag, that a terminal obeys, that a system takes for a path or a device, and
// numbers that are none.
var hostileTexts = []string{
	`=1+1`, `+1+1`, `-1+1`, `@SUM(A1)`, "\t=1+1", "\r=1+1", "\n=1+1", `=HYPERLINK("http://a.example/","x")`, `'=1+1`, `＝1+1`,
	`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `&lt;b&gt;`, `</script>`, `javascript:alert(1)`, `&amp;`, `]]>`, `<!--`, `&xxe;`,
	"\x1b[2J\x1b]0;gone\x07", "\x00", "a\x00b", "\b\b\b", "\u202egnp.exe", "\u2066a\u2069", "\u200b", "\ufeff", "\ufffe", "\u0085", "\u2028",
	`../../up`, `..`, `.`, `/etc/passwd`, `C:\Windows\x`, `\\host\share\x`, `CON`, `nul.txt`, `COM1`, `a/b`, `a\b`, `a:b`, `a|b*?`, ` `, `name. `, `-rf`, `--out`, `$(id)`, "`id`", `%s%n`, `{{.}}`,
	"%!s(MISSING)", "\xff\xfe\x80", "\xed\xa0\x80", "\u0301\u0301\u0301", "Ω\u00a0½″", "1e999", "-1e308", "1e308", "1e-320", "NaN", "-Inf", "9999999999999999999999", "0", "-0", "0x7fffffffffffffff", "1/0", "8' 2-3/0\"", "98 3/8\"", "1,234.5.6", "١٢٣",
	"#REF!", "TRUE", "44927", "12:30", "1900-02-29", "95%", "0.95", "1000%", "_x000D_", "_x003C_b",
}

func hostile(r *rand.Rand) string {
	if r.IntN(12) == 0 {
		return strings.Repeat(hostileTexts[r.IntN(len(hostileTexts))]+"é", 1+r.IntN(60)) + strings.Repeat("x", 300)
	}
	return hostileTexts[r.IntN(len(hostileTexts))]
}

// mutateBytes spoils bytes without knowing what they are.
func mutateBytes(r *rand.Rand, data, other []byte) []byte {
	data = slices.Clone(data)
	if len(data) == 0 {
		return []byte{byte(r.Uint32())}
	}
	// span gives a piece, mostly a short one.
	span := func(b []byte) (int, int) {
		if len(b) == 0 {
			return 0, 0
		}
		n := 1 + r.IntN(len(b))
		if r.IntN(3) > 0 {
			n = min(n, 1+r.IntN(64))
		}
		i := r.IntN(len(b) - n + 1)
		return i, i + n
	}
	for range 1 + r.IntN(4) {
		i, k := span(data)
		switch r.IntN(9) {
		case 0:
			for range 1 + r.IntN(32) {
				data[r.IntN(len(data))] ^= 1 << r.IntN(8)
			}
		case 1:
			data = data[:i]
		case 2:
			data = slices.Delete(data, i, k)
		case 3:
			data = slices.Insert(data, i, slices.Clone(data[i:k])...)
		case 4:
			clear(data[i:k])
		case 5:
			a, b := span(other)
			data = slices.Insert(data, i, other[a:b]...)
		case 6:
			data = slices.Insert(data, i, []byte(hostile(r))...)
		case 7:
			for n := i; n < k; n++ {
				data[n] = byte(r.Uint32())
			}
		case 8:
			piece := data[i:min(k, i+20)]
			data = slices.Insert(data, i, bytes.Repeat(piece, 1+r.IntN(300))...)
		}
		if len(data) == 0 {
			return nil
		}
	}
	return data
}

// entry is a part of a workbook's archive.
type entry struct {
	name string
	data []byte
}

func unpack(t testing.TB, data []byte) []entry {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	var list []entry
	for _, f := range z.File {
		in, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		content, err := io.ReadAll(in)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, entry{f.Name, content})
	}
	return list
}

func repack(t testing.TB, list []entry) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, e := range list {
		w, err := z.CreateHeader(&zip.FileHeader{Name: e.name, Method: zip.Deflate})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write(e.data); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

var (
	textOfCell   = regexp.MustCompile(`<(t|v|f)( [^>]*)?>[^<]*</`)
	anyAttribute = regexp.MustCompile(` [A-Za-z:]+="[^"]*"`)
	anyTag       = regexp.MustCompile(`<[^>]*>`)
	addresses    = []string{"XFD1048576", "A0", "ZZZZZZ99999999999999", "", "1A", "A-1", "A1:XFD1048576", "A1:A1", "R1C1", "$A$1", "a1", "Sheet!A1", "A1048577", "18446744073709551616"}
)

var xmlEscape = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;")

// pick replaces one match of a pattern.
func pick(r *rand.Rand, data []byte, p *regexp.Regexp, with func(old string) string) []byte {
	all := p.FindAllIndex(data, -1)
	if len(all) == 0 {
		return data
	}
	at := all[r.IntN(len(all))]
	return slices.Concat(data[:at[0]], []byte(with(string(data[at[0]:at[1]]))), data[at[1]:])
}

var (
	wholeCell   = regexp.MustCompile(`<c [^>]*>(?:<v>[^<]*</v>|<is>.*?</is>)</c>|<c [^>]*/>`)
	numberValue = regexp.MustCompile(`<v>[^<]*</v>`)
)

// mutateCells spoils what cells hold and where they stand, and leaves a sheet
// that can be read: the readings behind the reader have to bear it.
func mutateCells(r *rand.Rand, data []byte) []byte {
	for range 1 + r.IntN(6) {
		switch r.IntN(8) {
		case 0, 1:
			data = pick(r, data, textOfCell, func(old string) string {
				return old[:strings.IndexByte(old, '>')+1] + xmlEscape.Replace(strings.ToValidUTF8(strings.Map(inXML, hostile(r)), "")) + "</"
			})
		case 2, 3:
			numbers := []string{"0", "-1", "1e308", "-1e308", "1e-308", "0.3", "95", "1", "100000", "44927", "1e15", "0.95", "12.5", "-0"}
			data = pick(r, data, numberValue, func(string) string { return "<v>" + numbers[r.IntN(len(numbers))] + "</v>" })
		case 4:
			data = pick(r, data, wholeCell, func(string) string { return "" })
		case 5:
			var taken string
			data = pick(r, data, wholeCell, func(old string) string { taken = old; return old })
			data = pick(r, data, numberValue, func(old string) string {
				if v := numberValue.FindString(taken); v != "" {
					return v
				}
				return old
			})
		case 6:
			data = pick(r, data, wholeCell, func(old string) string {
				return regexp.MustCompile(` s="\d+"`).ReplaceAllString(old, fmt.Sprintf(` s="%d"`, r.IntN(40)))
			})
		case 7:
			data = pick(r, data, wholeCell, func(old string) string {
				kinds := []string{"s", "b", "e", "str", "inlineStr", "d", "n", "x"}
				return strings.Replace(old, "<c ", `<c t="`+kinds[r.IntN(len(kinds))]+`" `, 1)
			})
		}
	}
	return data
}

// inXML leaves out what XML 1.0 does not allow in a text (section 2.2).
func inXML(c rune) rune {
	if c < ' ' && c != '\t' && c != '\n' && c != '\r' || c == '\ufffe' || c == '\uffff' {
		return -1
	}
	return c
}

// mutateXML spoils a part so that it mostly still is XML.
func mutateXML(r *rand.Rand, data []byte) []byte {
	if r.IntN(3) > 0 {
		return mutateCells(r, data)
	}
	for range 1 + r.IntN(3) {
		switch r.IntN(14) {
		case 0, 1, 2, 3, 12, 13:
			data = pick(r, data, textOfCell, func(old string) string {
				i := strings.IndexByte(old, '>')
				text := hostile(r)
				if r.IntN(4) > 0 {
					text = xmlEscape.Replace(text)
				}
				return old[:i+1] + text + "</"
			})
		case 4, 5:
			data = pick(r, data, anyAttribute, func(old string) string {
				name, _, _ := strings.Cut(old, "=")
				value := xmlEscape.Replace(hostile(r))
				if r.IntN(2) == 0 {
					value = addresses[r.IntN(len(addresses))]
				}
				return name + `="` + value + `"`
			})
		case 6:
			data = pick(r, data, anyTag, func(string) string { return "" })
		case 7:
			data = pick(r, data, anyTag, func(old string) string { return strings.Repeat(old, 1+r.IntN(50)) })
		case 8:
			depth := 1 << r.IntN(18)
			data = pick(r, data, anyTag, func(old string) string {
				return old + strings.Repeat("<a>", depth) + strings.Repeat("</a>", depth*r.IntN(2))
			})
		case 9:
			data = append([]byte(`<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;"><!ENTITY xxe SYSTEM "file:///etc/passwd">]>`), data...)
			data = pick(r, data, textOfCell, func(old string) string {
				return old[:strings.IndexByte(old, '>')+1] + []string{"&xxe;", "&b;", "&#0;", "&#x110000;", "&#xD800;", "&nothing;", "&"}[r.IntN(7)] + "</"
			})
		case 10:
			data = pick(r, data, anyTag, func(old string) string {
				extra := []string{
					`<mergeCell ref="A1:XFD1048576"/>`, `<dimension ref="A1:XFD1048576"/>`, `<col min="1" max="16384" width="1e300"/>`, `<row r="1048576"/>`, `<row r="1"/>`,
					`<c r="XFD1048576" t="s"><v>99999999</v></c>`, `<c t="inlineStr"><is><t>x</t></is></c>`, `<c r="A1" s="4294967295"><v>1</v></c>`, `<c r="B2" t="e"><v>#REF!</v></c>`,
					`<f t="shared" si="4294967295" ref="A1:XFD1048576">A1</f>`, `<sheetProtection sheet="1"/>`, `<autoFilter ref="A1:ZZ1"/>`, `<tableParts count="4294967295"><tablePart r:id="rId99"/></tableParts>`,
					`<sheet name="` + xmlEscape.Replace(hostile(r)) + `" sheetId="1" r:id="rId1"/>`, `<Relationship Id="rId1" Type="x/worksheet" Target="http://a.example/" TargetMode="External"/>`, `<definedName name="x">` + xmlEscape.Replace(hostile(r)) + `</definedName>`,
				}
				return old + extra[r.IntN(len(extra))]
			})
		case 11:
			data = mutateBytes(r, data, data)
		}
	}
	return data
}

// mutateBook spoils a workbook: its bytes, its archive, or its parts.
func mutateBook(t testing.TB, r *rand.Rand, data, other []byte) []byte {
	t.Helper()
	if r.IntN(8) == 0 {
		return mutateBytes(r, data, other)
	}
	list := unpack(t, data)
	any := func() int { return r.IntN(len(list)) }
	for range 1 + r.IntN(3) {
		i := any()
		switch r.IntN(20) {
		case 0:
			k := any()
			list[i].data, list[k].data = list[k].data, list[i].data
		case 1:
			list = slices.Delete(list, i, i+1)
			if len(list) == 0 {
				return repack(t, list)
			}
		case 2:
			list[i].name = hostile(r)
		case 3:
			list = append(list, entry{list[i].name, []byte(hostile(r))})
		case 4:
			list = append(list, entry{hostile(r) + "/" + list[i].name, list[i].data})
		case 5:
			list[i].data = nil
		default:
			// The sheets and the strings matter most.
			for range 3 {
				if strings.Contains(list[i].name, "sheet") || strings.Contains(list[i].name, "Strings") {
					break
				}
				i = any()
			}
			list[i].data = mutateXML(r, list[i].data)
		}
	}
	packed := repack(t, list)
	if r.IntN(12) == 0 {
		packed = mutateDirectory(r, packed)
	}
	return packed
}

// mutateDirectory spoils a number in the archive's directory: a size, a
// checksum, a method, a flag or an offset.
func mutateDirectory(r *rand.Rand, data []byte) []byte {
	data = slices.Clone(data)
	mark := [][]byte{[]byte("PK\x01\x02"), []byte("PK\x03\x04"), []byte("PK\x05\x06")}[r.IntN(3)]
	var at []int
	for i := 0; ; {
		k := bytes.Index(data[i:], mark)
		if k < 0 {
			break
		}
		at = append(at, i+k)
		i += k + 4
	}
	if len(at) == 0 {
		return data
	}
	i := at[r.IntN(len(at))] + 4 + 2*r.IntN(20)
	if i+4 > len(data) {
		return data
	}
	values := []uint32{0, 1, 8, 9, 12, 99, 0xffff, 0x7fffffff, 0xffffffff, r.Uint32(), uint32(len(data))}
	binary.LittleEndian.PutUint32(data[i:], values[r.IntN(len(values))])
	return data
}

// mutateText spoils a table of text: CSV, notes, or lines of JSON.
func mutateText(r *rand.Rand, data, other []byte) []byte {
	lines := bytes.SplitAfter(data, []byte("\n"))
	for range 1 + r.IntN(4) {
		i := r.IntN(len(lines))
		switch r.IntN(14) {
		case 0, 1, 2, 3, 4:
			fields := bytes.Split(lines[i], []byte(","))
			k := r.IntN(len(fields))
			text := hostile(r)
			if r.IntN(2) == 0 {
				text = `"` + strings.ReplaceAll(text, `"`, `""`) + `"`
			}
			fields[k] = []byte(text)
			lines[i] = bytes.Join(fields, []byte(","))
			if k == len(fields)-1 {
				lines[i] = append(lines[i], '\n')
			}
		case 5:
			lines[i] = append([]byte(`"`), lines[i]...)
		case 6:
			lines[i] = bytes.ReplaceAll(lines[i], []byte(","), []byte([]string{";", "\t", "|", ",,", "\x00"}[r.IntN(5)]))
		case 7:
			k := r.IntN(len(lines))
			lines[i], lines[k] = lines[k], lines[i]
		case 8:
			lines = append(lines, bytes.Repeat(lines[i], 1+r.IntN(500)))
		case 9:
			lines[i] = append(bytes.Repeat([]byte(","), 1<<r.IntN(15)), lines[i]...)
		case 10:
			lines[i] = append([]byte(strings.Repeat("x", 1<<r.IntN(18))), lines[i]...)
		case 11:
			lines[i] = bytes.ReplaceAll(lines[i], []byte("\n"), []byte("\r"))
		case 12:
			lines = slices.Insert(lines, i, []byte(strconv.Itoa(r.IntN(1<<30))+","+hostile(r)+"\n"))
		case 13:
			return mutateBytes(r, bytes.Join(lines, nil), other)
		}
	}
	data = bytes.Join(lines, nil)
	switch r.IntN(12) {
	case 0:
		wide := []byte{0xff, 0xfe}
		for _, c := range string(data) {
			wide = binary.LittleEndian.AppendUint16(wide, uint16(c))
		}
		data = wide
	case 1:
		data = append([]byte("\xef\xbb\xbf"), data...)
	}
	return data
}

// hostileName gives the name of a file: what a system allows of it, at most 255
// bytes, with an ending of the kind.
func hostileName(r *rand.Rand, ending string) string {
	name := strings.Map(func(c rune) rune {
		if c == '/' || c == 0 {
			return '_'
		}
		return c
	}, hostile(r))
	if r.IntN(8) == 0 {
		ending = []string{"", ".xls", ".XLSX", ".csv", ".xlsx.xlsx", ".txt", "."}[r.IntN(7)]
	}
	for len(name)+len(ending) > 255 {
		name = strings.ToValidUTF8(name[:len(name)-1], "")
	}
	if name == "." || name == ".." {
		name += fmt.Sprint(r.IntN(10))
	}
	return name + ending
}
