package chart

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"math"
)

// CheckWord is a short word made of a chart's numbers and units, and of nothing
// else: two people who planned from the same chart have the same word, wherever
// their copies of it stand. It is the start of a SHA-256 hash.
func (c *Chart) CheckWord() string {
	h := sha256.New()
	buf := make([]byte, 0, 4096)
	buf = append(buf, byte(c.DepthUnit), byte(c.VolumeUnit))
	for i := range c.Rows {
		if len(buf) > cap(buf)-16 {
			// Writing to a hash never fails.
			_, _ = h.Write(buf)
			buf = buf[:0]
		}
		buf = binary.LittleEndian.AppendUint64(buf, math.Float64bits(c.Rows[i].Depth))
		buf = binary.LittleEndian.AppendUint64(buf, math.Float64bits(c.Rows[i].Volume))
	}
	_, _ = h.Write(buf)
	return hex.EncodeToString(h.Sum(nil))[:12]
}
