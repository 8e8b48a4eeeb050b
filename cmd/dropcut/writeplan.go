package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"dropcut/convert/change"
	"dropcut/convert/csvfile"
	"dropcut/convert/grid"
	"dropcut/convert/intake"
	"dropcut/convert/safefile"
	"dropcut/convert/writeback"
	"dropcut/convert/xlsx"
	"dropcut/plan/cell"
	"dropcut/plan/finding"
)

// planned is what writing a plan came to.
type planned struct {
	files   []string
	notes   []string
	changes string     // the summary
	set     change.Set // what it sums up
}

// writePlan writes the plan of a book: into a copy of a workbook, or into copies
// of the tank lists of CSV files. Nothing is written where the book holds no tank
// list. With --dry-run all is done but the writing.
func (o *options) writePlan(w *world, job *work) (*planned, error) {
	if len(job.reading.Lists) == 0 && o.dryRun {
		return nil, nil
	}
	if len(job.reading.Lists) == 0 {
		return nil, fmt.Errorf("%s: no tank list was found, so there is no row to write a plan beside; dropcut inspect %[1]s says what was found, dropcut audit looks at charts alone", job.path)
	}
	if job.before == nil {
		if err := o.prepare(job); err != nil {
			return nil, err
		}
	}
	in := writeback.Input{
		Book: job.book(), Reading: job.reading, Results: job.results, Findings: job.findings(),
		Units: writeback.UnitsOf(&job.reading.Job, o.writeUnits()),
	}
	var err error
	if in.Sources, err = job.sources(); err != nil {
		return nil, err
	}
	switch book := job.book().(type) {
	case *xlsx.Book:
		return o.writeWorkbook(w, job, book, in)
	case *csvfile.Book:
		return o.writeCSV(w, job, book, in)
	}
	return nil, fmt.Errorf("%s: a plan can be written into a workbook or a CSV file only", job.path)
}

func newPlanned(made *writeback.Output) *planned {
	if made.First {
		return &planned{changes: "first plan of this book"}
	}
	return &planned{changes: made.Changes.Summary(), set: made.Changes}
}

// before is what a plan needs to know of a book before its tanks are judged, so
// that the rows of its charts need not be kept for it.
type before struct {
	earlier  *writeback.Earlier // what an earlier run left in the book
	charts   change.InputList   // the sums of the charts
	words    []string           // and their check words
	since    []change.Record    // what was changed in them since that run
	keepRows bool               // the rows are compared with those of an older plan
}

// prepare reads what an earlier run has left, and takes of the charts what is
// needed when their rows are gone.
func (o *options) prepare(w *work) error {
	own, closeOwn := o.ownSheets(w)
	defer closeOwn()
	earlier, err := writeback.ReadEarlier(own(writeback.SourcesSheet))
	if err != nil {
		return err
	}
	job := &w.reading.Job
	b := &before{earlier: earlier, charts: change.ChartInputs(job), words: make([]string, len(job.Charts))}
	for i, c := range job.Charts {
		b.words[i] = c.CheckWord()
	}
	if earlier.Planned() {
		b.since = earlier.Inputs.ChartsSince(b.charts, job)
	} else if !o.inPlace {
		_, err := os.Stat(o.target(w.path))
		b.keepRows = err == nil
	}
	w.before = b
	return nil
}

// sinceEarlier finds what was changed in the input of a book since an earlier run.
func (w *work) sinceEarlier(in *writeback.Input) {
	in.Earlier = w.before.earlier
	inBook := func(at cell.Ref) bool {
		return slices.ContainsFunc(w.books, func(b grid.Book) bool {
			return slices.ContainsFunc(b.Sheets(), func(s grid.Sheet) bool { return s.At().File == at.File })
		})
	}
	in.Inputs = change.InputsOf(w.side(), w.before.charts, inBook)
	if in.Earlier.Planned() {
		in.Since = append(in.Earlier.Inputs.Since(in.Inputs, w.side()), w.before.since...)
	}
}

