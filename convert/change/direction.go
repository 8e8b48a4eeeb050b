package change

import (
	"strconv"
	"strings"
)

// DirectionOf says which way a shutoff depth moved, from the text of the old
// one to the new one in the same unit.
func DirectionOf(old string, new float64) Direction {
	was, err := strconv.ParseFloat(strings.Replace(old, ",", ".", 1), 64)
	switch {
	case err != nil || sameNumber(was, new):
		return Same
	case new > was:
		return Up
	}
	return Down
}
