package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// The house has four floors. An arrow (an import) may point down or stay on its
// floor, never up. The files are parsed here and not listed by the go command,
// whose answer the test cache cannot see.
var floors = map[string]int{"cmd": 4, "convert": 3, "validate": 2, "plan": 1}

// templates is on no floor: it embeds data and imports nothing of the house.
const noFloor = "templates"

// Only these rooms may know these libraries.
var keepers = map[string][]string{
	"github.com/xuri/excelize/": {"convert/"},
	"github.com/gocarina/gocsv": {"convert/"},
	"github.com/urfave/cli/":    {"cmd/dropcut"},
	"github.com/klauspost/":     {"convert/"},
	"golang.org/x/term":         {"cmd/"},
	"golang.org/x/sync":         {"cmd/"},
}

// The pure floors compute; they do not look at the world.
var impure = []string{"os", "net", "log", "io/ioutil", "math/rand", "crypto/rand", "syscall", "plugin", "testing", "embed", "runtime"}

func TestArrowsPointDown(t *testing.T) {
	eachFile(t, func(path string, file *ast.File, set *token.FileSet) {
		for _, spec := range file.Imports {
			imp, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				t.Fatal(err)
			}
			if fault := faultOfImport(path, imp); fault != "" {
				t.Errorf("%s imports %s: %s", set.Position(spec.Pos()), imp, fault)
			}
		}
	})
}

func TestNothingBelowCmdStartsExitsOrAsksTheClock(t *testing.T) {
	eachFile(t, func(path string, file *ast.File, set *token.FileSet) {
		if strings.HasSuffix(path, "_test.go") {
			return
		}
		floor := floors[firstRoom(path)]
		ast.Inspect(file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.GoStmt:
				if floor < floors["cmd"] {
					t.Errorf("%s starts a goroutine below cmd", set.Position(n.Pos()))
				}
			case *ast.FuncDecl:
				if n.Name.Name == "init" && n.Recv == nil {
					t.Errorf("%s has an init function; a registry is a list that one can read", set.Position(n.Pos()))
				}
			case *ast.SelectorExpr:
				pkg, ok := n.X.(*ast.Ident)
				if !ok {
					return true
				}
				switch pkg.Name + "." + n.Sel.Name {
				case "os.Exit":
					if floor < floors["cmd"] || filepath.Base(path) != "main.go" {
						t.Errorf("%s exits; only a main.go does", set.Position(n.Pos()))
					}
				case "time.Now", "time.Since", "time.Until":
					if floor < floors["cmd"] {
						t.Errorf("%s asks the clock below cmd", set.Position(n.Pos()))
					}
				}
			}
			return true
		})
	})
}

// The rules themselves are tried, so that a slip in them shows.
func TestFaultOfImport(t *testing.T) {
	for _, c := range []struct {
		path, imp string
		fault     bool
	}{
		{"plan/cut.go", "dropcut/plan/unit", false},
		{"plan/cut.go", "dropcut/validate", true},
		{"plan/cut.go", "dropcut/convert/grid", true},
		{"validate/run.go", "dropcut/plan", false},
		{"validate/run.go", "dropcut/convert/grid", true},
		{"convert/grid/grid.go", "dropcut/cmd/dropcut", true},
		{"convert/xlsx/book.go", "github.com/xuri/excelize/v2", false},
		{"cmd/dropcut/plan.go", "github.com/xuri/excelize/v2", true},
		{"validate/run.go", "github.com/xuri/excelize/v2", true},
		{"plan/shape/quad.go", "gonum.org/v1/gonum/integrate/quad", false},
		{"plan/shape/quad.go", "gonum.org/v1/plot", true},
		{"plan/cut.go", "os", true},
		{"plan/cut.go", "net/http", true},
		{"plan/cut.go", "math/rand/v2", true},
		{"plan/cut_test.go", "math/rand/v2", false},
		{"plan/cut_test.go", "dropcut/convert/intake", true},
		{"convert/intake/read.go", "github.com/urfave/cli/v2", true},
		{"templates/templates.go", "dropcut/plan", true},
		{"templates/templates.go", "embed", false},
	} {
		if got := faultOfImport(c.path, c.imp); (got != "") != c.fault {
			t.Errorf("%s importing %s: fault %q, want one: %v", c.path, c.imp, got, c.fault)
		}
	}
}

func faultOfImport(path, imp string) string {
	path = filepath.ToSlash(path)
	room, test := firstRoom(path), strings.HasSuffix(path, "_test.go")
	if inner, ok := strings.CutPrefix(imp, "dropcut/"); ok {
		to := firstRoom(inner + "/x.go")
		switch {
		case room == noFloor:
			return "templates imports nothing of the house"
		case to == noFloor:
			if floors[room] < floors["convert"] && !test {
				return "plan and validate read no embedded files"
			}
		case floors[to] > floors[room]:
			return "an arrow may not point up"
		}
		return ""
	}
	for lib, rooms := range keepers {
		if strings.HasPrefix(imp+"/", lib) || strings.HasPrefix(imp, lib) {
			if !slices.ContainsFunc(rooms, func(r string) bool { return strings.HasPrefix(path, r) }) && !test {
				return "only " + strings.Join(rooms, ", ") + " may know this library"
			}
		}
	}
	if floors[room] != 0 && floors[room] <= floors["validate"] && !test {
		if strings.Contains(strings.Split(imp, "/")[0], ".") && !strings.HasPrefix(imp, "gonum.org/v1/gonum/") {
			return "plan and validate import the standard library and gonum only"
		}
		for _, bad := range impure {
			if imp == bad || strings.HasPrefix(imp, bad+"/") {
				return "plan and validate compute; they do not look at the world"
			}
		}
	}
	return ""
}

func firstRoom(path string) string {
	room, _, _ := strings.Cut(filepath.ToSlash(path), "/")
	return room
}

// eachFile parses every Go file of the project.
func eachFile(t *testing.T, visit func(path string, file *ast.File, set *token.FileSet)) {
	t.Helper()
	root := filepath.Join("..", "..")
	set := token.NewFileSet()
	seen := 0
	err := filepath.WalkDir(root, func(path string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(root, path)
		if err != nil {
			return err
		}
		if entry.IsDir() {
			if rel != "." && (strings.HasPrefix(entry.Name(), ".") || entry.Name() == "testdata") {
				return fs.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(path, ".go") {
			return nil
		}
		src, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		file, err := parser.ParseFile(set, rel, src, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		seen++
		visit(rel, file, set)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if seen < 10 {
		t.Fatalf("only %d Go files were found; the house is not where this test looks", seen)
	}
}
