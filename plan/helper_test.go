package plan

import (
	"dropcut/plan/shape"
)

// tankOf gives the level body of a tank's dimensions.
func tankOf(t *Tank) (*shape.Tank, error) {
	m := &maker{t: t, quiet: true, inside: t.Diameter.V}
	s, _ := m.spec(t.Length.V)
	return shape.New(s)
}
