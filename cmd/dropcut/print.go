package main

import (
	"strconv"
	"strings"

	"dropcut/plan/unit"
)

// count prints a number of things: "1 tank", "5,000 tanks".
func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return unit.GroupedText(strconv.Itoa(n)) + " " + many
}

// brief shortens what somebody's cell holds to what a line can show.
func brief(s string) string {
	const most = 200
	if len(s) <= most {
		return s
	}
	return strings.ToValidUTF8(s[:most], "") + "..."
}

func joinWords(list []string) string { return strings.Join(list, ", ") }
