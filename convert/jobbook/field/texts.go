package field

import (
	"fmt"
	"io/fs"
	"slices"
	"strings"
)

// Texts are the lists of the pages' texts, by name.
type Texts map[string][]string

// the lists that the pages need.
var neededTexts = [...]string{"cautions", "steps", "tools by kind", "reasons", "methods", "responses", "inspection steps", "inspection answers"}

// ReadTexts reads the texts of the pages from a file of fsys. It is an error if a
// list that the pages need has no entries.
func ReadTexts(fsys fs.FS, name string) (Texts, error) {
	data, err := fs.ReadFile(fsys, name)
	if err != nil {
		return nil, err
	}
	t := Texts{}
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

// Filled gives a list with its words in braces put in.
func (t Texts) Filled(list string, words ...string) []string {
	r := strings.NewReplacer(words...)
	out := slices.Clone(t[list])
	for i := range out {
		out[i] = r.Replace(out[i])
	}
	return out
}
