package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"github.com/urfave/cli/v2"
	"golang.org/x/sync/errgroup"
	"golang.org/x/term"

	"dropcut/cmd/internal/console"
	"dropcut/cmd/internal/portfolio"
	"dropcut/convert/intake"
	"dropcut/convert/jobbook"
	"dropcut/convert/report"
	"dropcut/convert/safefile"
	"dropcut/plan/unit"
	"dropcut/templates"
)

// runOptions are those of run alone.
type runOptions struct {
	*options
	deep, noJobs    bool
	workers, memory int
	logFile, since  string
}

func runCommand(w *world) *cli.Command {
	r := &runOptions{options: newOptions()}
	flags := append(r.readingFlags(), r.planningFlags()...)
	for i, f := range flags {
		if f.Names()[0] == "day" {
			flags[i] = &cli.GenericFlag{Name: "day", Usage: "`DATE` of the plan, for rules with dates and inspections that are due; today is the day of the run (default: no date is looked at)", Value: &todayValue{&r.day, w.now}}
		}
	}
	return &cli.Command{
		Name:      "run",
		Usage:     "does all of it over a folder of books, and goes on where it was after a stop",
		ArgsUsage: "DIR",
		Description: `Audits and plans every book of a folder, several at a time, and writes into DIR-dropcut beside it (or into
--out): a planned copy and the job books of each book, summary.xlsx and summary.csv of all tanks, and page.html, which
opens in any browser without a network. The books themselves are not touched. A book that cannot be done
is a line in the summary and stops nothing.

What was done is remembered by the content of the books, the options and the program: a second run does
only what changed, and a run that was stopped or killed goes on where it was. Two runs into one folder of results do
not mix: the second one says who is at work. An interrupt finishes the books in hand; a second one stops
at once. Exit status 1 says that at least one book could not be done, 3 that a tank has a stop.

The CSV files of a folder are one book together. Workbooks in the folders below are taken with --deep.

EXAMPLE
   dropcut run --place US-federal books
   dropcut run --deep --day today --log-file run.log --quiet books
   dropcut run --quiet --since last books | mail -s "Tanks this morning" office`,
		Flags: append(flags, r.unitsFlag(), r.quietFlag(),
			&cli.StringFlag{Name: "out", Usage: "`DIR` where results go (default: DIR-dropcut beside the folder)", Destination: &r.out},
			&cli.BoolFlag{Name: "deep", Usage: "take the books of the folders below too", Destination: &r.deep},
			&cli.BoolFlag{Name: "no-jobs", Usage: "write no job books", Destination: &r.noJobs},
			&cli.IntFlag{Name: "workers", Usage: "`N` books in hand at once", DefaultText: "one a processor", Destination: &r.workers},
			&cli.IntFlag{Name: "memory", Usage: "`MB` of memory that the books in hand may take together, as far as their sizes tell", Value: 1024, Destination: &r.memory},
			&cli.StringFlag{Name: "log-file", Usage: "add lines of JSON about the run to `FILE`", Destination: &r.logFile},
			&cli.StringFlag{Name: "since", Usage: "print a summary for a mail: what changed since `DATE`, or since the last run that changed anything (last)", Destination: &r.since},
		),
		Action: func(c *cli.Context) error {
			args, err := books(c, 1, 1)
			if err != nil {
				return err
			}
			return r.run(c.Context, w, args[0])
		},
	}
}

// todayValue is a day, or the word today.
type todayValue struct {
	*dayValue
	now func() time.Time
}

func (t *todayValue) Set(s string) error {
	if s == "today" {
		s = t.now().Format(time.DateOnly)
	}
	return t.dayValue.Set(s)
}

// The results for the whole folder.
const (
	summaryBook = "summary.xlsx"
	summaryCSV  = "summary.csv"
)

