package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"dropcut/cmd/internal/portfolio"
)

// runSize is the size of the folder that the tests of run work on: seconds
// usually, and with DROPCUT_LONG the whole of it.
func runSize() (tanks, books, broken, kills int) {
	if os.Getenv("DROPCUT_LONG") != "" {
		return 5000, 190, 10, 20
	}
	return 34, 17, 3, 6
}

// folderOfBooks writes an invented folder with a few books that are broken in
// different ways.
func folderOfBooks(t *testing.T) string {
	t.Helper()
	tanks, books, broken, _ := runSize()
	dir := filepath.Join(t.TempDir(), "books")
	var out, errs bytes.Buffer
	status := run(context.Background(), []string{"dropcut", "demo", "--tanks", fmt.Sprint(tanks), "--books", fmt.Sprint(books), dir}, nil, &out, &errs)
	if status != statusDone {
		t.Fatalf("demo ended with %d: %s", status, errs.String())
	}
	list, err := filepath.Glob(filepath.Join(dir, "*.xlsx"))
	if err != nil || len(list) != books {
		t.Fatalf("%d books were written, want %d (%v)", len(list), books, err)
	}
	whole, err := os.ReadFile(list[0])
	if err != nil {
		t.Fatal(err)
	}
	flipped := bytes.Clone(whole)
	for i := len(flipped) / 3; i < len(flipped)/3+200; i++ {
		flipped[i] ^= 0x55
	}
	for i, data := range [][]byte{
		[]byte("this is no workbook"), whole[:len(whole)/2], flipped,
		{},
		whole[:4], bytes.Repeat([]byte{0}, 5000),
		append([]byte("PK\x03\x04"), bytes.Repeat([]byte("x"), 300)...), whole[len(whole)/2:], []byte("<html>not found</html>"), whole[:len(whole)-30],
	}[:broken] {
		if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("portfolio-00%02d-broken.xlsx", 2*i)), data, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// tree gives the files of a folder of results and the hash of each, without
// what tells when and by whom it was done.
func tree(t *testing.T, dir string) map[string]string {
	t.Helper()
	files := map[string]string{}
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		rel, err := filepath.Rel(dir, path)
		if err != nil {
			return err
		}
		if name := filepath.Base(rel); name == "lock" || name == "ledger.jsonl" {
			return nil
		}
		data, err := os.ReadFile(path)
		files[filepath.ToSlash(rel)] = fmt.Sprintf("%x", sha256.Sum256(data))
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}

func sameTree(t *testing.T, what string, got, want map[string]string) {
	t.Helper()
	for name, hash := range want {
		switch got[name] {
		case hash:
		case "":
			t.Errorf("%s: %s is missing", what, name)
		default:
			t.Errorf("%s: %s has another content", what, name)
		}
	}
	for name := range got {
		if want[name] == "" {
			t.Errorf("%s: %s is one too many", what, name)
		}
	}
}

// program gives a command that is this test's own binary as the program.
func program(args ...string) *exec.Cmd { return exec.Command("dropcut", args...) }

// child runs the program in a process of its own.
func child(t *testing.T, args ...string) (status int, out, errs string) {
	t.Helper()
	cmd := program(args...)
	var o, e bytes.Buffer
	cmd.Stdout, cmd.Stderr = &o, &e
	err := cmd.Run()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		t.Fatal(err)
	}
	return cmd.ProcessState.ExitCode(), o.String(), e.String()
}

