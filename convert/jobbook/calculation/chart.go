package calculation

import (
	"dropcut/convert/jobbook/look"
	"dropcut/validate"
)

// TubeLines adds the lines of a tube that somebody has measured.
func (k *Page) TubeLines(of, what, cell string, n int) {
	k.heading(what)
	k.line(of+" tube", "upper tube", k.in(cell), "from the pages")
	k.tubeDepth(of, "{"+of+" tube}", "level at which it shuts off")
	k.share(of, "share of the capacity (%)", n)
}

// Printed finishes a calculation sheet: the chart is folded below the lines, so that
// paper shows all of it. It gives the last row, which is left for the page's key.
func (k *Page) Printed(r *validate.Result) int {
	k.heading("Chart " + r.Chart.Name + ", as read from " + r.Chart.At.String() + " (" + r.Chart.DepthUnit.String() + ", " + r.Chart.VolumeUnit.String() + ")")
	const blocks = calcLast / 2
	rows := r.Chart.Rows
	k.row++
	top := k.row
	each := (len(rows) + blocks - 1) / blocks
	for b := range blocks {
		if b*each >= len(rows) {
			break
		}
		k.s.Text(1+2*b, top, look.TableHead, "depth")
		k.s.Text(2+2*b, top, look.TableHead, "volume")
	}
	for i := range each {
		k.row++
		for b := range blocks {
			if j := b*each + i; j < len(rows) {
				k.s.Num(1+2*b, k.row, look.TableDepth, rows[j].Depth)
				k.s.Num(2+2*b, k.row, look.TableVolume, rows[j].Volume)
			}
		}
	}
	k.row++
	k.s.Print(calcLast, k.row)
	// A chart that no page could hold legibly takes several.
	k.s.Pages = each > pageRows
	if k.s.Pages {
		k.s.Repeat = 1
	}
	return k.row
}

// pageRows is how many rows of a folded chart stand below the calculation on one
// page before the letters get too small to read.
const pageRows = 90
