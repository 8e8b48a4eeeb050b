package jobbook

import (
	"fmt"
	"io/fs"
	"slices"
	"strings"
)

// texts are the lists of the pages' texts, by name.
type texts map[string][]string

// the lists that the pages need.
var neededTexts = [...]string{"cautions", "steps", "tools by kind", "reasons", "methods", "responses", "inspection steps", "inspection answers"}

func readTexts(fsys fs.FS, name string) (texts, error) {
	data, err := fs.ReadFile(fsys, name)
	if err != nil {
		return nil, err
	}
	t := texts{}
	list := ""
	for line := range strings.Lines(string(data)) {
		line = strings.TrimSpace(line)
		if head, ok := strings.CutPrefix(line, "== "); ok {
			list = head
			continue
		}
		if line == "" || strings.HasPrefix(line, "#") || list == "" {
			continue
		}
		t[list] = append(t[list], line)
	}
	for _, want := range neededTexts {
		if len(t[want]) == 0 {
			return nil, fmt.Errorf("%s: the list %q has no entries; each of the pages needs it", name, want)
		}
	}
	return t, nil
}

// filled gives a list with its words in braces put in.
func (t texts) filled(list string, words ...string) []string {
	r := strings.NewReplacer(words...)
	out := slices.Clone(t[list])
	for i := range out {
		out[i] = r.Replace(out[i])
	}
	return out
}