// The result of a run is the same to the byte whatever the number of workers,
// however often it was killed, and however many books are broken.
func TestRunKilledAndResumed(t *testing.T) {
	tanks, books, broken, kills := runSize()
	dir := folderOfBooks(t)
	base := t.TempDir()
	undisturbed := filepath.Join(base, "undisturbed")
	start := time.Now()
	status, out, errs := child(t, "run", "--workers", "2", "--out", undisturbed, dir)
	took := time.Since(start)
	if status != statusFailed {
		t.Fatalf("run ended with %d: %s", status, errs)
	}
	// faults.csv of the demonstration holds no tanks, and is no book.
	if want := fmt.Sprintf("%s in %d books", count(tanks, "tank", "tanks"), books+broken); !strings.Contains(out, want) {
		t.Errorf("the run says %q, want %q", out, want)
	}
	if n := strings.Count(errs, "could not be done: "); n != broken {
		t.Errorf("%d books could not be done, want %d: %s", n, broken, errs)
	}
	want := tree(t, undisturbed)
	t.Logf("%d books, %d tanks, 2 workers: %v", books, tanks, took.Round(10*time.Millisecond))

	// A second run touches nothing.
	before := touched(t, undisturbed)
	start = time.Now()
	if status, out, _ := child(t, "run", "--quiet", "--out", undisturbed, dir); status != statusFailed || !strings.Contains(out, "nothing was touched") {
		t.Errorf("the second run ended with %d: %s", status, out)
	}
	t.Logf("again, nothing changed: %v", time.Since(start).Round(10*time.Millisecond))
	for name, at := range touched(t, undisturbed) {
		if !before[name].Equal(at) {
			t.Errorf("the second run touched %s", name)
		}
	}

	one := filepath.Join(base, "one")
	start = time.Now()
	child(t, "run", "--quiet", "--workers", "1", "--out", one, dir)
	t.Logf("1 worker: %v", time.Since(start).Round(10*time.Millisecond))
	sameTree(t, "with one worker", tree(t, one), want)

	killed := filepath.Join(base, "killed")
	rng := rand.New(rand.NewPCG(7, uint64(kills)))
	struck := 0
	for range kills {
		cmd := program("run", "--quiet", "--workers", "2", "--out", killed, dir)
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Duration(rng.Float64() * 1.6 * float64(took) / float64(kills)))
		if cmd.Process.Kill() == nil {
			struck++
		}
		_ = cmd.Wait()
	}
	status, _, errs = child(t, "run", "--workers", "2", "--out", killed, dir)
	if status != statusFailed {
		t.Fatalf("the resumed run ended with %d: %s", status, errs)
	}
	t.Logf("killed %d times", struck)
	sameTree(t, "killed and resumed", tree(t, killed), want)
}

// A folder of results that another version of the program has kept, whose records
// this one cannot read, is done again and told as what cannot be compared; then
// it is as if it had been done here from the start.
func TestRunAfterAnotherVersion(t *testing.T) {
	dir, base := folderOfBooks(t), t.TempDir()
	fresh, old := filepath.Join(base, "fresh"), filepath.Join(base, "old")
	child(t, "run", "--quiet", "--no-jobs", "--out", fresh, dir)
	child(t, "run", "--quiet", "--no-jobs", "--out", old, dir)
	ledger := filepath.Join(old, portfolio.StateDir, "ledger.jsonl")
	data, err := os.ReadFile(ledger)
	if err != nil {
		t.Fatal(err)
	}
	var lines []string
	for line := range strings.Lines(string(data)) {
		var e map[string]any
		if err := json.Unmarshal([]byte(line), &e); err != nil {
			t.Fatal(err)
		}
		e["key"] = "that of another version"
		if path, ok := e["book"].(string); ok {
			record := fmt.Sprintf(`{"path":%q,"charts":1,"rows":97,"tanks":[],"findings":[],"orders":[],"across":{"Name":%[1]q}}`+"\n", path)
			sum := sha256.Sum256([]byte(record))
			hash := hex.EncodeToString(sum[:16])
			e["record"] = hash
			name := filepath.Join(old, portfolio.StateDir, "records", hash[:2], hash[2:])
			if err := errors.Join(os.MkdirAll(filepath.Dir(name), 0o777), os.WriteFile(name, []byte(record), 0o666)); err != nil {
				t.Fatal(err)
			}
		}
		text, err := json.Marshal(e)
		if err != nil {
			t.Fatal(err)
		}
		lines = append(lines, string(text)+"\n")
	}
	if err := os.WriteFile(ledger, []byte(strings.Join(lines, "")), 0o666); err != nil {
		t.Fatal(err)
	}
	tanks, books, broken, _ := runSize()
	status, out, errs := child(t, "run", "--no-jobs", "--out", old, dir)
	if status != statusFailed || strings.Contains(errs, "no record") {
		t.Fatalf("the run ended with %d: %s", status, errs)
	}
	if want := fmt.Sprintf("%s in %d books", count(tanks, "tank", "tanks"), books+broken); !strings.Contains(out, want) || !strings.Contains(out, "cannot be compared, since the run before was made by another version") {
		t.Errorf("the run says %q, want %q and that nothing can be compared", out, want)
	}
	if status, out, _ := child(t, "run", "--quiet", "--no-jobs", "--out", old, dir); status != statusFailed || !strings.Contains(out, "nothing was touched") {
		t.Errorf("the run after it ended with %d: %s", status, out)
	}
	// All but what tells of the changes is the same as in a new folder.
	got, want := tree(t, old), tree(t, fresh)
	for _, name := range []string{"page.html", summaryBook} {
		delete(got, name)
		delete(want, name)
	}
	sameTree(t, "after another version", got, want)
}