func (r *runOptions) run(ctx context.Context, w *world, dir string) error {
	since, err := r.sinceDay()
	if err != nil {
		return err
	}
	if r.workers < 0 || r.memory < 1 {
		return usagef("--workers and --memory take numbers above 0")
	}
	if r.workers == 0 {
		r.workers = runtime.NumCPU()
	}
	if r.out, err = outOf(dir, r.out); err != nil {
		return err
	}
	if _, err := r.intakeOptions(); err != nil {
		return err // a wrong --notes is wrong for every book
	}
	rules, err := embeddedRules()
	if err != nil {
		return err
	}
	if _, err := r.planOptions(rules); err != nil {
		return err
	}
	log, closeLog, err := openLog(r.logFile)
	if err != nil {
		return err
	}
	defer closeLog()
	state := filepath.Join(r.out, portfolio.StateDir)
	if err := os.MkdirAll(state, 0o777); err != nil {
		return err
	}
	host, err := os.Hostname()
	if err != nil {
		host = "this computer"
	}
	lock, err := portfolio.Acquire(state, portfolio.Holder{Host: host, PID: os.Getpid(), Since: w.now()})
	if err != nil {
		return err
	}
	// Nothing was written to the lock since; the system lets go of it in any case.
	defer lock.Release()
	ledger, err := portfolio.OpenLedger(r.out)
	if err != nil {
		return err
	}
	defer ledger.Close()
	skip := append([]string{r.out, r.logFile, r.notes}, r.charts.Value()...)
	list, passed, err := portfolio.Scan(dir, portfolio.Options{Deep: r.deep, Skip: skip})
	if err != nil {
		return err
	}
	if len(list) == 0 {
		return fmt.Errorf("%s: no book was found in this folder; books are .xlsx, .xlsm and .csv files%s", dir, passedOver(passed))
	}
	key, settings, err := r.key()
	if err != nil {
		return err
	}
	p := console.New(console.Options{Out: w.screen, Width: terminalWidth(w.screen), Quiet: r.quiet, Log: log, Now: w.now, Books: len(list), Bytes: sizeOf(list)})
	if text := ledger.Mended(); text != "" {
		p.Say(text)
	}
	for _, text := range passed {
		p.Say("passed over: " + text)
	}
	worker := &bookWorker{r: r, w: w, makers: make(chan *jobbook.Maker, r.workers)}
	for range r.workers {
		// A maker is for one book at a time.
		m, err := jobbook.NewMaker(templates.FS, templates.JobTexts)
		if err != nil {
			return err
		}
		worker.makers <- m
	}
	work := portfolio.Work{
		Books: list, Ledger: ledger, Key: key, Workers: r.workers, Memory: int64(r.memory) << 20, Now: w.now,
		Do:     worker.do,
		Failed: func(b portfolio.Book, err error) io.WriterTo { return report.Failed(b.Path, err) },
		Tell: func(t portfolio.Told) {
			p.Book(console.Step{Path: t.Path, Bytes: t.Size, Tanks: t.Tanks, Charts: t.Charts, Same: t.Same, Failed: t.Failed, Why: t.Why, Took: t.Took})
		},
	}
	defer keepFloor()()
	if err := work.Run(ctx); err != nil {
		p.End("stopped")
		return err
	}
	end := &ending{r: r, w: w, ledger: ledger, list: list, key: key, settings: settings, name: filepath.Base(absolute(dir)), p: p}
	return end.finish(since)
}

// sinceDay checks --since before anything is done.
func (r *runOptions) sinceDay() (time.Time, error) {
	if r.since == "" || r.since == "last" {
		return time.Time{}, nil
	}
	day, err := unit.ParseDate(r.since, unit.DateOrderUnknown)
	if err != nil {
		return day, usagef("--since %s: neither a date that can be read one way only, as in 2026-03-15, nor the word last", r.since)
	}
	return day, nil
}

// outOf settles the folder of results. It never is the folder of the books: a
// planned copy beside its book would be taken for a book by people, if not by
// the next run.
func outOf(dir, out string) (string, error) {
	info, err := os.Stat(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "", fmt.Errorf("%s: there is no such folder", dir)
	case err != nil:
		return "", err
	case !info.IsDir():
		return "", usagef("%s is a file; dropcut run takes a folder of books, dropcut plan a book", dir)
	}
	abs := absolute(dir)
	if _, err := os.Stat(filepath.Join(abs, portfolio.StateDir, "ledger.jsonl")); err == nil {
		return "", usagef("%s holds the results of earlier runs; name the folder with the books", dir)
	}
	if out == "" {
		if filepath.Dir(abs) == abs {
			return "", usagef("%s has no folder beside it; say with --out where the results go", dir)
		}
		return named(dir) + "-dropcut", nil
	}
	if other, err := os.Stat(out); err == nil && os.SameFile(info, other) {
		return "", usagef("--out %s is the folder of the books; results go into another one", out)
	}
	return out, nil
}

