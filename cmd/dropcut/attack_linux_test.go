package main

import (
	"bytes"
	"fmt"
	"os"
	"syscall"
	"time"
)

// processorTime is what this process has used of the processor.
func processorTime() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// resetPeak makes the system count the peak of memory anew.
func resetPeak() { _ = os.WriteFile("/proc/self/clear_refs", []byte("5"), 0) }

// peakMemory is the most memory that this process has held, in bytes, as the
// system counts it; 0 where it does not tell.
func peakMemory() int64 {
	data, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return 0
	}
	_, rest, ok := bytes.Cut(data, []byte("VmHWM:"))
	if !ok {
		return 0
	}
	kb := int64(0)
	if _, err := fmt.Sscan(string(rest[:bytes.IndexByte(rest, 'k')]), &kb); err != nil {
		return 0
	}
	return kb << 10
}
