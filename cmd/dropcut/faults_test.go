package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
)

// Faults of the machine: whatever happens, what stood there before stands there
// still, or what was to stand there does, whole; and the next run is clean.

// errand is a command that writes, in a folder of its own.
type errand struct {
	name string
	args []string // files as they are seen from the folder
}

func errands() []errand {
	return []errand{
		{"plan", []string{"plan", "--quiet", "tanks.xlsx"}},
		{"plan in place", []string{"plan", "--quiet", "--in-place", "tanks.xlsx"}},
		{"plan of CSV", []string{"plan", "--quiet", "list"}},
		{"inspect", []string{"inspect", "--quiet", "--save", "saved.csv", "tanks.xlsx"}},
		{"convert", []string{"convert", "--quiet", "--to", "charts.xlsx", "tanks.xlsx"}},
		{"convert to CSV", []string{"convert", "--quiet", "--layout", "wide", "--to", "charts.csv", "tanks.xlsx"}},
		{"jobs", []string{"jobs", "--quiet", "tanks.xlsx"}},
		{"collect", []string{"collect", "--quiet", "--into", "tanks.xlsx", "back.xlsx"}},
		{"collect in place", []string{"collect", "--quiet", "--in-place", "--into", "tanks.xlsx", "back.xlsx"}},
		{"run", []string{"run", "--quiet", "--workers", "2", "--out", "results", "books"}},
		{"template", []string{"template", "empty.xlsx"}},
		{"demo", []string{"demo", "first"}},
		{"audit", []string{"audit", "--quiet", "tanks.xlsx"}},
		{"explain", []string{"explain", "--tank", "PY1-1", "tanks.xlsx"}},
		{"diff", []string{"diff", "tanks.xlsx", "back.xlsx"}},
	}
}

// bench makes a folder that every errand can be done in.
func bench(t *testing.T) string {
	t.Helper()
	seeds, base := attackSeeds(t)
	dir := filepath.Join(base, "bench")
	put := func(name string, data []byte) {
		name = filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(name), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, data, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	put("tanks.xlsx", seeds[0].data)
	put("books/one.xlsx", seeds[1].data)
	put("books/two.xlsx", seeds[2].data)
	for _, s := range seeds {
		switch {
		case s.role == "returned":
			put("back.xlsx", s.data)
		case s.name == "tanks.csv":
			put("list/tanks.csv", s.data)
		}
	}
	return dir
}

func copyOf(t *testing.T, dir string) string {
	t.Helper()
	to := t.TempDir()
	if err := os.CopyFS(to, os.DirFS(dir)); err != nil {
		t.Fatal(err)
	}
	return to
}

// passing are the names of files that are being written.
var passing = regexp.MustCompile(`(^|/)\.dropcut-[0-9a-f]+-\d+-\d+-`)

// dated are the names of kept copies, which hold the time.
var dated = regexp.MustCompile(`-before-\d{8}-\d{6}(-\d+)?`)

// in runs the program in a folder.
func in(t *testing.T, dir string, args []string) (status int, out, errs string) {
	t.Helper()
	cmd := program(args...)
	cmd.Dir = dir
	var o, e bytes.Buffer
	cmd.Stdout, cmd.Stderr = &o, &e
	err := cmd.Run()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		t.Fatal(err)
	}
	return cmd.ProcessState.ExitCode(), o.String(), e.String()
}

// wholeOnly demands that every file is one that was there, or one that an
// undisturbed run leaves there, to the byte; a kept copy is what was there.
func wholeOnly(t *testing.T, what string, got, before, after map[string]string) {
	t.Helper()
	for name, sum := range got {
		switch {
		case passing.MatchString(name), strings.HasPrefix(name, "results/.dropcut/"):
		case dated.MatchString(name):
			if original := dated.ReplaceAllString(name, ""); sum != before[original] && sum != after[original] {
				t.Errorf("%s: the copy %s is neither the old file nor the new one", what, name)
			}
		case before[name] != sum && after[name] != sum:
			t.Errorf("%s: %s is neither the old file nor the new one", what, name)
		}
	}
	for name := range before {
		if got[name] == "" {
			t.Errorf("%s: %s is gone", what, name)
		}
	}
}

// clean demands that a run after the fault has come to what an undisturbed run
// comes to, and has cleared away what the fault left.
func clean(t *testing.T, what string, got, after map[string]string) {
	t.Helper()
	for name, sum := range after {
		if dated.MatchString(name) || strings.HasPrefix(name, "results/.dropcut/") {
			continue
		}
		if got[name] != sum {
			t.Errorf("%s: after the next run %s is not what an undisturbed run leaves", what, name)
		}
	}
	for name := range got {
		if passing.MatchString(name) {
			t.Errorf("%s: after the next run %s is still there", what, name)
		}
	}
}