// named gives a path that ends in a name, which "." and ".." do not: what is
// written beside a folder is called by it.
func named(path string) string {
	path = filepath.Clean(path)
	if base := filepath.Base(path); base == "." || base == ".." {
		return absolute(path)
	}
	return path
}

func absolute(dir string) string {
	abs, err := filepath.Abs(dir)
	if err != nil {
		return filepath.Clean(dir)
	}
	return abs
}

func passedOver(list []string) string {
	if len(list) == 0 {
		return ""
	}
	return "; passed over: " + strings.Join(list, "; ")
}

func sizeOf(list []portfolio.Book) (n int64) {
	for _, b := range list {
		n += b.Size
	}
	return n
}

// key is made of all that results follow from beside the books: the options, the
// files that they name, and the program itself. settings are the options as they
// were typed.
func (r *runOptions) key() (key, settings string, err error) {
	var texts []string
	for _, o := range []struct{ name, value string }{
		{"place", r.place},
		{"limit", r.limit.raw},
		{"device", r.device},
		{"guard", r.guard.raw},
		{"day", r.day.raw},
		{"chart-units", r.chartUnits.raw},
		{"units", r.units.raw},
		{"notes", r.notes},
		{"charts", strings.Join(r.charts.Value(), " ")},
	} {
		if o.value != "" {
			texts = append(texts, "--"+o.name+" "+o.value)
		}
	}
	if r.between {
		texts = append(texts, "--between-entries")
	}
	settings = strings.Join(texts, " ")
	if r.noJobs {
		texts = append(texts, "--no-jobs")
	}
	files := r.charts.Value()
	if r.notes != "" {
		files = append(files[:len(files):len(files)], r.notes)
	}
	// A build from source has no number; its content tells it from another one.
	if exe, err := os.Executable(); err == nil {
		files = append(files[:len(files):len(files)], exe)
	}
	key, err = portfolio.KeyOf(append(texts, versionText(), report.RecordForm), files)
	return key, settings, err
}

// openLog opens the log; its lines are added to what stands there.
func openLog(path string) (*slog.Logger, func(), error) {
	if path == "" {
		return nil, func() {}, nil
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o666)
	if err != nil {
		return nil, nil, err
	}
	return slog.New(slog.NewJSONHandler(f, nil)), func() { _ = f.Close() }, nil
}

// terminalWidth gives what asks for the width of a terminal, nil where the
// writer is none.
func terminalWidth(out io.Writer) func() int {
	f, ok := out.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return nil
	}
	return func() int {
		width, _, err := term.GetSize(int(f.Fd()))
		if err != nil {
			return 80
		}
		return width
	}
}

// bookWorker does one book after the other, several of them at once.
type bookWorker struct {
	r      *runOptions
	w      *world
	makers chan *jobbook.Maker
}

// do audits and plans a book and writes what comes of it. The world it gets
// prints nowhere: what is to be said stands in the record.
func (b *bookWorker) do(book portfolio.Book) (portfolio.Outcome, error) {
	o := *b.r.options
	o.out = filepath.Join(b.r.out, filepath.FromSlash(parentOf(book.Path)))
	silent := &world{in: strings.NewReader(""), out: io.Discard, err: io.Discard, data: io.Discard, screen: io.Discard, now: b.w.now}
	job, err := o.read(book.File)
	if errors.Is(err, intake.ErrNothing) && book.Beside {
		rec := report.Nothing(book.Path, "these CSV files beside other books hold neither a list of tanks nor a chart; they were passed over")
		return portfolio.Outcome{Record: rec}, nil
	}
	if err != nil {
		return portfolio.Outcome{}, err
	}
	defer job.close()
	if err := o.judge(job); err != nil {
		return portfolio.Outcome{}, err
	}
	done := &planned{}
	if len(job.reading.Lists) == 0 {
		done.notes = append(done.notes, "no tank list was found; the charts were audited")
	} else if done, err = o.writePlan(silent, job); err != nil {
		return portfolio.Outcome{}, err
	}
	if !b.r.noJobs && len(job.results) > 0 {
		files, err := b.jobs(&o, silent, job)
		if err != nil {
			return portfolio.Outcome{}, err
		}
		done.files = append(done.files, files...)
	}
	sources, err := job.sources()
	if err != nil {
		return portfolio.Outcome{}, err
	}
	rec, err := report.Make(report.Input{
		Path: book.Path, Job: &job.reading.Job, Results: job.results, Findings: job.findings(), Sources: sources,
		Units: b.r.reportUnits(), Files: b.r.fromOut(done.files), Notes: lasting(done.notes),
	})
	if err != nil {
		return portfolio.Outcome{}, err
	}
	return portfolio.Outcome{
		Record: rec, Files: rec.Book.Files, Tanks: len(rec.Book.Tanks), Charts: rec.Book.Charts, Stop: rec.Book.Stopped(),
	}, nil
}

