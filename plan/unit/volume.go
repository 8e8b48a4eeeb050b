package unit

import "unicode"

// ParseVolume reads a volume: a number in the unit in, or with its unit behind
// it ("10,027 gal", "40 m³", "1.29 million gal"). A unit in the text goes before
// in; with neither, the error is ErrNoUnit.
func ParseVolume[S ~string | ~[]byte](s S, in VolumeUnit, dec Decimal) (Volume, error) {
	v, _, err := ScanVolume(s, in, dec)
	return v, err
}

// ScanVolume is ParseVolume that also tells which unit the text names,
// VolumeUnknown where it names none and in was used.
func ScanVolume[S ~string | ~[]byte](s S, in VolumeUnit, dec Decimal) (v Volume, named VolumeUnit, err error) {
	if f, ok := Number(s, dec); ok && in != VolumeUnknown {
		return in.Volume(f), VolumeUnknown, nil
	}
	text := string(s)
	bad := func(why string, err error) (Volume, VolumeUnit, error) {
		return 0, named, &Trouble{Text: text, Want: "a volume", Why: why, Err: err}
	}
	f, rest, why := leading(text, dec)
	if why != "" {
		return bad(why, nil)
	}
	if rest == "" {
		return bad(whyNoUnit, ErrNoUnit)
	}
	m, ok := unitName(rest)
	if !ok || m.volume == VolumeUnknown {
		return bad(strconvQuote(rest)+" is no unit of volume", nil)
	}
	return m.volume.Volume(f), m.volume, nil
}

// leading reads the number that a text starts with and gives what follows it.
func leading(s string, dec Decimal) (f float64, rest, why string) {
	r := reader{s: trim(s), dec: dec}
	if r.s == "" {
		return 0, "", "a number was expected"
	}
	if len(r.s) > longestNumber {
		return 0, "", "it is far too long"
	}
	neg := r.minus()
	start := r.i
	var p part
	r.number(&p)
	if start == r.i {
		return 0, "", odd(firstRune(r.s), r.s)
	}
	f, why = number(r.s[start:r.i], dec, 0)
	if why != "" {
		return 0, "", why
	}
	if neg {
		f = -f
	}
	return f, trim(r.s[r.i:]), ""
}

// ParsePercent reads a percentage: 95, 95 %, 95 percent. share says that the
// cell is formatted as a percentage, so that a bare 0.95 in it means 95 %; a
// sign in the text goes before that. What is plain nonsense as a percentage
// (195 %) is read; the caller judges it.
func ParsePercent[S ~string | ~[]byte](s S, share bool, dec Decimal) (Percent, error) {
	text := string(s)
	f, rest, why := leading(text, dec)
	if why == "" && rest == "" && share {
		// Two places further left, read from the text: 0.57 times 100 is not
		// 57 in binary.
		var r float64
		if r, why = number(text, dec, 2); why == "" {
			f = r
		}
	}
	if why != "" {
		return 0, &Trouble{Text: text, Want: "a percentage", Why: why}
	}
	switch Fold(rest) {
	case "", "%", "percent", "per cent", "pct", "pct.", "prozent", "por ciento", "pour cent", "٪", "％":
		return Percent(f), nil
	}
	return 0, &Trouble{Text: text, Want: "a percentage", Why: strconvQuote(rest) + " is no sign of a percentage"}
}

// ParseAngle reads an angle in degrees, with or without its sign, or in radians
// where it says so.
func ParseAngle[S ~string | ~[]byte](s S, dec Decimal) (Angle, error) {
	text := string(s)
	f, rest, why := leading(text, dec)
	if why != "" {
		return 0, &Trouble{Text: text, Want: "an angle", Why: why}
	}
	switch Fold(rest) {
	case "", "°", "º", "deg", "deg.", "degs", "degree", "degrees", "grad", "grados", "degres":
		return Angle(f), nil
	case "rad", "radian", "radians":
		return Angle(f * 180 / piValue), nil
	}
	return 0, &Trouble{Text: text, Want: "an angle", Why: strconvQuote(rest) + " is no unit of an angle; write degrees"}
}

const piValue = 3.14159265358979323846264338327950288419716939937510582097494459

