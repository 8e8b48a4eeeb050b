package csvfile

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"dropcut/convert/grid"
)

// col makes a column: values by row, numbers as numbers, texts as texts.
func col(at int, heading string, values ...any) grid.Column {
	c := grid.Column{Col: at, HeaderRow: 1, Heading: heading}
	for i := 0; i < len(values); i += 2 {
		var v grid.Value
		switch x := values[i+1].(type) {
		case string:
			v = grid.Str(x, grid.LookPlain)
		case float64:
			v = grid.Num(x, grid.LookPlain)
		}
		c.Cells = append(c.Cells, grid.At{Row: values[i].(int), Value: v})
	}
	return c
}

func appended(t testing.TB, data []byte, cols ...grid.Column) ([]byte, error) {
	t.Helper()
	b, err := FromBytes("t.csv", data)
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := Append(b, "t.csv", cols, &out); err != nil {
		return nil, err
	}
	after, err := FromBytes("t.csv", out.Bytes())
	if err != nil {
		t.Fatalf("what was written cannot be read: %v\n%q", err, out.Bytes())
	}
	if err := Verify(b, "t.csv", cols, after); err != nil {
		t.Fatalf("%v\n%q", err, out.Bytes())
	}
	return out.Bytes(), nil
}

func TestAppend(t *testing.T) {
	for _, c := range []struct {
		name, in string
		cols     []grid.Column
		want     string
	}{
		{
			"behind the last column", "Tank,Dip\nA,1\nB,2\n",
			[]grid.Column{col(3, "Plan: Status", 2, "ready", 3, "stop"), col(4, "Plan: Upper tube cut", 2, 20.375)},
			"Tank,Dip,Plan: Status,Plan: Upper tube cut\nA,1,ready,20.375\nB,2,stop,\n",
		},
		{
			"no line end at the end", "Tank,Dip\r\nA,1",
			[]grid.Column{col(3, "S", 2, "x")},
			"Tank,Dip,S\r\nA,1,x",
		},
		{
			"untouched text keeps its quotes, blanks, noise and line ends", "\xef\xbb\xbfsep=;\r\n\"Tank\" ; Dip;\"a \"\"b\"\"\"\rA; \"1,5\" ;82,249999\n\nB;007;6\" riser\r\n",
			[]grid.Column{col(4, "S", 2, 1.5, 4, "x;y")},
			"\xef\xbb\xbfsep=;\r\n\"Tank\" ; Dip;\"a \"\"b\"\"\";S\rA; \"1,5\" ;82,249999;1,5\n\nB;007;6\" riser;\"x;y\"\r\n",
		},
		{
			"rewritten in place", "Tank,S,Dip\nA,old,1\nB,\"ready\",2\nC,,3\n",
			[]grid.Column{col(2, "S", 2, "new", 3, "ready", 4, "y")},
			"Tank,S,Dip\nA,new,1\nB,\"ready\",2\nC,y,3\n",
		},
		{
			"short rows get delimiters only where a value goes", "Site 1\nTank,Dip,Note\nA\nB,2\nTotal,3\n",
			[]grid.Column{{Col: 4, HeaderRow: 2, Heading: "S", Cells: []grid.At{{Row: 3, Value: grid.Str("x", 0)}}}},
			"Site 1\nTank,Dip,Note,S\nA,,,x\nB,2\nTotal,3\n",
		},
		{
			"a rectangular file stays so", "Site,,\nTank,Dip,Note\nA,1,\n,,\nTotal,1,\n",
			[]grid.Column{{Col: 4, HeaderRow: 2, Heading: "S", Cells: []grid.At{{Row: 3, Value: grid.Str("x", 0)}}}},
			"Site,,,\nTank,Dip,Note,S\nA,1,,x\n,,,\nTotal,1,,\n",
		},
		{
			"a value in a blank line", "a,b\n\n1,2\n",
			[]grid.Column{col(3, "S", 2, "x")},
			"a,b,S\n,,x\n1,2,\n",
		},
		{
			"formulas are made inert, negative numbers stay", "a,b\n1,2\n3,4\n5,6\n7,8\n9,10\n",
			[]grid.Column{col(3, "S", 2, "=1+1", 3, "@x", 4, -5.5, 5, "-3 1/2", 6, "-x")},
			"a,b,S\n1,2,'=1+1\n3,4,'@x\n5,6,-5.5\n7,8,-3 1/2\n9,10,'-x\n",
		},
		{
			"decimal comma between commas", "a,b\n\"1,5\",2\n",
			[]grid.Column{col(3, "S", 2, 2.5)},
			"a,b,S\n\"1,5\",2,\"2,5\"\n",
		},
		{
			"marks and line breaks are quoted", "a,b\n1,2\n3,4\n",
			[]grid.Column{col(3, "S", 2, "98 3/8\"", 3, "two\r\nlines")},
			"a,b,S\n1,2,\"98 3/8\"\"\"\n3,4,\"two\nlines\"\n",
		},
		{
			"a row of one field of ours at the end of the file", "\na;b\n1",
			[]grid.Column{col(1, "H", 3, "")},
			"H\na;b\n\"\"",
		},
		{
			"old values are taken away", "a,b,S\n1,2,old\n",
			[]grid.Column{col(3, "S", 2, "")},
			"a,b,S\n1,2,\n",
		},
	} {
		got, err := appended(t, []byte(c.in), c.cols...)
		if err != nil || string(got) != c.want {
			t.Errorf("%s: %v\ngot  %q\nwant %q", c.name, err, got, c.want)
			continue
		}
		again, err := appended(t, got, c.cols...)
		if err != nil || !bytes.Equal(again, got) {
			t.Errorf("%s: a second run changes it: %v\n%q\n%q", c.name, err, got, again)
		}
	}
}

