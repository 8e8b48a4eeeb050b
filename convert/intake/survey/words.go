package survey

import (
	"fmt"
	"strconv"
	"strings"
)

func Short(f float64) string { return strconv.FormatFloat(f, 'g', 6, 64) }

func Number(f float64) string { return strconv.FormatFloat(f, 'f', -1, 64) }

func Many(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func IsAre(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}

func Quote(s string) string {
	if len(s) > 80 {
		s = strings.ToValidUTF8(s[:80], "") + "..."
	}
	return `"` + s + `"`
}