// squeeze folds a unit and drops the signs and blanks within it: "N·m" and
// "N m" give "nm".
func squeeze(s string) string {
	b := make([]rune, 0, len(s))
	for _, r := range Fold(s) {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			b = append(b, r)
		}
	}
	return string(b)
}

// ParseTorque reads a torque: "30 ft-lb", "360 in-lb", "40 N·m", "4 kgf·m". in
// is the size of the unit of a bare number (PoundForceFoot); 0 means that it is
// not known, and a bare number is then ErrNoUnit.
func ParseTorque[S ~string | ~[]byte](s S, in Torque, dec Decimal) (Torque, error) {
	text := string(s)
	f, rest, why := leading(text, dec)
	if why != "" {
		return 0, &Trouble{Text: text, Want: "a torque", Why: why}
	}
	size, ok := TorqueUnit(rest)
	switch {
	case rest == "" && in == 0:
		return 0, &Trouble{Text: text, Want: "a torque", Why: whyNoUnit, Err: ErrNoUnit}
	case rest == "":
		size = in
	case !ok:
		return 0, &Trouble{Text: text, Want: "a torque", Why: strconvQuote(rest) + " is no unit of torque; write ft-lb, in-lb, N·m or kgf·m"}
	}
	return Torque(f) * size, nil
}

// TorqueUnit gives the size of a unit of torque by its name.
func TorqueUnit(name string) (Torque, bool) {
	switch squeeze(name) {
	case "ftlb", "ftlbs", "ftlbf", "lbft", "lbfft", "lbsft", "footpound", "footpounds", "poundfoot", "poundfeet", "poundforcefoot", "poundforcefeet":
		return PoundForceFoot, true
	case "inlb", "inlbs", "inlbf", "lbin", "lbfin", "lbsin", "inchpound", "inchpounds", "poundinch", "poundinches":
		return PoundForceInch, true
	case "nm", "newtonmetre", "newtonmetres", "newtonmeter", "newtonmeters":
		return NewtonMetre, true
	case "kgfm", "kgm", "mkgf", "kpm":
		return KilogramMetre, true
	}
	return 0, false
}

// ParsePressure reads a pressure: "50 psi", "3.5 bar", "6 in w.c.". in is the
// size of the unit of a bare number; 0 means that it is not known, and a bare
// number is then ErrNoUnit. Columns of water are conventional (1000 kg/m³,
// standard gravity).
func ParsePressure[S ~string | ~[]byte](s S, in Pressure, dec Decimal) (Pressure, error) {
	text := string(s)
	f, rest, why := leading(text, dec)
	if why != "" {
		return 0, &Trouble{Text: text, Want: "a pressure", Why: why}
	}
	size, ok := PressureUnit(rest)
	switch {
	case rest == "" && in == 0:
		return 0, &Trouble{Text: text, Want: "a pressure", Why: whyNoUnit, Err: ErrNoUnit}
	case rest == "":
		size = in
	case !ok:
		return 0, &Trouble{Text: text, Want: "a pressure", Why: strconvQuote(rest) + " is no unit of pressure; write psi, kPa, bar or in of water"}
	}
	return Pressure(f) * size, nil
}

// PressureUnit gives the size of a unit of pressure by its name.
func PressureUnit(name string) (Pressure, bool) {
	if t := trim(name); len(t) > 1 && t[0] == '"' {
		name = "in" + t[1:] // 6" w.c.
	}
	switch squeeze(name) {
	case "psi", "psig", "lbin2", "lbfin2", "poundspersquareinch":
		return PSI, true
	case "pa", "pascal", "pascals":
		return Pascal, true
	case "kpa", "kilopascal", "kilopascals":
		return Kilopascal, true
	case "bar", "bars", "barg":
		return 100 * Kilopascal, true
	case "mbar", "millibar", "hpa":
		return 100 * Pascal, true
	case "inh2o", "inwc", "inw", "inwater", "inofwater", "incheswater", "inchesofwater", "iwc", "incheswc", "inchwc", "inofwatercolumn", "inchesofwatercolumn", "incheswatercolumn", "inwatercolumn":
		return InchOfWater, true
	case "mmh2o", "mmwc", "mmofwater", "mmws":
		return InchOfWater / 25.4, true
	case "osi", "ozin2":
		return PSI / 16, true
	}
	return 0, false
}
