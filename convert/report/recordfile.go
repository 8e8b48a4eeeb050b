package report

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"

	"dropcut/plan/finding"
	"dropcut/validate/portfolio"
)

// RecordForm tells the form of records from those of other versions. Whoever
// changes what a record holds changes it too.
const RecordForm = "record 2"

// Record is what a run keeps of a book.
type Record struct {
	Book Book
	// bundles hold the pictures and calculations of bundleSize tanks each,
	// compressed and in letters that stand in a page.
	bundles [][]byte
}

// head is the first line of a record. The parts follow it without anything
// between them, so that each reader takes what it needs and passes over the
// rest: of the bytes of a record nine tenths are bundles and rows of charts.
type head struct {
	Form string `json:"form"`
	Book
	NTanks int        `json:"ntanks"`
	Kinds  []kindHead `json:"kinds,omitempty"`
	// Sizes are the bytes of the parts in the order of their constants, Bundles
	// those of the bundles behind them.
	Sizes   [partCount]int `json:"sizes"`
	Bundles []int          `json:"bundles,omitempty"`
}

// kindHead counts the findings of one kind in a book.
type kindHead struct {
	Slug     finding.Slug     `json:"k"`
	Severity finding.Severity `json:"s"`
	N        int              `json:"n"`
}

// The parts of a record: tanks, findings, the tanks and charts for the view
// across the books, and the rows of those charts.
const (
	partTanks = iota
	partFindings
	partAcross
	partRows
	partCount
)

// parts is a set of parts.
type parts uint8

const (
	headOnly     parts = 0
	withTanks    parts = 1 << partTanks
	withFindings parts = 1 << partFindings
	withAcross   parts = 1<<partAcross | 1<<partRows
)

func (p parts) has(part int) bool { return p>>part&1 == 1 }

// headOf makes the head of a record, without sizes.
func headOf(b *Book) head {
	h := head{Form: RecordForm, Book: *b, NTanks: len(b.Tanks)}
	for i := range b.Findings {
		f := &b.Findings[i]
		at := slices.IndexFunc(h.Kinds, func(k kindHead) bool { return k.Slug == f.Slug && k.Severity == f.Severity })
		if at < 0 {
			at = len(h.Kinds)
			h.Kinds = append(h.Kinds, kindHead{Slug: f.Slug, Severity: f.Severity})
		}
		h.Kinds[at].N++
	}
	return h
}

// WriteTo writes the record. The same record is the same bytes.
func (r *Record) WriteTo(w io.Writer) (int64, error) {
	var part [partCount]bytes.Buffer
	put := func(at int, v any) error {
		enc := json.NewEncoder(&part[at])
		enc.SetEscapeHTML(false)
		return enc.Encode(v)
	}
	h := headOf(&r.Book)
	err := errors.Join(put(partTanks, r.Book.Tanks), put(partFindings, r.Book.Findings))
	if a := r.Book.Across; a != nil && err == nil {
		bare := *a
		bare.Charts = slices.Clone(a.Charts)
		var rows []byte
		for i := range bare.Charts {
			c := &bare.Charts[i]
			rows = appendNumbers(appendNumbers(rows, c.Depth), c.Volume)
			c.Depth, c.Volume = nil, nil
		}
		err = put(partAcross, bare)
		part[partRows].Write(rows)
	}
	if err != nil {
		return 0, err
	}
	for i := range part {
		h.Sizes[i] = part[i].Len()
	}
	for _, b := range r.bundles {
		h.Bundles = append(h.Bundles, len(b))
	}
	var first bytes.Buffer
	enc := json.NewEncoder(&first)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(&h); err != nil {
		return 0, err
	}
	n, err := first.WriteTo(w)
	for i := range part {
		if err == nil {
			var m int64
			m, err = part[i].WriteTo(w)
			n += m
		}
	}
	for _, b := range r.bundles {
		if err == nil {
			var m int
			m, err = w.Write(b)
			n += int64(m)
		}
	}
	return n, err
}

// ErrRecord says that something is no record of a book, or one that another
// version of the program has kept.
var ErrRecord = errors.New("this is no record of a book, or one of another version")

// Source is where a record stands, for instance a file.
type Source interface {
	io.ReaderAt
	io.Closer
}

// kept is a record being read.
type kept struct {
	head
	from io.ReaderAt
	at   int64 // where the parts begin
}

