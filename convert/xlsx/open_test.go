package xlsx

import (
	"bytes"
	"testing"

	"dropcut/convert/xlsx/internal/handmade"
	"dropcut/convert/xlsx/internal/read"
)

func bookOf(t testing.TB, h handmade.Package) *read.Book {
	t.Helper()
	b, err := openBytes(h.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func openBytes(b []byte) (*read.Book, error) {
	return read.OpenReader("hand.xlsx", bytes.NewReader(b), int64(len(b)))
}
