package csvfile

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"dropcut/convert/csvfile/record"
	"dropcut/convert/grid"
	"dropcut/plan/unit"

	"golang.org/x/text/encoding/charmap"
)

// Append writes the file of that base name in b with columns added, or, where a
// column's Col lies within the rows, rewritten in place. See Sheet.Append.
func Append(b *Book, file string, cols []grid.Column, w io.Writer) error {
	s, err := b.sheet(file)
	if err != nil {
		return err
	}
	return s.Append(cols, w)
}

// Verify checks that changed is the file of that base name in b with nothing
// but the columns changed. See Sheet.Verify.
func Verify(b *Book, file string, cols []grid.Column, changed *Book) error {
	s, err := b.sheet(file)
	if err != nil {
		return err
	}
	if len(changed.sheets) != 1 {
		return errors.New("one written file was expected")
	}
	return s.Verify(cols, changed.sheets[0].(*Sheet))
}

// Verifier gives a function that opens a written file and does Verify, for the
// moment before the file takes its place.
func Verifier(b *Book, file string, cols []grid.Column) func(name string) error {
	return func(name string) error {
		changed, err := Open(name)
		if err != nil {
			return fmt.Errorf("what was written cannot be read back: %w", err)
		}
		return Verify(b, file, cols, changed)
	}
}

func (b *Book) sheet(file string) (*Sheet, error) {
	for _, s := range b.sheets {
		if s.At().File == file {
			return s.(*Sheet), nil
		}
	}
	return nil, fmt.Errorf("%s holds no file %s", b.name, file)
}

// edit is a set of columns made ready for one pass over the file.
type edit struct {
	cols      []grid.Column // by Col
	next      []int         // of each, the cell to be written next
	headerRow int
	width     int // fields of the heading's row as it is
	newWidth  int // with the columns
	dialect   Dialect
}

// Append writes the file to w with the columns in it: the same mark, sep= line,
// encoding, line ends and delimiter, every other byte as it was. A column whose
// Col lies behind the row's last field is added to the row, delimiters before it
// where the row is shorter; one whose Col lies within the row takes the place of
// what stands there. Rows without a value stay as they are, but for those that
// are as wide as the heading's row: they get the delimiters of the new columns,
// so that a file that was rectangular stays so. Blank lines stay blank.
//
// Numbers are written in full, with the decimal sign of the file. A text that a
// spreadsheet would take for a formula is made inert (see Inert). All columns
// share one HeaderRow; their cells are in row order, in rows of the file.
func (s *Sheet) Append(cols []grid.Column, w io.Writer) error {
	e, err := s.edit(cols)
	if err != nil {
		return s.wrap(err)
	}
	r, c, err := s.characters()
	if err != nil {
		return err
	}
	defer c.Close()
	buffered := bufio.NewWriterSize(w, record.BlockSize)
	if _, err := buffered.Write(s.facts.MarkBytes()); err != nil {
		return err
	}
	out := buffered
	if s.facts.Encoding.Wide() {
		out = bufio.NewWriterSize(record.NewWideWriter(buffered, s.facts.Encoding), record.BlockSize)
	}
	if _, err := out.Write(s.sep); err != nil {
		return err
	}
	sp := record.NewSplitter(r, s.dialect.Delimiter)
	turn := record.Turner{Encoding: s.facts.Encoding, Damaged: s.facts.Damaged > 0}
	var line []byte
	for sp.Next() {
		turn.Reset()
		if line, err = e.line(line[:0], sp, &turn); err != nil {
			return s.wrap(err)
		}
		if _, err := out.Write(line); err != nil {
			return err
		}
		if _, err := out.Write(sp.LineEnd()); err != nil {
			return err
		}
	}
	if sp.Err != nil {
		return s.wrap(sp.Err)
	}
	if err := e.done(); err != nil {
		return s.wrap(err)
	}
	if err := out.Flush(); err != nil {
		return err
	}
	return buffered.Flush()
}

