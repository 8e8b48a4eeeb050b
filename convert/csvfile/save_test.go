package csvfile_test

import (
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"dropcut/convert/csvfile"
	"dropcut/convert/grid"
	"dropcut/convert/safefile"
)

// The whole way of a CSV book: opened, columns added beside it, verified, put in
// its place; and a file that fails its check is never put there.
func TestSavedBesideAndVerified(t *testing.T) {
	dir := t.TempDir()
	from, to := filepath.Join(dir, "tanks.csv"), filepath.Join(dir, "tanks-planned.csv")
	const in = "Tank;Riser\r\nA;12,5\r\n"
	if err := os.WriteFile(from, []byte(in), 0o600); err != nil {
		t.Fatal(err)
	}
	b, err := csvfile.Open(from)
	if err != nil {
		t.Fatal(err)
	}
	cols := []grid.Column{{Col: 3, HeaderRow: 1, Heading: "Plan: Upper tube cut", Cells: []grid.At{{Row: 2, Value: grid.Num(20.375, grid.LookLength)}}}}
	verify := csvfile.Verifier(b, "tanks.csv", cols)
	spoiled := func(w io.Writer) error {
		_, err := io.WriteString(w, "Tank;Riser;Plan: Upper tube cut\r\nA;12,6;20,375\r\n")
		return err
	}
	if err := safefile.Write(to, spoiled, verify); err == nil || !strings.Contains(err.Error(), "column 2 has changed") {
		t.Errorf("a changed cell: %v", err)
	}
	if _, err := os.Stat(to); err == nil {
		t.Error("a spoiled file was put in its place")
	}
	if err := safefile.Write(to, func(w io.Writer) error { return csvfile.Append(b, "tanks.csv", cols, w) }, verify); err != nil {
		t.Fatal(err)
	}
	got, err := os.ReadFile(to)
	if want := "Tank;Riser;Plan: Upper tube cut\r\nA;12,5;20,375\r\n"; err != nil || string(got) != want {
		t.Errorf("got %q, %v", got, err)
	}
}
