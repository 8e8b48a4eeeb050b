package parts

import (
	"strings"

	"dropcut/convert/grid"
	"dropcut/convert/xlsx/internal/lex"
	"dropcut/convert/xlsx/internal/opc"
)

// Styles is what a cell's style index says of its number.
type Styles struct {
	Formats []grid.Format // by style index
	Codes   []string      // the format codes, "" for a built-in one
}

// ReadStyles reads the cell formats of a styles part (ECMA-376 Part 1, 18.8).
func ReadStyles(p *opc.Package, e *opc.Part) (*Styles, error) {
	s := &Styles{}
	custom := map[int]string{}
	var ids []int
	err := p.Walk(e, func(x *lex.Lexer) error {
		switch {
		case x.Is("numFmt"):
			// A differential format may hold one too, with an id of its own.
			if id, ok := lex.Index(x.Attr("numFmtId")); ok && x.Depth() == 3 {
				custom[id] = string(lex.DecodeEscapes([]byte(string(x.Attr("formatCode")))))
			}
		case x.Is("cellXfs"):
			for depth := x.Depth() - 1; x.Depth() > depth; {
				tok, err := x.Next()
				if err != nil {
					return err
				}
				if tok == lex.TokStart && x.Is("xf") {
					id, _ := lex.Index(x.Attr("numFmtId"))
					ids = append(ids, id)
				}
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	s.Formats, s.Codes = make([]grid.Format, len(ids)), make([]string, len(ids))
	known := make(map[int]grid.Format, len(custom))
	for i, id := range ids {
		code, ok := custom[id]
		if !ok {
			s.Formats[i] = builtinFormat(id)
			continue
		}
		f, ok := known[id]
		if !ok {
			f = formatOf(code)
			known[id] = f
		}
		s.Formats[i], s.Codes[i] = f, code
	}
	return s, nil
}

// builtinFormat is the meaning of a format id that no code stands for:
// ECMA-376 Part 1, 18.8.30, with the ids that differ by language.
func builtinFormat(id int) grid.Format {
	switch {
	case id == 9, id == 10, id == 67, id == 68:
		return grid.PercentFormat
	case id == 12, id == 13, id == 69, id == 70:
		return grid.FractionFormat
	case id >= 14 && id <= 22, id >= 27 && id <= 36, id >= 45 && id <= 47, id >= 50 && id <= 58, id >= 71 && id <= 81:
		return grid.DateFormat
	}
	return grid.Plain
}

// formatOf reads a format code (ECMA-376 Part 1, 18.8.31). A date in any of
// its sections makes it a date format, since a depth shown as a date is to be
// seen; otherwise the first section, that of positive numbers, decides.
func formatOf(code string) grid.Format {
	first := grid.Plain
	for i, section := range sections(code) {
		f := sectionFormat(section)
		if f == grid.DateFormat {
			return f
		}
		if i == 0 {
			first = f
		}
	}
	return first
}

// sections cuts a code at the semicolons that are not quoted and leaves out
// what only decorates: quoted and escaped text, colours, conditions and
// currencies in brackets, and the word General. Elapsed time in brackets stays,
// as its letter.
func sections(code string) []string {
	var list []string
	var b strings.Builder
	for i := 0; i < len(code); i++ {
		switch c := code[i]; c {
		case ';':
			list = append(list, b.String())
			b.Reset()
		case '"':
			end := strings.IndexByte(code[i+1:], '"')
			if end < 0 {
				end = len(code) - i - 1
			}
			i += end + 1
		case '\\', '_', '*':
			// A width or a filler is one character; its length in bytes does
			// not matter, for what is left of it is no code letter.
			i++
		case '[':
			end := strings.IndexByte(code[i:], ']')
			if end < 0 {
				end = len(code) - i
			} else if inner := strings.ToLower(code[i+1 : i+end]); inner != "" && strings.Trim(inner, inner[:1]) == "" && strings.Contains("hms", inner[:1]) {
				b.WriteString(inner)
			}
			i += end
		default:
			const general = "general"
			if (c == 'G' || c == 'g') && len(code)-i >= len(general) && strings.EqualFold(code[i:i+len(general)], general) {
				i += len(general) - 1
				continue
			}
			b.WriteByte(c)
		}
	}
	return append(list, b.String())
}

// sectionFormat classifies a section that was stripped by sections.
func sectionFormat(s string) grid.Format {
	var date, seconds, percent, digits bool
	slash := false
	for i := 0; i < len(s); i++ {
		switch c := s[i] | 0x20; {
		case c == 'e' && i+1 < len(s) && (s[i+1] == '+' || s[i+1] == '-'):
			i++ // the exponent of a number
		case c == 's':
			date, seconds = true, true
		case strings.IndexByte("ymdhegb", c) >= 0 && s[i] >= 'A':
			date = true
		case c == 'a' && s[i] >= 'A' && (hasFold(s[i:], "am/pm") || hasFold(s[i:], "a/p") || hasFold(s[i:], "aaa")):
			date = true
			if n := strings.IndexAny(s[i:], "pP"); n >= 0 {
				i += n
			}
		case s[i] == '%':
			percent = true
		case s[i] == '0' || s[i] == '#' || s[i] == '?':
			// The zeros of ss.000 belong to the time.
			if seconds && fractionOfSecond(s, i) {
				continue
			}
			digits = true
		case s[i] == '/':
			slash = slash || (digits && fractionBar(s, i))
		}
	}
	switch {
	// Letters beside digits are a unit that somebody forgot to quote: "0.0 mm".
	case date && !digits:
		return grid.DateFormat
	case percent:
		return grid.PercentFormat
	case slash:
		return grid.FractionFormat
	}
	return grid.Plain
}

func hasFold(s, prefix string) bool {
	return len(s) >= len(prefix) && strings.EqualFold(s[:len(prefix)], prefix)
}

// fractionOfSecond reports whether the placeholder at i follows a second's
// decimal point: s.0, s.00, s.000, with a comma too.
func fractionOfSecond(s string, i int) bool {
	for i > 0 && s[i-1] == '0' {
		i--
	}
	return i > 1 && (s[i-1] == '.' || s[i-1] == ',') && s[i-2]|0x20 == 's'
}

// fractionBar reports whether the slash at i stands between a numerator's
// placeholder and a denominator: # ?/?, # ??/16.
func fractionBar(s string, i int) bool {
	before, after := strings.TrimRight(s[:i], " "), strings.TrimLeft(s[i+1:], " ")
	return before != "" && strings.ContainsRune("?#0", rune(before[len(before)-1])) &&
		after != "" && strings.ContainsRune("?#0123456789", rune(after[0]))
}
