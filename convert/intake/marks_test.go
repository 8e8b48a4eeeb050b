package intake

import (
	"fmt"
	"strings"
	"testing"

	"dropcut/convert/csvfile"
	"dropcut/convert/grid"
)

// One 1.411 among 1412 and 1587 is a slip and not a mark of thousands: it is
// read as it stands, for the audit to name, and never turned into 1411 in
// silence. Where all the large numbers carry the point it is their mark.
func TestOneMarkAmongPlainNumbersIsNotRepaired(t *testing.T) {
	chartOf := func(volume func(i int) string) float64 {
		var b strings.Builder
		b.WriteString("Depth (in),Volume (gal)\n")
		for i := range 31 {
			fmt.Fprintf(&b, "%d,%s\n", i, volume(i))
		}
		book, err := csvfile.FromBytes("one.csv", []byte(b.String()))
		if err != nil {
			t.Fatal(err)
		}
		r, err := Read([]grid.Book{book}, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if len(r.Job.Charts) != 1 || len(r.Job.Charts[0].Rows) != 31 {
			t.Fatalf("not one chart of 31 rows: %d charts", len(r.Job.Charts))
		}
		return r.Job.Charts[0].Rows[15].Volume
	}
	v := func(i int) int { return i*i*6 + 61 } // 1411 at 15
	got := chartOf(func(i int) string {
		if i == 15 {
			return "1.411"
		}
		return fmt.Sprint(v(i))
	})
	if got != 1.411 {
		t.Errorf("one 1.411 among plain numbers was read as %v", got)
	}
	got = chartOf(func(i int) string {
		if n := v(i); n >= 1000 {
			return fmt.Sprintf("%d.%03d", n/1000, n%1000)
		}
		return fmt.Sprint(v(i))
	})
	if got != 1411 {
		t.Errorf("1.411 among others of its kind was read as %v", got)
	}
}