func touched(t *testing.T, dir string) map[string]time.Time {
	t.Helper()
	list := map[string]time.Time{}
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || d.Name() == "lock" {
			return err
		}
		info, err := d.Info()
		list[path] = info.ModTime()
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// The second of two runs into one folder of results says who is at work, and
// leaves everything as it is.
func TestTwoRunsAtOnce(t *testing.T) {
	dir, out := t.TempDir(), filepath.Join(t.TempDir(), "results")
	state := filepath.Join(out, portfolio.StateDir)
	if err := os.MkdirAll(state, 0o777); err != nil {
		t.Fatal(err)
	}
	lock, err := portfolio.Acquire(state, portfolio.Holder{Host: "office-7", PID: 4711, Since: time.Date(2026, 3, 15, 23, 5, 0, 0, time.UTC)})
	if err != nil {
		t.Fatal(err)
	}
	status, _, errs := child(t, "run", "--out", out, dir)
	if status != statusFailed || !strings.Contains(errs, "office-7 (process 4711, since 2026-03-15 23:05:00)") {
		t.Errorf("the second run ended with %d: %s", status, errs)
	}
	if err := lock.Release(); err != nil {
		t.Fatal(err)
	}
	if _, _, errs := child(t, "run", "--out", out, dir); !strings.Contains(errs, "no book was found") {
		t.Errorf("after the lock was given back the run says %q", errs)
	}
}

// An interrupt finishes the book in hand and leaves a folder from which the next
// run goes on; two of them end the run at once.
func TestRunInterrupted(t *testing.T) {
	if os.PathSeparator == '\\' {
		t.Skip("there is no signal to send on this system")
	}
	dir := folderOfBooks(t)
	out := filepath.Join(t.TempDir(), "results")
	cmd := program("run", "--quiet", "--workers", "1", "--out", out, dir)
	var errs bytes.Buffer
	cmd.Stderr = &errs
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	// The first book is through when its line stands in the ledger.
	ledger := filepath.Join(out, portfolio.StateDir, "ledger.jsonl")
	for end := time.Now().Add(20 * time.Second); time.Now().Before(end); time.Sleep(2 * time.Millisecond) {
		if data, err := os.ReadFile(ledger); err == nil && bytes.Count(data, []byte("\n")) >= 2 {
			break
		}
	}
	if err := cmd.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	_ = cmd.Wait()
	if got := cmd.ProcessState.ExitCode(); got != statusStopped {
		t.Fatalf("the interrupted run ended with %d: %s", got, errs.String())
	}
	data, err := os.ReadFile(ledger)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.HasSuffix(data, []byte("\n")) || bytes.Contains(data, []byte(`"finished"`)) {
		t.Errorf("the ledger of an interrupted run ends with %q", data[max(0, len(data)-80):])
	}
	if _, err := os.Stat(filepath.Join(out, "page.html")); err == nil {
		t.Error("an interrupted run has written its page")
	}
}

// A second interrupt ends the run at once, with the book in hand undone and
// nothing half written; the next run goes on and comes to the same.
func TestRunInterruptedTwice(t *testing.T) {
	if os.PathSeparator == '\\' {
		t.Skip("there is no signal to send on this system")
	}
	dir, base := folderOfBooks(t), t.TempDir()
	fresh, out := filepath.Join(base, "fresh"), filepath.Join(base, "results")
	child(t, "run", "--quiet", "--out", fresh, dir)
	cmd := program("run", "--quiet", "--workers", "1", "--out", out, dir)
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	ledger := filepath.Join(out, portfolio.StateDir, "ledger.jsonl")
	for end := time.Now().Add(20 * time.Second); time.Now().Before(end); time.Sleep(time.Millisecond) {
		if data, err := os.ReadFile(ledger); err == nil && len(data) > 0 {
			break
		}
	}
	// The second one may find the run ended already: then there is nothing to end.
	for range 40 {
		if cmd.Process.Signal(os.Interrupt) != nil {
			break
		}
		time.Sleep(time.Millisecond)
	}
	err := cmd.Wait()
	if _, stopped := errors.AsType[*exec.ExitError](err); !stopped {
		t.Fatalf("the run that was interrupted twice ended with %v", err)
	}
	if _, err := os.Stat(filepath.Join(out, "page.html")); err == nil {
		t.Error("a run that was interrupted twice has written its page")
	}
	if status, _, errs := child(t, "run", "--quiet", "--out", out, dir); status != statusFailed {
		t.Fatalf("the resumed run ended with %d: %s", status, errs)
	}
	sameTree(t, "interrupted twice and resumed", tree(t, out), tree(t, fresh))
}
