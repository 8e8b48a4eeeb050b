// Package cell says where a value stood: every number that dropcut computes
// with remembers the file, sheet and cell it was read from, so that a finding
// can point at it and a person can go and look.
package cell

import (
	"fmt"
	"strconv"
	"strings"
)

// Ref is one cell of one sheet of one file. Col and Row count from 1, as
// people do; 0 means the whole row, the whole column or the whole sheet. A CSV
// file has no sheet: Sheet is then empty. A value that came from the command
// line has the option's name as File ("--limit") and nothing else.
type Ref struct {
	File  string
	Sheet string
	Col   int
	Row   int
}

// String gives the place as people write it: "tanks.xlsx, Charts!C52",
// "charts.csv, B4", "tanks.csv, row 7", "--limit".
func (r Ref) String() string {
	cell := r.Cell()
	if r.File == "" {
		return cell
	}
	if cell == "" {
		return r.File
	}
	if r.Col == 0 && r.Row > 0 { // "tanks.csv, 2" would be a riddle
		cell = "row " + strconv.Itoa(r.Row)
		if r.Sheet != "" {
			cell = r.Sheet + ", " + cell
		}
	}
	return r.File + ", " + cell
}

// Cell gives the place without its file: "Charts!C52", "B4", "Charts", "".
func (r Ref) Cell() string {
	at := r.A1()
	switch {
	case r.Sheet == "":
		return at
	case at == "":
		return r.Sheet
	}
	return r.Sheet + "!" + at
}

// A1 gives the address alone: "C52", or "C" for a column, "52" for a row, ""
// for neither.
func (r Ref) A1() string {
	var b strings.Builder
	if r.Col > 0 {
		b.WriteString(ColumnName(r.Col))
	}
	if r.Row > 0 {
		fmt.Fprintf(&b, "%d", r.Row)
	}
	return b.String()
}

// IsZero reports whether the Ref points nowhere.
func (r Ref) IsZero() bool { return r == Ref{} }

// Range gives the address of the rectangle from one cell to another:
// "A4:A10", "B1:C1", or "B1" when both are the same.
func Range(first, last Ref) string {
	a, b := first.A1(), last.A1()
	if b == "" || a == b {
		return a
	}
	return a + ":" + b
}

// ColumnName turns 1 into "A", 27 into "AA". It gives "" below 1.
func ColumnName(col int) string {
	var buf [8]byte
	i := len(buf)
	for col > 0 && i > 0 {
		col--
		i--
		buf[i] = byte('A' + col%26)
		col /= 26
	}
	return string(buf[i:])
}

// ParseA1 reads an address such as "C52", "$C$52", "C" or "52" and returns its
// column and row, 0 for a part that is not there. ok is false where the text
// is no address or lies beyond the last column (XFD) or row (1,048,576) that a
// sheet can have.
func ParseA1(s string) (col, row int, ok bool) {
	const lastCol, lastRow = 16384, 1048576
	i := 0
	if i < len(s) && s[i] == '$' {
		i++
	}
	for ; i < len(s); i++ {
		c := s[i] | 0x20
		if c < 'a' || c > 'z' {
			break
		}
		col = col*26 + int(c-'a') + 1
		if col > lastCol {
			return 0, 0, false
		}
	}
	if i < len(s) && s[i] == '$' {
		i++
	}
	start := i
	for ; i < len(s); i++ {
		if s[i] < '0' || s[i] > '9' {
			return 0, 0, false
		}
		row = row*10 + int(s[i]-'0')
		if row > lastRow {
			return 0, 0, false
		}
	}
	if (i > start && row == 0) || (col == 0 && row == 0) {
		return 0, 0, false
	}
	return col, row, true
}

// Of is a value with its birthplace: V to compute with, Raw to give back, At
// to point at. The zero Of is a value that nobody gave.
type Of[T any] struct {
	V   T
	Raw string
	At  Ref
}

// Given reports whether there is a value at all.
func (o Of[T]) Given() bool { return o.Raw != "" || !o.At.IsZero() }