// Flags parted by semicolons in every row of ours must not make the file one of
// semicolons for the next run.
func TestOurFlagsDoNotChangeTheDelimiter(t *testing.T) {
	in := "Tank,Dip,Vol\nA,1.5,2\nB,2.5,3\nC,3.5,4\n"
	flags := col(5, "Plan: Flags", 2, "riser; alarm", 3, "riser; alarm", 4, "a;b")
	got, err := appended(t, []byte(in), col(4, "Plan: Tube", 2, 1.25, 3, 1.5, 4, 2.0), flags)
	if err != nil {
		t.Fatal(err)
	}
	b, err := FromBytes("t.csv", got)
	if err != nil {
		t.Fatal(err)
	}
	if d := b.Sheets()[0].(*Sheet).Dialect().Delimiter; d != ',' {
		t.Errorf("the delimiter is %q in %q", d, got)
	}
}

func TestAppendInItsEncoding(t *testing.T) {
	in, want := "Höhe;b\r\n1;2\r\n", "Höhe;b;S\r\n1;2;é – ½\r\n"
	for k := range 7 {
		data, _ := encodeAs(t, in, k)
		wanted, _ := encodeAs(t, want, k)
		got, err := appended(t, data, col(3, "S", 2, "é – ½"))
		if err != nil || !bytes.Equal(got, wanted) {
			t.Errorf("encoding %d: %v\ngot  %q\nwant %q", k, err, got, wanted)
		}
	}
	// What Windows-1252 lacks is written in plainer signs or refused, never as
	// a question mark.
	got, err := appended(t, western(t, "Höhe;b\n1;2\n"), col(3, "S", 2, "≤ 98 3/8″"))
	if want := western(t, "Höhe;b;S\n1;2;\"<= 98 3/8\"\"\"\n"); err != nil || !bytes.Equal(got, want) {
		t.Errorf("%v\ngot  %q\nwant %q", err, got, want)
	}
	if _, err := appended(t, western(t, "Höhe;b\n1;2\n"), col(3, "S", 2, "⅜")); err == nil || !strings.Contains(err.Error(), "Windows-1252") {
		t.Errorf("got %v", err)
	}
	// Half a surrogate pair is nothing that can be read, and not ours to lose.
	broken := []byte("\xff\xfea\x00,\x00\x00\xd8\n\x00b\x00,\x001\x00")
	got, err = appended(t, broken, col(3, "S", 2, "x"))
	if want := "\xff\xfea\x00,\x00\x00\xd8,\x00S\x00\n\x00b\x00,\x001\x00,\x00x\x00"; err != nil || string(got) != want {
		t.Errorf("%v\ngot  %q\nwant %q", err, got, want)
	}
}