// doubt lets the results say of the rows in which somebody else's figures stand
// what the book says of them.
func (w *work) doubt(made *writeback.Output) {
	for i, f := range made.Kept {
		w.results[i] = *writeback.Doubted(&w.results[i], f)
	}
}

// target gives the path of a result: NAME-planned.xlsx beside the book, or in the
// folder of --out.
func (o *options) target(path string) string {
	path = named(path)
	ending := filepath.Ext(path)
	name := strings.TrimSuffix(filepath.Base(path), ending) + "-planned" + ending
	dir := filepath.Dir(path)
	if o.out != "" {
		dir = o.out
	}
	return filepath.Join(dir, name)
}

func (o *options) writeWorkbook(w *world, job *work, book *xlsx.Book, in writeback.Input) (*planned, error) {
	target := job.path
	if !o.inPlace {
		target = o.target(job.path)
	}
	own, closeOwn := o.ownSheets(job)
	defer closeOwn()
	in.Own = own
	in.Protected = func(list *intake.TankList) (bool, error) { return book.Sheet(list.At.Sheet).Protected() }
	in.Place = func(list *intake.TankList, n int) (writeback.Spot, error) {
		spot, err := xlsx.FindPlace(book.Sheet(list.At.Sheet), list.HeaderRow, list.Rows, n)
		var refused *xlsx.Refused
		if errors.As(err, &refused) && refused.Reason == xlsx.ReasonProtected {
			return writeback.Spot{OwnSheet: true, Why: "the sheet is protected by its owner, so the plan stands on a sheet of its own, " + writeback.PlanSheet}, nil
		}
		if o.dryRun && errors.As(err, &refused) {
			// Nothing is written; what stands in the way is said when it is.
			return writeback.Spot{Col: list.LastCol + 1}, nil
		}
		return writeback.Spot{Col: spot.Col, Why: spot.Why}, err
	}
	job.sinceEarlier(&in)
	if err := o.compareBefore(job, target, &in); err != nil {
		return nil, err
	}
	job.planMade()
	made, err := writeback.Make(in)
	if err != nil {
		return nil, err
	}
	job.doubt(made)
	done := newPlanned(made)
	if o.dryRun {
		return done.tell(made.Findings), nil
	}
	report := &xlsx.Report{}
	write := func(out io.Writer) error {
		report, err = xlsx.Patch(book, made.Edit, out)
		return err
	}
	verify := func(name string) error {
		if err := job.stamps.changed(job.paths...); err != nil {
			return err
		}
		if made.Unchanged {
			return nil
		}
		return xlsx.Verify(job.path, name, made.Edit)
	}
	if made.Unchanged {
		// The copy is the book as it is, to the byte.
		write = func(out io.Writer) error { return copyFile(out, job.path) }
	}
	done.files = append(done.files, target)
	if o.inPlace && made.Unchanged {
		done.notes = append(done.notes, filepath.Base(target)+" holds this plan already; it was left as it is")
	} else if o.inPlace {
		kept, err := safefile.ReplaceKeepingCopy(target, w.now(), write, verify)
		if err != nil {
			return nil, err
		}
		done.files = append(done.files, kept)
	} else if err := o.replaceResult(w, target, write, verify, done); err != nil {
		return nil, err
	}
	done.notes = append(done.notes, report.Notes...)
	return done.tell(made.Findings), nil
}

// replaceResult writes a result. A result of an earlier run is replaced; where it
// holds anything but what is written now it is kept under a dated name, since
// somebody may have worked in it.
func (o *options) replaceResult(w *world, target string, write func(io.Writer) error, verify func(string) error, done *planned) error {
	if err := os.MkdirAll(filepath.Dir(target), 0o777); err != nil {
		return err
	}
	if _, err := os.Stat(target); errors.Is(err, fs.ErrNotExist) {
		return safefile.Write(target, write, verify)
	}
	var buf bytes.Buffer
	if err := write(&buf); err != nil {
		return err
	}
	same, err := sameContent(target, buf.Bytes())
	if err != nil {
		return err
	}
	if same {
		done.notes = append(done.notes, filepath.Base(target)+" holds this plan already; it was left as it is")
		return nil
	}
	again := func(out io.Writer) error {
		_, err := out.Write(buf.Bytes())
		return err
	}
	kept, err := safefile.ReplaceKeepingCopy(target, w.now(), again, verify)
	if err != nil {
		return err
	}
	done.notes = append(done.notes, "the plan that stood there before is kept as "+filepath.Base(kept))
	return nil
}

