package unit

import (
	"errors"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
)

var numberTexts = []struct {
	text string
	dec  Decimal
	want float64
}{
	{"0", DecimalPoint, 0},
	{"10027", DecimalPoint, 10027},
	{"98.375", DecimalPoint, 98.375},
	{"-4.5", DecimalPoint, -4.5},
	{"−4.5", DecimalPoint, -4.5},
	{"+4.5", DecimalPoint, 4.5},
	{".5", DecimalPoint, 0.5},
	{"12.", DecimalPoint, 12},
	{" 12 ", DecimalPoint, 12},
	{"\u00a0200\u00a0", DecimalPoint, 200},
	{"\u202f1\u202f250\u202f", DecimalPoint, 1250},
	{"1,234", DecimalPoint, 1234},
	{"1,234,567.25", DecimalPoint, 1234567.25},
	{"1 234 567,25", DecimalComma, 1234567.25},
	{"1\u00a0250", DecimalPoint, 1250},
	{"1\u2009250,5", DecimalComma, 1250.5},
	{"1'234.5", DecimalPoint, 1234.5},
	{"1’234.5", DecimalPoint, 1234.5},
	{"1.234,5", DecimalComma, 1234.5},
	{"1.234.567", DecimalComma, 1234567},
	{"1.478", DecimalComma, 1478},
	{"1.478", DecimalPoint, 1.478},
	{"1,478", DecimalComma, 1.478},
	{"0,125", DecimalComma, 0.125},
	{"37,1", DecimalComma, 37.1},
	{"1.21E+11", DecimalPoint, 1.21e11},
	{"1,21E+11", DecimalComma, 1.21e11},
	{"8.2000000000000003E-2", DecimalPoint, 0.082},
	{"82.249999", DecimalPoint, 82.249999},
	{"82.24999999999999", DecimalPoint, 82.24999999999999},
	{"9007199254740993", DecimalPoint, 9007199254740992}, // ties to even
	{"0.1", DecimalPoint, 0.1},
	{"00123", DecimalPoint, 123},
	{"1e5", DecimalPoint, 1e5},
}

// noNumbers are refused under either decimal sign.
var noNumbers = []string{
	"", " ", "-", "+", ".", ",", "NaN", "nan", "Inf", "-inf", "+Infinity", "infinity", "1_000", "0x10", "0X1F", "0b11", "0o7", "7.9e400", "7,9e400", "1e-400",
	"1.2.3", "12,34,5", "1,2,3", "12.34,5,6", "1,23,456", "1 23", "1  250", "1'23", "12 34.5", "1e", "e5", "1e+", "1e5.5", "1e5000", "1e99999999999999999999",
	"abc", "12a", "12 gal", "5-", "(5)", "1/2", "½", "#N/A", "12%", "--5", "+-5", "- 5", "1.5 000", "1234,567,890", "0,123,456", "٣", "１２", "\xff", "1\x002", "1\xff2",
	strings.Repeat("9", 500), "true", "1,234'567", "1 234,567 890", "1.234 567", "1,234.567.8",
}

func TestNumber(t *testing.T) {
	for _, c := range numberTexts {
		got, err := ParseNumber(c.text, c.dec)
		if err != nil || got != c.want {
			t.Errorf("%q with a %v: got %v, %v; want %v", c.text, c.dec, got, err, c.want)
		}
		if b, ok := Number([]byte(c.text), c.dec); !ok || b != c.want {
			t.Errorf("%q as bytes: got %v, %v", c.text, b, ok)
		}
	}
	for _, s := range noNumbers {
		for _, dec := range []Decimal{DecimalPoint, DecimalComma} {
			got, err := ParseNumber(s, dec)
			if err == nil {
				t.Errorf("%q with a %v: read as %v", s, dec, got)
				continue
			}
			var bad *Trouble
			if !errors.As(err, &bad) || bad.Why == "" || strings.HasSuffix(err.Error(), ".") {
				t.Errorf("%q: the error is %q", s, err)
			}
		}
	}
}

