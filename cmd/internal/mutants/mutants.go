package main

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"time"

	"golang.org/x/sync/errgroup"
)

// Two changes are planted whose fate is known: one that a test must notice and
// one that no test can. Where either comes out otherwise the tests did not run as
// they should, and nothing that was told is worth anything.
const (
	plantedFile = "planted.go"
	planted     = "\n\nfunc plantedDies(x int) bool { return x == 3 }\n\nfunc plantedLives(x int) bool { return x == 4 }\n"
	plantedTest = "\n\nimport \"testing\"\n\nfunc TestPlanted(t *testing.T) {\n\tif !plantedDies(3) {\n\t\tt.Error(\"changed\")\n\t}\n\tplantedLives(4)\n}\n"
)

// fate is what became of a change.
type fate int

const (
	unseen  fate = iota // no test comes by
	noticed             // a test fails
	endless             // the tests do not end
	lived               // no test fails
)

// run gives 0 where no change lived, 1 where one did or something failed, 2 for
// wrong use.
func run(ctx context.Context, args []string, out, errs io.Writer) int {
	flags := flag.NewFlagSet("mutants", flag.ContinueOnError)
	flags.SetOutput(errs)
	only := flags.String("only", "", "changes whose place holds this `TEXT`, as in tilt.go:1")
	workers := flags.Int("workers", max(1, runtime.NumCPU()/2), "`N` changes at once")
	if err := flags.Parse(args); err != nil {
		return 2
	}
	if flags.NArg() == 0 {
		fmt.Fprintln(errs, "mutants: which packages? for instance: go run ./cmd/internal/mutants plan/device plan/rule")
		return 2
	}
	work, err := os.MkdirTemp("", "mutants-")
	if err != nil {
		fmt.Fprintln(errs, "mutants:", err)
		return 1
	}
	defer os.RemoveAll(work)
	status := 0
	for _, name := range flags.Args() {
		living, err := onePackage(ctx, out, errs, work, filepath.Clean(name), *only, *workers)
		if err != nil {
			fmt.Fprintf(errs, "mutants: %s: %v\n", name, err)
			return 1
		}
		if living > 0 {
			status = 1
		}
	}
	return status
}

// onePackage goes through the changes of one package and counts those that lived.
func onePackage(ctx context.Context, out, errs io.Writer, work, name, only string, workers int) (living int, err error) {
	root := filepath.Join(work, strings.ReplaceAll(name, string(filepath.Separator), "_"))
	for _, dir := range []string{"plan", "templates"} {
		if err := os.CopyFS(filepath.Join(root, dir), os.DirFS(dir)); err != nil {
			return 0, err
		}
	}
	for _, file := range []string{"go.mod", "go.sum"} {
		data, err := os.ReadFile(file)
		if err != nil {
			return 0, err
		}
		if err := os.WriteFile(filepath.Join(root, file), data, 0o666); err != nil {
			return 0, err
		}
	}
	dir := filepath.Join(root, name)
	if err := plant(dir); err != nil {
		return 0, err
	}
	changes, err := rewrite(dir)
	if err != nil {
		return 0, err
	}
	b := &bench{dir: dir, program: filepath.Join(root, "tests.bin")}
	cmd := exec.CommandContext(ctx, "go", "test", "-c", "-o", b.program, ".")
	cmd.Dir = dir
	if text, err := cmd.CombinedOutput(); err != nil {
		return 0, fmt.Errorf("the changed code is not compiled: %w\n%s", err, text)
	}
	seen, err := b.unchanged(ctx, len(changes))
	if err != nil {
		return 0, err
	}
	fates := make([]fate, len(changes))
	var all errgroup.Group
	all.SetLimit(workers)
	for i, c := range changes {
		if !seen[i] || c.file != plantedFile && !strings.Contains(c.place(), only) {
			continue
		}
		if i%100 == 0 {
			fmt.Fprintf(errs, "%s: %d of %d\n", name, i, len(changes))
		}
		all.Go(func() (err error) {
			fates[i], err = b.one(ctx, i)
			return err
		})
	}
	if err := all.Wait(); err != nil {
		return 0, err
	}
	return tell(out, name, only, changes, fates)
}

func (c change) place() string { return fmt.Sprintf("%s:%d:%d", c.file, c.line, c.col) }

// tell prints what lived, and counts.
func tell(out io.Writer, name, only string, changes []change, fates []fate) (int, error) {
	counts := map[fate]int{}
	died, stays := false, false
	for i, c := range changes {
		if c.file == plantedFile {
			died = died || c.line == 3 && fates[i] == noticed
			stays = stays || c.line == 5 && fates[i] == lived
			continue
		}
		if !strings.Contains(c.place(), only) {
			continue
		}
		counts[fates[i]]++
		word := map[fate]string{lived: "lived", endless: "endless", unseen: "in no test"}[fates[i]]
		if word != "" {
			fmt.Fprintf(out, "%s: %s/%s: %s\n    %s\n", word, name, c.place(), c.what, c.code)
		}
	}
	fmt.Fprintf(out, "%s: %d noticed, %d lived, %d endless, %d in no test\n", name, counts[noticed], counts[lived], counts[endless], counts[unseen])
	if !died || !stays {
		return 0, errors.New("the changes that were planted did not come out as they must, so the tests did not run")
	}
	return counts[lived] + counts[unseen], nil
}