func copyFile(out io.Writer, path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	_, err = io.Copy(out, f)
	return err
}

func sameContent(path string, want []byte) (bool, error) {
	f, err := os.Open(path)
	if err != nil {
		return false, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil || info.Size() != int64(len(want)) {
		return false, err
	}
	have, err := io.ReadAll(f)
	return bytes.Equal(have, want), err
}

// compareBefore holds the book against the plan that an earlier run left at
// target, where the book itself carries none: what changed since then is what
// the Changes sheet tells. A plan that cannot be read any more is no reason to
// stop; it is kept under a dated name when it is replaced.
func (o *options) compareBefore(job *work, target string, in *writeback.Input) error {
	// A plan that another run has put there since is none of before, and the rows
	// to compare it by may be gone.
	if !job.before.keepRows {
		return nil
	}
	if in.Earlier.Planned() {
		return nil
	}
	before, err := o.read(target)
	if err != nil {
		return nil
	}
	defer before.close()
	own, closeOwn := o.ownSheets(before)
	defer closeOwn()
	// Of a CSV book the sources are written last: without them the run that made the
	// other files was ended before it was done, and this one is its first plan yet.
	if _, files := before.book().(*csvfile.Book); files && own(writeback.SourcesSheet) == nil {
		return nil
	}
	if err := o.judge(before); err != nil {
		return err
	}
	set := change.Compare(before.side(), job.side())
	in.Before = &set
	in.Last, err = writeback.ReadChanges(own(writeback.ChangesSheet))
	return err
}

// ownSheets finds what earlier runs have added to a book: sheets of a workbook,
// files of a CSV book.
func (o *options) ownSheets(w *work) (own func(name string) grid.Sheet, closeAll func()) {
	if b, ok := w.book().(*xlsx.Book); ok {
		return func(name string) grid.Sheet {
			if s := b.OwnSheet(name); s != nil {
				return s
			}
			return nil
		}, func() {}
	}
	var opened []grid.Book
	own = func(sheet string) grid.Sheet {
		b, err := csvfile.Open(o.ownFile(w.path, sheet))
		if err != nil {
			return nil
		}
		opened = append(opened, b)
		return csvfile.Own(b.Sheets()[0])
	}
	return own, func() {
		for _, b := range opened {
			_ = b.Close() // it was only read
		}
	}
}

// ownFile is where an earlier run wrote about a CSV book: with --in-place where
// this run writes it again, else beside the file, or in the folder, that it made.
func (o *options) ownFile(path, sheet string) string {
	switch info, err := os.Stat(path); {
	case o.inPlace:
		return o.besideFile(path, sheet)
	case err == nil && info.IsDir():
		return filepath.Join(path, strings.ToLower(sheet)+".csv")
	}
	return strings.TrimSuffix(path, filepath.Ext(path)) + "-" + strings.ToLower(sheet) + ".csv"
}

// besideFile is where findings, changes and sources of a plan of a CSV book stand.
func (o *options) besideFile(path, sheet string) string {
	file := strings.ToLower(sheet) + ".csv"
	target := o.target(filepath.Clean(path))
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return filepath.Join(target, file)
	}
	return strings.TrimSuffix(target, filepath.Ext(target)) + "-" + file
}

func (w *work) side() change.Side {
	return change.Side{Job: &w.reading.Job, Results: w.results}
}

