package extract

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"dropcut/convert/intake/figures"
	"dropcut/convert/intake/headword"
	"dropcut/convert/intake/layout"
	"dropcut/convert/intake/look"
	"dropcut/convert/intake/survey"
	"dropcut/convert/intake/title"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// Emit makes the charts and the table of everything that was read.
func (e *Reader) Emit() {
	e.joinFolds()
	tab := survey.Table{At: e.First, Layout: e.C.Layout, HeaderRow: e.C.HeadRow, Columns: e.C.Columns, Rows: e.Rows, Passed: e.passed}
	tab.To = e.r.At
	tab.To.Row, tab.To.Col = e.LastRow, e.LastCol
	made := 0
	asText, textFrom, textTo := 0, cell.Ref{}, cell.Ref{}
	var settledD, settledV string
	for _, b := range e.order {
		if len(b.Rows) == 0 {
			continue
		}
		c := e.chart(b)
		if made == 0 {
			tab.DepthUnit(c)
		}
		made++
		if b.asText > 0 && e.r.At.Sheet != "" {
			if asText == 0 {
				textFrom = c.At
			}
			asText += b.asText
			textTo = c.To
		}
		if d, v := b.Depths.Vote.Result(); v == unit.Settled {
			settledD = d.String()
		}
		if d, v := b.vols.Vote.Result(); v == unit.Settled {
			settledV = d.String()
		}
		e.r.Out.Charts = append(e.r.Out.Charts, c)
	}
	tab.Charts = made
	for i := range tab.Columns {
		c := &tab.Columns[i]
		switch c.Means {
		case "depth", "ullage":
			c.Decimal = settledD
		case "volume":
			c.Decimal = settledV
		}
	}
	for _, t := range e.C.Trouble {
		sev := finding.Stop
		if t.Check {
			sev = finding.Note
		}
		f := finding.Finding{
			Slug: t.Slug, Severity: sev, At: t.From, To: t.To, Found: t.Found, Expected: t.Expected, Why: t.Why, Suggestion: t.Suggestion,
			Related: []cell.Ref{t.From, t.To},
		}
		e.aboutAll(f)
	}
	for _, h := range e.hidden {
		from, to := e.r.At, e.r.At
		from.Row, to.Row = h.Row, h.ToRow
		e.aboutAll(finding.Finding{
			Slug: finding.HiddenRows, Severity: finding.Note, At: from, To: to,
			Found: fmt.Sprintf("%s of the chart %s hidden", survey.Many(h.ToRow-h.Row+1, "row"), survey.IsAre(h.ToRow-h.Row+1)), Expected: "all rows in view",
			Why: "hidden rows are part of the chart and were read", Suggestion: "show the rows and look whether they belong to the chart",
		})
	}
	for _, run := range e.bare {
		e.r.Out.Findings = append(e.r.Out.Findings, finding.Finding{
			Slug: finding.CellUnreadable, Severity: finding.Check, Site: run.of.site, Tank: run.of.named.V, Chart: run.of.named.V, At: run.from, To: run.to,
			Found: fmt.Sprintf("%s without a volume, up to %s, behind the last row of the chart at %s", survey.Many(run.n, "depth"), survey.Number(run.most), survey.Number(run.of.lastDepth)), Expected: "a volume beside each depth",
			Why:        "the tank is higher than the part of its chart that can be read, and the height of the tank decides how long the tube must be",
			Suggestion: "complete the chart from its original, or give the inside diameter in the tank list",
		})
	}
	e.hiddenCols()
	e.tellGaps()
	if asText > 0 {
		e.r.Out.Findings = append(e.r.Out.Findings, finding.Finding{
			Slug: finding.NumberAsText, Severity: finding.Note, At: textFrom, To: textTo, Tank: e.oneName(), Chart: e.oneName(),
			Found: survey.Many(asText, "number") + " stored as text", Expected: "numbers stored as numbers", Why: "they were read as the numbers that they show",
			Suggestion: "no need to do anything; sums in the book leave such cells out",
		})
	}
	for i := range e.cross {
		e.cross[i].settle(e)
	}
	e.r.Out.Tables = append(e.r.Out.Tables, tab)
}

