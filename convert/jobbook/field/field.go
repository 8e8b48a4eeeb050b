// Package field says what is filled in on the pages of a job book: the fields, with
// what each takes, the names and keys by which they are found when a book comes
// back, and the texts of the pages.
package field

import (
	"strings"

	"dropcut/plan/unit"
)

// Kind is what a field takes.
type Kind uint8

// The kinds.
const (
	OfLength Kind = iota
	OfTorque
	OfPressure
	OfNumber
	OfYesNo
	OfDate
	OfText
	OfLong // text of several lines
	OfWord // one of a few words
)

// Field is one cell that is filled in. It is found again by its name, which is
// that of its tank's number and its key: t2_riser.
type Field struct {
	Key   string
	Label string
	Hint  string
	Kind  Kind
	Words []string
	Least float64 // of a length in inches, torque, pressure
	Most  float64
	Must  bool // the record is not complete without it
}

// Keys of the fields that the calculation and the reading back know.
const (
	Riser     = "riser"
	Face      = "face"
	Diameter  = "diameter"
	Clearance = "clearance"
	Plate     = "plate"
	Arm       = "arm"
	Alarm     = "alarm"
	Bore      = "bore"
	Again     = "again"

	Upper     = "upper_built"
	Lower     = "lower_built"
	ShortSide = "short_built"
	Drop      = "drop_built"
	Pressure  = "leak_pressure"
	Torque    = "torque_" // and the joint's number, from the tank up
	DoneOn    = "done_on"
	Who       = "technician"
	Company   = "company"
	Licence   = "license"
	Remarks   = "remarks"

	FoundUpper = "found_upper"
	FoundRiser = "found_riser"
	FoundFace  = "found_face"
	LeftUpper  = "left_upper"
)

// MeasureFields are the marked cells of a cut page, in the order of the page.
func MeasureFields() []Field {
	return []Field{
		{Key: Riser, Label: "Riser height", Hint: "inside tank top to sealing face", Kind: OfLength, Least: 2, Most: 240},
		{Key: Face, Label: "Face to bottom", Hint: "sealing face to tank bottom", Kind: OfLength, Least: 12, Most: 480},
		{Key: Diameter, Label: "Inside diameter", Hint: "where it was measured", Kind: OfLength, Least: 12, Most: 240},
		{Key: Bore, Label: "Riser bore", Hint: "inside, at its narrowest", Kind: OfLength, Least: 1, Most: 24},
		{Key: Arm, Label: "Free space for the arm", Hint: "along the tank, to the nearest thing", Kind: OfLength, Least: 0, Most: 600},
		{Key: Plate, Label: "Striker plate", Hint: "thickness, where there is one", Kind: OfLength, Least: 0, Most: 3},
		{Key: Clearance, Label: "Clearance wanted", Hint: "above the bottom; blank: by the rule", Kind: OfLength, Least: 0, Most: 12},
		{Key: Alarm, Label: "Alarm set at", Hint: "depth", Kind: OfLength, Least: 1, Most: 480},
	}
}

// RecordFields are the fields of a work record but for the torques.
func RecordFields() []Field {
	return []Field{
		{Key: Upper, Label: "Upper tube as cut", Kind: OfLength, Least: 1, Most: 480, Must: true},
		{Key: Lower, Label: "Lower tube as cut, long side", Kind: OfLength, Least: 1, Most: 480, Must: true},
		{Key: ShortSide, Label: "Lower tube, short side", Hint: "only where cut at an angle", Kind: OfLength, Least: 1, Most: 480},
		{Key: Drop, Label: "Drop length as built", Hint: "sealing face to the end", Kind: OfLength, Least: 1, Most: 480, Must: true},
		{Key: Pressure, Label: "Leak test pressure", Kind: OfPressure, Least: 0, Most: 30, Must: true},
	}
}

// CheckFields are the questions of a work record that are answered yes or no.
func CheckFields() []Field {
	yes := []string{"yes", "no"}
	return []Field{
		{Key: "chips_out", Label: "Chips out, valve free", Kind: OfYesNo, Words: yes, Must: true},
		{Key: "leak_held", Label: "Leak test held", Kind: OfYesNo, Words: yes, Must: true},
		{Key: "arm_free", Label: "Arm along the tank and free", Kind: OfYesNo, Words: yes, Must: true},
		{Key: "plate_on", Label: "Warning plate and fill card on", Kind: OfYesNo, Words: yes, Must: true},
		{Key: "level_checked", Label: "Level checked after installing", Kind: OfYesNo, Words: yes, Must: true},
	}
}

// SignFields say who did the work.
func SignFields() []Field {
	return []Field{
		{Key: DoneOn, Label: "Date", Kind: OfDate, Must: true},
		{Key: Who, Label: "Technician", Kind: OfText, Must: true},
		{Key: Company, Label: "Company", Kind: OfText},
		{Key: Licence, Label: "License or certificate number", Kind: OfText, Must: true},
		{Key: "photos", Label: "Photos, file names", Kind: OfText},
	}
}

// MeasureOf finds the field of a measure by its key.
func MeasureOf(key string) (Field, bool) {
	for _, f := range MeasureFields() {
		if f.Key == key {
			return f, true
		}
	}
	return Field{}, false
}

// MadeBy begins the line of the cover that names the program and its version.
const MadeBy = "Made by dropcut "

// Number writes a number with four decimals at most.
func Number(v float64) string {
	s := unit.DecimalText(v, 4, unit.Nearest)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}