func TestAppendRefuses(t *testing.T) {
	const data = "a,b\n1,2\n"
	twoRows := col(4, "T")
	twoRows.HeaderRow = 2
	for name, cols := range map[string][]grid.Column{
		"none":                         nil,
		"no such column":               {col(0, "S")},
		"a column beyond a sheet":      {col(20000, "S")},
		"the same column twice":        {col(3, "S"), col(3, "T")},
		"headings in two rows":         {col(3, "S"), twoRows},
		"a row that is not there":      {col(3, "S", 9, "x")},
		"cells out of order":           {col(3, "S", 2, "x", 1, "y")},
		"a number that is none":        {col(3, "S", 2, math.NaN())},
		"a heading that has no row":    {{Col: 3, HeaderRow: 7, Heading: "S"}},
		"a heading without any row":    {{Col: 3, Heading: "S"}},
		"text with damaged characters": {col(3, "S", 2, "x\xff")},
	} {
		if got, err := appended(t, []byte(data), cols...); err == nil || !strings.HasPrefix(err.Error(), "t.csv: ") {
			t.Errorf("%s: got %q, %v", name, got, err)
		}
	}
	b, err := FromBytes("t.csv", []byte(data))
	if err != nil {
		t.Fatal(err)
	}
	if err := Append(b, "other.csv", []grid.Column{col(3, "S")}, &bytes.Buffer{}); err == nil {
		t.Error("another file was written")
	}
	cut, err := FromBytes("t.csv", []byte("a,b\n1,2\n3,\"4\n"))
	if err != nil {
		t.Fatal(err)
	}
	if err := Append(cut, "t.csv", []grid.Column{col(3, "S")}, &bytes.Buffer{}); err == nil || !strings.Contains(err.Error(), "never closed") {
		t.Errorf("a cut file: %v", err)
	}
}

// Verify must see every kind of damage, so each is done on purpose.
func TestVerifySeesDamage(t *testing.T) {
	const in = "sep=;\r\na;b;c\r\n1;2;3\r\n4;5;6\r\n"
	const good = "sep=;\r\na;b;c;S\r\n1;2;3;x\r\n4;5;6;\r\n"
	cols := []grid.Column{col(4, "S", 2, "x")}
	old, err := FromBytes("t.csv", []byte(in))
	if err != nil {
		t.Fatal(err)
	}
	check := func(s string) error {
		b, err := FromBytes("t.csv", []byte(s))
		if err != nil {
			return err
		}
		return Verify(old, "t.csv", cols, b)
	}
	if err := check(good); err != nil {
		t.Fatal(err)
	}
	for name, bad := range map[string]string{
		"a changed digit":     strings.Replace(good, "1;2", "1;7", 1),
		"quotes added":        strings.Replace(good, "1;2", "1;\"2\"", 1),
		"a blank added":       strings.Replace(good, "1;2", "1; 2", 1),
		"a line end":          strings.Replace(good, "3;x\r\n", "3;x\n", 1),
		"a row lost":          strings.Replace(good, "4;5;6;\r\n", "", 1),
		"a row added":         good + "7;8;9;\r\n",
		"a value lost":        strings.Replace(good, "3;x", "3;", 1),
		"another value":       strings.Replace(good, "3;x", "3;y", 1),
		"another heading":     strings.Replace(good, ";S", ";T", 1),
		"a value too many":    strings.Replace(good, "6;\r", "6;z\r", 1),
		"a column too many":   strings.Replace(good, "6;\r", "6;;z\r", 1),
		"a field lost":        strings.Replace(good, "4;5;6;", "4;5", 1),
		"the sep line lost":   strings.Replace(good, "sep=;\r\n", "", 1),
		"a mark added":        "\xef\xbb\xbf" + good,
		"another encoding":    string(wide(good, false, true)),
		"two columns swapped": strings.Replace(good, "1;2;3", "2;1;3", 1),
	} {
		if check(bad) == nil {
			t.Errorf("%s was not seen", name)
		}
	}
}

// Columns added to any table in any dialect leave each record's bytes in front
// of them, read back, and do not change on a second run.
func TestAppendToAnyTable(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	tried := 0
	for range 400 {
		table := randomTable(r)
		delim := []string{",", ";", "\t", "|"}[r.IntN(4)]
		end := []string{"\n", "\r\n", "\r"}[r.IntN(3)]
		text := spell(table, delim, end, r.IntN(4) == 0)
		data, ok := encodeAs(t, text, r.IntN(7))
		if !ok {
			continue
		}
		tried++
		width := len(table[0])
		a, b := col(width+1, "Plan: A"), col(width+2, "Plan: B")
		for i := 2; i <= len(table); i++ {
			if r.IntN(3) > 0 {
				a.Cells = append(a.Cells, grid.At{Row: i, Value: grid.Num(r.Float64()*100, 0)})
			}
			if r.IntN(3) > 0 {
				b.Cells = append(b.Cells, grid.At{Row: i, Value: grid.Str([]string{"ready", "98 3/8\"", "a;b,c", "=x"}[r.IntN(4)], 0)})
			}
		}
		once, err := appended(t, data, a, b)
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		book, err := FromBytes("t.csv", once)
		if err != nil {
			t.Fatal(err)
		}
		i := 0
		for row, err := range book.Sheets()[0].Rows() {
			if err != nil {
				t.Fatal(err)
			}
			for j, want := range table[i] {
				got := ""
				if c := row.At(j + 1); c != nil {
					got = c.String()
				}
				if got != want {
					t.Fatalf("row %d, column %d: got %q, want %q", i+1, j+1, got, want)
				}
			}
			i++
		}
		twice, err := appended(t, once, a, b)
		if err != nil || !bytes.Equal(once, twice) {
			t.Fatalf("a second run changes it: %v\n%q\n%q", err, once, twice)
		}
	}
	if tried < 250 {
		t.Errorf("only %d tables tried", tried)
	}
}