// oneName gives the table's chart where it has only one.
func (e *Reader) oneName() string {
	name, n := "", 0
	for _, b := range e.order {
		if len(b.Rows) > 0 {
			name = b.named.V
			n++
		}
	}
	if n == 1 {
		return name
	}
	return ""
}

// aboutAll reports a finding that holds for the whole table: once for its only
// chart, or for each of its charts, since each of them must get it.
func (e *Reader) aboutAll(f finding.Finding) {
	if name := e.oneName(); name != "" || f.Severity == finding.Note {
		f.Tank, f.Chart = name, name
		e.r.Out.Findings = append(e.r.Out.Findings, f)
		return
	}
	n := 0
	for _, b := range e.order {
		if len(b.Rows) == 0 {
			continue
		}
		f.Tank, f.Chart, f.Site = b.named.V, b.named.V, b.site
		e.r.Out.Findings = append(e.r.Out.Findings, f)
		n++
	}
	if n == 0 {
		e.r.Out.Findings = append(e.r.Out.Findings, f)
	}
}

// joinFolds puts the pairs of columns of one folded chart behind each other.
func (e *Reader) joinFolds() {
	if e.C.Fold != layout.FoldByColumns {
		return
	}
	first := e.Strands[0]
	for i := 1; i < len(e.Strands); i++ {
		for k, b := range e.Strands[i] {
			if k < len(first) && len(b.Rows) > 0 {
				first[k].append(b)
				// A further page fills it anew.
				e.Strands[i][k] = &builder{strand: i, vol: k, lastDepth: math.NaN()}
				b.Rows = nil
			}
		}
	}
}

func (b *builder) append(o *builder) {
	n := int32(len(b.Rows))
	b.Apart.Join(len(b.Rows), o.Apart, 0)
	b.Rows = append(b.Rows, o.Rows...)
	for _, x := range o.odd {
		x.Row += n
		b.odd = append(b.odd, x)
	}
	b.Depths.Append(&o.Depths, n)
	b.vols.Append(&o.vols, n)
	b.asText += o.asText
	b.lastDepth, b.lastVolume = o.lastDepth, o.lastVolume
	b.plain += o.plain
	if b.plainFrom == (cell.Ref{}) {
		b.plainFrom = o.plainFrom
	}
	if o.plain > 0 {
		b.plainTo = o.plainTo
	}
	for _, pair := range [][2]*cell.Ref{{&b.depthOther, &o.depthOther}, {&b.volumeOther, &o.volumeOther}, {&b.unitsClash, &o.unitsClash}} {
		if *pair[0] == (cell.Ref{}) {
			*pair[0] = *pair[1]
		}
	}
	if b.depthUnit == 0 {
		b.depthUnit, b.depthFrom = o.depthUnit, o.depthFrom
	} else if o.depthUnit != 0 && o.depthUnit.Metric() != b.depthUnit.Metric() {
		b.depthOther = o.depthFrom
	}
	if b.volumeUnit == 0 {
		b.volumeUnit, b.volumeFrom = o.volumeUnit, o.volumeFrom
	} else if o.volumeUnit != 0 && o.volumeUnit != b.volumeUnit {
		b.volumeOther = o.volumeFrom
	}
}

