package safefile

import (
	"crypto/sha256"
	"encoding/hex"
	"slices"
	"strconv"
	"strings"
)

// reserved are the names that stand for devices on Windows.
var reserved = [...]string{"con", "prn", "aux", "nul", "com", "lpt", "conin$", "conout$"}

// longest is how many letters of a name go into a file's name.
const longest = 60

// Names gives each of the names a file name that every system takes, that no
// other of the list has, and that is the same in every run: what cannot stand in
// a file's name becomes a hyphen, and names that become equal, or lose more than
// their blanks, end in a few letters made from the name itself. word goes before
// what would be no name, or a device's; ending, with its point, behind all.
func Names(list []string, word, ending string) []string {
	names := make([]string, len(list))
	seen := map[string]int{}
	for i := range list {
		names[i] = plainName(list[i], word)
		seen[strings.ToLower(names[i])]++
	}
	for i := range list {
		if name := names[i]; seen[strings.ToLower(name)] > 1 || changed(list[i], name) {
			sum := sha256.Sum256([]byte(list[i]))
			names[i] = name + "-" + hex.EncodeToString(sum[:3])
		}
		names[i] += ending
	}
	// Texts that are alike to the letter are told apart by their order, and so is
	// the rare name that is another's with its letters.
	taken := make(map[string]bool, len(names))
	for i, name := range names {
		for n := 2; taken[strings.ToLower(names[i])]; n++ {
			names[i] = strings.TrimSuffix(name, ending) + "-" + strconv.Itoa(n) + ending
		}
		taken[strings.ToLower(names[i])] = true
	}
	return names
}

func plainName(s, word string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '_':
			b.WriteRune(r)
		default:
			b.WriteByte('-')
		}
	}
	name := b.String()
	for strings.Contains(name, "--") {
		name = strings.ReplaceAll(name, "--", "-")
	}
	name = strings.Trim(name, "-")
	if len(name) > longest {
		name = strings.Trim(name[:longest], "-")
	}
	low := strings.ToLower(strings.TrimRight(name, "0123456789"))
	if name == "" || slices.Contains(reserved[:], low) || slices.Contains(reserved[:], strings.ToLower(name)) {
		return strings.TrimSuffix(word+"-"+name, "-")
	}
	return name
}

// changed reports whether a name lost more than blanks on its way to a file name.
func changed(from, to string) bool {
	plain := func(s string) string {
		return strings.Join(strings.FieldsFunc(s, func(r rune) bool { return r == ' ' || r == '-' }), "-")
	}
	return plain(from) != plain(to)
}
