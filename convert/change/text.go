package change

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"dropcut/plan/cell"
)

// summarize counts what changed, what followed, and which way the shutoffs
// moved.
func summarize(s Set) string {
	counts := map[Subject]int{}
	up, down, cuts := 0, 0, map[string]bool{}
	for _, r := range s.Records {
		counts[r.Subject]++
		if r.Subject == OfCut {
			cuts[r.Site+"\x00"+r.Tank] = true
		}
		switch r.Moved {
		case Up:
			up++
		case Down:
			down++
		}
	}
	inputs := len(s.Records) - counts[OfCut]
	if len(s.Records) == 0 {
		return "no changes"
	}
	if inputs == 0 {
		return plural(len(cuts), "plan changed", "plans changed") + movedText(up, down)
	}
	var b strings.Builder
	b.WriteString(plural(inputs, "change", "changes"))
	var parts []string
	for _, p := range []struct {
		of    Subject
		where string
	}{
		{OfTank, "in the tank list"},
		{OfChart, "in charts"},
		{OfDevice, "in devices"},
		{OfRule, "in rules"},
		{ByHand, "in dropcut's own cells by somebody else"},
	} {
		if n := counts[p.of]; n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, p.where))
		}
	}
	if len(parts) > 0 {
		b.WriteString(": " + strings.Join(parts, ", "))
	}
	if len(cuts) > 0 {
		b.WriteString("; " + plural(len(cuts), "plan follows", "plans follow") + movedText(up, down))
	}
	return b.String()
}

func movedText(up, down int) string {
	if up+down == 0 {
		return ""
	}
	return fmt.Sprintf(": %s up (towards the limit), %d down", plural(up, "shutoff moves", "shutoffs move"), down)
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// WriteText prints the set for people: the summary, then tank by tank what was
// changed, where, and what followed.
func (s Set) WriteText(w io.Writer) error {
	out := bufio.NewWriter(w)
	fmt.Fprintln(out, s.Summary())
	if err := s.WriteList(out, len(s.Records)); err != nil {
		return err
	}
	return out.Flush()
}

// WriteList prints the records as WriteText does, at most so many of them, and how
// many more there are.
func (s Set) WriteList(w io.Writer, most int) error {
	out := bufio.NewWriter(w)
	last := ""
	for i, r := range s.Records {
		if i == most {
			fmt.Fprintf(out, "and %s\n", plural(len(s.Records)-most, "change more", "changes more"))
			break
		}
		head := r.heading()
		if head != last {
			fmt.Fprintf(out, "%s\n", head)
			last = head
		}
		fmt.Fprintf(out, "  %s%s: %s%s%s\n", r.lead(), r.What, r.oldToNew(), r.tail(), place(r))
	}
	return out.Flush()
}

func (r Record) heading() string {
	var head string
	switch r.Subject {
	case OfChart:
		head = "chart " + nameOr(r.Tank, "without a name")
	case OfDevice:
		head = "device " + r.Tank
	case OfRule:
		head = "rule " + r.Tank
	default:
		head = "tank " + nameOr(r.Tank, "without a name")
	}
	if r.Site != "" {
		head += ", " + r.Site
	}
	return head
}

func nameOr(name, other string) string {
	if name == "" {
		return other
	}
	return name
}

func (r Record) lead() string {
	switch r.Subject {
	case OfCut:
		return "so "
	case ByHand:
		return "changed by somebody else, kept: "
	}
	return ""
}

func (r Record) oldToNew() string {
	switch {
	case r.Old == "":
		return r.New + " is new"
	case r.New == "":
		return r.Old + " is gone"
	}
	return r.Old + " -> " + r.New
}

func (r Record) tail() string {
	if r.Moved == Same {
		return ""
	}
	return ", " + string(r.Moved)
}

func place(r Record) string {
	at := r.NewAt
	if at.IsZero() {
		at = r.OldAt
	}
	if c := at.Cell(); c != "" {
		return "  (" + c + ")"
	}
	return ""
}

// Row is a record as the CSV and JSON forms hold it.
type Row struct {
	Subject string `csv:"subject" json:"subject"`
	Site    string `csv:"site" json:"site"`
	Tank    string `csv:"tank" json:"tank"`
	What    string `csv:"what" json:"what"`
	Old     string `csv:"old" json:"old"`
	New     string `csv:"new" json:"new"`
	OldCell string `csv:"old_cell" json:"old_cell"`
	NewCell string `csv:"new_cell" json:"new_cell"`
	Moved   string `csv:"moved" json:"moved"`
}

// Rows gives the records as they are written into CSV, JSON and sheets.
func (s Set) Rows() []Row {
	rows := make([]Row, len(s.Records))
	for i, r := range s.Records {
		rows[i] = Row{
			Subject: string(r.Subject), Site: r.Site, Tank: r.Tank, What: r.What,
			Old: r.Old, New: r.New, OldCell: cellText(r.OldAt), NewCell: cellText(r.NewAt), Moved: string(r.Moved),
		}
	}
	return rows
}

func cellText(at cell.Ref) string { return at.Cell() }

// WriteJSON writes the summary and the records as one object.
func (s Set) WriteJSON(w io.Writer) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	return enc.Encode(struct {
		Summary string `json:"summary"`
		Changes []Row  `json:"changes"`
	}{s.Summary(), s.Rows()})
}