// parentOf gives the folder of a book in the folder of all books.
func parentOf(path string) string {
	if i := strings.LastIndexByte(path, '/'); i >= 0 {
		return path[:i]
	}
	return "."
}

// jobs writes the job books. The book in hand is always finished, whatever the
// user does meanwhile.
func (b *bookWorker) jobs(o *options, w *world, job *work) ([]string, error) {
	maker := <-b.makers
	defer func() { b.makers <- maker }()
	if err := o.writeJobs(context.Background(), w, job, maker, false, ""); err != nil {
		return nil, err
	}
	name := filepath.Base(job.path)
	var files []string
	for _, file := range jobbook.FileNames(jobbook.Jobs(job.results, name), ".xlsx") {
		files = append(files, filepath.Join(o.out, strings.TrimSuffix(name, filepath.Ext(name))+"-jobs", file))
	}
	return files, nil
}

// lasting leaves out the notes that only hold for the moment: whether a result
// stood there already, and under which dated name an older one was kept. A
// record must not depend on what was done before.
func lasting(notes []string) []string {
	var list []string
	for _, n := range notes {
		if !strings.Contains(n, "it was left as it is") && !strings.Contains(n, "is kept as ") {
			list = append(list, n)
		}
	}
	return list
}

// fromOut names results as they are seen from the folder of results.
func (r *runOptions) fromOut(files []string) []string {
	var list []string
	for _, f := range files {
		if rel, err := filepath.Rel(r.out, f); err == nil {
			f = rel
		}
		list = append(list, filepath.ToSlash(f))
	}
	return list
}

// reportUnits are the ones asked for, else inches and US gallons.
func (r *runOptions) reportUnits() report.Units {
	p := planPrinter{asked: r.writeUnits()}
	u := p.units()
	return report.Units{Length: u.Length, Volume: u.Volume}
}

// ending puts together what holds for the whole folder.
type ending struct {
	r             *runOptions
	w             *world
	ledger        *portfolio.Ledger
	list          []portfolio.Book
	key, settings string
	name          string
	p             *console.Progress
}

func (e *ending) finish(since time.Time) error {
	last, settled := e.ledger.Settled(e.key)
	if !settled || e.r.since != "" {
		folder, err := e.gather()
		if err != nil {
			return err
		}
		if !settled {
			if last, err = e.write(folder); err != nil {
				return err
			}
		}
		if e.r.since != "" {
			if err := e.mail(folder, since); err != nil {
				return err
			}
		}
	}
	e.p.End(last.Standing)
	if e.r.since == "" {
		e.print(last, settled)
	}
	switch {
	case last.Failed > 0:
		return fmt.Errorf("%s of %d could not be done; the summary says why", count(last.Failed, "book", "books"), len(e.list))
	case last.Stopped:
		return errStops
	}
	return nil
}

func (e *ending) print(last portfolio.Finish, settled bool) {
	out := e.w.out
	fmt.Fprintf(out, "%s\n", last.Standing)
	if settled {
		fmt.Fprintf(out, "changes: none since the run of %s; nothing was touched\n", last.At.Local().Format("2006-01-02 15:04"))
	} else {
		fmt.Fprintf(out, "changes: %s\n", last.Summary)
	}
	for _, f := range last.Files {
		fmt.Fprintf(out, "%s: %s\n", map[bool]string{true: "there", false: "written"}[settled], filepath.Join(e.r.out, f))
	}
	if len(last.Files) > 0 {
		fmt.Fprintf(out, "Open %s in a browser first.\n", filepath.Join(e.r.out, last.Files[0]))
	}
}

