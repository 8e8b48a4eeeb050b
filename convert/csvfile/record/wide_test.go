package record

import (
	"bytes"
	"io"
	"math/rand/v2"
	"testing"
	"testing/iotest"
	"unicode/utf8"
)

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
			text, err := io.ReadAll(NewWideReader(iotest.OneByteReader(bytes.NewReader(in)), e))
			if err != nil {
				t.Fatal(err)
			}
			var out bytes.Buffer
			w := NewWideWriter(&out, e)
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
