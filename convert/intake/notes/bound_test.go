package notes

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"dropcut/convert/csvfile"
)

// Notes that name more cells than any portfolio has are refused before room is
// made for them; those of a country are not.
func TestNotesAreBound(t *testing.T) {
	read := func(ranges []string) error {
		t.Helper()
		var b strings.Builder
		b.WriteString(strings.Join(noteColumns, ",") + "\n")
		for _, r := range ranges {
			depth, volume, _ := strings.Cut(r, " ")
			b.WriteString("tanks.csv,,,list,,T-1,," + depth + ",," + volume + ",in,,gal,.,,\n")
		}
		path := filepath.Join(t.TempDir(), "notes.csv")
		if err := os.WriteFile(path, []byte(b.String()), 0o600); err != nil {
			t.Fatal(err)
		}
		book, err := csvfile.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		defer book.Close()
		_, err = Read(book)
		return err
	}
	var some, many []string
	for range 8 {
		some = append(some, "A1:A1000000 B1:B1000000")
	}
	many = append(many, some...)
	many = append(many, "A1:A1000000 B1:B1000000")
	if err := read(some); err != nil {
		t.Error(err)
	}
	if err := read(many); err == nil || !strings.Contains(err.Error(), "row 10: the notes down to here name more than 16777216 cells") {
		t.Errorf("%v, want the row at which there are too many", err)
	}
}

func TestWantedCellsStandWhereTheirRunsSay(t *testing.T) {
	runs, err := ParseRuns("A1:C2 F9 H5:H3")
	if err != nil {
		t.Fatal(err)
	}
	w := newWanted(runs)
	want := []cellAt{{1, 1}, {2, 1}, {3, 1}, {1, 2}, {2, 2}, {3, 2}, {6, 9}, {8, 5}, {8, 4}, {8, 3}}
	if len(w.v) != len(want) {
		t.Fatalf("%d cells, want %d", len(w.v), len(want))
	}
	for i := range want {
		if got := w.at(i); got != want[i] {
			t.Errorf("cell %d is %v, want %v", i, got, want[i])
		}
	}
}
