package unit

import (
	"math"
	"strconv"
	"strings"
)

// Direction says which way a number is rounded.
type Direction uint8

const (
	// Nearest rounds to the nearest step, halves away from zero.
	Nearest Direction = iota
	// Up rounds towards the larger number: a longer upper tube shuts off lower.
	Up
	// Down rounds towards the smaller number: a volume is never printed larger
	// than it is.
	Down
)

// Guard is the length, in inches, by which RoundTo lets a length miss a step
// and still counts it as standing on it. A dozen operations on lengths below
// 1000 in leave less than 1e-11 in of noise in a float64, so that 42.125 +
// 1e-14, rounded Up to eighths, stays 42.125 and no cut grows by a step out of
// nothing. The guard's price is that a length rounded Up may come out shorter
// than it was by up to this much, 0.025 of a nanometre, which no saw,
// tape or chart can show; whoever compares a rounded length with the one that
// it came from has to allow for it.
const Guard Length = 1e-9

// RoundTo rounds a length to a step, exactly for binary fractions of an inch
// and to the nearest float64 for whole numbers of a metric step. A step that is
// not above zero leaves the length as it is.
func RoundTo(l, step Length, dir Direction) Length {
	if !(step > 0) || math.IsInf(float64(step), 0) {
		return l
	}
	n := steps(float64(l/step), float64(Guard/step), dir)
	// Metric steps are taken in their own unit: 100 mm is not 100 times the
	// float64 nearest to 1 mm.
	if mm := float64(step) * 25.4; math.Abs(mm-math.Round(mm)) < 1e-9 && mm > 0.5 {
		if whole := math.Round(float64(step) * 64); math.Abs(float64(step)*64-whole) > 1e-9 {
			return Millimetres.Length(n * math.Round(mm))
		}
	}
	return Length(n) * step
}

// steps gives the whole number of steps that x comes to; guard is in steps.
func steps(x, guard float64, dir Direction) float64 {
	near := math.Round(x)
	if dir == Nearest || math.Abs(x-near) <= guard {
		return near
	}
	if dir == Up {
		return math.Ceil(x)
	}
	return math.Floor(x)
}

// FractionText prints a length in inches with a fraction, reduced: "42 1/8",
// "3/8", "-3 1/2", "0". The denominator is that of the finest fraction, 16 for
// sixteenths; dir says which way the rest is rounded. A length that is no number
// gives "".
func FractionText(l Length, denominator int, dir Direction) string {
	num, ok := fractionOf(l, denominator, dir)
	if !ok {
		return ""
	}
	sign := ""
	if num < 0 {
		sign, num = "-", -num
	}
	return sign + mixed(num, int64(denominator))
}

// FeetText prints a length in feet and inches with a fraction: `8' 2 3/8"`,
// `8' 0"`, `11 1/2"`.
func FeetText(l Length, denominator int, dir Direction) string {
	num, ok := fractionOf(l, denominator, dir)
	if !ok {
		return ""
	}
	sign := ""
	if num < 0 {
		sign, num = "-", -num
	}
	den := int64(denominator)
	feet, rest := num/(12*den), num%(12*den)
	if feet == 0 {
		return sign + mixed(rest, den) + `"`
	}
	return sign + strconv.FormatInt(feet, 10) + "' " + mixed(rest, den) + `"`
}

// fractionOf gives a length as a whole number of fractions of an inch.
func fractionOf(l Length, denominator int, dir Direction) (int64, bool) {
	if denominator < 1 || math.IsNaN(float64(l)) || math.Abs(float64(l)) > 1e9 {
		return 0, false
	}
	n := steps(float64(l)*float64(denominator), float64(Guard)*float64(denominator), dir)
	return int64(n), true
}

