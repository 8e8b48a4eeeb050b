package unit

import "math"

// LengthUnit is a unit in which a column of lengths stands. The zero value
// means that nobody said which.
type LengthUnit uint8

// The units of length that charts and tank lists use.
const (
	LengthUnknown LengthUnit = iota
	Inches
	Feet
	Millimetres
	Centimetres
	Decimetres
	Metres
)

// A unit's size is times/by of the base unit, both of them exact or rounded
// once, so that 3.175 mm is the same float64 as an eighth of an inch.
var lengthUnits = [...]struct {
	size      Length
	times, by float64
	symbol    string
}{
	{0, 0, 1, ""},
	{Inch, 1, 1, "in"},
	{Foot, 12, 1, "ft"},
	{Millimetre, 10, 254, "mm"},
	{Centimetre, 100, 254, "cm"},
	{Decimetre, 1000, 254, "dm"},
	{Metre, 10000, 254, "m"},
}

// Size gives one of the unit as a Length; 0 for LengthUnknown.
func (u LengthUnit) Size() Length { return lengthUnits[u.known()].size }

// String gives the symbol, "in" or "mm"; "" for LengthUnknown.
func (u LengthUnit) String() string { return lengthUnits[u.known()].symbol }

// Length gives n of the unit as a Length. Whole millimetres and binary
// fractions of an inch come out as the nearest float64.
func (u LengthUnit) Length(n float64) Length {
	f := &lengthUnits[u.known()]
	return Length(n * f.times / f.by)
}

// Number gives l as a number of the unit. It undoes Length: of a number with up
// to six decimals every digit comes back. It is 0 for LengthUnknown.
func (u LengthUnit) Number(l Length) float64 {
	f := &lengthUnits[u.known()]
	if f.times == 0 {
		return 0
	}
	n := float64(l) * f.by / f.times
	if c := decimals6(n); u.Length(c) == l {
		return c
	}
	return n
}

// decimals6 gives the nearest number with six decimals. Where that one stands
// for the very same quantity, it is what somebody wrote, and the other digits
// are noise of the two conversions.
func decimals6(n float64) float64 { return math.Round(n*1e6) / 1e6 }

// Metric reports whether the unit is a part or a multiple of the metre.
func (u LengthUnit) Metric() bool { return u >= Millimetres && u.known() == u }

func (u LengthUnit) known() LengthUnit {
	if int(u) >= len(lengthUnits) {
		return LengthUnknown
	}
	return u
}

// VolumeUnit is a unit in which a column of volumes stands. The zero value
// means that nobody said which.
type VolumeUnit uint8

// The units of volume that charts and tank lists use, and the large ones of
// reservoirs. A kilolitre is a cubic metre.
const (
	VolumeUnknown VolumeUnit = iota
	USGallons
	ImperialGallons
	Litres
	CubicMetres
	Barrels
	CubicFeet
	AcreFeet
	CubicInches
	Hectolitres
	Megalitres
	MillionCubicMetres
	ThousandGallons
	MillionGallons
	BillionGallons
	ThousandAcreFeet
)

const litresPerGallon = 3.785411784

var volumeUnits = [...]struct {
	size      Volume
	times, by float64
	symbol    string
}{
	{0, 0, 1, ""},
	{USGallon, 1, 1, "gal"},
	{ImperialGallon, 4.54609, litresPerGallon, "imp gal"},
	{Litre, 1, litresPerGallon, "L"},
	{CubicMetre, 1e3, litresPerGallon, "m3"},
	{Barrel, 42, 1, "bbl"},
	{CubicFoot, 1728, 231, "ft3"},
	{AcreFoot, 43560 * 1728, 231, "acre-ft"},
	{CubicInch, 1, 231, "in3"},
	{100 * Litre, 1e2, litresPerGallon, "hL"},
	{1e6 * Litre, 1e6, litresPerGallon, "ML"},
	{1e9 * Litre, 1e9, litresPerGallon, "million m3"},
	{1e3, 1e3, 1, "thousand gal"},
	{1e6, 1e6, 1, "million gal"},
	{1e9, 1e9, 1, "billion gal"},
	{1e3 * AcreFoot, 43560e3 * 1728, 231, "thousand acre-ft"},
}

// Size gives one of the unit as a Volume; 0 for VolumeUnknown.
func (u VolumeUnit) Size() Volume { return volumeUnits[u.known()].size }

// String gives the symbol, "gal" or "L"; "" for VolumeUnknown. ParseVolumeUnit
// reads it back.
func (u VolumeUnit) String() string { return volumeUnits[u.known()].symbol }

// Volume gives n of the unit as a Volume.
func (u VolumeUnit) Volume(n float64) Volume {
	f := &volumeUnits[u.known()]
	return Volume(n * f.times / f.by)
}

// Number gives v as a number of the unit and undoes Volume as
// LengthUnit.Number undoes Length; 0 for VolumeUnknown.
func (u VolumeUnit) Number(v Volume) float64 {
	f := &volumeUnits[u.known()]
	if f.times == 0 {
		return 0
	}
	n := float64(v) * f.by / f.times
	if c := decimals6(n); u.Volume(c) == v {
		return c
	}
	return n
}

func (u VolumeUnit) known() VolumeUnit {
	if int(u) >= len(volumeUnits) {
		return VolumeUnknown
	}
	return u
}
