package main

import (
	"bytes"
	"context"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode"
	"unicode/utf8"

	"dropcut/cmd/internal/portfolio"
)

// The attack: files of every kind that dropcut reads are spoilt at random and
// given to every command. Whatever comes, there is no panic, no hang, no memory
// beyond a bound, nothing written outside --out, a line that says what is wrong,
// and a right exit status.
//
// A short slice runs always. The long run:
//
//	DROPCUT_LONG=1 go test -run TestAttack -timeout 8h ./cmd/dropcut
//
// DROPCUT_ATTACK_FILES is the number of spoilt files (10,000 in the long run),
// DROPCUT_ATTACK_SEED another beginning, DROPCUT_ATTACK_FROM the file to begin
// with, so that one that was told can be given again, and DROPCUT_ATTACK_SAY a file to which
// every distinct message is written, to be read by a person.

const (
	attackTime   = 10 * time.Second // of the processor, a command
	attackMemory = 400 << 20        // of the whole test process
)

// seedFile is a good file that is spoilt, and what it is to the commands.
type seedFile struct {
	role string // book, csv, returned, notes, ledger
	name string
	data []byte
}

// attackSeeds makes the good files: small invented books in several units and
// layouts, and what the commands make of them.
func attackSeeds(t *testing.T) (seeds []seedFile, base string) {
	t.Helper()
	base = t.TempDir()
	must := func(args ...string) {
		var out, errs bytes.Buffer
		if status := run(context.Background(), append([]string{"dropcut"}, args...), nil, &out, &errs); status != statusDone && status != statusStops {
			t.Fatalf("%q ended with %d: %s", args, status, errs.String())
		}
	}
	books := filepath.Join(base, "books")
	must("demo", "--tanks", "10", "--books", "5", books)
	add := func(role, pattern string) {
		list, err := filepath.Glob(filepath.Join(base, pattern))
		if err != nil || len(list) == 0 {
			t.Fatalf("no file is called %s (%v)", pattern, err)
		}
		for _, name := range list {
			data, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			seeds = append(seeds, seedFile{role, filepath.Base(name), data})
		}
	}
	add("book", "books/portfolio-*.xlsx")
	first := filepath.Join(books, "portfolio-0001.xlsx")
	// A workbook with macros is told by its ending and its content type.
	macro := unpack(t, seeds[0].data)
	for i := range macro {
		macro[i].data = bytes.ReplaceAll(macro[i].data, []byte("application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"), []byte("application/vnd.ms-excel.sheet.macroEnabled.main+xml"))
	}
	macro = append(macro, entry{"xl/vbaProject.bin", []byte("\xd0\xcf\x11\xe0 no macro is ever run")})
	seeds = append(seeds, seedFile{"book", "macros.xlsm", repack(t, macro)})

	must("plan", "--quiet", "--out", filepath.Join(base, "planned"), first)
	add("book", "planned/*.xlsx")
	must("jobs", "--quiet", "--out", filepath.Join(base, "jobs"), first)
	add("returned", "jobs/*/*.xlsx")
	must("convert", "--to", filepath.Join(base, "charts.csv"), first)
	add("csv", "charts.csv")
	must("convert", "--layout", "wide", "--to", filepath.Join(base, "wide.csv"), first)
	add("csv", "wide*.csv")
	must("inspect", "--quiet", "--save", filepath.Join(base, "notes.csv"), first)
	add("notes", "notes.csv")
	tanks := "Site,Tank,Place,Device,Riser height (in),Face to bottom (in),Inside diameter (in),Remarks\n" +
		"Harbor Road,T-1,US-federal,Alder 4,\"20 1/4\",30 1/4,10,\"old, but good\"\n\n" +
		"Tank,Depth (in),Volume (gal)\nT-1,0,0\nT-1,2,14\nT-1,4,37\nT-1,6,63\nT-1,8,86\nT-1,10,100\n"
	seeds = append(seeds, seedFile{"csv", "tanks.csv", []byte(tanks)})
	folder := filepath.Join(base, "folder")
	if err := os.Mkdir(folder, 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, "one.xlsx"), seeds[0].data, 0o666); err != nil {
		t.Fatal(err)
	}
	must("run", "--quiet", "--out", filepath.Join(base, "results"), folder)
	add("ledger", "results/.dropcut/ledger.jsonl")
	records, err := filepath.Glob(filepath.Join(base, "results/.dropcut/records/*/*"))
	if err != nil || len(records) == 0 {
		t.Fatal("the run left no record")
	}
	return seeds, base
}