// chart makes the chart of a builder and reports what is wrong with it.
func (e *Reader) chart(b *builder) *chart.Chart {
	s := &e.C.Strands[b.strand]
	v := &s.Vols[min(b.vol, len(s.Vols)-1)]
	c := &chart.Chart{Rows: b.Rows, Apart: b.Apart, Layout: e.C.Layout, Odd: b.odd, FromDimensions: b.computed || e.t.Computed}
	e.nameChart(c, b, s, v)
	c.At, c.To = e.r.At, e.r.At
	c.At.Row, c.At.Col = int(b.Rows[0].SheetRow), int(b.Rows[0].DepthCol)
	last := &b.Rows[len(b.Rows)-1]
	c.To.Row, c.To.Col = c.VolumeAt(len(b.Rows)-1).Row, int(last.VolumeCol)
	if e.C.Fold != layout.NoFold || e.C.Layout == "matrix" {
		for i := range b.Rows {
			c.To.Row = max(c.To.Row, int(b.Rows[i].SheetRow), c.VolumeAt(i).Row)
			c.To.Col = max(c.To.Col, int(b.Rows[i].VolumeCol))
		}
	}
	r := &figures.Report{C: c, T: &e.t, Depths: &b.Depths, Vols: &b.vols, Plain: b.plain, Out: &e.r.Out}
	r.Decimals()
	e.unitsOf(r, b, s, v)
	r.Serials()
	r.FeetInches()
	r.Order(s)
	r.Odd()
	r.Placeholder()
	r.BelowZero()
	return c
}

// nameChart settles what the chart is called: by its own column or heading, by
// the title above it, by the sheet.
func (e *Reader) nameChart(c *chart.Chart, b *builder, s *layout.Strand, v *layout.VolumeSpec) {
	at := e.r.At
	give := func(n headword.Naming, comp string, where cell.Ref) {
		name := headword.ChartName(n.Name(), comp)
		b.name, b.comp = n, comp
		text := n.Text
		if text == "" {
			text = name
		}
		b.named = cell.Of[string]{V: name, Raw: text, At: where}
	}
	switch {
	case b.named.Given():
		if n := headword.ChartName(b.name.Name(), b.comp); n != b.named.V {
			b.named.V = n
		}
		c.Site = b.site
	case len(v.Name.Names) > 0 && !(e.alone() && !e.r.Ids[v.Name.Name()] && e.named()):
		give(v.Name, v.Comp, v.At)
	default:
		var tank headword.Naming
		where := at
		comp := v.Comp
		switch {
		case len(s.Title.Names) > 0:
			tank, where = s.Title, s.Depth.At
		case len(e.t.Names) > 0:
			for _, n := range e.t.Names {
				if n.Lone && at.Sheet != "" && !headword.GenericTab(at.Sheet) {
					continue // the tab names the tank
				}
				if len(n.Names) > 0 && len(tank.Names) == 0 {
					tank, where = n.Naming, n.At
				}
				if n.Comp != "" && comp == "" && len(s.Vols) == 1 {
					comp = n.Comp
					if len(tank.Names) == 0 {
						where = n.At
					}
				}
			}
		}
		if len(tank.Names) == 0 && at.Sheet != "" && !headword.GenericTab(at.Sheet) && e.tabMayName() {
			if n, ok := headword.ReadName(at.Sheet, e.r.Ids, true); ok {
				tank, where = n, at
			}
		} else if len(tank.Names) == 1 && at.Sheet != "" && e.r.Tables == 1 && len(e.C.Strands) == 1 && !headword.GenericTab(at.Sheet) {
			e.tabDiffers(tank, where)
		}
		if e.t.Combined && len(tank.Names) > 1 {
			tank.Combined = true
		}
		if len(tank.Names) > 0 || comp != "" {
			give(tank, comp, where)
		}
	}
	c.Name, c.NamedBy = b.named.V, b.named
	if len(b.name.Names) > 1 {
		e.r.Out.Findings = append(e.r.Out.Findings, finding.Finding{
			Slug: finding.CombinedVolume, Severity: finding.Note, At: b.named.At, Tank: c.Name, Chart: c.Name,
			Found: fmt.Sprintf("%q: one chart for %d tanks", b.named.Raw, len(b.name.Names)), Expected: "a chart for one tank",
			Why: "the volumes are those of the tanks together", Suggestion: "a limit taken from this chart is the limit of the set; make sure that each tank's own shutoff is set with its own chart",
		})
	}
}

// alone reports whether the table holds one chart.
func (e *Reader) alone() bool { return len(e.C.Strands) == 1 && len(e.C.Strands[0].Vols) == 1 }

