package portfolio

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"time"

	"dropcut/convert/safefile"
)

// Entry is what the ledger says of a book that was done.
type Entry struct {
	Book string `json:"book"`
	In   string `json:"in"`  // hash of the book's content
	Key  string `json:"key"` // of all else that the result follows from
	// Record is the hash, and the name, of what was kept of it; Files are the
	// results that were written, seen from the folder of results.
	Record string   `json:"record"`
	Files  []string `json:"files,omitempty"`
	Failed bool     `json:"failed,omitempty"`
}

// Finish is what the ledger says of a run that came to its end.
type Finish struct {
	At  time.Time `json:"finished"`
	Key string    `json:"key"`
	// Files are the results for the whole folder, Standing the tanks in words.
	Files    []string `json:"files"`
	Standing string   `json:"standing"`
	Stopped  bool     `json:"stopped,omitempty"`
	Failed   int      `json:"failed,omitempty"`
	// Summary says what changed since the run before, Changes lists it as the
	// caller writes it, Count is the number of all changes.
	Summary string          `json:"summary"`
	Changes json.RawMessage `json:"changes,omitempty"`
	Count   int             `json:"count,omitempty"`
}

// Ledger remembers what was done. It is a text file to which one line of JSON is
// added for each book, brought to the disk before the next step: a plain file
// and not a database, because all that is ever asked of it is "the last line
// about this book", which is read once at the start; because a line is whole or
// cut off at the end, which is all that a kill or a power cut can do to it and is
// mended by leaving it out; and because a person can read it, copy it and, at
// worst, delete it, and the next run does everything again. An embedded database
// would add some seven megabytes of program and a file that only it can open.
//
// Records stand beside it under the hash of their content, so that a record is
// whole or not there, and equal results share one.
type Ledger struct {
	dir string
	f   *os.File
	// now are the books as they stand; then as they stood when the last run
	// finished, nil where none has.
	now, then map[string]Entry
	finished  []Finish
	open      bool // something was added since the last run finished
	lines     int
	mended    string
}

// OpenLedger reads the ledger of a folder of results. The caller has its lock.
func OpenLedger(dir string) (*Ledger, error) {
	state := filepath.Join(dir, StateDir)
	l := &Ledger{dir: dir, now: map[string]Entry{}}
	if err := os.MkdirAll(filepath.Join(state, "records"), 0o777); err != nil {
		return nil, err
	}
	f, err := os.OpenFile(l.file(), os.O_RDWR|os.O_CREATE, 0o666)
	if err != nil {
		return nil, err
	}
	good, err := l.read(f)
	if err == nil {
		// A line that a kill cut off is taken away, so that the next one does not
		// run into it.
		var end int64
		if end, err = f.Seek(0, io.SeekEnd); err == nil && end != good {
			l.mended = fmt.Sprintf("the last line of %s was cut off when a run was killed; it was taken away and its book is done again", l.file())
			err = f.Truncate(good)
		}
		if err == nil {
			_, err = f.Seek(good, io.SeekStart)
		}
	}
	if err != nil {
		return nil, errors.Join(err, f.Close())
	}
	l.f = f
	return l, nil
}

func (l *Ledger) file() string { return filepath.Join(l.dir, StateDir, "ledger.jsonl") }

// Mended says what was put right while reading, "" for nothing.
func (l *Ledger) Mended() string { return l.mended }

// read replays the ledger and gives the length of what is whole.
func (l *Ledger) read(f *os.File) (good int64, err error) {
	in := bufio.NewReaderSize(f, 1<<16)
	for n := 1; ; n++ {
		text, err := in.ReadBytes('\n')
		if errors.Is(err, io.EOF) {
			return good, nil
		}
		if err != nil {
			return good, err
		}
		good += int64(len(text))
		l.lines++
		if err := l.replay(text); err != nil {
			l.mended = fmt.Sprintf("%s, line %d, could not be read and was left out; what it said is done again", l.file(), n)
		}
	}
}

