//go:build unix && !solaris && !aix

package portfolio

import (
	"errors"
	"os"
	"syscall"
)

// lockFile takes the file's lock without waiting. It belongs to the open file
// and goes with the process.
func lockFile(f *os.File) error {
	for {
		err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
		switch {
		case errors.Is(err, syscall.EINTR):
			continue
		case errors.Is(err, syscall.EWOULDBLOCK):
			return errLocked
		}
		return err
	}
}
