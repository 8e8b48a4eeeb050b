package portfolio

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// lockFile takes the file's lock without waiting. It lies far behind the file's
// text, so that others can still read who holds it, and goes with the process.
func lockFile(f *os.File) error {
	far := &windows.Overlapped{OffsetHigh: 1 << 20}
	err := windows.LockFileEx(windows.Handle(f.Fd()), windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY, 0, 1, 0, far)
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) || errors.Is(err, windows.ERROR_IO_PENDING) {
		return errLocked
	}
	return err
}
