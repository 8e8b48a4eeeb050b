package chartout

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"dropcut/plan/unit"
)

// peer finds a program that is not part of the project. Without it the test is
// skipped, unless DROPCUT_PEERS=required.
func peer(t *testing.T, name string, probe ...string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err == nil && len(probe) > 0 {
		err = exec.Command(path, probe...).Run()
	}
	if err != nil && os.Getenv("DROPCUT_PEERS") == "required" {
		t.Fatalf("%s %s: %v", name, strings.Join(probe, " "), err)
	}
	if err != nil {
		t.Skipf("%s is not there (%v); DROPCUT_PEERS=required makes that a failure", name, err)
	}
	return path
}

func foldedBook(t *testing.T) string {
	t.Helper()
	var tables []*Table
	for i, step := range []unit.Length{unit.Inch, unit.Inch / 4, unit.Inch / 8} {
		made, err := Make(lying(t, []string{"MR-1", "OQ-1/A", "CR-2+CR-3"}[i], unit.Inches, unit.USGallons, 96, 320, 1, 1), Options{Step: step, StepText: "1 step"})
		if err != nil {
			t.Fatal(err)
		}
		tables = append(tables, made)
	}
	var out bytes.Buffer
	if err := Workbook(&out, tables, Folded); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "folded.xlsx")
	if err := os.WriteFile(path, out.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// An office program prints a page for each tank: one of 97 rows, one of 385 and
// one of 769.
func TestOfficeProgramPrintsOnePageATank(t *testing.T) {
	if os.Getenv("DROPCUT_PEERS") != "required" {
		t.Skip("the office program takes seconds to start: run with DROPCUT_PEERS=required")
	}
	office := peer(t, "soffice")
	path := foldedBook(t)
	dir := filepath.Dir(path)
	ctx, cancel := context.WithTimeout(t.Context(), 2*time.Minute)
	defer cancel()
	cmd := exec.CommandContext(ctx, office, "-env:UserInstallation=file://"+filepath.Join(dir, "profile"), "--headless", "--convert-to", "pdf", "--outdir", dir, path)
	if text, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, text)
	}
	pdf, err := os.ReadFile(filepath.Join(dir, "folded.pdf"))
	if err != nil {
		t.Fatal(err)
	}
	if n := len(regexp.MustCompile(`/Type\s*/Page[^s]`).FindAll(pdf, -1)); n != 3 {
		t.Errorf("%d pages for 3 tanks", n)
	}
}

// openpyxl, a reader by other people, finds the same sheets, sizes and corners.
func TestOtherReaderFindsTheSame(t *testing.T) {
	python := peer(t, "/usr/bin/python3", "-c", "import openpyxl")
	const script = `import openpyxl, sys
b = openpyxl.load_workbook(sys.argv[1])
for s in b: print(s.title, s["A1"].value, s.page_setup.fitToHeight, s.page_setup.paperSize, sum(1 for r in s.iter_rows() for c in r if isinstance(c.value, (int, float))), sep="|")`
	out, err := exec.Command(python, "-c", script, foldedBook(t)).CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	want := "MR-1|Tank MR-1|1|1|194\nOQ-1-A|Tank OQ-1/A|1|1|770\nCR-2+CR-3|Tank CR-2+CR-3|1|1|1538\n"
	if string(out) != want {
		t.Errorf("found\n%swant\n%s", out, want)
	}
}
