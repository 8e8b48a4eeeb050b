package change

import (
	"math"
	"strconv"
	"strings"
	"time"

	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/device"
	"dropcut/plan/rule"
	"dropcut/plan/unit"
)

// field is a value that two rows of a kind may differ in: what people call it,
// how it reads, where it stands and whether two of them mean the same.
type field[T any] struct {
	name string
	read func(*T) (raw string, at cell.Ref, given bool)
	same func(a, b *T) bool
	// key says what the value means, whatever words it stands in; number says that
	// it is one.
	key    func(*T) string
	number bool
}

// measured is a field of a number; two numbers are the same where they mean the
// same quantity, whatever units and notation they stand in.
func measured[T any, Q ~float64](name string, get func(*T) cell.Of[Q]) field[T] {
	return field[T]{
		name: name,
		read: func(t *T) (string, cell.Ref, bool) { v := get(t); return v.Raw, v.At, v.Given() },
		same: func(a, b *T) bool {
			va, vb := get(a), get(b)
			return va.Given() == vb.Given() && sameNumber(float64(va.V), float64(vb.V))
		},
		key:    func(t *T) string { return numberKey(float64(get(t).V)) },
		number: true,
	}
}

// worded is a field of a word, a choice or a date.
func worded[T any, V comparable](name string, get func(*T) cell.Of[V]) field[T] {
	return field[T]{
		name: name,
		read: func(t *T) (string, cell.Ref, bool) { v := get(t); return v.Raw, v.At, v.Given() },
		same: func(a, b *T) bool {
			va, vb := get(a), get(b)
			return va.Given() == vb.Given() && va.V == vb.V
		},
		key: func(t *T) string { return wordKey(get(t).V) },
	}
}

// relative is how far two readings of one quantity may lie apart and still be
// one: the noise that programs leave behind (82.249999 for 82.25), far below
// the last digit of any chart or rule.
const relative = 1e-7

func sameNumber(a, b float64) bool {
	if math.IsNaN(a) || math.IsNaN(b) {
		return math.IsNaN(a) && math.IsNaN(b)
	}
	return math.Abs(a-b) <= relative*max(math.Abs(a), math.Abs(b))
}

// tankFields lists what a tank list says of a tank, in the order in which
// changes are printed.
func tankFields() []field[plan.Tank] {
	type T = plan.Tank
	return []field[T]{
		worded("site", func(t *T) cell.Of[string] { return t.Site }),
		worded("job", func(t *T) cell.Of[string] { return t.Job }),
		worded("product", func(t *T) cell.Of[string] { return t.Product }),
		measured("nominal capacity", func(t *T) cell.Of[unit.Volume] { return t.Nominal }),
		measured("certified capacity", func(t *T) cell.Of[unit.Volume] { return t.Certified }),
		measured("inside diameter", func(t *T) cell.Of[unit.Length] { return t.Diameter }),
		measured("length", func(t *T) cell.Of[unit.Length] { return t.Length }),
		measured("width", func(t *T) cell.Of[unit.Length] { return t.Width }),
		worded("shape", func(t *T) cell.Of[string] { return t.Shape }),
		worded("end shape", func(t *T) cell.Of[string] { return t.EndShape }),
		worded("chart", func(t *T) cell.Of[string] { return t.ChartName }),
		worded("depth unit", func(t *T) cell.Of[unit.LengthUnit] { return t.ChartDepthUnit }),
		worded("volume unit", func(t *T) cell.Of[unit.VolumeUnit] { return t.ChartVolumeUnit }),
		worded("place", func(t *T) cell.Of[string] { return t.Place }),
		measured("limit", func(t *T) cell.Of[unit.Percent] { return t.Limit }),
		worded("device", func(t *T) cell.Of[string] { return t.Device }),
		worded("fill pipe installed", func(t *T) cell.Of[time.Time] { return t.FillPipeInstalled }),
		worded("last inspection", func(t *T) cell.Of[time.Time] { return t.LastInspection }),
		measured("riser height", func(t *T) cell.Of[unit.Length] { return t.RiserHeight }),
		measured("riser bore", func(t *T) cell.Of[unit.Length] { return t.RiserBore }),
		measured("face to bottom", func(t *T) cell.Of[unit.Length] { return t.FaceToBottom }),
		worded("seal", func(t *T) cell.Of[plan.Seal] { return t.Seal }),
		measured("bottom clearance", func(t *T) cell.Of[unit.Length] { return t.Clearance }),
		measured("cut angle", func(t *T) cell.Of[unit.Angle] { return t.CutAngle }),
		measured("striker plate", func(t *T) cell.Of[unit.Length] { return t.StrikerPlate }),
		measured("rise end to end", func(t *T) cell.Of[unit.Length] { return t.Rise }),
		worded("low end", func(t *T) cell.Of[plan.End] { return t.LowEnd }),
		measured("fill station", func(t *T) cell.Of[unit.Length] { return t.FillStation }),
		measured("dip station", func(t *T) cell.Of[unit.Length] { return t.DipStation }),
		measured("free arm length", func(t *T) cell.Of[unit.Length] { return t.FreeArm }),
		measured("as-found upper tube", func(t *T) cell.Of[unit.Length] { return t.AsFoundUpper }),
		measured("alarm depth", func(t *T) cell.Of[unit.Length] { return t.AlarmDepth }),
		worded("vent restrictor", func(t *T) cell.Of[bool] { return t.VentRestrictor }),
		worded("pressurized delivery", func(t *T) cell.Of[bool] { return t.Pressurized }),
		worded("test variant", func(t *T) cell.Of[bool] { return t.TestVariant }),
	}
}