// fault is one kind of trouble; good is a folder that every errand can be done
// in.
type fault struct {
	name string
	run  func(t *testing.T, good string)
}

func TestFaults(t *testing.T) {
	if testing.Short() {
		t.Skip("starts many processes")
	}
	good := bench(t)
	for _, f := range append([]fault{
		{"killed at any moment", killedAtAnyMoment},
		{"many at once on one book", manyAtOnceOnOneBook},
		{"changed while it is read", changedWhileRead},
		{"clock set back", clockSetBack},
		{"folders that cannot be written", foldersThatCannotBeWritten},
	}, systemFaults()...) {
		t.Run(f.name, func(t *testing.T) { f.run(t, good) })
	}
}

// Killed at random moments, across all commands; 500 times in the long run. Only
// those count that hit a program at work: one that was through already was not
// killed.
func killedAtAnyMoment(t *testing.T, good string) {
	kills := 5
	if os.Getenv("DROPCUT_LONG") != "" {
		kills = 500
	}
	before := tree(t, good)
	type known struct {
		after map[string]string
		took  time.Duration
	}
	undisturbed := map[string]known{}
	r := rand.New(rand.NewPCG(11, 500))
	struck, midway := map[string]int{}, 0
	for n, hits := 0, 0; hits < kills; n++ {
		if n > 5*kills {
			t.Fatalf("of %d kills only %d hit a program at work: %v", n, hits, struck)
		}
		// The next errand has its turn when this one was hit.
		e := errands()[hits%len(errands())]
		k, ok := undisturbed[e.name]
		if !ok {
			dir := copyOf(t, good)
			start := time.Now()
			status, _, errs := in(t, dir, e.args)
			k.took = time.Since(start)
			if status != statusDone && status != statusStops {
				t.Fatalf("%s ended with %d: %s", e.name, status, errs)
			}
			k.after = tree(t, dir)
			undisturbed[e.name] = k
		}
		dir := copyOf(t, good)
		cmd := program(e.args...)
		cmd.Dir = dir
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Duration(r.Float64() * float64(k.took)))
		_ = cmd.Process.Kill() // it may be through already
		_ = cmd.Wait()
		if cmd.ProcessState.ExitCode() < 0 {
			hits++
			struck[e.name]++
		} else {
			// The machine is quicker now than it was for the run that was timed.
			k.took = k.took * 9 / 10
			undisturbed[e.name] = k
		}
		what := fmt.Sprintf("kill %d, %s", n, e.name)
		got := tree(t, dir)
		if len(got) != len(before) && len(got) < len(k.after) || slices.ContainsFunc(slices.Collect(maps.Keys(got)), passing.MatchString) {
			midway++
		}
		wholeOnly(t, what, got, before, k.after)
		status, _, errs := in(t, dir, e.args)
		switch {
		case status == statusDone || status == statusStops:
			clean(t, what, tree(t, dir), k.after)
		// These two leave alone what is there already and say so.
		case strings.Contains(errs, "there already") && (e.name == "template" || e.name == "inspect"):
		default:
			t.Errorf("%s: the next run ended with %d: %s", what, status, errs)
		}
		if t.Failed() {
			return
		}
		if err := os.RemoveAll(dir); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("killed at work %d times, %d of them between its first file and its last: %v", kills, midway, struck)
}

// Several at once on one book: each ends well or says why not, and the book is
// one of the two whole ones.
func manyAtOnceOnOneBook(t *testing.T, good string) {
	before := tree(t, good)
	for _, e := range errands()[:2] {
		undisturbed := copyOf(t, good)
		in(t, undisturbed, e.args)
		after := tree(t, undisturbed)
		dir := copyOf(t, good)
		var all sync.WaitGroup
		for range 4 {
			all.Go(func() {
				cmd := program(e.args...)
				cmd.Dir = dir
				var errs bytes.Buffer
				cmd.Stderr = &errs
				_ = cmd.Run() // the status is looked at below
				switch status := cmd.ProcessState.ExitCode(); {
				case status == statusDone || status == statusStops:
				case status == statusFailed && strings.Contains(errs.String(), "by somebody else"):
				default:
					t.Errorf("%s: one of four ended with %d: %s", e.name, status, errs.String())
				}
			})
		}
		all.Wait()
		got := tree(t, dir)
		wholeOnly(t, e.name, got, before, after)
		for name := range got {
			if passing.MatchString(name) {
				t.Errorf("%s: %s is left", e.name, name)
			}
		}
		in(t, dir, e.args)
		clean(t, e.name, tree(t, dir), after)
	}
}

