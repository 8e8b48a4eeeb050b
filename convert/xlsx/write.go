package xlsx

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"time"

	"dropcut/convert/grid"
	"dropcut/convert/safefile"
	"dropcut/convert/xlsx/internal/patch"
	"dropcut/convert/xlsx/internal/read"
	"dropcut/convert/xlsx/internal/verify"
)

// WriteOptions say how a patched book takes its place.
type WriteOptions struct {
	// KeepCopy, when set, keeps the book that is replaced beside the new one,
	// with this time in its name.
	KeepCopy time.Time
}

// WriteBook writes an open workbook with an edit done to it to a file, which may
// be the book's own. The new book is written beside, read back and compared with
// the old one (see Verify), and only then renamed: at every moment the file is
// the old book or the new one, whole. It has the mode of the source. A book that
// is replaced by itself without a change stays as it is, and no copy is made;
// the report then says Unchanged.
func WriteBook(src *read.Book, edit grid.Edit, dst string, opts WriteOptions) (*patch.Report, error) {
	var report *patch.Report
	var mode fs.FileMode
	itself := false
	if f, ok := src.Pack.File.(*os.File); ok {
		info, err := f.Stat()
		if err != nil {
			return nil, err
		}
		mode = info.Mode().Perm()
		if there, err := os.Stat(dst); err == nil {
			itself = os.SameFile(info, there)
		}
	}
	write := func(w io.Writer) error {
		var err error
		if report, err = patch.Patch(src, edit, w); err != nil {
			return err
		}
		report.Unchanged = itself && len(report.Rewritten)+len(report.Added)+len(report.Removed) == 0
		if report.Unchanged {
			return errUnchanged
		}
		return nil
	}
	check := func(name string) error {
		if mode != 0 {
			if err := os.Chmod(name, mode); err != nil {
				return err
			}
		}
		is, err := read.Open(name)
		if err != nil {
			return err
		}
		defer is.Close()
		return verify.Books(src, is, edit)
	}
	var err error
	if opts.KeepCopy.IsZero() {
		err = safefile.Write(dst, write, check)
	} else {
		var kept string
		if kept, err = safefile.ReplaceKeepingCopy(dst, opts.KeepCopy, write, check); err == nil {
			report.Kept = kept
		}
	}
	if errors.Is(err, errUnchanged) {
		err = nil
	}
	if err != nil {
		return nil, err
	}
	return report, nil
}

// errUnchanged ends a writing that would change nothing.
var errUnchanged = errors.New("nothing changes")