func plant(dir string) error {
	list, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil || len(list) == 0 {
		return fmt.Errorf("no Go files in %s (%v)", dir, err)
	}
	name := ""
	for _, file := range list {
		data, err := os.ReadFile(file)
		if err != nil {
			return err
		}
		for line := range strings.Lines(string(data)) {
			if rest, ok := strings.CutPrefix(line, "package "); ok && !strings.HasSuffix(file, "_test.go") {
				name = strings.TrimSpace(rest)
			}
		}
	}
	if err := os.WriteFile(filepath.Join(dir, plantedFile), []byte("package "+name+planted), 0o666); err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(dir, "planted_test.go"), []byte("package "+name+plantedTest), 0o666)
}

// bench is a compiled test program with all changes in it.
type bench struct {
	dir, program string
	groups       []group
}

// group is some tests of the program, and the changes that they come by. A test
// that takes long is a group of its own, so that it runs only for changes that it
// comes by and that the quick ones have not noticed.
type group struct {
	choice   string // the flag of the test program that chooses them
	seen     []bool
	patience time.Duration
}

// took is the line in which a test says how long it took.
var took = regexp.MustCompile(`(?m)^--- PASS: (\S+) \((\d+\.\d+)s\)$`)

// unchanged runs the tests with no change on: they must pass. It groups them, and
// tells which changes any of them comes by.
func (b *bench) unchanged(ctx context.Context, n int) ([]bool, error) {
	text, err := b.command(ctx, "-test.v").CombinedOutput()
	if err != nil {
		return nil, fmt.Errorf("the tests fail before anything is changed: %w\n%s", err, text)
	}
	type test struct {
		name    string
		seconds float64
	}
	var slow []test
	sum := 0.0
	for _, m := range took.FindAllSubmatch(text, -1) {
		seconds, err := strconv.ParseFloat(string(m[2]), 64)
		if err != nil {
			return nil, err
		}
		sum += seconds
		slow = append(slow, test{string(m[1]), seconds})
	}
	slow = slices.DeleteFunc(slow, func(t test) bool { return t.seconds < 0.05 || t.seconds < sum/20 })
	slices.SortStableFunc(slow, func(a, b test) int { return cmp.Compare(a.seconds, b.seconds) })
	names := []string{"none"}
	for _, t := range slow {
		names = append(names, t.name)
	}
	b.groups = []group{{choice: "-test.skip=^(" + strings.Join(names, "|") + ")$"}}
	for _, t := range slow {
		b.groups = append(b.groups, group{choice: "-test.run=^" + t.name + "$"})
	}
	any := make([]bool, n)
	for i := range b.groups {
		g := &b.groups[i]
		start := time.Now()
		if g.seen, err = b.comesBy(ctx, g.choice, n); err != nil {
			return nil, err
		}
		// The machine may be busier later on.
		g.patience = 20*time.Since(start) + 20*time.Second
		for i, seen := range g.seen {
			any[i] = any[i] || seen
		}
	}
	return any, nil
}

// comesBy runs some tests with no change on and tells which changes they come by.
func (b *bench) comesBy(ctx context.Context, choice string, n int) ([]bool, error) {
	notes := b.program + ".seen"
	if err := os.WriteFile(notes, nil, 0o666); err != nil {
		return nil, err
	}
	cmd := b.command(ctx, choice)
	cmd.Env = append(cmd.Env, "MUTANTS_SEEN="+notes)
	if text, err := cmd.CombinedOutput(); err != nil {
		return nil, fmt.Errorf("the tests fail before anything is changed: %w\n%s", err, text)
	}
	data, err := os.ReadFile(notes)
	if err != nil {
		return nil, err
	}
	seen := make([]bool, n)
	for line := range bytes.Lines(data) {
		if i, err := strconv.Atoi(string(bytes.TrimSpace(line))); err == nil && i < n {
			seen[i] = true
		}
	}
	return seen, nil
}

func (b *bench) command(ctx context.Context, choice string) *exec.Cmd {
	cmd := exec.CommandContext(ctx, b.program, choice, "-test.short", "-test.failfast", "-test.timeout=0")
	cmd.Dir = b.dir
	cmd.Env = os.Environ()
	return cmd
}

// one runs the tests that come by a change with that change on, the quick ones
// first.
func (b *bench) one(ctx context.Context, n int) (fate, error) {
	for i := range b.groups {
		if g := &b.groups[i]; g.seen[n] {
			if f, err := b.in(ctx, g, n); f != lived || err != nil {
				return f, err
			}
		}
	}
	return lived, nil
}

func (b *bench) in(ctx context.Context, g *group, n int) (fate, error) {
	limited, cancel := context.WithTimeout(ctx, g.patience)
	defer cancel()
	cmd := b.command(limited, g.choice)
	cmd.Env = append(cmd.Env, "MUTANTS_NOW="+strconv.Itoa(n))
	err := cmd.Run()
	var exit *exec.ExitError
	switch {
	case ctx.Err() != nil:
		return unseen, ctx.Err()
	case limited.Err() != nil:
		return endless, nil
	case err == nil:
		return lived, nil
	case errors.As(err, &exit):
		return noticed, nil
	}
	return unseen, err
}