func TestAttack(t *testing.T) {
	files, from, seed := 12, 0, uint64(1)
	if os.Getenv("DROPCUT_LONG") != "" {
		files = 10_000
	}
	if n, err := strconv.Atoi(os.Getenv("DROPCUT_ATTACK_FILES")); err == nil {
		files = n
	}
	if n, err := strconv.ParseUint(os.Getenv("DROPCUT_ATTACK_SEED"), 10, 64); err == nil {
		seed = n
	}
	if n, err := strconv.Atoi(os.Getenv("DROPCUT_ATTACK_FROM")); err == nil {
		from = n
	}
	seeds, base := attackSeeds(t)
	a := &attacker{t: t, base: base, seeds: seeds, told: map[string]bool{}, messages: map[string]string{}, statuses: map[string]int{}}
	a.prepare()
	begin := time.Now()
	for n := from; n < from+files; n++ {
		a.one(n, rand.New(rand.NewPCG(seed, uint64(n))))
		if t.Failed() && a.faults > 60 {
			t.Fatal("that is enough")
		}
		if n%500 == 499 {
			t.Logf("%d files, %d commands, %v, at most %d MB: %s; slowest %v: %s", n+1, a.commands, time.Since(begin).Round(time.Second), a.most>>20, a.greedy, a.slowest, a.slow)
		}
	}
	t.Logf("%d files through %d commands, at most %d MB: %s; slowest %v of the processor: %s; statuses %v", files, a.commands, a.most>>20, a.greedy, a.slowest, a.slow, a.statuses)
	if name := os.Getenv("DROPCUT_ATTACK_SAY"); name != "" {
		var b strings.Builder
		for _, m := range slices.Sorted(mapsKeys(a.messages)) {
			fmt.Fprintf(&b, "%s\n\t%s\n", m, a.messages[m])
		}
		if err := os.WriteFile(name, []byte(b.String()), 0o666); err != nil {
			t.Fatal(err)
		}
	}
}

func mapsKeys(m map[string]string) func(func(string) bool) {
	return func(yield func(string) bool) {
		for k := range m {
			if !yield(k) {
				return
			}
		}
	}
}

type attacker struct {
	t     *testing.T
	base  string
	seeds []seedFile

	box     string // the folder of the file in hand
	keepOut bool   // the results are those of an earlier run

	commands, faults int
	told             map[string]bool
	statuses         map[string]int
	messages         map[string]string // distinct messages, and a command that gave it
	most             int64
	slowest          time.Duration
	slow, greedy     string
}

// prepare makes the box in which every command works: good files that must not
// change, and a working folder that must stay empty.
func (a *attacker) prepare() {
	t := a.t
	a.box = filepath.Join(t.TempDir(), "box")
	for _, dir := range []string{"in", "here", "good", "folder"} {
		if err := os.MkdirAll(filepath.Join(a.box, dir), 0o777); err != nil {
			t.Fatal(err)
		}
	}
	for name, from := range map[string]string{
		"portfolio-0001.xlsx": "books/portfolio-0001.xlsx", "notes.csv": "notes.csv", "charts.csv": "charts.csv",
	} {
		data, err := os.ReadFile(filepath.Join(a.base, from))
		if err != nil {
			t.Fatal(err)
		}
		a.put(filepath.Join("good", name), data)
	}
	for _, s := range a.seeds {
		if s.role == "returned" {
			a.put("good/returned.xlsx", s.data)
		}
	}
	t.Chdir(filepath.Join(a.box, "here"))
}

func (a *attacker) put(name string, data []byte) {
	a.t.Helper()
	if err := os.WriteFile(filepath.Join(a.box, name), data, 0o666); err != nil {
		a.t.Fatal(err)
	}
}

func (a *attacker) at(name string) string { return filepath.Join(a.box, name) }

