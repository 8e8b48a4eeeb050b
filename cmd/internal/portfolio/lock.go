package portfolio

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"
)

// Holder says who is running.
type Holder struct {
	Host  string    `json:"host"`
	PID   int       `json:"pid"`
	Since time.Time `json:"since"`
}

// HeldError says that another run is at work in the folder of results.
type HeldError struct {
	File   string
	Holder Holder
}

// Error names the holder and what to do.
func (e *HeldError) Error() string {
	who := "another run"
	if e.Holder.PID != 0 {
		who = fmt.Sprintf("a run on %s (process %d, since %s)", e.Holder.Host, e.Holder.PID, e.Holder.Since.Format("2006-01-02 15:04:05"))
	}
	return fmt.Sprintf("%s is at work in this folder of results (%s); wait for it, or give another --out", who, e.File)
}

// Lock is held while a run works. It is a lock of the operating system on a file
// that says who holds it: when the program ends, in whatever way, the system
// lets go of it, so that a killed run never has to be cleared away by hand.
type Lock struct{ f *os.File }

// errLocked is what the system's lock gives where somebody else has it.
var errLocked = errors.New("locked")

// Acquire takes the lock of a folder of results. Where another run has it, the
// error is a *HeldError.
func Acquire(state string, me Holder) (*Lock, error) {
	name := filepath.Join(state, "lock")
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o666)
	if err != nil {
		return nil, err
	}
	if err := lockFile(f); err != nil {
		defer f.Close()
		if !errors.Is(err, errLocked) {
			return nil, fmt.Errorf("%s cannot be locked: %w; put the results on a disk that knows locks, with --out", name, err)
		}
		held := &HeldError{File: name}
		if data, err := io.ReadAll(io.LimitReader(f, 4096)); err == nil {
			// The holder may be about to write its name; then it has none yet.
			_ = json.Unmarshal(data, &held.Holder)
		}
		return nil, held
	}
	l := &Lock{f}
	data, err := json.Marshal(me)
	if err == nil {
		err = f.Truncate(0)
	}
	if err == nil {
		_, err = f.WriteAt(append(data, '\n'), 0)
	}
	if err != nil {
		return nil, errors.Join(err, l.Release())
	}
	return l, nil
}

// Release gives the lock back. The file stays: taking it away would let two runs
// lock two files of one name.
func (l *Lock) Release() error { return l.f.Close() }
