package main

import (
	"bytes"
	"cmp"
	"fmt"
	"go/ast"
	"go/build"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// change is one place at which the code is another when the change is switched on.
type change struct {
	file      string
	line, col int
	what      string // as in "< to <="
	code      string // the line it stands in
}

// rewriter puts every change into the text of a package. All it does is to insert
// text and to replace operators, never a line break: what is nested stays nested,
// and lines keep their numbers.
type rewriter struct {
	fset    *token.FileSet
	info    *types.Info
	pkg     *types.Package
	changes []change

	src   []byte
	file  string
	base  *token.File
	edits []edit
}

type edit struct {
	from, to int
	text     string
	// rank orders what is inserted at one place: the ends of inner expressions,
	// the ends of outer ones, then the beginnings of outer ones and of inner ones.
	rank int
}

// rewrite changes the files of a package in dir in place and lists the changes,
// whose numbers are their places in the list.
func rewrite(dir string) ([]change, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return nil, err
	}
	found, err := build.ImportDir(dir, 0)
	if err != nil {
		return nil, err
	}
	w := &rewriter{fset: token.NewFileSet(), info: &types.Info{
		Types: map[ast.Expr]types.TypeAndValue{}, Uses: map[*ast.Ident]types.Object{},
	}}
	var files []*ast.File
	for _, name := range found.GoFiles {
		f, err := parser.ParseFile(w.fset, filepath.Join(dir, name), nil, parser.SkipObjectResolution)
		if err != nil {
			return nil, err
		}
		files = append(files, f)
	}
	conf := types.Config{Importer: importer.ForCompiler(w.fset, "source", nil)}
	if w.pkg, err = conf.Check(found.Name, w.fset, files, w.info); err != nil {
		return nil, err
	}
	for _, f := range files {
		w.base = w.fset.File(f.Pos())
		w.file = filepath.Base(w.base.Name())
		if w.src, err = os.ReadFile(w.base.Name()); err != nil {
			return nil, err
		}
		w.edits = nil
		w.walk(f)
		if err := os.WriteFile(w.base.Name(), w.text(), 0o666); err != nil {
			return nil, err
		}
	}
	return w.changes, os.WriteFile(filepath.Join(dir, "zz_mutants.go"), []byte("package "+found.Name+"\n"+helpers), 0o666)
}

// add lists a change at pos and gives its number.
func (w *rewriter) add(pos token.Pos, what string) int {
	at := w.fset.Position(pos)
	from := bytes.LastIndexByte(w.src[:at.Offset], '\n') + 1
	line, _, _ := bytes.Cut(w.src[from:], []byte("\n"))
	w.changes = append(w.changes, change{w.file, at.Line, at.Column, what, strings.TrimSpace(string(line))})
	return len(w.changes) - 1
}

func (w *rewriter) offset(p token.Pos) int { return w.base.Offset(p) }

func (w *rewriter) wrap(n ast.Node, depth int, before, after string) {
	from, to := w.offset(n.Pos()), w.offset(n.End())
	w.edits = append(w.edits, edit{from, from, before, 1_000_000 + depth}, edit{to, to, after, -depth})
}

func (w *rewriter) replace(pos token.Pos, old, text string) {
	from := w.offset(pos)
	w.edits = append(w.edits, edit{from, from + len(old), text, 2_000_000})
}

// text is the file with all edits.
func (w *rewriter) text() []byte {
	slices.SortStableFunc(w.edits, func(a, b edit) int { return cmp.Or(a.from-b.from, a.rank-b.rank) })
	var b bytes.Buffer
	at := 0
	for _, e := range w.edits {
		b.Write(w.src[at:e.from])
		b.WriteString(e.text)
		at = e.to
	}
	b.Write(w.src[at:])
	return b.Bytes()
}

func (w *rewriter) walk(f *ast.File) {
	var above []ast.Node
	ast.Inspect(f, func(n ast.Node) bool {
		if n == nil {
			above = above[:len(above)-1]
			return true
		}
		if d, ok := n.(*ast.GenDecl); ok && (d.Tok == token.CONST || d.Tok == token.IMPORT || d.Tok == token.TYPE) {
			return false
		}
		var parent ast.Node
		if len(above) > 0 {
			parent = above[len(above)-1]
		}
		w.node(n, parent, len(above))
		above = append(above, n)
		return true
	})
}

