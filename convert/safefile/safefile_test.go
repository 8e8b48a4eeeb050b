package safefile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode/utf16"
)

func text(s string) func(io.Writer) error {
	return func(w io.Writer) error { _, err := io.WriteString(w, s); return err }
}

func names(t *testing.T, dir string) string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return strings.Join(out, " ")
}

func content(t *testing.T, path string) string {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestWrite(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "book.xlsx")
	if err := Write(path, text("one"), nil); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(path, 0o640); err != nil {
		t.Fatal(err)
	}
	seen := ""
	err := Write(path, text("two"), func(name string) error {
		if filepath.Ext(name) != ".xlsx" {
			t.Errorf("the finished file is called %s", name)
		}
		if got := content(t, path); got != "one" {
			t.Errorf("before it was verified the file held %q", got)
		}
		seen = content(t, name)
		return nil
	})
	if err != nil || seen != "two" || content(t, path) != "two" {
		t.Fatal(err, seen)
	}
	if st, err := os.Stat(path); runtime.GOOS != "windows" && (err != nil || st.Mode().Perm() != 0o640) {
		t.Errorf("the mode is %v, %v", st.Mode(), err)
	}
	if got := names(t, dir); got != "book.xlsx" {
		t.Errorf("the folder holds %s", got)
	}
}

func TestNothingHappensOnAnError(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "book.xlsx")
	if err := os.WriteFile(path, []byte("one"), 0o600); err != nil {
		t.Fatal(err)
	}
	boom := errors.New("boom")
	for name, f := range map[string]func() error{
		"writing": func() error {
			return Write(path, func(w io.Writer) error { _, _ = io.WriteString(w, "tw"); return boom }, nil)
		},
		"verifying": func() error { return Write(path, text("two"), func(string) error { return boom }) },
		"verifying, with a copy": func() error {
			kept, err := ReplaceKeepingCopy(path, time.Unix(0, 0), text("two"), func(string) error { return boom })
			if kept != "" {
				t.Errorf("a copy %s was made", kept)
			}
			return err
		},
	} {
		if err := f(); !errors.Is(err, boom) {
			t.Errorf("%s: %v", name, err)
		}
		if got := names(t, dir) + " " + content(t, path); got != "book.xlsx one" {
			t.Errorf("%s: %s", name, got)
		}
	}
}

func TestRefusesWhatIsNoFile(t *testing.T) {
	dir := t.TempDir()
	if err := Write(dir, text("x"), nil); err == nil || !strings.Contains(err.Error(), "is a folder") {
		t.Errorf("a folder: %v", err)
	}
	if err := Write(filepath.Join(dir, "none", "x"), text("x"), nil); err == nil {
		t.Error("a folder that is not there was written into")
	}
	if _, err := ReplaceKeepingCopy(filepath.Join(dir, "x"), time.Unix(0, 0), text("x"), nil); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("no old file: %v", err)
	}
	link := filepath.Join(dir, "link")
	if err := os.Symlink(filepath.Join(dir, "nowhere"), link); err == nil {
		if err := Write(link, text("x"), nil); err == nil || !strings.Contains(err.Error(), "is a link") {
			t.Errorf("a link to nothing: %v", err)
		}
	}
}

func TestFollowsALink(t *testing.T) {
	dir := t.TempDir()
	real, link := filepath.Join(dir, "real.csv"), filepath.Join(dir, "link.csv")
	if err := os.WriteFile(real, []byte("one"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(real, link); err != nil {
		t.Skip("no links here:", err)
	}
	if err := Write(link, text("two"), nil); err != nil {
		t.Fatal(err)
	}
	if st, err := os.Lstat(link); err != nil || st.Mode()&fs.ModeSymlink == 0 || content(t, real) != "two" {
		t.Errorf("the link became %v, %v; the file holds %s", st.Mode(), err, content(t, real))
	}
}

func TestKeepsDatedCopies(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "my book.v2.xlsx")
	if err := os.WriteFile(path, []byte("0"), 0o600); err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 4, 3, 14, 15, 0, 0, time.UTC)
	var kept []string
	for i := 1; i <= 3; i++ {
		k, err := ReplaceKeepingCopy(path, now, text(fmt.Sprint(i)), nil)
		if err != nil {
			t.Fatal(err)
		}
		kept = append(kept, filepath.Base(k)+"="+content(t, k))
	}
	want := "my book.v2-before-20260403-141500.xlsx=0 my book.v2-before-20260403-141500-2.xlsx=1 my book.v2-before-20260403-141500-3.xlsx=2"
	if got := strings.Join(kept, " "); got != want || content(t, path) != "3" {
		t.Errorf("got %s", got)
	}
}

