package csvfile

import (
	"bytes"
	"errors"
	"fmt"

	"dropcut/convert/csvfile/record"
	"dropcut/plan/unit"
)

// Dialect is how a CSV file is written: everything that a file has to be given
// back in.
type Dialect struct {
	Encoding  record.Encoding
	Mark      bool   // it starts with a byte order mark
	Delimiter byte   // ',', ';', a tab, '|', or what a sep= line names
	Sep       bool   // it starts with a sep= line
	LineEnd   string // the commonest: "\n", "\r\n" or "\r"
	// Decimal is the sign that the numbers of the file use, as far as its head
	// shows; DecimalKnown says that something proves it.
	Decimal      unit.Decimal
	DecimalKnown bool
}

// delimiters are tried in this order: where two cut the lines equally well, the
// later one is likelier to stand within the fields (a decimal comma).
var delimiters = [...]struct {
	b    byte
	name string
}{{'\t', "tab"}, {';', "semicolon"}, {'|', "bar"}, {',', "comma"}}

func delimiterName(b byte) string {
	for _, d := range delimiters {
		if d.b == b {
			return d.name
		}
	}
	return fmt.Sprintf("%q", string(rune(b)))
}

const looked = 100 // lines at the head that settle the dialect

// dialect settles how a file is written from the characters at its head.
func dialectOf(f *record.Facts) (d Dialect, skip int, err error) {
	d.Encoding, d.Mark = f.Encoding, f.Mark
	switch {
	case f.CRLF > 0 && f.CRLF >= f.LF && f.CRLF >= f.CR:
		d.LineEnd = "\r\n"
	case f.CR > f.LF:
		d.LineEnd = "\r"
	default:
		d.LineEnd = "\n"
	}
	head := f.Head
	if b, n := sepLine(head); n > 0 {
		d.Delimiter, d.Sep, skip = b, true, n
		head = head[n:]
	}
	if len(bytes.Trim(head, " \t\r\n\x1a\xa0\xc2")) == 0 && f.Whole {
		return d, 0, errors.New("the file holds no rows; a table was expected")
	}
	if !d.Sep {
		if control(head) {
			return d, 0, errors.New("the file holds bytes that stand in no text; save it again as .csv from the program that made it")
		}
		if d.Delimiter = delimiterOf(head, f.Whole); d.Delimiter == 0 {
			return d, 0, errors.New("no line of the file is parted by commas, semicolons, tabs or bars: this is text, not a table")
		}
	}
	vote := votes(head, d.Delimiter, f.Whole)
	dec, verdict := vote.Result()
	switch {
	case verdict == unit.Settled || verdict == unit.Mixed:
		d.Decimal, d.DecimalKnown = dec, true
	case d.Delimiter == ';':
		// A comma that is not wanted for decimals needs no semicolon beside it.
		d.Decimal = unit.DecimalComma
	}
	return d, skip, nil
}

// sepLine reads a first line such as sep=; or "sep=;" and gives the delimiter
// and the length of the line with its end, 0 for no such line.
func sepLine(b []byte) (delim byte, n int) {
	line := b[:min(len(b), 16)]
	end := bytes.IndexAny(line, "\r\n")
	if end < 0 {
		if len(line) < len(b) {
			return 0, 0
		}
		end = len(line)
	}
	n = end
	if n < len(b) && b[n] == '\r' {
		n++
	}
	if n < len(b) && b[n] == '\n' {
		n++
	}
	line = line[:end]
	if len(line) >= 2 && line[0] == '"' && line[len(line)-1] == '"' {
		line = line[1 : len(line)-1]
	}
	if len(line) < 5 || !bytes.EqualFold(line[:4], []byte("sep=")) {
		return 0, 0
	}
	c := line[4]
	// Some programs write the line as a row of the table: sep=;;; or sep=,,
	for _, x := range line[5:] {
		if x != c && x != ' ' {
			return 0, 0
		}
	}
	if c == '"' || c == '=' || c == '\\' || c >= 0x80 || c != '\t' && c <= ' ' || c >= '0' && c <= '9' || c|0x20 >= 'a' && c|0x20 <= 'z' {
		return 0, 0
	}
	return c, n
}

// control reports bytes that no text file holds.
func control(b []byte) bool {
	n := 0
	for _, c := range b {
		if c < ' ' && c != '\t' && c != '\n' && c != '\r' && c != '\f' && c != '\v' && c != 0x1A && c != 0x1B {
			n++
		}
	}
	return n > len(b)/50 || n > 20
}

