package main

import (
	"cmp"
	"context"
	"debug/buildinfo"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"runtime/debug"
	"slices"
	"strings"
)

// module is a dependency as the built programs name it, with its licences.
type module struct {
	path, version, sum string
	licence            string // an expression of SPDX names
}

// modulesOf reads from the built programs what is in them: the union over all
// systems, in order. It asks the programs themselves and not go.mod, which also
// names what only tests and tools need.
func modulesOf(builds []build) ([]module, error) {
	var list []module
	for _, b := range builds {
		info, err := buildinfo.ReadFile(b.path)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", b.path, err)
		}
		for _, dep := range info.Deps {
			if dep.Replace != nil {
				return nil, fmt.Errorf("%s is replaced by %s, which is no released module; take the line out of go.mod", dep.Path, dep.Replace.Path)
			}
			list = append(list, moduleOf(dep))
		}
	}
	slices.SortFunc(list, func(a, b module) int { return cmp.Or(cmp.Compare(a.path, b.path), cmp.Compare(a.version, b.version)) })
	return slices.Compact(list), nil
}

func moduleOf(dep *debug.Module) module {
	return module{path: dep.Path, version: dep.Version, sum: dep.Sum}
}

// paper is a licence text as it lies in a module's folder.
type paper struct{ name, text, licence string }

var licenceFile = regexp.MustCompile(`(?i)^(licen[cs]e|copying|notice|patents)([.-].*)?$`)

// papersIn gives the licence texts of a folder. Each must be one that dropcut
// may be handed out with; a folder without any is refused.
func papersIn(dir string) ([]paper, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	var list []paper
	for _, e := range entries {
		within := dir
		names := []string{e.Name()}
		switch {
		case e.IsDir() && strings.EqualFold(e.Name(), "THIRD_PARTY_LICENSES"):
			within = filepath.Join(dir, e.Name())
			if names, err = namesIn(within); err != nil {
				return nil, err
			}
		case e.IsDir() || !licenceFile.MatchString(e.Name()):
			continue
		}
		for _, name := range names {
			body, err := os.ReadFile(filepath.Join(within, name))
			if err != nil {
				return nil, err
			}
			text := string(body)
			licence, err := licenceOf(text)
			low := strings.ToLower(name)
			if errors.Is(err, errUnknown) && (within != dir || strings.HasPrefix(low, "notice") || strings.HasPrefix(low, "patents")) {
				// Notes that stand beside the module's own licence, and the short
				// notes of code that the module took over: handed on as they are.
				licence, err = "", nil
			}
			if err != nil {
				return nil, fmt.Errorf("%s: %w", filepath.Join(within, name), err)
			}
			list = append(list, paper{name: name, text: text, licence: licence})
		}
	}
	if !slices.ContainsFunc(list, func(p paper) bool { return p.licence != "" }) {
		return nil, fmt.Errorf("%s: no licence text was found; without one the module cannot be handed on", dir)
	}
	return list, nil
}

func namesIn(dir string) ([]string, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	var names []string
	for _, e := range entries {
		if !e.IsDir() {
			names = append(names, e.Name())
		}
	}
	return names, nil
}

// permissive holds the licences that dropcut may be handed out with, by a
// sentence that only they have. Order matters where one text holds another.
var permissive = []struct {
	name string
	has  []string
	not  string // a sentence that tells it from its neighbour
}{
	{name: "Apache-2.0", has: []string{"apache license", "version 2.0", "grant of copyright license", "redistribution"}},
	{name: "MIT", has: []string{"permission is hereby granted free of charge to any person obtaining a copy of this software", "the software is provided as is without warranty of any kind"}},
	{name: "BSD-3-Clause", has: []string{"redistributions of source code must retain", "redistributions in binary form must reproduce", "used to endorse or promote products derived from"}},
	{name: "BSD-2-Clause", has: []string{"redistributions of source code must retain", "redistributions in binary form must reproduce"}, not: "used to endorse or promote products derived from"},
	{name: "ISC", has: []string{"permission to use copy modify and or distribute this software for any purpose with or without fee is hereby granted"}},
	{name: "BSL-1.0", has: []string{"boost software license - version 1.0", "permission is hereby granted free of charge"}},
	{name: "Unlicense", has: []string{"this is free and unencumbered software released into the public domain"}},
}

// refused holds words of licences that ask more than naming the author.
var refused = regexp.MustCompile(`gnu (lesser |affero |library )?general public licen[cs]e|mozilla public license|eclipse public license|common development and distribution|server side public|commons clause|business source license|non-?commercial|attribution-sharealike`)

var errUnknown = errors.New("the licence was not recognised; read it, and enter it in the list of permissive ones if it is one")

var notWords = regexp.MustCompile(`[^a-z0-9.-]+`)

// licenceOf names the licences of a text, joined by AND.
func licenceOf(text string) (string, error) {
	plain := notWords.ReplaceAllString(strings.ToLower(text), " ")
	if word := refused.FindString(plain); word != "" {
		return "", fmt.Errorf("found %q, expected a permissive licence; take another library", word)
	}
	var names []string
	for _, p := range permissive {
		all := !slices.ContainsFunc(p.has, func(s string) bool { return !strings.Contains(plain, s) })
		if all && (p.not == "" || !strings.Contains(plain, p.not)) {
			names = append(names, p.name)
		}
	}
	if len(names) == 0 {
		return "", errUnknown
	}
	return strings.Join(names, " AND "), nil
}

// writeLicences writes the licence texts of Go itself and of all modules, each
// under its module, and fills in the modules' licences.
func writeLicences(ctx context.Context, w io.Writer, modules []module) error {
	root, err := output(ctx, "", nil, "go", "env", "GOROOT")
	if err != nil {
		return err
	}
	fmt.Fprintln(w, "dropcut is built from its own source (LICENSE) and from the work of others, whose licences follow.")
	papers, err := papersIn(root)
	if err != nil {
		return err
	}
	writePapers(w, "The Go standard library", papers)
	for i, m := range modules {
		dir, err := moduleDir(ctx, m)
		if err != nil {
			return err
		}
		papers, err := papersIn(dir)
		if err != nil {
			return err
		}
		modules[i].licence = joined(papers)
		writePapers(w, m.path+" "+m.version+" ("+modules[i].licence+")", papers)
	}
	return nil
}

func writePapers(w io.Writer, title string, papers []paper) {
	line := strings.Repeat("=", 78)
	fmt.Fprintf(w, "\n%s\n%s\n%s\n", line, title, line)
	for _, p := range papers {
		fmt.Fprintf(w, "\n-- %s\n\n%s\n", p.name, strings.TrimSpace(strings.ReplaceAll(p.text, "\r\n", "\n")))
	}
}

func joined(papers []paper) string {
	var names []string
	for _, p := range papers {
		for name := range strings.SplitSeq(p.licence, " AND ") {
			if name != "" && !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
	}
	slices.Sort(names)
	return strings.Join(names, " AND ")
}

// moduleDir gives the folder of a module in the module cache.
func moduleDir(ctx context.Context, m module) (string, error) {
	text, err := output(ctx, "", nil, "go", "mod", "download", "-json", m.path+"@"+m.version)
	if err != nil {
		return "", err
	}
	var got struct{ Dir, Error string }
	if err := json.Unmarshal([]byte(text), &got); err != nil {
		return "", err
	}
	if got.Dir == "" {
		return "", fmt.Errorf("%s@%s is not in the module cache: %s", m.path, m.version, got.Error)
	}
	return got.Dir, nil
}
