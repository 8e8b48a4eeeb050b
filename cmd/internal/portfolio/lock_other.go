//go:build !windows && (!unix || solaris || aix)

package portfolio

import (
	"errors"
	"os"
)

// lockFile has no lock to take that would go with the process.
func lockFile(*os.File) error { return errors.ErrUnsupported }
