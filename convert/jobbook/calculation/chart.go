package calculation

// TubeLines adds the lines of a tube that somebody has measured.
func (k *Page) TubeLines(of, what, cell string, n int) {
	k.heading(what)
	k.line(of+" tube", "upper tube", k.in(cell), "from the pages")
	k.tubeDepth(of, "{"+of+" tube}", "level at which it shuts off")
	k.share(of, "share of the capacity (%)", n)
}

// Printed finishes a calculation sheet. It gives the last row, which is left for
// the page's key.
func (k *Page) Printed() int {
	k.row++
	k.s.Print(calcLast, k.row)
	return k.row
}
