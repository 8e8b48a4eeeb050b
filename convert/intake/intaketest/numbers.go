package intaketest

import (
	"math"
	"strconv"
	"strings"
)

// RunOf writes rows of depth and volume in a form: %d the depth, %v the volume.
func RunOf(from, to, step float64, form func(d float64) string) string {
	var b strings.Builder
	for i := 0; ; i++ {
		d := from + float64(i)*step
		if step > 0 && d > to+1e-9 || step < 0 && d < to-1e-9 {
			return b.String()
		}
		b.WriteString(form(d) + "\n")
	}
}

// Num writes a number as a file does.
func Num(f float64) string { return strconv.FormatFloat(math.Round(f*1e6)/1e6, 'f', -1, 64) }
