package csvfile

import (
	"bytes"
	"fmt"
	"io"
	"math/rand/v2"
	"strings"
	"testing"
	"testing/iotest"
	"unicode/utf8"
)

func records(s *splitter) string {
	var b strings.Builder
	var turn turner
	for s.next() {
		fmt.Fprintf(&b, "%d %q:", s.n, s.lineEnd())
		for i := range s.fields {
			fmt.Fprintf(&b, " %q=%q", s.record()[s.fields[i].raw:s.fields[i].end], turn.text(s, &s.fields[i]))
		}
		b.WriteByte('\n')
	}
	fmt.Fprintln(&b, s.err)
	return b.String()
}

// However the bytes come in, the records are the same.
func TestRecordsDoNotDependOnTheBlocks(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 14))
	texts := []string{"", "\r", "\r\r\n", "a", "a\r\r", "\"", "a,\"b", " \"a\" \r\n", "\"a\"\"\r\n\",b\r", "\"a\" x,\r\n", " ", "a, "}
	for range 200 {
		texts = append(texts, spell(randomTable(r), ",", []string{"\n", "\r\n", "\r", "\r\r\n"}[r.IntN(4)], r.IntN(2) == 0))
	}
	for _, s := range texts {
		want := records(splitBytes([]byte(s), ','))
		for name, rd := range map[string]io.Reader{
			"one byte": iotest.OneByteReader(strings.NewReader(s)), "halves": iotest.HalfReader(strings.NewReader(s)), "data with the end": iotest.DataErrReader(strings.NewReader(s)), "at once": strings.NewReader(s),
		} {
			if got := records(newSplitter(rd, ',')); got != want {
				t.Fatalf("%q, %s:\n%s\nwant\n%s", s, name, got, want)
			}
		}
	}
	broken := brokenDisk{}
	if s := newSplitter(io.MultiReader(strings.NewReader("a,b\n1"), broken), ','); !strings.HasSuffix(records(s), "broken\n") {
		t.Error("a broken disk was taken for the end of the file")
	}
}

type brokenDisk struct{}

func (brokenDisk) Read([]byte) (int, error) { return 0, fmt.Errorf("broken") }

// Characters and line ends that lie across two blocks are counted once and spoil
// no encoding.
func TestSurveyDoesNotDependOnTheBlocks(t *testing.T) {
	for shift := range 8 {
		for _, end := range []string{"\r\n", "\n", "\r"} {
			s := strings.Repeat("x", shift) + ",b" + end + strings.Repeat("é😀⅜,1"+end, 20_000)
			for _, k := range []int{0, 1, 2, 3} {
				data, _ := encodeAs(t, s, k)
				f, err := survey(iotest.DataErrReader(bytes.NewReader(data)))
				if err != nil || f.damaged != 0 || f.encoding != []Encoding{UTF8, UTF8, UTF16LE, UTF16BE}[k] {
					t.Fatalf("shift %d, encoding %d: %v, %+v", shift, k, err, f.encoding)
				}
				want := [3]int{}
				want[map[string]int{"\n": 0, "\r\n": 1, "\r": 2}[end]] = 20_001
				if got := [3]int{f.lf, f.crlf, f.cr}; got != want {
					t.Errorf("shift %d, encoding %d, %q: %v line ends, want %v", shift, k, end, got, want)
				}
				if k == 0 && len(f.head) != headSize {
					t.Errorf("the head has %d bytes", len(f.head))
				}
			}
		}
	}
}

// UTF-16 comes back as it was, lone surrogates and all.
func TestWideThereAndBack(t *testing.T) {
	r := rand.New(rand.NewPCG(15, 16))
	for _, e := range []Encoding{UTF16LE, UTF16BE} {
		for range 300 {
			in := make([]byte, 2*r.IntN(200))
			for i := 0; i < len(in); i += 2 {
				u := []int{r.IntN(0x80), r.IntN(0x10000), 0xD800 + r.IntN(0x400), 0xDC00 + r.IntN(0x400)}[r.IntN(4)]
				hi, lo := byte(u>>8), byte(u)
				if e == UTF16LE {
					hi, lo = lo, hi
				}
				in[i], in[i+1] = hi, lo
			}
			text, err := io.ReadAll(newWideReader(iotest.OneByteReader(bytes.NewReader(in)), e))
			if err != nil {
				t.Fatal(err)
			}
			var out bytes.Buffer
			w := newWideWriter(&out, e)
			for i := 0; i < len(text); { // in pieces of any size
				n := min(1+r.IntN(5), len(text)-i)
				if _, err := w.Write(text[i : i+n]); err != nil {
					t.Fatal(err)
				}
				i += n
			}
			if !bytes.Equal(out.Bytes(), in) {
				t.Fatalf("%v: % x\ncomes back as % x by %q", e, in, out.Bytes(), text)
			}
			if utf8.Valid(text) && bytes.Contains(text, []byte{0xED, 0xA0}) {
				t.Fatal("a surrogate passed for text")
			}
		}
	}
}
