package read

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"fmt"
	"hash/crc32"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"dropcut/convert/xlsx/internal/handmade"
	"dropcut/convert/xlsx/internal/lex"
)

// compoundFile is the start of a compound file ([MS-CFB] 2.2 and 2.6.1): a
// header and a directory sector with these entries.
func compoundFile(entries ...string) []byte {
	file := make([]byte, 1024)
	copy(file, "\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")
	for i, name := range entries {
		at := file[512+128*i:]
		units := append(utf16.Encode([]rune(name)), 0)
		for j, u := range units {
			at[2*j], at[2*j+1] = byte(u), byte(u>>8)
		}
		at[64] = byte(2 * len(units))
	}
	return file
}

// blanks deflates a sheet that opens with n blanks, as bombs do.
func blanks(t testing.TB, n int64) []byte {
	t.Helper()
	var buf bytes.Buffer
	w, err := flate.NewWriter(&buf, flate.BestSpeed)
	if err == nil {
		_, err = io.WriteString(w, `<worksheet xmlns="`+lex.NsMain+`"><sheetData>`)
	}
	if err == nil {
		_, err = io.CopyN(w, blankReader{}, n)
	}
	if err == nil {
		err = w.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

type blankReader struct{}

func (blankReader) Read(b []byte) (int, error) {
	for i := range b {
		b[i] = ' '
	}
	return len(b), nil
}

// packed is a sound book, one part of which is replaced by these packed bytes, with a
// directory that says what the test wants.
func packed(t testing.TB, name string, content []byte, size uint64, method uint16) []byte {
	t.Helper()
	var buf bytes.Buffer
	w := zip.NewWriter(&buf)
	for _, p := range handmade.Plain("") {
		if p.Name == name {
			f, err := w.CreateRaw(&zip.FileHeader{Name: p.Name, Method: method, CompressedSize64: uint64(len(content)), UncompressedSize64: size, CRC32: crc32.ChecksumIEEE(content)})
			if err != nil {
				t.Fatal(err)
			}
			f.Write(content)
			continue
		}
		f, err := w.Create(p.Name)
		if err != nil {
			t.Fatal(err)
		}
		io.WriteString(f, p.Content)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

// Everything that is no sound workbook is refused within a second, by Open or
// by the first walk over its rows, with the reason.
func TestRefused(t *testing.T) {
	rows := manyRows(2000)
	sound := handmade.Plain(rows)
	zipped := sound.Bytes()
	replaced := func(name, content string) []byte { return sound.With(name, content).Bytes() }
	sheet := `<worksheet xmlns="` + lex.NsMain + `"><sheetData>` + rows + `</sheetData></worksheet>`
	for _, c := range []struct {
		name string
		file []byte
		want string
	}{
		{"nothing", nil, "is empty"},
		{"text", []byte("Tank,Depth,Volume\nKR-1,1,10\n"), "plain text"},
		{"web page", []byte("\ufeff\r\n<html><table><tr><td>1</td></tr></table></html>"), "web page or XML"},
		{"other binary", []byte("\x7fELF\x00\x00\x00"), "not a workbook"},
		{"old binary workbook", compoundFile("Root Entry", "Workbook"), "old binary kind (.xls)"},
		{"very old binary workbook", []byte("\x09\x04\x06\x00\x00\x00\x10\x00"), "very old binary kind"},
		{"encrypted", compoundFile("Root Entry", "EncryptionInfo", "EncryptedPackage"), "encrypted with a password"},
		{"zip cut off", zipped[:len(zipped)/2], "cut off"},
		{"zip with only its start", zipped[:4], "cut off"},
		{"zip of something else", handmade.Package{}.Add("readme.txt", "hello").Bytes(), "holds no workbook"},
		{"OpenDocument", handmade.Package{}.Add("mimetype", "application/vnd.oasis.opendocument.spreadsheet").Add("content.xml", "<a/>").Bytes(), "OpenDocument"},
		{"binary new workbook", sound.Edit(t, "[Content_Types].xml", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml", "application/vnd.ms-excel.sheet.binary.macroEnabled.main").Bytes(), ".xlsb"},
		{"text document", sound.Edit(t, "[Content_Types].xml", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml", "application/vnd.openxmlformats-officedocument.wordprocessingml.document.main+xml").Bytes(), "text document"},
		{"no workbook part", replaced("xl/workbook.xml", ""), "workbook part xl/workbook.xml is missing"},
		{"no content types", replaced("[Content_Types].xml", ""), "holds no workbook"},
		{"no sheet part", replaced(handmade.Sheet1, ""), `xl/worksheets/sheet1.xml of its sheet "Charts" is missing`},
		{"no relationships of the workbook", replaced("xl/_rels/workbook.xml.rels", ""), "points to nothing"},
		{"no sheets", sound.Edit(t, "xl/workbook.xml", `<sheet name="Charts" sheetId="1" r:id="rId1"/>`, "").Bytes(), "no sheet at all"},
		{"two sheets of one name", sound.Edit(t, "xl/workbook.xml", `<sheets>`, `<sheets><sheet name="CHARTS" sheetId="2" r:id="rId1"/>`).Bytes(), "that of another sheet"},
		{"part twice", sound.Add(handmade.Sheet1, "<x/>").Bytes(), "twice"},
		{"part twice but for its case", sound.Add("xl/worksheets/Sheet1.xml", "<x/>").Bytes(), "twice"},
		{"part twice but for its slash", sound.Add(`xl\worksheets\sheet1.xml`, "<x/>").Bytes(), "twice"},
		{"part that climbs out", sound.Add("xl/../../evil.xml", "<x/>").Bytes(), "leads out"},
		{"part on a drive", sound.Add(`C:\evil.xml`, "<x/>").Bytes(), "leads out"},
		{"checksum wrong", handmade.CorruptSum(t, zipped, handmade.Sheet1), "its checksum is wrong"},
		{"checksum of shared strings wrong", handmade.CorruptSum(t, handmade.Plain(`<row r="1"><c r="A1" t="s"><v>0</v></c></row>`, "<t>a</t>").Bytes(), "xl/sharedStrings.xml"), "its checksum is wrong"},
		{"sheet damaged in the middle", damaged(t, zipped), "damaged"},
		{"sheet cut in half", replaced(handmade.Sheet1, sheet[:len(sheet)/2]), "breaks off"},
		{"sheet cut between rows", replaced(handmade.Sheet1, sheet[:strings.Index(sheet, `<row r="1000"`)]), "breaks off inside <sheetData>"},
		{"malformed tag", replaced(handmade.Sheet1, strings.Replace(sheet, `<c r="B1000">`, `<c r="B1000>`, 1)), "malformed"},
		{"UTF-16 sheet", replaced(handmade.Sheet1, handmade.UTF16(sheet)), "UTF-16"},
		{"Windows-1252 byte", replaced(handmade.Sheet1, strings.Replace(sheet, "<v>1</v>", "<v>\xbc</v>", 1)), "not UTF-8"},
		{"entity", replaced(handmade.Sheet1, `<!DOCTYPE x [<!ENTITY d "5">]>`+strings.Replace(sheet, "<v>1</v>", "<v>&d;</v>", 1)), "document type"},
		{"entity in the workbook part", replaced("xl/workbook.xml", `<!DOCTYPE x [<!ENTITY d "5">]>`+sound[2].Content), "document type"},
		{"rows out of order", replaced(handmade.Sheet1, strings.Replace(sheet, `<row r="1000">`, `<row r="7">`, 1)), "row 7 stands after row 999"},
		{"empty sheet part", packed(t, handmade.Sheet1, nil, 0, zip.Store), "is empty"},
		{"bomb that says so", packed(t, handmade.Sheet1, blanks(t, 1<<10), 1500<<20, zip.Deflate), "as no real sheet does"},
		{"bomb of 3 GB", packed(t, handmade.Sheet1, blanks(t, 1<<10), 3<<30, zip.Deflate), "at most"},
		{"bomb of styles", packed(t, "xl/styles.xml", blanks(t, 1<<10), 100<<20, zip.Store), "at most 64 MB"},
		{"bomb that says it is small", packed(t, handmade.Sheet1, blanks(t, 100<<20), 1<<20, zip.Deflate), "longer than the zip directory says"},
		{"longer than the directory says", packed(t, handmade.Sheet1, []byte(sheet), 100, zip.Store), "longer than the zip directory says"},
		{"shorter than the directory says", packed(t, handmade.Sheet1, blanks(t, 10), 1100, zip.Deflate), "shorter than the zip directory says"},
		{"packed by an odd method", packed(t, handmade.Sheet1, []byte("x"), 1, 12), "method 12"},
		{"entry encrypted", encryptedEntry(t), "encrypted"},
		{"entries longer than the file", overlong(t), "longer than the file"},
	} {
		start := time.Now()
		err := func() error {
			b, err := OpenReader("hand.xlsx", bytes.NewReader(c.file), int64(len(c.file)))
			if err != nil {
				return err
			}
			for _, s := range b.Sheets() {
				if _, err := handmade.Dump(s); err != nil {
					return err
				}
			}
			return nil
		}()
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want one with %q", c.name, err, c.want)
			continue
		}
		if !strings.HasPrefix(err.Error(), "hand.xlsx") {
			t.Errorf("%s: the error does not begin with the file: %v", c.name, err)
		}
		if took := time.Since(start); took > time.Second {
			t.Errorf("%s: refused after %v", c.name, took)
		}
	}
}

// damaged flips a bit in the middle of the sheet's packed bytes.
func damaged(t testing.TB, book []byte) []byte {
	t.Helper()
	r, err := zip.NewReader(bytes.NewReader(book), int64(len(book)))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range r.File {
		if f.Name == handmade.Sheet1 {
			at, err := f.DataOffset()
			if err != nil {
				t.Fatal(err)
			}
			out := bytes.Clone(book)
			out[at+int64(f.CompressedSize64)/2] ^= 0x10
			return out
		}
	}
	t.Fatal("no sheet")
	return nil
}

func encryptedEntry(t testing.TB) []byte {
	t.Helper()
	var buf bytes.Buffer
	w := zip.NewWriter(&buf)
	f, err := w.CreateRaw(&zip.FileHeader{Name: "xl/workbook.xml", Flags: 1, CompressedSize64: 3, UncompressedSize64: 3})
	if err != nil {
		t.Fatal(err)
	}
	io.WriteString(f, "abc")
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

// overlong names more packed bytes in its directory than the file has, as
// archives do whose entries lie over each other.
func overlong(t testing.TB) []byte {
	t.Helper()
	var buf bytes.Buffer
	w := zip.NewWriter(&buf)
	for _, p := range handmade.Plain("") {
		f, err := w.CreateRaw(&zip.FileHeader{Name: p.Name, Method: zip.Deflate, CompressedSize64: 4000, UncompressedSize64: 4000})
		if err != nil {
			t.Fatal(err)
		}
		io.WriteString(f, "x")
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

// What is odd but sound reads like the plain book.
func TestOddButSound(t *testing.T) {
	sound := handmade.Plain(`<row r="1"><c r="A1"><v>1</v></c><c r="B1" t="s"><v>0</v></c></row>`, "<t>dip</t>")
	const want = "1: A1=num 1 B1=text \"dip\"\n"
	backslashes := append(handmade.Package(nil), sound...)
	for i := range backslashes {
		backslashes[i].Name = strings.ReplaceAll(backslashes[i].Name, "/", `\`)
		if strings.HasSuffix(backslashes[i].Name, "workbook.xml.rels") {
			backslashes[i].Content = strings.ReplaceAll(backslashes[i].Content, `worksheets/sheet1`, `worksheets\sheet1`)
		}
	}
	marked := append(handmade.Package(nil), sound...)
	for i := range marked {
		marked[i].Content = "\ufeff" + marked[i].Content
	}
	elsewhere := sound.Rename("xl/workbook.xml", "book/main.xml").Rename("xl/_rels/workbook.xml.rels", "book/_rels/main.xml.rels").Rename("xl/sharedStrings.xml", "texts/all of them.xml").
		Rename(handmade.Sheet1, "sheets/a.xml").
		Edit(t, "_rels/.rels", "xl/workbook.xml", "/book/main.xml").
		Edit(t, "book/_rels/main.xml.rels", "worksheets/sheet1.xml", "../sheets/./a.xml").
		Edit(t, "book/_rels/main.xml.rels", "sharedStrings.xml", "/texts/all%20of%20them.xml").
		Edit(t, "book/_rels/main.xml.rels", "styles.xml", "/xl/styles.xml")
	for _, c := range []struct {
		name string
		book handmade.Package
	}{
		{"plain", sound},
		{"backslashes in names and targets", backslashes},
		{"byte order marks", marked},
		{"parts elsewhere, absolute and dotted targets", elsewhere},
		{"name in another case than its target", sound.Rename(handmade.Sheet1, "xl/Worksheets/SHEET1.xml").Rename("xl/sharedStrings.xml", "xl/sharedstrings.XML")},
		{"no relationships of the package", sound.With("_rels/.rels", "")},
		{"no styles", sound.With("xl/styles.xml", "").Edit(t, "xl/_rels/workbook.xml.rels", `<Relationship Id="rId2" Type="`+handmade.RelTypes+`/styles" Target="styles.xml"/>`, "")},
		{"a pointer to styles that are missing", sound.With("xl/styles.xml", "")},
		{"folders in the archive", append(handmade.Package{}.Add("xl/", "").Add("xl/worksheets/", ""), sound...)},
		{"slash in front of names", sound.Rename(handmade.Sheet1, "/"+handmade.Sheet1)},
		{"content types last", append(append(handmade.Package(nil), sound[1:]...), sound[0])},
		{"macros", sound.With("xl/vbaProject.bin", "x")},
	} {
		b, err := openBytes(c.book.Bytes())
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if got, err := handmade.Dump(b.Sheets()[0]); got != want || err != nil {
			t.Errorf("%s: got %s, %v", c.name, got, err)
		}
	}
}

func TestNoSharedStrings(t *testing.T) {
	h := handmade.Plain(`<row r="1"><c r="A1"><v>1</v></c></row>`).With("xl/sharedStrings.xml", "").
		Edit(t, "xl/_rels/workbook.xml.rels", `<Relationship Id="rId3" Type="`+handmade.RelTypes+`/sharedStrings" Target="sharedStrings.xml"/>`, "")
	if got, err := handmade.Dump(bookOf(t, h).Sheets()[0]); got != "1: A1=num 1\n" || err != nil {
		t.Errorf("got %s, %v", got, err)
	}
	h = h.Edit(t, handmade.Sheet1, `<c r="A1">`, `<c r="A1" t="s">`)
	dangling := bookOf(t, handmade.Plain(`<row r="1"><c r="A1" t="s"><v>1</v></c></row>`).With("xl/sharedStrings.xml", ""))
	if _, err := handmade.Dump(dangling.Sheets()[0]); err == nil || !strings.Contains(err.Error(), "Charts!A1: it points to shared text 1 but the book has no shared texts") {
		t.Errorf("with a pointer to them: error %v", err)
	}
	if notes := fmt.Sprint(dangling.Notes()); !strings.Contains(notes, "the part xl/sharedStrings.xml is missing") {
		t.Errorf("notes %s", notes)
	}
	if _, err := handmade.Dump(bookOf(t, h).Sheets()[0]); err == nil || !strings.Contains(err.Error(), "Charts!A1: it points to shared text 1 but the book has no shared texts") {
		t.Errorf("error %v", err)
	}
}

func TestOpenFromDisk(t *testing.T) {
	path := handmade.WriteFile(t, "tanks.xlsx", handmade.Plain(`<row r="1"><c r="A1"><v>1</v></c></row>`).Bytes())
	b, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	if b.Name() != "tanks.xlsx" || b.Sheets()[0].At().String() != "tanks.xlsx, Charts" {
		t.Errorf("the book is called %q", b.Name())
	}
	if _, err := handmade.Dump(b.Sheets()[0]); err != nil {
		t.Error(err)
	}
	if err := b.Close(); err != nil {
		t.Error(err)
	}
	if _, err := Open(filepath.Dir(path)); err == nil || !strings.Contains(err.Error(), "is a folder") {
		t.Errorf("a folder gives %v", err)
	}
	if _, err := Open(path + "x"); !os.IsNotExist(err) {
		t.Errorf("nothing there gives %v", err)
	}
}

// A damaged file is closed again: on some systems it could not be moved else.
func TestRefusedFileIsClosed(t *testing.T) {
	entries := func() int {
		list, err := os.ReadDir("/proc/self/fd")
		if err != nil {
			t.Skip("this system does not list open files")
		}
		return len(list)
	}
	before := entries()
	for i := range 20 {
		if _, err := Open(handmade.WriteFile(t, fmt.Sprintf("%d.xlsx", i), []byte("PK\x03\x04"))); err == nil {
			t.Fatal("no error")
		}
	}
	if after := entries(); after > before+5 {
		t.Errorf("%d files were open before, %d after", before, after)
	}
}

// FuzzPackage opens any bytes as a book and reads all there is.
func FuzzPackage(f *testing.F) {
	sound := handmade.Plain(manyRows(3), "<t>a</t>")
	f.Add(sound.Bytes())
	f.Add(handmade.CorruptSum(f, sound.Bytes(), handmade.Sheet1))
	f.Add(damaged(f, sound.Bytes()))
	f.Add(sound.Bytes()[:500])
	f.Add(compoundFile("Root Entry", "EncryptedPackage"))
	f.Add(packed(f, handmade.Sheet1, blanks(f, 1<<20), 1<<20, zip.Deflate))
	f.Add(encryptedEntry(f))
	f.Add(overlong(f))
	f.Fuzz(func(t *testing.T, src []byte) {
		b, err := openBytes(src)
		if err != nil {
			return
		}
		for _, s := range b.Sheets() {
			s.HiddenCols()
			s.Merges()
			handmade.Dump(s)
			s.(*Sheet).Tables()
		}
		if len(b.Notes()) == 0 {
			t.Fatal("no notes")
		}
	})
}
