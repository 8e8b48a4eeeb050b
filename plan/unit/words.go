package unit

import (
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"
)

// meaning is what a unit word stands for: a length, a volume, or something else
// that must not be taken for either (an area, a rate).
type meaning struct {
	length LengthUnit
	volume VolumeUnit
	// gallon marks a bare word for gallons, to which the words around it
	// ("US", "imperial") may belong.
	gallon bool
	// weak words mean something else as well ("in", "m", "po"), and count only
	// where a unit may be expected: in brackets, alone, behind a number or
	// behind what is measured.
	weak bool
}

func (m meaning) unit() bool { return m.length != 0 || m.volume != 0 }

// unitRows is the table of unit words, folded: small letters, no accents, "ss"
// for the sharp s, ordinary digits, no points; a blank stands for a blank, a
// hyphen, a point or a raised point. Phrases are parted by commas; a question
// mark marks a weak one.
var unitRows = []struct {
	meaning
	words string
}{
	{meaning{length: Inches}, "?in, ins, inch, inchs, inches, inchess, pulgada, pulgadas, pulg, plg, zoll, pouce, pouces, ?po, polegada, polegadas, pollice, pollici"},
	{meaning{length: Feet}, "ft, feet, ?foot, fts, ?pie, pies, pied, pieds, ?pi, fuss, piedi, ?pe, ?pes"},
	{meaning{length: Millimetres}, "mm, mms, millimetre, millimetres, millimeter, millimeters, milimetro, milimetros, millimetern, millimetri"},
	{meaning{length: Centimetres}, "cm, cms, centimetre, centimetres, centimeter, centimeters, centimetro, centimetros, zentimeter, zentimetern, centimetri"},
	{meaning{length: Decimetres}, "dm, decimetre, decimetres, decimeter, decimeters, decimetro, decimetros, dezimeter, dezimetern"},
	{meaning{length: Metres}, "?m, mtr, mtrs, ?mts, metre, metres, ?meter, ?meters, metro, metros, ?metern, ?metri"},

	{meaning{volume: USGallons, gallon: true}, "gal, gals, gall, galls, gallon, gallons, gln, glns, galon, galones, gallone, gallonen, galoes, galloni"},
	{meaning{volume: USGallons}, "usg, usgal, usgals, usgallon, usgallons"},
	{meaning{volume: ImperialGallons}, "impgal, impgals, ukgal, ukgals"},
	{meaning{volume: Litres}, "?l, ltr, ltrs, lts, lt, litre, litres, liter, liters, litro, litros, litern, litri, dm3, cubic decimetre, cubic decimetres"},
	{meaning{volume: Hectolitres}, "hl, hectolitre, hectolitres, hectoliter, hectoliters, hektoliter, hektolitern, hectolitro, hectolitros"},
	{meaning{volume: CubicMetres}, "m3, m^3, cu m, cbm, cubic m, cubic metre, cubic metres, cubic meter, cubic meters, metro cubico, metros cubicos, metre cube, metres cubes, kubikmeter, kubikmetern, kl, kilolitre, kilolitres, kiloliter, kiloliters, kilolitro, kilolitros"},
	{meaning{volume: Megalitres}, "?ml, megalitre, megalitres, megaliter, megaliters"},
	{meaning{volume: MillionCubicMetres}, "hm3, hm^3, mcm, cubic hectometre, cubic hectometres, hectometros cubicos"},
	{meaning{volume: Barrels}, "bbl, bbls, barrel, barrels, barril, barriles, baril, barils, ?fass, barris"},
	{meaning{volume: CubicFeet}, "ft3, ft^3, cu ft, cuft, cubic ft, cubic foot, cubic feet, pie cubico, pies cubicos, pied cube, pieds cubes, kubikfuss"},
	{meaning{volume: CubicInches}, "in3, in^3, cu in, cuin, cubic in, cubic inch, cubic inches, pulgadas cubicas, pouces cubes, kubikzoll"},
	{meaning{volume: AcreFeet}, "acre ft, acre feet, acre foot, acreft, acrefeet, ac ft, acft, ?af, acre pie, acres pie"},
	{meaning{volume: ThousandAcreFeet}, "taf, kaf, thousand acre ft, thousand acre feet"},
	{meaning{volume: ThousandGallons}, "kgal, kgals"},
	{meaning{volume: MillionGallons}, "mgal, mgals, mmgal"},
	{meaning{volume: BillionGallons}, "bgal"},

	// Areas, rates and the like hold the words of lengths and volumes and are
	// neither.
	{meaning{}, "sq ft, sqft, ft2, ft^2, sq feet, square foot, square feet, square ft, quadratfuss, pies cuadrados, pieds carres, sq in, sqin, in2, in^2, square inch, square inches, sq m, sqm, m2, m^2, square metre, square metres, square meter, square meters, metros cuadrados, metres carres, quadratmeter, km2, hm2, sq mi, square miles, acre, acres, gpm, lpm, in h2o, in wc, inch water, inches of water, inches water, ft lb, ft lbs, ft lbf, foot pounds, in lb, in lbs, in lbf"},
}

