package csvfile

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf16"

	"dropcut/convert/csvfile/record"
	"dropcut/convert/grid"

	"golang.org/x/text/encoding/charmap"
)

// wide encodes text as UTF-16.
func wide(s string, big, mark bool) []byte {
	u := utf16.Encode([]rune(s))
	if mark {
		u = append([]uint16{0xFEFF}, u...)
	}
	var b []byte
	for _, c := range u {
		if big {
			b = append(b, byte(c>>8), byte(c))
		} else {
			b = append(b, byte(c), byte(c>>8))
		}
	}
	return b
}

func western(t testing.TB, s string) []byte {
	b, err := charmap.Windows1252.NewEncoder().Bytes([]byte(s))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// dump prints the rows of a sheet as "N: col=text|col=text".
func dump(s grid.Sheet) (string, error) {
	var b strings.Builder
	for row, err := range s.Rows() {
		if err != nil {
			return b.String(), err
		}
		fmt.Fprintf(&b, "%d:", row.N)
		for i := range row.Cells {
			fmt.Fprintf(&b, "%s%d=%s", [...]string{" ", "|"}[min(i, 1)], row.Cells[i].Col, row.Cells[i].Raw)
		}
		b.WriteByte('\n')
	}
	return b.String(), nil
}

func TestReads(t *testing.T) {
	const plain = "1: 1=Tank|2=Depth\n2: 1=A|2=1.5\n3: 1=B|2=2\n"
	for _, c := range []struct {
		name  string
		data  string
		want  string
		notes string // each must stand in the notes
	}{
		{"LF", "Tank,Depth\nA,1.5\nB,2\n", plain, "encoding: UTF-8|line ends: LF|delimiter: comma"},
		{"no line end at the end", "Tank,Depth\nA,1.5\nB,2", plain, ""},
		{"CRLF", "Tank,Depth\r\nA,1.5\r\nB,2\r\n", plain, "line ends: CRLF"},
		{"bare CR", "Tank,Depth\rA,1.5\rB,2\r", plain, "line ends: CR"},
		{"CR CR LF is one line end", "Tank,Depth\r\r\nA,1.5\r\r\nB,2\r\r\n", plain, ""},
		{"mixed", "Tank,Depth\nA,1.5\r\nB,2\r", plain, "line ends: LF (1), CRLF (1), CR (1), mixed"},
		{"blank lines count", "Tank,Depth\n\nA,1.5\n\r\n,,\nB,2\n", "1: 1=Tank|2=Depth\n3: 1=A|2=1.5\n6: 1=B|2=2\n", ""},
		{"mark", "\xef\xbb\xbfTank,Depth\nA,1.5\nB,2\n", plain, "encoding: UTF-8 with byte order mark"},
		{"semicolon", "Tank;Depth\nA;1,5\nB;2\n", strings.ReplaceAll(plain, "1.5", "1,5"), "delimiter: semicolon"},
		{"semicolon, a comma in every number", "0,0;0,5\n2,5;37,1\n5,0;104,6\n", "1: 1=0,0|2=0,5\n2: 1=2,5|2=37,1\n3: 1=5,0|2=104,6\n", "delimiter: semicolon"},
		{"tab", "Tank\tDepth\nA\t1.5\nB\t2\n", plain, "delimiter: tab"},
		{"bar", "Tank|Depth\nA|1.5\nB|2\n", plain, "delimiter: bar"},
		{"title with commas above semicolons", "Tank 1: dips, contents, rev. 3\nDepth;Volume\n1;2\n3;4\n5;6\n", "1: 1=Tank 1: dips, contents, rev. 3\n2: 1=Depth|2=Volume\n3: 1=1|2=2\n4: 1=3|2=4\n5: 1=5|2=6\n", ""},
		{"sep line", "sep=;\nTank;Depth\nA;1.5\nB;2\n", plain, "named by a sep= line"},
		{"sep line in quotes", "\"sep=;\"\r\nTank;Depth\r\nA;1.5\r\nB;2\r\n", plain, "named by a sep= line"},
		{"sep line, capitals, mark", "\xef\xbb\xbfSEP=\t\nTank\tDepth\nA\t1.5\nB\t2\n", plain, "named by a sep= line"},
		{"sep line of an odd sign", "sep=^\nTank^Depth\nA^1.5\nB^2\n", plain, ""},
		{"sep line as a row", "sep=,,\nTank,Depth\nA,1.5\nB,2\n", plain, ""},
		{"quotes", "Tank,\"Depth\"\n\"A\",1.5\nB,\"2\"\n", plain, ""},
		{"line break in a heading", "Tank,\"Depth\r\n(in)\"\r\nA,1.5\r\nB,2\r\n", "1: 1=Tank|2=Depth\n(in)\n2: 1=A|2=1.5\n3: 1=B|2=2\n", ""},
		{"doubled quotes", "Tank,Dip\nA,\"98 3/8\"\"\"\n\"say \"\"so\"\"\",2\n", "1: 1=Tank|2=Dip\n2: 1=A|2=98 3/8\"\n3: 1=say \"so\"|2=2\n", ""},
		{"a quote within a field", "What,Dip\n6\" riser,2\n98 3/8\",3\n", "1: 1=What|2=Dip\n2: 1=6\" riser|2=2\n3: 1=98 3/8\"|2=3\n", ""},
		{"an inch mark in every row", "Dip,Vol\n98 3/8\",1\n99 3/8\",2\n98 1/8\",3\n", "1: 1=Dip|2=Vol\n2: 1=98 3/8\"|2=1\n3: 1=99 3/8\"|2=2\n4: 1=98 1/8\"|2=3\n", "delimiter: comma"},
		{"an inch mark in every row, semicolons", "Dip;Vol\n98 3/8\";1,5\n99 3/8\";2,5\n98 1/8\";3,5\n", "1: 1=Dip|2=Vol\n2: 1=98 3/8\"|2=1,5\n3: 1=99 3/8\"|2=2,5\n4: 1=98 1/8\"|2=3,5\n", "delimiter: semicolon"},
		{"delimiters of another kind in quotes", "a,b\n\"x;y\",1\n\"x;z\",2\n", "1: 1=a|2=b\n2: 1=x;y|2=1\n3: 1=x;z|2=2\n", "delimiter: comma"},
		{"a single quote within quotes", "What,Dip\n\"6\" riser, steel\",2\n", "1: 1=What|2=Dip\n2: 1=6\" riser, steel|2=2\n", ""},
		{"blanks around quotes", "What,Dip\nA, \"1,5\" \nB,2\n", "1: 1=What|2=Dip\n2: 1=A|2=1,5\n3: 1=B|2=2\n", ""},
		{"ragged", "a,b,c\n1\n1,2,3,4\n", "1: 1=a|2=b|3=c\n2: 1=1\n3: 1=1|2=2|3=3|4=4\n", ""},
		{"blank cells are none", "a,,c\n,\"\",3\n", "1: 1=a|3=c\n2: 3=3\n", ""},
		{"Ctrl-Z at the end", "Tank,Depth\nA,1.5\nB,2\n\x1a", plain, ""},
		{"an accent in UTF-8", "Höhe;Menge\n1;2\n", "1: 1=Höhe|2=Menge\n2: 1=1|2=2\n", "encoding: UTF-8"},
		{"UTF-16 LE with mark", string(wide("Tank,Depth\r\nA,1.5\r\nB,2\r\n", false, true)), plain, "encoding: UTF-16 LE with byte order mark"},
		{"UTF-16 BE with mark", string(wide("Tank\tDepth\nA\t1.5\nB\t2\n", true, true)), plain, "encoding: UTF-16 BE with|delimiter: tab"},
		{"UTF-16 LE without mark", string(wide("Tank,Depth\nA,1.5\nB,2\n", false, false)), plain, "encoding: UTF-16 LE without"},
		{"UTF-16 BE without mark", string(wide("Tank,Depth\nA,1.5\nB,2\n", true, false)), plain, "encoding: UTF-16 BE without"},
		{"UTF-16 with a sep line", string(wide("sep=;\r\nTank;Depth\r\nA;1.5\r\nB;2\r\n", false, true)), plain, "sep= line"},
		{"UTF-16 beyond the plane", string(wide("T😀,Depth\nA,1⅜\n", false, true)), "1: 1=T😀|2=Depth\n2: 1=A|2=1⅜\n", ""},
		{"half a pair", "\xff\xfea\x00,\x00\x00\xd8\n\x00b\x00,\x001\x00", "1: 1=a|2=\uFFFD\n2: 1=b|2=1\n", "damaged characters: 1"},
		{"Windows-1252", string(western(t, "Höhe;Menge\n1½;2\n")), "1: 1=Höhe|2=Menge\n2: 1=1½|2=2\n", "encoding: Windows-1252"},
		{"Windows-1252 dash and quote", string(western(t, "a–b,c\n8’,2\n")), "1: 1=a–b|2=c\n2: 1=8’|2=2\n", "encoding: Windows-1252"},
		{"one damaged byte in UTF-8", "Höhe,Ü,ß,ü,ä\nx\xff,1\n", "1: 1=Höhe|2=Ü|3=ß|4=ü|5=ä\n2: 1=x\uFFFD|2=1\n", "encoding: UTF-8|damaged characters: 1"},
	} {
		b, err := FromBytes("t.csv", []byte(c.data))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		got, err := dump(b.Sheets()[0])
		if err != nil || got != c.want {
			t.Errorf("%s: got %v\n%s\nwant\n%s", c.name, err, got, c.want)
		}
		notes := strings.Join(b.Notes(), "\n")
		for want := range strings.SplitSeq(c.notes, "|") {
			if !strings.Contains(notes, want) {
				t.Errorf("%s: no %q in the notes\n%s", c.name, want, notes)
			}
		}
	}
}

func TestRefuses(t *testing.T) {
	for _, c := range []struct{ name, data, why string }{
		{"empty", "", "is empty"},
		{"only a mark", "\xef\xbb\xbf", "holds no rows"},
		{"only blank lines", "\n\r\n  \n", "holds no rows"},
		{"only a sep line", "sep=;\n", "holds no rows"},
		{"prose", "Dear all\nthe tank was filled on Monday\nand emptied on Friday\n", "not a table"},
		{"a workbook", "PK\x03\x04\x14\x00\x06\x00", ".xlsx"},
		{"an old workbook", "\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "old binary"},
		{"a PDF", "%PDF-1.7\n", "PDF"},
		{"a web page", "<html><table><tr><td>1", "web page"},
		{"a zero byte", "a,b\n1,\x002\n", "zero byte stands at byte 7"},
		{"a quote never closed", "a,b\n1,\"2\n3,4\n", "row 2, column 2 opens a quote"},
		{"cut within a quoted field", "a,b\n1,2\n3,\"4", "row 3, column 2 opens a quote"},
		{"rows swallowed between two quotes", "a,b\n1,\"x\n2,y\n3,\"z\"\n4,5\n", "quotes that do not pair"},
		{"cut within a character", "Höhe,b\n1,⅜"[:len("Höhe,b\n1,⅜")-1], "cut off"},
		{"half a character of UTF-16", string(wide("a,b\n1,2\n", false, true)) + "x", "cut off"},
		{"UTF-32", "\xff\xfe\x00\x00a\x00\x00\x00", "UTF-32"},
		{"control characters", "a,b\x01\x02\x03\x04,\x05\x06\n", "stand in no text"},
		{"too many columns", "a,b\n" + strings.Repeat(",", 20000) + "\n", "more than 16384 columns"},
		{"too long a field", "a,b\n1," + strings.Repeat("x", 2<<20) + "\n", "row 2, column 2 holds more than 1 MiB"},
		{"too long a quoted field", "a,b\n1,\"" + strings.Repeat("x\n", 2<<20) + "\n", "row 2, column 2 opens a quote"},
	} {
		b, err := FromBytes("t.csv", []byte(c.data))
		if err == nil {
			_, err = dump(b.Sheets()[0])
		}
		if err == nil || !strings.Contains(err.Error(), c.why) || !strings.HasPrefix(err.Error(), "t.csv: ") {
			t.Errorf("%s: got %v; want %q", c.name, err, c.why)
		}
	}
	dir := t.TempDir()
	if _, err := Open(dir); err == nil || !strings.Contains(err.Error(), "is a folder") {
		t.Errorf("a folder: %v", err)
	}
	if _, err := Open(filepath.Join(dir, "none.csv")); err == nil {
		t.Error("a file that is not there was opened")
	}
	if _, err := OpenDir(dir); err == nil || !strings.Contains(err.Error(), "no .csv") {
		t.Errorf("an empty folder: %v", err)
	}
}

func TestFolder(t *testing.T) {
	dir := t.TempDir()
	for name, data := range map[string]string{"b.csv": "a;b\n1;2\n", "A.CSV": "x,y\n3,4\n", "notes.txt": "no", ".hidden.csv": "a,b\n", "~$a.csv": "a,b\n"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(data), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Mkdir(filepath.Join(dir, "c.csv"), 0o700); err != nil {
		t.Fatal(err)
	}
	b, err := OpenDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	var files []string
	for _, s := range b.Sheets() {
		files = append(files, s.At().String())
	}
	if got := strings.Join(files, " "); got != "A.CSV b.csv" || b.Name() != filepath.Base(dir) {
		t.Errorf("got %s in %s", got, b.Name())
	}
	if got := strings.Join(b.Notes(), "\n"); !strings.Contains(got, "b.csv: delimiter: semicolon") {
		t.Error(got)
	}
}

func TestFileChangedBetweenReads(t *testing.T) {
	path := filepath.Join(t.TempDir(), "t.csv")
	if err := os.WriteFile(path, []byte("a,b\n1,2\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	b, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte("a,b\n1,2\n3,4\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := dump(b.Sheets()[0]); err == nil || !strings.Contains(err.Error(), "has changed") {
		t.Errorf("got %v", err)
	}
}

func TestRowsStopAndStartAgain(t *testing.T) {
	b, err := FromBytes("t.csv", []byte("a,b\n1,2\n3,4\n"))
	if err != nil {
		t.Fatal(err)
	}
	for range 2 {
		n := 0
		for row, err := range b.Sheets()[0].Rows() {
			if err != nil || row.N != 1 || row.At(2).String() != "b" || row.At(3) != nil {
				t.Fatal(row, err)
			}
			n++
			break
		}
		if n != 1 {
			t.Fatal(n)
		}
	}
}

func TestDecimalOfTheDialect(t *testing.T) {
	for data, want := range map[string]string{
		"a;b\n1,5;2\n":         "decimal comma true",
		"a;b\n1;2\n":           "decimal comma false",
		"a;b\n1.5;2\n":         "decimal point true",
		"a,b\n1.5,2\n":         "decimal point true",
		"a,b\n1,2\n":           "decimal point false",
		"a,b\n\"1,5\",2\n":     "decimal comma true",
		"a\tb\n1,5\t1.234,5\n": "decimal comma true",
	} {
		b, err := FromBytes("t.csv", []byte(data))
		if err != nil {
			t.Fatal(err)
		}
		d := b.Sheets()[0].(*Sheet).Dialect()
		if got := fmt.Sprint(d.Decimal, d.DecimalKnown); got != want {
			t.Errorf("%q: got %s, want %s", data, got, want)
		}
	}
}

// randomTable makes a table whose cells hold whatever people write.
func randomTable(r *rand.Rand) [][]string {
	pool := []string{
		"", "0", "12.5", "12,5", "1.234,5", "98 3/8\"", "6\" riser", "\"", "\"\"", "Höhe", "⅜", "a;b", "a,b", "a\tb", "a|b", "line\nbreak", "line\n\nbreak \"x\"", " blank ", "=A1", "-5", "😀", "Tank", "é", "–", "AC-1", "x", "sep",
	}
	cols := 2 + r.IntN(6)
	table := make([][]string, 3+r.IntN(30))
	for i := range table {
		table[i] = make([]string, cols)
		for j := range table[i] {
			table[i][j] = pool[r.IntN(len(pool))]
		}
		table[i][0] = fmt.Sprintf("T%d", i) // no blank row, no row that is a sep line
	}
	return table
}

// spell writes a table in a dialect, the way a spreadsheet program does.
func spell(table [][]string, delim, end string, all bool) string {
	var b strings.Builder
	for _, row := range table {
		for j, s := range row {
			if j > 0 {
				b.WriteString(delim)
			}
			if all || strings.ContainsAny(s, delim+"\"\r\n") || strings.TrimSpace(s) != s {
				s = `"` + strings.ReplaceAll(s, `"`, `""`) + `"`
			}
			b.WriteString(s)
		}
		b.WriteString(end)
	}
	return b.String()
}

// asSheet gives a table as dump prints it.
func asSheet(table [][]string) string {
	var b strings.Builder
	for i, row := range table {
		fmt.Fprintf(&b, "%d:", i+1)
		sep := " "
		for j, s := range row {
			if s != "" {
				fmt.Fprintf(&b, "%s%d=%s", sep, j+1, s)
				sep = "|"
			}
		}
		b.WriteByte('\n')
	}
	return b.String()
}

func encodeAs(t testing.TB, s string, k int) ([]byte, bool) {
	switch k {
	case 0:
		return []byte(s), true
	case 1:
		return append([]byte([]byte{0xEF, 0xBB, 0xBF}), s...), true
	case 2:
		return wide(s, false, true), true
	case 3:
		return wide(s, true, true), true
	case 4:
		return wide(s, false, false), true
	case 5:
		return wide(s, true, false), true
	}
	b, err := charmap.Windows1252.NewEncoder().Bytes([]byte(s))
	return b, err == nil && !strings.ContainsAny(s, "⅜😀") && bytes.ContainsFunc([]byte(s), func(r rune) bool { return r > 127 })
}

// Any table written in any dialect and encoding reads back the same.
func TestAnyTableReadsBack(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	tried := 0
	for range 800 {
		table := randomTable(r)
		delim := []string{",", ";", "\t", "|"}[r.IntN(4)]
		text := spell(table, delim, []string{"\n", "\r\n", "\r"}[r.IntN(3)], r.IntN(4) == 0)
		if r.IntN(3) == 0 {
			text = "sep=" + delim + "\r\n" + text
		}
		data, ok := encodeAs(t, text, r.IntN(7))
		if !ok {
			continue
		}
		tried++
		b, err := FromBytes("t.csv", data)
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		got, err := dump(b.Sheets()[0])
		if want := asSheet(table); err != nil || got != want {
			t.Fatalf("%q as %v: %v\n%s\nwant\n%s", text, b.Notes(), err, got, want)
		}
	}
	if tried < 500 {
		t.Errorf("only %d tables tried", tried)
	}
}

// The splitter against the standard library, on what that reads too (RFC 4180
// with quotes as people write them).
func FuzzRecords(f *testing.F) {
	for _, s := range []string{
		"a,b\n1,2\n", "a,\"b\nc\"\n1,\"2\"\"\"\n", "6\" riser,2\n", "a,b\r\n\r\n1,2", "\"a\"b,c\n", ",\n,,\n", "\"", "a,\"b\n", " \"a\" ,b\n", "a\rb,c\r\r\nd", "sep=;\na;b\n", "\xef\xbb\xbfa,b\n", "\xff\xfea\x00,\x00", "a;b|c\td,e\n",
	} {
		f.Add([]byte(s))
	}
	for _, c := range numberSeeds {
		f.Add([]byte("a;b\n" + c + ";x\n"))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		b, err := FromBytes("f.csv", data)
		if err != nil {
			return
		}
		last := 0
		for row, err := range b.Sheets()[0].Rows() {
			if err != nil {
				break
			}
			if row.N <= last || len(row.Cells) == 0 {
				t.Fatalf("row %d with %d cells after row %d", row.N, len(row.Cells), last)
			}
			last = row.N
			col := 0
			for i := range row.Cells {
				c := &row.Cells[i]
				if c.Col <= col || len(c.Raw) == 0 {
					t.Fatalf("cell %d holding %q after cell %d", c.Col, c.Raw, col)
				}
				col = c.Col
			}
		}
		if bytes.ContainsAny(data, "\r ") || bytes.IndexByte(data, '"') >= 0 && !strictlyQuoted(data) {
			return
		}
		s := record.NewSplitter(bytes.NewReader(data), ',')
		std := csv.NewReader(bytes.NewReader(data))
		std.FieldsPerRecord = -1
		want, err := std.ReadAll()
		if err != nil {
			return
		}
		var turn record.Turner
		for _, w := range want {
			for {
				if !s.Next() {
					t.Fatalf("%q: ended at %v before %q", data, s.Err, w)
				}
				if s.Size > 0 {
					break // the standard library passes blank lines over
				}
			}
			if len(s.Fields) != len(w) {
				t.Fatalf("%q: %d fields, want %q", data, len(s.Fields), w)
			}
			for i := range w {
				if got := string(turn.Text(s, &s.Fields[i])); got != w[i] {
					t.Fatalf("%q: field %d is %q, want %q", data, i+1, got, w[i])
				}
			}
		}
	})
}

var numberSeeds = []string{"1.238", "1,238", "1 234,5", "−4,5", "1,21E+11", "98 3/8", "8' 2\""}

// strictlyQuoted reports whether the standard library, which is strict, takes
// the quotes as they are.
func strictlyQuoted(data []byte) bool {
	r := csv.NewReader(bytes.NewReader(data))
	r.FieldsPerRecord = -1
	_, err := r.ReadAll()
	return err == nil
}
