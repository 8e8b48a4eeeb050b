package safefile

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
)

// InUseError says that somebody has a book open, since the owner file that
// spreadsheet programs put beside an open book is there.
type InUseError struct {
	Path  string
	Owner string // "" where the owner file does not tell
	File  string // the owner file
}

func (e *InUseError) Error() string {
	who := "somebody"
	if e.Owner != "" {
		who = e.Owner
	}
	return fmt.Sprintf("%s is open by %s; have it closed there and run again, or delete %s if nobody has it open", e.Path, who, e.File)
}

// InUse gives an *InUseError where an owner file beside the book says that it is
// open: ~$NAME or .~lock.NAME#.
func InUse(path string) error {
	dir, base := filepath.Split(path)
	for _, o := range []struct {
		name string
		read func([]byte) string
	}{
		{"~$" + base, officeOwner},
		{".~lock." + base + "#", lockOwner},
	} {
		file := filepath.Join(dir, o.name)
		st, err := os.Stat(file)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return err
		}
		if st.IsDir() {
			continue
		}
		found := &InUseError{Path: path, File: file}
		if st.Size() <= 64<<10 {
			if b, err := os.ReadFile(file); err == nil {
				found.Owner = o.read(b)
			}
		}
		return found
	}
	return nil
}

// officeOwner reads the owner's name from a file of about 165 bytes: its length
// and characters in one byte each, then from byte 55 on its length and its
// characters in UTF-16. The layout is from memory, so anything odd gives "".
func officeOwner(b []byte) string {
	const wide = 55
	if len(b) > wide+2 {
		if n := int(binary.LittleEndian.Uint16(b[wide:])); n > 0 && n <= 54 && len(b) >= wide+2+2*n {
			if name := utf16Text(b[wide+2:], n); name != "" {
				return name
			}
		}
	}
	if len(b) == 0 || int(b[0]) >= len(b) || b[0] > 54 {
		return ""
	}
	var s strings.Builder
	for _, c := range b[1 : 1+int(b[0])] {
		s.WriteRune(charmap.Windows1252.DecodeByte(c))
	}
	return presentable(s.String())
}

func utf16Text(b []byte, n int) string {
	u := make([]uint16, n)
	for i := range u {
		u[i] = binary.LittleEndian.Uint16(b[2*i:])
	}
	s := string(utf16.Decode(u))
	for _, r := range s {
		if !unicode.IsPrint(r) || r == utf8.RuneError {
			return ""
		}
	}
	return presentable(s)
}

// lockOwner reads a line such as ",name,machine,03.04.2026 14:15,file:///...;":
// full name, login and machine, each of which may be empty.
func lockOwner(b []byte) string {
	parts := strings.Split(string(b), ",")
	if len(parts) < 3 {
		return ""
	}
	name := presentable(parts[0])
	if name == "" {
		name = presentable(parts[1])
	}
	if machine := presentable(parts[2]); machine != "" && name != "" {
		return name + " on " + machine
	}
	return name
}

// presentable clips a name from somebody else's file to something that can be
// put into a message.
func presentable(s string) string {
	s = strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) || r == utf8.RuneError {
			return -1
		}
		return r
	}, s)
	if r := []rune(s); len(r) > 60 {
		s = string(r[:60])
	}
	return strings.TrimSpace(s)
}
