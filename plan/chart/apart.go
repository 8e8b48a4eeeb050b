package chart

import "sort"

// Aparts tell in which rows of the sheet the volumes of a chart stand, where
// those are not the rows of its depths, as in a chart that lies on its side. An
// empty list says that every volume stands beside its depth, as nearly all do: a
// number in each Row would be an eighth of what a long chart takes in memory.
type Aparts []Apart

// Apart says that from row From of a chart on, up to the next Apart, volumes stand
// By rows of the sheet below their depths.
type Apart struct{ From, By int32 }

// By gives how many rows below its depth the volume of row i stands.
func (l Aparts) By(i int) int32 {
	k := sort.Search(len(l), func(k int) bool { return int(l[k].From) > i })
	if k == 0 {
		return 0
	}
	return l[k-1].By
}

// Add tells where the volume of row i stands. Rows are told in their order; one
// that stands as the one before it does takes no room.
func (l *Aparts) Add(i int, by int32) {
	if n := len(*l); n > 0 && (*l)[n-1].By != by || n == 0 && by != 0 {
		*l = append(*l, Apart{int32(i), by})
	}
}

// Join takes over what o says of the rows from row skip on, which now follow n
// rows of this chart.
func (l *Aparts) Join(n int, o Aparts, skip int) {
	l.Add(n, o.By(skip))
	for _, x := range o {
		if int(x.From) > skip {
			l.Add(n+int(x.From)-skip, x.By)
		}
	}
}

// Reversed gives the list for the n rows in the opposite order.
func (l Aparts) Reversed(n int) Aparts {
	var r Aparts
	end := n
	for k := len(l) - 1; k >= 0; k-- {
		r.Add(n-end, l[k].By)
		end = int(l[k].From)
	}
	if end > 0 {
		r.Add(n-end, 0)
	}
	return r
}
