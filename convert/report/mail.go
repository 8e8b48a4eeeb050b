package report

import (
	"bufio"
	"fmt"
	"io"

	"dropcut/convert/writeback"
	"dropcut/plan/finding"
	"dropcut/validate"
)

// Since is a run that finished, as the words of a mail need it.
type Since struct {
	When    string // as in 2026-03-15 04:12
	Summary string
	Changes []Change
	Count   int
}

// mailed is how many lines of one kind a mail has at most.
const mailed = 40

// WriteMail writes the standing of the folder and what changed since a day as
// plain text that can be sent as it is: lines of ASCII and at most what people
// read.
func (f *Folder) WriteMail(w io.Writer, since string, runs []Since) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "Tanks of %s\n\n%s\n", f.Name, f.StatusLine())
	fmt.Fprintf(b, "\nSince %s\n", since)
	if len(runs) == 0 {
		fmt.Fprintln(b, "  nothing changed")
	}
	for _, r := range runs {
		fmt.Fprintf(b, "  %s: %s\n", r.When, r.Summary)
		for i, c := range r.Changes {
			if i == mailed {
				fmt.Fprintf(b, "    and %s; the sheet Changes and the page have them\n", count(r.Count-mailed, "change more", "changes more"))
				break
			}
			fmt.Fprintf(b, "    %s\n", c.Text())
		}
	}
	if len(f.Failed) > 0 {
		fmt.Fprintf(b, "\nBooks that could not be done (%s)\n", grouped(len(f.Failed)))
		for i, x := range f.Failed {
			if i == mailed {
				fmt.Fprintf(b, "  and %s\n", count(len(f.Failed)-mailed, "book more", "books more"))
				break
			}
			fmt.Fprintf(b, "  %s: %s\n", x.Path, x.Why)
		}
	}
	if err := f.mailStops(b); err != nil {
		return err
	}
	f.mailKinds(b)
	f.mailDue(b)
	fmt.Fprintln(b)
	for _, line := range writeback.Cautions {
		fmt.Fprintln(b, line)
	}
	return b.Flush()
}

func (f *Folder) mailStops(b *bufio.Writer) error {
	n := f.Status[validate.Stop]
	if n == 0 {
		return nil
	}
	fmt.Fprintf(b, "\nDo not cut (%s)\n", count(n, "tank with a stop", "tanks with a stop"))
	shown := 0
	for i, r := range f.records.books(withTanks) {
		if r.err != nil {
			return r.err
		}
		for _, t := range f.tanks(i, r.book) {
			if t.Status != validate.Stop {
				continue
			}
			if shown++; shown > mailed {
				fmt.Fprintf(b, "  and %s\n", count(n-mailed, "tank more", "tanks more"))
				return nil
			}
			reason := ""
			for _, flag := range t.Flags {
				if flag.Severity == finding.Stop {
					if reason != "" {
						reason += ", "
					}
					reason += string(flag.Slug)
				}
			}
			site := t.Site
			if site != "" {
				site = ", " + site
			}
			fmt.Fprintf(b, "  %s%s (%s): %s\n", t.ID, site, r.book.Path, reason)
		}
	}
	return nil
}

func (f *Folder) mailKinds(b *bufio.Writer) {
	head := false
	for _, k := range f.Kinds {
		if k.Worst < finding.Check {
			continue
		}
		if !head {
			fmt.Fprintln(b, "\nWhat was found")
			head = true
		}
		less := ""
		if n := k.Findings - k.Severe; n > 0 {
			less = fmt.Sprintf(" (and %s more of less weight)", grouped(n))
		}
		fmt.Fprintf(b, "  %5d  %-5s  %s: %s%s\n", k.Severe, k.Worst, k.Slug, k.About, less)
	}
}

func (f *Folder) mailDue(b *bufio.Writer) {
	if len(f.Due) == 0 {
		return
	}
	fmt.Fprintln(b, "\nInspections due")
	over := 0
	for _, d := range f.Due {
		if f.Day != "" && d.Day < f.Day {
			over++
		}
	}
	if over > 0 {
		fmt.Fprintf(b, "  overdue on %s: %s\n", f.Day, grouped(over))
	}
	month, n, lines := "", 0, 0
	flush := func() {
		if n > 0 && lines < 12 {
			fmt.Fprintf(b, "  %s: %s\n", month, grouped(n))
			lines++
		}
	}
	for _, d := range f.Due[over:] {
		if d.Month() != month {
			flush()
			month, n = d.Month(), 0
		}
		n++
	}
	flush()
}
