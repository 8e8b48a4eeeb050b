// Package unit holds lengths, volumes and the other quantities of a cut plan as
// types, and reads and writes them in every way that people do.
//
// Lengths are inches inside, volumes US gallons, percentages per hundred. All
// conversions named exact below are exact by definition (NIST Handbook 44,
// Appendix C; NIST SP 811, Appendix B); in binary floating point they are right
// to the last digit or two of a float64.
package unit

// Length is a length in inches.
type Length float64

// The sizes of the units of length. The inch is 25.4 mm exactly.
const (
	Inch       Length = 1
	Foot       Length = 12
	Millimetre Length = 1 / 25.4
	Centimetre Length = 10 / 25.4
	Decimetre  Length = 100 / 25.4
	Metre      Length = 1000 / 25.4
)

// Volume is a volume in US gallons.
type Volume float64

// The sizes of the units of volume. The US gallon is 231 in³ exactly and the
// litre 1000/2.54³ in³, so that a US gallon is 3.785411784 L; the imperial
// gallon is 4.54609 L exactly; the petroleum barrel 42 US gallons; the acre-foot
// 43,560 ft³.
const (
	USGallon       Volume = 1
	Litre          Volume = 1 / 3.785411784
	ImperialGallon Volume = 4.54609 / 3.785411784
	CubicMetre     Volume = 1000 / 3.785411784
	Barrel         Volume = 42
	CubicInch      Volume = 1.0 / 231
	CubicFoot      Volume = 1728.0 / 231
	AcreFoot       Volume = 43560 * 1728.0 / 231
)

// Percent is a percentage: 95 means 95 %.
type Percent float64

// Of gives that percentage of a volume.
func (p Percent) Of(v Volume) Volume { return Volume(float64(v) * float64(p) / 100) }

// Angle is an angle in degrees.
type Angle float64

// Torque is a torque in pound-force feet.
type Torque float64

// The sizes of the units of torque: 1 lbf is 4.4482216152605 N and 1 kgf is
// 9.80665 N, both exact.
const (
	PoundForceFoot Torque = 1
	PoundForceInch Torque = 1.0 / 12
	NewtonMetre    Torque = 1 / (4.4482216152605 * 0.3048)
	KilogramMetre  Torque = 9.80665 / (4.4482216152605 * 0.3048)
)

// Pressure is a pressure in pounds-force per square inch.
type Pressure float64

// The sizes of the units of pressure. The inch of water is the conventional
// one: 1000 kg/m³ and standard gravity, 249.08891 Pa. Those at 39.2 °F and at
// 60 °F (NIST SP 811, Appendix B.8) are for instruments that say so.
const (
	PSI         Pressure = 1
	Pascal      Pressure = 1 / 6894.757293168361
	Kilopascal  Pressure = 1000 / 6894.757293168361
	InchOfWater Pressure = 249.08891 / 6894.757293168361

	InchOfWater39F Pressure = 249.082 / 6894.757293168361
	InchOfWater60F Pressure = 248.84 / 6894.757293168361
)