func TestInert(t *testing.T) {
	for _, s := range []string{"", "a", "-", "-5", "-3 1/2", "+5", "AC-1", "98 3/8\"", "'quoted'", "1=2", "=1", "=cmd|x", "@a", "\tx", "-a", "+a(1)", "--1", "\rx"} {
		got := Inert(s)
		if len(got) > 1 && strings.ContainsRune("=@\t\r", rune(got[0])) {
			t.Errorf("%q is still a formula", got)
		}
		if Plain(got) != s {
			t.Errorf("%q comes back as %q", s, Plain(got))
		}
		if Inert(got) != got {
			t.Errorf("%q is made inert twice: %q", s, Inert(got))
		}
	}
}

func TestWriteRecords(t *testing.T) {
	type rec struct {
		Tank  string  `csv:"tank"`
		Depth float64 `csv:"depth"`
		Note  string  `csv:"note"`
	}
	var b bytes.Buffer
	if err := Write(&b, []rec{{"A", -1.5, "=x"}, {"B", 2, "a,b"}}); err != nil {
		t.Fatal(err)
	}
	if got, want := b.String(), "tank,depth,note\nA,-1.5,'=x\nB,2,\"a,b\"\n"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	b.Reset()
	if err := Write(&b, []rec{}); err != nil || b.String() != "tank,depth,note\n" {
		t.Errorf("no rows: %q, %v", b.String(), err)
	}
	b.Reset()
	if err := WriteSheet(&b, grid.NewSheet{Name: "Findings", Rows: [][]grid.Value{{grid.Str("a", 0), grid.Num(0.1, 0)}, {grid.Str("@b", 0), {}}}}); err != nil || b.String() != "a,0.1\n'@b,\n" {
		t.Errorf("a sheet: %q, %v", b.String(), err)
	}
	// Of a sheet of a few rows the semicolons are as many as the commas.
	b.Reset()
	texts := []string{"first plan; nothing to compare with", `a "b" | c`, " d\t"}
	sheet := grid.NewSheet{Name: "Changes", Rows: [][]grid.Value{{grid.Str(texts[0], 0)}, nil, {grid.Str(texts[1], 0), grid.Str(texts[2], 0)}}}
	if err := WriteSheet(&b, sheet); err != nil {
		t.Fatal(err)
	}
	book, err := FromBytes("changes.csv", b.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	var back []string
	for row, err := range book.Sheets()[0].Rows() {
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range row.Cells {
			back = append(back, string(c.Raw))
		}
	}
	if !slices.Equal(back, texts) {
		t.Errorf("%q are read back as %q", texts, back)
	}
	b.Reset()
	if err := WriteSheet(&b, grid.NewSheet{Name: "F", Rows: [][]grid.Value{{grid.Num(math.Inf(1), 0)}}}); err == nil {
		t.Error("infinity was written")
	}
}

func FuzzAppend(f *testing.F) {
	for _, s := range []string{"a,b\n1,2\n", "a;\"b\nc\"\r\n\r\n1;2", "\xef\xbb\xbfsep=;\na;b\n1;2\n", "\xff\xfea\x00,\x00\x00\xd8\n\x00", "a,\xe9\n\"x\"\"y\",2\n", "6\" r,\" q \" ,\n,,\n"} {
		f.Add([]byte(s), uint8(2), uint8(2), "x\"y;z,=\n")
	}
	f.Fuzz(func(t *testing.T, data []byte, at, row uint8, text string) {
		b, err := FromBytes("f.csv", data)
		if err != nil {
			return
		}
		c := col(int(at)+1, "H", int(row)+1, text)
		var out bytes.Buffer
		if err := Append(b, "f.csv", []grid.Column{c}, &out); err != nil {
			return
		}
		after, err := FromBytes("f.csv", out.Bytes())
		if err != nil {
			// Text of ours can fill the head of a tiny file with another
			// delimiter; it must then be refused, not misread.
			return
		}
		if after.Sheets()[0].(*Sheet).Dialect().Delimiter != b.Sheets()[0].(*Sheet).Dialect().Delimiter || fmt.Sprint(after.Notes()[0]) != fmt.Sprint(b.Notes()[0]) {
			return
		}
		if err := Verify(b, "f.csv", []grid.Column{c}, after); err != nil {
			t.Fatalf("%q -> %q: %v", data, out.Bytes(), err)
		}
	})
}