// one spoils one file and gives it to every command that takes such a file.
func (a *attacker) one(n int, r *rand.Rand) {
	s := a.seeds[r.IntN(len(a.seeds))]
	other := a.seeds[r.IntN(len(a.seeds))].data
	var data []byte
	switch {
	case r.IntN(40) == 0:
		data = mutateBytes(r, other, s.data) // a file of another kind under this name
	case strings.HasPrefix(filepath.Ext(s.name), ".xls"):
		data = mutateBook(a.t, r, s.data, other)
	default:
		data = mutateText(r, s.data, other)
	}
	name := s.name
	if r.IntN(10) == 0 {
		name = hostileName(r, filepath.Ext(s.name))
	}
	if s.role == "ledger" {
		a.ledger(n, r, data)
		return
	}
	in := a.at("in")
	bad := filepath.Join(in, name)
	if err := os.WriteFile(bad, data, 0o666); err != nil {
		a.t.Fatalf("%q: %v", bad, err)
	}
	defer os.Remove(bad)
	good, returned := a.at("good/portfolio-0001.xlsx"), a.at("good/returned.xlsx")
	out := a.at("out")
	if s.role == "notes" {
		for _, args := range [][]string{
			{"inspect", "--notes", bad, good},
			{"audit", "--notes", bad, good},
			{"plan", "--notes", bad, "--out", out, good},
			{"explain", "--notes", bad, "--tank", "T1", good},
			{"convert", "--notes", bad, "--to", filepath.Join(out, "c.csv"), good},
			{"jobs", "--notes", bad, "--out", out, good},
			{"diff", "--notes", bad, good, good},
			{"run", "--notes", bad, "--out", out, a.at("good")},
			{"collect", "--notes", bad, "--into", good, "--out", out, returned},
		} {
			a.do(n, args)
		}
		return
	}
	text := hostile(r)
	format := []string{"json", "csv"}[r.IntN(2)]
	charts := filepath.Join(out, "charts."+[]string{"xlsx", "csv"}[r.IntN(2)])
	// Every command gets the file, in one of the ways in which it can.
	for _, ways := range [][][]string{
		{
			{"inspect", bad},
			{"inspect", "--quiet", "--format", format, "--save", filepath.Join(out, "saved.csv"), bad},
		},
		{
			{"audit", bad},
			{"audit", "--format", format, bad},
		},
		{
			{"plan", "--out", out, bad},
			{"plan", "--out", out, "--charts", bad, good},
			{"plan", "--dry-run", "--format", format, bad},
			{"plan", "--dry-run", "--as-found", bad},
			// A text that means ill as the name of a folder, and as a value.
			{"plan", "--out", filepath.Join(out, "x", strings.NewReplacer("/", "_", "\x00", "_").Replace(text)), bad},
			{"plan", "--dry-run", []string{"--place", "--device", "--limit", "--guard", "--day", "--chart-units", "--units", "--format"}[r.IntN(8)], text, good},
		},
		{
			{"explain", "--tank", "PY1-1", bad},
			{"explain", "--tank", "T-1", bad},
			{"explain", "--tank", "PY1-2", "--fill-card", bad},
			{"explain", "--tank", text, "--format", format, bad},
		},
		{
			{"diff", bad, good},
			{"diff", "--format", format, good, bad},
		},
		{
			{"convert", "--to", charts, bad},
			{"convert", "--layout", []string{"wide", "folded"}[r.IntN(2)], "--step", []string{"1", "1/8", "5 mm"}[r.IntN(3)], "--to", charts, bad},
			{"convert", "--from-dimensions", "--units", "mm,L", "--to", charts, bad},
		},
		{
			{"jobs", "--out", out, bad},
			{"jobs", "--for", "inspection", "--out", out, bad},
		},
		{
			{"collect", "--into", good, "--out", out, bad},
			{"collect", "--into", bad, "--out", out, returned},
			{"collect", "--dry-run", bad},
		},
		{{"run", "--out", out, in}},
		{{"template", bad}},
	} {
		way := r.IntN(len(ways))
		if s.role == "returned" && ways[0][0] == "collect" {
			way = 0
		}
		a.do(n, ways[way])
	}
}

