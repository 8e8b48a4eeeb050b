package safefile

import (
	"errors"
	"fmt"
	"hash/fnv"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"syscall"
	"time"
	"unicode/utf8"
)

// A passing file is named .dropcut-MACHINE-PROCESS-NUMBER-NAME, so that the next
// run can tell whether whoever was writing it still lives. The ending stays that
// of the target, since a reader may look at it.
const prefix = ".dropcut-"

// create opens a passing file in the folder of target. Nobody else can read it
// until it is finished, unless target is new and gets the usual mode at once.
func create(target string, usual bool) (*os.File, error) {
	dir, base := filepath.Split(target)
	mode := os.FileMode(0o600)
	if usual {
		mode = 0o666
	}
	for n := 1; ; n++ {
		name := fmt.Sprintf("%s%s-%d-%d-%s", prefix, machine(), os.Getpid(), n, tail(base))
		f, err := os.OpenFile(filepath.Join(dir, name), os.O_RDWR|os.O_CREATE|os.O_EXCL, mode)
		if !errors.Is(err, fs.ErrExist) || n == 10_000 {
			return f, about(err, target)
		}
	}
}

// about makes an error that names the passing file one about its target: nobody
// has given the passing one its name.
func about(err error, target string) error {
	var e *fs.PathError
	if errors.As(err, &e) && strings.HasPrefix(filepath.Base(e.Path), prefix) {
		e.Op, e.Path = "write", target
	}
	return err
}

// tail keeps the end of a name that would grow too long with what stands before
// it.
func tail(base string) string {
	const longest = 150
	if len(base) <= longest {
		return base
	}
	i := len(base) - longest
	for i < len(base) && !utf8.RuneStart(base[i]) {
		i++
	}
	return base[i:]
}

// machine gives a short mark of this computer: process numbers say nothing about
// those of another one on the same shared folder.
func machine() string {
	name, _ := os.Hostname()
	h := fnv.New32a()
	_, _ = h.Write([]byte(name))
	return fmt.Sprintf("%08x", h.Sum32())
}

// stale is the age at which a passing file is taken away whoever made it.
const stale = 24 * time.Hour

// clean takes away what killed runs have left of target: passing files of
// processes that are gone, and a second name of the old file that was given to
// it just before the end. mine is in use; now is the time by the file system's
// own clock.
func clean(target, mine string, now time.Time) {
	dir, base := filepath.Split(target)
	if dir == "" {
		dir = "."
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		return // nothing depends on it
	}
	old, err := os.Stat(target)
	there := err == nil
	ext := filepath.Ext(base)
	copies := base[:len(base)-len(ext)] + "-before-"
	for _, e := range entries {
		name := e.Name()
		path := filepath.Join(dir, name)
		switch {
		case name == filepath.Base(mine) || !e.Type().IsRegular():
		case strings.HasPrefix(name, prefix):
			host, pid, rest, ok := parse(name)
			if !ok || rest != tail(base) {
				continue
			}
			st, err := e.Info()
			if err != nil {
				continue
			}
			if host == machine() && !(alive(pid) && pid != os.Getpid()) || now.Sub(st.ModTime()) > stale {
				_ = os.Remove(path)
			}
		case there && strings.HasPrefix(name, copies) && filepath.Ext(name) == ext:
			// A copy that still is the very file in its place was made by a
			// run that was killed before it put the new one there.
			if st, err := e.Info(); err == nil && os.SameFile(st, old) {
				_ = os.Remove(path)
			}
		}
	}
}

// parse takes the name of a passing file apart.
func parse(name string) (host string, pid int, base string, ok bool) {
	parts := strings.SplitN(strings.TrimPrefix(name, prefix), "-", 4)
	if len(parts) != 4 {
		return "", 0, "", false
	}
	pid, err := strconv.Atoi(parts[1])
	return parts[0], pid, parts[3], err == nil && pid > 0
}

// alive reports whether a process of this computer is there.
func alive(pid int) bool {
	p, err := os.FindProcess(pid)
	if err != nil {
		return false
	}
	defer func() { _ = p.Release() }()
	if runtime.GOOS == "windows" {
		return true // it would not have been found
	}
	err = p.Signal(syscall.Signal(0))
	return err == nil || errors.Is(err, os.ErrPermission)
}
