package main

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"

	"dropcut/convert/peer"
)

// systemFaults need what Linux has: small disks, and a look at the calls to the
// system.
func systemFaults() []fault {
	return []fault{{"disk full", diskFull}, {"no permission", noPermission}, {"order against power cuts", orderAgainstPowerCuts}}
}

// A disk that is full at some point of the writing: the reason in plain words,
// the old files whole, nothing half written left, and with room made the next
// run is as if nothing had been. The disk is a small one in memory, which only
// the superuser may make.
func diskFull(t *testing.T, good string) {
	disk := t.TempDir()
	if err := syscall.Mount("tmpfs", disk, "tmpfs", 0, "size=4m"); err != nil {
		t.Skipf("no small disk can be made here (%v): the disk that is full is left out", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(disk, syscall.MNT_DETACH); err != nil {
			t.Error(err)
		}
	})
	size := func(kb int64) {
		if err := syscall.Mount("tmpfs", disk, "tmpfs", syscall.MS_REMOUNT, fmt.Sprintf("size=%dk", kb)); err != nil {
			t.Fatal(err)
		}
	}
	used := func() int64 {
		var s syscall.Statfs_t
		if err := syscall.Statfs(disk, &s); err != nil {
			t.Fatal(err)
		}
		return int64(s.Blocks-s.Bfree) * s.Bsize >> 10
	}
	before := tree(t, good)
	rooms, list := []int64{8}, errands()[:4]
	if os.Getenv("DROPCUT_LONG") != "" {
		rooms = []int64{0, 4, 8, 12, 16, 20, 24, 32, 40, 60, 80, 120}
		list = errands()
	}
	failed := 0
	for _, e := range list {
		undisturbed := copyOf(t, good)
		in(t, undisturbed, e.args)
		after := tree(t, undisturbed)
		for _, room := range rooms {
			size(8 << 10)
			dir := filepath.Join(disk, "work")
			if err := os.CopyFS(dir, os.DirFS(good)); err != nil {
				t.Fatal(err)
			}
			size(used() + room)
			what := fmt.Sprintf("%s with room for %d kB", e.name, room)
			status, _, errs := in(t, dir, e.args)
			wholeOnly(t, what, untold(t, dir, status), before, after)
			switch {
			case status == statusFailed && (strings.Contains(errs, "the disk is full") || e.name == "run"):
				failed++
				if left := leftovers(t, dir); len(left) > 0 {
					t.Errorf("%s: %v is left", what, left)
				}
			case status != statusDone && status != statusStops:
				t.Errorf("%s ended with %d: %s", what, status, errs)
			}
			size(8 << 10)
			full := status == statusFailed
			status, _, errs = in(t, dir, e.args)
			if status != statusDone && status != statusStops && !strings.Contains(errs, "there already") {
				t.Errorf("%s: the next run ended with %d: %s", what, status, errs)
			}
			left, want := tree(t, dir), after
			if full {
				// The next run tells what could not be done the last time.
				left, want = untold(t, dir, statusFailed), maps.Clone(after)
				maps.DeleteFunc(want, func(name, _ string) bool { return summaries.MatchString(name) })
			}
			clean(t, what, left, want)
			if err := os.RemoveAll(dir); err != nil {
				t.Fatal(err)
			}
		}
	}
	if failed < len(list)/2 {
		t.Errorf("the disk was full %d times only", failed)
	}
	t.Logf("the disk was full %d times", failed)
}

// summaries are what a run tells of itself.
var summaries = regexp.MustCompile(`^results/(page\.html|summary\.(xlsx|csv))$`)

// untold gives the files of a folder, without the summaries of a run that could
// not do all: they say what could not be done, so they are those of no other run.
// They have to be whole.
func untold(t *testing.T, dir string, status int) map[string]string {
	t.Helper()
	files := tree(t, dir)
	if status != statusFailed {
		return files
	}
	for name := range files {
		if !summaries.MatchString(name) {
			continue
		}
		delete(files, name)
		data, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(name)))
		if err != nil {
			t.Fatal(err)
		}
		switch filepath.Ext(name) {
		case ".html":
			if !bytes.HasSuffix(bytes.TrimSpace(data), []byte("</html>")) {
				t.Errorf("%s breaks off after %d bytes", name, len(data))
			}
		case ".csv":
			if _, err := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(data, []byte("\ufeff")))).ReadAll(); err != nil || !bytes.HasSuffix(data, []byte("\n")) {
				t.Errorf("%s is not whole: %v", name, err)
			}
		default:
			if _, err := zip.NewReader(bytes.NewReader(data), int64(len(data))); err != nil {
				t.Errorf("%s is not whole: %v", name, err)
			}
		}
	}
	return files
}

