package main

import (
	"bytes"
	"strings"
	"testing"

	"dropcut/convert/jobbook/returned"
	"dropcut/plan"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// What was built a hair above the limit was printed as 95.00 % of 95 %.
func TestCollectedShareIsNotRoundedOntoTheLimit(t *testing.T) {
	for _, c := range []struct {
		share unit.Percent
		want  string
	}{
		{95.0004, "shuts off at 95.0004 %, limit 95 %"},
		{94.9996, "shuts off at 94.99 %, limit 95 %"},
	} {
		all := &returned.Collection{Outcomes: make([]returned.Outcome, 1)}
		one := &all.Outcomes[0]
		one.Result, one.Status = &validate.Result{Tank: &plan.Tank{}}, "stop"
		one.Built.ShutoffPercent = plan.Value[unit.Percent]{V: c.share, Known: true}
		one.Built.Planned.LimitPercent = plan.Value[unit.Percent]{V: 95, Known: true}
		var b bytes.Buffer
		printCollected(&b, "tanks.xlsx", all)
		if !strings.Contains(b.String(), c.want+"\n") {
			t.Errorf("%v of 95 is printed as %q, want %q", c.share, b.String(), c.want)
		}
	}
}
