// Package csvfile reads CSV files of every dialect and encoding as books of one
// sheet, and a folder of them as a book with a sheet a file; it writes columns
// into a copy that is byte for byte the old file elsewhere.
//
// Nothing of a file is kept in memory but the row in hand. Row numbers are those
// that a spreadsheet program shows: each record counts, a blank line too, however
// many lines a quoted field runs over; a sep= line at the head does not.
package csvfile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"iter"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"dropcut/convert/csvfile/record"
	"dropcut/convert/grid"
	"dropcut/plan/cell"
)

// Book is an open CSV file or a folder of them.
type Book struct {
	name   string
	sheets []grid.Sheet
	notes  []string
}

var (
	_ grid.Book  = (*Book)(nil)
	_ grid.Sheet = (*Sheet)(nil)
)

// Open looks at a CSV file: its encoding, line ends, delimiter. The errors name
// the file and what to do; a file that is no table is one. The book holds no
// file open between reads.
func Open(path string) (*Book, error) {
	s, err := openSheet(path)
	if err != nil {
		return nil, err
	}
	return &Book{name: s.file, sheets: []grid.Sheet{s}, notes: s.notes()}, nil
}

// keptCopy is the name that a file gets which was replaced in its place:
// NAME-before-20260403-141500.csv, with a number behind it from the second on.
var keptCopy = regexp.MustCompile(`(?i)-before-\d{8}-\d{6}(-\d+)?\.csv$`)

// A plan of one file of a folder is written beside it as NAME-planned.csv, with
// NAME-planned-findings.csv and the like, and so is what came back from the site,
// as NAME-collected.csv; a plan of the whole folder has
// findings.csv and the like, which begin with their own name.
var (
	plannedFile = regexp.MustCompile(`(?i)^(.+)-(?:planned|collected)(-(findings|changes|sources|planned cuts|returned))?\.csv$`)
	ownFile     = regexp.MustCompile(`(?i)^(findings|changes|sources|returned)\.csv$`)
)

// isOurs reports whether a file of a folder is a result of an earlier run and no
// part of the book.
func isOurs(dir, name string) bool {
	if m := plannedFile.FindStringSubmatch(name); m != nil {
		_, err := os.Stat(filepath.Join(dir, m[1]+filepath.Ext(name)))
		return err == nil
	}
	m := ownFile.FindStringSubmatch(name)
	if m == nil {
		return false
	}
	f, err := os.Open(filepath.Join(dir, name))
	if err != nil {
		return false
	}
	defer f.Close()
	head := make([]byte, len(m[1]))
	n, _ := io.ReadFull(f, head)
	return strings.EqualFold(string(head[:n]), m[1])
}

// OpenDir looks at all .csv files of a folder, in the order of their names;
// folders within, hidden files, files of another kind, the results of earlier
// runs and the dated copies of files that were replaced are passed over. Each is a sheet without a name whose
// cells name their own file.
func OpenDir(dir string) (*Book, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	b := &Book{name: filepath.Base(dir)}
	for _, e := range entries {
		name := e.Name()
		if strings.HasPrefix(name, ".") || strings.HasPrefix(name, "~") || !strings.EqualFold(filepath.Ext(name), ".csv") || keptCopy.MatchString(name) || isOurs(dir, name) {
			continue
		}
		path := filepath.Join(dir, name)
		if st, err := os.Stat(path); err == nil && st.IsDir() {
			continue
		}
		s, err := openSheet(path)
		if err != nil {
			return nil, err
		}
		b.sheets = append(b.sheets, s)
		for _, n := range s.notes() {
			b.notes = append(b.notes, s.file+": "+n)
		}
	}
	if len(b.sheets) == 0 {
		return nil, fmt.Errorf("%s holds no .csv file", dir)
	}
	return b, nil
}

// FromBytes is Open for a file that is in memory.
func FromBytes(name string, data []byte) (*Book, error) {
	s := &Sheet{file: name, open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(data)), nil }}
	if err := s.look(); err != nil {
		return nil, err
	}
	return &Book{name: name, sheets: []grid.Sheet{s}, notes: s.notes()}, nil
}

// Name is the base name of the file or folder.
func (b *Book) Name() string { return b.name }

// Sheets gives one sheet a file.
func (b *Book) Sheets() []grid.Sheet { return b.sheets }

// Notes says how the bytes were read.
func (b *Book) Notes() []string { return b.notes }

// Close does nothing: no file is held open between reads.
func (b *Book) Close() error { return nil }

// Sheet is one CSV file.
type Sheet struct {
	file    string
	open    func() (io.ReadCloser, error)
	facts   record.Facts
	dialect Dialect
	sep     []byte // the sep= line with its end
}

func openSheet(path string) (*Sheet, error) {
	st, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if st.IsDir() {
		return nil, fmt.Errorf("%s is a folder; a .csv file was expected", path)
	}
	if !st.Mode().IsRegular() {
		return nil, fmt.Errorf("%s is no ordinary file; a .csv file was expected", path)
	}
	s := &Sheet{file: filepath.Base(path)}
	s.open = func() (io.ReadCloser, error) {
		f, err := os.Open(path)
		if err != nil {
			return nil, err
		}
		now, err := f.Stat()
		if err == nil && (now.Size() != st.Size() || !now.ModTime().Equal(st.ModTime())) {
			err = fmt.Errorf("%s: %w", path, errChanged)
		}
		if err != nil {
			_ = f.Close()
			return nil, err
		}
		return f, nil
	}
	if err := s.look(); err != nil {
		return nil, err
	}
	return s, nil
}

