package csvfile

import (
	"bytes"
	"fmt"
	"io"
	"math/rand/v2"
	"strings"
	"testing"
	"testing/iotest"

	"dropcut/convert/csvfile/record"
)

func records(s *record.Splitter) string {
	var b strings.Builder
	var turn record.Turner
	for s.Next() {
		fmt.Fprintf(&b, "%d %q:", s.N, s.LineEnd())
		for i := range s.Fields {
			fmt.Fprintf(&b, " %q=%q", s.Record()[s.Fields[i].Raw:s.Fields[i].End], turn.Text(s, &s.Fields[i]))
		}
		b.WriteByte('\n')
	}
	fmt.Fprintln(&b, s.Err)
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
		want := records(record.SplitBytes([]byte(s), ','))
		for name, rd := range map[string]io.Reader{
			"one byte": iotest.OneByteReader(strings.NewReader(s)), "halves": iotest.HalfReader(strings.NewReader(s)), "data with the end": iotest.DataErrReader(strings.NewReader(s)), "at once": strings.NewReader(s),
		} {
			if got := records(record.NewSplitter(rd, ',')); got != want {
				t.Fatalf("%q, %s:\n%s\nwant\n%s", s, name, got, want)
			}
		}
	}
	broken := brokenDisk{}
	if s := record.NewSplitter(io.MultiReader(strings.NewReader("a,b\n1"), broken), ','); !strings.HasSuffix(records(s), "broken\n") {
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
				f, err := record.Survey(iotest.DataErrReader(bytes.NewReader(data)))
				if err != nil || f.Damaged != 0 || f.Encoding != []record.Encoding{record.UTF8, record.UTF8, record.UTF16LE, record.UTF16BE}[k] {
					t.Fatalf("shift %d, encoding %d: %v, %+v", shift, k, err, f.Encoding)
				}
				want := [3]int{}
				want[map[string]int{"\n": 0, "\r\n": 1, "\r": 2}[end]] = 20_001
				if got := [3]int{f.LF, f.CRLF, f.CR}; got != want {
					t.Errorf("shift %d, encoding %d, %q: %v line ends, want %v", shift, k, end, got, want)
				}
				if k == 0 && len(f.Head) != 64<<10 {
					t.Errorf("the head has %d bytes", len(f.Head))
				}
			}
		}
	}
}
