package change

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// book makes a job of one tank and its chart, rising by the square of the depth.
func book(rows int) Side {
	c := &chart.Chart{Name: "T-1", DepthUnit: unit.Inches, VolumeUnit: unit.USGallons, At: cell.Ref{File: "a.xlsx", Sheet: "Charts"}}
	for i := range rows {
		c.Rows = append(c.Rows, chart.Row{Depth: float64(i), Volume: float64(i * i), SheetRow: int32(i + 2), DepthCol: 2, VolumeCol: 3})
	}
	t := plan.Tank{ID: cell.Of[string]{V: "T-1", Raw: "T-1"}, Site: cell.Of[string]{V: "Harbor Road", Raw: "Harbor Road"}, At: cell.Ref{File: "a.xlsx", Sheet: "Tanks", Row: 2}}
	t.RiserHeight = cell.Of[unit.Length]{V: 40.5, Raw: "40 1/2", At: cell.Ref{File: "a.xlsx", Sheet: "Tanks", Col: 5, Row: 2}}
	job := &plan.Job{Tanks: []plan.Tank{t}, Charts: []*chart.Chart{c}, ChartOf: []int{0}}
	return Side{Job: job, Results: []validate.Result{{Tank: &job.Tanks[0], Chart: c, Status: validate.Ready}}}
}

func only(t *testing.T, s Set) Record {
	t.Helper()
	if len(s.Records) != 1 {
		t.Fatalf("%d records, want 1: %+v", len(s.Records), s.Records)
	}
	return s.Records[0]
}

func TestABookAgainstItself(t *testing.T) {
	if s := Compare(book(97), book(97)); len(s.Records) != 0 || s.Summary() != "no changes" {
		t.Errorf("a book differs from itself: %+v", s.Records)
	}
}

func TestOneCorrectedDigitIsOneChange(t *testing.T) {
	b := book(97)
	b.Job.Charts[0].Rows[57].Volume = 3294
	r := only(t, Compare(book(97), b))
	if r.Subject != OfChart || r.What != "volume at 57 in" || r.Old != "3249" || r.New != "3294" || r.NewAt.Cell() != "Charts!C59" {
		t.Errorf("got %+v", r)
	}
}

func TestOneCorrectedDepthIsOneChange(t *testing.T) {
	b := book(97)
	b.Job.Charts[0].Rows[57].Depth = 57.5
	r := only(t, Compare(book(97), b))
	if r.What != "depth of a row" || r.Old != "57 in" || r.New != "57.5 in" {
		t.Errorf("got %+v", r)
	}
}

func TestRowsMovedAreNoChange(t *testing.T) {
	b := book(97)
	rand.New(rand.NewPCG(1, 2)).Shuffle(97, func(i, j int) {
		rows := b.Job.Charts[0].Rows
		rows[i], rows[j] = rows[j], rows[i]
	})
	if s := Compare(book(97), b); len(s.Records) != 0 {
		t.Errorf("shuffled rows make %d changes, the first %+v", len(s.Records), s.Records[0])
	}
}

func TestARowAddedAndARowGone(t *testing.T) {
	b := book(97)
	b.Job.Charts[0].Rows = append(b.Job.Charts[0].Rows[:30:30], b.Job.Charts[0].Rows[31:]...)
	r := only(t, Compare(book(97), b))
	if r.What != "row at 30 in" || r.Old != "900" || r.New != "" {
		t.Errorf("a row gone: %+v", r)
	}
	r = only(t, Compare(b, book(97)))
	if r.What != "row at 30 in" || r.Old != "" || r.New != "900" {
		t.Errorf("a row added: %+v", r)
	}
}

