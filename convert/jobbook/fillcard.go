package jobbook

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"dropcut/convert/jobbook/calculation"
	"dropcut/convert/jobbook/field"
	"dropcut/convert/jobbook/look"
	"dropcut/convert/jobbook/sheet"
	"dropcut/plan"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// A fill card is folded into so many pairs of columns; with more rows than this
// its letters would be too small to be read at arm's length, and the step of the
// stick is doubled.
const (
	cardBlocks = 4
	cardRows   = 40
	// cardTall is what the table takes of a page of Letter, the shorter paper, in
	// points.
	cardTall = 468
)

// fillCard is the page that is left at the site: how much a tank takes at each
// reading of the stick, in the units of its own chart. k is nil where no live
// calculation stands behind the tank. A tank with a stop gets no card: neither its
// chart nor its limit can be relied on.
func (m *maker) fillCard(r *validate.Result, k *calculation.Page) {
	c := &r.Cut
	if r.Status == validate.Stop || r.Chart == nil || !c.LimitVolume.Known || !c.FullVolume.Known {
		return
	}
	depth, volume := r.Chart.DepthUnit, r.Chart.VolumeUnit
	switch depth {
	case unit.Feet, unit.LengthUnknown:
		depth = unit.Inches
	case unit.Metres, unit.Decimetres:
		depth = unit.Centimetres
	}
	if volume == unit.VolumeUnknown {
		volume = m.job.Units.Volume
	}
	lines, step, err := stickTable(r, volume)
	s := m.book.Add(r.Tank.ID.Raw+" fill card", 8, 16, 8, 16, 8, 16, 8, 16)
	const last = 2 * cardBlocks
	s.Height(1, 36)
	s.Span(1, 1, 5, look.CardTitle, "FILL CARD   "+r.Tank.ID.Raw)
	s.Span(6, 1, last, look.CardProduct, r.Tank.Product.Raw)
	s.Height(2, 17)
	s.Span(1, 2, last, look.Subtitle, r.Tank.Site.Raw)
	if err != nil {
		// The rise is given, and not what its effect follows from: no figures.
		s.Height(3, 60)
		s.Span(1, 3, last, look.StopBig, "NO FILL CARD")
		s.Height(4, 60)
		s.Span(1, 4, last, look.StopText, "How much this tank takes cannot be told: "+err.Error()+". Complete the list, and make the job again.")
		s.Print(last, 4)
		return
	}
	m.cardHead(s, r, k, depth, volume)
	s.Height(5, 44)
	words := "Read the stick before the delivery; between two lines the higher one counts. Deliver no more than stands beside the reading: that is less than the room left to the limit (40 CFR 280.30(a)). Stay at the fill."
	if !r.Tank.Rise.Given() {
		words += " For a tank that lies level: its rise from end to end was not given."
	}
	s.Span(1, 5, last, look.CardWords, words)
	row := m.sticks(s, 6, lines, depth, volume, step)
	row++
	s.Height(row, 32)
	s.Span(1, row, 2, look.Label, "Installed and checked on")
	s.Span(3, row, 4, look.SignLine, "")
	s.Span(5, row, 6, look.Label, "by (name, license)")
	s.Span(7, row, last, look.SignLine, "")
	row++
	s.Height(row, 8)
	row++
	s.Height(row, 46)
	s.Span(1, row, last, look.Caution, strings.Join(m.Texts["cautions"], " "))
	row++
	s.Height(row, 11)
	s.Span(1, row, last, look.Small, "Chart "+r.Chart.Name+", "+r.Chart.At.String()+"; limit: "+calculation.LimitSource(r))
	s.Print(last, row)
}

// cardHead writes what the tank holds, takes, and where the flow stops. The last
// follows the cells that are measured again.
func (m *maker) cardHead(s *sheet.Sheet, r *validate.Result, k *calculation.Page, depth unit.LengthUnit, volume unit.VolumeUnit) {
	c := &r.Cut
	s.Height(3, 18)
	s.Height(4, 30)
	held := func(v unit.Volume) string {
		return unit.GroupedText(unit.VolumeText(v, volume, 0)) + " " + volume.String()
	}
	alarm := "-"
	if c.AlarmDepth.Known {
		alarm = levelText(c.AlarmDepth.V, depth)
	}
	for i, x := range [...]struct{ name, value string }{
		{"full", held(c.FullVolume.V)},
		{"limit, " + field.Number(float64(c.LimitPercent.V)) + " %", held(c.LimitVolume.V)},
		{"flow stops at", "not cut yet"},
		{"alarm no higher than", alarm},
	} {
		s.Span(1+2*i, 3, 2+2*i, look.CardHead, x.name)
		if i == 2 && k != nil {
			s.SpanFormula(1+2*i, 4, 2+2*i, look.CardValue, fmt.Sprintf(`IF(%s=1,"do not cut",IF(ISNUMBER(%[2]s),%[3]s,"not cut yet"))`, k.Far("stop"), k.Far("cut depth"), levelFormula(k.Far("cut depth"), depth)))
			continue
		}
		s.Span(1+2*i, 4, 2+2*i, look.CardValue, x.value)
	}
}

