package field

import "testing"

func TestFieldNames(t *testing.T) {
	for s, want := range map[string]bool{"t1_riser": true, "T12_KEY_cut": true, "t0_visit": true, "job_key": false, "t_x": false, "t1_": false, "t-1_x": false, "Tanks!A1": false} {
		if _, _, ok := FieldName(s); ok != want {
			t.Errorf("%s: %v", s, ok)
		}
	}
}
