package limits

import (
	"fmt"
	"math"

	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// Written is a figure of a plan as it stands in a book.
type Written struct {
	// Name is the heading without what all headings of a plan share and without
	// its unit, as the Name constants have it.
	Name string
	At   cell.Ref
	// Text is what stands in the cell, "" in an empty one; Want is what the plan
	// gives today.
	Text, Want string
	// Value is the number in inches, US gallons or percent; IsNumber says that
	// there is one. Size is how much of these one unit of the book is, and Unit its
	// symbol.
	Value    float64
	IsNumber bool
	Size     float64
	Unit     string
	// Differs says that the cell does not hold what the plan gives today, Since
	// whether anybody knows why.
	Differs bool
	Since   Since
}

// Since says how a figure has come to differ from the plan.
type Since uint8

const (
	// NobodyKnows: there is no check word of what was written.
	NobodyKnows Since = iota
	// Typed: the cell no longer holds what was written into it.
	Typed
	// Older: the cell holds what was written, and the plan gives something else
	// today.
	Older
)

// The figures that the second calculation knows.
const (
	NameFull       = "Full volume"
	NameLimit      = "Limit %"
	NameLimitFull  = "Limit volume"
	NameDepth      = "Shutoff depth"
	NameVolume     = "Shutoff volume"
	NameShare      = "Shutoff %"
	NameWorst      = "Worst-case %"
	NameChance     = "Chance over limit %"
	NameHeadspace  = "Headspace"
	NameBelowTop   = "Tube below tank top"
	NameTube       = "Upper tube cut"
	NameMark       = "Upper tube mark"
	NameDrop       = "Drop length"
	NameLower      = "Lower tube cut"
	NameAlarm      = "Alarm depth"
	NameStatus     = "Status"
	stopWord       = "stop"
	backwardWithin = 1e-7 // of a figure; files keep ten digits or more
)

// Second holds the figures of one tank, as they stand in a book, against the
// plan of today and against a calculation that goes the other way: from the tube
// that is written there, by the measurements and the rows of the chart, to the
// level, the volume and the share. It names the first that somebody has changed.
// row is in the order of the columns.
func Second(c Case, row []Written) []finding.Finding {
	first, others := suspect(row)
	back := c.backward(row)
	if first < 0 {
		return c.unconfirmed(row, back)
	}
	w := &row[first]
	f := finding.Finding{
		Slug: finding.FigureNotConfirmed, Severity: finding.Check, Site: c.Tank.Site.V, Tank: c.Tank.ID.V, At: w.At,
		Found: w.Name + " " + orNothing(w.Text), Expected: orNothing(w.Want), Why: whySince(w.Since, len(others)),
		Suggestion: "do not cut by this row; plan the book anew",
	}
	for _, i := range others {
		f.Related = append(f.Related, row[i].At)
	}
	tube, isTube := w.tube()
	switch v, known := back[w.Name]; {
	case isTube:
		said, over := c.does(tube, w)
		if said != "" {
			f.Why += "; " + said
		}
		if over {
			f.Severity = finding.Stop
		}
	case known && w.Size > 0:
		f.Why += "; worked backwards from the tube and the measurements it is " + w.number(v)
	}
	if c.stopped(row) && w.Text != "" && w.Name != NameFull && w.Name != NameLimit && w.Name != NameLimitFull {
		f.Severity = finding.Stop
		f.Why += "; this tank has a stop, and nothing may be cut by its row"
	}
	return []finding.Finding{f}
}

// suspect gives the first figure that somebody has changed, and the others that
// differ. What is known to be typed goes before what only differs.
func suspect(row []Written) (first int, others []int) {
	first = -1
	for i := range row {
		switch w := &row[i]; {
		case !w.Differs:
		case first < 0:
			first = i
		case w.Since == Typed && row[first].Since != Typed:
			first, others = i, append(others, first)
		default:
			others = append(others, i)
		}
	}
	return first, others
}

func whySince(s Since, others int) string {
	switch {
	case s == Typed:
		return "somebody has changed it since it was written"
	case s == Older && others > 0:
		return fmt.Sprintf("it and %s of the row no longer follow from what the book says: a measurement or the chart was changed since, or the plan was made with other options", plural(others))
	case s == Older:
		return "it no longer follows from what the book says: something was changed since, or the plan was made with other options"
	case others > 0:
		return fmt.Sprintf("it and %s of the row do not follow from what the book says: they were changed, or a measurement or the chart was, or the plan was made with other options", plural(others))
	}
	return "the rest of the row follows from what the book says, and this figure does not"
}

func plural(n int) string {
	if n == 1 {
		return "1 more figure"
	}
	return fmt.Sprintf("%d more figures", n)
}

func orNothing(s string) string {
	if s == "" {
		return "nothing"
	}
	return s
}

// tube gives the length of an upper tube where the figure is one: the cut, or
// the mark that it is cut by.
func (w *Written) tube() (unit.Length, bool) {
	switch {
	case w.Name == NameTube && w.IsNumber:
		return unit.Length(w.Value), true
	case w.Name == NameMark:
		l, err := unit.ParseLength(w.Text, unit.Inches, unit.DecimalPoint)
		return l, err == nil
	}
	return 0, false
}

// number prints a figure in the unit that the book has it in.
func (w *Written) number(v float64) string {
	s := unit.DecimalText(v/w.Size, 4, unit.Nearest)
	if w.Unit != "" {
		s += " " + w.Unit
	}
	return s
}

// does tells what a tube does in the tank, and whether that is over the limit.
func (c Case) does(tube unit.Length, w *Written) (said string, over bool) {
	if !c.whole() {
		return "", false
	}
	depth, ok := c.depth(tube)
	if !ok {
		return "", false
	}
	in := *w
	if in.Size == 0 {
		in.Size, in.Unit = 1, "in"
	}
	limit := c.Cut.LimitPercent.V
	if top := topOf(c); depth > top {
		return "such a tube shuts off at " + in.number(float64(depth)) + ", above the chart: over the limit", true
	}
	share, ok := c.share(tube, depth)
	if !ok {
		return "", false
	}
	said = "such a tube shuts off at " + in.number(float64(depth)) + ", which is " + unit.PercentText(share, limit) + " % of the tank"
	if over = share > limit*(1+1e-9); over {
		said += ": over the limit of " + percent(limit) + " %"
	}
	return said, over
}

// whole reports whether there is enough to go backwards.
func (c Case) whole() bool {
	return c.Device != nil && c.Device.ShutoffDrop.Given() && c.Chart != nil && len(c.Chart.Rows) > 0 && c.Cut.InsideHeight.Known
}

// depth gives the level at which a tube shuts off: of the two measurements the
// one that puts it higher.
func (c Case) depth(tube unit.Length) (unit.Length, bool) {
	depth, ok := unit.Length(math.Inf(-1)), false
	for _, d := range c.depths(tube-c.extra(), c.Device.ShutoffDrop.V) {
		depth, ok = max(depth, d), true
	}
	return depth, ok
}

// extra is what the test fitting adds to the upper tube.
func (c Case) extra() unit.Length {
	if x := c.Device.TestExtra; x.Given() && (!c.Tank.TestVariant.Given() || c.Tank.TestVariant.V) {
		return x.V
	}
	return 0
}

// share gives the share of the tank at which a tube shuts off: of a level one by
// the rows of its chart, of a tilted one as a tube that was found there.
func (c Case) share(tube, depth unit.Length) (unit.Percent, bool) {
	if c.level() {
		return shareAt(c.Chart, depth)
	}
	a := c.found(tube)
	return a.ShutoffPercent.V, a.ShutoffPercent.Known
}

// level reports whether the plan took the tank as lying level.
func (c Case) level() bool { return !c.Cut.TiltedDepth.Known && !c.Tank.Rise.Given() }

// found judges a tube as one that was found in the tank.
func (c Case) found(tube unit.Length) plan.AsFound {
	t := *c.Tank
	t.AsFoundUpper = cell.Of[unit.Length]{V: tube, Raw: "as written", At: t.At}
	o := *c.Options
	o.NoTrail = true
	a, _ := plan.Invert(&t, c.Chart, c.Device, c.Rules, o, c.Cut)
	return a
}

func topOf(c Case) unit.Length {
	top := 0.0
	for i := range c.Chart.Rows {
		top = max(top, c.Chart.Rows[i].Depth)
	}
	return c.Chart.DepthUnit.Length(top)
}

// backward works figures out from other ones of the row, without the plan: what
// the chart gives, what follows from the tube that is written. Figures that need
// what is not there are left out.
func (c Case) backward(row []Written) map[string]float64 {
	back := map[string]float64{}
	if c.Chart == nil || len(c.Chart.Rows) == 0 || c.stopped(row) {
		return back
	}
	at := func(name string) (float64, bool) {
		for i := range row {
			if row[i].Name == name {
				return row[i].Value, row[i].IsNumber
			}
		}
		return 0, false
	}
	full := 0.0
	for i := range c.Chart.Rows {
		full = max(full, c.Chart.Rows[i].Volume)
	}
	full *= float64(c.Chart.VolumeUnit.Size())
	back[NameFull] = full
	if limit, ok := at(NameLimit); ok {
		back[NameLimitFull] = full * limit / 100
	}
	if a, ok := c.entry(c.Limits.Alarm.Of(unit.Volume(full))); ok {
		back[NameAlarm] = float64(a)
	}
	length, ok := at(NameTube)
	if !ok || !c.whole() {
		// No tube yet: from the level on.
		if d, ok := at(NameDepth); ok && c.level() {
			c.read(back, unit.Length(d), full)
		}
		return back
	}
	tube := unit.Length(length)
	depth, ok := c.depth(tube)
	if !ok {
		return back
	}
	back[NameDepth] = float64(depth)
	back[NameHeadspace] = float64(c.Cut.InsideHeight.V - depth)
	back[NameBelowTop] = float64(c.Cut.InsideHeight.V - depth - c.Device.ShutoffDrop.V)
	if r := c.Tank.RiserHeight; r.Given() {
		back[NameBelowTop] = float64(tube - c.extra() - r.V)
	}
	if share, ok := c.share(tube, depth); ok {
		back[NameShare] = float64(share)
		if c.level() {
			back[NameVolume] = full * float64(share) / 100
		}
		a := c.found(tube)
		if a.WorstPercent.Known {
			back[NameWorst], back[NameChance] = float64(a.WorstPercent.V), float64(a.ChanceOver.V)
		}
	}
	if body := c.Device.BodyLength; body.Given() {
		held := float64(tube - c.extra() + body.V)
		if lower, ok := at(NameLower); ok {
			back[NameDrop] = held + lower
		}
		if drop, ok := at(NameDrop); ok {
			back[NameLower] = drop - held
		}
	}
	return back
}

// read adds what the chart of a level tank gives at a depth.
func (c Case) read(back map[string]float64, depth unit.Length, full float64) {
	if c.Cut.InsideHeight.Known {
		back[NameHeadspace] = float64(c.Cut.InsideHeight.V - depth)
	}
	if share, ok := shareAt(c.Chart, depth); ok {
		back[NameShare], back[NameVolume] = float64(share), full*float64(share)/100
	}
}

// entry gives the largest charted depth whose volume is not above v, by going
// through all rows.
func (c Case) entry(v unit.Volume) (unit.Length, bool) {
	most, best, ok := c.Chart.VolumeUnit.Number(v)*(1+1e-12), math.Inf(-1), false
	for i := range c.Chart.Rows {
		if r := &c.Chart.Rows[i]; r.Volume <= most && r.Depth > best {
			best, ok = r.Depth, true
		}
	}
	return c.Chart.DepthUnit.Length(best), ok
}

// stopped reports whether today's plan has a stop for the tank.
func (c Case) stopped(row []Written) bool {
	for i := range row {
		if row[i].Name == NameStatus {
			return row[i].Want == stopWord
		}
	}
	return false
}

// unconfirmed compares a row that holds what the plan gives with the calculation
// that goes the other way: where they differ the plan itself is wrong.
func (c Case) unconfirmed(row []Written, back map[string]float64) []finding.Finding {
	for i := range row {
		w := &row[i]
		v, known := back[w.Name]
		if !known || !w.IsNumber || math.Abs(v-w.Value) <= backwardWithin*max(1, math.Abs(v)) {
			continue
		}
		return []finding.Finding{{
			Slug: finding.FigureNotConfirmed, Severity: finding.Stop, Site: c.Tank.Site.V, Tank: c.Tank.ID.V, At: w.At,
			Found: w.Name + " " + w.Text, Expected: w.number(v), Why: "worked backwards from the tube, the measurements and the chart it is another; the second calculation does not confirm the first",
			Suggestion: "report it with the book; do not cut",
		}}
	}
	return nil
}
