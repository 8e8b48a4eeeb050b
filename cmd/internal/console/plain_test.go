package console

import (
	"strings"
	"testing"
)

// Whatever the pieces in which a text comes, what is written is the whole text
// with what a terminal obeys taken out.
func TestWriterInPieces(t *testing.T) {
	text := "Millrace ½ ″ 日本\n\tred \x1b[31m, bell \a, return \rx, \u202egnp.exe\u202c, \u2028, \u0085, not UTF-8: \xff\xc3"
	want := "Millrace ½ ″ 日本\n\tred \uFFFD[31m, bell \uFFFD, return \uFFFDx, \uFFFDgnp.exe\uFFFD, \uFFFD, \uFFFD, not UTF-8: \uFFFD\uFFFD"
	for size := 1; size <= len(text); size++ {
		var out strings.Builder
		w := NewWriter(&out)
		for i := 0; i < len(text); i += size {
			piece := text[i:min(i+size, len(text))]
			if n, err := w.Write([]byte(piece)); n != len(piece) || err != nil {
				t.Fatalf("Write gave %d, %v", n, err)
			}
		}
		if err := w.Flush(); err != nil {
			t.Fatal(err)
		}
		if got := out.String(); got != want {
			t.Fatalf("in pieces of %d: %q, want %q", size, got, want)
		}
	}
	if got := Short("begins " + strings.Repeat("½", 5000) + " ends"); len(got) > 1510 || !strings.HasPrefix(got, "begins ½") || !strings.HasSuffix(got, "½ ends") || strings.Contains(got, "\uFFFD") {
		t.Errorf("Short gives %q", got)
	}
	if got := Plain("a\nb\u2066c"); got != "a\uFFFDb\uFFFDc" {
		t.Errorf("Plain gives %q", got)
	}
}