// named reports whether a title above the table names a tank: a word in the
// heading of its only volume is then a remark.
func (e *Reader) named() bool {
	return len(e.C.Strands[0].Title.Names) > 0 || slices.ContainsFunc(e.t.Names, func(n title.Name) bool { return len(n.Names) > 0 })
}

// tabMayName reports whether the tab's own words may be a tank's name: a number
// alone may be one where no list of tanks says otherwise.
func (e *Reader) tabMayName() bool {
	tab := strings.TrimLeft(e.r.At.Sheet, "0")
	if strings.Trim(tab, "0123456789") != "" || len(e.r.Ids) == 0 {
		return true
	}
	for id := range e.r.Ids {
		if strings.TrimLeft(id, "0") == tab {
			return true
		}
	}
	return false
}

// tabDiffers reports a sheet whose tab names another tank than its title.
func (e *Reader) tabDiffers(n headword.Naming, where cell.Ref) {
	tab, ok := headword.ReadName(e.r.At.Sheet, e.r.Ids, true)
	if !ok || !headword.IdWord(tab.Name(), e.r.Ids) || looseID(tab.Name()) == looseID(n.Name()) || strings.Contains(looseID(e.r.At.Sheet), looseID(n.Name())) {
		return
	}
	// "JK" is short for JK-1, not for JK1.
	if rest, ok := strings.CutPrefix(n.Name(), tab.Name()); ok && strings.IndexFunc(rest, func(r rune) bool { return headword.IdSign(r) || headword.IsBlank(r) }) == 0 {
		return
	}
	e.r.Out.Findings = append(e.r.Out.Findings, finding.Finding{
		Slug: finding.TitleAndSheetDiffer, Severity: finding.Check, At: where, Tank: n.Name(), Chart: n.Name(),
		Found: fmt.Sprintf("the title names tank %s, the sheet is named %q", n.Name(), e.r.At.Sheet), Expected: "one name for the chart",
		Why: "the sheet may be a copy of another tank's; the title was followed", Suggestion: "find out whose chart this is and correct the other name",
	})
}

// looseID gives an id without blanks, dashes and case.
func looseID(s string) string {
	return strings.Map(func(r rune) rune {
		if headword.IdSign(r) || headword.IsBlank(r) {
			return -1
		}
		return r
	}, unit.Fold(s))
}