func deviceFields() []field[device.Device] {
	type D = device.Device
	return []field[D]{
		measured("shutoff drop", func(d *D) cell.Of[unit.Length] { return d.ShutoffDrop }),
		measured("least tube below tank top", func(d *D) cell.Of[unit.Length] { return d.LeastBelowTop }),
		measured("least upper tube", func(d *D) cell.Of[unit.Length] { return d.LeastUpperTube }),
		measured("body length", func(d *D) cell.Of[unit.Length] { return d.BodyLength }),
		measured("tube outside diameter", func(d *D) cell.Of[unit.Length] { return d.TubeDiameter }),
		measured("least riser bore", func(d *D) cell.Of[unit.Length] { return d.LeastRiserBore }),
		measured("free space for the arm", func(d *D) cell.Of[unit.Length] { return d.ArmSpace }),
		measured("test extra", func(d *D) cell.Of[unit.Length] { return d.TestExtra }),
		measured("least bottom clearance", func(d *D) cell.Of[unit.Length] { return d.LeastClearance }),
		measured("cut step", func(d *D) cell.Of[unit.Length] { return d.CutStep }),
		measured("test pressure ceiling", func(d *D) cell.Of[unit.Pressure] { return d.TestPressure }),
		measured("stock length of upper tube", func(d *D) cell.Of[unit.Length] { return d.StockUpper }),
		measured("stock length of lower tube", func(d *D) cell.Of[unit.Length] { return d.StockLower }),
		worded("source", func(d *D) cell.Of[string] { return d.Source }),
		{
			name: "joints",
			read: func(d *D) (string, cell.Ref, bool) { return joints(d), d.At, len(d.Joints) > 0 },
			same: func(a, b *D) bool { return joints(a) == joints(b) },
			key:  joints,
		},
	}
}

func joints(d *device.Device) string {
	var b strings.Builder
	for i, j := range d.Joints {
		if i > 0 {
			b.WriteString("; ")
		}
		b.WriteString(j.Name + " " + j.Least.Raw + " to " + j.Most.Raw)
	}
	return b.String()
}

func ruleFields() []field[rule.Rule] {
	type R = rule.Rule
	text := func(name string, get func(*R) string) field[R] {
		return field[R]{
			name: name,
			read: func(r *R) (string, cell.Ref, bool) { s := get(r); return s, r.At, s != "" },
			same: func(a, b *R) bool { return get(a) == get(b) },
			key:  get,
		}
	}
	return []field[R]{
		text("place", func(r *R) string { return r.Place }),
		text("citation", func(r *R) string { return r.Citation() }),
		text("quantity", func(r *R) string { return r.Quantity }),
		text("comparator", func(r *R) string { return string(r.Comparator) }),
		text("value", func(r *R) string {
			if r.ValueText != "" {
				return r.ValueText
			}
			return strconv.FormatFloat(r.Value, 'g', -1, 64)
		}),
		text("unit", func(r *R) string { return r.Unit }),
		text("effective", func(r *R) string { return r.Effective }),
		text("enabled", func(r *R) string { return strconv.FormatBool(r.Enabled) }),
	}
}