// mixed prints num/den as a mixed number; num is not negative.
func mixed(num, den int64) string {
	whole, num := num/den, num%den
	if num == 0 {
		return strconv.FormatInt(whole, 10)
	}
	a, b := den, num
	for b != 0 {
		a, b = b, a%b
	}
	frac := strconv.FormatInt(num/a, 10) + "/" + strconv.FormatInt(den/a, 10)
	if whole == 0 {
		return frac
	}
	return strconv.FormatInt(whole, 10) + " " + frac
}

// DecimalText prints a number with a fixed count of decimals, the last rounded
// as dir says. It works on the shortest decimal form that reads back as the same
// float64, so that 42.1 printed Down with one decimal is 42.1, and it looks
// through noise beyond the fifteenth digit. What is no number gives "".
func DecimalText(x float64, decimals int, dir Direction) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return ""
	}
	decimals = min(max(decimals, 0), 30)
	// Fifteen digits are what a float64 always keeps of a decimal number; what
	// stands behind them is noise of the arithmetic.
	text := strconv.FormatFloat(x, 'g', 15, 64)
	clean, err := strconv.ParseFloat(text, 64)
	if err != nil {
		clean = x
	}
	text = strconv.FormatFloat(clean, 'f', -1, 64)
	whole, frac, _ := strings.Cut(text, ".")
	if len(frac) <= decimals {
		if decimals == 0 {
			return unsigned(whole)
		}
		return unsigned(whole + "." + frac + strings.Repeat("0", decimals-len(frac)))
	}
	cut := whole
	if decimals > 0 {
		cut += "." + frac[:decimals]
	}
	neg := whole[0] == '-'
	away := false // from zero
	switch dir {
	case Up:
		away = !neg
	case Down:
		away = neg
	default:
		away = frac[decimals] >= '5'
	}
	if away {
		cut = increment(cut)
	}
	return unsigned(cut)
}

// increment adds one in the last place of a decimal text, away from zero.
func increment(s string) string {
	b := []byte(s)
	for i := len(b) - 1; i >= 0; i-- {
		switch {
		case b[i] == '9':
			b[i] = '0'
		case isDigit(b[i]):
			b[i]++
			return string(b)
		}
	}
	if b[0] == '-' {
		return "-1" + string(b[1:])
	}
	return "1" + string(b)
}

// unsigned drops the sign of a zero.
func unsigned(s string) string {
	if strings.Trim(s, "-0.") == "" {
		return strings.TrimPrefix(s, "-")
	}
	return s
}

// LengthText prints a length as a decimal number of a unit, without the unit.
func LengthText(l Length, u LengthUnit, decimals int, dir Direction) string {
	return DecimalText(u.Number(l), decimals, dir)
}

// VolumeText prints a volume as a decimal number of a unit, floored: a target
// of 6,108.5 gal never prints as 6,109.
func VolumeText(v Volume, u VolumeUnit, decimals int) string {
	return DecimalText(u.Number(v), decimals, Down)
}

// PercentText prints a percentage with two decimals so that it never crosses a
// limit by rounding: up to the limit it is cut off (94.996 prints as 94.99),
// above it has as many decimals as it takes to be seen above (95.0004).
func PercentText(p, limit Percent) string {
	x, lim := float64(p), float64(limit)
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return ""
	}
	if !(x > lim) {
		return DecimalText(x, 2, Down)
	}
	for decimals := 2; decimals <= 12; decimals++ {
		s := DecimalText(x, decimals, Down)
		if f, err := strconv.ParseFloat(s, 64); err == nil && f > lim {
			return s
		}
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

// GroupedText puts commas between the groups of three digits of a decimal text:
// 10027.5 becomes 10,027.5.
func GroupedText(s string) string {
	start := 0
	if s != "" && s[0] == '-' {
		start = 1
	}
	end := start
	for end < len(s) && isDigit(s[end]) {
		end++
	}
	var b strings.Builder
	b.WriteString(s[:start])
	for i := start; i < end; i++ {
		if i > start && (end-i)%3 == 0 {
			b.WriteByte(',')
		}
		b.WriteByte(s[i])
	}
	b.WriteString(s[end:])
	return b.String()
}
