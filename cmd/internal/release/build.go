package main

import (
	"bytes"
	"context"
	"crypto/sha1"
	"encoding/hex"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
)

// target is a system and a processor, as Go names them.
type target struct{ system, processor string }

func (t target) String() string { return t.system + "/" + t.processor }

// shown is the system as people name it.
func (t target) shown() string {
	if t.system == "darwin" {
		return "macos"
	}
	return t.system
}

func (t target) program() string {
	if t.system == "windows" {
		return "dropcut.exe"
	}
	return "dropcut"
}

func allTargets() []target {
	return []target{
		{"linux", "amd64"},
		{"linux", "arm64"},
		{"darwin", "amd64"},
		{"darwin", "arm64"},
		{"windows", "amd64"},
		{"windows", "arm64"},
	}
}

// build is a program that was built for a target.
type build struct {
	target target
	path   string
	sum    string // sha256
	sha1   string // which the bill of materials demands beside it
}

// build lays the commit out in dir and builds it for every target. An empty
// cache stands for the usual build cache.
func (r *release) build(ctx context.Context, dir, cache string) ([]build, error) {
	if err := r.layOut(ctx, dir); err != nil {
		return nil, err
	}
	var list []build
	for _, t := range r.targets {
		path := filepath.Join(dir, "bin", t.system+"-"+t.processor, t.program())
		r.say("building %s", t)
		if err := r.compile(ctx, dir, cache, path, t); err != nil {
			return nil, err
		}
		body, err := os.ReadFile(path)
		if err != nil {
			return nil, err
		}
		list = append(list, build{target: t, path: path, sum: digest(body), sha1: sha1Of(body)})
	}
	return list, nil
}

// layOut writes the files of the commit into dir, as git keeps them, so that
// what is not committed cannot slip in.
func (r *release) layOut(ctx context.Context, dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	full, err := filepath.Abs(dir)
	if err != nil {
		return err
	}
	top, err := output(ctx, "", nil, "git", "rev-parse", "--show-toplevel")
	if err != nil {
		return err
	}
	index := filepath.Join(full, "git-index")
	env := []string{"GIT_INDEX_FILE=" + index}
	if _, err := output(ctx, top, env, "git", "read-tree", r.commit); err != nil {
		return err
	}
	if _, err := output(ctx, top, env, "git", "checkout-index", "--all", "--prefix="+filepath.ToSlash(full)+"/"); err != nil {
		return err
	}
	return os.Remove(index)
}

// compile builds the program without C, without paths of this machine and
// without anything that is not in the commit.
func (r *release) compile(ctx context.Context, dir, cache, path string, t target) error {
	env := []string{"CGO_ENABLED=0", "GOOS=" + t.system, "GOARCH=" + t.processor, "GOFLAGS=-mod=readonly", "GOAMD64=v1", "GOARM64=v8.0", "GOWORK=off", "GOEXPERIMENT="}
	if cache != "" {
		env = append(env, "GOCACHE="+cache)
	}
	rel, err := filepath.Rel(dir, path)
	if err != nil {
		return err
	}
	_, err = output(ctx, dir, env, "go", "build", "-trimpath", "-buildvcs=false",
		"-ldflags=-s -w -buildid= -X main.version="+r.version, "-o", rel, "./cmd/dropcut")
	return err
}

// native builds the program for this machine and gives its path: it writes its
// own manual and completions.
func (r *release) native(ctx context.Context, dir string, builds []build) (string, error) {
	here := target{runtime.GOOS, runtime.GOARCH}
	for _, b := range builds {
		if b.target == here {
			return b.path, nil
		}
	}
	path := filepath.Join(dir, "bin", "here", here.program())
	return path, r.compile(ctx, dir, "", path, here)
}

// output runs a program and gives what it prints, without the last line break.
func output(ctx context.Context, dir string, env []string, name string, args ...string) (string, error) {
	var out, errs bytes.Buffer
	cmd := exec.CommandContext(ctx, name, args...)
	cmd.Dir, cmd.Stdout, cmd.Stderr = dir, &out, &errs
	cmd.Env = append(os.Environ(), env...)
	if err := cmd.Run(); err != nil {
		return "", fmt.Errorf("%s %s: %w\n%s", name, strings.Join(args, " "), err, strings.TrimSpace(errs.String()))
	}
	return strings.TrimRight(out.String(), "\r\n"), nil
}

func sha1Of(b []byte) string {
	sum := sha1.Sum(b)
	return hex.EncodeToString(sum[:])
}