// unitsOf settles the units of a chart: from its cells, its heading, the titles
// above it, the name of the sheet, the option, in this order.
func (e *Reader) unitsOf(r *figures.Report, b *builder, s *layout.Strand, v *layout.VolumeSpec) {
	c := r.C
	dTitle, dOther := e.t.Length()
	vTitle, vOther := e.t.Volume()
	if dTitle.Unit == 0 && vTitle.Unit == 0 && e.r.Tables > 1 {
		dTitle, dOther = e.r.Top.Length()
		vTitle, vOther = e.r.Top.Volume()
	} else if e.r.Tables > 1 {
		if dTitle.Unit == 0 {
			dTitle, dOther = e.r.Top.Length()
		}
		if vTitle.Unit == 0 {
			vTitle, vOther = e.r.Top.Volume()
		}
	}
	conflict := func(a, z cell.Ref, what, one, two string) {
		if z.Row < a.Row || z.Row == a.Row && z.Col < a.Col {
			a, z, one, two = z, a, two, one
		}
		r.Find(finding.UnitsConflict, finding.Stop, a, z, fmt.Sprintf("%s in %s (%s) and in %s (%s)", what, one, a.A1(), two, z.A1()), "one unit for one column",
			"read in the wrong one of the two, every cut from this chart is wrong", "find out which of the two is right and correct the other")
	}
	// Depths.
	switch h := s.Depth.Head; {
	case len(s.Depth.Units) > 0:
		c.DepthUnit, c.DepthUnitFrom = s.Depth.Units[len(s.Depth.Units)-1], s.Depth.At
	case b.depthCol != 0:
		c.DepthUnit, c.DepthUnitFrom = b.depthCol, b.depthFrom
	case h.Lengths > 1:
		r.Find(finding.UnitsConflict, finding.Stop, s.Depth.At, cell.Ref{}, fmt.Sprintf("the heading %q names two units of length", h.Text), "one unit for one column",
			"nothing says which of them the numbers stand in", "write one unit into the heading")
	case h.FeetInches && b.plain > 0:
		slug := finding.UnitsConflict
		if look.FeetPoint.MatchString(h.Text) {
			slug = finding.FeetInchesWithPoint
			c.FeetPoint = true
		}
		r.Find(slug, finding.Stop, b.plainFrom, b.plainTo, fmt.Sprintf("%s without marks under the heading %q", survey.Many(b.plain, "depth"), h.Text), "feet and inches, as in 8' 2\" or 8-2",
			"nothing says whether such a number counts feet, inches, or both with a point between", "write the depths with marks, or one unit into the heading")
	case h.Length != 0:
		c.DepthUnit, c.DepthUnitFrom = h.Length, s.Depth.At
		if dTitle.Unit != 0 && dTitle.Unit != h.Length {
			conflict(dTitle.At, s.Depth.At, "depths", dTitle.Unit.String(), h.Length.String())
		}
		if b.depthOther != (cell.Ref{}) {
			conflict(b.depthOther, s.Depth.At, "depths", "another unit", h.Length.String())
		}
	case b.depthUnit != 0:
		c.DepthUnit, c.DepthUnitFrom = b.depthUnit, b.depthFrom
		if b.depthOther != (cell.Ref{}) {
			conflict(b.depthFrom, b.depthOther, "depths", b.depthUnit.String(), "another unit")
		}
	case dTitle.Unit != 0 && dOther.Unit != 0:
		conflict(dTitle.At, dOther.At, "depths", dTitle.Unit.String(), dOther.Unit.String())
	case dTitle.Unit != 0:
		c.DepthUnit, c.DepthUnitFrom = dTitle.Unit, dTitle.At
	default:
		if u, _, n := unit.FindLengthUnit(e.r.At.Sheet); n == 1 && !headword.GenericTab(e.r.At.Sheet) {
			c.DepthUnit, c.DepthUnitFrom = u, e.r.At
		}
	}
	// Volumes.
	switch h := v.Head; {
	case h.Multiple != "":
		r.Find(finding.UnitsConflict, finding.Stop, v.At, cell.Ref{}, fmt.Sprintf("the heading %q counts multiples of a unit (%s)", h.Text, strings.Trim(h.Multiple, "() ")), "volumes in a unit, as they stand",
			"read as plain volumes they would be too small by that much", "multiply the volumes out, or name a unit that counts so many (kgal, m3, hL)")
	case b.volumeCol != 0:
		c.VolumeUnit, c.VolumeUnitFrom = b.volumeCol, b.volumeFrom
	case h.Volumes > 1:
		r.Find(finding.UnitsConflict, finding.Stop, v.At, cell.Ref{}, fmt.Sprintf("the heading %q names two units of volume", h.Text), "one unit for one column",
			"nothing says which of them the numbers stand in", "write one unit into the heading")
	case h.Volume != 0:
		c.VolumeUnit, c.VolumeUnitFrom = h.Volume, v.At
		if vTitle.Unit != 0 && vTitle.Unit != h.Volume {
			conflict(vTitle.At, v.At, "volumes", vTitle.Unit.String(), h.Volume.String())
		}
		if b.volumeOther != (cell.Ref{}) {
			conflict(v.At, b.volumeOther, "volumes", h.Volume.String(), "another unit")
		}
	case b.volumeUnit != 0:
		c.VolumeUnit, c.VolumeUnitFrom = b.volumeUnit, b.volumeFrom
		if b.volumeOther != (cell.Ref{}) {
			conflict(b.volumeFrom, b.volumeOther, "volumes", b.volumeUnit.String(), "another unit")
		}
	case vTitle.Unit != 0 && vOther.Unit != 0:
		conflict(vTitle.At, vOther.At, "volumes", vTitle.Unit.String(), vOther.Unit.String())
	case vTitle.Unit != 0:
		c.VolumeUnit, c.VolumeUnitFrom = vTitle.Unit, vTitle.At
	default:
		if u, _, n := unit.FindVolumeUnit(e.r.At.Sheet); n == 1 && !headword.GenericTab(e.r.At.Sheet) {
			c.VolumeUnit, c.VolumeUnitFrom = u, e.r.At
		}
	}
	if b.unitsClash != (cell.Ref{}) {
		r.Find(finding.UnitsConflict, finding.Stop, b.unitsClash, cell.Ref{}, "the rows of one chart name different units", "one unit for one chart",
			"the column of units changes within the chart", "convert the rows to one unit")
	}
	e.unknownUnits(r, s.Depth.At, v.At)
}

