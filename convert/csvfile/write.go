package csvfile

import (
	"bufio"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"dropcut/convert/grid"

	"github.com/gocarina/gocsv"
)

// inertWriter makes every text inert on its way into a CSV file, since a
// program's findings quote what stands in other people's cells.
type inertWriter struct{ w *csv.Writer }

func (i inertWriter) Write(row []string) error {
	safe := make([]string, len(row))
	for k, s := range row {
		safe[k] = Inert(s)
	}
	return i.w.Write(safe)
}

func (i inertWriter) Flush()       { i.w.Flush() }
func (i inertWriter) Error() error { return i.w.Error() }

// Write writes typed records as a new CSV file: UTF-8, LF, the heading first,
// its names and their order from the csv tags of T. Texts that a spreadsheet
// would take for formulas are made inert. No rows give the heading alone.
func Write[T any](w io.Writer, rows []T) error {
	return gocsv.MarshalCSV(rows, inertWriter{csv.NewWriter(w)})
}

// WriteSheet writes a sheet of dropcut's own as a new CSV file: UTF-8, LF,
// numbers in full with a decimal point. What could be taken for the delimiter is
// quoted, be it another one: a sheet of few rows would be cut at the semicolons of
// its texts when it is read again.
func WriteSheet(w io.Writer, s grid.NewSheet) error {
	out := bufio.NewWriter(w)
	var line []byte
	for i, row := range s.Rows {
		line = line[:0]
		for k, v := range row {
			if k > 0 {
				line = append(line, ',')
			}
			switch {
			case !v.IsNumber:
				line = appendField(line, Inert(v.Text))
			case math.IsNaN(v.Number) || math.IsInf(v.Number, 0):
				return fmt.Errorf("%s, row %d, column %d: the number to be written is none", s.Name, i+1, k+1)
			default:
				line = strconv.AppendFloat(line, v.Number, 'f', -1, 64)
			}
		}
		// A buffer that has failed goes on failing.
		_, _ = out.Write(append(line, '\n'))
	}
	return out.Flush()
}

// appendField appends a field, in quotes where it needs them (RFC 4180, 2.).
func appendField(line []byte, text string) []byte {
	if !strings.ContainsAny(text, ",;|\t\"\r\n") && text == strings.TrimSpace(text) {
		return append(line, text...)
	}
	line = append(line, '"')
	line = append(line, strings.ReplaceAll(text, `"`, `""`)...)
	return append(line, '"')
}
