package console

import (
	"bytes"
	"encoding/json"
	"log/slog"
	"strings"
	"testing"
	"time"
)

type clock struct{ at time.Time }

func (c *clock) now() time.Time { return c.at }

func TestPlainLines(t *testing.T) {
	var out bytes.Buffer
	c := &clock{time.Unix(0, 0)}
	p := New(Options{Out: &out, Now: c.now, Books: 4, Bytes: 4000})
	for range 4 {
		c.at = c.at.Add(6 * time.Second)
		p.Book(Step{Path: "a.xlsx", Bytes: 1000, Tanks: 1200, Charts: 3})
	}
	p.End("")
	want := "2 of 4 books, 2,400 tanks, 6 charts, 200 tanks/s, 12 s left\n4 of 4 books, 4,800 tanks, 12 charts, 200 tanks/s\n"
	if got := out.String(); got != want {
		t.Errorf("printed %q, want %q", got, want)
	}
}

func TestTerminalLineIsWrittenOver(t *testing.T) {
	var out bytes.Buffer
	c := &clock{time.Unix(0, 0)}
	p := New(Options{Out: &out, Now: c.now, Books: 3, Bytes: 3000, Width: func() int { return 30 }})
	for i := range 3 {
		c.at = c.at.Add(time.Second)
		p.Book(Step{Path: "a\x1b[2J.xlsx", Bytes: 1000, Failed: i == 1, Why: "broken"})
	}
	p.End("")
	got := out.String()
	if strings.Contains(got, "\x1b") {
		t.Error("a file's name moves the cursor")
	}
	for part := range strings.SplitSeq(got, "\r") {
		if len(part) > 29 && !strings.Contains(part, "could not") {
			t.Errorf("a line of %d letters on a terminal of 30: %q", len(part), part)
		}
	}
	if !strings.HasSuffix(got, "\r"+strings.Repeat(" ", 29)+"\r") {
		t.Errorf("the line is left standing: %q", got)
	}
	if strings.Count(got, "\n") != 1 {
		t.Errorf("only the failed book is a line that stays: %q", got)
	}
}

func TestQuietAndLog(t *testing.T) {
	var out, log bytes.Buffer
	c := &clock{time.Unix(0, 0)}
	p := New(Options{Out: &out, Now: c.now, Books: 2, Quiet: true, Log: slog.New(slog.NewJSONHandler(&log, nil))})
	p.Book(Step{Path: "a.xlsx", Tanks: 5})
	p.Book(Step{Path: "b.xlsx", Failed: true, Why: "no workbook"})
	p.End("5 tanks")
	if out.Len() > 0 {
		t.Errorf("quiet, and says %q", out.String())
	}
	var words []string
	for line := range strings.Lines(log.String()) {
		var m map[string]any
		if err := json.Unmarshal([]byte(line), &m); err != nil {
			t.Fatal(err)
		}
		words = append(words, m["msg"].(string))
	}
	if got, want := strings.Join(words, ", "), "run begins, book done, book failed, run ends"; got != want {
		t.Errorf("logged %q, want %q", got, want)
	}
}
