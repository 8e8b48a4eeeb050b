package safefile

import (
	"strings"
	"testing"
)

// What Windows refuses in a file's name, from memory: < > : " / \ | ? *, control
// characters, a point or blank at the end, and the names of devices.
func TestNames(t *testing.T) {
	list := []string{
		"Harbor Road", "harbor road", "T-1", "T-1/A", "T-1:A", "../../etc/passwd", `C:\tanks`, "", "CON", "lpt1.txt", "a\u202eb", "dot.", strings.Repeat("long", 80),
		// Twice the same, devices in every case and with a port, what only Windows
		// takes for a way to another place, and what it cuts off.
		"T-1", "t-1", "NUL", "nul", "Com1", "COM10", "lpt9", "CONIN$", "aux.tank", `\\server\share`, `D:T-1`, "T-1 ", "T-1.", "T-1\r\n", "a\x00b", "tank?*<>|\"", "\u00b9", "com\u00b9",
	}
	seen := map[string]bool{}
	names := Names(list, "tank", ".svg")
	for i, name := range names {
		if len(name) < 5 || len(name) > longest+1+6+2+4+5 {
			t.Errorf("%q became %q", list[i], name)
		}
		for _, r := range strings.TrimSuffix(name, ".svg") {
			if !strings.ContainsRune("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-", r) {
				t.Errorf("%q became %q, with %q", list[i], name, r)
			}
		}
		if low := strings.ToLower(name); seen[low] {
			t.Errorf("%q is there twice", name)
		} else {
			seen[low] = true
		}
		// The name up to its first point is what Windows looks at; COM and LPT go with
		// a digit: learn.microsoft.com, Naming Files, Paths, and Namespaces, from memory.
		stem, _, _ := strings.Cut(strings.ToLower(name), ".")
		for _, device := range []string{"con", "prn", "aux", "nul", "conin$", "conout$"} {
			if stem == device {
				t.Errorf("%q became %q, a device", list[i], name)
			}
		}
		if port := strings.TrimRight(stem, "0123456789"); port == "com" || port == "lpt" {
			t.Errorf("%q became %q, a device", list[i], name)
		}
	}
	if plain := Names([]string{"T-1", "Harbor Road"}, "tank", ".svg"); plain[0] != "T-1.svg" || plain[1] != "Harbor-Road.svg" {
		t.Errorf("plain names became %q", plain)
	}
	if again := Names(list, "tank", ".svg"); strings.Join(again, "|") != strings.Join(names, "|") {
		t.Error("the names differ from run to run")
	}
}
