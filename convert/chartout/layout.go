package chartout

import (
	"fmt"
	"iter"
	"slices"
	"strings"

	"dropcut/convert/grid"
	"dropcut/plan/unit"
)

// Layout is how charts stand on a sheet.
type Layout string

// The layouts.
const (
	// Long is one list: tank, depth, volume.
	Long Layout = "long"
	// Wide has one column of depths and a column of volumes for each tank.
	Wide Layout = "wide"
	// Folded is a page for each tank, its rows in blocks side by side.
	Folded Layout = "folded"
)

// page is a sheet of a workbook, or a part of a CSV file.
type page struct {
	name   string
	tables []*Table // in the order in which they stand there
	widths []float64
	head   int // the row of headings
	lines  iter.Seq[[]grid.Value]
	depth  numberForm
	volume numberForm
	metric bool
	// tall is how many pages of paper the sheet may take, 0 for any number.
	tall      int
	landscape bool
}

// numberForm is how the numbers of a column look.
type numberForm struct{ decimals, denominator int }

// Sheets have 1,048,576 rows; a chart is not torn apart, and a wide sheet stays
// one that people can find their way about.
const (
	sheetRows   = 1_048_576
	wideColumns = 60
)

// pages lays charts out.
func pages(tables []*Table, l Layout) ([]page, error) {
	if l != Long {
		seen := map[string]bool{}
		for _, t := range tables {
			if seen[t.Name] {
				return nil, fmt.Errorf("two charts are called %s, which %s sheets cannot tell apart; take the long layout, which has a column for sites, or one tank at a time", t.Name, l)
			}
			seen[t.Name] = true
		}
	}
	switch l {
	case Wide:
		return widePages(tables), nil
	case Folded:
		return foldedPages(tables), nil
	}
	return longPages(tables), nil
}

// unitPair is what the columns of one table have in common.
type unitPair struct {
	depth  unit.LengthUnit
	volume unit.VolumeUnit
}

// byUnits groups charts that can share columns, in the order of the first of
// each.
func byUnits(tables []*Table) (keys []unitPair, groups map[unitPair][]*Table) {
	groups = map[unitPair][]*Table{}
	for _, t := range tables {
		k := unitPair{t.DepthUnit, t.VolumeUnit}
		if groups[k] == nil {
			keys = append(keys, k)
		}
		groups[k] = append(groups[k], t)
	}
	return keys, groups
}

func longPages(tables []*Table) []page {
	var list []page
	keys, groups := byUnits(tables)
	for _, k := range keys {
		group, rows := groups[k], 1
		from := 0
		for i, t := range group {
			if rows += len(t.Rows); rows > sheetRows {
				list = append(list, longPage(group[from:i], k))
				from, rows = i, 1+len(t.Rows)
			}
		}
		list = append(list, longPage(group[from:], k))
	}
	nameSheets(list, "Charts")
	return list
}

func longPage(tables []*Table, k unitPair) page {
	sites := slices.ContainsFunc(tables, func(t *Table) bool { return t.Site != "" })
	p := page{tables: tables, widths: []float64{14, 12, 14, 60}, head: 1, metric: k.depth.Metric(), landscape: true}
	if sites {
		p.widths = slices.Insert(p.widths, 0, 24)
	}
	for _, t := range tables {
		p.forms(t)
	}
	p.lines = func(yield func([]grid.Value) bool) {
		line := make([]grid.Value, 0, 5)
		put := func(site, tank string, depth, volume grid.Value, source string, look grid.Look) bool {
			line = line[:0]
			if sites {
				line = append(line, grid.Str(site, look))
			}
			line = append(line, grid.Str(tank, look), depth, volume, grid.Str(source, look))
			return yield(line)
		}
		if !put("Site", "Tank", depthHeading(k.depth), volumeHeading("Volume", k.volume), "Source", grid.LookHeading) {
			return
		}
		for _, t := range tables {
			// The first row of a chart says all; what nobody measured says so in
			// every row, wherever it is sorted to.
			source, after := t.Source(), ""
			if t.FromDimensions {
				after = Computed
			}
			for _, r := range t.Rows {
				if !put(t.Site, t.Name, grid.Num(r.Depth, grid.LookLength), grid.Num(r.Volume, grid.LookVolume), source, grid.LookPlain) {
					return
				}
				source = after
			}
		}
	}
	return p
}

