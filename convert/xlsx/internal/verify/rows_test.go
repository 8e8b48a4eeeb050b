package verify

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"dropcut/convert/grid"
	"dropcut/convert/xlsx/internal/handmade"
	"dropcut/convert/xlsx/internal/opc"
	"dropcut/convert/xlsx/internal/patch"
	"dropcut/convert/xlsx/internal/read"
)

func open(t testing.TB, book []byte) *read.Book {
	t.Helper()
	b, err := read.OpenReader("hand.xlsx", bytes.NewReader(book), int64(len(book)))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// ways gives what the quick way and the slow way say of a written sheet.
func ways(t testing.TB, was *read.Book, is *read.Book, edit grid.Edit) (quick bool, quickErr, slow error) {
	t.Helper()
	v := &verifier{was: was, is: is, edit: edit, targets: map[*opc.Part]*targets{}}
	old := was.Sheet("Charts").Entry.Part
	v.targets[old] = &targets{}
	for i := range edit.Columns {
		v.targets[old].add(&edit.Columns[i])
	}
	now := is.Sheet("Charts").Entry.Part
	quick, quickErr = v.plainRows(old, now)
	return quick, quickErr, v.slowRows(old, now)
}

// The quick way takes what a patch writes, and takes nothing that the slow way
// does not take: pieces of a sound sheet are cut out, doubled, exchanged and
// altered at random.
func TestQuickWayIsNoLaxer(t *testing.T) {
	const seed = 20260403
	r := rand.New(rand.NewPCG(seed, 1))
	rows := `<row r="1" spans="1:3" ht="20"><c r="A1" t="s"><v>0</v></c><c r="C1"><v>2</v></c></row>` +
		`<row r="3"><c r="A3" s="1"><v>46026</v></c><c r="B3"><f>A3*2</f><v>4</v></c></row><row r="4" hidden="1"/><row r="7"><c r="A7" t="inlineStr"><is><t>x</t></is></c></row>`
	source := handmade.Plain(rows, "<t>Tank</t>")
	was := open(t, source.Bytes())
	edit := grid.Edit{Columns: []grid.Column{
		{Sheet: "Charts", Col: 4, HeaderRow: 1, Heading: "Plan: a <b> & c", Width: 12, Cells: []grid.At{{Row: 3, Value: grid.Num(82.3125, grid.LookLength)}, {Row: 4, Value: grid.Num(-1e-7, grid.LookPlain)}, {Row: 5, Value: grid.Str(" two\nlines ", grid.LookText)}}},
		{Sheet: "Charts", Col: 5, HeaderRow: 1, Heading: "Plan: d", Cells: []grid.At{{Row: 3, Value: grid.Str("1 & 2 &amp; 3", grid.LookText)}, {Row: 7, Value: grid.Value{}}, {Row: 9, Value: grid.Str("last", grid.LookStop)}}},
	}}
	var out bytes.Buffer
	if _, err := patch.Patch(was, edit, &out); err != nil {
		t.Fatal(err)
	}
	sound := open(t, out.Bytes())
	if quick, err, slow := ways(t, was, sound, edit); !quick || err != nil || slow != nil {
		t.Fatalf("a sound sheet: %v, %v, %v", quick, err, slow)
	}
	body, err := sound.Pack.Read(sound.Pack.Part(handmade.Sheet1), 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	text := string(body)
	pieces := []string{
		`<c r="A3"/>`, `<c r="D6"><v>1</v></c>`, `<c><v>1</v></c>`, `<row r="6"/>`, `<row><c r="A1"/></row>`, `<!-- x -->`, `<![CDATA[1]]>`, ` `, "\n", `<v>1</v>`, `&#49;`, `&amp;`, `"`, `<`, `>`, `/`,
		` spans="1:9"`, ` ht="21"`, ` s="1"`, ` t="str"`, `</row>`, `</c>`, `</sheetData>`, `<sheetData>`, `<c r="D3"><v>82.3125</v></c>`, `<c r="D3"><v>8.23125E1</v></c>`,
	}
	tried, taken, refused := 1_000, 0, 0
	if os.Getenv("DROPCUT_LONG") == "1" {
		tried = 20_000
	}
	for range tried {
		bad := text
		for range 1 + r.IntN(2) {
			i := r.IntN(len(bad))
			j := min(len(bad), i+r.IntN(30))
			if r.IntN(2) == 0 { // at the edges of tags
				if k := strings.IndexByte(bad[i:], '<'); k >= 0 {
					i += k
				}
				j = i
				if k := strings.IndexByte(bad[i:], '>'); k >= 0 && r.IntN(2) == 0 {
					j = i + k + 1
				}
			}
			j = max(i, j)
			switch r.IntN(4) {
			case 0:
				bad = bad[:i] + bad[j:]
			case 1:
				bad = bad[:j] + bad[i:j] + bad[j:]
			case 2:
				bad = bad[:i] + pieces[r.IntN(len(pieces))] + bad[j:]
			default:
				b := []byte(bad)
				b[i] ^= 1 << r.IntN(7)
				bad = string(b)
			}
		}
		is := open(t, source.With(handmade.Sheet1, bad).Bytes())
		quick, quickErr, slow := ways(t, was, is, edit)
		if quick && quickErr == nil {
			taken++
			if slow != nil {
				t.Fatalf("the quick way takes what the slow one does not (seed %d): %v\n%s", seed, slow, diffAt(text, bad))
			}
		}
		if slow != nil {
			refused++
		}
	}
	if taken == 0 || refused == 0 {
		t.Errorf("of %d sheets %d were taken and %d refused; the test shows nothing", tried, taken, refused)
	}
	t.Logf("of %d sheets the quick way took %d, the slow way refused %d", tried, taken, refused)
}

func diffAt(a, b string) string {
	i := 0
	for i < len(a) && i < len(b) && a[i] == b[i] {
		i++
	}
	cut := func(s string) string { return s[max(0, i-60):min(len(s), i+100)] }
	return fmt.Sprintf("was %s\nis  %s", cut(a), cut(b))
}