// writeCSV writes a copy of each file that holds a tank list, with the columns,
// and the findings, changes and sources as files beside it.
func (o *options) writeCSV(w *world, job *work, book *csvfile.Book, in writeback.Input) (*planned, error) {
	info, err := os.Stat(job.path)
	if err != nil {
		return nil, err
	}
	own, closeOwn := o.ownSheets(job)
	defer closeOwn()
	in.Own = own
	in.Place = func(list *intake.TankList, _ int) (writeback.Spot, error) {
		return writeback.Spot{Col: list.LastCol + 1}, nil
	}
	job.sinceEarlier(&in)
	if err := o.compareBefore(job, o.target(job.path), &in); err != nil {
		return nil, err
	}
	job.planMade()
	made, err := writeback.Make(in)
	if err != nil {
		return nil, err
	}
	job.doubt(made)
	done := newPlanned(made)
	if o.dryRun {
		return done.tell(made.Findings), nil
	}
	if o.inPlace && made.Unchanged {
		done.notes = append(done.notes, filepath.Base(job.path)+" holds this plan already; it was left as it is")
		return done.tell(made.Findings), nil
	}
	name := func(file string) string {
		if info.IsDir() {
			return filepath.Join(o.target(filepath.Clean(job.path)), file)
		}
		return o.target(filepath.Join(filepath.Dir(job.path), file))
	}
	for i := range job.reading.Lists {
		list := &job.reading.Lists[i]
		if list.At.File != book.Name() && !info.IsDir() {
			continue
		}
		columns := made.ColumnsOf(list.At)
		path := name(list.At.File)
		write := func(out io.Writer) error { return csvfile.Append(book, list.At.File, columns, out) }
		if made.Unchanged {
			// The copy is the file as it is, to the byte.
			write = func(out io.Writer) error { return copyFile(out, sourceOf(job.path, list.At.File)) }
		}
		verify := func(tmp string) error {
			if err := job.stamps.changed(sourceOf(job.path, list.At.File)); err != nil || made.Unchanged {
				return err
			}
			is, err := csvfile.Open(tmp)
			if err != nil {
				return err
			}
			defer is.Close()
			return csvfile.Verify(book, list.At.File, columns, is)
		}
		if err := o.putCSV(w, path, job.path, write, verify, done); err != nil {
			return nil, err
		}
	}
	if info.IsDir() && !o.inPlace {
		if err := o.copyRest(w, job, book, name, done); err != nil {
			return nil, err
		}
	}
	if made.Unchanged {
		// So are the sheets that the earlier run wrote.
		for _, sheet := range []string{writeback.FindingsSheet, writeback.ChangesSheet, writeback.SourcesSheet} {
			from, path := o.ownFile(job.path, sheet), o.besideFile(job.path, sheet)
			if err := o.replaceResult(w, path, func(out io.Writer) error { return copyFile(out, from) }, nil, done); err != nil {
				return nil, err
			}
			done.files = append(done.files, path)
		}
	}
	for _, sheet := range made.Edit.Sheets {
		path := o.besideFile(job.path, sheet.Name)
		write := func(out io.Writer) error { return csvfile.WriteSheet(out, sheet) }
		if err := o.replaceResult(w, path, write, nil, done); err != nil {
			return nil, err
		}
		done.files = append(done.files, path)
	}
	return done.tell(made.Findings), nil
}

// copyRest copies the files of a folder that hold no tank list, so that the
// planned folder is a whole book again.
func (o *options) copyRest(w *world, job *work, book *csvfile.Book, name func(string) string, done *planned) error {
	for _, sheet := range book.Sheets() {
		file := sheet.At().File
		if slices.ContainsFunc(job.reading.Lists, func(l intake.TankList) bool { return l.At.File == file }) {
			continue
		}
		write := func(out io.Writer) error { return copyFile(out, filepath.Join(job.path, file)) }
		if err := o.replaceResult(w, name(file), write, nil, &planned{}); err != nil {
			return err
		}
		done.files = append(done.files, name(file))
	}
	return nil
}

// tell adds what was found about dropcut's own cells while writing.
func (p *planned) tell(list []finding.Finding) *planned {
	for _, f := range list {
		text := string(f.Slug) + ": " + f.Found
		if f.Slug == finding.ChangedByHand {
			text += " stands where the plan gives " + f.Expected + "; it was kept"
		}
		p.notes = append(p.notes, f.At.Cell()+", "+text)
	}
	return p
}