// longestHead bounds what is taken for the first line of a record: a book of a
// hundred thousand tanks has as many files and bundles.
const longestHead = 256 << 20

// open reads the head of a record.
func open(from io.ReaderAt) (*kept, error) {
	k := &kept{from: from}
	buf := make([]byte, 4<<10)
	for n := 0; ; {
		m, err := from.ReadAt(buf[n:], int64(n))
		if i := bytes.IndexByte(buf[n:n+m], '\n'); i >= 0 {
			buf, k.at = buf[:n+i], int64(n+i+1)
			break
		}
		n += m
		if err != nil || n > longestHead {
			return nil, fmt.Errorf("%w: it has no first line", ErrRecord)
		}
		buf = append(buf[:n], make([]byte, 3*n)...)
	}
	if err := json.Unmarshal(buf, &k.head); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrRecord, err)
	}
	if k.Form != RecordForm || k.Path == "" {
		return nil, ErrRecord
	}
	for _, n := range append(k.Sizes[:], k.Bundles...) {
		if n < 0 {
			return nil, ErrRecord
		}
	}
	return k, nil
}

// section reads some bytes behind the head. A size that lies takes no more memory
// than there are bytes.
func (k *kept) section(at int64, size int) ([]byte, error) {
	var buf bytes.Buffer
	buf.Grow(min(size, 1<<20) + bytes.MinRead)
	_, err := buf.ReadFrom(io.NewSectionReader(k.from, at, int64(size)))
	if err == nil && buf.Len() != size {
		err = fmt.Errorf("%w: it was cut off", ErrRecord)
	}
	return buf.Bytes(), err
}

// read reads parts of the record into its book.
func (k *kept) read(want parts) error {
	at := k.at
	var part [partCount][]byte
	for i, size := range k.Sizes {
		if want.has(i) && size > 0 {
			var err error
			if part[i], err = k.section(at, size); err != nil {
				return err
			}
		}
		at += int64(size)
	}
	get := func(i int, v any) error {
		if len(part[i]) == 0 {
			return nil
		}
		if err := json.Unmarshal(part[i], v); err != nil {
			return fmt.Errorf("%w: %w", ErrRecord, err)
		}
		return nil
	}
	if err := errors.Join(get(partTanks, &k.Tanks), get(partFindings, &k.Findings)); err != nil {
		return err
	}
	if want&withTanks != 0 && len(k.Tanks) != k.NTanks {
		return ErrRecord
	}
	if want&withAcross == 0 || k.Failed != "" {
		return nil
	}
	k.Across = &portfolio.Book{}
	if err := get(partAcross, k.Across); err != nil {
		return err
	}
	if len(k.Across.Tanks) != k.NTanks {
		return ErrRecord
	}
	rest := part[partRows]
	for i := range k.Across.Charts {
		c := &k.Across.Charts[i]
		var ok, too bool
		c.Depth, rest, ok = takeNumbers(rest)
		c.Volume, rest, too = takeNumbers(rest)
		if !ok || !too {
			return fmt.Errorf("%w: the rows of a chart", ErrRecord)
		}
	}
	return nil
}

// eachBundle gives the bundles one after the other.
func (k *kept) eachBundle(do func([]byte) error) error {
	at := k.at
	for _, size := range k.Sizes {
		at += int64(size)
	}
	for _, size := range k.Bundles {
		data, err := k.section(at, size)
		if err != nil {
			return err
		}
		if err := do(data); err != nil {
			return err
		}
		at += int64(size)
	}
	return nil
}

// ReadBook reads the book of a record, and leaves the bundles. The error is
// ErrRecord where it is none of this version.
func ReadBook(from io.ReaderAt) (*Book, error) {
	k, err := open(from)
	if err != nil {
		return nil, err
	}
	if err := k.read(withTanks | withFindings | withAcross); err != nil {
		return nil, err
	}
	return &k.Book, nil
}

// Failed is the record of a book that could not be done.
func Failed(path string, err error) *Record {
	return &Record{Book: Book{Path: path, Failed: err.Error()}}
}

// Nothing is the record of a book that holds nothing to plan or to audit, with
// what is to be said about it.
func Nothing(path, note string) *Record {
	return &Record{Book: Book{Path: path, Empty: true, Notes: []string{note}, Across: &portfolio.Book{Name: path}}}
}
