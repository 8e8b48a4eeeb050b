package notes

import "testing"

func FuzzParseRuns(f *testing.F) {
	for _, s := range []string{"A1", "A4:A36 C4:C36", "B10:B2", "$A$1:$B$2", "A:B", "1:2", "XFD1048576", "A1:XFD1048576", ":", "A1:", "a1;b2,c3"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		runs, err := ParseRuns(s)
		if err != nil {
			return
		}
		again, err := ParseRuns(RunsText(runs))
		if err != nil || RunsText(again) != RunsText(runs) {
			t.Errorf("%q is %q, and that %q, %v", s, RunsText(runs), RunsText(again), err)
		}
		if RunsLen(runs) > MostCells {
			t.Errorf("%q names %d cells", s, RunsLen(runs))
		}
		for _, r := range runs {
			for i := range min(r.Len(), 50) {
				col, row := r.CellAt(i)
				if k, ok := r.Index(col, row); !ok || k != i {
					t.Errorf("cell %d of %s is found at %d", i, r, k)
				}
			}
		}
	})
}
