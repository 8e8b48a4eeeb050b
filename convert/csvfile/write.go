package csvfile

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"

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
// numbers in full with a decimal point.
func WriteSheet(w io.Writer, s grid.NewSheet) error {
	out := inertWriter{csv.NewWriter(w)}
	for i, row := range s.Rows {
		fields := make([]string, len(row))
		for k, v := range row {
			switch {
			case !v.IsNumber:
				fields[k] = v.Text
			case math.IsNaN(v.Number) || math.IsInf(v.Number, 0):
				return fmt.Errorf("%s, row %d, column %d: the number to be written is none", s.Name, i+1, k+1)
			default:
				fields[k] = strconv.FormatFloat(v.Number, 'f', -1, 64)
			}
		}
		if err := out.Write(fields); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}
