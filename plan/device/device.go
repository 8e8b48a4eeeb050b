// Package device holds the data of shutoff devices as their data sheets give
// them. No dimension has a default: what the sheet does not say is not known.
package device

import (
	"dropcut/plan/cell"
	"dropcut/plan/unit"
)

// Device is one row of a Devices sheet. A value that is not Given was left
// blank.
type Device struct {
	Name cell.Of[string]
	// ShutoffDrop is the distance from the seam between the upper tube and the
	// device down to the liquid level at which the flow has stopped.
	ShutoffDrop cell.Of[unit.Length]
	// LeastBelowTop is the least length of upper tube below the inside top of
	// the tank, LeastUpperTube the least length of the whole upper tube.
	LeastBelowTop  cell.Of[unit.Length]
	LeastUpperTube cell.Of[unit.Length]
	// BodyLength is the distance between the seam with the upper tube and the
	// seam with the lower tube.
	BodyLength cell.Of[unit.Length]
	// TubeDiameter is the outside diameter of the drop tube, LeastRiserBore the
	// least inside diameter of the riser that the device passes through.
	TubeDiameter   cell.Of[unit.Length]
	LeastRiserBore cell.Of[unit.Length]
	// ArmSpace is the free length that the float arm needs along the tank.
	ArmSpace cell.Of[unit.Length]
	// TestExtra is added to the upper tube of a variant with a test fitting.
	TestExtra cell.Of[unit.Length]
	// LeastClearance is the least distance that the end of the lower tube keeps
	// from the bottom of the tank.
	LeastClearance cell.Of[unit.Length]
	// CutStep is the step to which its tubes are cut; 1/16 in where not given.
	CutStep cell.Of[unit.Length]
	// TestPressure is the ceiling of the leak test.
	TestPressure cell.Of[unit.Pressure]
	// StockUpper and StockLower are the lengths in which tubes are sold.
	StockUpper cell.Of[unit.Length]
	StockLower cell.Of[unit.Length]
	// Joints are the joints with their torque ranges, from the tank up.
	Joints []Joint
	// Source names the data sheet.
	Source cell.Of[string]
	At     cell.Ref
}

// Joint is a threaded joint of the assembly and the torque range its data sheet
// gives.
type Joint struct {
	Name        string
	Least, Most cell.Of[unit.Torque]
}
