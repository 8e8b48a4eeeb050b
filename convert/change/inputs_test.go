package change

import (
	"math"
	"math/big"
	"math/rand/v2"
	"slices"
	"testing"

	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/unit"
)

// The sums modulo 2^61 - 1, held against big whole numbers of the standard library.
func TestFieldAgainstBigNumbers(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	p := new(big.Int).SetUint64(modulus)
	for range 20_000 {
		a, b := r.Uint64N(modulus), r.Uint64N(modulus)
		want := new(big.Int).Mul(new(big.Int).SetUint64(a), new(big.Int).SetUint64(b))
		if got := product(a, b); got != want.Mod(want, p).Uint64() {
			t.Fatalf("%d times %d is %d", a, b, got)
		}
	}
	for _, a := range []uint64{1, 2, modulus - 1} {
		if product(a, power(a, modulus-2)) != 1 {
			t.Errorf("%d has no inverse", a)
		}
	}
}

// Whatever values of a chart are changed, up to as many as the sums tell, they name
// each row and what stood there; more are never taken for fewer. An earlier version
// kept three sums, which tell one.
func TestChangedValuesAreFoundByTheSums(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for range 2000 {
		old := &chart.Chart{}
		n := volumeSums + r.IntN(400)
		for i := range n {
			old.Rows = append(old.Rows, chart.Row{Depth: float64(i) / 8, Volume: math.Round(r.Float64()*1e6) / 100})
		}
		now := &chart.Chart{Rows: slices.Clone(old.Rows)}
		many := 1 + r.IntN(volumeSums/2+2)
		rows := r.Perm(n)[:many]
		slices.Sort(rows)
		for _, at := range rows {
			for now.Rows[at].Volume == old.Rows[at].Volume {
				now.Rows[at].Volume = math.Round(r.Float64()*1e9) / 1e4
			}
			if r.IntN(20) == 0 {
				now.Rows[at].Volume = math.NaN()
			}
		}
		depths, a := sketchOf(old)
		same, b := sketchOf(now)
		if !slices.Equal(depths, same) {
			t.Fatal("the depths are told as changed")
		}
		back, good := readSketch(b.String())
		if !good || !slices.Equal(back, b) {
			t.Fatalf("%v is read back as %v", b, back)
		}
		for _, sums := range []int{volumeSums, 3} {
			list, ok := a[:sums].changed(b, n)
			if ok != (many <= sums/2) {
				t.Fatalf("%d changed rows of %d by %d sums: %v, %v", many, n, sums, list, ok)
			}
			for i, one := range list {
				at := rows[i]
				if got := before(now.Rows[at].Volume, one.diff); one.row != at || got != old.Rows[at].Volume {
					t.Fatalf("row %d of %d, %v to %v: found row %d, %v", at, n, old.Rows[at].Volume, now.Rows[at].Volume, one.row, got)
				}
			}
		}
	}
}

func BenchmarkSketch(b *testing.B) {
	c := book(200).Job.Charts[0]
	for b.Loop() {
		sketchOf(c)
	}
}

func inputs(s Side) Inputs {
	return InputsOf(s, ChartInputs(s.Job), func(cell.Ref) bool { return true })
}

func sinceOf(a, b Side) []Record {
	return append(inputs(a).Since(inputs(b), b), inputs(a).ChartsSince(ChartInputs(b.Job), b.Job)...)
}

func TestInputsTellWhatCompareTells(t *testing.T) {
	for name, edit := range map[string]func(*Side){
		"nothing":         func(*Side) {},
		"a digit":         func(s *Side) { s.Job.Charts[0].Rows[57].Volume = 3294 },
		"a depth":         func(s *Side) { s.Job.Charts[0].Rows[57].Depth = 57.5 },
		"a riser":         func(s *Side) { s.Job.Tanks[0].RiserHeight.V, s.Job.Tanks[0].RiserHeight.Raw = 41, "41" },
		"a site":          func(s *Side) { s.Job.Tanks[0].Site = cell.Of[string]{V: "Harbor Street", Raw: "Harbor Street"} },
		"a unit":          func(s *Side) { s.Job.Charts[0].VolumeUnit = unit.Litres },
		"a riser is gone": func(s *Side) { s.Job.Tanks[0].RiserHeight = cell.Of[unit.Length]{} },
	} {
		a, b := book(97), book(97)
		edit(&b)
		want := Compare(a, b).Records
		got := sinceOf(a, b)
		if len(got) != len(want) {
			t.Errorf("%s: %+v, want %+v", name, got, want)
			continue
		}
		for i := range got {
			want[i].OldAt = cell.Ref{} // the old book is gone
			if want[i].New == "" {
				want[i].NewAt = b.Job.Tanks[0].At
			}
			if got[i] != want[i] {
				t.Errorf("%s: %+v, want %+v", name, got[i], want[i])
			}
		}
	}
}

// A number that was written anew in another way is the same number; the same text
// under another unit is another height.
func TestKeptValuesMeanWhatTheyMeant(t *testing.T) {
	a, b := book(9), book(9)
	b.Job.Tanks[0].RiserHeight.Raw = "40.5"
	if got := sinceOf(a, b); len(got) != 0 {
		t.Errorf("40 1/2 and 40.5: %+v", got)
	}
	b.Job.Tanks[0].RiserHeight.Raw, b.Job.Tanks[0].RiserHeight.V = "40 1/2", 40.5/25.4
	got := sinceOf(a, b)
	if len(got) != 1 || got[0].Old == got[0].New {
		t.Errorf("40 1/2 in inches and in millimetres: %+v", got)
	}
}

func TestSeveralRowsAreTold(t *testing.T) {
	a, b := book(97), book(97)
	b.Job.Charts[0].Rows[5].Volume, b.Job.Charts[0].Rows[50].Volume = 26, 2501
	want := Compare(a, b).Records
	got := sinceOf(a, b)
	for i := range want {
		want[i].OldAt = cell.Ref{} // the old book is gone
	}
	if len(got) != 2 || !slices.Equal(got, want) {
		t.Errorf("got %+v, want %+v", got, want)
	}
	for i := range 9 {
		b.Job.Charts[0].Rows[20+i].Volume += 3
	}
	got = sinceOf(a, b)
	if len(got) != 1 || got[0].What != "rows" || got[0].New != severalRows(6) {
		t.Errorf("got %+v", got)
	}
	b = book(98)
	got = sinceOf(a, b)
	if len(got) != 1 || got[0].What != "rows" || got[0].Old != "97 rows" || got[0].New != "98 rows" {
		t.Errorf("got %+v", got)
	}
}
