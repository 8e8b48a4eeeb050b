package plan

import (
	"strings"

	"dropcut/plan/unit"
)

// Standing reports whether the words for a tank's shape say that it stands, so that
// its length is its inside height and not its diameter: "vertical", "Vert. cyl.",
// "upright", and the same in Spanish, French and German. A tank whose shape is not
// given is taken for one that lies.
func Standing(shape string) bool {
	for word := range strings.FieldsSeq(wordsOf(shape)) {
		for _, begin := range [...]string{"vert", "uprig", "standing", "stehend", "senkrecht", "debout"} {
			if strings.HasPrefix(word, begin) {
				return true
			}
		}
	}
	return false
}

// round reports whether the words name a lying cylinder, which is what a tank is
// taken for whose shape is not given.
func round(shape string) bool {
	if Standing(shape) {
		return false
	}
	words := wordsOf(shape)
	if strings.TrimSpace(words) == "" {
		return true
	}
	for word := range strings.FieldsSeq(words) {
		for _, begin := range [...]string{"cyl", "zylind", "cilind", "round", "rund", "lying", "liegend", "couche", "acostad", "horiz", "underground", "aboveground", "ground"} {
			if strings.HasPrefix(word, begin) {
				return true
			}
		}
	}
	return false
}

// wordsOf folds the words for a shape and parts them: "Vert./cyl." is two.
func wordsOf(shape string) string {
	return strings.NewReplacer(".", " ", ",", " ", "/", " ", "-", " ", "(", " ", ")", " ", ";", " ").Replace(unit.Fold(shape))
}