// A folder that this user may not write into, and a disk that takes no writing.
func noPermission(t *testing.T, good string) {
	book := filepath.Join(good, "tanks.xlsx")
	closed := filepath.Join(t.TempDir(), "closed")
	if err := os.Mkdir(closed, 0o555); err != nil {
		t.Fatal(err)
	}
	want := "it is not allowed to this user"
	if os.Geteuid() == 0 {
		// Nothing is forbidden to the superuser but a disk that takes no writing.
		if err := syscall.Mount("tmpfs", closed, "tmpfs", syscall.MS_RDONLY, ""); err != nil {
			t.Skipf("the superuser may do all and no disk can be made here (%v)", err)
		}
		t.Cleanup(func() { _ = syscall.Unmount(closed, syscall.MNT_DETACH) })
		want = "this disk takes no writing"
	}
	for _, args := range [][]string{
		{"plan", "--out", closed, book},
		{"jobs", "--out", closed, book},
		{"convert", "--out", closed, book},
		{"collect", "--out", closed, "--into", book, filepath.Join(good, "back.xlsx")},
		{"run", "--out", closed, filepath.Join(good, "books")},
		{"inspect", "--save", filepath.Join(closed, "saved.csv"), book},
		{"template", filepath.Join(closed, "new.xlsx")},
		{"demo", filepath.Join(closed, "demo")},
	} {
		status, _, errs := in(t, good, args)
		if status != statusFailed || !strings.Contains(errs, want) {
			t.Errorf("%s ended with %d: %s", args[0], status, errs)
		}
	}
}

// A power cut may come between any two steps: a file's content is on the disk
// before it gets its name, and the name before the program goes on. strace shows
// the order of the calls to the system.
func orderAgainstPowerCuts(t *testing.T, good string) {
	strace := peer.Program(t, "strace")
	if !peer.Required() {
		t.Skip("watching every call takes seconds: run with DROPCUT_PEERS=required")
	}
	renamed := regexp.MustCompile(`renameat2?\([^"]*"([^"]*/)?(\.dropcut-[^"]*)", [^"]*"([^"]*)"`)
	for _, e := range errands() {
		dir := copyOf(t, good)
		log := filepath.Join(t.TempDir(), "calls")
		own, err := exec.LookPath("dropcut")
		if err != nil {
			t.Fatal(err)
		}
		cmd := exec.Command(strace, append([]string{"-f", "-y", "-s", "300", "-e", "trace=fsync,fdatasync,rename,renameat,renameat2,link,linkat", "-o", log, own}, e.args...)...)
		cmd.Dir = dir
		if out, err := cmd.CombinedOutput(); err != nil && cmd.ProcessState.ExitCode() != statusStops {
			if strings.Contains(string(out), "ptrace") {
				t.Skipf("no process may be watched here: %s", out)
			}
			t.Fatalf("%s: %v: %s", e.name, err, out)
		}
		data, err := os.ReadFile(log)
		if err != nil {
			t.Fatal(err)
		}
		lines := strings.Split(string(data), "\n")
		renames := 0
		for i, line := range lines {
			m := renamed.FindStringSubmatch(line)
			if m == nil {
				continue
			}
			renames++
			if !strings.Contains(strings.Join(lines[:i], "\n"), m[2]+">") {
				t.Errorf("%s: %s gets its name before its content is on the disk", e.name, m[3])
			}
			synced := false
			folder := filepath.Base(filepath.Dir(filepath.Join(dir, m[3])))
			if filepath.IsAbs(m[3]) {
				folder = filepath.Base(filepath.Dir(m[3]))
			}
			for _, later := range lines[i+1:] {
				if strings.Contains(later, "fsync(") && strings.Contains(later, "/"+folder+">") {
					synced = true
				}
			}
			if !synced {
				t.Errorf("%s: after %s got its name its folder is not brought to the disk", e.name, m[3])
			}
		}
		writes := !strings.Contains("audit explain diff", e.name)
		if writes != (renames > 0) {
			t.Errorf("%s: %d files got their names", e.name, renames)
		}
	}
}
