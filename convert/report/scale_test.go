package report

import (
	"bytes"
	"fmt"
	"io"
	"io/fs"
	"runtime"
	"testing"

	"dropcut/plan/unit"
	"dropcut/templates"
)

// manyRecords gives the records of n tanks as bytes.
func manyRecords(t testing.TB, n int) Records {
	t.Helper()
	var data [][]byte
	for _, r := range manyBooks(t, n) {
		data = append(data, bytesOf(t, r))
	}
	return Records{N: len(data), Open: func(i int) (Source, error) { return source{bytes.NewReader(data[i])}, nil }}
}

// theEnd is the last step of a run: everything that is written for a whole folder.
func theEnd(t testing.TB, records Records) {
	t.Helper()
	files, err := fs.Sub(templates.FS, templates.PageDir)
	if err != nil {
		t.Fatal(err)
	}
	f, err := Gather(records, Folder{Name: "books", Version: "test", Units: Units{Length: unit.Inches, Volume: unit.USGallons}})
	if err != nil {
		t.Fatal(err)
	}
	f.perPage = 500
	parts := f.Parts()
	for i := range parts {
		if err := f.WritePage(io.Discard, files, parts, i); err != nil {
			t.Fatal(err)
		}
	}
	if err := f.WriteWorkbook(io.Discard); err != nil {
		t.Fatal(err)
	}
	if err := f.WriteCSV(io.Discard); err != nil {
		t.Fatal(err)
	}
}

// The last step asks for memory in proportion to the tanks: four times as many
// take four times as much, give or take what is taken once.
func TestTheEndGrowsWithTheTanks(t *testing.T) {
	taken := func(n int) float64 {
		records := manyRecords(t, n)
		theEnd(t, records) // what is made once is made
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		theEnd(t, records)
		runtime.ReadMemStats(&after)
		return float64(after.TotalAlloc - before.TotalAlloc)
	}
	few, many := taken(500), taken(2000)
	t.Logf("500 tanks %.1f MB, 2,000 tanks %.1f MB", few/1e6, many/1e6)
	if ratio := many / few; ratio > 4.4 {
		t.Errorf("2,000 tanks take %.1f times as much as 500, want at most 4.4", ratio)
	}
}

func BenchmarkTheEnd(b *testing.B) {
	for _, n := range []int{1000, 4000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			records := manyRecords(b, n)
			b.ReportAllocs()
			for b.Loop() {
				theEnd(b, records)
			}
			b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N)/float64(n), "us/tank")
		})
	}
}