// gather reads the records of all books.
func (e *ending) gather() (*report.Folder, error) {
	records := report.Records{
		N: len(e.list),
		Open: func(i int) (report.Source, error) {
			entry, ok := e.ledger.Entry(e.list[i].Path)
			if !ok {
				return nil, fmt.Errorf("%s was not done", e.list[i].Path)
			}
			return e.ledger.Open(entry.Record)
		},
		Gone: e.ledger.Missing(),
	}
	if len(e.ledger.Finished()) > 0 {
		records.Before = func(path string) (*report.Book, error) {
			entry, ok := e.ledger.Before(path)
			if !ok {
				return nil, nil
			}
			return readRecord(e.ledger, entry.Record)
		}
		records.Same = func(i int) bool {
			now, ok := e.ledger.Entry(e.list[i].Path)
			before, was := e.ledger.Before(e.list[i].Path)
			return ok && was && now.Record == before.Record
		}
	}
	return report.Gather(records, report.Folder{Name: e.name, Settings: e.settings, Version: versionText(), Day: dayText(e.r.day.day), Units: e.r.reportUnits()})
}

func dayText(day time.Time) string {
	if day.IsZero() {
		return ""
	}
	return day.Format(time.DateOnly)
}

func readRecord(l *portfolio.Ledger, hash string) (*report.Book, error) {
	data, err := l.Record(hash)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil // somebody cleared it away; then there is nothing to compare
	}
	if err != nil {
		return nil, err
	}
	return report.ReadBook(bytes.NewReader(data))
}

// changesRemembered is how many changes the ledger keeps of each run.
const changesRemembered = 400

// write writes the summary and the pages, and notes the end of the run.
func (e *ending) write(folder *report.Folder) (portfolio.Finish, error) {
	var done portfolio.Finish
	parts := folder.Parts()
	page, err := fs.Sub(templates.FS, templates.PageDir)
	if err != nil {
		return done, err
	}
	// The files are written side by side, each by one pass or two over the
	// records; the workbook takes longest and begins first.
	var group errgroup.Group
	group.SetLimit(e.r.workers)
	put := func(name string, write func(io.Writer) error) {
		group.Go(func() error {
			if err := safefile.Write(filepath.Join(e.r.out, name), write, nil); err != nil {
				return fmt.Errorf("%s: %w", name, err)
			}
			return nil
		})
	}
	put(summaryBook, folder.WriteWorkbook)
	put(summaryCSV, folder.WriteCSV)
	for i, part := range parts {
		put(part.File, func(w io.Writer) error { return folder.WritePage(w, page, parts, i) })
		done.Files = append(done.Files, part.File)
	}
	done.Files = append(done.Files, summaryBook, summaryCSV)
	if err := group.Wait(); err != nil {
		return done, err
	}
	if err := e.clearPages(len(parts)); err != nil {
		return done, err
	}
	done.At, done.Key = e.w.now().UTC().Truncate(time.Second), e.key
	done.Standing, done.Stopped, done.Failed = folder.StatusLine(), folder.Stopped, len(folder.Failed)
	done.Summary, done.Count = folder.Changes.Summary(), folder.Changes.Count
	done.Changes, err = json.Marshal(folder.Changes.List[:min(len(folder.Changes.List), changesRemembered)])
	if err != nil {
		return done, err
	}
	return done, e.ledger.Finish(done)
}

// clearPages takes away the pages that an earlier, larger run had more.
func (e *ending) clearPages(n int) error {
	for i := n + 1; ; i++ {
		err := os.Remove(filepath.Join(e.r.out, fmt.Sprintf("page-%d.html", max(i, 2))))
		if errors.Is(err, fs.ErrNotExist) {
			return nil
		}
		if err != nil {
			return err
		}
	}
}

// mail prints what changed since a day, or in the last run that changed
// anything, as text that can be sent as it is.
func (e *ending) mail(folder *report.Folder, since time.Time) error {
	runs := e.ledger.Finished()
	words := "the last change"
	if !since.IsZero() {
		words = since.Format(time.DateOnly)
	}
	var list []report.Since
	for i, f := range runs {
		if since.IsZero() && i < len(runs)-1 || !since.IsZero() && f.At.Before(since) {
			continue
		}
		if f.Count == 0 && i > 0 {
			continue
		}
		s := report.Since{When: f.At.Local().Format("2006-01-02 15:04"), Summary: f.Summary, Count: f.Count}
		// A ledger that somebody has spoilt still has the summary and the number.
		if json.Unmarshal(f.Changes, &s.Changes) != nil {
			s.Changes = nil
		}
		list = append(list, s)
	}
	return folder.WriteMail(e.w.out, words, list)
}
