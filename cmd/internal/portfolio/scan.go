// Package portfolio works through a folder of books, several at a time, and
// remembers what it has done, so that a second run does only what changed and a
// killed run goes on where it was.
package portfolio

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// tablesHere names the book that the CSV files of the folder itself are. Some
// systems allow no star in a name, so that hardly a folder is called so.
const tablesHere = "*.csv"

// Book is a book of the folder.
type Book struct {
	// Path is where it stands in the folder, with slashes; "*.csv" where it is the
	// CSV files of the folder itself.
	Path string
	// File is the same as the system names it.
	File string
	Size int64 // in bytes
	// Beside says that these are CSV files in a folder of workbooks or of further
	// books, which are often lists of something else.
	Beside bool
}

// Options say which books of a folder are taken.
type Options struct {
	Deep bool     // those of the folders below too
	Skip []string // files and folders that are none, as the system names them
}

// StateDir is the folder in which a run keeps its ledger, beside its results. A
// folder that holds it is a folder of results, and nothing in it is read.
const StateDir = ".dropcut"

// foreign are files that hold tables and cannot be read; they are told, since
// somebody may think that their tanks were looked at.
var foreign = []string{".xls", ".xlsb", ".ods"}

// Scan lists the books of a folder by their paths: each workbook, and the CSV
// files of a folder together, as they are one book everywhere. A folder below
// that holds CSV files and no workbook is a book of its own; what lies deeper is
// taken with Deep only. Passed gives what looks like a book and was not taken,
// with the reason.
//
// Results of earlier plans are not planned again: NAME-planned beside NAME and
// the dated copies of either.
func Scan(dir string, o Options) (books []Book, passed []string, err error) {
	s := &scanner{root: dir, o: o, skip: map[string]bool{}}
	for _, p := range o.Skip {
		if abs, err := filepath.Abs(p); err == nil {
			s.skip[real(abs)] = true
		}
	}
	if err := s.folder(dir, 0); err != nil {
		return nil, nil, err
	}
	slices.SortFunc(s.books, func(a, b Book) int { return cmp.Compare(a.Path, b.Path) })
	slices.Sort(s.passed)
	return s.books, s.passed, nil
}

type scanner struct {
	root   string
	o      Options
	skip   map[string]bool
	books  []Book
	passed []string
}

// real follows links, so that two names of one file are one.
func real(path string) string {
	if r, err := filepath.EvalSymlinks(path); err == nil {
		return r
	}
	return path
}

func (s *scanner) rel(path string) string {
	r, err := filepath.Rel(s.root, path)
	if err != nil {
		return filepath.ToSlash(path)
	}
	return filepath.ToSlash(r)
}

func (s *scanner) skipped(path string) bool {
	abs, err := filepath.Abs(path)
	return err == nil && s.skip[real(abs)]
}

func (s *scanner) folder(dir string, depth int) error {
	entries, err := os.ReadDir(dir)
	if err != nil {
		if depth > 0 && errors.Is(err, fs.ErrPermission) {
			s.passed = append(s.passed, s.rel(dir)+": this folder may not be read")
			return nil
		}
		return err
	}
	names := map[string]bool{}
	for _, e := range entries {
		names[strings.ToLower(e.Name())] = true
	}
	if depth > 0 && names[StateDir] {
		return nil
	}
	var sizes int64
	csvs, workbooks := 0, 0
	var below []string
	for _, e := range entries {
		name := e.Name()
		path := filepath.Join(dir, name)
		if strings.HasPrefix(name, ".") || strings.HasPrefix(name, "~") || s.skipped(path) {
			continue
		}
		info, err := os.Stat(path)
		if err != nil {
			s.passed = append(s.passed, s.rel(path)+": cannot be looked at: "+reason(err))
			continue
		}
		ending := strings.ToLower(filepath.Ext(name))
		switch {
		case info.IsDir() && e.Type()&fs.ModeSymlink != 0:
			// A link to a folder may lead in a circle, or to books that are somebody
			// else's.
			s.passed = append(s.passed, s.rel(path)+": a link to a folder is not followed")
		case info.IsDir():
			below = append(below, path)
		case !info.Mode().IsRegular():
		case ending == ".csv" || ending == ".xlsx" || ending == ".xlsm":
			if of := resultOf(name, names); of != "" {
				s.passed = append(s.passed, s.rel(path)+": a result made from "+of)
				continue
			}
			if ending == ".csv" {
				csvs++
				sizes += info.Size()
				continue
			}
			workbooks++
			s.books = append(s.books, Book{Path: s.rel(path), File: path, Size: info.Size()})
		case slices.Contains(foreign, ending):
			s.books = append(s.books, Book{Path: s.rel(path), File: path, Size: info.Size()})
		}
	}
	tables := -1
	if csvs > 0 {
		path := s.rel(dir)
		if path == "." {
			path = tablesHere
		}
		tables = len(s.books)
		s.books = append(s.books, Book{Path: path, File: dir, Size: sizes, Beside: workbooks > 0})
	}
	for _, path := range below {
		if s.o.Deep {
			if err := s.folder(path, depth+1); err != nil {
				return err
			}
		} else if err := s.below(path); err != nil {
			return err
		}
	}
	if tables >= 0 && len(s.books) > tables+1 {
		s.books[tables].Beside = true
	}
	return nil
}

// below takes a folder of CSV files as a book, without looking any deeper.
func (s *scanner) below(dir string) error {
	entries, err := os.ReadDir(dir)
	if err != nil {
		s.passed = append(s.passed, s.rel(dir)+": cannot be looked at: "+reason(err))
		return nil
	}
	var size int64
	csvs, others := 0, 0
	for _, e := range entries {
		name := e.Name()
		if strings.EqualFold(name, StateDir) {
			return nil
		}
		if strings.HasPrefix(name, ".") || strings.HasPrefix(name, "~") || e.IsDir() {
			continue
		}
		switch strings.ToLower(filepath.Ext(name)) {
		case ".csv":
			csvs++
			if info, err := e.Info(); err == nil {
				size += info.Size()
			}
		case ".xlsx", ".xlsm":
			others++
		}
	}
	switch {
	case others > 0:
		s.passed = append(s.passed, fmt.Sprintf("%s: %d books stand in this folder below; --deep takes them", s.rel(dir), others))
	case csvs > 0:
		s.books = append(s.books, Book{Path: s.rel(dir), File: dir, Size: size})
	}
	return nil
}

// made matches the endings that results and dated copies get.
var made = regexp.MustCompile(`(?i)^(.+?)(-planned|-before-\d{8}-\d{6}(-\d+)?)+(-findings|-changes|-sources)?(\.[^.]+)$`)

// resultOf gives the name of the book that a file was made from, where that book
// stands beside it; "" for a book.
func resultOf(name string, names map[string]bool) string {
	m := made.FindStringSubmatch(name)
	if m == nil {
		return ""
	}
	of := m[1] + m[len(m)-1]
	if names[strings.ToLower(of)] {
		return of
	}
	// The dated copy of a book that is planned in place.
	return ""
}

func reason(err error) string {
	var path *fs.PathError
	if errors.As(err, &path) {
		return path.Err.Error()
	}
	return err.Error()
}
