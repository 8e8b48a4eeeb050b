package charts

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"dropcut/convert/intake/intaketest"
	"dropcut/convert/intake/look"
)

// Plain rows of long sheets are read past the window. Read with and without that
// short way, any sheet gives the same charts, tables and findings.
func TestPlainRows_sameAsTheLongWay(t *testing.T) {
	same := func(t *testing.T, s intaketest.Sheet) {
		t.Helper()
		short, err := readOnce(s, Options{}, nil)
		if err != nil {
			t.Fatal(err)
		}
		// A sheet with merged areas goes the long way; here there are none.
		long, err := readOnce(s, Options{}, &look.TallMerges{})
		if err != nil {
			t.Fatal(err)
		}
		if len(short.Charts) != len(long.Charts) {
			t.Fatalf("%d charts, the long way %d", len(short.Charts), len(long.Charts))
		}
		for i, c := range short.Charts {
			o := *long.Charts[i]
			if len(c.Rows) != len(o.Rows) {
				t.Fatalf("%s: %d rows, the long way %d", c.Name, len(c.Rows), len(o.Rows))
			}
			for k := range c.Rows {
				if x, y := fmt.Sprint(c.Rows[k]), fmt.Sprint(o.Rows[k]); x != y {
					t.Fatalf("%s, row %d: %s, the long way %s", c.Name, k, x, y)
				}
			}
			x := *c
			x.Rows, o.Rows = nil, nil
			if fmt.Sprintf("%+v", x) != fmt.Sprintf("%+v", o) {
				t.Fatalf("chart %+v, the long way %+v", x, o)
			}
		}
		if a, b := fmt.Sprintf("%+v", short.Findings), fmt.Sprintf("%+v", long.Findings); a != b {
			t.Fatalf("findings\n%s\nthe long way\n%s", a, b)
		}
		if !reflect.DeepEqual(short.Tables, long.Tables) || !reflect.DeepEqual(short.Refused, long.Refused) {
			t.Fatalf("tables %+v\nthe long way %+v", short.Tables, long.Tables)
		}
	}
	for i := range 40 {
		rng := rand.New(rand.NewPCG(uint64(i), 3))
		t.Run(strconv.Itoa(i), func(t *testing.T) {
			text, tab := longWithFaults(rng), ""
			if i%2 == 1 {
				tab = "Charts"
			}
			same(t, intaketest.Sheet{File: "long.csv", Name: tab, Text: text})
		})
	}
	for _, list := range [][]layoutCase{layoutCases(), faultCases(), strayCases(), pageCases(), nameCases()} {
		for _, c := range list {
			t.Run(c.name, func(t *testing.T) { same(t, c.sheet()) })
		}
	}
}

// longWithFaults writes a list of more rows than the window holds, with a spoiled
// row here and there, with ids in each row or where a tank begins.
func longWithFaults(rng *rand.Rand) string {
	var b strings.Builder
	ids := rng.IntN(3)
	if ids == 2 {
		b.WriteString("Tank PL-0\nDepth (in)|Volume (gal)\n")
	} else {
		b.WriteString("Tank|Depth (in)|Volume (gal)\n")
	}
	faults := rng.IntN(3) * 4
	for tank := range 30 {
		for k := range 97 {
			d := float64(k)
			id, depth, volume := "PL-"+strconv.Itoa(tank), intaketest.Num(d), intaketest.Num(curve(d, 10000))
			if ids == 1 && k > 0 {
				id = ""
			}
			if rng.IntN(1000) < faults {
				switch rng.IntN(12) {
				case 0:
					depth = ""
				case 1:
					volume = ""
				case 2:
					volume = "n/a"
				case 3:
					depth = "4o"
				case 4:
					volume = "1,0" + volume
				case 5:
					id = strings.ToLower(id)
				case 6:
					b.WriteString("\n\n\n")
				case 7:
					b.WriteString("Page 3\n")
				case 8:
					volume += " gal"
				case 9:
					depth = "12 3/8"
				case 10:
					depth, volume = volume, depth
				case 11:
					b.WriteString("Total|" + volume + "\n")
				}
			}
			if ids == 2 {
				b.WriteString(depth + "|" + volume + "\n")
			} else {
				b.WriteString(id + "|" + depth + "|" + volume + "\n")
			}
		}
	}
	return b.String()
}
