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
	}
	seen := map[string]bool{}
	names := Names(list, "tank", ".svg")
	for i, name := range names {
		if len(name) < 5 || len(name) > longest+1+6+4+5 {
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
		if strings.HasPrefix(strings.ToLower(name), "con.") || strings.HasPrefix(name, "lpt1.") {
			t.Errorf("%q is a device", name)
		}
	}
	if names[2] != "T-1.svg" {
		t.Errorf("a plain name became %q", names[2])
	}
	if again := Names(list, "tank", ".svg"); strings.Join(again, "|") != strings.Join(names, "|") {
		t.Error("the names differ from run to run")
	}
}
