package portfolio

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"
)

func put(t *testing.T, dir string, names ...string) {
	t.Helper()
	for _, name := range names {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(name), 0o666); err != nil {
			t.Fatal(err)
		}
	}
}

func TestScan(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "b.xlsx", "a.XLSM", "old.xls", "notes.txt", "~$b.xlsx", ".hidden.xlsx", "b-planned.xlsx", "b-before-20260301-101500.xlsx", "b-planned-before-20260301-101500-2.xlsx",
		"only-planned.xlsx", "north/tanks.csv", "north/charts.csv", "south/c.xlsx", "south/deep/d.xlsx", "results/.dropcut/ledger.jsonl", "results/b-planned.xlsx", "skip/me.xlsx", "maker-charts.csv")
	paths := func(o Options) (list []string) {
		t.Helper()
		o.Skip = []string{filepath.Join(dir, "skip"), filepath.Join(dir, "maker-charts.csv")}
		books, _, err := Scan(dir, o)
		if err != nil {
			t.Fatal(err)
		}
		for _, b := range books {
			list = append(list, b.Path)
		}
		return list
	}
	if got, want := paths(Options{}), []string{"a.XLSM", "b.xlsx", "north", "old.xls", "only-planned.xlsx"}; !slices.Equal(got, want) {
		t.Errorf("books %q, want %q", got, want)
	}
	if got, want := paths(Options{Deep: true}), []string{"a.XLSM", "b.xlsx", "north", "old.xls", "only-planned.xlsx", "south/c.xlsx", "south/deep/d.xlsx"}; !slices.Equal(got, want) {
		t.Errorf("books below too %q, want %q", got, want)
	}
	// The CSV files of the folder itself are a book with a name that says so.
	put(t, dir, "tanks.csv")
	if got, want := paths(Options{}), []string{"*.csv", "a.XLSM", "b.xlsx", "north", "old.xls", "only-planned.xlsx"}; !slices.Equal(got, want) {
		t.Errorf("with CSV files beside the books %q, want %q", got, want)
	}
	books, passed, err := Scan(dir, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if !books[0].Beside || books[3].Beside {
		t.Errorf("%+v: only the CSV files of the folder itself stand beside other books", books)
	}
	for _, want := range []string{"b-planned.xlsx: a result made from b.xlsx", "b-before-20260301-101500.xlsx: a result", "south: 1 books stand in this folder below"} {
		if !strings.Contains(strings.Join(passed, "\n"), want) {
			t.Errorf("nobody says %q; said is %q", want, passed)
		}
	}
}