func TestWrongDecimalSignIsRefusedNotRepaired(t *testing.T) {
	for _, s := range []string{"37,1", "0,125", "1.234,5", "1234,5", "1,21E+11"} {
		if f, ok := Number(s, DecimalPoint); ok {
			t.Errorf("%q read as %v with a decimal point", s, f)
		}
	}
	for _, s := range []string{"37.1", "0.125", "1,234.5", "1234.5", "1.21E+11"} {
		if f, ok := Number(s, DecimalComma); ok {
			t.Errorf("%q read as %v with a decimal comma", s, f)
		}
	}
}

// The standard library's parser rounds correctly; so must this one.
func TestNumberRoundsAsTheStandardLibrary(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 100_000 {
		var s string
		switch r.IntN(4) {
		case 0:
			s = strconv.FormatFloat(r.Float64()*math.Pow(10, float64(r.IntN(20)-3)), 'f', -1, 64)
		case 1:
			s = strconv.FormatFloat(r.NormFloat64()*1e4, 'f', r.IntN(12), 64)
		case 2:
			s = strconv.FormatUint(r.Uint64()>>r.IntN(64), 10)
			if i := r.IntN(len(s)); i > 0 {
				s = s[:i] + "." + s[i:]
			}
		default:
			s = strconv.FormatFloat(math.Float64frombits(r.Uint64()>>2), 'E', -1, 64)
		}
		want, err := strconv.ParseFloat(s, 64)
		if err != nil || want == 0 {
			continue
		}
		if got, ok := Number(s, DecimalPoint); !ok || got != want {
			t.Fatalf("%s: got %v %v, want %v", s, got, ok, want)
		}
		comma := strings.Replace(s, ".", ",", 1)
		if got, ok := Number(comma, DecimalComma); !ok || got != want {
			t.Fatalf("%s: got %v %v, want %v", comma, got, ok, want)
		}
	}
}

func TestPlainNumbersDoNotAllocate(t *testing.T) {
	rows := [][]byte{[]byte("96"), []byte("10027"), []byte("82.249999"), []byte("-3.5"), []byte(" 1,234.5 "), []byte("Tank")}
	if n := testing.AllocsPerRun(100, func() {
		for _, b := range rows {
			Number(b, DecimalPoint)
			FormOf(b)
		}
	}); n != 0 {
		t.Errorf("%v allocations a run", n)
	}
}

func TestForms(t *testing.T) {
	for _, c := range []struct {
		text string
		want Form
	}{
		{"", FormNone},
		{"Tank 1.5", FormNone},
		{"AC-1", FormNone},
		{"1238", FormWhole},
		{"0", FormWhole},
		{"12.", FormWhole},
		{"12.5", FormPoint},
		{"12,5", FormComma},
		{"0.125", FormPoint},
		{"0,125", FormComma},
		{".125", FormPoint},
		{"1.238", FormEitherPoint},
		{"1,238", FormEitherComma},
		{"-1.238", FormEitherPoint},
		{"−1,238", FormEitherComma},
		{"999.500", FormEitherPoint},
		{"1234.567", FormPoint},
		{"1234,567", FormComma},
		{"1,234.5", FormPoint},
		{"1.234,5", FormComma},
		{"1,234,567", FormPoint},
		{"1.234.567", FormComma},
		{"1 234,567", FormComma},
		{"1 234.567", FormPoint},
		{"1'234.567", FormPoint},
		{"1\u00a0234,567", FormComma},
		{"1 234", FormWhole},
		{"1.21E+11", FormPoint},
		{"1,21E+11", FormComma},
		{"1.234E+11", FormPoint},
		{"2,45 m", FormComma},
		{"2.45 m", FormPoint},
		{"1,492 acres", FormEitherComma},
		{"8' 2-3/8\"", FormWhole},
		{"98 3/8", FormWhole},
		{"1.2.3", FormNone},
		{"12,34,5", FormNone},
		{"01.02.2024", FormNone},
		{"1.133,3", FormComma},
	} {
		if got := FormOf(c.text); got != c.want {
			t.Errorf("%q: got %d, want %d", c.text, got, c.want)
		}
		if got := FormOf([]byte(c.text)); got != c.want {
			t.Errorf("%q as bytes: got %d, want %d", c.text, got, c.want)
		}
	}
}