// unknownUnits says that the chart names no units. The tank list or the user may
// give them later, which takes the finding back.
func (e *Reader) unknownUnits(r *figures.Report, depthAt, volumeAt cell.Ref) {
	c := r.C
	for _, f := range r.Found {
		if f.Slug == finding.UnitsConflict || f.Slug == finding.FeetInchesWithPoint {
			return
		}
	}
	if c.UnitsKnown() {
		return
	}
	from, to, what := depthAt, volumeAt, "depths and volumes"
	switch {
	case c.DepthUnit != 0:
		from, to, what = volumeAt, cell.Ref{}, "volumes"
	case c.VolumeUnit != 0:
		to, what = cell.Ref{}, "depths"
	}
	if to.Row != 0 && (to.Row < from.Row || to.Row == from.Row && to.Col < from.Col) {
		from, to = to, from
	}
	r.Find(finding.UnitsUnknown, finding.Stop, from, to, "nothing says in which units the "+what+" stand", "a unit in the heading, in a row below it, or in the title",
		guessUnits(c), "write the units into the heading, or give them with --chart-units")
}

// guessUnits says what the numbers look like, for a person to judge. It is
// never used.
func guessUnits(c *chart.Chart) string {
	d, v := 0.0, 0.0
	for i := range c.Rows {
		if x := c.Rows[i].Depth; x > d {
			d = x
		}
		if x := c.Rows[i].Volume; x > v {
			v = x
		}
	}
	span := fmt.Sprintf("the depths run to %s, the volumes to %s", survey.Number(d), survey.Number(v))
	// Ordinary tanks are 0.9 to 4 m high (common practice, no source). Several
	// units may fit; all of them are named.
	var fit []string
	for _, u := range []unit.LengthUnit{unit.Inches, unit.Feet, unit.Millimetres, unit.Centimetres, unit.Metres} {
		if c.DepthUnit != 0 {
			break
		}
		if h := float64(u.Length(d)); h >= 35 && h <= 158 {
			fit = append(fit, u.String())
		}
	}
	if len(fit) == 0 || c.VolumeUnit != 0 || d <= 0 {
		return span
	}
	var pairs []string
	for _, s := range fit {
		u, _ := unit.ParseLengthUnit(s)
		h := float64(u.Length(d))
		for _, w := range []unit.VolumeUnit{unit.USGallons, unit.ImperialGallons, unit.Litres, unit.CubicMetres} {
			if u.Metric() != (w == unit.Litres || w == unit.CubicMetres) {
				continue
			}
			// As a cylinder lying down it would have this length.
			if l := float64(w.Volume(v)) * 231 / (math.Pi / 4 * h * h); l > h*0.8 && l < h*9 {
				pairs = append(pairs, s+" and "+w.String())
			}
		}
	}
	if len(pairs) == 0 {
		return span + "; the depths would be those of an ordinary tank in " + strings.Join(fit, " or ")
	}
	return span + "; a lying tank of ordinary shape would have such figures in " + strings.Join(pairs, ", or in ") + "; this is a guess and was not used"
}
