package headword

import (
	"strconv"
	"strings"
)

// partWords are the words for the parts of a unit, folded, by how many of them
// make it.
var partWords = map[string]float64{
	"halves": 2, "half": 2, "quarters": 4, "quarter": 4, "eighths": 8, "eighth": 8, "tenths": 10, "tenth": 10, "twelfths": 12, "sixteenths": 16, "sixteenth": 16,
	"cuartos": 4, "octavos": 8, "decimos": 10, "dieciseisavos": 16,
	"quarts": 4, "huitiemes": 8, "dixiemes": 10, "seiziemes": 16,
	"viertel": 4, "achtel": 8, "zehntel": 10, "sechzehntel": 16,
}

// fractionWords say that fractions are written out.
var fractionWords = SetOf("fraction fractions frac fract fraccion fracciones bruch bruche bruchteil")

// PartsIn reports whether a heading says that its numbers are parts of the unit
// beside it: "Eighths", "16ths", "1/8", "/16", "Fraction". of is how many of them
// make one, 0 where they are fractions written out.
func PartsIn(text string) (of float64, ok bool) {
	ps := Pieces(text)
	for i, p := range ps {
		if n := partWords[p.Word]; n > 0 {
			return n, true
		}
		if fractionWords[p.Word] {
			return 0, true
		}
		figures := strings.TrimRight(p.Word, "abcdefghijklmnopqrstuvwxyz")
		n, err := strconv.Atoi(figures)
		if err != nil || n != 2 && n != 4 && n != 8 && n != 10 && n != 12 && n != 16 && n != 32 && n != 64 {
			continue
		}
		switch p.Word[len(figures):] {
		case "ths", "th", "nds", "nd":
			return float64(n), true
		case "":
			// "1/8", "/8"
			if p.start > 0 && text[p.start-1] == '/' && (i == 0 || ps[i-1].Word == "1" && ps[i-1].End == p.start-1 || ps[i-1].End < p.start-1) {
				return float64(n), true
			}
		}
	}
	return 0, false
}
