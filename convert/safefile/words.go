package safefile

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"runtime"
	"strings"
	"syscall"
)

// Words gives an error's text with the system's own words about a file ("mkdir
// x: not a directory") put into words that say what to do. All else stays as it
// is.
func Words(err error) string {
	text := err.Error()
	for _, e := range systemErrors(err, nil) {
		var words string
		switch e := e.(type) {
		case *fs.PathError:
			words = fileWords(e.Op, e.Path, e.Err)
		case *os.LinkError:
			words = fileWords(e.Op, e.New, e.Err)
		}
		text = strings.Replace(text, e.Error(), words, 1)
	}
	return text
}

// systemErrors lists the errors about files within an error.
func systemErrors(err error, list []error) []error {
	switch e := err.(type) { //nolint:errorlint // the tree is walked here by hand
	case nil:
	case *fs.PathError, *os.LinkError:
		list = append(list, e)
	case interface{ Unwrap() error }:
		list = systemErrors(e.Unwrap(), list)
	case interface{ Unwrap() []error }:
		for _, one := range e.Unwrap() {
			list = systemErrors(one, list)
		}
	}
	return list
}

// what says what could not be done to a file, by the system's name of it.
func what(op string) string {
	switch op {
	case "open", "stat", "lstat", "read", "readdirent", "seek", "readlink", "fstat", "getdents64", "CreateFile":
		return "cannot be read"
	case "mkdir":
		return "cannot be made a folder"
	case "remove", "unlink", "unlinkat", "removeall":
		return "cannot be taken away"
	}
	return "cannot be written"
}

// Numbers by which Windows says that a disk is full, that a file is held open
// and that a name is not allowed, which stand for other things elsewhere
// (winerror.h: ERROR_HANDLE_DISK_FULL, ERROR_DISK_FULL, ERROR_SHARING_VIOLATION,
// ERROR_INVALID_NAME).
const (
	winHandleDiskFull = syscall.Errno(39)
	winDiskFull       = syscall.Errno(112)
	winSharing        = syscall.Errno(32)
	winInvalidName    = syscall.Errno(123)
)

func fileWords(op, path string, err error) string {
	windows := runtime.GOOS == "windows"
	var why string
	switch {
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT), windows && (errors.Is(err, winDiskFull) || errors.Is(err, winHandleDiskFull)):
		why = "the disk is full; make room and run again"
	case windows && errors.Is(err, winSharing):
		why = "another program has it open; close it there and run again"
	case errors.Is(err, syscall.ENOTDIR):
		why = "a file stands where a folder was expected; name another folder"
	case errors.Is(err, syscall.EISDIR):
		why = "it is a folder, a file was expected"
	case errors.Is(err, syscall.EROFS):
		why = "this disk takes no writing; name another folder with --out"
	case errors.Is(err, syscall.ENAMETOOLONG):
		why = "the name is longer than the system allows; use a shorter one"
	case errors.Is(err, syscall.EINVAL), windows && errors.Is(err, winInvalidName):
		why = "the system does not allow this name; use another one"
	case errors.Is(err, syscall.EIO):
		why = "the disk or the network fails; look after it and run again"
	case errors.Is(err, syscall.ELOOP):
		why = "its links lead in a circle"
	case errors.Is(err, syscall.EMFILE), errors.Is(err, syscall.ENFILE):
		why = "too many files are open; close other programs or run with fewer --workers"
	case errors.Is(err, fs.ErrPermission):
		why = "it is not allowed to this user; ask whoever looks after the folder"
	case errors.Is(err, fs.ErrNotExist):
		why = "there is no such file or folder"
	case errors.Is(err, fs.ErrExist):
		why = "something of this name is there already"
	default:
		why = fmt.Sprint(err)
	}
	return fmt.Sprintf("%s %s: %s", path, what(op), why)
}