// ledger puts a spoilt ledger, or a spoilt record, into a folder of results.
func (a *attacker) ledger(n int, r *rand.Rand, data []byte) {
	out := a.at("out")
	if err := os.CopyFS(out, os.DirFS(filepath.Join(a.base, "results"))); err != nil {
		a.t.Fatal(err)
	}
	name := filepath.Join(out, portfolio.StateDir, "ledger.jsonl")
	if r.IntN(3) == 0 {
		records, err := filepath.Glob(filepath.Join(out, portfolio.StateDir, "records/*/*"))
		if err != nil || len(records) == 0 {
			a.t.Fatal("no records")
		}
		name = records[r.IntN(len(records))]
		old, err := os.ReadFile(name)
		if err != nil {
			a.t.Fatal(err)
		}
		data = mutateText(r, old, data)
	}
	if err := os.WriteFile(name, data, 0o666); err != nil {
		a.t.Fatal(err)
	}
	folder := filepath.Join(a.base, "folder")
	args := []string{"run", "--quiet", "--out", out, folder}
	if r.IntN(2) == 0 {
		args = []string{"run", "--since", "last", "--out", out, folder}
	}
	a.keepOut = true
	a.do(n, args)
	a.do(n, args)
	a.keepOut = false
	a.clear(out)
}

func (a *attacker) clear(out string) {
	if err := os.RemoveAll(out); err != nil {
		a.t.Fatal(err)
	}
}

// fault tells what was found, with what shows it.
func (a *attacker) fault(n int, args []string, format string, more ...any) {
	a.t.Helper()
	// One fault shows itself in many files; it is told once a command.
	key := args[0] + wordsAlone(fmt.Sprintf(format, more...))
	if a.told[key] {
		return
	}
	a.told[key] = true
	a.faults++
	short := make([]string, len(args))
	for i, s := range args {
		short[i] = strconv.Quote(strings.ReplaceAll(s, a.box, "BOX"))
	}
	a.t.Errorf("file %d: dropcut %s: %s", n, strings.Join(short, " "), fmt.Sprintf(format, more...))
}

// do runs one command on the file in hand and looks at all that came of it.
func (a *attacker) do(n int, args []string) {
	before := a.everything()
	resetPeak()
	var out, errs bytes.Buffer
	status := -1
	began := processorTime()
	panicked := make(chan string, 1)
	go func() {
		defer func() {
			text := ""
			if p := recover(); p != nil {
				text = fmt.Sprintf("%v\n%s", p, debug.Stack())
			}
			panicked <- text
		}()
		status = run(context.Background(), append([]string{"dropcut"}, args...), nil, &out, &errs)
	}()
	select {
	case text := <-panicked:
		if text != "" {
			a.fault(n, args, "panic: %s", text)
			return
		}
	case <-time.After(12 * attackTime):
		// The machine may be busy; twelve times as long is a hang in any case.
		buf := make([]byte, 1<<20)
		a.t.Fatalf("file %d: dropcut %q hangs:\n%s", n, args, buf[:runtime.Stack(buf, true)])
	}
	took := processorTime() - began
	a.commands++
	a.statuses[fmt.Sprintf("%s %d", args[0], status)]++
	if took > a.slowest {
		a.slowest, a.slow = took, strings.ReplaceAll(fmt.Sprintf("file %d, %q", n, args), a.box, "BOX")
	}
	if took > attackTime {
		a.fault(n, args, "took %v of the processor", took)
	}
	if peak := peakMemory(); peak > 0 {
		if peak > a.most {
			a.most, a.greedy = peak, strings.ReplaceAll(fmt.Sprintf("file %d, %q", n, args), a.box, "BOX")
		}
		if peak > attackMemory {
			a.fault(n, args, "took %d MB", peak>>20)
			debug.FreeOSMemory()
		}
	}
	after := a.everything()
	for name, sum := range after {
		if before[name] != sum {
			a.fault(n, args, "%q was written or changed, which is outside --out", name)
		}
	}
	for name := range before {
		if _, ok := after[name]; !ok {
			a.fault(n, args, "%q is gone", name)
		}
	}
	a.look(n, args, status, out.String(), errs.String())
	if !a.keepOut {
		a.clear(a.at("out"))
	}
}

