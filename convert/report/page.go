package report

import (
	"bufio"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"html"
	"io"
	"io/fs"
	"strings"

	"dropcut/convert/writeback"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// PageTanks is about how many tanks one page holds; a larger portfolio is split,
// between books, into pages that know of each other.
const PageTanks = 10_000

// Part is one of the pages: the books from First up to Last, without it.
type Part struct {
	File, Label string
	First, Last int
}

// Parts splits the books into pages. The first one is called page.html, the
// others page-2.html and so on.
func (f *Folder) Parts() []Part {
	var list []Part
	tanks, first := 0, ""
	most := PageTanks
	if f.perPage > 0 {
		most = f.perPage
	}
	p := Part{File: "page.html"}
	end := func(i int, last string) {
		p.Last, p.Label = i, first
		if last != first {
			p.Label += " to " + last
		}
		list = append(list, p)
		p = Part{File: fmt.Sprintf("page-%d.html", len(list)+1), First: i}
		tanks = 0
	}
	last := ""
	for i, s := range f.stands {
		n := int(s.tanks)
		if tanks > 0 && tanks+n > most {
			end(i, last)
		}
		if i == p.First {
			first = f.paths[i]
		}
		last = f.paths[i]
		tanks += n
	}
	end(f.records.N, last)
	return list
}

// WritePage writes one of the pages: a single file of HTML that loads nothing.
// files is the folder with the page's markup, looks and script. The data of the
// tanks stand in it as JSON, their pictures and calculations behind it in
// compressed bundles that are unpacked when a tank is opened, so that a page of
// thousands of tanks shows at once.
func (f *Folder) WritePage(w io.Writer, files fs.FS, parts []Part, n int) error {
	text := map[string]string{}
	for _, name := range []string{"page.html", "page.css", "page.js"} {
		data, err := fs.ReadFile(files, name)
		if err != nil {
			return err
		}
		text[name] = string(data)
	}
	css, js := text["page.css"], text["page.js"]
	var cautions strings.Builder
	for _, c := range writeback.Cautions {
		cautions.WriteString("<li>" + html.EscapeString(c) + "</li>")
	}
	fill := map[string]func(w *bufio.Writer) error{
		"policy":   say(policy(css, js)),
		"css":      say(css),
		"js":       say(js),
		"title":    say(html.EscapeString("Tanks of " + f.Name)),
		"standing": say(html.EscapeString(f.StatusLine())),
		"cautions": say(cautions.String()),
		"data":     func(w *bufio.Writer) error { return f.pageData(w, parts, n) },
		"bundles":  func(w *bufio.Writer) error { return f.pageBundles(w, parts[n]) },
	}
	out := bufio.NewWriterSize(w, 64<<10)
	rest := text["page.html"]
	for {
		before, after, found := strings.Cut(rest, "{{")
		out.WriteString(before)
		if !found {
			break
		}
		name, after, _ := strings.Cut(after, "}}")
		put := fill[name]
		if put == nil {
			return fmt.Errorf("page.html asks for %q, which nobody has", name)
		}
		if err := put(out); err != nil {
			return err
		}
		rest = after
	}
	return out.Flush()
}

func say(s string) func(*bufio.Writer) error {
	return func(w *bufio.Writer) error {
		_, err := w.WriteString(s)
		return err
	}
}

// policy lets the page run its own script and take its own looks and nothing
// else, whatever a book may have smuggled into a text.
func policy(css, js string) string {
	hash := func(s string) string {
		sum := sha256.Sum256([]byte(s))
		return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
	}
	return "default-src 'none'; script-src " + hash(js) + "; style-src " + hash(css) + "; base-uri 'none'; form-action 'none'"
}

// jsonWriter writes an object of lists piece by piece, so that a long list need
// not be in memory. The standard encoding escapes <, > and &, so that no text of
// a book can end the script element it stands in.
type jsonWriter struct {
	w     *bufio.Writer
	err   error
	first bool
}

func (j *jsonWriter) raw(s string) {
	if j.err == nil {
		_, j.err = j.w.WriteString(s)
	}
}

func (j *jsonWriter) key(name string) {
	if !j.first {
		j.raw(",\n")
	}
	j.first = false
	j.raw(`"` + name + `":`)
}

func (j *jsonWriter) value(v any) {
	data, err := json.Marshal(v)
	if err != nil && j.err == nil {
		j.err = err
	}
	j.raw(string(data))
}

func (j *jsonWriter) field(name string, v any) {
	j.key(name)
	j.value(v)
}

// list writes a list of values, each on its line.
func (j *jsonWriter) list(name string, each func(put func(any)) error) error {
	j.key(name)
	j.raw("[")
	n := 0
	err := each(func(v any) {
		if n > 0 {
			j.raw(",\n")
		}
		n++
		j.value(v)
	})
	j.raw("]")
	return err
}

// pageChanges is how many changes a page lists one by one.
const pageChanges = 500

func (f *Folder) pageData(w *bufio.Writer, parts []Part, n int) error {
	j := &jsonWriter{w: w, first: true}
	j.raw("{")
	j.field("name", f.Name)
	j.field("version", f.Version)
	j.field("settings", f.Settings)
	j.field("day", f.Day)
	j.field("units", []string{f.Units.lengthUnit(), f.Units.volumeUnit()})
	j.field("bundle", bundleSize)
	j.field("status", f.Status)
	j.field("part", n)
	j.field("pages", pages(parts))
	failed := [][]string{}
	for _, x := range f.Failed {
		failed = append(failed, []string{x.Path, x.Why})
	}
	j.field("failed", failed)
	kinds := [][]any{}
	for _, k := range f.Kinds {
		kinds = append(kinds, []any{k.Slug, k.Worst.String(), k.Findings, k.Tanks, k.About, k.Advice, k.Severe})
	}
	j.field("kinds", kinds)
	lines := []string{}
	for _, c := range f.Changes.List[:min(len(f.Changes.List), pageChanges)] {
		lines = append(lines, c.Text())
	}
	j.field("changes", map[string]any{"summary": f.Changes.Summary(), "list": lines, "more": f.Changes.Count - len(lines)})
	due := [][]any{}
	for m, n := range f.months() {
		due = append(due, []any{m, n, f.Day != "" && m < f.Day[:7]})
	}
	j.field("due", due)
	if err := f.pageTanks(j, parts[n]); err != nil {
		return err
	}
	j.raw("}")
	return j.err
}

func pages(parts []Part) [][]string {
	list := [][]string{}
	for _, p := range parts {
		list = append(list, []string{p.File, p.Label})
	}
	return list
}

// pageTanks writes the tanks of a part line by line as the records are read, and
// behind them what was gathered on the way.
func (f *Folder) pageTanks(j *jsonWriter, p Part) error {
	flags := map[Flag]int{}
	var flagList [][]string
	books := [][]any{}
	across, notes := [][]any{}, [][]any{}
	start := 0
	err := j.list("tanks", func(put func(any)) error {
		return f.part(p, func(i int, b *Book) error {
			number := len(books)
			books = append(books, []any{b.Path, b.Failed, len(b.Tanks)})
			for _, x := range f.across[i] {
				tanks := []int{}
				for _, t := range x.Tanks {
					tanks = append(tanks, start+t)
				}
				n := noteOf(x.Finding)
				across = append(across, []any{n.Severity.String(), n.Slug, n.Where, n.Depth, n.Found, n.Expected, n.Why, n.Suggestion, subject(b, n), tanks})
			}
			for _, n := range b.Findings {
				if n.Tank == "" {
					notes = append(notes, []any{number, n.Severity.String(), n.Slug, n.Where, n.Depth, n.Found, n.Expected, n.Why, n.Suggestion, n.Chart})
				}
			}
			for _, t := range f.tanks(i, b) {
				set := []int{}
				for _, flag := range t.Flags {
					at, ok := flags[flag]
					if !ok {
						at = len(flagList)
						flags[flag] = at
						flagList = append(flagList, []string{flag.Severity.String(), string(flag.Slug)})
					}
					set = append(set, at)
				}
				put(f.pageLine(number, t, set))
			}
			start += len(b.Tanks)
			return nil
		})
	})
	if flagList == nil {
		flagList = [][]string{}
	}
	j.field("flags", flagList)
	j.field("books", books)
	j.field("across", across)
	j.field("notes", notes)
	return err
}

// subject names what a finding across the books is about.
func subject(b *Book, n Note) string {
	var parts []string
	if n.Tank != "" {
		parts = append(parts, "tank "+n.Tank)
	}
	if n.Site != "" {
		parts = append(parts, n.Site)
	}
	return strings.Join(append(parts, b.Path), ", ")
}

// pageLine is a tank as the page's script knows it. Figures are printed here, by
// the rules by which they are printed everywhere: no rounding across a limit.
func (f *Folder) pageLine(book int, t *Tank, flags []int) []any {
	u, g := f.Units, t.Figures
	status := 0
	for i, s := range statuses() {
		if s == t.Status {
			status = i
		}
	}
	limit := ""
	if g[LimitPercent].Known {
		limit = unit.DecimalText(g[LimitPercent].V, 3, unit.Down)
	}
	chance := ""
	if c := g[ChanceOverLimit]; c.Known {
		chance = unit.DecimalText(c.V, 2, unit.Up)
	}
	return []any{
		book, t.Site, t.ID, t.Product, status, trimZeros(limit),
		percent(g[ShutoffPercent], g[LimitPercent]), percent(g[WorstPercent], g[LimitPercent]),
		u.length(g[ShutoffDepth], unit.Down), u.length(g[UpperTube], unit.Up), u.length(g[LowerTube], unit.Nearest),
		u.volume(g[FullVolume]), u.length(g[DropLength], unit.Nearest), u.length(g[AlarmDepth], unit.Down), chance, t.AsFound, flags,
	}
}

func trimZeros(s string) string {
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// part reads the tanks and findings of the books of a page.
func (f *Folder) part(p Part, do func(i int, b *Book) error) error {
	for i := p.First; i < p.Last; i++ {
		if err := f.records.with(i, withTanks|withFindings, func(k *kept) error { return do(i, &k.Book) }); err != nil {
			return err
		}
	}
	return nil
}

// pageBundles writes the bundles of the books of a page behind its script.
func (f *Folder) pageBundles(w *bufio.Writer, p Part) error {
	n := 0
	for i := p.First; i < p.Last; i++ {
		err := f.records.with(i, headOnly, func(k *kept) error {
			if want := (k.NTanks + bundleSize - 1) / bundleSize; len(k.Bundles) != want {
				return fmt.Errorf("%w: %s has %d bundles, %d were expected", ErrRecord, k.Path, len(k.Bundles), want)
			}
			return k.eachBundle(func(data []byte) error {
				if !inLetters(data) {
					return fmt.Errorf("%w: a bundle of %s holds letters that no bundle has", ErrRecord, k.Path)
				}
				fmt.Fprintf(w, "<script type=\"text/plain\" id=\"b%d\">", n)
				n++
				w.Write(data)
				_, err := w.WriteString("</script>\n")
				return err
			})
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// inLetters reports whether data holds nothing but the letters of a bundle, so
// that it can end no element of the page.
func inLetters(data []byte) bool {
	for _, c := range data {
		switch {
		case c >= 'a' && c <= 'z', c >= 'A' && c <= 'Z', c >= '0' && c <= '9', c == '+', c == '/', c == '=':
		default:
			return false
		}
	}
	return true
}

// Ready counts the tanks that can be cut.
func (f *Folder) Ready() int { return f.Status[validate.Ready] }
