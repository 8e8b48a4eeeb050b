package cell

import "testing"

func TestColumnNameThereAndBack(t *testing.T) {
	for col := 1; col <= 16384; col++ {
		got, row, ok := ParseA1(ColumnName(col) + "7")
		if !ok || got != col || row != 7 {
			t.Fatalf("column %d is %q, which reads back as %d, %d, %v", col, ColumnName(col), got, row, ok)
		}
	}
}

func TestParseA1(t *testing.T) {
	for _, c := range []struct {
		in       string
		col, row int
		ok       bool
	}{
		{"A1", 1, 1, true},
		{"$C$52", 3, 52, true},
		{"c52", 3, 52, true},
		{"XFD1048576", 16384, 1048576, true},
		{"C", 3, 0, true},
		{"52", 0, 52, true},
		{"I1908237", 0, 0, false},
		{"Z1039854", 26, 1039854, true},
		{"A:1", 0, 0, false},
		{"A1/", 0, 0, false},
		{"XFE1", 0, 0, false},
		{"A1048577", 0, 0, false},
		{"A0", 0, 0, false},
		{"", 0, 0, false},
		{"A-1", 0, 0, false},
		{"AAAAAAAAAAAAAAAAAAAAAAAA1", 0, 0, false},
		{"A99999999999999999999999", 0, 0, false},
	} {
		col, row, ok := ParseA1(c.in)
		if col != c.col || row != c.row || ok != c.ok {
			t.Errorf("ParseA1(%q) = %d, %d, %v; want %d, %d, %v", c.in, col, row, ok, c.col, c.row, c.ok)
		}
	}
}

func TestRefString(t *testing.T) {
	for _, c := range []struct {
		ref  Ref
		want string
	}{
		{Ref{File: "tanks.xlsx", Sheet: "Charts", Col: 3, Row: 52}, "tanks.xlsx, Charts!C52"},
		{Ref{File: "charts.csv", Col: 2, Row: 4}, "charts.csv, B4"},
		{Ref{File: "tanks.xlsx", Sheet: "Charts"}, "tanks.xlsx, Charts"},
		{Ref{File: "--limit"}, "--limit"},
		{Ref{Sheet: "Tanks", Row: 7}, "Tanks!7"},
	} {
		if got := c.ref.String(); got != c.want {
			t.Errorf("%#v reads %q, want %q", c.ref, got, c.want)
		}
	}
}

func TestOfGiven(t *testing.T) {
	if (Of[float64]{V: 3}).Given() {
		t.Error("a value without text or place counts as given")
	}
	if !(Of[float64]{At: Ref{File: "--limit"}}).Given() || !(Of[float64]{Raw: "0"}).Given() {
		t.Error("a value with text or place does not count as given")
	}
}

func TestRange(t *testing.T) {
	at := func(col, row int) Ref { return Ref{Sheet: "Charts", Col: col, Row: row} }
	for _, c := range []struct {
		first, last Ref
		want        string
	}{
		{at(1, 4), at(1, 10), "A4:A10"},
		{at(2, 1), at(3, 1), "B1:C1"},
		{at(2, 1), at(2, 1), "B1"},
		{at(2, 1), Ref{}, "B1"},
		{at(0, 4), at(0, 9), "4:9"},
		{Ref{}, Ref{}, ""},
	} {
		if got := Range(c.first, c.last); got != c.want {
			t.Errorf("from %v to %v reads %q, want %q", c.first, c.last, got, c.want)
		}
	}
	if got := ColumnName(0) + ColumnName(-3); got != "" {
		t.Errorf("no column is called %q", got)
	}
}
