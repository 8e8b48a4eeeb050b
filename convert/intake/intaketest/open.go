package intaketest

import (
	"strings"
	"testing"

	"dropcut/convert/csvfile"
	"dropcut/convert/grid"
	"dropcut/convert/xlsx"
)

// Open opens a test file by its kind.
func Open(t testing.TB, path string) grid.Book {
	t.Helper()
	var b grid.Book
	var err error
	if strings.HasSuffix(path, ".csv") {
		b, err = csvfile.Open(path)
	} else {
		b, err = xlsx.Open(path)
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	return b
}
