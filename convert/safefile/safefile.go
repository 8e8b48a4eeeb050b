// Package safefile puts a finished file in the place of another so that whoever
// looks, at whatever moment and after whatever accident, finds the old one or the
// new one, whole.
//
// The new file is written beside the old one under a name of its own, brought to
// the disk, read back by whoever wrote it, and renamed. What a killed run leaves
// behind is taken away by the next one.
package safefile

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"time"
)

// Write makes the file at path anew. write is given the new file's content to
// write; verify, which may be nil, is given the name of the finished file under
// its passing name and refuses it by an error. An old file keeps its mode and,
// on any error, its content; a link is followed. A folder, and a book that
// somebody has open, are refused, and so is a file that somebody else has
// changed in the meantime.
func Write(path string, write func(io.Writer) error, verify func(name string) error) error {
	return replace(path, write, verify, nil)
}

// ReplaceKeepingCopy is Write for a file that is there, which it keeps as
// NAME-before-20260403-141500.xlsx beside it, by the time now. An older copy is
// never overwritten: one of the same second gets -2 behind its name. It gives the
// name of the copy.
func ReplaceKeepingCopy(path string, now time.Time, write func(io.Writer) error, verify func(name string) error) (kept string, err error) {
	err = replace(path, write, verify, func(target string) error {
		kept, err = keep(target, now)
		return err
	})
	if err != nil && kept != "" {
		// The old file is still in its place, and a copy of it is of no use.
		_ = os.Remove(kept)
		kept = ""
	}
	return kept, err
}

// replace does the work of both; before, which may be nil, is called with the
// name of the old file just before the new one takes its place.
func replace(path string, write func(io.Writer) error, verify func(string) error, before func(string) error) error {
	target, old, err := look(path)
	if err != nil {
		return err
	}
	if old == nil && before != nil {
		return fmt.Errorf("%s: %w", path, fs.ErrNotExist)
	}
	if err := InUse(target); err != nil {
		return err
	}
	tmp, err := create(target, old == nil)
	if err != nil {
		return err
	}
	name := tmp.Name()
	done := false
	defer func() {
		if !done {
			_ = tmp.Close() // a second time where all went well so far
			_ = os.Remove(name)
		}
	}()
	if st, err := tmp.Stat(); err == nil {
		clean(target, name, st.ModTime())
	}
	if err := write(tmp); err != nil {
		return about(err, target)
	}
	if old != nil {
		if err := tmp.Chmod(old.Mode().Perm()); err != nil && runtime.GOOS != "windows" {
			return err
		}
	}
	if err := tmp.Sync(); err != nil {
		return about(err, target)
	}
	if err := tmp.Close(); err != nil {
		return about(err, target)
	}
	if verify != nil {
		if err := verify(name); err != nil {
			return err
		}
	}
	// Whoever opened or saved the file while we were writing goes first.
	if err := InUse(target); err != nil {
		return err
	}
	if err := unchanged(path, target, old); err != nil {
		return err
	}
	if before != nil {
		if err := before(target); err != nil {
			return err
		}
	}
	if err := os.Rename(name, target); err != nil {
		return err
	}
	done = true
	syncDir(filepath.Dir(target))
	return nil
}

// look follows links and gives the file that path stands for; old is nil where
// there is none yet.
func look(path string) (target string, old fs.FileInfo, err error) {
	target = path
	if real, err := filepath.EvalSymlinks(path); err == nil {
		target = real
	} else if !errors.Is(err, fs.ErrNotExist) {
		return "", nil, err
	} else if _, err := os.Lstat(path); err == nil {
		return "", nil, fmt.Errorf("%s is a link to a file that is not there; remove the link or name another file", path)
	}
	old, err = os.Stat(target)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return target, nil, nil
	case err != nil:
		return "", nil, err
	case old.IsDir():
		return "", nil, fmt.Errorf("%s is a folder; the name of a file was expected", path)
	case !old.Mode().IsRegular():
		return "", nil, fmt.Errorf("%s is no ordinary file and is not replaced; name another file", path)
	}
	return target, old, nil
}

func unchanged(path, target string, old fs.FileInfo) error {
	now, err := os.Stat(target)
	switch {
	case old == nil && errors.Is(err, fs.ErrNotExist):
		return nil
	case old == nil && err == nil:
		return fmt.Errorf("%s was made by somebody else in the meantime and is left alone; run again", path)
	case err != nil:
		return err
	case !os.SameFile(old, now) || now.Size() != old.Size() || !now.ModTime().Equal(old.ModTime()):
		return fmt.Errorf("%s was changed by somebody else in the meantime and is left alone; run again", path)
	}
	return nil
}

// keep gives the old file a second name, or copies it where the file system
// knows no second names.
func keep(target string, now time.Time) (string, error) {
	ext := filepath.Ext(target)
	stem := target[:len(target)-len(ext)] + "-before-" + now.Format("20060102-150405")
	for n := 1; n <= 1000; n++ {
		name := stem + ext
		if n > 1 {
			name = fmt.Sprintf("%s-%d%s", stem, n, ext)
		}
		err := os.Link(target, name)
		if err == nil {
			return name, nil
		}
		if errors.Is(err, fs.ErrExist) {
			continue
		}
		if _, err := os.Lstat(name); err == nil {
			continue
		}
		if err := copyFile(target, name); err != nil {
			return "", err
		}
		return name, nil
	}
	return "", fmt.Errorf("%s%s and its like are all taken; clear away old copies", stem, ext)
}

// copyFile copies a file to a name that is free, so that the name never stands
// for half a copy.
func copyFile(from, to string) error {
	src, err := os.Open(from)
	if err != nil {
		return err
	}
	defer src.Close()
	st, err := src.Stat()
	if err != nil {
		return err
	}
	tmp, err := create(from, false)
	if err != nil {
		return err
	}
	_, err = io.Copy(tmp, src)
	if err == nil {
		err = tmp.Sync()
	}
	if e := tmp.Close(); err == nil {
		err = e
	}
	if err == nil {
		_ = os.Chmod(tmp.Name(), st.Mode().Perm())
		_ = os.Chtimes(tmp.Name(), time.Time{}, st.ModTime())
		err = os.Rename(tmp.Name(), to)
	}
	if err != nil {
		_ = os.Remove(tmp.Name())
	}
	return err
}

// syncDir brings a rename to the disk. Some file systems cannot; the rename has
// been done all the same.
func syncDir(dir string) {
	d, err := os.Open(dir)
	if err != nil {
		return
	}
	_ = d.Sync()
	_ = d.Close()
}
