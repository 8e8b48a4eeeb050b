package formula

import (
	"math"
	"testing"
)

// sheetOf holds a few cells: column A 10, 20, ... 100, B1 a text, B2 blank.
func sheetOf(sheet string, col, row int) Value {
	switch {
	case sheet == "Other one" && col == 1 && row == 1:
		return Num(7)
	case sheet == "" && col == 1 && row <= 10:
		return Num(float64(row) * 10)
	case sheet == "" && col == 2 && row == 1:
		return Str("")
	case sheet == "" && col == 3 && row == 1:
		return Str("x")
	}
	return Value{}
}

var cases = []struct {
	text string
	want Value
}{
	// Precedence and comparison: ISO/IEC 26300-4, 5.5 and 6.4.
	{"1+2*3", Num(7)},
	{"(1+2)*3", Num(9)},
	{"-2--3", Num(1)},
	{"8/2/2", Num(2)},
	{"1E-9*1e9", Num(1)},
	{"1<2", Truth(true)},
	{`"a"="A"`, Truth(true)},
	{`1<"a"`, Truth(true)}, // a text is above every number
	{`"a"&1.5&"b"`, Str("a1.5b")},
	{`"say ""no"""`, Str(`say "no"`)},
	{"1/0", fault("#DIV/0!")},
	{`1+"x"`, fault("#VALUE!")},
	{"A3", Num(30)},
	{"$A$3+'Other one'!A1", Num(37)},
	{"B2+1", Num(1)},
	{`B2=""`, Truth(true)},
	{"B2=0", Truth(true)},
	// Functions: ISO/IEC 26300-4, 6.13 to 6.17.
	{"IF(A1>5,\"yes\",1/0)", Str("yes")},
	{"IF(0,1)", Truth(false)},
	{"AND(1,2>1)", Truth(true)},
	{"OR(0,2<1)", Truth(false)},
	{"ISNUMBER(B1)", Truth(false)},
	{"ISNUMBER(B2)", Truth(false)},
	{"ISNUMBER(A1)", Truth(true)},
	{"MAX(A1,C1,A3)", Num(30)}, // a text in a cell does not count
	{"MAX(B1,B2)", Num(0)},
	{"MIN(-3,2)", Num(-3)},
	{"ABS(-2.5)", Num(2.5)},
	{"INT(-1.5)", Num(-2)},
	{"ROUND(2.5,0)", Num(3)},
	{"ROUND(-2.5,0)", Num(-3)},
	{"ROUND(1.005,1)", Num(1)},
	{"ROUNDUP(2.001,0)", Num(3)},
	{"ROUNDUP(3,0)", Num(3)},
	{"ROUNDUP(-2.1,0)", Num(-3)},
	{"ROUNDUP(1.234,2)", Num(1.24)},
	{"GCD(24,64)", Num(8)},
	{"GCD(0,64)", Num(64)},
	{"INDEX($A$1:$A$10,4)", Num(40)},
	{"INDEX(A1:A10,11)", fault("#REF!")},
	{"MATCH(35,A1:A10,1)", Num(3)},
	{"MATCH(100,A1:A10,1)", Num(10)},
	{"MATCH(1000,A1:A10,1)", Num(10)},
	{"MATCH(9,A1:A10,1)", fault("#N/A")},
	{"TEXT(1.005,\"0.00\")", Str("1.01")},
	{"TEXT(42,\"0\")", Str("42")},
	{"IF(ISNUMBER(MATCH(9,A1:A10,1)),1,2)", Num(2)},
}

func same(a, b Value) bool {
	return a.Kind == b.Kind && a.Text == b.Text && (a.Num == b.Num || math.Abs(a.Num-b.Num) < 1e-12)
}

func TestEval(t *testing.T) {
	for _, c := range cases {
		got, err := Eval(c.text, sheetOf)
		if err != nil || !same(got, c.want) {
			t.Errorf("%s = %+v, %v; want %+v", c.text, got, err, c.want)
		}
	}
}

func TestEvalRefuses(t *testing.T) {
	for _, text := range []string{"", "1+", "(1", "OFFSET(A1,1,1)", "IF(1)", `"open`, "A0", "1 2", "{1,2}", "Sheet!A1", "@A1", "IF(1,2"} {
		if v, err := Eval(text, sheetOf); err == nil {
			t.Errorf("%q gives %+v and no error", text, v)
		}
	}
}

func FuzzEval(f *testing.F) {
	for _, c := range cases {
		f.Add(c.text)
	}
	f.Fuzz(func(t *testing.T, s string) {
		a, err := Eval(s, sheetOf)
		b, again := Eval(s, sheetOf)
		if (err == nil) != (again == nil) || err == nil && (a.Kind != b.Kind || a.Text != b.Text) {
			t.Errorf("%q gives %+v and %+v", s, a, b)
		}
	})
}

func BenchmarkEval(b *testing.B) {
	for b.Loop() {
		if _, err := Eval(`IF(ISNUMBER(A1),IF(ABS(A1/0.0625-ROUND(A1/0.0625,0))<=0.000000016,ROUND(A1/0.0625,0),ROUNDUP(A1/0.0625,0))*0.0625,"")`, sheetOf); err != nil {
			b.Fatal(err)
		}
	}
}