// number reports whether an expression is a number that is no constant.
func (w *rewriter) number(e ast.Expr) bool {
	t := w.info.Types[e]
	if t.Value != nil || t.Type == nil {
		return false
	}
	if _, ok := t.Type.(*types.TypeParam); ok {
		return false
	}
	b, ok := t.Type.Underlying().(*types.Basic)
	return ok && b.Info()&(types.IsInteger|types.IsFloat) != 0
}

// operators are the changes of numbers: the helper that takes the place of the
// operator, and what it becomes.
var operators = map[token.Token]struct{ helper, to string }{
	token.ADD: {"mutantAdd", "-"}, token.SUB: {"mutantSub", "+"}, token.MUL: {"mutantMul", "/"}, token.QUO: {"mutantQuo", "*"}, token.REM: {"mutantRem", "*"},
}

// comparisons are the changes of an order: one takes the bound in or out, the other
// turns it around.
var comparisons = map[token.Token]struct{ helper, bound, turned string }{
	token.LSS: {"mutantLess", "<=", ">="}, token.LEQ: {"mutantAtMost", "<", ">"}, token.GTR: {"mutantMore", ">=", "<="}, token.GEQ: {"mutantAtLeast", ">", "<"},
}

var assigned = map[token.Token]string{
	token.ADD_ASSIGN: "-=", token.SUB_ASSIGN: "+=", token.MUL_ASSIGN: "/=", token.QUO_ASSIGN: "*=",
}

func (w *rewriter) node(n, parent ast.Node, depth int) {
	switch n := n.(type) {
	case *ast.BinaryExpr:
		if t := w.info.Types[n]; t.Value != nil {
			return
		}
		op := n.Op.String()
		if c, ok := comparisons[n.Op]; ok {
			bound := w.add(n.OpPos, op+" to "+c.bound)
			w.add(n.OpPos, op+" to "+c.turned)
			w.wrap(n, depth, fmt.Sprintf("%s(%d, ", c.helper, bound), ")")
			w.replace(n.OpPos, op, ",")
			return
		}
		switch n.Op {
		case token.EQL, token.NEQ:
			to := "!="
			if n.Op == token.NEQ {
				to = "=="
			}
			w.wrap(n, depth, "((", fmt.Sprintf(") != mutantOn(%d))", w.add(n.OpPos, op+" to "+to)))
		case token.LAND, token.LOR:
			helper, to := "mutantAnd", "||"
			if n.Op == token.LOR {
				helper, to = "mutantOr", "&&"
			}
			w.wrap(n, depth, fmt.Sprintf("%s(%d, ", helper, w.add(n.OpPos, op+" to "+to)), "})")
			w.replace(n.OpPos, op, ",")
			// Behind the operator there may be a line break, which would end the return.
			at := w.offset(n.Y.Pos())
			w.edits = append(w.edits, edit{at, at, "func() bool { return ", 1_000_000 + depth})
		default:
			if o, ok := operators[n.Op]; ok && w.number(n) {
				w.wrap(n, depth, fmt.Sprintf("%s(%d, ", o.helper, w.add(n.OpPos, op+" to "+o.to)), ")")
				w.replace(n.OpPos, op, ",")
			}
		}
	case *ast.UnaryExpr:
		switch {
		case n.Op == token.SUB && w.number(n):
			w.replace(n.OpPos, "-", "")
			w.wrap(n.X, depth, fmt.Sprintf("mutantMinus(%d, ", w.add(n.OpPos, "sign left out")), ")")
		case n.Op == token.NOT:
			w.wrap(n, depth, "(", fmt.Sprintf(" != mutantOn(%d))", w.add(n.OpPos, "! left out")))
		}
	case *ast.IncDecStmt:
		t := w.info.Types[n.X].Type
		if _, basic := t.(*types.Basic); !basic {
			return
		}
		sign, to := "1", "--"
		if n.Tok == token.DEC {
			sign, to = "-1", "++"
		}
		w.replace(n.TokPos, n.Tok.String(), fmt.Sprintf(" += %s(mutantStep(%d, %s))", t, w.add(n.TokPos, n.Tok.String()+" to "+to), sign))
	case *ast.AssignStmt:
		to, ok := assigned[n.Tok]
		if !ok || !w.number(n.Lhs[0]) {
			return
		}
		switch parent.(type) {
		case *ast.BlockStmt, *ast.CaseClause:
		default:
			return // no place for an if
		}
		from, end, op := w.offset(n.Pos()), w.offset(n.End()), w.offset(n.TokPos)
		other := string(w.src[from:op]) + to + string(w.src[op+len(to):end])
		if strings.Contains(other, "\n") {
			return
		}
		w.wrap(n, depth, fmt.Sprintf("if mutantOn(%d) { %s } else { ", w.add(n.TokPos, n.Tok.String()+" to "+to), other), " }")
	case *ast.Ident:
		if n.Name != "true" && n.Name != "false" || w.info.Uses[n] == nil || w.info.Uses[n].Parent() != types.Universe {
			return
		}
		switch parent.(type) {
		case *ast.ReturnStmt, *ast.AssignStmt:
			to := map[string]string{"true": "false", "false": "true"}[n.Name]
			w.wrap(n, depth, "(", fmt.Sprintf(" != mutantOn(%d))", w.add(n.Pos(), n.Name+" to "+to)))
		}
	}
}

