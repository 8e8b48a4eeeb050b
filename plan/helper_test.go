package plan

import (
	"testing"
	"time"

	"dropcut/plan/shape"
)

// tankOf gives the level body of a tank's dimensions.
func tankOf(t *Tank) (*shape.Tank, error) {
	m := &maker{t: t, quiet: true, inside: t.Diameter.V}
	s, _ := m.spec(t.Length.V)
	return shape.New(s)
}

// h99 is an end that no tank has.
func h99() shape.Head { return shape.Head{Kind: 99} }

func date(t *testing.T, s string) time.Time {
	t.Helper()
	d, err := time.Parse(time.DateOnly, s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}
