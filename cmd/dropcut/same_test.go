package main

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// The same in gives the same out, to the byte: at another time, in another time
// zone and locale, with another number of processors and workers, under another
// name of the user and another home, from another folder and by other spellings
// of the paths. Only the ledger, the lock and the log tell when and where.
func TestSameInSameOut(t *testing.T) {
	if testing.Short() {
		t.Skip("starts many processes")
	}
	good := bench(t)
	host, err := os.Hostname()
	if err != nil {
		t.Fatal(err)
	}
	type outcome struct {
		files  map[string]string
		out    string // without the time in the names of kept copies
		status int
	}
	do := func(e errand, args []string, dir, from string, environment ...string) outcome {
		cmd := program(args...)
		cmd.Dir = from
		cmd.Env = append(os.Environ(), environment...)
		var out, errs bytes.Buffer
		cmd.Stdout, cmd.Stderr = &out, &errs
		_ = cmd.Run() // the status says it
		status := cmd.ProcessState.ExitCode()
		if status != statusDone && status != statusStops {
			t.Fatalf("%s ended with %d under %q: %s", e.name, status, environment, errs.String())
		}
		return outcome{tree(t, dir), dated.ReplaceAllString(out.String(), "-before"), status}
	}
	here := map[string]outcome{}
	for _, e := range errands() {
		dir := copyOf(t, good)
		here[e.name] = do(e, e.args, dir, dir, "TZ=UTC", "LC_ALL=C", "LANG=C", "GOMAXPROCS=1")
	}
	// Two seconds are the step of the clock in a zip archive.
	time.Sleep(time.Until(time.Now().Truncate(2 * time.Second).Add(2 * time.Second)))
	elsewhere := t.TempDir()
	for _, e := range errands() {
		want := here[e.name]
		dir := copyOf(t, good)
		args := slices.Clone(e.args)
		if i := slices.Index(args, "--workers"); i >= 0 {
			args[i+1] = "4"
		}
		got := do(e, args, dir, dir, "TZ=Pacific/Kiritimati", "LC_ALL=de_DE.UTF-8", "LANG=ar_EG.UTF-8", "LANGUAGE=fr", "GOMAXPROCS=4", "HOME="+elsewhere, "USER=somebody", "HOSTNAME=elsewhere", "COLUMNS=20")
		sameTree(t, e.name+", another environment", withoutTimes(got.files), withoutTimes(want.files))
		if got.out != want.out || got.status != want.status {
			t.Errorf("%s prints something else in another environment:\n%s\n%s", e.name, want.out, got.out)
		}
		// The same files by another spelling, from another folder.
		dir = copyOf(t, good)
		args = slices.Clone(args)
		for i, a := range args {
			if slices.Contains([]string{"tanks.xlsx", "back.xlsx", "list", "books", "results", "saved.csv", "charts.xlsx", "charts.csv", "empty.xlsx", "first"}, a) {
				args[i] = filepath.Dir(dir) + "//" + filepath.Base(dir) + "/books/.././" + a
			}
		}
		got = do(e, args, dir, elsewhere, "TZ=America/St_Johns", "GODEBUG=randautoseed=0")
		sameTree(t, e.name+", another spelling", withoutTimes(got.files), withoutTimes(want.files))
		// No name of this computer and no path of it in any result.
		for name := range got.files {
			if strings.HasPrefix(name, "results/.dropcut/l") {
				continue
			}
			data, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(name)))
			if err != nil {
				t.Fatal(err)
			}
			texts := []entry{{name, data}}
			if strings.HasSuffix(name, ".xlsx") {
				texts = unpack(t, data)
			}
			for _, part := range texts {
				if len(host) > 3 && bytes.Contains(part.data, []byte(host)) || bytes.Contains(part.data, []byte(filepath.Base(filepath.Dir(dir)))) {
					t.Errorf("%s: %s holds the name of this computer or a path of it", name, part.name)
				}
			}
		}
	}
	if left := leftovers(t, elsewhere); len(left) > 0 {
		t.Errorf("%v was left in the folder that the program was started in", left)
	}
	if list, err := os.ReadDir(elsewhere); err != nil || len(list) > 0 {
		t.Errorf("the folder that the program was started in holds %d files (%v)", len(list), err)
	}
}

// withoutTimes gives kept copies the name without their time.
func withoutTimes(files map[string]string) map[string]string {
	list := map[string]string{}
	for name, sum := range files {
		list[dated.ReplaceAllString(name, "-before")] = sum
	}
	return list
}
