package unit

import (
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
)

func TestRoundTo(t *testing.T) {
	for _, c := range []struct {
		l, step Length
		dir     Direction
		want    Length
	}{
		{42.125000000000004, 0.125, Up, 42.125}, // noise makes no cut longer
		{42.124999999999996, 0.125, Down, 42.125},
		{42.1251, 0.125, Up, 42.25},
		{42.1251, 0.125, Down, 42.125},
		{42.1251, 0.125, Nearest, 42.125},
		{42.1875, 0.125, Nearest, 42.25},
		{20.3, 1.0 / 16, Up, 20.3125},
		{-1.01, 0.125, Up, -1},
		{-1.01, 0.125, Down, -1.125},
		{0, 0.125, Up, 0},
		{5, 0, Up, 5},
		{Millimetres.Length(1070.2), Millimetre, Up, Millimetres.Length(1071)},
		{Millimetres.Length(1070), Millimetre, Up, Millimetres.Length(1070)},
		{Millimetres.Length(1070), Millimetre, Down, Millimetres.Length(1070)},
		{Millimetres.Length(1072), Millimetres.Length(5), Up, Millimetres.Length(1075)},
		{Millimetres.Length(1070), Centimetre, Up, Centimetres.Length(107)},
	} {
		if got := RoundTo(c.l, c.step, c.dir); got != c.want {
			t.Errorf("%v to %v, %v: got %v, want %v", float64(c.l), float64(c.step), c.dir, float64(got), float64(c.want))
		}
	}
}

func TestRoundToKeepsItsDirection(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 100_000 {
		l := Length(r.Float64() * 200)
		step := []Length{1, 0.5, 0.125, 1.0 / 16, 1.0 / 64, Millimetre, Millimetres.Length(5), Centimetre}[r.IntN(8)]
		up, down := RoundTo(l, step, Up), RoundTo(l, step, Down)
		if up < l-Guard || down > l+Guard || up-down > step*1.000001 {
			t.Fatalf("%v to %v: up %v, down %v", float64(l), float64(step), float64(up), float64(down))
		}
		if RoundTo(up, step, Up) != up || RoundTo(up, step, Down) != up || RoundTo(up, step, Nearest) != up {
			t.Fatalf("%v on %v does not stay", float64(up), float64(step))
		}
	}
	for mm := range 5000 {
		l := Millimetres.Length(float64(mm))
		if up, down := RoundTo(l, Millimetre, Up), RoundTo(l, Millimetre, Down); up != l || down != l {
			t.Fatalf("%d mm rounds to %v and %v in", mm, float64(up), float64(down))
		}
	}
}

func TestFractionText(t *testing.T) {
	for _, c := range []struct {
		l    Length
		den  int
		dir  Direction
		want string
		feet string
	}{
		{42.125, 16, Up, "42 1/8", `3' 6 1/8"`},
		{42.1, 16, Up, "42 1/8", `3' 6 1/8"`},
		{42.1, 16, Down, "42 1/16", `3' 6 1/16"`},
		{42.1, 16, Nearest, "42 1/8", `3' 6 1/8"`},
		{98.375, 8, Nearest, "98 3/8", `8' 2 3/8"`},
		{96, 16, Nearest, "96", `8' 0"`},
		{11.5, 16, Nearest, "11 1/2", `11 1/2"`},
		{0.375, 16, Nearest, "3/8", `3/8"`},
		{0, 16, Nearest, "0", `0"`},
		{-3.5, 16, Nearest, "-3 1/2", `-3 1/2"`},
		{-0.01, 16, Up, "0", `0"`},
		{11.99, 16, Up, "12", `1' 0"`},
		{42.125000000000004, 8, Up, "42 1/8", `3' 6 1/8"`},
		{1.0 / 3, 3, Nearest, "1/3", `1/3"`},
		{Length(math.NaN()), 16, Up, "", ""},
		{Length(math.Inf(1)), 16, Up, "", ""},
		{5, 0, Up, "", ""},
	} {
		if got := FractionText(c.l, c.den, c.dir); got != c.want {
			t.Errorf("%v in 1/%d, %v: got %q, want %q", float64(c.l), c.den, c.dir, got, c.want)
		}
		if got := FeetText(c.l, c.den, c.dir); got != c.feet {
			t.Errorf("%v in 1/%d, %v: got %q, want %q", float64(c.l), c.den, c.dir, got, c.feet)
		}
	}
}