// levelText writes a level as it is read on a stick; levelFormula does so in a
// formula. Both are lowered to what a stick shows, 1/8 in or 1 mm, so that nobody
// fills beyond it.
func levelText(l unit.Length, u unit.LengthUnit) string {
	if u.Metric() {
		return unit.LengthText(l, unit.Millimetres, 0, unit.Down) + " mm"
	}
	return unit.FractionText(l, 8, unit.Down) + " in"
}

func levelFormula(at string, u unit.LengthUnit) string {
	if u.Metric() {
		return `TEXT(INT(ROUND(` + at + `*25.4,6)),"0")&" mm"`
	}
	// Eighths of an inch, as a fraction: n is their number.
	n := "INT(ROUND(" + at + "*8,6))"
	rest := "(" + n + "-8*INT(" + n + "/8))"
	return fmt.Sprintf(`TEXT(INT(%[1]s/8),"0")&IF(%[2]s=0,"",IF(%[2]s=4," 1/2",IF(%[2]s=2," 1/4",IF(%[2]s=6," 3/4"," "&TEXT(%[2]s,"0")&"/8"))))&" in"`, n, rest)
}

// stickTable gives the lines of a card, down to the first reading at which nothing
// may be delivered, and the step between them.
func stickTable(r *validate.Result, volume unit.VolumeUnit) ([]plan.FillLine, unit.Length, error) {
	for step := plan.StickStep(r.Chart); ; step *= 2 {
		lines, err := plan.FillCardAsItLies(r.Tank, r.Chart, r.Cut.LimitVolume.V, step)
		if err != nil {
			return nil, step, err
		}
		for i := range lines {
			if lines[i].Most(volume) == 0 {
				lines = lines[:i+1]
				break
			}
		}
		if len(lines) <= cardBlocks*cardRows {
			return lines, step, nil
		}
	}
}

// sticks writes the table from a row on and gives its last row.
func (m *maker) sticks(s *sheet.Sheet, row int, lines []plan.FillLine, depth unit.LengthUnit, volume unit.VolumeUnit, step unit.Length) int {
	each := max((len(lines)+cardBlocks-1)/cardBlocks, 1)
	tall := math.Floor(min(max(cardTall/float64(each+1), 12), 24)*4) / 4
	stick, most := look.Stick, look.Most
	if tall < 16.5 {
		stick, most = look.StickSmall, look.MostSmall
	}
	s.Height(row, 30)
	for b := range cardBlocks {
		s.Text(1+2*b, row, look.CardHead, "stick, "+depth.String())
		s.Text(2+2*b, row, look.CardHead, "deliver at most, "+volume.String())
	}
	for i := range each {
		row++
		s.Height(row, tall)
		for b := range cardBlocks {
			j := b*each + i
			if j >= len(lines) {
				break
			}
			l := &lines[j]
			s.Text(1+2*b, row, stick, stickText(l.Depth, depth))
			words := unit.GroupedText(strconv.FormatFloat(l.Most(volume), 'f', -1, 64))
			if l.Most(volume) == 0 {
				words = "NOTHING"
			}
			s.Text(2+2*b, row, most, words)
		}
	}
	row++
	s.Height(row, 29)
	s.Span(1, row, 2*cardBlocks, look.CardWords, "Above the last reading: nothing. One line every "+stickText(step, depth)+" "+depth.String()+". The figures rest on chart and limit; a height measured again does not move them.")
	return row
}

// stickText prints a reading of the stick.
func stickText(l unit.Length, u unit.LengthUnit) string {
	if u == unit.Inches {
		return unit.FractionText(l, 16, unit.Down)
	}
	return strconv.FormatFloat(math.Round(u.Number(l)*1e6)/1e6, 'f', -1, 64)
}
