package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"dropcut/convert/peer"
)

// The books of the corpus are made by other people's programs, and so is the
// comparison: openpyxl and Python's zipfile look at the planned books.
const corpusDir = "testdata/corpus"

// plannedAll plans books into a folder and gives old and new paths in turn.
func plannedAll(t *testing.T, out string, list []string) []string {
	t.Helper()
	var pairs []string
	for _, path := range list {
		var text, errs bytes.Buffer
		// A formula that its writer left without a value is a stop of its tank.
		if status := run(context.Background(), []string{"dropcut", "plan", "--out", out, path}, nil, &text, &errs); status != statusDone && status != statusStops {
			t.Errorf("%s: plan ended with %d: %s%s", filepath.Base(path), status, text.String(), errs.String())
			continue
		}
		name := strings.TrimSuffix(filepath.Base(path), ".xlsx") + "-planned.xlsx"
		pairs = append(pairs, path, filepath.Join(out, name))
	}
	return pairs
}

// untouched lets openpyxl and zipfile hold the planned books against the old ones,
// and plans them again, which must change no byte.
func untouched(t *testing.T, python string, pairs []string) {
	t.Helper()
	if said := peer.Output(t, python, append([]string{filepath.Join(corpusDir, "compare_books.py")}, pairs...)...); said != "" {
		t.Error(said)
	}
	again := t.TempDir()
	for i := 1; i < len(pairs); i += 2 {
		second := plannedAll(t, again, pairs[i:i+1])
		if len(second) != 2 {
			continue
		}
		was, err := os.ReadFile(second[0])
		if err != nil {
			t.Fatal(err)
		}
		is, err := os.ReadFile(second[1])
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(was, is) {
			t.Errorf("%s is another one when it is planned again", filepath.Base(second[0]))
		}
	}
}

func booksIn(t *testing.T, dir string, least int) []string {
	t.Helper()
	list, err := filepath.Glob(filepath.Join(dir, "*.xlsx"))
	if err != nil || len(list) < least {
		t.Fatalf("%d books were made, %d were expected; %v", len(list), least, err)
	}
	return list
}

// Books with one kind of feature each, as openpyxl makes them.
func TestBooksOfOpenpyxlStayAsTheyWere(t *testing.T) {
	python := peer.Python(t)
	dir := t.TempDir()
	peer.Output(t, python, filepath.Join(corpusDir, "openpyxl_books.py"), dir)
	pairs := plannedAll(t, t.TempDir(), booksIn(t, dir, 7))
	untouched(t, python, pairs)
	// The comparison itself can fail: a planned book against another one.
	if said := peer.Output(t, python, filepath.Join(corpusDir, "compare_books.py"), pairs[0], pairs[3]); said == "" {
		t.Error("two different books pass for the same")
	}
}

// The same of the packages that npm has for workbooks, and all of them as
// LibreOffice saves them anew; LibreOffice opens every planned book.
func TestBooksOfOtherProgramsStayAsTheyWere(t *testing.T) {
	if !peer.Required() {
		t.Skip("other programs make some forty books: run with DROPCUT_PEERS=required")
	}
	python := peer.Python(t)
	node, modules := peer.Node(t, "exceljs", "xlsx", "xlsx-populate", "excel4node")
	dir := t.TempDir()
	peer.Output(t, python, filepath.Join(corpusDir, "openpyxl_books.py"), dir)
	t.Setenv("NODE_PATH", modules)
	for _, script := range []string{"exceljs.cjs", "sheetjs.cjs", "populate.cjs", "excel4node.cjs"} {
		peer.Output(t, node, filepath.Join(corpusDir, script), dir)
	}
	list := booksIn(t, dir, 21)
	saved := filepath.Join(dir, "saved")
	peer.ConvertAll(t, saved, list)
	list = append(list, booksIn(t, saved, len(list))...)
	var pairs []string
	for _, path := range list {
		// Names are the same in both folders.
		pairs = append(pairs, plannedAll(t, filepath.Join(dir, "planned", filepath.Base(filepath.Dir(path))), []string{path})...)
	}
	untouched(t, python, pairs)
	for k, folder := range []string{filepath.Base(dir), "saved"} {
		planned := booksIn(t, filepath.Join(dir, "planned", folder), len(list)/2)
		opened := filepath.Join(dir, "opened", string(rune('a'+k)))
		peer.ConvertAll(t, opened, planned)
		booksIn(t, opened, len(planned))
	}
}
