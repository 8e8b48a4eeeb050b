package returned

import (
	"strings"
	"testing"

	"dropcut/plan/cell"
)

func TestNamesThatStandForCells(t *testing.T) {
	for s, want := range map[string]string{"'MR-1'!$E$17": "MR-1!E17", "$Cover.$A$1": "", "Cover!$B$4": "Cover!B4", "'it''s'!$A$1:$B$2": "it's!A1", "#REF!$A$1": "", "'A'!#REF!": ""} {
		ref, ok := refersTo("", s)
		if ok != (want != "") && s != "#REF!$A$1" || ok && want != "" && ref.Cell() != want {
			t.Errorf("%s stands for %v, %v", s, ref, ok)
		}
	}
}

// Whatever stands in the names and keys of a book that comes back, it is read or
// refused, and no part of a key gets lost.
func FuzzKeys(f *testing.F) {
	f.Add("dropcut page | cut | Millrace | MR-1 | plan 00000000 | 12 formulas, in", "'MR-1'!$E$17")
	f.Add("dropcut page |  |  |  |  | ", "#REF!")
	f.Fuzz(func(t *testing.T, key, name string) {
		ref, _ := refersTo("f.xlsx", name)
		e := Entry{Text: key, At: ref}
		r := &Book{cells: map[string][]Entry{ref.Sheet: {e}}, named: map[cell.Ref]bool{}}
		tanks := map[int]*Tank{1: {Number: 1, Values: map[string]Entry{"key_cut": e}}}
		r.pages(tanks, []Entry{e}, map[string]int{})
		for _, x := range tanks {
			for _, p := range x.Pages {
				if !strings.Contains(key, p.Tank) || !strings.Contains(key, p.Site) || !strings.Contains(key, p.Plan) {
					t.Errorf("%q became %+v", key, p)
				}
			}
		}
		r.jobKey(key)
	})
}