// putCSV writes one planned file: beside the book, or over it with --in-place.
func (o *options) putCSV(w *world, path, source string, write func(io.Writer) error, verify func(string) error, done *planned) error {
	if !o.inPlace {
		done.files = append(done.files, path)
		return o.replaceResult(w, path, write, verify, done)
	}
	source = sourceOf(source, filepath.Base(path))
	kept, err := safefile.ReplaceKeepingCopy(source, w.now(), write, verify)
	if err != nil {
		return err
	}
	done.files = append(done.files, source, kept)
	return nil
}

// sourceOf names a file of a book: the book itself, or the file of that name in a
// folder of CSV files.
func sourceOf(book, file string) string {
	if info, err := os.Stat(book); err == nil && info.IsDir() {
		return filepath.Join(book, file)
	}
	return book
}

// sources lists what the plan rests on: the files with their hashes, the rules
// with their citations, the devices with their sheets, the charts with their
// ranges, and the program. No time stands in it, so that a second run is the
// same.
func (w *work) sources() ([]writeback.Source, error) {
	var list []writeback.Source
	for i, b := range w.books {
		hash, err := fileHash(w.paths[i])
		if err != nil {
			return nil, err
		}
		list = append(list, writeback.Source{Kind: "file", Name: b.Name(), Text: "SHA-256 " + hash, Detail: strings.Join(b.Notes(), "; ")})
	}
	seen := map[string]bool{}
	for i := range w.results {
		if r := w.results[i].Cut.LimitRule; r != nil && !seen[r.ID] {
			seen[r.ID] = true
			list = append(list, writeback.Source{Kind: "rule", Name: r.ID, Text: r.Citation(), Detail: "confidence " + string(r.Confidence) + "; " + r.HowKnown})
		}
	}
	for i := range w.reading.Job.Devices {
		d := &w.reading.Job.Devices[i]
		list = append(list, writeback.Source{Kind: "device", Name: d.Name.V, Text: d.Source.V, Detail: d.At.Cell()})
	}
	for i, c := range w.reading.Job.Charts {
		rows, word := count(len(c.Rows), "row", "rows"), ""
		if w.before != nil {
			n, _ := strconv.Atoi(w.before.charts.Rows[i].Values[0])
			rows, word = count(n, "row", "rows"), w.before.words[i]
		} else {
			word = c.CheckWord()
		}
		list = append(list, writeback.Source{
			Kind: "chart", Name: c.Name, Text: fmt.Sprintf("%s, %s", place(c.At, c.To), c.Layout),
			Detail: fmt.Sprintf("%s; %s, %s; check word %s", rows, unitWord(c.DepthUnit.String()), unitWord(c.VolumeUnit.String()), word),
		})
	}
	orders, err := w.orders()
	if err != nil {
		return nil, err
	}
	list = append(list, orders...)
	return append(list, writeback.Source{Kind: "program", Name: "dropcut", Text: "version " + versionText()}), nil
}

// fileHash gives the hash of a file, or of the files of a folder of CSV files.
func fileHash(path string) (string, error) {
	h := sha256.New()
	info, err := os.Stat(path)
	if err != nil {
		return "", err
	}
	files := []string{path}
	if info.IsDir() {
		if files, err = csvFiles(path); err != nil {
			return "", err
		}
	}
	for _, name := range files {
		f, err := os.Open(name)
		if err != nil {
			return "", err
		}
		_, err = io.Copy(h, f)
		if closed := f.Close(); err == nil {
			err = closed
		}
		if err != nil {
			return "", err
		}
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

func unitWord(s string) string {
	if s == "" {
		return "unit not known"
	}
	return s
}

// place gives a range with its sheet: "Charts!B2:C98".
func place(from, to cell.Ref) string {
	at := cell.Range(from, to)
	if from.Sheet != "" {
		at = from.Sheet + "!" + at
	}
	if from.File != "" {
		at = from.File + ", " + at
	}
	return at
}