func (l *Ledger) replay(text []byte) error {
	var kind struct {
		Book, Gone string
		Finished   *time.Time
	}
	if err := json.Unmarshal(text, &kind); err != nil {
		return err
	}
	switch {
	case kind.Finished != nil:
		var f Finish
		if err := json.Unmarshal(text, &f); err != nil {
			return err
		}
		l.finished = append(l.finished, f)
		l.then, l.open = maps.Clone(l.now), false
	case kind.Book != "":
		var e Entry
		if err := json.Unmarshal(text, &e); err != nil {
			return err
		}
		l.now[e.Book], l.open = e, true
	case kind.Gone != "":
		delete(l.now, kind.Gone)
		l.open = true
	}
	return nil
}

// add writes a line and brings it to the disk.
func (l *Ledger) add(v any) error {
	data, err := json.Marshal(v)
	if err != nil {
		return err
	}
	if _, err := l.f.Write(append(data, '\n')); err != nil {
		return err
	}
	l.lines++
	return l.f.Sync()
}

// Put notes that a book was done. What stands there already is not written
// again.
func (l *Ledger) Put(e Entry) error {
	if old, ok := l.now[e.Book]; ok && old.In == e.In && old.Key == e.Key && old.Record == e.Record && old.Failed == e.Failed && slices.Equal(old.Files, e.Files) {
		return nil
	}
	l.now[e.Book], l.open = e, true
	return l.add(e)
}

// Gone notes the books that are not in the folder any more.
func (l *Ledger) Gone(here map[string]bool) error {
	for _, path := range slices.Sorted(maps.Keys(l.now)) {
		if here[path] {
			continue
		}
		delete(l.now, path)
		l.open = true
		if err := l.add(struct {
			Gone string `json:"gone"`
		}{path}); err != nil {
			return err
		}
	}
	return nil
}

// Entry gives what is known of a book.
func (l *Ledger) Entry(path string) (Entry, bool) { e, ok := l.now[path]; return e, ok }

// Before gives what the last finished run had of a book.
func (l *Ledger) Before(path string) (Entry, bool) { e, ok := l.then[path]; return e, ok }

// Finished lists the runs that came to their end, the oldest first.
func (l *Ledger) Finished() []Finish { return l.finished }

// Missing gives the books of the last finished run that are gone since, in
// order.
func (l *Ledger) Missing() []string {
	var list []string
	for path := range l.then {
		if _, ok := l.now[path]; !ok {
			list = append(list, path)
		}
	}
	slices.Sort(list)
	return list
}

// Settled reports whether the last run finished, nothing was done since, and its
// results for the whole folder stand where they were written.
func (l *Ledger) Settled(key string) (Finish, bool) {
	if l.open || len(l.finished) == 0 {
		return Finish{}, false
	}
	last := l.finished[len(l.finished)-1]
	return last, last.Key == key && l.stand(last.Files)
}

// stand reports whether files of the folder of results are there.
func (l *Ledger) stand(files []string) bool {
	for _, name := range files {
		if _, err := os.Stat(filepath.Join(l.dir, filepath.FromSlash(name))); err != nil {
			return false
		}
	}
	return true
}

// Done reports whether a book with this content was done with this key, and
// whether all that came of it is still there. A book that failed is never done:
// its file may have been in use.
func (l *Ledger) Done(path, in, key string) bool {
	e, ok := l.Entry(path)
	return ok && l.doneAs(e, in, key)
}

// doneAs is Done for an entry at hand. It reads files alone, so that it may be
// asked by several goroutines.
func (l *Ledger) doneAs(e Entry, in, key string) bool {
	return !e.Failed && e.In == in && e.Key == key && l.stand(e.Files) && l.sound(e.Record)
}

