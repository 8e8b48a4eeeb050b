package unit

import (
	"fmt"
	"strings"
	"testing"
)

func TestFindUnits(t *testing.T) {
	for _, c := range []struct {
		text   string
		length string // the units of length said of the column, in order
		volume string
	}{
		{"Depth (in)", "in", ""},
		{"Depth (in.)", "in", ""},
		{"DEPTH (IN)", "in", ""},
		{"Depth [in]", "in", ""},
		{"Depth in", "in", ""},
		{"Depth in.", "in", ""},
		{"Depth, in", "in", ""},
		{"Depth - in", "in", ""},
		{"Depth/in", "in", ""},
		{"Depth\n(in)", "in", ""},
		{"Depth_in", "in", ""},
		{"in", "in", ""},
		{"In.", "in", ""},
		{"in of", "", ""},
		{"Depth in inches", "in", ""},
		{"Depth of product in", "in", ""},
		{"Dip cm", "cm", ""},
		{"Dip (CM)", "cm", ""},
		{"contents in litres", "", "L"},
		{"CONTENTS IN LITRES", "", "L"},
		{"dips in millimetres, contents in litres", "mm", "L"},
		{"Tank JK-1: dips in millimetres, contents in litres", "mm", "L"},
		{"Depth in (from bottom)", "in", ""},
		{"Depth in gallons", "", "gal"},
		{"Fill in", "", ""},
		{"What is in the tank", "", ""},
		{"Litres/mm", "", ""},
		{"L/cm", "", ""},
		{"gal/in", "", ""},
		{"gallons per inch", "", ""},
		{"Gal per min", "", ""},
		{"gal/min", "", ""},
		{"m3/h", "", ""},
		{"litros por cm", "", ""},
		{"Depth / in", "in", ""},
		{"Volume / gal", "", "gal"},
		{"Höhe / cm", "cm", ""},
		{"Feet/Inches", "ft in", ""},
		{"Depth (ft-in)", "ft in", ""},
		{"Walk-in", "", ""},
		{"GALLONS PER INCH", "", ""},
		{"Inches vs gallons", "in", "gal"},
		{"volume_us_gal", "", "gal"},
		{`Depth "`, "in", ""},
		{`Depth (")`, "in", ""},
		{`"`, "in", ""},
		{`96" x 27' steel`, "", ""},
		{"96 in x 26 ft 8 in", "", ""},
		{"4-inch riser", "", ""},
		{"1000 gal tank", "", ""},
		{"Tank 2, 10,000 gallons, dips in cm", "cm", ""},
		{"N E T  V O L U M E S  in m3", "", "m3"},
		{"G R O S S   V O L U M E   (L I T R E S)", "", "L"},
		{"Volume (gal)", "", "gal"},
		{"Volume (US gal)", "", "gal"},
		{"Volume (U.S. gal.)", "", "gal"},
		{"Volume, gallons (US)", "", "gal"},
		{"US liquid gallons", "", "gal"},
		{"USG", "", "gal"},
		{"Volume (imp gal)", "", "imp gal"},
		{"Volume (Imp. gal.)", "", "imp gal"},
		{"Imperial Gallons", "", "imp gal"},
		{"Gallons (UK)", "", "imp gal"},
		{"UK gallons", "", "imp gal"},
		{"galones imperiales", "", "imp gal"},
		{"gallons impériaux", "", "imp gal"},
		{"Volumen (galones)", "", "gal"},
		{"US gal (imperial)", "", "imp gal gal"},
		{"Volume (m³)", "", "m3"},
		{"Volume (m3)", "", "m3"},
		{"Volume m^3", "", "m3"},
		{"Volume (cu. m)", "", "m3"},
		{"cubic metres", "", "m3"},
		{"mètres cubes", "", "m3"},
		{"metros cúbicos", "", "m3"},
		{"Inhalt (Kubikmeter)", "", "m3"},
		{"Volume (kL)", "", "m3"},
		{"Volume (L)", "", "L"},
		{"Volume, l", "", "L"},
		{"Volume L", "", "L"},
		{"Inhalt in Liter", "", "L"},
		{"Inhalt [l]", "", "L"},
		{"Contenance (litres)", "", "L"},
		{"Contenido (litros)", "", "L"},
		{"Tank L", "", ""},
		{"Tank M", "", ""},
		{"Compartment L (gal)", "", "gal"},
		{"Volume (ML)", "", "ML"},
		{"Volume (ml)", "", ""},
		{"bbl", "", "bbl"},
		{"Contents (barrels)", "", "bbl"},
		{"ft3", "", "ft3"},
		{"cu ft", "", "ft3"},
		{"Cubic Feet", "", "ft3"},
		{"pieds cubes", "", "ft3"},
		{"Storage (acre-ft)", "", "acre-ft"},
		{"Storage (acre-feet)", "", "acre-ft"},
		{"Storage, AF", "", "acre-ft"},
		{"CAPACITY (TAF)", "", "thousand acre-ft"},
		{"Area (acres)", "", ""},
		{"Area (sq ft)", "", ""},
		{"AREA (SQ. FEET)", "", ""},
		{"Fläche (m²)", "", ""},
		{"Elevation (ft)", "ft", ""},
		{"ELEV FEET", "ft", ""},
		{"Level (m)", "m", ""},
		{"Level m", "m", ""},
		{"LEVEL (M)", "m", ""},
		{"Level (M)", "", ""},
		{"Flow meter", "", ""},
		{"Meter reading", "", ""},
		{"Höhe in Meter", "m", ""},
		{"Höhe (Zoll)", "in", ""},
		{"Füllhöhe in cm", "cm", ""},
		{"Peilung (mm)", "mm", ""},
		{"Profundidad (pulgadas)", "in", ""},
		{"Altura en cm", "cm", ""},
		{"Profondeur (pouces)", "in", ""},
		{"Hauteur (po)", "in", ""},
		{"Hauteur de creux (cm)", "cm", ""},
		{"Nivel (pies)", "ft", ""},
		{"Depth (in) and Volume (gal)", "in", "gal"},
		{"title says cm, header in", "cm", ""},
		{"depths in cm; heading: Depth (in)", "cm in", ""},
		{"dm \\ cm", "dm cm", ""},
		{"in, US gal", "in", "gal"},
		{"Volume (1000 gal)", "", ""},
		{"Volume (x1000 gal)", "", "thousand gal"},
		{"Volume (gal x 1000)", "", "thousand gal"},
		{"Volume, gal (000)", "", "thousand gal"},
		{"Volume (million gal)", "", "million gal"},
		{"millions of gallons", "", "million gal"},
		{"Millionen Kubikmeter", "", "million m3"},
		{"thousand barrels", "", ""},
		{"10³ m³", "", "ML"},
		{"Volume (103 m3)", "", ""}, // the 3 has lost its place, or it is tank 103
		{"Volume (103 gal)", "", ""},
		{"Tank 103 (gal)", "", "gal"},
		{"Tank 103, gal", "", "gal"},
		{"103 (gal)", "", "gal"},
		{"thousand litres", "", "m3"},
		{"Pressure (in H2O)", "", ""},
		{"Torque (ft-lb)", "", ""},
		{"Torque, ft lbs", "", ""},
		{"Cum volume (gal)", "", "gal"},
		{"", "", ""},
		{"Depth", "", ""},
		{"Inches", "in", ""},
		{"INCHES OF LIQUID", "in", ""},
		{"Inch", "in", ""},
		{"1/8 in", "", ""},
		{"in 1/8 in steps", "", ""},
	} {
		var lengths, volumes []string
		for _, w := range FindUnits(c.text) {
			if !w.Plain() {
				continue
			}
			if !strings.Contains(c.text, w.Word) || c.text[w.At:w.At+len(w.Word)] != w.Word {
				t.Errorf("%q: the word %q is not at %d", c.text, w.Word, w.At)
			}
			if w.Length != 0 {
				lengths = append(lengths, w.Length.String())
			}
			if w.Volume != 0 {
				volumes = append(volumes, w.Volume.String())
			}
		}
		if got := strings.Join(lengths, " "); got != c.length {
			t.Errorf("%q: lengths %q, want %q", c.text, got, c.length)
		}
		if got := strings.Join(volumes, " "); got != c.volume {
			t.Errorf("%q: volumes %q, want %q", c.text, got, c.volume)
		}
	}
}

