package validate

import (
	"slices"
	"testing"

	"dropcut/plan"
	"dropcut/plan/unit"
)

// Every tube that may be cut stands in one order once, one too long for the
// stock apart, and a tank with a stop in none.
func TestOrders(t *testing.T) {
	job := invented(t, 6)
	job.Devices[0].StockUpper, job.Devices[0].StockLower = given[unit.Length](60, 2, 12), given[unit.Length](120, 2, 13)
	job.Tanks[1].RiserHeight, job.Tanks[1].FaceToBottom = given[unit.Length](60, 3, 7), given[unit.Length](156, 3, 8) // upper tube 67 5/8
	job.ChartOf[5] = -1
	results := slices.Collect(Run(job, plan.Options{}))
	orders, err := Orders(results, plan.SawCut)
	if err != nil || len(orders) != 2 {
		t.Fatalf("%d orders, %v", len(orders), err)
	}
	upper, lower := orders[0], orders[1]
	if !upper.Upper || lower.Upper {
		t.Fatal("the order of the orders")
	}
	count := func(o Order) (n int) {
		for _, s := range o.Plan.Stick {
			n += len(s.Pieces)
		}
		return n
	}
	if count(upper) != 4 || len(upper.TooLong) != 1 || upper.TooLong[0].For != "B" || count(lower) != 5 {
		t.Errorf("upper %d and %v, lower %d", count(upper), upper.TooLong, count(lower))
	}
	// 48 7/8 in of 60: one each. 69 1/2 in of 120: one each.
	if len(upper.Plan.Stick) != 4 || upper.Plan.Bound != 4 || len(lower.Plan.Stick) != 5 {
		t.Errorf("%d and %d tubes, bound %d", len(upper.Plan.Stick), len(lower.Plan.Stick), upper.Plan.Bound)
	}
	if want := 100 * (60 - 48.875) / 60; float64(upper.Waste)-want > 1e-9 || want-float64(upper.Waste) > 1e-9 {
		t.Errorf("waste %v %%, want %v", upper.Waste, want)
	}
}
