package main

import (
	"fmt"
	"os"
	"path/filepath"
)

// stamps are the files of a book as they stood before they were read, by name.
type stamps map[string]os.FileInfo

// stampsOf looks at files, and at the CSV files of folders. What cannot be looked
// at has no stamp; opening it will say why.
func stampsOf(paths []string) stamps {
	s := stamps{}
	for _, path := range paths {
		info, err := os.Stat(path)
		if err != nil {
			continue
		}
		if !info.IsDir() {
			s[path] = info
			continue
		}
		files, err := csvFiles(path)
		if err != nil {
			continue
		}
		for _, file := range files {
			if info, err := os.Stat(file); err == nil {
				s[file] = info
			}
		}
	}
	return s
}

func csvFiles(dir string) ([]string, error) {
	return filepath.Glob(filepath.Join(dir, "*.[cC][sS][vV]"))
}

// changed refuses a file that is not what it was before it was read: a plan of
// the old book would be written over what somebody has saved since, or beside
// the hash of a book that nobody planned.
func (s stamps) changed(paths ...string) error {
	for _, path := range paths {
		old := s[path]
		if old == nil {
			continue
		}
		now, err := os.Stat(path)
		if err != nil {
			return err
		}
		if !os.SameFile(old, now) || now.Size() != old.Size() || !now.ModTime().Equal(old.ModTime()) {
			return fmt.Errorf("%s was changed by somebody else while it was read, and nothing was written; run again", path)
		}
	}
	return nil
}