// forms widens the forms of numbers so that a chart shows all its digits.
func (p *page) forms(t *Table) {
	p.depth.decimals = max(p.depth.decimals, t.DepthDecimals)
	p.volume.decimals = max(p.volume.decimals, t.VolumeDecimals)
	switch {
	case t.DepthDecimals > 0 && t.Denominator == 0:
		p.depth.denominator = -1 // some depth is no fraction
	case p.depth.denominator >= 0:
		p.depth.denominator = max(p.depth.denominator, t.Denominator)
	}
}

func depthHeading(u unit.LengthUnit) grid.Value {
	return grid.Str("Depth ("+u.String()+")", grid.LookHeading)
}

func volumeHeading(what string, u unit.VolumeUnit) grid.Value {
	return grid.Str(what+" ("+u.String()+")", grid.LookHeading)
}

// wideGroup is charts whose depths agree as far as each of them goes.
type wideGroup struct {
	longest *Table
	tables  []*Table
}

func widePages(tables []*Table) []page {
	var list []page
	var groups []*wideGroup
	// Charts of one height and step are met again and again, so their group is
	// looked up by what a chart's ends tell; the rows are compared only then.
	byStart := map[[4]float64][]*wideGroup{}
next:
	for _, t := range tables {
		key := [4]float64{float64(t.DepthUnit), float64(t.VolumeUnit), t.Rows[0].Depth, t.Rows[1].Depth}
		for _, g := range byStart[key] {
			if g.tables[0].FromDimensions != t.FromDimensions || len(g.tables) == wideColumns || !sameDepths(g.longest.Rows, t.Rows) {
				continue
			}
			g.tables = append(g.tables, t)
			if len(t.Rows) > len(g.longest.Rows) {
				g.longest = t
			}
			continue next
		}
		g := &wideGroup{t, []*Table{t}}
		groups = append(groups, g)
		byStart[key] = append(byStart[key], g)
	}
	for _, g := range groups {
		list = append(list, widePage(g))
	}
	nameSheets(list, "Charts")
	return list
}

func sameDepths(a, b []Row) bool {
	for i := range min(len(a), len(b)) {
		if a[i].Depth != b[i].Depth {
			return false
		}
	}
	return true
}

func widePage(g *wideGroup) page {
	first := g.tables[0]
	p := page{tables: g.tables, widths: []float64{14}, head: 3, metric: first.DepthUnit.Metric(), landscape: true}
	for _, t := range g.tables {
		p.widths = append(p.widths, 15)
		p.forms(t)
	}
	p.lines = func(yield func([]grid.Value) bool) {
		title := "Charts; the source of each stands below the last row"
		if first.FromDimensions {
			title = "Charts " + Computed + "; how, stands below the last row"
		}
		if !yield([]grid.Value{grid.Str(title, grid.LookTitle)}) || !yield(nil) {
			return
		}
		line := make([]grid.Value, 0, len(g.tables)+1)
		line = append(line, depthHeading(first.DepthUnit))
		for _, t := range g.tables {
			line = append(line, volumeHeading(t.Called(), t.VolumeUnit))
		}
		if !yield(line) {
			return
		}
		for i, r := range g.longest.Rows {
			line = append(line[:0], grid.Num(r.Depth, grid.LookLength))
			for _, t := range g.tables {
				v := grid.Value{}
				if i < len(t.Rows) {
					v = grid.Num(t.Rows[i].Volume, grid.LookVolume)
				}
				line = append(line, v)
			}
			if !yield(line) {
				return
			}
		}
		if !yield(nil) {
			return
		}
		for _, t := range g.tables {
			note := "Note: " + t.Called() + " was " + t.Source()
			if !yield([]grid.Value{grid.Str(note, grid.LookPlain)}) {
				return
			}
		}
	}
	return p
}

