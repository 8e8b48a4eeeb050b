package charts

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"dropcut/plan/cell"
	"dropcut/plan/finding"
)

// number writes a number as a person would, without the noise of binary.
func number(f float64) string {
	if math.IsNaN(f) {
		return "no number"
	}
	s := strconv.FormatFloat(f, 'f', 6, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}

// volume writes a volume to the chart's rounding.
func (ws *Workspace) volume(v float64) string {
	u := ws.unit
	if u <= 0 || u >= 1 {
		return number(math.Round(v))
	}
	digits := 0
	for q := u; q < 0.999 && digits < 6; q *= 10 {
		digits++
	}
	return strconv.FormatFloat(v, 'f', digits, 64)
}

// say adds a finding about row i of the working rows; volume tells which of its
// two cells is meant. depth is what the finding calls the row by.
func (ws *Workspace) say(f finding.Finding, i int, volume bool) {
	row := int(ws.row[i])
	if volume {
		f.At = ws.c.VolumeAt(row)
	} else {
		f.At = ws.c.DepthAt(row)
	}
	if f.Depth == "" {
		f.Depth = number(ws.c.Rows[row].Depth)
	}
	ws.put(f)
}

// whole adds a finding about the whole chart.
func (ws *Workspace) whole(f finding.Finding) {
	f.At, f.To = ws.c.At, ws.c.To
	ws.put(f)
}

// mostAlike is how many findings of one kind a chart gets; the rest are counted.
const mostAlike = 12

// overflow counts findings that were not listed, by the last one that was.
type overflow struct{ last, more int }

func (ws *Workspace) put(f finding.Finding) {
	f.Chart = ws.c.Name
	f.Site = ws.c.Site
	alike, last := 0, 0
	for i := range ws.out {
		if ws.out[i].Slug == f.Slug {
			alike, last = alike+1, i
		}
	}
	if alike < mostAlike {
		ws.out = append(ws.out, f)
		return
	}
	for i := range ws.over {
		if ws.over[i].last == last {
			ws.over[i].more++
			return
		}
	}
	ws.over = append(ws.over, overflow{last, 1})
}

// countRest says in the last finding of a kind how many more there are.
func (ws *Workspace) countRest() {
	for _, o := range ws.over {
		if o.last < len(ws.out) {
			ws.out[o.last].Found += fmt.Sprintf("; %s like it in this chart", plural(o.more, "more", "more"))
		}
	}
}

// at gives the cell of a working row.
func (ws *Workspace) at(i int, volume bool) cell.Ref {
	if volume {
		return ws.c.VolumeAt(int(ws.row[i]))
	}
	return ws.c.DepthAt(int(ws.row[i]))
}

// plural counts things.
func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
