// Package xlsx reads other people's workbooks and writes into them without
// touching what it does not have to. It works on the package (a zip archive of
// XML parts, ECMA-376 Part 2) and never rebuilds a foreign book from a model.
//
// The layers, from below: package.go opens the archive, checks it and streams
// its parts; lex.go cuts a part into tokens that keep every byte; workbook.go,
// styles.go and strings.go read what is around the sheets; scan.go turns a
// sheet's XML into rows; book.go puts them together as a grid.Book. The patcher
// stands on the first two.
package xlsx

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"os"
	"path"
	"path/filepath"
	"strings"

	"github.com/klauspost/compress/flate"
)

const (
	// A sheet of 1,000,000 x 3 numbers has some 150 MB of XML.
	partMax = 2 << 30
	// What is read into memory whole, other than shared strings, is small: a
	// book with 64,000 cell formats has 10 MB of styles.
	smallPartMax = 64 << 20
	// Sheets as people have them deflate to a fifth or a fifteenth; measured at
	// worst 405, rows of equal blanks without addresses. Deflate ends at 1,032,
	// and bombs stand close to it.
	ratioMax = 600
	// Below this size a ratio does no harm.
	ratioFloor = 16 << 20
	// Real books have some hundred parts.
	entriesMax = 65536
)

const saveAnew = "open it in the program it came from and save it anew as .xlsx"

// pack is an open package. It serves one goroutine at a time.
type pack struct {
	name   string // of the file, for errors
	file   io.ReaderAt
	closer io.Closer
	size   int64
	zip    *zip.Reader
	parts  []*part
	byName map[string]*part // by lower-case name: names are compared without case (Part 2, 6.2.2.3)
	types  contentTypes
}

// part is one entry of the archive that is no folder.
type part struct {
	name string // with slashes, without one in front: "xl/workbook.xml"
	file *zip.File
	// sound says that the content was read to its end since the package was
	// opened and had the right length and checksum.
	sound bool
}

// openPack opens a package on disk. The file stays open until Close.
func openPack(file string) (*pack, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	info, err := f.Stat()
	if err == nil && info.IsDir() {
		err = fmt.Errorf("%s is a folder, a workbook was expected", file)
	}
	var p *pack
	if err == nil {
		p, err = newPack(filepath.Base(file), f, info.Size())
	}
	if err != nil {
		f.Close()
		return nil, err
	}
	p.closer = f
	return p, nil
}