// sound reports whether a record is there and still is what it was. One that is
// not is taken away, so that it is written anew.
func (l *Ledger) sound(hash string) bool {
	_, err := l.Record(hash)
	return err == nil
}

// Finish notes the end of a run, and clears away what nobody needs any more.
func (l *Ledger) Finish(f Finish) error {
	if err := l.add(f); err != nil {
		return err
	}
	l.finished = append(l.finished, f)
	l.then, l.open = maps.Clone(l.now), false
	if l.lines > 4*len(l.now)+1000 {
		if err := l.rewrite(); err != nil {
			return err
		}
	}
	return l.clear()
}

// runsKept is how many finished runs a rewritten ledger remembers.
const runsKept = 400

// rewrite makes the ledger anew from what it says, when most of its lines are
// about the past.
func (l *Ledger) rewrite() error {
	runs := l.finished[max(0, len(l.finished)-runsKept):]
	err := safefile.Write(l.file(), func(w io.Writer) error {
		out := json.NewEncoder(w)
		out.SetEscapeHTML(false)
		for _, f := range runs[:len(runs)-1] {
			if err := out.Encode(f); err != nil {
				return err
			}
		}
		for _, path := range slices.Sorted(maps.Keys(l.now)) {
			if err := out.Encode(l.now[path]); err != nil {
				return err
			}
		}
		return out.Encode(runs[len(runs)-1])
	}, nil)
	if err != nil {
		return err
	}
	old := l.f
	if l.f, err = os.OpenFile(l.file(), os.O_RDWR|os.O_APPEND, 0o666); err != nil {
		l.f = old
		return err
	}
	l.lines = len(l.now) + len(runs)
	return old.Close()
}

// recordFile is where a record stands. The first letters of the hash make
// folders, since some systems get slow with many files in one.
func (l *Ledger) recordFile(hash string) string {
	if len(hash) < 3 {
		hash = "00" + hash
	}
	return filepath.Join(l.dir, StateDir, "records", hash[:2], hash[2:])
}

// Keep stores a record and gives its hash. It may be called from several
// goroutines at once: a record is whole or not there, whoever was first.
func (l *Ledger) Keep(record io.WriterTo) (string, error) {
	var buf bytes.Buffer
	if _, err := record.WriteTo(&buf); err != nil {
		return "", err
	}
	hash := recordHash(buf.Bytes())
	name := l.recordFile(hash)
	if l.sound(hash) {
		return hash, nil
	}
	if err := os.MkdirAll(filepath.Dir(name), 0o777); err != nil {
		return "", err
	}
	return hash, safefile.Write(name, func(w io.Writer) error {
		_, err := w.Write(buf.Bytes())
		return err
	}, nil)
}

// Open opens a record as it stands, for those who read parts of it. Whether it is
// sound was seen when its book was found done, or was kept.
func (l *Ledger) Open(hash string) (*os.File, error) { return os.Open(l.recordFile(hash)) }

// Record reads a record. One whose content does not have its hash was spoilt and
// is taken away; the error is the same as for one that is not there.
func (l *Ledger) Record(hash string) ([]byte, error) {
	name := l.recordFile(hash)
	data, err := os.ReadFile(name)
	if err != nil {
		return nil, err
	}
	if recordHash(data) != hash {
		if err := os.Remove(name); err != nil {
			return nil, err
		}
		return nil, fmt.Errorf("%s was spoilt and is taken away; run again: %w", name, fs.ErrNotExist)
	}
	return data, nil
}

func recordHash(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:16])
}

// clear takes away the records that no book has any more.
func (l *Ledger) clear() error {
	used := map[string]bool{}
	for _, e := range l.now {
		used[l.recordFile(e.Record)] = true
	}
	root := filepath.Join(l.dir, StateDir, "records")
	return filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || used[path] {
			return err
		}
		return os.Remove(path)
	})
}

// Close closes the ledger.
func (l *Ledger) Close() error { return l.f.Close() }
