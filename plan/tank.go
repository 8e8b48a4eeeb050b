// Package plan is the pure core: tanks, devices and limits in, cut plans out.
// It knows no file and no clock.
package plan

import (
	"time"

	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/device"
	"dropcut/plan/finding"
	"dropcut/plan/rule"
	"dropcut/plan/unit"
)

// Seal says which face the upper tube hangs from.
type Seal uint8

const (
	SealUnknown Seal = iota
	// FaceSealBuiltIn is a device with its face seal built in.
	FaceSealBuiltIn
	// SeparateFaceSeal measures to the top of the separate face seal.
	SeparateFaceSeal
	// AtNipple measures to the top of the nipple, where vapor tightness is not
	// required.
	AtNipple
)

// End is one end of a horizontal tank.
type End uint8

const (
	EndUnknown End = iota
	// FillEnd is the end nearer the fill riser, OtherEnd the one farther off.
	FillEnd
	OtherEnd
)

// Tank is one row of a Tanks sheet: what the contractor knows of a tank. A
// value that is not Given was left blank. Lengths are inches, volumes US
// gallons.
type Tank struct {
	ID      cell.Of[string]
	Site    cell.Of[string]
	Job     cell.Of[string]
	Product cell.Of[string]

	Nominal   cell.Of[unit.Volume] // nominal capacity
	Certified cell.Of[unit.Volume] // certified or actual capacity
	Diameter  cell.Of[unit.Length] // inside
	Length    cell.Of[unit.Length]
	Width     cell.Of[unit.Length]
	Shape     cell.Of[string] // "horizontal", "vertical", "rectangular", ...
	EndShape  cell.Of[string] // "flat", "2:1 elliptical", ...

	ChartName       cell.Of[string]
	ChartDepthUnit  cell.Of[unit.LengthUnit]
	ChartVolumeUnit cell.Of[unit.VolumeUnit]

	Place  cell.Of[string]
	Limit  cell.Of[unit.Percent]
	Device cell.Of[string]

	FillPipeInstalled cell.Of[time.Time]
	LastInspection    cell.Of[time.Time]

	RiserHeight  cell.Of[unit.Length] // inside tank top to sealing face
	RiserBore    cell.Of[unit.Length]
	FaceToBottom cell.Of[unit.Length] // sealing face to tank bottom under the fill
	Seal         cell.Of[Seal]
	Clearance    cell.Of[unit.Length] // wanted bottom clearance of the lower tube
	CutAngle     cell.Of[unit.Angle]  // of the lower end, from square
	StrikerPlate cell.Of[unit.Length] // thickness

	Rise        cell.Of[unit.Length] // end to end
	LowEnd      cell.Of[End]
	FillStation cell.Of[unit.Length] // of the fill, from the end nearest it
	DipStation  cell.Of[unit.Length] // of the opening the chart's dips are taken at, from the same end
	FreeArm     cell.Of[unit.Length] // free length along the tank at the fill

	AsFoundUpper cell.Of[unit.Length]
	AlarmDepth   cell.Of[unit.Length] // depth at which the alarm is set

	VentRestrictor cell.Of[bool]
	Pressurized    cell.Of[bool] // delivery under pressure
	TestVariant    cell.Of[bool] // device with the test extra fitted

	// At is the tank's row: file, sheet and row, no column.
	At cell.Ref
	// Unread lists the cells of the row whose text could not be read, by the
	// name of the column that they stand in.
	Unread map[string]cell.Of[string]
}

// Job is what was read from one book: everything needed to plan its tanks.
type Job struct {
	Book    string
	Tanks   []Tank
	Charts  []*chart.Chart
	Devices []device.Device
	Rules   []rule.Rule
	// ChartOf gives, for each tank, the index of its chart; -1 for none.
	ChartOf []int
	// Findings were made while reading.
	Findings []finding.Finding
}
