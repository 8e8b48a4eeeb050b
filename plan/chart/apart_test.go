package chart

import (
	"math/rand/v2"
	"slices"
	"testing"
	"unsafe"
)

// A plain list of a number each row says the same as the runs do, however rows
// are added, joined and turned.
func TestApartsSayWhatAListOfAllWouldSay(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	make1 := func() (l Aparts, plain []int32) {
		by := int32(r.IntN(3))
		for i := range 1 + r.IntN(12) {
			if r.IntN(3) == 0 {
				by = int32(r.IntN(5) - 2)
			}
			l.Add(i, by)
			plain = append(plain, by)
		}
		return l, plain
	}
	same := func(what string, l Aparts, plain []int32) {
		t.Helper()
		for i, by := range plain {
			if got := l.By(i); got != by {
				t.Fatalf("%s: row %d of %v stands %d below by %v", what, i, plain, got, l)
			}
		}
	}
	for range 2000 {
		a, plainA := make1()
		b, plainB := make1()
		same("added", a, plainA)
		skip := r.IntN(len(plainB))
		a.Join(len(plainA), b, skip)
		plainA = append(plainA, plainB[skip:]...)
		same("joined", a, plainA)
		slices.Reverse(plainA)
		same("turned", a.Reversed(len(plainA)), plainA)
	}
	if got := Aparts(nil).Reversed(5); got != nil {
		t.Errorf("no list turned is %v", got)
	}
}

// Charts are the larger part of what a book takes in memory.
func TestRowTakes24Bytes(t *testing.T) {
	if n := unsafe.Sizeof(Row{}); n != 24 {
		t.Errorf("a row takes %d bytes", n)
	}
}
