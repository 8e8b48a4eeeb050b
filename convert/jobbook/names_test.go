package jobbook

import (
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"dropcut/convert/jobbook/sheet"
	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/validate"
)

// File names: safe everywhere, unique, and the same whatever other jobs there are
// that they do not collide with.
func TestFileNames(t *testing.T) {
	var list []Job
	for _, name := range []string{
		"Millrace Fuel Stop", "Con", "aux.txt", "LPT1", "../../etc/passwd", `a\b:c*d?"<>|`, "ÄÖ Straße", "Straße", "…", "", strings.Repeat("long ", 40), strings.Repeat("long ", 40) + "2",
		"Job 7", "job 7", "Job-7", "trailing. ", "\x00\n", "日本",
	} {
		list = append(list, Job{Name: name})
	}
	names := FileNames(list, ".xlsx")
	seen := map[string]string{}
	for i, n := range names {
		stem := strings.TrimSuffix(n, ".xlsx")
		low := strings.ToLower(stem)
		if other, twice := seen[low]; twice {
			t.Errorf("%q and %q are both called %s", other, list[i].Name, n)
		}
		seen[low] = list[i].Name
		for _, r := range stem {
			if !strings.ContainsRune("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_", r) {
				t.Errorf("%q is called %q, which holds %q", list[i].Name, n, r)
			}
		}
		// Names of devices: Microsoft, Naming Files, Paths, and Namespaces (from memory).
		if slices.Contains([]string{"con", "prn", "aux", "nul", "com1", "lpt1"}, low) || stem == "" || len(n) > 80 {
			t.Errorf("%q is called %q", list[i].Name, n)
		}
	}
	if names[0] != "Millrace-Fuel-Stop.xlsx" {
		t.Errorf("a plain name became %s", names[0])
	}
	alone := FileNames(list[4:5], ".xlsx")
	if alone[0] != names[4] {
		t.Errorf("the name depends on the other jobs: %s and %s", alone[0], names[4])
	}
}

func FuzzFileNames(f *testing.F) {
	f.Add("Millrace", "millrace")
	f.Add("..", "NUL")
	f.Fuzz(func(t *testing.T, a, b string) {
		if a == b {
			return
		}
		n := FileNames([]Job{{Name: a}, {Name: b}}, "")
		if strings.EqualFold(n[0], n[1]) || n[0] == "" || strings.ContainsAny(n[0], `/\:.`) {
			t.Errorf("%q and %q are called %q", a, b, n)
		}
	})
}

// Names of tabs: at most 31 units, unique whatever their case.
func TestTabs(t *testing.T) {
	var b sheet.Book
	for _, name := range []string{"MR-1", "mr-1", "OQ-1/A", "'quoted'", strings.Repeat("x", 60), strings.Repeat("x", 61), strings.Repeat("😀", 20), "", "[a]*?:\\"} {
		s := b.Add(name)
		if n := len([]rune(s.Name)); n > 31 || n == 0 || strings.ContainsAny(s.Name, `[]:*?/\'`) || !utf8.ValidString(s.Name) {
			t.Errorf("%q became the tab %q", name, s.Name)
		}
	}
	for i, s := range b.Sheets {
		for _, o := range b.Sheets[:i] {
			if strings.EqualFold(s.Name, o.Name) {
				t.Errorf("two tabs are called %q", s.Name)
			}
		}
	}
}

// Jobs are the Job column, else the site, in the order of the list.
func TestJobsOfAPortfolio(t *testing.T) {
	tank := func(site, job string) validate.Result {
		return validate.Result{Tank: &plan.Tank{Site: cell.Of[string]{Raw: site}, Job: cell.Of[string]{Raw: job}}}
	}
	list := Jobs([]validate.Result{tank("A", ""), tank("B", "J2"), tank("a ", ""), tank("C", "J2"), tank("", "")}, "p.xlsx")
	var got []string
	for _, j := range list {
		got = append(got, j.Name+" "+strings.Repeat("I", len(j.Results)))
	}
	if strings.Join(got, ", ") != "A II, J2 II, Tanks of p.xlsx I" {
		t.Errorf("%q", got)
	}
}