// What a folded sheet measures on paper, in points: a row, two columns, and what
// fits both Letter and A4 between the margins.
const (
	rowHeight  = 15.0
	pairWidth  = 20 * 5.6
	pageHeight = 690.0
	pageWidth  = 520.0
	maxBlocks  = 10
	// leastScale is the smallest print that can be read at arm's length; what
	// would be smaller takes another page.
	leastScale = 0.4
	// titleRows is about what a chart's titles take.
	titleRows = 4
)

// fold gives the number of blocks in which a chart prints largest under some
// rows of titles, the rows in each, and whether it can be read on one page.
func fold(n, titles int) (blocks, rows int, onePage bool) {
	best := 0.0
	for b := 2; b <= maxBlocks; b++ {
		r := (n + b - 1) / b
		b := (n + r - 1) / r // the last block may be left over
		scale := min(pageWidth/(pairWidth*float64(b)), pageHeight/(rowHeight*float64(r+titles+2)))
		if scale > best {
			best, blocks, rows = scale, b, r
		}
	}
	return blocks, rows, best >= leastScale
}

func foldedPages(tables []*Table) []page {
	list := make([]page, 0, len(tables))
	taken := map[string]bool{}
	for _, t := range tables {
		p := foldedPage(t)
		p.name = sheetName(t.Name, taken)
		list = append(list, p)
	}
	return list
}

func foldedPage(t *Table) page {
	blocks, rows, onePage := fold(len(t.Rows), titleRows)
	titles := foldedTitles(t, 19*blocks)
	p := page{tables: []*Table{t}, head: len(titles) + 2, metric: t.DepthUnit.Metric(), tall: 1}
	if !onePage {
		p.tall = 0
	}
	p.forms(t)
	for range blocks {
		p.widths = append(p.widths, 9, 11)
	}
	p.lines = func(yield func([]grid.Value) bool) {
		for i, text := range titles {
			look := grid.LookText
			if i == 0 {
				look = grid.LookTitle
			}
			if !yield([]grid.Value{grid.Str(text, look)}) {
				return
			}
		}
		if !yield(nil) {
			return
		}
		line := make([]grid.Value, 0, 2*blocks)
		for range blocks {
			line = append(line, depthHeading(t.DepthUnit), volumeHeading("Volume", t.VolumeUnit))
		}
		if !yield(line) {
			return
		}
		for i := range rows {
			line = line[:0]
			for k := i; k < len(t.Rows); k += rows {
				line = append(line, grid.Num(t.Rows[k].Depth, grid.LookLength), grid.Num(t.Rows[k].Volume, grid.LookVolume))
			}
			if !yield(line) {
				return
			}
		}
	}
	return p
}

// foldedTitles breaks the titles into lines no wider than the blocks below them.
func foldedTitles(t *Table, width int) []string {
	var list []string
	for _, text := range t.Titles() {
		line := ""
		for word := range strings.FieldsSeq(text) {
			if line != "" && len(line)+1+len(word) > width {
				list = append(list, line)
				line = ""
			}
			if line != "" {
				line += " "
			}
			line += word
		}
		list = append(list, line)
	}
	return list
}

// nameSheets calls the only sheet by a word, and numbers several.
func nameSheets(list []page, word string) {
	for i := range list {
		list[i].name = word
		if i > 0 {
			list[i].name = fmt.Sprintf("%s %d", word, i+1)
		}
	}
}

// sheetName makes a sheet's name of a tank's: without the signs that no sheet's
// name may hold, 31 characters at most, and none twice.
func sheetName(tank string, taken map[string]bool) string {
	name := []rune(strings.Trim(strings.Map(func(r rune) rune {
		if strings.ContainsRune(`[]:*?/\`, r) || r < ' ' {
			return '-'
		}
		return r
	}, tank), "' "))
	name = name[:min(len(name), 31)]
	if len(name) == 0 {
		name = []rune("Chart")
	}
	got := string(name)
	for n := 2; taken[strings.ToLower(got)]; n++ {
		tail := fmt.Sprintf(" (%d)", n)
		got = string(name[:min(len(name), 31-len(tail))]) + tail
	}
	taken[strings.ToLower(got)] = true
	return got
}