// edit checks the columns and looks up how wide the heading's row is.
func (s *Sheet) edit(cols []grid.Column) (*edit, error) {
	if len(cols) == 0 {
		return nil, errors.New("no columns to write were given")
	}
	e := &edit{cols: slices.Clone(cols), next: make([]int, len(cols)), headerRow: cols[0].HeaderRow, dialect: s.dialect}
	slices.SortFunc(e.cols, func(a, b grid.Column) int { return a.Col - b.Col })
	for i, c := range e.cols {
		switch {
		case c.Col < 1 || c.Col > record.MaxFields:
			return nil, fmt.Errorf("column %d is none of a sheet", c.Col)
		case i > 0 && c.Col == e.cols[i-1].Col:
			return nil, fmt.Errorf("two columns are to be written into column %d", c.Col)
		case c.HeaderRow != e.headerRow:
			return nil, errors.New("columns with headings in different rows cannot be written together")
		case !slices.IsSortedFunc(c.Cells, func(a, b grid.At) int { return a.Row - b.Row }):
			return nil, fmt.Errorf("the cells of column %d are not in row order", c.Col)
		}
		e.newWidth = c.Col
	}
	r, c, err := s.characters()
	if err != nil {
		return nil, err
	}
	defer c.Close()
	sp := record.NewSplitter(r, s.dialect.Delimiter)
	for sp.N < e.headerRow && sp.Next() {
	}
	if sp.Err != nil {
		return nil, sp.Err
	}
	if sp.N != e.headerRow || sp.N == 0 {
		return nil, fmt.Errorf("row %d, where the heading is to be written, is not there", e.headerRow)
	}
	e.width = len(sp.Fields)
	e.newWidth = max(e.newWidth, e.width)
	return e, nil
}

// value gives what column i holds in a row. The zero At has no value there.
func (e *edit) value(i, row int) (v grid.Value, ok bool) {
	c := &e.cols[i]
	if row == e.headerRow {
		return grid.Str(c.Heading, grid.LookHeading), true
	}
	for e.next[i] < len(c.Cells) && c.Cells[e.next[i]].Row == row {
		v, ok = c.Cells[e.next[i]].Value, true
		e.next[i]++
	}
	return v, ok
}

// done reports values that had no row.
func (e *edit) done() error {
	for i, n := range e.next {
		if n < len(e.cols[i].Cells) {
			return fmt.Errorf("row %d, which a value of %q belongs to, is not there", e.cols[i].Cells[n].Row, e.cols[i].Heading)
		}
	}
	return nil
}

// line appends the record with its new values to b, in the file's encoding.
func (e *edit) line(b []byte, sp *record.Splitter, turn *record.Turner) ([]byte, error) {
	rec := sp.Record()
	have := len(sp.Fields)
	if sp.Size == 0 {
		have = 0 // a blank line
	}
	copied := 0 // bytes of rec that are in b
	written := have
	for i := range e.cols {
		v, ok := e.value(i, sp.N)
		if !ok {
			continue
		}
		text, err := e.text(v)
		if err != nil {
			return nil, fmt.Errorf("row %d, %q: %w", sp.N, e.cols[i].Heading, err)
		}
		col := e.cols[i].Col
		if col <= have {
			f := &sp.Fields[col-1]
			if string(turn.Text(sp, f)) == text {
				continue // however it is quoted there
			}
			b = append(b, rec[copied:f.Raw]...)
			if b, err = e.encode(b, text); err != nil {
				return nil, fmt.Errorf("row %d, %q: %w", sp.N, e.cols[i].Heading, err)
			}
			copied = f.End
			continue
		}
		if text == "" && written < col {
			continue // a blank at the end of a row needs no field
		}
		b = append(b, rec[copied:]...)
		copied = len(rec)
		b, written = e.pad(b, written, col)
		if b, err = e.encode(b, text); err != nil {
			return nil, fmt.Errorf("row %d, %q: %w", sp.N, e.cols[i].Heading, err)
		}
	}
	b = append(b, rec[copied:]...)
	if have == e.width || written > have {
		b, _ = e.pad(b, written, e.newWidth)
	}
	if len(b) == 0 && sp.Size > 0 {
		// The row's only field was ours and is now blank: at the end of a file
		// an empty line would be no row at all.
		b = append(b, `""`...)
	}
	return b, nil
}