func open(t *testing.T, dir string) *Ledger {
	t.Helper()
	l, err := OpenLedger(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	return l
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// A ledger says the same after it was read again; a line that was cut off at any
// byte is left out, and what is added then is whole.
func TestLedgerCutOffAnywhere(t *testing.T) {
	dir := t.TempDir()
	l := open(t, dir)
	for i := range 3 {
		must(t, l.Put(Entry{Book: fmt.Sprintf("b%d.xlsx", i), In: "1", Key: "k", Record: "aabbcc"}))
	}
	must(t, l.Finish(Finish{At: time.Unix(1, 0), Key: "k", Files: []string{"page.html"}, Summary: "first"}))
	must(t, l.Put(Entry{Book: "b1.xlsx", In: "2", Key: "k", Record: "ddeeff"}))
	must(t, l.Close())
	file := filepath.Join(dir, StateDir, "ledger.jsonl")
	whole, err := os.ReadFile(file)
	must(t, err)
	for n := range len(whole) + 1 {
		must(t, os.WriteFile(file, whole[:n], 0o666))
		l := open(t, dir)
		lines := bytes.Count(whole[:n], []byte("\n"))
		if got := len(l.now); got != min(lines, 3) {
			t.Fatalf("cut off after %d bytes: %d books, want %d", n, got, min(lines, 3))
		}
		must(t, l.Put(Entry{Book: "new.xlsx", In: "9", Key: "k", Record: "001122"}))
		must(t, l.Close())
		again := open(t, dir)
		if e, ok := again.Entry("new.xlsx"); !ok || e.In != "9" {
			t.Fatalf("cut off after %d bytes: what was added then is lost", n)
		}
		if again.Mended() != "" {
			t.Fatalf("cut off after %d bytes: still broken after it was mended: %s", n, again.Mended())
		}
		must(t, again.Close())
	}
}

func TestLedgerKnowsTheRunBefore(t *testing.T) {
	dir := t.TempDir()
	l := open(t, dir)
	must(t, l.Put(Entry{Book: "a", In: "1", Key: "k", Record: "aa11"}))
	must(t, l.Put(Entry{Book: "b", In: "1", Key: "k", Record: "bb11"}))
	must(t, l.Finish(Finish{At: time.Unix(1, 0), Key: "k"}))
	if _, ok := l.Settled("k"); !ok {
		t.Error("a finished run is not settled")
	}
	if _, ok := l.Settled("other"); ok {
		t.Error("a run with other options is settled")
	}
	must(t, l.Put(Entry{Book: "a", In: "2", Key: "k", Record: "aa22"}))
	must(t, l.Gone(map[string]bool{"a": true}))
	must(t, l.Close())
	l = open(t, dir)
	if _, ok := l.Settled("k"); ok {
		t.Error("a run that was broken off is settled")
	}
	if e, _ := l.Before("a"); e.Record != "aa11" {
		t.Errorf("before, a was %+v", e)
	}
	if e, _ := l.Entry("a"); e.Record != "aa22" {
		t.Errorf("now, a is %+v", e)
	}
	if got := l.Missing(); !slices.Equal(got, []string{"b"}) {
		t.Errorf("gone are %q, want b", got)
	}
	// A long ledger is written anew and says the same.
	for i := range 1200 {
		must(t, l.Put(Entry{Book: "a", In: fmt.Sprint(i), Key: "k", Record: "aa22"}))
	}
	must(t, l.Finish(Finish{At: time.Unix(2, 0), Key: "k"}))
	must(t, l.Put(Entry{Book: "c", In: "1", Key: "k", Record: "cc11"}))
	must(t, l.Close())
	data, err := os.ReadFile(l.file())
	must(t, err)
	if n := bytes.Count(data, []byte("\n")); n > 10 {
		t.Errorf("the ledger still has %d lines", n)
	}
	l = open(t, dir)
	if e, _ := l.Before("a"); e.In != "1199" || len(l.Finished()) != 2 {
		t.Errorf("the ledger that was written anew has %+v and %d runs", e, len(l.Finished()))
	}
	if _, ok := l.Entry("c"); !ok {
		t.Error("what was added to the new ledger is lost")
	}
}

func TestLockIsHeldOnce(t *testing.T) {
	dir := t.TempDir()
	one, err := Acquire(dir, Holder{Host: "here", PID: 17})
	must(t, err)
	_, err = Acquire(dir, Holder{Host: "there", PID: 18})
	var held *HeldError
	if !errors.As(err, &held) || held.Holder.PID != 17 || !strings.Contains(err.Error(), "a run on here (process 17") {
		t.Errorf("the second one gets %v", err)
	}
	must(t, one.Release())
	two, err := Acquire(dir, Holder{Host: "there", PID: 18})
	must(t, err)
	must(t, two.Release())
}

type text string

func (s text) WriteTo(w io.Writer) (int64, error) {
	n, err := io.WriteString(w, string(s))
	return int64(n), err
}

// runOf makes a run over n books.
func runOf(t *testing.T, n int) (*Work, *[]string) {
	t.Helper()
	dir := t.TempDir()
	w := &Work{Ledger: open(t, t.TempDir()), Key: "k", Workers: 4, Memory: 1 << 30, Now: time.Now}
	for i := range n {
		name := fmt.Sprintf("b%02d.xlsx", i)
		put(t, dir, name)
		w.Books = append(w.Books, Book{Path: name, File: filepath.Join(dir, name), Size: 1})
	}
	var told []string
	w.Tell = func(t Told) {
		told = append(told, t.Path+map[bool]string{true: " same"}[t.Same]+map[bool]string{true: " failed"}[t.Failed])
	}
	w.Failed = func(b Book, err error) io.WriterTo { return text(b.Path + ": " + err.Error()) }
	w.Do = func(b Book) (Outcome, error) {
		time.Sleep(time.Duration(97*len(b.Path)%5) * time.Millisecond)
		return Outcome{Record: text(b.Path)}, nil
	}
	return w, &told
}

func TestToldInOrderAndOnce(t *testing.T) {
	w, told := runOf(t, 20)
	var now, most atomic.Int64
	w.Do = func(b Book) (Outcome, error) {
		most.Store(max(most.Load(), now.Add(1)))
		defer now.Add(-1)
		// The later a book stands the sooner it is through.
		time.Sleep(time.Duration(40-2*int(b.Path[2]-'0')) * time.Millisecond)
		return Outcome{Record: text(b.Path)}, nil
	}
	must(t, w.Run(context.Background()))
	if !slices.IsSorted(*told) || len(*told) != 20 {
		t.Errorf("told %q", *told)
	}
	if most.Load() > 4 || most.Load() < 2 {
		t.Errorf("%d books were in hand at once, want up to 4", most.Load())
	}
	*told = nil
	must(t, w.Run(context.Background()))
	for _, s := range *told {
		if !strings.HasSuffix(s, " same") {
			t.Errorf("the second run did %s again", s)
		}
	}
}

// Books whose sizes say that they need much memory are not in hand together.
func TestMemoryIsBounded(t *testing.T) {
	w, _ := runOf(t, 8)
	for i := range w.Books {
		w.Books[i].Size = 60 << 20
	}
	var now, most atomic.Int64
	w.Do = func(b Book) (Outcome, error) {
		most.Store(max(most.Load(), now.Add(1)))
		defer now.Add(-1)
		time.Sleep(5 * time.Millisecond)
		return Outcome{Record: text(b.Path)}, nil
	}
	must(t, w.Run(context.Background()))
	if most.Load() != 1 {
		t.Errorf("%d books of 600 MB each were in hand at once in 1 GB", most.Load())
	}
}

// A book that fails, even by a fault of the program, is told and tried again,
// and stops nothing.
func TestOneBadBook(t *testing.T) {
	w, told := runOf(t, 5)
	w.Do = func(b Book) (Outcome, error) {
		switch b.Path {
		case "b01.xlsx":
			return Outcome{}, errors.New("no workbook")
		case "b02.xlsx":
			var list []int
			_ = list[len(b.Path)]
		}
		return Outcome{Record: text(b.Path)}, nil
	}
	must(t, w.Run(context.Background()))
	if want := []string{"b00.xlsx", "b01.xlsx failed", "b02.xlsx failed", "b03.xlsx", "b04.xlsx"}; !slices.Equal(*told, want) {
		t.Errorf("told %q, want %q", *told, want)
	}
	*told = nil
	must(t, w.Run(context.Background()))
	if want := []string{"b00.xlsx same", "b01.xlsx failed", "b02.xlsx failed", "b03.xlsx same", "b04.xlsx same"}; !slices.Equal(*told, want) {
		t.Errorf("told the second time %q, want %q", *told, want)
	}
}

func TestInterruptFinishesTheBooksInHand(t *testing.T) {
	w, told := runOf(t, 50)
	ctx, stop := context.WithCancel(context.Background())
	var begun, ended atomic.Int64
	w.Do = func(b Book) (Outcome, error) {
		if begun.Add(1) == 5 {
			stop()
		}
		time.Sleep(3 * time.Millisecond)
		ended.Add(1)
		return Outcome{Record: text(b.Path)}, nil
	}
	if err := w.Run(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("the run gives %v", err)
	}
	if begun.Load() != ended.Load() || int(ended.Load()) != len(*told) || ended.Load() > 20 {
		t.Errorf("%d books begun, %d ended, %d told", begun.Load(), ended.Load(), len(*told))
	}
}
