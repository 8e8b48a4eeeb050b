package look

import (
	"testing"

	"dropcut/convert/jobbook/sheet"
)

// Every dress has a look but the plain one, and what is filled in is told by a
// thick border, which a black-and-white printer shows whatever it makes of a tint.
func TestEveryDressHasALook(t *testing.T) {
	all := All()
	for i := 1; i < len(all); i++ {
		if all[i].Size == 0 {
			t.Errorf("dress %d has no look", i)
		}
	}
	for _, s := range []sheet.Style{Input, InputText, InputDate, InputLong, Tick} {
		if all[s].Border != sheet.Thick {
			t.Errorf("dress %d is filled in and has border %d", s, all[s].Border)
		}
	}
}