// helpers stand beside the changed code. Which change is on, and where the
// changes are noted that the tests come by, is said by the environment.
const helpers = `
import (
	"cmp"
	"fmt"
	"os"
	"strconv"
	"sync"
)

type mutantNumber interface {
	~int | ~int8 | ~int16 | ~int32 | ~int64 | ~uint | ~uint8 | ~uint16 | ~uint32 | ~uint64 | ~uintptr | ~float32 | ~float64
}

type mutantWhole interface {
	~int | ~int8 | ~int16 | ~int32 | ~int64 | ~uint | ~uint8 | ~uint16 | ~uint32 | ~uint64 | ~uintptr
}

type mutantNotes struct {
	sync.Mutex
	file *os.File
	seen map[int]bool
}

var mutantNow, mutantSeen = mutantStart()

func mutantStart() (int, *mutantNotes) {
	if name := os.Getenv("MUTANTS_SEEN"); name != "" {
		file, err := os.OpenFile(name, os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o666)
		if err != nil {
			panic(err)
		}
		return -1, &mutantNotes{file: file, seen: map[int]bool{}}
	}
	n, err := strconv.Atoi(os.Getenv("MUTANTS_NOW"))
	if err != nil {
		return -1, nil
	}
	return n, nil
}

func (m *mutantNotes) note(n int) {
	m.Lock()
	defer m.Unlock()
	if !m.seen[n] {
		m.seen[n] = true
		fmt.Fprintln(m.file, n)
	}
}

func mutantOn(n int) bool {
	if mutantSeen != nil {
		mutantSeen.note(n)
	}
	return n == mutantNow
}

func mutantLess[T cmp.Ordered](n int, a, b T) bool {
	if mutantOn(n) {
		return a <= b
	}
	return a < b != mutantOn(n+1)
}

func mutantAtMost[T cmp.Ordered](n int, a, b T) bool {
	if mutantOn(n) {
		return a < b
	}
	return a <= b != mutantOn(n+1)
}

func mutantMore[T cmp.Ordered](n int, a, b T) bool {
	if mutantOn(n) {
		return a >= b
	}
	return a > b != mutantOn(n+1)
}

func mutantAtLeast[T cmp.Ordered](n int, a, b T) bool {
	if mutantOn(n) {
		return a > b
	}
	return a >= b != mutantOn(n+1)
}

func mutantAnd(n int, a bool, b func() bool) bool {
	if mutantOn(n) {
		return a || b()
	}
	return a && b()
}

func mutantOr(n int, a bool, b func() bool) bool {
	if mutantOn(n) {
		return a && b()
	}
	return a || b()
}

func mutantAdd[T mutantNumber](n int, a, b T) T {
	if mutantOn(n) {
		return a - b
	}
	return a + b
}

func mutantSub[T mutantNumber](n int, a, b T) T {
	if mutantOn(n) {
		return a + b
	}
	return a - b
}

func mutantMul[T mutantNumber](n int, a, b T) T {
	if mutantOn(n) {
		return a / b
	}
	return a * b
}

func mutantQuo[T mutantNumber](n int, a, b T) T {
	if mutantOn(n) {
		return a * b
	}
	return a / b
}

func mutantRem[T mutantWhole](n int, a, b T) T {
	if mutantOn(n) {
		return a * b
	}
	return a % b
}

func mutantMinus[T mutantNumber](n int, a T) T {
	if mutantOn(n) {
		return a
	}
	return -a
}

func mutantStep(n, by int) int {
	if mutantOn(n) {
		return -by
	}
	return by
}
`