// inWorld runs the program in this process with a clock of its own, which is
// asked just before a file takes the place of another.
func inWorld(now func() time.Time, args ...string) (status int, out, errs string) {
	var o, e bytes.Buffer
	w := &world{out: &o, err: &e, data: &o, screen: &e, now: now}
	err := newApp(w).RunContext(context.Background(), append([]string{"dropcut"}, args...))
	return exitStatus(err, &e), o.String(), e.String()
}

// A book that somebody saves while it is planned is not overwritten by a plan of
// what it was.
func changedWhileRead(t *testing.T, good string) {
	for _, c := range []struct{ file, book, other string }{
		{"tanks.xlsx", "tanks.xlsx", "books/one.xlsx"},
		{"list/tanks.csv", "list", "list/tanks.csv"},
	} {
		dir := copyOf(t, good)
		path := filepath.Join(dir, filepath.FromSlash(c.file))
		theirs, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(c.other)))
		if err != nil {
			t.Fatal(err)
		}
		theirs = bytes.Replace(theirs, []byte("Harbor Road"), []byte("Harbor Lane"), 1)
		now := func() time.Time {
			// Office programs write beside and rename.
			if err := os.WriteFile(path+".new", theirs, 0o666); err != nil {
				t.Fatal(err)
			}
			if err := os.Rename(path+".new", path); err != nil {
				t.Fatal(err)
			}
			return time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)
		}
		status, _, errs := inWorld(now, "plan", "--in-place", filepath.Join(dir, c.book))
		got, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if status != statusFailed || !bytes.Equal(got, theirs) {
			t.Errorf("%s: plan ended with %d (%s); what was saved meanwhile is there: %v", c.file, status, errs, bytes.Equal(got, theirs))
		}
	}
}

// A clock that is set back changes nothing but the names of kept copies and what
// the ledger says of when.
func clockSetBack(t *testing.T, good string) {
	dir := copyOf(t, good)
	at := time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)
	now := func() time.Time { return at }
	out, books := filepath.Join(dir, "results"), filepath.Join(dir, "books")
	if status, _, errs := inWorld(now, "run", "--quiet", "--out", out, books); status != statusDone && status != statusStops {
		t.Fatalf("run ended with %d: %s", status, errs)
	}
	want := tree(t, out)
	for _, at = range []time.Time{time.Unix(0, 0), time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC), time.Date(2200, 1, 1, 0, 0, 0, 0, time.UTC)} {
		status, text, errs := inWorld(now, "run", "--quiet", "--out", out, books)
		if status == statusFailed || !strings.Contains(text, "nothing was touched") {
			t.Errorf("in %d the second run ended with %d: %s%s", at.Year(), status, text, errs)
		}
		sameTree(t, fmt.Sprint(at.Year()), tree(t, out), want)
		for _, args := range [][]string{{"plan", "--in-place"}, {"plan", "--in-place", "--limit", "90%"}} {
			if status, _, errs := inWorld(now, append(args, filepath.Join(dir, "tanks.xlsx"))...); status == statusFailed {
				t.Errorf("in %d plan ended with %d: %s", at.Year(), status, errs)
			}
		}
	}
}

// A folder that is gone, a file in its place, no permission: a clear line, and
// nothing is changed.
func foldersThatCannotBeWritten(t *testing.T, good string) {
	before := tree(t, good)
	file := filepath.Join(good, "tanks.xlsx")
	for _, c := range []struct {
		out, want string
	}{
		{file, "a file stands where a folder was expected"},
		{filepath.Join(file, "below"), "a file stands where a folder was expected"},
		{filepath.Join(t.TempDir(), strings.Repeat("x", 300)), "longer than the system allows"},
	} {
		if runtime.GOOS == "windows" && !strings.Contains(c.want, "file stands") {
			continue
		}
		for _, args := range [][]string{
			{"plan", "--out", c.out, file},
			{"jobs", "--out", c.out, file},
			{"convert", "--out", c.out, file},
			{"collect", "--out", c.out, "--into", file, filepath.Join(good, "back.xlsx")},
			{"run", "--out", c.out, filepath.Join(good, "books")},
		} {
			var out, errs bytes.Buffer
			status := run(context.Background(), append([]string{"dropcut"}, args...), nil, &out, &errs)
			if status != statusFailed || !strings.Contains(errs.String(), c.want) {
				t.Errorf("%s --out %.60s ended with %d: %s, want %q", args[0], c.out, status, errs.String(), c.want)
			}
		}
	}
	sameTree(t, "after all of it", tree(t, good), before)
}

// leftovers lists passing files below a folder.
func leftovers(t *testing.T, dir string) (list []string) {
	t.Helper()
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err == nil && passing.MatchString(filepath.ToSlash(path)) {
			list = append(list, path)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	slices.Sort(list)
	return list
}
