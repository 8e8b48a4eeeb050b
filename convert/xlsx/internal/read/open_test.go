package read

import (
	"bytes"
	"testing"

	"dropcut/convert/xlsx/internal/handmade"
)

func bookOf(t testing.TB, h handmade.Package) *Book {
	t.Helper()
	b, err := openBytes(h.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func openBytes(b []byte) (*Book, error) {
	return OpenReader("hand.xlsx", bytes.NewReader(b), int64(len(b)))
}
