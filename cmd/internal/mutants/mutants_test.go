package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"testing"
)

// A package whose every change has a fate that can be worked out by hand.
const sample = `package sample

// Kind is a number with a name of its own.
type Kind float64

func All(a, b Kind, n int, list []int) (Kind, bool) {
	sum := a*b -
		-b/2
	for i := 0; i < n; i++ {
		sum += Kind(list[i] % 3)
	}
	if sum > 4 && len(list) != 0 ||
		!(n >= 2) {
		return sum, true
	}
	return sum, 2*3 == 6 // constants are left alone
}

func NoTest(x int) int { return x - 1 }

func Text(a, b string) string { return a + b }
`

const sampleTest = `package sample

import "testing"

func TestAll(t *testing.T) {
	if sum, ok := All(2, 1, 2, []int{4, 2}); sum != 5.5 || !ok {
		t.Error(sum, ok)
	}
	if Text("a", "b") != "ab" {
		t.Error("text")
	}
}
`

func TestEveryChangeHasItsFate(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles a program")
	}
	root := t.TempDir()
	for name, text := range map[string]string{
		"go.mod": "module sample\n\ngo 1.26\n", "go.sum": "",
		"plan/sample/sample.go": sample, "plan/sample/sample_test.go": sampleTest,
		"templates/empty.txt": "",
	} {
		name = filepath.Join(root, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(name), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	t.Chdir(root)
	var out, errs bytes.Buffer
	if status := run(context.Background(), []string{"plan/sample"}, &out, &errs); status != 1 {
		t.Errorf("ended with %d, though changes live: %s", status, errs.String())
	}
	// The sum is 5.5 by way of its signs, and b is 1; whatever the condition says, the
	// answer is the same; its last part is never come to.
	const want = `lived: plan/sample/sample.go:7:10: * to /
    sum := a*b -
lived: plan/sample/sample.go:12:31: || to &&
    if sum > 4 && len(list) != 0 ||
lived: plan/sample/sample.go:12:13: && to ||
    if sum > 4 && len(list) != 0 ||
lived: plan/sample/sample.go:12:9: > to >=
    if sum > 4 && len(list) != 0 ||
lived: plan/sample/sample.go:12:9: > to <=
    if sum > 4 && len(list) != 0 ||
lived: plan/sample/sample.go:12:26: != to ==
    if sum > 4 && len(list) != 0 ||
in no test: plan/sample/sample.go:13:3: ! left out
    !(n >= 2) {
in no test: plan/sample/sample.go:13:7: >= to >
    !(n >= 2) {
in no test: plan/sample/sample.go:13:7: >= to <
    !(n >= 2) {
in no test: plan/sample/sample.go:19:35: - to +
    func NoTest(x int) int { return x - 1 }
plan/sample: 9 noticed, 6 lived, 0 endless, 4 in no test
`
	if got := out.String(); got != want {
		t.Errorf("it says:\n%s\nwant:\n%s", got, want)
	}
	source, err := os.ReadFile(filepath.Join(root, "plan/sample/sample.go"))
	if err != nil || string(source) != sample {
		t.Errorf("the package itself was changed (%v)", err)
	}
}
