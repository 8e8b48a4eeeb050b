package parts

import (
	"io"

	"dropcut/convert/xlsx/internal/lex"
	"dropcut/convert/xlsx/internal/opc"
)

// Shared strings are kept for as long as the book is open: at most this much
// XML of them is read.
const StringsMax = 256 << 20

// Strings is the book's table of texts in one piece of memory.
type Strings struct {
	arena []byte
	Ends  []uint32
}

// At gives a text by its index; ok is false beyond the table. The text is not
// to be changed.
func (s *Strings) At(i int) (text []byte, ok bool) {
	if i < 0 || i >= len(s.Ends) {
		return nil, false
	}
	from := uint32(0)
	if i > 0 {
		from = s.Ends[i-1]
	}
	to := s.Ends[i]
	return s.arena[from:to:to], true
}

// ReadStrings reads a shared strings part (ECMA-376 Part 1, 18.4).
func ReadStrings(p *opc.Package, e *opc.Part) (*Strings, error) {
	s := &Strings{}
	err := p.Lex(e, StringsMax, func(x *lex.Lexer) error {
		if err := x.Root("sst"); err != nil {
			return err
		}
		for {
			tok, err := x.Next()
			if err == io.EOF {
				return nil
			}
			if err == nil && tok == lex.TokStart {
				if x.Is("si") {
					s.arena, err = lex.RichText(x, s.arena)
					s.Ends = append(s.Ends, uint32(len(s.arena)))
				} else {
					err = x.Skip()
				}
			}
			if err != nil {
				return err
			}
		}
	})
	if err != nil {
		return nil, err
	}
	return s, nil
}