func TestDecimalText(t *testing.T) {
	for _, c := range []struct {
		x        float64
		decimals int
		dir      Direction
		want     string
	}{
		{42.1, 1, Down, "42.1"},
		{42.1, 1, Up, "42.1"},
		{42.100000000000001, 1, Up, "42.1"},
		{28.999999999999996, 0, Down, "29"}, // 0.29 times 100
		{6108.5, 0, Down, "6108"},           // printed rounded up in a county's table, which then crosses the limit
		{9211.2, 0, Down, "9211"},
		{9.99, 1, Up, "10.0"},
		{99.95, 1, Nearest, "100.0"},
		{-9.99, 1, Down, "-10.0"},
		{-0.04, 1, Nearest, "0.0"},
		{-0.04, 1, Up, "0.0"},
		{-0.04, 1, Down, "-0.1"},
		{5, 3, Nearest, "5.000"},
		{1e15, 1, Nearest, "1000000000000000.0"},
		{math.NaN(), 2, Up, ""},
		{math.Inf(-1), 2, Up, ""},
	} {
		if got := DecimalText(c.x, c.decimals, c.dir); got != c.want {
			t.Errorf("%v with %d decimals, %v: got %q, want %q", c.x, c.decimals, c.dir, got, c.want)
		}
	}
	if got := VolumeText(Litres.Volume(4149.6146), Litres, 1); got != "4149.6" {
		t.Error(got)
	}
	if got := GroupedText("10027.5"); got != "10,027.5" {
		t.Error(got)
	}
	if got := GroupedText("-1234567") + GroupedText("999") + GroupedText(""); got != "-1,234,567999" {
		t.Error(got)
	}
}

// Equality with the limit is lawful, anything above is not (40 CFR
// 280.20(c)(1)(ii)(A): "no more than 95 percent full"), so that the printed
// figure must lie on the limit's side on which the true one lies.
func TestPercentNeverCrossesItsLimit(t *testing.T) {
	for _, c := range []struct {
		p, limit Percent
		want     string
	}{
		{94.996, 95, "94.99"},
		{95, 95, "95.00"},
		{95.0004, 95, "95.0004"},
		{95.004, 95, "95.004"},
		{95.01, 95, "95.01"},
		{95.019, 95, "95.01"},
		{95.00000001, 95, "95.00000001"},
		{95.00000000000001, 95, "95.00000000000001"},
		{94.99999999999999, 95, "95.00"}, // noise; and 95.00 is lawful
		{97.5, 95, "97.50"},
		{89.999, 90, "89.99"},
		{0, 95, "0.00"},
		{Percent(math.NaN()), 95, ""},
	} {
		if got := PercentText(c.p, c.limit); got != c.want {
			t.Errorf("%v against %v: got %q, want %q", float64(c.p), float64(c.limit), got, c.want)
		}
	}
	r := rand.New(rand.NewPCG(5, 6))
	for range 100_000 {
		limit := Percent(80 + r.IntN(20))
		p := limit + Percent((r.Float64()-0.5)*math.Pow(10, -float64(r.IntN(13))))
		s := PercentText(p, limit)
		f, err := strconv.ParseFloat(s, 64)
		if err != nil || (f > float64(limit)) != (p > limit) || f > float64(p)+1e-12 {
			t.Fatalf("%v against %v prints %s", float64(p), float64(limit), s)
		}
		if _, frac, _ := strings.Cut(s, "."); len(frac) < 2 {
			t.Fatalf("%v prints %s", float64(p), s)
		}
	}
}
