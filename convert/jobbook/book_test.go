package jobbook

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"dropcut/convert/jobbook/jobtest"

	"github.com/xuri/excelize/v2"

	"dropcut/convert/xlsx"
)

// Every job book of the demonstration can be opened by two readers, is the same
// bytes each time, and has a page for each tank.
func TestBooksOfTheDemonstration(t *testing.T) {
	_, results := jobtest.Demo(t)
	m := newMaker(t)
	for _, inspection := range []bool{false, true} {
		jobs := Jobs(results, "demo.xlsx")
		names := FileNames(jobs, ".xlsx")
		if len(jobs) < 5 {
			t.Fatalf("%d jobs", len(jobs))
		}
		for i, job := range jobs {
			job.Inspection = inspection
			job.Letter = true
			var a, b bytes.Buffer
			if err := m.Write(&a, job); err != nil {
				t.Fatal(err)
			}
			if err := m.Write(&b, job); err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(a.Bytes(), b.Bytes()) {
				t.Errorf("%s: two books differ", names[i])
			}
			if dir := os.Getenv("DROPCUT_JOBS"); dir != "" {
				file := names[i]
				if inspection {
					file = "inspection-" + file
				}
				if err := os.WriteFile(filepath.Join(dir, file), a.Bytes(), 0o666); err != nil {
					t.Fatal(err)
				}
			}
			f, err := excelize.OpenReader(bytes.NewReader(a.Bytes()))
			if err != nil {
				t.Fatal(err)
			}
			for _, r := range job.Results {
				if n, err := f.GetSheetIndex(strings.ReplaceAll(r.Tank.ID.Raw, "/", "-")); err != nil || n < 0 {
					t.Errorf("%s has no page for %s", names[i], r.Tank.ID.Raw)
				}
			}
			ours, err := xlsx.OpenReader(names[i], bytes.NewReader(a.Bytes()), int64(a.Len()))
			if err != nil {
				t.Fatal(err)
			}
			for _, s := range ours.Sheets() {
				for _, err := range s.Rows() {
					if err != nil {
						t.Error(err)
					}
				}
			}
		}
	}
}