func TestCopyWithoutSecondNames(t *testing.T) {
	dir := t.TempDir()
	from, to := filepath.Join(dir, "a.csv"), filepath.Join(dir, "b.csv")
	if err := os.WriteFile(from, []byte("one"), 0o640); err != nil {
		t.Fatal(err)
	}
	if err := copyFile(from, to); err != nil || content(t, to) != "one" {
		t.Fatal(err)
	}
	a, _ := os.Stat(from)
	b, _ := os.Stat(to)
	if a.Mode() != b.Mode() || !a.ModTime().Equal(b.ModTime()) || os.SameFile(a, b) {
		t.Errorf("%v %v, %v %v", a.Mode(), a.ModTime(), b.Mode(), b.ModTime())
	}
	if got := names(t, dir); got != "a.csv b.csv" {
		t.Error(got)
	}
}

func TestOpenBooksAreLeftAlone(t *testing.T) {
	office := make([]byte, 165)
	copy(office, "\x05A. Be"+strings.Repeat(" ", 50))
	for i, u := range utf16.Encode([]rune("Jörg Ω")) {
		office[57+2*i], office[58+2*i] = byte(u), byte(u>>8)
	}
	office[55] = 6
	for _, c := range []struct{ file, content, owner string }{
		{".~lock.book.xlsx#", ",pat,yardpc,03.04.2026 14:15,file:///home/pat;", "pat on yardpc"},
		{".~lock.book.xlsx#", "Pat Q,pat,,03.04.2026 14:15,;", "Pat Q"},
		{".~lock.book.xlsx#", "", "somebody"},
		{"~$book.xlsx", string(office), "Jörg Ω"},
		{"~$book.xlsx", string(office[:50]), "A. Be"},
		{"~$book.xlsx", "", "somebody"},
		{"~$book.xlsx", "\xff\xff\xff", "somebody"},
		{"~$book.xlsx", strings.Repeat("\xff", 200), "somebody"},
	} {
		dir := t.TempDir()
		path := filepath.Join(dir, "book.xlsx")
		lock := filepath.Join(dir, c.file)
		for name, data := range map[string]string{path: "one", lock: c.content} {
			if err := os.WriteFile(name, []byte(data), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		err := Write(path, text("two"), nil)
		var open *InUseError
		if !errors.As(err, &open) || !strings.Contains(err.Error(), "is open by "+c.owner+";") || !strings.Contains(err.Error(), lock) {
			t.Errorf("%s holding %q: %v", c.file, c.content, err)
		}
		if content(t, path) != "one" {
			t.Errorf("%s: the book was written", c.file)
		}
	}
}

func TestSomebodyElseGoesFirst(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "book.xlsx")
	for name, there := range map[string]bool{"changed by": true, "made by": false} {
		_ = os.Remove(path)
		if there {
			if err := os.WriteFile(path, []byte("one"), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		err := Write(path, text("ours"), func(string) error { return os.WriteFile(path, []byte("theirs"), 0o600) })
		if err == nil || !strings.Contains(err.Error(), name) || content(t, path) != "theirs" {
			t.Errorf("%s: %v, %s", name, err, content(t, path))
		}
	}
	// Opened while we were writing.
	lock := filepath.Join(dir, ".~lock.book.xlsx#")
	err := Write(path, text("ours"), func(string) error { return os.WriteFile(lock, nil, 0o600) })
	var open *InUseError
	if !errors.As(err, &open) || content(t, path) != "theirs" {
		t.Errorf("%v, %s", err, content(t, path))
	}
}

func TestStrayFilesAreTakenAway(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "book.xlsx")
	if err := os.WriteFile(path, []byte("one"), 0o600); err != nil {
		t.Fatal(err)
	}
	gone := exec.Command(os.Args[0], "-test.run=^$")
	if err := gone.Run(); err != nil {
		t.Fatal(err)
	}
	dead, living := gone.Process.Pid, os.Getppid()
	name := func(host string, pid int, base string) string {
		return filepath.Join(dir, fmt.Sprintf("%s%s-%d-1-%s", prefix, host, pid, base))
	}
	stray := []string{
		name(machine(), dead, "book.xlsx"), name(machine(), os.Getpid(), "book.xlsx"), name("0000abcd", dead, "book.xlsx") + "",
	}
	old := time.Now().Add(-2 * stale)
	kept := []string{name(machine(), living, "book.xlsx"), name(machine(), dead, "other.xlsx"), name("00000001", dead, "book.xlsx"), filepath.Join(dir, prefix+"notes"), filepath.Join(dir, "book-before-x.xlsx")}
	for _, f := range append(stray, kept...) {
		if err := os.WriteFile(f, nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Chtimes(stray[2], old, old); err != nil {
		t.Fatal(err)
	}
	// A second name that a run gave the old file just before it was killed.
	second := filepath.Join(dir, "book-before-20260403-141500.xlsx")
	if err := os.Link(path, second); err == nil {
		stray = append(stray, second)
	}
	if err := Write(path, text("two"), nil); err != nil {
		t.Fatal(err)
	}
	for _, f := range stray {
		if _, err := os.Lstat(f); err == nil {
			t.Errorf("%s is still there", f)
		}
	}
	for _, f := range kept {
		if _, err := os.Lstat(f); err != nil {
			t.Errorf("%s is gone", f)
		}
	}
}

const childEnv = "DROPCUT_SAFEFILE_CHILD"

// page gives a file of one version: every line says which, the last one ends it.
func page(version int) []byte {
	line := fmt.Sprintf("version %d\n", version)
	return []byte(strings.Repeat(line, 5_000) + "end\n")
}

func whole(b []byte) bool {
	var v int
	if _, err := fmt.Sscanf(string(b[:min(len(b), 30)]), "version %d", &v); err != nil {
		return false
	}
	return bytes.Equal(b, page(v))
}

// TestChild is no test: it is what TestKilledWhileWriting starts and kills.
func TestChild(t *testing.T) {
	path := os.Getenv(childEnv)
	if path == "" {
		t.Skip("started by TestKilledWhileWriting only")
	}
	fmt.Println("writing")
	for v := 1; ; v++ {
		write := func(w io.Writer) error {
			for b := page(v); len(b) > 0; {
				n := min(len(b), 5_000)
				if _, err := w.Write(b[:n]); err != nil {
					return err
				}
				b = b[n:]
			}
			return nil
		}
		verify := func(name string) error {
			b, err := os.ReadFile(name)
			if err == nil && !whole(b) {
				err = errors.New("not whole")
			}
			return err
		}
		if v%2 == 0 {
			if _, err := ReplaceKeepingCopy(path, time.Unix(int64(v), 0), write, verify); err != nil {
				t.Fatal(err)
			}
			continue
		}
		if err := Write(path, write, verify); err != nil {
			t.Fatal(err)
		}
	}
}

// A writer killed at any moment leaves the old file or a new one, whole, and so
// are the kept copies; the next run leaves nothing else behind.
func TestKilledWhileWriting(t *testing.T) {
	kills := 20
	if n, err := strconv.Atoi(os.Getenv("DROPCUT_KILLS")); err == nil {
		kills = n // for a long run
	}
	dir := t.TempDir()
	path := filepath.Join(dir, "book.xlsx")
	if err := os.WriteFile(path, page(0), 0o600); err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(11, 12))
	moved := 0
	for i := range kills {
		cmd := exec.Command(os.Args[0], "-test.run=^TestChild$")
		cmd.Env = append(os.Environ(), childEnv+"="+path)
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		// From the moment on at which it starts to write.
		if _, err := out.Read(make([]byte, 1)); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Duration(r.IntN(30_000)) * time.Microsecond)
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		b := []byte(content(t, path))
		if !whole(b) {
			t.Fatalf("kill %d left %d bytes, %q...", i, len(b), b[:min(len(b), 40)])
		}
		if !bytes.Equal(b, page(0)) {
			moved++
		}
	}
	if moved == 0 {
		t.Error("no kill came after a first write; the test shows nothing")
	}
	if err := Write(path, text("last"), nil); err != nil {
		t.Fatal(err)
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		switch {
		case e.Name() == "book.xlsx":
		case strings.HasPrefix(e.Name(), "book-before-"):
			if b := []byte(content(t, filepath.Join(dir, e.Name()))); !whole(b) {
				t.Errorf("%s is not whole", e.Name())
			}
		default:
			t.Errorf("%s was left behind", e.Name())
		}
	}
}
