package intake

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// emit makes the charts and the table of everything that was read.
func (e *extractor) emit() {
	e.joinFolds()
	tab := Table{At: e.first, Layout: e.c.layout, HeaderRow: e.c.headRow, Columns: e.c.columns, Rows: e.rows, Passed: e.passed}
	tab.To = e.r.at
	tab.To.Row, tab.To.Col = e.lastRow, e.lastCol
	made := 0
	asText, textFrom, textTo := 0, cell.Ref{}, cell.Ref{}
	var settledD, settledV string
	for _, b := range e.order {
		if len(b.rows) == 0 {
			continue
		}
		c := e.chart(b)
		if made == 0 {
			tab.DepthUnit(c)
		}
		made++
		if b.asText > 0 && e.r.at.Sheet != "" {
			if asText == 0 {
				textFrom = c.At
			}
			asText += b.asText
			textTo = c.To
		}
		if d, v := b.depths.vote.Result(); v == unit.Settled {
			settledD = d.String()
		}
		if d, v := b.vols.vote.Result(); v == unit.Settled {
			settledV = d.String()
		}
		e.r.out.Charts = append(e.r.out.Charts, c)
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
	for _, t := range e.c.trouble {
		sev := finding.Stop
		if t.check {
			sev = finding.Note
		}
		f := finding.Finding{
			Slug: t.slug, Severity: sev, At: t.from, To: t.to, Found: t.found, Expected: t.expected, Why: t.why, Suggestion: t.suggestion,
			Related: []cell.Ref{t.from, t.to},
		}
		e.aboutAll(f)
	}
	for _, h := range e.hidden {
		from, to := e.r.at, e.r.at
		from.Row, to.Row = h.Row, h.ToRow
		e.aboutAll(finding.Finding{
			Slug: finding.HiddenRows, Severity: finding.Note, At: from, To: to,
			Found: fmt.Sprintf("%s of the chart %s hidden", many(h.ToRow-h.Row+1, "row"), isAre(h.ToRow-h.Row+1)), Expected: "all rows in view",
			Why: "hidden rows are part of the chart and were read", Suggestion: "show the rows and look whether they belong to the chart",
		})
	}
	for _, run := range e.bare {
		e.r.out.Findings = append(e.r.out.Findings, finding.Finding{
			Slug: finding.CellUnreadable, Severity: finding.Check, Site: run.of.site, Tank: run.of.named.V, Chart: run.of.named.V, At: run.from, To: run.to,
			Found: fmt.Sprintf("%s without a volume, up to %s, behind the last row of the chart at %s", many(run.n, "depth"), trimNumber(run.most), trimNumber(run.of.lastDepth)), Expected: "a volume beside each depth",
			Why:        "the tank is higher than the part of its chart that can be read, and the height of the tank decides how long the tube must be",
			Suggestion: "complete the chart from its original, or give the inside diameter in the tank list",
		})
	}
	e.hiddenCols()
	for i, n := range e.gaps {
		if i > 0 && n == e.gaps[i-1]+1 {
			continue
		}
		from, to := e.r.at, e.r.at
		from.Row, to.Row = n, n
		for k := i + 1; k < len(e.gaps) && e.gaps[k] == to.Row+1; k++ {
			to.Row++
		}
		e.aboutAll(finding.Finding{
			Slug: finding.CellsOutOfColumn, Severity: finding.Stop, At: from, To: to,
			Found: "numbers that do not stand in the columns of the chart around them", Expected: "each depth and volume in its own column",
			Why: "the rows above and below belong to one chart; these were not read", Suggestion: "move the numbers into their columns, or delete them if they are none of the chart's",
		})
	}
	if asText > 0 {
		e.r.out.Findings = append(e.r.out.Findings, finding.Finding{
			Slug: finding.NumberAsText, Severity: finding.Note, At: textFrom, To: textTo, Tank: e.oneName(), Chart: e.oneName(),
			Found: many(asText, "number") + " stored as text", Expected: "numbers stored as numbers", Why: "they were read as the numbers that they show",
			Suggestion: "no need to do anything; sums in the book leave such cells out",
		})
	}
	for i := range e.cross {
		e.cross[i].settle(e)
	}
	e.r.out.Tables = append(e.r.out.Tables, tab)
}

func many(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func isAre(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}

// DepthUnit notes the units of the table's first chart at its columns.
func (t *Table) DepthUnit(c *chart.Chart) {
	for i := range t.Columns {
		k := &t.Columns[i]
		switch k.Means {
		case "depth", "ullage":
			if k.Unit == "" {
				k.Unit = c.DepthUnit.String()
			}
			k.UnitFrom = c.DepthUnitFrom
		case "volume":
			if k.Unit == "" {
				k.Unit = c.VolumeUnit.String()
			}
			k.UnitFrom = c.VolumeUnitFrom
		}
	}
}

// oneName gives the table's chart where it has only one.
func (e *extractor) oneName() string {
	name, n := "", 0
	for _, b := range e.order {
		if len(b.rows) > 0 {
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
func (e *extractor) aboutAll(f finding.Finding) {
	if name := e.oneName(); name != "" || f.Severity == finding.Note {
		f.Tank, f.Chart = name, name
		e.r.out.Findings = append(e.r.out.Findings, f)
		return
	}
	n := 0
	for _, b := range e.order {
		if len(b.rows) == 0 {
			continue
		}
		f.Tank, f.Chart, f.Site = b.named.V, b.named.V, b.site
		e.r.out.Findings = append(e.r.out.Findings, f)
		n++
	}
	if n == 0 {
		e.r.out.Findings = append(e.r.out.Findings, f)
	}
}

// joinFolds puts the pairs of columns of one folded chart behind each other.
func (e *extractor) joinFolds() {
	if e.c.fold != foldByColumns {
		return
	}
	first := e.strands[0]
	for i := 1; i < len(e.strands); i++ {
		for k, b := range e.strands[i] {
			if k < len(first) {
				first[k].append(b)
				b.rows = nil
			}
		}
	}
}

func (b *builder) append(o *builder) {
	n := int32(len(b.rows))
	b.rows = append(b.rows, o.rows...)
	for _, x := range o.odd {
		x.Row += n
		b.odd = append(b.odd, x)
	}
	b.depths.append(&o.depths, n)
	b.vols.append(&o.vols, n)
	b.asText += o.asText
	if b.depthUnit == 0 {
		b.depthUnit, b.depthFrom = o.depthUnit, o.depthFrom
	}
	if b.volumeUnit == 0 {
		b.volumeUnit, b.volumeFrom = o.volumeUnit, o.volumeFrom
	}
}

func (t *tally) append(o *tally, n int32) {
	t.vote.Merge(o.vote)
	for len(t.forms) < int(n) {
		t.forms = append(t.forms, 0)
	}
	t.forms = append(t.forms[:n], o.forms...)
}

// chart makes the chart of a builder and reports what is wrong with it.
func (e *extractor) chart(b *builder) *chart.Chart {
	s := &e.c.strands[b.strand]
	v := &s.vols[min(b.vol, len(s.vols)-1)]
	c := &chart.Chart{Rows: b.rows, Layout: e.c.layout, Odd: b.odd}
	e.nameChart(c, b, s, v)
	c.At, c.To = e.r.at, e.r.at
	c.At.Row, c.At.Col = int(b.rows[0].SheetRow), int(b.rows[0].DepthCol)
	last := &b.rows[len(b.rows)-1]
	c.To.Row, c.To.Col = int(last.SheetRow), int(last.VolumeCol)
	if last.VolumeRow != 0 {
		c.To.Row = int(last.VolumeRow)
	}
	if e.c.fold != noFold {
		for i := range b.rows {
			c.To.Row = max(c.To.Row, int(b.rows[i].SheetRow), int(b.rows[i].VolumeRow))
			c.To.Col = max(c.To.Col, int(b.rows[i].VolumeCol))
		}
	}
	r := &rowReport{e: e, b: b, c: c}
	r.decimals()
	e.unitsOf(r, b, s, v)
	r.serials()
	r.feetInches()
	r.order(s)
	r.odd()
	r.placeholder()
	return c
}

// nameChart settles what the chart is called: by its own column or heading, by
// the title above it, by the sheet.
func (e *extractor) nameChart(c *chart.Chart, b *builder, s *strand, v *volumeSpec) {
	at := e.r.at
	give := func(n naming, comp string, where cell.Ref) {
		name := chartName(n.name(), comp)
		b.name, b.comp = n, comp
		text := n.text
		if text == "" {
			text = name
		}
		b.named = cell.Of[string]{V: name, Raw: text, At: where}
	}
	switch {
	case b.named.Given():
		if n := chartName(b.name.name(), b.comp); n != b.named.V {
			b.named.V = n
		}
		c.Site = b.site
	case len(v.name.names) > 0 && !(e.alone() && !slices.Contains(e.r.opt.IDs, v.name.name()) && e.named()):
		give(v.name, v.comp, v.at)
	default:
		var tank naming
		where := at
		comp := v.comp
		switch {
		case len(s.title.names) > 0:
			tank, where = s.title, s.depth.at
		case len(e.t.names) > 0:
			for _, n := range e.t.names {
				if len(n.names) > 0 && len(tank.names) == 0 {
					tank, where = n.naming, n.at
				}
				if n.comp != "" && comp == "" && len(s.vols) == 1 {
					comp = n.comp
					if len(tank.names) == 0 {
						where = n.at
					}
				}
			}
		}
		if len(tank.names) == 0 && at.Sheet != "" && !genericTab(at.Sheet) {
			if n, ok := readName(at.Sheet, e.r.opt.IDs, true); ok {
				tank, where = n, at
			}
		} else if len(tank.names) == 1 && at.Sheet != "" && e.r.tables == 1 && len(e.c.strands) == 1 && !genericTab(at.Sheet) {
			e.tabDiffers(tank, where)
		}
		if e.t.combined && len(tank.names) > 1 {
			tank.combined = true
		}
		if len(tank.names) > 0 || comp != "" {
			give(tank, comp, where)
		}
	}
	c.Name, c.NamedBy = b.named.V, b.named
	if len(b.name.names) > 1 {
		e.r.out.Findings = append(e.r.out.Findings, finding.Finding{
			Slug: finding.CombinedVolume, Severity: finding.Note, At: b.named.At, Tank: c.Name, Chart: c.Name,
			Found: fmt.Sprintf("%q: one chart for %d tanks", b.named.Raw, len(b.name.names)), Expected: "a chart for one tank",
			Why: "the volumes are those of the tanks together", Suggestion: "a limit taken from this chart is the limit of the set; make sure that each tank's own shutoff is set with its own chart",
		})
	}
}

// alone reports whether the table holds one chart.
func (e *extractor) alone() bool { return len(e.c.strands) == 1 && len(e.c.strands[0].vols) == 1 }

// named reports whether a title above the table names a tank: a word in the
// heading of its only volume is then a remark.
func (e *extractor) named() bool {
	return len(e.c.strands[0].title.names) > 0 || slices.ContainsFunc(e.t.names, func(n placedName) bool { return len(n.names) > 0 })
}

// tabDiffers reports a sheet whose tab names another tank than its title.
func (e *extractor) tabDiffers(n naming, where cell.Ref) {
	tab, ok := readName(e.r.at.Sheet, e.r.opt.IDs, true)
	if !ok || !idWord(tab.name(), e.r.opt.IDs) || looseID(tab.name()) == looseID(n.name()) || strings.Contains(looseID(e.r.at.Sheet), looseID(n.name())) {
		return
	}
	e.r.out.Findings = append(e.r.out.Findings, finding.Finding{
		Slug: finding.TitleAndSheetDiffer, Severity: finding.Check, At: where, Tank: n.name(), Chart: n.name(),
		Found: fmt.Sprintf("the title names tank %s, the sheet is named %q", n.name(), e.r.at.Sheet), Expected: "one name for the chart",
		Why: "the sheet may be a copy of another tank's; the title was followed", Suggestion: "find out whose chart this is and correct the other name",
	})
}

// looseID gives an id without blanks, dashes and case.
func looseID(s string) string {
	return strings.Map(func(r rune) rune {
		if idSign(r) || blankRune(r) {
			return -1
		}
		return r
	}, unit.Fold(s))
}

// unitsOf settles the units of a chart: from its cells, its heading, the titles
// above it, the name of the sheet, the option, in this order.
func (e *extractor) unitsOf(r *rowReport, b *builder, s *strand, v *volumeSpec) {
	c := r.c
	dTitle, dOther := e.t.length()
	vTitle, vOther := e.t.volume()
	if dTitle.unit == 0 && vTitle.unit == 0 && e.r.tables > 1 {
		dTitle, dOther = e.r.top.length()
		vTitle, vOther = e.r.top.volume()
	} else if e.r.tables > 1 {
		if dTitle.unit == 0 {
			dTitle, dOther = e.r.top.length()
		}
		if vTitle.unit == 0 {
			vTitle, vOther = e.r.top.volume()
		}
	}
	conflict := func(a, z cell.Ref, what, one, two string) {
		if z.Row < a.Row || z.Row == a.Row && z.Col < a.Col {
			a, z, one, two = z, a, two, one
		}
		r.find(finding.UnitsConflict, finding.Stop, a, z, fmt.Sprintf("%s in %s (%s) and in %s (%s)", what, one, a.A1(), two, z.A1()), "one unit for one column",
			"read in the wrong one of the two, every cut from this chart is wrong", "find out which of the two is right and correct the other")
	}
	// Depths.
	switch h := s.depth.head; {
	case len(s.depth.units) > 0:
		c.DepthUnit, c.DepthUnitFrom = s.depth.units[len(s.depth.units)-1], s.depth.at
	case b.depthCol != 0:
		c.DepthUnit, c.DepthUnitFrom = b.depthCol, b.depthFrom
	case h.lengths > 1:
		r.find(finding.UnitsConflict, finding.Stop, s.depth.at, cell.Ref{}, fmt.Sprintf("the heading %q names two units of length", h.text), "one unit for one column",
			"nothing says which of them the numbers stand in", "write one unit into the heading")
	case h.feetInches && b.plain > 0:
		slug := finding.UnitsConflict
		if feetPoint.MatchString(h.text) {
			slug = finding.FeetInchesWithPoint
		}
		r.find(slug, finding.Stop, b.plainFrom, b.plainTo, fmt.Sprintf("%s without marks under the heading %q", many(b.plain, "depth"), h.text), "feet and inches, as in 8' 2\" or 8-2",
			"nothing says whether such a number counts feet, inches, or both with a point between", "write the depths with marks, or one unit into the heading")
	case h.length != 0:
		c.DepthUnit, c.DepthUnitFrom = h.length, s.depth.at
		if dTitle.unit != 0 && dTitle.unit != h.length {
			conflict(dTitle.at, s.depth.at, "depths", dTitle.unit.String(), h.length.String())
		}
		if b.depthOther != (cell.Ref{}) {
			conflict(b.depthOther, s.depth.at, "depths", "another unit", h.length.String())
		}
	case b.depthUnit != 0:
		c.DepthUnit, c.DepthUnitFrom = b.depthUnit, b.depthFrom
		if b.depthOther != (cell.Ref{}) {
			conflict(b.depthFrom, b.depthOther, "depths", b.depthUnit.String(), "another unit")
		}
	case dTitle.unit != 0 && dOther.unit != 0:
		conflict(dTitle.at, dOther.at, "depths", dTitle.unit.String(), dOther.unit.String())
	case dTitle.unit != 0:
		c.DepthUnit, c.DepthUnitFrom = dTitle.unit, dTitle.at
	default:
		if u, _, n := unit.FindLengthUnit(e.r.at.Sheet); n == 1 && !genericTab(e.r.at.Sheet) {
			c.DepthUnit, c.DepthUnitFrom = u, e.r.at
		}
	}
	// Volumes.
	switch h := v.head; {
	case h.multiple != "":
		r.find(finding.UnitsConflict, finding.Stop, v.at, cell.Ref{}, fmt.Sprintf("the heading %q counts multiples of a unit (%s)", h.text, strings.Trim(h.multiple, "() ")), "volumes in a unit, as they stand",
			"read as plain volumes they would be too small by that much", "multiply the volumes out, or name a unit that counts so many (kgal, m3, hL)")
	case b.volumeCol != 0:
		c.VolumeUnit, c.VolumeUnitFrom = b.volumeCol, b.volumeFrom
	case h.volumes > 1:
		r.find(finding.UnitsConflict, finding.Stop, v.at, cell.Ref{}, fmt.Sprintf("the heading %q names two units of volume", h.text), "one unit for one column",
			"nothing says which of them the numbers stand in", "write one unit into the heading")
	case h.volume != 0:
		c.VolumeUnit, c.VolumeUnitFrom = h.volume, v.at
		if vTitle.unit != 0 && vTitle.unit != h.volume {
			conflict(vTitle.at, v.at, "volumes", vTitle.unit.String(), h.volume.String())
		}
		if b.volumeOther != (cell.Ref{}) {
			conflict(v.at, b.volumeOther, "volumes", h.volume.String(), "another unit")
		}
	case b.volumeUnit != 0:
		c.VolumeUnit, c.VolumeUnitFrom = b.volumeUnit, b.volumeFrom
		if b.volumeOther != (cell.Ref{}) {
			conflict(b.volumeFrom, b.volumeOther, "volumes", b.volumeUnit.String(), "another unit")
		}
	case vTitle.unit != 0 && vOther.unit != 0:
		conflict(vTitle.at, vOther.at, "volumes", vTitle.unit.String(), vOther.unit.String())
	case vTitle.unit != 0:
		c.VolumeUnit, c.VolumeUnitFrom = vTitle.unit, vTitle.at
	default:
		if u, _, n := unit.FindVolumeUnit(e.r.at.Sheet); n == 1 && !genericTab(e.r.at.Sheet) {
			c.VolumeUnit, c.VolumeUnitFrom = u, e.r.at
		}
	}
	if b.unitsClash != (cell.Ref{}) {
		r.find(finding.UnitsConflict, finding.Stop, b.unitsClash, cell.Ref{}, "the rows of one chart name different units", "one unit for one chart",
			"the column of units changes within the chart", "convert the rows to one unit")
	}
	e.unknownUnits(r, s.depth.at, v.at)
}

// unknownUnits says that the chart names no units. The tank list or the user may
// give them later, which takes the finding back.
func (e *extractor) unknownUnits(r *rowReport, depthAt, volumeAt cell.Ref) {
	c := r.c
	for _, f := range r.found {
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
	r.find(finding.UnitsUnknown, finding.Stop, from, to, "nothing says in which units the "+what+" stand", "a unit in the heading, in a row below it, or in the title",
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
	span := fmt.Sprintf("the depths run to %s, the volumes to %s", trimNumber(d), trimNumber(v))
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
