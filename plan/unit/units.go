package unit

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

var lengthUnits = [...]struct {
	size   Length
	symbol string
}{
	{0, ""}, {Inch, "in"}, {Foot, "ft"}, {Millimetre, "mm"}, {Centimetre, "cm"}, {Decimetre, "dm"}, {Metre, "m"},
}

// Size gives one of the unit as a Length; 0 for LengthUnknown.
func (u LengthUnit) Size() Length { return lengthUnits[u].size }

// String gives the symbol, "in" or "mm"; "" for LengthUnknown.
func (u LengthUnit) String() string { return lengthUnits[u].symbol }

// Length gives n of the unit as a Length.
func (u LengthUnit) Length(n float64) Length { return Length(n * float64(u.Size())) }

// Number gives l as a number of the unit.
func (u LengthUnit) Number(l Length) float64 { return float64(l / u.Size()) }

// VolumeUnit is a unit in which a column of volumes stands. The zero value
// means that nobody said which.
type VolumeUnit uint8

// The units of volume that charts and tank lists use.
const (
	VolumeUnknown VolumeUnit = iota
	USGallons
	ImperialGallons
	Litres
	CubicMetres
	Barrels
	CubicFeet
	AcreFeet
)

var volumeUnits = [...]struct {
	size   Volume
	symbol string
}{
	{0, ""}, {USGallon, "gal"}, {ImperialGallon, "imp gal"}, {Litre, "L"}, {CubicMetre, "m3"}, {Barrel, "bbl"}, {CubicFoot, "ft3"}, {AcreFoot, "acre-ft"},
}

// Size gives one of the unit as a Volume; 0 for VolumeUnknown.
func (u VolumeUnit) Size() Volume { return volumeUnits[u].size }

// String gives the symbol, "gal" or "L"; "" for VolumeUnknown.
func (u VolumeUnit) String() string { return volumeUnits[u].symbol }

// Volume gives n of the unit as a Volume.
func (u VolumeUnit) Volume(n float64) Volume { return Volume(n * float64(u.Size())) }

// Number gives v as a number of the unit.
func (u VolumeUnit) Number(v Volume) float64 { return float64(v / u.Size()) }