// unitWords is the table by phrase; the longest phrase has three words.
var unitWords = sync.OnceValue(func() map[string]meaning {
	words := make(map[string]meaning, 256)
	for _, row := range unitRows {
		for w := range strings.SplitSeq(row.words, ", ") {
			m := row.meaning
			if t, ok := strings.CutPrefix(w, "?"); ok {
				m.weak, w = true, t
			}
			words[w] = m
		}
	}
	return words
})

// qualifier tells what a word beside a bare "gal" makes of it: USGallons,
// ImperialGallons, or VolumeUnknown where it is no such word.
func qualifier(word string) VolumeUnit {
	switch word {
	case "us", "usa", "american", "americano", "americanos", "americains", "amerikanische", "estadounidenses", "eeuu", "eua", "americana":
		return USGallons
	case "uk", "imp", "imperial", "imperials", "imperiales", "imperiaux", "imperiale", "british", "brit", "britanicos", "britische", "ingleses", "englische", "canadian":
		return ImperialGallons
	}
	return VolumeUnknown
}

// scaleWord gives the thousand, million or billion that a word or figure
// multiplies the unit beside it by; 0 for none.
func scaleWord(word string) float64 {
	switch word {
	case "thousand", "thousands", "thous", "mil", "miles", "millier", "milliers", "mille", "tausend", "tsd", "000s", "1000s", "x1000":
		return 1e3
	case "million", "millions", "mio", "millon", "millones", "millionen", "x1000000":
		return 1e6
	case "billion", "billions", "milliarden", "milliards":
		return 1e9
	}
	return 0
}

// scaled gives the unit that is scale times u, VolumeUnknown where the table
// has none.
func scaled(u VolumeUnit, scale float64) VolumeUnit {
	if scale == 1 {
		return u
	}
	want := float64(u.Size()) * scale
	for v := USGallons; int(v) < len(volumeUnits); v++ {
		if r := float64(v.Size()) / want; r > 1-1e-12 && r < 1+1e-12 {
			return v
		}
	}
	return VolumeUnknown
}

// foldRune gives the small letter without its accent, and an ordinary digit for
// a raised or lowered one.
func foldRune(r rune) string {
	if r < utf8.RuneSelf {
		if r >= 'A' && r <= 'Z' {
			r += 'a' - 'A'
		}
		return ascii[r : r+1]
	}
	r = unicode.ToLower(r)
	switch r {
	case 'ß':
		return "ss"
	case 'œ':
		return "oe"
	case 'æ':
		return "ae"
	case 'ℓ':
		return "l"
	case '㎜':
		return "mm"
	case '㎝':
		return "cm"
	case '㎥':
		return "m3"
	case '㎘':
		return "kl"
	}
	if d := max(lowered(r), raised(r)); d >= 0 {
		return ascii['0'+d : '0'+d+1]
	}
	// The letters of Latin-1 and a few beyond, by their base letter.
	for _, f := range [...]struct{ base, with string }{
		{"a", "àáâãäåā"},
		{"c", "çćč"},
		{"e", "èéêëēę"},
		{"i", "ìíîïī"},
		{"n", "ñń"},
		{"o", "òóôõöøō"},
		{"u", "ùúûüū"},
		{"y", "ýÿ"},
		{"s", "śš"},
		{"z", "źžż"},
	} {
		if strings.ContainsRune(f.with, r) {
			return f.base
		}
	}
	return string(r)
}

// ascii holds every ASCII character at its own index.
var ascii = func() string {
	var b [utf8.RuneSelf]byte
	for i := range b {
		b[i] = byte(i)
	}
	return string(b[:])
}()

// Fold gives a text as words are compared: small letters, no accents ("Füllhöhe"
// gives "fullhohe"), combining accents dropped, blanks of any width as one
// blank each, none at the ends.
func Fold(s string) string {
	var b strings.Builder
	b.Grow(len(s))
	gap := false
	for _, r := range s {
		if blank(r) {
			gap = b.Len() > 0
			continue
		}
		if r >= 0x300 && r <= 0x36F || r == 0xAD {
			continue
		}
		if gap {
			b.WriteByte(' ')
			gap = false
		}
		b.WriteString(foldRune(r))
	}
	return b.String()
}
