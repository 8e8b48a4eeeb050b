package splice

import (
	"fmt"
	"math"
	"strconv"
	"unicode/utf16"

	"dropcut/convert/grid"
	"dropcut/convert/xlsx/internal/lex"
)

// ColumnWidth turns characters into a column's width: with 7 pixels a digit and
// 5 of margin, in 256ths (ECMA-376 Part 1, 18.3.1.13).
func ColumnWidth(chars float64) string {
	return strconv.FormatFloat(float64(int((chars*7+5)/7*256))/256, 'f', -1, 64)
}

// A cell holds at most this many characters (Excel specifications and limits),
// counted in UTF-16.
const textMax = 32767

// CheckValue refuses what no cell can hold.
func CheckValue(v grid.Value) error {
	if v.IsNumber && (math.IsNaN(v.Number) || math.IsInf(v.Number, 0)) {
		return fmt.Errorf("%v cannot be written as a number", v.Number)
	}
	return CheckText(v.Text)
}

// CheckText refuses a text that is too long for a cell.
func CheckText(text string) error {
	if len(text) > textMax && Utf16Len(text) > textMax {
		return fmt.Errorf("the text has %d characters, at most %d fit into a cell", Utf16Len(text), textMax)
	}
	return nil
}

// Utf16Len counts as office programs do.
func Utf16Len(text string) int {
	n := 0
	for _, r := range text {
		n += utf16.RuneLen(r)
	}
	return n
}

// AppendCell appends a cell's XML; prefix is that of the sheet's elements, with
// its colon.
func AppendCell(b []byte, prefix string, col, row, style int, v grid.Value) []byte {
	b = append(b, '<')
	b = append(b, prefix...)
	b = append(b, `c r="`...)
	b = appendColumn(b, col)
	b = strconv.AppendInt(b, int64(row), 10)
	b = append(b, '"')
	if style != 0 {
		b = append(b, ` s="`...)
		b = strconv.AppendInt(b, int64(style), 10)
		b = append(b, '"')
	}
	open := func(tag, rest string) {
		b = append(b, '<')
		b = append(b, prefix...)
		b = append(b, tag...)
		b = append(b, rest...)
		b = append(b, '>')
	}
	switch {
	case v.Blank():
		return append(b, "/>"...)
	case v.IsNumber:
		b = append(b, '>')
		open("v", "")
		b = appendNumber(b, v.Number)
		b = append(b, "</"...)
		b = append(b, prefix...)
		b = append(b, "v></"...)
	default:
		b = append(b, ` t="inlineStr">`...)
		open("is", "")
		if lex.KeepsSpace(v.Text) {
			open("t", ` xml:space="preserve"`)
		} else {
			open("t", "")
		}
		b = lex.EscapeText(b, v.Text)
		b = append(b, "</"...)
		b = append(b, prefix...)
		b = append(b, "t></"...)
		b = append(b, prefix...)
		b = append(b, "is></"...)
	}
	b = append(b, prefix...)
	return append(b, "c>"...)
}

// appendNumber writes a number with the fewest digits that read back as it.
func appendNumber(b []byte, f float64) []byte {
	if f == 0 {
		return append(b, '0') // not -0
	}
	return strconv.AppendFloat(b, f, 'G', -1, 64)
}

func appendColumn(b []byte, col int) []byte {
	if col > 26 {
		b = appendColumn(b, (col-1)/26)
	}
	return append(b, byte('A'+(col-1)%26))
}
