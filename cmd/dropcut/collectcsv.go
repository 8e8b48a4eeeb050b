package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"dropcut/convert/csvfile"
	"dropcut/convert/grid"
	"dropcut/convert/intake"
	"dropcut/convert/jobbook"
	"dropcut/convert/jobbook/returned"
	"dropcut/convert/safefile"
	"dropcut/convert/writeback"
)

// collectedTarget gives the path of what collect writes: NAME-collected.xlsx
// beside the book, or in the folder of --out.
func (o *options) collectedTarget(path string) string {
	path = filepath.Clean(path)
	ending := filepath.Ext(path)
	dir := filepath.Dir(path)
	if o.out != "" {
		dir = o.out
	}
	return filepath.Join(dir, strings.TrimSuffix(filepath.Base(path), ending)+"-collected"+ending)
}

// collectedCSV is the writing of what came back into the CSV files of a book.
type collectedCSV struct {
	o    *options
	w    *world
	job  *work
	book *csvfile.Book
	all  *returned.Collection
	dir  bool // the book is a folder
	done *planned
}

// writeCollectedCSV writes the columns beside the tanks of CSV files, and the list
// of everything that came back into a file of its own.
func (o *options) writeCollectedCSV(w *world, job *work, book *csvfile.Book, all *returned.Collection) error {
	info, err := os.Stat(job.path)
	if err != nil {
		return err
	}
	c := &collectedCSV{o: o, w: w, job: job, book: book, all: all, dir: info.IsDir(), done: &planned{}}
	if err := c.lists(); err != nil {
		return err
	}
	if err := c.returned(); err != nil {
		return err
	}
	for _, path := range c.done.files {
		fmt.Fprintf(w.out, "written: %s\n", path)
	}
	for _, note := range c.done.notes {
		fmt.Fprintf(w.out, "note: %s\n", collectNote(note))
	}
	return nil
}

// path gives where a file of the book is written.
func (c *collectedCSV) path(file string) string {
	switch {
	case c.o.inPlace:
		return sourceOf(c.job.path, file)
	case c.dir:
		return filepath.Join(c.o.collectedTarget(c.job.path), file)
	}
	return c.o.collectedTarget(c.job.path)
}

// lists writes the files that hold tanks, and, where a folder is written anew, the
// others as they are.
func (c *collectedCSV) lists() error {
	units := writeback.UnitsOf(&c.job.reading.Job, c.o.writeUnits())
	to := returned.Target{
		Book: c.book, Units: jobbook.Units{Length: units.Length, Volume: units.Volume},
		Place: func(list *intake.TankList, _ int) (int, error) { return list.LastCol + 1, nil },
	}
	written := map[string]bool{}
	for i := range c.job.reading.Lists {
		list := &c.job.reading.Lists[i]
		if !slices.ContainsFunc(c.book.Sheets(), func(s grid.Sheet) bool { return s.At() == list.At }) {
			continue // a list of a file that was only read beside the book
		}
		cols, changes, err := c.all.Columns(to, list)
		if err != nil {
			return err
		}
		for _, x := range changes {
			fmt.Fprintf(c.w.out, "  %s, %s: %q -> %q (%s)\n", x.Tank, x.What, x.Old, x.New, x.At.Cell())
		}
		if len(cols) == 0 {
			continue
		}
		written[list.At.File] = true
		if err := c.list(list, cols); err != nil {
			return err
		}
	}
	if !c.dir || c.o.inPlace {
		return nil
	}
	for _, s := range c.book.Sheets() {
		file := s.At().File
		if written[file] {
			continue
		}
		write := func(out io.Writer) error { return copyFile(out, filepath.Join(c.job.path, file)) }
		if err := c.o.replaceResult(c.w, c.path(file), write, nil, &planned{}); err != nil {
			return err
		}
		c.done.files = append(c.done.files, c.path(file))
	}
	return nil
}

// list writes one file with its columns, which are read back and compared before
// the file takes its place.
func (c *collectedCSV) list(list *intake.TankList, cols []grid.Column) error {
	file := list.At.File
	write := func(out io.Writer) error { return csvfile.Append(c.book, file, cols, out) }
	compare := csvfile.Verifier(c.book, file, cols)
	verify := func(name string) error {
		if err := c.job.stamps.changed(sourceOf(c.job.path, file)); err != nil {
			return err
		}
		return compare(name)
	}
	path := c.path(file)
	if !c.o.inPlace {
		c.done.files = append(c.done.files, path)
		return c.o.replaceResult(c.w, path, write, verify, c.done)
	}
	var b bytes.Buffer
	if err := write(&b); err != nil {
		return err
	}
	if same, err := sameContent(path, b.Bytes()); err != nil || same {
		c.done.notes = append(c.done.notes, filepath.Base(path)+" holds this plan already; it was left as it is")
		return err
	}
	kept, err := safefile.ReplaceKeepingCopy(path, c.w.now(), write, verify)
	if err != nil {
		return err
	}
	c.done.files = append(c.done.files, path)
	c.done.notes = append(c.done.notes, "the file as it was is kept as "+filepath.Base(kept))
	return nil
}

// returned writes the list of everything that came back, behind what came back in
// earlier runs.
func (c *collectedCSV) returned() error {
	file := strings.ToLower(returned.ReturnedSheet) + ".csv"
	beside := func(book string) string { return strings.TrimSuffix(book, filepath.Ext(book)) + "-" + file }
	var path string
	var earlier []string
	switch {
	case c.dir && c.o.inPlace:
		path = filepath.Join(c.job.path, file)
	case c.dir:
		path = filepath.Join(c.o.collectedTarget(c.job.path), file)
		earlier = []string{filepath.Join(c.job.path, file)}
	default:
		path = beside(c.o.collectedTarget(c.job.path))
		earlier = []string{beside(c.job.path)}
	}
	var before [][]string
	for _, name := range append(earlier, path) {
		lines, err := earlierCSV(name)
		if err != nil {
			return err
		}
		before = append(before, lines...)
	}
	sheet := c.all.Sheet(before)
	write := func(out io.Writer) error { return csvfile.WriteSheet(out, sheet) }
	verify := func(name string) error {
		lines, err := earlierCSV(name)
		if err == nil && len(lines) != len(sheet.Rows)-sheet.HeaderRow {
			err = fmt.Errorf("%s: %d lines were written and %d are read back", path, len(sheet.Rows)-sheet.HeaderRow, len(lines))
		}
		return err
	}
	c.done.files = append(c.done.files, path)
	return c.o.replaceResult(c.w, path, write, verify, c.done)
}

// earlierCSV reads what an earlier run has listed; nothing where there was none.
func earlierCSV(path string) ([][]string, error) {
	if _, err := os.Stat(path); err != nil {
		return nil, nil
	}
	b, err := csvfile.Open(path)
	if err != nil {
		return nil, err
	}
	defer b.Close()
	lines, err := returned.Earlier(b.Sheets()[0])
	for _, line := range lines {
		for i := range line {
			line[i] = csvfile.Plain(line[i])
		}
	}
	return lines, err
}

// collectNote puts the notes of writing into the words of collect.
func collectNote(note string) string {
	return strings.NewReplacer("the plan that stood there before is kept", "what stood there before is kept, with all that came back then,", "holds this plan already", "holds this already").Replace(note)
}
