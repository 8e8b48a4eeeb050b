package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"
)

// release is one release in the making.
type release struct {
	version string // v1.2.3
	commit  string
	day     time.Time // of the commit; every file in the archives carries it
	out     string
	targets []target
	quick   bool // the second build takes what the first has cached
	log     io.Writer
}

const usage = `usage: release [--out DIR] [--only SYSTEM/PROCESSOR,...] [--quick] [VERSION]

Builds the commit that is checked out (what is not committed is left out), twice, in two
places and with two build caches, and compares; then packs. Without VERSION the tag of the
commit is taken. A VERSION whose tag stands at another commit is refused.

--quick, for a check between releases, shares one build cache: what depends on the place is
still found, what the compiler itself makes differently is not.
`

// The statuses are those of the program itself.
const (
	statusDone   = 0
	statusFailed = 1
	statusUsage  = 2
)

func run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("release", flag.ContinueOnError)
	flags.SetOutput(stderr)
	flags.Usage = func() { fmt.Fprint(stderr, usage) }
	out := flags.String("out", "dist", "")
	only := flags.String("only", "", "")
	quick := flags.Bool("quick", false, "")
	if err := flags.Parse(args); err != nil {
		return statusUsage
	}
	if flags.NArg() > 1 {
		flags.Usage()
		return statusUsage
	}
	r := release{out: *out, quick: *quick, log: stdout}
	err := r.settle(ctx, flags.Arg(0), *only)
	if err == nil {
		err = r.make(ctx)
	}
	if err != nil {
		fmt.Fprintln(stderr, "release:", err)
		return statusFailed
	}
	return statusDone
}

var versionForm = regexp.MustCompile(`^v(0|[1-9]\d*)\.(0|[1-9]\d*)\.(0|[1-9]\d*)(-[0-9A-Za-z.-]+)?$`)

// settle finds out what is to be released: the commit, its day, its version.
func (r *release) settle(ctx context.Context, version, only string) error {
	var err error
	if r.commit, err = output(ctx, "", nil, "git", "rev-parse", "HEAD"); err != nil {
		return err
	}
	day, err := output(ctx, "", nil, "git", "show", "-s", "--format=%cI", "HEAD")
	if err != nil {
		return err
	}
	if r.day, err = time.Parse(time.RFC3339, day); err != nil {
		return err
	}
	r.day = r.day.UTC()
	if version == "" {
		if version, err = output(ctx, "", nil, "git", "describe", "--exact-match", "--tags", "--match", "v*"); err != nil {
			return errors.New("no version was given and the commit has no tag; give one, as in v1.2.3, or set the tag first")
		}
	}
	if !versionForm.MatchString(version) {
		return fmt.Errorf("%q is no version; v1.2.3 or v1.2.3-beta.1 is expected", version)
	}
	r.version = version
	if tagged, err := output(ctx, "", nil, "git", "rev-parse", "--verify", "--quiet", version+"^{commit}"); err == nil && tagged != r.commit {
		return fmt.Errorf("tag %s stands at commit %.12s and %.12s is checked out; check the tag out, or choose another version", version, tagged, r.commit)
	} else if err != nil {
		r.say("there is no tag %s yet; after the release: git tag %[1]s %.12s", version, r.commit)
	}
	if changed, err := output(ctx, "", nil, "git", "status", "--porcelain"); err == nil && changed != "" {
		r.say("what is not committed is not in the release (%d files)", strings.Count(changed, "\n")+1)
	}
	r.targets, err = chooseTargets(only)
	return err
}

func chooseTargets(only string) ([]target, error) {
	if only == "" {
		return allTargets(), nil
	}
	var list []target
	for word := range strings.SplitSeq(only, ",") {
		i := slices.IndexFunc(allTargets(), func(t target) bool { return t.system+"/"+t.processor == strings.TrimSpace(word) })
		if i < 0 {
			return nil, fmt.Errorf("%q is not one of %s", word, fmt.Sprint(allTargets()))
		}
		list = append(list, allTargets()[i])
	}
	return list, nil
}

func (r *release) say(format string, args ...any) { fmt.Fprintf(r.log, format+"\n", args...) }

// make builds, compares and packs. The finished folder takes its place in one
// step at the end, so that half a release is never taken for one.
func (r *release) make(ctx context.Context) error {
	dir := filepath.Join(r.out, "dropcut-"+r.version)
	if _, err := os.Stat(dir); err == nil {
		return fmt.Errorf("%s is there already; delete it, or give another --out", dir)
	}
	work, err := os.MkdirTemp("", "dropcut-release-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(work)

	first, err := r.build(ctx, filepath.Join(work, "first"), "")
	if err != nil {
		return err
	}
	cache := filepath.Join(work, "cache")
	if r.quick {
		cache = ""
		r.say("building all of it again, in another place")
	} else {
		r.say("building all of it again, in another place and with an empty build cache")
	}
	second, err := r.build(ctx, filepath.Join(work, "second", "deeper"), cache)
	if err != nil {
		return err
	}
	for i, one := range first {
		if one.sum != second[i].sum {
			return fmt.Errorf("%s does not build to the same bytes twice: sha256 %s and %s", one.target, one.sum, second[i].sum)
		}
		r.say("%-14s same bytes twice, sha256 %s", one.target, one.sum)
	}

	modules, err := modulesOf(first)
	if err != nil {
		return err
	}
	papers, err := r.papers(ctx, filepath.Join(work, "first"), first, modules)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(r.out, 0o755); err != nil {
		return err
	}
	part := dir + ".part"
	if err := os.RemoveAll(part); err != nil {
		return err
	}
	if err := r.pack(part, first, papers, modules); err != nil {
		return err
	}
	if err := os.Rename(part, dir); err != nil {
		return err
	}
	r.say("%s is ready", dir)
	return nil
}

// pack writes the archives, the bill of materials and the checksums into dir.
func (r *release) pack(dir string, builds []build, papers []entry, modules []module) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	files := map[string][]byte{}
	for _, b := range builds {
		body, err := os.ReadFile(b.path)
		if err != nil {
			return err
		}
		stem := "dropcut-" + r.version + "-" + b.target.shown() + "-" + b.target.processor
		list := slices.Concat([]entry{{name: b.target.program(), body: body, mode: 0o755}}, papers)
		packed, err := b.target.archive(stem, list, r.day)
		if err != nil {
			return err
		}
		files[stem+b.target.ending()] = packed
	}
	bill, err := r.bill(builds, modules)
	if err != nil {
		return err
	}
	files["dropcut-"+r.version+".spdx.json"] = bill
	var sums strings.Builder
	names := make([]string, 0, len(files))
	for name := range files {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		fmt.Fprintf(&sums, "%s  %s\n", digest(files[name]), name)
	}
	files["SHA256SUMS"] = []byte(sums.String())
	for name, body := range files {
		if err := os.WriteFile(filepath.Join(dir, name), body, 0o644); err != nil {
			return err
		}
	}
	r.say("%s", strings.TrimSuffix(sums.String(), "\n"))
	return nil
}

func digest(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}
