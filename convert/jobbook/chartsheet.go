package jobbook

import (
	"math"
	"strconv"

	"dropcut/convert/jobbook/field"
	"dropcut/convert/jobbook/look"
	"dropcut/plan/chart"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// A chart is folded into pairs of columns so that paper shows all of it. Up to
// so many rows it is printed in letters that are read at arm's length; a longer
// one in small letters; and one that no page could hold legibly takes several
// sheets, each with the rows that follow on those of the one before.
const (
	chartBlocks, chartRows           = 4, 44
	smallChartBlocks, smallChartRows = 6, 56
	// chartTall is what the rows take of a page, in points.
	chartTall = 630
)

// chartSheets add the sheets of a tank's chart.
func (m *maker) chartSheets(r *validate.Result) {
	rows := r.Chart.Rows
	blocks, most := chartBlocks, chartRows
	if len(rows) > blocks*most {
		blocks, most = smallChartBlocks, smallChartRows
	}
	sheets := (len(rows) + blocks*most - 1) / (blocks * most)
	for i := range sheets {
		part := rows[i*blocks*most : min((i+1)*blocks*most, len(rows))]
		name, title := r.Tank.ID.Raw+" chart", "Tank "+r.Tank.ID.Raw+": chart "+r.Chart.Name
		if sheets > 1 {
			name += " " + strconv.Itoa(i+1)
			title += ", " + strconv.Itoa(i+1) + " of " + strconv.Itoa(sheets)
		}
		m.chartSheet(name, title, r, part, blocks)
	}
}

// chartSheet writes a part of a chart on a sheet of its own.
func (m *maker) chartSheet(name, title string, r *validate.Result, part []chart.Row, blocks int) {
	widths := make([]float64, 2*blocks)
	for i := range widths {
		widths[i] = wide * columnWidth / float64(len(widths))
	}
	s := m.book.Add(name, widths...)
	last := 2 * blocks
	s.Height(1, 30)
	s.Span(1, 1, last, look.Title, title)
	s.Height(2, 26)
	s.Span(1, 2, last, look.Small, "As it was read from "+r.Chart.At.String()+"; "+field.PlanHash(r)+". The calculation reads these figures. Between two rows the lower level counts.")
	depth, volume := look.ChartDepth, look.ChartVolume
	if blocks > chartBlocks {
		depth, volume = look.ChartSmallDepth, look.ChartSmallVolume
	}
	each := (len(part) + blocks - 1) / blocks
	tall := math.Floor(min(chartTall/float64(max(each, 1)), 21)*4) / 4
	const head = 3
	s.Height(head, 26)
	for b := range blocks {
		s.Text(1+2*b, head, look.TableHead, "depth, "+unitOr(r.Chart.DepthUnit.String(), r.Chart.DepthUnit == unit.LengthUnknown))
		s.Text(2+2*b, head, look.TableHead, "volume, "+unitOr(r.Chart.VolumeUnit.String(), r.Chart.VolumeUnit == unit.VolumeUnknown))
	}
	for i := range each {
		s.Height(head+1+i, tall)
		for b := range blocks {
			if j := b*each + i; j < len(part) {
				s.Num(1+2*b, head+1+i, depth, part[j].Depth)
				s.Num(2+2*b, head+1+i, volume, part[j].Volume)
			}
		}
	}
	s.Print(last, head+each)
}

func unitOr(word string, unknown bool) string {
	if unknown {
		return "unit not known"
	}
	return word
}
