// Package opc opens a workbook as what it is on the disk, a zip archive of parts
// (Open Packaging Conventions, ECMA-376 Part 2): it checks the archive, streams
// its parts with their checksums, follows relationships, and copies entries raw.
package opc

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"

	"github.com/klauspost/compress/flate"

	"dropcut/convert/xlsx/internal/lex"
)

const (
	// A sheet of 1,000,000 x 3 numbers has some 150 MB of XML.
	PartMax = 2 << 30
	// What is read into memory whole, other than shared strings, is small: a
	// book with 64,000 cell formats has 10 MB of styles.
	SmallPartMax = 64 << 20
	// Sheets as people have them deflate to a fifth or a fifteenth; measured at
	// worst 405, rows of equal blanks without addresses. Deflate ends at 1,032,
	// and bombs stand close to it.
	ratioMax = 600
	// Below this size a ratio does no harm.
	ratioFloor = 16 << 20
	// Real books have some hundred parts.
	entriesMax = 65536
)

const SaveAnew = "open it in the program it came from and save it anew as .xlsx"

// Package is an open package. It serves one goroutine at a time.
type Package struct {
	Name   string // of the file, for errors
	File   io.ReaderAt
	closer io.Closer
	size   int64
	Zip    *zip.Reader
	Parts  []*Part
	byName map[string]*Part // by lower-case name: names are compared without case (Part 2, 6.2.2.3)
	Types  contentTypes
}

// Part is one entry of the archive that is no folder.
type Part struct {
	Name string // with slashes, without one in front: "xl/workbook.xml"
	File *zip.File
	// sound says that the content was read to its end since the package was
	// opened and had the right length and checksum.
	Sound bool
}

// Open opens a package on disk. The file stays open until Close.
func Open(file string) (*Package, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	info, err := f.Stat()
	if err == nil && info.IsDir() {
		err = fmt.Errorf("%s is a folder, a workbook was expected", file)
	}
	var p *Package
	if err == nil {
		p, err = New(filepath.Base(file), f, info.Size())
	}
	if err != nil {
		f.Close()
		return nil, err
	}
	p.closer = f
	return p, nil
}

