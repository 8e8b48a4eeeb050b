package portfolio

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"
	"sync"
	"time"

	"golang.org/x/sync/errgroup"
	"golang.org/x/sync/semaphore"

	"dropcut/convert/safefile"
)

// Outcome is what came of a book.
type Outcome struct {
	Record io.WriterTo
	Files  []string // written, seen from the folder of results, with slashes
	Failed bool
	Tanks  int
	Charts int
	Stop   bool // at least one of its tanks has a stop
}

// Told is what is said of a book when it is through.
type Told struct {
	Book
	Outcome
	Number int  // of the book in the folder, from 0
	Same   bool // it was done before and nothing changed
	Why    string
	Took   time.Duration
}

// Work is a run through the books of a folder.
type Work struct {
	Books   []Book
	Ledger  *Ledger
	Key     string // of all that the results follow from beside the books
	Workers int    // books in hand at once, at least 1
	// Memory bounds, in bytes, what the books in hand may take together, as far
	// as their sizes tell. A book that takes more than that is done alone.
	Memory int64
	// Do does a book. An error is about the book: it is told and does not end the
	// run.
	Do func(Book) (Outcome, error)
	// Failed makes the record of a book that could not be done.
	Failed func(Book, error) io.WriterTo
	// Tell is called for each book in the order of the folder, from one goroutine
	// at a time.
	Tell func(Told)
	Now  func() time.Time
}

// Run does the books that the ledger does not know as done. After an interrupt
// (the context's end) it finishes the books in hand and gives the context's
// error. Any other error is about the ledger or the folder of results: without
// them nothing that is done could be remembered.
func (w *Work) Run(ctx context.Context) error {
	here := map[string]bool{}
	for _, b := range w.Books {
		here[b.Path] = true
	}
	if err := w.Ledger.Gone(here); err != nil {
		return err
	}
	g, inner := errgroup.WithContext(ctx)
	g.SetLimit(max(1, w.Workers))
	room := semaphore.NewWeighted(max(1, w.Memory))
	order := newOrder(w.Tell)
	var ledger sync.Mutex
	for i, b := range w.Books {
		need := min(footprint(b), max(1, w.Memory))
		if room.Acquire(inner, need) != nil {
			break
		}
		if inner.Err() != nil {
			room.Release(need)
			break
		}
		g.Go(func() error {
			defer room.Release(need)
			told, err := w.one(b, &ledger)
			if err != nil {
				return fmt.Errorf("what was done cannot be remembered, so the run ends: %w", err)
			}
			told.Number = i
			order.put(told)
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		return err
	}
	return ctx.Err()
}

// footprint guesses what a book takes in memory: workbooks are compressed about
// tenfold, and what is kept of a chart row is less than its text.
func footprint(b Book) int64 { return 24<<20 + 10*b.Size }

// one does a book, unless it is done already, and notes it.
func (w *Work) one(b Book, ledger *sync.Mutex) (Told, error) {
	start := w.Now()
	told := Told{Book: b}
	in, err := hash(b.File)
	if err == nil {
		// Files are read and written outside of the lock, so that one worker never
		// waits for the other's.
		ledger.Lock()
		e, known := w.Ledger.Entry(b.Path)
		ledger.Unlock()
		if told.Same = known && w.Ledger.doneAs(e, in, w.Key); told.Same {
			return told, nil
		}
		told.Outcome, err = w.try(b)
	}
	if err != nil {
		told.Why = strings.ReplaceAll(safefile.Words(err), "\n", "; ")
		told.Outcome = Outcome{Record: w.Failed(b, errors.New(told.Why)), Failed: true}
	}
	record, err := w.Ledger.Keep(told.Record)
	if err != nil {
		return told, err
	}
	told.Record = nil // it can be large, and those who wait for their turn to be told are many
	told.Took = w.Now().Sub(start)
	ledger.Lock()
	defer ledger.Unlock()
	return told, w.Ledger.Put(Entry{Book: b.Path, In: in, Key: w.Key, Record: record, Files: told.Files, Failed: told.Failed})
}

// try does a book so that even a fault of the program spoils this book only.
func (w *Work) try(b Book) (out Outcome, err error) {
	defer func() {
		if p := recover(); p != nil {
			where := ""
			for line := range strings.Lines(string(debug.Stack())) {
				if strings.Contains(line, "/dropcut/") && !strings.Contains(line, "internal/portfolio") {
					where = " at " + strings.TrimSpace(line)
					break
				}
			}
			err = fmt.Errorf("%s: a fault of dropcut itself (%v%s); please report it; the book was not touched", b.File, p, where)
		}
	}()
	return w.Do(b)
}

// order passes on what is told in the order of the folder, whoever is through
// first.
type order struct {
	mu   sync.Mutex
	tell func(Told)
	next int
	wait map[int]Told
}

func newOrder(tell func(Told)) *order { return &order{tell: tell, wait: map[int]Told{}} }

func (o *order) put(t Told) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.wait[t.Number] = t
	for {
		t, ok := o.wait[o.next]
		if !ok {
			return
		}
		delete(o.wait, o.next)
		o.next++
		if o.tell != nil {
			o.tell(t)
		}
	}
}

// hash gives the hash of a file's content, or of the names and contents of the
// CSV files of a folder.
func hash(path string) (string, error) {
	info, err := os.Stat(path)
	if err != nil {
		return "", err
	}
	h := sha256.New()
	if !info.IsDir() {
		if err := hashFile(h, path); err != nil {
			return "", err
		}
		return hex.EncodeToString(h.Sum(nil)), nil
	}
	entries, err := os.ReadDir(path)
	if err != nil {
		return "", err
	}
	for _, e := range entries {
		if e.IsDir() || !strings.EqualFold(filepath.Ext(e.Name()), ".csv") || strings.HasPrefix(e.Name(), ".") || strings.HasPrefix(e.Name(), "~") {
			continue
		}
		fmt.Fprintf(h, "%q\n", e.Name())
		if err := hashFile(h, filepath.Join(path, e.Name())); err != nil {
			return "", err
		}
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

func hashFile(w io.Writer, path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	_, err = io.Copy(w, f)
	return err
}

// KeyOf makes a key of texts and of the contents of files.
func KeyOf(texts, files []string) (string, error) {
	h := sha256.New()
	for _, t := range texts {
		fmt.Fprintf(h, "%q\n", t)
	}
	for _, name := range files {
		sum, err := hash(name)
		if err != nil {
			return "", err
		}
		fmt.Fprintf(h, "%s\n", sum)
	}
	return hex.EncodeToString(h.Sum(nil)[:16]), nil
}