func TestFindCountsUnitsThatDiffer(t *testing.T) {
	if u, word, n := FindLengthUnit("dips in cm, Depth (in)"); u != Centimetres || word != "cm" || n != 2 {
		t.Error(u, word, n)
	}
	if u, _, n := FindLengthUnit("inches (in)"); u != Inches || n != 1 {
		t.Error(u, n)
	}
	if u, word, n := FindVolumeUnit("Net Volume (Imp. Gallons)"); u != ImperialGallons || word != "Gallons" || n != 1 {
		t.Error(u, word, n)
	}
	if _, _, n := FindVolumeUnit("Litres/mm"); n != 0 {
		t.Error(n)
	}
}

func TestUnitNames(t *testing.T) {
	for u := Inches; int(u) < len(lengthUnits); u++ {
		if got, err := ParseLengthUnit(u.String()); err != nil || got != u {
			t.Errorf("%v: got %v, %v", u, got, err)
		}
	}
	for u := USGallons; int(u) < len(volumeUnits); u++ {
		if got, err := ParseVolumeUnit(u.String()); err != nil || got != u {
			t.Errorf("%v: got %v, %v", u, got, err)
		}
	}
	for s, want := range map[string]string{
		"inches": "in", "IN": "in", "(in)": "in", "\"": "in", "Zoll": "in", "pouces": "in", "feet": "ft", "'": "ft", "m": "m", "metre": "m", "Meter": "m", "mm": "mm", "foot": "ft", "po": "in",
	} {
		if got, err := ParseLengthUnit(s); err != nil || got.String() != want {
			t.Errorf("%q: got %v, %v; want %v", s, got, err, want)
		}
	}
	for s, want := range map[string]string{
		"gallons": "gal", "US gal": "gal", "gal (US)": "gal", "Imperial gallons": "imp gal", "UK gal": "imp gal", "l": "L", "Liter": "L", "m³": "m3", "kL": "m3", "cu ft": "ft3", "af": "acre-ft", "ML": "ML", "thousand gal": "thousand gal",
	} {
		if got, err := ParseVolumeUnit(s); err != nil || got.String() != want {
			t.Errorf("%q: got %v, %v; want %v", s, got, err, want)
		}
	}
	for _, s := range []string{"", "gal", "litres", "furlong", "depth in", "in gal", "M", "acres", "gal/in", "5 in"} {
		if got, err := ParseLengthUnit(s); err == nil {
			t.Errorf("%q read as the length %v", s, got)
		}
	}
	for _, s := range []string{"", "in", "ml", "MG", "gal/in", "volume gal", "5 gal", "gpm", "thousand barrels"} {
		if got, err := ParseVolumeUnit(s); err == nil {
			t.Errorf("%q read as the volume %v", s, got)
		}
	}
}

// A word that stands in two rows of the table would be read as whichever came
// last.
func TestEachUnitWordStandsOnce(t *testing.T) {
	seen := map[string]string{}
	for _, row := range unitRows {
		for w := range strings.SplitSeq(row.words, ", ") {
			w = strings.TrimPrefix(w, "?")
			if Fold(w) != w {
				t.Errorf("%q is not folded", w)
			}
			now := fmt.Sprint(row.meaning)
			if before, ok := seen[w]; ok {
				t.Errorf("%q stands for %v and for %v", w, before, now)
			}
			seen[w] = now
		}
	}
}

func TestFold(t *testing.T) {
	for in, want := range map[string]string{
		"  Füllhöhe\u00a0 in  CM ": "fullhohe in cm", "Fuß": "fuss", "m³": "m3", "Capacité": "capacite", "Capacite\u0301": "capacite", "Tama\u00f1o": "tamano", "": "", "\u00a0": "",
	} {
		if got := Fold(in); got != want {
			t.Errorf("%q: got %q, want %q", in, got, want)
		}
	}
}