// pad appends delimiters until the row has width fields.
func (e *edit) pad(b []byte, have, width int) ([]byte, int) {
	for have = max(have, 1); have < width; have++ {
		b = append(b, e.dialect.Delimiter)
	}
	return b, max(have, width)
}

// text gives a value as it will read back.
func (e *edit) text(v grid.Value) (string, error) {
	if !v.IsNumber {
		if !utf8.ValidString(v.Text) {
			return "", errors.New("the text to be written holds damaged characters")
		}
		s := v.Text
		if strings.IndexByte(s, '\r') >= 0 {
			s = strings.ReplaceAll(strings.ReplaceAll(s, "\r\n", "\n"), "\r", "\n")
		}
		return Inert(s), nil
	}
	if math.IsNaN(v.Number) || math.IsInf(v.Number, 0) {
		return "", errors.New("the number to be written is none")
	}
	s := strconv.FormatFloat(v.Number, 'f', -1, 64)
	if e.dialect.Decimal == unit.DecimalComma {
		s = strings.Replace(s, ".", ",", 1)
	}
	return s, nil
}

// encode appends a field in the file's encoding, quoted where it must be.
func (e *edit) encode(b []byte, text string) ([]byte, error) {
	text = quote(text, e.dialect.Delimiter)
	if e.dialect.Encoding != record.Windows1252 {
		return append(b, text...), nil
	}
	for _, r := range text {
		if c, ok := charmap.Windows1252.EncodeRune(r); ok {
			b = append(b, c)
			continue
		}
		plain := plainer(r)
		if plain == "" {
			return nil, fmt.Errorf("%q cannot be written in Windows-1252, in which the file stands; save the file as UTF-8", r)
		}
		b = append(b, plain...)
	}
	return b, nil
}

// plainer gives the signs of this trade that Windows-1252 lacks in signs that
// it has; "" for any other.
func plainer(r rune) string {
	switch r {
	case '″', '‶':
		return `""` // within a field that holds it, which is quoted
	case '′', '‵':
		return "'"
	case '≤':
		return "<="
	case '≥':
		return ">="
	case '−', '‐', '‑':
		return "-"
	case '≈':
		return "~"
	case '⁄', '∕':
		return "/"
	case '→':
		return "->"
	case '\u202f', '\u2009':
		return " "
	}
	return ""
}

// quote puts a field into quotes where it holds what would end it, or blanks
// that a reader may cut off.
func quote(s string, delim byte) string {
	if s == "" {
		return ""
	}
	if !strings.ContainsAny(s, "\"\r\n″‶") && strings.IndexByte(s, delim) < 0 && s[0] != ' ' && s[len(s)-1] != ' ' {
		return s
	}
	return `"` + strings.ReplaceAll(s, `"`, `""`) + `"`
}

// Inert makes a text that a spreadsheet program would take for a formula into
// one that it does not, with an apostrophe before it. Plain negative numbers and
// fractions stay as they are. Text that needs nothing comes back as it is, and
// so does text that is inert already.
func Inert(s string) string {
	if s == "" || len(s) == 1 {
		return s
	}
	first, size := utf8.DecodeRuneInString(s)
	switch first {
	// The wide forms are taken for the narrow ones by programs that are set to
	// East Asian languages (common practice, no source).
	case '=', '@', '\t', '\r', '\n', '＝', '＠', '＋', '－':
		return "'" + s
	case '+', '-':
		if strings.Trim(s[size:], "0123456789.,/ ") != "" {
			return "'" + s
		}
	}
	return s
}

