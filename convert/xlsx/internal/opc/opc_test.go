package opc

import (
	"testing"
)

func TestResolve(t *testing.T) {
	// ECMA-376 Part 2, 8.3 and its annex on resolving; RFC 3986, 5.2.
	for _, c := range [][3]string{
		{"xl/workbook.xml", "worksheets/sheet1.xml", "xl/worksheets/sheet1.xml"},
		{"xl/workbook.xml", "/xl/worksheets/sheet1.xml", "xl/worksheets/sheet1.xml"},
		{"xl/worksheets/sheet1.xml", "../tables/table1.xml", "xl/tables/table1.xml"},
		{"xl/worksheets/sheet1.xml", `..\tables\table1.xml`, "xl/tables/table1.xml"},
		{"", "xl/workbook.xml", "xl/workbook.xml"},
		{"", "./xl/workbook.xml", "xl/workbook.xml"},
		{"a/b.xml", "c%20d.xml#x", "a/c d.xml"},
		{"a/b.xml", "100%.xml", "a/100%.xml"},
		{"a/b.xml", "../../../c.xml", "c.xml"},
	} {
		if got := Resolve(c[0], c[1]); got != c[2] {
			t.Errorf("%q from %q is %q, want %q", c[1], c[0], got, c[2])
		}
	}
}
