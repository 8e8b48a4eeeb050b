package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
)

// papers gives what lies beside the program in every archive: the licences, the
// documents, the manual page and the completions. It fills in the modules'
// licences.
func (r *release) papers(ctx context.Context, dir string, builds []build, modules []module) ([]entry, error) {
	var list []entry
	add := func(name string, body []byte) { list = append(list, entry{name: name, body: body, mode: 0o644}) }

	for _, name := range []string{"LICENSE", "README.md", "CHANGELOG.md"} {
		body, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			return nil, err
		}
		add(name, body)
	}
	var thirds bytes.Buffer
	if err := writeLicences(ctx, &thirds, modules); err != nil {
		return nil, err
	}
	add("LICENSES-OF-OTHERS.txt", thirds.Bytes())

	program, err := r.native(ctx, dir, builds)
	if err != nil {
		return nil, err
	}
	for _, paper := range []struct {
		name string
		args []string
	}{
		{"man/dropcut.1", []string{"docs", "man"}},
		{"docs/findings.md", []string{"docs", "findings"}},
		{"docs/sources.md", []string{"docs", "sources"}},
		{"docs/limits.md", []string{"docs", "limits"}},
		{"completions/dropcut.bash", []string{"completion", "bash"}},
		{"completions/_dropcut", []string{"completion", "zsh"}},
		{"completions/dropcut.fish", []string{"completion", "fish"}},
		{"completions/dropcut.ps1", []string{"completion", "powershell"}},
	} {
		text, err := output(ctx, dir, nil, program, paper.args...)
		if err != nil {
			return nil, err
		}
		add(paper.name, []byte(text+"\n"))
	}
	return list, nil
}
