package returned

import (
	"os"
	"path/filepath"
	"testing"

	"dropcut/convert/peer"
)

// A book that LibreOffice has saved, with rows inserted and fields filled in, is
// read back with every field in its place.
func TestRoundTripThroughLibreOffice(t *testing.T) {
	o := newOffice(t)
	s := open(t, o.job("Millrace Fuel Stop", false))
	s.fill(1, 48.875, 69.5, 131.25)
	s.fill(3, "52 1/8", 63.5, "nonsense")
	s.put("t2_remarks", "sump full of water; not done")
	if err := s.f.InsertRows("MR-1", 3, 2); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "back.xlsx")
	if err := s.f.SaveAs(path); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(peer.Convert(t, path, "xlsx"))
	if err != nil {
		t.Fatal(err)
	}
	back := returned(t, "back.xlsx", data)
	got := o.collect(back)
	everythingListed(t, back, got)
	status := map[string]string{}
	for _, x := range got.Outcomes {
		status[x.Result.Tank.ID.Raw] = x.Status
	}
	if status["MR-1"] != "done" || status["MR-3"] != "check" || status["MR-2"] != "check" {
		t.Errorf("%v; said %q", status, allSlugs(got))
	}
}
