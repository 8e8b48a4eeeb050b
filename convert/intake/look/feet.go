package look

import (
	"regexp"
	"strconv"

	"dropcut/convert/intake/headword"
	"dropcut/plan/unit"
)

// feetDash is feet and inches without marks: 8-2, 8-2 3/8, 8 2.5. What follows
// the feet must be whole inches first, since 8-1/2 may be eight and a half.
var feetDash = regexp.MustCompile(`^(\d{1,3})(?:[ \x{A0}]*[-\x{2010}-\x{2014}\x{2212}][ \x{A0}]*|[ \x{A0}]+)(\d{1,2}(?:[.,]\d+)?)(?:[ \x{A0}]+(\d{1,2})/(\d{1,2}))?$`)

// FeetInches makes out the cell of a column whose heading says that feet are
// followed by inches. A text that holds neither marks nor such a pair is no
// length there.
func (w *Window) FeetInches(row []Box, x int) {
	b := At(row, x)
	if b == nil || !b.Text || b.Class == NumberCell || b.Class == ErrorCell || b.Class == EmptyFormula {
		return
	}
	t := headword.Tidy(w.Text(b))
	if m := feetDash.FindStringSubmatch(t); m != nil {
		feet, _ := strconv.ParseFloat(m[1], 64)
		inches, ok := unit.Number(m[2], SignOf(m[2]))
		if part, err := strconv.ParseFloat(m[3], 64); err == nil {
			of, _ := strconv.ParseFloat(m[4], 64)
			inches += part / of
			ok = ok && part < of
		}
		if ok && inches < 12 {
			b.Class, b.Num = MeasureCell, 12*feet+inches
			return
		}
	}
	if b.Class == MeasureCell || b.Class == DateCell {
		if _, named, err := unit.ScanLength(t, unit.Inches, SignOf(t)); err != nil || named == unit.LengthUnknown {
			b.Class = WordCell
		}
	}
}

// FeetPoint is a heading that says that a point parts feet and inches.
var FeetPoint = regexp.MustCompile(`(?i)(?:ft|feet|foot)\s*\.\s*in`)

func SignOf(s string) unit.Decimal {
	if unit.FormOf(s) == unit.FormComma {
		return unit.DecimalComma
	}
	return unit.DecimalPoint
}
