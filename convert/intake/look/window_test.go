package look

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"dropcut/convert/grid"
)

// What follows the rows that are dropped says afterwards what it said before,
// whatever was added and dropped in between, and texts that a merged area lends to
// an earlier row too.
func TestDropKeepsWhatFollows(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for range 200 {
		var w Window
		var want [][]string
		n := 0
		for range 60 {
			if r.IntN(3) > 0 {
				n++
				row := grid.Row{N: n}
				var texts []string
				for col := range 1 + r.IntN(4) {
					text := fmt.Sprint("text ", n, " of ", col, "xxxxxxxxxxxx"[:r.IntN(12)])
					row.Cells = append(row.Cells, grid.Cell{Col: col + 1, Kind: grid.Text, Raw: []byte(text)})
					texts = append(texts, text)
				}
				w.Add(&row)
				want = append(want, texts)
				continue
			}
			if len(want) > 1 && r.IntN(4) == 0 { // as of a merged area
				b := &w.Row(0)[0]
				b.off, b.n = uint32(len(w.arena)), 4
				w.arena = append(w.arena, "lent"...)
				want[0][0] = "lent"
			}
			k := r.IntN(len(want) + 1)
			w.Drop(k)
			want = want[k:]
		}
		if len(w.Lines) != len(want) {
			t.Fatalf("%d rows are left, want %d", len(w.Lines), len(want))
		}
		for i := range want {
			var got []string
			for _, b := range w.Row(i) {
				got = append(got, w.Text(&b))
			}
			if !slices.Equal(got, want[i]) {
				t.Fatalf("row %d says %q, want %q", i, got, want[i])
			}
		}
	}
}

// BenchmarkDrop drops a row of a full window and adds one, as a sheet of many
// small tables does.
func BenchmarkDrop(b *testing.B) {
	var w Window
	row := grid.Row{N: 1}
	for col := range 40 {
		row.Cells = append(row.Cells, grid.Cell{Col: col + 1, Kind: grid.Text, Raw: []byte("a word and 12")})
	}
	for range 1024 {
		w.Add(&row)
	}
	for b.Loop() {
		w.Drop(1)
		w.Add(&row)
	}
}