// look settles encoding and dialect.
func (s *Sheet) look() error {
	f, err := s.open()
	if err != nil {
		return err
	}
	defer f.Close()
	if s.facts, err = record.Survey(f); err != nil {
		return s.wrap(err)
	}
	skip := 0
	if s.dialect, skip, err = dialectOf(&s.facts); err != nil {
		return s.wrap(err)
	}
	s.sep = bytes.Clone(s.facts.Head[:skip])
	s.facts.Head = nil
	return nil
}

// wrap puts the file's name before an error that does not name it.
func (s *Sheet) wrap(err error) error {
	var path *os.PathError
	if errors.As(err, &path) || errors.Is(err, errChanged) {
		return err
	}
	return fmt.Errorf("%s: %w", s.file, err)
}

// Dialect is how the file is written.
func (s *Sheet) Dialect() Dialect { return s.dialect }

// At is the file; a CSV file has no sheet's name.
func (s *Sheet) At() cell.Ref { return cell.Ref{File: s.file} }

// Hidden is false.
func (s *Sheet) Hidden() bool { return false }

// Merges is empty.
func (s *Sheet) Merges() ([]grid.Range, error) { return nil, nil }

// HiddenCols is empty.
func (s *Sheet) HiddenCols() ([]grid.Range, error) { return nil, nil }

// characters opens the file behind its mark and its sep= line, as UTF-8 or
// Windows-1252.
func (s *Sheet) characters() (io.Reader, io.Closer, error) {
	f, err := s.open()
	if err != nil {
		return nil, nil, err
	}
	var r io.Reader = f
	if err = discard(f, len(s.facts.MarkBytes())); err == nil {
		if s.facts.Encoding.Wide() {
			r = record.NewWideReader(f, s.facts.Encoding)
		}
		err = discard(r, len(s.sep))
	}
	if err != nil {
		_ = f.Close()
		return nil, nil, s.wrap(err)
	}
	return r, f, nil
}

func discard(r io.Reader, n int) error {
	_, err := io.CopyN(io.Discard, r, int64(n))
	return err
}

// Rows streams the rows that hold something. Texts are as they stand in the
// file, blanks and all; line ends within a field are LF. A row costs no
// allocation.
func (s *Sheet) Rows() iter.Seq2[*grid.Row, error] {
	return func(yield func(*grid.Row, error) bool) {
		r, c, err := s.characters()
		if err != nil {
			yield(nil, err)
			return
		}
		defer c.Close()
		sp := record.NewSplitter(r, s.dialect.Delimiter)
		turn := record.Turner{Encoding: s.facts.Encoding, Damaged: s.facts.Damaged > 0}
		plain := turn.Encoding != record.Windows1252 && !turn.Damaged
		var row grid.Row
		for sp.Next() {
			row.Cells = row.Cells[:0]
			turn.Reset()
			for i := range sp.Fields {
				f := &sp.Fields[i]
				if f.From == f.To {
					continue
				}
				c := grid.Cell{Col: i + 1, Kind: grid.Text, Quoted: f.Quoted}
				if plain && !f.Escaped {
					c.Raw = sp.Text(f)
				} else {
					c.Raw = turn.Text(sp, f)
				}
				row.Cells = append(row.Cells, c)
			}
			if len(row.Cells) == 0 || endMark(sp) {
				continue
			}
			row.N = sp.N
			if !yield(&row, nil) {
				return
			}
		}
		if sp.Err != nil {
			yield(nil, s.wrap(sp.Err))
		}
	}
}

// endMark reports whether the record is the lone Ctrl-Z with which old programs
// ended their files.
func endMark(s *record.Splitter) bool {
	return s.Size == 1 && s.Record()[0] == 0x1A
}

// notes says how the file was read, one line each.
func (s *Sheet) notes() []string {
	f, d := &s.facts, &s.dialect
	enc := f.Encoding.String()
	switch {
	case f.Mark:
		enc += " with byte order mark"
	case f.Encoding.Wide():
		enc += " without byte order mark, known by its zero bytes"
	case f.Encoding == record.Windows1252:
		enc += ", since the bytes are no UTF-8"
	}
	out := []string{"encoding: " + enc}
	if f.Damaged > 0 {
		out = append(out, fmt.Sprintf("damaged characters: %d, shown as \uFFFD", f.Damaged))
	}
	var ends []string
	for _, e := range []struct {
		n    int
		name string
	}{{f.LF, "LF"}, {f.CRLF, "CRLF"}, {f.CR, "CR"}} {
		if e.n > 0 {
			ends = append(ends, fmt.Sprintf("%s (%d)", e.name, e.n))
		}
	}
	switch len(ends) {
	case 0:
		ends = []string{"none"}
	case 1:
		ends[0], _, _ = strings.Cut(ends[0], " ")
	}
	line := "line ends: " + strings.Join(ends, ", ")
	if len(ends) > 1 {
		line += ", mixed"
	}
	out = append(out, line)
	delim := "delimiter: " + delimiterName(d.Delimiter)
	if d.Sep {
		delim += ", named by a sep= line"
	}
	return slices.Concat(out, []string{delim})
}

var errChanged = errors.New("the file has changed since it was opened; run again when nobody writes it")
