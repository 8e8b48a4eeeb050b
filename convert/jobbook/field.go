package jobbook

import "dropcut/convert/jobbook/sheet"

// kind is what a field takes.
type kind uint8

const (
	ofLength kind = iota
	ofTorque
	ofPressure
	ofNumber
	ofYesNo
	ofDate
	ofText
	ofLong // text of several lines
	ofWord // one of a few words
)

// field is one cell that is filled in. It is found again by its name, which is
// that of its tank's number and its key: t2_riser.
type field struct {
	key   string
	label string
	hint  string
	kind  kind
	words []string
	least float64 // of a length in inches, torque, pressure
	most  float64
	must  bool // the record is not complete without it
}

// Keys of the fields that the calculation and the reading back know.
const (
	fRiser     = "riser"
	fFace      = "face"
	fDiameter  = "diameter"
	fClearance = "clearance"
	fPlate     = "plate"
	fArm       = "arm"
	fAlarm     = "alarm"
	fBore      = "bore"
	fAgain     = "again"

	fUpper    = "upper_built"
	fLower    = "lower_built"
	fShort    = "short_built"
	fDrop     = "drop_built"
	fPressure = "leak_pressure"
	fTorque   = "torque_" // and the joint's number, from the tank up
	fDate     = "done_on"
	fWho      = "technician"
	fCompany  = "company"
	fLicence  = "license"
	fRemarks  = "remarks"

	fFoundUpper = "found_upper"
	fFoundRiser = "found_riser"
	fFoundFace  = "found_face"
	fLeftUpper  = "left_upper"
)

// measureFields are the marked cells of a cut page, in the order of the page.
func measureFields() []field {
	return []field{
		{key: fRiser, label: "Riser height", hint: "inside tank top to sealing face", kind: ofLength, least: 2, most: 240},
		{key: fFace, label: "Face to bottom", hint: "sealing face to tank bottom", kind: ofLength, least: 12, most: 480},
		{key: fDiameter, label: "Inside diameter", hint: "where it was measured", kind: ofLength, least: 12, most: 240},
		{key: fBore, label: "Riser bore", hint: "inside, at its narrowest", kind: ofLength, least: 1, most: 24},
		{key: fArm, label: "Free space for the arm", hint: "along the tank, to the nearest thing", kind: ofLength, least: 0, most: 600},
		{key: fPlate, label: "Striker plate", hint: "thickness, where there is one", kind: ofLength, least: 0, most: 3},
		{key: fClearance, label: "Clearance wanted", hint: "above the bottom; blank: by the rule", kind: ofLength, least: 0, most: 12},
		{key: fAlarm, label: "Alarm set at", hint: "depth", kind: ofLength, least: 1, most: 480},
	}
}

// recordFields are the fields of a work record but for the torques.
func recordFields() []field {
	return []field{
		{key: fUpper, label: "Upper tube as cut", kind: ofLength, least: 1, most: 480, must: true},
		{key: fLower, label: "Lower tube as cut, long side", kind: ofLength, least: 1, most: 480, must: true},
		{key: fShort, label: "Lower tube, short side", hint: "only where cut at an angle", kind: ofLength, least: 1, most: 480},
		{key: fDrop, label: "Drop length as built", hint: "sealing face to the end", kind: ofLength, least: 1, most: 480, must: true},
		{key: fPressure, label: "Leak test pressure", kind: ofPressure, least: 0, most: 30, must: true},
	}
}

// checkFields are the questions of a work record that are answered yes or no.
func checkFields() []field {
	yes := []string{"yes", "no"}
	return []field{
		{key: "chips_out", label: "Chips out, valve free", kind: ofYesNo, words: yes, must: true},
		{key: "leak_held", label: "Leak test held", kind: ofYesNo, words: yes, must: true},
		{key: "arm_free", label: "Arm along the tank and free", kind: ofYesNo, words: yes, must: true},
		{key: "plate_on", label: "Warning plate and fill card on", kind: ofYesNo, words: yes, must: true},
		{key: "level_checked", label: "Level checked after installing", kind: ofYesNo, words: yes, must: true},
	}
}

// signFields say who did the work.
func signFields() []field {
	return []field{
		{key: fDate, label: "Date", kind: ofDate, must: true},
		{key: fWho, label: "Technician", kind: ofText, must: true},
		{key: fCompany, label: "Company", kind: ofText},
		{key: fLicence, label: "License or certificate number", kind: ofText, must: true},
		{key: "photos", label: "Photos, file names", kind: ofText},
	}
}

// style gives the dress of a field's cell.
func (f *field) style() sheet.Style {
	switch f.kind {
	case ofText, ofWord:
		return inputText
	case ofLong:
		return inputLong
	case ofDate:
		return inputDate
	}
	return input
}
