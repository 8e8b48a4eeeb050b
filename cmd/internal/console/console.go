// Package console shows how far a long run is: a line that is written over and
// over on a terminal, plain lines anywhere else, and lines of JSON in a log.
package console

import (
	"fmt"
	"io"
	"log/slog"
	"strconv"
	"strings"
	"sync"
	"time"
)

// Options say where and how progress is shown.
type Options struct {
	Out io.Writer
	// Width gives the width of the terminal that Out is; nil where it is none.
	Width func() int
	Quiet bool
	Log   *slog.Logger // nil for no log
	Now   func() time.Time
	// Books and Bytes are the number and the size of the books that are looked at.
	Books int
	Bytes int64
}

// Step is a book that is through.
type Step struct {
	Path          string
	Bytes         int64
	Tanks, Charts int
	Same, Failed  bool
	Why           string
	Took          time.Duration
}

// Progress counts what is done. Its methods may be called by several goroutines.
type Progress struct {
	o     Options
	mu    sync.Mutex
	start time.Time
	shown time.Time
	long  int // of the line that stands on the terminal

	books, same, failed, tanks, charts int
	bytes, worked                      int64 // of all books, and of those that were done now
}

// pause is the least time between two lines: short where a line is written over,
// long where every line stays.
const (
	pauseTerminal = 100 * time.Millisecond
	pausePlain    = 10 * time.Second
)

// New begins to show progress.
func New(o Options) *Progress {
	p := &Progress{o: o, start: o.Now()}
	p.shown = p.start
	if o.Log != nil {
		o.Log.Info("run begins", "books", o.Books, "bytes", o.Bytes)
	}
	return p
}

// Book counts a book that is through; one that failed is said at once.
func (p *Progress) Book(s Step) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.books++
	p.bytes += s.Bytes
	p.tanks += s.Tanks
	p.charts += s.Charts
	switch {
	case s.Same:
		p.same++
	default:
		p.worked += s.Bytes
	}
	if s.Failed {
		p.failed++
		p.say(fmt.Sprintf("%s: could not be done: %s", s.Path, s.Why))
	}
	if p.o.Log != nil {
		switch {
		case s.Failed:
			p.o.Log.Error("book failed", "book", s.Path, "why", s.Why, "seconds", s.Took.Seconds())
		case s.Same:
			p.o.Log.Debug("book unchanged", "book", s.Path)
		default:
			p.o.Log.Info("book done", "book", s.Path, "tanks", s.Tanks, "charts", s.Charts, "seconds", s.Took.Seconds())
		}
	}
	p.tick()
}

// Say prints a line that stays.
func (p *Progress) Say(text string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.say(text)
	if p.o.Log != nil {
		p.o.Log.Info(text)
	}
}

// End takes the moving line away.
func (p *Progress) End(summary string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.wipe()
	if p.o.Log != nil {
		p.o.Log.Info("run ends", "summary", summary, "seconds", p.o.Now().Sub(p.start).Seconds(), "books", p.books, "unchanged", p.same, "failed", p.failed, "tanks", p.tanks)
	}
}

func (p *Progress) say(text string) {
	if p.o.Quiet {
		return
	}
	p.wipe()
	fmt.Fprintln(p.o.Out, Plain(Short(text)))
}

func (p *Progress) tick() {
	if p.o.Quiet {
		return
	}
	now := p.o.Now()
	pause := pausePlain
	if p.o.Width != nil {
		pause = pauseTerminal
	}
	last := p.books == p.o.Books
	if now.Sub(p.shown) < pause && !(last && p.o.Width == nil && p.same < p.books) {
		return
	}
	p.shown = now
	text := p.line(now)
	if p.o.Width == nil {
		fmt.Fprintln(p.o.Out, text)
		return
	}
	if w := p.o.Width(); w > 1 && len(text) > w-1 {
		text = text[:w-1]
	}
	fmt.Fprintf(p.o.Out, "\r%-*s", p.long, text)
	p.long = len(text)
}

func (p *Progress) wipe() {
	if p.long > 0 {
		fmt.Fprintf(p.o.Out, "\r%s\r", strings.Repeat(" ", p.long))
		p.long = 0
	}
}

// line says how far the run is: "37 of 200 books, 925 tanks, 2,310 charts, 41
// tanks/s, 1 min 20 s left".
func (p *Progress) line(now time.Time) string {
	s := fmt.Sprintf("%s of %s books", group(p.books), group(p.o.Books))
	if p.same > 0 {
		s += fmt.Sprintf(" (%s unchanged)", group(p.same))
	}
	s += fmt.Sprintf(", %s tanks, %s charts", group(p.tanks), group(p.charts))
	took := now.Sub(p.start)
	if took <= 0 || p.worked == 0 || p.tanks == 0 {
		return s
	}
	s += fmt.Sprintf(", %.0f tanks/s", float64(p.tanks)/took.Seconds())
	if rest := p.o.Bytes - p.bytes; rest > 0 && p.books < p.o.Books {
		// Time goes with the size of the books; those that were unchanged cost next
		// to nothing and say nothing.
		s += ", " + span(time.Duration(float64(took)*float64(rest)/float64(p.worked))) + " left"
	}
	return s
}

// span prints a duration as people say it.
func span(d time.Duration) string {
	s := int(d.Round(time.Second).Seconds())
	switch {
	case s < 60:
		return fmt.Sprintf("%d s", s)
	case s < 3600:
		return fmt.Sprintf("%d min %d s", s/60, s%60)
	}
	return fmt.Sprintf("%d h %d min", s/3600, s%3600/60)
}

func group(n int) string {
	s := strconv.Itoa(n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}
