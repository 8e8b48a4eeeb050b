package starter

import (
	"io"
	"slices"
)

// A heading of the empty portfolio: what it is called, how wide its column is,
// what its note says and which words its list offers.
type heading struct {
	text  string
	width float64
	note  string
	words []string
}

// The Tanks sheet's columns. The names are the ones that dropcut itself reads;
// a test reads the sheet back and demands that every one is understood.
var tankHeadings = []heading{
	{"Site", 24, "", nil},
	{"Tank", 10, "One name for each tank, unlike every other. A compartment is TANK/COMPARTMENT.", nil},
	{"Job", 12, "Tanks of one job go into one job workbook.", nil},
	{"Product", 12, "", nil},
	{"Nominal capacity (gal)", 12, "What the tank is called. The plan goes by the chart.", nil},
	{"Certified capacity (gal)", 12, "From the tank's certificate, if there is one.", nil},
	{"Inside diameter (in)", 11, "Measured, if you can.", nil},
	{"Length (in)", 10, "", nil},
	{"Shape", 13, "", []string{"horizontal", "upright", "rectangular", "obround"}},
	{"Ends", 14, "", []string{"flat", "dished", "2:1 elliptical", "hemispherical", "torispherical", "conical"}},
	{"Chart", 12, "The name of the tank's chart, where it is not the tank's own name.", nil},
	{"Place", 18, "Whose rules hold, as in US-federal or US-Oregon. Left empty, the federal 95 % is assumed and said.", nil},
	{"Limit %", 9, "Only where something stricter than the place's rules was agreed.", nil},
	{"Device", 20, "A name from the Devices sheet.", nil},
	{"Fill pipe installed", 12, "Year-month-day. Decides whether the tube may end 6 or 12 in above the bottom.", nil},
	{"Riser height (in)", 11, "Inside tank top to sealing face. Which face counts depends on the seal.", nil},
	{"Face to bottom (in)", 11, "Sealing face to tank bottom under the fill. With the riser height it proves the diameter.", nil},
	{"Seal", 18, "", []string{"built in", "separate face seal", "at nipple"}},
	{"Rise end to end (in)", 11, "How much higher one end of the tank lies than the other.", nil},
	{"Low end", 12, "", []string{"fill end", "other end"}},
	{"Fill station (in)", 11, "Distance of the fill from the end nearest to it.", nil},
	{"Dip station (in)", 11, "Distance of the opening that the chart's dips belong to, from the same end.", nil},
	{"Free space for the arm (in)", 11, "Free length along the tank at the fill, to the nearest fitting, pump or wall.", nil},
	{"As-found upper tube (in)", 11, "Of a device already in the tank.", nil},
	{"Alarm set at (in)", 11, "Depth at which the high-level alarm sounds.", nil},
	{"Last inspection", 12, "Year-month-day.", nil},
	{"Vent restrictor", 11, "", []string{"yes", "no"}},
	{"Delivery", 11, "", []string{"gravity", "pressure"}},
	{"Remarks", 30, "Yours; dropcut does not read it.", nil},
}

var deviceHeadings = []heading{
	{"Device", 28, "The name that the Tanks sheet uses.", nil},
	{"Shutoff drop (in)", 11, "From the seam of the upper tube down to the liquid level at shutoff.", nil},
	{"Least tube below tank top (in)", 11, "", nil},
	{"Least upper tube (in)", 11, "", nil},
	{"Body length (in)", 11, "Between the seams of the upper and the lower tube.", nil},
	{"Tube outside diameter (in)", 11, "", nil},
	{"Least riser bore (in)", 11, "", nil},
	{"Free space for the arm (in)", 11, "", nil},
	{"Test extra (in)", 11, "Added to the upper tube where the test fitting is used.", nil},
	{"Least bottom clearance (in)", 11, "", nil},
	{"Cut step (in)", 11, "1/16 where the data sheet says nothing.", nil},
	{"Leak test ceiling (psi)", 11, "", nil},
	{"Stock upper tube (in)", 11, "", nil},
	{"Stock lower tube (in)", 11, "", nil},
	{"Joints from the tank up", 60, "Name and torque range of each joint, as in: lower joint 18 to 26 lbf.ft; upper joint 14 to 20 lbf.ft", nil},
	{"Source", 40, "The data sheet and its date.", nil},
}

var chartHeadings = []heading{
	{"Tank", 14, "", nil},
	{"Depth (in)", 12, "Dips from the bottom up. Other units: write them into the heading.", nil},
	{"Volume (gal)", 12, "", nil},
}

var ruleHeadings = []string{
	"rule_id", "jurisdiction", "instrument", "section", "applies_to", "quantity", "comparator", "value", "unit", "basis", "condition", "effective", "how_known", "confidence",
}

// Cautions stand near every number that a person could cut from.
var Cautions = []string{
	"These are calculations from the data given. The authority having jurisdiction, the device maker's instructions and licensed practice decide.",
	"Fuel vapor burns. Entering a tank needs a permit. Keep ignition sources away and chips out of the valve.",
	"Measure again before cutting. Check the level again after installing.",
}

// blankRows is how far the lists of the empty sheets reach.
const blankRows = 500

// Template writes the empty portfolio workbook: Tanks, Charts, Devices and Rules
// with their headings, notes and lists. places fills the list of the Place
// column.
func Template(w io.Writer, places []string) error {
	b := newBook()
	b.sheet("Read me", 100)
	b.set("Read me", 1, 1, "A portfolio for dropcut", b.title)
	lines := []string{
		"Tanks: one row a tank. Fill in what you know; what is not measured yet stays empty, and the plan says what it lacks.",
		"Charts: the calibration charts, one under the other, or each on a sheet of its own, or in CSV files. Write the units into the headings.",
		"Devices: the figures of each device's own data sheet. dropcut has none of its own.",
		"Rules: only where a place has rules that dropcut does not know, each with its citation.",
		"You may add columns and sheets, move columns and change the looks; headings are what dropcut goes by.",
		"Then: dropcut audit BOOK.xlsx, dropcut plan BOOK.xlsx. The book itself is not touched; the plan goes into BOOK-planned.xlsx.",
	}
	for i, s := range lines {
		b.set("Read me", 1, 3+i, s, 0)
	}
	for i, s := range Cautions {
		b.set("Read me", 1, 4+len(lines)+i, s, b.warn)
	}
	tanks := slices.Clone(tankHeadings)
	for i := range tanks {
		if tanks[i].text == "Place" {
			tanks[i].words = places
		}
	}
	b.headings("Tanks", tanks)
	b.headings("Charts", chartHeadings)
	b.headings("Devices", deviceHeadings)
	b.sheet("Rules", 20, 22, 34, 14, 12, 18, 11, 9, 14, 20, 30, 14, 16, 11)
	for i, h := range ruleHeadings {
		b.set("Rules", i+1, 1, h, b.head)
	}
	b.freeze("Rules", 1)
	b.landscape("Rules")
	return b.write(w)
}

// headings makes a sheet with its row of headings, their notes and lists.
func (b *book) headings(sheet string, list []heading) {
	widths := make([]float64, len(list))
	for i, h := range list {
		widths[i] = h.width
	}
	b.sheet(sheet, widths...)
	for i, h := range list {
		b.set(sheet, i+1, 1, h.text, b.head)
		b.comment(sheet, i+1, 1, h.note)
		if len(h.words) > 0 {
			b.choices(sheet, i+1, 2, blankRows, h.words)
		}
	}
	b.freeze(sheet, 1)
	b.landscape(sheet)
}