// The same chart in other units, rounded as such charts are, is the same chart
// but for its units.
func TestOtherUnitsAreOneChangeEach(t *testing.T) {
	b := book(97)
	c := b.Job.Charts[0]
	c.DepthUnit, c.VolumeUnit = unit.Millimetres, unit.Litres
	for i := range c.Rows {
		r := &c.Rows[i]
		r.Depth = math.Round(r.Depth*25.4*10) / 10
		r.Volume = math.Round(r.Volume * 3.785411784)
	}
	s := Compare(book(97), b)
	if len(s.Records) != 2 || s.Records[0].What != "depth unit" || s.Records[1].What != "volume unit" {
		t.Errorf("got %+v", s.Records)
	}
}

// Where the unit was corrected and the numbers stayed, only the unit changed.
func TestACorrectedUnitUnderTheSameNumbers(t *testing.T) {
	b := book(97)
	b.Job.Charts[0].VolumeUnit = unit.Litres
	r := only(t, Compare(book(97), b))
	if r.What != "volume unit" || r.Old != "gal" || r.New != "L" {
		t.Errorf("got %+v", r)
	}
}

func TestFloatNoiseIsNoChange(t *testing.T) {
	b := book(97)
	b.Job.Charts[0].Rows[82].Depth = 81.999999
	if s := Compare(book(97), b); len(s.Records) != 0 {
		t.Errorf("81.999999 for 82 is told as %+v", s.Records)
	}
}

func TestATankValueAndWhatFollows(t *testing.T) {
	a, b := book(97), book(97)
	b.Job.Tanks[0].RiserHeight.V, b.Job.Tanks[0].RiserHeight.Raw = 41, "41"
	a.Results[0].Cut.UpperTube, b.Results[0].Cut.UpperTube = plan.Known[unit.Length](46), plan.Known[unit.Length](46.5)
	a.Results[0].Cut.ShutoffDepth, b.Results[0].Cut.ShutoffDepth = plan.Known[unit.Length](86), plan.Known[unit.Length](86.5)
	s := Compare(a, b)
	if len(s.Records) != 3 || s.Tanks != 1 {
		t.Fatalf("got %+v", s.Records)
	}
	if r := s.Records[0]; r.What != "riser height" || r.Old != "40 1/2" || r.New != "41" || r.NewAt.Cell() != "Tanks!E2" {
		t.Errorf("the input: %+v", r)
	}
	if r := s.Records[1]; r.What != "shutoff depth" || r.Moved != Up {
		t.Errorf("the shutoff: %+v", r)
	}
	if want := "1 change: 1 in the tank list; 1 plan follows: 1 shutoff moves up (towards the limit), 0 down"; s.Summary() != want {
		t.Errorf("summary %q, want %q", s.Summary(), want)
	}
	var text strings.Builder
	if err := s.WriteText(&text); err != nil {
		t.Fatal(err)
	}
	if want := "  so shutoff depth: 86 in -> 86.5 in, up, towards the limit  (Tanks!2)\n"; !strings.Contains(text.String(), want) {
		t.Errorf("text lacks %q:\n%s", want, text.String())
	}
}

func TestTanksMovedRenamedAddedGone(t *testing.T) {
	a, b := book(97), book(97)
	b.Job.Tanks[0].At.Row = 40
	b.Job.Tanks[0].Site = cell.Of[string]{V: "Harbor Street", Raw: "Harbor Street"}
	r := only(t, Compare(a, b))
	if r.What != "site" || r.Old != "Harbor Road" || r.New != "Harbor Street" {
		t.Errorf("a renamed site: %+v", r)
	}
	b = book(97)
	b.Job.Tanks[0].ID = cell.Of[string]{V: "T-9", Raw: "T-9"}
	s := Compare(a, b)
	if len(s.Records) != 2 || s.Records[0].New != "T-9" || s.Records[1].Old != "T-1" {
		t.Errorf("one tank for another: %+v", s.Records)
	}
}

// The measure of speed: charts of a million rows with a few edits.
func BenchmarkCompareCharts(b *testing.B) {
	x, y := book(1000), book(1000)
	y.Job.Charts[0].Rows[500].Volume++
	b.ReportAllocs()
	for b.Loop() {
		if len(Compare(x, y).Records) != 1 {
			b.Fatal("not one change")
		}
	}
}
