// Package charts looks for calibration charts that cannot be right. It holds a
// chart against itself, row by row, and against what else is known of the tank,
// and names each fault once, at the cell that is wrong, with its evidence.
//
// It works in the units of the file. Nothing is repaired: a likely true value is
// a suggestion in a finding's text.
//
// How a wrong cell is found: each volume is held against what a cubic through
// its four neighbours on either side says of it, itself left out, after the
// fitted tank was taken off; in sound charts rounded to a unit the two differ
// by at most 1.24 units of rounding (half a unit times one and the sum of the
// cubic's weights), and by more only where several such predictions differ
// among themselves. How a whole chart is found wrong: by the tank that fits it.
//
// The room is larger than others because its checks share one working copy of the
// chart, the Workspace: each puts right there what it has explained, so that the
// next is not deceived. A file holds one check; what needs no working copy, the
// fit, is a room of its own.
package charts

import (
	"math"

	"dropcut/plan/chart"
	"dropcut/plan/finding"
	"dropcut/validate/charts/fit"
)

// Facts is what others than the chart say of its tank. Lengths are in the
// chart's depth unit, volumes in its volume unit; 0 or NaN where nothing is
// said. Figures must be those of the chart's units: where these are not known,
// leave all of them out.
type Facts struct {
	// Diameter and Length are the tank list's; of an upright tank Length is its
	// height.
	Diameter, Length float64
	// FaceToBottomLessRiser is the inside height measured at the riser.
	FaceToBottomLessRiser float64
	// Nominal is the capacity that the tank goes by, Certified the one that was
	// measured or calculated for it.
	Nominal, Certified float64
	// Shape is the tank list's word: "horizontal", "vertical", "rectangular".
	Shape string
	// Limit is the percentage that the flow stops at; 95 where none is given.
	Limit float64
	// PerCubic is how many of the chart's volume units make one cubic depth
	// unit, 1/231 for inches and US gallons; 0 where the units are not known.
	PerCubic float64
	// Inch is the length of an inch in the chart's depth unit; 1 where the unit
	// is not known.
	Inch float64
	// USGallons says that the chart names US gallons, which may have been imperial
	// ones.
	USGallons bool
}

// Report is what the audit says of one chart.
type Report struct {
	Findings []finding.Finding
	// Fit is the tank that the chart describes; its Recognised says whether the
	// shape was recognised. Figures are those of the chart's units.
	Fit fit.Result
}

// Check is one thing that the audit looks for.
type Check struct {
	// Slug is the finding it makes; a check may make related ones too.
	Slug  finding.Slug
	About string
	Run   func(*Workspace)
}

// Checks lists all checks in the order in which they run. Each takes what it
// explains out of the working copy of the chart, so that the same fault is not
// found again by a later one under another name.
func Checks() []Check {
	return []Check{
		{finding.DecimalComma, "commas and points that mean something else than in the rest of the column", commas},
		{finding.DepthUnitChangesMidway, "depths that go on in another unit", depthUnit},
		{finding.RowDoubled, "rows that stand there twice", doubled},
		{finding.RowsExchanged, "rows that have changed places", exchangedRows},
		{finding.DepthStepWrong, "single depths off the grid of the others", oneDepth},
		{finding.RowMissing, "rows left out, and depths that are shifted from one row on", gaps},
		{finding.DepthRunsBack, "depths that run back or stand there twice and nothing explains it", back},
		{finding.ThousandsMarkLost, "volumes cut at their thousands mark", thousands},
		{finding.VolumeUnitChangesMidway, "volumes that go on in another unit", volumeUnit},
		{finding.WrongDigit, "single volumes, exchanged volumes and shifted blocks that do not follow their neighbours", cells},
		{finding.VolumeFalls, "volumes that fall and nothing explains it", falls},
		{finding.RowsPastFull, "rows beyond the full tank", pastFull},
		{finding.ChartOfAnotherDiameter, "charts of another tank", anotherTank},
		{finding.ChartHabits, "habits without meaning, in one line", habits},
	}
}

// Workspace holds what an audit needs, so that the next one need not ask for
// it. It is for one goroutine at a time. The zero value is ready.
type Workspace struct {
	loaded
	checks []Check
	c      *chart.Chart
	f      Facts
	limit  float64 // share
	out    []finding.Finding
	over   []overflow

	tmp  []float64
	fits fit.Workspace
	fit  fit.Result
	unit float64 // that the volumes are rounded to

	lines knots
	e     []float64 // w less the fitted volume; w itself where no shape fits
	res   []float64 // residual by the cubic
	best  []float64 // the mildest of the residuals
	tol   []float64 // what is tolerated
	keepW []float64
	cut   bool // the depths could not be put in order: rows are left out
	past  int  // first row beyond the full tank, 0 for none
	// wrongHeight is the tank's own height where the chart is one of another tank.
	wrongHeight float64
	digits      int     // significant digits of the volumes; 0 where they are rounded to one unit
	offBy       float64 // by how much the worst row is off that nothing explains
	weighed     int     // rows looked at again for explanations
	form        form
	tipped      bool    // upright walls over a floor that is not level
	sd          float64 // robust standard deviation of the residuals
	rough       bool    // volumes that were measured, not computed
	blurred     float64 // rounding units of rows brought back from another unit
	from, to    int     // the rows that were last brought back so
	moved       int     // rows that were moved by explanations
}

// least is how many rows a chart must have for anything to be said of its curve.
const least = 10

// Audit looks at one chart. It does not change it and keeps nothing of it. A nil
// ws makes one.
func Audit(ws *Workspace, c *chart.Chart, f Facts) Report {
	if ws == nil {
		ws = new(Workspace)
	}
	if c.FeetPoint {
		return Report{} // nothing can be said of depths that are no numbers; the reading has stopped it
	}
	ws.begin(c, f)
	for _, check := range ws.checks {
		check.Run(ws)
	}
	ws.judge()
	ws.countRest()
	ws.c = nil
	out := ws.out
	ws.out = nil
	return Report{Findings: out, Fit: ws.fit}
}

func (ws *Workspace) begin(c *chart.Chart, f Facts) {
	if ws.checks == nil {
		ws.checks = Checks()
	}
	ws.reset()
	ws.c, ws.f, ws.out = c, clean(f), nil
	ws.fit, ws.unit, ws.cut, ws.blurred, ws.over = fit.Result{}, 0, false, 0, ws.over[:0]
	ws.from, ws.to, ws.moved = 0, 0, 0
	ws.past, ws.wrongHeight, ws.rough, ws.weighed, ws.offBy, ws.e = 0, 0, false, 0, 0, ws.e[:0]
	ws.limit = ws.f.Limit / 100
	ws.form = formOf(f.Shape)
	for i := range c.Rows {
		r := &c.Rows[i]
		if ok(r.Depth) && ok(r.Volume) {
			ws.add(i, r.Depth, r.Volume)
		}
	}
}

// ok reports whether a number is one to compute with.
func ok(f float64) bool { return math.Abs(f) < 1e15 }

// clean makes 0 of everything that nobody said.
func clean(f Facts) Facts {
	for _, p := range [...]*float64{&f.Diameter, &f.Length, &f.FaceToBottomLessRiser, &f.Nominal, &f.Certified, &f.PerCubic} {
		if !(*p > 0) || !ok(*p) {
			*p = 0
		}
	}
	if !(f.Limit > 0 && f.Limit <= 100) {
		f.Limit = 95
	}
	if !(f.Inch > 0) {
		f.Inch = 1
	}
	return f
}
