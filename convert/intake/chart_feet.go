package intake

import (
	"regexp"
	"strconv"

	"dropcut/plan/unit"
)

// feetDash is feet and inches without marks: 8-2, 8-2 3/8, 8 2.5. What follows
// the feet must be whole inches first, since 8-1/2 may be eight and a half.
var feetDash = regexp.MustCompile(`^(\d{1,3})(?:[ \x{A0}]*[-\x{2010}-\x{2014}\x{2212}][ \x{A0}]*|[ \x{A0}]+)(\d{1,2}(?:[.,]\d+)?)(?:[ \x{A0}]+(\d{1,2})/(\d{1,2}))?$`)

// feetInches makes out the cell of a column whose heading says that feet are
// followed by inches. A text that holds neither marks nor such a pair is no
// length there.
func (w *window) feetInches(row []box, x int) {
	b := at(row, x)
	if b == nil || !b.text || b.class == numberCell || b.class == errorCell || b.class == emptyFormula {
		return
	}
	t := tidy(w.text(b))
	if m := feetDash.FindStringSubmatch(t); m != nil {
		feet, _ := strconv.ParseFloat(m[1], 64)
		inches, ok := unit.Number(m[2], signOf(m[2]))
		if part, err := strconv.ParseFloat(m[3], 64); err == nil {
			of, _ := strconv.ParseFloat(m[4], 64)
			inches += part / of
			ok = ok && part < of
		}
		if ok && inches < 12 {
			b.class, b.num = measureCell, 12*feet+inches
			return
		}
	}
	if b.class == measureCell || b.class == dateCell {
		if _, named, err := unit.ScanLength(t, unit.Inches, signOf(t)); err != nil || named == unit.LengthUnknown {
			b.class = wordCell
		}
	}
}

// feetPoint is a heading that says that a point parts feet and inches.
var feetPoint = regexp.MustCompile(`(?i)(?:ft|feet|foot)\s*\.\s*in`)

func signOf(s string) unit.Decimal {
	if unit.FormOf(s) == unit.FormComma {
		return unit.DecimalComma
	}
	return unit.DecimalPoint
}
