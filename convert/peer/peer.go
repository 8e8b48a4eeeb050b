// Package peer finds the other programs that tests hold dropcut's output
// against: LibreOffice, openpyxl, Chromium, npm packages. It is a package of its own, small as
// it is, because tests on several floors need it.
//
// Without a program its test is skipped and says so; where DROPCUT_PEERS is
// "required", as in CI, a missing program fails the test.
package peer

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// Required reports whether a missing peer is a failure.
func Required() bool { return os.Getenv("DROPCUT_PEERS") == "required" }

// Missing skips the test, or fails it where peers are required.
func Missing(t testing.TB, what string) {
	t.Helper()
	if Required() {
		t.Fatalf("%s is required by DROPCUT_PEERS and was not found", what)
	}
	t.Skipf("%s was not found: the comparison is left out", what)
}

// Program gives the path of the first of the programs that is installed.
func Program(t testing.TB, names ...string) string {
	t.Helper()
	for _, name := range names {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	Missing(t, strings.Join(names, " or "))
	return ""
}

// Python gives a Python that has openpyxl.
func Python(t testing.TB) string {
	t.Helper()
	for _, name := range []string{"/usr/bin/python3", "python3", "python"} {
		if exec.Command(name, "-c", "import openpyxl").Run() == nil {
			return name
		}
	}
	Missing(t, "a Python with openpyxl")
	return ""
}

// Output runs a program and gives what it prints; it must end well.
func Output(t testing.TB, name string, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	cmd := exec.Command(name, args...)
	cmd.Stdout, cmd.Stderr = &out, &errs
	if err := cmd.Run(); err != nil {
		t.Fatalf("%s %s: %v\n%s", filepath.Base(name), strings.Join(args, " "), err, errs.String())
	}
	return out.String()
}

// Convert has LibreOffice open a file and save it as another kind ("pdf",
// "xlsx", "csv:..."), and gives the new file's path. Starting an office program
// takes seconds, so this runs only where peers are required.
func Convert(t testing.TB, file, to string) string {
	t.Helper()
	if !Required() {
		t.Skip("an office program takes seconds: run with DROPCUT_PEERS=required")
	}
	office := Program(t, "soffice", "libreoffice")
	dir := t.TempDir()
	// A profile of its own, so that tests can run beside each other.
	Output(t, office, "-env:UserInstallation=file://"+filepath.ToSlash(filepath.Join(dir, "profile")), "--headless", "--convert-to", to, "--outdir", dir, file)
	kind, _, _ := strings.Cut(to, ":")
	name := strings.TrimSuffix(filepath.Base(file), filepath.Ext(file)) + "." + kind
	return filepath.Join(dir, name)
}

// ConvertAll has LibreOffice open books and save them as .xlsx in a folder.
func ConvertAll(t testing.TB, dir string, files []string) {
	t.Helper()
	office := Program(t, "soffice", "libreoffice")
	profile := filepath.ToSlash(filepath.Join(t.TempDir(), "profile"))
	Output(t, office, append([]string{"-env:UserInstallation=file://" + profile, "--headless", "--convert-to", "xlsx", "--outdir", dir}, files...)...)
}

// Node gives the path of node, and the folder in which it finds the npm packages
// that a test needs: the one that DROPCUT_NODE_MODULES names.
func Node(t testing.TB, packages ...string) (node, modules string) {
	t.Helper()
	node = Program(t, "node", "nodejs")
	modules = os.Getenv("DROPCUT_NODE_MODULES")
	for _, name := range packages {
		if _, err := os.Stat(filepath.Join(modules, name, "package.json")); modules == "" || err != nil {
			Missing(t, "the npm package "+name+" (below DROPCUT_NODE_MODULES)")
		}
	}
	return node, modules
}