// Plain undoes Inert.
func Plain(s string) string {
	if len(s) > 1 && s[0] == '\'' && Inert(s[1:]) == s {
		return s[1:]
	}
	return s
}

// Verify reads what Append has written and compares it with the file it was made
// from: every field that is no value of the columns, every line end, the mark and
// the sep= line must be as they were, byte for byte, and every value must read
// back as what it is. The first difference is an error.
func (s *Sheet) Verify(cols []grid.Column, changed *Sheet) error {
	e, err := s.edit(cols)
	if err != nil {
		return s.wrap(err)
	}
	differ := func(row int, what string) error {
		return s.wrap(fmt.Errorf("row %d of what was written differs from the file: %s; nothing of it is kept", row, what))
	}
	if s.facts.Mark != changed.facts.Mark || s.facts.Encoding != changed.facts.Encoding || !bytes.Equal(s.sep, changed.sep) || s.dialect.Delimiter != changed.dialect.Delimiter {
		return differ(0, "its encoding, sep= line or delimiter is another")
	}
	oldR, oldC, err := s.characters()
	if err != nil {
		return err
	}
	defer oldC.Close()
	newR, newC, err := changed.characters()
	if err != nil {
		return err
	}
	defer newC.Close()
	was, is := record.NewSplitter(oldR, s.dialect.Delimiter), record.NewSplitter(newR, s.dialect.Delimiter)
	turn := record.Turner{Encoding: s.facts.Encoding, Damaged: changed.facts.Damaged > 0}
	for was.Next() {
		if !is.Next() {
			if is.Err != nil {
				return s.wrap(is.Err)
			}
			return differ(was.N, "it is not there")
		}
		turn.Reset()
		if !bytes.Equal(was.LineEnd(), is.LineEnd()) {
			return differ(was.N, "its line end is another")
		}
		old := len(was.Fields)
		if was.Size == 0 {
			old = 0
		}
		if len(is.Fields) < old {
			return differ(was.N, "fields are missing")
		}
		ours := 0 // the column of cols that comes next
		for i := range is.Fields {
			f := &is.Fields[i]
			var v grid.Value
			written := false
			for ours < len(e.cols) && e.cols[ours].Col <= i+1 {
				if v, written = e.value(ours, is.N); written {
					break
				}
				ours++
			}
			if written {
				ours++
				want, err := e.text(v)
				if err != nil {
					return err
				}
				if got := string(turn.Text(is, f)); got != want && !(s.facts.Encoding == record.Windows1252 && got == western1252(want)) {
					return differ(is.N, fmt.Sprintf("column %d reads %q, not %q", i+1, got, want))
				}
				continue
			}
			switch {
			case i < old:
				if o := &was.Fields[i]; !bytes.Equal(was.Record()[o.Raw:o.End], is.Record()[f.Raw:f.End]) {
					return differ(is.N, fmt.Sprintf("column %d has changed", i+1))
				}
			case f.Raw != f.End:
				return differ(is.N, fmt.Sprintf("column %d holds what nobody wrote", i+1))
			}
		}
		for ; ours < len(e.cols); ours++ {
			if v, ok := e.value(ours, is.N); ok && !v.Blank() {
				return differ(is.N, fmt.Sprintf("a value of %q is missing", e.cols[ours].Heading))
			}
		}
	}
	if was.Err != nil {
		return s.wrap(was.Err)
	}
	if is.Next() {
		return differ(is.N, "the file has no such row")
	}
	if is.Err != nil {
		return s.wrap(is.Err)
	}
	return e.done()
}

// western1252 gives a text as it reads back from Windows-1252.
func western1252(s string) string {
	var b strings.Builder
	for _, r := range s {
		if _, ok := charmap.Windows1252.EncodeRune(r); ok {
			b.WriteRune(r)
			continue
		}
		b.WriteString(strings.ReplaceAll(plainer(r), `""`, `"`))
	}
	return b.String()
}