// everything gives the files of the box but for those of the results.
func (a *attacker) everything() map[string]string {
	files := map[string]string{}
	err := filepath.WalkDir(a.box, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if path == a.at("out") {
				return fs.SkipDir
			}
			if path != a.box {
				files[path] = "a folder"
			}
			return nil
		}
		info, err := d.Info()
		if err == nil {
			files[path] = fmt.Sprint(info.Size(), info.ModTime())
		}
		return err
	})
	if err != nil {
		a.t.Fatal(err)
	}
	return files
}

// wordsAlone leaves of a message what is not a name, a number or a quoted text,
// so that messages can be told apart by what they say.
func wordsAlone(s string) string {
	s = notWords.ReplaceAllString(s, "~")
	if len(s) > 400 {
		s = s[:400]
	}
	return strings.TrimSpace(strings.ToValidUTF8(s, "?"))
}

var notWords = regexp.MustCompile(`"[^"]*"|\d+|BOX[^ :]*|\S*/\S*|\S+\.(csv|xlsx|xlsm)\S*`)

// raw are words that only a programmer or a system says.
var raw = regexp.MustCompile(`panic|runtime error|goroutine|%![a-z(]|nil pointer|\bEOF\b|(?:^|[^.\w])(?:flate|zip|strconv|xml|json|csv|gocsv): |a fault of dropcut|0x[0-9a-f]{6}|\b(?:NaN|Inf) ?(?:US )?(?:gal|in|mm|L)\b|errno|invalid argument|\bmkdir\b|\bopen /|\bstat /|reflect|interface \{\}|index out of`)

// look judges what a command said.
func (a *attacker) look(n int, args []string, status int, out, errs string) {
	box := func(s string) string { return strings.ReplaceAll(s, a.box, "BOX") }
	switch status {
	case statusDone, statusStops:
		if out == "" && errs == "" {
			a.fault(n, args, "ended with %d and said nothing", status)
		}
	case statusFailed, statusUsage:
		said := false
		for line := range strings.Lines(errs) {
			if text, ok := strings.CutPrefix(line, "dropcut: "); ok && strings.TrimSpace(text) != "" {
				said = true
				if key := wordsAlone(box(text)); a.messages[key] == "" {
					a.messages[key] = box(fmt.Sprintf("%s\n\tfile %d, %q", strings.ToValidUTF8(text, "?"), n, args))
				}
			}
			if len(line) > 3000 {
				a.fault(n, args, "a line of %d characters: %.300q", len(line), line)
			}
		}
		if !said {
			a.fault(n, args, "ended with %d without a line that says why: %q", status, errs)
		}
		if status == statusUsage && args[0] != "collect" && args[0] != "template" && !slices.ContainsFunc(args, func(s string) bool { return strings.HasPrefix(s, "--") && s != "--out" }) {
			a.fault(n, args, "a bad file is taken for wrong use: %s", errs)
		}
	default:
		a.fault(n, args, "ended with %d: %s", status, errs)
	}
	ours := errs
	for _, text := range hostileTexts {
		if strings.TrimSpace(text) != "" && raw.MatchString(text) {
			ours = strings.ReplaceAll(ours, text, "") // it is quoted from the file
		}
	}
	// A number of one of those texts, of which a message may quote the beginning.
	ours = strings.ReplaceAll(ours, "0x7fffff", "")
	if m := raw.FindString(ours); m != "" && !strings.Contains(strings.Join(args, " "), m) {
		a.fault(n, args, "raw wording %q: %.600q", m, box(errs))
	}
	for name, text := range map[string]string{"standard output": out, "standard error": errs} {
		if slices.Contains(args, "--format") && name == "standard output" {
			continue // data for another program, which keeps what stood there
		}
		if !utf8.ValidString(text) {
			a.fault(n, args, "%s is no UTF-8: %.200q", name, text)
		}
		if i := strings.IndexFunc(text, unseen); i >= 0 {
			a.fault(n, args, "%s has a character that a terminal obeys: %.200q", name, text[max(0, i-80):])
		}
	}
}

// unseen are characters that move a terminal's cursor, change its state, or turn
// the direction of what is read.
func unseen(c rune) bool {
	return c != '\n' && c != '\t' && unicode.IsControl(c) || unicode.Is(unicode.Bidi_Control, c)
}