// New opens a package from its bytes: it checks the archive's directory and
// reads the content types. No part's content is verified before it is read.
func New(name string, r io.ReaderAt, size int64) (*Package, error) {
	if err := notZip(name, r, size); err != nil {
		return nil, err
	}
	archive, err := zip.NewReader(r, size)
	if err != nil && !errors.Is(err, zip.ErrInsecurePath) {
		return nil, fmt.Errorf("%s is cut off or damaged: it begins like a workbook but its directory of parts cannot be read: %s; fetch it again from where it came", name, archiveWords(err))
	}
	p := &Package{Name: name, File: r, size: size, Zip: archive, byName: make(map[string]*Part, len(archive.File))}
	if len(archive.File) > entriesMax {
		return nil, fmt.Errorf("%s has %d parts, at most %d were expected; it is refused", name, len(archive.File), entriesMax)
	}
	var packed uint64
	for _, f := range archive.File {
		if strings.HasSuffix(f.Name, "/") || strings.HasSuffix(f.Name, `\`) {
			continue
		}
		clean, err := PartName(f.Name)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		key := strings.ToLower(clean)
		if other := p.byName[key]; other != nil {
			return nil, fmt.Errorf("%s holds the part %s twice (as %s); there is no telling which one counts: %s", name, clean, other.File.Name, SaveAnew)
		}
		if f.Flags&1 != 0 {
			return nil, fmt.Errorf("%s is encrypted (part %s); save it without a password", name, clean)
		}
		packed += f.CompressedSize64
		if f.CompressedSize64 > uint64(size) || packed > uint64(size) {
			return nil, fmt.Errorf("%s is damaged: its parts are said to be longer than the file (at %s); fetch it again from where it came", name, clean)
		}
		entry := &Part{Name: clean, File: f}
		p.Parts = append(p.Parts, entry)
		p.byName[key] = entry
	}
	if p.Types, err = readTypes(p); err != nil {
		return nil, err
	}
	return p, nil
}

// Close closes the file. What was not read yet cannot be read any more.
func (p *Package) Close() error {
	if p.closer == nil {
		return nil
	}
	return p.closer.Close()
}

// PartName cleans an entry's name. Old writers use backslashes or a slash in
// front; a name that climbs out of the package is refused.
func PartName(raw string) (string, error) {
	name := strings.TrimPrefix(strings.ReplaceAll(raw, `\`, "/"), "/")
	for _, step := range strings.Split(name, "/") {
		if step == ".." || step == "." || step == "" || strings.Contains(step, "\x00") || (len(step) > 1 && step[1] == ':') {
			return "", fmt.Errorf("the part name %q leads out of the workbook; the file is refused", raw)
		}
	}
	return name, nil
}

// Part finds a part by name, whatever its case; nil where there is none.
func (p *Package) Part(name string) *Part {
	return p.byName[strings.ToLower(strings.TrimPrefix(name, "/"))]
}

// Open streams a part's content. The length and the checksum are compared at
// the end: a reader that has not seen io.EOF must not trust what it has read.
func (p *Package) Open(e *Part) (io.ReadCloser, error) { return p.OpenLimit(e, PartMax) }

// OpenLimit is Open for a part that is to hold no more than most bytes.
func (p *Package) OpenLimit(e *Part, most uint64) (io.ReadCloser, error) {
	size, packed := e.File.UncompressedSize64, e.File.CompressedSize64
	if size > most {
		return nil, fmt.Errorf("%s: the part %s is said to hold %d MB, at most %d MB were expected; it is refused", p.Name, e.Name, size>>20, most>>20)
	}
	if size > ratioFloor && size/ratioMax > packed {
		return nil, fmt.Errorf("%s: the part %s is said to grow from %d kB to %d MB when unpacked, as no real sheet does; it is refused", p.Name, e.Name, packed>>10, size>>20)
	}
	raw, err := e.File.OpenRaw()
	if err != nil {
		return nil, fmt.Errorf("%s: the part %s cannot be read: %s; fetch the file again from where it came", p.Name, e.Name, archiveWords(err))
	}
	r := &partReader{pack: p, part: e, left: size}
	switch e.File.Method {
	case zip.Store:
		r.from = io.NopCloser(raw)
	case zip.Deflate:
		r.from = flate.NewReader(raw)
	default:
		return nil, fmt.Errorf("%s: the part %s is packed by method %d, which workbooks do not use; %s", p.Name, e.Name, e.File.Method, SaveAnew)
	}
	return r, nil
}

// Read gives a small part's content.
func (p *Package) Read(e *Part, most uint64) ([]byte, error) {
	r, err := p.OpenLimit(e, most)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	return io.ReadAll(r)
}

// Verify reads a part to its end for its checksum alone.
func (p *Package) Verify(e *Part) error {
	r, err := p.Open(e)
	if err != nil {
		return err
	}
	defer r.Close()
	_, err = io.Copy(io.Discard, r)
	return err
}

// partReader is a part's content with its checksum kept along.
type partReader struct {
	pack *Package
	part *Part
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
		return n, r.damaged(archiveWords(err))
	case r.left > 0:
		return n, r.damaged("it is shorter than the zip directory says")
	case r.sum != r.part.File.CRC32:
		return n, r.damaged("its checksum is wrong")
	}
	r.part.Sound = true
	r.err = io.EOF
	return n, io.EOF
}

// archiveWords says in plain words what the libraries say of a broken archive. An
// error of the disk keeps its own.
func archiveWords(err error) string {
	var disk *fs.PathError
	var content flate.CorruptInputError
	switch {
	case errors.As(err, &disk):
		return err.Error()
	case errors.As(err, &content):
		return "its compressed content is broken"
	case errors.Is(err, zip.ErrFormat):
		return "the directory does not fit the content"
	case errors.Is(err, io.ErrUnexpectedEOF), errors.Is(err, io.EOF):
		return "it ends too early"
	}
	return "it is no sound zip archive"
}

func (r *partReader) damaged(how string) error {
	r.err = &PartError{file: r.pack.Name, Part: r.part.Name, How: how}
	return r.err
}

// PartError is damage to a part as a whole.
type PartError struct{ file, Part, How string }

func (e *PartError) Error() string {
	return fmt.Sprintf("%s: the part %s is damaged: %s; fetch the file again from where it came", e.file, e.Part, e.How)
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

func readTypes(p *Package) (contentTypes, error) {
	types := contentTypes{byExt: map[string]string{}, byName: map[string]string{}}
	e := p.Part("[Content_Types].xml")
	if e == nil {
		return types, p.NoWorkbook()
	}
	err := p.Walk(e, func(x *lex.Lexer) error {
		kind := string(x.Attr("ContentType"))
		switch string(x.Name()) {
		case "Default":
			types.byExt[strings.ToLower(string(x.Attr("Extension")))] = kind
		case "Override":
			name := strings.ReplaceAll(string(x.Attr("PartName")), `\`, "/")
			types.byName[strings.ToLower(strings.TrimPrefix(name, "/"))] = kind
		}
		return nil
	})
	return types, err
}

// NoWorkbook says what an archive without content types or workbook is.
func (p *Package) NoWorkbook() error {
	if e := p.Part("mimetype"); e != nil {
		if kind, err := p.Read(e, 1<<10); err == nil && bytes.Contains(kind, []byte("opendocument")) {
			return fmt.Errorf("%s is an OpenDocument file (.ods), which is not read; open it and save it as .xlsx", p.Name)
		}
	}
	return fmt.Errorf("%s is a zip archive but holds no workbook; %s", p.Name, SaveAnew)
}

// Of gives a part's content type, "" where none is declared.
func (t contentTypes) Of(name string) string {
	if kind, ok := t.byName[strings.ToLower(name)]; ok {
		return kind
	}
	return t.byExt[strings.ToLower(strings.TrimPrefix(path.Ext(name), "."))]
}

// Rel is a relationship from one part to another.
type Rel struct {
	ID       string
	Kind     string // the last step of its type: "worksheet", "sharedStrings"
	Target   string // the part's name, resolved; as written where external
	External bool
}

// RelsName gives the name of the part that holds a part's relationships; "" is
// the package itself.
func RelsName(source string) string {
	dir, file := path.Split(source)
	return dir + "_rels/" + file + ".rels"
}

// Rels reads the relationships of a part; "" is the package itself. A part
// without any has none.
func (p *Package) Rels(source string) ([]Rel, error) {
	e := p.Part(RelsName(source))
	if e == nil {
		return nil, nil
	}
	var list []Rel
	err := p.Walk(e, func(x *lex.Lexer) error {
		if string(x.Name()) != "Relationship" {
			return nil
		}
		r := Rel{ID: string(x.Attr("Id")), Kind: path.Base(string(x.Attr("Type"))), External: string(x.Attr("TargetMode")) == "External"}
		r.Target = string(x.Attr("Target"))
		if !r.External {
			r.Target = Resolve(source, r.Target)
		}
		list = append(list, r)
		return nil
	})
	return list, err
}

// Resolve gives the name of the part that a relationship of source points to.
func Resolve(source, target string) string {
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
			if hi, lo := lex.HexDigit(s[i+1]), lex.HexDigit(s[i+2]); hi >= 0 && lo >= 0 {
				b.WriteByte(byte(hi<<4 | lo))
				i += 2
				continue
			}
		}
		b.WriteByte(s[i])
	}
	return b.String()
}

// Walk shows every start tag of a small part and reads the part to its end.
func (p *Package) Walk(e *Part, visit func(x *lex.Lexer) error) error {
	return p.Lex(e, SmallPartMax, func(x *lex.Lexer) error {
		for {
			tok, err := x.Next()
			if err == io.EOF {
				return nil
			}
			if err == nil && tok == lex.TokStart {
				err = visit(x)
			}
			if err != nil {
				return err
			}
		}
	})
}

// Lex gives a part's lexer to read, which has to read to its end, and words its
// damage for people.
func (p *Package) Lex(e *Part, most uint64, read func(x *lex.Lexer) error) error {
	r, err := p.OpenLimit(e, most)
	if err != nil {
		return err
	}
	defer r.Close()
	return p.Blame(read(lex.New(r, e.Name)))
}

// Blame puts the file's name before damage that the lexer found.
func (p *Package) Blame(err error) error {
	var damage *lex.Error
	if errors.As(err, &damage) {
		return fmt.Errorf("%s: %w; %s", p.Name, err, SaveAnew)
	}
	return err
}