func TestDecimalVote(t *testing.T) {
	for _, c := range []struct {
		name  string
		cells string
		want  Decimal
		how   Verdict
	}{
		{"whole numbers only", "0|18|10027", DecimalPoint, Free},
		{"points", "0|18.5|51", DecimalPoint, Settled},
		{"one comma among thousands settles the column", "0|37,1|104,6|1.478|1.659,0|2.236", DecimalComma, Settled},
		{"only thousands or thousandths", "1.238|2.450|3.110", DecimalPoint, Undecided},
		{"the same with commas", "1,238|2,450", DecimalPoint, Undecided},
		{"one slip among points", "1.5|2.5|3.5|4,5|5.5", DecimalPoint, Mixed},
		{"half and half", "1.5|2,5|3.5|4,5", DecimalPoint, Undecided},
	} {
		var v DecimalVote
		for s := range strings.SplitSeq(c.cells, "|") {
			v.Add([]byte(s))
		}
		if dec, how := v.Result(); how != c.how || how != Undecided && dec != c.want {
			t.Errorf("%s: got %v, %v; want %v, %v", c.name, dec, how, c.want, c.how)
		}
	}
}

func FuzzNumber(f *testing.F) {
	for _, c := range numberTexts {
		f.Add(c.text)
	}
	for _, s := range noNumbers {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, dec := range []Decimal{DecimalPoint, DecimalComma} {
			a, ok := Number(s, dec)
			b, okB := Number([]byte(s), dec)
			if a != b || ok != okB {
				t.Fatalf("%q: text gives %v %v, bytes %v %v", s, a, ok, b, okB)
			}
			if !ok {
				continue
			}
			if math.IsNaN(a) || math.IsInf(a, 0) {
				t.Fatalf("%q gives %v", s, a)
			}
			// What is read must be printed and read again.
			if c, ok := Number(strconv.FormatFloat(a, 'E', -1, 64), DecimalPoint); !ok || c != a {
				t.Fatalf("%q gives %v, read again %v", s, a, c)
			}
			// The column's form never contradicts a plain reading.
			if dec.Contradicts(FormOf(s)) {
				t.Fatalf("%q is read with a %v although its form proves the other", s, dec)
			}
		}
	})
}

func BenchmarkNumber(b *testing.B) {
	rows := [][]byte{[]byte("96"), []byte("10027.25"), []byte("82.249999"), []byte("7031"), []byte("3.125")}
	b.Run("ours", func(b *testing.B) {
		b.ReportAllocs()
		for i := range b.N {
			Number(rows[i%len(rows)], DecimalPoint)
		}
	})
	b.Run("strconv", func(b *testing.B) {
		b.ReportAllocs()
		for i := range b.N {
			_, _ = strconv.ParseFloat(string(rows[i%len(rows)]), 64)
		}
	})
}

// Plain says of a cell what Number and FormOf say, or nothing.
func TestPlainIsNumberAndForm(t *testing.T) {
	signs := []byte("0123456789.")
	r := rand.New(rand.NewPCG(21, 22))
	taken := 0
	for range 200_000 {
		b := make([]byte, r.IntN(19))
		for i := range b {
			b[i] = signs[r.IntN(len(signs)-r.IntN(2))] // half of them without a point
		}
		taken += holdPlain(t, b)
	}
	for _, s := range []string{"", "0", "0.0", "1.238", "1234.567", "0.125", "999.999", ".5", "5.", "-1", "1,5", "9007199254740993", "999999999999999", "99999999999999.9", "1e5", "12 ", "１"} {
		holdPlain(t, []byte(s))
	}
	if taken < 100_000 {
		t.Errorf("only %d of the numbers were plain", taken)
	}
}

func holdPlain(t *testing.T, b []byte) int {
	t.Helper()
	f, form, ok := Plain(b)
	if !ok {
		return 0
	}
	if want, is := Number(b, DecimalPoint); !is || math.Float64bits(f) != math.Float64bits(want) || form != FormOf(b) {
		t.Fatalf("%q: %v, form %d; want %v, form %d", b, f, form, want, FormOf(b))
	}
	return 1
}
