package opc

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"io"
	"strings"

	"github.com/klauspost/compress/flate"
)

// CopyRaw copies an entry as it lies in the archive.
func CopyRaw(out *zip.Writer, f *zip.File) error {
	h := f.FileHeader
	h.Extra = WithoutZip64(h.Extra)
	if strings.HasSuffix(h.Name, "/") {
		// A folder; some writers give it two bytes of packed nothing.
		h.Method, h.CompressedSize64, h.UncompressedSize64, h.CRC32 = zip.Store, 0, 0, 0
		h.Flags &^= 8
	}
	w, err := out.CreateRaw(&h)
	if err != nil || strings.HasSuffix(h.Name, "/") {
		return err
	}
	r, err := f.OpenRaw()
	if err != nil {
		return err
	}
	_, err = io.Copy(w, r)
	return err
}

// WithoutZip64 drops the field of long sizes (APPNOTE 4.5.3): the writer puts in
// its own where an entry needs one, and a second one would contradict it.
func WithoutZip64(extra []byte) []byte {
	var out []byte
	for rest := extra; len(rest) >= 4; {
		n := int(binary.LittleEndian.Uint16(rest[2:])) + 4
		if n > len(rest) {
			return append(out, rest...)
		}
		if binary.LittleEndian.Uint16(rest) != 1 {
			out = append(out, rest[:n]...)
		}
		rest = rest[n:]
	}
	return out
}

// Packer deflates one entry at a time.
type Packer struct {
	flate *flate.Writer
	buf   bytes.Buffer
}

// NewPacker makes one.
func NewPacker() *Packer {
	w, _ := flate.NewWriter(io.Discard, flate.DefaultCompression) // fails on a level that does not exist
	return &Packer{flate: w}
}

// Entry writes an entry under an old one's header. The packed bytes are held in
// memory, for their size and checksum stand before them.
func (p *Packer) Entry(out *zip.Writer, h zip.FileHeader, write func(io.Writer) error) error {
	p.buf.Reset()
	p.flate.Reset(&p.buf)
	count := &counter{w: p.flate}
	if err := write(count); err != nil {
		return err
	}
	if err := p.flate.Close(); err != nil {
		return err
	}
	h.Extra = WithoutZip64(h.Extra)
	h.Method = zip.Deflate
	h.Flags &^= 0x8 | 0x6 // no descriptor behind the data, no word on the level
	h.CRC32, h.CompressedSize64, h.UncompressedSize64 = count.sum, uint64(p.buf.Len()), count.n
	w, err := out.CreateRaw(&h)
	if err != nil {
		return err
	}
	_, err = w.Write(p.buf.Bytes())
	return err
}

// counter counts and sums what goes through.
type counter struct {
	w   io.Writer
	n   uint64
	sum uint32
}

func (c *counter) Write(b []byte) (int, error) {
	c.n += uint64(len(b))
	c.sum = crc32.Update(c.sum, crc32.IEEETable, b)
	return c.w.Write(b)
}
