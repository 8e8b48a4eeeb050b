package field

import (
	"slices"
	"strconv"

	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// Asked gives the measures that a tank's page asks for.
func Asked(r *validate.Result) []Field {
	list := MeasureFields()
	return slices.DeleteFunc(list, func(f Field) bool {
		switch f.Key {
		case Diameter:
			// The dimensions that a tilt is computed from are not changed on site;
			// and an upright tank's diameter is not its height.
			return (r.Tank.Rise.Given() && r.Tank.Rise.V > 0) || plan.Standing(r.Tank.Shape.V)
		case Bore:
			return r.Device == nil || !r.Device.LeastRiserBore.Given()
		case Arm:
			return r.Device == nil || !r.Device.ArmSpace.Given()
		}
		return false
	})
}

// Given gives the value that the list has for a measure.
func Given(r *validate.Result, key string) cell.Of[unit.Length] {
	t := r.Tank
	switch key {
	case Riser:
		return t.RiserHeight
	case Face:
		return t.FaceToBottom
	case Diameter:
		return t.Diameter
	case Bore:
		return t.RiserBore
	case Arm:
		return t.FreeArm
	case Plate:
		return t.StrikerPlate
	case Clearance:
		return t.Clearance
	case Alarm:
		return t.AlarmDepth
	}
	return cell.Of[unit.Length]{}
}

// TorqueFields are the joints of a device, from the tank up.
func TorqueFields(r *validate.Result) []Field {
	if r.Device == nil {
		return nil
	}
	var list []Field
	for i, j := range r.Device.Joints {
		list = append(list, Field{Key: Torque + strconv.Itoa(i+1), Label: j.Name, Kind: OfTorque, Most: 200, Must: true})
	}
	return list
}

// Abs is the size of a length.
func Abs(l unit.Length) unit.Length { return max(l, -l) }