// delimiterOf counts each delimiter outside quotes over the first lines. One
// that stands equally often in most lines cuts them into columns. It gives 0
// where none stands in any line.
func delimiterOf(head []byte, whole bool) byte {
	type tally struct {
		lines map[int]int // how many lines hold it so often
		any   int         // lines that hold it at all
	}
	var tallies [len(delimiters)]tally
	lines := 0
	for _, counts := range countLines(head, whole) {
		lines++
		for k, n := range counts {
			if n == 0 {
				continue
			}
			if tallies[k].lines == nil {
				tallies[k].lines = make(map[int]int)
			}
			tallies[k].lines[n]++
			tallies[k].any++
		}
	}
	best, most := byte(0), 0
	sure, lead := byte(0), 0
	for k, t := range tallies {
		same := 0
		for _, n := range t.lines {
			same = max(same, n)
		}
		if same == 0 {
			continue
		}
		// A comma may well stand equally often in each line of a file that has
		// semicolons or tabs; the reverse hardly happens. So three lines of
		// five settle it for those, if the commas left in their fields make
		// sense there: "12,5" does, "A,12.5,ready" does not.
		if b := delimiters[k].b; b != ',' && 5*same >= 3*lines && same > lead && commasFit(head, b) {
			sure, lead = b, same
		}
		if score := 4*same + t.any; score > most {
			best, most = delimiters[k].b, score
		}
	}
	if sure != 0 {
		return sure
	}
	return best
}

// commasFit reports whether the commas in the fields that a delimiter leaves are
// decimal commas, marks of thousands, or commas of a phrase; one field in five
// may be odd.
func commasFit(head []byte, delim byte) bool {
	s := record.SplitBytes(head, delim)
	good, bad := 0, 0
	for n := 0; n < looked && s.Next(); n++ {
		for i := range s.Fields {
			b := s.Text(&s.Fields[i])
			at := bytes.IndexByte(b, ',')
			if at < 0 || s.Fields[i].Quoted {
				continue
			}
			if commaFits(b, at) {
				good++
			} else {
				bad++
			}
		}
	}
	return bad == 0 || 4*bad <= good
}

func commaFits(b []byte, at int) bool {
	if _, ok := unit.Number(b, unit.DecimalComma); ok {
		return true
	}
	if _, ok := unit.Number(b, unit.DecimalPoint); ok {
		return true
	}
	one := bytes.IndexByte(b[at+1:], ',') < 0
	if one && unit.FormOf(b) == unit.FormComma {
		return true // 2,45 m
	}
	for i := at; i < len(b); i++ {
		if b[i] == ',' && i+1 < len(b) && b[i+1] != ' ' {
			return false
		}
	}
	return true
}

// countLines gives, for each line of the head that holds something, how often
// each delimiter stands in it outside quotes. Quotes open and close by the rules
// of the splitter with any of the delimiters; a line whose quote is never closed
// is counted as if it had none.
func countLines(head []byte, whole bool) [][len(delimiters)]int {
	var out [][len(delimiters)]int
	for len(head) > 0 && len(out) < looked {
		var in, bare [len(delimiters)]int // outside quotes; on the first line, quotes or not
		quoted, fieldStart := false, true
		end, firstEnd := -1, -1
		for i := 0; i < len(head) && end < 0; i++ {
			c := head[i]
			switch {
			case c == '\n' || c == '\r':
				if firstEnd < 0 {
					firstEnd = i
				}
				if !quoted {
					end = i
				}
			case c == '"' && quoted:
				switch {
				case i+1 < len(head) && head[i+1] == '"':
					i++
				case closes(head[i+1:]):
					quoted = false
				}
			case c == '"' && fieldStart:
				quoted, fieldStart = true, false
			case c == ' ':
			default:
				fieldStart = false
				for k := range delimiters {
					if c != delimiters[k].b {
						continue
					}
					if firstEnd < 0 {
						bare[k]++
					}
					if !quoted {
						in[k]++
						fieldStart = true
					}
				}
			}
		}
		switch {
		case end >= 0:
		case !quoted && (whole || len(out) == 0):
			end = len(head)
		case quoted && firstEnd >= 0:
			end, in = firstEnd, bare
		case quoted && whole:
			end, in = len(head), bare
		default:
			return out // the last line of the head may be cut
		}
		if len(bytes.TrimSpace(head[:end])) > 0 {
			out = append(out, in)
		}
		head = head[min(end+1, len(head)):]
	}
	return out
}

// closes reports whether a quote before b may close its field.
func closes(b []byte) bool {
	for _, c := range b {
		switch c {
		case ' ':
			continue
		case '\n', '\r', ',', ';', '\t', '|':
			return true
		}
		return false
	}
	return true
}

// votes counts what the fields at the head prove about the decimal sign.
func votes(head []byte, delim byte, whole bool) unit.DecimalVote {
	var v unit.DecimalVote
	s := record.SplitBytes(head, delim)
	for n := 0; n < 1000 && s.Next(); n++ {
		if s.Last() && !whole {
			break // the last record of the head may be cut
		}
		for i := range s.Fields {
			if delim == ',' && !s.Fields[i].Quoted {
				// A field between commas can hold no decimal comma.
				if f := unit.FormOf(s.Text(&s.Fields[i])); f == unit.FormPoint {
					v.Point++
				}
				continue
			}
			v.Add(s.Text(&s.Fields[i]))
		}
	}
	return v
}
