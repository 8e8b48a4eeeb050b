//go:build unix

package intake

import (
	"syscall"
	"time"
)

// cpu gives the processor time that the test has used: on a busy machine the
// clock says little, and the collector works beside the reader.
func cpu() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
