package validate

import (
	"slices"
	"strings"
	"testing"

	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// Each source that tells of a tank is held against its chart: what was measured at
// the riser, the capacity it goes by, the certified one, the list's dimensions. The
// chart is that of worked example 1 (96 in, 10,027 gal).
func TestEvidenceAcrossSources(t *testing.T) {
	for name, k := range map[string]struct {
		change func(*plan.Tank)
		want   finding.Slug
		least  finding.Severity
	}{
		"nothing else is known": {func(*plan.Tank) {}, "", 0},
		"measured 2 in lower":   {func(k *plan.Tank) { k.FaceToBottom.V -= 2 }, finding.ChartOfAnotherDiameter, finding.Check},
		"measured 2 in higher":  {func(k *plan.Tank) { k.FaceToBottom.V += 2 }, finding.ChartOfAnotherDiameter, finding.Check},
		"the list says 94 3/4 in": {func(k *plan.Tank) {
			k.Diameter.V, k.RiserHeight, k.FaceToBottom = 94.75, cell.Of[unit.Length]{}, cell.Of[unit.Length]{}
		}, finding.ChartOfAnotherDiameter, finding.Check},
		"goes by 10,000 gal":              {func(k *plan.Tank) { k.Nominal = given[unit.Volume](10000, 2, 14) }, "", 0},
		"goes by 8,000 gal":               {func(k *plan.Tank) { k.Nominal = given[unit.Volume](8000, 2, 14) }, finding.ChartOfAnotherLength, finding.Check},
		"certified for 10,027 gal":        {func(k *plan.Tank) { k.Certified = given[unit.Volume](10027, 2, 14) }, "", 0},
		"certified for 9,800 gal":         {func(k *plan.Tank) { k.Certified = given[unit.Volume](9800, 2, 14) }, finding.ChartOfAnotherLength, finding.Check},
		"goes by 12,000 imperial gallons": {func(k *plan.Tank) { k.Nominal = given[unit.Volume](12042, 2, 14) }, finding.ImperialGallons, finding.Check},
	} {
		job := invented(t, 1)
		k.change(&job.Tanks[0])
		r := only(t, job, plan.Options{})
		got := r.All()
		i := slices.IndexFunc(got, func(f finding.Finding) bool { return f.Slug == k.want })
		if k.want == "" && finding.Worst(got) > finding.Note || k.want != "" && (i < 0 || got[i].Severity < k.least) {
			t.Errorf("%s: want %q, got %v", name, k.want, slugs(got))
		}
	}
}

// A chart that holds a set of tanks is held against the capacity of all of them.
func TestChartOfASet(t *testing.T) {
	for tanks, want := range map[string]finding.Severity{"A+B": finding.Note, "A": finding.Check} {
		job := invented(t, 1)
		job.Tanks[0].Nominal = given[unit.Volume](10000, 2, 14)
		c := job.Charts[0]
		c.Name = tanks
		for i := range c.Rows {
			c.Rows[i].Volume *= 2
		}
		r := only(t, job, plan.Options{})
		if got := finding.Worst(r.Findings); got > finding.Note != (want > finding.Note) {
			t.Errorf("%s: %v", tanks, slugs(r.Findings))
		}
	}
}

// What the plan finds and the audit has named more closely is said once, as grave
// as either takes it, with what follows from it.
func TestSaidMoreClosely(t *testing.T) {
	for _, k := range []struct {
		said, plan finding.Slug
		why        string
	}{
		{finding.WrongDigit, finding.ChartNotUsable, "no level can be read from such a chart: falling volumes"},
		{finding.ChartStopsEarly, finding.ChartBelowLimit, "falling volumes where rising ones is needed"},
		{finding.RowsPastFull, finding.HeightsDiffer, "two heights"},
		{finding.ScaledNominalChart, finding.DiameterDoubtful, "two heights"},
		{finding.UnitsDoubtful, finding.CapacityDiffersNominal, "two heights"},
	} {
		r := Result{Findings: []finding.Finding{{Slug: k.said, Severity: finding.Check, Why: "seen"}}}
		r.add([]finding.Finding{{Slug: k.plan, Severity: finding.Stop, Found: "falling volumes", Expected: "rising ones", Why: "two heights"}})
		if f := r.Findings; len(f) != 1 || f[0].Slug != k.said || f[0].Severity != finding.Stop || f[0].Why != "seen; "+k.why {
			t.Errorf("%s over %s: %+v", k.said, k.plan, f)
		}
	}
	// What says something else is said too.
	r := Result{Findings: []finding.Finding{{Slug: finding.RowMissing, Severity: finding.Check}}}
	if r.add([]finding.Finding{{Slug: finding.HeightsDiffer, Severity: finding.Check}}); len(r.Findings) != 2 {
		t.Errorf("%v", slugs(r.Findings))
	}
	// A chart that a stop is about already need not be called unusable as well.
	r = Result{Elsewhere: []finding.Finding{{Slug: finding.UnitsUnknown, Severity: finding.Stop}}}
	if r.add([]finding.Finding{{Slug: finding.ChartNotUsable, Severity: finding.Stop}}); len(r.Findings) != 0 {
		t.Errorf("%v", slugs(r.Findings))
	}
}

// A row is not missing where its depth could not be read: the reading names that
// cell.
func TestUnreadDepthIsNoGap(t *testing.T) {
	date := finding.Finding{Slug: finding.DepthTurnedIntoDate, At: cell.Ref{File: "b", Sheet: "s", Col: 1, Row: 6}}
	gap := func(row int) finding.Finding {
		return finding.Finding{Slug: finding.RowMissing, At: cell.Ref{File: "b", Sheet: "s", Col: 1, Row: row}}
	}
	r := Result{Elsewhere: []finding.Finding{date}}
	got := r.unreadGaps([]finding.Finding{gap(7), gap(9), {Slug: finding.WrongDigit, At: date.At}})
	if len(got) != 2 || got[0].At.Row != 9 || got[1].Slug != finding.WrongDigit {
		t.Errorf("%+v", got)
	}
}

// A chart that cannot be used is told by the first of the tanks that share it and
// holds for all; a caller may leave the charts without a tank at any time.
func TestSharedChartOfNoUse(t *testing.T) {
	job := invented(t, 3)
	job.ChartOf[1] = 0
	job.Charts[0].Rows = job.Charts[0].Rows[:1]
	results := slices.Collect(Run(job, plan.Options{}))
	if results[0].Status != Stop || results[1].Status != Stop || results[2].Status != Ready {
		t.Errorf("%s, %s, %s", results[0].Status, results[1].Status, results[2].Status)
	}
	if !slices.Contains(slugs(results[0].Findings), "stop chart-not-usable") || slices.Contains(slugs(results[1].Findings), "stop chart-not-usable") || !slices.Contains(slugs(results[1].Elsewhere), "stop chart-not-usable") {
		t.Errorf("%v; %v and %v", slugs(results[0].Findings), slugs(results[1].Findings), slugs(results[1].Elsewhere))
	}
	job.ChartOf[2] = -1
	n := 0
	for l := range LooseCharts(job, plan.Options{}) {
		if n++; l.Chart == nil || !strings.HasPrefix(l.Chart.Name, "B") && !strings.HasPrefix(l.Chart.Name, "C") {
			t.Errorf("%+v", l.Chart)
		}
		break
	}
	if n != 1 {
		t.Errorf("%d charts", n)
	}
}

// Only what is known goes into an order, under the tank's name and site; a saw that
// takes less than nothing is an error.
func TestOrdersOfWhatIsKnown(t *testing.T) {
	job := invented(t, 2)
	job.Devices[0].StockUpper, job.Devices[0].StockLower = given[unit.Length](60, 2, 12), given[unit.Length](120, 2, 13)
	job.Tanks[0].Site = given("Harbor Road", 2, 15)
	job.Tanks[1].RiserHeight, job.Tanks[1].FaceToBottom = cell.Of[unit.Length]{}, cell.Of[unit.Length]{}
	results := slices.Collect(Run(job, plan.Options{}))
	orders, err := Orders(results, plan.SawCut)
	if err != nil || len(orders) != 2 || len(orders[0].Plan.Stick) != 1 || orders[0].Plan.Stick[0].Pieces[0].For != "A, Harbor Road" {
		t.Errorf("%+v, %v", orders, err)
	}
	if _, err := Orders(results, -1); err == nil {
		t.Error("a saw of -1 in is taken")
	}
}