// newPack opens a package from its bytes: it checks the archive's directory and
// reads the content types. No part's content is verified before it is read.
func newPack(name string, r io.ReaderAt, size int64) (*pack, error) {
	if err := notZip(name, r, size); err != nil {
		return nil, err
	}
	archive, err := zip.NewReader(r, size)
	if err != nil && !errors.Is(err, zip.ErrInsecurePath) {
		return nil, fmt.Errorf("%s is cut off or damaged: it begins like a workbook but its zip directory cannot be read (%w); fetch it again from where it came", name, err)
	}
	p := &pack{name: name, file: r, size: size, zip: archive, byName: make(map[string]*part, len(archive.File))}
	if len(archive.File) > entriesMax {
		return nil, fmt.Errorf("%s has %d parts, at most %d were expected; it is refused", name, len(archive.File), entriesMax)
	}
	var packed uint64
	for _, f := range archive.File {
		if strings.HasSuffix(f.Name, "/") || strings.HasSuffix(f.Name, `\`) {
			continue
		}
		clean, err := partName(f.Name)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		key := strings.ToLower(clean)
		if other := p.byName[key]; other != nil {
			return nil, fmt.Errorf("%s holds the part %s twice (as %s); there is no telling which one counts: %s", name, clean, other.file.Name, saveAnew)
		}
		if f.Flags&1 != 0 {
			return nil, fmt.Errorf("%s is encrypted (part %s); save it without a password", name, clean)
		}
		packed += f.CompressedSize64
		if f.CompressedSize64 > uint64(size) || packed > uint64(size) {
			return nil, fmt.Errorf("%s is damaged: its parts are said to be longer than the file (at %s); fetch it again from where it came", name, clean)
		}
		entry := &part{name: clean, file: f}
		p.parts = append(p.parts, entry)
		p.byName[key] = entry
	}
	if p.types, err = readTypes(p); err != nil {
		return nil, err
	}
	return p, nil
}

// Close closes the file. What was not read yet cannot be read any more.
func (p *pack) Close() error {
	if p.closer == nil {
		return nil
	}
	return p.closer.Close()
}

// partName cleans an entry's name. Old writers use backslashes or a slash in
// front; a name that climbs out of the package is refused.
func partName(raw string) (string, error) {
	name := strings.TrimPrefix(strings.ReplaceAll(raw, `\`, "/"), "/")
	for _, step := range strings.Split(name, "/") {
		if step == ".." || step == "." || step == "" || strings.Contains(step, "\x00") || (len(step) > 1 && step[1] == ':') {
			return "", fmt.Errorf("the part name %q leads out of the workbook; the file is refused", raw)
		}
	}
	return name, nil
}

// part finds a part by name, whatever its case; nil where there is none.
func (p *pack) part(name string) *part {
	return p.byName[strings.ToLower(strings.TrimPrefix(name, "/"))]
}

// open streams a part's content. The length and the checksum are compared at
// the end: a reader that has not seen io.EOF must not trust what it has read.
func (p *pack) open(e *part) (io.ReadCloser, error) { return p.openLimit(e, partMax) }

func (p *pack) openLimit(e *part, most uint64) (io.ReadCloser, error) {
	size, packed := e.file.UncompressedSize64, e.file.CompressedSize64
	if size > most {
		return nil, fmt.Errorf("%s: the part %s is said to hold %d MB, at most %d MB were expected; it is refused", p.name, e.name, size>>20, most>>20)
	}
	if size > ratioFloor && size/ratioMax > packed {
		return nil, fmt.Errorf("%s: the part %s is said to grow from %d kB to %d MB when unpacked, as no real sheet does; it is refused", p.name, e.name, packed>>10, size>>20)
	}
	raw, err := e.file.OpenRaw()
	if err != nil {
		return nil, fmt.Errorf("%s: the part %s cannot be read: %w", p.name, e.name, err)
	}
	r := &partReader{pack: p, part: e, left: size}
	switch e.file.Method {
	case zip.Store:
		r.from = io.NopCloser(raw)
	case zip.Deflate:
		r.from = flate.NewReader(raw)
	default:
		return nil, fmt.Errorf("%s: the part %s is packed by method %d, which workbooks do not use; %s", p.name, e.name, e.file.Method, saveAnew)
	}
	return r, nil
}

// read gives a small part's content.
func (p *pack) read(e *part, most uint64) ([]byte, error) {
	r, err := p.openLimit(e, most)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	return io.ReadAll(r)
}

// verify reads a part to its end for its checksum alone.
func (p *pack) verify(e *part) error {
	r, err := p.open(e)
	if err != nil {
		return err
	}
	defer r.Close()
	_, err = io.Copy(io.Discard, r)
	return err
}

// partReader is a part's content with its checksum kept along.
type partReader struct {
	pack *pack
	part *part
	from io.ReadCloser
	left uint64
	sum  uint32
	err  error
}

func (r *partReader) Read(b []byte) (int, error) {
	if r.err != nil {
		return 0, r.err
	}
	if len(b) == 0 {
		return 0, nil
	}
	n, err := r.from.Read(b)
	if uint64(n) > r.left {
		return 0, r.damaged("it is longer than the zip directory says")
	}
	r.left -= uint64(n)
	r.sum = crc32.Update(r.sum, crc32.IEEETable, b[:n])
	switch {
	case err == nil:
		return n, nil
	case err != io.EOF:
		return n, r.damaged(err.Error())
	case r.left > 0:
		return n, r.damaged("it is shorter than the zip directory says")
	case r.sum != r.part.file.CRC32:
		return n, r.damaged("its checksum is wrong")
	}
	r.part.sound = true
	r.err = io.EOF
	return n, io.EOF
}

func (r *partReader) damaged(how string) error {
	r.err = &partError{file: r.pack.name, part: r.part.name, how: how}
	return r.err
}

// partError is damage to a part as a whole.
type partError struct{ file, part, how string }

func (e *partError) Error() string {
	return fmt.Sprintf("%s: the part %s is damaged: %s; fetch the file again from where it came", e.file, e.part, e.how)
}

func (r *partReader) Close() error { return r.from.Close() }

// notZip refuses what is no zip archive and says what it is instead.
func notZip(name string, r io.ReaderAt, size int64) error {
	if size == 0 {
		return fmt.Errorf("%s is empty (0 bytes), a workbook was expected", name)
	}
	head := make([]byte, min(size, 512))
	if _, err := r.ReadAt(head, 0); err != nil && err != io.EOF {
		return fmt.Errorf("%s cannot be read: %w", name, err)
	}
	text := bytes.ToLower(bytes.TrimLeft(bytes.TrimPrefix(head, []byte("\xef\xbb\xbf")), " \t\r\n"))
	switch {
	case bytes.HasPrefix(head, []byte("PK")):
		return nil
	case bytes.HasPrefix(head, []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")):
		encrypted, err := holdsStream(r, size, "EncryptedPackage")
		if err != nil {
			return fmt.Errorf("%s cannot be read: %w", name, err)
		}
		if encrypted {
			return fmt.Errorf("%s is encrypted with a password; open it, save a copy without the password, and give that", name)
		}
		return fmt.Errorf("%s is a workbook of the old binary kind (.xls), which is not read; open it and save it as .xlsx or .csv", name)
	case bytes.HasPrefix(head, []byte("\x09\x08")), bytes.HasPrefix(head, []byte("\x09\x04")), bytes.HasPrefix(head, []byte("\x09\x02")), bytes.HasPrefix(head, []byte("\x09\x00")):
		return fmt.Errorf("%s is a workbook of a very old binary kind (.xls), which is not read; open it and save it as .xlsx or .csv", name)
	case bytes.HasPrefix(text, []byte("<")):
		return fmt.Errorf("%s is a web page or XML text, not a workbook; open it in a spreadsheet program and save it as .xlsx", name)
	case bytes.IndexByte(head, 0) < 0:
		return fmt.Errorf("%s is plain text, not a workbook; if it is a table, name it .csv", name)
	}
	return fmt.Errorf("%s is not a workbook: an .xlsx file is a zip archive and this one is not", name)
}

// holdsStream reports whether a compound file ([MS-CFB], the container of old
// office files and of encrypted new ones) has a directory entry of that name.
// Directory entries are 128 bytes long and sectors a multiple of that, so every
// place where one can stand is looked at.
func holdsStream(r io.ReaderAt, size int64, name string) (bool, error) {
	const entry = 128
	want := make([]byte, 0, 64)
	for _, c := range name {
		want = append(want, byte(c), 0)
	}
	want = append(want, 0, 0)
	in, buf := io.NewSectionReader(r, 0, size), make([]byte, 64<<10)
	for {
		n, err := io.ReadFull(in, buf)
		for i := 0; i+entry <= n; i += entry {
			if bytes.HasPrefix(buf[i:], want) && int(buf[i+64]) == len(want) {
				return true, nil
			}
		}
		if err == io.EOF || err == io.ErrUnexpectedEOF {
			return false, nil
		}
		if err != nil {
			return false, err
		}
	}
}

// contentTypes is what [Content_Types].xml says of the parts.
type contentTypes struct {
	byExt  map[string]string // by lower-case extension
	byName map[string]string // by lower-case part name
}

func readTypes(p *pack) (contentTypes, error) {
	types := contentTypes{byExt: map[string]string{}, byName: map[string]string{}}
	e := p.part("[Content_Types].xml")
	if e == nil {
		return types, p.noWorkbook()
	}
	err := p.walk(e, func(x *lexer) error {
		kind := string(x.attr("ContentType"))
		switch string(x.name()) {
		case "Default":
			types.byExt[strings.ToLower(string(x.attr("Extension")))] = kind
		case "Override":
			name := strings.ReplaceAll(string(x.attr("PartName")), `\`, "/")
			types.byName[strings.ToLower(strings.TrimPrefix(name, "/"))] = kind
		}
		return nil
	})
	return types, err
}

// noWorkbook says what an archive without content types or workbook is.
func (p *pack) noWorkbook() error {
	if e := p.part("mimetype"); e != nil {
		if kind, err := p.read(e, 1<<10); err == nil && bytes.Contains(kind, []byte("opendocument")) {
			return fmt.Errorf("%s is an OpenDocument file (.ods), which is not read; open it and save it as .xlsx", p.name)
		}
	}
	return fmt.Errorf("%s is a zip archive but holds no workbook; %s", p.name, saveAnew)
}

// of gives a part's content type, "" where none is declared.
func (t contentTypes) of(name string) string {
	if kind, ok := t.byName[strings.ToLower(name)]; ok {
		return kind
	}
	return t.byExt[strings.ToLower(strings.TrimPrefix(path.Ext(name), "."))]
}

// rel is a relationship from one part to another.
type rel struct {
	id       string
	kind     string // the last step of its type: "worksheet", "sharedStrings"
	target   string // the part's name, resolved; as written where external
	external bool
}

// relsName gives the name of the part that holds a part's relationships; "" is
// the package itself.
func relsName(source string) string {
	dir, file := path.Split(source)
	return dir + "_rels/" + file + ".rels"
}

// rels reads the relationships of a part; "" is the package itself. A part
// without any has none.
func (p *pack) rels(source string) ([]rel, error) {
	e := p.part(relsName(source))
	if e == nil {
		return nil, nil
	}
	var list []rel
	err := p.walk(e, func(x *lexer) error {
		if string(x.name()) != "Relationship" {
			return nil
		}
		r := rel{id: string(x.attr("Id")), kind: path.Base(string(x.attr("Type"))), external: string(x.attr("TargetMode")) == "External"}
		r.target = string(x.attr("Target"))
		if !r.external {
			r.target = resolve(source, r.target)
		}
		list = append(list, r)
		return nil
	})
	return list, err
}

// resolve gives the name of the part that a relationship of source points to.
func resolve(source, target string) string {
	target = strings.ReplaceAll(target, `\`, "/")
	target, _, _ = strings.Cut(target, "#")
	if strings.Contains(target, "%") {
		target = unpercent(target)
	}
	if !strings.HasPrefix(target, "/") {
		target = path.Join("/", path.Dir(source), target)
	}
	return strings.TrimPrefix(path.Clean(target), "/")
}

func unpercent(s string) string {
	var b strings.Builder
	for i := 0; i < len(s); i++ {
		if s[i] == '%' && i+2 < len(s) {
			if hi, lo := hexDigit(s[i+1]), hexDigit(s[i+2]); hi >= 0 && lo >= 0 {
				b.WriteByte(byte(hi<<4 | lo))
				i += 2
				continue
			}
		}
		b.WriteByte(s[i])
	}
	return b.String()
}

// walk shows every start tag of a small part and reads the part to its end.
func (p *pack) walk(e *part, visit func(x *lexer) error) error {
	return p.lex(e, smallPartMax, func(x *lexer) error {
		for {
			tok, err := x.next()
			if err == io.EOF {
				return nil
			}
			if err == nil && tok == tokStart {
				err = visit(x)
			}
			if err != nil {
				return err
			}
		}
	})
}

// lex gives a part's lexer to read, which has to read to its end, and words its
// damage for people.
func (p *pack) lex(e *part, most uint64, read func(x *lexer) error) error {
	r, err := p.openLimit(e, most)
	if err != nil {
		return err
	}
	defer r.Close()
	return p.blame(read(newLexer(r, e.name)))
}

// blame puts the file's name before damage that the lexer found.
func (p *pack) blame(err error) error {
	var damage *lexError
	if errors.As(err, &damage) {
		return fmt.Errorf("%s: %w; %s", p.name, err, saveAnew)
	}
	return err
}
